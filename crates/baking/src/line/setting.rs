//! The line as its user describes it; the oven is described apart.

use super::{Conversion, Former, Heating};
use crate::after::Conveyor;
use crate::properties::measured;
use measure::{Apart, Constant, Grade, Range, Source, Units};
use serde::{Deserialize, Serialize};

/// Mixers, all alike.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Mixer {
    /// How many.
    pub count: u32,
    /// Dough in one batch \[kg\].
    pub batch_kg: f64,
    /// From one batch to the next \[s\].
    pub cycle_s: f64,
}

/// Packing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Packer {
    /// Packs per minute.
    pub packs_per_min: f64,
    /// Net mass on the label \[kg\].
    pub label_kg: f64,
    /// Share of the mean fill that lies above the label, 0 to 0.2.
    pub giveaway: f64,
}

impl Packer {
    /// Product packed \[kg/h\]: packs · label / (1 − giveaway).
    ///
    /// - Equation: m = 60 n L/(1 − g)
    /// - Units: n \[packs/min\], L \[kg\], g giveaway \[share\], m \[kg/h\]
    /// - Valid: giveaway from 0 to under 1
    /// - Source: an identity
    ///
    /// ```
    /// use baking::line::Packer;
    /// // 40 packs of 0.5 kg a minute with 2 % of the fill given away.
    /// let packer = Packer { packs_per_min: 40.0, label_kg: 0.5, giveaway: 0.02 };
    /// assert!((packer.kg_per_h() - 1224.489_796).abs() < 1e-6);
    /// ```
    pub fn kg_per_h(&self) -> f64 {
        self.packs_per_min * 60.0 * self.label_kg / (1.0 - self.giveaway)
    }
}

/// A line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LineSetting {
    /// Name shown to people.
    pub name: String,
    /// Mixers.
    pub mixer: Mixer,
    /// Former.
    pub former: Former,
    /// Band or racks of the steps after a band oven; none = not known. A batch oven takes its steps itself.
    pub dryer: Option<Conveyor>,
    /// Cooler.
    pub cooler: Conveyor,
    /// Packer.
    pub packer: Packer,
    /// Share of the oven's places that are filled over a shift, stops included.
    pub oven_utilisation: f64,
    /// What heats the oven; none = what an oven of its kind usually has.
    pub heating: Option<Heating>,
    /// Useful heat over fuel \[1\], where the person has read it off their meters; none = by the
    /// balance of exhaust, standing losses and flue.
    pub oven_efficiency: Option<f64>,
    /// Dough lost between mixer and oven, trim apart \[1\].
    pub dough_loss: f64,
    /// Most rework in the dough \[1\].
    pub rework_cap: f64,
    /// Pieces broken between oven and pack \[1\].
    pub breakage: f64,
    /// Costs beside the ingredients.
    pub conversion: Conversion,
    /// Where the description comes from and how sure it is.
    pub source: Source,
}

/// Share of filled places over a shift.
pub const UTILISATION: Constant = Constant {
    name: "filled places of the oven over a shift",
    value: 0.90,
    unit: "1",
    range: Range::new(0.05, 1.0),
    source: "working value",
    grade: Grade::Assumed,
};
/// Dough lost between mixer and oven.
pub const DOUGH_LOSS: Constant = Constant {
    name: "dough lost between mixer and oven",
    value: 0.02,
    unit: "1",
    range: Range::new(0.0, 0.5),
    source: "working value; weigh a shift's sweepings to replace it",
    grade: Grade::Assumed,
};
/// Most rework in the dough.
pub const REWORK_CAP: Constant = Constant {
    name: "most rework in the dough",
    value: 0.15,
    unit: "1",
    range: Range::new(0.0, 0.9),
    source: "10 to 15 % for short dough, from memory; sheeted dough that takes back all its trim is set higher",
    grade: Grade::Recalled,
};
/// Pieces broken between oven and pack.
pub const BREAKAGE: Constant = Constant {
    name: "pieces broken between oven and pack",
    value: 0.03,
    unit: "1",
    range: Range::new(0.0, 0.9),
    source: "working value",
    grade: Grade::Assumed,
};

/// Areas of a cooler or dryer \[m²\].
const CONVEYOR_M2: Range = Range::new(0.01, 5000.0);
/// Pieces per area over those in the oven.
const CROWDING: Range = Range::new(0.1, 20.0);

/// Why a line can't be worked out.
#[derive(Clone, Debug, PartialEq)]
pub enum LineError {
    /// A number outside its range.
    Range {
        /// The field.
        field: &'static str,
        /// What was given.
        value: f64,
        /// Unit.
        unit: &'static str,
        /// What is allowed.
        allowed: Range,
    },
    /// The oven.
    Oven(crate::oven::OvenError),
    /// The piece.
    Piece(crate::piece::PieceError),
    /// Nothing fits.
    NothingFits {
        /// Width of the piece \[mm\].
        piece_mm: f64,
        /// Band or tray.
        place: &'static str,
        /// Free width \[mm\].
        room_mm: f64,
    },
    /// The piece doesn't fit the die.
    Die {
        /// Length of the piece, around the die \[mm\].
        length_mm: f64,
        /// Width of the piece \[mm\].
        width_mm: f64,
        /// Circumference of the die \[mm\].
        around_mm: f64,
        /// Cavities around.
        around: u32,
        /// Cavities across.
        across: u32,
        /// Most that fit around.
        most_around: u32,
    },
    /// The baked piece would be wetter than the dough.
    Moisture {
        /// Dough moisture \[%\].
        dough_pct: f64,
        /// Baked moisture \[%\].
        baked_pct: f64,
    },
}

impl Apart for LineError {
    fn apart(&self, units: Units) -> (String, String) {
        match self {
            Self::Range {
                field,
                value,
                unit,
                allowed,
            } => (
                format!(
                    "line, {field}: {}{} is outside {}{}",
                    measured(value, unit),
                    units.also(&[*value], unit),
                    measured(allowed, unit),
                    units.also(&[allowed.low, allowed.high], unit)
                ),
                String::new(),
            ),
            Self::Oven(error) => error.apart(units),
            Self::Piece(error) => error.apart(units),
            Self::NothingFits {
                piece_mm,
                place,
                room_mm,
            } => (
                format!(
                    "not one piece of {piece_mm:.0} mm{} fits {place} of {room_mm:.0} mm{}",
                    units.also(&[*piece_mm], "mm"),
                    units.also(&[*room_mm], "mm")
                ),
                format!("take a smaller piece or a wider {place}"),
            ),
            Self::Die {
                length_mm,
                width_mm,
                around_mm,
                around,
                across,
                most_around,
            } => (
                format!(
                    "a piece of {length_mm:.0} × {width_mm:.0} mm{} doesn't fit {around} × {across} cavities around {around_mm:.0} mm{} of die and across the band; at most {most_around} go around",
                    units.also(&[*length_mm, *width_mm], "mm"),
                    units.also(&[*around_mm], "mm")
                ),
                "take the cavities of the die out, so that they come from the piece, or a smaller piece or a thicker die".to_owned(),
            ),
            Self::Moisture {
                dough_pct,
                baked_pct,
            } => (
                format!(
                    "baked moisture {baked_pct:.2} % is not below the dough's {dough_pct:.2} %"
                ),
                "give the moisture after baking, wet basis".to_owned(),
            ),
        }
    }
}

measure::error_apart!(LineError);

impl From<crate::oven::OvenError> for LineError {
    fn from(error: crate::oven::OvenError) -> Self {
        Self::Oven(error)
    }
}

impl From<crate::piece::PieceError> for LineError {
    fn from(error: crate::piece::PieceError) -> Self {
        Self::Piece(error)
    }
}

pub(super) fn within(
    field: &'static str,
    value: f64,
    unit: &'static str,
    allowed: Range,
) -> Result<(), LineError> {
    if allowed.contains(value) {
        Ok(())
    } else {
        Err(LineError::Range {
            field,
            value,
            unit,
            allowed,
        })
    }
}

impl LineSetting {
    /// Looks at every number.
    ///
    /// # Errors
    /// The first one outside its range, by name.
    pub fn check(&self) -> Result<(), LineError> {
        let Self {
            name: _,
            mixer:
                Mixer {
                    count,
                    batch_kg,
                    cycle_s,
                },
            former,
            dryer,
            cooler: Conveyor { area_m2, crowding },
            packer:
                Packer {
                    packs_per_min,
                    label_kg,
                    giveaway,
                },
            oven_utilisation,
            heating: _,
            oven_efficiency,
            dough_loss,
            rework_cap,
            breakage,
            conversion:
                Conversion {
                    per_kg,
                    per_line_hour,
                    per_kwh,
                },
            source: _,
        } = self;
        let money = Range::new(0.0, 1e9);
        let numbers = [
            ("mixers", f64::from(*count), "", Range::new(1.0, 100.0)),
            (
                "dough in one batch",
                *batch_kg,
                "kg",
                Range::new(0.05, 5000.0),
            ),
            ("mixing cycle", *cycle_s, "s", Range::new(30.0, 14_400.0)),
            (
                "drying area",
                dryer.map_or(1.0, |d| d.area_m2),
                "m²",
                CONVEYOR_M2,
            ),
            (
                "crowding in the dryer",
                dryer.map_or(1.0, |d| d.crowding),
                "",
                CROWDING,
            ),
            ("cooling area", *area_m2, "m²", CONVEYOR_M2),
            ("crowding on the cooler", *crowding, "", CROWDING),
            (
                "packs per minute",
                *packs_per_min,
                "1/min",
                Range::new(0.01, 2000.0),
            ),
            (
                "net mass on the label",
                *label_kg,
                "kg",
                Range::new(0.001, 1000.0),
            ),
            ("giveaway", *giveaway, "", Range::new(0.0, 0.2)),
            (
                "filled places of the oven",
                *oven_utilisation,
                "",
                UTILISATION.range,
            ),
            (
                "useful heat over fuel",
                oven_efficiency.unwrap_or(0.5),
                "",
                super::energy::OVEN_EFFICIENCY.range,
            ),
            ("dough loss", *dough_loss, "", DOUGH_LOSS.range),
            (
                "most rework in the dough",
                *rework_cap,
                "",
                REWORK_CAP.range,
            ),
            ("breakage", *breakage, "", BREAKAGE.range),
            ("cost per kg", *per_kg, "", money),
            ("cost per hour of the line", *per_line_hour, "", money),
            ("cost per kWh", *per_kwh, "", money),
        ];
        for (field, value, unit, allowed) in numbers.into_iter().chain(former.numbers()) {
            within(field, value, unit, allowed)?;
        }
        Ok(())
    }
}
