//! The whole piece on the page of the bake: set to work, followed, looked at, stopped.

use crate::desk::{BARS, Desk, at_desk, screens};
use crate::looks::from_base64;
use thirtyfour::prelude::*;

/// Holds once the moving pictures are there, which they are soon after somebody comes to them.
pub const PICTURES: &str = "(document.getElementById('whole-piece')?.scrollIntoView(), document.getElementById('solid-view')) && !document.getElementById('solid-view').hidden && document.getElementById('solid-plan').width > 200";
const RUNNING: &str = "document.querySelector('#whole-piece[data-running] progress')";
const ROWS: &str = "[...document.querySelectorAll('#solid-probes tbody tr')]";

/// Opens the page of a bake with its scripts at work.
pub async fn opened(desk: &Desk, treatment: &str) {
    desk.open(&format!("{BARS}/bake?treatment={treatment}"))
        .await;
    desk.until("!document.getElementById('clock').hidden").await;
    desk.until("document.getElementById('whole-piece')").await;
}

async fn pictures(desk: &Desk) -> (String, String) {
    let of = |id: &str| format!("document.getElementById('{id}').toDataURL()");
    (
        desk.ask(&of("solid-plan")).await,
        desk.ask(&of("solid-section")).await,
    )
}

/// The number in a cell of the table of probes.
async fn reading(desk: &Desk, row: usize, column: usize) -> f64 {
    let text: String = desk
        .ask(&format!("{ROWS}[{row}].children[{column}].textContent"))
        .await;
    text.replace('\u{2212}', "-")
        .parse()
        .unwrap_or_else(|e| panic!("{text}: {e}"))
}

/// Puts the slider somewhere as a key would.
async fn slid(desk: &Desk, key: Key) {
    desk.click("#solid-time").await;
    desk.keys(key).await;
}

#[test]
fn a_first_look_is_followed_and_its_pictures_answer_to_every_control() {
    at_desk(|desk| async move {
        opened(&desk, "control").await;
        assert!(
            desk.ask::<bool>("!document.getElementById('solid-view')")
                .await
        );
        desk.press("#whole-piece", "First look, coarse").await;
        desk.until(&format!("{RUNNING} || ({PICTURES})")).await;
        desk.long_until(PICTURES).await;
        desk.until(&format!("!{RUNNING}")).await;
        assert!(desk.text("#whole-piece .bake-time").await.contains("min"));

        // The slider, which begins at the oven's exit.
        let exit = desk.value("#solid-time").await;
        let at_exit = pictures(&desk).await;
        slid(&desk, Key::Home).await;
        desk.until("document.getElementById('solid-moment').textContent.startsWith('0.0 min')")
            .await;
        let cold = pictures(&desk).await;
        assert_ne!(cold, at_exit);
        desk.click("#solid-play").await;
        desk.until("Number(document.getElementById('solid-time').value) > 150")
            .await;
        assert_eq!(desk.text("#solid-play").await, "Pause");
        desk.click("#solid-play").await;
        desk.until_reads("#solid-play", "Play").await;
        let warm = pictures(&desk).await;
        assert_ne!(warm, cold);
        desk.click("[name=solid-what][value=moisture_pct]").await;
        let wet = pictures(&desk).await;
        assert!(wet.0 != warm.0 && wet.1 != warm.1);
        desk.click("[name=solid-what][value=c]").await;
        assert_eq!(pictures(&desk).await, warm);

        // A probe by a click in the middle of the picture is in the middle of the piece.
        assert!(
            desk.ask::<bool>("document.getElementById('solid-probes').hidden")
                .await
        );
        // A click goes to the middle of what is seen of a place, so all of it has to be.
        desk.ask::<bool>(
            "(document.getElementById('solid-plan').scrollIntoView({ block: 'center' }), true)",
        )
        .await;
        desk.click("#solid-plan").await;
        desk.until(&format!("{ROWS}.length === 1")).await;
        assert!(reading(&desk, 0, 1).await.abs() < 1.0 && reading(&desk, 0, 2).await.abs() < 1.0);
        // And one by the keyboard alone.
        desk.web
            .find(By::Css("#solid-probe [name=x]"))
            .await
            .unwrap()
            .focus()
            .await
            .unwrap();
        desk.keys("28").await;
        desk.keys(Key::Tab).await;
        desk.keys("-4.5").await;
        desk.keys(Key::Enter).await;
        desk.until(&format!("{ROWS}.length === 2")).await;
        assert!((reading(&desk, 1, 1).await - 28.0).abs() < 0.06);
        assert!((reading(&desk, 1, 2).await + 4.5).abs() < 0.06);
        let table: String = desk
            .ask("document.getElementById('solid-probes').innerText")
            .await;
        slid(&desk, Key::End).await;
        desk.until(&format!(
            "document.getElementById('solid-probes').innerText !== {}",
            serde_json::json!(table)
        ))
        .await;
        slid(&desk, Key::Home).await;
        desk.until("document.getElementById('solid-moment').textContent.startsWith('0.0 min')")
            .await;
        // Near the edge. Dough goes in no warmer than a warm room and comes out of no oven wetter than it went in (common sense).
        let (cold_c, wet_pct) = (reading(&desk, 1, 3).await, reading(&desk, 1, 4).await);
        assert!((0.0..45.0).contains(&cold_c), "{cold_c}");
        desk.run::<bool>(
            "const s = document.getElementById('solid-time'); s.value = arguments[0];
             s.dispatchEvent(new Event('input', { bubbles: true })); return true;",
            &[serde_json::json!(exit)],
        )
        .await;
        let (hot_c, dry_pct) = (reading(&desk, 1, 3).await, reading(&desk, 1, 4).await);
        assert!(hot_c > cold_c + 10.0, "{cold_c} to {hot_c}");
        assert!(dry_pct < wet_pct && dry_pct > 0.0, "{wet_pct} to {dry_pct}");
        desk.press("#solid-probe", "Take all away").await;
        desk.until("document.getElementById('solid-probes').hidden")
            .await;
    });
}

#[test]
fn trying_docker_holes_can_be_stopped_and_leaves_no_answer() {
    at_desk(|desk| async move {
        opened(&desk, "control").await;
        desk.press("#whole-piece", "Try docker holes").await;
        desk.until(RUNNING).await;
        desk.until("document.querySelector('#whole-piece button[value=dockers]').disabled")
            .await;
        desk.press("#whole-piece", "Stop").await;
        desk.until(&format!(
            "!{RUNNING} && !document.querySelector('#whole-piece button[value=dockers]').disabled"
        ))
        .await;
        assert!(
            desk.ask::<bool>("!document.querySelector('.dockers-tried')")
                .await
        );
        let me = desk.app.settings().await.unwrap().who;
        let view = desk.app.study(&me, "spent-grain-bars").await.unwrap();
        let state = desk.app.solid(&view, "control", app::SolidWhat::Dockers);
        assert!(!matches!(
            state.unwrap(),
            app::SolidState::Done(_) | app::SolidState::Running(_)
        ));
        desk.open(&format!("{BARS}/bake?treatment=control")).await;
        assert!(
            desk.ask::<bool>("!document.querySelector('.dockers-tried')")
                .await
        );
    });
}

/// The part of a page between two things that selectors find, as a picture.
async fn part_between(desk: &Desk, first: &str, last: &str, name: &str) {
    const CLIP: &str = "const [a, b] = [...arguments].map((s) => document.querySelector(s).getBoundingClientRect());
        const [top, end] = [a.top + scrollY - 12, b.bottom + scrollY + 16];
        return { x: 0, y: top, width: innerWidth, height: end - top, scale: 1 };";
    let clip: serde_json::Value = desk
        .run(CLIP, &[serde_json::json!(first), serde_json::json!(last)])
        .await;
    let given = serde_json::json!({ "format": "png", "captureBeyondViewport": true, "clip": clip });
    let told = desk.browser("Page.captureScreenshot", given).await;
    let picture = from_base64(told["data"].as_str().unwrap());
    assert!((5_000..300_000).contains(&picture.len()), "{name}");
    std::fs::write(screens().join(name), picture).unwrap();
}

#[test]
fn pictures_of_the_piece_and_its_bake_are_left_to_look_at() {
    at_desk(|desk| async move {
        desk.open(&format!("{BARS}/piece?treatment=control")).await;
        part_between(&desk, "#piece h1", ".piece-and-form", "part-piece.png").await;
        opened(&desk, "control").await;
        desk.press("#whole-piece", "Bake the whole piece").await;
        desk.long_until(PICTURES).await;
        desk.click("[name=solid-what][value=moisture_pct]").await;
        for (x, y) in [("0", "0"), ("26", "-9")] {
            desk.fill("#solid-probe [name=x]", x).await;
            desk.fill("#solid-probe [name=y]", y).await;
            desk.keys(Key::Enter).await;
        }
        desk.until(&format!("{ROWS}.length === 2")).await;
        desk.run::<bool>(
            "document.activeElement.blur(); for (const n of ['x', 'y']) document.getElementById('solid-probe').elements[n].value = '';
             scrollTo(0, 0); return true;",
            &[],
        )
        .await;
        // The middle is wetter than the edge as the piece leaves the oven.
        assert!(reading(&desk, 0, 4).await > reading(&desk, 1, 4).await);
        part_between(
            &desk,
            "#whole-piece h2",
            "#solid-probes",
            "part-whole-piece.png",
        )
        .await;
        desk.scheme("dark").await;
        desk.click("[name=solid-what][value=moisture_pct]").await;
        part_between(
            &desk,
            "#whole-piece h2",
            "#solid-probes",
            "part-whole-piece-dark.png",
        )
        .await;
    });
}
