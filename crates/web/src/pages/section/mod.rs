//! A section of a study such as its piece or its pack, set in one form: what was typed stays typed until it is taken; a
//! refusal stands beside the field that it is about.

mod doing;
mod typed;

pub(crate) use doing::{Doing, is_own};
pub(crate) use typed::{FieldOf, Maker, Typed, one, place};

use super::InStudy;
use crate::shell::Room;
use app::{SectionWritten, Settings, Units};
use book::exchange::Decimal;
use maud::{Markup, html};
use std::collections::BTreeMap;
use std::fmt::Write;

/// A field of the form.
pub(crate) struct Field {
    /// Its path below the section.
    pub path: &'static str,
    /// What it is.
    pub name: &'static str,
    /// Its unit; empty for a text.
    pub unit: &'static str,
    /// The choices that have it, such as an outline; empty for any.
    pub of: &'static [&'static str],
    /// What holds when it is empty; none where it has to be filled in.
    pub empty: Option<&'static str>,
    /// Whether it holds a text rather than one number.
    pub text: bool,
    /// A word beside it.
    pub hint: &'static str,
}

/// A number with its unit.
pub(crate) const fn field(
    path: &'static str,
    name: &'static str,
    unit: &'static str,
    of: &'static [&'static str],
    empty: Option<&'static str>,
) -> Field {
    Field {
        path,
        name,
        unit,
        of,
        empty,
        text: false,
        hint: "",
    }
}

/// A section of a treatment or of the study, as a page sets it.
pub(crate) struct Set<'a> {
    /// The section's key, e.g. `piece`.
    pub section: &'static str,
    /// The page.
    pub room: Room,
    /// The treatment that the page is about.
    pub id: &'a str,
    /// Its name.
    pub name: &'a str,
    /// Whether a change holds for it alone.
    pub own: bool,
    /// Whether it writes values of its own now.
    pub any_own: bool,
    /// Parts of the address that come back after a change.
    pub kept: &'static [&'static str],
}

impl Set<'_> {
    /// What every form of the page carries: where the study stands and where to come back to.
    pub(crate) fn carried(&self, page: &InStudy<'_>) -> Markup {
        html! {
            input type="hidden" name="base" value=(page.view.base);
            input type="hidden" name="room" value=(self.room.word());
            input type="hidden" name="treatment" value=(self.id);
            input type="hidden" name="whose" value=(if self.own { "own" } else { "study" });
            input type="hidden" name="q.treatment" value=(self.id);
            @for kept in self.kept {
                @if let Some(value) = page.query.maybe(kept) { input type="hidden" name={ "q." (kept) } value=(value); }
            }
        }
    }

    /// Whose section a change is for, and the way back to the study's.
    pub(crate) fn scope(&self, page: &InStudy<'_>) -> Markup {
        let (section, name) = (self.section, self.name);
        html! {
            div .scope-line .no-print {
                form .line .scope method="get" action=(self.room.address(&page.view.thing)) {
                    input type="hidden" name="treatment" value=(self.id);
                    @if let Some(beside) = page.query.maybe("beside") { input type="hidden" name="beside" value=(beside); }
                    label { "change "
                        select name="whose" data-goes {
                            option value="study" selected[!self.own] { "the study’s " (section) }
                            option value="own" selected[self.own] { "the " (section) " of " (name) " only" }
                        }
                    }
                    button data-without-script { "Show" }
                }
                @if self.any_own {
                    form method="post" action={ "/study/" (page.view.thing) "/edit" } {
                        input type="hidden" name="base" value=(page.view.base);
                        input type="hidden" name="room" value=(self.room.word());
                        input type="hidden" name="q.treatment" value=(self.id);
                        input type="hidden" name="edit" value="set_field";
                        input type="hidden" name="treatment" value=(self.id);
                        input type="hidden" name="path" value=(section);
                        input type="hidden" name="value" value="";
                        button { "Back to the study’s " (section) }
                    }
                }
            }
            p .second {
                @if self.own { "A change holds for " (name) " alone." }
                @else { "A change holds for every treatment without a " (section) " of its own."
                    @if self.any_own { " " (name) " has one: what is changed here may not show in it." } }
            }
        }
    }
}

/// What stands in each field, and what was refused.
pub(crate) struct Filled<'a> {
    values: BTreeMap<&'static str, String>,
    typed: Option<&'a Typed>,
}

impl<'a> Filled<'a> {
    /// As typed, else as written, else as an idea of what may stand there.
    pub(crate) fn of<'f>(
        fields: impl Iterator<Item = &'f Field>,
        words: &[&'static str],
        written: &SectionWritten,
        ideas: &BTreeMap<&'static str, String>,
        typed: Option<&'a Typed>,
        settings: &Settings,
    ) -> Self {
        let all = fields
            .map(|f| (f.path, f.unit, f.text))
            .chain(words.iter().map(|w| (*w, "", true)));
        let values = all
            .map(|(path, unit, is_text)| {
                let was = written.values.get(path);
                let was = was.map(|v| {
                    if is_text {
                        v.clone()
                    } else {
                        shown_as(v, unit, settings)
                    }
                });
                let text = typed
                    .and_then(|t| t.texts.get(path).cloned())
                    .or(was)
                    .or_else(|| ideas.get(path).cloned());
                (path, text.unwrap_or_default())
            })
            .collect();
        Self { values, typed }
    }

    /// What was refused of a field; of the form as a whole for an empty path.
    pub(crate) fn error(&self, path: &str) -> Option<&str> {
        self.typed?.errors.get(path).map(String::as_str)
    }

    /// A field with one of some words.
    pub(crate) fn choice(&self, path: &'static str, name: &str, words: &[(&str, &str)]) -> Markup {
        let now = self.values.get(path).map_or("", String::as_str);
        let bad = self.error(path).map(|_| "true");
        let told = bad.map(|_| format!("refused-{path}"));
        html! {
            div .measure {
                label {
                    span .name { (name) }
                    select name=(path) data-set aria-invalid=[bad] aria-describedby=[told.as_deref()] {
                        @for (word, told) in words { option value=(word) selected[now == *word] { (told) } }
                    }
                }
                (self.refusal(path))
            }
        }
    }

    /// A field with a number or a text.
    pub(crate) fn input(&self, f: &Field, settings: &Settings) -> Markup {
        let mut class = String::from("measure");
        if !f.of.is_empty() {
            class.push_str(" only");
        }
        for of in f.of {
            let _ = write!(class, " for-{of}");
        }
        let long = f.text && f.empty.is_none();
        if long {
            class.push_str(" text");
        }
        let value = self.values.get(f.path).map_or("", String::as_str);
        let bad = self.error(f.path).map(|_| "true");
        let told = bad.map(|_| format!("refused-{}", f.path));
        html! {
            div class=(class) {
                label {
                    span .name { (f.name) @if !f.unit.is_empty() { " " span .unit { (settings.units.unit(f.unit)) } } }
                    @if long {
                        textarea name=(f.path) rows="3" spellcheck="false" autocomplete="off" data-set aria-invalid=[bad] aria-describedby=[told.as_deref()] { (value) }
                    } @else {
                        input name=(f.path) inputmode=[(!f.text).then_some("decimal")] autocomplete="off" size="7" value=(value) data-set placeholder=[f.empty.map(|e| shown_as(e, f.unit, settings))] aria-invalid=[bad] aria-describedby=[told.as_deref()];
                    }
                }
                @if !f.hint.is_empty() { p .second { (f.hint) } }
                (self.refusal(f.path))
            }
        }
    }

    fn refusal(&self, path: &str) -> Markup {
        html! { @if let Some(error) = self.error(path) { p .refused role="alert" id={ "refused-" (path) } { (error) } } }
    }
}

/// A number as this person writes it, in the unit that they read.
pub(crate) fn shown_as(number: &str, metric: &str, settings: &Settings) -> String {
    let units = settings.units;
    let shown = match number.parse::<f64>() {
        Ok(value) if units.unit(metric) != metric => {
            let text = format!("{:.4}", units.value(value, metric));
            text.trim_end_matches('0').trim_end_matches('.').to_owned()
        }
        _ => number.to_owned(),
    };
    match settings.decimal {
        Decimal::Point => shown,
        Decimal::Comma => shown.replace('.', ","),
    }
}

/// A value with its unit, as this person reads it.
pub(crate) fn told(value: f64, metric: &str, places: usize, units: Units) -> String {
    let number = paper::number::fixed(units.value(value, metric), units.decimals(metric, places));
    format!("{number} {}", units.unit(metric))
}
