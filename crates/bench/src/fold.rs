//! From a batch and its rows to what it has come to.

use crate::moment::{minutes_between, seconds};
use crate::state::{BatchState, Dose, Feel, Kept, Load, Mark, Signed, Struck, Told, Value};
use crate::unit::in_unit;
use crate::{Batch, Code, Entry, Nature, On, ProbeCurve, What, read_curve};
use measure::{Finding, Severity};
use std::collections::BTreeMap;

/// A device's clock may be off by so much before anybody is told, s.
const CLOCK_MAY_DIFFER_S: f64 = 120.0;

/// Works out what a batch has come to. Rows are taken in the order of the book, whatever their clocks say; a row that
/// can't be understood becomes a finding and nothing is lost.
///
/// ```
/// use bench::{Batch, Entry, fold};
/// let batch: Batch = bench::read_form(
///     "code = 'B01'\nstudy = 's'\nrevision = 1\nhash = ''\ntreatment = 'control'\nlabel = 'control'\ndry_mix_kg = 8.0",
/// ).unwrap();
/// let dose = |id, kg: &str| Entry {
///     id, key: format!("k{id}"), at: "2026-03-02T09:00:00Z".into(), arrived: "2026-03-02T09:00:01Z".into(),
///     who: "Ada".into(), what: "dose".into(), value: kg.into(), ..Entry::default()
/// };
/// let state = fold(&batch, &[dose(1, "1.5"), dose(2, "0.5")]);
/// assert_eq!(state.water.total_kg, 2.0);
/// assert_eq!(state.water.per_100kg, Some(25.0));
/// ```
pub fn fold(batch: &Batch, entries: &[Entry]) -> BatchState {
    let mut rows: Vec<&Entry> = entries.iter().collect();
    rows.sort_by_key(|e| e.id);
    let mut work = Work {
        batch,
        need: batch.need_kg_per_100kg(),
        state: BatchState {
            rows: rows.len(),
            last_id: rows.last().map_or(0, |e| e.id),
            ..BatchState::default()
        },
        counts: BTreeMap::new(),
    };
    let struck = work.strikes(&rows);
    let signed = rows
        .iter()
        .find(|e| e.what == What::Signed.about().word && !struck.contains_key(e.key.as_str()))
        .map(|e| e.id);
    let mut standing = Vec::with_capacity(rows.len());
    for entry in rows.iter().copied() {
        let told = told(entry, signed);
        if told.after_signing {
            work.state.after_signing.push(entry.key.clone());
        }
        if let Some(by) = struck.get(entry.key.as_str()) {
            work.struck(entry, by, signed);
            continue;
        }
        standing.push(entry);
        // A pure strike says nothing of its own.
        if entry.strikes.is_none() || !entry.value.is_empty() {
            work.row(entry, told);
        }
    }
    work.set_aside(&standing);
    work.loads();
    work.counts();
    work.beyond();
    work.clocks(&rows);
    if !work.state.after_signing.is_empty() {
        let n = work.state.after_signing.len();
        work.note(
            Severity::Note,
            Code::AfterSigning,
            "sheet",
            format!("{n} of the rows were written after the sheet was signed; they are marked."),
        );
    }
    work.state
}

pub(crate) fn told(entry: &Entry, signed: Option<u64>) -> Told {
    Told {
        key: entry.key.clone(),
        id: entry.id,
        at: entry.at.clone(),
        who: entry.who.clone(),
        after_signing: signed.is_some_and(|id| entry.id > id),
    }
}

/// The number that was typed: plain, with a point.
fn number(text: &str) -> Option<f64> {
    let value: f64 = text.trim().parse().ok()?;
    value.is_finite().then_some(value)
}

struct Work<'a> {
    batch: &'a Batch,
    need: Option<f64>,
    state: BatchState,
    counts: BTreeMap<What, i64>,
}

impl<'a> Work<'a> {
    fn find(&mut self, finding: Finding) {
        self.state.findings.push(finding);
    }

    fn note(&mut self, severity: Severity, code: Code, about: &str, message: String) {
        self.find(Finding::new(severity, code, about, message));
    }

    /// The keys that are struck through, each with the first row that did it.
    fn strikes(&mut self, rows: &[&'a Entry]) -> BTreeMap<&'a str, &'a Entry> {
        let by_key: BTreeMap<&str, &Entry> = rows.iter().map(|e| (e.key.as_str(), *e)).collect();
        let mut struck = BTreeMap::new();
        for by in rows.iter().copied() {
            let Some(key) = by.strikes.as_deref() else {
                continue;
            };
            match by_key.get(key).filter(|e| e.id < by.id) {
                Some(earlier) => {
                    struck.entry(earlier.key.as_str()).or_insert(by);
                }
                None => self.note(
                    Severity::Warn,
                    Code::StrikesNothing,
                    &by.key,
                    format!(
                        "A row of {} strikes ‘{key}’ through, which isn’t an earlier row of this batch.",
                        by.who
                    ),
                ),
            }
        }
        struck
    }

    fn struck(&mut self, earlier: &Entry, by: &Entry, signed: Option<u64>) {
        let why = by.why.clone().unwrap_or_default();
        if why.trim().is_empty() {
            self.find(
                Finding::new(
                    Severity::Warn,
                    Code::StrikeWithoutReason,
                    &by.key,
                    format!("‘{}’ was struck through without a reason.", earlier.value),
                )
                .help("write down as a note why it was wrong"),
            );
        }
        self.state.struck.push(Struck {
            what: earlier.what.clone(),
            of: earlier.of.clone(),
            on: earlier.on.clone(),
            value: earlier.value.clone(),
            unit: earlier.unit.clone(),
            told: told(earlier, signed),
            by: told(by, signed),
            why,
        });
    }

    fn row(&mut self, entry: &Entry, told: Told) {
        let Some(what) = What::from_word(&entry.what) else {
            self.note(
                Severity::Warn,
                Code::WordUnknown,
                &entry.key,
                format!(
                    "‘{}’ isn’t a word of the bench; the row is kept as it is.",
                    entry.what
                ),
            );
            return;
        };
        let about = what.about();
        if let Some(which) = about.of
            && entry.of.as_deref().is_none_or(|of| of.trim().is_empty())
        {
            self.note(
                Severity::Warn,
                Code::WhichMissing,
                &entry.key,
                format!(
                    "‘{} {}’ doesn’t tell which {which} it is about.",
                    about.label, entry.value
                ),
            );
            return;
        }
        match about.nature {
            Nature::Words | Nature::Picture => self.words(what, entry, told),
            Nature::Moment => self.moment(what, entry, told),
            Nature::Curve => self.curve(entry, told),
            Nature::Amount | Nature::Count | Nature::Step => self.amount(what, entry, told),
        }
    }

    fn words(&mut self, what: What, entry: &Entry, told: Told) {
        match what {
            What::Signed => {
                if self.state.signed.is_none() {
                    self.state.signed = Some(Signed {
                        hash: entry.value.clone(),
                        told,
                    });
                }
            }
            What::SetAside => {}
            _ => {
                let kept = Kept {
                    what,
                    of: entry.of.clone(),
                    words: entry.value.clone(),
                    told,
                };
                if what == What::Abandoned {
                    self.note(
                        Severity::Note,
                        Code::Abandoned,
                        "batch",
                        format!("The batch was given up: {}", entry.value),
                    );
                    self.state.abandoned = Some(kept);
                } else {
                    self.state.words.push(kept);
                }
            }
        }
    }

    fn moment(&mut self, what: What, entry: &Entry, told: Told) {
        let tray = entry.of.clone().unwrap_or_default();
        match what {
            What::OvenIn => self.state.loads.push(Load {
                tray,
                entered: Some(told),
                left: None,
                minutes: None,
            }),
            What::OvenOut => {
                let open = |l: &&mut Load| l.tray == tray && l.left.is_none();
                match self.state.loads.iter_mut().find(open) {
                    Some(load) => load.left = Some(told),
                    None => self.state.loads.push(Load {
                        tray,
                        entered: None,
                        left: Some(told),
                        minutes: None,
                    }),
                }
            }
            What::StandBegun => self.state.stands = Some(told),
            _ => self.state.water.right = Some(told),
        }
    }

    fn curve(&mut self, entry: &Entry, told: Told) {
        let Some(readings) = read_curve(&entry.value) else {
            self.note(
                Severity::Warn,
                Code::CurveUnread,
                &entry.key,
                "The readings of a probe can’t be read; they are kept as they are.".to_owned(),
            );
            return;
        };
        let probe = entry.of.clone().unwrap_or_default();
        // As with what holds once, the later row holds.
        self.state.curves.retain(|c| c.probe != probe);
        self.state.curves.push(ProbeCurve {
            probe,
            readings,
            set_aside: None,
            told,
        });
    }

    fn amount(&mut self, what: What, entry: &Entry, told: Told) {
        let about = what.about();
        let asked = match what {
            What::Observed => entry.of.as_deref().and_then(|of| self.batch.response(of)),
            _ => None,
        };
        let unit = asked.map_or(about.unit, |a| a.unit.as_str()).to_owned();
        let about_row = format!("{}:{}", about.word, entry.key);
        let Some(typed) = number(&entry.value) else {
            self.find(
                Finding::new(
                    Severity::Warn,
                    Code::NotANumber,
                    about_row,
                    format!("{}: ‘{}’ isn’t a number.", about.label, entry.value),
                )
                .help("strike it through and type the number with a point"),
            );
            return;
        };
        let value = match entry.unit.as_deref().filter(|u| !u.trim().is_empty()) {
            None => typed,
            Some(given) => match in_unit(typed, given, &unit) {
                Ok(value) => value,
                Err(wrong) => {
                    let message = format!("{}: {wrong}.", about.label);
                    self.find(
                        Finding::new(Severity::Warn, Code::UnitUnknown, about_row, message)
                            .help("strike it through and type it in a unit that fits"),
                    );
                    return;
                }
            },
        };
        let on = match On::read(entry.on.as_deref().unwrap_or_default()) {
            Ok(on) => on,
            Err(wrong) => {
                self.note(
                    Severity::Warn,
                    Code::PlaceUnread,
                    &about_row,
                    format!("{wrong}."),
                );
                return;
            }
        };
        match what {
            What::Dose => self.dose(value, told.clone()),
            What::Stand => self.state.stands = None,
            What::Feel => {
                let total_kg = self.state.water.total_kg;
                self.state.water.feels.push(Feel {
                    step: value,
                    total_kg,
                    told: told.clone(),
                });
            }
            _ if about.nature == Nature::Count => {
                if value.fract() != 0.0 || value.abs() > 1e9 {
                    self.note(
                        Severity::Warn,
                        Code::NotANumber,
                        &about_row,
                        format!("{}: ‘{}’ is no count of pieces.", about.label, entry.value),
                    );
                    return;
                }
                *self.counts.entry(what).or_default() += value as i64;
            }
            _ => {}
        }
        let beyond = match asked {
            Some(asked) => asked.is_beyond(value),
            None => about.plausible.is_some_and(|p| !p.contains(value)),
        };
        let confirmed = entry.why.as_deref().is_some_and(|w| !w.trim().is_empty());
        let marks = if beyond {
            vec![Mark::Beyond { confirmed }]
        } else {
            Vec::new()
        };
        // What holds only once is replaced by the later row; a weighed line once for each material.
        if !about.repeated {
            self.state
                .values
                .retain(|v| v.what != what || v.of != entry.of);
        }
        self.state.values.push(Value {
            what,
            of: entry.of.clone(),
            on,
            value,
            unit,
            marks,
            told,
        });
    }

    fn dose(&mut self, kg: f64, told: Told) {
        let water = &mut self.state.water;
        water.total_kg += kg;
        let per_100kg = self
            .batch
            .dry_mix_kg
            .filter(|m| *m > 0.0)
            .map(|m| 100.0 * water.total_kg / m);
        water.per_100kg = per_100kg;
        let after_right = water.right.is_some();
        let of_need = per_100kg
            .zip(self.need.filter(|n| *n > 0.0))
            .map(|(w, n)| w / n);
        water.doses.push(Dose {
            kg,
            total_kg: water.total_kg,
            per_100kg,
            of_need,
            after_right,
            told: told.clone(),
        });
        if after_right {
            self.find(
                Finding::new(
                    Severity::Warn,
                    Code::DoseAfterRight,
                    format!("dose:{}", told.key),
                    format!("{kg} kg of water came after the dough had been called right."),
                )
                .help("strike ‘this dough is right’ through if the titration went on, and call it right again"),
            );
        }
    }

    /// Marks the values that a later row sets aside.
    fn set_aside(&mut self, rows: &[&Entry]) {
        let word = What::SetAside.about().word;
        // A row that only strikes another one through sets nothing aside itself.
        let says = |e: &&&Entry| e.strikes.is_none() || !e.value.is_empty();
        for row in rows.iter().filter(|e| e.what == word).filter(says) {
            let why = row.value.trim();
            let key = row.of.as_deref().unwrap_or_default();
            let curve = self.state.curves.iter_mut().find(|c| c.told.key == key);
            if let Some(curve) = curve.filter(|_| !why.is_empty()) {
                curve.set_aside = Some(why.to_owned());
                let message = format!("Probe {} is set aside: {why}", curve.probe);
                self.note(Severity::Note, Code::SetAside, key, message);
                continue;
            }
            let value = self.state.values.iter_mut().find(|v| v.told.key == key);
            match value {
                Some(value) if !why.is_empty() => {
                    value.marks.push(Mark::SetAside(why.to_owned()));
                    let named = format!(
                        "{} {}",
                        value.of.as_deref().unwrap_or(value.what.about().label),
                        value.value
                    );
                    self.note(
                        Severity::Note,
                        Code::SetAside,
                        key,
                        format!("{named} is set aside: {why}"),
                    );
                }
                _ => self.note(
                    Severity::Warn,
                    Code::SetAsideUnread,
                    &row.key,
                    format!(
                        "‘{key}’ can’t be set aside: name a value that stands, and the reason."
                    ),
                ),
            }
        }
    }

    fn loads(&mut self) {
        let mut found = Vec::new();
        for load in &mut self.state.loads {
            let (entered, left) = (load.entered.as_ref(), load.left.as_ref());
            let Some(left) = left else { continue };
            let about = format!("oven:{}", load.tray);
            let Some(entered) = entered else {
                found.push(
                    Finding::new(
                        Severity::Warn,
                        Code::OutWithoutIn,
                        about,
                        format!(
                            "Tray {} came out at {}, and nobody wrote when it went in.",
                            load.tray, left.at
                        ),
                    )
                    .help("write down when it went in"),
                );
                continue;
            };
            match minutes_between(&entered.at, &left.at) {
                Some(minutes) if minutes >= 0.0 => load.minutes = Some(minutes),
                Some(_) => found.push(
                    Finding::new(
                        Severity::Warn,
                        Code::OutBeforeIn,
                        about,
                        format!("Tray {} came out at {}, before it went in at {}.", load.tray, left.at, entered.at),
                    )
                    .help("strike the wrong one through and write it again; the clocks of two tablets may differ"),
                ),
                None => found.push(Finding::new(
                    Severity::Warn,
                    Code::MomentUnread,
                    about,
                    format!("The moments of tray {} can’t be read.", load.tray),
                )),
            }
        }
        self.state.findings.append(&mut found);
    }

    fn counts(&mut self) {
        let mut count = |what: What| -> u32 {
            let n = self.counts.get(&what).copied().unwrap_or(0);
            if n < 0 {
                self.state.findings.push(Finding::new(
                    Severity::Warn,
                    Code::CountBelowNothing,
                    what.about().word,
                    format!(
                        "The count of pieces {} was taken back below nothing.",
                        what.about().label
                    ),
                ));
            }
            u32::try_from(n.max(0)).unwrap_or(u32::MAX / 4)
        };
        let (cut, whole) = (count(What::Cut), count(What::CutWhole));
        let (broken, stuck) = (count(What::CutBroken), count(What::CutStuck));
        let counts = &mut self.state.counts;
        counts.cut = self.counts.contains_key(&What::Cut).then_some(cut);
        (counts.whole, counts.broken, counts.stuck) = (whole, broken, stuck);
        let told = counts.told();
        if let Some(cut) = counts.cut
            && told > cut
        {
            self.find(
                Finding::new(
                    Severity::Warn,
                    Code::CountsBeyondCut,
                    "cut",
                    format!("{whole} whole, {broken} broken and {stuck} stuck make {told} pieces, but {cut} were cut."),
                )
                .help("correct the count that is wrong; until then the pieces counted stand for the pieces cut"),
            );
        }
    }

    fn beyond(&mut self) {
        let mut found = Vec::new();
        for value in &self.state.values {
            let Some(Mark::Beyond { confirmed }) = value.marks.first() else {
                continue;
            };
            let about = value.what.about();
            let asked = value.of.as_deref().and_then(|of| self.batch.response(of));
            let limits = match asked {
                Some(asked) => [asked.low, asked.high]
                    .map(|x| x.map_or_else(|| "…".to_owned(), |x| x.to_string()))
                    .join(" to "),
                None => about
                    .plausible
                    .map_or_else(String::new, |p| format!("{} to {}", p.low, p.high)),
            };
            let name = asked.map_or(about.label, |a| a.name.as_str());
            let gap = if value.unit.is_empty() { "" } else { " " };
            let said = format!(
                "{name}: {}{gap}{} lies beyond {limits}",
                value.value, value.unit
            );
            found.push(if *confirmed {
                Finding::new(
                    Severity::Note,
                    Code::BeyondPlausibleConfirmed,
                    value.told.key.clone(),
                    format!("{said}; {} confirmed it.", value.told.who),
                )
            } else {
                Finding::new(
                    Severity::Warn,
                    Code::BeyondPlausible,
                    value.told.key.clone(),
                    format!("{said}."),
                )
                .help("look again; if it is so, confirm it with a word why, and it is kept with a mark")
            });
        }
        self.state.findings.append(&mut found);
    }

    /// A device whose clock is ahead of the book's is seen at once. One that is behind looks like one that was out of
    /// reach, so that is said only of a device none of whose rows came soon after its moment.
    fn clocks(&mut self, rows: &[&Entry]) {
        let mut lags: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
        for row in rows {
            let lag = seconds(&row.arrived)
                .zip(seconds(&row.at))
                .map(|(a, b)| a - b);
            match lag {
                // What is typed at this computer bears its clock, or a moment that somebody wrote.
                Some(lag) => {
                    if let Some(device) = row.device.as_deref() {
                        lags.entry(device).or_default().push(lag);
                    }
                }
                None => self.note(
                    Severity::Warn,
                    Code::MomentUnread,
                    &row.key,
                    format!("The moment ‘{}’ of a row can’t be read.", row.at),
                ),
            }
        }
        for (device, lags) in lags {
            let least = lags.iter().copied().fold(f64::INFINITY, f64::min);
            let minutes = (least.abs() / 60.0).round();
            if least < -CLOCK_MAY_DIFFER_S {
                self.find(
                    Finding::new(
                        Severity::Warn,
                        Code::ClockAhead,
                        device,
                        format!("The clock of {device} runs {minutes} min ahead of this computer’s."),
                    )
                    .help("set it; times in the oven are right where one device wrote both, and the order of rows is sure either way"),
                );
            } else if least > CLOCK_MAY_DIFFER_S {
                self.note(
                    Severity::Note,
                    Code::ClockBehind,
                    device,
                    format!("Rows of {device} came {minutes} min and more after their moment: it was out of reach, or its clock runs behind."),
                );
            }
        }
    }
}
