//! `hardtack study why`: what a figure's difference from the control is made of.

use super::find::find;
use crate::args::Why;
use crate::table::{WIDTH, wrap};
use crate::{End, files, tell};
use measure::rounding::signed;
use serde_json::{Value, json};
use std::sync::Arc;
use study::compare::bridge::{Bridge, Depth, Exchange};
use study::{BakeOptions, Compared, Figure, Study, Treatment, compare};
use unicode_width::UnicodeWidthStr;

/// Does what was asked.
pub fn run(args: &Why) -> anyhow::Result<End> {
    let figure = figure(&args.figure)?;
    let Some(study) = files::study_or_tell(&args.file)? else {
        return Ok(End::Bad);
    };
    let wanted: Vec<&Treatment> = match &args.treatment {
        Some(id) => vec![find(&study, id)?],
        None => study.treatments.iter().collect(),
    };
    let compared = compare(&study, &wanted, &BakeOptions::QUICK)?;
    let [control, others @ ..] = &compared[..] else {
        return Ok(End::Fine);
    };
    let bridges: Vec<(&Compared, Result<Bridge, String>)> = others
        .iter()
        .map(|c| Ok((c, bridge(&study, control, c, figure)?)))
        .collect::<anyhow::Result<_>>()?;
    if args.json {
        let told: Vec<Value> = bridges
            .iter()
            .map(|(c, bridge)| match bridge {
                Ok(bridge) => json!({ "id": c.answer.id, "name": c.answer.name, "bridge": bridge }),
                Err(why) => json!({ "id": c.answer.id, "name": c.answer.name, "none": why }),
            })
            .collect();
        tell::json(&json!({
            "hardtack": env!("CARGO_PKG_VERSION"), "figure": figure.about().key,
            "control": control.answer.id, "treatments": told,
        }))?;
        return Ok(End::Fine);
    }
    tell::out(&told(&study, control, figure, &bridges))?;
    Ok(End::Fine)
}

fn bridge(
    study: &Study,
    control: &Compared,
    c: &Compared,
    figure: Figure,
) -> anyhow::Result<Result<Bridge, String>> {
    let ends = [study.control(), find(study, &c.answer.id)?];
    let answers: [&Arc<_>; 2] = [&control.answer, &c.answer];
    let depth = Depth::of(figure);
    Ok(Exchange::new(ends, answers, depth, &BakeOptions::QUICK).bridge(figure))
}

/// The figure with a key or name, or an error with all of them.
fn figure(asked: &str) -> anyhow::Result<Figure> {
    let named = |f: &Figure| f.about().key == asked || f.about().name.eq_ignore_ascii_case(asked);
    Figure::ALL.into_iter().find(named).ok_or_else(|| {
        let all: Vec<String> = Figure::ALL
            .iter()
            .map(|f| format!("  {}  {}", f.about().key, f.about().name))
            .collect();
        anyhow::anyhow!(
            "there is no figure `{asked}`; give one of these keys or names:\n{}",
            all.join("\n")
        )
    })
}

fn told(
    study: &Study,
    control: &Compared,
    figure: Figure,
    bridges: &[(&Compared, Result<Bridge, String>)],
) -> String {
    let about = figure.about();
    let decimals = figure.decimals(&control.answer);
    let unit = about.unit.replace('¤', &study.currency);
    let fixed = |v: f64| format!("{v:.decimals$}").replace('-', "−");
    let mut text = tell::styled(tell::BOLD, about.name);
    if !unit.is_empty() {
        text.push_str(&format!(", {unit}"));
    }
    text.push('\n');
    if bridges.is_empty() {
        text.push_str("The study has no treatment beside its control.\n");
    }
    for (c, bridge) in bridges {
        text.push('\n');
        let bridge = match bridge {
            Ok(bridge) => bridge,
            Err(why) => {
                text.push_str(&wrap(&format!("{}: {why}.", c.answer.name), WIDTH, ""));
                continue;
            }
        };
        let mut rows = vec![(fixed(bridge.from), control.answer.name.clone())];
        let steps = bridge.shown(decimals, |v| v);
        rows.extend(
            steps
                .iter()
                .map(|(cause, v)| (signed(*v, decimals), (*cause).to_owned())),
        );
        rows.push((fixed(bridge.to), c.answer.name.clone()));
        let wide = rows.iter().map(|r| r.0.width()).max().unwrap_or(0);
        for (number, words) in rows {
            let pad = " ".repeat(wide - number.width());
            text.push_str(&format!("  {pad}{number}  {words}\n"));
        }
    }
    if bridges.iter().any(|(_, b)| b.is_ok()) {
        text.push('\n');
        text.push_str(&wrap(
            "Each cause is taken into the control in its turn, in every order where they are few, and the mean of what \
             it moves is told; together they are the difference.",
            WIDTH,
            "",
        ));
    }
    text
}
