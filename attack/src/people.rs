//! People at work at the same time, each with a study of their own: an edit every two seconds, a page every five.

use crate::How;
use crate::marks::Marks;
use crate::record::Counts;
use crate::server::{Client, HANG, Server};
use anyhow::{Context, Result};
use serde_json::json;
use std::time::{Duration, Instant};

const EDIT_EVERY: Duration = Duration::from_secs(2);
const PAGE_EVERY: Duration = Duration::from_secs(5);
/// People in the short form; in the long one six times as many.
const FEW: u64 = 8;
const MANY: u64 = 50;

struct Told {
    took: Vec<Duration>,
    edits: u64,
    lost: Vec<u64>,
    failed: Vec<String>,
}

/// The people.
pub fn run(how: How) -> Result<Counts> {
    let folder = tempfile::tempdir()?;
    let server = Server::start(&folder.path().join("lab.book"))?;
    let people = if how.times > 1 { MANY } else { FEW };
    let mut counts = Counts::default();
    let mut things = Vec::new();
    for person in 0..people {
        let name = format!("name=Person+{person}");
        let kind = "application/x-www-form-urlencoded";
        let made = server
            .client()
            .ask("POST", "/studies", kind, name.as_bytes())?;
        let to = made.text.lines().find_map(|l| l.strip_prefix("location: "));
        things.push(to.context("no study was made")?.trim().to_owned());
    }
    let until = Instant::now() + Duration::from_secs(how.seconds);
    let working: Vec<_> = things
        .into_iter()
        .enumerate()
        .map(|(at, thing)| {
            let client = server.client();
            std::thread::spawn(move || work(&client, &thing, at, until))
        })
        .collect();
    let mut took = Vec::new();
    for (at, person) in working.into_iter().enumerate() {
        let told = person
            .join()
            .map_err(|_| anyhow::anyhow!("a person broke off"))??;
        counts.add("edits acknowledged", told.edits);
        took.extend(told.took);
        for lost in told.lost {
            counts.complain("losses", format!("person {at}: edit {lost} is lost"));
        }
        for failed in told.failed {
            counts.complain("failures", failed);
        }
    }
    counts.add("people", people);
    counts.add("requests", took.len() as u64);
    counts.add("losses", 0);
    took.sort();
    let at = |share: f64| {
        let index = (share * took.len() as f64) as usize;
        let last = took.len().saturating_sub(1);
        took.get(index.min(last))
            .map_or(0, |t| t.as_millis() as u64)
    };
    counts.worst("p50 ms", at(0.5));
    counts.worst("p99 ms", at(0.99));
    counts.worst("slowest ms", at(1.0));
    server.withstood(&mut counts);
    Ok(counts)
}

fn work(client: &Client, to: &str, at: usize, until: Instant) -> Result<Told> {
    let mut told = Told {
        took: Vec::new(),
        edits: 0,
        lost: Vec::new(),
        failed: Vec::new(),
    };
    // Not all in the same moment.
    std::thread::sleep(EDIT_EVERY.mul_f64(at as f64 * 0.618 % 1.0));
    let state = client.get(to)?.json()?["state"].clone();
    let base = state["base"].as_u64().context("no base")?;
    let mut counter = state["counter"].as_u64().context("no counter")?;
    let mut next_page = Instant::now();
    while Instant::now() < until {
        let began = Instant::now();
        let amount = 0.3 + (told.edits % 50) as f64 * 0.01;
        // The marks of all edits before are read and one is added, so that one that is lost stays missing.
        let study = client.get(&format!("{to}/export"))?;
        told.took.push(study.took);
        let marks = Marks::of(at, &study.text).and(told.edits).text(at);
        let edits = json!({
            "base": base, "counter": counter, "window": "one", "room": "sheet",
            "edits": [
                { "edit": "set_note", "treatment": "control", "note": marks },
                { "edit": "set_target", "moisture_pct": 8.0 + amount },
            ],
        });
        let answer = client.send(&format!("{to}/edit"), &edits)?;
        told.took.push(answer.took);
        if answer.status == 200 {
            told.edits += 1;
            counter = answer.json()?["state"]["counter"]
                .as_u64()
                .unwrap_or(counter);
        } else {
            told.failed.push(format!("an edit: {}", answer.status));
        }
        if answer.took > HANG {
            told.failed.push(format!("an edit took {:?}", answer.took));
        }
        if Instant::now() >= next_page {
            next_page = Instant::now() + PAGE_EVERY;
            let page = client.get(to)?;
            told.took.push(page.took);
            if page.status != 200 {
                told.failed.push(format!("a page: {}", page.status));
            }
        }
        std::thread::sleep(EDIT_EVERY.saturating_sub(began.elapsed()));
    }
    let end = client.get(&format!("{to}/export"))?.text;
    told.lost = Marks::of(at, &end).lost(told.edits);
    Ok(told)
}
