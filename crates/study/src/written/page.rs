//! The page of fields for people (Markdown), from the field lists.

use super::field::{Kind, Need, Table};
use std::fmt::Write as _;

/// Every table with its keys, as Markdown.
pub(super) fn document(root: &'static Table) -> String {
    let mut out = String::from(
        "# The study file\n\n\
         A study is one TOML text, version key `hardtack = 1`. Where a key has a unit, it ends in \
         it: `thickness_mm` wants millimetres. Numbers are written without quotes. What a table \
         doesn't list is an error, so that a misspelt key is never passed over.\n",
    );
    let mut done = Vec::new();
    section(&mut out, root, "The file", &mut done);
    out
}

fn section(out: &mut String, table: &'static Table, heading: &str, done: &mut Vec<&'static str>) {
    // The tables that a treatment may override are told once, where they first stand.
    if done.contains(&table.name) {
        return;
    }
    done.push(table.name);
    let _ = write!(out, "\n## {heading}\n\n{}\n\n", table.doc);
    out.push_str("| key | value | unless written | meaning |\n|---|---|---|---|\n");
    rows(out, table);
    for field in table.fields {
        match field.kind {
            Kind::Table(t) => section(
                out,
                t,
                &format!("`[{}]`: {}", path(heading, field.key), t.name),
                done,
            ),
            Kind::Tables(t, _) => section(
                out,
                t,
                &format!("`[[{}]]`: {}", path(heading, field.key), t.name),
                done,
            ),
            Kind::Inline(t) | Kind::Lines(t, _) => {
                section(
                    out,
                    t,
                    &format!("`{} = …`: {}", path(heading, field.key), t.name),
                    done,
                );
            }
            Kind::Forms(forms, _) => {
                for form in forms {
                    section(
                        out,
                        form,
                        &format!("`{{ {} = … }}`: {}", form.fields[0].key, form.name),
                        done,
                    );
                }
            }
            _ => {}
        }
    }
}

fn rows(out: &mut String, table: &Table) {
    for field in table.fields {
        let otherwise = match field.need {
            Need::Required => "has to be there".to_owned(),
            Need::Optional => String::new(),
            Need::Or(n) => format!("{n}"),
            Need::OrWord(w) => format!("\"{w}\""),
        };
        let _ = writeln!(
            out,
            "| `{}` | {} | {otherwise} | {} |",
            field.key,
            field.kind.words().replace('|', "\\|"),
            field.doc.replace('|', "\\|"),
        );
    }
}

/// The path of a table below the table whose heading this is.
fn path(heading: &str, key: &str) -> String {
    let inside = heading
        .split_once('`')
        .and_then(|(_, rest)| rest.split_once('`'))
        .map(|(inside, _)| inside.trim_matches(['[', ']']).trim_end_matches(" = …"));
    match inside {
        Some(inside) if !inside.starts_with('{') => format!("{inside}.{key}"),
        _ => key.to_owned(),
    }
}
