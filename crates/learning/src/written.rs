//! The written form of a fit: TOML with everything it stands on, so that it can be shown, taken up and made anew.

use crate::fit::{Combination, Compared, Draws, Learned, Quality, Tangle};
use crate::{Chosen, Fit, Kind, Parameter, Row, fit};
use nalgebra::DMatrix;
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, TableLike, Value, value};

/// Most bytes of a written fit.
pub const MOST_BYTES: usize = 4_000_000;

/// A fit as it is kept, with what it is of.
#[derive(Clone, Debug)]
pub struct Kept {
    /// Name of the study and its treatment.
    pub of: String,
    /// Name of the fit.
    pub name: String,
    /// The study of the book whose oven it is; empty for a file's.
    pub study: String,
    /// Short name of the treatment that was baked.
    pub treatment: String,
    /// When it was made, as a date; empty where nobody said.
    pub made: String,
    /// The fit.
    pub fit: Fit,
}

/// What of a written fit can't be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WrittenError {
    /// It is too long.
    #[error(
        "a fit of {0} bytes is longer than the {MOST_BYTES} that are read; is this the right file?"
    )]
    TooLong(usize),
    /// It isn't TOML.
    #[error("this isn't a fit's file: {0}")]
    NotToml(String),
    /// A field is missing or holds something else.
    #[error(
        "{place}: {wanted} is wanted here; a fit is written by `hardtack oven fit`, and best made anew"
    )]
    Field {
        /// Where.
        place: String,
        /// What is wanted.
        wanted: &'static str,
    },
}

const HEAD: &str = "# What an oven's own bakes taught, made by `hardtack oven fit`. Factors are effective ones: they hold for this product\n# in this oven, and aren't physics to carry to another.\n\n";

/// Writes a fit.
pub fn write(kept: &Kept) -> String {
    let mut doc = DocumentMut::new();
    let f = &kept.fit;
    doc["of"] = value(kept.of.as_str());
    doc["name"] = value(kept.name.as_str());
    doc["study"] = value(kept.study.as_str());
    doc["treatment"] = value(kept.treatment.as_str());
    doc["made"] = value(kept.made.as_str());
    doc["model_version"] = value(i64::from(f.model_version));
    doc["misfit"] = value(f.misfit);
    doc["starts"] = list(f.starts.map(|v| Value::from(v as i64)));
    doc["by_draws"] = value(f.by_draws);
    if let Some(d) = f.draws {
        let mut t = Table::new();
        t["count"] = value(d.count as i64);
        t["shape"] = value(d.shape);
        t["limit"] = value(d.limit);
        t["effective"] = value(d.effective);
        doc["draws"] = Item::Table(t);
    }
    let rows_of =
        |i: usize| list((0..f.covariance.ncols()).map(|j| Value::from(f.covariance[(i, j)])));
    doc["parameter"] = tables(f.parameters.iter().enumerate().map(|(i, p)| {
        let mut t = Table::new();
        t["name"] = value(p.chosen.parameter.word());
        if let Some(zone) = p.chosen.zone {
            t["zone"] = value(zone as i64 + 1);
        }
        t["factor"] = value(p.factor);
        t["factor_limits"] = list(p.factor_limits.map(Value::from));
        t["believed_factor"] = list(p.believed_factor.map(Value::from));
        t["share"] = value(p.share);
        t["place"] = value(p.place);
        t["sd"] = value(p.sd);
        t["believed_sd"] = value(p.believed_sd);
        t["by_profile"] = value(p.by_profile);
        t["covariance"] = rows_of(i);
        t
    }));
    doc["combination"] = tables(f.combinations.iter().map(|c| {
        let mut t = Table::new();
        t["share"] = value(c.share);
        t["weights"] = list(c.weights.iter().map(|w| Value::from(*w)));
        t
    }));
    doc["bake"] = tables(f.bakes.iter().map(|(name, [heat, moisture])| {
        let mut t = Table::new();
        t["name"] = value(name.as_str());
        t["heat"] = value(*heat);
        t["moisture"] = value(*moisture);
        t
    }));
    doc["row"] = tables(f.rows.iter().zip(&f.compared).map(|(r, c)| {
        let mut t = Table::new();
        t["line"] = value(r.line as i64);
        t["bake"] = value(r.bake.as_str());
        t["what"] = value(r.kind.word());
        t["minutes"] = value(r.time_s / 60.0);
        t["value"] = value(r.value);
        if let Some(g) = r.before_g {
            t["before_g"] = value(g);
        }
        if let Some(m) = r.height_m {
            t["height_mm"] = value(1000.0 * m);
        }
        t["believed"] = value(c.believed);
        t["fitted"] = value(c.fitted);
        t["gap"] = value(c.gap);
        t
    }));
    format!("{HEAD}{doc}")
}

fn list(of: impl IntoIterator<Item = Value>) -> Item {
    value(of.into_iter().collect::<Array>())
}

fn tables(of: impl Iterator<Item = Table>) -> Item {
    Item::ArrayOfTables(of.collect::<ArrayOfTables>())
}

/// A place in the file, for what is wrong there.
struct At<'a> {
    table: &'a dyn TableLike,
    place: String,
}

impl<'a> At<'a> {
    fn wrong<T>(&self, key: &str, wanted: &'static str) -> Result<T, WrittenError> {
        let place = if self.place.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.place)
        };
        Err(WrittenError::Field { place, wanted })
    }

    fn number(&self, key: &str) -> Result<f64, WrittenError> {
        match self.table.get(key).and_then(as_number) {
            Some(v) => Ok(v),
            None => self.wrong(key, "a number"),
        }
    }

    fn finite(&self, key: &str) -> Result<f64, WrittenError> {
        match self.number(key)? {
            v if v.is_finite() => Ok(v),
            _ => self.wrong(key, "a finite number"),
        }
    }

    fn count(&self, key: &str, least: i64) -> Result<usize, WrittenError> {
        let found = self.table.get(key).and_then(Item::as_integer);
        match found.filter(|v| (least..=1_000_000_000).contains(v)) {
            Some(v) => Ok(v as usize),
            None => self.wrong(key, "a whole number"),
        }
    }

    fn text(&self, key: &str) -> Result<&'a str, WrittenError> {
        match self.table.get(key).and_then(Item::as_str) {
            Some(v) => Ok(v),
            None => self.wrong(key, "a text"),
        }
    }

    fn yes(&self, key: &str) -> Result<bool, WrittenError> {
        match self.table.get(key).and_then(Item::as_bool) {
            Some(v) => Ok(v),
            None => self.wrong(key, "true or false"),
        }
    }

    fn maybe(&self, key: &str) -> Result<Option<f64>, WrittenError> {
        self.table.get(key).map(|_| self.finite(key)).transpose()
    }

    fn numbers(&self, key: &str, many: usize) -> Result<Vec<f64>, WrittenError> {
        let array = self.table.get(key).and_then(Item::as_array);
        let all: Option<Vec<f64>> = array.and_then(|a| a.iter().map(of_value).collect());
        match all.filter(|a| a.len() == many && a.iter().all(|v| v.is_finite())) {
            Some(all) => Ok(all),
            None => self.wrong(
                key,
                "a list of numbers, one for each parameter (two for limits)",
            ),
        }
    }

    fn pair(&self, key: &str) -> Result<[f64; 2], WrittenError> {
        let all = self.numbers(key, 2)?;
        Ok([all[0], all[1]])
    }

    fn each<T>(
        &self,
        key: &str,
        read: impl Fn(At<'_>) -> Result<T, WrittenError>,
    ) -> Result<Vec<T>, WrittenError> {
        let Some(item) = self.table.get(key) else {
            return Ok(Vec::new());
        };
        let Some(all) = item.as_array_of_tables() else {
            return self.wrong(key, "a list of tables");
        };
        let place = |i: usize| format!("{key} {}", i + 1);
        all.iter()
            .enumerate()
            .map(|(i, table)| {
                read(At {
                    table,
                    place: place(i),
                })
            })
            .collect()
    }
}

fn as_number(item: &Item) -> Option<f64> {
    item.as_value().and_then(of_value)
}

fn of_value(v: &Value) -> Option<f64> {
    v.as_float().or_else(|| v.as_integer().map(|i| i as f64))
}

/// Reads a fit.
///
/// # Errors
/// A file that is too long, no TOML, or the first field that is missing or holds something else.
pub fn read(text: &str) -> Result<Kept, WrittenError> {
    if text.len() > MOST_BYTES {
        return Err(WrittenError::TooLong(text.len()));
    }
    let doc: DocumentMut = text.parse().map_err(|e: toml_edit::TomlError| {
        let first = e.message().lines().next().unwrap_or_default().to_owned();
        WrittenError::NotToml(first)
    })?;
    let top = At {
        table: doc.as_table(),
        place: String::new(),
    };
    let many = doc
        .get("parameter")
        .and_then(Item::as_array_of_tables)
        .map_or(0, ArrayOfTables::len);
    if many == 0 {
        return top.wrong("parameter", "at least one [[parameter]]");
    }
    let parameters = top.each("parameter", |t| {
        let Some(parameter) = Parameter::of(t.text("name")?) else {
            return t.wrong("name", "the word of a parameter, such as top_heat");
        };
        let zone = if t.table.contains_key("zone") {
            Some(t.count("zone", 1)? - 1)
        } else {
            None
        };
        let learned = Learned {
            chosen: Chosen { parameter, zone },
            believed_sd: t.finite("believed_sd")?,
            place: t.finite("place")?,
            sd: t.finite("sd")?,
            believed_factor: t.pair("believed_factor")?,
            factor: t.finite("factor")?,
            factor_limits: t.pair("factor_limits")?,
            share: t.finite("share")?,
            by_profile: t.yes("by_profile")?,
        };
        if !(learned.believed_sd > 0.0 && learned.sd >= 0.0) {
            return t.wrong("sd", "a standard deviation, not below 0,");
        }
        Ok((learned, t.numbers("covariance", many)?))
    })?;
    let covariance = DMatrix::from_fn(many, many, |i, j| parameters[i].1[j]);
    let draws = match doc.get("draws").map(|d| (d, d.as_table_like())) {
        None => None,
        Some((_, None)) => return top.wrong("draws", "a table"),
        Some((_, Some(table))) => {
            let t = At {
                table,
                place: "draws".to_owned(),
            };
            Some(Draws {
                count: t.count("count", 0)?,
                shape: t.number("shape")?,
                limit: t.finite("limit")?,
                effective: t.finite("effective")?,
            })
        }
    };
    let rows = top.each("row", |t| {
        let Some(kind) = Kind::ALL
            .into_iter()
            .find(|k| Ok(k.word()) == t.text("what"))
        else {
            return t.wrong("what", "a kind of reading, such as mass_g");
        };
        let row = Row {
            line: t.count("line", 0)?,
            bake: t.text("bake")?.to_owned(),
            kind,
            time_s: 60.0 * t.finite("minutes")?,
            value: t.finite("value")?,
            before_g: t.maybe("before_g")?,
            height_m: t.maybe("height_mm")?.map(|mm| mm / 1000.0),
        };
        let compared = Compared {
            believed: t.finite("believed")?,
            fitted: t.finite("fitted")?,
            gap: t.finite("gap")?,
        };
        Ok((row, compared))
    })?;
    let starts = top.numbers("starts", 2)?;
    let (rows, compared): (Vec<Row>, Vec<Compared>) = rows.into_iter().unzip();
    let parameters: Vec<Learned> = parameters.into_iter().map(|(p, _)| p).collect();
    let tangles: Vec<Tangle> = fit::tangles(&parameters, &covariance);
    let quality: Vec<Quality> = fit::quality_of(&rows, &compared);
    let combinations = top.each("combination", |t| {
        Ok(Combination {
            weights: t.numbers("weights", many)?,
            share: t.finite("share")?,
        })
    })?;
    let bakes = top.each("bake", |t| {
        let places = [t.finite("heat")?, t.finite("moisture")?];
        Ok((t.text("name")?.to_owned(), places))
    })?;
    let mut fit = Fit {
        model_version: u32::try_from(top.count("model_version", 0)?).unwrap_or(0),
        parameters,
        covariance,
        bakes,
        rows,
        compared,
        quality,
        misfit: top.finite("misfit")?,
        starts: [starts[0] as usize, starts[1] as usize],
        draws,
        by_draws: top.yes("by_draws")?,
        tangles,
        combinations,
        findings: Vec::new(),
    };
    fit::what_to_know(&mut fit);
    Ok(Kept {
        of: top.text("of")?.to_owned(),
        name: top.text("name")?.to_owned(),
        study: top.text("study")?.to_owned(),
        treatment: top.text("treatment")?.to_owned(),
        made: top.text("made")?.to_owned(),
        fit,
    })
}
