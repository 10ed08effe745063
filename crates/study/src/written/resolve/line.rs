//! The stations beside the oven, from a preset with values of one's own in place.

use super::super::path::At;
use super::super::problem::{Problems, What};
use super::super::row::{Place, Row, Value};
use super::super::tables::{
    CONVERSION, COOLER, ConversionRow, CoolerRow, DRYER, DryerRow, FORMER, FormerRow, FormerWord,
    LINE, LineRow, MIXER, MixerRow, PACKER, PackerRow,
};
use super::super::word::Word;
use super::over::over;
use super::{metres, missing};
use baking::after::Conveyor;
use baking::line::{Cavities, Conversion, Former, LineSetting, Mixer, Packer, presets};
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

/// A line as a row, so that it takes values of one's own like any other.
pub(in super::super) fn line_row(line: &LineSetting) -> Row {
    let Mixer {
        count,
        batch_kg,
        cycle_s,
    } = line.mixer;
    let mut mixer = Row::new(&MIXER);
    mixer.put(MixerRow::count, count);
    mixer.put(MixerRow::batch_kg, batch_kg);
    mixer.put(MixerRow::cycle_min, cycle_s / MINUTE_S);
    let dryer = line.dryer.map(|Conveyor { area_m2, crowding }| {
        let mut dryer = Row::new(&DRYER);
        dryer.put(DryerRow::area_m2, area_m2);
        dryer.put(DryerRow::crowding, crowding);
        dryer
    });
    let Conveyor { area_m2, crowding } = line.cooler;
    let mut cooler = Row::new(&COOLER);
    cooler.put(CoolerRow::area_m2, area_m2);
    cooler.put(CoolerRow::crowding, crowding);
    let Packer {
        packs_per_min,
        label_kg,
        giveaway,
    } = line.packer;
    let mut packer = Row::new(&PACKER);
    packer.put(PackerRow::packs_per_min, packs_per_min);
    packer.put(PackerRow::label_g, 1000.0 * label_kg);
    packer.put(PackerRow::giveaway_pct, 100.0 * giveaway);
    let Conversion {
        per_kg,
        per_line_hour,
        per_kwh,
    } = line.conversion;
    let mut conversion = Row::new(&CONVERSION);
    conversion.put(ConversionRow::per_kg, per_kg);
    conversion.put(ConversionRow::per_line_hour, per_line_hour);
    conversion.put(ConversionRow::heat_per_kwh, per_kwh);
    let mut row = Row::new(&LINE);
    row.put(LineRow::name, line.name.as_str());
    row.put(LineRow::oven_utilisation_pct, 100.0 * line.oven_utilisation);
    if let Some(read) = line.oven_efficiency {
        row.put(LineRow::oven_efficiency_pct, 100.0 * read);
    }
    if let Some(heating) = line.heating {
        row.put(LineRow::heating, heating);
    }
    row.put(LineRow::dough_loss_pct, 100.0 * line.dough_loss);
    row.put(LineRow::rework_cap_pct, 100.0 * line.rework_cap);
    row.put(LineRow::breakage_pct, 100.0 * line.breakage);
    row.put(LineRow::source, &*line.source.text);
    row.put(LineRow::grade, line.source.grade);
    row.set(LineRow::mixer.name, Value::Row(mixer));
    row.set(LineRow::former.name, Value::Row(former_row(&line.former)));
    if let Some(dryer) = dryer {
        row.set(LineRow::dryer.name, Value::Row(dryer));
    }
    row.set(LineRow::cooler.name, Value::Row(cooler));
    row.set(LineRow::packer.name, Value::Row(packer));
    row.set(LineRow::conversion.name, Value::Row(conversion));
    row
}

fn former_row(former: &Former) -> Row {
    let mut row = Row::new(&FORMER);
    match *former {
        Former::SheeterCutter {
            width_m,
            speed_m_per_s,
            cut_gap_m,
            trim,
        } => {
            row.put(FormerRow::kind, FormerWord::SheeterCutter);
            row.put(FormerRow::width_m, width_m);
            row.put(FormerRow::speed_m_min, 60.0 * speed_m_per_s);
            row.put(FormerRow::gap_mm, 1000.0 * cut_gap_m);
            if let Some(trim) = trim {
                row.put(FormerRow::trim_pct, 100.0 * trim);
            }
        }
        Former::RotaryMoulder {
            die_diameter_m,
            cavities,
            most_rpm,
        } => {
            row.put(FormerRow::kind, FormerWord::RotaryMoulder);
            row.put(FormerRow::die_diameter_mm, 1000.0 * die_diameter_m);
            match cavities {
                Cavities::ForPiece { width_m } => row.put(FormerRow::width_m, width_m),
                Cavities::Own { around, across } => {
                    row.put(FormerRow::around, around);
                    row.put(FormerRow::across, across);
                }
            }
            row.put(FormerRow::most_rpm, most_rpm);
        }
        Former::WireCutter {
            across,
            cuts_per_min,
        } => {
            row.put(FormerRow::kind, FormerWord::WireCutter);
            row.put(FormerRow::across, across);
            row.put(FormerRow::cuts_per_min, cuts_per_min);
        }
        Former::Hand { pieces_per_h, trim } => {
            row.put(FormerRow::kind, FormerWord::Hand);
            row.put(FormerRow::pieces_per_h, pieces_per_h);
            row.put(FormerRow::trim_pct, 100.0 * trim);
        }
    }
    row
}

/// The line of a merged section; `place` is where it stands, or what it would stand in.
pub(super) fn line(
    own: &LineRow<'_>,
    place: &Place,
    oven: &Oven,
    forming: Forming,
    at: &At<'_>,
    problems: &mut Problems,
) -> Option<LineSetting> {
    if own.preset.failed {
        return None;
    }
    let own_kind = own.former.get().is_some_and(|f| f.kind.written);
    let (preset, usual_line);
    let (base, base_row) = match own.preset.value {
        Some(there) if own_kind || goes_with(&there.line.former, forming) => {
            (there.line, there.row)
        }
        other => {
            let mut base = other.map_or_else(|| usual(oven, forming), |there| there.line.clone());
            if !own_kind && !goes_with(&base.former, forming) {
                base.former = former_for(forming);
            }
            (usual_line, preset) = (line_row(&base), base);
            (&preset, &usual_line)
        }
    };
    let mut merged = over(base_row, own.row);
    let kept = [
        LineRow::preset.name,
        LineRow::source.name,
        LineRow::grade.name,
    ];
    let changed = own.row.entries.iter().any(|e| !kept.contains(&e.key));
    if changed && !own.source.written {
        let source = format!("values of the study file over: {}", base.source.text);
        merged.put(LineRow::source, source.as_str());
    }
    let row = LineRow::read(&merged)?;
    let former_at = at.key(LineRow::former.name);
    let former = former(row.former.get()?, &former_at, problems)?;
    if !goes_with(&former, forming) {
        let place = own.former.get().map_or(place, |f| &f.kind.place);
        let what = What::OtherFormer {
            former: former.word(),
            forming: forming.written(),
            fits: former_for(forming).word(),
        };
        problems.tell(&former_at.key(FormerRow::kind.name), place, what);
        return None;
    }
    let (mixer, cooler) = (row.mixer.get()?, row.cooler.get()?);
    let dryer = match row.dryer.get() {
        Some(dryer) => Some(Conveyor {
            area_m2: dryer.area_m2.value?,
            crowding: dryer.crowding.value.unwrap_or(1.0),
        }),
        None => None,
    };
    let (packer, conversion) = (row.packer.get()?, row.conversion.get()?);
    let line = LineSetting {
        name: row.name.value?.to_owned(),
        mixer: Mixer {
            count: mixer.count.value?,
            batch_kg: mixer.batch_kg.value?,
            cycle_s: mixer.cycle_min.value? * MINUTE_S,
        },
        former,
        dryer,
        cooler: Conveyor {
            area_m2: cooler.area_m2.value?,
            crowding: cooler.crowding.value?,
        },
        packer: Packer {
            packs_per_min: packer.packs_per_min.value?,
            label_kg: packer.label_g.value? / 1000.0,
            giveaway: packer.giveaway_pct.value? / 100.0,
        },
        oven_utilisation: row.oven_utilisation_pct.value? / 100.0,
        heating: row.heating.value,
        oven_efficiency: row.oven_efficiency_pct.value.map(|pct| pct / 100.0),
        dough_loss: row.dough_loss_pct.value? / 100.0,
        rework_cap: row.rework_cap_pct.value? / 100.0,
        breakage: row.breakage_pct.value? / 100.0,
        conversion: Conversion {
            per_kg: conversion.per_kg.value?,
            per_line_hour: conversion.per_line_hour.value?,
            per_kwh: conversion.heat_per_kwh.value?,
        },
        source: Source::new(row.grade.value.unwrap_or(Grade::Assumed), row.source.value?),
    };
    if let Err(error) = line.check() {
        problems.tell(at, place, What::Line(error));
        return None;
    }
    Some(line)
}

fn former(row: &FormerRow<'_>, at: &At<'_>, problems: &mut Problems) -> Option<Former> {
    let kind = row.kind.value?;
    for key in kind.wants().iter().filter(|k| !row.row.has(k)) {
        let why = format!("a {} has it", kind.written());
        missing(row.row, key, at, why, problems);
    }
    Some(match kind {
        FormerWord::SheeterCutter => Former::SheeterCutter {
            width_m: row.width_m.value?,
            speed_m_per_s: row.speed_m_min.value? / 60.0,
            cut_gap_m: metres(&row.gap_mm)?,
            trim: row.trim_pct.value.map(|pct| pct / 100.0),
        },
        FormerWord::RotaryMoulder => Former::RotaryMoulder {
            die_diameter_m: metres(&row.die_diameter_mm)?,
            cavities: cavities(row, at, problems)?,
            most_rpm: row.most_rpm.value?,
        },
        FormerWord::WireCutter => Former::WireCutter {
            across: row.across.value?,
            cuts_per_min: row.cuts_per_min.value?,
        },
        FormerWord::Hand => Former::Hand {
            pieces_per_h: row.pieces_per_h.value?,
            trim: row.trim_pct.value? / 100.0,
        },
    })
}

/// The cavities of a die: both counts of one that is there, or none of them and its width.
fn cavities(row: &FormerRow<'_>, at: &At<'_>, problems: &mut Problems) -> Option<Cavities> {
    let mut wanted = |key, why: &str| missing(row.row, key, at, why.to_owned(), problems);
    match (row.around.value, row.across.value) {
        (Some(around), Some(across)) => Some(Cavities::Own { around, across }),
        (None, None) => {
            if row.width_m.value.is_none() {
                wanted(FormerRow::width_m.name, "a die made for the piece has it");
            }
            let width_m = row.width_m.value?;
            Some(Cavities::ForPiece { width_m })
        }
        (Some(_), None) => {
            wanted(FormerRow::across.name, "around stands alone");
            None
        }
        (None, Some(_)) => {
            wanted(FormerRow::around.name, "across stands alone");
            None
        }
    }
}

/// Tells of measures that the former written beside them doesn't have.
pub(super) fn idle_measures(line: &LineRow<'_>, at: &At<'_>, problems: &mut Problems) {
    let Some(row) = line.former.get() else {
        return;
    };
    let Some(kind) = row.kind.value else {
        return;
    };
    let has = [kind.wants(), kind.may()].concat();
    let at = at.key(LineRow::former.name);
    for entry in &row.row.entries {
        if entry.key == FormerRow::kind.name || has.contains(&entry.key) {
            continue;
        }
        let what = What::Idle {
            of: kind.written(),
            key: entry.key,
            has: has.clone(),
            or: FormerRow::kind.name,
        };
        problems.tell(&at.key(entry.key), &entry.place, what);
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::tables::LinePreset;
    use super::*;

    fn built(row: &Row, oven: &Oven, forming: Forming) -> LineSetting {
        let mut problems = Problems::default();
        let own = LineRow::read(row).unwrap();
        line(&own, &row.place, oven, forming, &At::WHOLE, &mut problems).unwrap()
    }

    #[test]
    fn presets_come_through_the_written_form_unchanged() {
        let oven = baking::oven::presets::steel_band();
        for preset in LinePreset::all() {
            let forming = Forming::ALL
                .into_iter()
                .find(|f| goes_with(&preset.line.former, *f))
                .unwrap();
            let mut own = Row::new(&LINE);
            own.put(LineRow::preset, preset);
            let (again, preset) = (built(&own, &oven, forming), preset.line);
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
                let line = built(&Row::new(&LINE), &oven, forming);
                assert!(goes_with(&line.former, forming));
                let word = FormerWord::of(line.former.word());
                assert!(word.is_some(), "{}", line.former.word());
            }
        }
    }
}
