//! Classes of dry solid that hold water by sorption.

use measure::{Constant, Grade, Range};

/// A class with an isotherm of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Class {
    /// Starch.
    Starch,
    /// Protein.
    Protein,
    /// Fibre.
    Fibre,
}

/// Constants of the GAB equation at 25 °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gab {
    /// Monolayer moisture M0 \[kg/kg\].
    pub monolayer: f64,
    /// C \[1\].
    pub c: f64,
    /// K \[1\].
    pub k: f64,
}

impl Gab {
    /// X = M0 C K a / ((1 − K a)(1 − K a + C K a)).
    ///
    /// - Equation: X = M₀ C K a/((1 − K a)(1 − K a + C K a))
    /// - Units: a \[1\], X and M₀ \[kg/kg dry solid\]
    /// - Valid: a from 0 to about 0.9
    /// - Source: Guggenheim, Anderson and de Boer, textbook form (from memory, to be confirmed); the example
    ///   computed apart
    ///
    /// ```
    /// use baking::properties::sorption::Gab;
    /// let x = Gab { monolayer: 0.07, c: 10.0, k: 0.85 }.moisture(0.5);
    /// assert!((x - 0.107231).abs() < 1e-6);
    /// ```
    pub fn moisture(&self, water_activity: f64) -> f64 {
        let ka = self.k * water_activity;
        self.monolayer * self.c * ka / ((1.0 - ka) * (1.0 - ka + self.c * ka))
    }
}

pub(super) const GRADE: Grade = Grade::Recalled;
pub(super) const SOURCE: &str = "GAB constants near 25 °C from memory, monolayer brought to the usual moisture at water activity 0.5 (starch 11 to 12, gluten 9 to 10 % dry basis, from memory)";

/// Water activity above which GAB gives way to an Oswin curve: GAB stays finite at saturation,
/// whereas dough takes up ever more.
const HANDOVER: Constant = Constant {
    name: "water activity above which GAB gives way to an Oswin curve",
    value: 0.85,
    unit: "1",
    range: Range::new(0.7, 0.95),
    source: "chosen here: GAB stays finite at saturation, dough takes up ever more",
    grade: Grade::Assumed,
};
/// Exponent of that Oswin curve; published fits for pasta have 0.43 (25 °C), dough 0.38 (from memory).
const OSWIN_EXPONENT: Constant = Constant {
    name: "exponent of the Oswin curve beyond",
    value: 0.38,
    unit: "1",
    range: Range::new(0.3, 0.5),
    source: "dough 0.38 (from memory, to be confirmed); fits for pasta 0.43 at 25 °C (seen)",
    grade: Grade::Recalled,
};

impl Class {
    /// Every class.
    pub const ALL: [Self; 3] = [Self::Starch, Self::Protein, Self::Fibre];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Starch => "starch",
            Self::Protein => "protein",
            Self::Fibre => "fibre",
        }
    }

    /// Its constants.
    pub const fn gab(self) -> Gab {
        match self {
            Self::Starch => Gab {
                monolayer: 0.082,
                c: 20.0,
                k: 0.72,
            },
            Self::Protein => Gab {
                monolayer: 0.062,
                c: 13.0,
                k: 0.83,
            },
            Self::Fibre => Gab {
                monolayer: 0.055,
                c: 12.0,
                k: 0.80,
            },
        }
    }

    /// Moisture \[kg/kg\] at a water activity, 25 °C.
    ///
    /// - Equation: GAB up to the hand-over, then X ∝ (a/(1 − a))ⁿ
    /// - Units: a \[1\], X \[kg/kg of the class\]
    /// - Valid: a from 0 to under 1, 25 °C
    /// - Source: class figures from memory, to be confirmed, each with its grade in the table; flour holds 10.5 to
    ///   12 % at 0.5 (from memory, to be confirmed)
    ///
    /// ```
    /// use baking::properties::sorption::Class;
    /// assert!((0.10..0.13).contains(&Class::Starch.moisture(0.5)));
    /// ```
    pub fn moisture(self, water_activity: f64) -> f64 {
        let gab = self.gab();
        if water_activity <= HANDOVER.value {
            return gab.moisture(water_activity);
        }
        let odds = |a: f64| a / (1.0 - a);
        gab.moisture(HANDOVER.value)
            * (odds(water_activity) / odds(HANDOVER.value)).powf(OSWIN_EXPONENT.value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// GAB values worked out independently.
    #[test]
    fn gab_values() {
        let gab = Gab {
            monolayer: 0.07,
            c: 10.0,
            k: 0.85,
        };
        let want = [
            0.036843, 0.056669, 0.072715, 0.088819, 0.107231, 0.130335, 0.161825, 0.208919,
        ];
        for (i, want) in want.into_iter().enumerate() {
            assert!((gab.moisture((i + 1) as f64 / 10.0) - want).abs() < 1e-6);
        }
    }

    /// From memory, to be confirmed: moisture at water activity 0.5, 25 °C.
    #[test]
    fn moisture_at_half() {
        assert!((0.11..=0.12).contains(&Class::Starch.moisture(0.5)));
        assert!((0.09..=0.10).contains(&Class::Protein.moisture(0.5)));
    }

    #[test]
    fn rises_without_a_jump() {
        for class in Class::ALL {
            let at = |i: i32| class.moisture(f64::from(i) / 1000.0);
            for i in 1..999 {
                let step = at(i + 1) - at(i);
                assert!(step > 0.0 && step < 0.35, "{class:?} {i}");
            }
            assert!((class.moisture(0.850_001) / class.moisture(0.85) - 1.0).abs() < 1e-4);
        }
    }
}
