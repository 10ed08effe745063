//! The knock-on in the sheet: each figure with its difference from the control and, where there is a spread, its
//! limits.

use super::{Cell, Change, Known, Row, RowKind, Sense, Shown};
use crate::compare::figure::{Better, Part};
use crate::compare::uncertainty::Limits;
use crate::compare::{Bound, Compared, Figure};
use baking::bake::kill::TOLD_AT_MOST;

/// The rows of a part.
pub(super) fn rows(currency: &str, compared: &[Compared], part: Part) -> Vec<Row> {
    let Some(control) = compared.first() else {
        return Vec::new();
    };
    Figure::ALL
        .into_iter()
        .filter(|f| f.about().part == part)
        .flat_map(|f| {
            let row = Row {
                kind: RowKind::Figure(f),
                name: f.about().name.to_owned(),
                unit: f.about().unit.replace('¤', currency),
                decimals: f.decimals(&control.answer),
                cells: compared.iter().map(|c| figure_cell(c, f)).collect(),
            };
            let limits = limits_row(compared, f, row.decimals);
            std::iter::once(row).chain(limits)
        })
        .collect()
}

/// The cell of a figure.
pub fn figure_cell(c: &Compared, figure: Figure) -> Cell {
    let k = &c.answer;
    let value = match figure.told(k) {
        Ok(value) => value,
        Err(why) => return Cell::of(Shown::Unknown(why)),
    };
    let bound = figure.sure(k);
    let cell = match figure {
        Figure::WaterNeed => {
            let need = k.dough.water_need;
            Cell::of(Shown::Interval {
                mean: need.mean,
                low: need.low95,
                high: need.high95,
                bound,
            })
            .known(Known::Assumed)
        }
        Figure::Kill if value >= TOLD_AT_MOST => {
            Cell::of(Shown::MoreThan(TOLD_AT_MOST)).known(Known::Assumed)
        }
        Figure::Kill => Cell::of(Shown::Number(value, bound)).known(Known::Assumed),
        _ => Cell::of(Shown::Number(value, bound)),
    };
    let change = c.difference(figure).map(|d| Change::By {
        value: d.value,
        bound: d.bound,
        sense: sense(
            figure.about().better,
            d.value,
            d.bound,
            gap_limits(c, figure),
        ),
    });
    let known = if figure.is_beyond(k) {
        Known::Beyond
    } else {
        cell.known
    };
    Cell {
        change,
        known,
        ..cell
    }
}

/// A difference is called better or worse only when neither what isn't known nor its limits leave a doubt.
fn sense(better: Better, gap: f64, bound: Bound, limits: Option<Limits>) -> Sense {
    let doubtful = limits.is_some_and(|l| l.low95 <= 0.0 && l.high95 >= 0.0);
    if doubtful || !bound.tells_sign(gap) {
        return Sense::Neutral;
    }
    match better.is_for_the_better(gap) {
        Some(true) => Sense::Better,
        Some(false) => Sense::Worse,
        None => Sense::Neutral,
    }
}

fn gap_limits(c: &Compared, figure: Figure) -> Option<Limits> {
    let spread = c.spread.as_ref()?;
    spread.versus_control.get(figure.about().key).copied()
}

/// The 95 % limits of a figure and of its differences; none without a spread and where nothing varies as shown.
pub fn limits_row(compared: &[Compared], figure: Figure, decimals: usize) -> Option<Row> {
    // Limits that are alike as shown tell nothing.
    let tens = 10f64.powi(decimals as i32);
    let apart = |l: &Limits| (l.low95 * tens).round() != (l.high95 * tens).round();
    let cells: Vec<Cell> = compared
        .iter()
        .map(|c| {
            let own = c
                .spread
                .as_ref()
                .and_then(|s| s.figures.get(figure.about().key));
            let shown = own
                .filter(|l| apart(l))
                .map_or(Shown::Empty, |l| Shown::Limits {
                    low: l.low95,
                    high: l.high95,
                });
            let change = gap_limits(c, figure).filter(apart).map(|l| Change::Limits {
                low: l.low95,
                high: l.high95,
            });
            Cell {
                change,
                ..Cell::of(shown)
            }
        })
        .collect();
    let told = cells
        .iter()
        .any(|c| c.shown != Shown::Empty || c.change.is_some());
    told.then(|| Row {
        kind: RowKind::Limits(figure),
        name: "95 %".to_owned(),
        unit: String::new(),
        decimals,
        cells,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_called_better_where_the_limits_hold_zero() {
        let limits = |low95, high95| Some(Limits { low95, high95 });
        for (better, gap, bound, limits, wanted) in [
            (
                Better::Lower,
                1.5,
                Bound::Exactly,
                limits(-0.2, 3.0),
                Sense::Neutral,
            ),
            (
                Better::Lower,
                1.5,
                Bound::Exactly,
                limits(0.2, 3.0),
                Sense::Worse,
            ),
            (Better::Higher, 1.5, Bound::Exactly, None, Sense::Better),
            (Better::Neither, 1.5, Bound::Exactly, None, Sense::Neutral),
            (Better::Higher, 1.5, Bound::About, None, Sense::Neutral),
            (Better::Higher, 1.5, Bound::AtLeast, None, Sense::Better),
            (Better::Higher, -1.5, Bound::AtLeast, None, Sense::Neutral),
        ] {
            assert_eq!(sense(better, gap, bound, limits), wanted);
        }
    }
}
