//! What is saved and what is not: reasons, history, two people at once, and pages without script.

use crate::desk::{BARS, Desk, LIVE, at_desk, cell, part};
use serde_json::json;
use thirtyfour::prelude::*;

const UNSAVED: &str = "document.querySelector('.unsaved')";

fn salt() -> String {
    cell("control", "dry", "salt")
}

async fn until_saved(desk: &Desk, revision: u32) {
    desk.until(&format!(
        "document.querySelector('.saved')?.textContent.startsWith('saved: revision {revision},')"
    ))
    .await;
}

/// Types an amount and saves it with a reason.
async fn change_salt(desk: &Desk, amount: &str, why: &str, revision: u32) {
    desk.open(BARS).await;
    desk.until(LIVE).await;
    desk.fill(&salt(), amount).await;
    desk.keys(Key::Enter).await;
    desk.until(UNSAVED).await;
    desk.fill("#study [name=why]", why).await;
    desk.press("#study", "Save").await;
    until_saved(desk, revision).await;
}

#[test]
fn a_saved_reason_stands_in_the_history_and_an_old_revision_comes_back_as_a_new_one() {
    at_desk(|desk| async move {
        change_salt(&desk, "0.8", "a saltier control", 2).await;
        desk.press(".in-study", "history").await;
        desk.until_told("a saltier control").await;
        assert!(
            desk.text("main h1 + p").await.starts_with("2 revisions"),
            "{}",
            desk.text("main").await
        );
        desk.press("form.compare", "Show what changed").await;
        desk.until_told("From revision 1 to 2").await;
        let told = desk.text("main").await;
        // In words: the amount that was written. In numbers: what it did.
        for words in ["0.3", "0.8", "dough moisture", "sodium"] {
            assert!(told.contains(words), "{words}: {told}");
        }
        assert!(!told.contains('¤'), "the currency by its name: {told}");
        desk.press("main", "To the history").await;
        desk.until_told("Take up revision").await;
        desk.fill("[name=number]", "1").await;
        desk.fill("form[action$=restore] [name=why]", "the old one was better")
            .await;
        desk.press("main", "Restore as a new revision").await;
        until_saved(&desk, 3).await;
        desk.until_reads(&salt(), "0.30").await;
        desk.press(".in-study", "history").await;
        desk.until_told("the old one was better").await;
        desk.until_told("a saltier control").await;
    });
}

#[test]
fn who_saves_second_is_shown_both_versions_and_loses_nothing() {
    at_desk(|desk| async move {
        desk.open(BARS).await;
        desk.until(LIVE).await;
        desk.fill(&salt(), "0.4").await;
        desk.keys(Key::Enter).await;
        desk.until(UNSAVED).await;
        let first = desk.web.window().await.unwrap();

        // Somebody else, at a desk of their own; a name that is changed takes its drafts along.
        let second = desk.web.new_tab().await.unwrap();
        let (other, thing) = ("Somebody else", "spent-grain-bars");
        let more = study::edit::Edit::SetAmount {
            treatment: "control".into(),
            material: "salt".into(),
            amount: 0.6,
        };
        desk.app.edit(other, thing, 1, &[more]).await.unwrap();
        let why = Some("more salt, says the panel".to_owned());
        desk.app.save(other, thing, 1, why).await.unwrap();

        desk.web.switch_to_window(first.clone()).await.unwrap();
        desk.press("#study", "Save").await;
        desk.until_told("Two changes of the same revision").await;
        let told = desk.text("main").await;
        for words in [
            "Somebody else",
            "more salt, says the panel",
            "nothing is lost",
            "0.4",
            "0.6",
        ] {
            assert!(told.contains(words), "{words}: {told}");
        }
        desk.press("main", "Back to your draft").await;
        desk.until(LIVE).await;
        desk.until_reads(&salt(), "0.40").await;
        desk.click("a.stale").await;
        desk.until_told("Two changes of the same revision").await;
        desk.press("main", "Save yours over theirs, as a new revision")
            .await;
        until_saved(&desk, 3).await;
        desk.until_reads(&salt(), "0.40").await;
        desk.open(&format!("{BARS}/difference?from=2&to=3")).await;
        desk.until_told("0.6").await;

        // The same person in two windows: what is typed in the older one goes on top of what the other one saved,
        // where it is another cell.
        desk.open(BARS).await;
        desk.until(LIVE).await;
        desk.web.switch_to_window(second.clone()).await.unwrap();
        change_salt(&desk, "0.7", "from the other window", 4).await;
        desk.web.switch_to_window(first.clone()).await.unwrap();
        let soda = cell("control", "dry", "baking_soda");
        desk.fill(&soda, "0.9").await;
        desk.keys(Key::Enter).await;
        desk.until("document.querySelector('.unsaved')?.textContent.includes('over revision 4')")
            .await;
        desk.until_reads(&salt(), "0.70").await;
        desk.until_reads(&soda, "0.90").await;

        // Where it is the same cell, it is refused beside what was typed, with both values.
        desk.web.switch_to_window(second).await.unwrap();
        desk.fill(&salt(), "0.8").await;
        desk.keys(Key::Enter).await;
        desk.until("document.querySelector('.unsaved')?.textContent.includes('over revision 4')")
            .await;
        desk.until_reads(&soda, "0.90").await;
        desk.web.switch_to_window(first).await.unwrap();
        // Typed slowly, so that the first part is refused before the rest is typed.
        desk.fill(&salt(), "0.72").await;
        desk.until(
            "['0.8', '0.72'].every((v) => document.querySelector('.wrong')?.textContent.includes(v))",
        )
        .await;
        desk.keys(Key::Backspace).await;
        desk.keys("5").await;
        desk.keys(Key::Enter).await;
        desk.until(
            "['0.8', '0.75'].every((v) => document.querySelector('.wrong')?.textContent.includes(v))",
        )
        .await;
        desk.open(BARS).await;
        desk.until(LIVE).await;
        desk.until_reads(&salt(), "0.80").await;
        desk.press("#study", "Save").await;
        until_saved(&desk, 5).await;
    });
}

#[test]
fn without_script_the_sheet_reads_and_is_edited_and_saved() {
    at_desk(|desk| async move {
        desk.browser(
            "Emulation.setScriptExecutionDisabled",
            json!({ "value": true }),
        )
        .await;
        desk.open(BARS).await;
        assert!(!desk.ask::<bool>(LIVE).await, "the script is off");
        let bake = part("f.bake.time_min.control");
        let was = desk.text(&bake).await;
        assert!(was.parse::<f64>().is_ok(), "{was}");
        desk.fill(&cell("control", "dry", "wheat_flour_soft"), "44")
            .await;
        desk.press("#sheet", "Work it out").await;
        desk.until(UNSAVED).await;
        assert_ne!(desk.text(&bake).await, was);
        desk.fill("#study [name=why]", "without script").await;
        desk.press("#study", "Save").await;
        until_saved(&desk, 2).await;
        // A dialog opens without script as well, and its form works.
        desk.click("[popovertarget=t-barley].name").await;
        desk.fill("#t-barley [name=note]", "noted without script")
            .await;
        desk.press("#t-barley", "Keep the note").await;
        desk.until(UNSAVED).await;
        desk.until_reads("#t-barley [name=note]", "noted without script")
            .await;
        for page in ["bake", "line", "label", "history"] {
            desk.open(&format!("{BARS}/{page}")).await;
            let text = desk.text("main").await;
            assert!(text.len() > 300, "{page}: {text}");
        }
    });
}
