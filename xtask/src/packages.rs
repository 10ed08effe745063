//! What comes from outside for tests and checks alone: programs of the system, and packages of the npm registry, each of
//! one version with one hash.

use crate::root;
use anyhow::{Context, Result, bail};
use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};
use std::process::Command;

/// A program, and the Debian package that brings it.
pub type Program = (&'static str, &'static str);

pub const NPM: Program = ("npm", "npm");
pub const NODE: Program = ("node", "nodejs");

/// A package of the npm registry.
pub struct Package {
    pub name: &'static str,
    pub version: &'static str,
    /// SHA-256 of the file that the registry gives.
    pub sha256: &'static str,
    /// The file in it that is used.
    pub file: &'static str,
}

impl Package {
    fn folder(&self) -> PathBuf {
        root().join("target").join(self.name)
    }

    fn packed(&self) -> String {
        format!("{}-{}.tgz", self.name, self.version)
    }

    /// Where the file that is used lies once it is fetched.
    pub fn place(&self) -> PathBuf {
        self.folder().join("package").join(self.file)
    }

    /// Whether it lies in `target/` already.
    pub fn is_fetched(&self) -> bool {
        self.folder().join(self.packed()).is_file() && self.place().is_file()
    }

    /// Brings it into `target/` where it isn't; needs npm.
    pub fn fetch(&self) -> Result<()> {
        if self.is_fetched() {
            return Ok(());
        }
        let (to, wanted) = (self.folder(), format!("{}@{}", self.name, self.version));
        println!("== fetching {wanted}");
        std::fs::create_dir_all(&to).with_context(|| format!("cannot make {}", to.display()))?;
        let mut pack = Command::new("npm");
        pack.args(["pack", "--silent", &wanted]).current_dir(&to);
        done(&mut pack)
            .with_context(|| format!("{wanted} can't be fetched; it needs the npm registry"))?;
        let packed = to.join(self.packed());
        self.compare(&packed)?;
        let mut unpack = Command::new("tar");
        unpack.arg("-xzf").arg(&packed).current_dir(&to);
        done(&mut unpack).with_context(|| format!("{} can't be unpacked", packed.display()))
    }

    /// Another content under the same version is refused, and goes.
    fn compare(&self, packed: &Path) -> Result<()> {
        let content =
            std::fs::read(packed).with_context(|| format!("cannot read {}", packed.display()))?;
        let found: String = Sha256::digest(content)
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect();
        if found != self.sha256 {
            std::fs::remove_file(packed)?;
            bail!(
                "{} has the hash {found}, where {} is written down",
                packed.display(),
                self.sha256
            );
        }
        Ok(())
    }
}

/// Makes sure that programs are there; installs those that aren't where that can be done.
pub fn have(programs: &[Program]) -> Result<()> {
    let missing: Vec<&str> = programs
        .iter()
        .filter(|(program, _)| !there(program))
        .map(|(_, package)| *package)
        .collect();
    if missing.is_empty() {
        Ok(())
    } else {
        install(&missing)
    }
}

fn there(program: &str) -> bool {
    let dirs = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&dirs).any(|dir| dir.join(program).is_file())
}

fn install(packages: &[&str]) -> Result<()> {
    let names = packages.join(" ");
    let by_hand = format!(
        "{names} must be installed, e.g. as root: apt-get update && apt-get install {names}"
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

fn done(command: &mut Command) -> Result<()> {
    let status = command.status();
    let status = status.with_context(|| format!("cannot start {command:?}"))?;
    if !status.success() {
        bail!("{command:?} failed");
    }
    Ok(())
}
