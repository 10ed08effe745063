//! What a swap would do, before it is done: the lines and the figures that change.

use super::head::whose;
use app::{Settings, StudyView};
use maud::{Markup, html};
use measure::rounding;
use paper::number;
use study::compare::bound::Bound;
use study::{Compared, Figure, Treatment};

/// A number as it is shown; none where it isn't known.
type Shown = Option<(f64, Bound)>;

const fn exactly(value: f64) -> (f64, Bound) {
    (value, Bound::Exactly)
}

pub fn told(before: &StudyView, after: &StudyView, settings: &Settings) -> Markup {
    let (Some(was), Some(is)) = (before.study.as_deref(), after.study.as_deref()) else {
        return html! {
            div .problems {
                p { "The study couldn’t be worked out after this:" }
                @for p in &after.problems { p { @if let Some(name) = whose(after, &p.path) { b { (name) } ": " } (p.words(settings.units).message) "." } }
            }
        };
    };
    let units = settings.units;
    let mark = |text: String| match settings.decimal.mark() {
        '.' => text,
        other => text.replace('.', &other.to_string()),
    };
    let changed: Vec<(&Treatment, Option<&Treatment>)> = is
        .treatments
        .iter()
        .map(|t| (t, was.treatment(&t.id)))
        .filter(|(t, old)| old.is_none_or(|old| old.formula != t.formula))
        .collect();
    let row = |name: &str, unit: &str, was: Shown, is: Shown, decimals: usize| {
        let text = |v: Shown| {
            v.map_or_else(
                || "–".to_owned(),
                |(v, sure)| format!("{}{}", sure.mark(), mark(number::fixed(v, decimals))),
            )
        };
        let gap = was.zip(is).and_then(|((a, before), (b, after))| {
            let gap = rounding::signed(b - a, decimals);
            let changed = gap.starts_with(['+', '\u{2212}']);
            changed.then(|| format!("{}{gap}", after.less(before).mark()))
        });
        let same = text(was) == text(is);
        html! {
            @if !same {
                tr { th scope="row" { (name) @if !unit.is_empty() { span .unit { " " (unit) } } } td .figure { (text(was)) } td .figure { (text(is)) } td .change { (gap.map(mark).unwrap_or_default()) } }
            }
        }
    };
    html! {
        @if changed.is_empty() { p { "Nothing would change." } }
        @for (t, old) in changed {
            table .would {
                caption { (t.name) }
                thead { tr { th scope="col" {} th .figure scope="col" { "is" } th .figure scope="col" { "would be" } th {} } }
                tbody {
                    @for (name, was, is) in lines(old, t) { (row(&name, "% of mix", was.map(exactly), is.map(exactly), 2)) }
                }
                tbody {
                    @let (a, b) = (answer(before, &t.id), answer(after, &t.id));
                    @for figure in Figure::ALL {
                        @let about = figure.about();
                        @let shown = |c: Option<&Compared>| {
                            let k = &c?.answer;
                            Some((units.value(figure.told(k).ok()?, about.unit), figure.sure(k)))
                        };
                        (row(about.name, &units.unit(about.unit).replace('¤', &is.currency), shown(a), shown(b), units.decimals(about.unit, a.or(b).map_or(about.decimals, |c| figure.decimals(&c.answer)))))
                    }
                }
            }
        }
    }
}

fn answer<'a>(view: &'a StudyView, id: &str) -> Option<&'a Compared> {
    view.answers.compared.iter().find(|c| c.answer.id == id)
}

/// Per cent of the mix, by material, before and after.
fn lines(old: Option<&Treatment>, new: &Treatment) -> Vec<(String, Option<f64>, Option<f64>)> {
    let shares = |t: &Treatment| -> Vec<(String, f64)> {
        t.formula
            .lines()
            .iter()
            .map(|l| l.material.name.clone())
            .zip(t.formula.percent_of_mix())
            .collect()
    };
    let was = old.map(shares).unwrap_or_default();
    let mut rows: Vec<(String, Option<f64>, Option<f64>)> = was
        .iter()
        .map(|(n, v)| (n.clone(), Some(*v), None))
        .collect();
    for (name, value) in shares(new) {
        match rows.iter_mut().find(|r| r.0 == name) {
            Some(row) => row.2 = Some(row.2.unwrap_or(0.0) + value),
            None => rows.push((name, None, Some(value))),
        }
    }
    rows
}
