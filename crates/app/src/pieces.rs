//! Pieces: measures, holes and layouts of every treatment, and the form that a person fills in for them.

use crate::sheet::StudyView;
use crate::{App, AppError};
use baking::line::Former;
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::Arc;
use study::Treatment;
use study::views::piece::{PieceAsked, PieceTold, piece_told};
use study::written::{Row, Value, holding};

/// A treatment's piece, or why it has none.
#[derive(Clone, Debug, Serialize)]
pub struct PieceOf {
    /// Short name of the treatment.
    pub id: String,
    /// Its name.
    pub name: String,
    /// The piece.
    pub told: Option<PieceTold>,
    /// Why there is none; empty when there is one.
    pub why: String,
}

impl App {
    /// The piece of every treatment that has an answer, the control first.
    ///
    /// # Errors
    /// A gap, sheet or roll that can't be, by name and value.
    pub async fn pieces(
        &self,
        view: &StudyView,
        asked: PieceAsked,
    ) -> Result<Vec<PieceOf>, AppError> {
        let Some(study) = view.study.as_ref().map(Arc::clone) else {
            return Ok(Vec::new());
        };
        asked.check().map_err(|e| AppError::Value {
            field: "layout".to_owned(),
            why: e.to_string(),
        })?;
        tokio::task::spawn_blocking(move || {
            crate::answers::ordered(&study)
                .into_iter()
                .map(|t| {
                    let told = piece_told(t, &asked);
                    PieceOf {
                        id: t.id.clone(),
                        name: t.name.clone(),
                        why: told
                            .as_ref()
                            .err()
                            .map(ToString::to_string)
                            .unwrap_or_default(),
                        told: told.ok(),
                    }
                })
                .collect()
        })
        .await
        .map_err(|e| AppError::BrokenOff(e.to_string()))
    }
}

/// The gap, sheet and roll that a treatment's former has, where it has them; else the usual ones.
pub fn piece_asked_of(treatment: &Treatment) -> PieceAsked {
    let usual = PieceAsked::USUAL;
    match treatment.setting.line.former {
        Former::SheeterCutter {
            width_m, cut_gap_m, ..
        } => PieceAsked {
            gap_m: cut_gap_m,
            sheet_width_m: width_m,
            ..usual
        },
        Former::RotaryMoulder { die_diameter_m, .. } => PieceAsked {
            roll_diameter_m: die_diameter_m,
            ..usual
        },
        _ => usual,
    }
}

/// A section such as `piece` or `pack` as it is written for a treatment, or for the study.
#[derive(Clone, Debug, Serialize)]
pub struct SectionWritten {
    /// Every number and text that is written, by its path below the section, e.g. `docker.count`, as text with a
    /// decimal point.
    pub values: BTreeMap<String, String>,
    /// Whether the treatment writes any of it itself.
    pub own: bool,
}

/// What is written of a section for a treatment, or for the study when none is named; it may be read even where the
/// study can't be worked out.
pub fn section_written(view: &StudyView, treatment: Option<&str>, section: &str) -> SectionWritten {
    let mut values = BTreeMap::new();
    if let Some(row) = &holding(&view.written, treatment, section) {
        put_values(row, "", &mut values);
    }
    let own = treatment
        .and_then(|id| view.written.treatment(id))
        .is_some_and(|t| t.below(section).is_some());
    SectionWritten { values, own }
}

fn put_values(row: &Row, before: &str, values: &mut BTreeMap<String, String>) {
    for entry in &row.entries {
        let path = format!("{before}{}", entry.key);
        match &entry.value {
            Value::Row(below) => put_values(below, &format!("{path}."), values),
            Value::Text(text) => {
                values.insert(path, text.clone());
            }
            Value::Number(n) => {
                values.insert(path, n.to_string());
            }
            _ => {}
        }
    }
}
