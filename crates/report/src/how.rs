//! How the figures come about, and what they stand on.

use maud::{Markup, html};
use measure::{Given, Grade};
use paper::number;
use paper::parts::{Known, known};
use study::compare::figure::Part;
use study::{Compared, Figure};

/// Every figure in words, and every default with value, unit, grade and source; a default whose
/// value differs by treatment is told as a range.
pub fn how_it_comes_about(compared: &[Compared]) -> Markup {
    html! { (figures(compared)) (defaults(compared)) }
}

fn figures(compared: &[Compared]) -> Markup {
    let spread = compared.first().and_then(|c| c.spread.as_ref());
    html! {
        table .how {
            caption { "The figures in words" }
            thead { tr {
                th scope="col" { "figure" } th scope="col" { "how it comes about" }
                @if spread.is_some() { th scope="col" { "widened most by (control; share of its variance)" } }
            } }
            @for part in Part::ALL {
                tbody {
                    tr .group { th scope="rowgroup" colspan=(if spread.is_some() { 3 } else { 2 }) { (part.word()) } }
                    @for about in Figure::ALL.into_iter().map(Figure::about).filter(|a| a.part == part) {
                        tr {
                            th scope="row" { (about.name) }
                            td { (about.how) }
                            @if let Some(s) = spread { td .source { (widest(s, about.key)) } }
                        }
                    }
                }
            }
        }
    }
}

fn widest(spread: &study::compare::uncertainty::Spread, key: &str) -> String {
    let Some(inputs) = spread.widest.get(key) else {
        return String::new();
    };
    let words: Vec<String> = inputs
        .iter()
        .map(|w| format!("{} ({} %)", w.input, number::fixed(100.0 * w.share, 0)))
        .collect();
    words.join(", ")
}

fn defaults(compared: &[Compared]) -> Markup {
    let all = gather(compared);
    html! {
        table .givens .defaults .long {
            caption { "What they stand on" }
            thead { tr { th scope="col" { "default" } th .figure scope="col" { "value" } th scope="col" { "unit" } th scope="col" { "source" } } }
            // What is least sure comes first: it is what to replace.
            @for grade in Grade::ALL.into_iter().rev() {
                @let mine: Vec<&Default> = all.iter().filter(|d| d.grade == grade).collect();
                @if !mine.is_empty() {
                    tbody {
                        tr .group { th scope="rowgroup" colspan="4" { (grade.word()) " (" (mine.len()) ")" } }
                        @for d in mine {
                            tr {
                                th scope="row" { (d.name) }
                                td .figure { (value(d)) }
                                td .unit { (d.unit) }
                                td .source { (d.sources.join("; ")) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn value(d: &Default) -> Markup {
    let Some((low, high)) = d.values else {
        return html! { span .empty { "–" } };
    };
    let (low, high) = (number::plain(low), number::plain(high));
    let text = if low == high {
        low
    } else {
        format!("{low} to {high}")
    };
    known(&text, Known::from(d.grade))
}

/// One default over all treatments.
struct Default<'a> {
    name: &'a str,
    unit: &'a str,
    grade: Grade,
    /// Least and most of its values.
    values: Option<(f64, f64)>,
    sources: Vec<&'a str>,
}

fn gather(compared: &[Compared]) -> Vec<Default<'_>> {
    let mut all: Vec<Default> = Vec::new();
    for given in compared.iter().flat_map(|c| &c.answer.given) {
        match all.iter_mut().find(|d| same(d, given)) {
            Some(d) => {
                let both = d.values.zip(given.value);
                d.values = both.map(|((low, high), v)| (low.min(v), high.max(v)));
                if !d.sources.contains(&&*given.source.text) {
                    d.sources.push(&given.source.text);
                }
            }
            None => all.push(Default {
                name: &given.name,
                unit: &given.unit,
                grade: given.source.grade,
                values: given.value.map(|v| (v, v)),
                sources: vec![&given.source.text],
            }),
        }
    }
    all
}

fn same(d: &Default, given: &Given) -> bool {
    d.name == given.name && d.unit == given.unit && d.grade == given.source.grade
}
