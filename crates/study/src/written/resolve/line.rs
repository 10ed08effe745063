//! The stations beside the oven, from a preset with values of one's own in place.

use super::super::problem::{Code, Problem};
use super::super::reader::Reader;
use super::super::row::{Row, Value};
use super::super::tables::{
    CONVERSION, COOLER, FORMER, FORMERS, LINE, LINES, MIXER, PACKER, forming_word,
};
use super::setting::{missing, over};
use super::{chosen, from_error};
use baking::after::Conveyor;
use baking::line::{Cavities, Conversion, Former, Heating, LineSetting, Mixer, Packer, presets};
use baking::oven::{Kind, Oven};
use formula::Forming;
use measure::units::MINUTE_S;
use measure::{Grade, Source};

/// A wire-cut machine for where no preset has one: an example like the presets.
const WIRE_CUTTER: Former = Former::WireCutter {
    across: 20,
    cuts_per_min: 60.0,
};

/// The line that goes with an oven and a way of forming.
fn usual(oven: &Oven, forming: Forming) -> LineSetting {
    match (&oven.kind, forming) {
        (Kind::Batch { .. }, Forming::Sheeted) => presets::bench(),
        (Kind::Batch { .. }, _) => LineSetting {
            former: former_for(forming),
            ..presets::bench()
        },
        (Kind::Band { .. }, Forming::Sheeted) => presets::sheeted(),
        (Kind::Band { .. }, _) => LineSetting {
            former: former_for(forming),
            ..presets::rotary()
        },
    }
}

fn former_for(forming: Forming) -> Former {
    match forming {
        Forming::Sheeted => presets::sheeted().former,
        Forming::RotaryMoulded => presets::rotary().former,
        Forming::WireCut => WIRE_CUTTER,
    }
}

fn goes_with(former: &Former, forming: Forming) -> bool {
    match former {
        Former::SheeterCutter { .. } | Former::Hand { .. } => forming == Forming::Sheeted,
        Former::RotaryMoulder { .. } => forming == Forming::RotaryMoulded,
        Former::WireCutter { .. } => forming == Forming::WireCut,
    }
}

/// A line as a table, so that a preset takes values of one's own like any other table.
fn written(line: &LineSetting) -> Row {
    let mut row = Row::new(&LINE);
    let text = |t: &str| Value::Text(t.to_owned());
    let part = |table, numbers: &[(&str, f64)]| {
        let mut part = Row::new(table);
        for (key, n) in numbers {
            let known = part.set(key, Value::Number(*n));
            debug_assert!(known, "{key}");
        }
        part
    };
    let Mixer {
        count,
        batch_kg,
        cycle_s,
    } = line.mixer;
    let Conveyor { area_m2, crowding } = line.cooler;
    let Packer {
        packs_per_min,
        label_kg,
        giveaway,
    } = line.packer;
    let Conversion {
        per_kg,
        per_line_hour,
        per_kwh,
    } = line.conversion;
    let entries = [
        ("name", text(&line.name)),
        (
            "oven_utilisation_pct",
            Value::Number(100.0 * line.oven_utilisation),
        ),
        ("dough_loss_pct", Value::Number(100.0 * line.dough_loss)),
        ("rework_cap_pct", Value::Number(100.0 * line.rework_cap)),
        ("breakage_pct", Value::Number(100.0 * line.breakage)),
        ("source", text(&line.source.text)),
        ("grade", text(line.source.grade.word())),
        (
            "mixer",
            Value::Row(part(
                &MIXER,
                &[
                    ("count", f64::from(count)),
                    ("batch_kg", batch_kg),
                    ("cycle_min", cycle_s / MINUTE_S),
                ],
            )),
        ),
        ("former", Value::Row(written_former(&line.former))),
        (
            "cooler",
            Value::Row(part(
                &COOLER,
                &[("area_m2", area_m2), ("crowding", crowding)],
            )),
        ),
        (
            "packer",
            Value::Row(part(
                &PACKER,
                &[
                    ("packs_per_min", packs_per_min),
                    ("label_g", 1000.0 * label_kg),
                    ("giveaway_pct", 100.0 * giveaway),
                ],
            )),
        ),
        (
            "conversion",
            Value::Row(part(
                &CONVERSION,
                &[
                    ("per_kg", per_kg),
                    ("per_line_hour", per_line_hour),
                    ("heat_per_kwh", per_kwh),
                ],
            )),
        ),
    ];
    for (key, value) in entries {
        let known = row.set(key, value);
        debug_assert!(known, "{key}");
    }
    if let Some(read) = line.oven_efficiency {
        row.set("oven_efficiency_pct", Value::Number(100.0 * read));
    }
    if let Some(heating) = line.heating {
        row.set("heating", text(heating.word()));
    }
    row
}

fn written_former(former: &Former) -> Row {
    let mut row = Row::new(&FORMER);
    row.set("kind", Value::Text(former.word().to_owned()));
    let mut put = |key: &str, n: f64| {
        let known = row.set(key, Value::Number(n));
        debug_assert!(known, "{key}");
    };
    match *former {
        Former::SheeterCutter {
            width_m,
            speed_m_per_s,
            cut_gap_m,
            trim,
        } => {
            put("width_m", width_m);
            put("speed_m_min", 60.0 * speed_m_per_s);
            put("gap_mm", 1000.0 * cut_gap_m);
            if let Some(trim) = trim {
                put("trim_pct", 100.0 * trim);
            }
        }
        Former::RotaryMoulder {
            die_diameter_m,
            cavities,
            most_rpm,
        } => {
            put("die_diameter_mm", 1000.0 * die_diameter_m);
            put("most_rpm", most_rpm);
            match cavities {
                Cavities::ForPiece { width_m } => put("width_m", width_m),
                Cavities::Own { around, across } => {
                    put("around", f64::from(around));
                    put("across", f64::from(across));
                }
            }
        }
        Former::WireCutter {
            across,
            cuts_per_min,
        } => {
            put("across", f64::from(across));
            put("cuts_per_min", cuts_per_min);
        }
        Former::Hand { pieces_per_h, trim } => {
            put("pieces_per_h", pieces_per_h);
            put("trim_pct", 100.0 * trim);
        }
    }
    row
}

/// The line of a merged table.
pub(super) fn line(
    own: &Row,
    oven: &Oven,
    forming: Forming,
    path: &str,
    reader: &mut Reader<'_>,
) -> Option<LineSetting> {
    if own.failed("preset") {
        return None;
    }
    let preset = own
        .text("preset")
        .and_then(|name| LINES.iter().find(|l| l.name == name));
    let mut base = preset.cloned().unwrap_or_else(|| usual(oven, forming));
    let written_kind = own.row("former").and_then(|f| f.text("kind"));
    if written_kind.is_none() && !goes_with(&base.former, forming) {
        base.former = former_for(forming);
    }
    let mut row = over(&written(&base), own);
    let changed = own
        .entries
        .iter()
        .any(|e| !["preset", "source", "grade"].contains(&e.key));
    if changed && !own.has("source") {
        row.set(
            "source",
            Value::Text(format!(
                "values of the study file over: {}",
                base.source.text
            )),
        );
    }
    let part = |key: &str| row.row(key);
    let number = |table: &str, key: &str| part(table).and_then(|t| t.number(key));
    let share = |key: &str| row.number(key).map(|pct| pct / 100.0);
    let former = part("former").and_then(|f| former(f, &format!("{path}.former"), reader))?;
    if !goes_with(&former, forming) {
        reader.tell(
            Problem::new(
                Code::Contradiction,
                own.row("former")
                    .map_or_else(|| row.place.0.clone(), |f| f.place("kind")),
                format!("{path}.former.kind"),
                format!(
                    "the former is a {}, and the dough is formed \"{}\"",
                    former.word(),
                    forming_word(forming)
                ),
            )
            .allowed(format!("\"{}\"", former_for(forming).word()))
            .suggest("write a former of its own for this treatment, or another forming"),
        );
        return None;
    }
    let line = LineSetting {
        name: row.text("name")?.to_owned(),
        mixer: Mixer {
            count: number("mixer", "count")? as u32,
            batch_kg: number("mixer", "batch_kg")?,
            cycle_s: number("mixer", "cycle_min")? * MINUTE_S,
        },
        former,
        cooler: Conveyor {
            area_m2: number("cooler", "area_m2")?,
            crowding: number("cooler", "crowding")?,
        },
        packer: Packer {
            packs_per_min: number("packer", "packs_per_min")?,
            label_kg: number("packer", "label_g")? / 1000.0,
            giveaway: number("packer", "giveaway_pct")? / 100.0,
        },
        oven_utilisation: share("oven_utilisation_pct")?,
        heating: row
            .text("heating")
            .and_then(|w| chosen(Heating::ALL, Heating::word, w)),
        oven_efficiency: share("oven_efficiency_pct"),
        dough_loss: share("dough_loss_pct")?,
        rework_cap: share("rework_cap_pct")?,
        breakage: share("breakage_pct")?,
        conversion: Conversion {
            per_kg: number("conversion", "per_kg")?,
            per_line_hour: number("conversion", "per_line_hour")?,
            per_kwh: number("conversion", "heat_per_kwh")?,
        },
        source: Source::new(
            row.text("grade")
                .and_then(|w| chosen(Grade::ALL, Grade::word, w))
                .unwrap_or(Grade::Assumed),
            row.text("source")?,
        ),
    };
    if let Err(error) = line.check() {
        reader.tell(from_error(
            Code::CannotApply,
            row.place.0.clone(),
            path,
            &error.to_string(),
        ));
        return None;
    }
    Some(line)
}

fn former(row: &Row, path: &str, reader: &mut Reader<'_>) -> Option<Former> {
    let kind = row.text("kind")?;
    let (_, wanted, _) = FORMERS.iter().find(|f| f.0 == kind)?;
    for key in wanted.iter().filter(|k| !row.has(k)) {
        missing(row, key, path, &format!("a {kind} has it"), reader);
    }
    let whole = |key: &str| row.number(key).map(|n| n as u32);
    Some(match kind {
        "sheeter and cutter" => Former::SheeterCutter {
            width_m: row.number("width_m")?,
            speed_m_per_s: row.number("speed_m_min")? / 60.0,
            cut_gap_m: row.number("gap_mm")? / 1000.0,
            trim: row.number("trim_pct").map(|pct| pct / 100.0),
        },
        "rotary moulder" => Former::RotaryMoulder {
            die_diameter_m: row.number("die_diameter_mm")? / 1000.0,
            cavities: cavities(row, path, reader)?,
            most_rpm: row.number("most_rpm")?,
        },
        "wire cutter" => Former::WireCutter {
            across: whole("across")?,
            cuts_per_min: row.number("cuts_per_min")?,
        },
        _ => Former::Hand {
            pieces_per_h: row.number("pieces_per_h")?,
            trim: row.number("trim_pct")? / 100.0,
        },
    })
}

/// The cavities of a die: both counts of one that is there, or none of them and its width.
fn cavities(row: &Row, path: &str, reader: &mut Reader<'_>) -> Option<Cavities> {
    let whole = |key: &str| row.number(key).map(|n| n as u32);
    match (whole("around"), whole("across")) {
        (Some(around), Some(across)) => Some(Cavities::Own { around, across }),
        (None, None) => {
            if !row.has("width_m") {
                missing(
                    row,
                    "width_m",
                    path,
                    "a die made for the piece has it",
                    reader,
                );
            }
            Some(Cavities::ForPiece {
                width_m: row.number("width_m")?,
            })
        }
        (Some(_), None) => {
            missing(row, "across", path, "around stands alone", reader);
            None
        }
        (None, Some(_)) => {
            missing(row, "around", path, "across stands alone", reader);
            None
        }
    }
}

/// Tells of measures that the former written beside them doesn't have.
pub(super) fn idle_measures(line: &Row, path: &str, reader: &mut Reader<'_>) {
    let Some(row) = line.row("former") else {
        return;
    };
    let Some((word, wanted, may)) = row
        .text("kind")
        .and_then(|w| FORMERS.iter().find(|f| f.0 == w))
    else {
        return;
    };
    let idle = row
        .entries
        .iter()
        .filter(|e| e.key != "kind" && !wanted.contains(&e.key) && !may.contains(&e.key));
    for entry in idle {
        reader.tell(
            Problem::new(
                Code::Contradiction,
                entry.place.0.clone(),
                format!("{path}.former.{}", entry.key),
                format!("a {word} has no {}", entry.key),
            )
            .allowed([*wanted, *may].concat().join(", "))
            .suggest("take it out, or write another kind"),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn presets_come_through_the_written_form_unchanged() {
        let oven = baking::oven::presets::steel_band();
        for preset in LINES.iter() {
            let mut reader = Reader {
                text: "",
                problems: Vec::new(),
            };
            let forming = Forming::ALL
                .into_iter()
                .find(|f| goes_with(&preset.former, *f))
                .unwrap();
            let mut own = Row::new(&LINE);
            own.set("preset", Value::Text(preset.name.clone()));
            let again = line(&own, &oven, forming, "line", &mut reader).unwrap();
            assert_eq!(again.name, preset.name);
            assert_eq!(again.mixer, preset.mixer);
            assert_eq!(again.former.word(), preset.former.word());
            assert!((again.packer.kg_per_h() / preset.packer.kg_per_h() - 1.0).abs() < 1e-12);
            assert!((again.rework_cap - preset.rework_cap).abs() < 1e-12);
            assert_eq!(again.source, preset.source);
        }
    }

    #[test]
    fn every_way_of_forming_has_a_line_on_every_oven() {
        for oven in baking::oven::presets::all() {
            for forming in Forming::ALL {
                let mut reader = Reader {
                    text: "",
                    problems: Vec::new(),
                };
                let line = line(&Row::new(&LINE), &oven, forming, "line", &mut reader).unwrap();
                assert!(goes_with(&line.former, forming));
            }
        }
    }
}
