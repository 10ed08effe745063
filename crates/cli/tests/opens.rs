//! The program opens the book on screen: without a command, on this computer only, and ends tidily.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};

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

/// Starts it and waits for the address that it tells.
fn started(words: &[&str], home: &Path) -> (Child, String) {
    let mut child = hardtack(words, home).spawn().unwrap();
    let lines = BufReader::new(child.stderr.take().unwrap()).lines();
    for line in lines.map_while(Result::ok) {
        if let Some((_, rest)) = line.split_once("http://") {
            let address = rest.split('/').next().unwrap().to_owned();
            return (child, address);
        }
    }
    let ended = child.wait().unwrap();
    panic!("no address was told; it ended with {ended}");
}

fn page(address: &str, path: &str) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    let request = format!("GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n");
    stream.write_all(request.as_bytes()).unwrap();
    let mut text = String::new();
    stream.read_to_string(&mut text).unwrap();
    text
}

#[test]
fn without_a_command_the_book_opens_with_the_demonstration() {
    let home = tempfile::tempdir().unwrap();
    let (mut child, address) = started(&["--no-browser"], home.path());
    let studies = page(&address, "/");
    assert!(studies.starts_with("HTTP/1.1 200"), "{studies}");
    assert!(studies.contains("Spent-grain bars"));
    // A second copy takes another port and the same book.
    let (mut second, other) = started(&["--no-browser"], home.path());
    assert_ne!(address, other);
    assert!(page(&other, "/").contains("Spent-grain bars"));
    for child in [&mut child, &mut second] {
        let pid = child.id().to_string();
        let asked = Command::new("kill").args(["-TERM", &pid]).status().unwrap();
        assert!(asked.success());
        assert!(
            child.wait().unwrap().success(),
            "it ends as if all were well"
        );
    }
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
