//! Measurements of a table: its columns matched to what a trial asks for, and rows made of its cells.

use crate::measured::{SET_ASIDE, out_of_column, readings};
use crate::unit::in_unit;
use crate::{Asked, Made, On, Part, Planned, Trial, What};
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, HashMap};
use trials::plan::Unit;

/// A cell of a table.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// Words, or a number as it was typed.
    Text(String),
    /// A number that the file holds as one.
    Number(f64),
}

impl Cell {
    pub(crate) fn text(&self) -> String {
        match self {
            Self::Empty => String::new(),
            Self::Text(text) => text.trim().to_owned(),
            Self::Number(x) => x.to_string(),
        }
    }

    pub(crate) fn is_empty(&self) -> bool {
        match self {
            Self::Empty => true,
            Self::Text(text) => text.trim().is_empty(),
            Self::Number(_) => false,
        }
    }
}

/// What a column holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Column {
    /// The batch, by its code or lasting name.
    Batch,
    /// The treatment: checked against the batch.
    Treatment,
    /// A part of the batch.
    Part(Part),
    /// Values of a response, and the unit that they are typed in.
    Response {
        /// Its id.
        id: String,
        /// The unit in the head, where it is another one.
        unit: Option<String>,
    },
    /// Out of how many, of the count named.
    OutOf(String),
    /// Which response the row is about.
    Which,
    /// The value of the response that the row names.
    Value,
    /// Why the row is set aside.
    SetAside,
    /// Nothing that is read: what the plan knows by itself.
    Known,
    /// Nothing that this trial asks for.
    Unknown,
}

/// A column with what it was taken for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Matched {
    /// Its head.
    pub head: String,
    /// What it holds.
    pub column: Column,
}

/// What is wrong with a cell, or to be looked at.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Told {
    /// Row of the file, from 1.
    pub row: usize,
    /// Head of the column; empty where it is about the row.
    pub column: String,
    /// What was found.
    pub found: String,
    /// What is so, and what to write instead.
    pub why: String,
}

/// A row to be entered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct New {
    /// Made from what it says, so that the same file read twice is kept once.
    pub key: String,
    /// Lasting name of the batch.
    pub batch: String,
    /// What it says.
    pub what: What,
    /// Of which response, or for setting aside, of which row.
    pub of: String,
    /// On which unit within the batch.
    pub on: Option<String>,
    /// The value, with a point.
    pub value: String,
    /// The unit that it is typed in, where it is another one than the response's.
    pub unit: Option<String>,
    /// The row that it takes the place of.
    pub strikes: Option<String>,
}

/// What a table comes to.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Observed {
    /// Its columns.
    pub columns: Vec<Matched>,
    /// Rows of measurements in it.
    pub rows: usize,
    /// What can be entered.
    pub new: Vec<New>,
    /// Values that are kept already, just so.
    pub kept_already: usize,
    /// What can't be entered, cell by cell.
    pub problems: Vec<Told>,
    /// What is entered and marked: values beyond what is plausible.
    pub marked: Vec<Told>,
}

/// Most problems that are told one by one.
pub const MOST_TOLD: usize = 10_000;

/// How a table is to be read.
pub struct How<'a> {
    /// Columns that a person has named themselves: head, and what it is.
    pub named: &'a [(String, String)],
    /// Reads a number as this person writes one.
    pub number: &'a dyn Fn(&str) -> Result<f64, String>,
    /// Why a value that is kept otherwise is to be struck through; without it such a value is a problem.
    pub correct: Option<&'a str>,
}

/// The name of a column without its unit, and the unit: `force (N)`, `force [N]`, `force, N`.
pub(crate) fn head_of(text: &str) -> (String, Option<String>) {
    let text = text.trim();
    let inside = |open: char, close: char| {
        let rest = text.strip_suffix(close)?;
        let (name, unit) = rest.rsplit_once(open)?;
        Some((name.trim().to_owned(), unit.trim().to_owned()))
    };
    let found = inside('(', ')').or_else(|| inside('[', ']')).or_else(|| {
        let (name, unit) = text.rsplit_once(", ")?;
        Some((name.trim().to_owned(), unit.trim().to_owned()))
    });
    match found {
        Some((name, unit)) if !name.is_empty() && !unit.is_empty() => (name, Some(unit)),
        _ => (text.to_owned(), None),
    }
}

fn plain(text: &str) -> String {
    text.trim().to_lowercase().replace([' ', '-', '.'], "_")
}

/// What a word stands for as a column of this trial.
fn column_of(trial: &Trial, word: &str) -> Option<Column> {
    let name = plain(word);
    let response = |r: &&Asked| plain(&r.id) == name || plain(&r.name) == name;
    if let Some(asked) = trial.responses.iter().find(response) {
        return Some(Column::Response {
            id: asked.id.clone(),
            unit: None,
        });
    }
    let out_of = |r: &&Asked| out_of_column(r).is_some_and(|c| plain(&c) == name);
    if let Some(asked) = trial.responses.iter().find(out_of) {
        return Some(Column::OutOf(asked.id.clone()));
    }
    if ["counted", "out_of", "of"].contains(&name.as_str()) {
        let counts: Vec<&Asked> = trial
            .responses
            .iter()
            .filter(|r| out_of_column(r).is_some())
            .collect();
        if let [one] = counts.as_slice() {
            return Some(Column::OutOf(one.id.clone()));
        }
    }
    if trial.unit == Unit::Dog && name == Part::Dog.word() {
        return Some(Column::Part(Part::Dog));
    }
    if name == "batch" || name == "code" || name == plain(trial.unit.word()) {
        return Some(Column::Batch);
    }
    match name.as_str() {
        "treatment" | "food" => return Some(Column::Treatment),
        "response" => return Some(Column::Which),
        "value" => return Some(Column::Value),
        n if n == plain(SET_ASIDE) => return Some(Column::SetAside),
        _ => {}
    }
    let of_the_plan = trial
        .place_names
        .iter()
        .chain(trial.factors.iter().map(|f| &f.name))
        .any(|p| plain(p) == name);
    if of_the_plan && (trial.unit != Unit::Dog || name != Part::Period.word()) {
        return Some(Column::Known);
    }
    if let Some(part) = Part::from_word(word) {
        return Some(Column::Part(part));
    }
    let known = [
        "order",
        "roles",
        "seed",
        "algorithm",
        "given_up",
        "row",
        "measured_in",
        "row_number",
    ];
    known.contains(&name.as_str()).then_some(Column::Known)
}

struct Reader<'a> {
    trial: &'a Trial,
    how: &'a How<'a>,
    by_code: HashMap<String, &'a Made>,
    out: Observed,
    /// Rows seen of a batch and response that name no part.
    without_part: HashMap<(String, String), usize>,
    /// What the file says, and in which row, so that a cell told twice is seen.
    told: HashMap<(String, String, String), usize>,
    /// What stands in the book, by batch, response and part.
    stands: HashMap<(String, String, String), Stands>,
    /// Codes of the batches, in the order of work.
    codes: Vec<String>,
    /// How often a value was struck through, by its key's stem.
    struck: BTreeMap<String, usize>,
}

/// A value that stands.
struct Stands {
    value: f64,
    out_of: Option<f64>,
    key: String,
    out_of_key: Option<String>,
    set_aside: Option<String>,
}

/// Reads a table of measurements: the first row that holds anything is its head. A cell that can't be read is told with
/// its row and column, and everything else is read all the same; a value that is kept already is not entered again.
pub fn observe(trial: &Trial, made: &[Made], rows: &[Vec<Cell>], how: &How<'_>) -> Observed {
    let mut by_code: HashMap<String, &Made> = HashMap::new();
    for one in made {
        by_code.insert(one.id.to_lowercase(), one);
        by_code.insert(one.batch.code.to_lowercase(), one);
    }
    let mut reader = Reader {
        trial,
        how,
        by_code,
        out: Observed::default(),
        without_part: HashMap::new(),
        told: HashMap::new(),
        stands: HashMap::new(),
        codes: made.iter().map(|m| m.batch.code.clone()).collect(),
        struck: BTreeMap::new(),
    };
    reader.what_stands(made);
    let mut filled = rows
        .iter()
        .enumerate()
        .filter(|(_, r)| !r.iter().all(Cell::is_empty));
    let Some((at, head)) = filled.next() else {
        reader.problem(
            1,
            "",
            "",
            "there is nothing in the table; the first row names the columns",
        );
        return reader.out;
    };
    reader.head(at + 1, head);
    if reader.out.problems.is_empty() {
        for (at, row) in filled {
            reader.out.rows += 1;
            reader.row(at + 1, row);
        }
        if reader.out.rows == 0 {
            reader.problem(
                at + 2,
                "",
                "",
                "there are no rows under the head; write one for each measurement",
            );
        }
    }
    reader.out
}

impl<'a> Reader<'a> {
    fn problem(&mut self, row: usize, column: &str, found: &str, why: impl Into<String>) {
        if self.out.problems.len() < MOST_TOLD {
            self.out.problems.push(Told {
                row,
                column: column.to_owned(),
                found: found.chars().take(60).collect(),
                why: why.into(),
            });
        }
    }

    fn what_stands(&mut self, made: &[Made]) {
        for one in made {
            let counted: Vec<&crate::Value> = one.state.of(What::ObservedOf).collect();
            for asked in &self.trial.responses {
                for reading in readings(&one.state, asked) {
                    let Some(key) = reading.key else { continue };
                    let place = (one.id.clone(), asked.id.clone(), reading.on.to_string());
                    let of = counted
                        .iter()
                        .rfind(|v| v.of.as_deref() == Some(&asked.id) && v.on == reading.on);
                    let stands = Stands {
                        value: reading.value,
                        out_of: reading.out_of,
                        key,
                        out_of_key: of.map(|v| v.told.key.clone()),
                        set_aside: reading.set_aside,
                    };
                    self.stands.insert(place, stands);
                }
            }
            for struck in &one.state.struck {
                if let Some((stem, _)) = struck.told.key.rsplit_once('-') {
                    *self.struck.entry(stem.to_owned()).or_default() += 1;
                }
            }
        }
    }

    fn head(&mut self, at: usize, head: &[Cell]) {
        for cell in head {
            let text = cell.text();
            let (name, unit) = head_of(&text);
            let named = self.how.named.iter().find(|(from, _)| *from == text);
            let wanted = named.map_or(name.as_str(), |(_, to)| to.as_str());
            let mut column = column_of(self.trial, wanted)
                .or_else(|| column_of(self.trial, &text))
                .unwrap_or(if text.is_empty() {
                    Column::Known
                } else {
                    Column::Unknown
                });
            if let Column::Response { id, unit: typed } = &mut column
                && let Some(given) = unit
            {
                let own = self
                    .trial
                    .response(id)
                    .map_or("", |r| r.unit.as_str())
                    .to_owned();
                if plain(&given) != plain(&own) {
                    match in_unit(1.0, &given, &own) {
                        Ok(_) => *typed = Some(given),
                        Err(wrong) => self.problem(at, &text, &given, format!("{wrong}")),
                    }
                }
            }
            let twice = !matches!(column, Column::Known | Column::Unknown)
                && self.out.columns.iter().any(|c| c.column == column);
            if twice {
                self.problem(
                    at,
                    &text,
                    &text,
                    "two columns say the same; take one out or name it otherwise",
                );
            }
            if named.is_some() && column == Column::Unknown {
                self.problem(
                    at,
                    &text,
                    wanted,
                    format!(
                        "the trial asks for no ‘{wanted}’; it asks for {}",
                        self.asked_for()
                    ),
                );
            }
            self.out.columns.push(Matched { head: text, column });
        }
        let has = |c: &dyn Fn(&Column) -> bool| self.out.columns.iter().any(|m| c(&m.column));
        let batch = has(&|c| *c == Column::Batch);
        let by_dog = self.trial.unit == Unit::Dog && has(&|c| *c == Column::Part(Part::Dog));
        let values = has(&|c| matches!(c, Column::Response { .. }));
        let long = has(&|c| *c == Column::Which) && has(&|c| *c == Column::Value);
        if !batch && !by_dog {
            self.problem(
                at,
                "",
                "",
                "no column names the batch; call it ‘batch’, with codes such as B01",
            );
        }
        if !values && !long {
            let asked = self.asked_for();
            self.problem(
                at,
                "",
                "",
                format!("no column is a response of this trial; it asks for {asked}. Name the column so, or say which one it is"),
            );
        }
    }

    fn asked_for(&self) -> String {
        let ids = self.trial.responses.iter().map(|r| r.id.as_str());
        ids.collect::<Vec<_>>().join(", ")
    }

    fn row(&mut self, at: usize, row: &[Cell]) {
        let columns = std::mem::take(&mut self.out.columns);
        self.cells(&Row {
            at,
            row,
            columns: &columns,
        });
        self.out.columns = columns;
    }

    fn cells(&mut self, row: &Row<'_>) {
        let mut on = On::batch();
        for (matched, cell) in row.all() {
            if let Column::Part(part) = matched.column
                && !cell.is_empty()
            {
                on = on.and(part, cell.text());
            }
        }
        let Some(made) = self.batch(row, &on) else {
            return;
        };
        let aside = row.text(&Column::SetAside).map(|(_, why)| why);
        let aside = aside.filter(|w| !w.is_empty());
        let trial = self.trial;
        if let (Some((head, which)), Some((value_head, value))) =
            (row.text(&Column::Which), row.cell(&Column::Value))
        {
            match trial.response(&which) {
                Some(asked) => self.value(
                    row,
                    made,
                    asked,
                    &on,
                    (value_head, value),
                    None,
                    aside.as_deref(),
                ),
                None => {
                    let asked = self.asked_for();
                    let why = format!("the trial doesn’t ask for it; it asks for {asked}");
                    self.problem(row.at, head, &which, why);
                }
            }
        }
        for (matched, cell) in row.all() {
            if let Column::Response { id, unit } = &matched.column
                && let Some(asked) = trial.response(id)
                && !cell.is_empty()
            {
                let at = (matched.head.as_str(), cell);
                self.value(row, made, asked, &on, at, unit.as_deref(), aside.as_deref());
            }
        }
    }

    /// The batch that a row is about.
    fn batch(&mut self, row: &Row<'_>, on: &On) -> Option<&'a Made> {
        let treatment = row.text(&Column::Treatment);
        let Some((head, code)) = row.text(&Column::Batch) else {
            // A dog and its food tell the batch of that food.
            let dog = on.get(Part::Dog).unwrap_or_default();
            let (head, food) = treatment.unwrap_or_default();
            let run = run_of_dog(self.trial, dog, &food);
            let made = run.and_then(|r| self.by_code.get(&r.batch.to_lowercase()).copied());
            if made.is_none() {
                self.problem(
                    row.at,
                    head,
                    &food,
                    format!("no run of this trial gives ‘{food}’ to {dog}"),
                );
            }
            return made;
        };
        let Some(made) = self.by_code.get(&code.to_lowercase()).copied() else {
            let all: Vec<&str> = self.codes.iter().map(String::as_str).take(12).collect();
            let why = match code.as_str() {
                "" => "name the batch".to_owned(),
                _ => format!(
                    "there is no such batch in this trial; it has {}{}",
                    all.join(", "),
                    if self.codes.len() > 12 { " …" } else { "" }
                ),
            };
            self.problem(row.at, head, &code, why);
            return None;
        };
        if let Some((head, told)) = treatment.filter(|(_, told)| !told.is_empty()) {
            let pinned = self.trial.pinned(&made.batch.label);
            let blind = pinned.and_then(|p| p.blind.clone()).unwrap_or_default();
            let names = [
                made.batch.label.as_str(),
                made.batch.treatment.as_str(),
                &blind,
            ];
            if !names.iter().any(|l| l.eq_ignore_ascii_case(&told)) {
                let why = format!(
                    "{} is {}; correct the one that is wrong",
                    made.batch.code, made.batch.label
                );
                self.problem(row.at, head, &told, why);
                return None;
            }
        }
        if made.state.abandoned.is_some() {
            let why = format!(
                "{} was given up; what was measured on it has no place in the trial",
                made.batch.code
            );
            self.problem(row.at, head, &code, why);
            return None;
        }
        Some(made)
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "a cell with all that stands around it"
    )]
    fn value(
        &mut self,
        row: &Row<'_>,
        made: &Made,
        asked: &Asked,
        on: &On,
        (head, cell): (&str, &Cell),
        unit: Option<&str>,
        aside: Option<&str>,
    ) {
        if cell.is_empty() {
            return;
        }
        let read = |cell: &Cell, how: &How<'_>| match cell {
            Cell::Number(x) if x.is_finite() => Ok(*x),
            cell => (how.number)(&cell.text()),
        };
        let value = match read(cell, self.how) {
            Ok(value) => value,
            Err(why) => return self.problem(row.at, head, &cell.text(), why),
        };
        let mut out_of = None;
        if let Some((of_head, of)) = row.cell(&Column::OutOf(asked.id.clone()))
            && !of.is_empty()
        {
            match read(of, self.how) {
                Ok(n) if n >= value => out_of = Some(n),
                Ok(n) => {
                    let why =
                        format!("{value} of {n} can’t be; the number counted is at least as large");
                    return self.problem(row.at, of_head, &of.text(), why);
                }
                Err(why) => return self.problem(row.at, of_head, &of.text(), why),
            }
        }
        let kept = match unit.map(|u| in_unit(value, u, &asked.unit)) {
            Some(Ok(kept)) => kept,
            Some(Err(wrong)) => return self.problem(row.at, head, &cell.text(), wrong.to_string()),
            None => value,
        };
        if asked.is_beyond(kept) {
            let ends = [asked.low, asked.high]
                .map(|x| x.map_or_else(|| "…".to_owned(), |x| x.to_string()));
            let why = format!(
                "beyond what is plausible, {} to {} {}; it is kept and marked",
                ends[0], ends[1], asked.unit
            );
            if self.out.marked.len() < MOST_TOLD {
                self.out.marked.push(Told {
                    row: row.at,
                    column: head.to_owned(),
                    found: cell.text(),
                    why,
                });
            }
        }
        // Several readings that name no part of the batch are numbered as they come.
        let on = if on.is_batch() && asked.repeats > 1 {
            let n = self
                .without_part
                .entry((made.id.clone(), asked.id.clone()))
                .or_default();
            *n += 1;
            On::one(Part::Reading, n.to_string())
        } else {
            on.clone()
        };
        let place = (made.id.clone(), asked.id.clone(), on.to_string());
        if let Some(before) = self.told.insert(place.clone(), row.at) {
            let where_ = if on.is_batch() {
                String::new()
            } else {
                format!(", {}", on.told())
            };
            let why = format!(
                "row {before} tells a value of {}{where_} already; name the piece, bag or day in a column of its own",
                made.batch.code
            );
            return self.problem(row.at, head, &cell.text(), why);
        }
        self.enter(
            row,
            made,
            asked,
            place,
            (head, kept, value),
            unit,
            out_of,
            aside,
        );
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "a value with all that stands around it"
    )]
    fn enter(
        &mut self,
        row: &Row<'_>,
        made: &Made,
        asked: &Asked,
        place: (String, String, String),
        (head, kept, typed): (&str, f64, f64),
        unit: Option<&str>,
        out_of: Option<f64>,
        aside: Option<&str>,
    ) {
        let on = place.2.clone();
        let mut strikes = None;
        let mut of_strikes = None;
        if let Some(stands) = self.stands.get(&place) {
            let same = stands.value == kept && (out_of.is_none() || stands.out_of == out_of);
            let told_aside = stands.set_aside.is_some() || aside.is_none();
            if same && told_aside {
                self.out.kept_already += 1;
                return;
            }
            if same {
                let key = stands.key.clone();
                return self.aside(made, &key, aside);
            }
            if self.how.correct.is_none() {
                let why = format!(
                    "the book has {} for {}{}; give a reason to strike it through and put this in its place",
                    stands.value,
                    made.batch.code,
                    if on.is_empty() {
                        String::new()
                    } else {
                        format!(", {on}")
                    },
                );
                return self.problem(row.at, head, &typed.to_string(), why);
            }
            strikes = Some(stands.key.clone());
            of_strikes.clone_from(&stands.out_of_key);
        }
        let mut push =
            |what: What, of: &str, value: String, unit: Option<&str>, strikes: Option<String>| {
                let stem = key_of(&made.id, of, &on, &value, what.about().word);
                let again = self.struck.get(&stem).copied().unwrap_or(0);
                let key = format!("{stem}-{again}");
                self.out.new.push(New {
                    key: key.clone(),
                    batch: made.id.clone(),
                    what,
                    of: of.to_owned(),
                    on: (!on.is_empty()).then(|| on.clone()),
                    value,
                    unit: unit.map(str::to_owned),
                    strikes,
                });
                key
            };
        let key = push(What::Observed, &asked.id, typed.to_string(), unit, strikes);
        if let Some(n) = out_of {
            push(What::ObservedOf, &asked.id, n.to_string(), None, of_strikes);
        }
        self.aside(made, &key, aside);
    }

    fn aside(&mut self, made: &Made, key: &str, aside: Option<&str>) {
        let Some(why) = aside else { return };
        self.out.new.push(New {
            key: format!(
                "{}-0",
                key_of(&made.id, key, "", why, What::SetAside.about().word)
            ),
            batch: made.id.clone(),
            what: What::SetAside,
            of: key.to_owned(),
            on: None,
            value: why.to_owned(),
            unit: None,
            strikes: None,
        });
    }
}

/// A row with its columns.
struct Row<'r> {
    at: usize,
    row: &'r [Cell],
    columns: &'r [Matched],
}

impl<'r> Row<'r> {
    fn all(&self) -> impl Iterator<Item = (&'r Matched, &'r Cell)> {
        self.columns.iter().zip(self.row)
    }

    fn cell(&self, wanted: &Column) -> Option<(&'r str, &'r Cell)> {
        let (matched, cell) = self.all().find(|(m, _)| m.column == *wanted)?;
        Some((matched.head.as_str(), cell))
    }

    /// The words of a column that there is; nothing where the row ends before it.
    fn text(&self, wanted: &Column) -> Option<(&'r str, String)> {
        let i = self.columns.iter().position(|m| m.column == *wanted)?;
        let text = self.row.get(i).map(Cell::text).unwrap_or_default();
        Some((self.columns[i].head.as_str(), text))
    }
}

/// The key of a row that a table says: the same words give the same key.
pub(crate) fn key_of(batch: &str, response: &str, on: &str, value: &str, kind: &str) -> String {
    let mut hash = Sha256::new();
    for part in [batch, response, on, value, kind] {
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part.as_bytes());
    }
    let hex: String = hash
        .finalize()
        .iter()
        .take(20)
        .map(|b| format!("{b:02x}"))
        .collect();
    format!("t{hex}")
}

/// The run of a dog that gets a food.
fn run_of_dog<'a>(trial: &'a Trial, dog: &str, treatment: &str) -> Option<&'a Planned> {
    trial.runs.iter().find(|r| {
        let pinned = trial.pinned(&r.treatment);
        let blind = pinned.and_then(|p| p.blind.as_deref());
        r.unit.eq_ignore_ascii_case(dog)
            && (r.treatment.eq_ignore_ascii_case(treatment)
                || blind.is_some_and(|b| b == treatment.trim()))
    })
}
