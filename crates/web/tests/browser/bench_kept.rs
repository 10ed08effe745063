//! The bench without a connection: pages that open all the same, photographs that wait, clocks that run on.

use crate::desk::{Desk, LIVE, at_desk};
use crate::line::Line;
use app::{Picture, PictureType, TrialAsked};
use bench::{Counts, demonstration, whole};
use book::{BenchEntry, Kind};
use serde_json::{Value, json};
use trials::plan::Unit;

/// Everything that was entered is in the book.
pub const ALL_SENT: &str =
    "document.getElementById('waits').textContent === 'All entries are in the book.'";
/// The page is one that was kept on the device.
const IS_KEPT: &str =
    "document.documentElement.dataset.kept && !document.getElementById('as-it-was').hidden";

/// A trial whose batches are all to do: the batches, in the order of work.
pub async fn day(app: &app::App) -> Vec<String> {
    let asked = TrialAsked {
        name: "A day".to_owned(),
        question: String::new(),
        study: "spent-grain-bars".to_owned(),
        wish: demonstration::wish(),
        unit: Unit::Batch,
        seed: 3,
        control: Some("control".to_owned()),
        responses: demonstration::responses(),
        pieces: Some(60),
        loss_pct: 5.0,
        blind: false,
    };
    let trial = app.keep_trial("Ada", &asked, None).await.unwrap();
    let made = app.trial(&trial).await.unwrap().made;
    made.iter().map(|m| m.id.clone()).collect()
}

/// Opens a batch at a station and waits until its script listens.
pub async fn station(desk: &Desk, batch: &str, station: &str) {
    desk.open(&format!("/bench/{batch}/{station}")).await;
    desk.until(LIVE).await;
}

/// Types a number into a form and enters it.
pub async fn typed(desk: &Desk, form: &str, value: &str) {
    let field = format!("{form} :is(input, textarea)[name=value]");
    desk.fill(&field, value).await;
    desk.click(&format!("{form} button.main")).await;
    desk.until_reads(&field, "").await;
}

async fn rows(desk: &Desk, batch: &str) -> Vec<BenchEntry> {
    desk.app
        .book()
        .entries_of(Kind::Batch, batch, 0)
        .await
        .unwrap()
}

/// Waits until a page is kept on the device.
pub async fn until_kept(desk: &Desk, path: &str) {
    const ASK: &str = "return (async () => !!(await caches.match(arguments[0])))();";
    for _ in 0..400 {
        if desk.run::<bool>(ASK, &[json!(path)]).await {
            return;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    panic!("{path} was never kept");
}

#[test]
fn pages_of_the_bench_open_without_a_connection_and_show_what_waits() {
    at_desk(|mut desk| async move {
        desk.screen(820, 1180).await;
        let line = Line::over(desk.app.clone()).await;
        desk.root = line.root();
        let batches = day(&desk.app).await;
        let (batch, other) = (batches[0].as_str(), batches[1].as_str());
        desk.open("/bench").await;
        desk.until(LIVE).await;
        for path in [
            "/bench",
            &format!("/bench/{batch}/weigh"),
            &format!("/bench/{other}/sheet"),
        ] {
            until_kept(&desk, path).await;
        }
        let dose = "[data-enter=dose] button.tap:nth-of-type(2)";
        station(&desk, batch, "water").await;
        desk.click(dose).await;
        desk.until("Number(document.querySelector('[data-sum=dose]').dataset.kept) > 0")
            .await;
        let one: f64 = desk
            .ask("Number(document.querySelector('[data-sum=dose]').dataset.kept)")
            .await;
        assert!(one > 0.0);

        line.cut();
        station(&desk, batch, "water").await;
        desk.until(IS_KEPT).await;
        desk.until_reads("[data-sum=dose]", &format!("{one:.3}"))
            .await;
        assert!(
            !desk
                .ask::<bool>(
                    "document.querySelector('.strip .next')?.classList.contains('no-longer') ?? true"
                )
                .await
        );
        desk.click(dose).await;
        desk.until_told("1 entry waits on this device").await;
        desk.click("[data-enter=feel] button:nth-of-type(2)").await;
        desk.until_told("2 entries wait on this device").await;
        // Loaded anew without a connection: what waits is there, counted in, and drawn.
        for _ in 0..2 {
            station(&desk, batch, "water").await;
            desk.until(IS_KEPT).await;
            desk.until_told("2 entries wait on this device").await;
            desk.until_reads("[data-sum=dose]", &format!("{:.3}", 2.0 * one))
                .await;
            desk.until("document.querySelectorAll('#pending [data-key]').length === 2")
                .await;
            desk.until("document.querySelectorAll('.strip circle:not(.next)').length === 2")
                .await;
        }
        // What waits can be struck through as well.
        desk.click("#pending li:last-child summary").await;
        desk.fill("#pending li:last-child input[name=why]", "a tap too many")
            .await;
        desk.click("#pending li:last-child form button").await;
        desk.until_reads("[data-sum=dose]", &format!("{one:.3}"))
            .await;
        desk.click("[data-enter='dough-right'] button").await;
        desk.until("document.querySelector('[data-enter=\"dough-right\"]').hidden")
            .await;
        // A dose after that is asked for once more, and what was tapped isn't lost.
        desk.click(dose).await;
        desk.until_told("This dough was called right").await;
        // It is told where it belongs: within its form, and on the screen.
        const BESIDE: &str = "(() => {
            const told = [...document.querySelectorAll('form[data-enter=dose] > .wrong')].find((w) => w.textContent);
            const [own, form] = [told, told.parentElement].map((e) => e.getBoundingClientRect());
            return own.height > 20 && own.top >= form.top && own.bottom <= form.bottom && own.left >= 0 && own.right <= innerWidth; })()";
        assert!(desk.ask::<bool>(BESIDE).await);
        let form = "form[data-enter=dose]:has(.why:not([hidden]))";
        desk.fill(&format!("{form} .why input"), "it dried out")
            .await;
        desk.keys(thirtyfour::Key::Enter).await;
        desk.until_reads("[data-sum=dose]", &format!("{:.3}", 2.0 * one))
            .await;

        // Stations and batches that nobody opened were kept beforehand.
        station(&desk, other, "cut").await;
        desk.until(IS_KEPT).await;
        let counts = [
            ("whole", 2, 5),
            ("whole", 2, 10),
            ("broken", 1, 1),
            ("stuck", 1, 1),
        ];
        for (word, button, reads) in counts {
            desk.click(&format!(
                "[data-enter=cut-{word}] button:nth-of-type({button})"
            ))
            .await;
            desk.until_reads(&format!("[data-sum=cut-{word}]"), &reads.to_string())
                .await;
        }
        let state = bench::BatchState {
            counts: Counts {
                cut: None,
                whole: 10,
                broken: 1,
                stuck: 1,
            },
            ..bench::BatchState::default()
        };
        let p = whole(&state).unwrap();
        let told = format!("{:.2} ({:.2} to {:.2})", p.probability, p.low95, p.high95);
        desk.until_reads("#whole output", &told).await;
        desk.until_reads("#whole [data-out-of]", "12").await;
        station(&desk, other, "oven").await;
        desk.click("[data-enter='oven-in'] button").await;
        desk.until("document.querySelectorAll('#trays .tray').length === 1")
            .await;
        desk.until_reads("[data-enter='oven-in'] [name=of]", "2")
            .await;
        desk.fill("[data-enter='oven-in'] [name=of]", "1").await;
        desk.click("[data-enter='oven-in'] button").await;
        desk.until_told("Tray 1 is in the oven already").await;
        desk.fill("[data-enter='oven-in'] [name=of]", "2").await;
        desk.click("[data-enter='oven-in'] button").await;
        desk.until("document.querySelectorAll('#trays .tray').length === 2")
            .await;
        station(&desk, other, "oven").await;
        desk.until("document.querySelectorAll('#trays .tray').length === 2")
            .await;
        desk.click("#trays [data-tray='1'] [data-enter='oven-out'] button")
            .await;
        desk.until("document.querySelectorAll('#trays .tray').length === 1")
            .await;
        station(&desk, other, "weigh").await;
        let up = "document.querySelector('.to-weigh [aria-current] th').textContent";
        let first: String = desk.ask(up).await;
        typed(&desk, "form[data-enter=weighed]", "12.5").await;
        desk.until(&format!("{up} !== {}", json!(first))).await;
        desk.click(".to-weigh tbody tr:nth-of-type(4) a").await;
        desk.until("document.querySelector('.to-weigh tbody tr:nth-of-type(4)').hasAttribute('aria-current')").await;
        typed(&desk, "form[data-enter=weighed]", "13").await;
        // The list opens, and a batch by its name alone.
        desk.open("/bench").await;
        desk.until(IS_KEPT).await;
        desk.open(&format!("/bench/{other}")).await;
        desk.until(IS_KEPT).await;
        desk.open("/bench/no-such-batch/water").await;
        desk.until_told("isn’t kept on this device").await;
        assert_eq!(rows(&desk, other).await.len(), 0);
        station(&desk, batch, "water").await;

        line.mend();
        desk.until(ALL_SENT).await;
        desk.until("!document.documentElement.dataset.kept").await;
        desk.until_reads("[data-sum=dose]", &format!("{:.3}", 2.0 * one))
            .await;
        let words =
            |rows: Vec<BenchEntry>| rows.into_iter().map(|r| r.row.what).collect::<Vec<_>>();
        assert_eq!(
            words(rows(&desk, batch).await),
            ["dose", "dose", "feel", "dose", "dough-right", "dose"]
        );
        let kept = rows(&desk, batch).await;
        assert_eq!(
            kept[3].row.strikes.as_deref(),
            Some(kept[1].row.key.as_str())
        );
        assert_eq!(kept[5].row.why.as_deref(), Some("it dried out"));
        let kept = rows(&desk, other).await;
        assert_eq!(
            kept.iter().map(|r| r.row.what.as_str()).collect::<Vec<_>>(),
            [
                "cut-whole",
                "cut-whole",
                "cut-broken",
                "cut-stuck",
                "oven-in",
                "oven-in",
                "oven-out",
                "weighed",
                "weighed"
            ]
        );
        assert_ne!(kept[7].row.of, kept[8].row.of);
        station(&desk, other, "cut").await;
        desk.until_reads("[data-sum=cut-whole]", "10").await;
        desk.until_reads("#whole output", &told).await;

        // What is kept is bounded, and what another version kept is dropped.
        const MANY: &str = "return (async () => {
            const cache = await caches.open((await caches.keys()).find((name) => name.startsWith('hardtack-bench-')));
            for (let n = 0; n < 230; n += 1) await cache.put(`/bench/old/${n}`, new Response('old'));
            await (await caches.open('hardtack-bench-of-old')).put('/bench', new Response('old'));
            return true; })();";
        desk.run::<bool>(MANY, &[]).await;
        station(&desk, batch, "cut").await;
        station(&desk, batch, "dough").await;
        const SETTLED: &str = "return (async () => {
            const names = await caches.keys();
            const pages = (await (await caches.open(names[0])).keys()).map((r) => new URL(r.url).pathname).filter((p) => p.startsWith('/bench'));
            return names.length === 1 && pages.length <= 200 && pages.includes(location.pathname); })();";
        for n in 0.. {
            if desk.run::<bool>(SETTLED, &[]).await {
                break;
            }
            assert!(n < 400, "the pages kept are not bounded");
            tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        }
    });
}

/// A camera's photograph: so large, so rich that it compresses badly, with a place of taking beside it (APP1 of Exif).
const TAKE: &str = "return (async () => {
    const canvas = new OffscreenCanvas(arguments[0], arguments[1]);
    const on = canvas.getContext('2d');
    const noise = on.createImageData(canvas.width, canvas.height);
    let n = 1;
    for (let i = 0; i < noise.data.length; i += 1) { n = (n * 1103515245 + 12345) & 0x7fffffff; noise.data[i] = i % 4 === 3 ? 255 : (n >> 16) & 255; }
    on.putImageData(noise, 0, 0);
    const bytes = new Uint8Array(await (await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.95 })).arrayBuffer());
    const beside = new TextEncoder().encode('Exif\\0\\0MM GPS 52.5200N 13.4050E');
    const segment = new Uint8Array([0xff, 0xe1, 0, beside.length + 2, ...beside]);
    const file = new File([bytes.slice(0, 2), segment, bytes.slice(2)], '../<i>.jpg', { type: 'image/jpeg' });
    const chosen = new DataTransfer();
    chosen.items.add(arguments[2] ? new File(['<script>alert(1)</script>'], 'a.jpg', { type: 'image/jpeg' }) : file);
    const input = document.querySelector('.camera input[type=file]');
    input.files = chosen.files;
    input.dispatchEvent(new Event('change', { bubbles: true }));
    return file.size; })();";

#[test]
fn a_photograph_is_made_smaller_waits_without_a_connection_and_tells_no_place() {
    at_desk(|mut desk| async move {
        desk.screen(820, 1180).await;
        let line = Line::over(desk.app.clone()).await;
        desk.root = line.root();
        let batch = day(&desk.app).await.remove(0);
        station(&desk, &batch, "sheet").await;
        until_kept(&desk, &format!("/bench/{batch}/sheet")).await;
        let take = async |wide: u32, high: u32, no_picture: bool| {
            desk.run::<u64>(TAKE, &[json!(wide), json!(high), json!(no_picture)])
                .await
        };
        take(8, 8, true).await;
        desk.until_told("isn’t a picture that the browser can read")
            .await;
        line.cut();
        let bytes = take(2400, 1800, false).await;
        assert!(bytes > 1_000_000, "{bytes}");
        desk.until_told("1 entry waits on this device").await;
        station(&desk, &batch, "sheet").await;
        desk.until("document.querySelector('#pending img')?.naturalWidth === 160")
            .await;
        typed(&desk, "form[data-enter=note]", "seen from the left").await;
        take(300, 400, false).await;
        desk.until_told("3 entries wait on this device").await;
        // What waits can be carried over as a file, photographs and all.
        const SAVE: &str = "return (async () => {
            const saved = new Promise((done) => { URL.createObjectURL = (file) => { done(file.text()); return 'data:,'; }; });
            document.getElementById('as-file').click();
            return await saved; })();";
        let file: String = desk.run(SAVE, &[]).await;
        line.mend();
        desk.until(ALL_SENT).await;
        desk.until("[...document.querySelectorAll('#photographs img')].filter((i) => i.complete && i.naturalWidth > 0).length === 2").await;
        let kept = rows(&desk, &batch).await;
        let words: Vec<&str> = kept.iter().map(|r| r.row.what.as_str()).collect();
        assert_eq!(words, ["photograph", "note", "photograph"]);
        for (row, longest) in [(&kept[0], 1600), (&kept[2], 400)] {
            let (bytes, picture) = desk.app.picture(&row.row.value).await.unwrap();
            assert_eq!(picture.of, PictureType::Jpeg);
            assert!(bytes.len() <= book::PICTURE_LIMIT_BYTES);
            assert!(
                picture.width.max(picture.height) <= longest
                    && picture.width.max(picture.height) > longest / 4
            );
            for word in [&b"Exif"[..], b"GPS"] {
                assert!(!bytes.windows(word.len()).any(|w| w == word));
            }
            assert_eq!(Picture::of(&bytes), Some(picture));
        }
        let saved: Vec<Value> = serde_json::from_str(&file).unwrap();
        let carried = |row: &Value| row["picture"].as_str().is_some_and(|p| p.len() > 1_000);
        assert!(saved.len() == 3 && carried(&saved[0]) && carried(&saved[2]));
        const READ_IN: &str = "return (async () => {
            const form = new FormData();
            form.append('file', new File([arguments[0]], 'entries.json'));
            const answer = await fetch('/bench/file', { method: 'POST', body: form, headers: { accept: 'application/json' } });
            return (await answer.json()).map((told) => told.state); })();";
        let states: Vec<String> = desk.run(READ_IN, &[json!(file)]).await;
        assert_eq!(states, ["kept-already"; 3]);
        assert_eq!(rows(&desk, &batch).await.len(), 3);
        // One can be struck through like any entry; it stays readable, and is no longer among the photographs.
        let of = format!("#row-{}", kept[2].row.key);
        desk.click(&format!("{of} summary")).await;
        desk.fill(&format!("{of} [name=why]"), "of another batch")
            .await;
        desk.click(&format!("{of} form button")).await;
        desk.until("document.querySelectorAll('#photographs img').length === 1")
            .await;
        desk.until_told("of another batch").await;
    });
}

#[test]
fn clocks_run_on_after_a_reload_and_ring_once() {
    at_desk(|desk| async move {
        desk.screen(820, 1180).await;
        let batch = day(&desk.app).await.remove(0);
        // The clock of the page goes ahead as far as the test says; what shakes is told.
        const LATER: &str = "const real = Date.now; const by = arguments[0] * 60000; Date.now = () => real() + by;
            window.shaken = 0; navigator.vibrate = () => { window.shaken += 1; return true; }; return true;";
        let later = async |minutes: f64| desk.run::<bool>(LATER, &[json!(minutes)]).await;
        let shaken = async || desk.ask::<u64>("window.shaken").await;
        station(&desk, &batch, "dough").await;
        desk.click("[data-ring=shake]").await;
        desk.click("[data-enter='stand-begun'] button").await;
        desk.fill("[data-ring-after]", "10").await;
        desk.until("document.querySelector('.standing .left').textContent.includes('09:')")
            .await;
        desk.until(ALL_SENT).await;
        station(&desk, &batch, "dough").await;
        desk.until("document.querySelector('.standing .left').textContent.includes('09:')")
            .await;
        later(9.0).await;
        desk.until(
            "document.querySelector('.standing [data-since]').textContent.startsWith('09:')",
        )
        .await;
        assert_eq!(shaken().await, 0);
        later(1.5).await;
        desk.until("document.querySelector('.standing .left.over')?.textContent.includes('over')")
            .await;
        desk.until("window.shaken === 1").await;
        // Loaded anew it rings no more.
        station(&desk, &batch, "dough").await;
        later(10.6).await;
        desk.until("document.querySelector('.standing .left.over')")
            .await;
        desk.until(
            "document.querySelector('.standing [data-since]').textContent.startsWith('10:')",
        )
        .await;
        assert_eq!(shaken().await, 0);
        desk.click("[data-stood] button").await;
        desk.until("document.querySelector('[data-stood]').hidden")
            .await;
        desk.until(ALL_SENT).await;
        let stood = rows(&desk, &batch).await;
        let stood: f64 = stood.last().unwrap().row.value.parse().unwrap();
        assert!((10.5..11.5).contains(&stood), "{stood}");

        // Trays and single pieces at once, each with its own clock down to the minutes planned.
        station(&desk, &batch, "oven").await;
        desk.click("[data-enter='oven-in'] button").await;
        desk.until("document.querySelectorAll('#trays .tray').length === 1")
            .await;
        desk.fill("[data-enter='oven-in'] [name=of]", "a piece")
            .await;
        desk.click("[data-enter='oven-in'] button").await;
        desk.until("document.querySelectorAll('#trays .tray').length === 2")
            .await;
        desk.until(ALL_SENT).await;
        station(&desk, &batch, "oven").await;
        let planned: f64 = desk
            .ask("Number(document.querySelector('.tray .left').dataset.minutes)")
            .await;
        assert!((3.0..120.0).contains(&planned), "{planned}");
        desk.until("[...document.querySelectorAll('#trays .left')].every((l) => l.textContent.includes('left'))").await;
        later(planned + 0.2).await;
        desk.until("window.shaken === 2").await;
        desk.click("#trays .tray:first-child button").await;
        desk.until("document.querySelectorAll('#trays .tray').length === 1")
            .await;
        desk.until(ALL_SENT).await;
        let told: Value =
            serde_json::to_value(&desk.app.at_bench(&batch).await.unwrap().made.state.loads)
                .unwrap();
        let minutes = told[0]["minutes"].as_f64().unwrap();
        assert!(minutes > 0.0, "{told}");
        assert!(told[1]["left"].is_null(), "{told}");
    });
}
