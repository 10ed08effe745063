//! What is timed: trays and pieces in the oven, and the dough that stands.

use super::field::Field;
use super::stations::At;
use bench::{Load, What};
use maud::{Markup, html};
use paper::number;

/// What stands in the place of a tray's name and moment until the script fills it in.
const UNFILLED: &str = "";

/// What a clock does when its time is over: kept on the device.
fn rings() -> Markup {
    html! {
        p .rings hidden {
            label { input type="checkbox" data-ring="sound"; "ring aloud" }
            label { input type="checkbox" data-ring="shake"; "shake" }
        }
    }
}

/// The trays that are in, each with its clock; those that came out.
pub(super) fn trays(at: &At<'_>) -> Markup {
    let state = &at.here.made.state;
    let planned = at.planned_min;
    let within = |l: &&Load| l.entered.is_some() && l.left.is_none();
    let mark = at.page.settings.decimal.mark().to_string();
    let told = |min: f64| number::fixed(min, 1).replace('.', &mark);
    html! {
        (rings())
        @if let Some(min) = planned { p .second { "Planned: " (told(min)) " min in the oven." } }
        div #trays {
            @for load in state.loads.iter().filter(within) {
                @if let Some(entered) = &load.entered { (tray(at, &load.tray, &entered.at, &entered.key)) }
            }
        }
        template #a-tray { (tray(at, UNFILLED, UNFILLED, UNFILLED)) }
        @for load in state.loads.iter().filter(|l| l.minutes.is_some()) {
            p .second { "tray " (load.tray) ": " (told(load.minutes.unwrap_or_default())) " min" }
        }
    }
}

fn tray(at: &At<'_>, name: &str, entered: &str, key: &str) -> Markup {
    html! {
        div .tray data-tray=(name) {
            span .word { "tray " span data-named="" { (name) } }
            span .timer { "in for " span data-since=(entered) { @if !entered.is_empty() { (at.page.settings.dates.written(entered)) } } @if let Some(min) = at.planned_min { (left(entered, min, key)) } }
            (Field::new(What::OvenOut).called("Out").of(name).form(&at.page))
        }
    }
}

/// The time that is left, for the script to count down: until so many minutes after a moment.
fn left(from: &str, minutes: f64, key: &str) -> Markup {
    html! { span .left data-from=(from) data-minutes=(minutes) data-rings=(key) {} }
}

/// The dough that stands: a clock from the moment that it began, and its minutes as an entry.
pub(super) fn stand(at: &At<'_>) -> Markup {
    let stands = at.here.made.state.stands.as_ref();
    let (from, key) = stands.map_or((UNFILLED, UNFILLED), |s| (s.at.as_str(), s.key.as_str()));
    html! {
        (rings())
        div .standing data-from=(from) data-rings=(key) {
            p .total { "stands for " span data-since=(from) { @if from.is_empty() { "–" } @else { (at.page.settings.dates.written(from)) } } (left(from, 0.0, key)) }
            p .line { label { "ring after, min" input type="number" inputmode="numeric" min="1" max="240" data-ring-after=""; } }
            // One of the two is up, in the same place.
            div .to-stand hidden[stands.is_some()] { (Field::new(What::StandBegun).called("It begins to stand").form(&at.page)) }
            form .enter method="post" action=(at.page.to) data-enter=(What::Stand.about().word) data-label=(What::Stand.about().label) data-stood="" hidden {
                (super::field::hidden(&at.page, What::Stand.about().word))
                input type="hidden" name="value" value="0" inputmode="decimal";
                button .main { "Stood long enough" }
                p .wrong role="alert" {}
            }
        }
    }
}
