//! What a swap would do, before it is done: the lines and the figures that change, drawn as the sheet draws them, so
//! that what is shown is what comes, to the digit.

use super::column::Column;
use super::figures;
use super::frame::{Frame, Row};
use super::head::whose;
use app::{Settings, StudyView};
use maud::{Markup, html};
use measure::rounding;
use report::Per;
use study::Figure;

pub fn told(before: &StudyView, after: &StudyView, settings: &Settings, per: Per) -> Markup {
    let (Some(was), Some(is)) = (before.study.as_deref(), after.study.as_deref()) else {
        return html! {
            div .problems {
                p { "The study couldn’t be worked out after this:" }
                @for p in &after.problems { p { @if let Some(name) = whose(after, &p.path) { b { (name) } ": " } (p.words(settings.units).message) "." } }
            }
        };
    };
    let (was, is) = (
        Frame::new(before, was, settings, per, &[]),
        Frame::new(after, is, settings, per, &[]),
    );
    let tables: Vec<Markup> = is
        .columns
        .iter()
        .filter_map(|column| {
            let old = was.columns.iter().find(|c| c.id() == column.id());
            table(&was, old, &is, column)
        })
        .collect();
    html! {
        @if tables.is_empty() { p { "Nothing would change." } }
        @for table in tables { (table) }
    }
}

/// What changes in one treatment; none where nothing does.
fn table(was: &Frame, old: Option<&Column>, is: &Frame, new: &Column) -> Option<Markup> {
    let mut rows: Vec<&Row> = is.rows.iter().collect();
    rows.extend(
        was.rows
            .iter()
            .filter(|r| is.rows.iter().all(|i| i.key() != r.key())),
    );
    let lines: Vec<Markup> = rows
        .into_iter()
        .filter_map(|row| {
            let before = old.and_then(|c| was.cell_amount(c, row));
            let after = is.cell_amount(new, row);
            let decimals = was.decimals.max(is.decimals);
            let text = |f: &Frame, amount: Option<f64>| html! { (amount.map_or_else(|| "–".to_owned(), |a| f.amount_text(a))) };
            let gap = before.zip(after).map(|(a, b)| rounding::signed(rounding::shown_gap(b, a, decimals), decimals));
            changed(is, &row.material.name, is.per.words(), &text(was, before), &text(is, after), gap)
        })
        .collect();
    let figures: Vec<Markup> = Figure::ALL
        .into_iter()
        .filter_map(|figure| {
            let about = figure.about();
            let units = is.settings.units;
            let number = |c: Option<&Column>| {
                let told = figure.told(&c?.compared?.answer).ok()?;
                Some(units.value(told, about.unit))
            };
            let decimals = units.decimals(about.unit, figures::decimals(is, figure));
            let gap = number(old)
                .zip(number(Some(new)))
                .map(|(a, b)| rounding::signed(rounding::shown_gap(b, a, decimals), decimals));
            let before = old.map_or_else(|| html! { "–" }, |c| figures::bare(was, c, figure));
            let unit = units.unit(about.unit).replace('¤', &is.study.currency);
            changed(
                is,
                about.name,
                &unit,
                &before,
                &figures::bare(is, new, figure),
                gap,
            )
        })
        .collect();
    (!lines.is_empty() || !figures.is_empty()).then(|| {
        html! {
            table .would {
                caption { (new.name()) }
                thead { tr { th scope="col" {} th .figure scope="col" { "is" } th .figure scope="col" { "would be" } th {} } }
                tbody { @for line in lines { (line) } }
                tbody { @for figure in figures { (figure) } }
            }
        }
    })
}

/// A row of what is and what would be; none where both read the same.
fn changed(
    f: &Frame,
    name: &str,
    unit: &str,
    was: &Markup,
    is: &Markup,
    gap: Option<String>,
) -> Option<Markup> {
    let gap = gap.filter(|g| g.starts_with(['+', '\u{2212}']));
    (was.0 != is.0).then(|| {
        html! {
            tr {
                th scope="row" { (name) @if !unit.is_empty() { span .unit { " " (unit) } } }
                td .figure { (was) }
                td .figure { (is) }
                td .change { (gap.map(|g| f.mark(&g)).unwrap_or_default()) }
            }
        }
    })
}
