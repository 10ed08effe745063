//! The bake: the slider, the film, the zones.

use crate::desk::{BARS, Desk, at_desk};
use thirtyfour::prelude::*;

/// What the picture of the first piece looks like now.
async fn picture(desk: &Desk) -> String {
    desk.ask("document.querySelector('canvas.piece').toDataURL()")
        .await
}

async fn readings(desk: &Desk) -> String {
    desk.text(".readings-now tbody").await
}

#[test]
fn the_slider_moves_the_picture_and_a_zone_changes_the_answer() {
    at_desk(|desk| async move {
        desk.open(&format!("{BARS}/bake?treatment=control")).await;
        desk.until("!document.getElementById('clock').hidden && document.querySelector('canvas.piece').width > 300")
            .await;
        let (at_exit, now) = (picture(&desk).await, readings(&desk).await);
        desk.click("#time").await;
        desk.keys(Key::Home).await;
        desk.until("document.getElementById('moment').textContent.startsWith('0.0 min')")
            .await;
        assert_ne!(picture(&desk).await, at_exit);
        assert_ne!(readings(&desk).await, now);
        let mark = "document.querySelector('svg .moment.on').getAttribute('x1')";
        let at_start: String = desk.ask(mark).await;

        // It plays and stops.
        let cold = picture(&desk).await;
        desk.click("#play").await;
        desk.until("Number(document.getElementById('time').value) > 60")
            .await;
        assert_eq!(desk.text("#play").await, "Pause");
        desk.click("#play").await;
        desk.until_reads("#play", "Play").await;
        assert_ne!(picture(&desk).await, cold);
        assert_ne!(desk.ask::<String>(mark).await, at_start);
        let warm = picture(&desk).await;
        desk.click("[name=what][value=moisture_pct]").await;
        assert_ne!(picture(&desk).await, warm);

        // A hotter zone, typed and left.
        let minutes = "document.getElementById('bake').dataset.bakeMin";
        let was: String = desk.ask(minutes).await;
        desk.fill("[data-cell='middle.air_c']", "240").await;
        desk.keys(Key::Enter).await;
        desk.until(&format!(
            "{minutes} !== '{was}' && document.querySelector('.unsaved')"
        ))
        .await;
        let is: String = desk.ask(minutes).await;
        assert!(is.parse::<f64>().unwrap() < was.parse::<f64>().unwrap());
        desk.until("document.getElementById('before').textContent.startsWith('was ')")
            .await;
        // What can't be is refused with what is allowed, and what was typed stays to be mended.
        desk.fill("[data-cell='middle.air_c']", "9999").await;
        desk.keys(Key::Enter).await;
        desk.until("document.getElementById('said').textContent.includes('20 to 400')")
            .await;
        assert_eq!(desk.value("[data-cell='middle.air_c']").await, "9999");
        assert_eq!(desk.ask::<String>(minutes).await, is);
        desk.keys(Key::Escape).await;
        desk.until_reads("[data-cell='middle.air_c']", "240").await;
        desk.press("#study", "Undo").await;
        desk.until(&format!("{minutes} === '{was}'")).await;
    });
}
