//! The study file: text to model and back, pure. One field list per table says what a file may
//! hold; reader, writer, JSON Schema and the page of fields are derived from it.

pub mod field;
pub mod problem;
pub mod row;
pub mod tables;

mod comment;
mod page;
mod reader;
mod resolve;
mod schema;
mod told;
mod unit;
mod writer;

pub use problem::{Code, Problem};
pub use reader::MOST_PROBLEMS;
pub use row::{Comment, Entry, Row, Value};

use crate::model::Study;
use reader::Reader;
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

/// Reads a study: the model with everything resolved, or every problem that was found.
///
/// The text is at most [`MOST_BYTES`] long. Problems come in the order of the text, at most
/// [`MOST_PROBLEMS`].
pub fn read(text: &str) -> Result<Study, Vec<Problem>> {
    let mut reader = Reader {
        text,
        problems: Vec::new(),
    };
    let study = document(&mut reader).and_then(|written| resolve::study(&written, &mut reader));
    finish(study, reader.problems)
}

/// Reads a study as written; checks keys, types, units and ranges, and nothing that needs the
/// materials.
pub fn read_written(text: &str) -> Result<StudyWritten, Vec<Problem>> {
    let mut reader = Reader {
        text,
        problems: Vec::new(),
    };
    let written = document(&mut reader);
    finish(written, reader.problems)
}

/// Resolves a study as written. Problems have the places of the text it was read from.
pub fn resolve(written: &StudyWritten) -> Result<Study, Vec<Problem>> {
    read(&write(written))
}

/// Writes a study; reading what was written gives the same study as written.
pub fn write(written: &StudyWritten) -> String {
    writer::document(&written.root, &written.end)
}

/// A section such as `piece` as it holds for a treatment, or for the study when none is named: what is written there
/// over what it starts from. None where nothing is written.
pub fn holding(written: &StudyWritten, treatment: Option<&str>, section: &str) -> Option<Row> {
    resolve::holding(&written.root, treatment, section)
}

/// The JSON Schema (draft 2020-12) of a study file.
pub fn schema() -> serde_json::Value {
    schema::document(&tables::ROOT)
}

/// The page of fields, Markdown.
pub fn fields_markdown() -> String {
    page::document(&tables::ROOT)
}

fn finish<T>(found: Option<T>, mut problems: Vec<Problem>) -> Result<T, Vec<Problem>> {
    problems.sort_by_key(|p| (p.span.start, p.span.end));
    match found {
        Some(found) if problems.is_empty() => Ok(found),
        _ => Err(problems),
    }
}

/// Text to tables as written; what can't be read at all gives `None`.
fn document(reader: &mut Reader<'_>) -> Option<StudyWritten> {
    let text = reader.text;
    if text.len() > MOST_BYTES {
        reader.tell(
            Problem::new(
                Code::TooLarge,
                0..0,
                "",
                format!(
                    "the text has {} bytes, more than a study can have",
                    text.len()
                ),
            )
            .allowed(format!("at most {MOST_BYTES} bytes"))
            .suggest("is this the right file?"),
        );
        return None;
    }
    let document = match Document::parse(text) {
        Ok(document) => document,
        Err(error) => {
            let message = error
                .message()
                .trim()
                .lines()
                .collect::<Vec<_>>()
                .join("; ");
            reader.tell(
                Problem::new(
                    Code::Syntax,
                    error.span().unwrap_or(0..0),
                    "",
                    format!("not TOML: {message}"),
                )
                .suggest("write key = value, texts in quotes, tables as [name]"),
            );
            return None;
        }
    };
    let version = document.get("hardtack");
    if let Some(other) = version
        .and_then(toml_edit::Item::as_integer)
        .filter(|v| *v != VERSION)
    {
        let place = version.and_then(toml_edit::Item::span).unwrap_or(0..0);
        reader.tell(
            Problem::new(
                Code::Version,
                place,
                "hardtack",
                format!("this is version {other} of the written form"),
            )
            .allowed(format!("version {VERSION}"))
            .suggest(if other > VERSION {
                "a newer program may read it"
            } else {
                "write hardtack = 1"
            }),
        );
        return None;
    }
    let root = reader.table(document.as_table(), &tables::ROOT, "", 0..0);
    let trailing = document.trailing();
    let end = trailing
        .as_str()
        .or_else(|| trailing.span().and_then(|s| text.get(s)));
    Some(StudyWritten {
        root,
        end: comment::lines_of(end.unwrap_or_default()),
    })
}
