//! The oven seen from the side, with the pieces on their way through it; the borders between its zones are handles.

use super::Shown;
use crate::pages::InStudy;
use app::{OvenShown, ZoneShown};
use maud::{Markup, html};
use measure::Units;
use paper::chart::{OvenDeed, OvenSide, OvenZone, oven_side};
use paper::ramp::CRUST_DELTA_E;
use paper::{Ramp, number};
use study::views::cross_section::CrossSection;
use study::views::knock_on::KnockOn;

/// Share of the length from which a zone's drawing has room for what can be done to it, %.
const ROOM_FOR_DEEDS_PCT: f64 = 14.0;

/// The ovens of the treatments that are looked at, each at the band time that is told.
pub(super) fn side(
    page: &InStudy<'_>,
    here: &Shown<'_>,
    beside: Option<&Shown<'_>>,
    own: bool,
) -> Markup {
    let units = page.settings.units;
    html! {
        section .part .ovens aria-label="The oven from the side" data-would=(format!("/study/{}/bake/would", page.view.thing)) {
            h2 { "The oven, from mouth to exit" }
            (figure(here, units, Some(own), None))
            @if let Some(beside) = beside { (figure(beside, units, None, None)) }
            p .second {
                "To length; the pieces are drawn larger, in the colour of their crust on the way. "
                span .scripted { "Drag the border of a zone, or move it with the arrow keys: the answers move with it. Split a zone to set its two halves apart." }
            }
        }
    }
}

/// The oven of a treatment with what comes of it. With `own` its zones can be moved, for the treatment alone or for the
/// study's oven; `was` is what came of it before.
pub(super) fn figure(
    s: &Shown<'_>,
    units: Units,
    own: Option<bool>,
    was: Option<&KnockOn>,
) -> Markup {
    let own = own.filter(|_| s.oven.runs);
    html! {
        figure .oven data-of=(s.answer.id) data-treatment=[(own == Some(true)).then_some(s.answer.id.as_str())] data-lengths=[own.map(|_| lengths(&s.oven))] {
            figcaption { b { (s.answer.name) } @if !s.oven.runs { "; time goes from left to right" } }
            (answers(s, units, was))
            div .scroll { (drawn(s, units, own.is_some())) }
        }
    }
}

/// What binds and what comes of it, in a line.
fn answers(s: &Shown<'_>, units: Units, was: Option<&KnockOn>) -> Markup {
    let k = s.answer;
    let told = |of: &KnockOn| {
        let fixed = number::fixed;
        [
            fixed(of.bake.time_min, 1),
            fixed(of.bake.exit_moisture_pct, 1),
            fixed(
                units.value(of.line.output_kg_per_h, "kg/h"),
                units.decimals("kg/h", 0),
            ),
        ]
    };
    let now = told(k);
    let before = was.map(told);
    let figure = |i: usize, unit: &str| {
        html! {
            b { (now[i]) } " " (unit)
            @if let Some(before) = before.as_ref().map(|b| &b[i]).filter(|b| **b != now[i]) { span .before { " was " (before) } }
        }
    };
    html! {
        p .oven-told role="status" {
            span data-told="minutes" { (figure(0, "min")) } " in the oven, "
            span data-told="moisture" { (figure(1, "%")) } " water at its exit, "
            span data-told="output" { (figure(2, &units.unit("kg/h"))) } " saleable. "
            span data-told="binds" {
                @match &k.bake.limit {
                    Some(limit) => { "The target isn’t reached: " (limit) "." }
                    None => { "What limits the line: " (k.line.bottleneck) "." }
                }
            }
            " " (report::passes_last(&s.field, k.bake.exit_moisture_pct, units))
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
        deeds: if movable { deeds(&s.oven) } else { Vec::new() },
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

/// What can be done to each zone, where the drawing has room for it.
fn deeds(oven: &OvenShown) -> Vec<Vec<OvenDeed>> {
    let several = oven.zones.len() > 1;
    let of = |zone: &ZoneShown| {
        if zone.share_pct < ROOM_FOR_DEEDS_PCT {
            return Vec::new();
        }
        let deed = |word: &str, key: &str, said: String| OvenDeed {
            word: word.to_owned(),
            key: key.to_owned(),
            about: zone.name.clone(),
            said,
        };
        let mut all = vec![deed(
            "split",
            "split_zone",
            format!("Split the zone {} in two", zone.name),
        )];
        if several {
            all.push(deed(
                "take out",
                "remove_zone",
                format!(
                    "Take out the zone {}; its neighbour takes its length",
                    zone.name
                ),
            ));
        }
        all
    };
    oven.zones.iter().map(of).collect()
}
