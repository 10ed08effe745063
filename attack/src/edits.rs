//! Several clients edit one study at the same moment while it is saved: each acknowledged edit is in the result or was
//! refused.

use crate::How;
use crate::record::Counts;
use crate::server::{BARS, Client, HANG, MOST_MB, Server};
use anyhow::{Context, Result};
use serde_json::json;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

const CLIENTS: usize = 4;
const EDITS: u64 = 40;
const TREATMENTS: [&str; CLIENTS] = ["control", "barley", "rice_chickpea", "control"];

struct Told {
    acknowledged: u64,
    refused: u64,
    last: Option<String>,
    slowest_ms: u64,
    failed: Vec<String>,
}

/// The clients.
pub fn run(how: How) -> Result<Counts> {
    let folder = tempfile::tempdir()?;
    let mut server = Server::start(&folder.path().join("lab.book"))?;
    let mut counts = Counts::default();
    let edits = EDITS * how.times;
    let over = Arc::new(AtomicBool::new(false));
    let clients: Vec<_> = (0..CLIENTS)
        .map(|at| {
            let client = server.client();
            std::thread::spawn(move || edit(&client, at, edits))
        })
        .collect();
    let saving = {
        let (client, over) = (server.client(), Arc::clone(&over));
        std::thread::spawn(move || {
            let mut saved = 0_u64;
            while !over.load(Ordering::Relaxed) {
                std::thread::sleep(std::time::Duration::from_millis(100));
                let body = b"base=0&why=";
                let kind = "application/x-www-form-urlencoded";
                let path = format!("/study/{BARS}/save");
                if client
                    .ask("POST", &path, kind, body)
                    .is_ok_and(|a| a.status < 400)
                {
                    saved += 1;
                }
            }
            saved
        })
    };
    let mut lasts = Vec::new();
    for client in clients {
        let told = client
            .join()
            .map_err(|_| anyhow::anyhow!("a client broke off"))??;
        counts.add("edits acknowledged", told.acknowledged);
        counts.add("edits refused", told.refused);
        counts.worst("slowest answer ms", told.slowest_ms);
        for failed in told.failed {
            counts.complain("failures", failed);
        }
        lasts.extend(told.last);
    }
    over.store(true, Ordering::Relaxed);
    let saved = saving
        .join()
        .map_err(|_| anyhow::anyhow!("saving broke off"))?;
    counts.add("saves beside them", saved);
    let end = server.client().get(&format!("/study/{BARS}/export"))?.text;
    for last in lasts {
        if !end.contains(&last) {
            counts.complain("losses", format!("lost: {last}"));
        }
    }
    counts.add("losses", 0);
    if !server.lives() {
        counts.complain("ends", "the server ended");
    }
    if let Some(megabytes) = server.megabytes() {
        counts.worst("server MB", megabytes);
        if megabytes > MOST_MB {
            counts.complain("too large", format!("the server took {megabytes} MB"));
        }
    }
    server.kill();
    Ok(counts)
}

/// One client: a note of its own, counted up; each is looked for in the answer that acknowledged it.
fn edit(client: &Client, at: usize, edits: u64) -> Result<Told> {
    let mut told = Told {
        acknowledged: 0,
        refused: 0,
        last: None,
        slowest_ms: 0,
        failed: Vec::new(),
    };
    for count in 0..edits {
        let state = client.get(&format!("/study/{BARS}"))?.json()?;
        let state = &state["state"];
        let note = format!("client {at} says {count}.");
        // Two clients change the same treatment: one its note, one its name.
        let edit = if at == 3 {
            json!({ "edit": "rename_treatment", "treatment": TREATMENTS[at], "name": note })
        } else {
            json!({ "edit": "set_note", "treatment": TREATMENTS[at], "note": note })
        };
        let answer = client.send(
            &format!("/study/{BARS}/edit"),
            &json!({
                "base": state["base"].as_u64().context("no base")?,
                "counter": state["counter"],
                "window": format!("client {at}"),
                "edits": [edit],
            }),
        )?;
        told.slowest_ms = told.slowest_ms.max(answer.took.as_millis() as u64);
        if answer.took > HANG {
            told.failed.push(format!("an edit took {:?}", answer.took));
        }
        match answer.status {
            200 => {
                told.acknowledged += 1;
                told.last = Some(note);
            }
            409 => told.refused += 1,
            status => told.failed.push(format!("status {status}")),
        }
    }
    Ok(told)
}
