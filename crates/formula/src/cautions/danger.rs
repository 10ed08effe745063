//! What stands in the list of dangers.

use crate::Code;
use crate::names::Names;
use crate::nutrition::Species;
use measure::{Grade, Severity};

/// A thing that harms by being there, and how its presence shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Danger {
    /// Short name, code of the finding; rows of one code are one danger seen from two sides.
    pub code: Code,
    /// The substance in words.
    pub substance: &'static str,
    /// What gives it away.
    pub names: Names,
    /// The animals it concerns.
    pub species: &'static [Species],
    /// How much it weighs when it stands in a name.
    pub severity: Severity,
    /// Dose level in words.
    pub threshold: &'static str,
    /// What to do.
    pub advice: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// How sure it is.
    pub grade: Grade,
}

/// Dogs and cats.
pub(super) const BOTH: &[Species] = &Species::ALL;
/// What to do about most of them.
pub(super) const LEAVE_OUT: &str = "Leave it out; ask a veterinarian before any exception.";
/// Source of what is from memory.
pub(super) const RECALLED: &str = "from memory, to be confirmed";
/// Words that say that a food is raw.
pub(super) const RAW: &[&str] = &[
    "raw",
    "uncooked",
    "unheated",
    "untoasted",
    "roh",
    "rohe",
    "rohes",
    "roher",
    "rohen",
    "ungekocht",
    "cru",
    "crue",
    "crus",
    "crues",
    "crudo",
    "cruda",
    "crudos",
    "crudas",
    "sin cocer",
];
/// Words that say that it was heated; one that is denied ("not cooked") doesn't count.
pub(super) const HEATED: &[&str] = &[
    "cooked",
    "precooked",
    "boiled",
    "canned",
    "tinned",
    "toasted",
    "roasted",
    "extruded",
    "heat treated",
    "heated",
    "baked",
    "fried",
    "steamed",
    "sterilised",
    "sterilized",
    "pasteurised",
    "pasteurized",
    "gekocht",
    "vorgekocht",
    "getoastet",
    "gerostet",
    "extrudiert",
    "erhitzt",
    "gebacken",
    "gebraten",
    "pasteurisiert",
    "sterilisiert",
    "cuit",
    "cuite",
    "cuits",
    "cuites",
    "grille",
    "toaste",
    "extrude",
    "pasteurise",
    "sterilise",
    "cocido",
    "cocida",
    "cocidos",
    "cocidas",
    "tostado",
    "tostada",
    "extrusionado",
    "pasteurizado",
    "pasteurizada",
    "horneado",
];
/// Words that say that beans were boiled or cooked under pressure: roasting, toasting, pasteurising
/// and "heat treated" may leave the lectin, and 80 °C may raise it (public health handbook, seen);
/// extrusion breaks it (from memory, to be confirmed).
pub(super) const BOILED: &[&str] = &[
    "cooked",
    "precooked",
    "boiled",
    "canned",
    "tinned",
    "extruded",
    "gekocht",
    "vorgekocht",
    "extrudiert",
    "cuit",
    "cuite",
    "cuits",
    "cuites",
    "extrude",
    "cocido",
    "cocida",
    "cocidos",
    "cocidas",
    "extrusionado",
];
