//! Analysis of variance of several factors: sums of squares of type I, II and III, marginal means
//! and contrasts between them.

use super::design::{Coding, Design};
use super::distribution::f_above;
use super::least_squares::{Fit, fit};

/// Which question a sum of squares answers when numbers are unequal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum SumsType {
    /// Each term after those before it.
    I,
    /// Each term after all others that do not contain it.
    II,
    /// Each term after all others, levels weighted equally.
    III,
}

impl SumsType {
    /// Every type.
    pub const ALL: [Self; 3] = [Self::I, Self::II, Self::III];

    /// The word shown.
    pub const fn word(self) -> &'static str {
        match self {
            Self::I => "type I (each term after those before it)",
            Self::II => "type II (each term after the others that do not contain it)",
            Self::III => "type III (each term after all others, levels weighted equally)",
        }
    }
}

/// A line of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Name of the term.
    pub term: String,
    /// Degrees of freedom; 0 when the term cannot be estimated.
    pub df: f64,
    /// Sum of squares.
    pub sum_sq: f64,
    /// F against the residual; none without residual degrees of freedom.
    pub f: Option<f64>,
    /// Its p-value.
    pub p: Option<f64>,
    /// Denominator degrees of freedom.
    pub denominator_df: f64,
}

/// A fitted analysis of variance.
#[derive(Clone, Debug)]
pub struct Anova {
    /// The model.
    pub design: Design,
    /// One line per term.
    pub lines: Vec<Line>,
    /// The full model.
    pub fit: Fit,
}

/// Analyses `y` by the design; terms wholly aliased with earlier ones get 0 degrees of freedom.
///
/// - Rule: sums of squares of each term: after those before it (I), after all that don't hold it (II), after all
///   others (III)
/// - Units: \[as the values\], sums of squares \[square of the values'\], F and p \[1\]
/// - Valid: independent errors of one variance
/// - Source: textbook; types agree in a balanced layout, where they are those of the one-way analysis
///
/// ```
/// use trials::stats::anova::{SumsType, anova};
/// use trials::stats::design::{Coding, Design, Factor};
/// let group = Factor::new("group", &["a", "a", "b", "b"]);
/// let design = Design::factorial(vec![group], 1, Coding::SumToZero);
/// let found = anova(&design, &[1.0, 3.0, 6.0, 10.0], SumsType::II);
/// // Means 2 and 8: 4 · 3² between, 5 the error variance.
/// assert!((found.lines[0].sum_sq - 36.0).abs() < 1e-9 && (found.lines[0].f.unwrap() - 7.2).abs() < 1e-9);
/// ```
pub fn anova(design: &Design, y: &[f64], sums: SumsType) -> Anova {
    let design = Design {
        coding: Coding::SumToZero,
        ..design.clone()
    };
    let columns = design.columns();
    let owners = design.owners();
    let full = fit(&columns, y);
    let partial = |keep: &dyn Fn(Option<usize>) -> bool| {
        let some: Vec<Vec<f64>> = columns
            .iter()
            .zip(&owners)
            .filter(|(_, owner)| keep(**owner))
            .map(|(c, _)| c.clone())
            .collect();
        fit(&some, y)
    };
    let lines = (0..design.terms.len())
        .map(|term| {
            let (df, sum_sq) = match sums {
                SumsType::I => {
                    let own = full.kept.iter().filter(|&&k| owners[k] == Some(term));
                    let columns: Vec<usize> = own.copied().collect();
                    (
                        columns.len() as f64,
                        columns.iter().map(|&k| full.sequential[k]).sum(),
                    )
                }
                SumsType::II => {
                    let holds = |other: usize| {
                        design.terms[term]
                            .iter()
                            .all(|f| design.terms[other].contains(f))
                    };
                    let without = partial(&|o| o.is_none_or(|o| !holds(o)));
                    let with = partial(&|o| o.is_none_or(|o| o == term || !holds(o)));
                    (without.df - with.df, (without.rss - with.rss).max(0.0))
                }
                SumsType::III => {
                    let without = partial(&|o| o != Some(term));
                    (without.df - full.df, (without.rss - full.rss).max(0.0))
                }
            };
            let ratio = full
                .variance()
                .filter(|_| df > 0.0)
                .map(|s2| (sum_sq / df) / s2)
                .filter(|f| f.is_finite());
            Line {
                term: design.term_name(term),
                df,
                sum_sq,
                f: ratio,
                p: ratio.map(|f| f_above(f, df, full.df)),
                denominator_df: full.df,
            }
        })
        .collect();
    Anova {
        design,
        lines,
        fit: full,
    }
}

/// A marginal mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Marginal {
    /// Level (or combination of levels) of the factors asked for.
    pub level: String,
    /// The mean, other factors' levels weighted equally; none when it cannot be estimated.
    pub mean: Option<f64>,
    /// Its standard error.
    pub se: Option<f64>,
    /// Rows behind it.
    pub n: usize,
    /// The combination of coefficients.
    pub row: Vec<f64>,
}

impl Anova {
    /// The marginal means of some factors.
    pub fn marginal_means(&self, factors: &[usize]) -> Vec<Marginal> {
        level_sets(&self.design, factors)
            .into_iter()
            .map(|fixed| {
                let row = self.design.marginal_row(&fixed);
                let found = self.fit.combine(&row);
                let codes = |at: usize, f: usize| self.design.factors[f].codes[at];
                Marginal {
                    level: fixed
                        .iter()
                        .map(|&(f, l)| self.design.factors[f].levels[l].as_str())
                        .collect::<Vec<_>>()
                        .join(":"),
                    mean: found.map(|(mean, _)| mean),
                    se: found
                        .zip(self.fit.variance())
                        .map(|((_, form), s2)| (form * s2).sqrt()),
                    n: (0..self.fit.fitted.len())
                        .filter(|&at| fixed.iter().all(|&(f, l)| codes(at, f) == l))
                        .count(),
                    row,
                }
            })
            .collect()
    }
}

/// All combinations of the levels of some factors, the first factor slowest.
pub fn level_sets(design: &Design, factors: &[usize]) -> Vec<Vec<(usize, usize)>> {
    factors.iter().fold(vec![vec![]], |sets, &f| {
        sets.iter()
            .flat_map(|set: &Vec<(usize, usize)>| {
                (0..design.factors[f].levels.len()).map(move |l| {
                    let mut more = set.clone();
                    more.push((f, l));
                    more
                })
            })
            .collect()
    })
}

/// How much sharper blocks made the comparison: the error variance that a completely randomised
/// design would have had over the error variance in blocks,
/// `((b-1) MS_block + b (t-1) MS_error) / ((bt-1) MS_error)` (Fisher's estimate).
///
/// - Equation: ((b − 1) MS_block + b (t − 1) MS_error)/((b t − 1) MS_error)
/// - Units: mean squares \[square of the values'\], result \[1\]
/// - Valid: two blocks or more, an error above 0
/// - Source: Fisher's estimate, textbook (from memory, to be confirmed); the example by hand
///
/// ```
/// use trials::stats::anova::relative_efficiency;
/// assert!((relative_efficiency(3, 4, 10.0, 2.0) - (2.0 * 10.0 + 9.0 * 2.0) / 22.0).abs() < 1e-12);
/// ```
pub fn relative_efficiency(blocks: usize, treatments: usize, ms_block: f64, ms_error: f64) -> f64 {
    let (b, t) = (blocks as f64, treatments as f64);
    ((b - 1.0) * ms_block + b * (t - 1.0) * ms_error) / ((b * t - 1.0) * ms_error)
}
