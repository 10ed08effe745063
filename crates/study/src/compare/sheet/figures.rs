//! The knock-on in the sheet: each figure with its difference from the control and, where there is a spread, its
//! limits.

use super::{Cell, Change, Known, Row, RowKind, Shown};
use crate::compare::figure::{Better, Part};
use crate::compare::uncertainty::Limits;
use crate::compare::{Bound, Compared, Figure};
use baking::bake::kill::TOLD_AT_MOST;
use measure::rounding;

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
                cells: compared.iter().map(|c| shown(c, control, f)).collect(),
            };
            let limits = limits_row(compared, f, row.decimals);
            std::iter::once(row).chain(limits)
        })
        .collect()
}

/// The cell of a figure, its difference that of the numbers as they are shown.
fn shown(c: &Compared, control: &Compared, figure: Figure) -> Cell {
    let mut cell = figure_cell(c, figure);
    if let Some(Change::By { value, .. }) = &mut cell.change
        && let (Ok(here), Ok(there)) = (figure.told(&c.answer), figure.told(&control.answer))
    {
        *value = rounding::shown_gap(here, there, figure.decimals(&control.answer));
    }
    cell
}

/// The cell of a figure, its difference unrounded.
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
            .known(if k.learned.water {
                Known::Learned
            } else {
                Known::Assumed
            })
        }
        Figure::WholePieces => {
            let percent = |share: f64| 100.0 * share;
            let whole = k.dough.whole_pieces;
            Cell::of(Shown::Interval {
                mean: value,
                low: whole.map_or(f64::NAN, |w| percent(w.low95)),
                high: whole.map_or(f64::NAN, |w| percent(w.high95)),
                bound,
            })
            .known(if k.learned.whole {
                Known::Learned
            } else {
                Known::Assumed
            })
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
        word: is_sure(d.value, d.bound, gap_limits(c, figure))
            .then(|| figure.than(d.value))
            .filter(|_| d.value != 0.0 && figure.about().better != Better::Neither),
    });
    let known = if figure.is_beyond(k) {
        Known::Beyond
    } else if cell.known == Known::Calculated && figure.is_learned(k) {
        Known::Learned
    } else {
        cell.known
    };
    Cell {
        change,
        known,
        ..cell
    }
}

/// A difference is called by a word only when neither what isn't known nor its limits leave a doubt of its sign.
fn is_sure(gap: f64, bound: Bound, limits: Option<Limits>) -> bool {
    let doubtful = limits.is_some_and(|l| l.low95 <= 0.0 && l.high95 >= 0.0);
    !doubtful && bound.tells_sign(gap)
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
    fn no_difference_has_a_word_where_the_limits_hold_zero() {
        let limits = |low95, high95| Some(Limits { low95, high95 });
        for (gap, bound, limits, wanted) in [
            (1.5, Bound::Exactly, limits(-0.2, 3.0), false),
            (1.5, Bound::Exactly, limits(0.2, 3.0), true),
            (1.5, Bound::Exactly, None, true),
            (1.5, Bound::About, None, false),
            (1.5, Bound::AtLeast, None, true),
            (-1.5, Bound::AtLeast, None, false),
        ] {
            assert_eq!(is_sure(gap, bound, limits), wanted);
        }
    }

    /// The differences in a sheet are those of the numbers beside them.
    #[test]
    fn shown_numbers_add_up() {
        let text = include_str!("../../../../../examples/spent-grain.toml");
        let study = crate::written::read(text).unwrap();
        let wanted: Vec<_> = study.treatments.iter().collect();
        let options = crate::BakeOptions::BAKE_ONLY;
        let compared = crate::compare(&study, &wanted, &options).unwrap();
        let sheet = crate::compare::sheet(&study, &compared, crate::compare::Per::Mix);
        let mut tried = 0;
        for row in sheet.groups.iter().flat_map(|g| &g.rows) {
            let number = |c: &Cell| match c.shown {
                Shown::Number(v, _) | Shown::Interval { mean: v, .. } => {
                    Some(format!("{v:.*}", row.decimals))
                }
                _ => None,
            };
            let Some(control) = number(&row.cells[0]) else {
                continue;
            };
            for cell in &row.cells[1..] {
                let (Some(here), Some(Change::By { value, .. })) = (number(cell), cell.change)
                else {
                    continue;
                };
                let gap = here.parse::<f64>().unwrap() - control.parse::<f64>().unwrap();
                let told: f64 = format!("{value:.*}", row.decimals).parse().unwrap();
                assert!(
                    (gap - told).abs() < 1e-9,
                    "{}: {control}, {here}, {told}",
                    row.name
                );
                tried += 1;
            }
        }
        assert!(tried > 100, "{tried}");
    }
}
