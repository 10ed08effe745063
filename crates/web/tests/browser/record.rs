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
        desk.until_told("Both wrote here").await;
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
        desk.press("main", "Back to what you typed").await;
        desk.until(LIVE).await;
        desk.until_reads(&salt(), "0.40").await;
        desk.click("a.stale").await;
        desk.until_told("Both wrote here").await;
        desk.press("main", "Save all as you typed it, over revision 2")
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
        // It is settled where it stands: what was typed is put in, now that both were seen.
        desk.click("[data-settle=typed]").await;
        desk.until("!document.querySelector('.wrong') && document.getElementById('live-state').textContent === ''")
            .await;
        desk.until_reads(&salt(), "0.75").await;
        desk.open(BARS).await;
        desk.until(LIVE).await;
        desk.until_reads(&salt(), "0.75").await;
        desk.press("#study", "Save").await;
        until_saved(&desk, 5).await;
    });
}

/// Another window of the same person wrote in the same cell and in others: what stands there is kept with one click, and
/// what was typed in the other cells meanwhile goes through.
#[test]
fn a_cell_that_two_windows_wrote_is_settled_in_its_place() {
    at_desk(|desk| async move {
        desk.open(BARS).await;
        desk.until(LIVE).await;
        let who = desk.app.settings().await.unwrap().who;
        let edit = study::edit::Edit::SetAmount {
            treatment: "control".into(),
            material: "salt".into(),
            amount: 0.52,
        };
        let other = app::Seen {
            base: 1,
            counter: Some(0),
            window: Some("another".into()),
        };
        let thing = "spent-grain-bars";
        desk.app.edit(&who, thing, other, &[edit]).await.unwrap();
        // Two cells at once, one of which the other window wrote.
        let soda = cell("control", "dry", "baking_soda");
        desk.run::<bool>(
            "for (const [name, text] of [['c:control:dry:salt', '0.71'], ['c:control:dry:baking_soda', '0.44']]) {
               const c = document.querySelector(`[data-cell='${name}']`); c.value = text; c.dispatchEvent(new Event('input', { bubbles: true })); }
             return true;",
            &[],
        )
        .await;
        desk.until_told(
            "Changed in another window. What stands here now: 0.52. What you typed: 0.71.",
        )
        .await;
        // Its words and buttons are in sight on a telephone as well.
        desk.screen(390, 844).await;
        let whole = "(() => { const w = document.querySelector('.wrong'); w.scrollIntoView({ block: 'nearest', inline: 'nearest' });
            const box = w.closest('.study-box').getBoundingClientRect(), r = w.getBoundingClientRect();
            return r.left >= box.left && r.right <= box.right && r.bottom <= box.bottom && r.width > 120; })()";
        desk.until(whole).await;
        let kept = desk.app.study(&who, thing).await.unwrap().text;
        assert!(
            kept.contains("0.52") && kept.contains("0.44"),
            "the other cell went through"
        );
        desk.click("[data-settle=stands]").await;
        desk.until_reads(&salt(), "0.52").await;
        desk.until_reads(&soda, "0.44").await;
        desk.until("!document.querySelector('.wrong')").await;
        let after = desk.app.study(&who, thing).await.unwrap();
        assert_eq!(after.text, kept);
    });
}

/// Two people wrote in the same revision: the cell that both wrote is chosen, the rest comes together, and it stays
/// unsaved until somebody saves it.
#[test]
fn two_people_settle_cell_by_cell() {
    at_desk(|desk| async move {
        desk.open(BARS).await;
        desk.until(LIVE).await;
        for (at, amount) in [("salt", "0.4"), ("baking_soda", "0.44")] {
            desk.fill(&cell("control", "dry", at), amount).await;
            desk.keys(Key::Enter).await;
        }
        desk.until("document.getElementById('live-state').textContent === ''")
            .await;
        let (other, thing) = ("Somebody else", "spent-grain-bars");
        for (treatment, amount) in [("control", 0.6), ("barley", 0.7)] {
            let edit = study::edit::Edit::SetAmount {
                treatment: treatment.into(),
                material: "salt".into(),
                amount,
            };
            desk.app.edit(other, thing, 1, &[edit]).await.unwrap();
        }
        desk.app.save(other, thing, 1, None).await.unwrap();
        desk.press("#study", "Save").await;
        desk.until_told("Both wrote here").await;
        assert_eq!(
            desk.ask::<usize>("document.querySelectorAll('.both tbody tr').length")
                .await,
            1
        );
        let row = desk.text(".both tbody tr").await;
        for words in ["salt", "0.3", "0.6", "0.4"] {
            assert!(row.contains(words), "{words}: {row}");
        }
        desk.click(".both [value=typed]").await;
        desk.press_on("main", "Put both together as chosen").await;
        desk.until(LIVE).await;
        for (treatment, material, amount) in [
            ("control", "salt", "0.40"),
            ("control", "baking_soda", "0.44"),
        ] {
            desk.until_reads(&cell(treatment, "dry", material), amount)
                .await;
        }
        desk.until("document.querySelector('.unsaved').textContent.includes('over revision 2')")
            .await;
        let who = desk.app.settings().await.unwrap().who;
        let text = desk.app.study(&who, thing).await.unwrap().text;
        assert!(
            text.contains("0.7"),
            "what the other changed elsewhere came in: {text}"
        );
        desk.press("#study", "Save").await;
        until_saved(&desk, 3).await;
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
