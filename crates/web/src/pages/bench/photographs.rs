//! Photographs of a batch: the camera of the tablet, and what was taken.

use super::stations::At;
use crate::pages::study::encoded;
use bench::What;
use maud::{Markup, html};

/// The camera, and the photographs that stand. Taking one needs the script, which makes it smaller on the device first.
pub(super) fn photographs(at: &At<'_>) -> Markup {
    let about = What::Photograph.about();
    let state = &at.here.made.state;
    let taken = state.words.iter().filter(|k| k.what == What::Photograph);
    html! {
        form .enter .camera data-enter=(about.word) data-label=(about.label) method="post" action=(at.page.to) {
            (super::field::hidden(&at.page, about.word))
            label .take { "Take a photograph" input .unseen type="file" name="picture" accept="image/*" capture="environment"; }
            p .wrong role="alert" {}
            noscript { p { "Photographs are made smaller on the device, which needs scripts." } }
        }
        ul .photographs #photographs {
            @for kept in taken {
                @let address = format!("/bench/picture/{}", encoded(&kept.words));
                li { a href=(address) { img src=(address) alt=(format!("photograph by {}, {}", kept.told.who, at.page.settings.dates.written(&kept.told.at))) loading="lazy"; }
                    span .told { (kept.told.who) ", " (at.page.settings.dates.written(&kept.told.at)) } }
            }
        }
    }
}
