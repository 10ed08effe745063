//! Plain tables for a terminal of 100 columns.

use unicode_width::UnicodeWidthStr;

/// Widest line a table may take.
pub const WIDTH: usize = 100;

/// Which side a column keeps to.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A row of a table: cells, or a heading over the rows below it.
pub enum Row {
    /// One cell for each column.
    Cells(Vec<String>),
    /// A heading.
    Heading(String),
}

/// Writes rows under a head, columns two spaces apart, no trailing space.
pub fn table(head: &[&str], sides: &[Side], rows: &[Row]) -> String {
    let mut widths: Vec<usize> = head.iter().map(|h| h.width()).collect();
    for row in rows {
        if let Row::Cells(cells) = row {
            for (w, cell) in widths.iter_mut().zip(cells) {
                *w = (*w).max(cell.width());
            }
        }
    }
    let mut out = String::new();
    let head: Vec<String> = head.iter().map(|h| (*h).to_owned()).collect();
    line(&mut out, &head, sides, &widths);
    for row in rows {
        match row {
            Row::Cells(cells) => line(&mut out, cells, sides, &widths),
            Row::Heading(text) => {
                out.push('\n');
                out.push_str(text);
                out.push('\n');
            }
        }
    }
    out
}

fn line(out: &mut String, cells: &[String], sides: &[Side], widths: &[usize]) {
    let mut text = String::new();
    for ((cell, side), width) in cells.iter().zip(sides).zip(widths) {
        let pad = " ".repeat(width.saturating_sub(cell.width()));
        if !text.is_empty() {
            text.push_str("  ");
        }
        match side {
            Side::Left => {
                text.push_str(cell);
                text.push_str(&pad);
            }
            Side::Right => {
                text.push_str(&pad);
                text.push_str(cell);
            }
        }
    }
    out.push_str(text.trim_end());
    out.push('\n');
}

/// Cuts a text to a width, with an ellipsis where something is left out.
pub fn cut(text: &str, width: usize) -> String {
    if text.width() <= width {
        return text.to_owned();
    }
    let mut out = String::new();
    for c in text.chars() {
        if out.width() + 2 > width {
            break;
        }
        out.push(c);
    }
    out.push('…');
    out
}

/// Breaks a text into lines of at most `width` columns, indented by `indent`.
pub fn wrap(text: &str, width: usize, indent: &str) -> String {
    let mut out = String::new();
    let mut here = String::new();
    for word in text.split_whitespace() {
        if !here.is_empty() && here.width() + 1 + word.width() + indent.width() > width {
            out.push_str(indent);
            out.push_str(&here);
            out.push('\n');
            here.clear();
        }
        if !here.is_empty() {
            here.push(' ');
        }
        here.push_str(word);
    }
    if !here.is_empty() {
        out.push_str(indent);
        out.push_str(&here);
        out.push('\n');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_under_each_other() {
        let rows = [
            Row::Cells(vec!["bake".into(), "17.4".into()]),
            Row::Heading("line".into()),
            Row::Cells(vec!["output".into(), "412".into()]),
        ];
        let text = table(&["", "Control"], &[Side::Left, Side::Right], &rows);
        assert_eq!(
            text,
            "        Control\nbake       17.4\n\nline\noutput      412\n"
        );
    }

    #[test]
    fn long_words_are_cut_and_long_texts_wrapped() {
        assert_eq!(cut("Rice and chickpea", 8), "Rice an…");
        assert_eq!(wrap("one two three", 9, "  "), "  one two\n  three\n");
    }
}
