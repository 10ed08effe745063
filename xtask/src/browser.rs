//! What the browser tests need: a browser, its driver, and the checker of accessibility.

use crate::root;
use anyhow::{Context, Result, bail};
use std::path::Path;
use std::process::Command;

/// The checker of accessibility, for tests only; a new version may find new faults.
const CHECKER: (&str, &str) = ("axe-core", "4.14.1");

/// Programs, and the Debian packages that bring them.
const PROGRAMS: [(&str, &str); 3] = [
    ("chromium", "chromium"),
    ("chromedriver", "chromium-driver"),
    ("npm", "npm"),
];

/// Makes sure that everything is there.
pub fn set_up() -> Result<()> {
    let checker = root().join("target").join(CHECKER.0);
    let packed = format!("{}-{}.tgz", CHECKER.0, CHECKER.1);
    let fetched = checker.join(&packed).is_file() && checker.join("package/axe.min.js").is_file();
    let missing: Vec<&str> = PROGRAMS
        .iter()
        .filter(|(program, _)| !(there(program) || fetched && *program == "npm"))
        .map(|(_, package)| *package)
        .collect();
    if !missing.is_empty() {
        install(&missing)?;
    }
    if !fetched {
        println!("== fetching {} {}", CHECKER.0, CHECKER.1);
        fetch(&checker, &packed)?;
    }
    Ok(())
}

fn there(program: &str) -> bool {
    let dirs = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&dirs).any(|dir| dir.join(program).is_file())
}

fn install(packages: &[&str]) -> Result<()> {
    let names = packages.join(" ");
    let by_hand = format!(
        "the browser tests need {names}; install them, e.g. as root: apt-get update && apt-get install {names}"
    );
    let root_id = Command::new("id").arg("-u").output();
    let is_root = root_id.is_ok_and(|out| out.stdout.trim_ascii() == b"0");
    if !is_root || !there("apt-get") {
        bail!("{by_hand}");
    }
    println!("== installing {names}");
    let apt = |args: &[&str]| {
        let mut command = Command::new("apt-get");
        command
            .args(args)
            .arg("-qq")
            .env("DEBIAN_FRONTEND", "noninteractive");
        done(&mut command).context(by_hand.clone())
    };
    apt(&["update"])?;
    // With what they recommend: without fonts no page looks as it should.
    apt(&[&["install", "-y"], packages].concat())
}

fn fetch(to: &Path, packed: &str) -> Result<()> {
    std::fs::create_dir_all(to).with_context(|| format!("cannot make {}", to.display()))?;
    let wanted = format!("{}@{}", CHECKER.0, CHECKER.1);
    let help = format!("{wanted} can't be fetched; the browser tests need it and the npm registry");
    let mut pack = Command::new("npm");
    pack.args(["pack", "--silent", &wanted]).current_dir(to);
    done(&mut pack).context(help)?;
    let mut unpack = Command::new("tar");
    unpack.args(["-xzf", packed]).current_dir(to);
    done(&mut unpack).with_context(|| format!("{packed} can't be unpacked"))
}

fn done(command: &mut Command) -> Result<()> {
    let status = command.status();
    let status = status.with_context(|| format!("cannot start {command:?}"))?;
    if !status.success() {
        bail!("{command:?} failed");
    }
    Ok(())
}
