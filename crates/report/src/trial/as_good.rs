//! As good as the control: each treatment's difference with its 90 % interval, against the margin that was told beforehand.

use super::Told;
use super::analysis::{equal_sheet, scale};
use paper::chart::{Axis, Dot, DotPlot, dot_plot};
use trials::analyse::{Analysis, EquivalenceLine};
use trials::response::{Better, Response};

/// Whether a line shows what was asked: no worse where one way is better, else alike.
fn shown(line: &EquivalenceLine) -> bool {
    line.not_worse.unwrap_or(line.equivalent)
}

/// Tells whether treatments are as good as the control in a response; none where no margin was told, or no control.
pub fn as_good(found: &Analysis) -> Option<Told> {
    let first = found.equivalence.first()?;
    let name = Response::find(&found.response).map_or(found.response.as_str(), |r| r.about().name);
    let (times, unit) = scale(found);
    let margin = times * first.margin;
    let margin_told = format!("{} {unit}", paper::number::three(margin));
    let margin_told = margin_told.trim();
    let one_way = first.not_worse.is_some();
    let names = |wanted: bool| -> Vec<&str> {
        let lines = found.equivalence.iter().filter(|l| shown(l) == wanted);
        lines.map(|l| l.a.as_str()).collect()
    };
    let asked = if one_way {
        format!("no worse than {} by {margin_told} or more", first.b)
    } else {
        format!("within {margin_told} of {} either way", first.b)
    };
    let mut sentence = Vec::new();
    let (yes, no) = (names(true), names(false));
    if !yes.is_empty() {
        sentence.push(format!("Shown to be {asked}: {}.", yes.join(", ")));
    }
    if !no.is_empty() {
        sentence.push(format!(
            "Not shown: {}. That doesn’t say that they {}: more batches would tell.",
            no.join(", "),
            if one_way { "are worse" } else { "differ" }
        ));
    }
    let mut sheet = equal_sheet(found);
    sheet.title = "The figures".into();
    // The side on which a treatment would be worse; where either way counts there are two, which the axis shows.
    let worse = match first.better {
        Some(Better::Lower) => margin,
        _ => -margin,
    };
    let level = one_way.then(|| ("worse from here on".to_owned(), worse));
    Some(Told {
        kind: "As good as the control",
        title: format!("As good as the control: {name}"),
        sentence: sentence.join("\n"),
        facts: vec![
            ("asked", asked),
            ("experimental unit", found.unit_told()),
            ("method", found.method.clone()),
        ],
        pictures: vec![dot_plot(&DotPlot {
            title: format!("{name}: difference from {}", first.b),
            note: if one_way {
                format!(
                    "with 90 % intervals; as good means that none of it lies {margin_told} or more on the worse side."
                )
            } else {
                format!(
                    "with 90 % intervals; alike means that all of it lies within {margin_told} either way."
                )
            },
            axis: Axis::new("difference", unit).with_zero(),
            dots: found
                .equivalence
                .iter()
                .map(|l| Dot {
                    name: l.a.clone(),
                    mean: times * l.difference,
                    limits: Some((times * l.low90, times * l.high90)),
                    observations: Vec::new(),
                    letters: String::new(),
                })
                .collect(),
            level,
        })],
        sheets: vec![sheet],
        findings: Vec::new(),
    })
}
