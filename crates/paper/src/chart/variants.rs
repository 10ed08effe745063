//! Line charts that a trial's report asks for by name.

use super::line::{Axis, Band, Level, LineChart, Look, Mark, Series, line_chart};
use maud::Markup;

/// What is left over beside what was fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct Residuals {
    /// What it shows.
    pub title: String,
    /// A sentence beside the title.
    pub note: String,
    /// The response, e.g. `breaking force`.
    pub response: String,
    /// Its unit.
    pub unit: String,
    /// Fitted value and residual of each observation.
    pub points: Vec<(f64, f64)>,
}

/// Draws residuals over fitted values, with the line of none.
pub fn residual_plot(plot: &Residuals) -> Markup {
    let most = plot
        .points
        .iter()
        .map(|p| p.1.abs())
        .filter(|v| v.is_finite())
        .fold(0.0, f64::max);
    line_chart(&LineChart {
        title: plot.title.clone(),
        note: plot.note.clone(),
        x: Axis::new(format!("fitted {}", plot.response), plot.unit.clone()),
        y: Axis::new("residual", plot.unit.clone()).with_range(-most, most),
        series: vec![
            Series::new("", Look::Points, plot.points.iter().copied()).marked(Mark::Filled),
        ],
        ..LineChart::default()
    })
}

/// Means of one factor at the levels of another.
#[derive(Clone, Debug, PartialEq)]
pub struct Interaction {
    /// What it shows.
    pub title: String,
    /// A sentence beside the title.
    pub note: String,
    /// The response with its unit.
    pub y: Axis,
    /// The factor across.
    pub factor: String,
    /// Its levels.
    pub levels: Vec<String>,
    /// One line per level of the other factor, the control first.
    pub lines: Vec<InteractionLine>,
}

/// One line of an interaction.
#[derive(Clone, Debug, PartialEq)]
pub struct InteractionLine {
    /// Its name.
    pub name: String,
    /// Mean, lower and upper limit at each level across; `None` where not tried.
    pub means: Vec<Option<(f64, f64, f64)>>,
}

/// Draws an interaction: lines that run apart or cross say that the factors don't act alone.
pub fn interaction_plot(plot: &Interaction) -> Markup {
    let ticks = plot.levels.iter().enumerate();
    let series = plot.lines.iter().enumerate().map(|(i, line)| {
        let told = |i: usize, m: &Option<(f64, f64, f64)>| {
            let (mean, low, high) = m.unwrap_or((f64::NAN, f64::NAN, f64::NAN));
            (
                (i as f64, mean),
                Band {
                    x: i as f64,
                    low,
                    high,
                },
            )
        };
        let (points, band): (Vec<_>, Vec<_>) = line
            .means
            .iter()
            .enumerate()
            .map(|(i, m)| told(i, m))
            .unzip();
        let look = if i == 0 {
            Look::Control
        } else {
            Look::Treatment
        };
        Series::new(line.name.clone(), look, points)
            .banded(band)
            .marked(Mark::Filled)
    });
    line_chart(&LineChart {
        title: plot.title.clone(),
        note: plot.note.clone(),
        x: Axis::new(plot.factor.clone(), "")
            .with_ticks(ticks.map(|(i, name)| (i as f64, name.clone()))),
        y: plot.y.clone(),
        series: series.collect(),
        ..LineChart::default()
    })
}

/// The chance to see a real difference, by number of replicates.
#[derive(Clone, Debug, PartialEq)]
pub struct PowerCurve {
    /// What it shows.
    pub title: String,
    /// A sentence beside the title.
    pub note: String,
    /// Each difference: its name and points of replicates and power in per cent.
    pub lines: Vec<(String, Vec<(f64, f64)>)>,
    /// The power that is wanted, per cent.
    pub wanted_percent: f64,
}

/// Draws power curves with the wanted power as a line.
pub fn power_curve(plot: &PowerCurve) -> Markup {
    let series = plot.lines.iter().map(|(name, points)| {
        Series::new(name.clone(), Look::Treatment, points.iter().copied()).marked(Mark::None)
    });
    line_chart(&LineChart {
        title: plot.title.clone(),
        note: plot.note.clone(),
        x: Axis::new("replicates", "batches per treatment"),
        y: Axis::new("chance to see it", "%").with_range(0.0, 100.0),
        series: series.collect(),
        zones: Vec::new(),
        levels: vec![Level {
            name: "wanted".into(),
            low: plot.wanted_percent,
            high: plot.wanted_percent,
        }],
    })
}
