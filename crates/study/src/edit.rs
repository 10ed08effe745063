//! Editing a study as written: one change of one thing, everything else and every comment kept.
//!
//! A treatment that is written as changes of another stays so: an edited cell becomes a `set`
//! among its changes.

mod by_need;
mod field;
mod formula;
mod in_proportion;
mod limits;
mod named;
mod take_up;
mod treatment;
mod zones;

pub use by_need::{Waters, by_need};
pub use field::{field, field_of};
pub use in_proportion::{in_proportion, worked_out};
pub use take_up::{Factor, Part, Taught};

use crate::written::problem::{Allowed, Found};
use crate::written::tables::{MaterialRow, RootRow, StudyRow, TargetRow, TreatmentRow};
use crate::written::{Problem, StudyWritten, too_long};
use ::formula::{At, ChangeError};
use measure::Units;
use serde::{Deserialize, Serialize};

/// A value put into a field.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Put {
    /// true or false.
    Flag(bool),
    /// A number in the field's unit.
    Number(f64),
    /// A text, word or name.
    Text(String),
    /// Several words.
    Words(Vec<String>),
}

/// Where the water comes from.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Water {
    /// From the predicted need.
    Need,
    /// From the formula, as it stands there.
    Given,
    /// From the formula, this much on the treatment's basis.
    GivenAmount(f64),
}

/// One edit of a study.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "edit", rename_all = "snake_case")]
pub enum Edit {
    /// Sets the amount of a material, on the treatment's basis; one that isn't in the formula is added.
    SetAmount {
        /// The treatment.
        treatment: String,
        /// The material.
        material: String,
        /// The amount.
        amount: f64,
    },
    /// Adds a line.
    AddLine {
        /// The treatment.
        treatment: String,
        /// The material.
        material: String,
        /// The amount, on the treatment's basis.
        amount: f64,
        /// When it goes in; as usual for its kind when none.
        #[serde(default)]
        stage: Option<String>,
    },
    /// Takes a line out.
    RemoveLine {
        /// The treatment.
        treatment: String,
        /// The material.
        material: String,
    },
    /// Moves a line before another, or to the end.
    MoveLine {
        /// The treatment.
        treatment: String,
        /// The material.
        material: String,
        /// The line that it is to stand before; the end when none.
        #[serde(default)]
        before: Option<String>,
    },
    /// Says where the water comes from.
    SetWater {
        /// The treatment.
        treatment: String,
        /// From where.
        water: Water,
    },
    /// Puts one material in place of another.
    Swap {
        /// The treatment.
        treatment: String,
        /// What goes out.
        out: String,
        /// What comes in.
        with: String,
        /// What stays equal.
        keep: At,
        /// How much of the line goes out, %.
        #[serde(default = "whole_pct")]
        share_pct: f64,
    },
    /// Makes a line the balance, which takes the rest to 100; none takes the balance away, which
    /// then keeps the amount it had.
    SetBalance {
        /// The treatment.
        treatment: String,
        /// The material.
        #[serde(default)]
        material: Option<String>,
    },
    /// Adds a treatment that starts from another.
    AddTreatment {
        /// The treatment it starts from.
        from: String,
        /// Its short name; made from its name when empty.
        #[serde(default)]
        id: String,
        /// Its name.
        name: String,
    },
    /// Takes a treatment out.
    RemoveTreatment {
        /// The treatment.
        treatment: String,
    },
    /// Names a treatment.
    RenameTreatment {
        /// The treatment.
        treatment: String,
        /// The new name.
        name: String,
    },
    /// Moves a treatment before another, or to the end.
    MoveTreatment {
        /// The treatment.
        treatment: String,
        /// The treatment that it is to stand before; the end when none.
        #[serde(default)]
        before: Option<String>,
    },
    /// Makes a treatment the control.
    SetControl {
        /// The treatment.
        treatment: String,
    },
    /// Writes a note; of the study when no treatment is named.
    SetNote {
        /// The treatment.
        #[serde(default)]
        treatment: Option<String>,
        /// The note; empty takes it away.
        note: String,
    },
    /// Sets the moisture that the bake aims at.
    SetTarget {
        /// Moisture, %.
        moisture_pct: f64,
        /// Where it holds, as in files; as before when none.
        #[serde(default)]
        at: Option<String>,
    },
    /// Sets a value of an oven zone.
    SetZone {
        /// The treatment that gets an oven setting of its own; the study's when none.
        #[serde(default)]
        treatment: Option<String>,
        /// Name of the zone.
        zone: String,
        /// The field, e.g. `air_c`.
        field: String,
        /// The value.
        value: f64,
    },
    /// Makes two zones of one, each set as it was.
    SplitZone {
        /// The treatment that gets an oven setting of its own; the study's when none.
        #[serde(default)]
        treatment: Option<String>,
        /// Name of the zone.
        zone: String,
        /// How much of its length stays with the first.
        #[serde(default = "half")]
        share: f64,
    },
    /// Takes a zone away; its neighbour takes its length.
    RemoveZone {
        /// The treatment that gets an oven setting of its own; the study's when none.
        #[serde(default)]
        treatment: Option<String>,
        /// Name of the zone.
        zone: String,
    },
    /// Sets or takes away any field by its path, e.g. `piece.thickness_mm`, `process.forming`,
    /// `line.packer.label_g`, `oven.time_min`, `study.question`.
    SetField {
        /// The treatment that gets a value of its own; the study's when none.
        #[serde(default)]
        treatment: Option<String>,
        /// The way to the field.
        path: String,
        /// The value; none takes it away, so that the one below it holds.
        value: Option<Put>,
    },
    /// Puts values of one's own over a material's: a certificate, a lot, a price.
    OverrideMaterial {
        /// The material.
        material: String,
        /// Field and value, e.g. `moisture_pct`; none takes one away.
        values: Vec<(String, Option<Put>)>,
    },
    /// Adds a limit that treatments have to keep.
    AddLimit {
        /// Key of the figure.
        figure: String,
        /// The most it may be, in the figure's unit.
        #[serde(default)]
        at_most: Option<f64>,
        /// The least it may be.
        #[serde(default)]
        at_least: Option<f64>,
        /// How surely it has to be kept, %; its best value has to where none is given.
        #[serde(default)]
        probability_pct: Option<f64>,
        /// Why.
        #[serde(default)]
        reason: String,
    },
    /// Takes out a limit.
    RemoveLimit {
        /// Its number, from 1.
        nth: usize,
    },
    /// Takes up what was learned, in place of what was learned of the same part before.
    TakeUp {
        /// What was learned.
        learned: Taught,
    },
    /// Leaves out what was learned of a part.
    LeaveOut {
        /// Which.
        part: Part,
    },
    /// Takes away every value of one's own for a material.
    ForgetMaterial {
        /// The material.
        material: String,
    },
}

const fn whole_pct() -> f64 {
    100.0
}

const fn half() -> f64 {
    0.5
}

/// Why an edit can't be made: what was found, and the way out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum EditError {
    /// No such treatment.
    #[error("the study has no treatment ‘{treatment}’; it has {}", there.join(", "))]
    NoTreatment {
        /// As given.
        treatment: String,
        /// Those it has.
        there: Vec<String>,
    },
    /// No such line.
    #[error("{material} is not in the formula of {treatment}; its lines are {}", lines.join(", "))]
    NoLine {
        /// As given.
        material: String,
        /// The treatment.
        treatment: String,
        /// Lines it has.
        lines: Vec<String>,
    },
    /// The line is there already.
    #[error("{material} stands in the formula of {treatment} already; change its amount instead")]
    LineThere {
        /// The material.
        material: String,
        /// The treatment.
        treatment: String,
    },
    /// The balance line has no amount of its own.
    #[error(
        "{material} is the balance of {treatment} and takes the rest to 100; change the other lines, or make another line the balance first"
    )]
    IsBalance {
        /// The material.
        material: String,
        /// The treatment.
        treatment: String,
    },
    /// The formula belongs to the treatment it starts from.
    #[error("the lines of {treatment} come from {from}; {way_out}")]
    FromAnother {
        /// The treatment.
        treatment: String,
        /// The one it starts from.
        from: String,
        /// What to do.
        way_out: &'static str,
    },
    /// Others start from it.
    #[error(
        "{} from {treatment}; take those out first, or let them start from another",
        start(children)
    )]
    HasChildren {
        /// The treatment.
        treatment: String,
        /// Those that start from it.
        children: Vec<String>,
    },
    /// The control can't be taken out.
    #[error("{treatment} is the control; make another treatment the control first")]
    IsControl {
        /// The treatment.
        treatment: String,
    },
    /// The short name is taken or can't be one.
    #[error("{what} ‘{id}’ {why}")]
    BadName {
        /// What is named.
        what: &'static str,
        /// As given.
        id: String,
        /// What is wrong and what is allowed.
        why: NameFault,
    },
    /// A value that the field can't take.
    #[error("{path} is {}; allowed is {}", found.words(Units::Metric), allowed.words(Units::Metric))]
    BadValue {
        /// The way to the field.
        path: String,
        /// What was given.
        found: Found,
        /// What is allowed.
        allowed: Allowed,
    },
    /// No such field.
    #[error("there is no field ‘{path}’{}", hint(closest))]
    NoField {
        /// As given.
        path: String,
        /// Fields with a similar name.
        closest: Vec<String>,
    },
    /// No such zone.
    #[error("the oven has no zone ‘{zone}’; its zones are {}", zones.join(", "))]
    NoZone {
        /// As given.
        zone: String,
        /// Those it has.
        zones: Vec<String>,
    },
    /// Something that has to be worked out can't be before other problems are solved.
    #[error("{what}: {why}")]
    NotNow {
        /// What was asked.
        what: String,
        /// What stands in the way.
        why: Why,
    },
}

impl EditError {
    /// The error for a person who reads in these units.
    pub fn words(&self, units: Units) -> String {
        match self {
            Self::BadValue {
                path,
                found,
                allowed,
            } => format!(
                "{path} is {}; allowed is {}",
                found.words(units),
                allowed.words(units)
            ),
            other => other.to_string(),
        }
    }
}

/// What is wrong with a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NameFault {
    /// It can't be a short name.
    #[error("can't be a short name; write 1 to 60 of a–z, 0–9, _ and -")]
    NotShort,
    /// Something is called so already.
    #[error("is there already; give another name")]
    Taken,
    /// No material is called so.
    #[error("is neither on the shelf nor among the study's own")]
    NoMaterial,
}

/// What stands in the way of working something out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Why {
    /// A problem of the study.
    #[error("{0}")]
    Problem(Box<Problem>),
    /// The change can't be made.
    #[error("{0}")]
    Change(Box<ChangeError>),
    /// The treatment can't be built.
    #[error("it isn't built")]
    NotBuilt,
}

impl Why {
    fn first(problems: Vec<Problem>) -> Self {
        match problems.into_iter().next() {
            Some(problem) => Self::Problem(Box::new(problem)),
            None => Self::NotBuilt,
        }
    }
}

fn start(children: &[String]) -> String {
    let verb = if children.len() == 1 {
        "starts"
    } else {
        "start"
    };
    format!("{} {verb}", children.join(", "))
}

fn hint(closest: &[String]) -> String {
    match closest {
        [] => String::new(),
        near => format!("; closest: {}", near.join(", ")),
    }
}

/// The study with an edit made. Whether the whole makes sense is for [`crate::written::resolve`] to
/// tell: an edit may leave a formula that doesn't sum yet.
///
/// # Errors
/// What can't be done, by name and value, with the way out. Nothing is changed then.
///
/// ```
/// use study::edit::{Edit, apply};
/// use study::written::{read_written, write};
/// # let text = include_str!("../../../examples/spent-grain.toml");
/// let before = read_written(text).unwrap();
/// let edit = Edit::SetAmount { treatment: "barley".into(), material: "salt".into(), amount: 0.4 };
/// let after = apply(&before, &edit).unwrap();
/// assert!(write(&after).contains(r#"{ set = "salt", amount = 0.4 }"#));
/// ```
pub fn apply(written: &StudyWritten, edit: &Edit) -> Result<StudyWritten, EditError> {
    let mut w = written.clone();
    match edit {
        Edit::SetAmount {
            treatment,
            material,
            amount,
        } => {
            formula::set_amount(&mut w, treatment, material, *amount)?;
        }
        Edit::AddLine {
            treatment,
            material,
            amount,
            stage,
        } => {
            formula::add_line(&mut w, treatment, material, *amount, stage.as_deref())?;
        }
        Edit::RemoveLine {
            treatment,
            material,
        } => formula::remove_line(&mut w, treatment, material)?,
        Edit::MoveLine {
            treatment,
            material,
            before,
        } => {
            formula::move_line(&mut w, treatment, material, before.as_deref())?;
        }
        Edit::SetWater { treatment, water } => formula::set_water(&mut w, treatment, *water)?,
        Edit::Swap {
            treatment,
            out,
            with,
            keep,
            share_pct,
        } => {
            formula::swap(&mut w, treatment, out, with, *keep, *share_pct)?;
        }
        Edit::SetBalance {
            treatment,
            material,
        } => {
            formula::set_balance(&mut w, treatment, material.as_deref())?;
        }
        Edit::AddTreatment { from, id, name } => treatment::add(&mut w, from, id, name)?,
        Edit::RemoveTreatment { treatment } => treatment::remove(&mut w, treatment)?,
        Edit::RenameTreatment { treatment, name } => {
            field::set(
                &mut w,
                Some(treatment),
                TreatmentRow::name.name,
                Some(&Put::Text(name.trim().to_owned())),
            )?;
        }
        Edit::MoveTreatment { treatment, before } => {
            treatment::move_before(&mut w, treatment, before.as_deref())?;
        }
        Edit::SetControl { treatment } => {
            named::index(&w, treatment)?;
            field::set(
                &mut w,
                None,
                &below(RootRow::study.name, StudyRow::control.name),
                Some(&Put::Text(treatment.clone())),
            )?;
        }
        Edit::SetNote { treatment, note } => {
            let note = note.trim_end().replace("\r\n", "\n");
            let put = (!note.is_empty()).then_some(Put::Text(note));
            let path = if treatment.is_some() {
                TreatmentRow::note.name.to_owned()
            } else {
                below(RootRow::study.name, StudyRow::note.name)
            };
            field::set(&mut w, treatment.as_deref(), &path, put.as_ref())?;
        }
        Edit::SetTarget { moisture_pct, at } => {
            let target = below(RootRow::study.name, StudyRow::target.name);
            field::set(
                &mut w,
                None,
                &below(&target, TargetRow::moisture_pct.name),
                Some(&Put::Number(*moisture_pct)),
            )?;
            if let Some(at) = at {
                field::set(
                    &mut w,
                    None,
                    &below(&target, TargetRow::at.name),
                    Some(&Put::Text(at.clone())),
                )?;
            }
        }
        Edit::SetZone {
            treatment,
            zone,
            field,
            value,
        } => {
            zones::set(&mut w, treatment.as_deref(), zone, field, *value)?;
        }
        Edit::SplitZone {
            treatment,
            zone,
            share,
        } => zones::split(&mut w, treatment.as_deref(), zone, *share)?,
        Edit::RemoveZone { treatment, zone } => {
            zones::remove(&mut w, treatment.as_deref(), zone)?;
        }
        Edit::SetField {
            treatment,
            path,
            value,
        } => {
            field::set(&mut w, treatment.as_deref(), path, value.as_ref())?;
        }
        Edit::OverrideMaterial { material, values } => {
            field::override_material(&mut w, material, values)?
        }
        Edit::AddLimit {
            figure,
            at_most,
            at_least,
            probability_pct,
            reason,
        } => limits::add(
            &mut w,
            figure,
            (*at_most, *at_least),
            *probability_pct,
            reason,
        )?,
        Edit::RemoveLimit { nth } => limits::remove(&mut w, *nth)?,
        Edit::TakeUp { learned } => take_up::take_up(&mut w, learned)?,
        Edit::LeaveOut { part } => take_up::leave_out(&mut w, *part),
        Edit::ForgetMaterial { material } => {
            let own = w.root.rows_mut(RootRow::material);
            own.retain(|m| m.get(MaterialRow::id) != Some(material));
            if own.is_empty() {
                w.root.take(RootRow::material);
            }
        }
    }
    if too_long(&w) {
        let allowed = Allowed::Words("at most 2 MB of text in a study");
        return Err(bad("the study", Found::Other("too long"), allowed));
    }
    w.edited();
    Ok(w)
}

/// Makes edits one after another, all or none.
///
/// # Errors
/// As [`apply`], of the first that can't be made.
pub fn apply_all(written: &StudyWritten, edits: &[Edit]) -> Result<StudyWritten, EditError> {
    let Some((first, rest)) = edits.split_first() else {
        return Ok(written.clone());
    };
    let first = apply(written, first)?;
    rest.iter()
        .try_fold(first, |after, edit| apply(&after, edit))
}

/// The way to a field of a section.
fn below(section: &str, key: &str) -> String {
    format!("{section}.{key}")
}

fn bad(path: impl Into<String>, found: Found, allowed: Allowed) -> EditError {
    EditError::BadValue {
        path: path.into(),
        found,
        allowed,
    }
}
