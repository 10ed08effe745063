//! Adjusting p-values for being many.

/// A way to adjust.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Adjustment {
    /// As they are.
    None,
    /// Each p times the number of tests.
    Bonferroni,
    /// Step-down Bonferroni: never weaker, same guarantee.
    Holm,
    /// Step-up; for independent or positively dependent tests.
    Hochberg,
    /// False discovery rate (Benjamini and Hochberg).
    BenjaminiHochberg,
}

impl Adjustment {
    /// Every way.
    pub const ALL: [Self; 5] = [
        Self::None,
        Self::Bonferroni,
        Self::Holm,
        Self::Hochberg,
        Self::BenjaminiHochberg,
    ];

    /// The name shown.
    pub const fn word(self) -> &'static str {
        match self {
            Self::None => "unadjusted",
            Self::Bonferroni => "Bonferroni",
            Self::Holm => "Holm",
            Self::Hochberg => "Hochberg",
            Self::BenjaminiHochberg => "Benjamini–Hochberg",
        }
    }
}

/// The adjusted p-values, in the order given.
///
/// - Rule: Bonferroni m p; Holm (m − i + 1) p upwards; Hochberg the same downwards; Benjamini and Hochberg m p/i
///   downwards
/// - Units: p values \[1\]
/// - Valid: p from 0 to 1; Hochberg and Benjamini–Hochberg for independent or positively dependent tests
/// - Source: R's p.adjust in the example
///
/// ```
/// use trials::stats::adjust::{Adjustment, adjust};
/// let holm = adjust(&[0.01, 0.02, 0.03, 0.04, 0.05], Adjustment::Holm);
/// let printed = [0.05, 0.08, 0.09, 0.09, 0.09]; // R 4.2.2 p.adjust
/// assert!(holm.iter().zip(printed).all(|(a, b)| (a - b).abs() < 1e-12));
/// ```
pub fn adjust(p: &[f64], how: Adjustment) -> Vec<f64> {
    let m = p.len();
    let mut order: Vec<usize> = (0..m).collect();
    order.sort_by(|&a, &b| p[a].total_cmp(&p[b]));
    let mut out = vec![0.0; m];
    match how {
        Adjustment::None => return p.to_vec(),
        Adjustment::Bonferroni => return p.iter().map(|p| (p * m as f64).min(1.0)).collect(),
        Adjustment::Holm => {
            let mut so_far = 0.0_f64;
            for (rank, &i) in order.iter().enumerate() {
                so_far = so_far.max(p[i] * (m - rank) as f64);
                out[i] = so_far.min(1.0);
            }
        }
        Adjustment::Hochberg | Adjustment::BenjaminiHochberg => {
            let mut so_far = f64::INFINITY;
            for (rank, &i) in order.iter().enumerate().rev() {
                let times = if how == Adjustment::Hochberg {
                    (m - rank) as f64
                } else {
                    m as f64 / (rank + 1) as f64
                };
                so_far = so_far.min(p[i] * times);
                out[i] = so_far.min(1.0);
            }
        }
    }
    out
}
