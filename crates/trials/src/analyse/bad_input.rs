//! What goes wrong in real tables, caught before it becomes a wrong answer.

use super::AnalysisRequest;
use super::rows::rows_in_words;
use super::table::{Cell, Column, Table};
use crate::Code;
use crate::response::About;
use crate::stats::design::Factor;
use measure::{Finding, Severity};
use std::collections::HashMap;

fn stop(code: Code, about: &str, message: String, help: &str) -> Finding {
    Finding::new(Severity::Stop, code, about, message).help(help)
}

/// Values that can't all be meant the same way: fractions among percents, slips, no spread.
pub(super) fn values(
    request: &AnalysisRequest,
    about: Option<About>,
    values: &[f64],
    rows: &[usize],
    treatment: &Factor,
    findings: &mut Vec<Finding>,
) -> Result<(), Vec<Finding>> {
    let name = &request.response;
    let lower = name.to_lowercase();
    let percent = about.is_some_and(|a| a.unit.starts_with('%'))
        || ["percent", "pct", "%", "moisture", "loss"]
            .iter()
            .any(|w| lower.contains(w));
    let small: Vec<usize> = (0..values.len())
        .filter(|&i| values[i] > 0.0 && values[i] <= 1.0)
        .map(|i| rows[i])
        .collect();
    let largest_small = values
        .iter()
        .filter(|v| **v > 0.0 && **v <= 1.0)
        .fold(0.0_f64, |m, v| m.max(*v));
    let smallest_large = values
        .iter()
        .filter(|v| **v > 1.0)
        .fold(f64::INFINITY, |m, v| m.min(*v));
    let largest = values.iter().fold(0.0_f64, |m, v| m.max(*v));
    let apart =
        !small.is_empty() && smallest_large.is_finite() && smallest_large > 15.0 * largest_small;
    // Small shares are nothing odd where something breaks seldom: two ways of writing are only
    // meant where each small value, times 100, would lie among the large ones.
    let among = values
        .iter()
        .filter(|v| **v > 0.0 && **v <= 1.0)
        .all(|v| (0.8 * smallest_large..=1.25 * largest).contains(&(100.0 * v)));
    // A treatment that breaks seldom beside one that breaks often is nothing odd either: written two
    // ways is what stands both ways within a treatment.
    let is_small = |i: &usize| values[*i] > 0.0 && values[*i] <= 1.0;
    let mixed = (0..treatment.levels.len()).any(|level| {
        let own = || (0..values.len()).filter(|&i| treatment.codes[i] == level);
        own().any(|i| is_small(&i)) && own().any(|i| values[i] > 1.0)
    });
    if apart && among && percent && !mixed {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::PercentAgainstFraction,
                name.clone(),
                format!(
                    "{name} is at most 1 wherever {} is {}, and far above elsewhere; all were taken as percentages",
                    treatment.name,
                    levels_of(treatment, (0..values.len()).filter(is_small))
                ),
            )
            .help("if these are fractions, multiply them by 100"),
        );
    }
    if apart && among && percent && mixed {
        return Err(vec![stop(
            Code::PercentAgainstFraction,
            name,
            format!(
                "{name} seems to be a fraction in {} and a percentage in the rest",
                rows_in_words(&small)
            ),
            "write all of them as percentages, or all as fractions",
        )]);
    }
    if percent && smallest_large.is_infinite() && !small.is_empty() && about.is_some() {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::PercentAgainstFraction,
                name.clone(),
                format!("{name} is told in percent, but no value is above 1"),
            )
            .help("if these are fractions, multiply by 100"),
        );
    }
    if let Some(about) = about {
        let odd: Vec<usize> = (0..values.len())
            .filter(|&i| !about.plausible.contains(values[i]))
            .map(|i| rows[i])
            .collect();
        if !odd.is_empty() && about.kind != crate::response::Kind::CountOf {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::OutsidePlausibleRange,
                    name.clone(),
                    format!(
                        "{name} lies outside {} {} in {}",
                        about.plausible,
                        about.unit,
                        rows_in_words(&odd)
                    ),
                )
                .help("look for a slip of the decimal point or the unit")
                .source("working range, assumed"),
            );
        }
    }
    // Squares of such numbers leave what a computer can tell.
    let told = |v: f64| v == 0.0 || (1e-100..=1e100).contains(&v.abs());
    if let Some(at) = values.iter().position(|v| !told(*v)) {
        return Err(vec![stop(
            Code::OutsidePlausibleRange,
            name,
            format!(
                "row {}: {:e} is no measurement of {name}",
                rows[at], values[at]
            ),
            "look for a slip of the keys; give the values in another unit if they are really so",
        )]);
    }
    let first = values[0];
    if values.iter().all(|v| *v == first) && request.out_of.is_none() {
        return Err(vec![stop(
            Code::ZeroVariance,
            name,
            format!("every value of {name} is {first}: nothing varies, so nothing can be compared"),
            "check that the column holds the measurement and that the instrument shows enough digits",
        )]);
    }
    Ok(())
}

/// The levels that some lines have.
fn levels_of(factor: &Factor, lines: impl Iterator<Item = usize>) -> String {
    let own: std::collections::BTreeSet<usize> = lines.map(|i| factor.codes[i]).collect();
    let names: Vec<&str> = own.iter().map(|&l| factor.levels[l].as_str()).collect();
    names.join(" or ")
}

/// Numbers written with one comma and three digits behind it, which as decimals lie far below all the
/// others and as thousands among them: nobody can say which was meant.
pub(super) fn thousands(
    table: &Table,
    column: &Column,
    used: &[usize],
) -> Result<(), Vec<Finding>> {
    let mark = |cell: &Cell| {
        let Cell::Written(value, text) = cell else {
            return None;
        };
        let (whole, part) = text.trim().split_once([',', '.'])?;
        let digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
        let fits =
            (1..=3).contains(&whole.len()) && part.len() == 3 && digits(whole) && digits(part);
        (fits && text.contains(',')).then_some(*value)
    };
    let cell = |row: usize| &column.cells[row];
    let (mut odd, mut rest) = (Vec::new(), Vec::new());
    for &row in used {
        match mark(cell(row)) {
            Some(value) => odd.push((row, value)),
            None => rest.extend(cell(row).number().map(f64::abs).filter(|v| *v > 0.0)),
        }
    }
    let least = rest.iter().copied().fold(f64::INFINITY, f64::min);
    let most = rest.iter().copied().fold(0.0, f64::max);
    let meant = |v: f64| v < least / 15.0 && (0.2 * least..=5.0 * most).contains(&(1000.0 * v));
    if odd.is_empty() || rest.is_empty() || !odd.iter().all(|(_, v)| meant(*v)) {
        return Ok(());
    }
    let (row, _) = odd[0];
    let text = cell(row).label().unwrap_or_default();
    let found = Finding::new(
        Severity::Stop,
        Code::DecimalComma,
        column.name.clone(),
        format!(
            "row {}, column {}: “{text}” stands beside numbers from {least} to {most}: as a decimal it is a thousandth of them",
            table.row_numbers[row], column.name
        ),
    );
    Err(vec![found.help(
        "write it without the comma if it is in thousands; give the others the same number of decimals if it is not",
    )])
}

/// Two methods of measurement in one comparison.
pub(super) fn methods(
    table: &Table,
    treatments: &[Factor],
    used: &[usize],
) -> Result<(), Vec<Finding>> {
    for column in &table.columns {
        let is_method = column.name.to_lowercase().contains("method")
            && !treatments.iter().any(|t| t.name == column.name);
        if !is_method {
            continue;
        }
        let mut seen: Vec<(String, usize)> = Vec::new();
        for &row in used {
            if let Some(label) = column.cells[row].label()
                && !seen.iter().any(|(l, _)| *l == label)
            {
                seen.push((label, table.row_numbers[row]));
            }
        }
        if seen.len() > 1 {
            return Err(vec![stop(
                Code::MethodsMixed,
                &column.name,
                format!(
                    "two methods are mixed: {} in row {} and {} in row {}",
                    seen[0].0, seen[0].1, seen[1].0, seen[1].1
                ),
                "compare within one method: methods differ by more than treatments often do; split the table, or leave rows out with that reason",
            )]);
        }
    }
    Ok(())
}

/// The same piece twice, or a whole row typed twice.
pub(crate) fn duplicates(
    unit: &Factor,
    piece: Option<&Factor>,
    values: &[f64],
    rows: &[usize],
    findings: &mut Vec<Finding>,
) {
    let Some(piece) = piece else {
        return stands_twice(unit, rows, findings);
    };
    let mut seen: HashMap<(usize, usize), usize> = HashMap::new();
    let mut twice = Vec::new();
    let mut same = Vec::new();
    for i in 0..values.len() {
        match seen.insert((unit.codes[i], piece.codes[i]), i) {
            Some(before) if values[before] == values[i] => same.push(rows[i]),
            Some(_) => twice.push(rows[i]),
            None => {}
        }
    }
    if !same.is_empty() {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::DuplicatedUnits,
                piece.name.clone(),
                format!(
                    "{} repeat an earlier row, value and all",
                    rows_in_words(&same)
                ),
            )
            .help("remove rows that were entered twice"),
        );
    }
    if !twice.is_empty() {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::DuplicatedUnits,
                piece.name.clone(),
                format!("{} give a second value for a piece that has one", rows_in_words(&twice)),
            )
            .help("number the pieces within each batch, or remove the wrong value; both were averaged"),
        );
    }
}

/// Without piece numbers: where nearly every unit has one row, one that has more was probably typed
/// twice.
fn stands_twice(unit: &Factor, rows: &[usize], findings: &mut Vec<Finding>) {
    let mut of_unit: Vec<Vec<usize>> = vec![Vec::new(); unit.levels.len()];
    for (code, row) in unit.codes.iter().zip(rows) {
        of_unit[*code].push(*row);
    }
    let single = of_unit.iter().filter(|r| r.len() == 1).count();
    let several: Vec<&Vec<usize>> = of_unit.iter().filter(|r| r.len() > 1).collect();
    if several.is_empty() || 2 * single < of_unit.len() {
        return;
    }
    let places: Vec<String> = several.iter().map(|r| rows_in_words(r)).collect();
    findings.push(
        Finding::new(
            Severity::Warn,
            Code::DuplicatedUnits,
            unit.name.clone(),
            format!(
                "one {} stands in {}, where most stand once; the rows were averaged",
                unit.name,
                places.join(" and in ")
            ),
        )
        .help("remove rows that were entered twice, or number the pieces in a column of their own"),
    );
}

/// Counts that are no counts.
pub(super) fn counts(k: &[f64], n: &[f64], rows: &[usize]) -> Result<(), Vec<Finding>> {
    for i in 0..k.len() {
        // No count of pieces or dogs comes near a thousand million.
        let whole = |v: f64| (0.0..=1e9).contains(&v) && v.fract() == 0.0;
        if !whole(k[i]) || !whole(n[i]) || k[i] > n[i] || n[i] == 0.0 {
            return Err(vec![stop(
                Code::CountsDoNotFit,
                &format!("row {}", rows[i]),
                format!("row {}: {} of {} is not a count", rows[i], k[i], n[i]),
                "give whole numbers up to 1000000000, no more counted than there were; percentages lose how many were counted",
            )]);
        }
    }
    Ok(())
}

/// Treatments that occur in one block only, and groups of treatments that no block joins.
pub(super) fn confounding(treatment: &Factor, block: &Factor, findings: &mut Vec<Finding>) -> bool {
    let (t, b) = (treatment.levels.len(), block.levels.len());
    let mut meets = vec![vec![false; b]; t];
    for (&i, &j) in treatment.codes.iter().zip(&block.codes) {
        meets[i][j] = true;
    }
    // Components of the treatment–block graph.
    let mut part: Vec<usize> = (0..t).collect();
    let in_block = |j: usize| -> Vec<usize> { (0..t).filter(|&i| meets[i][j]).collect() };
    for own in (0..b).map(in_block) {
        let Some(&first) = own.first() else { continue };
        for &i in &own {
            let (from, to) = (part[i], part[first]);
            for p in &mut part {
                if *p == from {
                    *p = to;
                }
            }
        }
    }
    let parts: std::collections::HashSet<usize> = part.iter().copied().collect();
    let mut aliased = false;
    for i in 0..t {
        let own: Vec<usize> = (0..b).filter(|&j| meets[i][j]).collect();
        if own.len() != 1 || b == 1 {
            continue;
        }
        let alone = (0..t).all(|k| k == i || !meets[k][own[0]]);
        let (level, where_) = (&treatment.levels[i], &block.levels[own[0]]);
        if alone {
            aliased = true;
            findings.push(stop(
                Code::TreatmentAliasedWithBlock,
                &treatment.name,
                format!("{level} was made only in {} {where_}, and nothing else was made there: its difference from the others can't be told from the difference between blocks", block.name),
                "make it again beside the others in one block",
            ));
        } else {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::TreatmentInOneBlock,
                    treatment.name.clone(),
                    format!("{level} occurs in {} {where_} only: its mean leans on that block's companions", block.name),
                )
                .help("spread each treatment over several blocks"),
            );
        }
    }
    if parts.len() > 1 && !aliased {
        aliased = true;
        let name = |p: usize| {
            (0..t)
                .filter(|&i| part[i] == p)
                .map(|i| treatment.levels[i].as_str())
                .collect::<Vec<_>>()
                .join(", ")
        };
        let mut groups: Vec<String> = parts.iter().map(|&p| name(p)).collect();
        groups.sort();
        findings.push(stop(
            Code::TreatmentAliasedWithBlock,
            &treatment.name,
            format!("no {} holds treatments of both groups ({}): differences between the groups can't be told from blocks", block.name, groups.join(" | ")),
            "join the groups by a block that holds some of each",
        ));
    }
    aliased
}
