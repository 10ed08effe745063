//! A list of materials with their amounts, as it stands in a spreadsheet, a text or a message: each name is matched to
//! a material, and one that isn't certain shows what it may mean, to be chosen before anything is taken.

use super::frame::{CellKind, Frame};
use super::names::{called, candidates, certain, unknown};
use super::paste::{MOST_COLUMNS, MOST_ROWS, Reading, cells, ways};
use book::exchange::Decimal;
use maud::{Markup, html};
use std::collections::BTreeMap;

/// A list as it was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct List {
    /// Heads over the columns of amounts, where there are any.
    heads: Vec<String>,
    /// Each name that has an amount.
    names: Vec<String>,
    /// The ways in which their amounts can be read, the likeliest first.
    pub readings: Vec<Reading>,
    /// Lines without an amount, such as heads of groups, which are left out.
    left: Vec<String>,
}

fn has_letter(text: &str) -> bool {
    text.chars().any(char::is_alphabetic)
}

/// Whether a number begins a text.
fn is_begun(text: &str) -> bool {
    let digits = text.trim_start_matches(['-', '+']);
    digits.starts_with(|c: char| c.is_ascii_digit())
}

/// Whether a block holds names beside its amounts.
pub fn is_list(raw: &str) -> bool {
    raw.lines()
        .any(|l| has_letter(l) && l.contains(|c: char| c.is_ascii_digit()))
        && raw.lines().filter(|l| has_letter(l)).count() * 2
            > raw.lines().filter(|l| !l.trim().is_empty()).count()
}

/// Reads a list for a person who writes `own` as decimal mark.
///
/// # Errors
/// Why it can't be taken, and what to do.
pub fn read(raw: &str, own: Decimal) -> Result<List, String> {
    let text = raw.replace("\r\n", "\n").replace('\r', "\n");
    let lines: Vec<&str> = text.split('\n').filter(|l| !l.trim().is_empty()).collect();
    if lines.len() > MOST_ROWS {
        return Err(format!(
            "The list has {} lines; at most {MOST_ROWS} can be pasted. Nothing was changed.",
            lines.len()
        ));
    }
    let separator = ['\t', ';'].into_iter().find(|s| text.contains(*s));
    let rows: Vec<(String, Vec<String>)> = match separator {
        Some(mark) => cells(&lines, Some(mark)).into_iter().map(parted).collect(),
        None => lines.iter().map(|l| alone(l)).collect(),
    };
    let (mut heads, mut left) = (Vec::new(), Vec::new());
    let (mut names, mut amounts) = (Vec::new(), Vec::new());
    for (i, (name, row)) in rows.into_iter().enumerate() {
        let head = i == 0 && row.iter().any(|c| has_letter(c)) && !row.iter().any(|c| is_begun(c));
        if head || row.iter().all(String::is_empty) {
            if head {
                heads = row;
            } else {
                left.push(name);
            }
            continue;
        }
        if !has_letter(&name) {
            let shown: String = row.join(" ").chars().take(40).collect();
            return Err(format!(
                "‘{shown}’ stands without a name in a list of names. Copy names and amounts together, or amounts alone; nothing was changed."
            ));
        }
        names.push(name);
        amounts.push(row);
    }
    let columns = amounts.iter().map(Vec::len).max().unwrap_or(0);
    if columns > MOST_COLUMNS {
        return Err(format!(
            "The list has {columns} columns; at most {MOST_COLUMNS} can be pasted. Nothing was changed."
        ));
    }
    if names.is_empty() {
        return Err(
            "No amount was found beside these names. An amount stands behind its name, a number without a unit; nothing was changed."
                .to_owned(),
        );
    }
    for row in &mut amounts {
        row.resize(columns, String::new());
    }
    heads.truncate(columns);
    Ok(List {
        readings: ways(&amounts, own)?,
        heads,
        names,
        left,
    })
}

/// A line whose columns are known: its name stands first.
fn parted(mut row: Vec<String>) -> (String, Vec<String>) {
    while row.last().is_some_and(String::is_empty) {
        row.pop();
    }
    let name = if row.is_empty() {
        String::new()
    } else {
        row.remove(0)
    };
    (name, row)
}

/// A line of a text: a name, then its amounts.
fn alone(line: &str) -> (String, Vec<String>) {
    let ends = line
        .char_indices()
        .rev()
        .find(|(_, c)| c.is_alphabetic() || *c == ')');
    let at = ends.map_or(0, |(i, c)| i + c.len_utf8());
    let (name, rest) = line.split_at(at);
    let rest = rest.trim_start_matches([',', ':', '=', '.', '·', '\u{2026}', ' ', '\u{a0}']);
    let amounts = rest
        .split_whitespace()
        .map(|c| c.trim_end_matches('%').trim_end_matches(',').to_owned());
    let amounts = amounts.filter(|c| !c.is_empty() && !matches!(c.as_str(), "|" | "\u{2022}"));
    (
        name.trim()
            .trim_start_matches(['-', '\u{2022}', '*', ' '])
            .to_owned(),
        amounts.collect(),
    )
}

/// Where the amounts of a list go: the treatment of each column, from the one that was pasted in on, or by its head.
fn columns(f: &Frame, list: &List, from: &str) -> Vec<Option<String>> {
    let first = f.columns.iter().position(|c| c.id() == from).unwrap_or(0);
    let count = list
        .readings
        .first()
        .map_or(0, |r| r.rows.iter().map(Vec::len).max().unwrap_or(0));
    let headed = |i: usize| {
        let head = list.heads.get(i)?;
        let found = f
            .columns
            .iter()
            .find(|c| c.name().eq_ignore_ascii_case(head) || c.id().eq_ignore_ascii_case(head));
        Some(found?.id().to_owned())
    };
    let by_head: Vec<Option<String>> = (0..count).map(headed).collect();
    if by_head.iter().any(Option::is_some) {
        return by_head;
    }
    (0..count)
        .map(|i| f.columns.get(first + i).map(|c| c.id().to_owned()))
        .collect()
}

/// The list with what each name is taken for, to be looked at, chosen from and taken.
pub fn chooser(f: &Frame, list: &List, block: &str, from: &str) -> Markup {
    let to = columns(f, list, from);
    let rows = |i: usize| {
        list.readings
            .first()
            .and_then(|r| r.rows.get(i))
            .map_or(&[][..], Vec::as_slice)
    };
    let sure: Vec<Option<String>> = list.names.iter().map(|n| certain(f.study, n)).collect();
    let unsure = sure.iter().filter(|s| s.is_none()).count();
    html! {
        form .names data-do="lay" {
            input type="hidden" name="block" value=(block);
            p {
                @match unsure {
                    0 => "Every name is a material’s. Nothing is taken yet.",
                    1 => "One name isn’t certain: choose what it means. Nothing is taken yet.",
                    n => { (n) " names aren’t certain: choose what they mean. Nothing is taken yet." }
                }
            }
            @if list.readings.len() > 1 {
                fieldset .ways {
                    legend { "The amounts can be read in more than one way" }
                    @for (i, reading) in list.readings.iter().enumerate() {
                        label .tick { input type="radio" name="reading" value=(i) required; " " (reading.words) @if let Some(first) = reading.rows.iter().flatten().find(|c| !c.is_empty()) { ": the first is " (first) } }
                    }
                }
            }
            div .scroll {
                table .list {
                    thead { tr {
                        th scope="col" { "pasted" }
                        @for (i, to) in to.iter().enumerate() {
                            th .figure scope="col" { select name={ "to." (i) } aria-label={ "Where column " (i + 1) " goes" } {
                                @for c in &f.columns { option value=(c.id()) selected[to.as_deref() == Some(c.id())] { (c.name()) } }
                                option value="" selected[to.is_none()] { "leave it out" }
                            } }
                        }
                        th scope="col" { "means" }
                    } }
                    tbody {
                        @for (i, name) in list.names.iter().enumerate() {
                            tr .unsure[sure[i].is_none()] {
                                th scope="row" { (name) }
                                @for cell in rows(i) { td .figure { @if cell.is_empty() { "–" } @else { (cell) } } }
                                td { (means(f, i, name, sure[i].as_deref())) }
                            }
                        }
                    }
                }
            }
            @if !list.left.is_empty() { p .second { "Without an amount, so left out: " (list.left.join(", ")) "." } }
            label .tick { input type="checkbox" name="whole" value="yes"; " It is the whole formula: take out what isn’t in it" }
            p .word-back role="alert" {}
            div .deeds {
                button .main type="submit" { "Take it so" }
                button type="button" data-do="paste" { "Paste nothing" }
            }
        }
    }
}

/// What a name is taken for: the material, or those to choose from.
fn means(f: &Frame, i: usize, name: &str, sure: Option<&str>) -> Markup {
    let field = format!("as.{i}");
    if let Some(material) = sure.and_then(|id| f.study.material(id)) {
        return html! { input type="hidden" name=(field) value=(material.id); (material.name) };
    }
    let found = candidates(f.study, name);
    html! {
        fieldset .meant aria-label={ "What ‘" (name) "’ means" } {
            @for material in &found {
                label .tick { input type="radio" name=(field) value=(material.id) required; " " (material.name) }
            }
            label .tick {
                input type="radio" name=(field) value="?" required;
                " another: " input type="text" name={ "other." (i) } list="materials" aria-label={ "Another material for ‘" (name) "’" } autocomplete="off" maxlength="200";
            }
            label .tick { input type="radio" name=(field) value="-" required; " leave it out" }
        }
    }
}

/// The cells that a list becomes, as they are typed, and what of it follows from others and so was left as it is.
///
/// # Errors
/// What isn't chosen yet, or is no material.
pub fn laid(
    f: &Frame,
    list: &List,
    fields: &BTreeMap<String, String>,
) -> Result<(BTreeMap<String, String>, Vec<String>), String> {
    let field = |name: String| fields.get(&name).map_or("", String::as_str).trim();
    let which: usize = field("reading".into()).parse().unwrap_or(0);
    let reading = list
        .readings
        .get(which)
        .ok_or("Choose how the amounts are meant.")?;
    if list.readings.len() > 1 && field("reading".into()).is_empty() {
        return Err("Choose how the amounts are meant.".to_owned());
    }
    let (mut cells, mut follow) = (BTreeMap::new(), Vec::new());
    let mut taken: Vec<(String, &str)> = Vec::new();
    for (i, name) in list.names.iter().enumerate() {
        let chosen = match field(format!("as.{i}")) {
            "" => return Err(format!("Choose what ‘{name}’ means, or leave it out.")),
            "-" => continue,
            "?" => field(format!("other.{i}")),
            id => id,
        };
        let id = called(f.study, chosen)
            .ok_or_else(|| format!("For ‘{name}’: {}", unknown(f.study, chosen)))?;
        if let Some((_, other)) = taken.iter().find(|(t, _)| *t == id) {
            return Err(format!(
                "‘{other}’ and ‘{name}’ would both be the same material. Choose another for one of them, or leave it out."
            ));
        }
        taken.push((id, name));
    }
    let mut columns: Vec<(usize, &str)> = Vec::new();
    for i in 0..reading.rows.first().map_or(0, Vec::len) {
        let to = field(format!("to.{i}"));
        if to.is_empty() {
            continue;
        }
        if columns.iter().any(|(_, t)| *t == to) {
            return Err(
                "Two columns go into the same treatment. Choose another for one of them."
                    .to_owned(),
            );
        }
        columns.push((i, to));
    }
    for (at, to) in columns {
        let column = f.columns.iter().find(|c| c.id() == to);
        let column =
            column.ok_or("A treatment of the list isn’t in the study any more. Paste it again.")?;
        let kept = |id: &str| taken.iter().any(|(t, _)| t == id);
        let of = |id: &str| {
            f.rows
                .iter()
                .find(|r| r.id() == id && column.line(r.stage, id).is_some())
                .or_else(|| f.rows.iter().find(|r| r.id() == id))
        };
        for (id, name) in &taken {
            let line = list.names.iter().position(|n| n == name);
            let amount = line
                .and_then(|l| reading.rows[l].get(at))
                .map_or("", String::as_str);
            if amount.is_empty() {
                continue;
            }
            let row = of(id);
            if row.is_some_and(|r| f.cell_kind(column, r) != CellKind::Typed) {
                follow.push(format!("{name} in {}", column.name()));
                continue;
            }
            let stage = row.map_or_else(
                || {
                    f.study
                        .material(id)
                        .map_or("", |m| m.category.usual_stage().word())
                },
                |r| r.stage.word(),
            );
            cells.insert(format!("c:{to}:{stage}:{id}"), amount.to_owned());
        }
        if field("whole".into()) == "yes" {
            for row in f
                .rows
                .iter()
                .filter(|r| !kept(r.id()) && column.line(r.stage, r.id()).is_some())
            {
                if f.cell_kind(column, row) == CellKind::Typed {
                    cells.insert(super::edits::cell_name(to, row), String::new());
                }
            }
        }
    }
    Ok((cells, follow))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn list(raw: &str) -> List {
        assert!(is_list(raw), "{raw:?}");
        read(raw, Decimal::Point).unwrap()
    }

    // How lists of amounts are written: common practice, no source.

    #[test]
    fn names_and_amounts_are_told_apart_however_they_are_written() {
        for raw in [
            "Barley flour\t51.4\nSalt\t0.3",
            "Barley flour;51.4\nSalt;0.3\n",
            "Barley flour 51.4\nSalt 0.3",
            "- Barley flour: 51.4 %\n- Salt: 0.3 %\n",
            "Barley flour, 51.4\r\nSalt, 0.3",
        ] {
            let list = list(raw);
            assert_eq!(list.names, ["Barley flour", "Salt"], "{raw:?}");
            assert_eq!(list.readings.len(), 1, "{raw:?}");
            assert_eq!(list.readings[0].rows, [["51.4"], ["0.3"]], "{raw:?}");
        }
        let comma = list("Barley flour\t51,4\nSalt\t0,3");
        assert_eq!(comma.readings[0].rows, [["51.4"], ["0.3"]]);
    }

    #[test]
    fn heads_and_groups_are_no_materials() {
        let list =
            list("material\tControl\tBarley for wheat\ndry\nWheat flour\t54\t\nSalt\t0.3\t0.4");
        assert_eq!(list.heads, ["Control", "Barley for wheat"]);
        assert_eq!(list.left, ["dry"]);
        assert_eq!(list.readings[0].rows, [["54", ""], ["0.3", "0.4"]]);
    }

    #[test]
    fn amounts_that_can_be_read_in_two_ways_are_asked() {
        let asked = list("Barley flour\t1,234\nSalt\t2,500");
        assert_eq!(asked.readings.len(), 2);
        let why = read("Barley flour\t58,5\nSalt\t0.3", Decimal::Point).unwrap_err();
        assert!(why.contains("comma") && why.contains("point"), "{why}");
        let why = read("Barley flour\t0.3 g\nSalt\t1", Decimal::Point).unwrap_err();
        assert!(why.contains("‘0.3 g’"), "{why}");
        assert!(!is_list("58.5\t20.1\n1\t2"));
    }
}
