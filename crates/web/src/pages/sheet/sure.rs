//! How sure the answers in sight are: limits beside an answer that is wide open, and beside a difference that is smaller
//! than what isn't known; everywhere for who asks.

use super::figures;
use super::frame::Frame;
use super::pieces::Pieces;
use app::{App, AppError, JobState, StudyView};
use maud::html;
use paper::number;
use std::sync::Arc;
use study::Figure;
use study::compare::Spread;
use study::compare::uncertainty::Limits;

/// Width of the limits, as a share of the answer, from which it never stands without them (judgement).
const WIDE: f64 = 0.5;

/// What is known of how sure the answers are.
pub struct Asked {
    /// The share of the work that is done.
    pub done: f64,
    pub spreads: Option<Arc<Vec<Spread>>>,
}

/// Asks how sure the answers are; who asks before it is worked out asks again.
pub fn asked(app: &App, view: &StudyView) -> Result<Asked, AppError> {
    let (done, spreads) = match app.sure(view) {
        Ok(JobState::Done(spreads)) => (1.0, Some(spreads)),
        Ok(JobState::Running(share)) => (share.min(0.999), None),
        // What can't be drawn leaves the answers as they are.
        Ok(JobState::Failed(_) | JobState::NotAsked) => (1.0, None),
        // Longer work waits before it.
        Err(AppError::Full { .. }) => (0.0, None),
        Err(error) => return Err(error),
    };
    Ok(Asked { done, spreads })
}

/// The limits of the answers in sight for their places: of all of them, or of those that mustn't stand without.
pub fn strip(f: &Frame<'_>, spreads: &[Spread], all: bool) -> Pieces {
    let mut limits = Pieces::new();
    for figure in f.watched() {
        let key = figure.about().key;
        let told = f.columns.iter().filter(|c| c.compared.is_some());
        for (i, (c, spread)) in told.zip(spreads).enumerate() {
            let value = c.compared.and_then(|c| figure.told(&c.answer).ok());
            let own = spread.figures.get(key);
            let wide = own.zip(value).is_some_and(|(l, v)| is_wide(l, v));
            let text = own
                .filter(|_| all || wide)
                .and_then(|l| text(f, figure, l, false));
            let html = html! { @if let Some(text) = text { "(" (text) ")" } };
            limits.insert(format!("kl.{key}.{}", c.id()), html.into_string());
            if i == 0 {
                continue;
            }
            let gap = spread.versus_control.get(key);
            let shown = !figures::difference(f, c, figure).into_string().is_empty();
            let gap = gap.filter(|l| shown && (all || l.hold_none()));
            let open = gap.is_some_and(Limits::hold_none);
            let text = gap.and_then(|l| self::text(f, figure, l, true));
            let html = html! {
                @if let Some(text) = text { "(" (text) ")" @if open { span .unseen { " smaller than what isn’t known" } } }
            };
            limits.insert(format!("kg.{key}.{}", c.id()), html.into_string());
        }
    }
    limits
}

fn is_wide(limits: &Limits, value: f64) -> bool {
    limits.high95 - limits.low95 > WIDE * value.abs()
}

/// The limits of a figure as they are shown; none where nothing varies.
pub fn of_figure(f: &Frame, figure: Figure, spread: &Spread) -> Option<String> {
    text(f, figure, spread.figures.get(figure.about().key)?, false)
}

fn text(f: &Frame, figure: Figure, limits: &Limits, signed: bool) -> Option<String> {
    let (units, unit) = (f.settings.units, figure.about().unit);
    let decimals = units.decimals(unit, figures::decimals(f, figure));
    let (low, high) = (
        units.value(limits.low95, unit),
        units.value(limits.high95, unit),
    );
    if signed {
        let text = |v| measure::rounding::signed(v, decimals);
        let (low, high) = (text(low), text(high));
        return (low != high).then(|| f.mark(&format!("{low} to {high}")));
    }
    number::limits(low, high, decimals).map(|text| f.mark(&text))
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn limits(low95: f64, high95: f64) -> Limits {
        Limits { low95, high95 }
    }

    #[test]
    fn what_may_be_none_and_what_is_wide_never_stand_bare() {
        assert!(limits(-0.4, 2.1).hold_none() && limits(-2.0, 0.0).hold_none());
        assert!(!limits(0.1, 2.1).hold_none() && !limits(-2.0, -0.1).hold_none());
        assert!(is_wide(&limits(1.0, 9.0), 4.0) && !is_wide(&limits(13.1, 16.2), 14.5));
    }
}
