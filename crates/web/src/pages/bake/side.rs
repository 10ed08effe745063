//! The oven seen from the side, with the pieces on their way through it; the borders between its zones are handles.

use super::Shown;
use crate::pages::InStudy;
use app::{OvenShown, ZoneShown};
use maud::{Markup, html};
use measure::Units;
use paper::chart::{OvenSide, OvenZone, oven_side};
use paper::ramp::CRUST_DELTA_E;
use paper::{Ramp, number};
use study::views::cross_section::CrossSection;

/// The ovens of the treatments that are looked at, each at the band time that is told.
pub(super) fn side(
    page: &InStudy<'_>,
    here: &Shown<'_>,
    beside: Option<&Shown<'_>>,
    own: bool,
) -> Markup {
    let units = page.settings.units;
    let all: Vec<&Shown> = std::iter::once(here).chain(beside).collect();
    html! {
        section .part .ovens aria-label="The oven from the side" {
            h2 { "The oven, from mouth to exit" }
            @for (i, s) in all.iter().enumerate() {
                @let movable = i == 0 && s.oven.runs;
                figure .oven data-treatment=[(movable && own).then_some(s.answer.id.as_str())] data-lengths=[movable.then(|| lengths(&s.oven))] {
                    figcaption { b { (s.answer.name) } ", " (number::fixed(s.answer.bake.time_min, 1)) " min" @if !s.oven.runs { "; time goes from left to right" } }
                    div .scroll { (drawn(s, units, movable)) }
                }
            }
            p .second {
                "To length; the pieces are drawn larger, in the colour of their crust on the way. "
                span .scripted { "Drag the border of a zone, or move it with the arrow keys." }
            }
        }
    }
}

/// What a script needs to write the lengths: of each zone its name, field and value.
fn lengths(oven: &OvenShown) -> String {
    let of = |z: &ZoneShown| serde_json::json!([z.name, z.length.field, z.length.value]);
    serde_json::Value::from(oven.zones.iter().map(of).collect::<Vec<_>>()).to_string()
}

fn drawn(s: &Shown<'_>, units: Units, movable: bool) -> Markup {
    let bake = &s.answer.bake;
    let field = s.field.as_ref();
    let degrees = |zone: &ZoneShown, of: &str| {
        let value = zone
            .values
            .iter()
            .find(|v| v.field == of)
            .map_or(f64::NAN, |v| v.value);
        format!(
            "{} {}",
            number::fixed(units.value(value, "°C"), 0),
            units.unit("°C")
        )
    };
    let mut end = 0.0;
    let zones = s.oven.zones.iter().map(|zone| {
        end += zone.share_pct / 100.0;
        let minutes = end * bake.time_min;
        let moisture = report::at(&bake.curve.time_min, &bake.curve.moisture_pct, minutes);
        OvenZone {
            name: zone.name.clone(),
            share: zone.share_pct,
            above: vec![
                format!("walls {}", degrees(zone, "radiating_c")),
                format!("air {}", degrees(zone, "air_c")),
            ],
            below: format!(
                "{} {}",
                if s.oven.runs { "band" } else { "tray" },
                degrees(zone, "band_c")
            ),
            at_end: vec![
                format!("{} min", number::fixed(minutes, 1)),
                format!("{} % water", number::fixed(moisture, 1)),
            ],
        }
    });
    let side = OvenSide {
        title: format!("The oven of {} from the side", s.answer.name),
        zones: zones.collect(),
        thickness_share: s.oven.thickness_mm / s.oven.length_mm,
        mesh: s.oven.open_below_pct >= 0.5,
        runs: s.oven.runs,
        movable,
    };
    oven_side(&side, |share| {
        let delta_e = browned(field, share * bake.time_min);
        Ramp::Crust.colour(delta_e / CRUST_DELTA_E)
    })
}

/// The colour difference of the top from the dough at a time.
fn browned(field: &CrossSection, minutes: f64) -> f64 {
    report::at(&field.time_min, &field.colour_delta_e, minutes)
}
