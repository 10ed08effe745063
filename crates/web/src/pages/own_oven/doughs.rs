//! What batches taught of the doughs: the water their materials take, and whether pieces leave the cutter whole.

use super::super::InStudy;
use crate::shell::Room;
use app::AppError;
use maud::{Markup, html};
use paper::chart::{Interval, interval};
use paper::number;
use paper::parts::{Known, known};
use study::edit::Part;

pub(super) async fn part(page: &InStudy<'_>) -> Result<Markup, AppError> {
    let told = page.app.doughs_taught(page.view).await?;
    if told.water.is_none() && told.whole.is_none() {
        return Ok(html! {
            section .part {
                h2 { "Own doughs" }
                p { "No batch of this study’s trials was titrated or counted yet. What the Bench writes of doses and of whole and broken pieces teaches the water need and the share of whole pieces." }
            }
        });
    }
    let take = |part: Part, words: &str| {
        html! {
            form .line .no-print method="post" action=(Room::OwnOven.address(&page.view.thing)) {
                input type="hidden" name="base" value=(page.view.base);
                input type="hidden" name="part" value=(part.word());
                button name="do" value="take-up-dough" { (words) }
            }
        }
    };
    let kg = |v: f64| number::fixed(v, 1);
    let most = told.needs.iter().map(|n| n.1[2].max(n.2[2]));
    let scale = (0.0, most.fold(1.0, f64::max));
    let ribbon = |[mean, low, high]: [f64; 3]| {
        interval(&Interval {
            mean,
            low,
            high,
            scale,
            control: None,
        })
    };
    let words = |[mean, low, high]: [f64; 3]| format!("{} ({} to {})", kg(mean), kg(low), kg(high));
    Ok(html! {
        section .part #doughs {
            h2 { "Own doughs" }
            @if let Some(water) = &told.water {
                h3 { "Water" }
                p { "Learned from " (water.stands_on()) ": " (water.taken.join(", ")) "." }
                @if !water.asked.is_empty() { p .said { "Far off, and not learned from before the batch is signed: " (water.asked.join(", ")) "." } }
                div .scroll role="region" aria-label="Water need, as it stands and with what was taught" tabindex="0" { table .list .learned {
                    thead { tr { th scope="col" { "need of" } th scope="col" { "as it stands" } th .n scope="col" { "kg per 100 kg dry mix, 95 %" } th scope="col" { "with these" } th .n scope="col" { "kg per 100 kg dry mix, 95 %" } } }
                    tbody { @for (name, now, then) in &told.needs { tr {
                        th scope="row" { (name) }
                        td { (ribbon(*now)) } td .n { (words(*now)) }
                        td { (ribbon(*then)) } td .n { (known(&words(*then), Known::Learned)) }
                    } } }
                } }
                p .second { "What a single titration will show. Materials that went in together are known together: their sum is surer than each." }
                (take(Part::Water, "Take the water up in the study"))
            }
            @if let Some(whole) = &told.whole {
                h3 { "Pieces whole from the cutter" }
                @let at = |model: &trials::learn::Release| model.whole(&[1.0, 0.0]).ok();
                @let percent = |share: f64| number::fixed(100.0 * share, 0);
                p { "Learned from " (whole.stands_on()) ", " (whole.pieces) " pieces. At the water the dough needs "
                    @if let (Some(before), Some(after)) = (at(&whole.before), at(&whole.after)) {
                        (known(&format!("{} %", percent(after.probability)), Known::Learned)) " of the pieces leave the cutter whole (" (percent(after.low95)) " to " (percent(after.high95)) "), where "
                        (percent(before.probability)) " % (" (percent(before.low95)) " to " (percent(before.high95)) ") was believed."
                    }
                }
                p .second { "Pieces of one cutting go well or badly together, so that fifty of them count as some fifteen." }
                (take(Part::Whole, "Take it up in the study"))
            }
        }
    })
}
