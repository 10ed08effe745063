//! Models of amounts that were varied: trend, response surface, mixture.

use super::Told;
use super::sheet::{Cell, Sheet, df, fixed, p, places, three};
use maud::Markup;
use paper::chart::{
    Axis, LineChart, Look, Mark, Series, Ternary, TernaryPoint, line_chart, ternary,
};
use trials::analyse::best::Best;
use trials::analyse::model::{MixtureModel, ModelReport, SurfaceModel};
use trials::stats::mixture::Prediction;

/// Divisions of a ternary grid: fine enough for smooth contours.
const DIVISIONS: usize = 40;

/// A prediction that was asked for, with its place in words.
pub type Asked = (String, Prediction);

/// Tells a trend with the observations behind it.
pub fn trend(report: &ModelReport, along: &str, points: &[(f64, f64)]) -> Told {
    let mut told = of(report, "Trend", &[]);
    let ends = points
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| {
            (l.min(p.0), h.max(p.0))
        });
    let at = |x: f64| {
        let [a, b, ..] = report.coefficients.as_slice() else {
            return f64::NAN;
        };
        a.estimate.unwrap_or(f64::NAN) + b.estimate.unwrap_or(f64::NAN) * x
    };
    told.pictures.push(line_chart(&LineChart {
        title: format!("{} along {along}", report.response),
        note: "the line within what was tried, and every observation.".into(),
        x: Axis::new(along, ""),
        y: Axis::new(report.response.clone(), ""),
        series: vec![
            Series::new(
                "line",
                Look::Treatment,
                [ends.0, ends.1].map(|x| (x, at(x))),
            ),
            Series::new("", Look::Points, points.iter().copied()).marked(Mark::Filled),
        ],
        ..LineChart::default()
    }));
    told
}

/// Tells a response surface: a slice along each variable through the middle of what was tried.
pub fn surface(model: &SurfaceModel, variables: &[String], asked: &[Asked]) -> Told {
    let mut told = of(&model.report, "Response surface", asked);
    for (i, name) in variables.iter().enumerate() {
        let (middle, half) = model.model.coding[i];
        let mut points = Vec::new();
        let mut band = Vec::new();
        for step in 0..=40 {
            let x = middle + half * (f64::from(step) / 20.0 - 1.0);
            let mut point: Vec<f64> = model.model.coding.iter().map(|c| c.0).collect();
            point[i] = x;
            if let Ok(found) = model.predict(&point) {
                points.push((x, found.mean));
                band.push(paper::chart::Band {
                    x,
                    low: found.mean95.0,
                    high: found.mean95.1,
                });
            }
        }
        if points.len() > 1 {
            told.pictures.push(line_chart(&LineChart {
                title: format!("{} along {name}", model.report.response),
                note: "the other settings at the middle of what was tried; band: 95 % interval of the mean.".into(),
                x: Axis::new(name.clone(), ""),
                y: Axis::new(model.report.response.clone(), ""),
                series: vec![Series::new("", Look::Treatment, points).banded(band)],
                ..LineChart::default()
            }));
        }
    }
    if let Some(canonical) = &model.canonical {
        let mut heads = vec!["#curvature".to_owned()];
        heads.extend(variables.iter().map(|v| format!("#{v}")));
        let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
        let mut sheet = Sheet::new(
            "Canonical analysis",
            "Curvature along its own directions, in coded units: all below 0 is a top, all above 0 a bottom, mixed a saddle.",
            &heads,
        );
        for (value, direction) in canonical.eigenvalues.iter().zip(&canonical.directions) {
            let mut cells = vec![three(Some(*value))];
            cells.extend(direction.iter().map(|d| fixed(Some(*d), 2)));
            sheet.rows.push(cells);
        }
        told.sheets.push(sheet);
    }
    told
}

/// Adds the setting that meets all wishes best, or that none does.
pub fn best(told: &mut Told, found: Option<&Best>, variables: &[String]) {
    let Some(found) = found else {
        told.sentence
            .push_str("\nNo setting within what was tried meets every wish at all.");
        return;
    };
    let place: Vec<String> = variables
        .iter()
        .zip(&found.at)
        .map(|(n, v)| format!("{n} {}", measure::rounding::significant(*v, 3)))
        .collect();
    told.sentence.push_str(&format!(
        "\nAll wishes together are met best at {} ({} of 1). Make a batch there before it counts.",
        place.join(", "),
        measure::rounding::significant(found.overall, 2)
    ));
    let mut sheet = Sheet::new(
        "Best for all wishes",
        "What is predicted at that setting. 1 is as wished, 0 worthless; one response at 0 sinks all.",
        &[
            "response",
            "#met",
            "#expected",
            "#one batch 95 % from",
            "#to",
        ],
    );
    for r in &found.responses {
        let d = places(std::iter::once(r.prediction.se));
        sheet.rows.push(vec![
            Cell::from(r.response.as_str()),
            fixed(Some(r.desirability), 2),
            fixed(Some(r.prediction.mean), d),
            fixed(Some(r.prediction.new95.0), d),
            fixed(Some(r.prediction.new95.1), d),
        ]);
    }
    told.sheets.push(sheet);
}

/// Tells a mixture model; three parts are drawn with contours inside what was tried.
pub fn mixture(
    model: &MixtureModel,
    parts: &[String],
    blends: &[Vec<f64>],
    asked: &[Asked],
) -> Told {
    let mut told = of(&model.report, "Mixture", asked);
    if let [a, b, c] = parts {
        told.pictures.push(contours(model, [a, b, c], blends));
    }
    told
}

fn contours(model: &MixtureModel, parts: [&String; 3], blends: &[Vec<f64>]) -> Markup {
    let n = DIVISIONS as f64;
    let mut values = Vec::with_capacity(Ternary::grid_len(DIVISIONS));
    for i in 0..=DIVISIONS {
        for j in 0..=DIVISIONS - i {
            let blend = [i as f64 / n, j as f64 / n, (DIVISIONS - i - j) as f64 / n];
            values.push(model.predict(&blend).map_or(f64::NAN, |p| p.mean));
        }
    }
    ternary(&Ternary {
        title: format!("{} over the blends", model.report.response),
        note: "by the model, inside the tried region only; marks are the blends that were made."
            .into(),
        parts: parts.map(String::clone),
        quantity: model.report.response.clone(),
        unit: String::new(),
        divisions: DIVISIONS,
        values,
        wanted: None,
        points: blends
            .iter()
            .filter_map(|b| <[f64; 3]>::try_from(b.as_slice()).ok())
            .map(|shares| TernaryPoint {
                name: String::new(),
                shares,
                measured: true,
            })
            .collect(),
    })
}

fn of(report: &ModelReport, kind: &'static str, asked: &[Asked]) -> Told {
    let mut sheet = Sheet::new(
        "Coefficients",
        "",
        &["term", "#estimate", "#se", "#df", "#t", "#p"],
    );
    for c in &report.coefficients {
        let d = places(c.se.into_iter());
        sheet.rows.push(vec![
            Cell::from(c.term.as_str()),
            fixed(c.estimate, d),
            fixed(c.se, d),
            df(c.df),
            fixed(c.t, 2),
            p(c.p),
        ]);
    }
    let mut predictions = Sheet::new(
        "Predictions",
        "Inside the tried region only.",
        &[
            "at",
            "#expected",
            "#95 % from",
            "#to",
            "#one new batch from",
            "#to (new)",
        ],
    );
    for (place, found) in asked {
        let d = places([found.se].into_iter());
        predictions.rows.push(vec![
            Cell::from(place.as_str()),
            fixed(Some(found.mean), d),
            fixed(Some(found.mean95.0), d),
            fixed(Some(found.mean95.1), d),
            fixed(Some(found.new95.0), d),
            fixed(Some(found.new95.1), d),
        ]);
    }
    let number = paper::number::three;
    let mut facts = vec![
        ("method", report.method.clone()),
        (
            "residual standard deviation",
            format!(
                "{} on {} degrees of freedom",
                report.residual_sd.map_or_else(|| "–".into(), number),
                paper::number::fixed(report.residual_df, 0)
            ),
        ),
        (
            "share of the variation explained",
            report
                .r2
                .map_or_else(|| "–".into(), |r2| paper::number::fixed(r2, 3)),
        ),
    ];
    if let Some((f, p)) = report.lack_of_fit {
        facts.push((
            "lack of fit",
            format!("F {}, p {}", number(f), paper::number::fixed(p, 3)),
        ));
    }
    let mut sheets = vec![predictions, sheet];
    sheets.retain(|s| !s.rows.is_empty());
    Told {
        kind,
        title: format!("{}: {}", kind, report.response),
        sentence: report.sentence.clone(),
        facts,
        pictures: Vec::new(),
        sheets,
        findings: report.findings.clone(),
    }
}
