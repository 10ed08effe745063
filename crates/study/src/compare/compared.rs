//! One treatment's answer beside the control's.

use super::{Bound, Figure, Spread};
use crate::chain::{BakeOptions, RunError, Sample, run};
use crate::model::{Study, Treatment};
use crate::views::{KnockOn, knock_on};
use baking::bake::Workspace;
use rayon::prelude::*;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A difference from the control.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// The treatment's figure less the control's.
    pub value: f64,
    /// How it stands to what it tells: values of a material may be unknown.
    pub bound: Bound,
}

/// One treatment's answer with its differences from the control.
#[derive(Clone, Debug)]
pub struct Compared {
    /// The answer.
    pub answer: Arc<KnockOn>,
    /// Differences from the control of every figure that both tell; nothing for the control itself.
    pub differences: BTreeMap<Figure, Difference>,
    /// 95 % limits, when a spread was asked for.
    pub spread: Option<Spread>,
}

impl Compared {
    /// An answer beside that of the control; the control stands beside itself.
    pub fn beside(answer: Arc<KnockOn>, control: &KnockOn) -> Self {
        Self {
            differences: differences(&answer, control),
            answer,
            spread: None,
        }
    }

    /// The difference of a figure from the control; none for the control itself and where one of the two is unknown.
    pub fn difference(&self, figure: Figure) -> Option<Difference> {
        self.differences.get(&figure).copied()
    }
}

/// A comparison as it is written: the answer's fields, the differences by part and name, those that are not exact by
/// key, the spread.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Compared")]
struct Written<'a> {
    /// The answer.
    #[serde(flatten)]
    answer: &'a KnockOn,
    /// Differences from the control, by part and figure; nothing for the control itself.
    #[schemars(with = "BTreeMap<String, BTreeMap<String, f64>>")]
    versus_control: ByPart<'a>,
    /// Differences that are not exact, by the key of the figure: values of a material are unknown.
    #[serde(skip_serializing_if = "BTreeMap::is_empty", default)]
    versus_control_unsure: BTreeMap<&'static str, Bound>,
    /// 95 % limits, when a spread was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    spread: Option<&'a Spread>,
}

impl Serialize for Compared {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let unsure = self.differences.iter();
        Written {
            answer: &self.answer,
            versus_control: ByPart(&self.differences),
            versus_control_unsure: unsure
                .filter(|(_, d)| d.bound != Bound::Exactly)
                .map(|(f, d)| (f.about().key, d.bound))
                .collect(),
            spread: self.spread.as_ref(),
        }
        .serialize(serializer)
    }
}

impl JsonSchema for Compared {
    fn schema_name() -> Cow<'static, str> {
        Written::schema_name()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        Written::json_schema(generator)
    }
}

/// Differences nested as `part → name`.
struct ByPart<'a>(&'a BTreeMap<Figure, Difference>);

impl Serialize for ByPart<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut parts: Vec<(&str, Vec<(&str, f64)>)> = Vec::new();
        for (figure, difference) in self.0 {
            let key = figure.about().key;
            let (part, name) = key.split_once('.').unwrap_or((key, key));
            let row = (name, difference.value);
            match parts.iter_mut().find(|p| p.0 == part) {
                Some((_, rows)) => rows.push(row),
                None => parts.push((part, vec![row])),
            }
        }
        let mut map = serializer.serialize_map(Some(parts.len()))?;
        for (part, rows) in parts {
            map.serialize_entry(part, &Rows(rows))?;
        }
        map.end()
    }
}

struct Rows<'a>(Vec<(&'a str, f64)>);

impl Serialize for Rows<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().copied())
    }
}

/// What every treatment of a study does.
///
/// Treatments are worked out side by side on all cores; the result doesn't depend on how many.
///
/// # Errors
/// The first treatment that has no answer, in the order of the study.
pub fn compare(
    study: &Study,
    wanted: &[&Treatment],
    options: &BakeOptions,
) -> Result<Vec<Compared>, RunError> {
    let control = study.control();
    let mut order: Vec<&Treatment> = vec![control];
    order.extend(wanted.iter().filter(|t| t.id != control.id));
    let answers: Vec<Result<Arc<KnockOn>, RunError>> = order
        .par_iter()
        .map_init(Workspace::new, |w, t| {
            run(t, options, Sample::Centre, w).map(|r| Arc::new(knock_on(&r)))
        })
        .collect();
    let answers: Vec<Arc<KnockOn>> = answers.into_iter().collect::<Result<_, _>>()?;
    let control = Arc::clone(&answers[0]);
    Ok(answers
        .into_iter()
        .map(|answer| Compared::beside(answer, &control))
        .collect())
}

/// Differences of every figure that both tell; empty for the control itself.
pub fn differences(answer: &KnockOn, control: &KnockOn) -> BTreeMap<Figure, Difference> {
    if answer.id == control.id {
        return BTreeMap::new();
    }
    let difference = |f: Figure| {
        let (here, there) = (f.told(answer).ok()?, f.told(control).ok()?);
        let bound = f.sure(answer).less(f.sure(control));
        Some((
            f,
            Difference {
                value: here - there,
                bound,
            },
        ))
    };
    Figure::ALL.into_iter().filter_map(difference).collect()
}
