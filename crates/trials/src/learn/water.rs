//! The water model: what each material drinks, learned from every titration.
//!
//! Water needed = Σ a_i·x_i + noise, x_i in kg of material i per batch basis (an offset is a
//! material with x = 1). The beliefs on the a_i are Gaussian; a titration is one Kalman update.

use measure::{Constant, Grade, Range};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// A titration this many standard deviations off the prediction is asked about, not learned.
pub const ASK_BEYOND: Constant = Constant {
    name: "a titration this far off the prediction is asked about, not learned",
    value: 3.0,
    unit: "standard deviations",
    range: Range::new(2.0, 5.0),
    source: "common practice, no source",
    grade: Grade::Assumed,
};

/// What is believed of one material before any titration.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WaterPrior {
    /// The material, or the offset of a process.
    pub name: String,
    /// Water uptake, kg per kg (an offset: kg per batch basis).
    pub mean: f64,
    /// Its standard deviation.
    pub sd: f64,
}

/// What cannot be learned from.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WaterError {
    /// A number of values other than the number of materials.
    #[error("{given} amounts for {wanted} materials; give one for each, 0 where there is none")]
    Length {
        /// Given.
        given: usize,
        /// Wanted.
        wanted: usize,
    },
    /// A value out of range.
    #[error("{name} is {value}; it must be {allowed}")]
    Value {
        /// What.
        name: String,
        /// Its value.
        value: f64,
        /// What is allowed.
        allowed: &'static str,
    },
}

/// The model: names, means, covariance (row by row) and the noise of one titration.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WaterModel {
    /// The materials, in the order of every list of amounts.
    pub names: Vec<String>,
    /// Mean uptake of each.
    pub mean: Vec<f64>,
    /// Covariance, row by row.
    pub covariance: Vec<Vec<f64>>,
    /// Standard deviation of one titration about the truth, kg of water.
    pub titration_sd_kg: f64,
}

/// A prediction with both its uncertainties.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct WaterPrediction {
    /// Water, kg.
    pub mean_kg: f64,
    /// Standard deviation of the mean need.
    pub sd_mean_kg: f64,
    /// Standard deviation of what one titration will show.
    pub sd_titration_kg: f64,
}

impl WaterPrediction {
    /// Where to start titrating: one standard deviation below the mean, never below nothing;
    /// water can be added and not taken out.
    ///
    /// - Equation: max(mean − sd, 0)
    /// - Units: \[kg\]
    /// - Valid: any
    /// - Source: house rule: water can be added, not taken out
    ///
    /// ```
    /// use trials::learn::WaterPrediction;
    /// let p = WaterPrediction { mean_kg: 28.0, sd_mean_kg: 2.0, sd_titration_kg: 3.0 };
    /// assert_eq!(p.first_dose_kg(), 25.0);
    /// ```
    pub fn first_dose_kg(&self) -> f64 {
        (self.mean_kg - self.sd_titration_kg).max(0.0)
    }
}

/// Whether a titration fits what is believed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// It fits.
    Fits,
    /// It lies far off; ask whether it was weighed and typed right before learning from it.
    Ask,
}

/// The model after a titration.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Learned {
    /// The model with the titration taken in.
    pub model: WaterModel,
    /// The prediction before it.
    pub before: WaterPrediction,
    /// (Seen − predicted) / standard deviation of what one titration shows.
    pub innovation_z: f64,
    /// ln of the probability density of the titration before it was seen.
    pub ln_evidence: f64,
    /// Whether to take it.
    pub verdict: Verdict,
}

impl WaterModel {
    /// A model from independent priors.
    ///
    /// - Rule: independent normal uptakes
    /// - Units: uptakes \[kg/kg\], spread of a titration \[kg\]
    /// - Valid: spreads from 0, that of a titration above 0
    /// - Source: Bayes' linear model, textbook; variances are the squares of the spreads
    ///
    /// ```
    /// use trials::learn::{WaterModel, WaterPrior};
    /// let prior = WaterPrior { name: "flour".into(), mean: 0.5, sd: 0.1 };
    /// let model = WaterModel::new(&[prior], 1.0).unwrap();
    /// assert!((model.covariance[0][0] - 0.01).abs() < 1e-15);
    /// ```
    ///
    /// # Errors
    /// [`WaterError::Value`] for numbers that are not finite or spreads below 0.
    pub fn new(priors: &[WaterPrior], titration_sd_kg: f64) -> Result<Self, WaterError> {
        let value = |name: &str, value: f64, allowed| {
            Err(WaterError::Value {
                name: name.to_owned(),
                value,
                allowed,
            })
        };
        if !(titration_sd_kg > 0.0 && titration_sd_kg.is_finite()) {
            return value("the spread of a titration", titration_sd_kg, "above 0");
        }
        for p in priors {
            if !p.mean.is_finite() {
                return value(&p.name, p.mean, "a number");
            }
            if !(p.sd >= 0.0 && p.sd.is_finite()) {
                return value(&p.name, p.sd, "a spread of 0 or more");
            }
        }
        let n = priors.len();
        let mut covariance = vec![vec![0.0; n]; n];
        for (i, p) in priors.iter().enumerate() {
            covariance[i][i] = p.sd * p.sd;
        }
        Ok(Self {
            names: priors.iter().map(|p| p.name.clone()).collect(),
            mean: priors.iter().map(|p| p.mean).collect(),
            covariance,
            titration_sd_kg,
        })
    }

    /// Standard deviation of each uptake.
    ///
    /// - Equation: √ of the covariance's diagonal
    /// - Units: \[kg/kg\]
    /// - Valid: any model
    /// - Source: definition
    ///
    /// ```
    /// use trials::learn::{WaterModel, WaterPrior};
    /// let prior = WaterPrior { name: "flour".into(), mean: 0.5, sd: 0.1 };
    /// assert!((WaterModel::new(&[prior], 1.0).unwrap().sd()[0] - 0.1).abs() < 1e-15);
    /// ```
    pub fn sd(&self) -> Vec<f64> {
        (0..self.mean.len())
            .map(|i| self.covariance[i][i].max(0.0).sqrt())
            .collect()
    }

    /// The water a batch will need. `amounts_kg` in the order of the names.
    ///
    /// - Equation: x′m ± √(x′P x + σ²)
    /// - Units: amounts \[kg\], need \[kg\]
    /// - Valid: as many amounts as materials
    /// - Source: Bayes' linear model; by hand 10 · 0.5 with variance 1 + 1
    ///
    /// ```
    /// use trials::learn::{WaterModel, WaterPrior};
    /// let prior = WaterPrior { name: "flour".into(), mean: 0.5, sd: 0.1 };
    /// let p = WaterModel::new(&[prior], 1.0).unwrap().predict(&[10.0]).unwrap();
    /// assert!((p.mean_kg - 5.0).abs() < 1e-12 && (p.sd_titration_kg - 2.0_f64.sqrt()).abs() < 1e-12);
    /// ```
    ///
    /// # Errors
    /// [`WaterError`] for a wrong number of amounts or one that is no number.
    pub fn predict(&self, amounts_kg: &[f64]) -> Result<WaterPrediction, WaterError> {
        self.check(amounts_kg)?;
        Ok(self.predict_unchecked(amounts_kg).0)
    }

    fn check(&self, amounts_kg: &[f64]) -> Result<(), WaterError> {
        if amounts_kg.len() != self.names.len() {
            return Err(WaterError::Length {
                given: amounts_kg.len(),
                wanted: self.names.len(),
            });
        }
        match amounts_kg.iter().position(|x| !x.is_finite()) {
            Some(i) => Err(WaterError::Value {
                name: self.names[i].clone(),
                value: amounts_kg[i],
                allowed: "a number",
            }),
            None => Ok(()),
        }
    }

    /// The prediction and P·x.
    fn predict_unchecked(&self, x: &[f64]) -> (WaterPrediction, Vec<f64>) {
        let px: Vec<f64> = self.covariance.iter().map(|row| dot(row, x)).collect();
        let variance = dot(&px, x).max(0.0);
        let noise = self.titration_sd_kg * self.titration_sd_kg;
        (
            WaterPrediction {
                mean_kg: dot(&self.mean, x),
                sd_mean_kg: variance.sqrt(),
                sd_titration_kg: (variance + noise).sqrt(),
            },
            px,
        )
    }

    /// Takes in a titration: S = x′Px + σ², K = Px/S, m + K(y − x′m), and the covariance in
    /// Joseph's form (I − Kx′)P(I − Kx′)′ + σ²KK′, which stays symmetric and positive.
    ///
    /// The old model is left as it is; when the verdict is [`Verdict::Ask`] keep it until a person
    /// has said that the titration is right.
    ///
    /// - Equation: S = x′P x + σ²; m + P x (y − x′m)/S
    /// - Units: amounts and water \[kg\], uptakes \[kg/kg\]
    /// - Valid: water from 0
    /// - Source: Kalman's step in Joseph's form (textbook); half way by hand
    ///
    /// ```
    /// use trials::learn::{WaterModel, WaterPrior};
    /// let prior = WaterPrior { name: "flour".into(), mean: 0.5, sd: 0.1 };
    /// let model = WaterModel::new(&[prior], 1.0).unwrap();
    /// let learned = model.update(&[10.0], 6.0).unwrap();
    /// // Prior variance 1 of the need, noise variance 1: half way.
    /// assert!((learned.model.mean[0] - 0.55).abs() < 1e-12);
    /// assert!((learned.innovation_z - 1.0 / 2f64.sqrt()).abs() < 1e-12);
    /// ```
    ///
    /// # Errors
    /// As [`Self::predict`], and water that is no number or below 0.
    pub fn update(&self, amounts_kg: &[f64], water_kg: f64) -> Result<Learned, WaterError> {
        self.check(amounts_kg)?;
        if !(water_kg >= 0.0 && water_kg.is_finite()) {
            return Err(WaterError::Value {
                name: "water".into(),
                value: water_kg,
                allowed: "0 or more",
            });
        }
        let (before, px) = self.predict_unchecked(amounts_kg);
        let s = before.sd_titration_kg * before.sd_titration_kg;
        let gain: Vec<f64> = px.iter().map(|v| v / s).collect();
        let miss = water_kg - before.mean_kg;
        let n = gain.len();
        let noise = self.titration_sd_kg * self.titration_sd_kg;
        // A = I − K x′; first A·P, then (A·P)·A′ + σ²KK′.
        let ap: Vec<Vec<f64>> = (0..n)
            .map(|i| {
                (0..n)
                    .map(|j| self.covariance[i][j] - gain[i] * px[j])
                    .collect()
            })
            .collect();
        let apx: Vec<f64> = ap.iter().map(|row| dot(row, amounts_kg)).collect();
        let joseph: Vec<Vec<f64>> = (0..n)
            .map(|i| {
                (0..n)
                    .map(|j| ap[i][j] - apx[i] * gain[j] + noise * gain[i] * gain[j])
                    .collect()
            })
            .collect();
        let innovation_z = miss / before.sd_titration_kg;
        Ok(Learned {
            model: Self {
                names: self.names.clone(),
                mean: self
                    .mean
                    .iter()
                    .zip(&gain)
                    .map(|(m, k)| m + k * miss)
                    .collect(),
                covariance: symmetric(&joseph),
                titration_sd_kg: self.titration_sd_kg,
            },
            before,
            innovation_z,
            ln_evidence: -0.5 * ((2.0 * PI * s).ln() + innovation_z * innovation_z),
            verdict: if innovation_z.abs() > ASK_BEYOND.value {
                Verdict::Ask
            } else {
                Verdict::Fits
            },
        })
    }

    /// The model when a material comes from a new lot: its variance grows by `lot_sd`², so that
    /// what was learned on old lots fades. Unknown names leave the model as it is.
    ///
    /// - Equation: P_ii + s²
    /// - Units: spread \[kg/kg\]
    /// - Valid: spreads from 0
    /// - Source: random walk between lots, house rule; 0.01 + 0.0009 by hand
    ///
    /// ```
    /// use trials::learn::{WaterModel, WaterPrior};
    /// let prior = WaterPrior { name: "flour".into(), mean: 0.5, sd: 0.1 };
    /// let model = WaterModel::new(&[prior], 1.0).unwrap();
    /// assert!((model.new_lot("flour", 0.03).covariance[0][0] - 0.0109).abs() < 1e-15);
    /// ```
    #[must_use]
    pub fn new_lot(&self, name: &str, lot_sd: f64) -> Self {
        let mut next = self.clone();
        if let Some(i) = self.names.iter().position(|n| n == name) {
            next.covariance[i][i] += lot_sd * lot_sd;
        }
        next
    }

    /// The model with a material that was not in it, independent of the others.
    #[must_use]
    pub fn with_material(&self, prior: &WaterPrior) -> Self {
        let mut next = self.clone();
        next.names.push(prior.name.clone());
        next.mean.push(prior.mean);
        for row in &mut next.covariance {
            row.push(0.0);
        }
        let mut row = vec![0.0; next.names.len()];
        row[next.names.len() - 1] = prior.sd * prior.sd;
        next.covariance.push(row);
        next
    }

    /// What a titration of this batch would teach, in nats: ½ ln(S/σ²), the entropy the uptakes
    /// lose. The formula with the largest is the one to titrate next.
    ///
    /// - Equation: ½ ln(S/σ²)
    /// - Units: amounts \[kg\], information \[nats\]
    /// - Valid: as `predict`
    /// - Source: entropy of a normal, textbook; ½ ln 2 where both variances are 1
    ///
    /// ```
    /// use trials::learn::{WaterModel, WaterPrior};
    /// let prior = WaterPrior { name: "flour".into(), mean: 0.5, sd: 0.1 };
    /// let nats = WaterModel::new(&[prior], 1.0).unwrap().expected_information(&[10.0]).unwrap();
    /// assert!((nats - 0.5 * 2.0_f64.ln()).abs() < 1e-12);
    /// ```
    ///
    /// # Errors
    /// As [`Self::predict`].
    pub fn expected_information(&self, amounts_kg: &[f64]) -> Result<f64, WaterError> {
        let p = self.predict(amounts_kg)?;
        Ok((p.sd_titration_kg / self.titration_sd_kg).ln())
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// (M + M′)/2: takes away what rounding leaves between both halves.
fn symmetric(m: &[Vec<f64>]) -> Vec<Vec<f64>> {
    (0..m.len())
        .map(|i| (0..m.len()).map(|j| 0.5 * (m[i][j] + m[j][i])).collect())
        .collect()
}
