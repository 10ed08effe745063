//! The study file: text to model and back, pure. One field list per table says what a file may
//! hold; reader, writer, JSON Schema and the page of fields are derived from it.

pub mod field;
pub mod path;
pub mod problem;
pub mod row;
pub mod tables;
pub mod typed;
pub mod word;

mod comment;
mod page;
pub(crate) mod reader;
mod resolve;
mod schema;
mod unit;
mod writer;

pub use path::Path;
pub use problem::{Code, MOST_PROBLEMS, Problem, What};
pub use row::{Comment, Entry, Row, Value};
pub use word::Word;

use crate::model::Study;
use path::At;
use problem::Problems;
use reader::Reader;
use row::Place;
use tables::RootRow;
use toml_edit::Document;

/// Version of the written form.
const VERSION: i64 = 1;

/// Largest text that is read, bytes. A study of 200 treatments is under 200 kB.
pub const MOST_BYTES: usize = 2_000_000;

/// A study as written: every value, change and comment as the person put it.
///
/// Two are equal when they say the same, wherever the words stood in the text.
#[derive(Clone, Debug, PartialEq)]
pub struct StudyWritten {
    /// The file as a table; its fields are those of [`tables::ROOT`].
    pub root: Row,
    /// Comment lines after the last table.
    pub end: Vec<String>,
}

impl StudyWritten {
    /// What the file says.
    ///
    /// # Panics
    /// Never: the root is a row of [`tables::ROOT`].
    pub fn told(&self) -> Option<RootRow<'_>> {
        RootRow::read(&self.root)
    }

    /// The treatments as rows, in the order written.
    pub fn treatments(&self) -> &[Row] {
        self.root.rows(RootRow::treatment)
    }

    /// The treatment with an id, as a row.
    pub fn treatment(&self, id: &str) -> Option<&Row> {
        let named = |t: &&Row| t.get(tables::TreatmentRow::id) == Some(id);
        self.treatments().iter().find(named)
    }

    /// What the study is called, where that is written.
    pub fn name(&self) -> Option<&str> {
        self.root.row(RootRow::study)?.get(tables::StudyRow::name)
    }

    /// What the study wants to know, where that is written.
    pub fn question(&self) -> Option<&str> {
        self.root
            .row(RootRow::study)?
            .get(tables::StudyRow::question)
    }

    /// The places of its words are those of no text any more.
    pub(crate) fn edited(&mut self) {
        self.root.place = Place(None);
    }
}

/// Reads a study: the model with everything resolved, or every problem that was found.
///
/// The text is at most [`MOST_BYTES`] long. Problems come in the order of the text, at most
/// [`MOST_PROBLEMS`].
pub fn read(text: &str) -> Result<Study, Vec<Problem>> {
    let mut reader = Reader::of(text);
    let written = document(&mut reader);
    let mut problems = reader.problems;
    let study = written.and_then(|written| resolve::study(&written, &mut problems));
    problems.or(study)
}

/// Reads a study as written; checks keys, types, units and ranges, and nothing that needs the
/// materials.
pub fn read_written(text: &str) -> Result<StudyWritten, Vec<Problem>> {
    let mut reader = Reader::of(text);
    let written = document(&mut reader);
    reader.problems.or(written)
}

/// Resolves a study as written. Problems carry the way to the value, and its place in the text that
/// the study was read from, as long as it wasn't edited since.
pub fn resolve(written: &StudyWritten) -> Result<Study, Vec<Problem>> {
    let mut problems = Problems::default();
    let study = resolve::study(written, &mut problems);
    if written.root.place.0.is_none() {
        for problem in &mut problems.0 {
            problem.span = None;
        }
    }
    problems.or(study)
}

/// Writes a study; reading what was written gives the same study as written.
pub fn write(written: &StudyWritten) -> String {
    writer::document(&written.root, &written.end)
}

/// Whether a study is longer than what is read back, [`MOST_BYTES`]. It is written out only where it could be.
pub(crate) fn too_long(written: &StudyWritten) -> bool {
    writer::at_most(&written.root, &written.end) > MOST_BYTES && write(written).len() > MOST_BYTES
}

/// The oven as it holds for a treatment or for the study, what its preset says included.
pub(crate) fn oven_holding(written: &StudyWritten, treatment: Option<&str>) -> Option<Row> {
    resolve::oven_holding(written, treatment)
}

/// A section such as `piece` as it holds for a treatment, or for the study when none is named: what is written there
/// over what it starts from. None where nothing is written.
pub fn holding(written: &StudyWritten, treatment: Option<&str>, section: &str) -> Option<Row> {
    resolve::holding(written, treatment, section)
}

/// The JSON Schema (draft 2020-12) of a study file.
pub fn schema() -> serde_json::Value {
    schema::document(&tables::ROOT)
}

/// The page of fields, Markdown.
pub fn fields_markdown() -> String {
    page::document(&tables::ROOT)
}

/// Text to tables as written; what can't be read at all gives `None`.
fn document(reader: &mut Reader<'_>) -> Option<StudyWritten> {
    let text = reader.text;
    let whole = At::WHOLE;
    if text.len() > MOST_BYTES {
        let bytes = text.len();
        reader.tell(&whole, 0..0, What::TooLarge { bytes });
        return None;
    }
    let document = match Document::parse(text) {
        Ok(document) => document,
        Err(error) => {
            let told = error.message().trim().lines();
            let told = told.collect::<Vec<_>>().join("; ");
            reader.tell(&whole, error.span().unwrap_or(0..0), What::Syntax { told });
            return None;
        }
    };
    let version = document.get(RootRow::hardtack.name);
    if let Some(found) = version
        .and_then(toml_edit::Item::as_integer)
        .filter(|v| *v != VERSION)
    {
        let place = version.and_then(toml_edit::Item::span).unwrap_or(0..0);
        let at = whole.key(RootRow::hardtack.name);
        reader.tell(&at, place, What::Version { found });
        return None;
    }
    let root = reader.table(document.as_table(), &tables::ROOT, &whole, 0..0);
    let trailing = document.trailing();
    let end = trailing
        .as_str()
        .or_else(|| trailing.span().and_then(|s| text.get(s)));
    Some(StudyWritten {
        root,
        end: comment::lines_of(end.unwrap_or_default()),
    })
}
