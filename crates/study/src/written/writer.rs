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
