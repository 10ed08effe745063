//! The figures of a study as they were told, to be kept with what they were told of, and what has become of them under
//! a later version of the model.

use super::sheet::{Cell, Shown, figure_cell};
use super::{Compared, Figure};
use measure::rounding;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Version of the arithmetic behind the figures, from table values to cost. It is raised whenever a figure of the
/// example studies is told otherwise than before (`study/tests/model_version.rs` refuses one that moves without it).
pub const MODEL_VERSION: u32 = 2;

/// What the treatments of a study were told to do.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Told {
    /// The version of the model that told it.
    pub model: u32,
    /// The treatments that had an answer, the control first.
    pub treatments: Vec<ToldTreatment>,
}

/// What a treatment was told to do.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ToldTreatment {
    /// Its short name.
    pub id: String,
    /// Each figure by its key, rounded as it was shown, with its mark.
    pub figures: BTreeMap<String, String>,
}

/// A figure that is told otherwise now.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Moved {
    /// Short name of the treatment.
    pub treatment: String,
    /// Key of the figure.
    pub figure: &'static str,
    /// What was told.
    pub then: String,
    /// What is told now.
    pub now: String,
}

/// The figures of treatments as the sheet tells them, the control first.
///
/// ```
/// use study::{BakeOptions, compare};
///
/// let study = study::written::read(include_str!("../../../../examples/spent-grain.toml")).unwrap();
/// let compared = compare(&study, &[], &BakeOptions::QUICK).unwrap();
/// let told = study::compare::told(&compared);
/// assert_eq!(told.treatments[0].id, "control");
/// assert_eq!(told.treatments[0].figures["bake.packed_moisture_pct"], "8.0");
/// ```
pub fn told(compared: &[Compared]) -> Told {
    let decimals = |figure: Figure| compared.first().map_or(0, |c| figure.decimals(&c.answer));
    let treatments = compared.iter().map(|c| {
        let of = |figure: Figure| {
            let text = in_words(figure, &figure_cell(c, figure), decimals(figure));
            (figure.about().key.to_owned(), text)
        };
        ToldTreatment {
            id: c.answer.id.clone(),
            figures: Figure::ALL.into_iter().map(of).collect(),
        }
    });
    Told {
        model: MODEL_VERSION,
        treatments: treatments.collect(),
    }
}

/// The figures that both tell, and tell otherwise, in the order of the sheet.
///
/// ```
/// use study::compare::{Told, ToldTreatment, moved};
///
/// let told = |minutes: &str| Told {
///     model: 0,
///     treatments: vec![ToldTreatment {
///         id: "control".into(),
///         figures: [("bake.time_min".into(), minutes.into())].into(),
///     }],
/// };
/// assert!(moved(&told("14.5"), &told("14.5")).is_empty());
/// let moved = moved(&told("14.5"), &told("13.9"));
/// assert_eq!((moved[0].then.as_str(), moved[0].now.as_str()), ("14.5", "13.9"));
/// ```
pub fn moved(then: &Told, now: &Told) -> Vec<Moved> {
    let mut all = Vec::new();
    for is in &now.treatments {
        let Some(was) = then.treatments.iter().find(|t| t.id == is.id) else {
            continue;
        };
        for figure in Figure::ALL {
            let key = figure.about().key;
            let (Some(then), Some(now)) = (was.figures.get(key), is.figures.get(key)) else {
                continue;
            };
            if then != now {
                all.push(Moved {
                    treatment: is.id.clone(),
                    figure: key,
                    then: then.clone(),
                    now: now.clone(),
                });
            }
        }
    }
    all
}

fn in_words(figure: Figure, cell: &Cell, decimals: usize) -> String {
    match &cell.shown {
        Shown::Number(value, bound)
        | Shown::Interval {
            mean: value, bound, ..
        } => {
            let near = rounding::to_division(*value, 0.1f64.powi(decimals.min(12) as i32));
            // Adding nothing takes the sign off a zero.
            let text = format!("{:.decimals$}", near + 0.0).replace('-', "\u{2212}");
            format!("{}{text}", bound.mark())
        }
        Shown::MoreThan(value) => format!(">{value}"),
        Shown::Unknown(_) if figure == Figure::BakeTime => "not reached".to_owned(),
        Shown::Unknown(_) => "unknown".to_owned(),
        Shown::Empty | Shown::Limits { .. } | Shown::Count(_) => String::new(),
    }
}
