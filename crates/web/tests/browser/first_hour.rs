//! The first hour as it is told in docs/using/first-hour.md, gone through; its pictures are made on the way when
//! `UPDATE_PICTURES=1` asks for them.

use crate::desk::{BARS, Desk, LIVE, at_desk, cell, part};
use crate::looks::from_base64;
use serde_json::json;
use std::path::Path;
use thirtyfour::prelude::*;

const TEXT: &str = include_str!("../../../../docs/using/first-hour.md");

/// Keeps what stands on the screen as the picture of a step where that is asked for; else looks that there is one.
async fn step(desk: &Desk, name: &str) {
    assert!(
        TEXT.contains(&format!("../pictures/first-hour/{name}.webp")),
        "{name} isn't told"
    );
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/pictures/first-hour");
    let file = folder.join(format!("{name}.webp"));
    if std::env::var_os("UPDATE_PICTURES").is_some() {
        desk.until("document.fonts.status === 'loaded'").await;
        let given = json!({ "format": "webp", "quality": 70 });
        let told = desk.browser("Page.captureScreenshot", given).await;
        std::fs::write(&file, from_base64(told["data"].as_str().unwrap())).unwrap();
    }
    let picture = std::fs::read(&file).unwrap();
    // WebP: RIFF, length, WEBP (RFC 9649).
    assert!(
        picture.starts_with(b"RIFF") && picture[8..12] == *b"WEBP",
        "{name}: make it with UPDATE_PICTURES=1"
    );
    assert!(
        (4_000..120_000).contains(&picture.len()),
        "{name}: {} bytes",
        picture.len()
    );
}

#[test]
fn a_first_hour_ends_each_step_with_something_seen() {
    at_desk(|desk| async move {
        desk.screen(1180, 820).await;
        // 1. Look at a study that is there.
        desk.open("/").await;
        desk.press_on(".studies", "Spent-grain bars").await;
        desk.until(LIVE).await;
        desk.until("document.querySelector('.so-far').innerText.includes('Barley')")
            .await;
        step(&desk, "1-sheet").await;
        // 2. Change one number.
        let bake = part("kw.bake.time_min.control");
        desk.fill(&cell("control", "dry", "wheat_flour_soft"), "44")
            .await;
        desk.keys(Key::Enter).await;
        desk.until(&format!(
            "document.querySelector(\"{bake}\")?.textContent.startsWith('was ')"
        ))
        .await;
        step(&desk, "2-changed").await;
        desk.press("#study", "Undo").await;
        desk.until("!document.querySelector('.unsaved')").await;
        // 3. Ask why.
        desk.click("#row-bake\\.time_min summary").await;
        let why = part("w.bake.time_min");
        desk.until(&format!(
            "document.querySelectorAll(\"{why} .bridge table\").length > 1"
        ))
        .await;
        desk.run::<bool>(
            "document.querySelector(arguments[0]).scrollIntoView({ block: 'start' }); return true;",
            &[json!("#row-bake\\.time_min")],
        )
        .await;
        step(&desk, "3-why").await;
        // 4. A study of one's own.
        desk.open("/").await;
        desk.fill("form[action='/studies'] [name=name]", "My bars")
            .await;
        desk.choose("form[action='/studies'] [name=start]", "sheeted-bar")
            .await;
        desk.press_on("form[action='/studies']", "Make it").await;
        desk.until(LIVE).await;
        desk.until_told("My bars").await;
        assert!(
            desk.text(&part("k.bake.time_min.control"))
                .await
                .parse::<f64>()
                .is_ok()
        );
        step(&desk, "4-own").await;
        let mine: String = desk.ask("location.pathname").await;
        assert!(mine != BARS && mine.starts_with("/study/"));
        // 5. The piece.
        desk.open(&format!("{mine}/piece")).await;
        desk.until("document.querySelector('#section-form .set button').hidden")
            .await;
        desk.fill("[name=length_mm]", "60").await;
        desk.keys(Key::Tab).await;
        desk.until("document.querySelector('.unsaved')").await;
        step(&desk, "5-piece").await;
        // 6. The oven.
        desk.open(&format!("{mine}/bake")).await;
        desk.until("!document.getElementById('clock').hidden").await;
        desk.click(".oven .deed[data-deed=split_zone][data-at='1'] text")
            .await;
        desk.until("document.querySelectorAll('.oven [role=slider]').length === 3")
            .await;
        desk.run::<bool>(
            "document.querySelector('.ovens').scrollIntoView(); return true;",
            &[],
        )
        .await;
        step(&desk, "6-oven").await;
        // 7. The label.
        desk.open(&format!("{mine}/label")).await;
        desk.until_told("crude protein, at least").await;
        step(&desk, "7-label").await;
        // 8. Kept.
        desk.fill("#study [name=why]", "my piece and my oven").await;
        desk.press("#study", "Save").await;
        desk.until("document.querySelector('.state').textContent.startsWith('saved: revision 2')")
            .await;
    });
}

/// Every page leads to the text about it, which is there; every link and picture of the texts as well.
#[test]
fn every_page_leads_to_how_it_is_used() {
    at_desk(|desk| async move {
        let rooms = ["piece", "bake", "after", "line", "label", "history"];
        let pages = rooms.map(|r| (format!("{BARS}/{r}"), r)).into_iter();
        let others = [
            ("/", "studies"),
            (BARS, "sheet"),
            ("/materials", "materials"),
            ("/settings", "settings"),
            ("/material/salt", "materials"),
        ];
        for (page, text) in pages.chain(others.map(|(p, t)| (p.to_owned(), t))) {
            desk.open(&page).await;
            let to: String = desk
                .ask("document.querySelector('.told-in').getAttribute('href')")
                .await;
            assert_eq!(to, format!("/using/{text}"), "{page}");
            desk.press_on(".top", "How this page is used").await;
            assert!(desk.text("article.using").await.len() > 200, "{text}");
        }
        desk.open("/using/first-hour").await;
        desk.until("[...document.querySelectorAll('.using img')].length === 7")
            .await;
        let dead: Vec<String> = desk
            .run(
                "const all = [...document.querySelectorAll('.using a, .using img')].map((e) => e.href ?? e.src);
                 return Promise.all(all.map(async (to) => ((await fetch(to)).ok ? null : to))).then((found) => found.filter(Boolean));",
                &[],
            )
            .await;
        assert!(dead.is_empty(), "{dead:?}");
        desk.open("/using/nothing").await;
        assert!(desk.text("main").await.contains("There is no such text"));
    });
}
