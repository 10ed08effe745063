//! Lots: what came in of a material, each with its certificate and its dates, and what taking one changes.
//!
//! A study keeps the values of the lot it is worked out with in its own text, with the lot's code, so that an old
//! revision means the same for ever; the book keeps every lot.

use crate::at_bench::called;
use crate::desk::Desk;
use crate::materials::{Values, built};
use crate::reading::reading;
use crate::sheet::StudyView;
use crate::texts::shown;
use crate::{App, AppError, FORM_VERSION, now};
use bench::{Kept, Made, What};
use book::{Entry, Kind, Order, Page, Save};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;
use study::edit::{self, Edit, Put};
use study::written::tables::{MaterialRow, RootRow};
use study::written::{StudyWritten, Value, write};
use study::{Compared, Figure};

/// A lot of a material.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lot {
    /// The material.
    pub material: String,
    /// What stands on the bag.
    pub code: String,
    /// When it came in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub received: Option<Date>,
    /// Until when it may be used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub best_before: Option<Date>,
    /// Which certificate tells its values.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub certificate: Option<String>,
    /// Its values over the material's, the spread of its analyses among them.
    pub values: Values,
}

/// A lot as the book keeps it.
#[derive(Clone, Debug, Serialize)]
pub struct LotKept {
    /// Its newest revision.
    pub entry: Entry,
    /// The lot.
    #[serde(flatten)]
    pub lot: Lot,
}

/// What taking a lot would change in a study.
#[derive(Clone, Debug, Serialize)]
pub struct LotInStudy {
    /// The lot.
    pub lot: LotKept,
    /// What the material is called.
    pub name: String,
    /// Whether the study is worked out with it.
    pub taken: bool,
    /// The answers with it, of the treatments that have the material, beside those as the study stands; none where it is
    /// taken already.
    #[serde(skip)]
    pub with: Vec<(Compared, Compared)>,
    /// Why that can't be told, if it can't.
    pub why: Option<String>,
}

impl LotInStudy {
    /// A figure of a treatment with this lot, and as the study stands; none where one isn't known.
    pub fn figure(&self, treatment: &str, figure: Figure) -> Option<(f64, f64)> {
        let (with, now) = self.with.iter().find(|(w, _)| w.answer.id == treatment)?;
        Some((figure.value(&with.answer)?, figure.value(&now.answer)?))
    }
}

/// Where a lot went: the batches that it was weighed into, and what came of them.
#[derive(Clone, Debug, Serialize)]
pub struct LotWent {
    /// The lot, where it is written down.
    pub lot: Option<LotKept>,
    /// The batches, in the order of the book.
    pub batches: Vec<WentInto>,
}

/// A batch that a lot was weighed into.
#[derive(Clone, Debug, Serialize)]
pub struct WentInto {
    /// What the treatment is called at the bench.
    pub called: String,
    /// The batch with what it has come to.
    #[serde(flatten)]
    pub made: Made,
}

/// The longest code of a lot.
const LONGEST_CODE: usize = 60;
/// Lots of one material that are looked at for a study, the newest.
const MOST_LOOKED_AT: usize = 8;

/// The lasting name of a lot: its material, a point, and its code in letters that every address takes.
fn thing_of(material: &str, code: &str) -> String {
    let plain = |byte: u8| match byte {
        b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' => char::from(byte).to_string(),
        other => format!("~{other:02x}"),
    };
    format!("{material}.{}", code.bytes().map(plain).collect::<String>())
}

/// The material and the code of a lot's lasting name; none where that is none.
fn named(thing: &str) -> Option<(&str, String)> {
    let (material, plain) = thing.split_once('.')?;
    let mut bytes = Vec::new();
    let mut rest = plain.as_bytes();
    while let Some((&byte, after)) = rest.split_first() {
        rest = after;
        if byte == b'~' {
            let (digits, after) = rest.split_at_checked(2)?;
            bytes.push(u8::from_str_radix(std::str::from_utf8(digits).ok()?, 16).ok()?);
            rest = after;
        } else {
            bytes.push(byte);
        }
    }
    Some((material, String::from_utf8(bytes).ok()?))
}

impl App {
    /// The codes of the lots that are written down, by material.
    pub(crate) async fn lots_written_down(
        &self,
    ) -> Result<BTreeMap<String, Vec<String>>, AppError> {
        let all = Page::first(Page::LONGEST);
        let list = self.book.list(Kind::Lot, None, Order::Title, all).await?;
        let mut lots: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for (material, code) in list.items.iter().filter_map(|entry| named(&entry.thing)) {
            lots.entry(material.to_owned()).or_default().push(code);
        }
        Ok(lots)
    }

    /// The lots of a material, the last received first.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn lots(&self, material: &str) -> Result<Vec<LotKept>, AppError> {
        let all = Page::first(Page::LONGEST);
        let list = self.book.list(Kind::Lot, None, Order::Title, all).await?;
        let of_it = |entry: &Entry| named(&entry.thing).is_some_and(|(of, _)| of == material);
        let mut lots = Vec::new();
        for entry in list.items.into_iter().filter(of_it) {
            lots.extend(self.lot(&entry.thing).await?);
        }
        lots.sort_by_key(|kept| std::cmp::Reverse(kept.lot.received));
        Ok(lots)
    }

    async fn lot(&self, thing: &str) -> Result<Option<LotKept>, AppError> {
        let current = self.book.current(Kind::Lot, thing).await?;
        Ok(current.and_then(|revision| {
            Some(LotKept {
                lot: serde_json::from_str(&revision.form).ok()?,
                entry: revision.entry,
            })
        }))
    }

    /// Saves a lot; `base` is the revision that was looked at, none for a new one.
    ///
    /// # Errors
    /// A code or date that can't be; values that don't make a material; a lot with this code that is there already;
    /// what the book tells.
    pub async fn save_lot(
        &self,
        who: &str,
        base: Option<u64>,
        lot: &Lot,
    ) -> Result<Entry, AppError> {
        let wrong = |field: &str, why: String| AppError::Value {
            field: field.to_owned(),
            why,
        };
        let code = lot.code.trim();
        let fits = (1..=LONGEST_CODE).contains(&code.chars().count());
        if !fits || code.chars().any(char::is_control) {
            let why = format!("write what stands on the bag, 1 to {LONGEST_CODE} characters");
            return Err(wrong("lot", why));
        }
        if let (Some(received), Some(best_before)) = (lot.received, lot.best_before)
            && best_before < received
        {
            let why = format!("{best_before} is before {received}, when it came in");
            return Err(wrong("best before", why));
        }
        let material = built(&lot.material, &lot.values)
            .map_err(|problems| wrong(&format!("lot {}", shown(code)), problems.join("; ")))?;
        let thing = thing_of(&lot.material, code);
        if base.is_none()
            && let Some(there) = self.lot(&thing).await?
        {
            let why = format!(
                "there is a lot ‘{}’ of it already, from revision {}; open that one",
                shown(code),
                there.entry.number
            );
            return Err(wrong("lot", why));
        }
        let before = self.book.newest(Kind::Lot, &thing).await?;
        let lot = Lot {
            code: code.to_owned(),
            ..lot.clone()
        };
        let save = Save {
            kind: Kind::Lot,
            thing,
            base: base.or_else(|| before.map(|removed| removed.entry.number)),
            who: who.to_owned(),
            when: now(),
            why: None,
            title: format!("{}, lot {}", material.name, lot.code),
            form_version: FORM_VERSION,
            form: serde_json::to_string(&lot).map_err(|e| AppError::BrokenOff(e.to_string()))?,
        };
        Ok(self.book.save(save).await?.entry)
    }

    /// Puts the values of a lot into a study's draft, and takes out those of the lot that it had. What the study had of
    /// its own in their place before isn't put back; undo does that.
    ///
    /// # Errors
    /// No such lot; what an edit tells.
    pub async fn take_lot(
        &self,
        who: &str,
        thing: &str,
        seen: u64,
        (material, code): (&str, &str),
    ) -> Result<StudyView, AppError> {
        let lots = self.lots(material).await?;
        let lot = lots.iter().find(|kept| kept.lot.code == code);
        let lot = lot.ok_or_else(|| AppError::NoLot {
            material: shown(material),
            code: shown(code),
        })?;
        let written = self.stands(who, thing).await?.written;
        self.edit(who, thing, seen, &[taking(&written, lot, &lots)])
            .await
    }

    /// Where a lot went, whether it is written down or only named at the bench.
    ///
    /// # Errors
    /// Neither is so; what the book tells.
    pub async fn lot_went(&self, material: &str, code: &str) -> Result<LotWent, AppError> {
        let lot = self.lot(&thing_of(material, code)).await?;
        let named = self
            .book
            .entries_saying(Kind::Batch, What::Lot.about().word);
        let named = named.await?.into_iter().map(|entry| entry.row);
        let of_it = named.filter(|row| row.of.as_deref() == Some(material) && row.value == code);
        let mut things: Vec<String> = Vec::new();
        for row in of_it {
            if !things.contains(&row.thing) {
                things.push(row.thing);
            }
        }
        let mut batches = Vec::new();
        for thing in things {
            let made = self.batch(&thing).await?.made;
            // A name that was struck through since isn't where it went.
            let stands = |kept: &&Kept| kept.what == What::Lot && kept.words == code;
            let mut words = made.state.words.iter().filter(stands);
            if words.any(|kept| kept.of.as_deref() == Some(material)) {
                let called = match &made.batch.trial {
                    Some(trial) => called(&self.trial(trial).await?.trial, &made.batch),
                    None => made.batch.label.clone(),
                };
                batches.push(WentInto { called, made });
            }
        }
        if lot.is_none() && batches.is_empty() {
            return Err(AppError::NoLot {
                material: shown(material),
                code: shown(code),
            });
        }
        Ok(LotWent { lot, batches })
    }

    /// The lots of the materials that a study has in its formulas, each with what taking it would change. At most the
    /// newest few of each material are looked at.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn lots_in(&self, view: &StudyView) -> Result<Vec<LotInStudy>, AppError> {
        let Some(study) = view.study.clone() else {
            return Ok(Vec::new());
        };
        let mut materials: Vec<(String, String)> = Vec::new();
        for line in study.treatments.iter().flat_map(|t| t.formula.lines()) {
            let (id, name) = (&line.material.id, &line.material.name);
            if !materials.iter().any(|(known, _)| known == id) {
                materials.push((id.clone(), name.clone()));
            }
        }
        let mut all = Vec::new();
        for (id, name) in materials {
            let lots = self.lots(&id).await?;
            if !lots.is_empty() {
                all.push((name, lots));
            }
        }
        if all.is_empty() {
            return Ok(Vec::new());
        }
        let desk = Arc::clone(&self.desk);
        let written = view.written.clone();
        let now = view.answers.compared.clone();
        let work = move || {
            let mut told = Vec::new();
            for (name, lots) in &all {
                for lot in lots.iter().take(MOST_LOOKED_AT) {
                    told.push(in_study(&written, &now, name, lot, lots, &desk));
                }
            }
            told
        };
        tokio::task::spawn_blocking(work)
            .await
            .map_err(|e| AppError::BrokenOff(e.to_string()))
    }
}

/// The code of the lot that a study is worked out with.
fn taken(written: &StudyWritten, material: &str) -> Option<String> {
    let rows = written.root.rows(RootRow::material);
    let row = rows
        .iter()
        .find(|m| m.get(MaterialRow::id) == Some(material))?;
    row.get(MaterialRow::lot).map(str::to_owned)
}

/// The edit that takes a lot: its values, its code and its certificate, and nothing more of the lot before.
fn taking(written: &StudyWritten, lot: &LotKept, all: &[LotKept]) -> Edit {
    let Lot {
        material,
        code,
        certificate,
        values,
        ..
    } = &lot.lot;
    let before = taken(written, material);
    let before = all.iter().find(|l| Some(&l.lot.code) == before.as_ref());
    let gone = before.iter().flat_map(|l| l.lot.values.keys());
    let gone = gone.filter(|key| !values.contains_key(*key));
    let source = certificate.as_ref().map_or_else(
        || format!("lot {code}"),
        |certificate| format!("certificate {certificate}, lot {code}"),
    );
    let said = [
        (MaterialRow::lot.name, code.clone()),
        (MaterialRow::source.name, source),
    ];
    Edit::OverrideMaterial {
        material: material.clone(),
        values: gone
            .map(|key| (key.clone(), None))
            .chain(values.iter().map(|(k, v)| (k.clone(), Some(v.clone()))))
            .chain(said.map(|(key, text)| (key.to_owned(), Some(Put::Text(text)))))
            .collect(),
    }
}

fn in_study(
    written: &StudyWritten,
    now: &[Compared],
    name: &str,
    lot: &LotKept,
    all: &[LotKept],
    desk: &Desk,
) -> LotInStudy {
    let taken = taken(written, &lot.lot.material).is_some_and(|code| code == lot.lot.code);
    let mut told = LotInStudy {
        lot: lot.clone(),
        name: name.to_owned(),
        taken,
        with: Vec::new(),
        why: None,
    };
    if taken && as_the_certificate(written, &lot.lot) {
        return told;
    }
    let worked = edit::apply(written, &taking(written, lot, all))
        .map_err(|e| e.to_string())
        .and_then(|after| reading(&write(&after)).map_err(|e| e.to_string()))
        .and_then(|reading| {
            let problem = reading.resolved().problems.first().map(ToString::to_string);
            match (&reading.resolved().study, problem) {
                (None, Some(problem)) => Err(problem),
                _ => Ok(reading.answers(desk).compared),
            }
        });
    match worked {
        Ok(with) => {
            let pair = |with: Compared| {
                let now = now.iter().find(|n| n.answer.id == with.answer.id)?;
                Some((with, now.clone()))
            };
            told.with = with.into_iter().filter_map(pair).collect();
        }
        Err(why) => told.why = Some(why),
    }
    told
}

/// Whether the study has every value of its lot as the book keeps it now: a certificate may have been corrected since.
fn as_the_certificate(written: &StudyWritten, lot: &Lot) -> bool {
    let rows = written.root.rows(RootRow::material);
    let Some(row) = rows
        .iter()
        .find(|m| m.get(MaterialRow::id) == Some(&lot.material))
    else {
        return false;
    };
    let value = |path: &str| match path.split_once('.') {
        None => row.entry(path).map(|e| e.value.clone()),
        Some((table, key)) => row.below(table)?.entry(key).map(|e| e.value.clone()),
    };
    lot.values.iter().all(|(key, put)| match (put, value(key)) {
        (Put::Number(n), Some(Value::Number(there))) => *n == there,
        (Put::Text(text), Some(Value::Text(there))) => *text == there,
        (Put::Flag(flag), Some(Value::Flag(there))) => *flag == there,
        (Put::Words(words), Some(Value::Words(there))) => *words == there,
        _ => false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lasting_name_gives_the_code_back() {
        for code in ["W-77", "W/77 ü", "a.b~c", "2026 11 02", "~", "…"] {
            let thing = thing_of("wheat_flour_soft", code);
            let all = |c: char| c.is_ascii_alphanumeric() || "._-~".contains(c);
            assert!(thing.chars().all(all), "{thing}");
            assert_eq!(named(&thing), Some(("wheat_flour_soft", code.to_owned())));
        }
        assert_eq!(named("wheat"), None);
        assert_eq!(named("wheat.~4"), None);
    }
}
