//! The zones of the oven, each value a form of its own: an edit is an edit of the study.

use super::{Chosen, Shown};
use crate::pages::InStudy;
use crate::shell::Room;
use app::{OvenShown, Settings, Units, ZoneValue};
use book::exchange::Decimal;
use maud::{Markup, html};
use study::written::tables::{MOST_ZONES, ZONE};

/// The zones with their values to set, and the time in the oven.
pub(super) fn zones(page: &InStudy<'_>, here: &Shown<'_>, chosen: &Chosen<'_>) -> Markup {
    let oven = &here.oven;
    let own = whose(page, oven);
    let form = Form {
        page,
        chosen,
        treatment: own.then_some(here.treatment.id.as_str()),
    };
    let heads = oven.zones.first().map_or(&[][..], |z| &z.values);
    html! {
        p .second {
            (oven.name) ", " (oven.grade) @if !oven.source.is_empty() { ": " (oven.source) } ". "
            @if own { "A change holds for " (here.answer.name) " alone." }
            @else { "A change holds for the study’s oven, and so for every treatment without values of its own." }
        }
        (scope(page, here, own))
        div .scroll {
            table .zones {
                caption .unseen { "Zones of the oven" }
                thead { tr {
                    th scope="col" { "zone" }
                    th .figure scope="col" { "of the length, %" }
                    @if let Some(zone) = oven.zones.first().filter(|_| oven.zones.len() > 1) { th scope="col" { (zone.length.what) " " span .unit { (page.settings.units.unit(zone.length.unit)) } } }
                    @for v in heads { th scope="col" { (v.what) " " span .unit { (page.settings.units.unit(v.unit)) } } }
                    @if oven.runs { th .no-print scope="col" { span .unseen { "one more, one fewer" } } }
                } }
                tbody {
                    @for zone in &oven.zones {
                        tr {
                            th scope="row" { (zone.name) }
                            td .figure data-label="of the length, %" { (paper::number::fixed(zone.share_pct, 0)) }
                            @if oven.zones.len() > 1 { td data-label=(zone.length.what) { (form.value(&zone.name, &zone.length)) } }
                            @for v in &zone.values {
                                td data-label={ (v.what) ", " (page.settings.units.unit(v.unit)) } { (form.value(&zone.name, v)) }
                            }
                            @if oven.runs { td .number-of-zones .no-print { (form.number(&zone.name, oven.zones.len())) } }
                        }
                    }
                }
            }
        }
        (form.time(oven))
    }
}

/// Whether a change holds for the treatment alone: as asked, else where its values stand now.
pub(super) fn whose(page: &InStudy<'_>, oven: &OvenShown) -> bool {
    match page.query.maybe("whose") {
        Some("own") => true,
        Some("study") => false,
        _ => oven.own,
    }
}

fn scope(page: &InStudy<'_>, here: &Shown<'_>, own: bool) -> Markup {
    let kept = ["treatment", "beside"];
    html! {
        form .line .scope .no-print method="get" action=(Room::Bake.address(&page.view.thing)) {
            @for name in kept { @if let Some(value) = page.query.maybe(name) { input type="hidden" name=(name) value=(value); } }
            label { "change "
                select name="whose" data-goes {
                    option value="study" selected[!own] { "the study’s oven" }
                    option value="own" selected[own] { "the oven of " (here.answer.name) " only" }
                }
            }
            button data-without-script { "Show" }
        }
    }
}

struct Form<'a> {
    page: &'a InStudy<'a>,
    chosen: &'a Chosen<'a>,
    treatment: Option<&'a str>,
}

impl Form<'_> {
    /// What every form of this page carries: where the study stands and where to come back to.
    fn carried(&self) -> Markup {
        let beside = self.chosen.beside.map_or("none", |b| b.answer.id.as_str());
        html! {
            (crate::shell::seen(self.page.view))
            input type="hidden" name="room" value="bake";
            input type="hidden" name="q.treatment" value=(self.chosen.here.answer.id);
            input type="hidden" name="q.beside" value=(beside);
            @if let Some(whose) = self.page.query.maybe("whose") { input type="hidden" name="q.whose" value=(whose); }
            @if let Some(treatment) = self.treatment { input type="hidden" name="treatment" value=(treatment); }
        }
    }

    fn action(&self) -> String {
        format!("/study/{}/edit", self.page.view.thing)
    }

    fn value(&self, zone: &str, v: &ZoneValue) -> Markup {
        let units = self.page.settings.units;
        let unit = units.unit(v.unit);
        html! {
            form .cell method="post" action=(self.action()) {
                (self.carried())
                @if units != Units::Metric { input type="hidden" name="units" value=(units.word()); input type="hidden" name="metric" value=(v.unit); }
                input type="hidden" name="edit" value="set_zone";
                input type="hidden" name="zone" value=(zone);
                input type="hidden" name="field" value=(v.field);
                input name="value" inputmode="decimal" autocomplete="off" size="6" value=(plain(units.value(v.value, v.unit), self.page.settings))
                    data-cell={ (zone) "." (v.field) } aria-label={ (zone) ": " (v.what) ", " (unit) } title={ "allowed: " (allowed(v, units)) };
                button data-without-script { "Set" }
            }
        }
    }

    /// One zone more, one fewer.
    fn number(&self, zone: &str, count: usize) -> Markup {
        let deed = |edit: &str, word: &str, said: &str| {
            html! {
                form method="post" action=(self.action()) {
                    (self.carried())
                    input type="hidden" name="edit" value=(edit);
                    input type="hidden" name="zone" value=(zone);
                    button .quiet aria-label={ (said) " " (zone) } { (word) }
                }
            }
        };
        html! {
            @if count < MOST_ZONES { (deed("split_zone", "split", "split the zone")) }
            @if count > 1 { (deed("remove_zone", "take out", "take out the zone")) }
        }
    }

    /// The time in the oven: as set, or left to the target.
    fn time(&self, oven: &OvenShown) -> Markup {
        let value = oven
            .time_min
            .map_or_else(String::new, |t| plain(t, self.page.settings));
        html! {
            form .line .cell method="post" action=(self.action()) {
                (self.carried())
                input type="hidden" name="edit" value="set_field";
                input type="hidden" name="path" value="oven.time_min";
                label { "time in the oven, min "
                    input name="value" inputmode="decimal" autocomplete="off" size="6" value=(value) data-cell="oven.time_min" placeholder="open"; }
                span .second {
                    @if oven.time_min.is_some() { "set; empty it to seek the time that meets the target" }
                    @else { "open: the time that meets the target is sought" }
                }
                button data-without-script { "Set" }
            }
        }
    }
}

/// What a value may be, in the units read as well.
fn allowed(v: &ZoneValue, units: Units) -> String {
    study::edit::field_of(&ZONE, v.field)
        .map_or_else(|| v.allowed.clone(), |f| f.kind.words_in(units))
}

/// A value as this person writes it, at most three decimals.
pub(super) fn plain(value: f64, settings: &Settings) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    match settings.decimal {
        Decimal::Point => text.to_owned(),
        Decimal::Comma => text.replace('.', ","),
    }
}

/// Which way the water has out, in words.
pub(super) fn way_out(oven: &OvenShown) -> String {
    let open = oven.open_below_pct;
    if open < 0.5 {
        "The surface below is closed: all water leaves at the top and round the edges.".to_owned()
    } else {
        format!(
            "Vapour leaves at the top, and below through the {open:.0} % of the surface that is open."
        )
    }
}
