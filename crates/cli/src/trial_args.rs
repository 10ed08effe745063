//! Commands and options of trials and of the measurements behind them.

use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Commands about trials.
#[derive(Debug, Subcommand)]
pub enum Trial {
    /// Draw a plan: which batch is made in which order. `plan list` tells when each design fits.
    Plan(Box<Plan>),
    /// How many batches or dogs a question needs, or what a plan of a given size can find.
    Power(Box<Power>),
    /// Analyse a table of observations: means, intervals, comparisons and a plain sentence.
    Analyse(Box<Analyse>),
    /// A straight line along an amount that was varied.
    Trend(Trend),
    /// A response surface over settings that were varied.
    Surface(Surface),
    /// A mixture model of parts that add up to one.
    Mixture(Mixture),
    /// How long batches keep: a value along storage time, and when it may meet a limit.
    Keeping(Keeping),
    /// Looks at a trial before its end: what each look must show, so that together they keep to 5 %.
    Looks(Looks),
    /// Several responses of one trial in one table, p-values guarded for their being several.
    Several(Several),
    /// A two-bowl trial over two days.
    Twobowl(Twobowl),
    /// A ranking of several foods: one line per dog, one column of ranks per food.
    Ranking(Ranking),
    /// How many dogs of a panel have to choose one food first before it means anything.
    Minimum(Minimum),
}

/// Where the answer goes besides the terminal.
#[derive(Debug, Args)]
pub struct Out {
    /// One JSON document on standard output.
    #[arg(long)]
    pub json: bool,
    /// Write a self-contained HTML page.
    #[arg(long, value_name = "OUT")]
    pub html: Option<PathBuf>,
    /// Write a Markdown page.
    #[arg(long, value_name = "OUT")]
    pub markdown: Option<PathBuf>,
    /// Write the tables as tidy CSV, or a run sheet as CSV.
    #[arg(long, value_name = "OUT")]
    pub csv: Option<PathBuf>,
    /// Overwrite existing files.
    #[arg(long)]
    pub force: bool,
}

/// Where a table comes from.
#[derive(Debug, Args)]
pub struct Data {
    /// Table: CSV, or a spreadsheet ending in .xlsx; `-` reads CSV from standard input.
    pub data: PathBuf,
    /// Numbers are written 12,5.
    #[arg(long)]
    pub decimal_comma: bool,
    /// Sheet of a spreadsheet; the first if none is named.
    #[arg(long, value_name = "NAME")]
    pub sheet: Option<String>,
}

/// A design and its options; `plan list` tells which design takes which.
#[derive(Debug, Args)]
pub struct Plan {
    /// The design, or `list`.
    pub design: String,
    /// Seed of the random order; the same seed gives the same sheet for ever.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// What gets a treatment on its own.
    #[arg(long, value_name = "UNIT", value_parser = ["batch", "oven-load", "dog", "piece", "tray"])]
    pub unit: Option<String>,
    /// Treatments or foods, the control first, parted by commas.
    #[arg(long, value_delimiter = ',', value_name = "A,B,…")]
    pub treatments: Vec<String>,
    /// Batches of each treatment or setting.
    #[arg(long, value_name = "N")]
    pub replicates: Option<usize>,
    /// What a block is, e.g. `bake day`.
    #[arg(long, value_name = "NAME")]
    pub block_name: Option<String>,
    /// How many blocks.
    #[arg(long, value_name = "N")]
    pub blocks: Option<usize>,
    /// Batches of each treatment in a block.
    #[arg(long, value_name = "N")]
    pub per_block: Option<usize>,
    /// What a row of a Latin square is.
    #[arg(long, value_name = "NAME")]
    pub row_name: Option<String>,
    /// What a column of a Latin square is.
    #[arg(long, value_name = "NAME")]
    pub column_name: Option<String>,
    /// Latin squares.
    #[arg(long, value_name = "N")]
    pub squares: Option<usize>,
    /// Dogs.
    #[arg(long, value_name = "N")]
    pub dogs: Option<usize>,
    /// A factor: `flour=barley,rice` (names) or `bake time:min=18..30` (numbers); repeat for more.
    #[arg(long, value_name = "NAME=LEVELS")]
    pub factor: Vec<String>,
    /// The factor that is hard to change, of a split plot: `oven=150 °C,170 °C`.
    #[arg(long, value_name = "NAME=LEVELS")]
    pub whole_plot: Option<String>,
    /// The control beside a factorial.
    #[arg(long, value_name = "NAME")]
    pub control: Option<String>,
    /// Control batches in each replicate.
    #[arg(long, value_name = "N")]
    pub controls: Option<usize>,
    /// Halve the runs of a two-level factorial so many times.
    #[arg(long, value_name = "N")]
    pub drop: Option<usize>,
    /// A generator such as `D=ABC`; repeat for more.
    #[arg(long, value_name = "WORD")]
    pub generator: Vec<String>,
    /// How far out the axial points stand: rotatable, spherical, face, or a number.
    #[arg(long, value_name = "REACH")]
    pub reach: Option<String>,
    /// Repeats of the centre.
    #[arg(long, value_name = "N")]
    pub centre: Option<usize>,
    /// A part of a mixture with its bounds as fractions: `barley flour=0.05..0.30`, or `rice=0.1..`
    /// for a least alone; repeat for more.
    #[arg(long, value_name = "NAME=LOW..HIGH")]
    pub part: Vec<String>,
    /// Steps of a lattice.
    #[arg(long, value_name = "N")]
    pub steps: Option<usize>,
    /// Model of a mixture: linear, interaction, quadratic, special-cubic.
    #[arg(long, value_name = "DEGREE")]
    pub degree: Option<String>,
    /// Runs of a mixture within bounds.
    #[arg(long, value_name = "N")]
    pub runs: Option<usize>,
    /// Random starts of the search for the best runs.
    #[arg(long, value_name = "N")]
    pub starts: Option<usize>,
    /// Draw an invented example of the design instead.
    #[arg(long)]
    pub example: bool,
    /// Keep the plan in the book under this lasting name (small letters, digits, hyphens), with its batches made.
    #[arg(long, value_name = "ID", requires = "study")]
    pub save: Option<String>,
    /// Of --save: the study whose treatments are baked, by its lasting name.
    #[arg(long, value_name = "ID", requires = "save")]
    pub study: Option<String>,
    /// Of --save: the book; without it the one in your data folder.
    #[arg(long, value_name = "PATH", requires = "save")]
    pub book: Option<PathBuf>,
    /// Of --save: what the trial is called [default: its lasting name].
    #[arg(long, value_name = "NAME", requires = "save")]
    pub name: Option<String>,
    /// Of --save: what it wants to know.
    #[arg(long, value_name = "TEXT", requires = "save")]
    pub question: Option<String>,
    /// Of --save: what is measured, with readings a batch and the margin of *as good as the control*; repeat for more
    /// [default: breaking_force_n:8].
    #[arg(long, value_name = "RESPONSE:READINGS:MARGIN", requires = "save")]
    pub response: Vec<String>,
    /// Of --save: good pieces wanted of each batch [default: 60].
    #[arg(long, value_name = "N", requires = "save")]
    pub pieces: Option<u32>,
    /// Of --save: call the treatments by codes on sheets of those who mustn't know.
    #[arg(long, requires = "save")]
    pub blind: bool,
    /// Write the sheet as TOML.
    #[arg(long, value_name = "OUT")]
    pub toml: Option<PathBuf>,
    #[command(flatten)]
    pub out: Out,
}

/// What is compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Question {
    /// Two treatments in one random order.
    TwoSample,
    /// Two treatments on the same day or dog.
    Paired,
    /// Several treatments in one random order.
    OneWay,
    /// Several treatments with expected means.
    Means,
    /// Several treatments in blocks.
    Blocks,
    /// Two shares of yes/no outcomes.
    Proportions,
    /// Whether a treatment is as good as the control, within a margin.
    AsGood,
    /// First choice between two foods.
    FirstChoice,
}

/// A question of size.
#[derive(Debug, Args)]
pub struct Power {
    /// What is compared.
    pub question: Question,
    /// Difference that must not be missed; for `as-good` how much worse it may really be (0).
    #[arg(long, value_name = "D")]
    pub difference: Option<f64>,
    /// Difference too small to matter, of `as-good`; with --one-sided only being worse counts.
    #[arg(long, value_name = "DELTA")]
    pub margin: Option<f64>,
    /// Standard deviation between units (paired: of the differences; blocks: within blocks).
    #[arg(long, value_name = "SD")]
    pub sd: Option<f64>,
    /// Instead of --sd: spread between batches of one treatment …
    #[arg(long, value_name = "SD", requires = "within_sd", conflicts_with = "sd")]
    pub between_sd: Option<f64>,
    /// … and between the pieces of a batch …
    #[arg(long, value_name = "SD", requires = "between_sd")]
    pub within_sd: Option<f64>,
    /// … of which so many are measured.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub pieces: usize,
    /// Number of treatments.
    #[arg(long, value_name = "N")]
    pub treatments: Option<usize>,
    /// Expected means.
    #[arg(
        long,
        value_delimiter = ',',
        allow_negative_numbers = true,
        value_name = "M,M,…"
    )]
    pub means: Vec<f64>,
    /// Share under the first treatment, 0 to 1.
    #[arg(long, value_name = "SHARE")]
    pub first: Option<f64>,
    /// Share under the second, 0 to 1.
    #[arg(long, value_name = "SHARE")]
    pub second: Option<f64>,
    /// Share of dogs that choose the preferred food, 0 to 1.
    #[arg(long, value_name = "SHARE")]
    pub share: Option<f64>,
    /// Only one direction counts.
    #[arg(long)]
    pub one_sided: bool,
    /// The units that are planned; without it the number needed is told.
    #[arg(long, value_name = "N")]
    pub n: Option<usize>,
    /// Power that is wanted.
    #[arg(long, default_value_t = 0.8, value_name = "SHARE")]
    pub power: f64,
    /// Risk of a false alarm.
    #[arg(long, default_value_t = 0.05, value_name = "SHARE")]
    pub alpha: f64,
    /// What is counted.
    #[arg(long, value_name = "UNIT", value_parser = ["batch", "oven-load", "dog", "piece", "tray"])]
    pub unit: Option<String>,
    /// Write the curve as SVG.
    #[arg(long, value_name = "OUT")]
    pub svg: Option<PathBuf>,
    #[command(flatten)]
    pub out: Out,
}

/// What to analyse.
#[derive(Debug, Args)]
pub struct Analyse {
    /// Table: CSV, or a spreadsheet ending in .xlsx; `-` reads CSV from standard input.
    #[arg(required_unless_present = "trial", conflicts_with = "trial")]
    pub data: Option<PathBuf>,
    /// Numbers are written 12,5.
    #[arg(long)]
    pub decimal_comma: bool,
    /// Sheet of a spreadsheet; the first if none is named.
    #[arg(long, value_name = "NAME")]
    pub sheet: Option<String>,
    /// A trial of the book, by its lasting name, instead of a table.
    #[arg(long, value_name = "ID")]
    pub trial: Option<String>,
    /// The book; without it the one in your data folder.
    #[arg(long, value_name = "PATH", requires = "trial")]
    pub book: Option<PathBuf>,
    /// Column of the response.
    #[arg(long, value_name = "COLUMN")]
    pub response: String,
    /// Column of a treatment; found when none is named. Repeat for more.
    #[arg(long, value_name = "COLUMN")]
    pub treatment: Vec<String>,
    /// The control's level.
    #[arg(long, value_name = "LEVEL")]
    pub control: Option<String>,
    /// Column of a block; found when none is named. Repeat for rows and columns of a square.
    #[arg(long, value_name = "COLUMN")]
    pub block: Vec<String>,
    /// Column of the experimental unit: what was mixed and baked on its own.
    #[arg(long, value_name = "COLUMN")]
    pub unit: Option<String>,
    /// Treatment column laid on whole plots (the oven setting).
    #[arg(long, value_name = "COLUMN")]
    pub whole_plot: Vec<String>,
    /// Column that numbers the whole plots (oven loads).
    #[arg(long, value_name = "COLUMN")]
    pub plots: Option<String>,
    /// Column that says when the same unit was measured again (day of storage).
    #[arg(long, value_name = "COLUMN")]
    pub time: Option<String>,
    /// Column of the feeding period of a crossover.
    #[arg(long, value_name = "COLUMN")]
    pub period: Option<String>,
    /// Column of the sequence of a crossover.
    #[arg(long, value_name = "COLUMN")]
    pub sequence: Option<String>,
    /// Column of an amount measured beside (dough moisture), whose part is taken out. Repeat for more.
    #[arg(long, value_name = "COLUMN")]
    pub covariate: Vec<String>,
    /// Column of how much was looked at, for counts that have no total (--kind count).
    #[arg(long, value_name = "COLUMN")]
    pub exposure: Option<String>,
    /// With several batches of a treatment on a day: speak of new days, or of these days only.
    #[arg(long, value_parser = ["new", "these"], value_name = "DAYS")]
    pub claim: Option<String>,
    /// Column of the number counted, for a response that counts so many of n.
    #[arg(long, value_name = "COLUMN")]
    pub out_of: Option<String>,
    /// Difference from the control too small to matter (for shares in percentage points): asks
    /// whether it is as good.
    #[arg(long, allow_negative_numbers = true, value_name = "DELTA")]
    pub margin: Option<f64>,
    /// A question of your own: `NAME: LEVEL=WEIGHT,…`, weights that add to 0. Repeat for more.
    #[arg(long, value_name = "NAME: LEVEL=WEIGHT,…")]
    pub contrast: Vec<String>,
    /// Compare all pairs by ranks as well (Dunn).
    #[arg(long)]
    pub by_ranks: bool,
    /// This is a planned look before the end, counted from 1: differences are judged by its limit.
    #[arg(long, value_name = "N")]
    pub look: Option<usize>,
    /// How many looks were planned, evenly spaced, the last at the end [default: 2].
    #[arg(long, value_name = "N", requires = "look")]
    pub looks: Option<usize>,
    /// Shares of the planned units that are in at each look, instead of evenly spaced ones.
    #[arg(
        long,
        value_delimiter = ',',
        value_name = "SHARE,SHARE,…,1",
        requires = "look",
        conflicts_with = "looks"
    )]
    pub looks_at: Vec<f64>,
    /// How the plan spends the risk over the looks: most at the end (late), or about evenly (even)
    /// [default: late].
    #[arg(long, value_parser = ["late", "even"], value_name = "HOW", requires = "look")]
    pub spend: Option<String>,
    /// Read each difference as a belief as well: how likely it is higher, better, at least as good.
    #[arg(long)]
    pub belief: bool,
    /// Of --belief: before the trial differences are held to lie about 0 with this standard
    /// deviation; without it every difference is held as likely as another.
    #[arg(
        long,
        value_name = "SD",
        allow_negative_numbers = true,
        requires = "belief"
    )]
    pub prior_sd: Option<f64>,
    /// Leave a row of the file out, with the reason; both answers are shown. Repeat for more.
    #[arg(long, value_name = "ROW=REASON")]
    pub exclude: Vec<String>,
    /// What kind of number the response is, where the list of responses doesn't know it.
    #[arg(long, value_parser = ["continuous", "count-of", "count", "ordinal", "binary"], value_name = "KIND")]
    pub kind: Option<String>,
    /// Which way is better, where the list of responses doesn't know it.
    #[arg(long, value_parser = ["higher", "lower", "target"], value_name = "WAY")]
    pub better: Option<String>,
    /// Unit of measure, where the list of responses doesn't know it.
    #[arg(long, value_name = "UNIT")]
    pub measure: Option<String>,
    /// Compare all pairs although a control is named.
    #[arg(long)]
    pub all_pairs: bool,
    /// Take the variances as equal or unequal instead of judging it from the data.
    #[arg(long, value_parser = ["equal", "unequal"], value_name = "HOW")]
    pub variances: Option<String>,
    /// Type of the sums of squares.
    #[arg(long, value_parser = ["1", "2", "3"], value_name = "TYPE")]
    pub sums: Option<String>,
    #[command(flatten)]
    pub out: Out,
}

/// A trend.
#[derive(Debug, Args)]
pub struct Trend {
    #[command(flatten)]
    pub data: Data,
    /// Column of the response.
    #[arg(long, value_name = "COLUMN")]
    pub response: String,
    /// Column of the amount.
    #[arg(long, value_name = "COLUMN")]
    pub along: String,
    /// Column of a unit measured several times; it gets a level of its own. Found by name where
    /// none is told: several rows of one batch are not several batches.
    #[arg(long, value_name = "COLUMN")]
    pub unit: Option<String>,
    /// Each unit also gets a slope of its own.
    #[arg(long)]
    pub slopes: bool,
    #[command(flatten)]
    pub out: Out,
}

/// A response surface.
#[derive(Debug, Args)]
pub struct Surface {
    #[command(flatten)]
    pub data: Data,
    /// Column of the response.
    #[arg(long, value_name = "COLUMN")]
    pub response: String,
    /// Columns of the settings, parted by commas; a run sheet of our own names them itself.
    #[arg(long, value_delimiter = ',', value_name = "A,B,…")]
    pub variables: Vec<String>,
    /// Predict at these settings, in the order of the variables; repeat for more.
    #[arg(long, allow_hyphen_values = true, value_name = "X,Y,…")]
    pub predict: Vec<String>,
    /// What is wished of a response: `COLUMN: larger 10..20`, `smaller 5..9` (from worthless to perfect or back) or
    /// `target 6..8..10`. With one or more the setting is told that meets all of them best. Repeat for more.
    #[arg(long, value_name = "COLUMN: WISH")]
    pub wish: Vec<String>,
    #[command(flatten)]
    pub out: Out,
}

/// A mixture.
#[derive(Debug, Args)]
pub struct Mixture {
    #[command(flatten)]
    pub data: Data,
    /// Column of the response.
    #[arg(long, value_name = "COLUMN")]
    pub response: String,
    /// Columns of the parts, parted by commas; a run sheet of our own names them itself.
    #[arg(long, value_delimiter = ',', value_name = "A,B,…")]
    pub parts: Vec<String>,
    /// How far the model bends.
    #[arg(long, value_parser = ["linear", "quadratic", "special-cubic"], default_value = "quadratic", value_name = "DEGREE")]
    pub degree: String,
    /// Predict at this blend (fractions), in the order of the parts; repeat for more.
    #[arg(long, value_name = "X,Y,…")]
    pub predict: Vec<String>,
    #[command(flatten)]
    pub out: Out,
}

/// How long batches keep.
#[derive(Debug, Args)]
pub struct Keeping {
    #[command(flatten)]
    pub data: Data,
    /// Column of the response.
    #[arg(long, value_name = "COLUMN")]
    pub response: String,
    /// Column of the storage time.
    #[arg(long, value_name = "COLUMN")]
    pub along: String,
    /// Column of the batch; found by name where none is told.
    #[arg(long, value_name = "COLUMN")]
    pub unit: Option<String>,
    /// The limit.
    #[arg(long, allow_negative_numbers = true, value_name = "VALUE")]
    pub limit: f64,
    /// Whether the value rises to the limit (upper) or falls to it (lower).
    #[arg(long, value_parser = ["upper", "lower"], value_name = "SIDE")]
    pub side: String,
    /// The value can go wrong both ways: the bound is that of a two-sided 95 % interval.
    #[arg(long)]
    pub two_sided: bool,
    #[command(flatten)]
    pub out: Out,
}

/// Looks before the end.
#[derive(Debug, Args)]
pub struct Looks {
    /// How many looks, evenly spaced, the last at the end.
    #[arg(long, default_value_t = 2, value_name = "N")]
    pub looks: usize,
    /// Shares of the planned units that are in at each look, instead of evenly spaced ones.
    #[arg(long, value_delimiter = ',', value_name = "SHARE,SHARE,…,1")]
    pub at: Vec<f64>,
    /// How the risk is spent: most at the end (late), or about evenly (even).
    #[arg(long, value_parser = ["late", "even"], default_value = "late", value_name = "HOW")]
    pub spend: String,
    /// Risk of a false alarm over all looks.
    #[arg(long, default_value_t = 0.05, value_name = "SHARE")]
    pub alpha: f64,
    /// Only one direction counts.
    #[arg(long)]
    pub one_sided: bool,
    #[command(flatten)]
    pub out: Out,
}

/// Several responses.
#[derive(Debug, Args)]
pub struct Several {
    #[command(flatten)]
    pub data: Data,
    /// Columns of the responses, parted by commas: the family over which p-values are guarded.
    #[arg(long, value_delimiter = ',', required = true, value_name = "A,B,…")]
    pub responses: Vec<String>,
    /// Column of a treatment; found when none is named. Repeat for more.
    #[arg(long, value_name = "COLUMN")]
    pub treatment: Vec<String>,
    /// Column of a block; found when none is named. Repeat for more.
    #[arg(long, value_name = "COLUMN")]
    pub block: Vec<String>,
    /// Column of the experimental unit.
    #[arg(long, value_name = "COLUMN")]
    pub unit: Option<String>,
    /// The control's level.
    #[arg(long, value_name = "LEVEL")]
    pub control: Option<String>,
    #[command(flatten)]
    pub out: Out,
}

/// Where a panel's table comes from: a file, or a trial of the book.
#[derive(Debug, Args)]
pub struct PanelData {
    /// Table: CSV, or a spreadsheet ending in .xlsx; `-` reads CSV from standard input.
    #[arg(required_unless_present = "trial", conflicts_with = "trial")]
    pub data: Option<PathBuf>,
    /// Numbers are written 12,5.
    #[arg(long)]
    pub decimal_comma: bool,
    /// Sheet of a spreadsheet; the first if none is named.
    #[arg(long, value_name = "NAME")]
    pub sheet: Option<String>,
    /// A trial of the book, by its lasting name, instead of a table.
    #[arg(long, value_name = "ID")]
    pub trial: Option<String>,
    /// The book; without it the one in your data folder.
    #[arg(long, value_name = "PATH", requires = "trial")]
    pub book: Option<PathBuf>,
}

/// A two-bowl trial.
#[derive(Debug, Args)]
pub struct Twobowl {
    #[command(flatten)]
    pub from: PanelData,
    /// Least intake of both foods together on each day, set before the trial.
    #[arg(long, default_value_t = 0.0, value_name = "G")]
    pub least_g: f64,
    #[command(flatten)]
    pub out: Out,
}

/// A ranking.
#[derive(Debug, Args)]
pub struct Ranking {
    #[command(flatten)]
    pub from: PanelData,
    /// Column that names the dog; the first column if none is named.
    #[arg(long, value_name = "COLUMN", conflicts_with = "trial")]
    pub dog: Option<String>,
    #[command(flatten)]
    pub out: Out,
}

/// From what the instruments show to the numbers that are compared.
#[derive(Debug, Subcommand)]
pub enum Measure {
    /// Farinograph absorption restated to flour at 14 % moisture, or titrated to a consistency.
    Farinograph {
        /// Flour moisture, % of the flour as it is.
        #[arg(long, value_name = "PERCENT")]
        moisture_pct: f64,
        /// Absorption measured on the flour as it is.
        #[arg(long, value_name = "PERCENT")]
        absorption_pct: Option<f64>,
        /// Bowl: tells the flour to weigh in.
        #[arg(long, value_name = "G", default_value_t = 300.0)]
        bowl_g: f64,
        /// Water tried and its consistency, `56=560`; two or more tell the water for the target.
        #[arg(long, value_name = "WATER=FU")]
        tried: Vec<String>,
        /// Consistency to reach.
        #[arg(long, default_value_t = 500.0, value_name = "FU")]
        target: f64,
        /// One JSON document on standard output.
        #[arg(long)]
        json: bool,
    },
    /// Solvent retention capacity of a flour.
    Src {
        /// Drained gel with its flour.
        #[arg(long, value_name = "G")]
        gel_g: f64,
        /// Flour.
        #[arg(long, value_name = "G")]
        flour_g: f64,
        /// Flour moisture, % of the flour as it is.
        #[arg(long, value_name = "PERCENT")]
        moisture_pct: f64,
        /// Solvent.
        #[arg(long, value_parser = ["water", "sucrose", "carbonate", "lactic-acid"], default_value = "water")]
        solvent: String,
        /// One JSON document on standard output.
        #[arg(long)]
        json: bool,
    },
    /// Water that a material holds after centrifuging.
    Whc {
        /// Sample as it is.
        #[arg(long, value_name = "G")]
        sample_g: f64,
        /// Wet sediment.
        #[arg(long, value_name = "G")]
        sediment_g: f64,
        /// Moisture of the sample; tells the water per dry matter.
        #[arg(long, value_name = "PERCENT")]
        moisture_pct: Option<f64>,
        /// One JSON document on standard output.
        #[arg(long)]
        json: bool,
    },
    /// Breaking stress by three-point bend.
    Bend {
        /// Force at break.
        #[arg(long, value_name = "N")]
        force_n: f64,
        /// Span between the supports.
        #[arg(long, value_name = "MM")]
        span_mm: f64,
        /// Width of a flat bar.
        #[arg(long, value_name = "MM", requires = "thickness_mm")]
        width_mm: Option<f64>,
        /// Thickness of a flat bar.
        #[arg(long, value_name = "MM", requires = "width_mm")]
        thickness_mm: Option<f64>,
        /// Diameter of a round stick.
        #[arg(
            long,
            value_name = "MM",
            conflicts_with = "width_mm",
            required_unless_present = "width_mm"
        )]
        diameter_mm: Option<f64>,
        /// Deflection at break of a flat bar; tells modulus and strain.
        #[arg(long, value_name = "MM", requires = "width_mm")]
        deflection_mm: Option<f64>,
        /// One JSON document on standard output.
        #[arg(long)]
        json: bool,
    },
    /// Colour difference CIEDE2000 between two readings.
    Colour {
        /// L*,a*,b* of the first (the control).
        #[arg(
            long,
            value_delimiter = ',',
            allow_hyphen_values = true,
            required = true,
            value_name = "L,A,B"
        )]
        first: Vec<f64>,
        /// L*,a*,b* of the second.
        #[arg(
            long,
            value_delimiter = ',',
            allow_hyphen_values = true,
            required = true,
            value_name = "L,A,B"
        )]
        second: Vec<f64>,
        /// One JSON document on standard output.
        #[arg(long)]
        json: bool,
    },
    /// Moisture from dish weights.
    Moisture {
        /// A dish: empty, with the sample, after drying, in g; repeat for more dishes of one sample.
        #[arg(long, required = true, value_name = "EMPTY,BEFORE,AFTER")]
        dish: Vec<String>,
        /// How it was dried.
        #[arg(long, value_parser = ["oven130", "oven135", "oven103", "vacuum", "karl-fischer", "balance", "near-infrared"], default_value = "oven130", value_name = "METHOD")]
        method: String,
        /// One JSON document on standard output.
        #[arg(long)]
        json: bool,
    },
    /// Spread: width over thickness, and against the control of the same day.
    Spread {
        /// Width of the pieces laid together.
        #[arg(long, value_name = "MM")]
        width_mm: f64,
        /// Thickness of the same number of pieces stacked.
        #[arg(long, value_name = "MM")]
        thickness_mm: f64,
        /// Spread of the control on the same day.
        #[arg(long, value_name = "RATIO")]
        control: Option<f64>,
        /// One JSON document on standard output.
        #[arg(long)]
        json: bool,
    },
    /// Sampling plan of a lot by attributes, with its operating curve.
    Sampling {
        /// Pieces or packages in the lot.
        #[arg(long, value_name = "N")]
        lot: u64,
        /// Acceptance quality limit.
        #[arg(long, value_name = "PERCENT")]
        limit_pct: f64,
        /// One JSON document on standard output.
        #[arg(long)]
        json: bool,
    },
    /// Net content of weighed packages against their label.
    NetContent {
        /// Where the law applies.
        #[arg(long, value_parser = ["us", "eu"], value_name = "WHERE")]
        rule: String,
        /// Weight on the label.
        #[arg(long, value_name = "G")]
        label_g: f64,
        /// Net weights, tare taken off, parted by commas.
        #[arg(long, value_delimiter = ',', required = true, value_name = "G,G,…")]
        net_g: Vec<f64>,
        /// Packages in the lot.
        #[arg(long, default_value_t = 250, value_name = "N")]
        lot: u64,
        /// One JSON document on standard output.
        #[arg(long)]
        json: bool,
    },
}

/// The table of minimum numbers.
#[derive(Debug, Args)]
pub struct Minimum {
    /// Dogs with a clear first choice, one or more numbers.
    #[arg(default_values_t = [5, 6, 8, 10, 12, 15, 20, 24, 25, 30, 36, 40, 50, 60, 80, 100])]
    pub dogs: Vec<usize>,
    /// How often a mere coin may look like a preference.
    #[arg(long, default_value_t = 0.05)]
    pub alpha: f64,
    /// One JSON document on standard output.
    #[arg(long)]
    pub json: bool,
}
