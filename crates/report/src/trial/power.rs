//! How many units a question needs, with the curve.

use super::Told;
use super::sheet::{Cell, Sheet, fixed};
use maud::Markup;
use paper::chart::{Axis, Level, LineChart, Look, Series, line_chart};
use trials::plan::Unit;
use trials::power::Replicates;

/// Tells an answer on size and power. `curve` holds units and power, `smallest` the smallest
/// difference that the answer's number of units finds.
pub fn power(
    answer: &Replicates,
    curve: &[(usize, f64)],
    wanted: f64,
    smallest: Option<f64>,
) -> Told {
    let mut sheet = Sheet::new("Power by number of units", "", &["#units", "#power, %"]);
    for (n, power) in curve {
        sheet.rows.push(vec![
            fixed(Some(*n as f64), 0),
            Cell {
                text: paper::number::fixed(100.0 * power, 0),
                value: Some(100.0 * power),
            },
        ]);
    }
    let mut facts = vec![(
        "units counted",
        format!("{} ({})", answer.unit.plural(), answer.unit.describe()),
    )];
    if let Some(d) = smallest {
        facts.push((
            "smallest difference found with the wanted power",
            paper::number::three(d),
        ));
    }
    Told {
        kind: "Trial size",
        title: "How many, and what they can find".into(),
        sentence: answer.sentence.clone(),
        facts,
        pictures: vec![chart(answer.unit, curve, wanted)],
        sheets: vec![sheet],
        findings: Vec::new(),
    }
}

/// The curve as an SVG file of its own.
pub fn curve_svg(unit: Unit, curve: &[(usize, f64)], wanted: f64) -> String {
    crate::bake_svg::figure_svg(
        "Chance to see a real difference",
        &chart(unit, curve, wanted),
    )
}

fn chart(unit: Unit, curve: &[(usize, f64)], wanted: f64) -> Markup {
    line_chart(&LineChart {
        title: "Chance to see a real difference".into(),
        note: format!(
            "by the number of {}, however many pieces or days are measured on each.",
            unit.plural()
        ),
        x: Axis::new(unit.plural(), ""),
        y: Axis::new("chance to see it", "%").with_range(0.0, 100.0),
        series: vec![Series::new(
            "",
            Look::Treatment,
            curve.iter().map(|(n, p)| (*n as f64, 100.0 * p)),
        )],
        zones: Vec::new(),
        levels: vec![Level {
            name: "wanted".into(),
            low: 100.0 * wanted,
            high: 100.0 * wanted,
        }],
    })
}
