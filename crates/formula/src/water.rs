//! How much water a dough asks for: a first guess with an interval, from materials and process.

use crate::Code;
pub use crate::flour_absorption::{
    ABSORPTION_START, DAMAGED_STARCH, PER_DAMAGED_STARCH, PER_MOISTURE, PER_PROTEIN,
    PER_PROTEIN_SD, flour_absorption_pct, usual_damaged_starch,
};
use crate::formula::Formula;
use measure::estimate::Z95;
use measure::{Constant, Finding, Grade, Range, Severity, Source};
use serde::{Deserialize, Serialize};

/// How the pieces are formed; each asks for its own consistency.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Forming {
    /// Sheeted, gauged and cut: the reference consistency.
    Sheeted,
    /// Pressed into the dies of a rotary moulder: drier and crumbly.
    RotaryMoulded,
    /// Extruded and cut by a wire.
    WireCut,
}

impl Forming {
    /// Every way of forming.
    pub const ALL: [Self; 3] = [Self::Sheeted, Self::RotaryMoulded, Self::WireCut];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Sheeted => "sheeted",
            Self::RotaryMoulded => "rotary moulded",
            Self::WireCut => "wire-cut",
        }
    }

    /// Water against sheeted dough, kg per 100 kg dry mix.
    pub const fn offset(self) -> &'static Constant {
        match self {
            Self::Sheeted => &OFFSET_SHEETED,
            Self::RotaryMoulded => &OFFSET_ROTARY,
            Self::WireCut => &OFFSET_WIRE_CUT,
        }
    }

    /// Standard deviation of [`Forming::offset`], kg per 100 kg dry mix.
    pub const fn offset_sd(self) -> &'static Constant {
        match self {
            Self::Sheeted => &OFFSET_SHEETED_SD,
            Self::RotaryMoulded | Self::WireCut => &OFFSET_OTHER_SD,
        }
    }
}

const fn judged(name: &'static str, value: f64, low: f64, high: f64) -> Constant {
    Constant {
        name,
        value,
        unit: "kg per 100 kg dry mix",
        range: Range::new(low, high),
        source: "judgement, to be learned from titrations",
        grade: Grade::Assumed,
    }
}

static OFFSET_SHEETED: Constant = judged("water offset, sheeted", 0.0, -10.0, 10.0);
static OFFSET_ROTARY: Constant = judged("water offset, rotary moulded", -7.0, -15.0, 5.0);
static OFFSET_WIRE_CUT: Constant = judged("water offset, wire-cut", -2.0, -15.0, 10.0);
static OFFSET_SHEETED_SD: Constant = judged("spread of water offset, sheeted", 2.5, 0.0, 10.0);
static OFFSET_OTHER_SD: Constant = judged(
    "spread of water offset, moulded or wire-cut",
    3.0,
    0.0,
    10.0,
);

/// Spread of one titration on one day (a collaborative trial of flour absorption had a coefficient
/// of variation of 0.55 %; a person's feel is worse).
pub static TITRATION_SD: Constant = judged("spread of one water titration", 1.0, 0.0, 5.0);
/// Spread between days and lots.
pub static DAY_SD: Constant = judged("spread of water between days", 1.0, 0.0, 5.0);

/// What one line asks for, for people who want to see why.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WaterShare {
    /// Id of the material.
    pub material: String,
    /// kg material per 100 kg dry mix.
    pub kg_per_100kg: f64,
    /// Uptake at the material's own moisture, kg per kg.
    pub uptake_kg_per_kg: f64,
    /// Its standard deviation, kg per kg.
    pub uptake_sd: f64,
    /// Water asked for, kg per 100 kg dry mix.
    pub water_kg_per_100kg: f64,
    /// Where the uptake comes from.
    pub source: Source,
}

/// The water a dry mix needs, kg per 100 kg dry mix.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WaterNeed {
    /// Best guess, not below 0.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// Lower 95 % limit, not below 0.
    pub low95: f64,
    /// Upper 95 % limit.
    pub high95: f64,
    /// First dose to give: a standard deviation below the mean, because water can be added, not
    /// taken out \[1\].
    pub first_dose: f64,
    /// Step for the doses after it \[1\].
    pub step: f64,
    /// The process.
    pub forming: Forming,
    /// Line by line.
    pub shares: Vec<WaterShare>,
    /// Materials whose uptake is unknown; counted as asking for nothing, so the need is unsure by
    /// more than the interval says.
    pub unknown: Vec<String>,
    /// Water that the dry mix brings beyond what it asks for, kg per 100 kg; 0 where it asks for some.
    pub excess: f64,
}

/// The water that a formula's dry mix needs, whatever water the formula has.
///
/// need = Σ a_i(M_i) m_i + b_process, kg per 100 kg dry mix, where m_i are kg of each line per
/// 100 kg dry mix (fats and wet foods included) and a_i is restated to the moisture the material
/// has ([`crate::WaterUptake::at`]); sd² = Σ (s_i m_i)² + s_process² + s_titration² + s_day².
///
/// A first guess with an interval, not a law: fat, sugar and salt interact, gums compete, bran
/// hydrates slowly. Titrations replace it.
///
/// ```
/// use formula::{Forming, Formula, Line, shelf, water::need};
/// let dough = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
/// // 50 % at 13 % moisture is 1.5 × 0.8815/0.87 − 1 at 11.85 %; a rotary moulder takes 7 less.
/// let sheeted = need(&dough, Forming::Sheeted);
/// assert!((sheeted.mean - 51.98).abs() < 0.01);
/// assert!((need(&dough, Forming::RotaryMoulded).mean - 44.98).abs() < 0.01);
/// ```
pub fn need(formula: &Formula, forming: Forming) -> WaterNeed {
    let dry_mix = formula.dry_mix();
    let offset = forming.offset().value;
    let noise = [forming.offset_sd().value, TITRATION_SD.value, DAY_SD.value];
    let mut mean = offset;
    let mut variance: f64 = noise.iter().map(|sd| sd * sd).sum();
    let mut shares = Vec::new();
    let mut unknown = Vec::new();
    for line in formula.lines() {
        let m = &line.material;
        if m.is_water() || line.parts == 0.0 {
            continue;
        }
        let (Some(uptake), Some(uptake_kg_per_kg)) = (&m.water_uptake, m.water_uptake_kg_per_kg())
        else {
            unknown.push(m.id.clone());
            continue;
        };
        let kg_per_100kg = 100.0 * line.parts / dry_mix;
        mean += uptake_kg_per_kg * kg_per_100kg;
        variance += (uptake.sd * kg_per_100kg).powi(2);
        shares.push(WaterShare {
            material: m.id.clone(),
            kg_per_100kg,
            uptake_kg_per_kg,
            uptake_sd: uptake.sd,
            water_kg_per_100kg: uptake_kg_per_kg * kg_per_100kg,
            source: uptake.source.clone(),
        });
    }
    WaterNeed {
        mean: 0.0,
        sd: 0.0,
        low95: 0.0,
        high95: 0.0,
        first_dose: 0.0,
        step: 0.0,
        forming,
        shares,
        unknown,
        excess: 0.0,
    }
    .of(mean, variance.sqrt())
}

/// Consistency that the water uptakes are told for, farinograph units (ICC 115/1).
///
/// - Units: \[FU\]
/// - Source: ICC 115/1, a definition (seen)
pub const REFERENCE_FU: f64 = 500.0;
/// Consistency that a dough may be wanted at, farinograph units.
pub const CONSISTENCY_FU: Range = Range::new(200.0, 4000.0);

/// How steeply the logarithm of consistency falls with the logarithm of water.
///
/// Near 500 FU a percent of water is 20 to 30 FU, so ln C falls by about 0.05 per percent; at an
/// absorption of 55 % that is 2.75 per unit of ln W.
pub static STIFFENING: Constant = Constant {
    name: "fall of ln consistency per ln water",
    value: 2.75,
    unit: "1",
    range: Range::new(1.0, 6.0),
    source: "20 to 30 farinograph units per percent water near 500, from memory, to be confirmed",
    grade: Grade::Recalled,
};
/// Standard deviation of [`STIFFENING`].
pub static STIFFENING_SD: Constant = Constant {
    name: "spread of the fall of ln consistency per ln water",
    value: 0.5,
    unit: "1",
    range: Range::new(0.0, 2.0),
    source: "judgement",
    grade: Grade::Assumed,
};

/// Share of the water at the reference consistency that a dough of another consistency needs:
/// f = exp(−(ln C − ln 500)/k).
///
/// - Equation: f = exp(−ln(C/500)/k)
/// - Units: C \[FU\], k \[1\], f \[1\]
/// - Valid: 200 to 4000 FU; k from 500 FU, an extrapolation for stiff doughs
/// - Source: power law of consistency in water; slope near 500 FU from memory, to be confirmed; the example by hand
///
/// ```
/// use formula::water::consistency_factor;
/// assert_eq!(consistency_factor(500.0, 2.75), 1.0);
/// // A stiff biscuit dough of 1500 units takes two thirds of the water.
/// assert!((consistency_factor(1500.0, 2.75) - 0.6707).abs() < 1e-4);
/// ```
pub fn consistency_factor(consistency_fu: f64, stiffening: f64) -> f64 {
    (-(consistency_fu / REFERENCE_FU).ln() / stiffening).exp()
}

impl WaterNeed {
    /// The same need for a dough of another consistency, farinograph units; what isn't known about
    /// the stiffening widens the interval.
    ///
    /// - Equation: mean and spread times f, and what the slope isn't known by
    /// - Units: consistency \[FU\], need \[kg per 100 kg dry mix\]
    /// - Valid: 200 to 4000 FU
    /// - Source: as `consistency_factor`; at 500 FU nothing changes, an identity
    ///
    /// ```
    /// use formula::{Forming, Formula, Line, shelf, water::need};
    /// let dough = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
    /// let at_500 = need(&dough, Forming::Sheeted);
    /// assert!((at_500.at_consistency(500.0).mean - at_500.mean).abs() < 1e-12);
    /// assert!(at_500.at_consistency(1500.0).mean < at_500.mean);
    /// ```
    #[must_use]
    pub fn at_consistency(&self, consistency_fu: f64) -> Self {
        let k = STIFFENING.value;
        let factor = consistency_factor(CONSISTENCY_FU.clamp(consistency_fu), k);
        let mean = self.mean * factor;
        let by_stiffening = mean * factor.ln().abs() / k * STIFFENING_SD.value;
        let sd = (self.sd * factor).hypot(by_stiffening);
        let mut need = self.clone();
        for share in &mut need.shares {
            share.water_kg_per_100kg *= factor;
        }
        if self.excess > 0.0 {
            return need;
        }
        need.of(mean, sd)
    }

    /// The same need with another mean and spread, kg per 100 kg dry mix. A mix that brings more water
    /// than it asks for needs none; limits are never below 0, and the best guess lies within them.
    ///
    /// - Equation: limits mean ± 1.96 sd, first dose mean − sd, none below 0
    /// - Units: \[kg per 100 kg dry mix\]
    /// - Valid: any
    /// - Source: normal limits; the dose below the mean because water can be added, not taken out (house rule)
    ///
    /// ```
    /// use formula::{Forming, Formula, Line, shelf, water::need};
    /// let dough = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
    /// let n = need(&dough, Forming::Sheeted).of(50.0, 2.0);
    /// assert!((n.low95 - 46.08).abs() < 1e-3 && (n.high95 - 53.92).abs() < 1e-3 && n.first_dose == 48.0);
    /// ```
    #[must_use]
    pub fn of(mut self, mean: f64, sd: f64) -> Self {
        self.excess = (-mean).max(0.0);
        self.mean = mean.max(0.0);
        self.sd = sd;
        self.low95 = (mean - Z95 * sd).max(0.0);
        self.high95 = (mean + Z95 * sd).max(0.0);
        self.first_dose = (mean - sd).max(0.0);
        self.step = measure::rounding::to_division(sd / 2.0, 0.5).max(0.5);
        self
    }

    /// Tells a mix that is wetter already than a dough is thought to be.
    pub fn finding(&self) -> Option<Finding> {
        (self.excess > 0.0).then(|| {
            Finding::new(
                Severity::Warn,
                Code::WetterThanDough,
                "dough.water",
                format!(
                    "The mix brings {:.1} kg per 100 kg more water or fat than a {} dough is thought to take: no water is asked for, and how it forms isn't known.",
                    self.excess,
                    self.forming.word()
                ),
            )
            .help("Lower the fat, syrup or wet food, add flour or fibre, or form it another way; make a small trial dough first.")
            .source("first guess from material priors, mostly recalled; titrations replace it")
        })
    }

    /// Compares given water with the need; none when it lies inside the interval.
    ///
    /// - Rule: nothing inside the limits; a warning below and above
    /// - Units: given water \[kg per 100 kg dry mix\]
    /// - Valid: any
    /// - Source: house rule, no source
    ///
    /// ```
    /// use formula::{Code, Forming, Formula, Line, shelf, water::need};
    /// let dough = Formula::new(vec![Line::new(shelf::find("wheat_flour_soft").unwrap(), 1.0)]).unwrap();
    /// let n = need(&dough, Forming::Sheeted).of(50.0, 2.0);
    /// assert!(n.compare(50.0).is_none());
    /// assert_eq!(n.compare(40.0).unwrap().code, Code::WaterBelowNeed);
    /// assert_eq!(n.compare(60.0).unwrap().code, Code::WaterAboveNeed);
    /// ```
    pub fn compare(&self, kg_per_100kg_dry_mix: f64) -> Option<Finding> {
        let (code, word, help) = if kg_per_100kg_dry_mix < self.low95 {
            (
                Code::WaterBelowNeed,
                "less",
                "Expect a dough that crumbles; titrate before the day, or let the need set the water.",
            )
        } else if kg_per_100kg_dry_mix > self.high95 {
            (
                Code::WaterAboveNeed,
                "more",
                "Expect a sticky dough, and every kg beyond the need has to leave in the oven.",
            )
        } else {
            return None;
        };
        Some(
            Finding::new(
                Severity::Warn,
                code,
                "dough.water",
                format!(
                    "Water of {kg_per_100kg_dry_mix:.1} kg per 100 kg dry mix is {word} than the {} dough is thought to need, {:.1} ({:.1} to {:.1}).",
                    self.forming.word(), self.mean, self.low95, self.high95
                ),
            )
            .help(help)
            .source("first guess from material priors, mostly recalled; titrations replace it"),
        )
    }
}
