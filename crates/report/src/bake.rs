//! The bake over the oven's zones: temperatures and moisture of every treatment.

use maud::{Markup, html};
use measure::Units;
use paper::chart::{Axis, Level, LineChart, Look, Series, Zone, line_chart};
use paper::number;
use study::Compared;
use study::views::knock_on::{BakeCurve, KnockOn};

/// Lines that can be told apart by their names at their ends (judgement).
const MOST_NAMED: usize = 4;

/// The picture that a report opens with: how all treatments dry, on the control's zones. Of many only the control, the
/// quickest and the slowest are named.
pub fn how_all_dry(compared: &[Compared]) -> Markup {
    let Some(control) = compared.first() else {
        return html! {};
    };
    let scales = Scales::of(compared.iter().map(|c| &*c.answer), Units::Metric);
    line_chart(&all_moisture(compared, &control.answer, &scales))
}

/// Temperature and moisture of each treatment over its own zones, all on the same scales.
pub fn bake_curves(compared: &[Compared]) -> Markup {
    let scales = Scales::of(compared.iter().map(|c| &*c.answer), Units::Metric);
    html! { @if !compared.is_empty() { div .bakes { @for c in compared { (bake_of(&c.answer, &scales)) } } } }
}

fn bake_of(k: &KnockOn, scales: &Scales) -> Markup {
    html! {
        section .bake-of {
            h3 { (k.name) }
            p .second { (bake_in_words(k, scales.units)) }
            div .figures .pair {
                (line_chart(&temperatures(k, scales)))
                (line_chart(&moisture(k, scales)))
            }
        }
    }
}

/// One sentence of what the drawings show.
pub fn bake_in_words(k: &KnockOn, units: Units) -> String {
    let b = &k.bake;
    let degrees = units.unit("°C");
    let end = match &b.limit {
        Some(limit) => format!("The target isn’t reached: {limit}. "),
        None => String::new(),
    };
    format!(
        "{end}{} min in the oven; leaves it at {} % moisture and is packed at {} %. Centre at most {} {degrees}, top {} {degrees}; colour change ΔE {}. Kill at the least treated place, as a hint: {}.",
        number::fixed(b.time_min, 1),
        number::fixed(b.exit_moisture_pct, 1),
        number::fixed(b.packed_moisture_pct, 1),
        number::fixed(units.value(b.centre_peak_c, "°C"), 0),
        number::fixed(units.value(b.top_peak_c, "°C"), 0),
        number::fixed(b.colour_delta_e, 1),
        b.kill_shown,
    )
}

/// How far a drawing goes past the oven's end: the slow end of the cooling would press the bake
/// into a corner.
pub(crate) const SHOWN_PAST_THE_OVEN: f64 = 1.3;

/// The ranges that all drawings share.
pub(crate) struct Scales {
    pub(crate) minutes: f64,
    pub(crate) units: Units,
    celsius: (f64, f64),
    moisture: f64,
}

impl Scales {
    pub(crate) fn of<'a>(answers: impl Iterator<Item = &'a KnockOn>, units: Units) -> Self {
        let mut scales = Self {
            minutes: 0.0,
            units,
            celsius: (f64::INFINITY, f64::NEG_INFINITY),
            moisture: 0.0,
        };
        for k in answers {
            let curve = &k.bake.curve;
            let most = |v: &[f64]| {
                v.iter()
                    .copied()
                    .filter(|x| x.is_finite())
                    .fold(0.0, f64::max)
            };
            let shown = most(&curve.time_min).min(SHOWN_PAST_THE_OVEN * k.bake.time_min);
            scales.minutes = scales.minutes.max(shown);
            scales.moisture = scales.moisture.max(most(&curve.moisture_pct));
            for v in [&curve.top_c, &curve.centre_c, &curve.bottom_c]
                .into_iter()
                .flatten()
            {
                scales.celsius = (scales.celsius.0.min(*v), scales.celsius.1.max(*v));
            }
        }
        if !scales.celsius.0.is_finite() {
            scales.celsius = (0.0, 100.0);
        }
        scales
    }

    pub(crate) fn points(
        &self,
        curve: &BakeCurve,
        pick: impl Fn(&BakeCurve) -> &Vec<f64>,
    ) -> Vec<(f64, f64)> {
        let all = curve
            .time_min
            .iter()
            .copied()
            .zip(pick(curve).iter().copied());
        all.take_while(|(t, _)| *t <= self.minutes).collect()
    }

    pub(crate) fn zones(&self, curve: &BakeCurve) -> Vec<Zone> {
        let mut end = 0.0;
        let mut zones = Vec::new();
        for (name, to) in &curve.zones {
            let from = std::mem::replace(&mut end, to.min(self.minutes));
            if end > from {
                zones.push(Zone {
                    name: name.clone(),
                    from,
                    to: end,
                });
            }
        }
        zones
    }

    pub(crate) fn time(&self) -> Axis {
        Axis::new("time from the oven’s mouth", "min").with_range(0.0, self.minutes)
    }

    fn moisture(&self) -> Axis {
        Axis::new("mean moisture", "% wet basis")
            .with_zero()
            .with_range(0.0, self.moisture)
    }
}

fn all_moisture(compared: &[Compared], control: &KnockOn, scales: &Scales) -> LineChart {
    let minutes = |c: &Compared| c.answer.bake.time_min;
    let rivals = compared.iter().skip(1);
    let ends = [
        rivals
            .clone()
            .min_by(|a, b| minutes(a).total_cmp(&minutes(b))),
        rivals.max_by(|a, b| minutes(a).total_cmp(&minutes(b))),
    ];
    let ends: Vec<&str> = ends
        .into_iter()
        .flatten()
        .map(|c| c.answer.id.as_str())
        .collect();
    let many = compared.len() > MOST_NAMED;
    let line = |(i, c): (usize, &Compared)| {
        let named = i == 0 || !many || ends.contains(&c.answer.id.as_str());
        let look = match (i, named) {
            (0, _) => Look::Control,
            (_, true) => Look::Treatment,
            (_, false) => Look::Behind,
        };
        let name = if named {
            format!("{}, {} min", c.answer.name, number::fixed(minutes(c), 1))
        } else {
            String::new()
        };
        let points = scales.points(&c.answer.bake.curve, |b| &b.moisture_pct);
        (named, Series::new(&name, look, points))
    };
    let mut lines: Vec<(bool, Series)> = compared.iter().enumerate().map(line).collect();
    // What is named lies over what isn't.
    lines.sort_by_key(|(named, _)| *named);
    let behind = if many {
        "; the control, the quickest and the slowest are named, the others stand behind"
    } else {
        ""
    };
    LineChart {
        title: "How all treatments dry".to_owned(),
        note: format!(
            "mean moisture over the zones of {}, with the time in the oven{behind}",
            control.name
        ),
        x: scales.time(),
        y: scales.moisture(),
        series: lines.into_iter().map(|(_, line)| line).collect(),
        zones: scales.zones(&control.bake.curve),
        levels: Vec::new(),
    }
}

pub(crate) fn temperatures(k: &KnockOn, scales: &Scales) -> LineChart {
    let curve = &k.bake.curve;
    let shown = |celsius: f64| scales.units.value(celsius, "°C");
    let points = |pick: fn(&BakeCurve) -> &Vec<f64>| {
        let points = scales.points(curve, pick).into_iter();
        points.map(|(t, c)| (t, shown(c))).collect::<Vec<_>>()
    };
    LineChart {
        title: "Temperature".to_owned(),
        note: String::new(),
        x: scales.time(),
        y: Axis::new("temperature of the piece", scales.units.unit("°C"))
            .with_range(shown(scales.celsius.0), shown(scales.celsius.1)),
        series: vec![
            Series::new("top", Look::Treatment, points(|b| &b.top_c)),
            Series::new("centre", Look::Treatment, points(|b| &b.centre_c)),
            Series::new("bottom", Look::Treatment, points(|b| &b.bottom_c)),
        ],
        zones: scales.zones(curve),
        levels: Vec::new(),
    }
}

pub(crate) fn moisture(k: &KnockOn, scales: &Scales) -> LineChart {
    let packed = k.bake.packed_moisture_pct;
    LineChart {
        title: "Moisture".to_owned(),
        note: String::new(),
        x: scales.time(),
        y: scales.moisture(),
        series: vec![Series::new(
            "mean",
            Look::Treatment,
            scales.points(&k.bake.curve, |b| &b.moisture_pct),
        )],
        zones: scales.zones(&k.bake.curve),
        levels: vec![Level {
            name: format!("packed {}", number::fixed(packed, 1)),
            low: packed,
            high: packed,
        }],
    }
}
