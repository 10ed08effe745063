//! What dough water costs in the oven.

use maud::{Markup, html};
use measure::Units;
use paper::chart::{Axis, LineChart, Look, Mark, Series, line_chart};
use study::compare::WaterPoint;
use study::{Compared, KnockOn};

/// The curve of one treatment.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Id of the treatment.
    pub id: String,
    /// Its points, from dry to wet, as [`study::water_curve()`] gives them.
    pub points: Vec<WaterPoint>,
}

/// Curves that can be told apart by their names at their ends (judgement).
const MOST_NAMED: usize = 4;

/// Output of the oven alone against dough water, with each treatment's own place as a dot.
/// Points at which the target isn't reached are left out.
pub fn water_curve(compared: &[Compared], curves: &[Curve]) -> Markup {
    water_curve_with(compared, curves, None, Units::Metric)
}

/// The same with one treatment picked out by its id.
pub fn water_curve_with(
    compared: &[Compared],
    curves: &[Curve],
    picked: Option<&str>,
    units: Units,
) -> Markup {
    let shown = |kg_per_h: f64| units.value(kg_per_h, "kg/h");
    let mass = units.unit("kg");
    let drawn: Vec<_> = compared
        .iter()
        .enumerate()
        .filter_map(|(i, c)| Some((i, &c.answer, curves.iter().find(|x| x.id == c.answer.id)?)))
        .collect();
    if drawn.is_empty() {
        return html! {};
    }
    // Of many only the control and the one that is looked at are named, or where none is those that give least and most;
    // the others stand behind.
    let many = drawn.len() > MOST_NAMED;
    let gives = |k: &KnockOn| k.line.oven_kg_per_h.unwrap_or(f64::NAN);
    let rivals = drawn
        .iter()
        .skip(1)
        .map(|(_, k, _)| *k)
        .filter(|k| gives(k).is_finite());
    let by =
        |a: &&std::sync::Arc<KnockOn>, b: &&std::sync::Arc<KnockOn>| gives(a).total_cmp(&gives(b));
    let ends = [rivals.clone().min_by(by), rivals.max_by(by)];
    let named = |k: &KnockOn| picked.is_none() && ends.iter().flatten().any(|e| e.id == k.id);
    let mut ordered: Vec<_> = drawn.iter().collect();
    ordered.sort_by_key(|(i, k, _)| (picked == Some(k.id.as_str()), *i == 0, named(k)));
    let lines = ordered.into_iter().map(|(i, k, curve)| {
        let (look, name) = if picked == Some(k.id.as_str()) {
            (Look::Changed, k.name.as_str())
        } else if *i == 0 {
            (Look::Control, k.name.as_str())
        } else if many && !named(k) {
            (Look::Behind, "")
        } else {
            (Look::Treatment, k.name.as_str())
        };
        let points = curve.points.iter().map(|p| {
            (
                p.water_kg_per_100kg_dry_mix,
                p.oven_kg_per_h
                    .filter(|_| p.reached)
                    .map_or(f64::NAN, &shown),
            )
        });
        Series::new(name, look, points)
    });
    let places = drawn.iter().map(|(_, k, _)| {
        (
            k.dough.water_added_kg_per_100kg_dry_mix,
            k.line.oven_kg_per_h.map_or(f64::NAN, &shown),
        )
    });
    let series = lines
        .chain([Series::new("", Look::Points, places).marked(Mark::Filled)])
        .collect();
    let all_reached = drawn
        .iter()
        .all(|(_, _, curve)| curve.points.iter().all(|p| p.reached));
    let left_out = if all_reached {
        ""
    } else {
        "; left out where the target can’t be reached"
    };
    let behind = if many {
        "; the others stand behind"
    } else {
        ""
    };
    line_chart(&LineChart {
        title: "What dough water costs in the oven".to_owned(),
        note: format!(
            "each dot is a treatment’s own water, each line runs from drier to wetter dough around it{left_out}{behind}"
        ),
        x: Axis::new("water added", units.unit("kg per 100 kg dry mix")),
        y: if many && picked.is_some() {
            Axis::new("oven alone", format!("{mass} saleable per hour"))
        } else {
            Axis::new("oven alone", format!("{mass} saleable per hour")).with_zero()
        },
        series,
        zones: Vec::new(),
        levels: Vec::new(),
    })
}
