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

/// The oven stands there from the side; the border of a zone is dragged, or moved by keys, and both lengths and the
/// answer follow; undo puts it back.
#[test]
fn the_border_of_a_zone_is_moved() {
    at_desk(|desk| async move {
        desk.open(&format!("{BARS}/bake?treatment=control")).await;
        desk.until("!document.getElementById('clock').hidden").await;
        let minutes = "document.getElementById('bake').dataset.bakeMin";
        let share = "[...document.querySelectorAll('.oven .border')].map((b) => Number(b.dataset.share).toFixed(2)).join(' ')";
        let (was, had): (String, String) = (desk.ask(minutes).await, desk.ask(share).await);
        let lengths = "['entrance', 'middle', 'exit'].map((z) => Number(document.querySelector(`[data-cell='${z}.share'], [data-cell='${z}.length_m']`).value))";
        let before: Vec<f64> = desk.ask(lengths).await;
        desk.run::<bool>(
            "document.querySelector('.oven .border').focus(); return true;",
            &[],
        )
        .await;
        for _ in 0..3 {
            desk.keys(Key::Shift + Key::Right).await;
        }
        desk.until(&format!(
            "{minutes} !== '{was}' && document.querySelector('.unsaved')"
        ))
        .await;
        let after: Vec<f64> = desk.ask(lengths).await;
        assert!(
            after[0] > before[0] && after[1] < before[1],
            "{before:?} {after:?}"
        );
        assert!(
            (after[0] + after[1] - before[0] - before[1]).abs() < 0.01,
            "{after:?}"
        );
        assert!(
            (after[2] - before[2]).abs() < 1e-9,
            "the last zone is as it was"
        );
        desk.until("document.activeElement.matches('.oven .border')")
            .await;
        desk.press("#study", "Undo").await;
        desk.until(&format!("{minutes} === '{was}' && {share} === '{had}'"))
            .await;
        // With the pointer.
        desk.run::<bool>(
            "const border = document.querySelector('.oven .border'); const box = border.getBoundingClientRect();
             const [x, y] = [box.left + box.width / 2, box.top + 40];
             const send = (type, at) => border.dispatchEvent(new PointerEvent(type, { bubbles: true, cancelable: true, pointerId: 1, clientX: at, clientY: y }));
             border.setPointerCapture = () => {};
             send('pointerdown', x); send('pointermove', x + 60); send('pointerup', x + 60); return true;",
            &[],
        )
        .await;
        desk.until(&format!(
            "{minutes} !== '{was}' && document.querySelector('.unsaved')"
        ))
        .await;
        let dragged: Vec<f64> = desk.ask(lengths).await;
        assert!(
            dragged[0] > before[0] && dragged[1] < before[1],
            "{before:?} {dragged:?}"
        );
    });
}
