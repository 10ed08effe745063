//! Measured against predicted over the zones, what is left over, and what was learned as ribbons.

use app::{FitCurve, FitLook};
use learning::written::Kept;
use learning::{Kind, Row};
use maud::Markup;
use paper::chart::{
    Axis, Interval, Level, LineChart, Look, Mark, Series, Zone, interval, line_chart,
};

/// One chart for each kind of reading, over the zones.
pub(super) fn over_the_zones(kept: &Kept, look: &FitLook) -> Vec<Markup> {
    Kind::ALL
        .into_iter()
        .filter(|kind| kept.fit.rows.iter().any(|r| r.kind == *kind))
        .map(|kind| chart(kind, kept, look))
        .collect()
}

/// A reading as it is drawn: a mass as per cent of that before.
fn drawn(row: &Row) -> f64 {
    match (row.kind, row.before_g) {
        (Kind::Mass, Some(before)) => 100.0 * row.value / before,
        _ => row.value,
    }
}

fn chart(kind: Kind, kept: &Kept, look: &FitLook) -> Markup {
    let (title, y) = match kind {
        Kind::Mass => ("Mass left", Axis::new("mass left", "%")),
        Kind::Moisture => ("Moisture of pulled pieces", Axis::new("moisture", "%")),
        Kind::EndMoisture => ("Moisture of cooled pieces", Axis::new("moisture", "%")),
        Kind::Temperature => ("Probes", Axis::new("temperature", "°C")),
    };
    let mut series = Vec::new();
    let curves = look.curves.iter().filter(|c| c.kind == kind);
    for FitCurve {
        height_m, points, ..
    } in curves
    {
        let at = height_m.map_or_else(String::new, |m| format!(", {:.0} mm", 1000.0 * m));
        let line = |k: usize| points.iter().map(move |p| (p[0], p[k]));
        series.push(Series::new(format!("believed{at}"), Look::Behind, line(1)));
        series.push(Series::new(format!("fitted{at}"), Look::Treatment, line(2)));
    }
    for (bake, _) in &kept.fit.bakes {
        let of = |r: &&Row| r.kind == kind && r.bake == *bake;
        let own = kept.fit.rows.iter().filter(of);
        let mut points: Vec<(f64, f64)> = own.map(|r| (r.time_s / 60.0, drawn(r))).collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        if !points.is_empty() {
            series.push(Series::new(bake.clone(), Look::Points, points).marked(Mark::Filled));
        }
    }
    if kind == Kind::EndMoisture {
        let ends = kept.fit.rows.iter().zip(&kept.fit.compared);
        let ends = ends.filter(|(r, _)| r.kind == kind);
        let points: Vec<(f64, f64)> = ends.map(|(r, c)| (r.time_s / 60.0, c.fitted)).collect();
        series.push(Series::new("fitted", Look::Points, points).marked(Mark::Open));
    }
    let zones = look.zones.iter().map(|(name, from, to)| Zone {
        name: name.clone(),
        from: *from,
        to: *to,
    });
    line_chart(&LineChart {
        title: title.to_owned(),
        note: "filled circles are readings, each bake named; lines are the model, at its best values and fitted.".into(),
        x: Axis::new("in the oven", "min").with_zero(),
        y,
        series,
        zones: zones.collect(),
        levels: Vec::new(),
    })
}

/// What is left over of each reading, over time, bake by bake.
pub(super) fn residuals(kept: &Kept) -> Markup {
    let all = kept.fit.rows.iter().zip(&kept.fit.compared);
    let series = kept.fit.bakes.iter().map(|(bake, _)| {
        let own = all.clone().filter(|(r, _)| r.bake == *bake);
        let points = own.map(|(r, c)| (r.time_s / 60.0, c.gap));
        let mut points: Vec<(f64, f64)> = points.collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        Series::new(bake.clone(), Look::Points, points).marked(Mark::Filled)
    });
    line_chart(&LineChart {
        title: "What is left over".into(),
        note:
            "measured less fitted, in standard deviations of reading and model; within 2 is usual."
                .into(),
        x: Axis::new("in the oven", "min").with_zero(),
        y: Axis::new("left over", "sd").with_range(-2.5, 2.5),
        series: series.collect(),
        zones: Vec::new(),
        levels: vec![Level {
            name: String::new(),
            low: -2.0,
            high: 2.0,
        }],
    })
}

/// A factor with its limits, on a logarithmic scale that all share.
pub(super) fn ribbon(factor: f64, [low, high]: [f64; 2]) -> Markup {
    let reach = 5f64.ln();
    interval(&Interval {
        mean: factor.ln(),
        low: low.ln().max(-reach),
        high: high.ln().min(reach),
        scale: (-reach, reach),
        control: Some(0.0),
    })
}
