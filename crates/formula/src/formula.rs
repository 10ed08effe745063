//! A formula: materials, amounts and stages, told on every basis people use.

use crate::composition::Nutrient;
use crate::material::Material;
use crate::shelf;
pub use crate::stage::Stage;
use measure::{Apart, Finding, Tally, Units, WetBasis};
use serde::Serialize;
use std::sync::Arc;

/// One line of a formula.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Line {
    /// What.
    pub material: Arc<Material>,
    /// When.
    pub stage: Stage,
    /// How much, kg on the formula's own scale (100 in all when it was given in percent of mix) \[kg in any scale\].
    pub parts: f64,
    /// Whether it counts as flour for percent of flour.
    pub is_flour: bool,
}

impl Line {
    /// A line at the usual stage of its material.
    pub fn new(material: Arc<Material>, parts: f64) -> Self {
        Self {
            stage: material.category.usual_stage(),
            is_flour: material.category.usually_flour(),
            material,
            parts,
        }
    }

    /// At another stage.
    #[must_use]
    pub fn at(mut self, stage: Stage) -> Self {
        self.stage = stage;
        self
    }

    pub(crate) fn fraction(&self, nutrient: Nutrient) -> Option<f64> {
        self.material.composition.fraction(nutrient)
    }

    /// Moisture of the material; every line of a formula has one.
    pub(crate) fn moisture(&self) -> f64 {
        self.fraction(Nutrient::Moisture).unwrap_or(0.0)
    }
}

/// What is wrong with a formula.
#[derive(Clone, Debug, PartialEq)]
pub enum FormulaError {
    /// Nothing in it.
    Empty,
    /// A negative or absurd amount.
    BadAmount {
        /// Id of the material.
        material: String,
        /// Amount as given.
        parts: f64,
    },
    /// Two lines of one material at one stage.
    Twice {
        /// Id of the material.
        material: String,
        /// The stage.
        stage: Stage,
    },
    /// Percentages that don't make 100.
    NotHundred {
        /// The sum.
        sum: f64,
        /// The nearest way out, in words.
        fix: String,
    },
    /// The balance line would have to be negative.
    NoRoomForBalance {
        /// Id of the balance material.
        material: String,
        /// Sum of the other lines.
        others: f64,
        /// What the whole should be.
        total: f64,
    },
    /// The balance names a line that isn't there or stands twice.
    NoBalanceLine {
        /// Id as given.
        material: String,
        /// Ids of the lines.
        lines: Vec<String>,
    },
    /// A material without moisture cannot be reckoned with.
    MoistureUnknown {
        /// Id of the material.
        material: String,
    },
    /// The target is wetter than the dough.
    WetterThanDough {
        /// The target.
        target: WetBasis,
        /// Moisture of the dough.
        dough: WetBasis,
    },
    /// Water out of range.
    BadWater {
        /// Water as given.
        kg_per_100kg: f64,
    },
}

impl Apart for FormulaError {
    fn apart(&self, _: Units) -> (String, String) {
        match self {
            Self::Empty => (
                "the formula has no mass".to_owned(),
                "give at least one line more than 0".to_owned(),
            ),
            Self::BadAmount { material, parts } => (
                format!("{material}: amount is {parts}"),
                "allowed is 0 or more".to_owned(),
            ),
            Self::Twice { material, stage } => (
                format!("{material} stands twice at stage {}", stage.word()),
                "add the amounts into one line, or move one to another stage".to_owned(),
            ),
            Self::NotHundred { sum, fix } => (
                format!("percentages sum to {sum:.4}, not 100"),
                fix.to_string(),
            ),
            Self::NoRoomForBalance {
                material,
                others,
                total,
            } => (
                format!(
                    "the other lines come to {others:.4} of {total:.4}, so the balance line {material} would be negative"
                ),
                format!("take at least {:.4} off the others", others - total),
            ),
            Self::NoBalanceLine { material, lines } => (
                format!("the balance line {material} has to stand in the formula exactly once"),
                format!("lines are: {}", lines.join(", ")),
            ),
            Self::MoistureUnknown { material } => (
                format!("{material}: moisture is unknown"),
                "give its moisture, everything else stands on it".to_owned(),
            ),
            Self::WetterThanDough { target, dough } => (
                format!(
                    "baked moisture {:.1} % is above the dough's {:.1} %",
                    target.percent(),
                    dough.percent()
                ),
                "give a target below it".to_owned(),
            ),
            Self::BadWater { kg_per_100kg } => (
                format!("water is {kg_per_100kg} kg per 100 kg dry mix"),
                "allowed is 0 to 400".to_owned(),
            ),
        }
    }
}

measure::error_apart!(FormulaError);

/// A formula whose lines are legal: finite amounts of 0 or more, some mass, moisture known.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Formula {
    lines: Vec<Line>,
    balance: Option<String>,
}

impl Formula {
    /// A formula of lines on any scale.
    pub fn new(lines: Vec<Line>) -> Result<Self, FormulaError> {
        for (i, line) in lines.iter().enumerate() {
            let id = || line.material.id.clone();
            if !line.parts.is_finite() || line.parts < 0.0 {
                return Err(FormulaError::BadAmount {
                    material: id(),
                    parts: line.parts,
                });
            }
            if line.fraction(Nutrient::Moisture).is_none() {
                return Err(FormulaError::MoistureUnknown { material: id() });
            }
            let same =
                |other: &Line| other.material.id == line.material.id && other.stage == line.stage;
            if lines[..i].iter().any(same) {
                return Err(FormulaError::Twice {
                    material: id(),
                    stage: line.stage,
                });
            }
        }
        if lines.iter().map(|l| l.parts).sum::<f64>() <= 0.0 {
            return Err(FormulaError::Empty);
        }
        Ok(Self {
            lines,
            balance: None,
        })
    }

    /// A formula given in percent of the whole mix; the sum must be 100 within `tolerance`
    /// (percentage points), and what is left within it is scaled away.
    ///
    /// Errors with the sum and the nearest fix otherwise.
    ///
    /// - Rule: lines that sum to 100 within the tolerance, scaled to 100
    /// - Units: lines \[% of the mix\], tolerance \[percentage points\]
    /// - Valid: positive parts
    /// - Source: house rule, no source
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let near = vec![line("wheat_flour_soft", 70.0), line("water", 30.1)];
    /// assert!((Formula::from_percent_of_mix(near.clone(), 0.2).unwrap().total() - 100.0).abs() < 1e-12);
    /// assert!(Formula::from_percent_of_mix(near, 0.05).is_err());
    /// ```
    pub fn from_percent_of_mix(lines: Vec<Line>, tolerance: f64) -> Result<Self, FormulaError> {
        let formula = Self::new(lines)?;
        let sum = formula.total();
        if (sum - 100.0).abs() <= tolerance {
            return Ok(formula.scaled(100.0 / sum));
        }
        let largest = formula
            .lines
            .iter()
            .max_by(|a, b| a.parts.total_cmp(&b.parts))
            .map_or_else(String::new, |l| {
                let fixed = l.parts + 100.0 - sum;
                if fixed > 0.0 {
                    format!(
                        "write {fixed:.4} instead of {:.4} for {}, or make one line the balance",
                        l.parts, l.material.id
                    )
                } else {
                    format!(
                        "multiply every line by {:.6}, or make one line the balance",
                        100.0 / sum
                    )
                }
            });
        Err(FormulaError::NotHundred { sum, fix: largest })
    }

    /// A formula whose line of `balance` takes up the rest to `total` (100 for percent of mix);
    /// the parts given for that line are ignored.
    ///
    /// - Equation: balance = total − Σ others
    /// - Units: parts on one scale, such as \[% of the mix\]
    /// - Valid: others that leave room
    /// - Source: an identity
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dough = Formula::with_balance(vec![line("wheat_flour_soft", 0.0), line("water", 30.0)], "wheat_flour_soft", 100.0);
    /// assert_eq!(dough.unwrap().percent_of_mix(), [70.0, 30.0]);
    /// ```
    pub fn with_balance(
        mut lines: Vec<Line>,
        balance: &str,
        total: f64,
    ) -> Result<Self, FormulaError> {
        for line in lines.iter_mut().filter(|l| l.material.id == balance) {
            line.parts = 0.0;
        }
        let ids = || lines.iter().map(|l| l.material.id.clone()).collect();
        if lines.iter().filter(|l| l.material.id == balance).count() != 1 {
            return Err(FormulaError::NoBalanceLine {
                material: balance.to_owned(),
                lines: ids(),
            });
        }
        let others: f64 = lines.iter().map(|l| l.parts).sum();
        if others > total {
            return Err(FormulaError::NoRoomForBalance {
                material: balance.to_owned(),
                others,
                total,
            });
        }
        for line in lines.iter_mut().filter(|l| l.material.id == balance) {
            line.parts = total - others;
        }
        let mut formula = Self::new(lines)?;
        formula.balance = Some(balance.to_owned());
        Ok(formula)
    }

    /// The lines in the order given.
    pub fn lines(&self) -> &[Line] {
        &self.lines
    }

    /// Id of the balance line, if there is one.
    pub fn balance(&self) -> Option<&str> {
        self.balance.as_deref()
    }

    /// Mass of the whole mix on the formula's scale.
    ///
    /// - Equation: Σ parts
    /// - Units: parts on the formula's scale, mostly \[kg\]
    /// - Valid: any formula
    /// - Source: an identity
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dough = Formula::new(vec![line("wheat_flour_soft", 100.0), line("water", 30.0)]).unwrap();
    /// assert_eq!(dough.total(), 130.0);
    /// ```
    pub fn total(&self) -> f64 {
        self.lines.iter().map(|l| l.parts).sum()
    }

    /// The same formula on another scale.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        let mut scaled = self.clone();
        for line in &mut scaled.lines {
            line.parts *= factor;
        }
        scaled
    }

    /// The same amounts of other materials: a lot instead of the table row, a draw from the spread.
    /// Materials must have a moisture; one without keeps the old.
    #[must_use]
    pub fn with_materials(&self, mut exchange: impl FnMut(&Material) -> Arc<Material>) -> Self {
        let mut formula = self.clone();
        for line in &mut formula.lines {
            let new = exchange(&line.material);
            if new.moisture().is_some() {
                if formula.balance.as_ref() == Some(&line.material.id) {
                    formula.balance = Some(new.id.clone());
                }
                line.material = new;
            }
        }
        formula
    }

    /// Percent of the whole mix, line by line.
    ///
    /// - Equation: 100 parts/Σ parts
    /// - Units: \[% of the mix\]
    /// - Valid: any formula
    /// - Source: definition
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dough = Formula::new(vec![line("wheat_flour_soft", 150.0), line("water", 50.0)]).unwrap();
    /// assert_eq!(dough.percent_of_mix(), [75.0, 25.0]);
    /// ```
    pub fn percent_of_mix(&self) -> Vec<f64> {
        let total = self.total();
        self.lines.iter().map(|l| 100.0 * l.parts / total).collect()
    }

    /// Percent of flour (flour = 100), line by line; none when no line counts as flour.
    ///
    /// - Equation: 100 parts/Σ parts of flour
    /// - Units: \[% of flour\]
    /// - Valid: a formula with flour
    /// - Source: bakers' percent, common practice, no source
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dough = Formula::new(vec![line("wheat_flour_soft", 150.0), line("water", 45.0)]).unwrap();
    /// assert_eq!(dough.percent_of_flour().unwrap(), [100.0, 30.0]);
    /// ```
    pub fn percent_of_flour(&self) -> Option<Vec<f64>> {
        let flour = self.flour();
        (flour > 0.0).then(|| self.lines.iter().map(|l| 100.0 * l.parts / flour).collect())
    }

    /// Percent of dry matter, line by line: each line's dry matter over that of the whole.
    ///
    /// - Equation: 100 parts (1 − M)/Σ parts (1 − M)
    /// - Units: \[% of dry matter\]
    /// - Valid: a formula with solids
    /// - Source: definition; the shares sum to 100
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dough = Formula::new(vec![line("wheat_flour_soft", 100.0), line("sunflower_oil", 10.0)]).unwrap();
    /// let shares = dough.percent_of_dry_matter();
    /// assert!((shares.iter().sum::<f64>() - 100.0).abs() < 1e-9);
    /// // Flour of 11.85 % moisture, oil of none.
    /// assert!((shares[1] - 1000.0 / 98.15).abs() < 0.02);
    /// ```
    pub fn percent_of_dry_matter(&self) -> Vec<f64> {
        let solids = self.solids();
        self.lines
            .iter()
            .map(|l| 100.0 * l.parts * (1.0 - l.moisture()) / solids)
            .collect()
    }

    /// Mass of the lines that count as flour.
    ///
    /// - Equation: Σ parts of the lines that count as flour
    /// - Units: parts on the formula's scale, mostly \[kg\]
    /// - Valid: any formula; 0 without flour
    /// - Source: an identity
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dough = Formula::new(vec![line("wheat_flour_soft", 90.0), line("wheat_flour_hard", 10.0), line("water", 30.0)]);
    /// assert_eq!(dough.unwrap().flour(), 100.0);
    /// ```
    pub fn flour(&self) -> f64 {
        self.lines
            .iter()
            .filter(|l| l.is_flour)
            .fold(0.0, |sum, l| sum + l.parts)
    }

    /// Dry solids on the formula's scale.
    ///
    /// - Equation: Σ parts (1 − M)
    /// - Units: parts on the formula's scale, mostly \[kg\]
    /// - Valid: materials whose moisture is known
    /// - Source: an identity
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dough = Formula::new(vec![line("wheat_flour_soft", 100.0)]).unwrap();
    /// // Soft flour of the shelf has 11.85 % moisture.
    /// assert!((dough.solids() - 88.15).abs() < 1e-9);
    /// ```
    pub fn solids(&self) -> f64 {
        self.lines
            .iter()
            .map(|l| l.parts * (1.0 - l.moisture()))
            .sum()
    }

    /// Added water: the lines of category water.
    ///
    /// - Equation: Σ parts of the lines that are water
    /// - Units: parts on the formula's scale, mostly \[kg\]
    /// - Valid: any formula; water within other materials doesn't count
    /// - Source: an identity
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dough = Formula::new(vec![line("wheat_flour_soft", 100.0), line("water", 30.0)]).unwrap();
    /// assert_eq!(dough.water(), 30.0);
    /// ```
    pub fn water(&self) -> f64 {
        self.lines
            .iter()
            .filter(|l| l.material.is_water())
            .fold(0.0, |sum, l| sum + l.parts)
    }

    /// Everything but added water, fats included.
    ///
    /// - Equation: Σ parts of the lines that aren't water
    /// - Units: parts on the formula's scale, mostly \[kg\]
    /// - Valid: any formula; fats and wet foods count
    /// - Source: house word: what water is dosed on
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dough = Formula::new(vec![line("wheat_flour_soft", 95.0), line("sunflower_oil", 5.0), line("water", 30.0)]);
    /// assert_eq!(dough.unwrap().dry_mix(), 100.0);
    /// ```
    pub fn dry_mix(&self) -> f64 {
        self.lines
            .iter()
            .filter(|l| !l.material.is_water())
            .fold(0.0, |sum, l| sum + l.parts)
    }

    /// Added water per 100 kg dry mix.
    ///
    /// - Equation: 100 water/dry mix
    /// - Units: \[kg per 100 kg dry mix\]
    /// - Valid: a dry mix above 0
    /// - Source: definition
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dough = Formula::new(vec![line("wheat_flour_soft", 200.0), line("water", 50.0)]).unwrap();
    /// assert_eq!(dough.water_kg_per_100kg_dry_mix(), 25.0);
    /// ```
    pub fn water_kg_per_100kg_dry_mix(&self) -> f64 {
        100.0 * self.water() / self.dry_mix()
    }

    /// Moisture of the dough, wet basis: water of all lines over the whole.
    ///
    /// - Equation: M = 1 − solids/total
    /// - Units: M \[kg/kg, wet basis\]
    /// - Valid: materials whose moisture is known
    /// - Source: an identity; the example by hand
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dough = Formula::new(vec![line("wheat_flour_soft", 100.0), line("water", 30.0)]).unwrap();
    /// // 11.85 kg in the flour and 29.97 kg of water without its salts, in 130 kg.
    /// assert!((dough.dough_moisture().0 - 41.82 / 130.0).abs() < 1e-12);
    /// assert_eq!(dough.percent_of_flour().unwrap(), [100.0, 30.0]);
    /// assert_eq!(dough.water_kg_per_100kg_dry_mix(), 30.0);
    /// ```
    pub fn dough_moisture(&self) -> WetBasis {
        WetBasis(1.0 - self.solids() / self.total())
    }

    /// Mass of a constituent in the whole on the formula's scale, with the materials whose value is
    /// unknown.
    ///
    /// - Equation: Σ parts · share of the constituent, with the names of what isn't known
    /// - Units: parts on the formula's scale, mostly \[kg\]
    /// - Valid: any formula; ‘at least’ where something is unknown
    /// - Source: an identity
    ///
    /// ```
    /// use formula::{Formula, Line, Nutrient, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dough = Formula::new(vec![line("wheat_flour_soft", 100.0)]).unwrap();
    /// // Soft flour of the shelf has 9.748 % crude protein.
    /// assert!((dough.mass_of(Nutrient::CrudeProtein).exact().unwrap() - 9.748).abs() < 1e-9);
    /// ```
    pub fn mass_of(&self, nutrient: Nutrient) -> Tally {
        let mut tally = Tally::default();
        for line in &self.lines {
            tally.add(&line.material.id, line.parts, line.fraction(nutrient));
        }
        tally
    }

    /// Mass that leaves by decomposition in the oven, on the formula's scale.
    ///
    /// - Equation: Σ parts · share that leaves as gas
    /// - Units: parts on the formula's scale, mostly \[kg\]
    /// - Valid: baked through
    /// - Source: shares beside the materials; baking soda loses 36.9 % of its mass to sodium carbonate, by molar
    ///   masses
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let plain = Formula::new(vec![line("wheat_flour_soft", 100.0), line("water", 30.0)]).unwrap();
    /// assert_eq!(plain.decomposed(), 0.0);
    /// let soda = Formula::new(vec![line("wheat_flour_soft", 99.0), line("baking_soda", 1.0)]).unwrap();
    /// // 2 NaHCO₃ → Na₂CO₃ + H₂O + CO₂: (44.01 + 18.015)/(2 · 84.007).
    /// assert!((soda.decomposed() - 62.025 / 168.014).abs() < 2e-3);
    /// ```
    pub fn decomposed(&self) -> f64 {
        self.lines
            .iter()
            .map(|l| l.parts * l.material.loss_on_baking_fraction.fraction)
            .sum()
    }

    /// The formula with its added water set, the dry mix as it is.
    ///
    /// Several water lines keep their proportion; without one the shelf's water is added as liquid.
    /// The balance line, if any, stays a mark and doesn't take up the difference: water is dosed
    /// on the dry mix.
    ///
    /// - Equation: parts of water × wanted/present
    /// - Units: \[kg per 100 kg dry mix\]
    /// - Valid: 0 to 400
    /// - Source: an identity
    ///
    /// ```
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let dry = Formula::new(vec![line("wheat_flour_soft", 200.0)]).unwrap();
    /// assert!((dry.with_water(28.0).unwrap().water() - 56.0).abs() < 1e-12);
    /// assert!(dry.with_water(-1.0).is_err());
    /// ```
    pub fn with_water(&self, kg_per_100kg_dry_mix: f64) -> Result<Self, FormulaError> {
        if !(0.0..=400.0).contains(&kg_per_100kg_dry_mix) {
            return Err(FormulaError::BadWater {
                kg_per_100kg: kg_per_100kg_dry_mix,
            });
        }
        let wanted = kg_per_100kg_dry_mix / 100.0 * self.dry_mix();
        let present = self.water();
        let mut lines = self.lines.clone();
        if present > 0.0 {
            for line in lines.iter_mut().filter(|l| l.material.is_water()) {
                line.parts *= wanted / present;
            }
        } else if let Some(line) = lines.iter_mut().find(|l| l.material.is_water()) {
            line.parts = wanted;
        } else {
            lines.push(Line::new(shelf::water(), wanted).at(Stage::Liquid));
        }
        let mut formula = Self::new(lines)?;
        formula.balance.clone_from(&self.balance);
        Ok(formula)
    }

    /// What the materials themselves have to tell: parts that don't close.
    pub fn findings(&self) -> Vec<Finding> {
        self.lines
            .iter()
            .filter(|l| l.parts > 0.0)
            .flat_map(|l| l.material.findings())
            .collect()
    }

    /// Rebuilds a formula from changed lines, with the balance line taking up the rest to `total`.
    pub(crate) fn rebuilt(
        lines: Vec<Line>,
        balance: Option<&str>,
        total: f64,
    ) -> Result<Self, FormulaError> {
        match balance {
            Some(id) => Self::with_balance(lines, id, total),
            None => Self::new(lines),
        }
    }
}
