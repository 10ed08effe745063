//! What the guide shows is what the program says.

use crate::{root, run};

#[test]
fn every_line_shown_in_the_guide_is_printed() {
    let guide =
        std::fs::read_to_string(root().join("docs/using/which-analysis-and-why.md")).unwrap();
    let mut shown = 0;
    for block in guide.split("```text\n").skip(1) {
        let block = block.split("```").next().unwrap();
        let (command, lines) = block.split_once('\n').unwrap();
        let args: Vec<&str> = command
            .strip_prefix("$ hardtack ")
            .unwrap()
            .split(' ')
            .collect();
        let said = run(&args).said();
        let printed: Vec<&str> = said.lines().collect();
        for line in lines.lines().filter(|l| !l.is_empty()) {
            assert!(printed.contains(&line), "{command}\n{line}\n{said}");
            shown += 1;
        }
    }
    assert!(shown > 25);
}

#[test]
fn every_design_and_command_of_the_guide_exists() {
    let guide =
        std::fs::read_to_string(root().join("docs/using/which-analysis-and-why.md")).unwrap();
    let list = run(&["trial", "plan", "list", "--json"]).json();
    for design in list.as_array().unwrap() {
        let code = format!("`{}`", design["design"].as_str().unwrap());
        assert!(guide.contains(&code), "{code} is not in the guide");
    }
    let help = run(&["trial", "--help"]).out;
    for command in ["trend", "surface", "mixture", "twobowl", "ranking"] {
        assert!(guide.contains(&format!("`trial {command}`")) && help.contains(command));
    }
}
