//! One field or one tap of a station, as a form that works by itself and that the script takes over.

use app::Settings;
use bench::{Nature, What, in_unit, units_of};
use maud::{Markup, html};
use paper::number;

/// What every form of a batch's page has in common.
pub(crate) struct Page<'a> {
    /// Where its forms are sent.
    pub(crate) to: String,
    /// Whose name stands on what is entered.
    pub(crate) who: &'a str,
    /// Decimal mark.
    pub(crate) settings: &'a Settings,
    /// What was typed last and couldn't be kept, and why.
    pub(crate) wrong: Option<&'a Wrong>,
}

/// What was typed and not kept: nothing of it is lost.
#[derive(Clone, Debug)]
pub(crate) struct Wrong {
    pub(crate) what: What,
    pub(crate) of: String,
    pub(crate) strikes: String,
    pub(crate) value: String,
    pub(crate) unit: String,
    pub(crate) why: String,
    /// In words, with the way out.
    pub(crate) told: String,
    /// Whether a word why is all that is missing.
    pub(crate) confirm: bool,
}

/// One thing to enter.
#[derive(Clone, Debug)]
pub(crate) struct Field {
    what: What,
    label: String,
    unit: String,
    limits: Option<(f64, f64)>,
    of: Of,
    on: Option<(&'static str, usize)>,
    first_unit: Option<&'static str>,
    /// Values to choose from, beside what is typed.
    likely: Vec<String>,
}

/// Which one it is about.
#[derive(Clone, Debug)]
enum Of {
    None,
    /// Known from where it stands.
    Is(String),
    /// Typed, with what is likely.
    Typed(String),
    /// Typed, with the next number: the script counts on while rows wait.
    Next(usize),
    /// One of a list: what is kept, and what is shown.
    Among(Vec<(String, String)>),
}

impl Field {
    pub(crate) fn new(what: What) -> Self {
        let about = what.about();
        Self {
            what,
            label: about.label.to_owned(),
            unit: about.unit.to_owned(),
            limits: about.plausible.map(|p| (p.low, p.high)),
            of: Of::None,
            on: None,
            first_unit: None,
            likely: Vec::new(),
        }
    }

    pub(crate) fn called(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    pub(crate) fn of(mut self, of: impl Into<String>) -> Self {
        self.of = Of::Is(of.into());
        self
    }

    pub(crate) fn typed(mut self, likely: impl Into<String>) -> Self {
        self.of = Of::Typed(likely.into());
        self
    }

    /// Named by the next number, unless another name is typed.
    pub(crate) fn numbered(mut self, next: usize) -> Self {
        self.of = Of::Next(next);
        self
    }

    /// With values to choose from.
    pub(crate) fn likely(mut self, likely: Vec<String>) -> Self {
        self.likely = likely;
        self
    }

    pub(crate) fn one_of(mut self, all: Vec<(String, String)>) -> Self {
        self.of = Of::Among(all);
        self
    }

    /// On the next unit of this kind.
    pub(crate) fn on(mut self, part: &'static str, next: usize) -> Self {
        self.on = Some((part, next));
        self
    }

    /// Kept in a unit of its own, within limits of its own.
    pub(crate) fn asked(mut self, unit: &str, low: Option<f64>, high: Option<f64>) -> Self {
        unit.clone_into(&mut self.unit);
        self.limits = (low.is_some() || high.is_some()).then(|| {
            let [low, high] = [low.unwrap_or(f64::MIN), high.unwrap_or(f64::MAX)];
            (low, high)
        });
        self
    }

    /// Typed in this unit unless another is chosen.
    pub(crate) fn usually_in(mut self, unit: &'static str) -> Self {
        self.first_unit = Some(unit);
        self
    }

    /// Whether a value typed in a unit is beyond what is plausible, told in words.
    pub(crate) fn beyond(&self, typed: f64, unit: &str) -> Option<String> {
        let given = if unit.trim().is_empty() {
            self.unit.as_str()
        } else {
            unit
        };
        let (low, high) = self.limits_in(given)?;
        let is = (low..=high).contains(&typed);
        (!is).then(|| {
            let gap = if given.is_empty() { "" } else { "\u{a0}" };
            format!(
                "{}: {typed}{gap}{given} lies beyond {}{gap}{given}. If it is so, say why, and it is kept with a mark.",
                self.label,
                told_limits(low, high)
            )
        })
    }

    /// Whether it is about this, as a form tells.
    pub(crate) fn is_about(&self, what: What, of: &str) -> bool {
        let same = match &self.of {
            Of::Is(own) => own == of,
            _ => true,
        };
        self.what == what && same
    }

    /// What it is of.
    pub(crate) const fn what(&self) -> What {
        self.what
    }

    /// What it is called.
    pub(crate) fn label(&self) -> &str {
        &self.label
    }

    /// The unit that it is kept in.
    pub(crate) fn unit(&self) -> &str {
        &self.unit
    }

    fn limits_in(&self, unit: &str) -> Option<(f64, f64)> {
        let (low, high) = self.limits?;
        if unit == self.unit {
            return Some((low, high));
        }
        let at = |x: f64| in_unit(x, unit, &self.unit).ok();
        let (offset, one) = (at(0.0)?, at(1.0)?);
        let back = |kept: f64| (kept - offset) / (one - offset);
        Some((back(low), back(high)))
    }

    fn is_wrong<'p>(&self, page: &Page<'p>) -> Option<&'p Wrong> {
        page.wrong
            .filter(|w| w.strikes.is_empty() && self.is_about(w.what, &w.of))
    }

    /// The form with one field and one large button.
    pub(crate) fn form(&self, page: &Page<'_>) -> Markup {
        let wrong = self.is_wrong(page);
        let value = wrong.map_or("", |w| w.value.as_str());
        let nature = self.what.about().nature;
        self.around(page, wrong, &html! {
            @match &self.of {
                Of::Typed(likely) => { label .of { (self.what.about().of.unwrap_or_default()) input name="of" maxlength="100" autocomplete="off" required value=(wrong.map_or(likely.as_str(), |w| &w.of)); } }
                Of::Among(all) => { label .of { (self.what.about().of.unwrap_or_default()) select name="of" { @for (kept, shown) in all { option value=(kept) selected[wrong.is_some_and(|w| w.of == *kept)] { (shown) } } } } }
                Of::Next(next) => { label .of { (self.what.about().of.unwrap_or_default()) input name="of" maxlength="100" autocomplete="off" required data-next-of=(next) value=(wrong.map_or_else(|| next.to_string(), |w| w.of.clone())); } }
                _ => {}
            }
            @match nature {
                Nature::Words if matches!(self.what, What::Lot | What::Abandoned) => {
                    @let list = (self.what == What::Lot).then(|| format!("likely-{}", self.what.about().word));
                    label .value { span data-called="" { (self.label) } input name="value" maxlength="300" autocomplete="off" required list=[list.as_deref()] value=(value); }
                    @if let Some(list) = list { datalist id=(list) { @for likely in &self.likely { option value=(likely) {} } } }
                }
                Nature::Words => { label .value { (self.label) textarea name="value" rows="2" maxlength="1000" required { (value) } } }
                Nature::Moment => { input type="hidden" name="value" value="yes"; }
                _ => {
                    label .value { span data-called="" { (self.label) } @if let Some((part, n)) = self.on { ", " (part) " " span data-next="" { (n) } }
                        input name="value" inputmode="decimal" maxlength="40" autocomplete="off" required value=(value); }
                    (self.units(wrong))
                }
            }
            button .main { @if nature == Nature::Moment { (self.label) } @else { "Enter" } }
        })
    }

    /// A form of buttons: a value, and what stands on it.
    pub(crate) fn taps(&self, page: &Page<'_>, taps: &[(String, String)]) -> Markup {
        let wrong = self.is_wrong(page);
        self.around(page, wrong, &html! {
            @if let Some(unit) = self.first_unit { input type="hidden" name="unit" value=(unit); }
            @for (value, shown) in taps { button .tap name="value" value=(value) { (shown) } }
        })
    }

    fn units(&self, wrong: Option<&Wrong>) -> Markup {
        let units = units_of(&self.unit);
        let wanted = wrong.map_or(self.first_unit.unwrap_or_default(), |w| &w.unit);
        html! {
            @if units.is_empty() {
                @if self.unit.is_empty() { (limits(self.limits_in(""))) } @else { span .unit { (self.unit) } (limits(self.limits_in(&self.unit))) }
            } @else {
                select name="unit" aria-label="unit" {
                    @for unit in units {
                        @let limits = self.limits_in(unit);
                        option value=(unit) data-low=[limits.map(|l| l.0)] data-high=[limits.map(|l| l.1)] selected[unit == wanted] { (unit) }
                    }
                }
            }
        }
    }

    fn around(&self, page: &Page<'_>, wrong: Option<&Wrong>, inside: &Markup) -> Markup {
        let word = self.what.about().word;
        let asked_why = wrong.is_some_and(|w| w.confirm);
        html! {
            form .enter method="post" action=(page.to) data-enter=(word) data-label=(self.label) data-which=[self.what.about().of] {
                (hidden(page, word))
                @if let Of::Is(of) = &self.of { input type="hidden" name="of" value=(of); }
                @if let Some((part, n)) = self.on { input type="hidden" name="on" data-part=(part) data-from=(n) value=(format!("{part}={n}")); }
                (inside)
                p .wrong role="alert" { @if let Some(wrong) = wrong { (wrong.told) } }
                label .why hidden[!asked_why] { "why it is so" input name="why" maxlength="300" autocomplete="off" value=(wrong.map_or("", |w| w.why.as_str())); }
            }
        }
    }
}

/// What every form tells beside its value.
pub(crate) fn hidden(page: &Page<'_>, word: &str) -> Markup {
    html! {
        input type="hidden" name="what" value=(word);
        input type="hidden" name="key" value=(app::new_key());
        input type="hidden" name="who" value=(page.who);
    }
}

/// Limits where there is but one unit, for the script.
fn limits(limits: Option<(f64, f64)>) -> Markup {
    html! { @if let Some((low, high)) = limits { span hidden data-low=(low) data-high=(high) {} } }
}

fn told_limits(low: f64, high: f64) -> String {
    let plain = number::plain;
    match (low > f64::MIN / 2.0, high < f64::MAX / 2.0) {
        (true, true) => format!("{} to {}", plain(low), plain(high)),
        (false, true) => format!("{} and less", plain(high)),
        _ => format!("{} and more", plain(low)),
    }
}
