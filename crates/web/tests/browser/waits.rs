//! What was typed and couldn't be kept: it waits where it was typed, and is never put over what was not seen.

use crate::desk::{Desk, LIVE, at_desk, cell};
use app::Seen;
use serde_json::{Value, json};
use study::edit::Edit;

const BARS: &str = "spent-grain-bars";

fn salt() -> String {
    cell("control", "dry", "salt")
}

/// From now on the program refuses every change with this status.
async fn refuses(desk: &Desk, status: u16) {
    desk.run::<Value>(
        "window.really ??= window.fetch; const [status] = arguments; \
         window.fetch = () => Promise.resolve(new Response(JSON.stringify({ what: 'Refused for now.', way_out: 'Come again.' }), \
         { status, headers: { 'content-type': 'application/json' } })); return null",
        &[json!(status)],
    )
    .await;
}

async fn takes_again(desk: &Desk) {
    desk.run::<Value>("window.fetch = window.really; return null", &[])
        .await;
}

async fn kept(desk: &Desk) -> String {
    let who = desk.app.settings().await.unwrap().who;
    desk.app.export(&who, BARS, None).await.unwrap()
}

#[test]
fn what_the_program_does_not_take_for_now_waits_and_is_tried_again() {
    at_desk(|desk| async move {
        desk.open(&format!("/study/{BARS}")).await;
        desk.until(LIVE).await;
        for (status, salt_pct) in [(403, "0.61"), (500, "0.62"), (503, "0.63")] {
            refuses(&desk, status).await;
            desk.fill(&salt(), salt_pct).await;
            desk.until_told(
                "Refused for now. Come again. 1 change kept here and tried again by itself.",
            )
            .await;
            assert_eq!(desk.value(&salt()).await, salt_pct);
            assert!(!kept(&desk).await.contains(salt_pct), "{status}");
            takes_again(&desk).await;
            desk.until("document.getElementById('live-state').textContent === ''")
                .await;
            assert!(kept(&desk).await.contains(salt_pct), "{status}");
        }
    });
}

/// The page goes away with a number that waits, another window changes the same cell, the page comes back.
#[test]
fn what_comes_back_with_the_page_is_not_put_over_what_it_had_not_seen() {
    at_desk(|desk| async move {
        desk.open(&format!("/study/{BARS}")).await;
        desk.until(LIVE).await;
        refuses(&desk, 503).await;
        desk.fill(&salt(), "0.71").await;
        desk.until_told("1 change kept here").await;
        let edit = Edit::SetAmount {
            treatment: "control".into(),
            material: "salt".into(),
            amount: 0.52,
        };
        let who = desk.app.settings().await.unwrap().who;
        let other = Seen {
            base: 1,
            counter: Some(0),
            window: Some("another".into()),
        };
        desk.app.edit(&who, BARS, other, &[edit]).await.unwrap();
        desk.open(&format!("/study/{BARS}")).await;
        desk.until(LIVE).await;
        desk.until_told(
            "Changed in another window. What stands here now: 0.52. What you typed: 0.71.",
        )
        .await;
        assert!(kept(&desk).await.contains("0.52"));
        // Typed anew, now that both were seen, it counts.
        desk.fill(&salt(), "0.72").await;
        desk.until("document.getElementById('live-state').textContent === ''")
            .await;
        assert!(kept(&desk).await.contains("0.72"));
    });
}
