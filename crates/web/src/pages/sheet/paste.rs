//! A block of amounts from a spreadsheet or a text: which sign parts the columns and which is the decimal mark is told
//! from the whole block. Where it can be read in two ways it is asked and never guessed.

use book::exchange::{Decimal, read_number};
use maud::{Markup, html};
use serde::Serialize;

/// One way to read a block: rows of amounts as this person writes them, empty where the block has none.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Reading {
    /// What was taken for what.
    pub words: String,
    pub rows: Vec<Vec<String>>,
}

/// What a block says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Pasted {
    /// It can be read in one way only.
    Sure(Reading),
    /// It is asked, the likelier reading first.
    Ask(Vec<Reading>),
}

/// Rows and columns that are more than any sheet has.
pub const MOST_ROWS: usize = 400;
pub const MOST_COLUMNS: usize = 100;

/// How the digits of a block are grouped.
#[derive(Clone, Copy)]
struct Marks {
    decimal: Decimal,
    /// Whether the other mark stands between thousands.
    thousands: bool,
}

/// Reads a block for a person who writes `own` as decimal mark.
///
/// Tabs part columns, else semicolons. Of a comma alone the block has to tell: it is the decimal mark where it can't
/// stand between thousands, and it parts columns where a point is the decimal mark, where a space follows it or where
/// a line has several.
///
/// # Errors
/// Why it can't be taken, and what to do.
pub fn read(raw: &str, own: Decimal) -> Result<Pasted, String> {
    let text = raw.replace("\r\n", "\n").replace('\r', "\n");
    let lines: Vec<&str> = text.trim_end_matches('\n').split('\n').collect();
    if lines.len() > MOST_ROWS {
        return Err(format!(
            "The block has {} lines; at most {MOST_ROWS} can be pasted. Nothing was changed.",
            lines.len()
        ));
    }
    for separator in ['\t', ';'] {
        if text.contains(separator) {
            return parted(&cells(&lines, Some(separator)), own);
        }
    }
    let commas = || lines.iter().map(|l| l.matches(',').count());
    let alone = cells(&lines, None);
    if commas().all(|n| n == 0) {
        return parted(&alone, own);
    }
    let split = cells(&lines, Some(','));
    let columns = commas().max().unwrap_or(0) + 1;
    let as_columns = || {
        reading(
            &split,
            own,
            POINT,
            &format!("{columns} columns, parted by commas"),
        )
    };
    let spaced = text.contains(", ");
    let quoted = text.contains('"');
    match marks_of(&alone, own) {
        // Whole numbers side by side, or decimals with a point: no one number reads so.
        None if own == Decimal::Point || text.contains('.') || spaced || quoted => {
            as_columns().map(Pasted::Sure)
        }
        None => as_columns().map(|r| Pasted::Ask(vec![r])),
        Some(_) if spaced || quoted => as_columns().map(Pasted::Sure),
        Some(marks) => {
            let one: Vec<Reading> = marks
                .iter()
                .map(|m| reading(&alone, own, *m, &told("one column", *m)))
                .collect::<Result<_, _>>()?;
            // Who writes decimals with a comma means that by it.
            if own == Decimal::Comma && marks.iter().all(|m| m.decimal == own && !m.thousands) {
                return one.into_iter().next().map(Pasted::Sure).ok_or_else(nothing);
            }
            Ok(Pasted::Ask(
                one.into_iter().chain(as_columns().ok()).collect(),
            ))
        }
    }
}

const POINT: Marks = Marks {
    decimal: Decimal::Point,
    thousands: false,
};

fn nothing() -> String {
    "There is nothing to paste.".to_owned()
}

/// A block whose columns are known.
fn parted(cells: &[Vec<String>], own: Decimal) -> Result<Pasted, String> {
    let columns = cells.iter().map(Vec::len).max().unwrap_or(0);
    if columns > MOST_COLUMNS {
        return Err(format!(
            "The block has {columns} columns; at most {MOST_COLUMNS} can be pasted. Nothing was changed."
        ));
    }
    let mut ways = ways(cells, own)?;
    Ok(if ways.len() == 1 {
        Pasted::Sure(ways.remove(0))
    } else {
        Pasted::Ask(ways)
    })
}

/// The ways in which the amounts of a block whose columns are known can be read, the likeliest first.
///
/// # Errors
/// Why they can't be read, and what to do.
pub fn ways(cells: &[Vec<String>], own: Decimal) -> Result<Vec<Reading>, String> {
    let columns = cells.iter().map(Vec::len).max().unwrap_or(0);
    let columns = if columns == 1 {
        "one column".to_owned()
    } else {
        format!("{columns} columns")
    };
    let marks = marks_of(cells, own).ok_or_else(|| {
        "Some of the numbers have a decimal comma and some a decimal point, so it can’t be told what they are. \
         Write them all alike and paste again; nothing was changed."
            .to_owned()
    })?;
    marks
        .iter()
        .map(|m| reading(cells, own, *m, &told(&columns, *m)))
        .collect()
}

fn told(columns: &str, marks: Marks) -> String {
    let (name, other) = match marks.decimal {
        Decimal::Point => ("point", "comma"),
        Decimal::Comma => ("comma", "point"),
    };
    if marks.thousands {
        format!("{columns}; the {other} stands between thousands")
    } else {
        format!("{columns}; the {name} is the decimal mark")
    }
}

/// The cells of a block, bare of quotes, marks of per cent and spaces that don't break.
pub fn cells(lines: &[&str], separator: Option<char>) -> Vec<Vec<String>> {
    let cell = |text: &str| {
        let text = text.trim();
        let bare = text
            .strip_prefix('"')
            .and_then(|t| t.strip_suffix('"'))
            .unwrap_or(text);
        let bare: String = bare
            .chars()
            .filter(|c| !matches!(c, '\u{a0}' | '\u{202f}' | '\u{feff}'))
            .collect();
        let bare = bare.trim_end_matches('%').trim().replace('\u{2212}', "-");
        if matches!(bare.as_str(), "–" | "-") {
            String::new()
        } else {
            bare
        }
    };
    let parts = |line: &&str| match separator {
        Some(mark) => line.split(mark).map(cell).collect(),
        None => vec![cell(line)],
    };
    lines.iter().map(parts).collect()
}

/// The ways in which every number of a block can be read, the likeliest first; none where there is no common one.
fn marks_of(cells: &[Vec<String>], own: Decimal) -> Option<Vec<Marks>> {
    let numbers: Vec<&str> = cells
        .iter()
        .flatten()
        .map(String::as_str)
        .filter(|t| t.contains(['.', ',']))
        .collect();
    let other = match own {
        Decimal::Point => Decimal::Comma,
        Decimal::Comma => Decimal::Point,
    };
    let way = |decimal, thousands| Marks { decimal, thousands };
    let fits = |m: &Marks| numbers.iter().all(|n| plain(n, *m).is_some());
    // The person's own mark as it stands is what the person writes.
    if fits(&way(own, false)) {
        return Some(vec![way(own, false)]);
    }
    let ways = if fits(&way(other, false)) {
        [way(other, false), way(own, true)]
    } else {
        [way(own, true), way(other, true)]
    };
    let ways: Vec<Marks> = ways.into_iter().filter(fits).collect();
    (!ways.is_empty()).then_some(ways)
}

/// A number with a point as decimal mark and no thousands, where it can be read so.
fn plain(text: &str, marks: Marks) -> Option<String> {
    let decimal = marks.decimal.mark();
    let between = if decimal == '.' { ',' } else { '.' };
    let (whole, decimals) = match text.split_once(decimal) {
        Some((whole, decimals)) => (whole, Some(decimals)),
        None => (text, None),
    };
    if decimals.is_some_and(|d| d.contains(['.', ','])) {
        return None;
    }
    let joined = if whole.contains(between) {
        let digits = whole.trim_start_matches(['-', '+']);
        let mut groups = digits.split(between);
        let first = groups.next()?;
        let begins = (1..=3).contains(&first.len()) && !first.starts_with('0');
        let three = |g: &str| g.len() == 3 && g.bytes().all(|b| b.is_ascii_digit());
        if !marks.thousands || !begins || !groups.all(three) {
            return None;
        }
        whole.replace(between, "")
    } else {
        whole.to_owned()
    };
    Some(decimals.map_or_else(|| joined.clone(), |d| format!("{joined}.{d}")))
}

/// The amounts of a block read in one way, each checked.
fn reading(
    cells: &[Vec<String>],
    own: Decimal,
    marks: Marks,
    words: &str,
) -> Result<Reading, String> {
    let amount = |text: &String| -> Result<String, String> {
        if text.is_empty() {
            return Ok(String::new());
        }
        let number = plain(text, marks).filter(|n| read_number(n, Decimal::Point).is_ok());
        let shown: String = text.chars().take(40).collect();
        let number = number.ok_or_else(|| {
            format!("‘{shown}’ is no amount. Copy the amounts alone, without names and heads; nothing was changed.")
        })?;
        Ok(number.replace('.', &own.mark().to_string()))
    };
    let rows = cells
        .iter()
        .map(|row| row.iter().map(amount).collect())
        .collect::<Result<Vec<Vec<String>>, String>>()?;
    if rows.iter().flatten().all(String::is_empty) {
        return Err(nothing());
    }
    Ok(Reading {
        words: words.to_owned(),
        rows,
    })
}

/// What a block could be, each reading as it would stand in the sheet, to be chosen.
pub fn asked(readings: &[Reading]) -> Markup {
    html! {
        p { @if readings.len() == 1 { "It isn’t certain how this block is meant. It was read so:" } @else { "This block can be read in more than one way. How is it meant?" } }
        @for (i, reading) in readings.iter().enumerate() {
            div .reading {
                p { (reading.words) ":" }
                table { tbody { @for row in reading.rows.iter().take(6) { tr { @for cell in row.iter().take(8) { td .figure { @if cell.is_empty() { "–" } @else { (cell) } } } } } } }
                @if reading.rows.len() > 6 { p .second { "and " (reading.rows.len() - 6) " more rows" } }
                button .main[i == 0] type="button" data-do="paste" data-reading=(i) { "Take it so" }
            }
        }
        button type="button" data-do="paste" { "Paste nothing" }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(rows: &[&[&str]]) -> Vec<Vec<String>> {
        rows.iter()
            .map(|r| r.iter().map(|c| (*c).to_owned()).collect())
            .collect()
    }

    fn sure(raw: &str, own: Decimal) -> Vec<Vec<String>> {
        match read(raw, own) {
            Ok(Pasted::Sure(reading)) => reading.rows,
            other => panic!("{raw:?}: {other:?}"),
        }
    }

    fn ask(raw: &str, own: Decimal) -> Vec<Vec<Vec<String>>> {
        match read(raw, own) {
            Ok(Pasted::Ask(readings)) => readings.into_iter().map(|r| r.rows).collect(),
            other => panic!("{raw:?}: {other:?}"),
        }
    }

    // How numbers are written in tables: common practice, no source.

    #[test]
    fn a_comma_between_digits_is_no_new_column_unasked() {
        use Decimal::{Comma, Point};
        assert_eq!(
            ask("58,5", Point),
            [rows(&[&["58.5"]]), rows(&[&["58", "5"]])]
        );
        assert_eq!(sure("58,5", Comma), rows(&[&["58,5"]]));
        assert_eq!(ask("58,5\n0,25\n", Point)[0], rows(&[&["58.5"], &["0.25"]]));
        // In a block of tabs the comma can only be the decimal mark.
        assert_eq!(
            sure("58,5\t20,25\r\n1,5\t–\r\n", Point),
            rows(&[&["58.5", "20.25"], &["1.5", ""]])
        );
        assert_eq!(sure("58,5;20,1", Point), rows(&[&["58.5", "20.1"]]));
        assert_eq!(sure("58.5\t20.1", Comma), rows(&[&["58,5", "20,1"]]));
        // One number that can't be thousands tells for all.
        assert_eq!(sure("1,234\t0,250\n", Point), rows(&[&["1.234", "0.250"]]));
    }

    #[test]
    fn what_could_be_thousands_is_asked() {
        use Decimal::{Comma, Point};
        assert_eq!(
            ask("1,234", Point),
            [
                rows(&[&["1.234"]]),
                rows(&[&["1234"]]),
                rows(&[&["1", "234"]])
            ]
        );
        assert_eq!(
            ask("1,234\t2,500", Point),
            [rows(&[&["1.234", "2.500"]]), rows(&[&["1234", "2500"]])]
        );
        assert_eq!(ask("1.234\t2", Comma)[1], rows(&[&["1234", "2"]]));
        // The person's own mark is as the person writes.
        assert_eq!(sure("1.234\t2", Point), rows(&[&["1.234", "2"]]));
        // Both marks in one number leave one reading.
        assert_eq!(sure("1,234.5\t2", Point), rows(&[&["1234.5", "2"]]));
        assert_eq!(
            ask("1,234.5", Point),
            [rows(&[&["1234.5"]]), rows(&[&["1", "234.5"]])]
        );
        assert_eq!(sure("1.234,5\t2", Point), rows(&[&["1234.5", "2"]]));
    }

    #[test]
    fn commas_part_columns_where_they_can_only_do_that() {
        use Decimal::{Comma, Point};
        assert_eq!(
            sure("58.5,20.1\n1.5,", Point),
            rows(&[&["58.5", "20.1"], &["1.5", ""]])
        );
        assert_eq!(sure("58, 20", Point), rows(&[&["58", "20"]]));
        assert_eq!(sure("55,60,12", Point), rows(&[&["55", "60", "12"]]));
        assert_eq!(ask("55,60,12", Comma), [rows(&[&["55", "60", "12"]])]);
    }

    #[test]
    fn what_is_no_amount_is_refused_whole_and_kindly() {
        for raw in ["Salt\t0.3", "0.3 g\t1", "\t\n\t", "1e999\t1", "58,5\t20.1"] {
            let why = read(raw, Decimal::Point).unwrap_err();
            assert!(!why.is_empty() && why.ends_with('.'), "{raw:?}: {why}");
        }
        let why = read("Salt\t0.3", Decimal::Point).unwrap_err();
        assert!(why.contains("‘Salt’"), "{why}");
        let why = read("58,5\t20.1", Decimal::Point).unwrap_err();
        assert!(why.contains("comma") && why.contains("point"), "{why}");
        assert_eq!(sure("−1.5\t12 %", Decimal::Point), rows(&[&["-1.5", "12"]]));
    }

    #[test]
    fn what_the_sheet_copies_it_reads() {
        for (own, text) in [
            (Decimal::Point, "54.00\t51.36"),
            (Decimal::Comma, "54,00\t51,36"),
        ] {
            let read = sure(&format!("{text}\n0\t"), own);
            assert_eq!(read[0].join("\t"), text);
            assert_eq!(read[1], ["0", ""]);
        }
    }
}
