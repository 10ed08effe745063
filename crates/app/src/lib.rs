//! One function per thing a person does: the only place that reads the book, computes and writes
//! in one breath.
//!
//! Knows the job, the book and the clock. Must not know HTML, HTTP, SQL or a terminal: faces turn
//! what it answers into pages and tables.

mod afters;
mod answers;
mod at_bench;
mod bakes;
mod bare;
mod batches_read;
mod bench;
mod cells;
mod changes;
mod demonstration_day;
mod desk;
mod devices;
mod doughs;
mod drafts;
mod edits;
mod error;
mod exchange;
mod fits;
mod held;
mod history;
mod jobs;
mod keeping;
mod logger;
mod lots;
mod material_tables;
mod materials;
mod next_trial;
mod observations;
mod oven;
mod panels;
mod patient;
mod picture;
mod pieces;
mod place;
mod planning;
mod predicted;
mod preview;
mod reading;
mod results;
mod saves;
mod settings;
mod settle;
mod sheet;
mod solid;
mod starts;
mod steps;
mod studies;
mod sure;
mod texts;
mod then;
mod trial_tables;
mod trials_kept;
mod weighing;
mod whys;

pub use afters::AfterOf;
pub use answers::{Answers, Failed, Worked};
pub use at_bench::{AtBench, DayBatch, DayTrial, OfTrial, called};
pub use bare::bare;
pub use bench::{EntriesSince, Sent, Taken};
pub use changes::{Change, diff};
pub use devices::{
    CODE_RESTS, Device, Devices, MOST_WRONG_CODES, MOST_WRONG_DIGITS, PAIRING_LASTS, Pairing,
    Signer,
};
pub use doughs::DoughsTaught;
pub use drafts::Seen;
pub use error::AppError;
pub use exchange::{ImportPreview, Named};
pub use fits::{FitAsked, FitCurve, FitKept, FitLook, FitStart, at_best_values, chosen};
pub use history::{Difference, FigureChange};
pub use jobs::JobState;
pub use logger::{LoggerFile, LoggerSays};
pub use lots::{Lot, LotInStudy, LotKept, LotWent, WentInto};
pub use material_tables::{RowPreview, TableFormat, Which};
pub use materials::{MaterialLine, MaterialView, OwnMaterial, Use, Values};
pub use measure::Units;
pub use next_trial::{MOST_BATCHES, Next, NextDough, NextFormula, NextFormulas, ResponseLearned};
pub use observations::{EnteredFile, MeasurementsFile};
pub use oven::{OvenShown, ZoneShown, ZoneValue, oven_shown};
pub use panels::{PanelAnswer, PanelQuestion, PanelResult, ask_panel};
pub use picture::{Picture, PictureType};
pub use pieces::{PieceOf, SectionWritten, piece_asked_of, section_written};
pub use place::default_book;
pub use planning::{BatchAsked, TrialAsked};
pub use predicted::Predicted;
pub use preview::WouldBe;
pub use results::{ModelOf, ResponseResult, response_result};
pub use saves::SaveOutcome;
pub use settings::{DateLanguage, Settings};
pub use settle::{BothWrote, Choices, Settling, Side, settling};
pub use sheet::{DraftState, StudyView};
pub use solid::{SeenFromAbove, SolidAnswered, SolidState, SolidWhat, seen_from_above};
pub use starts::Start;
pub use studies::{Shelf, Studies, StudyLine};
pub use then::Then;
pub use trial_tables::{TRIAL_LIMITS, csv_of, rows_of, trial_rows, trial_table, xlsx_of};
pub use trials_kept::{BatchView, TrialLine, TrialView, as_row, new_key, row_of};
pub use weighing::{Weighing, weighed};
pub use whys::WhyOf;

use book::{Book, Info};
use std::path::Path;
use std::sync::Arc;
use steps::Steps;

/// Version of the written form that this program saves.
pub const FORM_VERSION: u32 = 1;

/// The demonstration: an invented bakery's study, as the examples have it.
pub const DEMONSTRATION: &str = include_str!("../../../examples/spent-grain.toml");

/// The open book with what was worked out for it. Clones share both.
#[derive(Clone, Debug)]
pub struct App {
    book: Book,
    desk: Arc<desk::Desk>,
    steps: Arc<Steps>,
    lanes: Arc<drafts::Lanes>,
    keeping: Arc<keeping::Keeping>,
    settings: Arc<settings::Kept>,
    jobs: Arc<jobs::Jobs>,
    known: Arc<devices::Known>,
    batches_read: Arc<batches_read::BatchesRead>,
    held: Arc<held::Held>,
}

impl App {
    /// Opens the book at `path`; makes it, and its folder, with the demonstration study where there
    /// is none.
    ///
    /// # Errors
    /// What keeps the book from being opened or made, with the way out.
    pub async fn open(path: &Path) -> Result<Self, AppError> {
        if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
            place::make_folder(folder)?;
        }
        let app = Self::over(Book::open(path, true).await?);
        place::make_private(app.book.path());
        if app.book.is_new() {
            app.add_demonstration().await?;
        }
        Ok(app)
    }

    /// Over a book that is open already; nothing is put into it.
    pub fn over(book: Book) -> Self {
        Self {
            book,
            desk: Arc::default(),
            steps: Arc::default(),
            lanes: Arc::default(),
            keeping: Arc::default(),
            settings: Arc::default(),
            jobs: Arc::default(),
            known: Arc::default(),
            batches_read: Arc::default(),
            held: Arc::default(),
        }
    }

    /// The book itself, for what has no room of its own here: verify, backup, info.
    pub fn book(&self) -> &Book {
        &self.book
    }

    /// What the book holds, in numbers.
    ///
    /// # Errors
    /// What the storage tells.
    pub async fn info(&self) -> Result<Info, AppError> {
        Ok(self.book.info().await?)
    }

    /// Closes the book tidily.
    pub async fn close(self) {
        self.jobs.stop_all();
        self.book.close().await;
    }
}

/// Now, in UTC to the second, as the book keeps it.
pub fn now() -> String {
    let whole = jiff::Timestamp::now().as_second();
    jiff::Timestamp::from_second(whole)
        .map_or_else(|_| String::from("1970-01-01T00:00:00Z"), |t| t.to_string())
}
