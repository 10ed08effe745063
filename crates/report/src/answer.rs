//! The answer first: what the treatments come to, in a sentence and in the few figures that most people ask for.

use maud::{Markup, html};
use measure::{Units, rounding};
use paper::number;
use study::compare::sheet::{self, Change, Shown};
use study::compare::so_far::{Wording, so_far};
use study::{Compared, Figure, Study};

/// The figures that a report opens with: how long it bakes, what the line gives, how long it stays crisp, protein, cost.
const OPENS_WITH: [Figure; 5] = [
    Figure::BakeTime,
    Figure::Output,
    Figure::CrispDays,
    Figure::Protein,
    Figure::CostPerKg,
];

/// The sentence and the figures of every treatment, one line each.
pub fn answer(study: &Study, compared: &[Compared]) -> Markup {
    let wording = Wording {
        units: Units::Metric,
        currency: &study.currency,
        mark: '.',
    };
    let Some(control) = compared.first() else {
        return html! {};
    };
    html! {
        @if let Some(told) = so_far(compared, &OPENS_WITH, &wording) { p .so-far { b { "So far: " } (told) } }
        div .scroll {
            table .opening {
                caption .unseen { "The answers of every treatment" }
                thead { tr {
                    th scope="col" {}
                    @for figure in OPENS_WITH {
                        @let about = figure.about();
                        th .figure scope="col" { (about.name) @if !about.unit.is_empty() { " " span .unit { (about.unit.replace('¤', &study.currency)) } } }
                    }
                } }
                tbody {
                    @for c in compared {
                        tr {
                            th scope="row" { (c.answer.name) }
                            @for figure in OPENS_WITH { td .figure { (cell(c, control, figure)) } }
                        }
                    }
                }
            }
        }
    }
}

/// A figure with its difference from the control.
fn cell(c: &Compared, control: &Compared, figure: Figure) -> Markup {
    let decimals = figure.decimals(&control.answer);
    let cell = sheet::figure_cell(c, figure);
    let shown = match &cell.shown {
        Shown::Number(value, bound) => {
            format!("{}{}", bound.mark(), number::fixed(*value, decimals))
        }
        Shown::MoreThan(value) => format!(">{value}"),
        Shown::Interval {
            mean,
            low,
            high,
            bound,
        } => {
            format!("{}{}", bound.mark(), number::interval(*mean, *low, *high))
        }
        Shown::Unknown(_) => return html! { span .second { "not known" } },
        Shown::Empty | Shown::Limits { .. } | Shown::Count(_) => return html! { "–" },
    };
    let gap = match cell.change {
        Some(Change::By { bound, word, .. }) => {
            // By the numbers as they are shown.
            let (here, there) = (
                figure.told(&c.answer).ok(),
                figure.told(&control.answer).ok(),
            );
            let gap = here
                .zip(there)
                .map_or(0.0, |(h, t)| rounding::shown_gap(h, t, decimals));
            let text = rounding::signed(gap, decimals);
            let differs = text.starts_with(['+', '\u{2212}']);
            differs.then(|| {
                format!(
                    "{}{text}{}",
                    bound.mark(),
                    word.map_or_else(String::new, |w| format!(" {w}"))
                )
            })
        }
        _ => None,
    };
    html! { (shown) @if let Some(gap) = gap { " " span .change { (gap) } } }
}
