//! The list of designs, one file each, and a wish for each.

mod augmented;
mod blocks;
mod box_behnken;
mod central_composite;
mod completely_randomised;
mod constrained_mixture;
mod factorial;
mod fractional;
mod latin_square;
mod simplex;
mod split_plot;
mod williams;

pub use augmented::Augmented;
pub use blocks::Blocks;
pub use box_behnken::BoxBehnken;
pub use central_composite::{CentralComposite, Reach};
pub use completely_randomised::CompletelyRandomised;
pub use constrained_mixture::ConstrainedMixture;
pub use factorial::Factorial;
pub use fractional::{Fraction, Fractional};
pub use latin_square::LatinSquare;
pub(super) use simplex::tidy;
pub use simplex::{SimplexCentroid, SimplexLattice};
pub use split_plot::SplitPlot;
pub use williams::Williams;

use super::*;
use serde::{Deserialize, Serialize};

/// Every design the program can draw.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Design {
    /// Treatments in one random order.
    CompletelyRandomised,
    /// Every treatment in every block, random order within the block.
    Blocks,
    /// Every treatment once in every row and every column.
    LatinSquare,
    /// Every dog gets every food, each food follows each other food equally often.
    Williams,
    /// Every combination of named levels.
    Factorial,
    /// A chosen part of the two-level combinations.
    Fractional,
    /// Every combination of named levels, and a control outside them.
    Augmented,
    /// One factor set per oven load, the other per batch within it.
    SplitPlot,
    /// Corners, axial points and centre.
    CentralComposite,
    /// Mid-edges and centre, no corners.
    BoxBehnken,
    /// Mixtures in equal steps.
    SimplexLattice,
    /// Equal mixtures of every choice of parts.
    SimplexCentroid,
    /// Mixtures within bounds, chosen by the determinant, with water as a process factor.
    ConstrainedMixture,
}

impl Design {
    /// Every design.
    pub const ALL: [Self; 13] = [
        Self::CompletelyRandomised,
        Self::Blocks,
        Self::LatinSquare,
        Self::Williams,
        Self::Factorial,
        Self::Fractional,
        Self::Augmented,
        Self::SplitPlot,
        Self::CentralComposite,
        Self::BoxBehnken,
        Self::SimplexLattice,
        Self::SimplexCentroid,
        Self::ConstrainedMixture,
    ];

    /// The name in files and commands.
    pub const fn code(self) -> &'static str {
        match self {
            Self::CompletelyRandomised => "completely-randomised",
            Self::Blocks => "blocks",
            Self::LatinSquare => "latin-square",
            Self::Williams => "williams",
            Self::Factorial => "factorial",
            Self::Fractional => "fractional",
            Self::Augmented => "augmented",
            Self::SplitPlot => "split-plot",
            Self::CentralComposite => "central-composite",
            Self::BoxBehnken => "box-behnken",
            Self::SimplexLattice => "simplex-lattice",
            Self::SimplexCentroid => "simplex-centroid",
            Self::ConstrainedMixture => "constrained-mixture",
        }
    }

    /// The words shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::CompletelyRandomised => "completely randomised",
            Self::Blocks => "randomised blocks",
            Self::LatinSquare => "Latin square",
            Self::Williams => "Williams crossover",
            Self::Factorial => "factorial",
            Self::Fractional => "two-level fraction",
            Self::Augmented => "factorial with a control",
            Self::SplitPlot => "split plot",
            Self::CentralComposite => "central composite",
            Self::BoxBehnken => "Box–Behnken",
            Self::SimplexLattice => "simplex lattice",
            Self::SimplexCentroid => "simplex centroid",
            Self::ConstrainedMixture => "mixture within bounds",
        }
    }

    /// When to choose it.
    pub const fn when(self) -> &'static str {
        match self {
            Self::CompletelyRandomised => {
                "A few treatments, everything in one day under one set of conditions."
            }
            Self::Blocks => "The usual choice: several bake days, every treatment once a day.",
            Self::LatinSquare => {
                "Two nuisances at once, such as bake day and place in the day's order."
            }
            Self::Williams => "More than two foods offered to the same dogs one after another.",
            Self::Factorial => {
                "Two or more choices that may act on each other, all combinations affordable."
            }
            Self::Fractional => "Many two-way choices to screen with few batches.",
            Self::Augmented => {
                "A factorial of new treatments beside a control that belongs to none of the factors."
            }
            Self::SplitPlot => {
                "The oven setting is hard to change and several formulas share each load."
            }
            Self::CentralComposite => "Settings as numbers, and the best lies somewhere inside.",
            Self::BoxBehnken => {
                "As central composite, where all settings at their extremes together cannot be run."
            }
            Self::SimplexLattice => {
                "Proportions of parts that add up to a whole, free from 0 to all."
            }
            Self::SimplexCentroid => "Proportions of parts, with blends of all sizes.",
            Self::ConstrainedMixture => {
                "Proportions with a least and a most for each part, and water on top."
            }
        }
    }

    /// The units it can be drawn for, the usual one first.
    pub const fn units(self) -> &'static [Unit] {
        match self {
            Self::Williams => &[Unit::Dog],
            Self::SplitPlot => &[Unit::Batch],
            _ => &[Unit::Batch, Unit::OvenLoad, Unit::Dog],
        }
    }

    /// What the experimental unit of this design is.
    pub fn unit_statement(self, unit: Unit) -> String {
        match self {
            Self::SplitPlot => "Two experimental units: the oven load (whole plot) for the oven setting, the batch within the load (sub-plot) for the formula. Pieces are measured and averaged, they are not replicates.".to_owned(),
            Self::Williams => "The experimental unit is the dog's period: one food over one period; dogs are the replicates. Days within a period are averaged.".to_owned(),
            _ => format!(
                "The experimental unit is the {}: {}. Pieces measured within it are averaged, they are not replicates.",
                unit.word(),
                unit.describe()
            ),
        }
    }
}

/// A wish for a plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "design", rename_all = "snake_case")]
pub enum Request {
    /// Treatments in one random order.
    CompletelyRandomised(CompletelyRandomised),
    /// Every treatment in every block.
    Blocks(Blocks),
    /// Rows and columns.
    LatinSquare(LatinSquare),
    /// Foods one after another.
    Williams(Williams),
    /// Every combination.
    Factorial(Factorial),
    /// Part of the two-level combinations.
    Fractional(Fractional),
    /// Combinations and a control.
    Augmented(Augmented),
    /// Oven setting by formula.
    SplitPlot(SplitPlot),
    /// Corners, axial points, centre.
    CentralComposite(CentralComposite),
    /// Mid-edges and centre.
    BoxBehnken(BoxBehnken),
    /// Mixtures in equal steps.
    SimplexLattice(SimplexLattice),
    /// Equal mixtures.
    SimplexCentroid(SimplexCentroid),
    /// Mixtures within bounds.
    ConstrainedMixture(ConstrainedMixture),
}

impl Request {
    /// The design that is wished for.
    pub const fn design(&self) -> Design {
        match self {
            Self::CompletelyRandomised(_) => Design::CompletelyRandomised,
            Self::Blocks(_) => Design::Blocks,
            Self::LatinSquare(_) => Design::LatinSquare,
            Self::Williams(_) => Design::Williams,
            Self::Factorial(_) => Design::Factorial,
            Self::Fractional(_) => Design::Fractional,
            Self::Augmented(_) => Design::Augmented,
            Self::SplitPlot(_) => Design::SplitPlot,
            Self::CentralComposite(_) => Design::CentralComposite,
            Self::BoxBehnken(_) => Design::BoxBehnken,
            Self::SimplexLattice(_) => Design::SimplexLattice,
            Self::SimplexCentroid(_) => Design::SimplexCentroid,
            Self::ConstrainedMixture(_) => Design::ConstrainedMixture,
        }
    }

    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        match self {
            Self::CompletelyRandomised(r) => r.draw(seed),
            Self::Blocks(r) => r.draw(seed),
            Self::LatinSquare(r) => r.draw(seed),
            Self::Williams(r) => r.draw(seed),
            Self::Factorial(r) => r.draw(seed),
            Self::Fractional(r) => r.draw(seed),
            Self::Augmented(r) => r.draw(seed),
            Self::SplitPlot(r) => r.draw(seed),
            Self::CentralComposite(r) => r.draw(seed),
            Self::BoxBehnken(r) => r.draw(seed),
            Self::SimplexLattice(r) => r.draw(seed),
            Self::SimplexCentroid(r) => r.draw(seed),
            Self::ConstrainedMixture(r) => r.draw(seed),
        }
    }

    /// An invented wish for each design, to start from.
    pub fn example(design: Design) -> Self {
        let names = |list: &[&str]| {
            list.iter()
                .map(|s| (*s).to_owned())
                .collect::<Vec<String>>()
        };
        let treatments = names(&[
            "control",
            "barley",
            "rice and chickpea",
            "rice and chickpea with egg white",
        ]);
        let days = names(&["day 1", "day 2", "day 3"]);
        let flour = Named {
            name: "flour".into(),
            levels: names(&["barley", "rice"]),
        };
        let fat = Named {
            name: "fat".into(),
            levels: names(&["sunflower oil", "poultry fat"]),
        };
        let factor = |name: &str, unit: &str, low: f64, high: f64| Factor {
            name: name.into(),
            unit: unit.into(),
            low,
            high,
            allowed: None,
        };
        let settings = vec![
            factor("thickness", "mm", 6.0, 9.0),
            factor("oven temperature", "°C", 150.0, 180.0),
            factor("bake time", "min", 18.0, 30.0),
        ];
        let parts = names(&["wheat flour", "barley flour", "spent grain"]);
        match design {
            Design::CompletelyRandomised => Self::CompletelyRandomised(CompletelyRandomised {
                treatments,
                replicates: 3,
            }),
            Design::Blocks => Self::Blocks(Blocks {
                treatments,
                block_name: "bake day".into(),
                blocks: days,
                per_block: 1,
            }),
            Design::LatinSquare => Self::LatinSquare(LatinSquare {
                treatments,
                row_name: "bake day".into(),
                column_name: "place in the day".into(),
                squares: 1,
            }),
            Design::Williams => Self::Williams(Williams {
                foods: treatments,
                dogs: 12,
            }),
            Design::Factorial => Self::Factorial(Factorial {
                factors: vec![flour, fat],
                replicates: 3,
                block_name: Some("bake day".into()),
            }),
            Design::Fractional => Self::Fractional(Fractional {
                factors: vec![
                    flour,
                    fat,
                    Named {
                        name: "egg white".into(),
                        levels: names(&["without", "with"]),
                    },
                    Named {
                        name: "rest".into(),
                        levels: names(&["10 min", "30 min"]),
                    },
                    Named {
                        name: "docker".into(),
                        levels: names(&["wide", "close"]),
                    },
                ],
                drop: 1,
                generators: Vec::new(),
                replicates: 1,
            }),
            Design::Augmented => Self::Augmented(Augmented {
                factors: vec![flour, fat],
                control: "soft-wheat control".into(),
                controls_per_replicate: 1,
                replicates: 3,
                block_name: Some("bake day".into()),
            }),
            Design::SplitPlot => Self::SplitPlot(SplitPlot {
                whole: Named {
                    name: "oven setting".into(),
                    levels: names(&["150 °C", "170 °C"]),
                },
                sub: Named {
                    name: "formula".into(),
                    levels: treatments,
                },
                block_name: "bake day".into(),
                blocks: days,
            }),
            Design::CentralComposite => Self::CentralComposite(CentralComposite {
                factors: settings,
                reach: Reach::Rotatable,
                centre_points: 6,
            }),
            Design::BoxBehnken => Self::BoxBehnken(BoxBehnken {
                factors: settings,
                centre_points: 3,
            }),
            Design::SimplexLattice => Self::SimplexLattice(SimplexLattice {
                components: parts,
                least: vec![0.3, 0.0, 0.0],
                steps: 2,
                replicates: 2,
            }),
            Design::SimplexCentroid => Self::SimplexCentroid(SimplexCentroid {
                components: parts,
                least: vec![0.3, 0.0, 0.0],
                replicates: 2,
            }),
            Design::ConstrainedMixture => Self::ConstrainedMixture(ConstrainedMixture {
                components: vec![
                    Component {
                        name: "wheat flour".into(),
                        low: 0.40,
                        high: 0.75,
                    },
                    Component {
                        name: "barley flour".into(),
                        low: 0.05,
                        high: 0.30,
                    },
                    Component {
                        name: "spent grain".into(),
                        low: 0.10,
                        high: 0.40,
                    },
                ],
                process: vec![factor("added water", "kg per 100 kg dry mix", 26.0, 34.0)],
                degree: Degree::Quadratic,
                runs: 16,
                starts: 200,
            }),
        }
    }
}
