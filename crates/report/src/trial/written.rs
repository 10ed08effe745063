//! One form, three writings: HTML, Markdown, CSV.

use super::{Sheet, Told};
use maud::{Markup, PreEscaped, html};
use std::fmt::Write;

impl Told {
    /// One self-contained page, pictures first.
    pub fn html(&self, version: &str) -> String {
        let running_head = format!("{}, hardtack {version}", self.title);
        let body = html! {
            style { (PreEscaped(crate::STYLE)) }
            header .report-head {
                p .second { (self.kind) }
                h1 { (self.title) }
                (self.said())
                p .facts {
                    @for (name, words) in &self.facts { span { (capital(name)) ": " (words) } }
                    span { "Worked out by hardtack " (version) }
                }
            }
            (self.drawn())
            (self.tables())
        };
        paper::self_contained(&self.title, &running_head, &body)
    }

    /// The same inside another page, below a head of its own: pictures, the sentence, what it stands on, tables, findings.
    pub fn part(&self) -> Markup {
        html! {
            (self.drawn())
            (self.said())
            p .trial-facts { @for (name, words) in &self.facts { span { (capital(name)) ": " (words) } } }
            (self.tables())
        }
    }

    fn said(&self) -> Markup {
        html! { @for paragraph in self.sentence.lines() { p .says { (paragraph) } } }
    }

    /// The first drawing is what the page is about; the others stand side by side.
    fn drawn(&self) -> Markup {
        html! {
            @if let Some((first, others)) = self.pictures.split_first() {
                (first)
                @if !others.is_empty() { div .trial-pictures { @for other in others { (other) } } }
            }
        }
    }

    fn tables(&self) -> Markup {
        html! {
            @for sheet in &self.sheets { (table(sheet)) }
            @if !self.findings.is_empty() {
                section .part { h2 { "Findings" } (paper::parts::findings(&self.findings)) }
            }
        }
    }

    /// A Markdown page: sentence, facts, tables, findings.
    pub fn markdown(&self) -> String {
        let mut out = format!(
            "# {}\n\n{}\n\n",
            line(&self.title),
            self.sentence.lines().collect::<Vec<_>>().join("\n\n")
        );
        for (name, words) in &self.facts {
            let _ = writeln!(out, "- {}: {}", capital(name), line(words));
        }
        for sheet in &self.sheets {
            let _ = writeln!(out, "\n## {}\n", line(&sheet.title));
            if !sheet.note.is_empty() {
                let _ = writeln!(out, "{}\n", line(&sheet.note));
            }
            let row = |cells: &mut dyn Iterator<Item = String>| {
                format!("| {} |\n", cells.collect::<Vec<_>>().join(" | "))
            };
            out += &row(&mut sheet.heads.iter().map(|h| md(&h.0)));
            out += &row(&mut sheet
                .heads
                .iter()
                .map(|h| if h.1 { "---:" } else { "---" }.to_owned()));
            for cells in &sheet.rows {
                out += &row(&mut cells.iter().map(|c| md(&c.text)));
            }
        }
        if !self.findings.is_empty() {
            out += "\n## Findings\n\n";
            for f in &self.findings {
                let _ = writeln!(
                    out,
                    "- **{}**: {}{}",
                    f.severity.word(),
                    line(&f.message),
                    if f.help.is_empty() {
                        String::new()
                    } else {
                        format!(" → {}", line(&f.help))
                    }
                );
            }
        }
        out
    }

    /// Every cell of every table as a tidy line (RFC 4180): table, row, column, value. Numbers are
    /// whole, not rounded.
    pub fn csv(&self) -> String {
        let mut out = String::from("table,row,column,value\r\n");
        for sheet in &self.sheets {
            for (i, cells) in sheet.rows.iter().enumerate() {
                for (head, cell) in sheet.heads.iter().zip(cells) {
                    let value = cell
                        .value
                        .map_or_else(|| cell.text.clone(), |v| v.to_string());
                    let value = if value == "–" { String::new() } else { value };
                    let _ = write!(
                        out,
                        "{},{},{},{}\r\n",
                        quoted(&sheet.title),
                        i + 1,
                        quoted(&head.0),
                        quoted(&value)
                    );
                }
            }
        }
        out
    }
}

fn table(sheet: &Sheet) -> Markup {
    let long = sheet.rows.len() > 20;
    html! {
        section .part .whole[!long] {
            h2 { (sheet.title) }
            @if !sheet.note.is_empty() { p { (sheet.note) } }
            div .scroll {
                table .trial-table .long[long] .to-write[sheet.to_fill] {
                    thead { tr { @for (words, number) in &sheet.heads {
                        th scope="col" .figure[*number] { (words) }
                    } @if sheet.to_fill { th scope="col" { "done, note" } } } }
                    tbody { @for cells in &sheet.rows { tr {
                        @for (i, (cell, (_, number))) in cells.iter().zip(&sheet.heads).enumerate() {
                            @if i == 0 && !number { th scope="row" { (cell.text) } }
                            @else { td .figure[*number] { (cell.text) } }
                        }
                        @if sheet.to_fill { td {} }
                    } } }
                }
            }
        }
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

fn line(text: &str) -> String {
    text.replace(['\n', '\r'], " ")
}

fn md(text: &str) -> String {
    line(text).replace('|', "\\|")
}

/// A cell of CSV; what a spreadsheet would take for a formula stays text.
fn quoted(text: &str) -> String {
    let formula = text.starts_with(['=', '@', '\t'])
        || (text.starts_with(['+', '-']) && text.parse::<f64>().is_err());
    let text = if formula {
        format!("'{text}")
    } else {
        text.to_owned()
    };
    if text.contains(['"', ',', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::Cell;

    #[test]
    fn awkward_words_stay_where_they_are() {
        let mut sheet = Sheet::new("Means", "", &["level", "#mean"]);
        sheet.rows.push(vec![
            Cell::from("=a|b, \"c\""),
            super::super::sheet::fixed(Some(-1.0 / 3.0), 2),
        ]);
        let told = Told {
            title: "<b>".into(),
            sheets: vec![sheet],
            ..Told::default()
        };
        assert!(
            told.csv()
                .contains("Means,1,level,\"'=a|b, \"\"c\"\"\"\r\n")
        );
        assert!(told.csv().contains("Means,1,mean,-0.3333333333333333\r\n"));
        assert!(told.markdown().contains("| =a\\|b, \"c\" | −0.33 |"));
        assert!(told.html("1").contains("&lt;b&gt;") && !told.html("1").contains("<b>"));
    }
}
