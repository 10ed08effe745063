//! The glossary: every word with its meaning, unit and source, in the order of the alphabet.
//!
//! Knows the page's table. Must not know any word.

use crate::root;
use anyhow::{Context, Result};

/// What is wrong with docs/glossary.md.
pub fn check(wrong: &mut Vec<String>) -> Result<()> {
    let path = root().join("docs/glossary.md");
    let text = std::fs::read_to_string(&path).context("cannot read docs/glossary.md")?;
    rows(&text, wrong);
    Ok(())
}

fn rows(text: &str, wrong: &mut Vec<String>) {
    let mut before = String::new();
    for line in text.lines().filter(|l| l.starts_with("| ")).skip(1) {
        let cells: Vec<&str> = line.trim_matches('|').split(" | ").map(str::trim).collect();
        if cells.len() != 4 || cells.iter().any(|c| c.is_empty()) {
            wrong.push(format!(
                "docs/glossary.md: `{line}` needs word, meaning, unit (– for none) and source"
            ));
            continue;
        }
        let key: String = cells[0]
            .to_lowercase()
            .chars()
            .filter(|c| c.is_alphanumeric() || *c == ' ')
            .collect();
        if key <= before {
            wrong.push(format!(
                "docs/glossary.md: `{}` isn't in the order of the alphabet, or stands there twice",
                cells[0]
            ));
        }
        before = key;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn order_doubles_and_empty_cells_are_told() {
        let head = "| word | what | unit | source |\n|---|---|---|---|\n";
        let told = |rows_: &str| {
            let mut wrong = Vec::new();
            rows(&format!("{head}{rows_}"), &mut wrong);
            wrong.len()
        };
        assert_eq!(told("| a | b | – | c |\n| b | b | m | c |\n"), 0);
        assert_eq!(told("| b | b | – | c |\n| a | b | m | c |\n"), 1);
        assert_eq!(told("| a | b | – | c |\n| a | b | m | c |\n"), 1);
        assert_eq!(told("| a | b |  | c |\n"), 1);
    }
}
