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

/// While a border is held the answers and the drawing go with it, and nothing is kept until it is let go.
#[test]
fn the_answers_move_while_a_border_is_dragged() {
    at_desk(|desk| async move {
        desk.open(&format!("{BARS}/bake?treatment=control")).await;
        desk.until("!document.getElementById('clock').hidden").await;
        let told = "document.querySelector('.oven .oven-told').textContent";
        let crusts = "[...document.querySelectorAll('.oven svg')][0].innerHTML.match(/fill=\"#\\w+\"/g).join()";
        let (was, brown): (String, String) = (desk.ask(told).await, desk.ask(crusts).await);
        assert!(
            was.contains("min in the oven") && was.contains("limits the line"),
            "{was}"
        );
        let hold = "const border = document.querySelector('.oven .border'); const box = border.getBoundingClientRect();
            const [x, y] = [box.left + box.width / 2, box.top + 40]; border.setPointerCapture = () => {};
            window.hold = (type, at) => document.querySelector('.oven .border').dispatchEvent(new PointerEvent(type, { bubbles: true, cancelable: true, pointerId: 1, clientX: x + at, clientY: y }));
            hold('pointerdown', 0); for (let i = 1; i <= 24; i += 1) hold('pointermove', 5 * i); return true;";
        desk.run::<bool>(hold, &[]).await;
        desk.until(&format!("{told} !== {}", serde_json::json!(was)))
            .await;
        desk.until(&format!("{told}.includes('was ')")).await;
        desk.until(&format!("{crusts} !== {}", serde_json::json!(brown)))
            .await;
        assert!(
            desk.ask::<bool>("!document.querySelector('.unsaved')")
                .await,
            "nothing is kept yet"
        );
        let held: String = desk.ask(told).await;
        let waited: f64 = desk
            .ask("Math.max(...performance.getEntriesByType('resource').filter((e) => e.name.endsWith('/bake/would')).map((e) => e.duration))")
            .await;
        println!("an answer on the way took at most {waited:.0} ms");
        // Let go where it was taken up first, then somewhere else.
        desk.run::<bool>(
            "hold('pointermove', 60); hold('pointerup', 60); return true;",
            &[],
        )
        .await;
        desk.until("document.querySelector('.unsaved')").await;
        desk.until(&format!("{told} !== {}", serde_json::json!(held)))
            .await;
    });
}

/// One zone more and one fewer, on the drawing and by keys alone.
#[test]
fn the_number_of_zones_is_changed_on_the_drawing() {
    at_desk(|desk| async move {
        desk.open(&format!("{BARS}/bake?treatment=control")).await;
        desk.until("!document.getElementById('clock').hidden").await;
        let names = "[...document.querySelectorAll('table.zones tbody th')].map((t) => t.textContent).join()";
        let minutes = "document.getElementById('bake').dataset.bakeMin";
        let was: String = desk.ask(names).await;
        assert_eq!(was, "entrance,middle,exit");
        let focus = |deed: &str, at: usize| {
            format!(
                "document.querySelector('.oven .deed[data-deed={deed}][data-at=\"{at}\"]').focus(); return true;"
            )
        };
        desk.run::<bool>(&focus("split_zone", 1), &[]).await;
        desk.keys(Key::Enter).await;
        desk.until(&format!("{names} === 'entrance,middle,middle 2,exit'"))
            .await;
        desk.until("document.querySelectorAll('.oven [role=slider]').length === 3")
            .await;
        desk.until("document.activeElement.matches('.oven .deed')")
            .await;
        // Its half is set apart from the other.
        let before: String = desk.ask(minutes).await;
        desk.fill("[data-cell='middle 2.air_c']", "250").await;
        desk.keys(Key::Enter).await;
        desk.until(&format!("{minutes} !== '{before}'")).await;
        desk.run::<bool>(&focus("remove_zone", 2), &[]).await;
        desk.keys(Key::Space).await;
        desk.until(&format!("{names} === '{was}'")).await;
        // And with the pointer, in the table as well.
        desk.click(".oven .deed[data-deed=remove_zone][data-at='2'] text")
            .await;
        desk.until(&format!("{names} === 'entrance,middle and exit'"))
            .await;
        desk.press("table.zones tbody tr:first-child", "split")
            .await;
        desk.until(&format!(
            "{names} === 'entrance,entrance 2,middle and exit'"
        ))
        .await;
        desk.press("#study", "Undo").await;
        desk.until(&format!("{names} === 'entrance,middle and exit'"))
            .await;
    });
}
