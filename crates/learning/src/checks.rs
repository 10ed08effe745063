//! What is wrong with readings before anything is learned from them: named by row, never silently taken.

use crate::bakes::OwnBake;
use crate::{Code, Kind, Row};
use measure::{DryBasis, Finding, Severity};

/// A moisture may rise by this much between two pulled pieces without being called odd \[per cent\].
const RISE_PCT: f64 = 1.0;
/// A share of mass left may.
const RISE_SHARE: f64 = 0.01;
/// A probe in a piece may move this fast \[K/s\] …
const FAST_K_PER_S: f64 = 6.0;
/// … once it has moved this far from the reading before \[K\].
const FAR_K: f64 = 25.0;
/// A moisture may lie above the dough's by this much \[per cent\].
const ABOVE_DOUGH_PCT: f64 = 1.0;

/// Checks the readings of a bake against each other and against its dough and piece.
pub fn check(bake: &OwnBake, rows: &[&Row]) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut say = |severity, code, row: &Row, what: String, help: &str| {
        let about = format!("row:{}", row.line);
        let message = format!("{}: {what}", row.place());
        found.push(Finding::new(severity, code, about, message).help(help));
    };
    let dough_pct = bake.input.initial_moisture.to_wet().percent();
    let thickness_m = bake.input.thickness_m;
    for row in rows {
        let (low, high, unit) = match row.kind {
            Kind::Mass => (1e-3, 100_000.0, "g"),
            Kind::Moisture | Kind::EndMoisture => (0.0, 100.0, "%"),
            Kind::Temperature => (-30.0, 400.0, "°C"),
        };
        if !(low..=high).contains(&row.value) {
            let what = format!("{} {unit} can't be a {}", row.value, row.kind.name());
            let help = "correct the value, or take the row out";
            say(Severity::Stop, Code::BeyondPlausible, row, what, help);
            continue;
        }
        if !(0.0..=4.0 * 3600.0).contains(&row.time_s) {
            let what = format!("{} min isn't a time of a bake", row.time_s / 60.0);
            let help = "minutes count from the moment the piece enters the oven, 0 to 240";
            say(Severity::Stop, Code::BeyondPlausible, row, what, help);
        }
        match row.kind {
            Kind::Mass => {
                let before = row.before_g.unwrap_or(f64::NAN);
                if !(before > 0.0 && row.value <= before * (1.0 + RISE_SHARE)) {
                    let what = format!("{} g after, {before} g before the bake", row.value);
                    let help =
                        "look whether the columns value and before_g are the right way round";
                    say(Severity::Stop, Code::HeavierThanGreen, row, what, help);
                }
            }
            Kind::Moisture | Kind::EndMoisture => {
                let as_dry = DryBasis(row.value / 100.0).to_wet().percent();
                if row.value > dough_pct + ABOVE_DOUGH_PCT {
                    if as_dry <= dough_pct + ABOVE_DOUGH_PCT {
                        let what = format!(
                            "{} % is more than the dough's {dough_pct:.1} %; per dry solid it would be {as_dry:.1} %",
                            row.value
                        );
                        let help = "moistures are per cent of the piece's whole mass: turn X per dry solid into 100·X/(1 + X)";
                        say(Severity::Stop, Code::WrongBasis, row, what, help);
                    } else {
                        let what =
                            format!("{} % is more than the dough's {dough_pct:.1} %", row.value);
                        let help = "correct the value, or name the treatment that this bake is of";
                        say(Severity::Stop, Code::WetterThanDough, row, what, help);
                    }
                }
            }
            Kind::Temperature => {
                let height = row.height_m.unwrap_or(f64::NAN);
                if !(0.0..=thickness_m * (1.0 + 1e-9)).contains(&height) {
                    let what = format!(
                        "a height of {:.1} mm is outside the piece of {:.1} mm",
                        1000.0 * height,
                        1000.0 * thickness_m
                    );
                    let help = "heights count from the band, up to the thickness of the piece";
                    say(Severity::Stop, Code::ProbeOutside, row, what, help);
                }
            }
        }
    }
    for kind in Kind::ALL {
        let mut of_kind: Vec<&&Row> = rows.iter().filter(|r| r.kind == kind).collect();
        for pair in of_kind.windows(2) {
            let same_probe = pair[0].height_m == pair[1].height_m;
            if same_probe && pair[1].time_s < pair[0].time_s {
                let what = format!(
                    "it comes after row {} and is {:.2} min earlier",
                    pair[0].line,
                    (pair[0].time_s - pair[1].time_s) / 60.0
                );
                let help =
                    "put the rows of a bake in the order they were read, or correct the minutes";
                say(Severity::Stop, Code::TimesOutOfOrder, pair[1], what, help);
            }
        }
        of_kind.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
        for (k, row) in of_kind.iter().enumerate() {
            let before = of_kind[..k]
                .iter()
                .rev()
                .find(|r| r.height_m == row.height_m);
            let Some(before) = before else { continue };
            match kind {
                Kind::Mass => {
                    let share = |r: &Row| r.value / r.before_g.unwrap_or(f64::NAN);
                    let (now, then) = (share(row), share(before));
                    if now > then + RISE_SHARE {
                        let what = format!(
                            "{:.1} % of the mass is left, more than {:.1} % in row {}",
                            100.0 * now,
                            100.0 * then,
                            before.line
                        );
                        let help = "a piece in the oven only loses; look for exchanged pieces, a tray weighed along, or a dose of another size";
                        say(Severity::Stop, Code::MassRises, row, what, help);
                    }
                }
                Kind::Moisture => {
                    if row.value > before.value + RISE_PCT {
                        let what = format!(
                            "{} % is more than {} % in row {}",
                            row.value, before.value, before.line
                        );
                        let help = "a piece in the oven only dries; look for exchanged samples";
                        say(Severity::Stop, Code::MassRises, row, what, help);
                    }
                }
                Kind::Temperature => {
                    let moved = (row.value - before.value).abs();
                    let took = row.time_s - before.time_s;
                    if moved > FAR_K && moved > FAST_K_PER_S * took {
                        let what =
                            format!("{moved:.0} K from row {} within {took:.0} s", before.line);
                        let help = "a piece can't follow so fast: an open circuit, a probe that slipped out, or a slip of the pen";
                        say(Severity::Stop, Code::ProbeJumps, row, what, help);
                    }
                }
                Kind::EndMoisture => {}
            }
        }
    }
    found
}
