//! The screens on a grown book: 200 studies and 20,000 revisions, served by the program itself over loopback.
//!
//! Tells the time from the start of the process to the first page, the server's time for lists and sheet, 100
//! requests at once, bytes over the wire, the size of the program and the memory it holds. Bounded: it ends by itself.
//!
//! `cargo bench -p hardtack --bench open`

#![allow(clippy::print_stdout, reason = "the table is what this program is for")]
#![allow(
    clippy::unwrap_used,
    reason = "a measurement that can't go on may fail"
)]

use book::{Book, Kind, Save};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

const STUDIES: usize = 200;
const REVISIONS: usize = 20_000;

/// A book with that many studies and revisions; every revision changes one number of its study.
async fn grow(path: &Path) {
    let app = app::App::open(path).await.unwrap();
    drop(app);
    let book = Book::open(path, false).await.unwrap();
    let study = |i: usize, revision: usize| {
        let name = format!("name = \"Invented study {i}\"");
        let text = app::DEMONSTRATION.replacen("name = \"Spent-grain bars\"", &name, 1);
        format!("{text}\n# revision {revision}\n")
    };
    let mut base = vec![None; STUDIES];
    for round in 0..REVISIONS / STUDIES {
        let saves = (0..STUDIES).map(|i| Save {
            kind: Kind::Study,
            thing: format!("invented-{i}"),
            base: base[i],
            who: "Baker".to_owned(),
            when: format!("2026-11-{:02}T{:02}:00:00Z", 1 + round % 28, round % 24),
            why: Some("another water".to_owned()),
            title: format!("Invented study {i}"),
            form_version: app::FORM_VERSION,
            form: study(i, round),
        });
        let saved = book.save_all(saves.collect()).await.unwrap();
        for (base, revision) in base.iter_mut().zip(saved) {
            *base = Some(revision.entry.number);
        }
    }
    book.close().await;
}

/// What lets a request in.
static TOKEN: std::sync::OnceLock<String> = std::sync::OnceLock::new();

/// The program over a book, and where it listens.
struct Server {
    child: Child,
    address: SocketAddr,
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn start(book: &Path) -> Server {
    let mut child = Command::new(env!("CARGO_BIN_EXE_hardtack"))
        .args(["open", "--no-browser", "--listen", "127.0.0.1:0", "--book"])
        .arg(book)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // The address is told on either stream.
    let (out, err) = (child.stdout.take().unwrap(), child.stderr.take().unwrap());
    let (told, heard) = std::sync::mpsc::channel();
    for stream in [Box::new(out) as Box<dyn Read + Send>, Box::new(err)] {
        let told = told.clone();
        std::thread::spawn(move || {
            for line in BufReader::new(stream).lines().map_while(Result::ok) {
                if let Some((_, rest)) = line.split_once("http://") {
                    let address = rest.split('/').next().and_then(|a| a.parse().ok());
                    let shown = rest.split_once("start=").map(|(_, shown)| shown);
                    let token = shown.and_then(|shown| shown.split_whitespace().next());
                    let _ = TOKEN.set(token.unwrap_or_default().to_owned());
                    let _ = told.send(address);
                }
            }
        });
    }
    let address = heard.recv_timeout(Duration::from_secs(20)).unwrap();
    Server {
        child,
        address: address.unwrap(),
    }
}

/// Fetches a page; its status line, its bytes over the wire and the seconds it took.
fn get(address: SocketAddr, path: &str) -> (String, usize, f64) {
    let begin = Instant::now();
    let mut stream = TcpStream::connect(address).unwrap();
    stream
        .set_read_timeout(Some(Duration::from_secs(20)))
        .unwrap();
    let token = TOKEN.get().map_or("", String::as_str);
    let request = format!(
        "GET {path} HTTP/1.1\r\nHost: {address}\r\nAuthorization: Bearer {token}\r\nAccept: text/html\r\nAccept-Encoding: gzip\r\nConnection: close\r\n\r\n"
    );
    stream.write_all(request.as_bytes()).unwrap();
    let mut bytes = Vec::new();
    stream.read_to_end(&mut bytes).unwrap();
    let head = String::from_utf8_lossy(&bytes[..bytes.len().min(64)]).into_owned();
    let status = head.lines().next().unwrap_or_default().to_owned();
    (status, bytes.len(), begin.elapsed().as_secs_f64())
}

fn quantile(values: &mut [f64], share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values[((values.len() - 1) as f64 * share).round() as usize]
}

fn resident_mb(pid: u32) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{pid}/status")).unwrap_or_default();
    let row = |name: &str| {
        let line = status.lines().find(|l| l.starts_with(name))?;
        line.split_whitespace().nth(1)?.parse::<f64>().ok()
    };
    row("VmHWM:").unwrap_or(f64::NAN) / 1024.0
}

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("grown.book");
    let begin = Instant::now();
    tokio::runtime::Runtime::new()
        .unwrap()
        .block_on(grow(&path));
    let megabytes = std::fs::metadata(&path).unwrap().len() as f64 / 1e6;
    println!(
        "book of {STUDIES} studies and {REVISIONS} revisions: {megabytes:.0} MB, made in {:.0} s",
        begin.elapsed().as_secs_f64()
    );

    let mut firsts: Vec<f64> = (0..7)
        .map(|_| {
            let begin = Instant::now();
            let server = start(&path);
            let (status, ..) = get(server.address, "/");
            assert!(status.contains("200"), "{status}");
            1e3 * begin.elapsed().as_secs_f64()
        })
        .collect();
    println!(
        "first page from process start: median {:.0} ms, most {:.0} ms",
        quantile(&mut firsts, 0.5),
        quantile(&mut firsts, 1.0)
    );

    let server = start(&path);
    let sheet = "/study/spent-grain-bars";
    for page in [
        "/",
        "/study/invented-7/history",
        sheet,
        "/study/spent-grain-bars/bake",
        "/study/spent-grain-bars/line",
        "/study/spent-grain-bars/label",
        "/materials",
    ] {
        let (status, bytes, first) = get(server.address, page);
        assert!(status.contains("200"), "{page}: {status}");
        let mut times: Vec<f64> = (0..15).map(|_| 1e3 * get(server.address, page).2).collect();
        println!(
            "{page}: first {:.0} ms, then median {:.1} ms, most {:.1} ms; {:.0} kB over the wire",
            1e3 * first,
            quantile(&mut times, 0.5),
            quantile(&mut times, 1.0),
            bytes as f64 / 1e3
        );
    }

    let address = server.address;
    let askers: Vec<_> = (0..100)
        .map(|_| std::thread::spawn(move || get(address, sheet)))
        .collect();
    let answers: Vec<_> = askers.into_iter().map(|a| a.join().unwrap()).collect();
    let failed = answers.iter().filter(|a| !a.0.contains("200")).count();
    let mut times: Vec<f64> = answers.iter().map(|a| 1e3 * a.2).collect();
    println!(
        "100 at once on the sheet: {failed} failed, median {:.0} ms, p99 {:.0} ms",
        quantile(&mut times, 0.5),
        quantile(&mut times, 0.99)
    );
    println!(
        "memory held at most: {:.0} MB; program: {:.1} MB",
        resident_mb(server.child.id()),
        std::fs::metadata(env!("CARGO_BIN_EXE_hardtack"))
            .unwrap()
            .len() as f64
            / 1e6
    );
}
