//! How every page looks and reads: sizes for fingers, a phone, paper, those who can't see, the wire.
//!
//! Sizes of targets follow WCAG 2.2, success criterion 2.5.5 (from memory, to be confirmed): 44 CSS
//! px, links within a sentence or a block of text and controls that the browser draws itself apart.

use crate::desk::{BARS, Desk, at_desk, screens, target};
use crate::whole::PICTURES;
use app::{Lot, SolidState, SolidWhat, Values};
use serde_json::{Value, json};
use std::time::{Duration, Instant};
use study::edit::Put;

/// How long the bake of a whole piece may take.
const LONGEST: Duration = Duration::from_secs(120);

/// Every page, with the name of its picture.
const PAGES: [(&str, &str); 36] = [
    ("studies", "/"),
    ("sheet", BARS),
    ("piece", "/study/spent-grain-bars/piece"),
    ("bake", "/study/spent-grain-bars/bake?treatment=barley"),
    (
        "whole-piece",
        "/study/spent-grain-bars/bake?treatment=control",
    ),
    ("after", "/study/spent-grain-bars/after"),
    ("line", "/study/spent-grain-bars/line"),
    ("label", "/study/spent-grain-bars/label"),
    ("trials", "/study/spent-grain-bars/trials?ask=blocks"),
    ("own-oven", "/study/spent-grain-bars/own-oven"),
    (
        "next",
        "/study/spent-grain-bars/next?response=breaking_force_n",
    ),
    ("results", "/trial/bite"),
    ("as-good", "/trial/bite?ask=as-good"),
    ("run-sheet", "/trial/bite/sheet"),
    ("measure", "/trial/bite/measure"),
    ("measured", "/study/spent-grain-bars/measured"),
    ("history", "/study/spent-grain-bars/history"),
    (
        "difference",
        "/study/spent-grain-bars/difference?from=1&to=2",
    ),
    ("conflict", "/study/spent-grain-bars/conflict"),
    ("materials", "/materials"),
    ("material", "/material/wheat_flour_soft"),
    ("lot-went", "/material/wheat_flour_soft/went?lot=W-77"),
    ("settings", "/settings"),
    ("bench", "/bench"),
    ("bench-water", "/bench/bite-b01/water"),
    ("bench-cut", "/bench/bite-b01/cut"),
    ("bench-oven", "/bench/bite-b01/oven"),
    ("bench-weigh", "/bench/bite-b01/weigh"),
    ("bench-dough", "/bench/bite-b01/dough"),
    ("bench-sheet", "/bench/bite-b01/sheet"),
    ("bench-paper", "/bench/bite-b01/paper"),
    ("bench-line", "/bench/bite-b01/line"),
    ("bench-file", "/bench/file"),
    ("weigh", "/study/spent-grain-bars/weigh?treatment=barley"),
    ("using", "/using/sheet"),
    ("not-found", "/nowhere"),
];

/// What opens over the sheet.
const OVER_THE_SHEET: [&str; 7] = [
    "t-barley",
    "r-dry.salt",
    "swap",
    "add-treatment",
    "target",
    "watch",
    "keys",
];

async fn opened(desk: &Desk, dialog: &str) {
    const OPEN: &str = "document.querySelector(':popover-open')?.hidePopover();
        document.getElementById(arguments[0]).showPopover(); return true;";
    desk.run::<bool>(OPEN, &[json!(dialog)]).await;
}

/// A book with two revisions, a draft over the first and a whole piece baked: every page has something to show.
async fn filled(desk: &Desk) {
    let salt = |amount: f64| study::edit::Edit::SetAmount {
        treatment: "control".into(),
        material: "salt".into(),
        amount,
    };
    let me = desk.app.settings().await.unwrap().who;
    let thing = "spent-grain-bars";
    desk.app.edit(&me, thing, 1, &[salt(0.4)]).await.unwrap();
    desk.app.edit("Ada", thing, 1, &[salt(0.6)]).await.unwrap();
    let why = Some("more salt, says the panel".to_owned());
    desk.app.save("Ada", thing, 1, why).await.unwrap();
    let lot = Lot {
        material: "wheat_flour_soft".to_owned(),
        code: "W-77".to_owned(),
        received: Some("2026-11-02".parse().unwrap()),
        best_before: None,
        certificate: Some("C 114".to_owned()),
        values: Values::from([("moisture_pct".to_owned(), Put::Number(9.2))]),
    };
    desk.app.save_lot(&me, None, &lot).await.unwrap();
    whole_piece(desk, SolidWhat::Preview).await;
}

/// Bakes the whole piece of the control, coarsely or in full.
async fn whole_piece(desk: &Desk, what: SolidWhat) {
    let me = desk.app.settings().await.unwrap().who;
    let view = desk.app.study(&me, "spent-grain-bars").await.unwrap();
    desk.app.start_solid(&view, "control", what).unwrap();
    let began = Instant::now();
    loop {
        match desk.app.solid(&view, "control", what).unwrap() {
            SolidState::Done(_) => return,
            SolidState::Running(_) => assert!(began.elapsed() < LONGEST, "still baking"),
            SolidState::NotAsked | SolidState::Failed(_) => panic!("no answer of {what:?}"),
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

/// Opens a page and waits until what its script draws is there.
async fn shown(desk: &Desk, path: &str) {
    desk.open(path).await;
    if path.contains("treatment=control") {
        desk.until(PICTURES).await;
        desk.ask::<bool>("(scrollTo(0, 0), true)").await;
    }
    if path.contains("/bake") {
        desk.until("!document.getElementById('clock').hidden && document.querySelector('canvas.piece').width > 200")
            .await;
    }
}

#[test]
fn every_page_is_made_for_fingers_and_fits_a_phone() {
    at_desk(|desk| async move {
        filled(&desk).await;
        let mut wrong = Vec::new();
        desk.screen(768, 1024).await;
        for (name, path) in PAGES {
            shown(&desk, path).await;
            let wide = desk.too_wide().await;
            wrong.extend(
                wide.iter()
                    .map(|w| format!("{name} on a tablet held upright is too wide: {w}")),
            );
        }
        desk.screen(1024, 768).await;
        for (name, path) in PAGES {
            shown(&desk, path).await;
            let small: Vec<String> = desk.ask(SMALL_TARGETS).await;
            wrong.extend(small.iter().map(|w| format!("{name} on a tablet: {w}")));
            let wide = desk.too_wide().await;
            wrong.extend(
                wide.iter()
                    .map(|w| format!("{name} on a tablet is too wide: {w}")),
            );
        }
        // What opens over the sheet.
        desk.open(BARS).await;
        for dialog in OVER_THE_SHEET {
            opened(&desk, dialog).await;
            let small: Vec<String> = desk.ask(SMALL_TARGETS).await;
            wrong.extend(small.iter().map(|w| format!("{dialog} on a tablet: {w}")));
        }
        desk.screen(390, 844).await;
        for (name, path) in PAGES {
            shown(&desk, path).await;
            let wide = desk.too_wide().await;
            wrong.extend(
                wide.iter()
                    .map(|w| format!("{name} on a phone is too wide: {w}")),
            );
            let tiny: Vec<String> = desk.ask(TINY_TEXT).await;
            wrong.extend(tiny.iter().map(|w| format!("{name} on a phone: {w}")));
        }
        wrong.sort();
        wrong.dedup();
        assert!(
            wrong.is_empty(),
            "{} wrong:\n{}",
            wrong.len(),
            wrong.join("\n")
        );
    });
}

/// Targets under 44 px. The area of a label counts with the control in it. A link in running text
/// is let off, as is what lies outside the screen of a scrolled box or can't be seen.
const SMALL_TARGETS: &str = "(() => {
  const open = document.querySelector(':popover-open');
  const seen = (e) => {
    const r = e.getBoundingClientRect(), s = getComputedStyle(e);
    return r.width > 1 && r.height > 1 && s.visibility === 'visible' && r.right > 0 && !e.closest('.unseen, .skip')
      && (!open || open.contains(e));
  };
  const text = (e) => {
    if (e.tagName !== 'A' || getComputedStyle(e).display !== 'inline') return false;
    const block = e.closest('p, li, dd, td, th, div');
    return block && block.textContent.trim().length > e.textContent.trim().length + 3;
  };
  const out = [];
  for (const e of document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary')) {
    if (!seen(e) || e.disabled || text(e)) continue;
    const around = e.matches('[type=radio], [type=checkbox]') ? e.closest('label') ?? e : e;
    const r = around.getBoundingClientRect();
    if (r.height < 43.5 || r.width < 43.5)
      out.push(`${e.tagName.toLowerCase()}.${e.className} ‘${(e.textContent || e.name || '').trim().slice(0, 30)}’ ${Math.round(r.width)} × ${Math.round(r.height)} px`);
  }
  return [...new Set(out)].slice(0, 15);
})()";

/// Text under 12 px.
const TINY_TEXT: &str = "(() => {
  const out = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || !e.getClientRects().length || e.closest('.unseen, .skip, script, noscript')) continue;
    let size = parseFloat(getComputedStyle(e).fontSize);
    const svg = e.closest('svg');
    if (svg?.viewBox?.baseVal?.width) size *= svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
    if (size < 11.95) out.push(`${e.tagName}.${e.getAttribute('class') ?? ''} ‘${walk.currentNode.data.trim().slice(0, 30)}’ ${size.toFixed(1)} px`);
  }
  return [...new Set(out)].slice(0, 8);
})()";

#[test]
fn no_page_keeps_anybody_out() {
    at_desk(|desk| async move {
        let file = target().join("axe-core/package/axe.min.js");
        let checker = std::fs::read_to_string(&file)
            .unwrap_or_else(|e| panic!("{}: {e}; `cargo xtask test` fetches it", file.display()));
        filled(&desk).await;
        let mut wrong = Vec::new();
        for scheme in ["light", "dark"] {
            desk.scheme(scheme).await;
            for (name, path) in PAGES {
                shown(&desk, path).await;
                desk.web
                    .execute(checker.as_str(), Vec::new())
                    .await
                    .unwrap();
                let found = desk.web.execute_async(CHECK, Vec::new()).await.unwrap();
                let found: Vec<String> = found.convert().unwrap();
                wrong.extend(found.iter().map(|w| format!("{name}, {scheme}: {w}")));
            }
        }
        desk.open(BARS).await;
        desk.web
            .execute(checker.as_str(), Vec::new())
            .await
            .unwrap();
        for dialog in OVER_THE_SHEET {
            opened(&desk, dialog).await;
            let found = desk.web.execute_async(CHECK, Vec::new()).await.unwrap();
            let found: Vec<String> = found.convert().unwrap();
            wrong.extend(found.iter().map(|w| format!("{dialog}: {w}")));
        }
        assert!(
            wrong.is_empty(),
            "{} wrong:\n{}",
            wrong.len(),
            wrong.join("\n")
        );
    });
}

const CHECK: &str = "const done = arguments[arguments.length - 1];
  axe.run({ resultTypes: ['violations'] }).then(
    (told) => done(told.passes.length < 5 ? ['next to nothing was checked'] : told.violations.filter((v) => ['serious', 'critical'].includes(v.impact))
      .map((v) => `${v.id} (${v.impact}), ${v.nodes.length} times: ${v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160) + ' ' + (n.any[0]?.message ?? '')).join(' | ')}`)),
    (error) => done([`the checker broke off: ${error}`]));";

#[test]
fn pages_print_are_light_on_the_wire_and_ask_no_other_host() {
    at_desk(|desk| async move {
        filled(&desk).await;
        let mut heaviest = (0, "");
        for (name, path) in PAGES {
            // As on a first visit.
            desk.browser("Network.clearBrowserCache", json!({})).await;
            shown(&desk, path).await;
            let told: Vec<(String, u64)> = desk
                .ask("performance.getEntriesByType('navigation').concat(performance.getEntriesByType('resource')).map((e) => [e.name, e.transferSize])")
                .await;
            // The type comes once with the first page and is kept for ever; each has a limit of its own.
            let of_type = |(address, _): &&(String, u64)| address.ends_with(".woff2");
            let all: u64 = told.iter().map(|(_, n)| n).sum();
            let fonts: u64 = told.iter().filter(of_type).map(|(_, n)| n).sum();
            let bytes = all - fonts;
            println!("{name}: {bytes} bytes over the wire, and {fonts} of type at the first visit");
            assert!(bytes <= 150_000, "{path}: {bytes} bytes");
            assert!(fonts <= 120_000, "{path}: {fonts} bytes of type");
            if bytes > heaviest.0 {
                heaviest = (bytes, name);
            }
            for (address, _) in &told {
                assert!(address.starts_with(&desk.root), "{path} asks {address}");
            }
        }
        println!(
            "heaviest page: {} with {} bytes over the wire",
            heaviest.1, heaviest.0
        );
        for (name, path) in PAGES {
            for (paper, wide_in, high_in) in [("a4", 8.27, 11.69), ("letter", 8.5, 11.0)] {
                shown(&desk, path).await;
                let given = json!({ "paperWidth": wide_in, "paperHeight": high_in, "preferCSSPageSize": false, "printBackground": false });
                let pages = printed(&desk, given, &format!("{name}-{paper}.pdf")).await;
                assert!((1..=9).contains(&pages), "{name}, {paper}: {pages} pages");
                println!("{name} on {paper}: {pages} pages");
            }
        }
    });
}

/// Prints what is on the screen into a file that is left to look at; how many pages that takes.
async fn printed(desk: &Desk, given: Value, name: &str) -> usize {
    let told: Value = desk.browser("Page.printToPDF", given).await;
    let pdf = from_base64(told["data"].as_str().unwrap());
    std::fs::write(screens().join(name), &pdf).unwrap();
    assert!(pdf.starts_with(b"%PDF-"), "{name}");
    pdf.windows(11).filter(|w| w == b"/Type /Page").count()
        - pdf.windows(12).filter(|w| w == b"/Type /Pages").count()
}

/// Seven treatments with everything that is told of them, in the type that the report carries: a report that is read.
/// The limit is ours.
#[test]
fn a_report_of_seven_treatments_takes_nine_pages() {
    at_desk(|desk| async move {
        let study = study::written::read(app::DEMONSTRATION).unwrap();
        let treatments: Vec<_> = study.treatments.iter().collect();
        assert_eq!(treatments.len(), 7);
        let options = study::BakeOptions::QUICK;
        let compared = study::compare(&study, &treatments, &options).unwrap();
        let curve = |t: &&study::Treatment| report::Curve {
            id: t.id.clone(),
            points: study::water_curve(t, &study::BakeOptions::COARSE, 7).unwrap(),
        };
        let curves: Vec<_> = treatments.iter().map(curve).collect();
        let options = report::Options {
            per: report::Per::Mix,
            version: "0".to_owned(),
        };
        let html = report::document(&study, &compared, &curves, &options);
        let file = screens().join("report.html");
        std::fs::write(&file, html).unwrap();
        desk.web
            .goto(format!("file://{}", file.display()))
            .await
            .unwrap();
        desk.until("document.fonts.status === 'loaded'").await;
        let a4 = json!({ "paperWidth": 8.27, "paperHeight": 11.69, "preferCSSPageSize": false, "printBackground": false });
        let pages = printed(&desk, a4, "report-a4.pdf").await;
        println!("the report takes {pages} pages");
        assert!(pages <= 9, "{pages} pages");
    });
}

/// Bytes of a text of RFC 4648, section 4.
pub fn from_base64(text: &str) -> Vec<u8> {
    const DIGITS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let (mut out, mut held, mut bits) = (Vec::new(), 0_u32, 0);
    for digit in text.bytes().filter(|b| *b != b'=') {
        let value = DIGITS.iter().position(|d| *d == digit).unwrap();
        held = (held << 6) | u32::try_from(value).unwrap();
        bits += 6;
        if bits >= 8 {
            bits -= 8;
            out.push(u8::try_from((held >> bits) & 255).unwrap());
        }
    }
    out
}

/// Pictures of every page from top to bottom, to be judged by eye.
#[test]
fn pictures_of_every_page_are_left_to_look_at() {
    at_desk(|desk| async move {
        filled(&desk).await;
        whole_piece(&desk, SolidWhat::Bake).await;
        for (scheme, width, height) in [
            ("light", 1280, 800),
            ("light", 1024, 768),
            ("dark", 1280, 800),
            ("light", 390, 844),
        ] {
            desk.scheme(scheme).await;
            for (name, path) in PAGES {
                desk.screen(width, height).await;
                shown(&desk, path).await;
                let high: f64 = desk.ask("document.documentElement.scrollHeight").await;
                let clip = json!({ "x": 0, "y": 0, "width": width, "height": high.clamp(f64::from(height), 6000.0), "scale": 1 });
                let given = json!({ "format": "png", "captureBeyondViewport": true, "clip": clip });
                let told = desk.browser("Page.captureScreenshot", given).await;
                let picture = from_base64(told["data"].as_str().unwrap());
                assert!(picture.len() > 5_000, "{name}");
                let dark = if scheme == "dark" { "-dark" } else { "" };
                let to = screens().join(format!("{name}-{width}x{height}{dark}.png"));
                std::fs::write(to, picture).unwrap();
            }
        }
        desk.screen(1024, 768).await;
        shown(&desk, BARS).await;
        for dialog in OVER_THE_SHEET {
            opened(&desk, dialog).await;
            let picture = desk.web.screenshot_as_png().await.unwrap();
            std::fs::write(screens().join(format!("over-{dialog}.png")), picture).unwrap();
        }
        desk.run::<bool>(
            "document.querySelector(':popover-open').hidePopover();
             const row = document.getElementById('row-bake.time_min'); row.querySelector('summary').click(); row.scrollIntoView(); return true;",
            &[],
        )
        .await;
        desk.until("document.querySelector(\"[data-p='w.bake.time_min']\").innerText.length > 100")
            .await;
        let picture = desk.web.screenshot_as_png().await.unwrap();
        std::fs::write(screens().join("sheet-why.png"), picture).unwrap();
    });
}
