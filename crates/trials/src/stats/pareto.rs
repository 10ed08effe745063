//! Importance weights with their largest smoothed by a generalised Pareto tail, and how far they can be trusted.
//!
//! After Vehtari, Simpson, Gelman, Yao and Gabry (2024; from memory) with the tail fitted as by Zhang and Stephens (2009;
//! from memory).

/// Smoothed weights.
#[derive(Clone, Debug)]
pub struct Weights {
    /// Weights, summing to 1.
    pub weights: Vec<f64>,
    /// Shape of the tail: draws can be trusted where it lies below [`limit`].
    pub shape: f64,
}

impl Weights {
    /// As many independent draws as these are worth.
    ///
    /// - Equation: n = 1/Σ w²
    /// - Units: weights \[shares\], n \[draws\]
    /// - Valid: weights that sum to 1
    /// - Source: Kish (from memory, to be confirmed); equal weights count whole
    ///
    /// ```
    /// let even = trials::stats::pareto::Weights { weights: vec![0.25; 4], shape: 0.0 };
    /// assert_eq!(even.effective(), 4.0);
    /// ```
    pub fn effective(&self) -> f64 {
        1.0 / self.weights.iter().map(|w| w * w).sum::<f64>()
    }
}

/// The shape up to which weights of so many draws can be trusted: min(1 − 1/log₁₀ S, 0.7).
///
/// - Equation: min(1 − 1/log₁₀ S, 0.7)
/// - Units: draws \[counted\], shape \[1\]
/// - Valid: more than one draw
/// - Source: Vehtari and others, Pareto smoothed importance sampling (from memory, to be confirmed); 1 − 1/log₁₀
///   320 by hand
///
/// ```
/// use trials::stats::pareto::limit;
/// assert!((limit(320) - 0.600_822_3).abs() < 1e-6 && (limit(10_000) - 0.7).abs() < 1e-12);
/// ```
pub fn limit(draws: usize) -> f64 {
    (1.0 - 1.0 / (draws as f64).log10()).min(0.7)
}

/// Smooths the largest of the weights told by their logarithms.
///
/// - Rule: the largest weights take the quantiles of a Pareto tail fitted to them; all are made to sum to 1
/// - Units: ln of weights \[1\], weights \[shares\]
/// - Valid: some dozen draws or more
/// - Source: Vehtari and others; tail after Zhang and Stephens 2009 (from memory, to be confirmed); equal weights
///   stay equal
///
/// ```
/// let w = trials::stats::pareto::smoothed(&[-1.5; 100]);
/// assert!(w.weights.iter().all(|w| (w - 0.01).abs() < 1e-15));
/// ```
pub fn smoothed(ln_weights: &[f64]) -> Weights {
    let n = ln_weights.len();
    let most = ln_weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut weights: Vec<f64> = ln_weights
        .iter()
        .map(|w| if w.is_nan() { 0.0 } else { (w - most).exp() })
        .collect();
    let tail = (0.2 * n as f64).min(3.0 * (n as f64).sqrt()).ceil() as usize;
    let mut shape = f64::INFINITY;
    if tail >= 5 && n > tail {
        let mut order: Vec<usize> = (0..n).collect();
        order.sort_by(|a, b| weights[*a].total_cmp(&weights[*b]));
        let cut = weights[order[n - tail - 1]].max(f64::MIN_POSITIVE);
        let beyond: Vec<f64> = order[n - tail..]
            .iter()
            .map(|i| weights[*i] - cut)
            .collect();
        if beyond[0] < beyond[tail - 1] {
            let (k, sigma) = tail_of(&beyond);
            shape = k;
            if k.is_finite() {
                for (rank, i) in order[n - tail..].iter().enumerate() {
                    let p = (rank as f64 + 0.5) / tail as f64;
                    let quantile = if k.abs() < 1e-12 {
                        -sigma * (-p).ln_1p()
                    } else {
                        sigma * (-k * (-p).ln_1p()).exp_m1() / k
                    };
                    weights[*i] = (cut + quantile).min(1.0);
                }
            }
        } else {
            // All of one size: nothing sticks out.
            shape = f64::NEG_INFINITY;
        }
    }
    let sum: f64 = weights.iter().sum();
    for w in &mut weights {
        *w /= sum;
    }
    Weights { weights, shape }
}

/// Shape and scale of a generalised Pareto distribution through rising numbers above 0, the shape drawn a little towards ½.
fn tail_of(x: &[f64]) -> (f64, f64) {
    let n = x.len();
    let largest = x[n - 1];
    let quarter = x[((n as f64) / 4.0 + 0.5).floor() as usize - 1].max(1e-300 + 1e-12 * largest);
    let grid = 30 + (n as f64).sqrt() as usize;
    let thetas: Vec<f64> = (1..=grid)
        .map(|i| 1.0 / largest + (1.0 - (grid as f64 / (i as f64 - 0.5)).sqrt()) / (3.0 * quarter))
        .collect();
    let k_of = |theta: f64| x.iter().map(|x| (-theta * x).ln_1p()).sum::<f64>() / n as f64;
    let likely: Vec<f64> = thetas
        .iter()
        .map(|t| {
            let k = k_of(*t);
            n as f64 * ((-t / k).ln() - k - 1.0)
        })
        .collect();
    let most = likely.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let (mut sum, mut theta) = (0.0, 0.0);
    for (t, l) in thetas.iter().zip(&likely) {
        let w = (l - most).exp();
        if w.is_finite() {
            sum += w;
            theta += w * t;
        }
    }
    let theta = theta / sum;
    let k = k_of(theta);
    let sigma = -k / theta;
    let (n, few) = (n as f64, 10.0);
    ((k * n + 0.5 * few) / (n + few), sigma)
}
