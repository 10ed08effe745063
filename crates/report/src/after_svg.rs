//! The time after the oven of one treatment as a drawing file of its own.

use crate::bake_svg::charts_svg;
use paper::chart::{Axis, Level, LineChart, Look, Series, line_chart};
use study::views::after_oven::AfterAnswer;

/// Cooling, evening-out and keeping from top to bottom, with their style inside.
pub fn after_svg(a: &AfterAnswer) -> String {
    let points = |x: &[f64], y: &[f64]| -> Vec<(f64, f64)> {
        x.iter().copied().zip(y.iter().copied()).collect()
    };
    let (cooling, evening, keeping) = (&a.cooling, &a.evening, &a.keeping);
    let level = |name: &str, at: f64| Level {
        name: name.to_owned(),
        low: at,
        high: at,
    };
    let at = |node: usize| -> Vec<f64> { evening.moisture_pct.iter().map(|r| r[node]).collect() };
    let nodes = evening.height_mm.len();
    let places = [
        ("top", nodes.saturating_sub(1)),
        ("middle", nodes / 2),
        ("bottom", 0),
    ];
    let months: Vec<f64> = keeping.days.iter().map(|d| d / (365.0 / 12.0)).collect();
    let chart = |title: &str, x: Axis, y: Axis, series: Vec<Series>, levels: Vec<Level>| {
        line_chart(&LineChart {
            title: title.to_owned(),
            x,
            y,
            series,
            levels,
            ..LineChart::default()
        })
    };
    charts_svg(
        &format!("After the oven: {}", a.name),
        &[
            chart(
                "Cooling",
                Axis::new("after the oven", "min").with_zero(),
                Axis::new("temperature", "°C"),
                vec![
                    Series::new(
                        "middle",
                        Look::Treatment,
                        points(&cooling.minutes, &cooling.centre_c),
                    ),
                    Series::new(
                        "mean",
                        Look::Control,
                        points(&cooling.minutes, &cooling.mean_c),
                    ),
                ],
                Vec::new(),
            ),
            chart(
                "Evening-out",
                Axis::new("in the pack", "h").with_zero(),
                Axis::new("moisture", "%"),
                places
                    .iter()
                    .filter(|_| nodes > 0)
                    .map(|(name, node)| {
                        Series::new(*name, Look::Treatment, points(&evening.hours, &at(*node)))
                    })
                    .collect(),
                Vec::new(),
            ),
            chart(
                "Keeping",
                Axis::new("in the store", "months").with_zero(),
                Axis::new("water activity", ""),
                vec![Series::new(
                    "",
                    Look::Treatment,
                    points(&months, &keeping.water_activity),
                )],
                vec![
                    level("crisp", keeping.crisp_water_activity),
                    level("0.65", 0.65),
                ],
            ),
        ],
    )
}
