//! Net content of packages: the average and the single package, in two jurisdictions.
//!
//! The allowed variations and the sample rules are recalled and not confirmed: look them up in the
//! current edition of NIST Handbook 133, or Directive 76/211/EEC and the national law, and ask
//! counsel or the weights and measures officer before relying on them.

use super::{MeasurementError, positive};
use crate::Code;
use crate::stats::distribution::t_quantile;
use crate::stats::moments;
use measure::{Finding, Severity};
use serde::{Deserialize, Serialize};

/// Where the law applies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rule {
    /// NIST Handbook 133 (United States), packages labelled by weight.
    UnitedStates,
    /// Directive 76/211/EEC (European Union), prepackages by weight.
    EuropeanUnion,
}

impl Rule {
    /// Every rule.
    pub const ALL: [Self; 2] = [Self::UnitedStates, Self::EuropeanUnion];

    /// The words shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::UnitedStates => "United States, NIST Handbook 133",
            Self::EuropeanUnion => "European Union, Directive 76/211/EEC",
        }
    }

    const fn table(self) -> &'static [Allowed] {
        match self {
            Self::UnitedStates => &US,
            Self::EuropeanUnion => &EU,
        }
    }

    /// How far a single package may fall short of its label, g (recalled).
    ///
    /// - Rule: the step of the table that the label falls in
    /// - Units: label and shortage \[g\]
    /// - Valid: labels within the table
    /// - Source: NIST Handbook 133 and Directive 76/211/EEC (tables from memory, to be confirmed)
    ///
    /// ```
    /// use trials::measurement::net_content::Rule;
    /// assert_eq!(Rule::UnitedStates.allowed_shortage_g(500.0).unwrap(), 21.7);
    /// assert_eq!(Rule::EuropeanUnion.allowed_shortage_g(500.0).unwrap(), 15.0);
    /// ```
    ///
    /// # Errors
    /// A label outside the recalled table.
    pub fn allowed_shortage_g(self, label_g: f64) -> Result<f64, MeasurementError> {
        let label = positive("label weight", label_g)?;
        self.table()
            .iter()
            .find(|a| label >= a.from_g && label < a.to_g)
            .map(|a| match a.by {
                By::Grams(g) => g,
                By::Percent(p) => label * p / 100.0,
            })
            .ok_or(MeasurementError {
                name: "label weight, g",
                value: label_g,
                allowed: match self {
                    Self::UnitedStates => "below 2630 g, where the recalled table ends",
                    Self::EuropeanUnion => {
                        "from 5 to below 10000 g, the range of the directive's table"
                    }
                },
            })
    }
}

enum By {
    Grams(f64),
    Percent(f64),
}

struct Allowed {
    from_g: f64,
    to_g: f64,
    by: By,
}

const fn grams(from_g: f64, to_g: f64, g: f64) -> Allowed {
    Allowed {
        from_g,
        to_g,
        by: By::Grams(g),
    }
}

const fn percent(from_g: f64, to_g: f64, p: f64) -> Allowed {
    Allowed {
        from_g,
        to_g,
        by: By::Percent(p),
    }
}

/// Maximum allowable variations, recalled, to be confirmed in NIST Handbook 133, table 2-5.
const US: [Allowed; 23] = [
    percent(0.0, 36.0, 10.0),
    grams(36.0, 54.0, 3.6),
    grams(54.0, 81.0, 5.4),
    grams(81.0, 117.0, 7.2),
    grams(117.0, 154.0, 9.0),
    grams(154.0, 208.0, 10.8),
    grams(208.0, 263.0, 12.7),
    grams(263.0, 317.0, 14.5),
    grams(317.0, 381.0, 16.3),
    grams(381.0, 426.0, 18.1),
    grams(426.0, 489.0, 19.9),
    grams(489.0, 571.0, 21.7),
    grams(571.0, 635.0, 23.5),
    grams(635.0, 698.0, 25.4),
    grams(698.0, 771.0, 27.2),
    grams(771.0, 852.0, 29.0),
    grams(852.0, 970.0, 31.7),
    grams(970.0, 1125.0, 35.3),
    grams(1125.0, 1251.0, 39.0),
    grams(1251.0, 1451.0, 42.6),
    grams(1451.0, 1769.0, 49.8),
    grams(1769.0, 2131.0, 54.4),
    grams(2131.0, 2630.0, 63.5),
];

/// Tolerable negative errors, recalled, to be confirmed in Directive 76/211/EEC, annex I.
const EU: [Allowed; 7] = [
    percent(5.0, 50.0, 9.0),
    grams(50.0, 100.0, 4.5),
    percent(100.0, 200.0, 4.5),
    grams(200.0, 300.0, 9.0),
    percent(300.0, 500.0, 3.0),
    grams(500.0, 1000.0, 15.0),
    percent(1000.0, 10_000.0, 1.5),
];

impl Rule {
    /// How far the mean of a sample may lie below the label by chance, in standard deviations:
    /// t(p, n − 1)/√n. The American rule takes p = 0.975; the directive's annex asks for a lot that
    /// meets the mean to pass with 99.5 %, p = 0.995, which gives its printed factors 0.503 for 30
    /// and 0.379 for 50 packages (printed values from memory, to be confirmed; recomputed).
    ///
    /// - Equation: t(p, n − 1)/√n
    /// - Units: n \[packages\], factor \[standard deviations\]
    /// - Valid: two packages or more
    /// - Source: printed factors of the directive from memory, to be confirmed; t distribution
    ///
    /// ```
    /// use trials::measurement::net_content::Rule;
    /// let eu = |n| Rule::EuropeanUnion.correction_factor(n).unwrap();
    /// assert!((eu(50) - 0.379).abs() < 5e-4 && (eu(30) - 0.503).abs() < 5e-4);
    /// ```
    ///
    /// # Errors
    /// Fewer than 2 packages.
    pub fn correction_factor(self, packages: usize) -> Result<f64, MeasurementError> {
        match self {
            Self::UnitedStates => correction_factor(packages),
            Self::EuropeanUnion => factor_at(0.995, packages),
        }
    }

    /// Packages to weigh from a lot, and how many may fall short by more than the allowed variation
    /// (Handbook 133 category A; the directive's non-destructive single plan; both recalled, to be
    /// confirmed).
    pub const fn sample_for_lot(self, lot: u64) -> (usize, usize) {
        match (self, lot) {
            (Self::UnitedStates, _) => sample_for_lot(lot),
            (Self::EuropeanUnion, 0..=99) => (lot as usize, 0),
            (Self::EuropeanUnion, 100..=500) => (50, 3),
            (Self::EuropeanUnion, 501..=3200) => (80, 5),
            (Self::EuropeanUnion, _) => (125, 7),
        }
    }
}

/// Sample correction factor t(0.975, n − 1)/√n of the American rule: how far the mean of a sample may lie below the
/// label by chance, in standard deviations.
///
/// Check: 0.635 for 12, 0.422 for 24, 0.291 (0.2904 unrounded) for 48 (Handbook 133 table 2-1,
/// recalled; recomputed).
///
/// - Equation: t(0.975, n − 1)/√n
/// - Units: n \[packages\], factor \[standard deviations\]
/// - Valid: two packages or more
/// - Source: NIST Handbook 133, table 2-1 (from memory, to be confirmed); t distribution
///
/// ```
/// let f = trials::measurement::net_content::correction_factor(12).unwrap();
/// assert!((f - 0.635_369_687).abs() < 1e-8);
/// ```
///
/// # Errors
/// Fewer than 2 packages.
pub fn correction_factor(packages: usize) -> Result<f64, MeasurementError> {
    factor_at(0.975, packages)
}

fn factor_at(p: f64, packages: usize) -> Result<f64, MeasurementError> {
    if packages < 2 {
        return Err(MeasurementError {
            name: "packages",
            value: packages as f64,
            allowed: "2 or more",
        });
    }
    let n = packages as f64;
    Ok(t_quantile(p, n - 1.0) / n.sqrt())
}

/// Packages to weigh from a lot, and how many may fall short by more than the allowed variation
/// (Handbook 133 category A, recalled). A lot of fewer than 12 is weighed whole.
///
/// ```
/// assert_eq!(trials::measurement::net_content::sample_for_lot(1000), (24, 0));
/// assert_eq!(trials::measurement::net_content::sample_for_lot(8), (8, 0));
/// ```
pub const fn sample_for_lot(lot: u64) -> (usize, usize) {
    match lot {
        0..=11 => (lot as usize, 0),
        12..=250 => (12, 0),
        251..=3200 => (24, 0),
        _ => (48, 1),
    }
}

/// The check of a sample.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NetContent {
    /// The rule.
    pub rule: Rule,
    /// Packages weighed.
    pub packages: usize,
    /// Packages that the plan of the lot asks for.
    pub wanted: usize,
    /// Mean net weight less label, g.
    pub mean_error_g: f64,
    /// Standard deviation of the net weights, g.
    pub sd_g: f64,
    /// The mean error must not lie below this, g.
    pub mean_limit_g: f64,
    /// Whether the mean passes.
    pub mean_passes: bool,
    /// How far a single package may fall short, g.
    pub allowed_shortage_g: f64,
    /// Packages that fall short by more.
    pub short: usize,
    /// How many may.
    pub short_allowed: usize,
    /// Packages that fall short by more than twice that: never allowed in the EU.
    pub far_short: usize,
    /// Whether everything passes.
    pub passes: bool,
    /// What to know beside it.
    pub findings: Vec<Finding>,
}

/// Checks net weights (tare taken off) against a label.
///
/// United States: mean error ≥ −factor·s, and at most the allowed number of packages beyond the
/// allowed variation. European Union: mean ≥ nominal within its own chance allowance, no more
/// packages below nominal − TNE than the plan allows, none below nominal − 2·TNE. `plan` is how many the lot asks for and how many of them may fall short;
/// a sample smaller than the plan never passes.
///
/// - Rule: mean error against its chance allowance, short packages against what the plan allows
/// - Units: weights \[g\]
/// - Valid: net weights of one lot
/// - Source: NIST Handbook 133 and Directive 76/211/EEC (from memory, to be confirmed)
///
/// ```
/// use trials::measurement::net_content::{Rule, check};
/// // Twelve packs of 500 g that hold 499 to 501 g pass; 12 that lack 30 g don't.
/// let even: Vec<f64> = (0..12).map(|i| 499.0 + f64::from(i % 3)).collect();
/// assert!(check(Rule::UnitedStates, 500.0, &even, (12, 0)).unwrap().passes);
/// let light: Vec<f64> = even.iter().map(|g| g - 30.0).collect();
/// assert!(!check(Rule::UnitedStates, 500.0, &light, (12, 0)).unwrap().passes);
/// ```
///
/// # Errors
/// Fewer than two packages, weights that are not above 0, a label outside the table.
pub fn check(
    rule: Rule,
    label_g: f64,
    net_g: &[f64],
    (wanted, short_allowed): (usize, usize),
) -> Result<NetContent, MeasurementError> {
    let allowed_shortage_g = rule.allowed_shortage_g(label_g)?;
    let factor = rule.correction_factor(net_g.len())?;
    for w in net_g {
        positive("net weight", *w)?;
    }
    let errors: Vec<f64> = net_g.iter().map(|w| w - label_g).collect();
    let too_few = || MeasurementError {
        name: "number of packages",
        value: errors.len() as f64,
        allowed: "from 2 up",
    };
    let mean_error_g = moments::mean(&errors).ok_or_else(too_few)?;
    let sd_g = moments::variance(&errors).ok_or_else(too_few)?.sqrt();
    let mean_limit_g = -factor * sd_g;
    let beyond = |g: f64| errors.iter().filter(|e| **e < -g - 1e-9).count();
    let (short, far_short) = (beyond(allowed_shortage_g), beyond(2.0 * allowed_shortage_g));
    let mean_passes = mean_error_g >= mean_limit_g;
    let far_fails = rule == Rule::EuropeanUnion && far_short > 0;
    let enough = net_g.len() >= wanted;
    let mut findings = vec![recalled(rule)];
    if !enough {
        findings.push(
            Finding::new(
                Severity::Stop,
                Code::TooFewWeighed,
                "net content",
                format!(
                    "{} of {wanted} packages were weighed: a smaller sample can't pass the lot",
                    net_g.len()
                ),
            )
            .help(format!(
                "weigh {} more, drawn at random from the whole lot",
                wanted - net_g.len()
            )),
        );
    }
    Ok(NetContent {
        rule,
        packages: net_g.len(),
        mean_error_g,
        sd_g,
        mean_limit_g,
        mean_passes,
        allowed_shortage_g,
        short,
        short_allowed,
        far_short,
        wanted,
        passes: enough && mean_passes && short <= short_allowed && !far_fails,
        findings,
    })
}

fn recalled(rule: Rule) -> Finding {
    Finding::new(
        Severity::Warn,
        Code::NetContentTableRecalled,
        "net content",
        format!(
            "The allowed variations and sample rules ({}) are from memory and not confirmed.",
            rule.word()
        ),
    )
    .help(
        "Confirm them in the current edition, and ask counsel or the weights and measures officer.",
    )
    .source("recalled")
}
