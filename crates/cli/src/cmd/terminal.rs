//! `hardtack terminal`: what a shell and the manual know of the commands, from the commands themselves.

use crate::{End, examples, files, tell};
use anyhow::Context;
use clap::{Subcommand, ValueEnum};
use clap_complete::Shell;
use std::path::PathBuf;

/// What a terminal can know.
#[derive(Debug, Subcommand)]
pub enum Terminal {
    /// Write on standard output what a shell needs to complete commands and options.
    Completions {
        /// The shell; what comes out goes where that shell looks for completions.
        #[arg(value_name = "SHELL")]
        shell: Shelled,
    },
    /// Write a page of the manual for every command into a folder.
    Manual {
        /// Folder to write into, such as ~/.local/share/man/man1.
        folder: PathBuf,
        /// Overwrite existing pages.
        #[arg(long)]
        force: bool,
    },
}

/// Shells that complete.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Shelled {
    /// Bash.
    Bash,
    /// Zsh.
    Zsh,
    /// Fish.
    Fish,
    /// Elvish.
    Elvish,
    /// PowerShell.
    Powershell,
}

impl Shelled {
    const fn named(self) -> Shell {
        match self {
            Self::Bash => Shell::Bash,
            Self::Zsh => Shell::Zsh,
            Self::Fish => Shell::Fish,
            Self::Elvish => Shell::Elvish,
            Self::Powershell => Shell::PowerShell,
        }
    }
}

/// Does what was asked.
pub fn run(args: &Terminal) -> anyhow::Result<End> {
    let mut command = examples::command();
    match args {
        Terminal::Completions { shell } => {
            let mut text = Vec::new();
            clap_complete::generate(shell.named(), &mut command, "hardtack", &mut text);
            tell::out(&String::from_utf8(text)?)?;
        }
        Terminal::Manual { folder, force } => {
            command.build();
            std::fs::create_dir_all(folder)
                .with_context(|| format!("the folder {} can\u{2019}t be made", folder.display()))?;
            let mut pages = Vec::new();
            all(&command, "hardtack", &mut pages)?;
            for (name, page) in &pages {
                files::write(&folder.join(format!("{name}.1")), page, *force)?;
            }
            tell::out(&format!(
                "{} pages are in {}; begin with hardtack.1.\n",
                pages.len(),
                folder.display()
            ))?;
        }
    }
    Ok(End::Fine)
}

/// The page of a command and of all below it, by name.
fn all(
    command: &clap::Command,
    name: &str,
    pages: &mut Vec<(String, String)>,
) -> anyhow::Result<()> {
    let mut page = Vec::new();
    clap_mangen::Man::new(command.clone()).render(&mut page)?;
    pages.push((name.to_owned(), String::from_utf8(page)?));
    for below in command.get_subcommands().filter(|c| c.get_name() != "help") {
        all(below, &format!("{name}-{}", below.get_name()), pages)?;
    }
    Ok(())
}
