//! The program opens the book on screen: without a command, on this computer only, and ends tidily.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

fn hardtack(words: &[&str], home: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hardtack"));
    command
        .args(words)
        .current_dir(home)
        .env("XDG_DATA_HOME", home)
        .env("HOME", home)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

/// Starts it and waits for the address that it tells: its host and port, and the whole of it.
fn started(words: &[&str], home: &Path) -> (Child, String, String) {
    let mut child = hardtack(words, home).spawn().unwrap();
    let lines = BufReader::new(child.stderr.take().unwrap()).lines();
    for line in lines.map_while(Result::ok) {
        if let Some((_, rest)) = line.split_once("http://") {
            let whole = rest.split_whitespace().next().unwrap().to_owned();
            let address = rest.split('/').next().unwrap().to_owned();
            return (child, address, whole);
        }
    }
    let ended = child.wait().unwrap();
    panic!("no address was told; it ended with {ended}");
}

fn asked(address: &str, path: &str, more: &str) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    let request =
        format!("GET {path} HTTP/1.1\r\nHost: {address}\r\n{more}Connection: close\r\n\r\n");
    stream.write_all(request.as_bytes()).unwrap();
    let mut text = String::new();
    stream.read_to_string(&mut text).unwrap();
    text
}

/// The page, as a browser gets it that was given the whole address.
fn page(address: &str, whole: &str, path: &str) -> String {
    let start = whole.strip_prefix(address).unwrap();
    let let_in = asked(address, start, "");
    let cookie = let_in
        .lines()
        .find_map(|line| line.strip_prefix("set-cookie: "))
        .unwrap_or_else(|| panic!("no cookie: {let_in}"));
    assert!(
        cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"),
        "{cookie}"
    );
    let cookie = cookie.split(';').next().unwrap();
    asked(address, path, &format!("Cookie: {cookie}\r\n"))
}

fn asked_to_stop(child: &mut Child) -> Duration {
    let pid = child.id().to_string();
    let since = Instant::now();
    let asked = Command::new("kill").args(["-TERM", &pid]).status().unwrap();
    assert!(asked.success());
    assert!(
        child.wait().unwrap().success(),
        "it ends as if all were well"
    );
    since.elapsed()
}

#[test]
fn without_a_command_the_book_opens_with_the_demonstration() {
    let home = tempfile::tempdir().unwrap();
    let (mut child, address, whole) = started(&["--no-browser"], home.path());
    let studies = page(&address, &whole, "/");
    assert!(studies.starts_with("HTTP/1.1 200"), "{studies}");
    assert!(studies.contains("Spent-grain bars"));
    // A second start tells the address of the first and ends.
    let (mut second, other, other_whole) = started(&["--no-browser"], home.path());
    assert_eq!((&address, &whole), (&other, &other_whole));
    assert!(second.wait().unwrap().success());
    asked_to_stop(&mut child);
    // And after that a start is a first one again.
    let (mut third, address, new) = started(&["--no-browser"], home.path());
    assert_ne!(whole, new, "the token is another one");
    assert!(page(&address, &new, "/").contains("Spent-grain bars"));
    asked_to_stop(&mut third);
    let mode = |path: &str| {
        use std::os::unix::fs::PermissionsExt;
        std::fs::metadata(home.path().join(path))
            .unwrap()
            .permissions()
            .mode()
            & 0o777
    };
    assert_eq!(
        (mode("hardtack"), mode("hardtack/hardtack.book")),
        (0o700, 0o600)
    );
}

/// Another person on this computer can reach the port, and no more.
#[test]
fn nobody_gets_in_without_the_address_that_was_told() {
    let home = tempfile::tempdir().unwrap();
    let (mut child, address, _) = started(&["--no-browser"], home.path());
    for (path, more) in [
        ("/", ""),
        ("/study/spent-grain-bars", ""),
        ("/?start=0123", ""),
        ("/", "Cookie: hardtack-1=x; hardtack=y\r\n"),
        ("/settings", "Authorization: Bearer 00\r\n"),
    ] {
        let told = asked(&address, path, more);
        assert!(told.starts_with("HTTP/1.1 403"), "{path}: {told}");
        assert!(!told.contains("Spent-grain"), "{told}");
    }
    asked_to_stop(&mut child);
    let log = std::fs::read_to_string(home.path().join("hardtack/hardtack.book.log")).unwrap();
    assert!(
        log.contains("403 GET") && !log.contains("spent-grain"),
        "{log}"
    );
}

/// The limit is the project's own: five seconds, whatever half-sent requests are open.
#[test]
fn it_stops_in_time_with_half_sent_requests_open() {
    let home = tempfile::tempdir().unwrap();
    let (mut child, address, whole) = started(&["--no-browser"], home.path());
    let mut open = Vec::new();
    for half in [
        "GET / HTTP/1.1\r\nHost: ".to_owned(),
        format!("POST /settings HTTP/1.1\r\nHost: {address}\r\nContent-Length: 500\r\n\r\nwho="),
        String::new(),
    ] {
        for _ in 0..130 {
            let mut stream = TcpStream::connect(&address).unwrap();
            stream.write_all(half.as_bytes()).unwrap();
            open.push(stream);
        }
    }
    // And nobody is locked out by them.
    assert!(page(&address, &whole, "/").starts_with("HTTP/1.1 200"));
    let took = asked_to_stop(&mut child);
    assert!(took < Duration::from_secs(5), "{took:?}");
    drop(open);
}

#[test]
fn asked_twice_it_ends_at_once() {
    let home = tempfile::tempdir().unwrap();
    let (mut child, address, _) = started(&["--no-browser"], home.path());
    let mut half = TcpStream::connect(&address).unwrap();
    half.write_all(b"GET / HTTP/1.1\r\n").unwrap();
    std::thread::sleep(Duration::from_millis(300));
    let pid = child.id().to_string();
    let interrupt = || Command::new("kill").args(["-INT", &pid]).status().unwrap();
    assert!(interrupt().success());
    std::thread::sleep(Duration::from_millis(200));
    let since = Instant::now();
    let _it_may_have_ended_already = interrupt();
    assert!(child.wait().unwrap().success());
    assert!(
        since.elapsed() < Duration::from_millis(1500),
        "{:?}",
        since.elapsed()
    );
}

#[test]
fn a_mistyped_book_is_not_made() {
    let home = tempfile::tempdir().unwrap();
    let output = hardtack(
        &["open", "--no-browser", "--book", "typo.book"],
        home.path(),
    )
    .output()
    .unwrap();
    assert_eq!(output.status.code(), Some(2));
    let told = String::from_utf8(output.stderr).unwrap();
    assert!(
        told.contains("none was made") && told.contains("--new"),
        "{told}"
    );
    assert_eq!(std::fs::read_dir(home.path()).unwrap().count(), 0);
    let words = ["open", "--print-address", "--new", "--book", "new.book"];
    let mut child = hardtack(&words, home.path()).spawn().unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap())
        .read_line(&mut line)
        .unwrap();
    assert!(
        line.starts_with("http://127.0.0.1:") && line.contains("/?start="),
        "{line}"
    );
    asked_to_stop(&mut child);
    assert!(home.path().join("new.book").is_file());
}

#[test]
fn an_address_outside_this_computer_is_refused_with_the_reason() {
    let home = tempfile::tempdir().unwrap();
    let words = ["--no-browser", "--listen", "0.0.0.0:0"];
    let output = hardtack(&words, home.path()).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    let told = String::from_utf8(output.stderr).unwrap();
    assert!(
        told.contains("no accounts yet") && told.contains("127.0.0.1"),
        "{told}"
    );
    assert!(std::fs::read_dir(home.path()).unwrap().next().is_none());
}

#[test]
fn options_of_the_screens_do_not_go_with_a_command() {
    let home = tempfile::tempdir().unwrap();
    let words = ["--book", "a.book", "material", "list"];
    let output = hardtack(&words, home.path()).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
}
