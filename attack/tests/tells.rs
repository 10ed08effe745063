//! The attack tells how it is used, and refuses what it doesn't know.
#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use std::process::Command;

#[test]
fn parts_are_told_and_others_refused() {
    let attack = || Command::new(env!("CARGO_BIN_EXE_attack"));
    let told = attack().arg("--help").output().unwrap();
    assert!(told.status.success());
    let told = String::from_utf8(told.stdout).unwrap();
    for part in [
        "kills", "flips", "edits", "disk", "routes", "inputs", "numbers", "people", "large",
    ] {
        assert!(told.contains(part), "{part}");
    }
    assert!(!attack().arg("songs").status().unwrap().success());
    assert!(
        !attack()
            .args(["kills", "--times", "many"])
            .status()
            .unwrap()
            .success()
    );
}
