//! XLSX workbooks (ECMA-376).

use std::io::{Cursor, Read};

use calamine::{DataRef, Reader, Xlsx};

use super::error::wrong_cell;
use super::limits::megabytes;
use super::{Cell, Limits, Table, TableError};

/// The most characters a cell of the format holds (ECMA-376 has 32 767; from memory, to be
/// confirmed).
const CELL_CHARACTERS: usize = 32_767;
/// The most parts a workbook may consist of (common practice, no source: ours have about ten).
const PARTS: usize = 2_000;

/// Writes a workbook with one sheet for each named table. The same tables give the same bytes.
///
/// # Errors
/// [`TableError::Cell`] for a number that is not finite or text too long for a cell;
/// [`TableError::NotATable`] for a sheet name that the format does not allow.
pub fn write(sheets: &[(&str, &Table)]) -> Result<Vec<u8>, TableError> {
    let told = |error: rust_xlsxwriter::XlsxError| TableError::NotATable {
        what: error.to_string(),
    };
    let mut workbook = rust_xlsxwriter::Workbook::new();
    // Without this the file would hold the moment of writing; the clock is no concern of this crate.
    let long_ago = rust_xlsxwriter::ExcelDateTime::from_ymd(2000, 1, 1).map_err(told)?;
    workbook
        .set_properties(&rust_xlsxwriter::DocProperties::new().set_creation_datetime(&long_ago));
    for (name, table) in sheets {
        let sheet = workbook.add_worksheet();
        sheet.set_name(*name).map_err(told)?;
        for (row, cells) in table.rows.iter().enumerate() {
            for (column, cell) in cells.iter().enumerate() {
                let beyond = || wrong_cell(row, column, "a workbook has no such cell");
                let at_row = u32::try_from(row).map_err(|_| beyond())?;
                let at_column = u16::try_from(column).map_err(|_| beyond())?;
                let wrong = |what: String| wrong_cell(row, column, what);
                match cell {
                    Cell::Empty => {}
                    Cell::Text(text) if text.chars().count() > CELL_CHARACTERS => {
                        return Err(wrong(format!(
                            "the text is longer than the {CELL_CHARACTERS} characters a workbook cell holds"
                        )));
                    }
                    Cell::Text(text) => {
                        sheet
                            .write_string(at_row, at_column, text)
                            .map_err(|error| wrong(error.to_string()))?;
                    }
                    Cell::Number(value) if !value.is_finite() => {
                        return Err(wrong(format!(
                            "{value} is not a number that can be written"
                        )));
                    }
                    Cell::Number(value) => {
                        sheet
                            .write_number(at_row, at_column, *value)
                            .map_err(|error| wrong(error.to_string()))?;
                    }
                }
            }
        }
    }
    workbook.save_to_buffer().map_err(told)
}

/// The names of the sheets of a workbook.
///
/// # Errors
/// [`TableError::TooLarge`] beyond the limits; [`TableError::NotATable`] for anything but a workbook.
pub fn sheets(bytes: &[u8], limits: &Limits) -> Result<Vec<String>, TableError> {
    Ok(opened(bytes, limits)?.sheet_names())
}

/// Reads a sheet, the first if none is named. Dates come as text such as `2026-03-02`, truth values
/// as `true` and `false`; of formulas, the value last reckoned.
///
/// # Errors
/// [`TableError::TooLarge`] beyond the limits, before memory is given to it; [`TableError::Cell`]
/// for a cell that holds an error; [`TableError::NoSuchSheet`]; [`TableError::NotATable`].
pub fn read(bytes: &[u8], sheet: Option<&str>, limits: &Limits) -> Result<Table, TableError> {
    let mut workbook = opened(bytes, limits)?;
    let names = workbook.sheet_names();
    let name = match sheet {
        None => names
            .first()
            .cloned()
            .ok_or_else(|| not_a_table("the workbook has no sheet"))?,
        Some(asked) => match names.iter().find(|name| *name == asked) {
            Some(name) => name.clone(),
            None => {
                return Err(TableError::NoSuchSheet {
                    asked: asked.to_owned(),
                    found: names,
                });
            }
        },
    };
    let mut reader = workbook
        .worksheet_cells_reader(&name)
        .map_err(not_a_table)?;

    let mut table = Table::default();
    let (mut cells, mut text) = (0, 0);
    while let Some(found) = reader.next_cell().map_err(not_a_table)? {
        let (row, column) = found.get_position();
        let (row, column) = (row as usize, column as usize);
        let cell = cell_of(found.get_value(), row, column)?;
        let Some(cell) = cell else { continue };
        limits.check_row(row)?;
        limits.check_column(row, column)?;
        if let Cell::Text(words) = &cell {
            text += words.len();
            limits.check_text(row, column, words.len(), text)?;
        }
        if table.rows.len() <= row {
            table.rows.resize(row + 1, Vec::new());
        }
        let cells_of_row = &mut table.rows[row];
        if cells_of_row.len() <= column {
            cells += column + 1 - cells_of_row.len();
            limits.check_cells(row, cells)?;
            cells_of_row.resize(column + 1, Cell::Empty);
        }
        cells_of_row[column] = cell;
    }
    Ok(table.trimmed())
}

/// What a cell holds; none if nothing.
fn cell_of(value: &DataRef<'_>, row: usize, column: usize) -> Result<Option<Cell>, TableError> {
    let text = |text: &str| match Cell::from(text) {
        Cell::Empty => None,
        cell => Some(cell),
    };
    Ok(match value {
        DataRef::Empty => None,
        DataRef::Int(value) => Some(Cell::Number(*value as f64)),
        DataRef::Float(value) if value.is_finite() => Some(Cell::Number(*value)),
        DataRef::Float(value) => {
            return Err(wrong_cell(row, column, format!("{value} is not a number")));
        }
        DataRef::String(words) | DataRef::DateTimeIso(words) | DataRef::DurationIso(words) => {
            text(words)
        }
        DataRef::SharedString(words) => text(words),
        DataRef::Bool(value) => text(if *value { "true" } else { "false" }),
        DataRef::DateTime(moment) if moment.is_duration() => {
            let seconds = (moment.as_f64() * 86_400.0).round();
            let sign = if seconds < 0.0 { "-" } else { "" };
            let seconds = seconds.abs() as u64;
            text(&format!(
                "{sign}{}:{:02}:{:02}",
                seconds / 3600,
                seconds / 60 % 60,
                seconds % 60
            ))
        }
        DataRef::DateTime(moment) => {
            let (year, month, day, hour, minute, second, _) = moment.to_ymd_hms_milli();
            let date = format!("{year:04}-{month:02}-{day:02}");
            if (hour, minute, second) == (0, 0, 0) {
                text(&date)
            } else {
                text(&format!("{date}T{hour:02}:{minute:02}:{second:02}"))
            }
        }
        DataRef::Error(error) => {
            let what =
                format!("the cell holds the error {error}; mend the formula or write the value");
            return Err(wrong_cell(row, column, what));
        }
    })
}

/// Opens a workbook after making sure that it unpacks to no more than is allowed. What the file says
/// about its sizes is not believed: everything is unpacked once, into nothing, and counted.
fn opened<'a>(bytes: &'a [u8], limits: &Limits) -> Result<Xlsx<Cursor<&'a [u8]>>, TableError> {
    limits.check_bytes(bytes.len())?;
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes))
        .map_err(|_| not_a_table("it is no XLSX workbook; save it as one from the spreadsheet"))?;
    let too_large = || TableError::TooLarge {
        what: format!(
            "a workbook that unpacks to more than {}",
            megabytes(limits.unpacked_bytes)
        ),
        most: megabytes(limits.unpacked_bytes),
    };
    if archive.len() > PARTS {
        return Err(TableError::TooLarge {
            what: format!("a workbook of {} parts", archive.len()),
            most: format!("{PARTS} parts"),
        });
    }
    let most = limits.unpacked_bytes as u64;
    let mut unpacked = 0;
    for at in 0..archive.len() {
        let part = archive.by_index(at).map_err(not_a_table)?;
        let mut counted = part.take(most - unpacked + 1);
        unpacked += std::io::copy(&mut counted, &mut std::io::sink()).map_err(not_a_table)?;
        if unpacked > most {
            return Err(too_large());
        }
    }
    Xlsx::new(Cursor::new(bytes)).map_err(not_a_table)
}

fn not_a_table(what: impl std::fmt::Display) -> TableError {
    TableError::NotATable {
        what: what.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exchange::Decimal;
    use proptest::prelude::*;
    use std::io::Write;

    fn sample() -> Table {
        Table {
            rows: vec![
                vec!["material".into(), "protein".into()],
                vec!["barley".into(), 0.105.into(), Cell::Empty, "=1+1".into()],
                vec![],
                vec![
                    Cell::Empty,
                    (-1e300).into(),
                    "<b>&\"'</b>".into(),
                    "ä\n🦴 ".into(),
                ],
            ],
        }
    }

    fn zipped(parts: &[(&str, &[u8])]) -> Vec<u8> {
        let mut writer = zip::ZipWriter::new(Cursor::new(Vec::new()));
        for (name, content) in parts {
            writer
                .start_file(*name, zip::write::SimpleFileOptions::default())
                .unwrap();
            writer.write_all(content).unwrap();
        }
        writer.finish().unwrap().into_inner()
    }

    /// A workbook with the sheet's XML as given.
    fn workbook(sheet: &str) -> Vec<u8> {
        const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
        const LINKS: &str = "http://schemas.openxmlformats.org/package/2006/relationships";
        const OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
        let book = format!(
            "<workbook xmlns=\"{MAIN}\" xmlns:r=\"{OFFICE}\"><sheets><sheet name=\"S\" sheetId=\"1\" r:id=\"rId1\"/></sheets></workbook>"
        );
        let root = format!(
            "<Relationships xmlns=\"{LINKS}\"><Relationship Id=\"rId1\" Type=\"{OFFICE}/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"
        );
        let links = format!(
            "<Relationships xmlns=\"{LINKS}\"><Relationship Id=\"rId1\" Type=\"{OFFICE}/worksheet\" Target=\"worksheets/sheet1.xml\"/></Relationships>"
        );
        let sheet =
            format!("<worksheet xmlns=\"{MAIN}\"><sheetData>{sheet}</sheetData></worksheet>");
        zipped(&[
            ("_rels/.rels", root.as_bytes()),
            ("xl/workbook.xml", book.as_bytes()),
            ("xl/_rels/workbook.xml.rels", links.as_bytes()),
            ("xl/worksheets/sheet1.xml", sheet.as_bytes()),
        ])
    }

    fn refused(bytes: &[u8]) -> TableError {
        read(bytes, None, &Limits::USUAL).unwrap_err()
    }

    #[test]
    fn a_table_goes_out_and_comes_back() {
        let other = Table {
            rows: vec![vec![7.0.into()]],
        };
        let bytes = write(&[("Materials", &sample()), ("Notes", &other)]).unwrap();
        assert_eq!(
            sheets(&bytes, &Limits::USUAL).unwrap(),
            ["Materials", "Notes"]
        );
        let back = read(&bytes, None, &Limits::USUAL).unwrap();
        assert_eq!(back, sample());
        assert_eq!(back.number(1, 1, Decimal::Comma), Ok(Some(0.105)));
        assert_eq!(read(&bytes, Some("Notes"), &Limits::USUAL).unwrap(), other);
        assert_eq!(
            bytes,
            write(&[("Materials", &sample()), ("Notes", &other)]).unwrap()
        );
        let missing = read(&bytes, Some("Lots"), &Limits::USUAL).unwrap_err();
        assert!(
            missing.to_string().contains("Materials, Notes"),
            "{missing}"
        );
    }

    #[test]
    fn what_a_workbook_cannot_hold_is_refused_with_its_place() {
        let at = |cell: Cell| {
            let table = Table {
                rows: vec![vec![], vec![Cell::Empty, cell]],
            };
            write(&[("S", &table)]).unwrap_err()
        };
        for error in [at(f64::INFINITY.into()), at(Cell::Text("x".repeat(32_768)))] {
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
        assert!(write(&[("a/b", &sample())]).is_err());
        let text = Table {
            rows: vec![vec![Cell::Text("x".repeat(32_767))]],
        };
        let bytes = write(&[("S", &text)]).unwrap();
        assert_eq!(read(&bytes, None, &Limits::USUAL).unwrap(), text);
    }

    #[test]
    fn cells_far_away_cost_no_memory_and_are_refused() {
        let far = |place: &str| {
            refused(&workbook(&format!(
                "<row><c r=\"A1\"><v>1</v></c><c r=\"{place}\"><v>1</v></c></row>"
            )))
        };
        assert!(far("XFD1").to_string().contains("column 16384"));
        assert!(far("A1048576").to_string().contains("row 1048576"));
        let wide: String = (1..=3000)
            .map(|row| format!("<row r=\"{row}\"><c r=\"PZ{row}\"><v>1</v></c></row>"))
            .collect();
        assert!(refused(&workbook(&wide)).to_string().contains("cells"));
        let near = workbook("<row r=\"1\"><c r=\"B1\"><v>1</v></c></row>");
        assert_eq!(
            read(&near, None, &Limits::USUAL).unwrap().rows,
            [[Cell::Empty, 1.0.into()]]
        );
    }

    #[test]
    fn errors_and_truth_values_are_read_as_what_they_are() {
        let error = refused(&workbook(
            "<row r=\"2\"><c r=\"C2\" t=\"e\"><v>#DIV/0!</v></c></row>",
        ));
        assert!(
            matches!(
                error,
                TableError::Cell {
                    row: 2,
                    column: 3,
                    ..
                }
            ),
            "{error}"
        );
        let truth = workbook("<row r=\"1\"><c r=\"A1\" t=\"b\"><v>1</v></c></row>");
        assert_eq!(
            read(&truth, None, &Limits::USUAL)
                .unwrap()
                .text(0, 0)
                .as_deref(),
            Some("true")
        );
    }

    #[test]
    fn a_workbook_that_unpacks_to_too_much_is_refused_soon() {
        let start = std::time::Instant::now();
        let zeros = vec![b' '; 200_000_000];
        let bomb = zipped(&[("xl/workbook.xml", &zeros)]);
        assert!(bomb.len() < 1_000_000, "{}", bomb.len());
        let built = start.elapsed();
        assert!(refused(&bomb).to_string().contains("32.0 MB"));
        assert!((start.elapsed() - built).as_secs() < 60);
        // Many parts that are each within the limit.
        let many: Vec<(String, &[u8])> = (0..20)
            .map(|at| (format!("part{at}"), &zeros[..2_000_000]))
            .collect();
        let many: Vec<(&str, &[u8])> = many
            .iter()
            .map(|(name, part)| (name.as_str(), *part))
            .collect();
        assert!(matches!(
            refused(&zipped(&many)),
            TableError::TooLarge { .. }
        ));
        // A file that understates what it unpacks to: the size in both of its headers is made 1.
        let mut liar = zipped(&[("xl/workbook.xml", &zeros)]);
        let said = 200_000_000_u32.to_le_bytes();
        let mut changed = 0;
        for at in 0..liar.len() - 4 {
            if liar[at..at + 4] == said {
                liar[at..at + 4].copy_from_slice(&1_u32.to_le_bytes());
                changed += 1;
            }
        }
        assert!(changed >= 1);
        read(&liar, None, &Limits::USUAL).unwrap_err();
        assert!(matches!(
            refused(b"PK not really"),
            TableError::NotATable { .. }
        ));
        assert!(matches!(refused(b""), TableError::NotATable { .. }));
        assert!(matches!(
            refused(&vec![0; 50_000_000]),
            TableError::TooLarge { .. }
        ));
    }

    /// One long text that a great many cells share is small on disk and large in memory.
    #[test]
    fn text_that_is_shared_by_many_cells_is_counted_each_time() {
        let long = Table {
            rows: vec![vec![Cell::Text("x".repeat(30_000))]; 2000],
        };
        let bytes = write(&[("S", &long)]).unwrap();
        assert!(bytes.len() < 200_000, "{}", bytes.len());
        assert!(matches!(refused(&bytes), TableError::TooLarge { .. }));
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

        #[test]
        fn any_table_comes_back(rows in prop::collection::vec(prop::collection::vec(
            prop_oneof![
                Just(Cell::Empty),
                "\\PC{1,8}".prop_map(Cell::Text),
                prop::num::f64::NORMAL.prop_map(Cell::Number),
            ], 0..5), 0..6)) {
            let table = Table { rows }.trimmed();
            let bytes = write(&[("S", &table)]).unwrap();
            prop_assert_eq!(read(&bytes, None, &Limits::USUAL).unwrap(), table);
        }

        #[test]
        fn a_harmed_workbook_is_read_or_refused(places in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6)) {
            let mut bytes = write(&[("S", &sample())]).unwrap();
            for (place, byte) in places {
                let place = place.index(bytes.len());
                bytes[place] = byte;
            }
            let _read_or_refused = read(&bytes, None, &Limits::USUAL);
        }

        #[test]
        fn a_sheet_of_any_xml_is_read_or_refused(xml in "(<(row|c|v|is|t)( r=\"[A-Z]{0,3}[0-9]{0,7}\"| t=\"[a-z]{0,3}\")?/?>|</(row|c|v|is|t)>|[0-9a-z&;]{1,3}){0,12}") {
            let _read_or_refused = read(&workbook(&xml), None, &Limits::USUAL);
        }
    }
}
