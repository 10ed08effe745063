//! The commands, one file per noun.

pub mod after;
mod bake;
mod batch;
pub mod bench;
mod book;
mod demo;
mod find;
mod instrument;
pub mod learn;
mod material;
mod measure;
mod observe;
mod open;
pub mod oven;
pub mod piece;
pub mod solid;
mod study;
pub mod terminal;
mod trial;
mod why;

use crate::End;
use crate::args::{Cli, Command};

/// Does what was asked.
pub fn run(cli: Cli) -> anyhow::Result<End> {
    match cli.command {
        None => open::run(cli.open),
        Some(Command::Demo(args)) => demo::run(&args),
        Some(Command::Open(args)) => open::run(args),
        Some(Command::Study(args)) => study::run(args),
        Some(Command::Bake(args)) => bake::run(args),
        Some(Command::Oven(args)) => oven::run(args),
        Some(Command::Learn(args)) => learn::run(args),
        Some(Command::Next(args)) => learn::next(&args),
        Some(Command::Piece(args)) => piece::run(&args),
        Some(Command::After(args)) => after::run(&args),
        Some(Command::Material(args)) => material::run(args),
        Some(Command::Trial(args)) => trial::run(args),
        Some(Command::Bench(args)) => bench::run(args),
        Some(Command::Observe(args)) => observe::run(&args),
        Some(Command::Measure(args)) => measure::run(args),
        Some(Command::Book(args)) => book::run(args),
        Some(Command::Terminal(args)) => terminal::run(&args),
    }
}
