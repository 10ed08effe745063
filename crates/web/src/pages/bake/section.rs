//! The piece in cross-section: pictures that a script moves through time, and the whole bake in
//! still pictures for those who have none, and for paper.

use super::Shown;
use crate::pages::InStudy;
use crate::pages::study::encoded;
use app::OvenShown;
use maud::{Markup, html};
use measure::Units;
use paper::{Ramp, number};
use report::Shown as What;
use serde_json::{Value, json};
use study::views::cross_section::CrossSection;

/// Colours of a ramp that a script is given.
const COLOURS: usize = 64;

/// The cross-section of one treatment, or of two on the same scales.
pub(super) fn section(page: &InStudy<'_>, here: &Shown<'_>, beside: Option<&Shown<'_>>) -> Markup {
    let all: Vec<&Shown> = std::iter::once(here).chain(beside).collect();
    let units = page.settings.units;
    let fields: Vec<&CrossSection> = all.iter().map(|s| s.field.as_ref()).collect();
    let ranges: Vec<(What, (f64, f64))> = What::ALL
        .into_iter()
        .map(|w| (w, w.range(&fields)))
        .collect();
    html! {
        section .part .cross-section #section aria-label="The piece in cross-section"
            data-ramp-temperature=(ramp(Ramp::Temperature)) data-ramp-moisture=(ramp(Ramp::Moisture)) {
            h2 { "The piece in cross-section" }
            div .moving hidden {
                fieldset .what {
                    legend .unseen { "What the picture shows" }
                    @for (i, (w, (low, high))) in ranges.iter().enumerate() {
                        label { input type="radio" name="what" value=(w.key()) checked[i == 0]
                            data-low=(units.value(*low, w.unit())) data-high=(units.value(*high, w.unit())) data-places=(w.places()) data-unit=(units.unit(w.unit()))
                            data-ramp=(if w.ramp() == Ramp::Temperature { "temperature" } else { "moisture" }); (w.word()) }
                    }
                }
                div .pictures .two-up[all.len() > 1] { @for s in &all { (picture(page, s)) } }
                canvas .scale #scale role="img" aria-label="Scale of the picture" {}
                div .two { (readings(&all, units)) (words(&here.oven, units)) }
            }
            div .still { (words(&here.oven, units)) }
            div .still { @for s in &all { (still(s, &ranges, units)) } }
        }
    }
}

/// The slider that moves pictures and marks through the bake.
pub(super) fn clock() -> Markup {
    html! {
        div .clock #clock hidden {
            button #play type="button" aria-pressed="false" { "Play" }
            label .slider { span .unseen { "time in the bake, min" } input #time type="range" min="0" max="1000" step="1" value="0"; }
            output #moment for="time" {}
        }
    }
}

/// A canvas with what surrounds the piece above and below it.
fn picture(page: &InStudy<'_>, s: &Shown<'_>) -> Markup {
    let source = format!(
        "/study/{}/field?treatment={}",
        page.view.thing,
        encoded(&s.answer.id)
    );
    let around: Vec<Value> = s
        .oven
        .zones
        .iter()
        .map(|z| {
            let value = |field: &str| z.values.iter().find(|v| v.field == field).map_or(f64::NAN, |v| v.value);
            let units = page.settings.units;
            let degrees = units.unit("°C");
            let told = |field: &str| format!("{} {degrees}", number::fixed(units.value(value(field), "°C"), 0));
            json!({ "above": format!("air {}, walls {}", told("air_c"), told("radiating_c")), "below": format!("band {}", told("band_c")) })
        })
        .collect();
    html! {
        figure .picture data-field=(source) data-length-mm=(format!("{:.2}", s.oven.length_mm))
            data-thickness-mm=(format!("{:.2}", s.oven.thickness_mm)) data-bake-min=(format!("{:.4}", s.answer.bake.time_min))
            data-around=(Value::Array(around)) data-name=(s.answer.name) {
            figcaption { b { (s.answer.name) } " " span .second { (number::fixed(s.answer.bake.time_min, 1)) " min in the oven" } }
            p .around .above {}
            canvas .piece role="img" aria-label={ "The piece of " (s.answer.name) " in cross-section" } {}
            p .around .below {}
            canvas .through role="img" aria-label={ "The whole bake of " (s.answer.name) ": time across, height up" } {}
        }
    }
}

/// What can be read at the moment of the slider.
fn readings(all: &[&Shown<'_>], units: Units) -> Markup {
    const ROWS: [(&str, &str, &str); 9] = [
        ("top_c", "top", "°C"),
        ("centre_c", "centre", "°C"),
        ("bottom_c", "bottom", "°C"),
        ("mean_pct", "mean moisture", "%"),
        ("wettest_pct", "wettest place", "%"),
        ("wettest_mm", "it lies over the band", "mm"),
        ("driest_aw", "lowest water activity", ""),
        ("colour", "colour of the top, ΔE", ""),
        ("kill", "kill credited so far", "log₁₀"),
    ];
    html! {
        table .readings-now {
            caption .unseen { "At the moment of the slider" }
            thead { tr { th scope="col" { "now" } th scope="col" .unit {} @for s in all { th .figure scope="col" { (s.answer.name) } } } }
            tbody {
                @for (key, name, unit) in ROWS {
                    tr { th scope="row" { (name) } td .unit { (units.unit(unit)) } @for _ in all { td .figure data-reading=(key) {} } }
                }
            }
        }
    }
}

/// What the picture is and what it isn't.
fn words(oven: &OvenShown, units: Units) -> Markup {
    let mm =
        |v: f64, places: usize| number::fixed(units.value(v, "mm"), units.decimals("mm", places));
    let told = format!(
        "Drawn to its proportions: {} {unit} long and {} {unit} thick. Heat and water are worked out through the thickness, so the picture is the same along the whole length; what the edges add is taken into account as a whole (see below). Outline, docker holes and rise are not in the picture.",
        mm(oven.length_mm, 0),
        mm(oven.thickness_mm, 1),
        unit = units.unit("mm"),
    );
    html! { p .second .section-words { (told) } }
}

fn still(s: &Shown<'_>, ranges: &[(What, (f64, f64))], units: Units) -> Markup {
    html! {
        @for (what, range) in ranges.iter().filter(|(w, _)| *w != What::WaterActivity) {
            (report::through_time(&s.field, *what, &format!("{}, {}", s.answer.name, what.word()), s.answer.bake.time_min, *range, units))
        }
    }
}

/// The colours of a ramp, low to high, six hexadecimal digits each.
fn ramp(ramp: Ramp) -> String {
    let colours = (0..COLOURS).map(|i| ramp.colour(i as f64 / (COLOURS - 1) as f64).hex());
    colours
        .map(|c| c.trim_start_matches('#').to_owned())
        .collect()
}

/// A field with no more digits than can be seen.
pub(super) fn compact(field: &CrossSection) -> Value {
    let CrossSection {
        time_min,
        height_mm,
        temperature_c,
        moisture_pct,
        water_activity,
        colour_delta_e,
        kill_log10,
        zones,
        wettest_at_exit_mm,
        wettest_at_exit_pct,
    } = field;
    let row =
        |values: &[f64], digits: i32| values.iter().map(|v| cut(*v, digits)).collect::<Vec<f64>>();
    let rows = |all: &[Vec<f64>], digits| all.iter().map(|r| row(r, digits)).collect::<Vec<_>>();
    json!({
        "time_min": row(time_min, 3),
        "height_mm": row(height_mm, 3),
        "temperature_c": rows(temperature_c, 1),
        "moisture_pct": rows(moisture_pct, 2),
        "water_activity": rows(water_activity, 3),
        "colour_delta_e": row(colour_delta_e, 2),
        "kill_log10": row(kill_log10, 3),
        "zones": zones.iter().map(|(name, end)| (name, cut(*end, 3))).collect::<Vec<_>>(),
        "wettest_at_exit_mm": wettest_at_exit_mm.map(|v| cut(v, 2)),
        "wettest_at_exit_pct": wettest_at_exit_pct.map(|v| cut(v, 2)),
    })
}

fn cut(value: f64, digits: i32) -> f64 {
    let tens = 10f64.powi(digits);
    (value * tens).round() / tens
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_field_stays_small_on_the_wire() {
        let study = study::written::read(app::DEMONSTRATION).unwrap();
        let mut w = study::Workspace::new();
        let options = study::BakeOptions::BAKE_ONLY;
        let run = study::run(study.control(), &options, study::Sample::Centre, &mut w).unwrap();
        let field = study::views::cross_section::cross_section(&run, 60).unwrap();
        let text = compact(&field).to_string();
        assert!(text.len() < 1_000_000, "{} bytes", text.len());
        assert!(text.contains("kill_log10") && !text.contains("null"));
    }

    #[test]
    fn a_ramp_has_its_colours_in_order() {
        let text = ramp(Ramp::Temperature);
        assert_eq!(text.len(), 6 * COLOURS);
        assert_eq!(
            format!("#{}", &text[..6]),
            Ramp::Temperature.colour(0.0).hex()
        );
        assert_eq!(
            format!("#{}", &text[6 * (COLOURS - 1)..]),
            Ramp::Temperature.colour(1.0).hex()
        );
    }
}
