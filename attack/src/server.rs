//! The program as a server in a process of its own, and the plainest client there is.

use crate::record::Counts;
use anyhow::{Context, Result, bail};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Longest that an answer may take before it counts as a hang; an unoptimised build on a busy machine has more.
pub const HANG: Duration = Duration::from_secs(if cfg!(debug_assertions) { 20 } else { 5 });
/// Most memory that the server may take, MB.
const MOST_MB: u64 = 500;
/// The demonstration's lasting name.
pub const BARS: &str = "spent-grain-bars";

/// A running server; killed when dropped.
pub struct Server {
    child: Child,
    /// Host and port.
    pub address: String,
    token: String,
}

/// An answer.
#[derive(Debug)]
pub struct Answer {
    /// The status.
    pub status: u16,
    /// The body.
    pub text: String,
    /// How long it took.
    pub took: Duration,
}

/// The program, which stands beside this one.
pub fn program() -> Result<PathBuf> {
    let here = std::env::current_exe()?;
    let beside = here.with_file_name(format!("hardtack{}", std::env::consts::EXE_SUFFIX));
    if !beside.is_file() {
        bail!(
            "{} isn't built; run `cargo build --workspace --bins`",
            beside.display()
        );
    }
    Ok(beside)
}

impl Server {
    /// Starts it on a book of its own, on any free port.
    pub fn start(book: &Path) -> Result<Self> {
        let mut child = Command::new(program()?)
            .args([
                "open",
                "--print-address",
                "--new",
                "--listen",
                "127.0.0.1:0",
                "--book",
            ])
            .arg(book)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()?;
        let out = child.stdout.take().context("its output")?;
        let mut line = String::new();
        BufReader::new(out).read_line(&mut line)?;
        let rest = line
            .trim()
            .strip_prefix("http://")
            .with_context(|| format!("no address but {line:?}"))?;
        let (address, token) = rest.split_once("/?start=").context("no token")?;
        Ok(Self {
            address: address.to_owned(),
            token: token.to_owned(),
            child,
        })
    }

    /// Whether it still runs.
    pub fn lives(&mut self) -> bool {
        matches!(self.child.try_wait(), Ok(None))
    }

    /// Memory that it takes now, MB; none where the system doesn't tell.
    pub fn megabytes(&self) -> Option<u64> {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).ok()?;
        let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"))?;
        Some(line.trim().trim_end_matches(" kB").parse::<u64>().ok()? / 1000)
    }

    /// Looks at the server for the last time: it has to be there, and not too large.
    pub fn withstood(mut self, counts: &mut Counts) {
        if !self.lives() {
            counts.complain("ends", "the server ended");
        }
        if let Some(megabytes) = self.megabytes() {
            counts.worst("server MB", megabytes);
            if megabytes > MOST_MB {
                counts.complain("too large", format!("the server took {megabytes} MB"));
            }
        }
        self.kill();
    }

    /// Ends it without a warning.
    pub fn kill(mut self) {
        let _it_may_have_ended = self.child.kill();
        let _reaped = self.child.wait();
    }

    /// A client of it.
    pub fn client(&self) -> Client {
        Client::of(&self.address, &self.token)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _it_may_have_ended = self.child.kill();
        let _reaped = self.child.wait();
    }
}

/// Asks a server.
#[derive(Clone)]
pub struct Client {
    address: String,
    token: String,
}

impl Client {
    /// A client of what answers at an address.
    pub fn of(address: &str, token: &str) -> Self {
        Self {
            address: address.to_owned(),
            token: token.to_owned(),
        }
    }

    /// One request on a connection of its own.
    pub fn ask(&self, method: &str, path: &str, kind: &str, body: &[u8]) -> Result<Answer> {
        let began = Instant::now();
        let mut stream = TcpStream::connect(&self.address)?;
        stream.set_read_timeout(Some(6 * HANG))?;
        let head = format!(
            "{method} {path} HTTP/1.1\r\nHost: {}\r\nAuthorization: Bearer {}\r\nAccept: application/json\r\n\
             Content-Type: {kind}\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
            self.address,
            self.token,
            body.len()
        );
        stream.write_all(head.as_bytes())?;
        stream.write_all(body)?;
        let mut bytes = Vec::new();
        stream.read_to_end(&mut bytes)?;
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let status = text
            .split(' ')
            .nth(1)
            .and_then(|s| s.parse().ok())
            .with_context(|| format!("no status in {:?}", text.get(..60)))?;
        Ok(Answer {
            status,
            text,
            took: began.elapsed(),
        })
    }

    /// A page as JSON.
    pub fn get(&self, path: &str) -> Result<Answer> {
        self.ask("GET", path, "text/plain", b"")
    }

    /// JSON sent.
    pub fn send(&self, path: &str, value: &serde_json::Value) -> Result<Answer> {
        let body = serde_json::to_vec(value)?;
        self.ask("POST", path, "application/json", &body)
    }
}

impl Answer {
    /// The body as JSON.
    pub fn json(&self) -> Result<serde_json::Value> {
        let body = self
            .text
            .split_once("\r\n\r\n")
            .map_or("", |(_, body)| body);
        // Long answers come in chunks, each with its length on a line of its own.
        let whole = if self.text.contains("transfer-encoding: chunked") {
            let mut rest = body;
            let mut whole = String::new();
            while let Some((length, after)) = rest.split_once("\r\n") {
                let length = usize::from_str_radix(length.trim(), 16)?;
                if length == 0 {
                    break;
                }
                whole.push_str(after.get(..length).context("a chunk")?);
                rest = after.get(length + 2..).unwrap_or_default();
            }
            whole
        } else {
            body.to_owned()
        };
        Ok(serde_json::from_str(&whole)?)
    }
}
