//! The answers over a study: why they are what they are, which of them stay in sight, what they say of the question.

use crate::desk::{BARS, LIVE, at_desk, cell, part};

/// A figure opens into causes that add up to what is shown, then what to try, which shows what it would do before it is
/// taken; what it stands on is folded.
#[test]
fn a_figure_tells_why_in_causes_that_add_up() {
    at_desk(|desk| async move {
        desk.open(BARS).await;
        desk.until(LIVE).await;
        desk.click("#row-bake\\.time_min summary").await;
        let body = part("w.bake.time_min");
        desk.until(&format!(
            "document.querySelectorAll(\"{body} .bridge table\").length > 1"
        ))
        .await;
        let off: Vec<String> = desk
            .ask(&format!(
                "[...document.querySelectorAll(\"{body} .bridge table\")].map((t) => [...t.querySelectorAll('.figure')].map((c) => Number(c.textContent.replace('−', '-')))).filter((n) => Math.abs(n.slice(0, -1).reduce((a, b) => a + b, 0) - n.at(-1)) > 1e-9 || n.some(Number.isNaN)).map(String)"
            ))
            .await;
        assert!(off.is_empty(), "causes that don't add up: {off:?}");
        let shown: Vec<String> = desk
            .ask(&format!(
                "[...document.querySelectorAll(\"{body} .bridge .end .figure\")].map((c) => c.textContent)"
            ))
            .await;
        let barley = desk.text(&part("k.bake.time_min.barley")).await;
        assert_eq!(shown[0], barley, "the bridge ends where the sheet stands");
        let folded = format!("!document.querySelector(\"{body} .stands\").open");
        assert!(desk.ask::<bool>(&folded).await);

        // Then how sure it is and what to try.
        desk.long_until(&format!("document.querySelector(\"{body} .sure\") && document.querySelectorAll(\"{body} .try\").length > 1"))
            .await;
        let before = desk.text(".state").await;
        let offer = format!("{body} .bridge:nth-child(2) .try");
        desk.press(&offer, "Show what would change").await;
        desk.until(&format!(
            "document.querySelector(\"{offer} .preview\").innerText.includes('would be')"
        ))
        .await;
        assert_eq!(desk.text(".state").await, before, "a look changes nothing");
        let was = desk.text(&part("k.bake.time_min.barley")).await;
        desk.press(&offer, "Take it").await;
        desk.until("document.querySelector('.unsaved')").await;
        desk.until(&format!(
            "document.querySelector(\"{}\").textContent.trim() !== '{was}'",
            part("k.bake.time_min.barley")
        ))
        .await;
    });
}

/// Four to six answers stay in sight, as somebody chooses; each tells what it was when the study was last saved.
#[test]
fn somebody_chooses_the_answers_in_sight() {
    at_desk(|desk| async move {
        desk.open(BARS).await;
        desk.until(LIVE).await;
        let rows = "[...document.querySelectorAll('.strip .row-head')].map((r) => r.textContent)";
        let before: Vec<String> = desk.ask(rows).await;
        assert_eq!(before.len(), 5);
        let tick = |key: &str| format!("#watch [name='watch:{key}']");
        desk.press(".tools", "Answers in sight…").await;
        for key in ["bake.time_min", "cost.per_kg"] {
            desk.click(&tick(key)).await;
        }
        // Three are too few: said, and nothing is changed.
        desk.press("#watch", "Keep these in sight").await;
        desk.until(
            "document.querySelector('#watch .word-back').innerText.includes('choose 4 to 6')",
        )
        .await;
        desk.click(&tick("cost.per_kg")).await;
        desk.click(&tick("dough.moisture_pct")).await;
        desk.press("#watch", "Keep these in sight").await;
        desk.until(&format!("({rows})[0].startsWith('dough moisture')"))
            .await;
        let after: Vec<String> = desk.ask(rows).await;
        assert!(
            after.len() == 5 && !after.iter().any(|r| r.starts_with("bake")),
            "{after:?}"
        );

        let moisture = part("k.dough.moisture_pct.control");
        let was = desk.text(&moisture).await;
        desk.fill(&cell("control", "dry", "wheat_flour_soft"), "44")
            .await;
        desk.until(&format!(
            "document.querySelector(\"{}\").textContent === 'was {was}'",
            part("kw.dough.moisture_pct.control")
        ))
        .await;
        // Another column follows the control, and its head says so.
        desk.until("document.querySelector('.study-table thead th.moved')")
            .await;
        // They are kept for every study and after a reload.
        desk.open(BARS).await;
        desk.until(LIVE).await;
        assert_eq!(desk.ask::<Vec<String>>(rows).await, after);
    });
}

/// The question has an answer so far, over the sheet and in the list, and it says that nothing is baked yet.
#[test]
fn the_question_is_answered_as_far_as_the_figures_go() {
    at_desk(|desk| async move {
        desk.open("/").await;
        desk.until("document.querySelector('.studies .so-far').innerText.includes('These figures are worked out, not measured')")
            .await;
        assert!(desk.text(".studies .asked").await.ends_with('?'));
        desk.open(BARS).await;
        desk.until(LIVE).await;
        let told = desk.text(".so-far").await;
        assert!(told.contains("Barley for wheat is"), "{told}");
        desk.fill(&cell("barley", "dry", "barley_flour"), "30")
            .await;
        desk.until(&format!(
            "document.querySelector('.so-far').textContent !== {}",
            serde_json::json!(told)
        ))
        .await;
    });
}

/// A new study starts from a piece, an oven and a way of forming that go together.
#[test]
fn a_new_study_starts_from_what_one_makes() {
    at_desk(|desk| async move {
        desk.open("/").await;
        desk.fill("form[action='/studies'] [name=name]", "Bones")
            .await;
        desk.choose("form[action='/studies'] [name=start]", "rotary-bone")
            .await;
        desk.press("form[action='/studies']", "Make it").await;
        desk.until(LIVE).await;
        assert!(!desk.text(&part("k.bake.time_min.control")).await.is_empty());
        let dry: String = desk
            .ask("document.querySelector('.study-table').innerText")
            .await;
        assert!(dry.contains("by need"), "{dry}");
        // A material is found by what people call it.
        desk.fill(".add-material [name=row]", "Oat flour").await;
        desk.keys(thirtyfour::prelude::Key::Enter).await;
        desk.until("document.activeElement.matches('[data-cell*=oat_flour]')")
            .await;
    });
}

/// The home page says what a study is, shows each with its question, answer and picture, and puts one away and out again.
#[test]
fn a_study_is_put_away_and_taken_out_again() {
    at_desk(|desk| async move {
        desk.open("/").await;
        desk.until("document.querySelector('.studies .small-piece polygon')")
            .await;
        assert!(
            desk.text(".lead")
                .await
                .starts_with("A study asks one question")
        );
        desk.click(".studies .away button").await;
        desk.until_told("Every study is put away.").await;
        desk.press("main", "1 put away").await;
        desk.until("document.querySelector('.studies a.title')")
            .await;
        desk.click(".studies .away button").await;
        desk.until_told("No study is put away.").await;
        desk.open("/").await;
        desk.until("document.querySelector('.studies a.title')")
            .await;
        // The settings' own page leaves it as it is.
        desk.click(".studies .away button").await;
        desk.until_told("Every study is put away.").await;
        desk.open("/settings").await;
        desk.press_on("main", "Save").await;
        desk.open("/").await;
        desk.until_told("Every study is put away.").await;
    });
}

/// A figure that was marked is copied with its unit.
#[test]
fn a_figure_is_copied_with_its_unit() {
    at_desk(|desk| async move {
        desk.open(BARS).await;
        desk.until(LIVE).await;
        let copied: String = desk
            .run(
                "const place = document.querySelector(\"[data-p='k.bake.time_min.control']\");
                 const range = document.createRange(); range.selectNodeContents(place);
                 getSelection().removeAllRanges(); getSelection().addRange(range);
                 const data = new DataTransfer();
                 document.dispatchEvent(new ClipboardEvent('copy', { clipboardData: data, bubbles: true, cancelable: true }));
                 return data.getData('text/plain');",
                &[],
            )
            .await;
        let bake = desk.text(&part("k.bake.time_min.control")).await;
        assert_eq!(copied, format!("{bake} min"));
    });
}
