//! The four times after the oven, drawn beside each other: minutes, days, hours, months.

use super::figures::days;
use crate::pages::section::told;
use app::Units;
use maud::{Markup, html};
use paper::Ramp;
use paper::chart::{Axis, HeatStrip, Level, LineChart, Look, Series, heat_strip, line_chart};
use paper::number;
use study::views::after_oven::{AfterAnswer, CheckingTold};

/// Columns of the picture of checking.
const COLUMNS: usize = 72;

/// All four, from left to right in time.
pub(super) fn course(a: &AfterAnswer, beside: Option<&AfterAnswer>, units: Units) -> Markup {
    html! {
        div .course {
            section { h2 { "Cooling" } p .when { "the first minutes, on the conveyor" } (cooling(a, beside, units)) }
            section { h2 { "Evening-out" } p .when { "hours to days, in the pack" } (evening(a)) }
            section { h2 { "Checking" } p .when { "the crack that comes later" } (checking(a, beside, units)) }
            section { h2 { "Keeping" } p .when { "months, in the store" } (keeping(a, beside)) }
        }
    }
}

/// A name, what it comes to, and the same of the one beside.
fn fact(name: &str, value: &str, other: Option<String>) -> Markup {
    html! { dt { (name) } dd { (value) @if let Some(o) = other.filter(|o| o != value) { " " span .second { "(" (o) ")" } } } }
}

fn or_longer(value: Option<f64>, places: usize, unit: &str) -> String {
    value.map_or_else(
        || "longer than looked at".to_owned(),
        |v| format!("{} {unit}", number::fixed(v, places)),
    )
}

fn last(values: &[f64]) -> f64 {
    values.last().copied().unwrap_or(f64::NAN)
}

fn points(x: &[f64], y: &[f64]) -> Vec<(f64, f64)> {
    x.iter().copied().zip(y.iter().copied()).collect()
}

fn cooling(a: &AfterAnswer, beside: Option<&AfterAnswer>, units: Units) -> Markup {
    let warmest = told(35.0, "°C", 0, units);
    let shown = |c: &[f64]| -> Vec<f64> { c.iter().map(|c| units.value(*c, "°C")).collect() };
    let c = &a.cooling;
    let mut series = Vec::new();
    if let Some(b) = beside {
        let b = &b.cooling;
        series.push(Series::new(
            "beside",
            Look::Control,
            points(&b.minutes, &shown(&b.mean_c)),
        ));
    }
    series.push(Series::new(
        "middle",
        Look::Treatment,
        points(&c.minutes, &shown(&c.centre_c)),
    ));
    series.push(Series::new(
        "mean",
        Look::Changed,
        points(&c.minutes, &shown(&c.mean_c)),
    ));
    let b = beside.map(|b| &b.cooling);
    html! {
        (line_chart(&LineChart {
            title: "Temperature".to_owned(),
            x: Axis::new("after the oven", "min").with_zero(),
            y: Axis::new("temperature", units.unit("°C")),
            series,
            levels: vec![Level { name: warmest.clone(), low: units.value(35.0, "°C"), high: units.value(35.0, "°C") }],
            ..LineChart::default()
        }))
        dl .facts {
            (fact(&format!("{warmest} after"), &or_longer(c.to_35_c_min, 1, "min"), b.map(|b| or_longer(b.to_35_c_min, 1, "min"))))
            (fact("packed at", &told(last(&c.mean_c), "°C", 0, units), b.map(|b| told(last(&b.mean_c), "°C", 0, units))))
            (fact("moisture", &moisture(c), b.map(moisture)))
        }
        p .second { "The mean moisture from the oven’s exit to the pack: water goes on flashing off while the piece is hot. " (warmest) " is the warmest usually packed (common practice)." }
    }
}

fn moisture(c: &study::views::after_oven::CoolingTold) -> String {
    let first = c.moisture_pct.first().copied().unwrap_or(f64::NAN);
    format!(
        "{} → {} %",
        number::fixed(first, 1),
        number::fixed(last(&c.moisture_pct), 1)
    )
}

fn evening(a: &AfterAnswer) -> Markup {
    let e = &a.evening;
    // Beyond some times the tenth all is level.
    let shown_h = (4.0 * e.tenth_hours.unwrap_or(f64::INFINITY)).max(12.0);
    let hours: Vec<f64> = e
        .hours
        .iter()
        .copied()
        .take_while(|h| *h <= shown_h)
        .collect();
    let at = |node: usize| -> Vec<f64> { e.moisture_pct.iter().map(|row| row[node]).collect() };
    let nodes = e.height_mm.len();
    let series = if nodes == 0 {
        Vec::new()
    } else {
        vec![
            Series::new("middle", Look::Changed, points(&hours, &at(nodes / 2))),
            Series::new("top", Look::Treatment, points(&hours, &at(nodes - 1))),
            Series::new("bottom", Look::Treatment, points(&hours, &at(0))),
        ]
    };
    html! {
        (line_chart(&LineChart {
            title: "Moisture by place".to_owned(),
            x: Axis::new("in the pack", "h").with_zero(),
            y: Axis::new("moisture", "%"),
            series,
            ..LineChart::default()
        }))
        dl .facts {
            (fact("uneven when packed", &format!("{} points", number::fixed(e.unevenness_points.first().copied().unwrap_or(f64::NAN), 2)), None))
            (fact("half of it left", &or_longer(e.half_hours, 1, "h"), None))
            (fact("a tenth left", &or_longer(e.tenth_hours, 1, "h"), None))
        }
        p .second { "Wettest less driest place. Water moves from the wetter places to the drier until all is alike." }
    }
}

fn checking(a: &AfterAnswer, beside: Option<&AfterAnswer>, units: Units) -> Markup {
    let c = &a.checking;
    let b = beside.map(|b| &b.checking);
    let hours = last(&c.hours);
    html! {
        (heat_strip(&HeatStrip {
            title: "Index by place and time".to_owned(),
            note: String::new(),
            rows: strip(c, hours),
            ramp: Ramp::Temperature,
            quantity: "index".to_owned(),
            unit: String::new(),
            range: Some((0.0, c.greatest.max(b.map_or(0.0, |b| b.greatest)))),
            aspect: 0.62,
            edges: ["top".to_owned(), "bottom".to_owned(), format!("0 to {} h, early hours wider", number::fixed(hours, 0))],
        }))
        dl .facts {
            (fact("greatest index", &number::fixed(c.greatest, 2), b.map(|b| number::fixed(b.greatest, 2))))
            (fact("hour of greatest risk", &format!("{} h", number::fixed(c.at_hours, 1)), b.map(|b| format!("{} h", number::fixed(b.at_hours, 1)))))
            (fact("where", &format!("{}, {} over the band", c.at, told(c.at_height_mm, "mm", 1, units)), None))
        }
        p .second { "The index isn’t calibrated: use it only to compare treatments." }
    }
}

/// Rows from top to bottom, columns even in the root of time; between two moments the index is taken on a line.
fn strip(c: &CheckingTold, hours: f64) -> Vec<Vec<f64>> {
    let nodes = c.index.first().map_or(0, Vec::len);
    (0..nodes)
        .rev()
        .map(|node| {
            (0..COLUMNS)
                .map(|i| {
                    let t = hours * ((i as f64 + 0.5) / COLUMNS as f64).powi(2);
                    let after = c
                        .hours
                        .partition_point(|h| *h < t)
                        .clamp(1, c.hours.len().max(2) - 1);
                    let (t0, t1) = (c.hours[after - 1], c.hours[after]);
                    let (v0, v1) = (c.index[after - 1][node], c.index[after][node]);
                    let share = if t1 > t0 {
                        ((t - t0) / (t1 - t0)).clamp(0.0, 1.0)
                    } else {
                        1.0
                    };
                    (v0 + share * (v1 - v0)).max(0.0)
                })
                .collect()
        })
        .collect()
}

fn keeping(a: &AfterAnswer, beside: Option<&AfterAnswer>) -> Markup {
    let k = &a.keeping;
    let months = |d: &[f64]| -> Vec<f64> { d.iter().map(|d| d / (365.0 / 12.0)).collect() };
    let mut activity = Vec::new();
    let mut wet = Vec::new();
    if let Some(b) = beside.map(|b| &b.keeping) {
        let x = months(&b.days);
        activity.push(Series::new(
            "beside",
            Look::Control,
            points(&x, &b.water_activity),
        ));
        wet.push(Series::new(
            "beside",
            Look::Control,
            points(&x, &b.moisture_pct),
        ));
    }
    let x = months(&k.days);
    activity.push(Series::new(
        "this one",
        Look::Changed,
        points(&x, &k.water_activity),
    ));
    wet.push(Series::new(
        "this one",
        Look::Changed,
        points(&x, &k.moisture_pct),
    ));
    let start = k.moisture_pct.first().copied().unwrap_or(0.0);
    let level = |name: &str, at: f64| Level {
        name: name.to_owned(),
        low: at,
        high: at,
    };
    html! {
        (line_chart(&LineChart {
            title: "Water activity".to_owned(),
            x: Axis::new("in the store", "months").with_zero(),
            y: Axis::new("water activity", ""),
            series: activity,
            levels: vec![level("crisp", k.crisp_water_activity), level("0.65", 0.65)],
            ..LineChart::default()
        }))
        (line_chart(&LineChart {
            title: "Moisture".to_owned(),
            x: Axis::new("in the store", "months").with_zero(),
            y: Axis::new("moisture", "%").with_range(start.floor(), start.floor() + 1.0),
            series: wet,
            ..LineChart::default()
        }))
        dl .facts {
            (fact(&format!("crisp, to {}", number::fixed(k.crisp_water_activity, 2)), &days(k.crisp_days, k), beside.map(|b| days(b.keeping.crisp_days, &b.keeping))))
            (fact("to 0.65", &days(k.mould_days, k), beside.map(|b| days(b.keeping.mould_days, &b.keeping))))
        }
    }
}
