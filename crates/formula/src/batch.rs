//! A batch: one mixing of a formula, scaled exactly, then rounded to the scale that weighs it.

use crate::Code;
use crate::formula::{Formula, Stage};
use measure::rounding::to_division;
use measure::{Finding, Range, Severity};
use serde::{Deserialize, Serialize};

/// How big the batch shall be.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Size {
    /// A mass of dough.
    Dough {
        /// Dough, kg.
        kg: f64,
    },
    /// A number of good pieces.
    Pieces {
        /// Pieces wanted.
        count: f64,
        /// Mass of a piece before the oven, kg.
        green_mass_kg: f64,
        /// Share of dough and pieces lost on the way, 0 ≤ loss < 1.
        loss_fraction: f64,
    },
    /// What a mixer takes.
    MixerFill {
        /// Bowl volume, m³.
        bowl_volume_m3: f64,
        /// Share of the bowl that the dough fills; 0.3 to 0.7 is usual.
        fill_fraction: f64,
        /// Density of the dough, kg/m³.
        dough_density_kg_per_m3: f64,
    },
}

impl Size {
    /// Mass of dough to make.
    ///
    /// Pieces: count × green mass/(1 − loss). Mixer: volume × fill × density.
    ///
    /// - Equation: pieces n m/(1 − loss); mixer V · fill · ρ
    /// - Units: masses \[kg\], volume \[m³\], density \[kg/m³\], shares \[1\]
    /// - Valid: ranges that the error names
    /// - Source: an identity
    ///
    /// ```
    /// let size = formula::batch::Size::MixerFill {
    ///     bowl_volume_m3: 0.4,
    ///     fill_fraction: 0.5,
    ///     dough_density_kg_per_m3: 1250.0,
    /// };
    /// assert_eq!(size.dough_kg().unwrap(), 250.0);
    /// ```
    pub fn dough_kg(self) -> Result<f64, BatchError> {
        match self {
            Self::Dough { kg } => check("dough mass, kg", kg, DOUGH_KG),
            Self::Pieces {
                count,
                green_mass_kg,
                loss_fraction,
            } => {
                check("pieces", count, Range::new(1.0, 1e9))?;
                check(
                    "green mass of a piece, kg",
                    green_mass_kg,
                    Range::new(1e-5, 5.0),
                )?;
                check("loss", loss_fraction, Range::new(0.0, 0.95))?;
                Ok(count * green_mass_kg / (1.0 - loss_fraction))
            }
            Self::MixerFill {
                bowl_volume_m3,
                fill_fraction,
                dough_density_kg_per_m3,
            } => {
                check("bowl volume, m³", bowl_volume_m3, Range::new(1e-4, 20.0))?;
                check("fill", fill_fraction, Range::new(0.01, 1.0))?;
                check(
                    "dough density, kg/m³",
                    dough_density_kg_per_m3,
                    Range::new(300.0, 2000.0),
                )?;
                Ok(bowl_volume_m3 * fill_fraction * dough_density_kg_per_m3)
            }
        }
    }
}

const DOUGH_KG: Range = Range::new(1e-3, 1e6);

/// The scales that weigh the batch.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Scales {
    /// Division of the main scale, kg; 0 = don't round.
    pub division_kg: f64,
    /// A finer scale for small amounts: (weighs up to, division), kg.
    pub fine: Option<(f64, f64)>,
}

impl Scales {
    /// One scale for everything.
    pub const fn one(division_kg: f64) -> Self {
        Self {
            division_kg,
            fine: None,
        }
    }

    fn division_for(self, kg: f64) -> f64 {
        match self.fine {
            Some((up_to_kg, division_kg)) if kg <= up_to_kg => division_kg,
            _ => self.division_kg,
        }
    }
}

/// One line to weigh.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BatchLine {
    /// Id of the material.
    pub material: String,
    /// Plain name.
    pub name: String,
    /// Lot, as far as the material names one.
    pub lot: String,
    /// Stage of addition.
    pub stage: Stage,
    /// Exact mass, kg.
    pub exact_kg: f64,
    /// Mass to weigh, kg.
    pub weighed_kg: f64,
    /// Division of the scale used, kg.
    pub division_kg: f64,
}

impl BatchLine {
    /// Weighed − exact, kg.
    ///
    /// - Equation: weighed − exact
    /// - Units: masses \[kg\]
    /// - Valid: any
    /// - Source: an identity; half a division at most when rounded
    ///
    /// ```
    /// use formula::{Formula, Line, batch::{Scales, Size, scale}, shelf};
    /// let dough = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
    /// let sheet = scale(&dough, Size::Dough { kg: 12.3456 }, Scales::one(0.01)).unwrap();
    /// let line = &sheet.lines[0];
    /// assert!((line.rounding_error_kg() - (line.weighed_kg - 12.3456)).abs() < 1e-12);
    /// assert!(line.rounding_error_kg().abs() <= 0.5 * line.division_kg + 1e-12);
    /// ```
    pub fn rounding_error_kg(&self) -> f64 {
        self.weighed_kg - self.exact_kg
    }

    /// Rounding error in percent of the exact mass; 0 for a line of nothing.
    pub(crate) fn rounding_error_pct(&self) -> f64 {
        if self.exact_kg == 0.0 {
            0.0
        } else {
            100.0 * self.rounding_error_kg() / self.exact_kg
        }
    }
}

/// A batch to weigh, in order of addition.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Batch {
    /// Exact dough mass, kg.
    pub exact_kg: f64,
    /// Dough mass as weighed, kg.
    pub weighed_kg: f64,
    /// Lines by stage, in the order of the formula within a stage.
    pub lines: Vec<BatchLine>,
}

impl Batch {
    /// Weighed − exact for the whole, kg.
    ///
    /// - Equation: weighed − exact, both summed over the lines
    /// - Units: masses \[kg\]
    /// - Valid: any
    /// - Source: an identity
    ///
    /// ```
    /// use formula::{Formula, Line, batch::{Scales, Size, scale}, shelf};
    /// let dough = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
    /// let sheet = scale(&dough, Size::Dough { kg: 12.3456 }, Scales::one(0.01)).unwrap();
    /// let lines: f64 = sheet.lines.iter().map(|l| l.rounding_error_kg()).sum();
    /// assert!((sheet.rounding_error_kg() - lines).abs() < 1e-12);
    /// ```
    pub fn rounding_error_kg(&self) -> f64 {
        self.weighed_kg - self.exact_kg
    }

    /// Lines that the scale can't weigh well: rounding moves them by more than 2 %.
    pub fn findings(&self) -> Vec<Finding> {
        self.lines
            .iter()
            .filter(|l| l.rounding_error_pct().abs() > 2.0)
            .map(|l| {
                Finding::new(
                    Severity::Warn,
                    Code::ScaleTooCoarse,
                    format!("material:{}", l.material),
                    format!(
                        "{} is {:.5} kg, but the scale's division is {} kg: rounding changes it by {:.1} %.",
                        l.name,
                        l.exact_kg,
                        l.division_kg,
                        l.rounding_error_pct()
                    ),
                )
                .help("Weigh it on a finer scale, dilute it in a premix, or make a bigger batch.")
            })
            .collect()
    }
}

/// What is wrong with a batch.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum BatchError {
    /// A number outside what can be.
    #[error("{field} is {value}; allowed is {allowed}")]
    OutOfRange {
        /// The field in words, with unit.
        field: &'static str,
        /// The value given.
        value: f64,
        /// What is allowed.
        allowed: Range,
    },
}

fn check(field: &'static str, value: f64, allowed: Range) -> Result<f64, BatchError> {
    if allowed.contains(value) {
        Ok(value)
    } else {
        Err(BatchError::OutOfRange {
            field,
            value,
            allowed,
        })
    }
}

/// Scales a formula to a batch.
pub fn scale(formula: &Formula, size: Size, scales: Scales) -> Result<Batch, BatchError> {
    let dough_kg = check("dough mass, kg", size.dough_kg()?, DOUGH_KG)?;
    check(
        "division of the scale, kg",
        scales.division_kg,
        Range::new(0.0, 100.0),
    )?;
    if let Some((up_to_kg, division_kg)) = scales.fine {
        check(
            "reach of the fine scale, kg",
            up_to_kg,
            Range::new(0.0, 1e4),
        )?;
        check(
            "division of the fine scale, kg",
            division_kg,
            Range::new(0.0, 100.0),
        )?;
    }
    let factor = dough_kg / formula.total();
    let mut lines: Vec<BatchLine> = formula
        .lines()
        .iter()
        .map(|l| {
            let exact_kg = l.parts * factor;
            let division_kg = scales.division_for(exact_kg);
            BatchLine {
                material: l.material.id.clone(),
                name: l.material.name.clone(),
                lot: l.material.lot.clone(),
                stage: l.stage,
                exact_kg,
                weighed_kg: to_division(exact_kg, division_kg),
                division_kg,
            }
        })
        .collect();
    lines.sort_by_key(|l| l.stage);
    Ok(Batch {
        exact_kg: dough_kg,
        weighed_kg: lines.iter().map(|l| l.weighed_kg).sum(),
        lines,
    })
}
