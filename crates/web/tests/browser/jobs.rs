//! Ten jobs as a person does them, each with its clicks counted: to open a list and choose from it counts two, to go to a
//! field one. The limit of twelve is ours.

use crate::desk::{BARS, Desk, LIVE, at_desk, cell, part};
use thirtyfour::prelude::*;

const MOST: usize = 12;
const LISTENS: &str = "document.querySelector('#section-form .set button').hidden";

fn counted(desk: &Desk, job: &str) {
    let clicks = desk.clicks();
    println!("{job}: {clicks} clicks");
    assert!((1..=MOST).contains(&clicks), "{job}: {clicks} clicks");
}

async fn at_sheet(desk: &Desk) {
    desk.open(BARS).await;
    desk.until(LIVE).await;
}

#[test]
fn a_new_study_in_per_cent_of_flour_from_a_pasted_list() {
    at_desk(|desk| async move {
        desk.open("/").await;
        desk.fill("form[action='/studies'] [name=name]", "Oat rounds")
            .await;
        desk.press_on("form[action='/studies']", "Make it").await;
        desk.until(LIVE).await;
        desk.click("a[data-per=flour]").await;
        desk.until("document.querySelector('a[data-per=flour]').getAttribute('aria-current')")
            .await;
        desk.press(".tools", "Paste a list…").await;
        desk.click("#paste textarea").await;
        desk.run::<bool>(
            "document.querySelector('#paste textarea').value = arguments[0]; return true;",
            &["Soft wheat flour\t100\nSunflower oil\t9\nSalt\t0.8\n".into()],
        )
        .await;
        desk.press("#paste", "Read it").await;
        desk.until("document.querySelectorAll('#paste .names tbody tr').length === 3")
            .await;
        // What isn't certain is chosen.
        desk.click("#paste .meant [value=wheat_flour_soft]").await;
        desk.press("#paste .names", "Take it so").await;
        desk.until("!document.querySelector(':popover-open')").await;
        desk.until_reads(&cell("control", "fat", "sunflower_oil"), "9.00")
            .await;
        desk.until_reads(&cell("control", "dry", "salt"), "0.80")
            .await;
        desk.until_reads(&cell("control", "dry", "wheat_flour_soft"), "100.00")
            .await;
        counted(&desk, "a new study in per cent of flour from a pasted list");
    });
}

#[test]
fn a_swap_at_equal_protein() {
    at_desk(|desk| async move {
        at_sheet(&desk).await;
        let protein = part("f.nutrition.crude_protein_pct.rice_chickpea");
        let was = desk.text(&protein).await;
        desk.press(".tools", "Swap…").await;
        desk.choose("#swap [name=treatment]", "rice_chickpea").await;
        desk.choose("#swap [name=out]", "chickpea_flour").await;
        desk.fill("#swap [name=with]", "barley_flour").await;
        desk.choose("#swap [name=keep]", "protein").await;
        desk.press("#swap", "Show what would change").await;
        desk.until("document.querySelector('#swap .preview').innerText.includes('would be')")
            .await;
        desk.press("#swap", "Swap").await;
        desk.until(
            "!document.querySelector(':popover-open') && document.querySelector('.unsaved')",
        )
        .await;
        let is: f64 = desk.text(&protein).await.parse().unwrap_or(f64::NAN);
        println!("protein {was} to {is} %");
        counted(&desk, "a swap at equal protein");
    });
}

#[test]
fn a_zone_more_and_its_border_and_heat() {
    at_desk(|desk| async move {
        desk.open(&format!("{BARS}/bake?treatment=control")).await;
        desk.until("!document.getElementById('clock').hidden").await;
        desk.click(".oven .deed[data-deed=split_zone][data-at='2'] text")
            .await;
        desk.until("document.querySelectorAll('table.zones tbody tr').length === 4")
            .await;
        let minutes = "document.getElementById('bake').dataset.bakeMin";
        let was: String = desk.ask(minutes).await;
        desk.fill("[data-cell='exit 2.air_c']", "220").await;
        desk.keys(Key::Enter).await;
        desk.until(&format!("{minutes} !== '{was}'")).await;
        counted(&desk, "a zone more, hotter");
    });
}

#[test]
fn a_round_piece_with_five_holes() {
    at_desk(|desk| async move {
        desk.open(&format!("{BARS}/piece?treatment=control")).await;
        desk.until(LISTENS).await;
        desk.choose("[name=outline]", "round").await;
        desk.until(
            "document.querySelector('[name=diameter_mm]') && document.querySelector('.unsaved')",
        )
        .await;
        desk.fill("[name='docker.count']", "5").await;
        desk.keys(Key::Tab).await;
        desk.until("document.querySelectorAll('.piece-drawing svg .hole-number').length === 5")
            .await;
        counted(&desk, "a round piece with five holes");
    });
}

#[test]
fn why_the_bake_rose() {
    at_desk(|desk| async move {
        at_sheet(&desk).await;
        desk.click("#row-bake\\.time_min summary").await;
        let body = part("w.bake.time_min");
        desk.until(&format!(
            "document.querySelectorAll(\"{body} .bridge table\").length > 1"
        ))
        .await;
        assert!(desk.text(&body).await.contains("water"));
        counted(&desk, "why the bake rose");
    });
}

#[test]
fn a_certificate_taken_into_a_study() {
    at_desk(|desk| async move {
        desk.open("/materials?q=wheat").await;
        desk.click("a[href='/material/wheat_flour_soft']").await;
        desk.until_told("Own values").await;
        desk.fill("[name='v.moisture_pct']", "9.2").await;
        desk.fill("[name='v.lot']", "W-77").await;
        desk.press("form.grid", "Save own values").await;
        desk.until_told("lot W-77").await;
        desk.press(".use", "Take the own values into this study")
            .await;
        desk.until(LIVE).await;
        desk.until("document.querySelector('.unsaved')").await;
        counted(&desk, "a certificate taken into a study");
    });
}

#[test]
fn two_bakes_compared() {
    at_desk(|desk| async move {
        at_sheet(&desk).await;
        desk.press("nav.in-study", "bake").await;
        desk.until("document.getElementById('clock') && !document.getElementById('clock').hidden")
            .await;
        desk.press(".treatment-choice", "Control, rotary moulded")
            .await;
        desk.until("document.querySelector('.treatment-choice [aria-current]')?.textContent === 'Control, rotary moulded'").await;
        desk.choose(".beside-choice [name=beside]", "barley").await;
        desk.until("location.search.includes('beside=barley') && document.querySelectorAll('.ovens figure').length === 2").await;
        counted(&desk, "two bakes compared");
    });
}

/// From so many pieces to a list that is printed: the amounts are those of `formula::batch` by hand below, for the lines
/// sum to the dough.
#[test]
fn from_a_count_of_pieces_to_a_printed_weigh_list() {
    at_desk(|desk| async move {
        at_sheet(&desk).await;
        desk.press(".tools", "Weigh list…").await;
        desk.until("document.querySelector('.weigh-list')").await;
        desk.fill("[name=pieces]", "1200").await;
        desk.press_on("form.line", "Work it out").await;
        assert!(desk.text("main").await.contains("1200 good pieces"));
        let kg: Vec<f64> = desk
            .ask("[...document.querySelectorAll('.weigh-list td.figure')].map((c) => Number(c.textContent))")
            .await;
        let (lines, dough) = kg.split_at(kg.len() - 1);
        assert!(
            lines.len() > 8 && (lines.iter().sum::<f64>() - dough[0]).abs() < 0.005,
            "{kg:?}"
        );
        // Twice the pieces, twice the dough.
        let first = dough[0];
        desk.open(&format!("{BARS}/weigh?treatment=control&pieces=600"))
            .await;
        let half: f64 = desk.ask("Number([...document.querySelectorAll('.weigh-list td.figure')].at(-1).textContent)").await;
        assert!((2.0 * half - first).abs() < 0.02, "{half} and {first}");
        // What is printed is the list without the form.
        desk.browser(
            "Emulation.setEmulatedMedia",
            serde_json::json!({ "media": "print" }),
        )
        .await;
        assert!(
            desk.ask::<bool>(
                "getComputedStyle(document.querySelector('form.line')).display === 'none'"
            )
            .await
        );
        counted(&desk, "a weigh list");
        // A count that can't be is told kindly.
        desk.open(&format!("{BARS}/weigh?treatment=control&pieces=0"))
            .await;
        assert!(desk.text("body").await.contains("pieces"));
    });
}

#[test]
fn a_study_is_exported() {
    at_desk(|desk| async move {
        at_sheet(&desk).await;
        let text: String = desk
            .run("return fetch(document.querySelector(\"a[href$='/export']\").href).then((r) => r.text());", &[])
            .await;
        assert!(study::written::read(&text).is_ok());
        desk.click("a[href$='/export']").await;
        counted(&desk, "export");
    });
}

#[test]
fn what_both_wrote_is_settled() {
    at_desk(|desk| async move {
        at_sheet(&desk).await;
        desk.fill(&cell("control", "dry", "salt"), "0.4").await;
        desk.keys(Key::Enter).await;
        desk.until("document.querySelector('.unsaved') && document.getElementById('live-state').textContent === ''").await;
        let (other, thing) = ("Somebody else", "spent-grain-bars");
        let edit = study::edit::Edit::SetAmount {
            treatment: "control".into(),
            material: "salt".into(),
            amount: 0.6,
        };
        desk.app.edit(other, thing, 1, &[edit]).await.unwrap();
        desk.app.save(other, thing, 1, None).await.unwrap();
        desk.press("#study", "Save").await;
        desk.until_told("Both wrote here").await;
        desk.click(".both [value=typed]").await;
        desk.press_on("main", "Put both together as chosen").await;
        desk.until(LIVE).await;
        desk.press("#study", "Save").await;
        desk.until("document.querySelector('.state').textContent.includes('revision 3')")
            .await;
        counted(&desk, "a conflict");
    });
}
