//! The line: stations in one scale, oven output against dough water, where the mass goes, and what
//! it costs.

use super::chosen::{choice, chosen, nothing};
use super::{InStudy, troubles};
use crate::shell::Room;
use ::study::Compared;
use ::study::views::knock_on::KnockOn;
use app::AppError;
use maud::{Markup, html};
use measure::rounding::{self, decimals_for};
use measure::{Finding, Units};
use paper::number;
use paper::parts::findings;
use report::Curve;
use serde_json::{Value, json};

/// What stands inside `<main>`.
pub(crate) async fn body(page: &InStudy<'_>) -> Result<Markup, AppError> {
    let Some(chosen) = chosen(page)? else {
        return Ok(html! { h1 { "Line" } (troubles(page)) (nothing(page, "line")) });
    };
    let compared = &page.view.answers.compared;
    let here = &chosen.here.answer;
    let units = page.settings.units;
    let reach = report::largest_capacity(compared);
    let curves = curves(page).await?;
    Ok(html! {
        h1 { "Line" }
        (troubles(page))
        (choice(page, &chosen, Room::Line, false))
        (head(here, chosen.beside, units))
        section .part {
            h2 { "Stations" }
            (report::station_bars(here, &format!("What each station could give alone: {}", here.name), reach, units))
            (report::stations_in_words(here, units))
            @if compared.len() > 1 {
                h3 { "The other treatments on the same scale" }
                div .figures .small-lines {
                    @for c in compared.iter().filter(|c| c.answer.id != here.id) { (report::station_bars(&c.answer, &c.answer.name, reach, units)) }
                }
                div .beside-each-other { (report::stations_beside(compared, units)) }
            }
        }
        section .part {
            h2 { "Dough water and the oven" }
            (report::water_curve_with(compared, &curves, Some(&here.id), units))
        }
        section .part {
            h2 { "Water, heat and losses" }
            (losses(page, here))
            (report::mass_ribbon(here, units))
        }
        section .part {
            h2 { "Cost" }
            (report::cost_build_up(compared, units))
            (unknown_prices(compared))
        }
        p .no-print { "Weight and moisture checks across the band belong to a batch: begin one " a href=(format!("{}#alone", Room::Trials.address(&page.view.thing))) { "on its own" } ", or take one of a trial, and enter them at its station " em { "after" } "." }
        (findings(&of_the_line(here)))
    })
}

fn head(k: &KnockOn, beside: Option<&Compared>, units: Units) -> Markup {
    let places = decimals_for(units.value(k.line.output_kg_per_h, "kg/h"), 0);
    let told = |kg_per_h: f64| number::fixed(units.value(kg_per_h, "kg/h"), places);
    let unit = units.unit("kg/h");
    // By the numbers as they are shown.
    let shown = |kg_per_h: f64| units.value(kg_per_h, "kg/h");
    let gap = beside.map(|c| {
        let (here, there) = (k.line.output_kg_per_h, c.answer.line.output_kg_per_h);
        let gap = rounding::shown_gap(shown(here), shown(there), places);
        (rounding::signed(gap, places), &c.answer.name)
    });
    html! {
        p .bake-time {
            span .name { (k.name) } " "
            b { (told(k.line.output_kg_per_h)) " " (unit) }
            @if let Some((text, name)) = gap {
                " " span .second { (text) " " (unit) " against " (name) }
            }
        }
        p .words {
            "Saleable, " (number::fixed(k.line.output_pieces_per_h, 0)) " whole pieces an hour. The "
            (k.line.bottleneck) " limits the line"
            @if let Some(oven) = k.line.oven_kg_per_h { "; the oven alone could give " (told(oven)) " " (unit) }
            "."
        }
    }
}

/// The curve of every treatment that has one.
async fn curves(page: &InStudy<'_>) -> Result<Vec<Curve>, AppError> {
    let mut curves = Vec::new();
    for c in &page.view.answers.compared {
        match page.app.water_curve(page.view, &c.answer.id).await {
            Ok(points) => curves.push(Curve {
                id: c.answer.id.clone(),
                points: points.to_vec(),
            }),
            // A treatment at the edge of what can be worked out has a place but no curve.
            Err(AppError::Value { .. }) => {}
            Err(error) => return Err(error),
        }
    }
    Ok(curves)
}

/// What leaves the line otherwise than in a pack, and what it takes.
fn losses(page: &InStudy<'_>, k: &KnockOn) -> Markup {
    let l = &k.line;
    let rework = page
        .view
        .study
        .as_deref()
        .and_then(|s| s.treatment(&k.id))
        .map(|t| {
            (
                100.0 * t.setting.line.breakage,
                100.0 * t.setting.line.rework_cap,
            )
        });
    let units = page.settings.units;
    let row = |name: &str, value: f64, places: usize, unit: &str, words: String| {
        let value = units.value(value, unit);
        let places = match unit {
            "kg/h" => decimals_for(value, places),
            _ => units.decimals(unit, places),
        };
        let unit = units.unit(unit);
        html! { tr {
            th scope="row" { (name) } td .figure { (number::fixed(value, places)) } td .unit { (unit) } td .words { (words) }
        } }
    };
    let (breakage, cap) = rework.unwrap_or((f64::NAN, f64::NAN));
    let efficiency = 100.0 * l.heat_kwh_per_kg / l.fuel_kwh_per_kg;
    html! {
        table .losses {
            caption .unseen { "Water, heat and losses" }
            tbody {
                (row("water to evaporate", l.evaporation_kg_per_h, 0, "kg/h", format!("{} {}", number::fixed(k.bake.water_removed_kg_per_kg_baked, 3), units.unit("kg per kg packed"))))
                (row("heat taken up", l.heat_kwh_per_kg, 3, "kWh/kg baked", "warming the piece and evaporating its water".to_owned()))
                (row("fuel or current", l.fuel_kwh_per_kg, 3, "kWh/kg baked", format!("at {} % of the fuel’s heat in use", number::fixed(efficiency, 0))))
                (row("dough mixed", l.dough_kg_per_h, 0, "kg/h", "rework in it".to_owned()))
                (row("rework", l.rework_pct, 0, "% of the dough", format!("at most {} % may go back", number::fixed(cap, 0))))
                (row("trim left over", l.trim_left_over_kg_per_h, 0, "kg dough/h", "above what may go back".to_owned()))
                (row("broken between oven and pack", l.broken_kg_per_h, 1, "kg/h", format!("{} % of the baked pieces", number::fixed(breakage, 1))))
                (row("given away above the label", l.giveaway_kg_per_h, 1, "kg/h", String::new()))
            }
        }
    }
}

fn unknown_prices(compared: &[Compared]) -> Markup {
    let mut names: Vec<&str> = compared
        .iter()
        .flat_map(|c| &c.answer.cost.unknown_prices)
        .map(String::as_str)
        .collect();
    names.sort_unstable();
    names.dedup();
    html! { @if !names.is_empty() { p .second { "No price is known for " (names.join(", ")) ": what they cost is in no sum." } } }
}

fn of_the_line(k: &KnockOn) -> Vec<Finding> {
    k.findings
        .iter()
        .filter(|f| f.about.starts_with("line") || f.about.starts_with("cost"))
        .cloned()
        .collect()
}

/// The same as JSON.
pub(crate) async fn json(page: &InStudy<'_>) -> Result<Value, AppError> {
    let mut treatments = Vec::new();
    for c in &page.view.answers.compared {
        let curve = page.app.water_curve(page.view, &c.answer.id).await.ok();
        treatments.push(json!({
            "id": c.answer.id,
            "name": c.answer.name,
            "line": c.answer.line,
            "cost": c.answer.cost,
            "mass": c.answer.piece.mass,
            "against_dough_water": curve.as_deref(),
        }));
    }
    Ok(json!({ "treatments": treatments }))
}
