//! The titration: the total, what is believed of the need as a strip, the doses for a tap, how the dough feels.

use super::field::Field;
use super::stations::At;
use bench::{Belief, NeedOfBatch, What, masses_kg, need_of, tap_doses_g};
use maud::{Markup, html};
use paper::number;

/// Width and height of the strip, in its own units.
const WIDE: f64 = 600.0;
const HIGH: f64 = 114.0;
/// Where the doses stand in it, where the belief.
const DOSES_AT: f64 = 78.0;
const BELIEF_AT: f64 = 48.0;
/// What is shown beyond the widest interval, as a share of it.
const AROUND: f64 = 0.15;

/// The station.
pub(super) fn water(at: &At<'_>) -> Markup {
    let (here, page) = (at.here, &at.page);
    let (batch, water) = (&here.made.batch, &here.made.state.water);
    let mark = page.settings.decimal.mark().to_string();
    let told = |x: f64, places| number::fixed(x, places).replace('.', &mark);
    let need = here
        .belief
        .as_ref()
        .map(|b| (need_of(batch, &here.made.state, b), b));
    let tap = |g: f64| (number::plain(g), format!("+{} g", number::plain(g)));
    let taps: Vec<(String, String)> = tap_doses_g(batch).map(tap).to_vec();
    let advised = here.advice.as_ref().map(|advice| {
        let (value, shown) = tap(advice.add_g());
        (value, format!("{shown}, as advised"))
    });
    let masses: serde_json::Value = masses_kg().into_iter().collect();
    let feel: Vec<(String, String)> = (1..=5).map(|n| (n.to_string(), n.to_string())).collect();
    html! {
        p .total { output data-sum="dose" data-units=(masses.to_string()) data-kept=(water.total_kg) data-places="3" { (told(water.total_kg, 3)) } " kg of water"
            @if let Some((mean, (low, high))) = need.and_then(|(n, _)| n.kg) {
                " of about " (told(mean, 3)) " (" (told(low, 3)) " to " (told(high, 3)) ")"
            }
        }
        p .second {
            @if let Some(dry_kg) = batch.dry_mix_kg.filter(|kg| *kg > 0.0) {
                output data-ratio="dose" data-to=(dry_kg / 100.0) data-places="1" { (told(water.per_100kg.unwrap_or(0.0), 1)) } " kg per 100 kg of dry mix"
                @if let Some((NeedOfBatch { kg: Some((mean, _)), .. }, _)) = need {
                    ", " output data-ratio="dose" data-to=(mean / 100.0) data-places="0" { (told(100.0 * water.total_kg / mean, 0)) } " % of the need"
                }
                ". "
            }
            @if let Some((NeedOfBatch { per_100kg: (mean, (low, high)), .. }, belief)) = need {
                "The need is believed to be " (told(mean, 1)) " (" (told(low, 1)) " to " (told(high, 1)) ")"
                @if belief.taken > 0 { ", learned from " (belief.taken) @if belief.taken == 1 { " batch" } @else { " batches" } } "."
            }
        }
        @if let Some((_, belief)) = need { (strip(at, belief)) }
        // What is advised, or that nothing is any more, always takes the same place: nothing moves under a finger.
        div #advised { @match (&water.right, advised) {
            (Some(right), _) => p .second #right { "The dough was called right by " (right.who) ", " (page.settings.dates.written(&right.at)) "." },
            (None, Some(advised)) => (Field::new(What::Dose).called("water, as advised").usually_in("g").taps(page, &[advised])),
            (None, None) => p .second { "No dose is advised." },
        } }
        (Field::new(What::Dose).usually_in("g").taps(page, &taps))
        div .feel { span { "crumbly" } (Field::new(What::Feel).taps(page, &feel)) span { "sticky" } }
        @if water.right.is_none() { (Field::new(What::DoughRight).called("This dough is right").form(page)) }
        @if let Some(last) = water.doses.last().filter(|_| water.right.is_none()) { p .timer { "stands since the last dose: " span data-since=(last.told.at) { (page.settings.dates.written(&last.told.at)) } } }
    }
}

/// What is believed of the need, and the water in the dough, on one scale: the belief before any batch as a hairline, the
/// learned one as a band, each dose as a dot at all the water then. What waits on the device, the script puts in.
fn strip(at: &At<'_>, belief: &Belief) -> Markup {
    let batch = &at.here.made.batch;
    let water = &at.here.made.state.water;
    let mark = at.page.settings.decimal.mark().to_string();
    let told = |x: f64| number::fixed(x, 1).replace('.', &mark);
    let [prior, learned] = belief.intervals();
    let doses: Vec<f64> = water.doses.iter().filter_map(|d| d.per_100kg).collect();
    let next = at.here.advice.as_ref().map(|a| a.next);
    let all = || doses.iter().copied().chain(next);
    let low = all().fold(prior.0.min(learned.0), f64::min);
    let high = all().fold(prior.1.max(learned.1), f64::max);
    let around = AROUND * (high - low).max(1.0);
    let (low, high) = ((low - around).max(0.0), high + around);
    let x = |per_100kg: f64| WIDE * (per_100kg - low) / (high - low);
    let mean = belief.learned.mean_kg;
    let words = format!(
        "Kilograms of water per 100 kg of dry mix. Believed before any batch: {} ({} to {}). Now: {} ({} to {}). Doses so far: {}.",
        told(belief.prior.mean_kg),
        told(prior.0),
        told(prior.1),
        told(mean),
        told(learned.0),
        told(learned.1),
        if doses.is_empty() {
            "none".to_owned()
        } else {
            doses
                .iter()
                .map(|d| told(*d))
                .collect::<Vec<_>>()
                .join(", ")
        },
    );
    html! {
        svg .strip viewBox=(format!("0 0 {WIDE} {HIGH}")) role="img" aria-label=(words) data-low=(low) data-high=(high) data-wide=(WIDE) data-dry-kg=[batch.dry_mix_kg] {
            rect .learned x=(x(learned.0)) y=(BELIEF_AT - 14.0) width=(x(learned.1) - x(learned.0)) height="28" {}
            line .mean x1=(x(mean)) x2=(x(mean)) y1=(BELIEF_AT - 18.0) y2=(BELIEF_AT + 18.0) {}
            line .prior x1=(x(prior.0)) x2=(x(prior.1)) y1=(BELIEF_AT) y2=(BELIEF_AT) {}
            @for end in [prior.0, prior.1, belief.prior.mean_kg] { line .prior x1=(x(end)) x2=(x(end)) y1=(BELIEF_AT - 6.0) y2=(BELIEF_AT + 6.0) {} }
            line .axis x1="0" x2=(WIDE) y1=(DOSES_AT) y2=(DOSES_AT) {}
            @for dose in &doses { circle cx=(x(*dose)) cy=(DOSES_AT) r="6" {} }
            @if let Some(next) = next { circle .next cx=(x(next)) cy=(DOSES_AT) r="6" {} }
            text x="2" y=(DOSES_AT + 32.0) { (told(low)) }
            text x=(x(mean)) y="22" text-anchor="middle" { (told(mean)) }
            text x=(WIDE - 2.0) y=(DOSES_AT + 32.0) text-anchor="end" { (told(high)) " kg per 100 kg of dry mix" }
        }
        p .key { "Band: what is believed now. Hairline: before any batch. Dots: water in this dough" @if next.is_some() { "; the ring: with the dose advised" } "." }
    }
}
