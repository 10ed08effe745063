//! Reads check files and prints for every check what was expected and what the product says.
//!
//! A file is a JSON list of checks (`id`, `topic`, `inputs`, `expected`, `tolerance`), or one about the movement of water
//! with pairs, diffusivities and reference solutions. A check that nothing here can answer is a failure, not a skip.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a program that prints"
)]

use std::process::ExitCode;

fn main() -> ExitCode {
    let files: Vec<String> = std::env::args().skip(1).collect();
    if files.is_empty() {
        eprintln!("name one check file or more");
        return ExitCode::from(2);
    }
    let mut failed = 0;
    for file in &files {
        let answered = std::fs::read_to_string(file)
            .map_err(|e| e.to_string())
            .and_then(|text| validation::checks::run(&text));
        let answered = match answered {
            Ok(answered) => answered,
            Err(why) => {
                eprintln!("{file}: {why}");
                return ExitCode::from(2);
            }
        };
        for a in &answered {
            println!(
                "{}\t{}\t{}\t{}\t{}",
                if a.passed { "pass" } else { "FAIL" },
                a.topic,
                a.id,
                a.expected,
                a.got
            );
        }
        let passed = answered.iter().filter(|a| a.passed).count();
        println!("{file}: {passed} of {} pass", answered.len());
        failed += answered.len() - passed;
    }
    if failed == 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
