//! The piece and what comes after the oven: a form whose every change shows at once.

use crate::desk::{BARS, Desk, at_desk};
use thirtyfour::prelude::*;

/// Holds once the form's script listens.
const LISTENS: &str = "document.querySelector('#section-form .set button').hidden";
const DRAWING: &str = "document.querySelector('.piece-drawing svg').outerHTML";
const HOLES: &str = "document.querySelectorAll('.piece-drawing svg .hole-number').length";
const REFUSED: &str = "document.querySelector('[aria-invalid]')?.name";

async fn facts(desk: &Desk) -> String {
    desk.text(".drawn .facts").await
}

async fn undo_until(desk: &Desk, holds: &str) {
    desk.press("#study", "Undo").await;
    desk.until(holds).await;
}

#[test]
fn another_outline_is_drawn_at_once_and_a_hole_beside_it_is_refused() {
    at_desk(|desk| async move {
        desk.open(&format!("{BARS}/piece?treatment=control")).await;
        desk.until(LISTENS).await;
        let drawn: String = desk.ask(DRAWING).await;
        let (told, holes) = (facts(&desk).await, desk.ask::<u32>(HOLES).await);
        assert!(holes > 2, "{holes}");

        desk.choose("[name=outline]", "round").await;
        desk.until("document.querySelector('.unsaved')").await;
        desk.until(&format!("{DRAWING} !== {}", serde_json::json!(drawn)))
            .await;
        assert_ne!(facts(&desk).await, told);
        // A circle as large as the rectangle was, as the field beside it says; school geometry.
        let diameter_mm: f64 = desk.value("[name=diameter_mm]").await.parse().unwrap();
        let area_cm2 = std::f64::consts::FRAC_PI_4 * diameter_mm * diameter_mm / 100.0;
        let first: String = desk
            .ask("document.querySelector('.drawn .facts dd').textContent.split(' ')[0]")
            .await;
        assert!(
            (first.parse::<f64>().unwrap() - area_cm2).abs() < 0.006,
            "{first} and {area_cm2}"
        );

        // Fewer holes, typed and left.
        desk.fill("[name='docker.count']", "4").await;
        desk.keys(Key::Tab).await;
        desk.until(&format!("{HOLES} === 4")).await;
        assert!(facts(&desk).await.contains("4 of"));
        // Back to the piece as it was.
        undo_until(&desk, &format!("{HOLES} === {holes}")).await;
        undo_until(
            &desk,
            &format!("{DRAWING} === {}", serde_json::json!(drawn)),
        )
        .await;
        assert_eq!(facts(&desk).await, told);

        // A hole beside the piece is told at its field, which keeps what was typed; nothing else changes.
        desk.choose("[name='docker.pattern']", "points").await;
        desk.until("document.querySelector(\"[name='docker.pattern'] option[value=points]\").hasAttribute('selected')")
            .await;
        let drawn: String = desk.ask(DRAWING).await;
        desk.fill("[name='docker.points_mm']", "0,0 400,0").await;
        desk.keys(Key::Tab).await;
        desk.until(REFUSED).await;
        desk.until_told("lies outside the outline").await;
        let told: String = desk
            .ask("document.querySelector('#section-form .refused').closest('.measure').innerText")
            .await;
        assert!(told.contains("400.00, 0.00"), "{told}");
        assert_eq!(desk.value("[name='docker.points_mm']").await, "0,0 400,0");
        assert_eq!(desk.ask::<String>(DRAWING).await, drawn);
        // Mended, it goes.
        desk.fill("[name='docker.points_mm']", "0,0 10,0").await;
        desk.keys(Key::Tab).await;
        desk.until(&format!("!{REFUSED} && {HOLES} === 2")).await;
    });
}

#[test]
fn another_film_keeps_the_pack_for_other_days() {
    at_desk(|desk| async move {
        desk.open(&format!("{BARS}/after?treatment=control")).await;
        desk.until(LISTENS).await;
        let limits = "document.querySelector('.limits tbody').innerText";
        let film = "document.querySelector('[name=film]').value";
        let (was, kept): (String, String) = (desk.ask(film).await, desk.ask(limits).await);
        let chart: String = desk
            .ask("document.querySelector('.course').innerHTML")
            .await;
        let other = if was == "nylon-6" { "opp" } else { "nylon-6" };
        desk.choose("[name=film]", other).await;
        desk.until(&format!("{limits} !== {}", serde_json::json!(kept)))
            .await;
        assert_eq!(desk.ask::<String>(film).await, other);
        assert_ne!(
            desk.ask::<String>("document.querySelector('.course').innerHTML")
                .await,
            chart
        );
        let days = |text: &str| -> Vec<u32> {
            let words = text.split(|c: char| !c.is_ascii_digit());
            words.filter_map(|w| w.parse().ok()).collect()
        };
        let other: String = desk.ask(limits).await;
        assert_ne!(days(&other), days(&kept), "{other}");
        undo_until(&desk, &format!("{limits} === {}", serde_json::json!(kept))).await;
        assert_eq!(desk.ask::<String>(film).await, was);
    });
}
