//! CSV, as RFC 4180 has it, with the separators and decimal marks in use.

use serde::{Deserialize, Serialize};

use super::error::wrong_cell;
use super::{Cell, Decimal, Limits, Table, TableError, write_number};

/// What stands between the cells of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Separator {
    /// A comma.
    Comma,
    /// A semicolon, usual where the comma is the decimal mark.
    Semicolon,
    /// A tab, as spreadsheets put on the clipboard.
    Tab,
}

impl Separator {
    /// All separators.
    pub const ALL: [Separator; 3] = [Separator::Comma, Separator::Semicolon, Separator::Tab];

    /// The character.
    pub fn byte(self) -> u8 {
        match self {
            Separator::Comma => b',',
            Separator::Semicolon => b';',
            Separator::Tab => b'\t',
        }
    }

    /// The separator that the first line holds most often, outside quotation marks; the comma if
    /// none.
    pub fn of(bytes: &[u8]) -> Separator {
        let mut quoted = false;
        let mut counts = [0_usize; 3];
        for byte in bytes {
            match byte {
                b'"' => quoted = !quoted,
                b'\n' | b'\r' if !quoted => break,
                _ if quoted => {}
                byte => {
                    if let Some(at) = Separator::ALL.iter().position(|sep| sep.byte() == *byte) {
                        counts[at] += 1;
                    }
                }
            }
        }
        let most = counts.iter().max().copied().unwrap_or(0);
        let at = counts.iter().position(|count| *count == most).unwrap_or(0);
        Separator::ALL[at]
    }
}

/// How a CSV file is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct CsvForm {
    /// What stands between cells.
    pub separator: Separator,
    /// What stands before the decimals.
    pub decimal: Decimal,
    /// Whether the file begins with a byte order mark, by which spreadsheets know UTF-8.
    pub byte_order_mark: bool,
}

const BYTE_ORDER_MARK: &[u8] = b"\xef\xbb\xbf";

/// Reads a table. Every cell is text or empty; [`Table::number`] makes numbers of those that should
/// be. Row numbers are those of the file, blank lines counted.
///
/// # Errors
/// [`TableError::TooLarge`] beyond the limits; [`TableError::Cell`] for a cell that is not UTF-8 or
/// a quotation mark that is not closed.
pub fn read(bytes: &[u8], separator: Separator, limits: &Limits) -> Result<Table, TableError> {
    limits.check_bytes(bytes.len())?;
    let mut reader = ::csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator.byte())
        .from_reader(bytes);

    let mut table = Table::default();
    let mut record = ::csv::ByteRecord::new();
    let (mut cells, mut text) = (0, 0);
    loop {
        let start = usize::try_from(reader.position().byte()).unwrap_or(bytes.len());
        let more = reader
            .read_byte_record(&mut record)
            .map_err(|error| TableError::NotATable {
                what: error.to_string(),
            })?;
        if !more {
            break;
        }
        let blank_lines = blank_lines_at(bytes, start);
        limits.check_row(table.rows.len() + blank_lines)?;
        table.rows.extend((0..blank_lines).map(|_| Vec::new()));
        let row = table.rows.len();
        limits.check_column(row, record.len() - 1)?;
        cells += record.len();
        limits.check_cells(row, cells)?;

        let mut read = Vec::with_capacity(record.len());
        for (column, field) in record.iter().enumerate() {
            text += field.len();
            limits.check_text(row, column, field.len(), text)?;
            let field = std::str::from_utf8(field).map_err(|_| {
                wrong_cell(
                    row,
                    column,
                    "the text is not UTF-8; save the file as CSV in UTF-8",
                )
            })?;
            read.push(Cell::from(unguarded(field)));
        }
        let rest = &bytes[start..];
        let is_last = usize::try_from(reader.position().byte()).is_ok_and(|end| end >= bytes.len());
        if is_last
            && record
                .iter()
                .next_back()
                .is_some_and(|field| field.contains(&b'\n'))
            && rest.iter().filter(|byte| **byte == b'"').count() % 2 == 1
        {
            let what = "a quotation mark opens here and is not closed";
            return Err(wrong_cell(row, record.len() - 1, what));
        }
        table.rows.push(read);
    }
    Ok(table.trimmed())
}

/// How many blank lines the reader passes over before the record that starts there.
fn blank_lines_at(bytes: &[u8], start: usize) -> usize {
    let rest = bytes.get(start..).unwrap_or_default();
    let rest = match start {
        0 => rest.strip_prefix(BYTE_ORDER_MARK).unwrap_or(rest),
        _ => rest,
    };
    // The line feed of the line before may not have been taken yet.
    let rest = match (
        start.checked_sub(1).map(|before| bytes[before]),
        rest.first(),
    ) {
        (Some(b'\r'), Some(b'\n')) => &rest[1..],
        _ => rest,
    };
    let breaks = rest.iter().take_while(|byte| matches!(byte, b'\r' | b'\n'));
    breaks.filter(|byte| **byte == b'\n').count()
}

/// Writes a table. Text that a spreadsheet would take for a formula gets an apostrophe before it
/// (a common precaution against formulas smuggled in as data; from memory, to be confirmed), which
/// [`read`] takes off again.
///
/// # Errors
/// [`TableError::Cell`] for a number that is not finite.
pub fn write(table: &Table, form: CsvForm) -> Result<Vec<u8>, TableError> {
    let mut out = if form.byte_order_mark {
        BYTE_ORDER_MARK.to_vec()
    } else {
        Vec::new()
    };
    {
        let mut writer = ::csv::WriterBuilder::new()
            .flexible(true)
            .delimiter(form.separator.byte())
            .terminator(::csv::Terminator::CRLF)
            .from_writer(&mut out);
        let told = |error: ::csv::Error| TableError::NotATable {
            what: error.to_string(),
        };
        for (row, cells) in table.rows.iter().enumerate() {
            let mut fields = Vec::with_capacity(cells.len().max(1));
            for (column, cell) in cells.iter().enumerate() {
                fields.push(match cell {
                    Cell::Empty => String::new(),
                    Cell::Text(text) => guarded(text),
                    Cell::Number(value) => write_number(*value, form.decimal).ok_or_else(|| {
                        wrong_cell(
                            row,
                            column,
                            format!("{value} is not a number that can be written"),
                        )
                    })?,
                });
            }
            if fields.is_empty() {
                fields.push(String::new());
            }
            writer.write_record(&fields).map_err(told)?;
        }
        writer.flush().map_err(|error| TableError::NotATable {
            what: error.to_string(),
        })?;
    }
    Ok(out)
}

/// Whether text, behind any number of apostrophes, begins as a formula does.
fn begins_like_a_formula(text: &str) -> bool {
    text.trim_start_matches('\'')
        .starts_with(['=', '+', '-', '@', '\t', '\r'])
}

fn guarded(text: &str) -> String {
    if begins_like_a_formula(text) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

fn unguarded(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if begins_like_a_formula(rest) => rest,
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn of(text: &str) -> Table {
        read(text.as_bytes(), Separator::Comma, &Limits::USUAL).unwrap()
    }

    fn texts(rows: &[&[&str]]) -> Table {
        let rows = rows
            .iter()
            .map(|row| row.iter().map(|text| Cell::from(*text)).collect());
        Table {
            rows: rows.collect(),
        }
    }

    /// The seven rules of RFC 4180, section 2 (from memory, to be confirmed).
    #[test]
    fn the_rules_of_the_format_hold() {
        let two = texts(&[&["aaa", "bbb", "ccc"], &["zzz", "yyy", "xxx"]]);
        assert_eq!(of("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n"), two);
        assert_eq!(of("aaa,bbb,ccc\r\nzzz,yyy,xxx"), two);
        assert_eq!(of("\"aaa\",\"bbb\",\"ccc\"\nzzz,yyy,xxx"), two);
        assert_eq!(
            of("\"aaa\",\"b\r\nbb\",\"ccc\""),
            texts(&[&["aaa", "b\r\nbb", "ccc"]])
        );
        assert_eq!(
            of("\"aaa\",\"b\"\"bb\",\"c,c\""),
            texts(&[&["aaa", "b\"bb", "c,c"]])
        );
        assert_eq!(of("a, b ,c"), texts(&[&["a", " b ", "c"]]));
    }

    #[test]
    fn rows_are_numbered_as_in_the_file() {
        let expected = texts(&[&["a"], &[], &[], &["b"], &["c"]]);
        assert_eq!(of("a\n\n\nb\nc\n"), expected);
        assert_eq!(of("a\r\n\r\n\r\nb\r\nc\r\n\r\n"), expected);
        assert_eq!(of("\u{feff}a\n,,\n\nb\nc"), expected);
        assert_eq!(of("\n\"x\ny\"\n\nz"), texts(&[&[], &["x\ny"], &[], &["z"]]));
        assert_eq!(of(""), Table::default());
        assert_eq!(of("\n\n"), Table::default());
        let table = of("name,protein\n\nbarley,eleven\n");
        let error = table.number(2, 1, Decimal::Point).unwrap_err();
        assert_eq!(
            error.to_string().split_once(':').unwrap().0,
            "row 3, column B (2)"
        );
    }

    #[test]
    fn a_lot_that_looks_like_a_number_stays_as_it_is() {
        let table = of("0012E5,007,1e3,3.50\n");
        assert_eq!(table.text(0, 0).as_deref(), Some("0012E5"));
        assert_eq!(table.text(0, 1).as_deref(), Some("007"));
        assert_eq!(table.number(0, 2, Decimal::Point), Ok(Some(1000.0)));
        assert_eq!(table.number(0, 3, Decimal::Point), Ok(Some(3.5)));
        assert_eq!(table.number(9, 9, Decimal::Point), Ok(None));
    }

    #[test]
    fn decimal_commas_go_out_and_come_in() {
        let form = CsvForm {
            separator: Separator::Semicolon,
            decimal: Decimal::Comma,
            byte_order_mark: true,
        };
        let table = Table {
            rows: vec![vec!["fat".into(), 4.25.into(), Cell::Empty, 1e-9.into()]],
        };
        let bytes = write(&table, form).unwrap();
        assert_eq!(bytes, "\u{feff}fat;4,25;;1e-9\r\n".as_bytes());
        let back = read(&bytes, Separator::of(&bytes), &Limits::USUAL).unwrap();
        assert_eq!(back.number(0, 1, Decimal::Comma), Ok(Some(4.25)));
        assert!(back.number(0, 1, Decimal::Point).is_err());
        let bad = Table {
            rows: vec![vec![], vec![Cell::Empty, f64::NAN.into()]],
        };
        let error = write(&bad, form).unwrap_err();
        assert!(
            matches!(
                error,
                TableError::Cell {
                    row: 2,
                    column: 2,
                    ..
                }
            ),
            "{error}"
        );
    }

    #[test]
    fn the_separator_is_found() {
        assert_eq!(Separator::of(b"a;b;c\n1,5;2;3"), Separator::Semicolon);
        assert_eq!(Separator::of(b"\"a;b;c\",d\n"), Separator::Comma);
        assert_eq!(Separator::of(b"a\tb"), Separator::Tab);
        assert_eq!(Separator::of(b"a"), Separator::Comma);
    }

    #[test]
    fn what_is_too_large_or_not_text_is_refused_with_its_place() {
        let refused = |bytes: &[u8]| read(bytes, Separator::Comma, &Limits::USUAL).unwrap_err();
        let start = std::time::Instant::now();
        let large = vec![b'x'; 50_000_000];
        assert!(refused(&large).to_string().contains("10.0 MB"));
        assert!(start.elapsed().as_secs() < 60);
        assert!(matches!(
            refused(&b"a\n".repeat(100_001)),
            TableError::TooLarge { .. }
        ));
        assert!(matches!(
            refused(&b",".repeat(500)),
            TableError::TooLarge { .. }
        ));
        let wide = [vec![b','; 400], vec![b'\n']].concat().repeat(3000);
        assert!(refused(&wide).to_string().contains("cells"));
        let cell = refused(&[b"a,b\nc,".to_vec(), vec![b'x'; 100_001]].concat());
        assert!(
            matches!(
                cell,
                TableError::Cell {
                    row: 2,
                    column: 2,
                    ..
                }
            ),
            "{cell}"
        );
        let latin = refused(b"a,b\r\n\r\nc,M\xfcller\r\n");
        assert!(
            matches!(
                latin,
                TableError::Cell {
                    row: 3,
                    column: 2,
                    ..
                }
            ),
            "{latin}"
        );
        let open = refused(b"a,b\nc,\"d\ne,f\n");
        assert!(
            matches!(
                open,
                TableError::Cell {
                    row: 2,
                    column: 2,
                    ..
                }
            ),
            "{open}"
        );
        assert_eq!(
            of("a,5\" die\nb,c"),
            texts(&[&["a", "5\" die"], &["b", "c"]])
        );
    }

    #[test]
    fn a_large_file_on_disk_is_not_read_whole() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("large.csv");
        std::fs::File::create(&path)
            .unwrap()
            .set_len(50_000_000)
            .unwrap();
        let refused = super::super::bytes_of(&path, &Limits::USUAL).unwrap_err();
        assert!(matches!(refused, TableError::TooLarge { .. }), "{refused}");
        assert!(super::super::bytes_of(folder.path(), &Limits::USUAL).is_err());
    }

    #[test]
    fn formulas_go_out_as_text() {
        for text in [
            "=1+1", "@x", "-a", "+b", "'=1", "''=1", "'quoted'", "\ttab", "<script>",
        ] {
            let form = CsvForm {
                separator: Separator::Comma,
                decimal: Decimal::Point,
                byte_order_mark: false,
            };
            let bytes = write(&texts(&[&[text]]), form).unwrap();
            let shown = String::from_utf8(bytes.clone()).unwrap();
            let first = shown.trim_start_matches('"').chars().next().unwrap();
            assert!(!"=+-@\t\r".contains(first), "{shown}");
            assert_eq!(
                read(&bytes, Separator::Comma, &Limits::USUAL).unwrap(),
                texts(&[&[text]])
            );
        }
    }

    proptest! {
        #[test]
        fn any_table_of_text_comes_back(rows in prop::collection::vec(prop::collection::vec("(?s).{0,8}|[=+'@,;\" \r\n-]{0,5}", 0..5), 0..6)) {
            let rows = rows.iter().map(|row| row.iter().map(|text| Cell::from(text.as_str())).collect());
            let table = Table { rows: rows.collect() }.trimmed();
            for separator in Separator::ALL {
                let form = CsvForm { separator, decimal: Decimal::Comma, byte_order_mark: true };
                let bytes = write(&table, form).unwrap();
                prop_assert_eq!(&read(&bytes, separator, &Limits::USUAL).unwrap(), &table);
            }
        }

        #[test]
        fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(prop_oneof![4 => any::<u8>(), 3 => prop::sample::select(b",;\"\r\n'=".to_vec())], 0..200)) {
            let _read_or_refused = read(&bytes, Separator::of(&bytes), &Limits::USUAL);
        }
    }
}
