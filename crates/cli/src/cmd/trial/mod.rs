//! `hardtack trial`: plan, size, analyse, and say what a trial shows.

mod analyse;
mod bowls;
mod data;
mod keeping;
pub mod kept;
mod looks;
mod model;
mod plan;
mod power;
mod several;

use crate::table::{Row, Side, WIDTH, cut, table, wrap};
use crate::trial_args::{Out, Trial};
use crate::{End, files, progress, tell};
use measure::{Finding, Severity};
use report::trial::{Sheet, Told};
use serde::Serialize;
use serde_json::json;
use trials::Code;
use unicode_width::UnicodeWidthStr;

/// Does what was asked.
pub fn run(args: Trial) -> anyhow::Result<End> {
    match args {
        Trial::Plan(args) => plan::run(&args),
        Trial::Power(args) => power::run(&args),
        Trial::Analyse(args) => analyse::run(&args),
        Trial::Trend(args) => model::trend(&args),
        Trial::Surface(args) => model::surface(&args),
        Trial::Mixture(args) => model::mixture(&args),
        Trial::Keeping(args) => keeping::run(&args),
        Trial::Looks(args) => looks::run(&args),
        Trial::Several(args) => several::run(&args),
        Trial::Twobowl(args) => bowls::two_bowl(&args),
        Trial::Ranking(args) => bowls::ranking(&args),
        Trial::Minimum(args) => bowls::minimum(&args),
    }
}

/// Works a table out, with a word on a terminal where that takes a while.
fn worked<T>(work: impl FnOnce() -> T) -> T {
    progress::during("working it out", work)
}

/// Findings after which the data have to be put right: bad input. The others that stop say that
/// the question can't be answered so.
const BAD_INPUT: &[Code] = &[
    Code::TableCannotBeRead,
    Code::NoSuchColumn,
    Code::NoSuchRow,
    Code::NoSuchControl,
    Code::NoSuchFactor,
    Code::Margin,
    Code::MarginWithoutControl,
    Code::TimeWithoutUnit,
    Code::TimeBelowZero,
    Code::NoUnit,
    Code::ExposureNotAboveZero,
    Code::Contrast,
    Code::Prior,
    Code::Look,
    Code::EmptyCell,
    Code::TextInNumberColumn,
    Code::DecimalComma,
    Code::ExclusionWithoutReason,
    Code::CountsDoNotFit,
    Code::DuplicatedUnits,
    Code::PartsDoNotSumToOne,
];

/// Tells what was found and writes the files that were asked for.
fn tell_all(told: &Told, document: &impl Serialize, out: &Out) -> anyhow::Result<End> {
    let files: [(&Option<_>, &dyn Fn() -> String); 3] = [
        (&out.html, &|| told.html(env!("CARGO_PKG_VERSION"))),
        (&out.markdown, &|| told.markdown()),
        (&out.csv, &|| told.csv()),
    ];
    write_all(&files, out.force)?;
    if out.json {
        tell::json(document)?;
    } else {
        tell::out(&terminal(told))?;
        for path in files.iter().filter_map(|f| f.0.as_ref()) {
            tell::out(&format!("Written: {}\n", path.display()))?;
        }
    }
    Ok(end(&told.findings))
}

type Written<'a> = (&'a Option<std::path::PathBuf>, &'a dyn Fn() -> String);

/// Writes each file that has a place; nothing is written when one of them is in the way.
fn write_all(files: &[Written], force: bool) -> anyhow::Result<()> {
    for path in files.iter().filter_map(|f| f.0.as_ref()) {
        anyhow::ensure!(
            force || !path.exists(),
            "{} exists and stays as it is; --force overwrites it",
            path.display()
        );
    }
    for (path, text) in files {
        if let Some(path) = path {
            files::write(path, &text(), force)?;
        }
    }
    Ok(())
}

fn end(findings: &[Finding]) -> End {
    if findings.iter().any(|f| f.severity == Severity::Stop) {
        End::Stop
    } else {
        End::Fine
    }
}

/// What stands against any answer.
fn refuse(findings: &[Finding], json: bool) -> anyhow::Result<End> {
    if json {
        tell::json(&json!({ "ok": false, "findings": findings }))?;
    } else {
        tell::note(&told_findings(findings));
    }
    let bad = findings
        .iter()
        .any(|f| BAD_INPUT.iter().any(|code| f.code == *code));
    Ok(if bad { End::Bad } else { End::Stop })
}

fn told_findings(findings: &[Finding]) -> String {
    let mut sorted: Vec<&Finding> = findings.iter().collect();
    sorted.sort_by_key(|f| std::cmp::Reverse(f.severity));
    let mut text = String::new();
    for f in sorted {
        let weight = f.severity.word();
        text.push_str(&tell::styled(tell::BOLD, weight));
        let said = wrap(&f.message, WIDTH - 9, "");
        let mut lines = said.lines();
        text.push_str(&" ".repeat(9 - weight.len()));
        text.push_str(lines.next().unwrap_or_default());
        text.push('\n');
        for line in lines {
            text.push_str(&format!("         {line}\n"));
        }
        if !f.help.is_empty() {
            text.push_str(&wrap(&format!("→ {}", f.help), WIDTH, "         "));
        }
    }
    text
}

/// Title, sentence, facts, tables and findings within the terminal's width.
fn terminal(told: &Told) -> String {
    let mut text = tell::styled(tell::BOLD, &told.title);
    text.push_str("\n\n");
    for paragraph in told.sentence.lines() {
        text.push_str(&wrap(paragraph, WIDTH, ""));
    }
    text.push('\n');
    for (name, words) in &told.facts {
        text.push_str(&wrap(&format!("{name}: {words}"), WIDTH, ""));
    }
    for sheet in &told.sheets {
        text.push('\n');
        text.push_str(&tell::styled(tell::BOLD, &sheet.title));
        text.push('\n');
        text.push_str(&wrap(&sheet.note, WIDTH, ""));
        text.push_str(&sheet_text(sheet));
    }
    if !told.findings.is_empty() {
        text.push('\n');
        text.push_str(&told_findings(&told.findings));
    }
    text
}

/// A table; where it is too wide its longest words are cut.
fn sheet_text(sheet: &Sheet) -> String {
    let head: Vec<&str> = sheet.heads.iter().map(|h| h.0.as_str()).collect();
    let sides: Vec<Side> = sheet
        .heads
        .iter()
        .map(|h| if h.1 { Side::Right } else { Side::Left })
        .collect();
    let widest = |column: usize| {
        let cells = sheet.rows.iter().map(|r| r[column].text.width());
        cells.max().unwrap_or(0).max(head[column].width())
    };
    let mut widths: Vec<usize> = (0..head.len()).map(widest).collect();
    let gaps = 2 * widths.len().saturating_sub(1);
    while widths.iter().sum::<usize>() + gaps > WIDTH {
        let Some(most) = widths.iter_mut().max() else {
            break;
        };
        if *most <= 6 {
            break;
        }
        *most -= 1;
    }
    let head: Vec<String> = head.iter().zip(&widths).map(|(h, w)| cut(h, *w)).collect();
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let rows: Vec<Row> = sheet
        .rows
        .iter()
        .map(|r| {
            Row::Cells(
                r.iter()
                    .zip(&widths)
                    .map(|(c, w)| cut(&c.text, *w))
                    .collect(),
            )
        })
        .collect();
    table(&head, &sides, &rows)
}

/// The unit of a word on the command line.
fn unit(word: Option<&str>, usual: trials::plan::Unit) -> trials::plan::Unit {
    let Some(word) = word else { return usual };
    let plain = word.replace('-', " ");
    trials::plan::Unit::ALL
        .into_iter()
        .find(|u| u.word() == plain)
        .unwrap_or(usual)
}
