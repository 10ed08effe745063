//! From batches to the rows that the statistics take, the same whether they are read here or from a file.

use crate::oven_rows::TRAYS_MAY_DIFFER;
use crate::{Asked, BatchState, Made, On, Part, Planned, Trial, What};
use serde::Serialize;
use trials::plan::Unit;
use trials::response::{Kind, Response};

/// A value of a response.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reading {
    /// On which unit within the batch.
    pub on: On,
    /// The value; of a count the number counted.
    pub value: f64,
    /// Of a count, out of how many.
    pub out_of: Option<f64>,
    /// Why it is set aside.
    pub set_aside: Option<String>,
    /// The row it comes from; none where it comes from several.
    pub key: Option<String>,
}

/// A table of text cells with a head: numbers are written the shortest way, with a point.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Sheet {
    /// Names of the columns.
    pub head: Vec<String>,
    /// Rows, each as long as the head.
    pub rows: Vec<Vec<String>>,
}

/// Column of the reason why a row is set aside.
pub(crate) const SET_ASIDE: &str = "set aside";

/// The values of a response on a batch. Some are written as they are; where they aren't, the dose of water, the whole
/// pieces and the bake loss follow from several rows.
pub fn readings(state: &BatchState, asked: &Asked) -> Vec<Reading> {
    let found = written(state, asked);
    if found.is_empty() {
        return derived(state, asked);
    }
    found
}

/// Whether anything of a response is measured on any batch that wasn't given up.
pub fn is_measured(made: &[Made], asked: &Asked) -> bool {
    let stands = made.iter().filter(|m| m.state.abandoned.is_none());
    stands
        .into_iter()
        .any(|m| !readings(&m.state, asked).is_empty())
}

/// Values that follow from several rows.
fn derived(state: &BatchState, asked: &Asked) -> Vec<Reading> {
    let plain = |on: On, value: f64, out_of: Option<f64>| Reading {
        on,
        value,
        out_of,
        set_aside: None,
        key: None,
    };
    let mut found: Vec<Reading> = Vec::new();
    match asked.known() {
        Some(Response::WholeAtCutting) if state.counts.out_of() > 0 => {
            let counts = state.counts;
            found.push(plain(
                On::batch(),
                f64::from(counts.left_whole()),
                Some(f64::from(counts.out_of())),
            ));
        }
        Some(Response::WaterDose) if state.water.right.is_some() => {
            let upto = state.water.doses.iter().rfind(|d| !d.after_right);
            if let Some(water) = upto.and_then(|d| d.per_100kg) {
                found.push(plain(On::batch(), water, None));
            }
        }
        Some(Response::BakeLoss) => {
            // Pieces that were pulled in the midst of the bake to see how far it is haven't lost what the bake takes.
            let minutes = |pull: &Option<String>| {
                let of = |v: &&crate::Value| v.of == *pull;
                let last = state.of(What::PulledAfter).filter(of).last();
                last.map(|v| v.value)
            };
            let pulls = state.of(What::MassBefore).filter_map(|v| minutes(&v.of));
            let last = pulls.fold(0.0, f64::max);
            let at_the_end = |v: &&crate::Value| {
                minutes(&v.of).is_none_or(|m| m >= last - TRAYS_MAY_DIFFER.value)
            };
            for before in state.of(What::MassBefore).filter(at_the_end) {
                let same = |v: &&crate::Value| v.of == before.of && v.on == before.on;
                if let Some(after) = state.of(What::MassAfter).filter(same).last() {
                    let pull = before.of.clone().unwrap_or_default();
                    found.push(Reading {
                        set_aside: [before, after]
                            .iter()
                            .find_map(|v| v.set_aside())
                            .map(str::to_owned),
                        ..plain(
                            before.on.clone().and(Part::Tray, pull),
                            100.0 * (before.value - after.value) / before.value,
                            None,
                        )
                    });
                }
            }
        }
        _ => {}
    }
    found
}

/// Values that are written as they are.
fn written(state: &BatchState, asked: &Asked) -> Vec<Reading> {
    let mut found = Vec::new();
    let counted: Vec<&crate::Value> = state.of(What::ObservedOf).collect();
    for value in &state.values {
        let of = value.of.as_deref();
        let own = value.what == What::Observed
            && of.is_some_and(|of| {
                of.eq_ignore_ascii_case(&asked.id) || of.eq_ignore_ascii_case(&asked.name)
            });
        let known = asked.known().is_some() && value.what.response(of) == asked.known();
        if !(own || known) {
            continue;
        }
        let same = |v: &&crate::Value| v.of == value.of && v.on == value.on;
        let out_of = counted.iter().copied().rfind(same);
        found.push(Reading {
            on: value.on.clone(),
            value: value.value,
            out_of: out_of.map(|v| v.value),
            set_aside: value.set_aside().map(str::to_owned),
            key: Some(value.told.key.clone()),
        });
    }
    found
}

/// Column of what a count is out of.
pub(crate) fn out_of_column(asked: &Asked) -> Option<String> {
    (asked.kind == Kind::CountOf).then(|| format!("{}_of", asked.id))
}

/// The runs that a batch was made for, and of each the readings that belong to it: all of them, or where dogs are the
/// units those of its dog.
fn per_run<'a>(
    trial: &'a Trial,
    made: &'a [Made],
    asked: &Asked,
) -> Vec<(&'a Planned, &'a Made, Vec<Reading>)> {
    let mut all = Vec::new();
    for run in &trial.runs {
        let Some(one) = made.iter().find(|m| m.id == run.batch) else {
            continue;
        };
        if one.state.abandoned.is_some() {
            continue;
        }
        let period = trial
            .place_names
            .iter()
            .position(|n| n == Part::Period.word())
            .and_then(|at| run.places.get(at));
        let mut found = readings(&one.state, asked);
        if trial.unit == Unit::Dog {
            found.retain(|r| {
                r.on.get(Part::Dog) == Some(&run.unit)
                    && r.on
                        .get(Part::Period)
                        .is_none_or(|p| period.is_none_or(|q| p == q))
            });
        }
        all.push((run, one, found));
    }
    all
}

/// The table of one response, one row a reading, with who is who in its last column: the very rows that
/// `trials::analyse` takes, and that a file of them holds. Batches that were given up are left out; values that are set
/// aside stay, with the reason in a column of its own.
pub fn measured(trial: &Trial, made: &[Made], asked: &Asked) -> Sheet {
    let runs = per_run(trial, made, asked);
    let own = |part: Part| {
        trial.unit == Unit::Dog && part == Part::Dog
            || trial.place_names.iter().any(|n| n == part.word())
    };
    let parts: Vec<Part> = Part::ALL
        .into_iter()
        .filter(|p| !own(*p))
        .filter(|p| {
            let has = |r: &Reading| r.on.get(*p).is_some();
            runs.iter().any(|(_, _, found)| found.iter().any(has))
        })
        .collect();
    let aside = runs
        .iter()
        .any(|(_, _, found)| found.iter().any(|r| r.set_aside.is_some()));
    let out_of = out_of_column(asked);
    let control = trial.control.as_ref().filter(|c| {
        let made = |(run, _, found): &(&Planned, _, Vec<Reading>)| {
            run.treatment == **c && !found.is_empty()
        };
        trial.roles.contains("treatment=treatment") && runs.iter().any(made)
    });
    let roles = roles(trial, asked, control, aside);

    let mut head = vec!["order".to_owned(), trial.unit.word().to_owned()];
    head.extend(trial.place_names.iter().cloned());
    head.push("treatment".to_owned());
    head.extend(trial.factors.iter().map(|f| match f.unit.as_str() {
        "" => f.name.clone(),
        unit => format!("{} ({unit})", f.name),
    }));
    head.extend(parts.iter().map(|p| p.word().to_owned()));
    head.push(asked.id.clone());
    head.extend(out_of.clone());
    if aside {
        head.push(SET_ASIDE.to_owned());
    }
    head.push("roles".to_owned());

    let mut rows = Vec::new();
    for (run, _, found) in &runs {
        for reading in found {
            let mut row = vec![run.order.to_string(), run.unit.clone()];
            row.extend(run.places.iter().cloned());
            row.push(run.treatment.clone());
            row.extend(run.levels.iter().map(ToString::to_string));
            row.extend(
                parts
                    .iter()
                    .map(|p| reading.on.get(*p).unwrap_or_default().to_owned()),
            );
            row.push(reading.value.to_string());
            if out_of.is_some() {
                row.push(reading.out_of.map_or_else(String::new, |n| n.to_string()));
            }
            if aside {
                row.push(reading.set_aside.clone().unwrap_or_default());
            }
            row.push(roles.clone());
            rows.push(row);
        }
    }
    Sheet { head, rows }
}

/// Who is who: what the plan says, and what is known of the response.
fn roles(trial: &Trial, asked: &Asked, control: Option<&String>, aside: bool) -> String {
    let mut roles = trial.roles.clone();
    let mut add = |role: &str, value: &str| {
        roles.push_str("; ");
        roles.push_str(role);
        roles.push('=');
        roles.push_str(value);
    };
    if let Some(control) = control {
        add("control", control);
        if let Some(margin) = asked.margin {
            add("margin", &margin.to_string());
        }
    }
    if let Some(column) = out_of_column(asked) {
        add("out-of", &column);
    }
    if aside {
        add("set-aside", SET_ASIDE);
    }
    if asked.known().is_none() {
        add("kind", asked.kind.word());
        add("better", asked.better.word());
        if !asked.unit.is_empty() {
            add("measure", &asked.unit);
        }
    }
    roles
}

/// Everything measured on a trial, one value a row, with the marks and where it comes from.
pub fn tidy(trial: &Trial, made: &[Made]) -> Sheet {
    let mut head: Vec<String> = ["order", trial.unit.word()].map(str::to_owned).to_vec();
    head.extend(trial.place_names.iter().cloned());
    head.extend(["treatment", "response", "measured in"].map(str::to_owned));
    let own = |part: &Part| {
        trial.unit == Unit::Dog && *part == Part::Dog
            || trial.place_names.iter().any(|n| n == part.word())
    };
    let parts: Vec<Part> = Part::ALL.into_iter().filter(|p| !own(p)).collect();
    head.extend(parts.iter().map(|p| p.word().to_owned()));
    head.extend(["value", "out of", SET_ASIDE, "given up", "row"].map(str::to_owned));
    let mut rows = Vec::new();
    for asked in &trial.responses {
        for run in &trial.runs {
            let Some(one) = made.iter().find(|m| m.id == run.batch) else {
                continue;
            };
            let given_up = one
                .state
                .abandoned
                .as_ref()
                .map_or("", |k| k.words.as_str());
            for reading in readings(&one.state, asked) {
                if trial.unit == Unit::Dog && reading.on.get(Part::Dog) != Some(&run.unit) {
                    continue;
                }
                let mut row = vec![run.order.to_string(), run.unit.clone()];
                row.extend(run.places.iter().cloned());
                row.extend([run.treatment.clone(), asked.id.clone(), asked.unit.clone()]);
                row.extend(
                    parts
                        .iter()
                        .map(|p| reading.on.get(*p).unwrap_or_default().to_owned()),
                );
                row.extend([
                    reading.value.to_string(),
                    reading.out_of.map_or_else(String::new, |n| n.to_string()),
                    reading.set_aside.clone().unwrap_or_default(),
                    given_up.to_owned(),
                    reading.key.clone().unwrap_or_default(),
                ]);
                rows.push(row);
            }
        }
    }
    Sheet { head, rows }
}
