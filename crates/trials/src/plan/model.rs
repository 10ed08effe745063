//! The model a plan is made to fit: its terms and the row of each setting.

use serde::{Deserialize, Serialize};

/// How far the model goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Degree {
    /// Straight effects only.
    Linear,
    /// Straight effects and products of two.
    Interaction,
    /// Products of two, and squares of process factors.
    Quadratic,
    /// The quadratic with products of three mixture parts.
    SpecialCubic,
}

impl Degree {
    /// Every degree, from low to high.
    pub const ALL: [Self; 4] = [
        Self::Linear,
        Self::Interaction,
        Self::Quadratic,
        Self::SpecialCubic,
    ];

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Linear => "linear",
            Self::Interaction => "linear with interactions",
            Self::Quadratic => "quadratic",
            Self::SpecialCubic => "special cubic",
        }
    }
}

/// A polynomial in mixture parts (Scheffé's form, no intercept) and coded process factors.
///
/// Without mixture parts: 1, z, z·z′, z². With them the straight effect of a process factor
/// becomes one term per part, x·z, so that water may work differently on each flour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Model {
    /// Number of mixture parts, 0 for none.
    pub parts: usize,
    /// Number of process factors.
    pub process: usize,
    /// How far it goes.
    pub degree: Degree,
}

impl Model {
    /// The exponents of every term, parts first and then process factors.
    pub fn exponents(&self) -> Vec<Vec<u8>> {
        let (q, k) = (self.parts, self.process);
        let term = |indices: &[usize]| {
            let mut e = vec![0u8; q + k];
            for &i in indices {
                e[i] += 1;
            }
            e
        };
        let mut terms = Vec::new();
        if q == 0 {
            terms.push(term(&[]));
        }
        terms.extend((0..q).map(|i| term(&[i])));
        if self.degree >= Degree::Interaction {
            for i in 0..q {
                terms.extend((i + 1..q).map(|j| term(&[i, j])));
            }
        }
        if self.degree >= Degree::SpecialCubic {
            for i in 0..q {
                for j in i + 1..q {
                    terms.extend((j + 1..q).map(|l| term(&[i, j, l])));
                }
            }
        }
        for z in q..q + k {
            if q == 0 {
                terms.push(term(&[z]));
            }
            terms.extend((0..q).map(|i| term(&[i, z])));
        }
        if self.degree >= Degree::Interaction {
            for z in q..q + k {
                terms.extend((z + 1..q + k).map(|w| term(&[z, w])));
            }
        }
        if self.degree >= Degree::Quadratic {
            terms.extend((q..q + k).map(|z| term(&[z, z])));
        }
        terms
    }

    /// The names of the terms from the names of the columns.
    ///
    /// ```
    /// use trials::plan::{Degree, Model};
    /// let m = Model { parts: 0, process: 2, degree: Degree::Quadratic };
    /// assert_eq!(m.terms(&["fat", "water"]), ["1", "fat", "water", "fat·water", "fat²", "water²"]);
    /// ```
    pub fn terms(&self, names: &[&str]) -> Vec<String> {
        self.exponents()
            .iter()
            .map(|e| {
                let parts: Vec<String> = e
                    .iter()
                    .zip(names)
                    .filter(|(power, _)| **power > 0)
                    .map(|(power, name)| {
                        if *power == 2 {
                            format!("{name}²")
                        } else {
                            (*name).to_owned()
                        }
                    })
                    .collect();
                if parts.is_empty() {
                    "1".to_owned()
                } else {
                    parts.join("·")
                }
            })
            .collect()
    }

    /// The model row of a setting (parts first, then coded process factors).
    ///
    /// - Rule: products of the setting's values, term by term
    /// - Units: parts \[shares\], levels \[coded\], entries \[1\]
    /// - Valid: settings with as many values as the model
    /// - Source: definition; 1, x, x² in the example
    ///
    /// ```
    /// use trials::plan::{Degree, Model};
    /// let mut row = Model { parts: 0, process: 1, degree: Degree::Quadratic }.row(&[3.0]);
    /// row.sort_by(f64::total_cmp);
    /// assert_eq!(row, [1.0, 3.0, 9.0]);
    /// ```
    pub fn row(&self, setting: &[f64]) -> Vec<f64> {
        row(&self.exponents(), setting)
    }

    /// The model rows of many settings.
    ///
    /// - Rule: `row` of each setting
    /// - Units: parts \[shares\], levels \[coded\], entries \[1\]
    /// - Valid: settings with as many values as the model
    /// - Source: as `Model::row`
    ///
    /// ```
    /// use trials::plan::{Degree, Model};
    /// let rows = Model { parts: 3, process: 0, degree: Degree::Linear }.rows(&[vec![0.2, 0.3, 0.5], vec![1.0, 0.0, 0.0]]);
    /// assert!(rows.iter().all(|row| (row.iter().sum::<f64>() - 1.0).abs() < 1e-15));
    /// ```
    pub fn rows(&self, settings: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let exponents = self.exponents();
        settings.iter().map(|s| row(&exponents, s)).collect()
    }
}

fn row(exponents: &[Vec<u8>], setting: &[f64]) -> Vec<f64> {
    exponents
        .iter()
        .map(|e| {
            e.iter()
                .zip(setting)
                .map(|(&p, &x)| x.powi(i32::from(p)))
                .product()
        })
        .collect()
}
