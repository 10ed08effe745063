//! An example at the end of every command's help.

use crate::args::Cli;
use clap::{Command, CommandFactory};

/// Each command with what may be typed after it.
#[rustfmt::skip] // a table reads best as a table
const EXAMPLES: [(&str, &str); 61] = [
    ("demo", "hardtack-demo"),
    ("open", "--book trials.book --new"),
    ("study check", "spent-grain.toml"),
    ("study report", "spent-grain.toml --html report.html --spread 200"),
    ("study why", "spent-grain.toml bake --treatment barley"),
    ("study curve", "spent-grain.toml --treatment barley"),
    ("study batch", "spent-grain.toml --pieces 500 --loss-pct 3"),
    ("study schema", "--report --markdown"),
    ("bake run", "spent-grain.toml --treatment barley --csv bake.csv"),
    ("bake case", "case.json"),
    ("bake solid", "spent-grain.toml --preview"),
    ("oven fit", "oven-pulls.csv --study spent-grain.toml --out oven.fit.toml"),
    ("oven show", "oven.fit.toml"),
    ("oven compare", "oven-pulls.csv --study spent-grain.toml --fit oven.fit.toml"),
    ("oven take-up", "oven.fit.toml --study spent-grain.toml --out own.toml"),
    ("learn water", "spent-grain-bars"),
    ("learn release", "spent-grain-bars"),
    ("learn response", "spent-grain-bars --response breaking_force_n"),
    ("next", "spent-grain-bars --response breaking_force_n --batches 3"),
    ("piece", "spent-grain.toml"),
    ("after", "spent-grain.toml --changes"),
    ("material list", "flour"),
    ("material show", "barley_flour"),
    ("trial plan", "blocks --treatments control,barley --blocks 6 --seed 7"),
    ("trial power", "blocks --treatments 4 --difference 8 --between-sd 3 --within-sd 7 --pieces 8"),
    ("trial analyse", "bite.csv --response breaking_force_n --control control"),
    ("trial trend", "bite.csv --response breaking_force_n --along water"),
    ("trial surface", "oven.csv --response colour --variables minutes,degrees"),
    ("trial mixture", "flours.csv --response breaking_force_n --parts barley,rice,chickpea"),
    ("trial keeping", "store.csv --response water_activity --along month --limit 0.5 --side upper"),
    ("trial looks", "--looks 3"),
    ("trial several", "bite.csv --responses breaking_force_n,colour"),
    ("trial twobowl", "two-bowl.csv"),
    ("trial ranking", "ranks.csv --dog dog"),
    ("trial minimum", "12 24"),
    ("bench list", "--trial bite"),
    ("bench show", "bite-b01"),
    ("bench went", "spent_grain SG-114"),
    ("bench new", "spent-grain-bars barley --pieces 40"),
    ("bench enter", "bite-b01 observed 62.5 --of breaking_force_n --on piece=3"),
    ("bench export", "--trial bite --response breaking_force_n --csv bite.csv"),
    ("bench readings", "bite --treatment barley --csv pulls.csv"),
    ("bench probes", "tuesday.csv --trial bite --probe core=B03:4 --entered 0:02:00 --left 0:16:30"),
    ("bench bend", "b03.csv --trial bite --batch B03 --span-mm 40 --width-mm 20 --thickness-mm 8"),
    ("observe", "bite.csv --trial bite"),
    ("measure farinograph", "--moisture-pct 13.4 --absorption-pct 57.2"),
    ("measure src", "--gel-g 8.9 --flour-g 5 --moisture-pct 13.4"),
    ("measure whc", "--sample-g 2 --sediment-g 5.3"),
    ("measure bend", "--force-n 42 --span-mm 40 --width-mm 25 --thickness-mm 8"),
    ("measure colour", "--first 62,8,28 --second 58,9,27"),
    ("measure moisture", "--dish 20.11,25.13,24.72"),
    ("measure spread", "--width-mm 46.2 --thickness-mm 9.1"),
    ("measure sampling", "--lot 2000 --limit-pct 1"),
    ("measure net-content", "--rule eu --label-g 400 --net-g 402,399,404"),
    ("book verify", "--book trials.book"),
    ("book backup", "copy.book --book trials.book"),
    ("book restore", "copy.book --book trials.book"),
    ("book info", "--book trials.book"),
    ("book moved", "--book trials.book"),
    ("terminal completions", "bash"),
    ("terminal manual", "man1"),
];

/// The command line with an example at the end of every help.
pub fn command() -> Command {
    with_examples(Cli::command(), "")
}

fn with_examples(command: Command, path: &str) -> Command {
    let names: Vec<String> = command
        .get_subcommands()
        .map(|c| c.get_name().to_owned())
        .collect();
    let command = names.iter().fold(command, |command, name| {
        let path = format!("{path} {name}");
        command.mut_subcommand(name, |c| with_examples(c, path.trim()))
    });
    match example(path) {
        Some(after) => command.after_help(format!("Example: hardtack {path} {after}")),
        None => command,
    }
}

fn example(path: &str) -> Option<&'static str> {
    EXAMPLES
        .iter()
        .find(|(of, _)| *of == path)
        .map(|(_, after)| *after)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn leaves(command: &Command, path: &str, found: &mut Vec<String>) {
        let mut below = command.get_subcommands().peekable();
        if below.peek().is_none() && !path.is_empty() {
            found.push(path.to_owned());
        }
        for sub in below {
            leaves(sub, format!("{path} {}", sub.get_name()).trim(), found);
        }
    }

    /// Every command has an example, and each can be read.
    #[test]
    fn every_command_ends_its_help_with_an_example_that_reads() {
        let mut found = Vec::new();
        leaves(&command(), "", &mut found);
        assert!(found.len() > 30, "{found:?}");
        for path in &found {
            let told = example(path);
            let Some(after) = told else {
                panic!("{path} has no example")
            };
            let line = format!("hardtack {path} {after}");
            let read = command().try_get_matches_from(line.split_whitespace());
            assert!(read.is_ok(), "{line}: {}", read.unwrap_err());
        }
        for (path, _) in EXAMPLES {
            assert!(
                found.iter().any(|f| f == path),
                "no command is called {path}"
            );
        }
    }
}
