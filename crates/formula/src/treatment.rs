//! A treatment: the control formula with named changes.

use crate::composition::Nutrient;
use crate::formula::{Formula, FormulaError, Line, Stage};
use crate::material::Material;
use measure::{Apart, Units};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// What a swap keeps.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum At {
    /// The mass of the line.
    EqualMass,
    /// The dry matter the line brings.
    EqualDryMatter,
    /// The crude protein the line brings.
    EqualProtein,
    /// The crude fat the line brings.
    EqualFat,
}

impl At {
    /// Every kind of swap.
    pub const ALL: [Self; 4] = [
        Self::EqualMass,
        Self::EqualDryMatter,
        Self::EqualProtein,
        Self::EqualFat,
    ];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::EqualMass => "equal mass",
            Self::EqualDryMatter => "equal dry matter",
            Self::EqualProtein => "equal protein",
            Self::EqualFat => "equal fat",
        }
    }

    /// What one kg of a material brings of the thing kept, if known.
    ///
    /// - Rule: 1, dry matter, crude protein or crude fat, as what is kept
    /// - Units: \[kg/kg as received\]
    /// - Valid: known compositions; none else
    /// - Source: a look-up, nothing is reckoned
    ///
    /// ```
    /// use formula::{At, shelf};
    /// let flour = shelf::find("wheat_flour_soft").unwrap();
    /// assert_eq!(At::EqualMass.content(&flour), Some(1.0));
    /// assert!((At::EqualDryMatter.content(&flour).unwrap() - 0.8815).abs() < 1e-12);
    /// ```
    pub fn content(self, material: &Material) -> Option<f64> {
        let c = &material.composition;
        match self {
            Self::EqualMass => Some(1.0),
            Self::EqualDryMatter => c.dry_matter(),
            Self::EqualProtein => c.fraction(Nutrient::CrudeProtein),
            Self::EqualFat => c.fraction(Nutrient::CrudeFat),
        }
    }
}

/// An amount, on one of the bases people write.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Amount {
    /// kg on the formula's own scale.
    Parts(f64),
    /// Percent of the whole mix after the change.
    PercentOfMix(f64),
    /// Percent of flour after the change.
    PercentOfFlour(f64),
}

/// One change of the control.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// Replaces a share of a line by another material.
    Swap {
        /// Id of the material that goes out.
        out: String,
        /// Material that comes in.
        with: Arc<Material>,
        /// What is kept.
        at: At,
        /// Share of the line that goes out, 0 < share ≤ 1.
        share: f64,
    },
    /// Sets the amount of a line.
    Set {
        /// Id of the material.
        material: String,
        /// The new amount.
        amount: Amount,
    },
    /// Adds a line.
    Add {
        /// What.
        material: Arc<Material>,
        /// How much.
        amount: Amount,
        /// When; none = the usual stage of the material.
        stage: Option<Stage>,
        /// Whether it counts as flour; none = as usual for its kind.
        is_flour: Option<bool>,
    },
    /// Takes a line out.
    Remove {
        /// Id of the material.
        material: String,
    },
    /// Multiplies the added water; the dry mix keeps its proportions.
    ScaleWater {
        /// Factor, 0 to 10.
        factor: f64,
    },
}

/// What is wrong with a change.
#[derive(Clone, Debug, PartialEq)]
pub enum ChangeError {
    /// No such line.
    UnknownLine {
        /// Id as given.
        material: String,
        /// Lines with a similar name.
        closest: Vec<String>,
        /// Ids of all lines.
        lines: Vec<String>,
    },
    /// The material to add stands there already.
    AlreadyThere {
        /// Id of the material.
        material: String,
        /// The stage.
        stage: Stage,
    },
    /// A swap that can't keep what it promises.
    NothingToKeep {
        /// Id of the material without it.
        material: String,
        /// The thing in words.
        thing: &'static str,
        /// The kind of swap.
        at: At,
    },
    /// A number outside what is allowed.
    OutOfRange {
        /// The field in words.
        field: String,
        /// The value given.
        value: f64,
        /// What is allowed, in words.
        allowed: &'static str,
    },
    /// The balance line can't be set or removed.
    IsBalance {
        /// Id of the balance material.
        material: String,
    },
    /// Percent of flour without flour.
    NoFlour,
    /// No added water to scale.
    NoWater,
    /// The changed formula is not legal.
    Formula(FormulaError),
}

impl Apart for ChangeError {
    fn apart(&self, units: Units) -> (String, String) {
        match self {
            Self::UnknownLine {
                material,
                closest,
                lines,
            } => (
                format!("{material} is not in the formula{}", closest_hint(closest)),
                format!("lines are: {}", lines.join(", ")),
            ),
            Self::AlreadyThere { material, stage } => (
                format!(
                    "{material} stands in the formula already at stage {}",
                    stage.word()
                ),
                "use set instead of add".to_owned(),
            ),
            Self::NothingToKeep {
                material,
                thing,
                at,
            } => (
                format!(
                    "{material} brings no known {thing}, so it can't be swapped at {}",
                    at.word()
                ),
                "swap at equal mass".to_owned(),
            ),
            Self::OutOfRange {
                field,
                value,
                allowed,
            } => (
                format!("{field} is {value}"),
                format!("allowed is {allowed}"),
            ),
            Self::IsBalance { material } => (
                format!("{material} is the balance line and takes up the rest"),
                "change the other lines, or make another line the balance".to_owned(),
            ),
            Self::NoFlour => (
                "no other line counts as flour, so percent of flour has no meaning".to_owned(),
                "write percent of mix".to_owned(),
            ),
            Self::NoWater => (
                "the formula has no added water to scale".to_owned(),
                "add a line of water".to_owned(),
            ),
            Self::Formula(error) => error.apart(units),
        }
    }
}

measure::error_apart!(ChangeError);

impl From<FormulaError> for ChangeError {
    fn from(error: FormulaError) -> Self {
        Self::Formula(error)
    }
}

fn closest_hint(closest: &[String]) -> String {
    if closest.is_empty() {
        String::new()
    } else {
        format!(" (closest: {})", closest.join(", "))
    }
}

/// The formula with the changes in order.
///
/// Where the formula has a balance line, the whole keeps its mass (100 for percent of mix): the
/// balance line takes up the rest after every change. Scaling water, and swapping the balance line
/// itself, keep the proportions of everything else instead, and the whole is brought back to its
/// mass by scaling.
pub fn apply(control: &Formula, changes: &[Change]) -> Result<Formula, ChangeError> {
    let mut work = Work {
        lines: control.lines().to_vec(),
        balance: control.balance().map(str::to_owned),
        total: control.total(),
    };
    for change in changes {
        work.change(change)?;
    }
    Ok(Formula::rebuilt(
        work.lines,
        work.balance.as_deref(),
        work.total,
    )?)
}

struct Work {
    lines: Vec<Line>,
    balance: Option<String>,
    total: f64,
}

impl Work {
    fn change(&mut self, change: &Change) -> Result<(), ChangeError> {
        match change {
            Change::Swap {
                out,
                with,
                at,
                share,
            } => self.swap(out, with, *at, *share),
            Change::Set { material, amount } => self.set(material, *amount),
            Change::Add {
                material,
                amount,
                stage,
                is_flour,
            } => {
                let mut line = Line::new(Arc::clone(material), 0.0);
                line.stage = stage.unwrap_or(line.stage);
                line.is_flour = is_flour.unwrap_or(line.is_flour);
                if self.place(&line.material.id, line.stage).is_some() {
                    return Err(ChangeError::AlreadyThere {
                        material: line.material.id.clone(),
                        stage: line.stage,
                    });
                }
                self.lines.push(line);
                self.amount(self.lines.len() - 1, *amount)?;
                self.rebalance();
                Ok(())
            }
            Change::Remove { material } => {
                self.known(material)?;
                self.not_balance(material)?;
                self.lines.retain(|l| l.material.id != *material);
                self.rebalance();
                Ok(())
            }
            Change::ScaleWater { factor } => self.scale_water(*factor),
        }
    }

    fn swap(
        &mut self,
        out: &str,
        with: &Arc<Material>,
        at: At,
        share: f64,
    ) -> Result<(), ChangeError> {
        self.known(out)?;
        if !(share > 0.0 && share <= 1.0) {
            return Err(ChangeError::OutOfRange {
                field: format!("share of {out} to swap"),
                value: share,
                allowed: "more than 0 up to 1",
            });
        }
        if out == with.id {
            return Ok(());
        }
        let incoming = content(at, with)?;
        let swaps_balance = self.balance.as_deref() == Some(out);
        for place in 0..self.lines.len() {
            if self.lines[place].material.id != out {
                continue;
            }
            let line = &mut self.lines[place];
            let ratio = content(at, &line.material)? / incoming;
            let moved = line.parts * share;
            line.parts = if share == 1.0 {
                0.0
            } else {
                line.parts - moved
            };
            let stage = line.stage;
            let comes = Line {
                material: Arc::clone(with),
                stage,
                parts: moved * ratio,
                is_flour: with.category.usually_flour(),
            };
            match self.place(&with.id, stage) {
                Some(there) => self.lines[there].parts += comes.parts,
                None if share == 1.0 => self.lines[place] = comes,
                None => self.lines.push(comes),
            }
        }
        if share == 1.0 {
            self.lines.retain(|l| l.material.id != out);
        }
        if swaps_balance {
            if share == 1.0 {
                self.balance = Some(with.id.clone());
            }
            self.rescale();
        } else {
            self.rebalance();
        }
        Ok(())
    }

    fn set(&mut self, material: &str, amount: Amount) -> Result<(), ChangeError> {
        self.known(material)?;
        self.not_balance(material)?;
        let places: Vec<usize> = (0..self.lines.len())
            .filter(|&i| self.lines[i].material.id == material)
            .collect();
        // Several lines of one material keep their proportion: all into the first, then shared out.
        let before: Vec<f64> = places.iter().map(|&i| self.lines[i].parts).collect();
        let sum: f64 = before.iter().sum();
        for &i in &places {
            self.lines[i].parts = 0.0;
        }
        self.amount(places[0], amount)?;
        let new = self.lines[places[0]].parts;
        if sum > 0.0 {
            for (&i, old) in places.iter().zip(before) {
                self.lines[i].parts = new * old / sum;
            }
        }
        self.rebalance();
        Ok(())
    }

    fn scale_water(&mut self, factor: f64) -> Result<(), ChangeError> {
        if !(0.0..=10.0).contains(&factor) {
            return Err(ChangeError::OutOfRange {
                field: "factor on water".to_owned(),
                value: factor,
                allowed: "0 to 10",
            });
        }
        let mut some = false;
        for line in self.lines.iter_mut().filter(|l| l.material.is_water()) {
            line.parts *= factor;
            some = true;
        }
        if !some {
            return Err(ChangeError::NoWater);
        }
        self.rescale();
        Ok(())
    }

    /// Writes an amount into the line at `place`, whose parts are 0 before.
    fn amount(&mut self, place: usize, amount: Amount) -> Result<(), ChangeError> {
        let name = self.lines[place].material.id.clone();
        let percent = |value: f64| {
            if (0.0..100.0).contains(&value) {
                Ok(value)
            } else {
                Err(ChangeError::OutOfRange {
                    field: format!("percentage of {name}"),
                    value,
                    allowed: "0 up to, not including, 100",
                })
            }
        };
        let others: f64 = self.lines.iter().map(|l| l.parts).sum();
        let flour: f64 = self
            .lines
            .iter()
            .filter(|l| l.is_flour)
            .map(|l| l.parts)
            .sum();
        self.lines[place].parts = match amount {
            Amount::Parts(parts) if parts.is_finite() && parts >= 0.0 => parts,
            Amount::Parts(value) => {
                return Err(ChangeError::OutOfRange {
                    field: format!("amount of {name}"),
                    value,
                    allowed: "0 or more",
                });
            }
            Amount::PercentOfMix(p) => {
                let p = percent(p)?;
                if self.balance.is_some() {
                    self.total * p / 100.0
                } else {
                    others * p / (100.0 - p)
                }
            }
            Amount::PercentOfFlour(_) if flour <= 0.0 => return Err(ChangeError::NoFlour),
            Amount::PercentOfFlour(p) if self.lines[place].is_flour => {
                let p = percent(p)?;
                flour * p / (100.0 - p)
            }
            Amount::PercentOfFlour(p) if (0.0..=1000.0).contains(&p) => flour * p / 100.0,
            Amount::PercentOfFlour(value) => {
                return Err(ChangeError::OutOfRange {
                    field: format!("percent of flour of {name}"),
                    value,
                    allowed: "0 to 1000",
                });
            }
        };
        Ok(())
    }

    /// Lets the balance line take up the rest; it may be negative until the last change.
    fn rebalance(&mut self) {
        let Some(id) = &self.balance else { return };
        let others: f64 = self
            .lines
            .iter()
            .filter(|l| l.material.id != *id)
            .map(|l| l.parts)
            .sum();
        if let Some(line) = self.lines.iter_mut().find(|l| l.material.id == *id) {
            line.parts = self.total - others;
        }
    }

    /// Brings the whole back to its mass by scaling, when the formula has a balance line.
    fn rescale(&mut self) {
        let sum: f64 = self.lines.iter().map(|l| l.parts).sum();
        if self.balance.is_some() && sum > 0.0 {
            for line in &mut self.lines {
                line.parts *= self.total / sum;
            }
        }
    }

    fn place(&self, material: &str, stage: Stage) -> Option<usize> {
        self.lines
            .iter()
            .position(|l| l.material.id == material && l.stage == stage)
    }

    fn known(&self, material: &str) -> Result<(), ChangeError> {
        if self.lines.iter().any(|l| l.material.id == material) {
            return Ok(());
        }
        let lines: Vec<String> = self.lines.iter().map(|l| l.material.id.clone()).collect();
        Err(ChangeError::UnknownLine {
            material: material.to_owned(),
            closest: measure::names::closest(material, lines.iter().map(String::as_str))
                .into_iter()
                .map(str::to_owned)
                .collect(),
            lines,
        })
    }

    fn not_balance(&self, material: &str) -> Result<(), ChangeError> {
        if self.balance.as_deref() == Some(material) {
            return Err(ChangeError::IsBalance {
                material: material.to_owned(),
            });
        }
        Ok(())
    }
}

fn content(at: At, material: &Material) -> Result<f64, ChangeError> {
    at.content(material)
        .filter(|c| *c > 0.0)
        .ok_or_else(|| ChangeError::NothingToKeep {
            material: material.id.clone(),
            thing: match at {
                At::EqualMass => "mass",
                At::EqualDryMatter => "dry matter",
                At::EqualProtein => "protein",
                At::EqualFat => "fat",
            },
            at,
        })
}
