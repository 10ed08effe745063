//! The oven as its user describes it, and the stages a piece goes through in it and after it.

pub mod cooling;
pub mod humidity;
pub mod presets;
pub mod stages;
pub mod step;
pub mod zone;

pub use cooling::{Cooling, CoolingTime, Pack};
pub use humidity::Humidity;
pub use stages::{StageError, stages};
pub use step::{Step, with_steps};
pub use zone::{TopHeat, Zone, ZoneLength};

use crate::Code;
use crate::properties::measured;
use crate::properties::water::saturation_pressure_pa;
use measure::{Apart, Constant, Finding, Grade, Range, Severity, Source, Units};
use serde::{Deserialize, Serialize};

/// What carries the pieces.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Surface {
    /// A closed steel band: no vapour leaves downwards.
    Steel,
    /// A wire mesh.
    Mesh {
        /// Share of it that is open, 0 to 1.
        open_fraction: f64,
    },
}

impl Surface {
    /// Share through which vapour passes.
    ///
    /// - Rule: steel 0, a mesh its open share
    /// - Units: share \[1\]
    /// - Valid: 0 to 1
    /// - Source: definition
    ///
    /// ```
    /// use baking::oven::Surface;
    /// assert_eq!((Surface::Steel.open(), Surface::Mesh { open_fraction: 0.4 }.open()), (0.0, 0.4));
    /// ```
    pub fn open(self) -> f64 {
        match self {
            Self::Steel => 0.0,
            Self::Mesh { open_fraction } => open_fraction,
        }
    }
}

/// How the oven takes its load.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A band runs through zones one after the other.
    Band {
        /// What the band is.
        surface: Surface,
        /// Heated length \[m\].
        length_m: f64,
        /// Width of the band \[m\].
        width_m: f64,
        /// Left free at each edge \[m\].
        edge_clear_m: f64,
    },
    /// Trays go in, are baked, and come out; one zone.
    Batch {
        /// Trays at a time.
        trays: u32,
        /// Usable area of one tray \[m²\].
        tray_area_m2: f64,
        /// Pieces on one tray, when counted; else as many as the layout puts on its area.
        pieces_per_tray: Option<u32>,
        /// Baking paper between piece and tray: less heat from below.
        paper: bool,
        /// Opening, unloading and loading between two bakes \[s\].
        loading_s: f64,
    },
}

/// An oven.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Oven {
    /// Name shown to people.
    pub name: String,
    /// Band or batch.
    pub kind: Kind,
    /// Zones in the order the pieces pass them.
    pub zones: Vec<Zone>,
    /// Steps after the last zone that keep their own time: a cooler second bake, a drying cabinet, a dryer, a dwell.
    #[serde(default)]
    pub steps: Vec<Step>,
    /// Where the description comes from and how sure it is.
    pub source: Source,
}

/// Thermal resistance of baking paper under the pieces.
pub const PAPER: Constant = Constant {
    name: "thermal resistance of baking paper",
    value: 0.0015,
    unit: "m² K/W",
    range: Range::new(0.0005, 0.005),
    source: "about 0.07 mm of paper at 0.05 W/(m K), contact included in the band's coefficient",
    grade: Grade::Assumed,
};

/// Why an oven's description can't be used.
#[derive(Clone, Debug, PartialEq)]
pub enum OvenError {
    /// A number outside its range.
    Range {
        /// The oven's name.
        oven: String,
        /// The field, with its zone.
        field: String,
        /// What was given.
        value: f64,
        /// Unit.
        unit: &'static str,
        /// What is allowed.
        allowed: Range,
    },
    /// No zones, or more than one in a batch oven.
    Zones {
        /// The oven's name.
        oven: String,
        /// How many it has.
        count: usize,
        /// What is allowed, and what to do.
        allowed: &'static str,
    },
    /// Lengths in metres that don't add up to the oven's.
    Length {
        /// The oven's name.
        oven: String,
        /// Sum over the zones \[m\].
        sum_m: f64,
        /// Length of the oven \[m\].
        length_m: f64,
    },
    /// Some zones in metres and others as shares.
    Mixed {
        /// The oven's name.
        oven: String,
    },
}

impl Apart for OvenError {
    fn apart(&self, units: Units) -> (String, String) {
        match self {
            Self::Range {
                oven,
                field,
                value,
                unit,
                allowed,
            } => (
                format!(
                    "oven {oven}, {field}: {}{} is outside {}{}",
                    measured(value, unit),
                    units.also(&[*value], unit),
                    measured(allowed, unit),
                    units.also(&[allowed.low, allowed.high], unit)
                ),
                String::new(),
            ),
            Self::Zones {
                oven,
                count,
                allowed,
            } => (
                format!("oven {oven} has {count} zones"),
                (*allowed).to_owned(),
            ),
            Self::Length {
                oven,
                sum_m,
                length_m,
            } => (
                format!(
                    "zones of oven {oven} are {sum_m:.2} m{} long together, its heated length is {length_m:.2} m{}",
                    units.also(&[*sum_m], "m"),
                    units.also(&[*length_m], "m")
                ),
                "correct one of them or give the zones as shares".to_owned(),
            ),
            Self::Mixed { oven } => (
                format!("oven {oven} tells some zones in metres and others as shares"),
                "use one of them for all".to_owned(),
            ),
        }
    }
}

measure::error_apart!(OvenError);

/// Heated length of a band oven \[m\].
pub const LENGTH_M: Range = Range::new(0.5, 150.0);
/// Width of a band \[m\].
pub const WIDTH_M: Range = Range::new(0.1, 4.0);
/// Temperatures in an oven \[°C\].
pub const OVEN_CELSIUS: Range = Range::new(20.0, 400.0);
/// Heat transfer coefficients \[W/(m² K)\].
pub const COEFFICIENT: Range = Range::new(0.0, 500.0);
/// Air speeds \[m/s\].
pub const SPEED: Range = Range::new(0.05, 20.0);

impl Oven {
    /// Share through which vapour leaves downwards.
    ///
    /// - Rule: that of the band; a tray is closed
    /// - Units: share \[1\]
    /// - Valid: 0 to 1
    /// - Source: definition
    ///
    /// ```
    /// assert_eq!(baking::oven::presets::bench_convection().open(), 0.0);
    /// assert_eq!(baking::oven::presets::steel_band().open(), 0.0);
    /// ```
    pub fn open(&self) -> f64 {
        match self.kind {
            Kind::Band { surface, .. } => surface.open(),
            Kind::Batch { .. } => 0.0,
        }
    }

    /// Heat transfer from below into the piece \[W/(m² K)\]: the zone's, with baking paper in series
    /// when there is some.
    ///
    /// - Equation: 1/U = 1/h + R of the paper
    /// - Units: h and U \[W/(m² K)\], R \[m² K/W\]
    /// - Valid: thin paper that lies flat
    /// - Source: resistances in series; that of paper is a constant with its grade
    ///
    /// ```
    /// let oven = baking::oven::presets::bench_convection();
    /// let zone = &oven.zones[0];
    /// assert!(oven.bottom_w_per_m2_k(zone) < zone.bottom_w_per_m2_k);
    /// ```
    pub fn bottom_w_per_m2_k(&self, zone: &Zone) -> f64 {
        match self.kind {
            Kind::Batch { paper: true, .. } => 1.0 / (1.0 / zone.bottom_w_per_m2_k + PAPER.value),
            Kind::Batch { .. } | Kind::Band { .. } => zone.bottom_w_per_m2_k,
        }
    }

    /// Area of the heated band, edges in it, or of the trays \[m²\]; loading is told per this area.
    ///
    /// - Equation: A = L W of a band, n A of trays
    /// - Units: lengths \[m\], areas \[m²\]
    /// - Valid: any oven
    /// - Source: geometry
    ///
    /// ```
    /// use baking::oven::{Kind, presets};
    /// let mut oven = presets::bench_convection();
    /// if let Kind::Batch { trays, tray_area_m2, .. } = &mut oven.kind {
    ///     (*trays, *tray_area_m2) = (4, 0.24);
    /// }
    /// assert!((oven.loading_area_m2() - 0.96).abs() < 1e-12);
    /// ```
    pub fn loading_area_m2(&self) -> f64 {
        match self.kind {
            Kind::Band {
                length_m, width_m, ..
            } => length_m * width_m,
            Kind::Batch {
                trays,
                tray_area_m2,
                ..
            } => f64::from(trays) * tray_area_m2,
        }
    }

    /// Each zone's share of the bake time, summing to one.
    ///
    /// - Equation: sᵢ = Lᵢ/ΣL
    /// - Units: lengths of zones as told, shares \[1\]
    /// - Valid: at least one zone
    /// - Source: geometry: a band at one speed
    ///
    /// ```
    /// let shares = baking::oven::presets::steel_band().shares();
    /// assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    /// ```
    pub fn shares(&self) -> Vec<f64> {
        let lengths: Vec<f64> = self.zones.iter().map(|z| z.length.number()).collect();
        let sum: f64 = lengths.iter().sum();
        lengths.into_iter().map(|l| l / sum).collect()
    }

    /// Looks at every number.
    ///
    /// # Errors
    /// The first one that can't be, with oven, zone, what is allowed and the way out.
    pub fn check(&self) -> Result<(), OvenError> {
        let oven = || self.name.clone();
        let within = |field: String, value: f64, unit, allowed: Range| {
            if allowed.contains(value) {
                Ok(())
            } else {
                Err(OvenError::Range {
                    oven: oven(),
                    field,
                    value,
                    unit,
                    allowed,
                })
            }
        };
        let count = self.zones.len();
        match self.kind {
            Kind::Band {
                surface,
                length_m,
                width_m,
                edge_clear_m,
            } => {
                within("heated length".into(), length_m, "m", LENGTH_M)?;
                within("band width".into(), width_m, "m", WIDTH_M)?;
                within(
                    "clear edge".into(),
                    edge_clear_m,
                    "m",
                    Range::new(0.0, 0.4 * width_m),
                )?;
                if let Surface::Mesh { open_fraction } = surface {
                    within(
                        "open share of the mesh".into(),
                        open_fraction,
                        "",
                        Range::new(0.0, 1.0),
                    )?;
                }
                if count == 0 || count > 20 {
                    return Err(OvenError::Zones {
                        oven: oven(),
                        count,
                        allowed: "a band oven has 1 to 20",
                    });
                }
            }
            Kind::Batch {
                trays,
                tray_area_m2,
                pieces_per_tray,
                loading_s,
                ..
            } => {
                within(
                    "trays".into(),
                    f64::from(trays),
                    "",
                    Range::new(1.0, 1000.0),
                )?;
                within(
                    "tray area".into(),
                    tray_area_m2,
                    "m²",
                    Range::new(0.005, 5.0),
                )?;
                within(
                    "loading time".into(),
                    loading_s,
                    "s",
                    Range::new(0.0, 7200.0),
                )?;
                if let Some(pieces) = pieces_per_tray {
                    within(
                        "pieces per tray".into(),
                        f64::from(pieces),
                        "",
                        Range::new(1.0, 1e5),
                    )?;
                }
                if count != 1 {
                    return Err(OvenError::Zones {
                        oven: oven(),
                        count,
                        allowed: "a batch oven has exactly 1; give the mean of its air",
                    });
                }
            }
        }
        for zone in &self.zones {
            for (field, value, unit, allowed) in zone.numbers() {
                within(format!("zone {}, {field}", zone.name), value, unit, allowed)?;
            }
        }
        self.check_lengths()
    }

    fn check_lengths(&self) -> Result<(), OvenError> {
        let metres = self
            .zones
            .iter()
            .filter(|z| matches!(z.length, ZoneLength::Metres(_)))
            .count();
        if metres == 0 {
            return Ok(());
        }
        if metres < self.zones.len() {
            return Err(OvenError::Mixed {
                oven: self.name.clone(),
            });
        }
        let sum_m: f64 = self.zones.iter().map(|z| z.length.number()).sum();
        match self.kind {
            Kind::Band { length_m, .. } if (sum_m - length_m).abs() > 0.02 * length_m => {
                Err(OvenError::Length {
                    oven: self.name.clone(),
                    sum_m,
                    length_m,
                })
            }
            _ => Ok(()),
        }
    }

    /// What a person should know before trusting or touching this oven.
    pub fn findings(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        let celsius = |k: f64| measure::temperature::celsius(k);
        for zone in &self.zones {
            let air = celsius(zone.air_k);
            if zone.humidity.vapour_pressure_pa() > saturation_pressure_pa(zone.air_k) {
                findings.push(
                    Finding::new(
                        Severity::Warn,
                        Code::FoggyZone,
                        format!("oven.zone:{}", zone.name),
                        format!("air of {air:.0} °C cannot hold that much water as vapour"),
                    )
                    .help("look at the humidity's unit (kg water per kg dry air, or dew point) and at the air temperature"),
                );
            }
            if !USUAL_CELSIUS.contains(air) {
                findings.push(
                    Finding::new(
                        Severity::Note,
                        Code::UnusualOvenTemperature,
                        format!("oven.zone:{}", zone.name),
                        format!("air of {air:.0} °C is outside the usual {USUAL_CELSIUS} °C for dense pet biscuits"),
                    )
                    .help("below it pieces dry rather than bake, above it the rim burns before the middle is dry")
                    .source("common practice, from memory"),
                );
            }
        }
        findings.push(
            Finding::new(
                Severity::Note,
                Code::HotSurfaces,
                "oven",
                "bands, trays and pieces leave the oven well above 60 °C and burn skin at once",
            )
            .help("gloves, guards and lock-out as the oven's maker and local codes ask; let trays cool before handling")
            .source("common practice; local codes decide"),
        );
        findings
    }
}

/// Air temperatures usual for dense pet biscuits \[°C\] (common practice, from memory).
pub const USUAL_CELSIUS: Range = Range::new(80.0, 260.0);

#[cfg(test)]
mod tests;
