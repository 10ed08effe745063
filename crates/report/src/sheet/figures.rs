//! The knock-on: each figure with its difference from the control and, where there is a spread,
//! its limits.

use super::column::Column;
use super::{Frame, neutral, row};
use maud::Markup;
use paper::chart::spark;
use paper::number;
use paper::parts::{Cell, Known, Row, Sense};
use study::compare::bound::Bound;
use study::compare::figure::Better;
use study::compare::uncertainty::Limits;
use study::views::knock_on::KnockOn;
use study::{Figure, Study};

pub(super) fn figure_rows(
    study: &Study,
    columns: &[&Column],
    figure: Figure,
    frame: &Frame,
) -> Vec<Row> {
    let about = figure.about();
    let decimals = figure.decimals(columns[0].answer());
    let cells: Vec<Cell> = columns
        .iter()
        .map(|c| figure_cell(c, figure, decimals, frame))
        .collect();
    let mut rows = vec![row(
        about.name,
        &about.unit.replace('¤', &study.currency),
        cells,
    )];
    let limits = |c: &Column| {
        let l = c.compared.spread.as_ref()?.figures.get(about.key)?;
        number::limits(l.low95, l.high95, decimals)
    };
    if columns.iter().any(|c| limits(c).is_some()) {
        let cells = columns.iter().map(|c| Cell {
            change: gap_limits(c, figure)
                .and_then(|l| number::signed_limits(l.low95, l.high95, decimals))
                .map(|words| neutral(&words)),
            ..limits(c).map_or(Cell::empty(), Cell::text)
        });
        rows.push(row("95 %", "", cells.collect()));
    }
    rows
}

fn figure_cell(column: &Column, figure: Figure, decimals: usize, frame: &Frame) -> Cell {
    let (about, k) = (figure.about(), column.answer());
    let value = match figure.told(k) {
        Ok(value) => value,
        Err(why) => return Cell::unknown(why),
    };
    let shown = number::fixed(value, decimals);
    let mark = figure.sure(k).mark();
    let cell = match figure {
        Figure::WaterNeed => {
            let need = k.dough.water_need;
            let need = number::interval(need.mean, need.low95, need.high95);
            Cell::text(format!("{mark}{need}")).known(Known::Assumed)
        }
        Figure::Kill => {
            // What has to be said of the number stands with the bake; here is room for the number.
            let ends = |c: char| c.is_alphabetic() || ",(".contains(c);
            let number = k.bake.kill_shown.split(ends).next().unwrap_or(&shown);
            Cell::text(number.trim()).known(Known::Assumed)
        }
        Figure::BakeTime => Cell::text(shown).picture(bake_spark(k, frame)),
        _ => Cell::text(format!("{mark}{shown}")),
    };
    match column.compared.difference(figure) {
        Some(gap) => cell
            .change(
                gap.value,
                decimals,
                sense(
                    about.better,
                    gap.value,
                    gap.bound,
                    gap_limits(column, figure),
                ),
            )
            .change_marked(gap.bound.mark()),
        None => cell,
    }
}

/// A difference is called better or worse only when neither what isn't known nor its limits leave a doubt.
fn sense(better: Better, gap: f64, sure: Bound, limits: Option<Limits>) -> Sense {
    let doubtful = limits.is_some_and(|l| l.low95 <= 0.0 && l.high95 >= 0.0);
    if doubtful || !sure.tells_sign(gap) {
        return Sense::Neutral;
    }
    Sense::of(better.is_for_the_better(gap))
}

fn gap_limits(column: &Column, figure: Figure) -> Option<Limits> {
    column
        .compared
        .spread
        .as_ref()?
        .versus_control
        .get(figure.about().key)
        .copied()
}

/// Moisture over time, all treatments on one scale.
fn bake_spark(k: &KnockOn, frame: &Frame) -> Markup {
    const STEPS: usize = 27;
    let curve = &k.bake.curve;
    let values: Vec<f64> = (0..STEPS)
        .map(|i| {
            at(
                &curve.time_min,
                &curve.moisture_pct,
                frame.minutes * i as f64 / (STEPS - 1) as f64,
            )
        })
        .collect();
    spark(
        &values,
        Some((0.0, frame.moisture)),
        "moisture over the bake and the cooling",
    )
}

/// The value of a drawn curve between its points; nothing outside.
fn at(xs: &[f64], ys: &[f64], x: f64) -> f64 {
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
    fn no_arrow_where_the_limits_hold_zero() {
        let limits = |low95, high95| Some(Limits { low95, high95 });
        assert_eq!(
            sense(Better::Lower, 1.5, Bound::Exactly, limits(-0.2, 3.0)),
            Sense::Neutral
        );
        assert_eq!(
            sense(Better::Lower, 1.5, Bound::Exactly, limits(0.2, 3.0)),
            Sense::Worse
        );
        assert_eq!(
            sense(Better::Higher, 1.5, Bound::Exactly, None),
            Sense::Better
        );
        assert_eq!(
            sense(Better::Neither, 1.5, Bound::Exactly, None),
            Sense::Neutral
        );
        assert_eq!(
            sense(Better::Higher, 1.5, Bound::About, None),
            Sense::Neutral
        );
        assert_eq!(
            sense(Better::Higher, 1.5, Bound::AtLeast, None),
            Sense::Better
        );
        assert_eq!(
            sense(Better::Higher, -1.5, Bound::AtLeast, None),
            Sense::Neutral
        );
    }

    #[test]
    fn a_spark_holds_to_its_curve() {
        let (x, y) = ([0.0, 1.0, 3.0], [30.0, 20.0, 10.0]);
        assert_eq!(at(&x, &y, 2.0), 15.0);
        assert_eq!(at(&x, &y, 3.0), 10.0);
        assert!(at(&x, &y, 3.1).is_nan() && at(&x, &y, -0.1).is_nan());
    }
}
