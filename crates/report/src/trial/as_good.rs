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

/// Whether a treatment is shown to lie beyond the margin: on the worse side where there is one, else on either.
fn is_beyond(line: &EquivalenceLine) -> bool {
    let below = line.high90 <= -line.margin;
    let above = line.low90 >= line.margin;
    match line.better {
        Some(Better::Higher) => below,
        Some(Better::Lower) => above,
        Some(Better::Target) | None => below || above,
    }
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
    let names = |wanted: &dyn Fn(&EquivalenceLine) -> bool| -> Vec<&str> {
        let lines = found.equivalence.iter().filter(|l| wanted(l));
        lines.map(|l| l.a.as_str()).collect()
    };
    let asked = if one_way {
        format!("no worse than {} by {margin_told} or more", first.b)
    } else {
        format!("within {margin_told} of {} either way", first.b)
    };
    let mut sentence = Vec::new();
    let yes = names(&shown);
    let beyond = names(&|l| !shown(l) && is_beyond(l));
    let open = names(&|l| !shown(l) && !is_beyond(l));
    if !yes.is_empty() {
        sentence.push(format!("Shown to be {asked}: {}.", yes.join(", ")));
    }
    if !beyond.is_empty() {
        sentence.push(format!(
            "Shown not to be: {}; the whole interval lies beyond the margin.",
            beyond.join(", ")
        ));
    }
    if !open.is_empty() {
        sentence.push(format!(
            "Not shown either way: {}. More batches would tell.",
            open.join(", ")
        ));
    }
    let mut sheet = equal_sheet(found);
    sheet.title = "The figures".into();
    // Where one way is better there is one side on which a treatment would be worse.
    let levels = match (one_way, first.better) {
        (true, Some(Better::Lower)) => vec![("worse".to_owned(), margin)],
        (true, _) => vec![("worse".to_owned(), -margin)],
        (false, _) => vec![
            ("margin".to_owned(), -margin),
            ("margin".to_owned(), margin),
        ],
    };
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
            levels,
        })],
        sheets: vec![sheet],
        findings: Vec::new(),
    })
}
