//! Several clients edit one study at the same moment while it is saved: each acknowledged edit is in the result or was
//! refused. A client finds the marks of its edits and adds one, so that an edit that is lost is missing at the end.

use crate::How;
use crate::marks::Marks;
use crate::record::Counts;
use crate::server::{BARS, Client, HANG, Server};
use anyhow::{Context, Result};
use serde_json::{Value, json};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

const CLIENTS: usize = 4;
const EDITS: u64 = 40;
/// The treatments whose notes bear the marks; the last client has the question of the study.
const TREATMENTS: [&str; CLIENTS - 1] = ["control", "barley", "rice_chickpea"];

struct Told {
    acknowledged: u64,
    refused: u64,
    slowest_ms: u64,
    failed: Vec<String>,
}

/// The clients.
pub fn run(how: How) -> Result<Counts> {
    let folder = tempfile::tempdir()?;
    let server = Server::start(&folder.path().join("lab.book"))?;
    let mut counts = crowd(&server.client(), EDITS * how.times)?;
    server.withstood(&mut counts);
    Ok(counts)
}

/// So many edits by every client on one server, counted.
fn crowd(client: &Client, edits: u64) -> Result<Counts> {
    let mut counts = Counts::default();
    let over = Arc::new(AtomicBool::new(false));
    let clients: Vec<_> = (0..CLIENTS)
        .map(|at| {
            let client = client.clone();
            std::thread::spawn(move || edit(&client, at, edits))
        })
        .collect();
    let saving = {
        let (client, over) = (client.clone(), Arc::clone(&over));
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
    let mut acknowledged = Vec::new();
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
        acknowledged.push(told.acknowledged);
    }
    over.store(true, Ordering::Relaxed);
    let saved = saving
        .join()
        .map_err(|_| anyhow::anyhow!("saving broke off"))?;
    counts.add("saves beside them", saved);
    let end = client.get(&format!("/study/{BARS}/export"))?.text;
    for (at, acknowledged) in acknowledged.into_iter().enumerate() {
        for lost in Marks::of(at, &end).lost(acknowledged) {
            counts.complain("losses", format!("client {at}: edit {lost} is lost"));
        }
    }
    counts.add("losses", 0);
    Ok(counts)
}

/// One client: a cell of its own, to which each edit adds a mark.
fn edit(client: &Client, at: usize, edits: u64) -> Result<Told> {
    let mut told = Told {
        acknowledged: 0,
        refused: 0,
        slowest_ms: 0,
        failed: Vec::new(),
    };
    for _ in 0..edits {
        let state = client.get(&format!("/study/{BARS}"))?.json()?;
        let state = &state["state"];
        let study = client.get(&format!("/study/{BARS}/export"))?.text;
        let marks = Marks::of(at, &study).and(told.acknowledged).text(at);
        let answer = client.send(
            &format!("/study/{BARS}/edit"),
            &json!({
                "base": state["base"].as_u64().context("no base")?,
                "counter": state["counter"],
                "window": format!("client {at}"),
                "edits": [marked(at, &marks)],
            }),
        )?;
        told.slowest_ms = told.slowest_ms.max(answer.took.as_millis() as u64);
        if answer.took > HANG {
            told.failed.push(format!("an edit took {:?}", answer.took));
        }
        match answer.status {
            200 => told.acknowledged += 1,
            409 => told.refused += 1,
            status => told.failed.push(format!("status {status}")),
        }
    }
    Ok(told)
}

fn marked(at: usize, marks: &str) -> Value {
    match TREATMENTS.get(at) {
        Some(treatment) => json!({ "edit": "set_note", "treatment": treatment, "note": marks }),
        None => {
            json!({ "edit": "set_field", "treatment": null, "path": "study.question", "value": marks })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;
    use std::io::{Read, Write};
    use std::net::{TcpListener, TcpStream};

    /// A study that acknowledges every edit and loses one in so many.
    struct Lossy {
        cells: BTreeMap<String, String>,
        edits: u64,
        loses_every: u64,
    }

    impl Lossy {
        fn answer(&mut self, head: &str, body: &[u8]) -> String {
            let words: Vec<&str> = head.split(' ').take(2).collect();
            match words[..] {
                ["GET", path] if path.ends_with("/export") => {
                    self.cells.values().map(|c| format!("{c}\n")).collect()
                }
                ["GET", _] => json!({ "state": { "base": 1, "counter": self.edits } }).to_string(),
                ["POST", path] if path.ends_with("/edit") => {
                    let sent: Value = serde_json::from_slice(body).unwrap();
                    self.edits += 1;
                    if !self.edits.is_multiple_of(self.loses_every) {
                        let edit = &sent["edits"][0];
                        let text = edit.get("note").or(edit.get("value")).unwrap();
                        let window = sent["window"].to_string();
                        self.cells.insert(window, text.as_str().unwrap().to_owned());
                    }
                    "{}".to_owned()
                }
                _ => String::new(),
            }
        }

        fn served(mut self, edits: u64) -> Client {
            let listener = TcpListener::bind("127.0.0.1:0").unwrap();
            let client = Client::of(&listener.local_addr().unwrap().to_string(), "none");
            std::thread::spawn(move || {
                while self.edits <= edits {
                    let (mut stream, _) = listener.accept().unwrap();
                    let (head, body) = request(&mut stream);
                    let body = self.answer(&head, &body);
                    let answer = format!("HTTP/1.1 200 OK\r\n\r\n{body}");
                    stream.write_all(answer.as_bytes()).unwrap();
                }
            });
            client
        }
    }

    fn request(stream: &mut TcpStream) -> (String, Vec<u8>) {
        let (mut bytes, mut some) = (Vec::new(), [0; 4096]);
        loop {
            if let Some(at) = bytes.windows(4).position(|w| w == b"\r\n\r\n") {
                let head = String::from_utf8(bytes[..at].to_vec()).unwrap();
                let length = head
                    .lines()
                    .find_map(|l| l.strip_prefix("Content-Length: "));
                let length: usize = length.map_or(0, |l| l.parse().unwrap());
                if bytes.len() >= at + 4 + length {
                    return (head, bytes.split_off(at + 4));
                }
            }
            let read = stream.read(&mut some).unwrap();
            assert!(read > 0, "the client left");
            bytes.extend_from_slice(&some[..read]);
        }
    }

    /// A loss that is made is counted, be it followed by as many edits of the same cell as there are.
    #[test]
    fn every_loss_that_is_made_is_seen_and_no_other() {
        for (loses_every, losses) in [(7, 80 / 7), (u64::MAX, 0)] {
            let lossy = Lossy {
                cells: BTreeMap::new(),
                edits: 0,
                loses_every,
            };
            let counts = crowd(&lossy.served(80), 20).unwrap();
            assert_eq!(counts.sums["edits acknowledged"], 80);
            assert_eq!(counts.sums["losses"], losses, "{:?}", counts.complaints);
        }
    }
}
