//! What a raw material is made of, as received: each value with its spread and its source.

use crate::Code;
use measure::{Finding, Grade, Severity, Source};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// kg sodium chloride per kg sodium (molar masses 58.443 and 22.990 g/mol, standard atomic weights).
///
/// - Units: \[kg/kg\]
/// - Source: standard atomic weights, a conversion
pub const SALT_PER_SODIUM: f64 = 58.443 / 22.990;

/// A constituent that the formula arithmetic carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Nutrient {
    /// Water lost on drying.
    Moisture,
    /// Nitrogen × 6.25, the feed-label basis.
    CrudeProtein,
    /// Total lipid; ether extract may read 0.3 to 1 point lower in cereals.
    CrudeFat,
    /// What is left after boiling in acid and alkali; much less than dietary fibre.
    CrudeFibre,
    /// Total dietary fibre by enzymes, soluble fibre included.
    DietaryFibre,
    /// Residue on ignition.
    Ash,
    /// Mono- and disaccharides.
    Sugars,
    /// Starch.
    Starch,
    /// Calcium.
    Calcium,
    /// Phosphorus.
    Phosphorus,
    /// Sodium.
    Sodium,
    /// Potassium.
    Potassium,
}

impl Nutrient {
    /// Every constituent, in the order shown.
    pub const ALL: [Self; 12] = [
        Self::Moisture,
        Self::CrudeProtein,
        Self::CrudeFat,
        Self::CrudeFibre,
        Self::DietaryFibre,
        Self::Ash,
        Self::Sugars,
        Self::Starch,
        Self::Calcium,
        Self::Phosphorus,
        Self::Sodium,
        Self::Potassium,
    ];

    /// The five of the proximate analysis that, with nitrogen-free extract, make up the whole.
    pub const PROXIMATE: [Self; 5] = [
        Self::Moisture,
        Self::CrudeProtein,
        Self::CrudeFat,
        Self::CrudeFibre,
        Self::Ash,
    ];

    /// Whether it stands beside the label's analysis: all but what is a part of fibre and carbohydrate told there already.
    pub const fn beside_label(self) -> bool {
        !matches!(self, Self::DietaryFibre | Self::Sugars | Self::Starch)
    }

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Moisture => "moisture",
            Self::CrudeProtein => "crude protein",
            Self::CrudeFat => "crude fat",
            Self::CrudeFibre => "crude fibre",
            Self::DietaryFibre => "dietary fibre",
            Self::Ash => "ash",
            Self::Sugars => "sugars",
            Self::Starch => "starch",
            Self::Calcium => "calcium",
            Self::Phosphorus => "phosphorus",
            Self::Sodium => "sodium",
            Self::Potassium => "potassium",
        }
    }

    /// The unit people read it in; multiply a fraction by [`Nutrient::per_unit`] to get there.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Calcium | Self::Phosphorus | Self::Sodium | Self::Potassium => "mg/100 g",
            _ => "%",
        }
    }

    /// Shown value = fraction × this factor (100 for percent, 100 000 for mg per 100 g).
    ///
    /// - Rule: 100 for percent, 100 000 for mg per 100 g
    /// - Units: factor from \[kg/kg\]
    /// - Valid: every nutrient
    /// - Source: definition of the units
    ///
    /// ```
    /// use formula::Nutrient;
    /// // 0.01 kg calcium per kg is 1000 mg in 100 g; 0.1 kg protein per kg is 10 %.
    /// assert_eq!(0.01 * Nutrient::Calcium.per_unit(), 1000.0);
    /// assert_eq!(0.1 * Nutrient::CrudeProtein.per_unit(), 10.0);
    /// ```
    pub const fn per_unit(self) -> f64 {
        match self {
            Self::Calcium | Self::Phosphorus | Self::Sodium | Self::Potassium => 1e5,
            _ => 100.0,
        }
    }

    /// Default relative standard deviation between lots, used where a value has no spread of its own.
    ///
    /// Protein 3 %, fat 8 %, fibre 20 %, moisture 10 % of the value: house default for formula
    /// values without analyses; ash and sugars 10 %, starch 5 %, minerals 15 % chosen alike. All
    /// assumed, to be replaced by the user's own lots.
    pub(crate) const fn default_cv(self) -> f64 {
        match self {
            Self::Moisture | Self::Ash | Self::Sugars => 0.10,
            Self::CrudeProtein => 0.03,
            Self::CrudeFat => 0.08,
            Self::CrudeFibre | Self::DietaryFibre => 0.20,
            Self::Starch => 0.05,
            Self::Calcium | Self::Phosphorus | Self::Sodium | Self::Potassium => 0.15,
        }
    }

    /// Source of the default spread between lots.
    pub const fn default_cv_source(self) -> Source {
        Source::fixed(
            Grade::Assumed,
            "house default for the spread between lots where no analyses exist",
        )
    }
}

/// One constituent of a material as received.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Value {
    /// kg per kg of the material as received, 0 ≤ fraction ≤ 1 (crude protein of collagen may pass 1
    /// on dry matter, never as received).
    pub fraction: f64,
    /// Standard deviation between lots, kg per kg; none = not known, see [`Value::sd_or_default`].
    pub sd: Option<f64>,
    /// Where the value comes from.
    pub source: Source,
}

impl Value {
    /// A value without a spread of its own.
    pub const fn new(fraction: f64, source: Source) -> Self {
        Self {
            fraction,
            sd: None,
            source,
        }
    }

    /// The spread between lots: its own, or the default relative spread of the nutrient, taken of
    /// the value or of what is left to one, whichever is less: a pure oil doesn't vary in its fat.
    ///
    /// - Equation: s = own, else cv · min(x, 1 − x)
    /// - Units: x and s \[kg/kg\], cv \[1\]
    /// - Valid: x from 0 to 1
    /// - Source: house rule, no source; the spreads have their own grade
    ///
    /// ```
    /// use formula::{Nutrient, Value};
    /// use measure::{Grade, Source};
    /// let fat = |f| Value::new(f, Source::fixed(Grade::Published, "table")).sd_or_default(Nutrient::CrudeFat);
    /// assert_eq!(fat(0.10), 0.008);
    /// assert_eq!(fat(1.0), 0.0);
    /// ```
    pub fn sd_or_default(&self, nutrient: Nutrient) -> f64 {
        self.sd.unwrap_or_else(|| {
            nutrient.default_cv() * self.fraction.min(1.0 - self.fraction).max(0.0)
        })
    }
}

/// The composition of a material as received; a constituent that isn't there is unknown, not zero.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(from = "BTreeMap<Nutrient, Value>", into = "BTreeMap<Nutrient, Value>")]
pub struct Composition {
    values: [Option<Value>; Nutrient::ALL.len()],
}

impl From<BTreeMap<Nutrient, Value>> for Composition {
    fn from(map: BTreeMap<Nutrient, Value>) -> Self {
        let mut all = Self::default();
        for (nutrient, value) in map {
            all.set(nutrient, value);
        }
        all
    }
}

impl From<Composition> for BTreeMap<Nutrient, Value> {
    fn from(composition: Composition) -> Self {
        Nutrient::ALL
            .into_iter()
            .zip(composition.values)
            .filter_map(|(n, v)| Some((n, v?)))
            .collect()
    }
}

/// How far the proximate sum of a table row may pass 100 % before it is told: the parts are
/// analysed apart, so a point of excess is usual.
///
/// - Units: \[kg/kg\]
/// - Source: a tolerance, chosen here
pub const CLOSURE_TOLERANCE: f64 = 0.01;

impl Composition {
    /// The value of a constituent, if known.
    pub const fn get(&self, nutrient: Nutrient) -> Option<&Value> {
        self.values[nutrient as usize].as_ref()
    }

    /// The fraction of a constituent, kg per kg as received, if known.
    ///
    /// - Rule: the value stored; none where it isn't known
    /// - Units: share \[kg/kg as received\]
    /// - Valid: 0 to 1
    /// - Source: a look-up, nothing is reckoned; 41 % of the worked example in print comes back
    ///
    /// ```
    /// use formula::{Composition, Nutrient, Value};
    /// use measure::{Grade, Source};
    /// let mut c = Composition::default();
    /// c.set(Nutrient::CrudeFat, Value::new(0.14, Source::fixed(Grade::Published, "worked example")));
    /// assert_eq!(c.fraction(Nutrient::CrudeFat), Some(0.14));
    /// assert_eq!(c.fraction(Nutrient::Ash), None);
    /// ```
    pub fn fraction(&self, nutrient: Nutrient) -> Option<f64> {
        self.get(nutrient).map(|v| v.fraction)
    }

    /// Sets a constituent.
    pub fn set(&mut self, nutrient: Nutrient, value: Value) {
        self.values[nutrient as usize] = Some(value);
    }

    /// Makes a constituent unknown.
    pub fn forget(&mut self, nutrient: Nutrient) {
        self.values[nutrient as usize] = None;
    }

    /// Dry matter = 1 − moisture, kg per kg as received, if moisture is known.
    ///
    /// - Equation: 1 − moisture
    /// - Units: shares \[kg/kg as received\]
    /// - Valid: moisture from 0 to 1
    /// - Source: definition
    ///
    /// ```
    /// use formula::{Composition, Nutrient, Value};
    /// use measure::{Grade, Source};
    /// let mut c = Composition::default();
    /// assert_eq!(c.dry_matter(), None);
    /// c.set(Nutrient::Moisture, Value::new(0.10, Source::fixed(Grade::Published, "worked example")));
    /// assert_eq!(c.dry_matter(), Some(0.90));
    /// ```
    pub fn dry_matter(&self) -> Option<f64> {
        Some(1.0 - self.fraction(Nutrient::Moisture)?)
    }

    /// Moisture + crude protein + crude fat + crude fibre + ash, if all are known.
    pub(crate) fn proximate_sum(&self) -> Option<f64> {
        Nutrient::PROXIMATE
            .into_iter()
            .map(|n| self.fraction(n))
            .sum()
    }

    /// Nitrogen-free extract by difference, kg per kg as received; not clipped, so that an excess
    /// in the other five shows as a negative number.
    ///
    /// NFE = 1 − (moisture + crude protein + crude fat + crude fibre + ash).
    ///
    /// Check: 27 % protein, 14 % fat, 2 % fibre, 10 % moisture, 6 % ash leave 41 % (worked
    /// example in print).
    ///
    /// - Equation: 1 − (moisture + protein + fat + fibre + ash)
    /// - Units: shares \[kg/kg as received\]
    /// - Valid: all five known
    /// - Source: definition in feed analysis; a worked example in print (seen)
    ///
    /// ```
    /// use formula::{Composition, Nutrient, Value};
    /// use measure::{Grade, Source};
    /// let mut c = Composition::default();
    /// for (n, pct) in Nutrient::PROXIMATE.into_iter().zip([10.0, 27.0, 14.0, 2.0, 6.0]) {
    ///     c.set(n, Value::new(pct / 100.0, Source::fixed(Grade::Published, "worked example")));
    /// }
    /// assert!((c.nfe().unwrap() - 0.41).abs() < 1e-12);
    /// ```
    pub fn nfe(&self) -> Option<f64> {
        Some(1.0 - self.proximate_sum()?)
    }

    /// Whether the parts fit into the whole; `about` names the material in the finding.
    ///
    /// Tells when the proximate sum passes 1 by more than [`CLOSURE_TOLERANCE`], and when sugars
    /// and starch together pass what the difference leaves for carbohydrate by more than 3 points.
    pub fn closure(&self, about: &str) -> Vec<Finding> {
        let mut findings = Vec::new();
        if let Some(sum) = self.proximate_sum()
            && sum > 1.0 + CLOSURE_TOLERANCE
        {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::CompositionDoesNotClose,
                    format!("material:{about}"),
                    format!(
                        "Moisture, protein, fat, fibre and ash of {about} add to {:.1} %, more than 100 %.",
                        sum * 100.0
                    ),
                )
                .help("Check whether the values are as received, on one basis and from one lot."),
            );
        }
        if let (Some(sugars), Some(starch), Some(rest)) = (
            self.fraction(Nutrient::Sugars),
            self.fraction(Nutrient::Starch),
            self.nfe(),
        ) && sugars + starch > rest.max(0.0) + 0.03
        {
            findings.push(
                Finding::new(
                    Severity::Warn,
                    Code::CarbohydrateDoesNotClose,
                    format!("material:{about}"),
                    format!(
                        "Sugars and starch of {about} add to {:.1} %, but the difference leaves {:.1} % for carbohydrate.",
                        (sugars + starch) * 100.0,
                        rest * 100.0
                    ),
                )
                .help("Check whether the values are on one basis and one method."),
            );
        }
        findings
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_of_nutrients_indexes_itself_and_is_named_apart() {
        let mut words: Vec<_> = Nutrient::ALL.iter().map(|n| n.word()).collect();
        for (i, n) in Nutrient::ALL.into_iter().enumerate() {
            assert_eq!(n as usize, i);
        }
        words.sort_unstable();
        words.dedup();
        assert_eq!(words.len(), Nutrient::ALL.len());
    }

    #[test]
    fn unknown_is_not_zero() {
        let mut c = Composition::default();
        assert_eq!(c.nfe(), None);
        c.set(
            Nutrient::Ash,
            Value::new(0.0, Source::fixed(Grade::Computed, "zero")),
        );
        assert_eq!(c.fraction(Nutrient::Ash), Some(0.0));
        assert_eq!(c.fraction(Nutrient::Starch), None);
    }

    #[test]
    fn written_form_round_trips() {
        let mut c = Composition::default();
        c.set(
            Nutrient::CrudeProtein,
            Value::new(0.11, Source::fixed(Grade::Published, "table")),
        );
        let text = serde_json::to_string(&c).unwrap();
        assert!(text.contains("crude_protein"));
        assert_eq!(serde_json::from_str::<Composition>(&text).unwrap(), c);
    }
}
