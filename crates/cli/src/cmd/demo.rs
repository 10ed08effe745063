//! `hardtack demo`: a folder with the demonstration study and its report.

use super::study;
use crate::args::{Demo, Report};
use crate::{End, files, tell};
use anyhow::Context;

/// The demonstration study: an invented bakery, invented data.
pub const STUDY: &str = include_str!("../../../../examples/spent-grain.toml");

/// Makes the folder unless it is there, then tells the report.
pub fn run(args: &Demo) -> anyhow::Result<End> {
    let folder = &args.folder;
    std::fs::create_dir_all(folder)
        .with_context(|| format!("cannot make the folder {}", folder.display()))?;
    let file = folder.join("spent-grain.toml");
    let html = folder.join("report.html");
    if args.force || !file.exists() {
        files::write(&file, STUDY, args.force)?;
    }
    let fresh = args.force || !html.exists();
    let report = Report {
        file: file.clone(),
        treatment: None,
        html: fresh.then(|| html.clone()),
        json: false,
        spread: None,
        seed: 1,
        force: args.force,
    };
    let end = study::report(&report)?;
    tell::out(&format!(
        "\nThe study is {}; change a number and run\n  hardtack study report {}\n",
        file.display(),
        file.display()
    ))?;
    if !fresh {
        tell::out(&format!(
            "{} was there before and stays; --force writes it anew.\n",
            html.display()
        ))?;
    }
    Ok(end)
}
