//! From tables as written back to text, in the order of the field lists.

use super::comment::plain;
use super::row::{Comment, Entry, Row, Value};
use std::fmt::Write as _;

/// Writes a document: every table, value and comment, in the order of the field lists.
pub(super) fn document(root: &Row, end: &[String]) -> String {
    let mut out = String::new();
    section(&mut out, root, "");
    comment_lines(&mut out, end);
    out
}

/// Bytes that a document takes at most, counted without writing it: every character could be one that is written as an
/// escape of six.
pub(super) fn at_most(root: &Row, end: &[String]) -> usize {
    row_at_most(root, 0) + lines_at_most(end)
}

/// An escape, `\u001F`, for each byte.
const ESCAPED: usize = 6;
/// Signs around a key, a value, a comment or a header.
const AROUND: usize = 12;
/// Digits of a number at most: a sign, 17 digits, a point, four noughts before them, an exponent.
const DIGITS: usize = 32;

fn lines_at_most(lines: &[String]) -> usize {
    lines.iter().map(|line| line.len() + AROUND).sum()
}

fn comment_at_most(comment: &Comment) -> usize {
    let beside = comment.beside.as_ref().map_or(0, String::len);
    lines_at_most(&comment.above) + beside + AROUND
}

/// `path` bytes stand before the keys of its tables in their headers.
fn row_at_most(row: &Row, path: usize) -> usize {
    let entry = |entry: &Entry| {
        let path = path + entry.key.len() + AROUND;
        let value = match &entry.value {
            Value::Text(text) => ESCAPED * text.len() + AROUND,
            Value::Number(_) => DIGITS,
            Value::Flag(_) => AROUND,
            Value::Words(words) => words.iter().map(|w| ESCAPED * w.len() + AROUND).sum(),
            Value::Row(row) => row_at_most(row, path),
            Value::Rows(rows) => rows.iter().map(|row| row_at_most(row, path)).sum(),
        };
        entry.key.len() + AROUND + comment_at_most(&entry.comment) + value
    };
    path + AROUND + comment_at_most(&row.comment) + row.entries.iter().map(entry).sum::<usize>()
}

/// The entries of a table, then the tables below it under headers of their own.
fn section(out: &mut String, row: &Row, path: &str) {
    let headed = |e: &&Entry| {
        row.table
            .field(e.key)
            .is_some_and(|f| Row::is_section(&f.kind))
    };
    for entry in row.entries.iter().filter(|e| !headed(e)) {
        comment_lines(out, &entry.comment.above);
        let _ = write!(out, "{} = ", entry.key);
        match &entry.value {
            Value::Rows(rows) => lines(out, rows),
            value => inline_value(out, value),
        }
        beside(out, &entry.comment);
    }
    for entry in row.entries.iter().filter(headed) {
        let path = if path.is_empty() {
            entry.key.to_owned()
        } else {
            format!("{path}.{}", entry.key)
        };
        match &entry.value {
            Value::Row(table) => header(out, table, &path, ("[", "]")),
            Value::Rows(tables) => {
                for table in tables {
                    header(out, table, &path, ("[[", "]]"));
                }
            }
            _ => {}
        }
    }
}

fn header(out: &mut String, row: &Row, path: &str, brackets: (&str, &str)) {
    if !out.is_empty() {
        out.push('\n');
    }
    comment_lines(out, &row.comment.above);
    let _ = write!(out, "{}{path}{}", brackets.0, brackets.1);
    beside(out, &row.comment);
    section(out, row, path);
}

/// One table a line.
fn lines(out: &mut String, rows: &[Row]) {
    if rows.is_empty() {
        out.push_str("[]");
        return;
    }
    out.push_str("[\n");
    for row in rows {
        for line in &row.comment.above {
            let _ = writeln!(out, "    #{}", spaced(line));
        }
        out.push_str("    ");
        inline(out, row);
        out.push(',');
        beside(out, &row.comment);
    }
    out.push(']');
}

fn inline(out: &mut String, row: &Row) {
    if row.entries.is_empty() {
        out.push_str("{}");
        return;
    }
    out.push_str("{ ");
    for (i, entry) in row.entries.iter().enumerate() {
        if i > 0 {
            out.push_str(", ");
        }
        let _ = write!(out, "{} = ", entry.key);
        inline_value(out, &entry.value);
    }
    out.push_str(" }");
}

fn inline_value(out: &mut String, value: &Value) {
    match value {
        Value::Text(text) => text_value(out, text),
        Value::Number(n) => {
            let _ = write!(out, "{}", number(*n));
        }
        Value::Flag(flag) => {
            let _ = write!(out, "{flag}");
        }
        Value::Words(words) => {
            out.push('[');
            for (i, word) in words.iter().enumerate() {
                if i > 0 {
                    out.push_str(", ");
                }
                text_value(out, word);
            }
            out.push(']');
        }
        Value::Row(row) => inline(out, row),
        Value::Rows(rows) => {
            out.push('[');
            for (i, row) in rows.iter().enumerate() {
                if i > 0 {
                    out.push_str(", ");
                }
                inline(out, row);
            }
            out.push(']');
        }
    }
}

/// The shortest digits that read back as the same number, as a whole number where it is one.
fn number(n: f64) -> String {
    if n == n.trunc() && n.abs() < 1e15 {
        format!("{n:.0}")
    } else if n.abs() < 1e-4 || n.abs() >= 1e15 {
        format!("{n:e}")
    } else {
        format!("{n}")
    }
}

/// A basic TOML string; several lines are written as several lines.
fn text_value(out: &mut String, text: &str) {
    let several = text.contains('\n');
    out.push_str(if several { "\"\"\"\n" } else { "\"" });
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' if several => out.push('\n'),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push_str(if several { "\"\"\"" } else { "\"" });
}

fn comment_lines(out: &mut String, lines: &[String]) {
    for line in lines {
        let _ = writeln!(out, "#{}", spaced(line));
    }
}

fn beside(out: &mut String, comment: &Comment) {
    if let Some(words) = &comment.beside {
        let _ = write!(out, "  #{}", spaced(words));
    }
    out.push('\n');
}

/// A comment's words after one blank; one line whatever it holds.
fn spaced(words: &str) -> String {
    let line = plain(words);
    if line.is_empty() {
        line
    } else {
        format!(" {line}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::edit::{Edit, apply};
    use crate::written::read_written;

    /// Our own identity: what is counted is never less than what is written, and a document of usual size is far from
    /// the limit either way.
    #[test]
    fn what_is_counted_is_never_less_than_what_is_written() {
        let bars = include_str!("../../../../examples/spent-grain.toml");
        let mut written = read_written(bars).unwrap();
        let counted = |w: &crate::written::StudyWritten| {
            let (most, length) = (at_most(&w.root, &w.end), document(&w.root, &w.end).len());
            assert!(most >= length, "{most} of {length}");
            most
        };
        assert!(counted(&written) < 200_000);
        for odd in ["\t\t", "\\\\\"\"", "ü😀", "a\n\"\n"] {
            let note = odd.repeat(100);
            let edit = Edit::SetNote {
                treatment: Some("rice_chickpea".to_owned()),
                note,
            };
            written = apply(&written, &edit).unwrap();
            counted(&written);
        }
        for amount in [
            1.0 / 3.0,
            1.234_567_890_123_456_7e-4,
            99.999_999_999_999_99,
            1e-12,
        ] {
            let edit = Edit::SetAmount {
                treatment: "rice_chickpea".to_owned(),
                material: "salt".to_owned(),
                amount,
            };
            written = apply(&written, &edit).unwrap();
            counted(&written);
        }
    }
}
