//! What was read of a bake: the rows of a table, one reading each.
//!
//! ```text
//! bake,what,minutes,value,before_g,height_mm
//! tue-1,mass_g,4,11.62,12.40,
//! tue-1,moisture_pct,8,14.1,,
//! tue-1,end_moisture_pct,14.5,8.2,,
//! tue-1,temperature_c,6,98.4,,4
//! ```
//!
//! Lines that begin with # are comments. Minutes count from the moment the piece enters the oven.

use measure::{Constant, Grade, Range};

/// Most rows that are read; a logger's tens of thousands tell no more than one of each half minute.
pub const MOST_ROWS: usize = 2_000;
/// Most bakes: each has two numbers of its own that are sought.
pub const MOST_BAKES: usize = 60;
/// Most bytes of a table.
pub const MOST_BYTES: usize = 2_000_000;

/// What a row tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Mass of a piece pulled from the oven \[g\]; its mass before the bake stands beside it.
    Mass,
    /// Moisture of a pulled piece, per cent of its mass.
    Moisture,
    /// Moisture of cooled pieces that left the oven at this time, per cent of their mass.
    EndMoisture,
    /// A probe's temperature \[°C\]; its height over the band stands beside it.
    Temperature,
}

const fn noise(
    name: &'static str,
    value: f64,
    unit: &'static str,
    source: &'static str,
) -> Constant {
    Constant {
        name,
        value,
        unit,
        range: Range::new(0.0, 50.0),
        source,
        grade: Grade::Assumed,
    }
}

static MASS: Constant = noise(
    "scatter of a pulled piece's share of mass left",
    0.003,
    "1, sd",
    "balance, crumbs and piece to piece; common practice, no source",
);
static MOISTURE: Constant = noise(
    "scatter of a pulled piece's moisture",
    0.003,
    "kg/kg, sd",
    "0.1 to 0.3 points between pieces and dishes; common practice, no source",
);
static END_MOISTURE: Constant = noise(
    "scatter of a cooled sample's moisture",
    0.002,
    "kg/kg, sd",
    "a sample of several pieces, oven method; common practice, no source",
);
static TEMPERATURE: Constant = noise(
    "scatter of a thermocouple",
    1.0,
    "K, sd",
    "usual limits of thermocouples, from memory",
);
/// How well the moment of a reading is known.
pub static TIMING: Constant = noise(
    "scatter of the moment of a reading",
    5.0,
    "s, sd",
    "opening, taking out, putting on the balance; judgement",
);
/// How well the place of a probe is known.
pub static PROBE_PLACE: Constant = noise(
    "scatter of the height of a probe",
    1e-3,
    "m, sd",
    "a probe pushed in by hand, judgement",
);

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 4] = [
        Self::Mass,
        Self::Moisture,
        Self::EndMoisture,
        Self::Temperature,
    ];

    /// The word in the column `what`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Mass => "mass_g",
            Self::Moisture => "moisture_pct",
            Self::EndMoisture => "end_moisture_pct",
            Self::Temperature => "temperature_c",
        }
    }

    /// What it is, for people.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mass => "mass of a pulled piece",
            Self::Moisture => "moisture of a pulled piece",
            Self::EndMoisture => "moisture when cooled",
            Self::Temperature => "temperature inside",
        }
    }

    /// Scatter of one such reading, beside those of its moment and place.
    pub fn noise(self) -> &'static Constant {
        match self {
            Self::Mass => &MASS,
            Self::Moisture => &MOISTURE,
            Self::EndMoisture => &END_MOISTURE,
            Self::Temperature => &TEMPERATURE,
        }
    }
}

/// One reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Line of the table it stands in, from 1.
    pub line: usize,
    /// Name of its bake.
    pub bake: String,
    /// What it tells.
    pub kind: Kind,
    /// When, since the piece entered the oven \[s\].
    pub time_s: f64,
    /// The value as written: g, per cent or °C.
    pub value: f64,
    /// Mass of the piece before it was baked \[g\], for a mass.
    pub before_g: Option<f64>,
    /// Height of the probe over the band \[m\], for a temperature.
    pub height_m: Option<f64>,
}

impl Row {
    /// Line, bake and time, as people find it.
    pub fn place(&self) -> String {
        format!(
            "row {} (bake {}, {} min)",
            self.line,
            self.bake,
            measure::rounding::significant(self.time_s / 60.0, 4)
        )
    }
}

/// What of a table can't be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TableError {
    /// The table is too long.
    #[error(
        "the table has {found} {of}, more than the {most} that are taken; thin a log to one row for each half minute, and fit the bakes of one time together"
    )]
    TooLong {
        /// How many.
        found: usize,
        /// Of what.
        of: &'static str,
        /// How many are read.
        most: usize,
    },
    /// A column isn't there.
    #[error(
        "the table has no column {0}; its head has to name bake, what, minutes and value, and before_g for masses, height_mm for probes"
    )]
    NoColumn(&'static str),
    /// A line can't be taken apart.
    #[error("line {line}: {why}")]
    Line {
        /// The line.
        line: usize,
        /// What is wrong.
        why: String,
    },
    /// A cell that has to hold something is empty or no number.
    #[error("line {line}, {column}: ‘{found}’ isn't a number; write one such as 11.62")]
    NotANumber {
        /// The line.
        line: usize,
        /// The column.
        column: &'static str,
        /// What stands there.
        found: String,
    },
    /// A word that isn't one.
    #[error(
        "line {line}, what: ‘{found}’ isn't known; write mass_g, moisture_pct, end_moisture_pct or temperature_c"
    )]
    UnknownKind {
        /// The line.
        line: usize,
        /// What stands there.
        found: String,
    },
    /// A reading without its bake.
    #[error(
        "line {line}, bake: give the bake a name, such as tuesday-1; pieces of one bake share it"
    )]
    NoBake {
        /// The line.
        line: usize,
    },
    /// No rows at all.
    #[error("the table holds no readings")]
    Empty,
}

/// Reads a table.
///
/// ```
/// let rows = learning::read("bake,what,minutes,value\na,moisture_pct,8,14.1\n")?;
/// assert_eq!((rows[0].line, rows[0].time_s, rows[0].value), (2, 480.0, 14.1));
/// # Ok::<(), learning::TableError>(())
/// ```
///
/// # Errors
/// A table that is too long, a column that isn't there, or the first cell that can't be read, by line and column.
pub fn read(text: &str) -> Result<Vec<Row>, TableError> {
    if text.len() > MOST_BYTES {
        return Err(TableError::TooLong {
            found: text.len(),
            of: "bytes",
            most: MOST_BYTES,
        });
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut lines = text
        .lines()
        .enumerate()
        .map(|(i, line)| (i + 1, line.trim()))
        .filter(|(_, line)| !line.is_empty() && !line.starts_with('#'));
    let Some((first, head)) = lines.next() else {
        return Err(TableError::Empty);
    };
    let head = cells(first, head)?;
    let column = |name: &str| head.iter().position(|h| h.eq_ignore_ascii_case(name));
    let needed = |name: &'static str| column(name).ok_or(TableError::NoColumn(name));
    let [bake, what, minutes, value] = [
        needed("bake")?,
        needed("what")?,
        needed("minutes")?,
        needed("value")?,
    ];
    let (before, height) = (column("before_g"), column("height_mm"));
    let mut rows = Vec::new();
    for (line, text) in lines {
        let record = cells(line, text)?;
        let cell = |at: usize| record.get(at).unwrap_or_default();
        let number = |name: &'static str, at: usize| {
            let found = cell(at);
            found
                .parse::<f64>()
                .ok()
                .filter(|v| v.is_finite())
                .ok_or_else(|| TableError::NotANumber {
                    line,
                    column: name,
                    found: found.chars().take(40).collect(),
                })
        };
        let given =
            |name: &'static str, at: Option<usize>| match at.filter(|a| !cell(*a).is_empty()) {
                Some(at) => number(name, at).map(Some),
                None => Ok(None),
            };
        let kind = Kind::ALL
            .into_iter()
            .find(|k| k.word() == cell(what))
            .ok_or_else(|| TableError::UnknownKind {
                line,
                found: cell(what).chars().take(40).collect(),
            })?;
        let before_g = given("before_g", before)?;
        let height_m = given("height_mm", height)?.map(|mm| mm / 1000.0);
        let missing = match kind {
            Kind::Mass if before_g.is_none() => Some("before_g"),
            Kind::Temperature if height_m.is_none() => Some("height_mm"),
            _ => None,
        };
        if let Some(column) = missing {
            return Err(TableError::NotANumber {
                line,
                column,
                found: String::new(),
            });
        }
        rows.push(Row {
            line,
            bake: named(line, cell(bake))?,
            kind,
            time_s: 60.0 * number("minutes", minutes)?,
            value: number("value", value)?,
            before_g,
            height_m,
        });
        if rows.len() > MOST_ROWS {
            return Err(TableError::TooLong {
                found: rows.len(),
                of: "rows",
                most: MOST_ROWS,
            });
        }
    }
    if rows.is_empty() {
        return Err(TableError::Empty);
    }
    let bakes: std::collections::BTreeSet<&str> = rows.iter().map(|r| r.bake.as_str()).collect();
    if bakes.len() > MOST_BAKES {
        return Err(TableError::TooLong {
            found: bakes.len(),
            of: "bakes",
            most: MOST_BAKES,
        });
    }
    Ok(rows)
}

/// The name of a bake, without what a terminal would take for a command.
fn named(line: usize, cell: &str) -> Result<String, TableError> {
    let name: String = cell.chars().filter(|c| !c.is_control()).take(80).collect();
    if name.is_empty() {
        return Err(TableError::NoBake { line });
    }
    Ok(name)
}

/// The cells of a line.
fn cells(line: usize, text: &str) -> Result<csv::StringRecord, TableError> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut record = csv::StringRecord::new();
    match reader.read_record(&mut record) {
        Ok(true) => Ok(record),
        Ok(false) | Err(_) => Err(TableError::Line {
            line,
            why: "can't be taken apart into cells".to_owned(),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_read_is_named_by_line_and_column() {
        let wrong = |text: &str| read(text).unwrap_err().to_string();
        assert!(wrong("bake,what,value\n").contains("no column minutes"));
        let head = "bake,what,minutes,value,before_g,height_mm\n";
        assert_eq!(wrong(head), "the table holds no readings");
        for (row, told) in [
            ("a,moisture_pct,x,1,,", "line 2, minutes: ‘x’"),
            ("a,moisture_pct,1,NaN,,", "line 2, value: ‘NaN’"),
            ("a,weight,1,1,,", "line 2, what: ‘weight’"),
            ("a,mass_g,1,1,,", "line 2, before_g"),
            ("a,temperature_c,1,1,,", "line 2, height_mm"),
            (",moisture_pct,1,1,,", "line 2, bake"),
        ] {
            let text = format!("{head}{row}\n");
            assert!(wrong(&text).contains(told), "{}", wrong(&text));
        }
        let many: String = (0..61)
            .map(|i| format!("b{i},moisture_pct,1,1,,\n"))
            .collect();
        assert!(wrong(&format!("{head}{many}")).contains("61 bakes"));
        assert!(wrong(&"x".repeat(MOST_BYTES + 1)).contains("bytes"));
    }

    #[test]
    fn comments_and_marks_of_a_file_are_passed_over() {
        let text = "\u{feff}# ours\nbake,what,minutes,value,height_mm\n# more\na, temperature_c ,2,61.5,4\n";
        let rows = read(text).unwrap();
        assert_eq!((rows[0].line, rows[0].height_m), (4, Some(0.004)));
    }
}
