//! Linear mixed models by restricted maximum likelihood: random intercepts, nested or crossed, and
//! a random slope; with Kenward–Roger and Satterthwaite degrees of freedom.
//!
//! `y = X β + Σ Z_k u_k + e`. The covariance `V = Σ θ_i G_i` is linear in the variances θ, and all
//! that is needed of it comes from the cross-products of the random columns, block by block, where
//! a block is a set of random levels that rows connect.

mod inference;
mod layout;
mod reml;
mod serial;

pub use inference::{Combination, MixedTest, Satterthwaite};
use layout::{Layout, Part};
use nalgebra::{DMatrix, DVector};
pub use serial::{Serial, SerialFit};

use super::least_squares;

/// A random term: one effect per level, and with a covariate also one slope per level, correlated
/// with the intercept.
#[derive(Clone, Debug, PartialEq)]
pub struct RandomTerm {
    /// Name shown.
    pub name: String,
    /// Level of each row, counted from 0.
    pub codes: Vec<usize>,
    /// Covariate whose slope varies by level.
    pub slope: Option<Vec<f64>>,
}

impl RandomTerm {
    /// A random intercept per level.
    pub fn intercept(name: impl Into<String>, codes: Vec<usize>) -> Self {
        Self {
            name: name.into(),
            codes,
            slope: None,
        }
    }

    /// A random intercept and slope per level.
    pub fn with_slope(name: impl Into<String>, codes: Vec<usize>, covariate: Vec<f64>) -> Self {
        Self {
            name: name.into(),
            codes,
            slope: Some(covariate),
        }
    }
}

/// A variance or covariance of the model.
#[derive(Clone, Debug, PartialEq)]
pub struct Component {
    /// Name of the term; `residual` for the last.
    pub name: String,
    /// Its value; 0 when dropped on the boundary.
    pub value: f64,
}

/// Why a model could not be fitted.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MixedError {
    /// Nothing is left to estimate an error from.
    #[error(
        "the model has {parameters} parameters for {rows} rows: nothing is left to judge error by"
    )]
    NoErrorLeft {
        /// Rows.
        rows: usize,
        /// Parameters.
        parameters: usize,
    },
    /// The rows do not differ once the fixed effects are taken out.
    #[error("the values don't vary within the fixed effects: there is no variance to split")]
    NoVariance,
    /// A term with as many levels as rows can't be told from the residual.
    #[error("the random term {term} has one level per row and can't be told from the residual")]
    LevelPerRow {
        /// The term.
        term: String,
    },
    /// The search for the variances stopped before it settled.
    #[error("the variances didn't settle; the layout can't tell the random terms apart")]
    NotSettled,
}

/// A fitted mixed model.
#[derive(Clone, Debug)]
pub struct Mixed {
    /// Fixed effects by column; none for an aliased column.
    pub coefficients: Vec<Option<f64>>,
    /// Variances, in the order of the terms, residual last.
    pub components: Vec<Component>,
    /// Terms whose variance is estimated at 0, or can't be told apart, with what was done. A term at
    /// 0 stays in the model for standard errors and degrees of freedom: it was estimated too.
    pub dropped: Vec<String>,
    /// -2 times the restricted log likelihood.
    pub criterion: f64,
    /// Iterations.
    pub iterations: usize,
    /// Fitted values with the random effects in.
    pub fitted: Vec<f64>,
    /// Residuals with the random effects taken out.
    pub residuals: Vec<f64>,
    /// Residual variance.
    pub residual_variance: f64,
    /// Kept columns.
    kept: Vec<usize>,
    ols: least_squares::Fit,
    beta: DVector<f64>,
    inference: inference::Inference,
}

impl Mixed {
    /// Fits the model. Aliased columns are set aside; a variance that falls to zero is left there
    /// while the others are sought, and counts among the estimated variances, which `dropped` says.
    ///
    /// - Rule: restricted maximum likelihood: variances first, by average information, then effects by generalised
    ///   least squares
    /// - Units: \[as the values\], variances \[square of the values'\]
    /// - Valid: more rows than parameters; random effects normal
    /// - Source: Patterson and Thompson 1971 (from memory, to be confirmed); a balanced layout has the closed form
    ///   (MS_between − MS_within)/n
    ///
    /// ```
    /// use trials::stats::mixed::{Mixed, RandomTerm};
    /// // Three batches of two: means 1, 5, 9, so MS between 32 and within 2, and (32 − 2)/2 = 15.
    /// let y = [0.0, 2.0, 4.0, 6.0, 8.0, 10.0];
    /// let found = Mixed::fit(&[vec![1.0; 6]], &y, &[RandomTerm::intercept("batch", vec![0, 0, 1, 1, 2, 2])]).unwrap();
    /// assert!((found.components[0].value - 15.0).abs() < 1e-4 && (found.residual_variance - 2.0).abs() < 1e-5);
    /// ```
    pub fn fit(columns: &[Vec<f64>], y: &[f64], random: &[RandomTerm]) -> Result<Self, MixedError> {
        let n = y.len();
        let ols = least_squares::fit(columns, y);
        let kept = ols.kept.clone();
        if n <= kept.len() + 1 {
            return Err(MixedError::NoErrorLeft {
                rows: n,
                parameters: kept.len() + 1,
            });
        }
        for term in random {
            let levels = term.codes.iter().max().map_or(0, |m| m + 1);
            if levels >= n && term.slope.is_none() {
                return Err(MixedError::LevelPerRow {
                    term: term.name.clone(),
                });
            }
        }
        let scale = y.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        if ols.rss <= (1e-13 * scale).powi(2) * n as f64 {
            return Err(MixedError::NoVariance);
        }
        let x = DMatrix::from_fn(n, kept.len(), |i, j| columns[kept[j]][i]);
        let mut terms: Vec<RandomTerm> = Vec::with_capacity(random.len());
        let mut dropped = Vec::new();
        for term in random {
            let twin = terms
                .iter()
                .find(|t| t.slope.is_none() && term.slope.is_none() && same_split(t, term));
            if let Some(twin) = twin {
                dropped.push(format!(
                    "{}: it splits the rows exactly as {} does, so its variance can't be told apart and is counted there",
                    term.name, twin.name
                ));
            } else {
                terms.push(term.clone());
            }
        }
        // Terms at zero, by their place among all that can be told apart.
        let mut whole = terms.clone();
        let mut places: Vec<usize> = (0..terms.len()).collect();
        loop {
            let layout = Layout::new(n, &terms);
            match reml::search(&layout, &x, y, ols.rss / ols.df)? {
                reml::Outcome::Boundary(Part { term, slope }) => {
                    if slope {
                        dropped.push(format!(
                            "{}: slopes don't vary beyond their intercepts; fitted with intercepts only",
                            terms[term].name
                        ));
                        terms[term].slope = None;
                        whole[places[term]].slope = None;
                    } else {
                        dropped.push(format!(
                            "{}: its variance is estimated at 0; it still counts as estimated in standard errors and degrees of freedom",
                            terms[term].name
                        ));
                        terms.remove(term);
                        places.remove(term);
                    }
                }
                reml::Outcome::Settled(found) => {
                    let (layout, found) = if whole.len() == terms.len() {
                        (layout, found)
                    } else {
                        with_zeros(&whole, &places, &layout, &x, y, found)
                    };
                    return Self::assemble(
                        columns.len(),
                        y,
                        random,
                        (whole, dropped),
                        (kept, ols),
                        (&layout, &x),
                        found,
                    );
                }
            }
        }
    }

    fn assemble(
        width: usize,
        y: &[f64],
        asked: &[RandomTerm],
        (terms, dropped): (Vec<RandomTerm>, Vec<String>),
        (kept, ols): (Vec<usize>, least_squares::Fit),
        (layout, x): (&Layout, &DMatrix<f64>),
        found: Box<reml::Found>,
    ) -> Result<Self, MixedError> {
        let mut components = Vec::new();
        for term in asked {
            // A name alone may be borne by two.
            let place = terms
                .iter()
                .position(|t| t.name == term.name && t.codes == term.codes);
            let values: Vec<f64> = place.map_or_else(Vec::new, |t| {
                layout
                    .parameters
                    .iter()
                    .zip(found.theta.iter())
                    .filter(|(p, _)| p.term == t)
                    .map(|(_, v)| *v)
                    .collect()
            });
            let mut push = |suffix: &str, value: Option<&f64>| {
                components.push(Component {
                    name: format!("{}{suffix}", term.name),
                    value: value.copied().unwrap_or(0.0),
                });
            };
            push("", values.first());
            if term.slope.is_some() {
                push(" intercept–slope covariance", values.get(1));
                push(" slope", values.get(2));
            }
        }
        let residual = found.theta[layout.parameters.len()];
        components.push(Component {
            name: "residual".into(),
            value: residual,
        });
        let state = &found.state;
        let beta = state.beta.clone();
        let mut coefficients = vec![None; width];
        for (k, &at) in kept.iter().enumerate() {
            coefficients[at] = Some(beta[k]);
        }
        // e = θ_residual P y.
        let residuals: Vec<f64> = state.py.iter().map(|v| residual * v).collect();
        let fitted = y.iter().zip(&residuals).map(|(y, e)| y - e).collect();
        Ok(Self {
            coefficients,
            components,
            dropped,
            criterion: state.criterion,
            iterations: found.iterations,
            fitted,
            residuals,
            residual_variance: residual,
            kept,
            ols,
            beta,
            inference: inference::Inference::new(layout, x, state).ok_or(MixedError::NotSettled)?,
        })
    }

    /// The estimate of a combination of all coefficients with both kinds of degrees of freedom;
    /// none when aliasing makes it inestimable.
    ///
    /// - Equation: c′b with Kenward and Roger's standard error and degrees of freedom
    /// - Units: \[as the values\], ν \[degrees of freedom\]
    /// - Valid: combinations that aliasing leaves estimable
    /// - Source: Kenward and Roger 1997 (from memory, to be confirmed); the mean of balanced batches has se² =
    ///   MS_between/n on batches − 1
    ///
    /// ```
    /// use trials::stats::mixed::{Mixed, RandomTerm};
    /// let y = [0.0, 2.0, 4.0, 6.0, 8.0, 10.0];
    /// let found = Mixed::fit(&[vec![1.0; 6]], &y, &[RandomTerm::intercept("batch", vec![0, 0, 1, 1, 2, 2])]).unwrap();
    /// let mean = found.combine(&[1.0]).unwrap();
    /// assert!((mean.estimate - 5.0).abs() < 1e-9 && (mean.df - 2.0).abs() < 1e-3);
    /// assert!((mean.se - (32.0_f64 / 6.0).sqrt()).abs() < 1e-4);
    /// ```
    pub fn combine(&self, row: &[f64]) -> Option<Combination> {
        combine(&self.ols, &self.kept, &self.inference, &self.beta, row)
    }

    /// Tests several combinations together (Kenward and Roger's F); rows that aliasing makes
    /// inestimable or that repeat others are left out. None when nothing is left.
    ///
    /// - Equation: F = scale · b′L′(L Φ L′)⁻¹ L b/q
    /// - Units: F and p \[1\], degrees of freedom \[1\]
    /// - Valid: combinations that aliasing leaves estimable
    /// - Source: Kenward and Roger 1997 (from memory, to be confirmed); one combination is t²
    ///
    /// ```
    /// use trials::stats::mixed::{Mixed, RandomTerm};
    /// let y = [0.0, 2.0, 4.0, 6.0, 8.0, 10.0];
    /// let found = Mixed::fit(&[vec![1.0; 6]], &y, &[RandomTerm::intercept("batch", vec![0, 0, 1, 1, 2, 2])]).unwrap();
    /// let test = found.test(&[vec![1.0]]).unwrap();
    /// assert!((test.f - 25.0 / (32.0 / 6.0)).abs() < 1e-3);
    /// ```
    pub fn test(&self, rows: &[Vec<f64>]) -> Option<MixedTest> {
        test(&self.ols, &self.kept, &self.inference, &self.beta, rows)
    }
}

fn combine(
    ols: &least_squares::Fit,
    kept: &[usize],
    inference: &inference::Inference,
    beta: &DVector<f64>,
    row: &[f64],
) -> Option<Combination> {
    if !ols.estimable(row) {
        return None;
    }
    let own = DVector::from_iterator(kept.len(), kept.iter().map(|&k| row[k]));
    inference.combination(&own, own.dot(beta))
}

fn test(
    ols: &least_squares::Fit,
    kept: &[usize],
    inference: &inference::Inference,
    beta: &DVector<f64>,
    rows: &[Vec<f64>],
) -> Option<MixedTest> {
    let usable: Vec<&Vec<f64>> = rows.iter().filter(|r| ols.estimable(r)).collect();
    let lines: Vec<Vec<f64>> = usable
        .iter()
        .map(|r| kept.iter().map(|&k| r[k]).collect())
        .collect();
    // Independent rows only.
    let independent = least_squares::fit(&lines, &vec![0.0; kept.len()]).kept;
    if independent.is_empty() {
        return None;
    }
    let l = DMatrix::from_fn(independent.len(), kept.len(), |i, j| {
        lines[independent[i]][j]
    });
    inference.test(&l, beta)
}

/// The settled model with the terms at zero put back, so that their being estimated is not forgotten.
fn with_zeros(
    whole: &[RandomTerm],
    places: &[usize],
    layout: &Layout,
    x: &DMatrix<f64>,
    y: &[f64],
    found: Box<reml::Found>,
) -> (Layout, Box<reml::Found>) {
    let all = Layout::new(y.len(), whole);
    let value = |p: &layout::Parameter| {
        let own = places.iter().position(|place| *place == p.term)?;
        let at = layout
            .parameters
            .iter()
            .position(|q| (q.term, q.a, q.b) == (own, p.a, p.b))?;
        Some(found.theta[at])
    };
    let theta = DVector::from_iterator(
        all.parameters.len() + 1,
        all.parameters
            .iter()
            .map(|p| value(p).unwrap_or(0.0))
            .chain([found.theta[layout.parameters.len()]]),
    );
    match reml::State::at(&all, x, y, &theta) {
        Some(state) => (
            all,
            Box::new(reml::Found {
                theta,
                state,
                iterations: found.iterations,
            }),
        ),
        None => (layout.clone(), found),
    }
}

/// Whether two terms put the same rows together.
fn same_split(a: &RandomTerm, b: &RandomTerm) -> bool {
    let one_way = |a: &[usize], b: &[usize]| {
        let mut first = vec![usize::MAX; a.iter().max().map_or(0, |m| m + 1)];
        a.iter().zip(b).all(|(&a, &b)| {
            if first[a] == usize::MAX {
                first[a] = b;
            }
            first[a] == b
        })
    };
    one_way(&a.codes, &b.codes) && one_way(&b.codes, &a.codes)
}
