//! The setting of the study and of each treatment: own values over those they start from.

use super::super::field::Table;
use super::super::path::At;
use super::super::problem::{PointsFault, Problems, What};
use super::super::row::Row;
use super::super::tables::{
    COOLING, CoolingRow, DOUGH, DockerRow, DoughRow, LINE, LineRow, OutlineWord, PACK, PROCESS,
    PackRow, PatternWord, PieceRow, ProcessRow, SorptionRow, TreatmentRow, WaterMovesRow,
};
use super::super::typed::Told;
use super::super::word::Word;
use super::sections::Sections;
use super::{keeping, learned, line, metres, missing, oven};
use crate::model::{Dough, DoughDensity, Process, Setting};
use baking::piece::{
    ClosedPath, Docker, DockerPattern, Layout, Outline, OutlineMeasure, PathError, Piece,
    PieceError, Places, dock,
};
use baking::properties::sorption::{MeasuredPair, readings_fit};
use baking::properties::{SorptionSettings, TransportSettings};
use measure::units::MINUTE_S;
use measure::{WetBasis, temperature::kelvin};
use std::sync::LazyLock;

/// The setting written in the sections; `at` is where they stand.
pub(super) fn from(
    sections: &Sections<'_, '_>,
    at: &At<'_>,
    problems: &mut Problems,
) -> Option<Setting> {
    // Every section is looked at, so that all their problems are told at once.
    let piece_at = at.key(TreatmentRow::piece.name);
    let piece_row = sections.piece.get();
    let piece = piece_row.and_then(|row| piece(row, &piece_at, problems));
    let oven_at = at.key(TreatmentRow::oven.name);
    let oven_row = sections.oven.get();
    let oven = oven_row.and_then(|row| oven::oven(row, &oven_at, problems));
    let process = process(&or_empty(sections.process, &PROCESS, ProcessRow::read)?)?;
    // A way of forming that couldn't be read says nothing about the former.
    let readable = !sections.process.get().is_some_and(|p| p.forming.failed);
    let line_row = or_empty(sections.line, &LINE, LineRow::read)?;
    let line_place = if sections.line.written {
        &line_row.row.place
    } else {
        &sections.row.place
    };
    let line_at = at.key(TreatmentRow::line.name);
    let line = oven.as_ref().filter(|_| readable).and_then(|oven| {
        line::line(
            &line_row,
            line_place,
            oven,
            process.forming,
            &line_at,
            problems,
        )
    });
    let ((piece, docker_pattern), oven, line) = (piece?, oven?, line?);
    let dough_row = or_empty(sections.dough, &DOUGH, DoughRow::read)?;
    let dough = dough(&dough_row, &at.key(TreatmentRow::dough.name), problems);
    let pack = or_empty(sections.pack, &PACK, PackRow::read)?;
    let pack_at = at.key(TreatmentRow::pack.name);
    let oven_row = oven_row?;
    Some(Setting {
        layout: Layout::with_gap(&piece.outline, oven_row.gap_mm.value / 1000.0),
        piece,
        docker_pattern,
        edge_path_share: piece_row.and_then(|row| row.edge_path_share.value),
        process,
        dough: dough?,
        oven,
        line,
        bake_time_s: oven_row.time_min.value.map(|min| min * MINUTE_S),
        cooling: oven::cooling(&or_empty(sections.cooling, &COOLING, CoolingRow::read)?),
        pack: oven::pack(&pack),
        keeping: keeping::keeping(&pack, &pack_at, problems)?,
        learned: learned::learned(
            sections.learned.get(),
            &at.key(TreatmentRow::learned.name),
            problems,
        ),
    })
}

/// A section, else what an empty one says.
fn or_empty<'a, R: Clone>(
    told: &Told<Option<R>>,
    table: &'static Table,
    read: impl FnOnce(&'a Row) -> Option<R>,
) -> Option<R> {
    static EMPTY: LazyLock<[Row; 5]> =
        LazyLock::new(|| [&PROCESS, &DOUGH, &COOLING, &PACK, &LINE].map(Row::new));
    let empty = || EMPTY.iter().find(|row| std::ptr::eq(row.table, table));
    told.value.clone().or_else(|| read(empty()?))
}

/// Tells of what excludes each other, or goes with nothing, in sections as they are written.
pub(super) fn contradictions(sections: &Sections<'_, '_>, at: &At<'_>, problems: &mut Problems) {
    if let Some(piece) = sections.piece.get() {
        idle_measures(piece, &at.key(TreatmentRow::piece.name), problems);
    }
    if let Some(row) = sections.oven.get() {
        oven::contradictions(row, &at.key(TreatmentRow::oven.name), problems);
    }
    if let Some(row) = sections.line.get() {
        line::idle_measures(row, &at.key(TreatmentRow::line.name), problems);
    }
}

fn process(row: &ProcessRow<'_>) -> Option<Process> {
    Some(Process {
        forming: row.forming.value?,
        flour_c: row.flour_c.value,
        tap_water_c: row.tap_water_c.value,
        room_c: row.room_c.value,
        consistency_fu: row.consistency_fu.value,
        mixing_work_kj_per_kg: row.mixing_work_kj_per_kg.value,
    })
}

fn dough(row: &DoughRow<'_>, at: &At<'_>, problems: &mut Problems) -> Option<Dough> {
    let readings: Vec<MeasuredPair> = row.sorption.value.iter().filter_map(reading).collect();
    if let Err(error) = readings_fit(&readings) {
        let at = at.key(DoughRow::sorption.name);
        problems.tell(&at, &row.sorption.place, What::Readings(error));
        return None;
    }
    Some(Dough {
        temperature_c: row.temperature_c.value,
        density: match row.density_kg_per_m3.value {
            Some(measured) => DoughDensity::Measured(measured),
            None if row.gas_pct.written => DoughDensity::GasFraction(row.gas_pct.value / 100.0),
            None => DoughDensity::UsualGas,
        },
        ph: row.ph.value,
        sorption: SorptionSettings {
            measured: readings,
            ..SorptionSettings::default()
        },
        water_moves: row
            .water_moves
            .get()
            .map_or_else(TransportSettings::default, water_moves),
    })
}

fn reading(row: &SorptionRow<'_>) -> Option<MeasuredPair> {
    Some(MeasuredPair {
        moisture: WetBasis::from_percent(row.moisture_pct.value?),
        water_activity: row.water_activity.value?,
        temperature_k: kelvin(row.temperature_c.value),
    })
}

fn water_moves(own: &WaterMovesRow<'_>) -> TransportSettings {
    TransportSettings {
        liquid_diffusivity_m2_per_s: own.liquid_diffusivity_m2_per_s.value,
        activation_j_per_mol: own.activation_kj_per_mol.value.map(|kj| kj * 1e3),
        dry_moisture: own.held_below_kg_per_kg.value,
        dry_power: own.held_power.value,
        porosity_over_tortuosity: own.porosity_over_tortuosity.value,
        permeability_m2: own.permeability_m2.value,
        ..TransportSettings::default()
    }
}

fn piece(
    row: &PieceRow<'_>,
    at: &At<'_>,
    problems: &mut Problems,
) -> Option<(Piece, DockerPattern)> {
    if !row.thickness_mm.written {
        let key = PieceRow::thickness_mm.name;
        missing(row.row, key, at, "the thickness as cut", problems);
    }
    let outline = outline(row, at, problems);
    let docker_at = at.key(PieceRow::docker.name);
    let holes = row.docker.get();
    let pattern = match holes {
        Some(holes) => docker_pattern(holes, &docker_at, problems),
        None => Some(DockerPattern::default()),
    };
    let docker = holes
        .map(|d| Docker {
            count: d.count.value.unwrap_or(0),
            diameter_m: metres(&d.diameter_mm).unwrap_or(0.002),
        })
        .filter(|d| d.count > 0);
    let piece = Piece {
        outline: outline?,
        thickness_m: metres(&row.thickness_mm)?,
        docker,
    };
    let pattern = pattern?;
    let error = match piece.check() {
        Ok(()) => {
            // Where nobody said where the holes stand, a pattern that doesn't fit isn't the file's fault.
            if holes.is_some_and(|d| d.pattern.written || d.depth_mm.written)
                && let Err(error) = dock(&piece, &pattern)
            {
                problems.tell(&docker_at, &row.docker.place, What::Holes(error));
                return None;
            }
            return Some((piece, pattern));
        }
        Err(error) => error,
    };
    let key = match &error {
        PieceError::Thickness { .. } => PieceRow::thickness_mm.name,
        PieceError::Docker { .. } => PieceRow::docker.name,
        PieceError::Outline(error) => match (row.outline.value, error.field) {
            (Some(OutlineWord::Polygon), _) => PieceRow::points_mm.name,
            (Some(OutlineWord::Path), _) => PieceRow::path.name,
            (_, OutlineMeasure::Diameter) => PieceRow::diameter_mm.name,
            (_, OutlineMeasure::Length) => PieceRow::length_mm.name,
            (_, OutlineMeasure::Width) => PieceRow::width_mm.name,
            (_, OutlineMeasure::CornerRadius) => PieceRow::corner_radius_mm.name,
            (_, OutlineMeasure::NeckWidth) => PieceRow::neck_mm.name,
            (_, OutlineMeasure::LobeRadius) => PieceRow::lobe_radius_mm.name,
        },
    };
    problems.tell(&at.key(key), &row.row.place_of(key), What::Piece(error));
    None
}

fn outline(row: &PieceRow<'_>, at: &At<'_>, problems: &mut Problems) -> Option<Outline> {
    let Some(word) = row.outline.value else {
        let key = PieceRow::outline.name;
        missing(row.row, key, at, "the shape seen from above", problems);
        return None;
    };
    for key in word.wants().iter().filter(|k| !row.row.has(k)) {
        let why = format!("a {} has one", word.written());
        missing(row.row, key, at, why, problems);
    }
    Some(match word {
        OutlineWord::Round => Outline::Round {
            diameter_m: metres(&row.diameter_mm)?,
        },
        OutlineWord::Bar => Outline::Bar {
            length_m: metres(&row.length_mm)?,
            width_m: metres(&row.width_mm)?,
            corner_radius_m: metres(&row.corner_radius_mm).unwrap_or(0.0),
        },
        OutlineWord::Bone => {
            let width_m = metres(&row.width_mm)?;
            Outline::Bone {
                length_m: metres(&row.length_mm)?,
                width_m,
                neck_m: metres(&row.neck_mm).unwrap_or(0.5 * width_m),
                lobe_radius_m: metres(&row.lobe_radius_mm).unwrap_or(0.28 * width_m),
            }
        }
        OutlineWord::Polygon => {
            let key = PieceRow::points_mm.name;
            let corners = points_m(&row.points_mm, key, at, problems)?;
            let drawn = ClosedPath::through(&corners);
            Outline::Path(closed(drawn, &row.points_mm, key, at, problems)?)
        }
        OutlineWord::Path => {
            let drawn = ClosedPath::from_svg(row.path.value?, metres(&row.unit_mm)?);
            Outline::Path(closed(drawn, &row.path, PieceRow::path.name, at, problems)?)
        }
    })
}

fn docker_pattern(
    row: &DockerRow<'_>,
    at: &At<'_>,
    problems: &mut Problems,
) -> Option<DockerPattern> {
    let pattern = row.pattern.value.unwrap_or(PatternWord::Grid);
    for (key, owner) in [
        (DockerRow::ring_mm.name, PatternWord::Ring),
        (DockerRow::points_mm.name, PatternWord::Points),
    ] {
        if row.row.has(key) && pattern != owner {
            let what = What::IdlePlaces {
                pattern: pattern.written(),
                key,
                owner: owner.written(),
            };
            problems.tell(&at.key(key), &row.row.place_of(key), what);
            return None;
        }
    }
    let places = match pattern {
        PatternWord::Grid => Places::Grid,
        PatternWord::Ring => Places::Ring {
            diameter_m: metres(&row.ring_mm),
        },
        PatternWord::Axis => Places::Axis,
        PatternWord::Points => {
            let key = DockerRow::points_mm.name;
            if !row.points_mm.written {
                missing(row.row, key, at, "the middles of the holes", problems);
            }
            Places::Points(points_m(&row.points_mm, key, at, problems)?)
        }
    };
    Some(DockerPattern {
        places,
        depth_m: metres(&row.depth_mm),
    })
}

/// Points in metres from a text of x,y pairs in millimetres.
fn points_m(
    told: &Told<Option<&str>>,
    key: &'static str,
    at: &At<'_>,
    problems: &mut Problems,
) -> Option<Vec<(f64, f64)>> {
    let words: Vec<&str> = told
        .value?
        .split(|c: char| c.is_whitespace() || c == ',' || c == ';')
        .filter(|w| !w.is_empty())
        .collect();
    let number = |w: &&str| w.parse::<f64>().ok().filter(|n| n.is_finite());
    let fault = match words.iter().find(|w| number(w).is_none()) {
        Some(word) => PointsFault::Word((*word).to_owned()),
        None if words.len() % 2 == 1 => PointsFault::Odd(words.len()),
        None if words.is_empty() => PointsFault::None,
        None => {
            let mm: Vec<f64> = words.iter().filter_map(number).collect();
            let points = mm.chunks_exact(2).map(|p| (p[0] / 1e3, p[1] / 1e3));
            return Some(points.collect());
        }
    };
    problems.tell(&at.key(key), &told.place, What::Points { key, fault });
    None
}

fn closed(
    drawn: Result<ClosedPath, PathError>,
    told: &Told<Option<&str>>,
    key: &str,
    at: &At<'_>,
    problems: &mut Problems,
) -> Option<ClosedPath> {
    drawn
        .map_err(|error| problems.tell(&at.key(key), &told.place, What::Path(error)))
        .ok()
}

/// Tells of measures that the outline written beside them doesn't have.
fn idle_measures(piece: &PieceRow<'_>, at: &At<'_>, problems: &mut Problems) {
    let Some(word) = piece.outline.value else {
        return;
    };
    for entry in piece.row.entries.iter().filter(|e| word.idle(e.key)) {
        let what = What::Idle {
            of: word.written(),
            key: entry.key,
            has: [word.wants(), word.may()].concat(),
            or: PieceRow::outline.name,
        };
        problems.tell(&at.key(entry.key), &entry.place, what);
    }
}
