//! The side-by-side sheet, drawn: the formulas, and under them what they do.

use crate::bake::SHOWN_PAST_THE_OVEN;
use maud::{Markup, html};
use measure::Severity;
use paper::chart::spark;
use paper::number;
use paper::parts::{Cell, Change, Group, Known, Row, SideBySide, side_by_side};
use study::compare::sheet::{self, RowKind, Sheet, Shown};
use study::compare::{Bound, Per};
use study::{Compared, Figure, KnockOn, Study};

/// The sheet: materials by stage, their sum, the water with its need, and the knock-on of each
/// treatment beside the control.
///
/// On screen it is one table that scrolls under its heads; on paper it stands in blocks of columns,
/// each with the control. The first of `compared` is the control.
pub fn sheet(study: &Study, compared: &[Compared], per: Per) -> Markup {
    if compared.is_empty() {
        return html! {};
    }
    let drawn = Drawn {
        caption: format!("Side by side, target: {}", crate::target_words(study)),
        sheet: sheet::sheet(study, compared, per),
        curves: Curves::of(compared),
    };
    let limits = compared.iter().any(|c| c.spread.is_some());
    let all: Vec<usize> = (0..compared.len()).collect();
    let blocks: Vec<Vec<usize>> = all[1..]
        .chunks(if limits { 2 } else { 3 })
        .map(|rivals| std::iter::once(0).chain(rivals.iter().copied()).collect())
        .collect();
    html! {
        div .study-sheet .paged {
            div .on-screen[blocks.len() > 1] { (drawn.table(&all)) }
            @if blocks.len() > 1 {
                div .on-paper aria-hidden="true" { @for block in &blocks { (drawn.table(block)) } }
            }
            (legend(compared))
        }
    }
}

fn legend(compared: &[Compared]) -> Markup {
    let spread = compared.iter().find_map(|c| c.spread.as_ref());
    html! {
        p .second .legend {
            "Beside each number stands its difference from the control, in a word as well where one way is better. "
            "“new” is a material that the control doesn’t have. Dotted underline: assumed or recalled. " (Bound::LEGEND)
            @if let Some(s) = spread {
                " The rows marked 95 % hold 95 of 100 draws (" (s.draws) " draws, seed " (s.seed) "); differences come from paired draws, and one whose limits hold zero gets no arrow."
            }
        }
    }
}

/// The sheet with what its small curves share.
struct Drawn<'a> {
    caption: String,
    sheet: Sheet,
    curves: Curves<'a>,
}

impl Drawn<'_> {
    /// The table of some of the columns.
    fn table(&self, columns: &[usize]) -> Markup {
        let group = |g: &sheet::Group| Group {
            name: g.name.to_owned(),
            rows: g.rows.iter().filter_map(|r| self.row(r, columns)).collect(),
        };
        side_by_side(&SideBySide {
            caption: self.caption.clone(),
            row_head: self.sheet.per.words().to_owned(),
            columns: columns
                .iter()
                .map(|i| self.sheet.columns[*i].name.clone())
                .collect(),
            groups: self
                .sheet
                .groups
                .iter()
                .map(group)
                .filter(|g| !g.rows.is_empty())
                .collect(),
        })
    }

    /// A row; none where none of the columns has anything in it.
    fn row(&self, row: &sheet::Row, columns: &[usize]) -> Option<Row> {
        let empty = |i: &usize| {
            let cell = &row.cells[*i];
            cell.shown == Shown::Empty && cell.change.is_none()
        };
        let always = row.kind == RowKind::Findings(Severity::Note);
        if columns.iter().all(empty) && !always {
            return None;
        }
        let cells = columns.iter().map(|i| {
            let drawn = cell(&row.cells[*i], &row.cells[0], row.decimals);
            match row.kind {
                RowKind::Figure(Figure::BakeTime) => drawn.picture(self.curves.spark(*i)),
                _ => drawn,
            }
        });
        Some(Row {
            name: row.name.clone(),
            unit: row.unit.clone(),
            cells: cells.collect(),
            sum: row.kind == RowKind::Sum,
        })
    }
}

fn cell(cell: &sheet::Cell, control: &sheet::Cell, decimals: usize) -> Cell {
    let drawn = match &cell.shown {
        Shown::Empty => Cell::empty(),
        Shown::Unknown(why) => Cell::unknown(why.clone()),
        Shown::Number(value, bound) => Cell::text(format!(
            "{}{}",
            bound.mark(),
            number::fixed(*value, decimals)
        )),
        Shown::MoreThan(value) => Cell::text(format!(">{value}")),
        Shown::Interval {
            mean,
            low,
            high,
            bound,
        } => Cell::text(format!(
            "{}{}",
            bound.mark(),
            number::interval(*mean, *low, *high)
        )),
        Shown::Limits { low, high } => {
            number::limits(*low, *high, decimals).map_or(Cell::empty(), Cell::text)
        }
        Shown::Count(n) => Cell::text(n.to_string()),
    };
    let drawn = drawn.known(match cell.known {
        sheet::Known::Calculated => Known::Calculated,
        sheet::Known::Learned => Known::Learned,
        sheet::Known::Assumed => Known::Assumed,
        sheet::Known::Beyond => Known::Beyond,
    });
    match cell.change {
        None => drawn,
        Some(sheet::Change::By { value, bound, word }) => {
            let (value, decimals) = intervals(cell, control).unwrap_or((value, decimals));
            drawn
                .change(value, decimals, word)
                .change_marked(bound.mark())
        }
        Some(sheet::Change::New) => Cell {
            change: neutral("new".to_owned()),
            ..drawn
        },
        Some(sheet::Change::Limits { low, high }) => Cell {
            change: number::signed_limits(low, high, decimals).and_then(neutral),
            ..drawn
        },
    }
}

/// The difference of two intervals as they are shown, and its decimals.
fn intervals(here: &sheet::Cell, there: &sheet::Cell) -> Option<(f64, usize)> {
    let interval = |c: &sheet::Cell| match c.shown {
        Shown::Interval {
            mean, low, high, ..
        } => Some([mean, low, high]),
        _ => None,
    };
    Some(number::gap_of_intervals(interval(here)?, interval(there)?))
}

fn neutral(text: String) -> Option<Change> {
    Some(Change { text, word: None })
}

/// Moisture over time, all treatments on one scale.
struct Curves<'a> {
    of: Vec<&'a KnockOn>,
    minutes: f64,
    moisture: f64,
}

impl<'a> Curves<'a> {
    fn of(compared: &'a [Compared]) -> Self {
        let of: Vec<&KnockOn> = compared.iter().map(|c| &*c.answer).collect();
        let most = |values: &mut dyn Iterator<Item = f64>| {
            values.filter(|v| v.is_finite()).fold(0.0, f64::max)
        };
        let moistures = |k: &&'a KnockOn| k.bake.curve.moisture_pct.iter().copied();
        Self {
            minutes: SHOWN_PAST_THE_OVEN * most(&mut of.iter().map(|k| k.bake.time_min)),
            moisture: most(&mut of.iter().flat_map(moistures)),
            of,
        }
    }

    fn spark(&self, column: usize) -> Markup {
        const STEPS: usize = 27;
        let curve = &self.of[column].bake.curve;
        let values: Vec<f64> = (0..STEPS)
            .map(|i| {
                let minute = self.minutes * i as f64 / (STEPS - 1) as f64;
                at(&curve.time_min, &curve.moisture_pct, minute)
            })
            .collect();
        spark(
            &values,
            Some((0.0, self.moisture)),
            "moisture over the bake and the cooling",
        )
    }
}

/// The value of a drawn curve between its points; nothing outside.
pub fn at(xs: &[f64], ys: &[f64], x: f64) -> f64 {
    let i = xs.partition_point(|v| *v <= x);
    match (i.checked_sub(1), xs.get(i)) {
        (Some(a), Some(next)) => ys[a] + (x - xs[a]) / (next - xs[a]) * (ys[i] - ys[a]),
        (Some(a), None) if xs[a] >= x => ys[a],
        _ => f64::NAN,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spark_holds_to_its_curve() {
        let (x, y) = ([0.0, 1.0, 3.0], [30.0, 20.0, 10.0]);
        assert_eq!(at(&x, &y, 2.0), 15.0);
        assert_eq!(at(&x, &y, 3.0), 10.0);
        assert!(at(&x, &y, 3.1).is_nan() && at(&x, &y, -0.1).is_nan());
    }
}
