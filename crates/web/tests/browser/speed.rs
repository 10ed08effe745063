//! From an edit to the repainted knock-on block, on a study of six treatments and 25 rows.

use crate::desk::{LIVE, at_desk};
use serde::Deserialize;
use serde_json::json;
use std::fmt::Write;

/// Rows beside the flour and the water.
const SMALL: [&str; 23] = [
    "barley_flour",
    "rice_flour_brown",
    "chickpea_flour",
    "oat_flour",
    "pea_flour",
    "millet_flour",
    "wheat_bran",
    "wheat_germ",
    "beet_pulp",
    "egg_white_dried",
    "nonfat_dry_milk",
    "whey_dried",
    "brewers_yeast",
    "carob_flour",
    "potato_flakes",
    "calcium_carbonate",
    "dicalcium_phosphate",
    "salt",
    "baking_soda",
    "sunflower_oil",
    "poultry_fat",
    "molasses",
    "honey",
];

/// The demonstration's piece, oven and line with six formulas of 25 rows.
fn large() -> String {
    let start = app::DEMONSTRATION.find("[[treatment]]").unwrap();
    let head = &app::DEMONSTRATION[..start];
    // Comments before the first treatment go with it.
    let mut text = head.replace("name = \"Spent-grain bars\"", "name = \"Six by 25\"");
    for i in 0..6 {
        let id = if i == 0 {
            "control".to_owned()
        } else {
            format!("rival{i}")
        };
        let water = if i % 2 == 0 { "given" } else { "need" };
        write!(text, "\n[[treatment]]\nid = \"{id}\"\nname = \"Formula {i}\"\npercent_of = \"mix\"\nwater = \"{water}\"\nlines = [\n").unwrap();
        let flour = 55.0 - f64::from(i);
        writeln!(text, "  {{ material = \"wheat_flour_soft\", stage = \"dry\", amount = {flour}, flour = true }},").unwrap();
        for material in SMALL {
            let stage = match material {
                "sunflower_oil" | "poultry_fat" => "fat",
                "molasses" | "honey" => "liquid",
                _ => "dry",
            };
            writeln!(
                text,
                "  {{ material = \"{material}\", stage = \"{stage}\", amount = 0.9 }},"
            )
            .unwrap();
        }
        writeln!(
            text,
            "  {{ material = \"water\", stage = \"liquid\", balance = true }},\n]"
        )
        .unwrap();
    }
    text
}

#[derive(Deserialize)]
struct Edit {
    painted_ms: f64,
    server_ms: f64,
}

/// Types an amount, leaves it by Enter, and takes the time until the answer is painted.
const EDIT: &str = "const [css, text] = arguments, done = arguments[arguments.length - 1];
  const cell = document.querySelector(css);
  cell.focus();
  cell.value = text;
  cell.dispatchEvent(new Event('input', { bubbles: true }));
  performance.clearResourceTimings();
  const start = performance.now();
  document.addEventListener('hardtack:sheet', () => requestAnimationFrame(() => {
    // A message comes after the frame is painted.
    const channel = new MessageChannel();
    channel.port1.onmessage = () => {
      const painted = performance.now();
      const asked = performance.getEntriesByType('resource').filter((e) => e.name.endsWith('/sheet')).at(-1);
      done({ painted_ms: painted - start, server_ms: asked ? asked.responseStart - asked.requestStart : 0 });
    };
    channel.port2.postMessage(0);
  }), { once: true });
  cell.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true, cancelable: true }));";

#[test]
fn an_edit_is_painted_soon() {
    at_desk(|desk| async move {
        let me = desk.app.settings().await.unwrap().who;
        let thing = desk
            .app
            .create_from_text(&me, &large(), None)
            .await
            .unwrap();
        desk.open(&format!("/study/{thing}")).await;
        desk.until(LIVE).await;
        let size: (usize, usize) = desk
            .ask("[document.querySelectorAll('.study-table thead .name').length, document.querySelectorAll('tr[data-row]').length]")
            .await;
        assert_eq!(size, (6, 25));
        for (who, what) in [("rival2", "a treatment"), ("control", "the control")] {
            let css = format!("[data-cell='c:{who}:dry:barley_flour']");
            let (mut painted, mut server) = (Vec::new(), Vec::new());
            for i in 0..44 {
                let amount = format!("{:.2}", 1.0 + 0.03 * f64::from(i));
                let told = desk
                    .web
                    .execute_async(EDIT, vec![json!(css), json!(amount)])
                    .await
                    .unwrap();
                let edit: Edit = told.convert().unwrap();
                // The first few warm up what is worked out once.
                if i >= 4 {
                    painted.push(edit.painted_ms);
                    server.push(edit.server_ms);
                }
            }
            let (p50, p95) = middle_and_late(&mut painted);
            let (s50, s95) = middle_and_late(&mut server);
            println!(
                "MEASURED edit of {what}, 6 × 25: painted after {p50:.0} ms (median), {p95:.0} ms (p95); the server's share {s50:.0} and {s95:.0} ms"
            );
            // Far from the goal, only against a standstill: tests run unoptimised on busy machines.
            assert!(p50 < 3000.0, "{p50} ms");
        }
    });
}

fn middle_and_late(times: &mut [f64]) -> (f64, f64) {
    times.sort_by(f64::total_cmp);
    (times[times.len() / 2], times[times.len() * 95 / 100])
}
