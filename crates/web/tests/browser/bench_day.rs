//! Three batches at a tablet, with a connection that comes and goes.

use crate::desk::{Desk, LIVE, at_desk};
use app::TrialAsked;
use bench::demonstration;
use book::Kind;
use serde_json::json;
use trials::plan::Unit;

/// Cuts the connection of the browser, or restores it.
async fn connected(desk: &Desk, is: bool) {
    desk.browser("Network.enable", json!({})).await;
    let given =
        json!({ "offline": !is, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1 });
    desk.browser("Network.emulateNetworkConditions", given)
        .await;
}

/// Presses a button of a form, and gives the key of the row once the page calls it kept.
async fn enter(desk: &Desk, css: &str) {
    let before: usize = desk.ask(ON_DEVICE_OR_SENT).await;
    desk.click(css).await;
    desk.until(&format!("{ON_DEVICE_OR_SENT} > {before}")).await;
}

/// Counts what the page has called kept since it was opened.
const ON_DEVICE_OR_SENT: &str = "(window.calledKept ??= (() => {
    const keys = new Set();
    const look = () => document.querySelectorAll('#pending [data-key]').forEach((li) => keys.add(li.dataset.key));
    new MutationObserver(look).observe(document.body, { childList: true, subtree: true });
    look();
    return keys;
})()).size";

const ALL_SENT: &str =
    "document.getElementById('waits').textContent === 'All entries are in the book.'";

async fn station(desk: &Desk, batch: &str, station: &str) {
    desk.open(&format!("/bench/{batch}/{station}")).await;
    desk.until(LIVE).await;
}

#[test]
fn every_entry_that_the_page_called_kept_is_in_the_book_once_and_in_order() {
    at_desk(|desk| async move {
        desk.screen(820, 1180).await;
        let asked = TrialAsked {
            name: "A day".to_owned(),
            question: String::new(),
            study: "spent-grain-bars".to_owned(),
            wish: demonstration::wish(),
            unit: Unit::Batch,
            seed: 3,
            control: Some("control".to_owned()),
            responses: demonstration::responses(),
            pieces: Some(60),
            loss_pct: 5.0,
            blind: false,
        };
        let trial = desk.app.keep_trial("Ada", &asked, None).await.unwrap();
        let batches: Vec<String> = desk.app.trial(&trial).await.unwrap().made[..3]
            .iter()
            .map(|m| m.id.clone())
            .collect();
        for (nth, batch) in batches.iter().enumerate() {
            station(&desk, batch, "water").await;
            let dose = "[data-enter=dose] button.tap:nth-of-type(2)";
            enter(&desk, dose).await;
            if nth < 2 {
                connected(&desk, false).await;
            }
            for css in [
                dose,
                "[data-enter=feel] button:nth-of-type(2)",
                dose,
                "[data-enter=feel] button:nth-of-type(3)",
                "[data-enter=dough-right] button",
            ] {
                enter(&desk, css).await;
            }
            if nth < 2 {
                desk.until_told("5 entries wait on this device").await;
                connected(&desk, true).await;
                // A page that is loaded anew while rows wait goes on sending them.
                station(&desk, batch, "cut").await;
            } else {
                desk.until(ALL_SENT).await;
                station(&desk, batch, "cut").await;
            }
            for css in [
                "[data-enter=cut-whole] button:nth-of-type(2)",
                "[data-enter=cut-whole] button:nth-of-type(2)",
                "[data-enter=cut-broken] button:nth-of-type(1)",
                "[data-enter=cut-whole] button:nth-of-type(3)",
                "[data-enter=cut-whole] button:nth-of-type(1)",
                "[data-enter=cut-stuck] button:nth-of-type(1)",
            ] {
                enter(&desk, css).await;
            }
            desk.until(ALL_SENT).await;
            desk.until_reads("[data-sum=cut-whole]", "10").await;
        }
        // What waits counts in the unit it was typed in: 10 oz are 0.283 kg.
        station(&desk, &batches[0], "water").await;
        let kept: f64 = desk
            .ask("Number(document.querySelector('[data-sum=dose]').dataset.kept)")
            .await;
        connected(&desk, false).await;
        let form = "form[data-enter=dose]:has(select)";
        desk.fill(&format!("{form} input[name=value]"), "10").await;
        desk.choose(&format!("{form} select[name=unit]"), "oz")
            .await;
        desk.click(&format!("{form} button:not(.tap)")).await;
        let told = format!("{:.3}", kept + 10.0 * 0.028_349_523_125);
        desk.until_reads("[data-sum=dose]", &told).await;
        connected(&desk, true).await;
        desk.until(ALL_SENT).await;
        let wanted = [
            "dose",
            "dose",
            "feel",
            "dose",
            "feel",
            "dough-right",
            "cut-whole",
            "cut-whole",
            "cut-broken",
            "cut-whole",
            "cut-whole",
            "cut-stuck",
        ];
        for batch in &batches {
            let rows = desk.app.book().entries_of(Kind::Batch, batch, 0).await;
            let rows = rows.unwrap();
            let words: Vec<&str> = rows.iter().map(|r| r.row.what.as_str()).collect();
            let words = &words[..wanted.len()];
            assert_eq!(words, wanted, "{batch}");
            let moments: Vec<&str> = rows.iter().map(|r| r.row.at.as_str()).collect();
            assert!(moments.is_sorted(), "{moments:?}");
        }
        assert!(desk.too_wide().await.is_empty());
    });
}
