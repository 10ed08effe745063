//! Everything that changes along one bake, over the zones of its oven, beside another when wanted.

use crate::bake::{Scales, moisture, temperatures};
use maud::{Markup, html};
use measure::Units;
use paper::chart::{Axis, LineChart, Look, Series, line_chart};
use paper::number;
use study::views::cross_section::CrossSection;
use study::views::knock_on::KnockOn;

/// Temperatures, moisture, colour and kill of a bake over its zones. The other bake, when there is
/// one, has its own temperatures on the same scales and a hairline in the rest.
pub fn bake_over_zones(
    here: (&KnockOn, &CrossSection),
    beside: Option<(&KnockOn, &CrossSection)>,
    units: Units,
) -> Markup {
    let all: Vec<_> = std::iter::once(here).chain(beside).collect();
    let scales = Scales::of(all.iter().map(|(k, _)| *k), units);
    let named = |mut chart: LineChart, what: &str| {
        chart.title = what.to_owned();
        chart
    };
    html! {
        div .figures .over-zones {
            @for (k, _) in &all {
                (line_chart(&named(temperatures(k, &scales), &format!("Temperature: {}", k.name))))
            }
            (line_chart(&both(moisture(here.0, &scales), "Mean moisture", &all, |k, _| scales.points(&k.bake.curve, |b| &b.moisture_pct))))
            (line_chart(&both(colour(here.0, &scales), "Colour of the top", &all, |_, f| so_far(f, &f.colour_delta_e, &scales))))
            (line_chart(&both(kill(here.0, &scales), "Kill, least treated place", &all, |_, f| so_far(f, &f.kill_log10, &scales))))
        }
    }
}

fn both(
    mut chart: LineChart,
    title: &str,
    all: &[(&KnockOn, &CrossSection)],
    points: impl Fn(&KnockOn, &CrossSection) -> Vec<(f64, f64)>,
) -> LineChart {
    chart.title = title.to_owned();
    chart.series = all
        .iter()
        .enumerate()
        .rev()
        .map(|(i, (k, f))| {
            let look = if i == 0 {
                Look::Treatment
            } else {
                Look::Control
            };
            Series::new(&k.name, look, points(k, f))
        })
        .collect();
    chart
}

fn so_far(field: &CrossSection, values: &[f64], scales: &Scales) -> Vec<(f64, f64)> {
    let all = field.time_min.iter().copied().zip(values.iter().copied());
    all.take_while(|(t, _)| *t <= scales.minutes).collect()
}

fn plain(k: &KnockOn, scales: &Scales, note: &str, y: Axis) -> LineChart {
    LineChart {
        note: note.to_owned(),
        x: scales.time(),
        y,
        zones: scales.zones(&k.bake.curve),
        ..LineChart::default()
    }
}

fn colour(k: &KnockOn, scales: &Scales) -> LineChart {
    let y = Axis::new("ΔE from the dough", "").with_zero();
    plain(k, scales, "", y)
}

fn kill(k: &KnockOn, scales: &Scales) -> LineChart {
    // A scale of at least one decade keeps a small number small to the eye.
    let y = Axis::new("log reduction of Salmonella", "").with_range(0.0, 1.0);
    let degrees = |celsius: f64| number::fixed(scales.units.value(celsius, "°C"), 0);
    let note = format!(
        "credited only within the tested {} to {} {} and water activities; no validation",
        degrees(80.0),
        degrees(90.0),
        scales.units.unit("°C")
    );
    plain(k, scales, &note, y)
}
