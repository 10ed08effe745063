//! The piece drawn to scale, its figures beside the control's, and how it lies on sheet and roll.

use super::Shown;
use crate::pages::InStudy;
use crate::pages::section::{shown_as, told};
use crate::shell::Room;
use app::PieceOf;
use maud::{Markup, html};
use measure::{Finding, Units, rounding};
use paper::chart::piece::{LayoutDrawing, PieceDrawing, layout_drawing, piece_drawing};
use paper::number;
use paper::parts::{Cell, Group, Row, SideBySide, findings, side_by_side};
use study::views::piece::{PieceAsked, PieceTold};

const MM: f64 = 1e3;

/// The piece from above and in section.
pub(super) fn drawing(p: &PieceTold) -> Markup {
    let holes = &p.docker.centres_m;
    html! {
        figure .piece-drawing {
            (piece_drawing(&PieceDrawing {
                title: format!("{} from above and in section", p.name),
                outline_mm: p.outline_mm.clone(),
                extent_mm: (round(p.length_mm), round(p.width_mm)),
                holes_mm: holes.iter().map(|(x, y)| (x * MM, y * MM)).collect(),
                hole_mm: round(p.docker.diameter_m * MM),
                hole_depth_mm: round(p.docker.depth_m * MM),
                thickness_mm: round(p.thickness_mm),
            }))
            figcaption .second { "From above and in section, to scale, in mm; on paper at its true size. The band runs from left to right." }
        }
    }
}

/// The figures of one piece.
pub(super) fn facts(page: &InStudy<'_>, p: &PieceTold) -> Markup {
    let all = &page.view.answers.compared;
    let baked = all.iter().find(|c| c.answer.id == p.id);
    let units = page.settings.units;
    let measure = |mm: f64| {
        if units == Units::Metric {
            format!("{} mm", round(mm))
        } else {
            told(mm, "mm", 2, units)
        }
    };
    let holes = match p.docker.centres_m.len() {
        0 => "none".to_owned(),
        n => format!(
            "{n} of {}, {}",
            measure(p.docker.diameter_m * MM),
            if p.docker.through {
                "through".to_owned()
            } else {
                format!("{} deep", measure(p.docker.depth_m * MM))
            }
        ),
    };
    let told = |value: f64, unit: &str, places: usize| told(value, unit, places, units);
    html! {
        dl .facts {
            dt { "area inside the outline" } dd { (told(p.outline_area_cm2, "cm²", 2)) }
            dt { "perimeter" } dd { (told(p.perimeter_mm, "mm", 1)) }
            dt { "docker holes" } dd { (holes) }
            dt { "mass as dough" } dd { (told(p.green_mass_g, "g", 2)) }
            dt { "mass as packed" } dd { @match baked { Some(c) => (told(c.answer.piece.baked_mass_g, "g", 2)), None => "–" } }
            dt { "surface per mass of dough" } dd { (number::fixed(p.surface_cm2_per_g, 2)) " cm²/g" }
        }
    }
}

/// Hundredths of a millimetre are enough on a drawing.
fn round(mm: f64) -> f64 {
    (mm * 100.0).round() / 100.0
}

/// What a row shows of a piece: its decimals, and its value.
type RowOf<'a> = (
    &'a str,
    &'a str,
    usize,
    Box<dyn Fn(&PieceOf) -> Option<f64> + 'a>,
);

/// The figures of every piece, the control first.
pub(super) fn figures(page: &InStudy<'_>, pieces: &[PieceOf]) -> Markup {
    let units = page.settings.units;
    let baked = |p: &PieceOf| {
        let all = &page.view.answers.compared;
        let one = all.iter().find(|c| c.answer.id == p.id);
        one.map(|c| c.answer.piece.baked_mass_g)
    };
    let of = |f: fn(&PieceTold) -> f64| move |p: &PieceOf| p.told.as_ref().map(f);
    let rows: Vec<RowOf<'_>> = vec![
        ("length", "mm", 1, Box::new(of(|t| t.length_mm))),
        ("width", "mm", 1, Box::new(of(|t| t.width_mm))),
        ("thickness", "mm", 1, Box::new(of(|t| t.thickness_mm))),
        (
            "area inside the outline",
            "cm²",
            2,
            Box::new(of(|t| t.outline_area_cm2)),
        ),
        ("perimeter", "mm", 1, Box::new(of(|t| t.perimeter_mm))),
        (
            "docker holes",
            "",
            0,
            Box::new(of(|t| t.docker.centres_m.len() as f64)),
        ),
        ("mass as dough", "g", 2, Box::new(of(|t| t.green_mass_g))),
        ("mass as packed", "g", 2, Box::new(baked)),
        (
            "surface per mass of dough",
            "cm²/g",
            2,
            Box::new(of(|t| t.surface_cm2_per_g)),
        ),
    ];
    let control = pieces.first();
    let outline = Row {
        name: "outline".to_owned(),
        unit: String::new(),
        cells: pieces
            .iter()
            .map(|p| match &p.told {
                Some(t) => Cell::text(t.outline),
                None => Cell::unknown(p.why.clone()),
            })
            .collect(),
        sum: false,
    };
    let cell = |p: &PieceOf, (_, unit, places, value): &RowOf<'_>| match value(p)
        .filter(|v| v.is_finite())
    {
        None if p.told.is_none() => Cell::empty(),
        None => Cell::unknown("the treatment has no answer"),
        Some(v) => {
            let places = units.decimals(unit, *places);
            let shown = |v: f64| units.value(v, unit);
            let there = control.and_then(value).unwrap_or(v);
            let gap = rounding::shown_gap(shown(v), shown(there), places);
            Cell::number(shown(v), places).change(gap, places, None)
        }
    };
    let measured = rows.iter().map(|row| Row {
        name: row.0.to_owned(),
        unit: units.unit(row.1),
        cells: pieces.iter().map(|p| cell(p, row)).collect(),
        sum: false,
    });
    side_by_side(&SideBySide {
        caption: "Pieces beside the control".to_owned(),
        row_head: String::new(),
        columns: pieces.iter().map(|p| p.name.clone()).collect(),
        groups: vec![Group {
            name: String::new(),
            rows: std::iter::once(outline).chain(measured).collect(),
        }],
    })
}

/// The layouts on a sheet, and the one on a roll.
pub(super) fn layouts(
    page: &InStudy<'_>,
    shown: &Shown<'_>,
    p: &PieceTold,
    beside: Option<&PieceTold>,
) -> Markup {
    let (best, worst) = p
        .on_sheet
        .iter()
        .map(|s| s.layout.trim_share)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| {
            (l.min(t), h.max(t))
        });
    html! {
        (asked_form(page, shown))
        div .layouts {
            @for (i, s) in p.on_sheet.iter().enumerate() {
                @let other = beside.and_then(|b| b.on_sheet.get(i));
                figure .layout {
                    figcaption {
                        span .name { (s.layout.arrangement.word()) }
                        @if s.layout.trim_share <= best + 1e-4 && worst > best + 1e-4 { " " span .second { "least trim" } }
                    }
                    (layout_drawing(&LayoutDrawing {
                        title: format!("{}, {}", p.name, s.layout.arrangement.word()),
                        outline_mm: p.outline_mm.clone(),
                        pieces_mm: s.layout.pieces.iter().map(|i| (i.x_m * MM, i.y_m * MM, i.turned)).collect(),
                        cell_mm: (round(s.layout.cell_along_m * MM), round(s.layout.cell_across_m * MM)),
                    }))
                    dl .facts {
                        dt { "trim" } dd { (number::fixed(100.0 * s.layout.trim_share, 1)) " %" (gap(100.0 * s.layout.trim_share, other.map(|o| 100.0 * o.layout.trim_share), 1)) }
                        dt { "pieces per m" } dd { (number::fixed(s.pieces_per_m, 0)) (gap(s.pieces_per_m, other.map(|o| o.pieces_per_m), 0)) }
                        dt { "pieces per m²" } dd { (number::fixed(s.layout.pieces_per_m2, 0)) (gap(s.layout.pieces_per_m2, other.map(|o| o.layout.pieces_per_m2), 0)) }
                    }
                }
            }
        }
        p .second { "Trim is counted inside the repeating cell, without the sheet’s own edges. A finer line is a piece turned by half a turn." }
        h3 { "On a roll" }
        @match &p.on_roll {
            Some(r) => dl .facts {
                dt { "cavities" } dd { (r.around) " around × " (r.across) " across = " (number::fixed(f64::from(r.pieces_per_turn), 0)) " a turn" (gap(f64::from(r.pieces_per_turn), beside.and_then(|b| b.on_roll).map(|o| f64::from(o.pieces_per_turn)), 0)) }
                dt { "pitch" } dd { (told(r.pitch_around_m * MM, "mm", 1, page.settings.units)) " around, " (told(r.pitch_across_m * MM, "mm", 1, page.settings.units)) " across" }
                dt { "filled" } dd { (number::fixed(100.0 * r.filled_share, 0)) " % of the roll’s face is cavity" }
            },
            None => (findings(&roll(p))),
        }
    }
}

fn roll(p: &PieceTold) -> Vec<Finding> {
    p.findings
        .iter()
        .filter(|f| f.about == "piece.roll")
        .cloned()
        .collect()
}

/// The difference from the one beside, where there is one.
fn gap(value: f64, other: Option<f64>, places: usize) -> Markup {
    let text = other.map(|o| rounding::signed(value - o, places));
    html! { @if let Some(text) = text.filter(|t| t.starts_with(['+', '\u{2212}'])) { " " span .second { (text) } } }
}

/// Gap, sheet and roll: a look, not a change of the study.
fn asked_form(page: &InStudy<'_>, shown: &Shown<'_>) -> Markup {
    let PieceAsked {
        gap_m,
        sheet_width_m,
        roll_diameter_m,
    } = shown.asked;
    let fields = [
        ("gap_mm", "gap between cuts", gap_m),
        ("sheet_mm", "width of sheet and roll", sheet_width_m),
        ("roll_mm", "diameter of the roll", roll_diameter_m),
    ];
    html! {
        form .line .asked method="get" action=(Room::Piece.address(&page.view.thing)) {
            input type="hidden" name="treatment" value=(shown.id);
            @for kept in ["beside", "whose"] { @if let Some(value) = page.query.maybe(kept) { input type="hidden" name=(kept) value=(value); } }
            @for (name, words, metres) in fields {
                @let value = format!("{}", round(metres * MM));
                label { (words) ", " (page.settings.units.unit("mm")) " " input name=(name) inputmode="decimal" autocomplete="off" size="6" value=(shown_as(&value, "mm", page.settings)) data-goes; }
            }
            button data-without-script { "Show" }
            span .second { "as the treatment’s former has them, else usual ones; another value is a look and is not kept" }
        }
    }
}
