//! What a form sent: names and texts, read as this person writes numbers.

use app::{AppError, Seen, Settings};
use measure::Units;
use std::collections::BTreeMap;
use study::edit::{Edit, Put, Water};
use study::written::field::Kind;

/// The fields of a form or of an address.
#[derive(Clone, Debug, Default, serde::Deserialize)]
#[serde(transparent)]
pub(crate) struct Fields(pub BTreeMap<String, String>);

impl Fields {
    /// A value typed in the units shown, as the study has it; `units` and `metric` tell what it was shown in.
    fn metric(&self, value: f64) -> f64 {
        let us = self.maybe("units") == Some(Units::Us.word());
        match self.maybe("metric") {
            Some(unit) if us => Units::Us.back(value, unit),
            _ => value,
        }
    }

    /// A field that may be empty or missing.
    pub(crate) fn maybe(&self, name: &str) -> Option<&str> {
        self.0
            .get(name)
            .map(String::as_str)
            .filter(|v| !v.trim().is_empty())
    }

    /// A field that has to be there.
    pub(crate) fn text(&self, name: &str) -> Result<&str, AppError> {
        self.maybe(name).ok_or_else(|| missing(name))
    }

    /// A whole number that the page itself put there, such as a revision.
    pub(crate) fn count(&self, name: &str) -> Result<u64, AppError> {
        let text = self.text(name)?;
        text.trim().parse().map_err(|_| AppError::Value {
            field: name.to_owned(),
            why: format!(
                "‘{}’ is not a whole number",
                text.chars().take(40).collect::<String>()
            ),
        })
    }

    /// What the page that a form stands on showed.
    pub(crate) fn seen(&self) -> Result<Seen, AppError> {
        let counter = self.maybe("counter").map(|_| self.count("counter"));
        Ok(Seen {
            base: self.count("base")?,
            counter: counter.transpose()?,
            window: self.maybe("window").map(|w| w.chars().take(64).collect()),
        })
    }

    /// A number as this person writes it.
    pub(crate) fn number(&self, name: &str, settings: &Settings) -> Result<f64, AppError> {
        settings.number(name, self.text(name)?)
    }

    /// The edit that a form asks for: `edit` names it, the other fields are its own.
    pub(crate) fn edit(&self, settings: &Settings) -> Result<Edit, AppError> {
        let word = |name: &str| self.text(name).map(|t| t.trim().to_owned());
        let maybe = |name: &str| self.maybe(name).map(|t| t.trim().to_owned());
        let treatment = || word("treatment");
        let material = || word("material");
        let number = |name: &str| self.number(name, settings);
        Ok(match self.text("edit")? {
            // An emptied cell takes the line out.
            "set_amount" if self.maybe("amount").is_none() => Edit::RemoveLine {
                treatment: treatment()?,
                material: material()?,
            },
            "set_amount" => Edit::SetAmount {
                treatment: treatment()?,
                material: material()?,
                amount: number("amount")?,
            },
            "add_line" => Edit::AddLine {
                treatment: treatment()?,
                material: material()?,
                amount: number("amount")?,
                stage: maybe("stage"),
            },
            "remove_line" => Edit::RemoveLine {
                treatment: treatment()?,
                material: material()?,
            },
            "move_line" => Edit::MoveLine {
                treatment: treatment()?,
                material: material()?,
                before: maybe("before"),
            },
            "set_water" => Edit::SetWater {
                treatment: treatment()?,
                water: match (self.text("water")?, self.maybe("amount")) {
                    ("need", _) => Water::Need,
                    (_, Some(_)) => Water::GivenAmount(number("amount")?),
                    (_, None) => Water::Given,
                },
            },
            "swap" => Edit::Swap {
                treatment: treatment()?,
                out: word("out")?,
                with: word("with")?,
                keep: keep(self.maybe("keep").unwrap_or("equal_mass"))?,
                share_pct: if self.maybe("share_pct").is_some() {
                    number("share_pct")?
                } else {
                    100.0
                },
            },
            "set_balance" => Edit::SetBalance {
                treatment: treatment()?,
                material: maybe("material"),
            },
            "add_treatment" => Edit::AddTreatment {
                from: word("from")?,
                id: maybe("id").unwrap_or_default(),
                name: word("name")?,
            },
            "remove_treatment" => Edit::RemoveTreatment {
                treatment: treatment()?,
            },
            "rename_treatment" => Edit::RenameTreatment {
                treatment: treatment()?,
                name: word("name")?,
            },
            "move_treatment" => Edit::MoveTreatment {
                treatment: treatment()?,
                before: maybe("before"),
            },
            "set_control" => Edit::SetControl {
                treatment: treatment()?,
            },
            "set_note" => Edit::SetNote {
                treatment: maybe("treatment"),
                note: self.0.get("note").cloned().unwrap_or_default(),
            },
            "set_target" => Edit::SetTarget {
                moisture_pct: number("moisture_pct")?,
                at: maybe("at"),
            },
            "set_zone" => Edit::SetZone {
                treatment: maybe("treatment"),
                zone: word("zone")?,
                field: word("field")?,
                value: self.metric(number("value")?),
            },
            "split_zone" => Edit::SplitZone {
                treatment: maybe("treatment"),
                zone: word("zone")?,
                share: 0.5,
            },
            "remove_zone" => Edit::RemoveZone {
                treatment: maybe("treatment"),
                zone: word("zone")?,
            },
            "set_field" => {
                let path = word("path")?;
                let treatment = maybe("treatment");
                let field = study::edit::field(&path, treatment.is_some());
                let value = match self.maybe("value") {
                    None => None,
                    Some(text) => Some(put(text, field.map(|f| f.kind), &path, settings)?),
                };
                Edit::SetField {
                    treatment,
                    path,
                    value,
                }
            }
            "override_material" => Edit::OverrideMaterial {
                material: material()?,
                values: self.overrides(settings)?,
            },
            "forget_material" => Edit::ForgetMaterial {
                material: material()?,
            },
            other => {
                return Err(AppError::Value {
                    field: "edit".to_owned(),
                    why: format!(
                        "‘{}’ is no edit that this program knows",
                        other.chars().take(40).collect::<String>()
                    ),
                });
            }
        })
    }

    /// Every field `v.KEY` as a value of a material; an empty one takes the value away.
    fn overrides(&self, settings: &Settings) -> Result<Vec<(String, Option<Put>)>, AppError> {
        let mut values = Vec::new();
        for (name, text) in &self.0 {
            let Some(key) = name.strip_prefix("v.") else {
                continue;
            };
            let kind =
                study::edit::field_of(&study::written::tables::MATERIAL, key).map(|f| f.kind);
            let text = text.trim();
            let value = if text.is_empty() {
                None
            } else {
                Some(put(text, kind, key, settings)?)
            };
            values.push((key.to_owned(), value));
        }
        Ok(values)
    }
}

fn missing(name: &str) -> AppError {
    AppError::Value {
        field: name.to_owned(),
        why: "nothing was given; fill it in".to_owned(),
    }
}

fn keep(word: &str) -> Result<formula::At, AppError> {
    let plain = word.replace('_', " ");
    let fits = |at: &formula::At| {
        at.word() == plain || at.word().strip_prefix("equal ") == Some(plain.as_str())
    };
    formula::At::ALL
        .into_iter()
        .find(fits)
        .ok_or_else(|| AppError::Value {
            field: "keep".to_owned(),
            why: format!(
                "‘{}’ can't be kept; allowed are {}",
                word.chars().take(40).collect::<String>(),
                formula::At::ALL.map(formula::At::word).join(", ")
            ),
        })
}

/// A text as the value that a field wants.
pub(crate) fn put(
    text: &str,
    kind: Option<Kind>,
    path: &str,
    settings: &Settings,
) -> Result<Put, AppError> {
    Ok(match kind {
        Some(Kind::Number(..) | Kind::Whole(_)) => Put::Number(settings.number(path, text)?),
        Some(Kind::Flag) => match text.trim() {
            "true" | "yes" | "on" | "1" => Put::Flag(true),
            "false" | "no" | "off" | "0" => Put::Flag(false),
            other => {
                return Err(AppError::Value {
                    field: path.to_owned(),
                    why: format!(
                        "‘{}’ is neither yes nor no",
                        other.chars().take(40).collect::<String>()
                    ),
                });
            }
        },
        Some(Kind::Choices(_)) => Put::Words(
            text.split(',')
                .map(|w| w.trim().to_owned())
                .filter(|w| !w.is_empty())
                .collect(),
        ),
        _ => Put::Text(text.replace("\r\n", "\n").trim().to_owned()),
    })
}
