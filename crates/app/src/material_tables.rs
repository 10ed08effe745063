//! Materials as a table, out and in: what reading one in will change is shown before it does.

use crate::changes::Change;
use crate::materials::{Values, built};
use crate::{App, AppError};
use book::exchange::{Cell, Decimal, Limits, Table, csv, write_number, xlsx};
use formula::{Material, Nutrient};
use serde::Serialize;
use study::edit::Put;
use study::written::field::{Field, Kind, one_of};
use study::written::tables::{MATERIAL, constituent};

/// A kind of table file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum TableFormat {
    /// Text with separators.
    Csv,
    /// A workbook.
    Xlsx,
}

impl TableFormat {
    /// Every kind.
    pub const ALL: [Self; 2] = [Self::Csv, Self::Xlsx];

    /// The ending of its files, and its word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Csv => "csv",
            Self::Xlsx => "xlsx",
        }
    }
}

/// Which materials go into a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// The head alone, to be filled in.
    Template,
    /// One's own.
    Own,
    /// One's own and the shelf.
    All,
}

/// A row of a table that is to be read in.
#[derive(Clone, Debug, Serialize)]
pub struct RowPreview {
    /// The row, counted from 1.
    pub row: usize,
    /// The material.
    pub id: String,
    /// What would change.
    pub changes: Vec<Change>,
    /// What keeps it from being read in.
    pub trouble: Option<String>,
    /// Its values.
    #[serde(skip)]
    pub values: Values,
}

/// Most materials that are read in at once.
const MOST: usize = 2_000;

/// The fields of a material that fit into a cell.
fn columns() -> impl Iterator<Item = &'static Field> {
    MATERIAL
        .fields
        .iter()
        .filter(|f| !matches!(f.kind, Kind::Inline(_)))
}

impl App {
    /// Materials as a table file, numbers with the person's decimal mark in CSV.
    ///
    /// # Errors
    /// What the book or the table tells.
    pub async fn export_materials(
        &self,
        which: Which,
        format: TableFormat,
    ) -> Result<Vec<u8>, AppError> {
        let mut table = Table {
            rows: vec![columns().map(|f| Cell::from(f.key)).collect()],
        };
        if which != Which::Template {
            for own in self.own_materials().await? {
                table.rows.push(
                    columns()
                        .map(|f| cell(f, &own.entry.thing, own.values.get(f.key)))
                        .collect(),
                );
            }
        }
        if which == Which::All {
            let own = self.own_materials().await?;
            for material in formula::shelf::shelf()
                .iter()
                .filter(|m| !own.iter().any(|o| o.entry.thing == m.id))
            {
                table
                    .rows
                    .push(columns().map(|f| shelf_cell(f.key, material)).collect());
            }
        }
        let decimal = self.settings().await?.decimal;
        Ok(match format {
            TableFormat::Csv => {
                let separator = if decimal == Decimal::Comma {
                    csv::Separator::Semicolon
                } else {
                    csv::Separator::Comma
                };
                csv::write(
                    &table,
                    csv::CsvForm {
                        separator,
                        decimal,
                        byte_order_mark: true,
                    },
                )?
            }
            TableFormat::Xlsx => xlsx::write(&[("materials", &table)])?,
        })
    }

    /// What reading a table file in would change, row by row. A workbook is known by its first bytes.
    ///
    /// # Errors
    /// A file that is no table or too large, or whose head has columns that no material has.
    pub async fn preview_materials(&self, bytes: Vec<u8>) -> Result<Vec<RowPreview>, AppError> {
        let decimal = self.settings().await?.decimal;
        let own = self.own_materials().await?;
        let work = move || -> Result<Vec<RowPreview>, AppError> {
            let table = if bytes.starts_with(b"PK") {
                xlsx::read(&bytes, None, &Limits::USUAL)?
            } else {
                csv::read(&bytes, csv::Separator::of(&bytes), &Limits::USUAL)?
            };
            let head = head(&table)?;
            if table.rows.len() > MOST + 1 {
                let why = format!(
                    "it has {} rows; at most {MOST} materials are read in at once",
                    table.rows.len() - 1
                );
                return Err(AppError::Value {
                    field: "table".to_owned(),
                    why,
                });
            }
            let rows = (1..table.rows.len())
                .filter(|r| (0..head.len()).any(|c| table.text(*r, c).is_some()));
            Ok(rows
                .map(|row| {
                    let mut preview = read_row(&table, row, &head, decimal);
                    let before = own
                        .iter()
                        .find(|o| o.entry.thing == preview.id)
                        .map(|o| &o.values);
                    preview.changes = changes(&preview.id, before, &preview.values);
                    preview
                })
                .collect())
        };
        tokio::task::spawn_blocking(work)
            .await
            .map_err(|e| AppError::BrokenOff(e.to_string()))?
    }

    /// Saves materials that were looked at, all or none. Gives how many.
    ///
    /// # Errors
    /// Values that don't make a material; what the book tells.
    pub async fn import_materials(
        &self,
        who: &str,
        materials: &[(String, Values)],
    ) -> Result<usize, AppError> {
        let mut saves = Vec::with_capacity(materials.len());
        for (id, values) in materials {
            let material = built(id, values).map_err(|problems| AppError::Value {
                field: format!("material {id}"),
                why: problems.join("; "),
            })?;
            let base = self.material_base(id).await?;
            saves.push(Self::material_save(
                who,
                &material,
                base,
                values,
                Some("read in from a table".to_owned()),
            )?);
        }
        if saves.is_empty() {
            return Err(AppError::Value {
                field: "table".to_owned(),
                why: "there is no row to read in".to_owned(),
            });
        }
        Ok(self.book.save_all(saves).await?.len())
    }
}

fn cell(field: &Field, id: &str, put: Option<&Put>) -> Cell {
    match put {
        _ if field.key == "id" => Cell::from(id),
        None => Cell::Empty,
        Some(Put::Number(n)) => Cell::Number(*n),
        Some(Put::Text(text)) => Cell::from(text.as_str()),
        Some(Put::Flag(flag)) => Cell::from(if *flag { "true" } else { "false" }),
        Some(Put::Words(words)) => Cell::from(words.join(", ").as_str()),
    }
}

/// A field of a material of the shelf, as far as a table tells it.
fn shelf_cell(key: &str, m: &Material) -> Cell {
    let percent = |n: Nutrient| {
        m.composition
            .fraction(n)
            .map_or(Cell::Empty, |v| Cell::Number((v * 1e6).round() / 1e4))
    };
    let mut constituents = Nutrient::ALL.into_iter();
    if let Some(n) = constituents.find(|n| constituent(*n).name == key) {
        return percent(n);
    }
    match key {
        "id" => Cell::from(m.id.as_str()),
        "name" => Cell::from(m.name.as_str()),
        "label_name" => Cell::from(m.label_name.as_str()),
        "category" => Cell::from(m.category.written()),
        "nitrogen_factor" => m.nitrogen_factor.map_or(Cell::Empty, Cell::Number),
        "bulk_density_kg_per_m3" => m.bulk_density_kg_per_m3.map_or(Cell::Empty, Cell::Number),
        "water_uptake_kg_per_kg" => m
            .water_uptake
            .as_ref()
            .map_or(Cell::Empty, |u| Cell::Number(u.kg_per_kg)),
        "water_uptake_sd_kg_per_kg" => m
            .water_uptake
            .as_ref()
            .map_or(Cell::Empty, |u| Cell::Number(u.sd)),
        "price_low_per_kg" => m
            .price
            .as_ref()
            .map_or(Cell::Empty, |p| Cell::Number(p.low_per_kg)),
        "price_high_per_kg" => m
            .price
            .as_ref()
            .map_or(Cell::Empty, |p| Cell::Number(p.high_per_kg)),
        "caution" => Cell::from(m.caution.as_str()),
        "source" => Cell::from(m.source.text.as_ref()),
        "grade" => Cell::from(m.source.grade.word()),
        _ => Cell::Empty,
    }
}

/// The fields that the columns hold.
fn head(table: &Table) -> Result<Vec<&'static Field>, AppError> {
    let wrong = |why: String| AppError::Value {
        field: "first row of the table".to_owned(),
        why,
    };
    let length = table.rows.first().map_or(0, Vec::len);
    let mut head: Vec<&'static Field> = Vec::with_capacity(length);
    for column in 0..length {
        let key = table.text(0, column).unwrap_or_default();
        let Some(field) = columns().find(|f| f.key == key) else {
            let all: Vec<&str> = columns().map(|f| f.key).collect();
            let key: String = key.chars().take(40).collect();
            return Err(wrong(format!(
                "‘{key}’ is no field of a material; allowed are {}",
                one_of(&all)
            )));
        };
        if head.iter().any(|h| h.key == field.key) {
            return Err(wrong(format!("{} stands there twice", field.key)));
        }
        head.push(field);
    }
    if !head.iter().any(|f| f.key == "id") {
        return Err(wrong(
            "there is no column id; take the template and fill it in".to_owned(),
        ));
    }
    Ok(head)
}

fn read_row(table: &Table, row: usize, head: &[&'static Field], decimal: Decimal) -> RowPreview {
    let mut preview = RowPreview {
        row: row + 1,
        id: String::new(),
        changes: Vec::new(),
        trouble: None,
        values: Values::new(),
    };
    for (column, field) in head.iter().enumerate() {
        let Some(text) = table.text(row, column) else {
            continue;
        };
        if field.key == "id" {
            preview.id = text;
            continue;
        }
        let put = match field.kind {
            Kind::Number(..) | Kind::Whole(_) => match table.number(row, column, decimal) {
                Ok(Some(n)) => Put::Number(n),
                Ok(None) => continue,
                Err(error) => {
                    preview.trouble.get_or_insert(error.to_string());
                    continue;
                }
            },
            Kind::Choices(_) => Put::Words(
                text.split(',')
                    .map(|w| w.trim().to_owned())
                    .filter(|w| !w.is_empty())
                    .collect(),
            ),
            _ => Put::Text(text),
        };
        preview.values.insert(field.key.to_owned(), put);
    }
    if preview.trouble.is_none()
        && let Err(problems) = built(&preview.id, &preview.values)
    {
        preview.trouble = Some(problems.join("; "));
    }
    preview
}

fn changes(id: &str, before: Option<&Values>, after: &Values) -> Vec<Change> {
    let told = |put: &Put| match put {
        Put::Number(n) => write_number(*n, Decimal::Point).unwrap_or_default(),
        Put::Text(text) => text.clone(),
        Put::Flag(flag) => flag.to_string(),
        Put::Words(words) => words.join(", "),
    };
    let of = |values: Option<&Values>, key: &str| values.and_then(|v| v.get(key)).map(told);
    columns()
        .filter(|f| of(before, f.key) != of(Some(after), f.key))
        .map(|f| Change {
            about: id.to_owned(),
            what: f.key.to_owned(),
            was: of(before, f.key),
            is: of(Some(after), f.key),
        })
        .collect()
}
