//! A large book: 63 trials of 16 batches, a thousand measurements on each batch. Tells how long the server takes for the
//! list at the bench, the results and the sheet, the first time and again, and how long 100,000 measurements of a file take.
//! What is wished: 250 ms a page, 4 s a file. `cargo bench -p web --bench large_book [FOLDER]` keeps the book in FOLDER.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

use app::{App, MeasurementsFile, TrialAsked};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use bench::Asked;
use book::exchange::Decimal;
use book::{Kind, NewBenchEntry};
use std::fmt::Write;
use std::path::Path;
use std::time::Instant;
use tower::ServiceExt;
use trials::plan::{Blocks, Request as Wish, Unit};
use trials::random::SplitMix64;
use web::{Names, router};

const TRIALS: usize = 63;
const BLOCKS: usize = 4;
const PIECES: u32 = 250;
const TREATMENTS: [&str; 4] = ["control", "barley", "rice_chickpea", "rice_chickpea_egg"];
const RESPONSES: [(&str, f64); 4] = [
    ("breaking_force_n", 60.0),
    ("piece_mass_g", 12.0),
    ("length_mm", 60.0),
    ("water_activity", 0.45),
];
const HOST: &str = "127.0.0.1:4711";

fn asked(number: usize, repeats: u32) -> TrialAsked {
    let responses = RESPONSES.map(|(id, _)| Asked::read(&format!("{id}:{repeats}")).unwrap());
    TrialAsked {
        name: format!("Invented trial {number}"),
        question: "Is it as firm?".to_owned(),
        study: "spent-grain-bars".to_owned(),
        wish: Wish::Blocks(Blocks {
            treatments: TREATMENTS.map(str::to_owned).to_vec(),
            block_name: "day".to_owned(),
            blocks: (1..=BLOCKS).map(|b| format!("day {b}")).collect(),
            per_block: 1,
        }),
        unit: Unit::Batch,
        seed: number as u64,
        control: Some("control".to_owned()),
        responses: responses.to_vec(),
        pieces: Some(60),
        loss_pct: 5.0,
        blind: false,
    }
}

fn row(
    batch: &str,
    n: usize,
    what: &str,
    of: Option<&str>,
    on: Option<String>,
    value: String,
) -> NewBenchEntry {
    NewBenchEntry {
        key: format!("{batch}-{n}"),
        kind: Kind::Batch,
        thing: batch.to_owned(),
        at: "2026-03-02T12:00:00Z".to_owned(),
        arrived: "2026-03-02T12:00:01Z".to_owned(),
        who: "Ada (invented)".to_owned(),
        device: None,
        what: what.to_owned(),
        of: of.map(str::to_owned),
        on,
        value,
        unit: None,
        strikes: None,
        why: None,
    }
}

/// The book, grown where there is none yet: all batches but those of the last trial are signed.
async fn grown(path: &Path) -> App {
    let app = App::open(path).await.unwrap();
    if app.trials(None).await.unwrap().len() > TRIALS {
        return app;
    }
    let began = Instant::now();
    for number in 1..=TRIALS {
        let id = app
            .keep_trial("Ada", &asked(number, PIECES), None)
            .await
            .unwrap();
        for made in app.trial(&id).await.unwrap().made.iter() {
            let mut random =
                SplitMix64::stream(7, (number * 100 + made.batch.order.unwrap()) as u64);
            let mut rows = Vec::new();
            for (response, mean) in RESPONSES {
                for piece in 1..=PIECES {
                    let value = mean * (0.9 + 0.2 * random.unit());
                    let on = Some(format!("piece={piece}"));
                    rows.push(row(
                        &made.id,
                        rows.len(),
                        "observed",
                        Some(response),
                        on,
                        format!("{value:.2}"),
                    ));
                }
            }
            if number < TRIALS {
                rows.push(row(
                    &made.id,
                    rows.len(),
                    "signed",
                    None,
                    None,
                    "by hand".to_owned(),
                ));
            }
            app.book().enter(rows).await.unwrap();
        }
    }
    println!("grown in {:.1} s", began.elapsed().as_secs_f64());
    app
}

async fn get(site: &Router, path: &str) -> (u128, usize) {
    let request = Request::get(path)
        .header(header::HOST, HOST)
        .body(Body::empty())
        .unwrap();
    let began = Instant::now();
    let response = site.clone().oneshot(request).await.unwrap();
    let status = response.status();
    let bytes = to_bytes(response.into_body(), 64_000_000).await.unwrap();
    let took = began.elapsed().as_millis();
    assert_eq!(
        status,
        StatusCode::OK,
        "{path}: {}",
        String::from_utf8_lossy(&bytes)
    );
    (took, bytes.len())
}

#[tokio::main]
async fn main() {
    let kept = std::env::args().nth(1).filter(|a| !a.starts_with('-'));
    let own = tempfile::tempdir().unwrap();
    let folder = kept.map_or_else(|| own.path().to_owned(), Into::into);
    let path = folder.join("large.book");
    grown(&path).await.close().await;
    let rows = TRIALS * 16 * RESPONSES.len() * PIECES as usize;
    let bytes = std::fs::metadata(&path).unwrap().len();
    println!(
        "{rows} measurements, {:.0} bytes each in the book",
        bytes as f64 / rows as f64
    );

    let app = App::open(&path).await.unwrap();
    let site = router(app.clone(), Names::of(HOST.parse().unwrap()));
    let newest = app.trials(None).await.unwrap()[0].entry.thing.clone();
    // What every page needs once, whatever the book holds.
    get(&site, "/settings").await;
    get(&site, "/study/spent-grain-bars/bake").await;
    for path in [
        "/bench".to_owned(),
        format!("/trial/{newest}"),
        format!("/trial/{newest}?response=water_activity"),
        "/study/spent-grain-bars/trials".to_owned(),
        "/study/spent-grain-bars".to_owned(),
    ] {
        let (first, length) = get(&site, &path).await;
        let again = get(&site, &path).await.0;
        println!("{path}: {first} ms, again {again} ms, {length} bytes");
    }

    let id = app
        .keep_trial("Ada", &asked(1000, 1563), None)
        .await
        .unwrap();
    let view = app.trial(&id).await.unwrap();
    let mut text = "batch,piece".to_owned();
    for (response, _) in RESPONSES {
        write!(text, ",{response}").unwrap();
    }
    text.push('\n');
    for made in view.made.iter() {
        for piece in 1..=1563 {
            writeln!(text, "{},{piece},60.1,12.05,60.2,0.45", made.batch.code).unwrap();
        }
    }
    let file = MeasurementsFile {
        bytes: text.as_bytes(),
        sheet: None,
        decimal: Decimal::Point,
        named: &[],
        correct: None,
    };
    let began = Instant::now();
    let observed = app.measurements(&view, &file).unwrap();
    assert!(
        observed.problems.is_empty(),
        "{:?}",
        observed.problems.first()
    );
    let read = began.elapsed().as_secs_f64();
    let n = observed.new.len();
    let told = app
        .enter_measurements("Ada", observed.new, None)
        .await
        .unwrap();
    assert_eq!(told.entered, n);
    println!(
        "{n} measurements of a file: read in {read:.2} s, all in {:.2} s",
        began.elapsed().as_secs_f64()
    );
    app.close().await;
}
