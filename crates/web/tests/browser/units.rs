//! Pounds, inches and degrees Fahrenheit on every page that shows them, and typed back.

use crate::desk::{BARS, at_desk};
use crate::whole;
use thirtyfour::prelude::*;

#[test]
fn us_units_are_shown_on_every_page_and_read_back_as_typed() {
    at_desk(|desk| async move {
        desk.open(&format!("{BARS}/bake?treatment=control")).await;
        let air = "[data-cell='middle.air_c']";
        let metric_c: f64 = desk.value(air).await.parse().unwrap();
        desk.open("/settings").await;
        desk.choose("[name=units]", "us").await;
        desk.press_on("main", "Save").await;
        desk.until_reads("[name=units]", "us").await;
        let mut wrong = Vec::new();
        for (path, shown, hidden) in [
            ("", vec!["lb/h"], vec!["kg/h"]),
            ("/bake", vec!["°F", " in"], vec!["°C"]),
            ("/piece", vec![" in", "oz"], vec![]),
            ("/after", vec!["°F"], vec![]),
            ("/line", vec!["lb/h"], vec!["kg/h"]),
        ] {
            desk.open(&format!("{BARS}{path}")).await;
            for unit in shown {
                desk.until_told(unit).await;
            }
            // Findings and sources keep the units that they were written in.
            let text: String = desk
                .ask("[...document.querySelectorAll('main :is(th, td.unit, label, figcaption, svg text)')].filter((e) => !e.closest('.reason, .givens')).map((e) => e.textContent).join('\\n')")
                .await;
            for unit in hidden {
                let lines = text.lines().filter(|l| l.contains(unit));
                wrong.extend(lines.map(|l| format!("{path}: {l}")));
            }
        }
        assert!(wrong.is_empty(), "metric as well:\n{}", wrong.join("\n"));
        // A zone: 9/5 of the Celsius above 32 (the scale's definition).
        whole::opened(&desk, "control").await;
        let shown_f: f64 = desk.value(air).await.parse().unwrap();
        assert!(
            (shown_f - (1.8 * metric_c + 32.0)).abs() < 0.01,
            "{shown_f}"
        );
        desk.fill(air, "446").await;
        desk.keys(Key::Enter).await;
        desk.until("document.querySelector('.unsaved')").await;
        desk.until_reads(air, "446").await;
        desk.open(&format!("{BARS}/bake?treatment=control")).await;
        desk.until_reads(air, "446").await;
        let me = desk.app.settings().await.unwrap().who;
        let view = desk.app.study(&me, "spent-grain-bars").await.unwrap();
        let treatment = view.study.as_deref().unwrap().treatment("control").unwrap();
        let oven = app::oven_shown(treatment);
        let kept = serde_json::to_string(&oven).unwrap();
        assert!(kept.contains("230"), "{kept}");
        // A refusal of a measure tells inches beside the millimetres.
        desk.open(&format!("{BARS}/piece?treatment=control")).await;
        desk.until("document.querySelector('#section-form .set button').hidden")
            .await;
        desk.fill("[name=thickness_mm]", "40").await;
        desk.keys(Key::Tab).await;
        desk.until("document.querySelector('[name=thickness_mm][aria-invalid]')")
            .await;
        let told = desk.text("#section-form .refused").await;
        assert!(told.contains(" in)") && told.contains("mm"), "{told}");
        assert_eq!(desk.value("[name=thickness_mm]").await, "40");
    });
}
