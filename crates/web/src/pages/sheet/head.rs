//! What stands above the table: the question, the target, what amounts are told per, problems.

use super::frame::Frame;
use app::{Settings, StudyView};
use maud::{Markup, html};
use measure::Units;
use report::Per;
use study::Study;
use study::compare::Spread;
use study::compare::so_far::{self, Wording};
use study::written::Path;
use study::written::tables::TreatmentRow;

/// The word of a basis in addresses.
pub const fn word(per: Per) -> &'static str {
    match per {
        Per::Mix => "mix",
        Per::Flour => "flour",
        Per::DryMatter => "dry",
    }
}

/// The basis that a word names.
pub fn per_of(word: Option<&str>) -> Per {
    Per::ALL
        .into_iter()
        .find(|p| Some(self::word(*p)) == word)
        .unwrap_or_default()
}

/// With `live` the answer so far stands under the question.
pub fn head(f: &Frame, live: bool) -> Markup {
    let study = f.study;
    html! {
        div .sheet-head {
            div .asked-and-told {
                h1 .question { @if study.question.is_empty() { (study.name) } @else { (study.question) } }
                p .so-far tabindex="0" data-p="so-far" { @if live { (so_far(f.view, study, f.settings, None)) } }
            }
            div .choices {
                p .target {
                    button .quiet type="button" popovertarget="target" { "target: " (report::target_words(study)) }
                }
                nav .per aria-label="Amounts are told per cent of" {
                    span { "per cent of" }
                    @for per in Per::ALL {
                        a href=(address(f, per)) data-per=(word(per)) aria-current=[(per == f.per).then_some("true")] { (word(per)) }
                    }
                }
                div .tools.no-print {
                    button .quiet type="button" popovertarget="swap" { "Swap…" }
                    button .quiet type="button" popovertarget="add-treatment" { "Add treatment…" }
                    button .quiet .scripted type="button" popovertarget="paste" { "Paste a list…" }
                    @if let Some(control) = f.view.answers.worked.first() { a .quiet-way href=(crate::pages::weigh::address(&f.view.thing, &control.answer.id)) { "Weigh list…" } }
                    a .quiet-way href=(format!("/study/{}/export", f.view.thing)) { "Export as a file" }
                    button .quiet .scripted type="button" data-do="print" { "Print" }
                    button .quiet type="button" popovertarget="watch" { "Answers in sight…" }
                    button .quiet .scripted type="button" data-do="fold" aria-pressed="false" { "Fold small lines" }
                    button .quiet .scripted type="button" data-do="sure" aria-pressed="false" { "How sure" }
                    button .quiet type="button" popovertarget="keys" { "Keys" }
                }
            }
        }
    }
}

fn address(f: &Frame, per: Per) -> String {
    let rows = if f.extra.is_empty() {
        String::new()
    } else {
        format!("&rows={}", f.extra.join(","))
    };
    format!("{}?per={}{rows}", f.path(), word(per))
}

/// The answer so far, from the figures that stay in sight; with `spreads`, in the order of the answers, a difference that
/// is smaller than what isn't known carries its limits.
pub fn so_far(
    view: &StudyView,
    study: &Study,
    settings: &Settings,
    spreads: Option<&[Spread]>,
) -> Markup {
    let wording = Wording {
        units: settings.units,
        currency: &study.currency,
        mark: settings.decimal.mark(),
    };
    let mut compared = view.answers.compared.clone();
    for (c, spread) in compared.iter_mut().zip(spreads.unwrap_or_default()) {
        c.spread = Some(spread.clone());
    }
    let told = so_far::so_far(&compared, &settings.watched(), &wording);
    html! { @if let Some(told) = told { b { "So far: " } (told) } }
}

/// What the sheet itself has to say of its state, for those who hear the page.
pub fn state(view: &StudyView, settings: &Settings) -> Markup {
    html! {
        @match &view.draft {
            Some(draft) => { "draft kept " (settings.dates.written(&draft.when)) }
            None => { "saved as revision " (view.newest.number) }
        }
    }
}

/// The name of the treatment that a problem is about, when it is about one.
pub fn whose<'v>(view: &'v StudyView, path: &Path) -> Option<&'v str> {
    let treatment = view.written.treatment(path.treatment()?)?;
    treatment.get(TreatmentRow::name)
}

/// What keeps the study from being worked out, or what is worked out in proportion.
pub fn problems(view: &StudyView, units: Units) -> Markup {
    html! {
        @if !view.problems.is_empty() {
            div .problems role="status" {
                p { b { @if view.study.is_some() { "Worked out in proportion for now" } @else { "Not worked out yet" } } }
                ul { @for p in &view.problems {
                    @let words = p.words(units);
                    li { @if let Some(name) = whose(view, &p.path) { b { (name) } ": " } (words.message) @if !words.allowed.is_empty() { "; allowed: " (words.allowed) } @if !words.way_out.is_empty() { ". " (words.way_out) } }
                } }
            }
        }
        @for failed in &view.answers.failed { p .problems { b { (failed.name) } ": " (failed.why) } }
    }
}
