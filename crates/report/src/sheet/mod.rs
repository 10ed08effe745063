//! The side-by-side sheet: the formulas, and under them what they do.

mod amounts;
mod column;
mod figures;
mod per;

pub use per::Per;

use crate::bake::SHOWN_PAST_THE_OVEN;
use amounts::amount_groups;
use column::Column;
use figures::figure_rows;
use formula::Stage;
use maud::{Markup, html};
use measure::Severity;
use paper::parts::{Cell, Change, Group, Row, Sense, SideBySide, side_by_side};
use study::compare::bound::Bound;
use study::compare::figure::Part;
use study::{Compared, Figure, Study};

/// The sheet: materials by stage, their sum, the water with its need, and the knock-on of each
/// treatment beside the control.
///
/// On screen it is one table that scrolls under its heads; on paper it stands in blocks of columns,
/// each with the control. The first of `compared` is the control.
pub fn sheet(study: &Study, compared: &[Compared], per: Per) -> Markup {
    let columns: Vec<Column> = compared
        .iter()
        .map(|c| Column::new(study, c, per))
        .collect();
    let Some((control, rivals)) = columns.split_first() else {
        return html! {};
    };
    let frame = Frame::of(&columns);
    let all: Vec<&Column> = columns.iter().collect();
    let limits = compared.iter().any(|c| c.spread.is_some());
    let blocks: Vec<Vec<&Column>> = rivals
        .chunks(if limits { 2 } else { 3 })
        .map(|rivals| std::iter::once(control).chain(rivals).collect())
        .collect();
    html! {
        div .study-sheet .paged {
            div .on-screen[blocks.len() > 1] { (table(study, &all, per, &frame)) }
            @if blocks.len() > 1 {
                div .on-paper aria-hidden="true" { @for block in &blocks { (table(study, block, per, &frame)) } }
            }
            (legend(compared))
        }
    }
}

fn legend(compared: &[Compared]) -> Markup {
    let spread = compared.iter().find_map(|c| c.spread.as_ref());
    html! {
        p .second .legend {
            "Beside each number stands its difference from the control, with ▲ for better and ▼ for worse where a direction is better. "
            "“new” is a material that the control doesn’t have. Dotted underline: assumed or recalled. " (Bound::LEGEND)
            @if let Some(s) = spread {
                " The rows marked 95 % hold 95 of 100 draws (" (s.draws) " draws, seed " (s.seed) "); differences come from paired draws, and one whose limits hold zero gets no arrow."
            }
        }
    }
}

/// What all blocks of a sheet share, so that they read as one.
struct Frame {
    rows: Vec<(Stage, String, String, bool)>,
    decimals: usize,
    minutes: f64,
    moisture: f64,
}

impl Frame {
    fn of(columns: &[Column]) -> Self {
        let mut rows: Vec<(Stage, String, String, bool)> = Vec::new();
        for line in columns.iter().flat_map(|c| &c.lines) {
            if !rows.iter().any(|r| r.0 == line.0 && r.1 == line.1) {
                rows.push(line.clone());
            }
        }
        rows.sort_by_key(|r| r.3);
        let amounts = columns
            .iter()
            .filter_map(|c| c.amounts.as_ref())
            .flat_map(|a| a.values());
        let small = amounts
            .copied()
            .filter(|a| *a > 0.0)
            .fold(f64::INFINITY, f64::min);
        let most = |values: &mut dyn Iterator<Item = f64>| {
            values.filter(|v| v.is_finite()).fold(0.0, f64::max)
        };
        let answers = || columns.iter().map(|c| &c.answer().bake);
        Self {
            rows,
            decimals: if small < 1.0 { 2 } else { 1 },
            minutes: SHOWN_PAST_THE_OVEN * most(&mut answers().map(|b| b.time_min)),
            moisture: most(&mut answers().flat_map(|b| b.curve.moisture_pct.iter().copied())),
        }
    }
}

fn table(study: &Study, columns: &[&Column], per: Per, frame: &Frame) -> Markup {
    let mut groups = amount_groups(columns, per, frame);
    let parts = [
        Part::Dough,
        Part::Bake,
        Part::Line,
        Part::Nutrition,
        Part::Cost,
    ];
    groups.extend(parts.map(|part| {
        Group {
            name: part.word().to_owned(),
            rows: Figure::ALL
                .into_iter()
                .filter(|f| f.about().part == part)
                .flat_map(|f| figure_rows(study, columns, f, frame))
                .collect(),
        }
    }));
    groups.push(notice(columns));
    side_by_side(&SideBySide {
        caption: format!("Side by side, target: {}", crate::target_words(study)),
        row_head: per.words().to_owned(),
        columns: columns.iter().map(|c| c.answer().name.clone()).collect(),
        groups,
    })
}

fn notice(columns: &[&Column]) -> Group {
    let rows = [Severity::Stop, Severity::Warn, Severity::Note]
        .into_iter()
        .filter_map(|severity| {
            let counts: Vec<usize> = columns
                .iter()
                .map(|c| {
                    c.answer()
                        .findings
                        .iter()
                        .filter(|f| f.severity == severity)
                        .count()
                })
                .collect();
            let cells = counts.iter().map(|n| {
                if *n == 0 {
                    Cell::empty()
                } else {
                    Cell::text(n.to_string())
                }
            });
            (severity == Severity::Note || counts.iter().any(|n| *n > 0))
                .then(|| row(severity.word(), "findings", cells.collect()))
        });
    Group {
        name: "notice".to_owned(),
        rows: rows.collect(),
    }
}

fn row(name: &str, unit: &str, cells: Vec<Cell>) -> Row {
    Row {
        name: name.to_owned(),
        unit: unit.to_owned(),
        cells,
        sum: false,
    }
}

fn neutral(text: &str) -> Change {
    Change {
        text: text.to_owned(),
        sense: Sense::Neutral,
    }
}
