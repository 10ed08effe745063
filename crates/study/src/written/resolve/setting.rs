//! The setting of the study and of each treatment: own values over those they start from.

use super::super::problem::{Code, Problem};
use super::super::reader::Reader;
use super::super::row::{Row, Value};
use super::super::tables::{
    COOLING, DOUGH, EDGE_PATH, LINE, OUTLINES, PACK, PROCESS, forming_word, shapes,
};
use super::{chosen, from_error, keeping, line, oven};
use crate::model::{Dough, DoughDensity, Process, Setting};
use baking::piece::{
    ClosedPath, Docker, DockerPattern, Layout, Outline, PathError, Piece, PieceError, Places, dock,
};
use formula::Forming;
use measure::units::MINUTE_S;

/// The sections a treatment may have values of its own in.
pub(super) const SECTIONS: [&str; 7] = [
    "piece", "process", "dough", "oven", "cooling", "pack", "line",
];

/// The setting written in a table that has the sections; `path` is that table's.
pub(super) fn from(sections: &Row, path: &str, reader: &mut Reader<'_>) -> Option<Setting> {
    let path = |section: &str| {
        if path.is_empty() {
            section.to_owned()
        } else {
            format!("{path}.{section}")
        }
    };
    let or_empty = |section: &str, table| {
        sections
            .row(section)
            .cloned()
            .unwrap_or_else(|| Row::new(table))
    };
    // Every section is looked at, so that all their problems are told at once.
    let piece = sections
        .row("piece")
        .and_then(|row| piece(row, &path("piece"), reader));
    let oven = sections
        .row("oven")
        .and_then(|row| oven::oven(row, &path("oven"), reader));
    let process = process(&or_empty("process", &PROCESS))?;
    // A way of forming that couldn't be read says nothing about the former.
    let readable = !sections
        .row("process")
        .is_some_and(|row| row.failed("forming"));
    let line = oven.as_ref().filter(|_| readable).and_then(|oven| {
        let mut row = or_empty("line", &LINE);
        if !sections.has("line") {
            row.place = sections.place.clone();
        }
        line::line(&row, oven, process.forming, &path("line"), reader)
    });
    let ((piece, docker_pattern), oven, line) = (piece?, oven?, line?);
    let gap_m = sections.row("oven").and_then(|row| metres(row, "gap_mm"))?;
    Some(Setting {
        layout: Layout::with_gap(&piece.outline, gap_m),
        piece,
        docker_pattern,
        edge_path_share: sections.row("piece").and_then(|row| row.number(EDGE_PATH)),
        process,
        dough: dough(&or_empty("dough", &DOUGH))?,
        oven,
        line,
        bake_time_s: sections
            .row("oven")
            .and_then(|row| row.number("time_min"))
            .map(|min| min * MINUTE_S),
        cooling: oven::cooling(&or_empty("cooling", &COOLING))?,
        pack: oven::pack(&or_empty("pack", &PACK))?,
        keeping: keeping::keeping(&or_empty("pack", &PACK), &path("pack"), reader)?,
    })
}

/// `own` over `base`, key by key; sections in sections alike, arrays as a whole.
pub(super) fn over(base: &Row, own: &Row) -> Row {
    let mut merged = base.clone();
    merged.place = own.place.clone();
    merged.failed.extend(&own.failed);
    // A fitted edge is that of one piece.
    if own.table.name == "piece" && own.entries.iter().any(|e| shapes(e.key)) {
        merged.remove(EDGE_PATH);
    }
    // One of two ways of telling the film gives way to the other.
    for (key, other) in [("film", "film_g_m2_day"), ("film_g_m2_day", "film")] {
        if own.has(key) {
            merged.remove(other);
        }
    }
    for entry in &own.entries {
        match (
            merged.entries.iter_mut().find(|e| e.key == entry.key),
            &entry.value,
        ) {
            (Some(there), Value::Row(row)) => {
                there.place = entry.place.clone();
                there.value = match &there.value {
                    // Another kind of former has other measures.
                    Value::Row(below)
                        if entry.key == "former"
                            && row.has("kind")
                            && row.text("kind") != below.text("kind") =>
                    {
                        entry.value.clone()
                    }
                    Value::Row(below) if entry.key == "docker" => {
                        Value::Row(over(&without_places(below, row), row))
                    }
                    Value::Row(below) if entry.key == "oven" => Value::Row(oven::over(below, row)),
                    Value::Row(below) => Value::Row(over(below, row)),
                    _ => entry.value.clone(),
                };
            }
            (Some(there), value) => {
                there.place = entry.place.clone();
                there.value = value.clone();
            }
            (None, _) => merged.push(entry.clone()),
        }
    }
    merged
}

/// Docker holes without the places of their pattern, where another pattern is written over them.
fn without_places(below: &Row, own: &Row) -> Row {
    let mut rest = below.clone();
    if own.has("pattern") && own.text("pattern") != below.text("pattern") {
        rest.remove("ring_mm");
        rest.remove("points_mm");
    }
    rest
}

/// A section as it holds for a treatment, or for the study when none is named: what is written there over what it
/// starts from.
pub(crate) fn holding(root: &Row, treatment: Option<&str>, section: &str) -> Option<Row> {
    let rows = root.rows("treatment");
    let named = |id: &str| rows.iter().find(|t| t.text("id") == Some(id));
    let mut chain = Vec::new();
    let mut at = treatment.and_then(named);
    while let Some(row) = at.filter(|_| chain.len() <= rows.len()) {
        chain.push(row);
        at = row.text("from").and_then(named);
    }
    let mut held = root.row(section).cloned();
    for own in chain.iter().rev().filter_map(|t| t.row(section)) {
        held = Some(match held {
            Some(below) => over(&below, own),
            None => own.clone(),
        });
    }
    held
}

fn process(row: &Row) -> Option<Process> {
    Some(Process {
        forming: chosen(Forming::ALL, forming_word, row.text("forming")?)?,
        flour_c: row.number("flour_c")?,
        tap_water_c: row.number("tap_water_c")?,
        room_c: row.number("room_c")?,
        consistency_fu: row.number("consistency_fu")?,
        mixing_work_kj_per_kg: row.number("mixing_work_kj_per_kg")?,
    })
}

fn dough(row: &Row) -> Option<Dough> {
    Some(Dough {
        temperature_c: row.number("temperature_c")?,
        density: match row.number("density_kg_per_m3") {
            Some(measured) => DoughDensity::Measured(measured),
            None if row.has("gas_pct") => DoughDensity::GasFraction(row.number("gas_pct")? / 100.0),
            None => DoughDensity::UsualGas,
        },
    })
}

/// Metres from a key in millimetres.
fn metres(row: &Row, key: &str) -> Option<f64> {
    row.number(key).map(|mm| mm / 1000.0)
}

/// Tells of a key that has to be there once all values are merged.
pub(super) fn missing(row: &Row, key: &str, path: &str, why: &str, reader: &mut Reader<'_>) {
    if row.failed(key) {
        return;
    }
    reader.tell(
        Problem::new(
            Code::Missing,
            row.place.0.clone(),
            format!("{path}.{key}"),
            format!("`{key}` is missing: {why}"),
        )
        .allowed(
            row.table
                .field(key)
                .map_or_else(String::new, |f| f.kind.words()),
        )
        .suggest(format!("write {key} = …")),
    );
}

fn piece(row: &Row, path: &str, reader: &mut Reader<'_>) -> Option<(Piece, DockerPattern)> {
    let thickness_m = metres(row, "thickness_mm");
    if thickness_m.is_none() {
        missing(row, "thickness_mm", path, "the thickness as cut", reader);
    }
    let outline = outline(row, path, reader);
    let pattern = row.row("docker").map_or_else(
        || Some(DockerPattern::default()),
        |d| docker_pattern(d, &format!("{path}.docker"), reader),
    );
    let docker = row
        .row("docker")
        .map(|d| Docker {
            count: d.number("count").unwrap_or(0.0) as u32,
            diameter_m: metres(d, "diameter_mm").unwrap_or(0.002),
        })
        .filter(|d| d.count > 0);
    let piece = Piece {
        outline: outline?,
        thickness_m: thickness_m?,
        docker,
    };
    let pattern = pattern?;
    // Where nobody said where the holes stand, a pattern that doesn't fit isn't the file's fault.
    if row
        .row("docker")
        .is_some_and(|d| ["pattern", "depth_mm"].iter().any(|k| d.has(k)))
        && piece.check().is_ok()
        && let Err(error) = dock(&piece, &pattern)
    {
        reader.tell(from_error(
            Code::OutOfRange,
            row.place("docker"),
            &format!("{path}.docker"),
            &error.to_string(),
        ));
        return None;
    }
    match piece.check() {
        Ok(()) => Some((piece, pattern)),
        Err(error) => {
            let key = match &error {
                PieceError::Thickness { .. } => "thickness_mm",
                PieceError::Docker { .. } => "docker",
                PieceError::Outline(e) => [
                    "diameter_mm",
                    "length_mm",
                    "width_mm",
                    "corner_radius_mm",
                    "neck_mm",
                    "lobe_radius_mm",
                ]
                .into_iter()
                .find(|k| k.replace('_', " ").starts_with(e.field))
                .unwrap_or("outline"),
            };
            reader.tell(from_error(
                Code::OutOfRange,
                row.place(key),
                &format!("{path}.{key}"),
                &error.to_string(),
            ));
            None
        }
    }
}

fn outline(row: &Row, path: &str, reader: &mut Reader<'_>) -> Option<Outline> {
    let Some(word) = row.text("outline") else {
        missing(row, "outline", path, "the shape seen from above", reader);
        return None;
    };
    let (_, wanted, _) = OUTLINES.iter().find(|o| o.0 == word)?;
    for key in wanted.iter().filter(|k| !row.has(k)) {
        missing(row, key, path, &format!("a {word} has one"), reader);
    }
    Some(match word {
        "round" => Outline::Round {
            diameter_m: metres(row, "diameter_mm")?,
        },
        "bar" => Outline::Bar {
            length_m: metres(row, "length_mm")?,
            width_m: metres(row, "width_mm")?,
            corner_radius_m: metres(row, "corner_radius_mm").unwrap_or(0.0),
        },
        "polygon" => {
            let corners = points_m(row, "points_mm", path, reader)?;
            Outline::Path(closed(
                ClosedPath::through(&corners),
                row,
                "points_mm",
                path,
                reader,
            )?)
        }
        "path" => {
            let unit_m = metres(row, "unit_mm")?;
            let drawn = ClosedPath::from_svg(row.text("path")?, unit_m);
            Outline::Path(closed(drawn, row, "path", path, reader)?)
        }
        _ => {
            let width_m = metres(row, "width_mm")?;
            Outline::Bone {
                length_m: metres(row, "length_mm")?,
                width_m,
                neck_m: metres(row, "neck_mm").unwrap_or(0.5 * width_m),
                lobe_radius_m: metres(row, "lobe_radius_mm").unwrap_or(0.28 * width_m),
            }
        }
    })
}

fn docker_pattern(row: &Row, path: &str, reader: &mut Reader<'_>) -> Option<DockerPattern> {
    let word = row.text("pattern").unwrap_or("grid");
    for (key, owner) in [("ring_mm", "ring"), ("points_mm", "points")] {
        if row.has(key) && word != owner {
            reader.tell(
                Problem::new(
                    Code::Contradiction,
                    row.place(key),
                    format!("{path}.{key}"),
                    format!("a {word} of docker holes has no {key}"),
                )
                .suggest(format!("take it out, or write pattern = \"{owner}\"")),
            );
            return None;
        }
    }
    let places = match word {
        "ring" => Places::Ring {
            diameter_m: metres(row, "ring_mm"),
        },
        "axis" => Places::Axis,
        "points" => {
            if !row.has("points_mm") {
                missing(row, "points_mm", path, "the middles of the holes", reader);
            }
            Places::Points(points_m(row, "points_mm", path, reader)?)
        }
        _ => Places::Grid,
    };
    Some(DockerPattern {
        places,
        depth_m: metres(row, "depth_mm"),
    })
}

/// Points in metres from a text of x,y pairs in millimetres.
fn points_m(row: &Row, key: &str, path: &str, reader: &mut Reader<'_>) -> Option<Vec<(f64, f64)>> {
    let text = row.text(key)?;
    let words: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || c == ',' || c == ';')
        .filter(|w| !w.is_empty())
        .collect();
    let wrong = words
        .iter()
        .find(|w| !w.parse::<f64>().is_ok_and(f64::is_finite));
    let message = match wrong {
        Some(word) => format!("\"{word}\" in {key} isn't a number"),
        None if words.len() % 2 == 1 => format!(
            "{key} holds {} numbers, and x,y pairs are wanted",
            words.len()
        ),
        None if words.is_empty() => format!("{key} holds no points"),
        None => {
            let mm: Vec<f64> = words.iter().filter_map(|w| w.parse().ok()).collect();
            return Some(
                mm.chunks_exact(2)
                    .map(|p| (p[0] / 1e3, p[1] / 1e3))
                    .collect(),
            );
        }
    };
    reader.tell(
        Problem::new(
            Code::BadText,
            row.place(key),
            format!("{path}.{key}"),
            message,
        )
        .allowed("x,y pairs in mm with a point for decimals")
        .suggest("write \"0,0 60,0 30,40\""),
    );
    None
}

fn closed(
    drawn: Result<ClosedPath, PathError>,
    row: &Row,
    key: &str,
    path: &str,
    reader: &mut Reader<'_>,
) -> Option<ClosedPath> {
    drawn
        .map_err(|error| {
            let place = format!("{path}.{key}");
            reader.tell(from_error(
                Code::BadText,
                row.place(key),
                &place,
                &error.to_string(),
            ));
        })
        .ok()
}

/// Tells of measures that the outline written beside them doesn't have.
pub(super) fn idle_measures(piece: &Row, path: &str, reader: &mut Reader<'_>) {
    let Some((word, wanted, may)) = piece
        .text("outline")
        .and_then(|w| OUTLINES.iter().find(|o| o.0 == w))
    else {
        return;
    };
    let measures = OUTLINES.iter().flat_map(|o| o.1.iter().chain(o.2));
    let mut idle: Vec<&str> = measures
        .filter(|k| piece.has(k) && !wanted.contains(k) && !may.contains(k))
        .copied()
        .collect();
    idle.dedup();
    for key in idle {
        reader.tell(
            Problem::new(
                Code::Contradiction,
                piece.place(key),
                format!("{path}.{key}"),
                format!("a {word} has no {key}"),
            )
            .allowed([*wanted, *may].concat().join(", "))
            .suggest("take it out, or write another outline"),
        );
    }
}
