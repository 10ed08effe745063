//! What a person does, in a real browser: every test is a whole way through the pages.
//!
//! Each starts a server with a book of its own, a driver and a browser without a window, and ends
//! them. It waits until what it looks for is there, and never for a fixed time.
//! `cargo xtask test` installs the browser and the checker of accessibility where they are missing.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a test may fail by panicking and tells what it measured"
)]

mod answers;
mod bake;
mod bench_day;
mod bench_kept;
mod desk;
mod first_hour;
mod hostile;
mod jobs;
mod line;
mod looks;
mod materials;
mod measure;
mod piece_after;
mod record;
mod sheet;
mod speed;
mod units;
mod waits;
mod whole;
