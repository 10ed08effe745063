//! A whole day at a tablet, with a connection that comes and goes and a program that is killed.

use crate::bench_kept::{ALL_SENT, day, station, until_kept};
use crate::desk::{Desk, at_desk};
use crate::line::Line;
use app::App;
use bench::demonstration::{FORCE_SD_N, TRUTHS};
use book::Kind;
use serde_json::json;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::sync::Mutex;
use std::time::Instant;
use tokio::io::{AsyncBufReadExt, BufReader};
use tokio::net::TcpListener;
use tokio::process::{Child, Command};
use trials::random::SplitMix64;
use web::{Names, router};

/// What tells this very test program to be the program that is killed: the book, where it listens, and its name.
const PROGRAM: [&str; 3] = ["BENCH_DAY_BOOK", "BENCH_DAY_AT", "BENCH_DAY_NAME"];

#[test]
#[ignore = "is the program that the test of a day starts and kills"]
fn the_program() {
    let [Some(book), Some(at), Some(name)] = PROGRAM.map(|name| std::env::var(name).ok()) else {
        return;
    };
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        let app = App::open(Path::new(&book)).await.unwrap();
        let listener = TcpListener::bind(at).await.unwrap();
        println!("it answers");
        let site = router(app, Names::of(name.parse().unwrap()));
        axum::serve(listener, site).await.unwrap();
    });
}

/// The program, in a process of its own.
struct Program {
    book: PathBuf,
    at: SocketAddr,
    name: SocketAddr,
    running: Child,
}

impl Program {
    async fn start(book: PathBuf, at: SocketAddr, name: SocketAddr) -> Self {
        let running = Self::running(&book, at, name).await;
        Self {
            book,
            at,
            name,
            running,
        }
    }

    async fn running(book: &Path, at: SocketAddr, name: SocketAddr) -> Child {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args([
                "bench_day::the_program",
                "--exact",
                "--ignored",
                "--nocapture",
            ])
            .env(PROGRAM[0], book)
            .env(PROGRAM[1], at.to_string())
            .env(PROGRAM[2], name.to_string())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .kill_on_drop(true)
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        while let Some(line) = lines.next_line().await.unwrap() {
            if line.contains("it answers") {
                return child;
            }
        }
        panic!("the program ended before it answered")
    }

    /// SIGKILL: nothing is finished.
    async fn kill(&mut self) {
        self.running.kill().await.unwrap();
    }

    async fn again(&mut self) {
        self.running = Self::running(&self.book, self.at, self.name).await;
    }
}

/// What the page has called kept since it was opened.
const CALLED_KEPT: &str = "(window.calledKept ??= (() => {
    const keys = new Set();
    const look = () => document.querySelectorAll('#pending [data-key]').forEach((li) => {
        if (!keys.has(li.dataset.key)) window.tookMs = performance.now() - window.tappedMs;
        keys.add(li.dataset.key);
    });
    document.addEventListener('click', () => { window.tappedMs = performance.now(); }, true);
    new MutationObserver(look).observe(document.body, { childList: true, subtree: true });
    look();
    return keys;
})())";

/// Presses a button of a form, and gives the key of the row once the page calls it kept.
async fn enter(desk: &Desk, css: &str) -> String {
    let before: usize = desk.ask(&format!("{CALLED_KEPT}.size")).await;
    desk.click(css).await;
    desk.until(&format!("{CALLED_KEPT}.size > {before}")).await;
    let (key, took): (String, f64) = desk
        .ask(&format!("[[...{CALLED_KEPT}].pop(), window.tookMs]"))
        .await;
    TOOK_MS.lock().unwrap().push(took);
    key
}

/// From each tap until the page called its row kept, ms.
static TOOK_MS: Mutex<Vec<f64>> = Mutex::new(Vec::new());

/// Types a value into a form, presses its button, and gives the key.
async fn enter_typed(desk: &Desk, form: &str, value: &str) -> String {
    desk.fill(&format!("{form} input[name=value]"), value).await;
    enter(desk, &format!("{form} button.main")).await
}

fn normal(random: &mut SplitMix64) -> f64 {
    let (u, v) = (1.0 - random.unit(), random.unit());
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

/// Pieces of each batch that are bent.
const BENT: usize = 4;

#[test]
fn every_entry_of_a_day_that_the_page_called_kept_is_in_the_book_once_and_in_order() {
    at_desk(|mut desk| async move {
        let folder = tempfile::tempdir().unwrap();
        let book = folder.path().join("day.book");
        let app = App::open(&book).await.unwrap();
        let batches = day(&app).await;
        let trial = app
            .batch(&batches[0])
            .await
            .unwrap()
            .made
            .batch
            .trial
            .unwrap();
        let treatments: Vec<String> = app
            .trial(&trial)
            .await
            .unwrap()
            .made
            .iter()
            .map(|m| m.batch.treatment.clone())
            .collect();
        app.close().await;
        let free = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let at = free.local_addr().unwrap();
        drop(free);
        let line = Line::to(at).await;
        let mut program = Program::start(book.clone(), at, line.address).await;
        desk.root = line.root();
        desk.screen(820, 1180).await;
        desk.open("/bench").await;
        let began = Instant::now();
        let mut random = SplitMix64::stream(20_261_130, 7);
        let mut cuts = 0;
        let mut kills = 0;
        let mut called: Vec<Vec<String>> = Vec::new();
        for (nth, batch) in batches.iter().enumerate() {
            let mut keys = Vec::new();
            station(&desk, batch, "water").await;
            let dose = "form[data-enter=dose]:has(.tap:nth-of-type(2)) .tap:nth-of-type(2)";
            keys.push(enter(&desk, dose).await);
            // What is opened next was kept beforehand.
            for next in ["dough", "cut", "oven", "measure"] {
                until_kept(&desk, &format!("/bench/{batch}/{next}")).await;
            }
            if [1, 3, 5, 8, 10].contains(&nth) {
                line.cut();
                cuts += 1;
            }
            for css in [
                "[data-enter=feel] button:nth-of-type(2)",
                dose,
                "[data-enter=feel] button:nth-of-type(3)",
                "[data-enter='dough-right'] button",
            ] {
                keys.push(enter(&desk, css).await);
            }
            // Loaded anew, with or without a connection.
            station(&desk, batch, "dough").await;
            keys.push(enter(&desk, "[data-enter='stand-begun'] button").await);
            keys.push(enter(&desk, "[data-stood] button").await);
            keys.push(enter_typed(&desk, "form[data-enter='dough-temperature']", "25.5").await);
            if [2, 6, 10].contains(&nth) {
                program.kill().await;
                kills += 1;
            }
            station(&desk, batch, "cut").await;
            for css in [
                "[data-enter=cut-whole] button:nth-of-type(2)",
                "[data-enter=cut-whole] button:nth-of-type(2)",
                "[data-enter=cut-broken] button:nth-of-type(1)",
                "[data-enter=cut-whole] button:nth-of-type(3)",
                "[data-enter=cut-stuck] button:nth-of-type(1)",
            ] {
                keys.push(enter(&desk, css).await);
            }
            desk.until_reads("[data-sum=cut-whole]", "9").await;
            if [2, 6, 10].contains(&nth) {
                program.again().await;
            }
            station(&desk, batch, "oven").await;
            keys.push(enter(&desk, "[data-enter='oven-in'] button").await);
            keys.push(enter(&desk, "[data-enter='oven-in'] button").await);
            line.mend();
            for tray in ["1", "2"] {
                keys.push(
                    enter(
                        &desk,
                        &format!(
                            "[data-tray='{tray}']:not([hidden]) [data-enter='oven-out'] button"
                        ),
                    )
                    .await,
                );
            }
            station(&desk, batch, "measure").await;
            let truth = TRUTHS
                .iter()
                .find(|t| t.treatment == treatments[nth])
                .unwrap();
            let own = truth.force_n + FORCE_SD_N.1 * normal(&mut random);
            for _ in 0..BENT {
                let force = own + FORCE_SD_N.2 * normal(&mut random);
                keys.push(
                    enter_typed(
                        &desk,
                        "form[data-enter='bend-force']",
                        &format!("{force:.1}"),
                    )
                    .await,
                );
            }
            called.push(keys);
        }
        desk.until(ALL_SENT).await;
        assert_eq!((cuts, kills), (5, 3));
        let mut took = std::mem::take(&mut *TOOK_MS.lock().unwrap());
        took.sort_by(f64::total_cmp);
        println!(
            "{} entries of {} batches in {:?}; from tap to kept and shown: median {:.0} ms, 95 of 100 within {:.0} ms",
            called.iter().map(Vec::len).sum::<usize>(),
            called.len(),
            began.elapsed(),
            took[took.len() / 2],
            took[took.len() * 95 / 100]
        );
        assert!(desk.too_wide().await.is_empty());
        program.kill().await;

        let app = App::open(&book).await.unwrap();
        assert!(app.book().verify(|_, _| ()).await.unwrap().is_sound());
        for (batch, keys) in batches.iter().zip(&called) {
            assert!(keys.len() >= 20, "{}", keys.len());
            let rows = app.book().entries_of(Kind::Batch, batch, 0).await.unwrap();
            let kept: Vec<&str> = rows.iter().map(|r| r.row.key.as_str()).collect();
            assert_eq!(kept, *keys, "{batch}");
            assert!(rows.iter().map(|r| r.row.at.as_str()).is_sorted());
            let state = app.at_bench(batch).await.unwrap().made.state;
            assert!(state.findings.is_empty(), "{:?}", state.findings);
            assert_eq!(
                (state.counts.whole, state.counts.broken, state.counts.stuck),
                (9, 1, 1)
            );
            assert!(state.loads.len() == 2 && state.loads.iter().all(|l| l.minutes.is_some()));
        }
        // The analysis finds the truth that the forces were drawn from.
        let view = app.trial(&trial).await.unwrap();
        let results = app.results(&view).await.unwrap();
        let mut force = results.iter();
        let force = force.find(|r| r.asked.id == "breaking_force_n").unwrap();
        let force = force.outcome.as_ref().unwrap();
        for truth in &TRUTHS[1..] {
            let mut told = force.comparisons.iter();
            let told = told
                .find(|c| c.a == truth.treatment && c.b == "control")
                .unwrap();
            let wanted = truth.force_n - TRUTHS[0].force_n;
            let (low, high) = (told.low95.unwrap(), told.high95.unwrap());
            assert!(
                low <= wanted && wanted <= high,
                "{}: {wanted} not in {low} to {high}",
                truth.treatment
            );
            assert!(
                high - low < 12.0 * FORCE_SD_N.1,
                "an interval that says something"
            );
        }
        app.close().await;
    });
}

/// What waits counts in the unit it was typed in: 10 oz are 0.283 kg.
#[test]
fn a_dose_that_waits_counts_in_its_own_unit() {
    at_desk(|desk| async move {
        let batch = day(&desk.app).await.remove(0);
        station(&desk, &batch, "water").await;
        let cut = |is: bool| json!({ "offline": is, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1 });
        desk.browser("Network.enable", json!({})).await;
        desk.browser("Network.emulateNetworkConditions", cut(true))
            .await;
        let form = "form[data-enter=dose]:has(select)";
        desk.choose(&format!("{form} select[name=unit]"), "oz")
            .await;
        enter_typed(&desk, form, "10").await;
        desk.until_reads(
            "[data-sum=dose]",
            &format!("{:.3}", 10.0 * 0.028_349_523_125),
        )
        .await;
        desk.browser("Network.emulateNetworkConditions", cut(false))
            .await;
        desk.until(ALL_SENT).await;
    });
}
