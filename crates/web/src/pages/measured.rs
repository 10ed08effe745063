//! Beside the prediction: what batches of a treatment measured, next to what is computed.

use super::InStudy;
use app::AppError;
use bench::Beside;
use maud::{Markup, html};
use measure::rounding;
use paper::number;
use paper::parts::{Known, known};
use study::{Compared, Figure};

/// What was measured of the treatments, or of one, with its interval and the number of batches, beside what is computed.
/// Nothing where no batch says anything.
pub(crate) async fn beside(
    page: &InStudy<'_>,
    computed: &[Compared],
    only: Option<&str>,
) -> Result<Markup, AppError> {
    let (mut all, unread) = page.app.beside(&page.view.thing).await?;
    all.retain(|b| only.is_none_or(|t| b.treatment == t));
    if all.is_empty() {
        return Ok(html! { @if unread > 0 { p .second #measured { (being_read(unread)) } } });
    }
    let rows: Vec<(&Compared, Figure, &Beside)> = computed
        .iter()
        .flat_map(|c| {
            let own = all.iter().filter(|b| b.treatment == c.answer.id);
            own.filter_map(move |b| Some((c, Figure::with_key(b.figure)?, b)))
        })
        .collect();
    let revisions = all.iter().map(|b| b.revisions);
    let (low, high) = revisions.fold((u64::MAX, 0), |a, b| (a.0.min(b.0), a.1.max(b.1)));
    Ok(html! {
        section .part #measured {
            h2 { "Measured beside computed" }
            div .scroll role="region" aria-label="Measured beside computed" tabindex="0" { table .list {
                thead { tr {
                    @if only.is_none() { th scope="col" { "treatment" } }
                    th scope="col" { "figure" } th scope="col" { "measured, 95 % interval" } th scope="col" { "batches" } th scope="col" { "computed" } th scope="col" { "measured less computed" }
                } }
                tbody { @for (c, figure, b) in &rows { (row(page, c, *figure, b, only.is_none())) } }
            } }
            p .second {
                "From the batches of this study’s trials, made by "
                @if low == high { "revision " (low) } @else { "revisions " (low) " to " (high) }
                ". What is computed follows the study " @if only.is_some() { "as it stands here" } @else { "as it was last saved" } ", with today’s model. "
                @if unread > 0 { (being_read(unread)) " " }
                a href=(crate::shell::Room::Trials.address(&page.view.thing)) { "To the trials" }
            }
        }
    })
}

/// That a large book is still being read.
pub(crate) fn being_read(batches: usize) -> String {
    format!("{batches} more batches are being read; load the page again for them.")
}

fn row(page: &InStudy<'_>, c: &Compared, figure: Figure, b: &Beside, named: bool) -> Markup {
    let (about, units) = (figure.about(), page.settings.units);
    let unit = units.unit(about.unit);
    let places = units.decimals(about.unit, figure.decimals_for(b.mean));
    let shown = |v: f64| units.value(v, about.unit);
    let told = match b.interval {
        Some((low, high)) => format!(
            "{} ({} to {})",
            number::fixed(shown(b.mean), places),
            number::fixed(shown(low), places),
            number::fixed(shown(high), places)
        ),
        None => number::fixed(shown(b.mean), places),
    };
    let computed = figure.value(&c.answer);
    let gap = computed.map(|v| rounding::shown_gap(shown(b.mean), shown(v), places));
    html! {
        tr {
            @if named { th scope="row" { (c.answer.name) } }
            td { (about.name) @if !unit.is_empty() { span .unit { ", " (unit) } } }
            td .n { (known(&told, Known::Measured)) }
            td .n { (b.batches) }
            td .n { @match computed { Some(v) => (number::fixed(shown(v), places)), None => "–" } }
            td .n { @match gap { Some(g) => (rounding::signed(g, places)), None => "–" } }
        }
    }
}
