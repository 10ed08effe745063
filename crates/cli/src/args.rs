//! Every command and option on one page.

use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;
use std::sync::LazyLock;

/// The program's version, the revision of its source and the version of the model that its figures come from.
fn version() -> &'static str {
    static VERSION: LazyLock<String> = LazyLock::new(|| {
        format!(
            "{} (revision {}, model {})",
            env!("CARGO_PKG_VERSION"),
            env!("HARDTACK_REVISION"),
            study::MODEL_VERSION
        )
    });
    &VERSION
}

/// Hardtack: change one number in a formula and see what it does to the dough, the bake, the
/// line, the label and the cost, beside the control.
#[derive(Debug, Parser)]
#[command(
    name = "hardtack",
    version = version(),
    about,
    max_term_width = 100,
    args_conflicts_with_subcommands = true
)]
pub struct Cli {
    /// What to do; without a command the book opens on screen.
    #[command(subcommand)]
    pub command: Option<Command>,
    #[command(flatten)]
    pub open: Open,
}

/// What a person can ask for.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Make the demonstration study and its report in a folder.
    Demo(Demo),
    /// Open the book on screen: the study sheet and the pages around it, on this computer only.
    Open(Open),
    /// Studies: check a study file, report what its treatments do, tell the form.
    #[command(subcommand)]
    Study(Study),
    /// The bake of one treatment, or of a model case.
    #[command(subcommand)]
    Bake(Bake),
    /// Your own oven: learn from its bakes, show what was learned, hold readings beside the model.
    #[command(subcommand)]
    Oven(crate::cmd::oven::Oven),
    /// What a study's batches taught: the water of its doughs, the cutting, a measured response.
    #[command(subcommand)]
    Learn(crate::cmd::learn::Learn),
    /// What to try next: the bake to read, the dough to titrate, the formula to make.
    Next(crate::cmd::learn::NextArgs),
    /// Measures, docker holes and layouts of one treatment's piece, and its drawing.
    Piece(crate::cmd::piece::PieceArgs),
    /// Cooling, evening-out, checking and keeping of one treatment.
    After(crate::cmd::after::AfterArgs),
    /// Raw materials of the built-in table.
    #[command(subcommand)]
    Material(Material),
    /// Trials: plan them, size them, analyse them, and say what they show.
    #[command(subcommand)]
    Trial(crate::trial_args::Trial),
    /// Batches of the book: list them, show what was written, write a row, take the measurements out.
    #[command(subcommand)]
    Bench(Bench),
    /// Measurements of a table into the batches of a trial: CSV or a workbook, what is known already left as it is.
    Observe(Observe),
    /// From what instruments show to the numbers that are compared.
    #[command(subcommand)]
    Measure(crate::trial_args::Measure),
    /// The book that keeps studies: verify, back up, restore, tell about it.
    #[command(subcommand)]
    Book(Book),
    /// What a shell and the manual know of these commands.
    #[command(subcommand)]
    Terminal(crate::cmd::terminal::Terminal),
}

/// How to open the book on screen.
#[derive(Debug, Args)]
pub struct Open {
    /// The book; without it the one in your data folder, made with the demonstration if there is none.
    #[arg(long, value_name = "PATH")]
    pub book: Option<PathBuf>,
    /// Address to listen on, 127.0.0.1:7411 unless that is taken; only this computer's own until accounts exist.
    #[arg(long, value_name = "ADDRESS:PORT")]
    pub listen: Option<std::net::SocketAddr>,
    /// Open a second door for tablets, with the bench alone, over TLS and for paired devices: 0.0.0.0:7412, say.
    #[arg(long, value_name = "ADDRESS:PORT")]
    pub bench_listen: Option<std::net::SocketAddr>,
    /// A name that tablets may ask for beside the addresses, such as bakery.local; may be given again.
    #[arg(long, value_name = "NAME", requires = "bench_listen")]
    pub bench_name: Vec<String>,
    /// Your own certificate for that door, in PEM with what vouches for it; else the program's own authority gives one.
    #[arg(long, value_name = "FILE", requires_all = ["bench_listen", "bench_key"])]
    pub bench_certificate: Option<PathBuf>,
    /// The key of that certificate, in PEM.
    #[arg(long, value_name = "FILE", requires_all = ["bench_listen", "bench_certificate"])]
    pub bench_key: Option<PathBuf>,
    /// Tell the address and leave the browser alone.
    #[arg(long)]
    pub no_browser: bool,
    /// Print the address alone on standard output, for scripts, and leave the browser alone.
    #[arg(long)]
    pub print_address: bool,
    /// Make the book named with --book if there is none, without asking.
    #[arg(long, requires = "book")]
    pub new: bool,
}

/// Commands about batches.
#[derive(Debug, Subcommand)]
pub enum Bench {
    /// List the batches of a trial, or of the whole book.
    List {
        /// The trial, by its lasting name.
        #[arg(long, value_name = "ID")]
        trial: Option<String>,
        #[command(flatten)]
        place: BookPlace,
    },
    /// Show all that was written of a batch, with what was struck through and what to know.
    Show {
        /// The batch, by its lasting name.
        batch: String,
        #[command(flatten)]
        place: BookPlace,
    },
    /// Begin a batch that belongs to no trial: one mixing of a treatment of a study today.
    New {
        /// The study, by its lasting name.
        study: String,
        /// The treatment, by its short name or its name.
        treatment: String,
        /// Good pieces wanted.
        #[arg(long, value_name = "N", default_value_t = 60)]
        pieces: u32,
        /// Share of dough and pieces lost on the way.
        #[arg(long, value_name = "PERCENT", default_value_t = 5.0)]
        lost_pct: f64,
        #[command(flatten)]
        place: BookPlace,
    },
    /// Write one row of a batch: a dose, a count, a reading, a note; or strike one through.
    Enter(BenchEnter),
    /// Tell where a lot of a material went: the batches that it was weighed into.
    Went {
        /// The material, by its short name.
        material: String,
        /// What stands on the bag.
        lot: String,
        #[command(flatten)]
        place: BookPlace,
    },
    /// Take the measurements of a trial out, one value a row, or of one response as the analysis takes them.
    Export(BenchExport),
    /// Read what a logger wrote of the temperature inside pieces into the batches of a trial.
    ///
    /// A CSV file or workbook: a column of time (s, min, h:mm:ss, or a date and time) and one for each probe (°C or °F).
    Probes(BenchProbes),
    /// Read what an instrument wrote while it bent pieces (force over distance) into a batch: the force at break of each,
    /// and with span, width and thickness the stress.
    Bend(BenchBend),
    /// Take out what the batches of a trial tell of their oven: the table that `oven fit` reads.
    Readings(BenchReadings),
}

/// A logger's file to read in.
#[derive(Debug, Args)]
pub struct BenchProbes {
    /// The logger's file.
    pub file: PathBuf,
    /// The trial, by its lasting name.
    #[arg(long, value_name = "ID")]
    pub trial: String,
    /// A probe by the head of its column, the batch it was in, and its height over the band in mm: `core=B03:4`; repeat
    /// for more. Without any the probes of the file are told and nothing is written.
    #[arg(long, value_name = "HEAD=BATCH:MM")]
    pub probe: Vec<String>,
    /// When the pieces went into the oven, as the file writes a moment [default: its beginning].
    #[arg(long, value_name = "MOMENT")]
    pub entered: Option<String>,
    /// When they came out [default: its end].
    #[arg(long, value_name = "MOMENT")]
    pub left: Option<String>,
    /// Unit of the time where its head has none: s, min, h, mm:ss, hh:mm.
    #[arg(long, value_name = "UNIT")]
    pub time_in: Option<String>,
    /// Unit of the temperatures where their heads have none: °C, °F, K (C and F will do).
    #[arg(long, value_name = "UNIT")]
    pub degrees: Option<String>,
    #[command(flatten)]
    pub how: Instrument,
}

/// A file of force over distance to read in.
#[derive(Debug, Args)]
pub struct BenchBend {
    /// The instrument's file.
    pub file: PathBuf,
    /// The trial, by its lasting name.
    #[arg(long, value_name = "ID")]
    pub trial: String,
    /// The batch that the pieces are of.
    #[arg(long, value_name = "CODE")]
    pub batch: String,
    /// Distance between the supports, mm.
    #[arg(long, requires_all = ["width_mm", "thickness_mm"])]
    pub span_mm: Option<f64>,
    /// Width of the pieces, mm.
    #[arg(long, requires = "span_mm")]
    pub width_mm: Option<f64>,
    /// Thickness of the pieces, mm.
    #[arg(long, requires = "span_mm")]
    pub thickness_mm: Option<f64>,
    #[command(flatten)]
    pub how: Instrument,
}

/// How a file of an instrument is read and entered.
#[derive(Debug, Args)]
pub struct Instrument {
    /// Sheet of a workbook; the first if none is named.
    #[arg(long, value_name = "NAME")]
    pub sheet: Option<String>,
    /// Numbers are written 12,5.
    #[arg(long)]
    pub decimal_comma: bool,
    /// Only look: nothing is written.
    #[arg(long)]
    pub check: bool,
    /// Enter what is fine although something isn't.
    #[arg(long)]
    pub rest: bool,
    /// Strike values through that are kept otherwise, with this reason, and put these in their place.
    #[arg(long, value_name = "REASON")]
    pub correct: Option<String>,
    #[command(flatten)]
    pub place: BookPlace,
}

/// Readings of an oven to take out.
#[derive(Debug, Args)]
pub struct BenchReadings {
    /// The trial, by its lasting name.
    pub trial: String,
    /// The batches of this treatment, as the trial calls it [default: the control]; one fit is of one treatment.
    #[arg(long, value_name = "LABEL")]
    pub treatment: Option<String>,
    /// Write the table; without it it goes to standard output.
    #[arg(long, value_name = "OUT")]
    pub csv: Option<PathBuf>,
    /// One JSON document on standard output, with what was left out and why.
    #[arg(long, conflicts_with = "csv")]
    pub json: bool,
    /// Overwrite an existing file.
    #[arg(long)]
    pub force: bool,
    /// The book; without it the one in your data folder.
    #[arg(long, value_name = "PATH")]
    pub book: Option<PathBuf>,
}

/// A row to write.
#[derive(Debug, Args)]
pub struct BenchEnter {
    /// The batch, by its lasting name.
    pub batch: String,
    /// What it is: dose, cut-whole, dough-temperature, observed, note, abandoned … (a wrong word tells all).
    pub what: String,
    /// The value; none where the row only strikes another through.
    #[arg(allow_negative_numbers = true)]
    pub value: Option<String>,
    /// Of which material, response, tray or setting.
    #[arg(long, value_name = "NAME")]
    pub of: Option<String>,
    /// On which unit within the batch: `piece=3`, `position=left;piece=2`.
    #[arg(long, value_name = "PART=NAME")]
    pub on: Option<String>,
    /// The unit it is typed in, where it is another one than the usual.
    #[arg(long, value_name = "UNIT")]
    pub unit: Option<String>,
    /// Strike an earlier row of this batch through, by its key; takes --why.
    #[arg(long, value_name = "ROW", requires = "why")]
    pub strike: Option<String>,
    /// Why: of a strike, or that a value beyond what is plausible is so.
    #[arg(long, value_name = "REASON")]
    pub why: Option<String>,
    /// Moment at the bench, in UTC like 2026-11-25T09:00:44Z [default: now].
    #[arg(long, value_name = "MOMENT")]
    pub at: Option<String>,
    /// Who did it [default: the name in the settings].
    #[arg(long, value_name = "NAME")]
    pub who: Option<String>,
    /// Key of the row, so that the same row sent twice is kept once [default: a new one].
    #[arg(long, value_name = "KEY")]
    pub key: Option<String>,
    #[command(flatten)]
    pub place: BookPlace,
}

/// Measurements to take out.
#[derive(Debug, Args)]
pub struct BenchExport {
    /// The trial, by its lasting name.
    #[arg(long, value_name = "ID")]
    pub trial: String,
    /// Only this response, as `trial analyse` takes it.
    #[arg(long, value_name = "RESPONSE")]
    pub response: Option<String>,
    /// Write CSV; without any of these it goes to standard output.
    #[arg(long, value_name = "OUT")]
    pub csv: Option<PathBuf>,
    /// Write a workbook.
    #[arg(long, value_name = "OUT")]
    pub xlsx: Option<PathBuf>,
    /// One JSON document on standard output.
    #[arg(long, conflicts_with_all = ["csv", "xlsx"])]
    pub json: bool,
    /// Overwrite existing files.
    #[arg(long)]
    pub force: bool,
    /// The book; without it the one in your data folder.
    #[arg(long, value_name = "PATH")]
    pub book: Option<PathBuf>,
}

/// Measurements to enter.
#[derive(Debug, Args)]
pub struct Observe {
    /// Table: CSV or a workbook, with a column of batches and columns of responses.
    pub file: PathBuf,
    /// The trial, by its lasting name.
    #[arg(long, value_name = "ID")]
    pub trial: String,
    /// What a column is, where its head doesn't tell: `Kraft=breaking_force_n`; repeat for more.
    #[arg(long, value_name = "HEAD=RESPONSE")]
    pub column: Vec<String>,
    /// Numbers are written 12,5.
    #[arg(long)]
    pub decimal_comma: bool,
    /// Sheet of a workbook; the first if none is named.
    #[arg(long, value_name = "NAME")]
    pub sheet: Option<String>,
    /// Only look: nothing is written.
    #[arg(long)]
    pub check: bool,
    /// Enter the rows that are fine although others aren't.
    #[arg(long)]
    pub rest: bool,
    /// Strike values through that are kept otherwise, with this reason, and put these in their place.
    #[arg(long, value_name = "REASON")]
    pub correct: Option<String>,
    #[command(flatten)]
    pub place: BookPlace,
}

/// Commands about the book.
#[derive(Debug, Subcommand)]
pub enum Book {
    /// Check the whole book and walk the chain of all revisions and rows of the bench; nothing is changed, and the right to write isn't needed.
    Verify {
        #[command(flatten)]
        place: BookPlace,
        /// A hash that was noted earlier, which has to be in the chain.
        #[arg(long, value_name = "HASH")]
        expect: Option<String>,
    },
    /// Copy the book while it may be in use; the copy is consistent.
    Backup {
        /// File to make; an existing one stays as it is.
        out: PathBuf,
        #[command(flatten)]
        place: BookPlace,
    },
    /// Make a book from a backup; an existing book stays as it is.
    Restore {
        /// Backup to read.
        from: PathBuf,
        #[command(flatten)]
        place: BookPlace,
    },
    /// What the book holds, in numbers.
    Info(BookPlace),
    /// Studies that were saved under another version of the model, with the figures told then and now.
    Moved(BookPlace),
}

/// Where the book is.
#[derive(Debug, Args)]
pub struct BookPlace {
    /// The book; without it the one in your data folder.
    #[arg(long, value_name = "PATH")]
    pub book: Option<PathBuf>,
    /// One JSON document on standard output.
    #[arg(long)]
    pub json: bool,
}

/// Where the demonstration goes.
#[derive(Debug, Args)]
pub struct Demo {
    /// Folder to make.
    #[arg(default_value = "hardtack-demo", value_name = "FOLDER")]
    pub folder: PathBuf,
    /// Write again what is there.
    #[arg(long)]
    pub force: bool,
}

/// Commands about studies.
#[derive(Debug, Subcommand)]
pub enum Study {
    /// Read a study file and tell everything that is wrong with it.
    Check(StudyFile),
    /// What every treatment does, beside the control.
    Report(Report),
    /// Why a figure differs from the control's: causes that add up to the difference.
    Why(Why),
    /// What dough water costs: bake time and output against the water of a treatment.
    Curve(Curve),
    /// What to weigh for one batch of a treatment, in order of addition.
    Batch(Batch),
    /// The JSON Schema of the study file, or of the report.
    Schema {
        /// Of what `study report --json` writes.
        #[arg(long)]
        report: bool,
        /// Tell it as a Markdown page instead.
        #[arg(long)]
        markdown: bool,
    },
}

/// A study file.
#[derive(Debug, Args)]
pub struct StudyFile {
    /// Study file (TOML).
    pub file: PathBuf,
    /// One JSON document on standard output.
    #[arg(long)]
    pub json: bool,
}

/// How to report.
#[derive(Debug, Args)]
pub struct Report {
    /// Study file (TOML).
    pub file: PathBuf,
    /// Only this treatment (beside the control).
    #[arg(long, value_name = "ID")]
    pub treatment: Option<String>,
    /// Write the report as one self-contained HTML file.
    #[arg(long, value_name = "OUT")]
    pub html: Option<PathBuf>,
    /// One JSON document on standard output.
    #[arg(long)]
    pub json: bool,
    /// Draw this many times from what is uncertain and tell 95 % limits.
    #[arg(long, value_name = "DRAWS")]
    pub spread: Option<usize>,
    /// The seed of the draws; the same seed gives the same limits.
    #[arg(long, default_value_t = 1, value_name = "SEED")]
    pub seed: u64,
    /// Overwrite an existing file.
    #[arg(long)]
    pub force: bool,
}

/// Which figure is asked about.
#[derive(Debug, Args)]
pub struct Why {
    /// Study file (TOML).
    pub file: PathBuf,
    /// The figure, by name or by its key in the report, such as `bake` or `bake.time_min`.
    pub figure: String,
    /// Only this treatment.
    #[arg(long, value_name = "ID")]
    pub treatment: Option<String>,
    /// One JSON document on standard output.
    #[arg(long)]
    pub json: bool,
}

/// The curve against dough water.
#[derive(Debug, Args)]
pub struct Curve {
    /// Study file (TOML).
    pub file: PathBuf,
    /// The treatment; the control if none is named.
    #[arg(long, value_name = "ID")]
    pub treatment: Option<String>,
    /// Points, 9 to 99, from a quarter less water to a quarter more.
    #[arg(long, value_name = "N", default_value_t = 9)]
    pub points: usize,
    /// One JSON document on standard output.
    #[arg(long)]
    pub json: bool,
}

/// One batch; its size in one of three ways.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("size").required(true).args(["dough_kg", "pieces", "bowl_l"]))]
pub struct Batch {
    /// Study file (TOML).
    pub file: PathBuf,
    /// The treatment; the control if none is named.
    #[arg(long, value_name = "ID")]
    pub treatment: Option<String>,
    /// Dough to make.
    #[arg(long, value_name = "KG")]
    pub dough_kg: Option<f64>,
    /// Good pieces wanted.
    #[arg(long, value_name = "COUNT")]
    pub pieces: Option<f64>,
    /// Share of dough and pieces lost on the way, with --pieces.
    #[arg(long, value_name = "PERCENT", default_value_t = 0.0)]
    pub loss_pct: f64,
    /// Volume of the mixer's bowl.
    #[arg(long, value_name = "LITRES")]
    pub bowl_l: Option<f64>,
    /// Share of the bowl to fill, with --bowl-l.
    #[arg(long, value_name = "PERCENT", default_value_t = 50.0)]
    pub fill_pct: f64,
    /// Division of the scale.
    #[arg(long, value_name = "G", default_value_t = 1.0)]
    pub scale_g: f64,
    /// One JSON document on standard output.
    #[arg(long)]
    pub json: bool,
}

/// Commands about the bake.
#[derive(Debug, Subcommand)]
pub enum Bake {
    /// Bake one treatment of a study and tell its course.
    Run(BakeRun),
    /// Solve a model case given directly by its parameters.
    Case(BakeCase),
    /// Bake the whole piece: outline, docker holes, three dimensions.
    Solid(crate::cmd::solid::BakeSolid),
}

/// How to bake a treatment.
#[derive(Debug, Args)]
pub struct BakeRun {
    /// Study file (TOML).
    pub file: PathBuf,
    /// The treatment; the control if none is named.
    #[arg(long, value_name = "ID")]
    pub treatment: Option<String>,
    /// Ask the other question: what is it like after this band time?
    #[arg(long, value_name = "MINUTES")]
    pub minutes: Option<f64>,
    /// Cells through the thickness.
    #[arg(long, value_name = "N")]
    pub cells: Option<usize>,
    /// Tight accuracy instead of quick.
    #[arg(long, conflicts_with = "tolerance")]
    pub tight: bool,
    /// Relative tolerance of a step instead of a named accuracy.
    #[arg(long, value_name = "TOLERANCE")]
    pub tolerance: Option<f64>,
    /// One JSON document on standard output.
    #[arg(long)]
    pub json: bool,
    /// Write the course of the bake as CSV.
    #[arg(long, value_name = "OUT")]
    pub csv: Option<PathBuf>,
    /// Write the curves of the bake as SVG.
    #[arg(long, value_name = "OUT")]
    pub svg: Option<PathBuf>,
    /// Overwrite existing files.
    #[arg(long)]
    pub force: bool,
}

/// A model case.
#[derive(Debug, Args)]
pub struct BakeCase {
    /// Case file (JSON); `-` reads standard input.
    pub file: PathBuf,
    /// One JSON document on standard output.
    #[arg(long)]
    pub json: bool,
}

/// Commands about raw materials.
#[derive(Debug, Subcommand)]
pub enum Material {
    /// All materials, or those whose name or group has a word in it.
    List {
        /// A word to look for.
        word: Option<String>,
        /// One JSON document on standard output.
        #[arg(long)]
        json: bool,
    },
    /// One material with the source and grade of every value.
    Show {
        /// Its short name.
        id: String,
        /// One JSON document on standard output.
        #[arg(long)]
        json: bool,
    },
}
