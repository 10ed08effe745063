//! The fit: the likeliest places of what is learned, how sure they are, and what the bakes can't tell apart.

use crate::bakes::{Bakes, Told};
use crate::parameter::Chosen;
use crate::{Code, Kind, Row, checks};
use baking::bake::{MODEL_VERSION, Workspace};
use measure::{Finding, Severity};
use nalgebra::{DMatrix, DVector};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use rayon::prelude::*;
use std::cell::RefCell;
use std::sync::atomic::{AtomicBool, Ordering};
use trials::stats::distribution::normal_quantile;
use trials::stats::map::{Belief, Closeness, Likeliest, Problem, Whitener, likeliest};
use trials::stats::pareto;
use trials::stats::profile;

/// Twice the logarithm of the posterior that a place may cost within the central 95 %.
const COST_95: f64 = 3.841_458_820_694_124;
/// Starts whose ends lie within this of the best, in twice the logarithm of the posterior, agree.
const AGREE: f64 = 0.1;
/// A parameter has run away when it ends so many of its believed standard deviations off.
const FAR: f64 = 3.0;

/// How a fit is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// Starts spread over what is believed; they have to agree.
    pub starts: usize,
    /// Draws from the posterior by importance; 0 keeps to its curvature at the likeliest place.
    pub draws: usize,
    /// Whether intervals of what is learned follow the profile, which takes longer.
    pub profiles: bool,
    /// Seed of starts and draws.
    pub seed: u64,
}

impl Asked {
    /// Eight starts, a thousand draws, no profiles.
    pub const USUAL: Self = Self {
        starts: 8,
        draws: 1000,
        profiles: false,
        seed: 1,
    };
}

/// What was learned of one parameter.
#[derive(Clone, Debug, PartialEq)]
pub struct Learned {
    /// Which.
    pub chosen: Chosen,
    /// Standard deviation believed beforehand, on its own scale, about 0.
    pub believed_sd: f64,
    /// Where it is after the bakes, on its own scale, and how surely.
    pub place: f64,
    /// Standard deviation after them.
    pub sd: f64,
    /// The factor on its best value: believed limits, likeliest, limits after the bakes (central 95 %).
    pub believed_factor: [f64; 2],
    /// The factor after the bakes.
    pub factor: f64,
    /// Its limits.
    pub factor_limits: [f64; 2],
    /// 1 − variance after over variance before: nought where the bakes taught nothing.
    pub share: f64,
    /// Whether the limits follow the profile.
    pub by_profile: bool,
}

/// Two parameters that these bakes can't tell from one another, though they fix the two together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tangle {
    /// Places of the two among what is learned.
    pub pair: [usize; 2],
    /// Their correlation after the bakes: below 0 their sum is fixed (more of one makes up for less of the other), above 0
    /// their difference.
    pub correlation: f64,
    /// Learned share of what is fixed.
    pub together: f64,
}

/// A combination that the bakes teach, from the most to the least: the singular vectors of the whitened Jacobian.
#[derive(Clone, Debug, PartialEq)]
pub struct Combination {
    /// Weight of each parameter, of length 1 together, in believed standard deviations.
    pub weights: Vec<f64>,
    /// Its learned share s²/(1 + s²).
    pub share: f64,
}

/// How well the model meets the readings of one kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quality {
    /// Which.
    pub kind: Kind,
    /// How many.
    pub rows: usize,
    /// Root mean square gap with the best values alone: per cent of the green mass, per cent moisture, or K.
    pub before: f64,
    /// Fitted.
    pub after: f64,
}

/// The draws by importance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Draws {
    /// How many.
    pub count: usize,
    /// Shape of the tail of their weights, and up to which it can be trusted.
    pub shape: f64,
    /// Up to which it can be trusted.
    pub limit: f64,
    /// As many independent ones as they are worth.
    pub effective: f64,
}

/// A reading beside what the model says of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Compared {
    /// By the best values alone, in the terms of the row.
    pub believed: f64,
    /// Fitted.
    pub fitted: f64,
    /// Gap of the fitted one in standard deviations of reading and model.
    pub gap: f64,
}

/// What was learned.
#[derive(Clone, Debug)]
pub struct Fit {
    /// Version of the bake's arithmetic it was made with.
    pub model_version: u32,
    /// Each parameter.
    pub parameters: Vec<Learned>,
    /// Covariance of their places.
    pub covariance: DMatrix<f64>,
    /// Names of the bakes with the places of their heat and moisture.
    pub bakes: Vec<(String, [f64; 2])>,
    /// The readings it stands on, and what is said of each.
    pub rows: Vec<Row>,
    /// In the order of the rows.
    pub compared: Vec<Compared>,
    /// How well each kind is met.
    pub quality: Vec<Quality>,
    /// Sum of the squared gaps, made independent.
    pub misfit: f64,
    /// How many starts ended at the best place, of how many.
    pub starts: [usize; 2],
    /// The draws, where any were made.
    pub draws: Option<Draws>,
    /// Whether mean and covariance are those of the draws; else of the curvature.
    pub by_draws: bool,
    /// What can't be told apart.
    pub tangles: Vec<Tangle>,
    /// What is taught, from most to least.
    pub combinations: Vec<Combination>,
    /// What to know.
    pub findings: Vec<Finding>,
}

impl Fit {
    /// What speaks against taking it up unseen: a posterior that ran away, starts that disagree, readings that are missed.
    pub fn doubts(&self) -> impl Iterator<Item = &Finding> {
        self.findings
            .iter()
            .filter(|f| f.severity >= Severity::Warn && f.code != Code::OlderModel)
    }

    /// Whether it was made by this version of the bake's arithmetic.
    pub fn holds(&self) -> bool {
        self.model_version == MODEL_VERSION
    }

    /// What it stands on: readings and bakes, counted.
    pub fn stands_on(&self) -> String {
        let many = |n: usize, what: &str| format!("{n} {what}{}", if n == 1 { "" } else { "s" });
        format!(
            "{} of {}",
            many(self.rows.len(), "reading"),
            many(self.bakes.len(), "bake")
        )
    }
}

/// Why there is no fit.
#[derive(Clone, Debug, thiserror::Error)]
pub enum FitError {
    /// Readings that can't be so.
    #[error("{} of the readings can't be so: {}", .0.len(), .0.first().map_or("", |f| f.message.as_str()))]
    Readings(Vec<Finding>),
    /// Nothing to learn or nothing to learn from.
    #[error("nothing to fit: name at least one parameter and give at least one reading")]
    Nothing,
    /// The bake can't be followed at its best values.
    #[error(
        "bake {0}: it can't be followed at the best values; look at the treatment's oven and piece"
    )]
    NoBake(String),
    /// Somebody said to stop.
    #[error("it was stopped; nothing was kept")]
    Stopped,
}

/// The readings' checks of every bake.
pub fn checked(bakes: &Bakes) -> Vec<Finding> {
    let of = |name: &str| -> Vec<&Row> { bakes.rows.iter().filter(|r| r.bake == name).collect() };
    bakes
        .bakes
        .iter()
        .flat_map(|b| checks::check(b, &of(&b.name)))
        .collect()
}

/// Fits. `done` is told the share of the work that is done, and says whether to go on.
///
/// # Errors
/// Readings that can't be so, all of them; nothing to fit; a bake that can't be followed; being told to stop.
pub fn fit(
    bakes: &Bakes,
    asked: Asked,
    done: &(dyn Fn(f64) -> bool + Sync),
) -> Result<Fit, FitError> {
    if bakes.rows.is_empty() || bakes.chosen.is_empty() {
        return Err(FitError::Nothing);
    }
    let wrong = checked(bakes);
    if wrong.iter().any(|f| f.severity == Severity::Stop) {
        return Err(FitError::Readings(wrong));
    }
    fitted(bakes, asked, wrong, &Going::new(done))
}

fn fitted(
    bakes: &Bakes,
    asked: Asked,
    findings: Vec<Finding>,
    going: &Going<'_>,
) -> Result<Fit, FitError> {
    let centre = vec![0.0; bakes.places()];
    let first = bakes.told(&centre, true, &mut Workspace::new());
    if let Some(row) = first.values.iter().position(|v| !v.is_finite()) {
        return Err(FitError::NoBake(bakes.rows[row].bake.clone()));
    }
    let white = White::of(bakes, &first)?;
    let starts = starts(bakes, asked);
    let ends: Vec<Likeliest> = starts
        .par_iter()
        .enumerate()
        .filter(|_| going.on())
        .map(|(k, start)| {
            let end = white.down(start);
            going.done(0.5 * (k + 1) as f64 / starts.len() as f64);
            end
        })
        .collect();
    going.stopped()?;
    let best = ends
        .iter()
        .filter(|e| e.total().is_finite())
        .min_by(|a, b| a.total().total_cmp(&b.total()))
        .ok_or_else(|| FitError::NoBake(bakes.bakes[0].name.clone()))?;
    let agreeing = ends
        .iter()
        .filter(|e| e.total() - best.total() < AGREE)
        .count();
    // How readings scatter hangs a little on where the bake is: once more with that.
    let there = bakes.told(&best.parameters, true, &mut Workspace::new());
    let white = White::of(bakes, &there)?;
    let best = white.down(&best.parameters);
    going.done(0.6);
    let p = bakes.chosen.len();
    let laplace = best.covariance.clone().unwrap_or_else(|| {
        DMatrix::from_diagonal(&DVector::from_vec(bakes.believed()).map(|s| s * s))
    });
    let sampled = (asked.draws > 0).then(|| white.draws(&best, &laplace, asked, going));
    let (mean, whole, draws) = match sampled {
        Some((mean, covariance, draws)) if draws.shape < draws.limit => {
            (mean, covariance, Some(draws))
        }
        Some((_, _, draws)) => (best.parameters.clone(), laplace, Some(draws)),
        None => (best.parameters.clone(), laplace, None),
    };
    let by_draws = draws.is_some_and(|d| d.shape < d.limit);
    let covariance = whole.view((0, 0), (p, p)).into_owned();
    let parameters = learned(
        bakes,
        &mean,
        &covariance,
        asked.profiles.then_some((&white, &best)),
        going,
    );
    going.stopped()?;
    let combinations = combinations(bakes, &best);
    let tangles = tangles(&parameters, &covariance);
    let after = bakes.told(&mean, true, &mut Workspace::new());
    let scatter = bakes.scatter(&after);
    let compared: Vec<Compared> = (0..bakes.rows.len())
        .map(|i| Compared {
            believed: bakes.as_written(i, first.values[i]),
            fitted: bakes.as_written(i, after.values[i]),
            gap: (bakes.observed()[i] - after.values[i]) / scatter[(i, i)].sqrt(),
        })
        .collect();
    let mut out = Fit {
        model_version: MODEL_VERSION,
        bakes: bakes
            .bakes
            .iter()
            .enumerate()
            .map(|(i, b)| (b.name.clone(), [mean[p + 2 * i], mean[p + 2 * i + 1]]))
            .collect(),
        parameters,
        covariance,
        rows: bakes.rows.clone(),
        quality: quality_of(&bakes.rows, &compared),
        compared,
        misfit: best.misfit,
        starts: [agreeing, ends.len()],
        draws,
        by_draws,
        tangles,
        combinations,
        findings,
    };
    what_to_know(&mut out);
    going.done(1.0);
    Ok(out)
}

/// Whoever is told how far the work is, and whether they said to stop.
struct Going<'a> {
    done: &'a (dyn Fn(f64) -> bool + Sync),
    stopped: AtomicBool,
}

impl<'a> Going<'a> {
    fn new(done: &'a (dyn Fn(f64) -> bool + Sync)) -> Self {
        Self {
            done,
            stopped: AtomicBool::new(false),
        }
    }

    fn done(&self, share: f64) {
        if !(self.done)(share) {
            self.stopped.store(true, Ordering::Relaxed);
        }
    }

    fn on(&self) -> bool {
        !self.stopped.load(Ordering::Relaxed)
    }

    fn stopped(&self) -> Result<(), FitError> {
        if self.on() {
            Ok(())
        } else {
            Err(FitError::Stopped)
        }
    }
}

/// The problem made of independent rows.
struct White<'a> {
    bakes: &'a Bakes,
    whitener: Whitener,
    observed: Vec<f64>,
    ones: Vec<f64>,
    beliefs: Vec<Option<Belief>>,
}

impl<'a> White<'a> {
    fn of(bakes: &'a Bakes, told: &Told) -> Result<Self, FitError> {
        let whitener = Whitener::of(&bakes.scatter(told))
            .ok_or_else(|| FitError::NoBake(bakes.bakes[0].name.clone()))?;
        let belief = |sd: f64| Some(Belief { mean: 0.0, sd });
        Ok(Self {
            observed: whitener.rows(&bakes.observed()),
            ones: vec![1.0; bakes.rows.len()],
            beliefs: bakes.believed().into_iter().map(belief).collect(),
            whitener,
            bakes,
        })
    }

    fn with<T>(&self, work: impl FnOnce(&Problem<'_>) -> T) -> T {
        let w = RefCell::new(Workspace::new());
        let values = |at: &[f64]| {
            let told = self.bakes.told(at, false, &mut w.borrow_mut());
            if told.values.iter().all(|v| v.is_finite()) {
                self.whitener.rows(&told.values)
            } else {
                told.values
            }
        };
        let slopes = |at: &[f64]| {
            let told = self.bakes.told(at, true, &mut w.borrow_mut());
            self.whitener.columns(&told.slopes)
        };
        work(&Problem {
            values: &values,
            slopes: &slopes,
            observed: &self.observed,
            sd: &self.ones,
            beliefs: &self.beliefs,
        })
    }

    fn down(&self, start: &[f64]) -> Likeliest {
        self.with(|problem| likeliest(problem, start, Closeness::WhatMatters))
    }

    /// Twice the negative logarithm of the posterior.
    fn total(&self, at: &[f64], w: &mut Workspace) -> f64 {
        let told = self.bakes.told(at, false, w);
        if told.values.iter().any(|v| !v.is_finite()) {
            return f64::INFINITY;
        }
        let rows = self.whitener.rows(&told.values);
        let data: f64 = rows
            .iter()
            .zip(&self.observed)
            .map(|(v, y)| (y - v).powi(2))
            .sum();
        let belief = self.beliefs.iter().flatten().zip(at);
        data + belief
            .map(|(b, v)| ((v - b.mean) / b.sd).powi(2))
            .sum::<f64>()
    }

    /// Mean and covariance by importance: draws from Student's t on 4 degrees of freedom about the likeliest place; where
    /// their weights can't be trusted, about their mean and with their spread, twice at most.
    fn draws(
        &self,
        best: &Likeliest,
        laplace: &DMatrix<f64>,
        asked: Asked,
        going: &Going<'_>,
    ) -> (Vec<f64>, DMatrix<f64>, Draws) {
        let p = best.parameters.len();
        let (mut mean, mut covariance) = (best.parameters.clone(), laplace.clone());
        let mut rng = Pcg64::seed_from_u64(asked.seed);
        let mut answer = None;
        for _ in 0..3 {
            let Some(half) = covariance.clone().cholesky().map(|c| c.l()) else {
                break;
            };
            let proposed: Vec<(DVector<f64>, f64)> = (0..asked.draws)
                .map(|_| {
                    let z = DVector::from_fn(p, |_, _| normal(&mut rng));
                    let chi: f64 = (0..4).map(|_| normal(&mut rng).powi(2)).sum();
                    let t = z * (4.0 / chi).sqrt();
                    let ln = -0.5 * (4.0 + p as f64) * (t.norm_squared() / 4.0).ln_1p();
                    (&half * t + DVector::from_column_slice(&mean), ln)
                })
                .collect();
            let ln_weights: Vec<f64> = proposed
                .par_iter()
                .enumerate()
                .map_init(Workspace::new, |w, (k, (at, ln))| {
                    if k % 50 == 0 {
                        going.done(0.6);
                    }
                    if going.on() {
                        -0.5 * self.total(at.as_slice(), w) - ln
                    } else {
                        f64::NEG_INFINITY
                    }
                })
                .collect();
            if !going.on() {
                break;
            }
            let weights = pareto::smoothed(&ln_weights);
            let mut centre = DVector::zeros(p);
            for ((at, _), w) in proposed.iter().zip(&weights.weights) {
                centre.axpy(*w, at, 1.0);
            }
            let mut spread = DMatrix::zeros(p, p);
            for ((at, _), w) in proposed.iter().zip(&weights.weights) {
                let off = at - &centre;
                spread += &off * off.transpose() * *w;
            }
            let told = Draws {
                count: asked.draws,
                shape: weights.shape,
                limit: pareto::limit(asked.draws),
                effective: weights.effective(),
            };
            (mean, covariance) = (centre.iter().copied().collect(), spread);
            answer = Some((mean.clone(), covariance.clone(), told));
            going.done(0.8);
            if told.shape < told.limit {
                break;
            }
        }
        answer.unwrap_or_else(|| {
            let none = Draws {
                count: 0,
                shape: f64::INFINITY,
                limit: pareto::limit(asked.draws),
                effective: 0.0,
            };
            (best.parameters.clone(), laplace.clone(), none)
        })
    }
}

fn normal(rng: &mut Pcg64) -> f64 {
    let (u, v): (f64, f64) = (rng.random(), rng.random());
    (-2.0 * (1.0 - u).ln()).sqrt() * (2.0 * std::f64::consts::PI * v).cos()
}

/// Starts evenly spread over what is believed: steps by powers of the root of xᵈ⁺¹ = x + 1 (a Kronecker sequence after
/// M. Roberts, from memory), begun at a place of the seed's own. The first is the centre.
fn starts(bakes: &Bakes, asked: Asked) -> Vec<Vec<f64>> {
    let (p, sd) = (bakes.chosen.len(), bakes.believed());
    let mut root = 1.5_f64;
    for _ in 0..60 {
        root = (1.0 + root).powf(1.0 / (p as f64 + 1.0));
    }
    let mut rng = Pcg64::seed_from_u64(asked.seed ^ 0x5eed);
    let begin: Vec<f64> = (0..p).map(|_| rng.random()).collect();
    (0..asked.starts.max(1))
        .map(|k| {
            let mut start = vec![0.0; bakes.places()];
            if k > 0 {
                for i in 0..p {
                    let u = (begin[i] + k as f64 * root.powi(-(i as i32) - 1)).fract();
                    // Not out to where a bake can't be followed.
                    start[i] = sd[i] * normal_quantile(0.05 + 0.9 * u);
                }
            }
            start
        })
        .collect()
}

fn learned(
    bakes: &Bakes,
    mean: &[f64],
    covariance: &DMatrix<f64>,
    profiles: Option<(&White<'_>, &Likeliest)>,
    going: &Going<'_>,
) -> Vec<Learned> {
    let input = &bakes.bakes[0].input;
    let believed = bakes.believed();
    (0..bakes.chosen.len())
        .into_par_iter()
        .map(|i| {
            let chosen = bakes.chosen[i];
            let sd = covariance[(i, i)].max(0.0).sqrt();
            let share = 1.0 - (sd / believed[i]).powi(2);
            let mut limits = [-1.96, 1.96].map(|z| mean[i] + z * sd);
            let mut by_profile = false;
            if let Some((white, best)) = profiles.filter(|_| share > 0.5 && going.on()) {
                let found = white.with(|p| profile::interval(p, best, i, COST_95, 12.0));
                if let [Some(low), Some(high)] = found {
                    (limits, by_profile) = ([low, high], true);
                }
            }
            going.done(0.9);
            let factor = |place: f64| chosen.factor(input, place).0;
            Learned {
                chosen,
                believed_sd: believed[i],
                place: mean[i],
                sd,
                believed_factor: [-1.96, 1.96].map(|z| factor(z * believed[i])),
                factor: factor(mean[i]),
                factor_limits: limits.map(factor),
                share,
                by_profile,
            }
        })
        .collect()
}

/// The singular vectors of the whitened Jacobian in believed standard deviations; what differs from bake to bake is left in
/// the rows' scatter.
fn combinations(bakes: &Bakes, best: &Likeliest) -> Vec<Combination> {
    let (p, sd) = (bakes.chosen.len(), bakes.believed());
    let j = &best.whitened;
    let scaled = DMatrix::from_fn(j.nrows(), j.ncols(), |i, c| j[(i, c)] * sd[c]);
    let random = scaled.columns(p, scaled.ncols() - p).into_owned();
    let around = DMatrix::identity(j.nrows(), j.nrows()) + &random * random.transpose();
    let own = scaled.columns(0, p).into_owned();
    let Some(own) = Whitener::of(&around).map(|w| w.columns(&own)) else {
        return Vec::new();
    };
    let svd = (own.transpose() * own).symmetric_eigen();
    let mut out: Vec<Combination> = (0..p)
        .map(|k| {
            let s = svd.eigenvalues[k].max(0.0);
            Combination {
                weights: svd.eigenvectors.column(k).iter().copied().collect(),
                share: s / (1.0 + s),
            }
        })
        .collect();
    out.sort_by(|a, b| b.share.total_cmp(&a.share));
    out
}

/// Pairs that can't be told apart though they are fixed together.
pub(crate) fn tangles(parameters: &[Learned], covariance: &DMatrix<f64>) -> Vec<Tangle> {
    let mut out = Vec::new();
    let unit = |i: usize, j: usize| {
        covariance[(i, j)] / (parameters[i].believed_sd * parameters[j].believed_sd)
    };
    for i in 0..parameters.len() {
        for j in i + 1..parameters.len() {
            let (a, b, c) = (unit(i, i), unit(j, j), unit(i, j));
            let correlation = c / (a * b).sqrt();
            // The surest direction of the two.
            let least = 0.5 * (a + b) - (0.25 * (a - b).powi(2) + c * c).sqrt();
            let together = 1.0 - least;
            if correlation.abs() > 0.5 && together > 0.5 {
                out.push(Tangle {
                    pair: [i, j],
                    correlation,
                    together,
                });
            }
        }
    }
    out.sort_by(|a, b| b.correlation.abs().total_cmp(&a.correlation.abs()));
    out
}

/// How well each kind is met.
pub(crate) fn quality_of(rows: &[Row], compared: &[Compared]) -> Vec<Quality> {
    Kind::ALL
        .into_iter()
        .filter_map(|kind| {
            let of: Vec<(&Row, &Compared)> = rows
                .iter()
                .zip(compared)
                .filter(|(r, _)| r.kind == kind)
                .collect();
            let rms = |told: fn(&Compared) -> f64| {
                let gaps = of.iter().map(|(r, c)| {
                    let per = r
                        .before_g
                        .filter(|_| kind == Kind::Mass)
                        .map_or(1.0, |g| 100.0 / g);
                    (per * (r.value - told(c))).powi(2)
                });
                (gaps.sum::<f64>() / of.len() as f64).sqrt()
            };
            (!of.is_empty()).then(|| Quality {
                kind,
                rows: of.len(),
                before: rms(|c| c.believed),
                after: rms(|c| c.fitted),
            })
        })
        .collect()
}

/// Adds what a person has to know of a fit.
pub(crate) fn what_to_know(fit: &mut Fit) {
    let [agreeing, all] = fit.starts;
    if agreeing < all {
        let text = format!("only {agreeing} of {all} starts ended at the likeliest place");
        let help = "learn fewer parameters, or give readings that differ more: another time, thickness or temperature";
        fit.findings
            .push(Finding::new(Severity::Warn, Code::StartsDisagree, "fit", text).help(help));
    }
    if fit.draws.is_some() && !fit.by_draws {
        let text = "the draws from what is held likely can't be trusted; intervals follow the curvature at the likeliest place";
        let help = "read intervals as rough, or ask for profiles";
        fit.findings
            .push(Finding::new(Severity::Warn, Code::DrawsNotTrusted, "fit", text).help(help));
    }
    if fit.model_version != MODEL_VERSION {
        let text = format!(
            "this fit was made with version {} of the bake's arithmetic; this is version {MODEL_VERSION}",
            fit.model_version
        );
        let help = "fit its kept readings anew; old and new factors don't mix";
        fit.findings
            .push(Finding::new(Severity::Warn, Code::OlderModel, "fit", text).help(help));
    }
    let note = |code, about: &str, message: String, help: &str| {
        Finding::new(Severity::Note, code, about, message).help(help)
    };
    if fit.rows.len() < fit.parameters.len() {
        let (rows, sought) = (fit.rows.len(), fit.parameters.len());
        let text =
            format!("{rows} readings for {sought} parameters: most stay as they were believed");
        fit.findings.push(note(
            Code::FewReadings,
            "fit",
            text,
            "pull more pieces, from another bake if you can",
        ));
    }
    if fit.bakes.len() == 1 {
        let text =
            "all readings are of one bake: how bakes differ is believed, not seen".to_owned();
        fit.findings.push(note(
            Code::OneBake,
            "fit",
            text,
            "a second bake teaches more than more pulls from this one",
        ));
    }
    if fit.parameters.iter().all(|p| p.share < 0.2) {
        let text = "these readings teach hardly anything of any parameter".to_owned();
        let help = "pull pieces when about half the water is gone, and weigh one at the end; a probe in the middle tells heat";
        fit.findings
            .push(note(Code::LittleLearned, "fit", text, help));
    }
    for p in &fit.parameters {
        let far = p.place.abs() / p.believed_sd;
        if far > FAR {
            let name = p.chosen.parameter.about().name;
            let text = format!(
                "{name} ended {far:.1} of its believed standard deviations off: it may stand for something else"
            );
            let help = "look at thickness, temperatures and the dough's moisture first; don't take this up unseen";
            let about = format!("parameter:{}", p.chosen.parameter.word());
            fit.findings
                .push(Finding::new(Severity::Warn, Code::RanAway, about, text).help(help));
        }
    }
    for t in &fit.tangles {
        let [a, b] = t.pair.map(|i| fit.parameters[i].chosen.parameter);
        let what = if t.correlation < 0.0 {
            "the sum of"
        } else {
            "the difference between"
        };
        let text = format!(
            "these bakes fix {what} {} and {}, not each",
            a.about().name,
            b.about().name
        );
        let about = format!("parameter:{}", a.word());
        fit.findings.push(note(
            Code::NotToldApart,
            &about,
            text,
            "a bake of another thickness, or a probe inside, would tell them apart",
        ));
    }
    for (row, told) in fit.rows.iter().zip(&fit.compared) {
        if told.gap.abs() > 4.0 {
            let text = format!(
                "{}: {:.1} standard deviations off what the fit says",
                row.place(),
                told.gap.abs()
            );
            let help = "look at this row; leave it out only for a reason that you can write down";
            let about = format!("row:{}", row.line);
            fit.findings
                .push(Finding::new(Severity::Warn, Code::FarOff, about, text).help(help));
        }
    }
    let n = fit.rows.len() as f64;
    if fit.misfit > n + 3.0 * (2.0 * n).sqrt() {
        let text = format!(
            "the readings are missed by more than they scatter: {:.0} where about {n:.0} is usual",
            fit.misfit
        );
        let help = "the model may not describe this product: a loaf, a filled or a soft piece isn't a dense flat one";
        fit.findings
            .push(Finding::new(Severity::Warn, Code::FitsPoorly, "fit", text).help(help));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Parameter;
    use crate::written::{self, Kept};
    use baking::bake::BakeInput;
    use baking::bake::case::Benchmark;
    use trials::stats::distribution::normal_below;

    fn input() -> BakeInput {
        let mut input = Benchmark::SteelBand.case().input;
        input.cells = 8;
        input.accuracy = baking::bake::Accuracy::Quick;
        input
    }

    /// Two bakes, eight readings: values are put in by [`simulated`].
    fn rows() -> Vec<Row> {
        let mut text = String::from("bake,what,minutes,value,before_g,height_mm\n");
        for bake in ["a", "b"] {
            for row in [
                "mass_g,5,11,12.4,",
                "moisture_pct,10,16,,",
                "mass_g,14,10,12.4,",
                "temperature_c,6,97,,4",
            ] {
                text.push_str(&format!("{bake},{row}\n"));
            }
        }
        crate::read(&text).unwrap()
    }

    fn chosen() -> Vec<Chosen> {
        [
            Parameter::TopHeat,
            Parameter::BandHeat,
            Parameter::MassTransfer,
            Parameter::VapourPath,
        ]
        .map(Chosen::whole)
        .to_vec()
    }

    /// Bakes of an oven drawn from what is believed, read with the scatter that is believed.
    fn simulated(seed: u64) -> (Bakes, Vec<f64>) {
        let mut bakes = Bakes::new(&input(), rows(), chosen());
        let mut rng = Pcg64::seed_from_u64(seed);
        let truth: Vec<f64> = bakes
            .believed()
            .iter()
            .map(|sd| sd * normal(&mut rng))
            .collect();
        let told = bakes.told(&truth, false, &mut Workspace::new());
        let half = bakes.scatter(&told).cholesky().unwrap().l();
        let z = DVector::from_fn(told.values.len(), |_, _| normal(&mut rng));
        let off = half * z;
        for i in 0..bakes.rows.len() {
            bakes.rows[i].value = bakes.as_written(i, told.values[i] + off[i]);
        }
        (bakes, truth)
    }

    const ONCE: Asked = Asked {
        starts: 1,
        draws: 200,
        ..Asked::USUAL
    };

    /// Ovens drawn from what is believed, bakes simulated, fitted: where the truth lies in what is held likely is evenly
    /// spread, and 95 % hold 95 %. The normal with the posterior's mean and variance stands for its ranks.
    fn calibration(many: u64) -> (Vec<[usize; 10]>, f64) {
        let places: Vec<Vec<f64>> = (0..many)
            .map(|seed| {
                let (bakes, truth) = simulated(1000 + seed);
                let white_rows = bakes.clone();
                let fit = fit_unchecked(&white_rows, ONCE);
                let of = |(p, t): (&Learned, &f64)| normal_below((t - p.place) / p.sd);
                fit.parameters.iter().zip(&truth).map(of).collect()
            })
            .collect();
        let inside = places
            .iter()
            .flatten()
            .filter(|u| (0.025..=0.975).contains(*u))
            .count();
        let ranks = (0..chosen().len())
            .map(|k| {
                let mut bins = [0; 10];
                for u in &places {
                    bins[((10.0 * u[k]) as usize).min(9)] += 1;
                }
                bins
            })
            .collect();
        (
            ranks,
            inside as f64 / (places.len() * chosen().len()) as f64,
        )
    }

    /// As [`fit`], though scatter of the model's own error may make a pull look wetter than the one before.
    fn fit_unchecked(bakes: &Bakes, asked: Asked) -> Fit {
        fitted(bakes, asked, Vec::new(), &Going::new(&|_| true)).unwrap()
    }

    fn chi_square(bins: &[usize; 10]) -> f64 {
        let each = bins.iter().sum::<usize>() as f64 / 10.0;
        bins.iter().map(|b| (*b as f64 - each).powi(2) / each).sum()
    }

    #[test]
    fn what_is_held_likely_is_as_likely_as_it_says() {
        let (ranks, covered) = calibration(100);
        for bins in &ranks {
            // 99.9 % of chi-square on 9 degrees of freedom (tables): four of them are looked at.
            assert!(chi_square(bins) < 27.88, "{bins:?}");
        }
        // 400 places, four from each of 100 ovens.
        assert!((0.91..=0.985).contains(&covered), "{covered}");
    }

    /// The long one, told in docs/model/learning-the-oven.md.
    #[test]
    #[ignore = "slow: cargo nextest run -p learning --run-ignored only -E 'test(a_thousand_ovens)' --no-capture"]
    fn a_thousand_ovens() {
        let (ranks, covered) = calibration(1000);
        for (bins, chosen) in ranks.iter().zip(chosen()) {
            eprintln!(
                "{} {bins:?} chi-square {:.1}",
                chosen.parameter.word(),
                chi_square(bins)
            );
            assert!(chi_square(bins) < 27.88);
        }
        eprintln!("95 % held {covered}");
        assert!((0.93..=0.97).contains(&covered), "{covered}");
    }

    #[test]
    fn eight_starts_end_at_one_place_and_the_draws_can_be_trusted() {
        let (bakes, _) = simulated(7);
        let fit = fit_unchecked(
            &bakes,
            Asked {
                draws: 600,
                profiles: true,
                ..Asked::USUAL
            },
        );
        assert_eq!(fit.starts, [8, 8], "{:?}", fit.findings);
        let draws = fit.draws.unwrap();
        assert!(
            fit.by_draws && draws.shape < draws.limit && draws.effective > 50.0,
            "{draws:?}"
        );
        for p in &fit.parameters {
            assert!(
                p.share < 1.0 && p.factor_limits[0] < p.factor && p.factor < p.factor_limits[1]
            );
            assert!(!p.by_profile || p.share > 0.5);
        }
        let shares: Vec<f64> = fit.combinations.iter().map(|c| c.share).collect();
        assert!(
            shares.windows(2).all(|w| w[0] >= w[1]) && shares[0] > 0.5,
            "{shares:?}"
        );
        // Heat from above and from below dry alike: the two are fixed together.
        assert!(!fit.tangles.is_empty(), "{:?}", fit.covariance);
    }

    #[test]
    fn a_written_fit_is_read_back_whole() {
        let (bakes, _) = simulated(3);
        let fit = fit_unchecked(&bakes, ONCE);
        let kept = Kept {
            of: "study, treatment ‘a’".to_owned(),
            name: "tray oven".to_owned(),
            study: String::new(),
            treatment: "a".to_owned(),
            made: "2026-11-30".to_owned(),
            fit,
        };
        let text = written::write(&kept);
        let read = written::read(&text).unwrap();
        assert_eq!(written::write(&read), text);
        assert_eq!(read.fit.parameters, kept.fit.parameters);
        assert_eq!(read.fit.covariance, kept.fit.covariance);
        assert_eq!(read.fit.tangles, kept.fit.tangles);
        assert_eq!(read.fit.rows.len(), kept.fit.rows.len());
        let findings = |f: &Fit| {
            f.findings
                .iter()
                .map(|f| f.message.clone())
                .collect::<Vec<_>>()
        };
        assert_eq!(findings(&read.fit), findings(&kept.fit));
        let older = text.replace(
            &format!("model_version = {MODEL_VERSION}"),
            "model_version = 1",
        );
        let older = written::read(&older).unwrap();
        assert!(
            older
                .fit
                .findings
                .iter()
                .any(|f| f.code == Code::OlderModel)
        );
        for (from, to, told) in [
            ("top_heat", "hot_top", "parameter 1.name"),
            ("misfit = ", "misfits = ", "misfit"),
            ("by_draws = true", "by_draws = 1", "by_draws"),
            ("[[row]]", "[row]", ""),
        ] {
            let wrong = written::read(&text.replace(from, to))
                .unwrap_err()
                .to_string();
            assert!(wrong.contains(told), "{wrong}");
        }
        assert!(
            written::read("")
                .unwrap_err()
                .to_string()
                .contains("[[parameter]]")
        );
    }

    /// Readings of another piece, half as thick again and with a film that holds vapour: the fit says so, or misses.
    #[test]
    fn readings_of_another_piece_do_not_pass_in_silence() {
        let mut other = input();
        other.thickness_m *= 1.8;
        other.closures.conductivity.a[0][0] *= 0.5;
        let strange = Bakes::new(&other, rows(), Vec::new());
        let told = strange.told(&[0.0; 4], false, &mut Workspace::new());
        let mut bakes = Bakes::new(&input(), rows(), chosen());
        for i in 0..bakes.rows.len() {
            bakes.rows[i].value = bakes.as_written(i, told.values[i]);
        }
        let fit = fit_unchecked(&bakes, ONCE);
        let said = [Code::RanAway, Code::FitsPoorly, Code::FarOff];
        assert!(
            fit.findings
                .iter()
                .any(|f| said.iter().any(|c| f.code == *c)),
            "{:?} {} {:?}",
            fit.quality,
            fit.misfit,
            fit.parameters
                .iter()
                .map(|p| p.place / p.believed_sd)
                .collect::<Vec<_>>()
        );
    }
}
