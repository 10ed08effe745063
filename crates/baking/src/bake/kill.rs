//! The kill step: log reduction of Salmonella at every place, by local temperature and moisture.
//!
//! D = D₈₀·10^\[(80 − T)/z_T + (0.33 − a_w)/z_aw\], log reduction = ∫dt/D. The three constants are a
//! least-squares fit to nine D values in wheat flour (80, 85, 90 °C; a_w 0.11, 0.18, 0.33 at room
//! temperature), so a_w here is that of the local moisture at 25 °C.
//!
//! Outside what was tested nothing is credited that the tests don't show: a place hotter than 90 °C
//! counts as 90 °C, and one wetter than 0.33 counts as 0.33. Drier and cooler places follow the
//! equation, which makes them slower. Surfaces dry out within the first minutes, so the credited number is often
//! small although the piece gets hot: that is what the tests at hand support, and the reason why a kill step
//! is validated by trial. The sum with the equation carried on above 90 °C is kept beside it for such trials.
//!
//! A second sum credits the wet phase as well: as long as a place is wetter than a water activity of 0.80 it counts
//! by the D values published for doughs and batters, the slowest of those that fit. These were measured at 55 to
//! 65 °C, in other doughs, and are carried on above that: the sum needs validation before anybody leans on it.

use crate::Code;
use measure::{Constant, Finding, Grade, Range, Severity};

const SOURCE: &str =
    "least-squares fit to nine D values in wheat flour, University of Nebraska thesis (2015)";

/// Decimal reduction time at 80 °C and a_w 0.33.
pub const D80: Constant = Constant {
    name: "decimal reduction time at 80 °C, a_w 0.33",
    value: 23.35 * 60.0,
    unit: "s",
    range: Range::new(1.0, 1e6),
    source: SOURCE,
    grade: Grade::Computed,
};

/// Rise of temperature that makes the kill ten times faster.
pub const Z_T: Constant = Constant {
    name: "z for temperature",
    value: 18.23,
    unit: "K",
    range: Range::new(3.0, 40.0),
    source: SOURCE,
    grade: Grade::Computed,
};

/// Rise of water activity that makes the kill ten times faster.
pub const Z_AW: Constant = Constant {
    name: "z for water activity",
    value: 0.331,
    unit: "",
    range: Range::new(0.05, 2.0),
    source: SOURCE,
    grade: Grade::Computed,
};

/// Tested temperatures \[°C\].
pub const TESTED_CELSIUS: Range = Range::new(80.0, 90.0);
/// Tested water activities at room temperature.
pub const TESTED_WATER_ACTIVITY: Range = Range::new(0.11, 0.33);

/// Largest log reduction that is told as a number.
///
/// - Units: \[decades\]
/// - Source: house rule: beyond what was ever counted
pub const TOLD_AT_MOST: f64 = 7.0;

/// A log-linear law: D at a temperature, and the rise that makes it ten times faster.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WetLaw {
    /// What it was measured in.
    pub what: &'static str,
    /// D \[s\] at `reference_celsius`.
    pub d_s: f64,
    /// Temperature of that D \[°C\].
    pub reference_celsius: f64,
    /// z \[K\].
    pub z_k: f64,
    /// Least water activity that it is taken for.
    pub least_water_activity: f64,
    /// Whether it is taken for doughs without sugar, polyols or much salt alone.
    pub plain_dough_only: bool,
    /// Where it was seen.
    pub source: &'static str,
}

/// Wet doughs and batters in which *Salmonella* was heated.
pub const WET_LAWS: [WetLaw; 4] = [
    WetLaw {
        what: "hamburger-bun dough",
        d_s: 188.4, // 3.14 min
        reference_celsius: 61.0,
        z_k: 6.58,
        least_water_activity: 0.947,
        plain_dough_only: true,
        source: "Channaiah et al. 2016, J. Food Prot. 79(4), abstract (seen): 55, 58, 61 °C",
    },
    WetLaw {
        what: "English-muffin dough, a_w 0.947",
        d_s: 3.0 * 60.0,
        reference_celsius: 62.0,
        z_k: 6.2,
        least_water_activity: 0.947,
        plain_dough_only: true,
        source: "challenge study of English muffins, abstract (seen): 55, 58.5, 62 °C",
    },
    WetLaw {
        what: "sweet muffin batter, a_w about 0.93",
        d_s: 16.5 * 60.0,
        reference_celsius: 61.0,
        z_k: 10.4,
        least_water_activity: 0.80,
        plain_dough_only: false,
        source: "Channaiah et al. 2017, Int. J. Food Microbiol. 250:1-6, abstract (seen): 55, 58, 61 °C",
    },
    WetLaw {
        what: "a_w 0.82",
        d_s: 3.33 * 60.0,
        reference_celsius: 65.0,
        z_k: 10.9,
        least_water_activity: 0.80,
        plain_dough_only: false,
        source: "conference abstract T3-05 of 2016 (seen): 3 log in 10 min at 65 °C or 1.5 min at 74 °C",
    },
];

/// Least water activity at which a place counts as wet.
pub const WET_FROM: Constant = Constant {
    name: "least water activity at which a place counts as wet",
    value: 0.80,
    unit: "1",
    range: Range::new(0.75, 0.95),
    source: "lowest water activity of the doughs whose D values are taken (0.82 in an abstract, seen), rounded down",
    grade: Grade::Assumed,
};

impl WetLaw {
    /// D \[s\] at θ \[°C\].
    ///
    /// Check: sweet muffin batter 0.2458 min at 80 °C; English-muffin dough 0.1537 min at 70 °C (computed from the
    /// printed D and z).
    ///
    /// - Equation: D = D_r 10^((θ_r − θ)/z)
    /// - Units: θ \[°C\], D \[s\], z \[K\]
    /// - Valid: the temperatures at which it was measured (55 to 62 °C, 65 to 74 °C); an extrapolation beyond
    /// - Source: Bigelow; D and z of the doughs printed in abstracts (seen), named beside each law
    ///
    /// ```
    /// use baking::bake::kill::WET_LAWS;
    /// assert!((WET_LAWS[2].seconds(80.0) / 60.0 - 0.2458).abs() < 1e-4);
    /// assert!((WET_LAWS[1].seconds(70.0) / 60.0 - 0.1537).abs() < 1e-4);
    /// ```
    pub fn seconds(&self, celsius: f64) -> f64 {
        self.d_s * 10f64.powf((self.reference_celsius - celsius) / self.z_k)
    }

    /// Whether it is among those that are taken at a water activity.
    ///
    /// - Rule: bun and muffin dough for plain doughs from 0.947 on, sweet batter for all others from 0.80 on
    /// - Units: a_w \[1\]
    /// - Valid: a_w from 0 to 1
    /// - Source: house rule, no source; water activities of what was measured in the abstracts (seen)
    ///
    /// ```
    /// use baking::bake::kill::WET_LAWS;
    /// let fits = |a_w, plain| WET_LAWS.each_ref().map(|l| l.fits(a_w, plain));
    /// assert_eq!(fits(0.96, true), [true, true, false, false]);
    /// assert_eq!(fits(0.96, false), [false, false, true, true]);
    /// assert_eq!(fits(0.70, true), [false; 4]);
    /// ```
    pub fn fits(&self, water_activity: f64, plain_dough: bool) -> bool {
        if self.plain_dough_only {
            plain_dough && water_activity >= self.least_water_activity
        } else {
            let above = plain_dough && water_activity >= WET_LAWS[0].least_water_activity;
            water_activity >= self.least_water_activity && !above
        }
    }
}

/// ln of the rate 1/D \[1/s\] of a place with the wet phase: the slowest law that fits its water activity while it is
/// wetter than 0.80, else `credited`, that of [`ln_rate`]. `plain_dough` is a dough without sugar, polyols or much salt.
///
/// The same 80 °C is 0.004 min or 0.25 min of D by the choice of law; the slower one counts.
#[inline(always)]
pub(crate) fn wet_of(
    celsius: f64,
    room_water_activity: f64,
    plain_dough: bool,
    credited: f64,
) -> f64 {
    let of = |law: usize| {
        let WetLaw {
            reference_celsius,
            z_k,
            ..
        } = WET_LAWS[law];
        (celsius - reference_celsius) * (std::f64::consts::LN_10 / z_k) - LN_WET_D[law]
    };
    let plain = plain_dough & (room_water_activity >= WET_LAWS[0].least_water_activity);
    let (a, b) = if plain {
        (of(0), of(1))
    } else {
        (of(2), of(3))
    };
    let slower = if a < b { a } else { b };
    if room_water_activity < WET_FROM.value {
        credited
    } else {
        slower
    }
}

/// ln of the D \[s\] of each wet law.
///
/// - Source: logarithms of [`WET_LAWS`], each with its source
const LN_WET_D: [f64; 4] = [
    5.238_567_362_142_263,
    5.192_956_850_890_21,
    6.897_704_943_128_636,
    5.297_316_866_214_453,
];

/// The caution that stands beside every kill number.
pub const CAUTION: &str = "A computed log reduction is no validation of a kill step: a process authority must \
validate the process for this product, this oven and the organisms of concern.";

/// Log reduction at the place where it is least.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kill {
    /// The sum ∫dt/D, decades.
    pub log10: f64,
    /// The same sum with the equation carried on above 90 °C: to compare with trials, never to rely on.
    pub extrapolated_log10: f64,
    /// The least sum with the wet phase credited by the laws of [`WET_LAWS`]: needs validation.
    pub wet_phase_log10: f64,
    /// Whether any of it was earned outside the tested temperatures or water activities, or the sum is
    /// above what is told.
    pub beyond_tested_range: bool,
}

impl Kill {
    /// The credited number as told to people.
    ///
    /// - Rule: one decimal, never more than ‘more than 7’
    /// - Units: log₁₀ reduction \[decades\]
    /// - Valid: any number
    /// - Source: house rule, no source: a figure above 7 is outside what was ever counted
    ///
    /// ```
    /// use baking::bake::Kill;
    /// let kill = |log10| Kill {
    ///     log10, extrapolated_log10: log10, wet_phase_log10: log10, beyond_tested_range: log10 > 7.0,
    /// };
    /// assert_eq!(kill(4.96).shown(), "5.0");
    /// assert_eq!(kill(31.0).shown(), "more than 7");
    /// ```
    pub fn shown(&self) -> String {
        shown(self.log10)
    }
}

/// A log reduction as told to people: one decimal, never above "more than 7".
///
/// - Rule: one decimal, never more than ‘more than 7’
/// - Units: log₁₀ reduction \[decades\]
/// - Valid: any number
/// - Source: house rule, no source
///
/// ```
/// use baking::bake::kill::shown;
/// assert_eq!((shown(4.96), shown(7.2)), ("5.0".to_owned(), "more than 7".to_owned()));
/// ```
pub fn shown(log10: f64) -> String {
    if log10 > TOLD_AT_MOST {
        format!("more than {TOLD_AT_MOST}")
    } else {
        format!("{log10:.1}")
    }
}

/// Raw materials of animals in a formula, and what is asked of their kill.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Raw<'a> {
    /// Their names.
    pub names: &'a [&'a str],
    /// Log reduction that is asked for beside them.
    pub asked_log10: f64,
    /// Whether all are dried, and nobody said by what heat.
    pub dried: bool,
}

/// What a person should know about the kill: below a target, and raw animal material in the formula.
///
/// Only the credited figure counts; the wet phase is told beside it. A written target takes the place of what is asked
/// for beside raw materials.
///
/// - Rule: nothing where the credited reduction reaches the target; else a warning, or a stop beside raw material
///   of animals
/// - Units: reduction and target \[decades\]
/// - Valid: as the credited figure
/// - Source: targets are the person's own or those beside raw materials; kill before drying from guidance for jerky
///   (seen)
///
/// ```
/// use baking::bake::Kill;
/// use baking::bake::kill::{Raw, findings};
/// let kill = Kill { log10: 0.3, extrapolated_log10: 4.4, wet_phase_log10: 2.0, beyond_tested_range: true };
/// let chicken = Some(Raw { names: &["chicken"], asked_log10: 7.0, dried: false });
/// assert!(findings(&kill, None, None).is_none());
/// assert!(findings(&kill, Some(0.2), None).is_none());
/// assert_eq!(findings(&kill, Some(5.0), None).unwrap().code, baking::Code::KillBelowTarget);
/// assert_eq!(findings(&kill, None, chicken).unwrap().code, baking::Code::RawAndNotShownToBeKilled);
/// assert!(findings(&kill, Some(0.2), chicken).is_none());
/// ```
pub fn findings(kill: &Kill, target_log10: Option<f64>, raw: Option<Raw<'_>>) -> Option<Finding> {
    let wanted = target_log10.or(raw.map(|r| r.asked_log10))?;
    if kill.log10 >= wanted {
        return None;
    }
    let beside = format!(
        "credited within the tested range at the least treated place: {} log₁₀ of {wanted} asked for; with the wet phase \
         by published D values of other doughs {} log₁₀, which needs validation",
        kill.shown(),
        shown(kill.wet_phase_log10)
    );
    let help = "have a process authority set and validate the kill step: kill first while the piece is wet and the air \
                humid, then dry; or take a material that is already cooked or pasteurised";
    let source = "log-linear D values, sources beside the kill; kill before drying: guidance for jerky (seen)";
    let finding = |severity, code: Code, text| {
        Finding::new(severity, code, "bake.kill_log10", text)
            .help(help)
            .source(source)
    };
    Some(match raw {
        None => finding(
            Severity::Warn,
            Code::KillBelowTarget,
            format!("The kill isn't shown to reach its target: {beside}."),
        ),
        Some(raw) if raw.dried => finding(
            Severity::Warn,
            Code::DriedAndNotShownToBeKilled,
            format!(
                "Dried, and the name doesn't say by what heat ({}): drying alone kills little, and the bake isn't shown to \
                 make up for it: {beside}.",
                raw.names.join("; ")
            ),
        ),
        Some(raw) => finding(
            Severity::Stop,
            Code::RawAndNotShownToBeKilled,
            format!(
                "Raw material of animals isn't shown to be killed ({}): {beside}.",
                raw.names.join("; ")
            ),
        ),
    })
}

/// ln of the rate 1/D \[1/s\] at θ \[°C\] and the room-temperature water activity, held to the tested
/// upper edges of both.
///
/// Check: D 23.35 min at 80 °C and 0.33 by construction; 112.87 min measured at a_w 0.11 against 107.9
/// by the fit.
///
/// - Equation: ln(1/D), log₁₀ D = log₁₀ D₈₀ + (80 − θ)/z_T + (0.33 − a)/z_a
/// - Units: θ \[°C\], a_w at room temperature \[1\], ln of a rate \[1/s\]
/// - Valid: 75 to 90 °C and a_w 0.11 to 0.33; held to the upper edges beyond
/// - Source: least squares through nine D values of Salmonella in wheat flour, a university's thesis (seen); 112.87
///   min is one of them
///
/// ```
/// use baking::bake::kill::ln_rate;
/// let d_min = |celsius, aw| (-ln_rate(celsius, aw)).exp() / 60.0;
/// assert!((d_min(80.0, 0.33) - 23.35_f64).abs() < 1e-9);
/// assert!((d_min(80.0, 0.11) / 112.87_f64 - 1.0).abs() < 0.06);
/// assert_eq!(ln_rate(120.0, 0.9), ln_rate(90.0, 0.33));
/// ```
#[inline(always)]
pub fn ln_rate(celsius: f64, room_water_activity: f64) -> f64 {
    carried_on(celsius.min(TESTED_CELSIUS.high), room_water_activity)
}

/// The same with the equation carried on above 90 °C.
#[inline(always)]
pub(crate) fn carried_on(celsius: f64, room_water_activity: f64) -> f64 {
    let a = room_water_activity.min(TESTED_WATER_ACTIVITY.high);
    let decades = (celsius - 80.0) * (1.0 / Z_T.value) + (a - 0.33) * (1.0 / Z_AW.value);
    decades.mul_add(std::f64::consts::LN_10, -LN_D80)
}

/// ln of `D80` in seconds.
///
/// - Units: ln of \[s\]
/// - Source: the logarithm of a constant beside it
const LN_D80: f64 = 7.244_941_546_337_007;

/// ∫dt/D over a time \[s\] in which ln(1/D) goes evenly from one value to another: exact for an even ramp.
///
/// Check: D₇₅ 4.97 min, z 16.45 K, an even ramp from 40 to 95 °C at 10 K/min is 2.36158 decades and
/// 2 min at 95 °C are 6.61423 decades (closed form, computed).
///
/// - Equation: ∫dt/(D) = t (r₁ − r₀)/ln(r₁/r₀), r = 1/D at both ends
/// - Units: ln of rates \[1/s\], time \[s\], reduction \[decades\]
/// - Valid: a rate that changes exponentially in time, as by Bigelow in an even ramp
/// - Source: closed form; the examples computed apart
///
/// ```
/// use baking::bake::kill::decades;
/// let ln_rate = |t: f64| ((t - 75.0) / 16.45) * std::f64::consts::LN_10 - (4.97_f64 * 60.0).ln();
/// assert!((decades(ln_rate(40.0), ln_rate(95.0), 330.0) - 2.36158).abs() < 1e-5);
/// assert!((decades(ln_rate(95.0), ln_rate(95.0), 120.0) - 6.61423).abs() < 1e-5);
/// ```
pub fn decades(ln_rate_from: f64, ln_rate_to: f64, time_s: f64) -> f64 {
    mean_rate(
        ln_rate_from,
        ln_rate_to,
        ln_rate_from.exp(),
        ln_rate_to.exp(),
    ) * time_s
}

/// The logarithmic mean of two rates.
#[inline(always)]
pub(crate) fn mean_rate(ln_a: f64, ln_b: f64, a: f64, b: f64) -> f64 {
    let d = ln_b - ln_a;
    let close = d.abs() < 1e-4;
    let safe = if close { 1.0 } else { d };
    let ratio = (b - a) / safe;
    if close { 0.5 * (a + b) } else { ratio }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_slower_law_that_fits_counts_where_it_is_wet() {
        let ln_rate_wet = |a, plain| wet_of(80.0, a, plain, ln_rate(80.0, a));
        let d_min = |a, plain| (-ln_rate_wet(a, plain)).exp() / 60.0;
        assert!((d_min(0.97, true) - 0.0041).abs() < 1e-4);
        assert!((d_min(0.97, false) - 0.2458).abs() < 1e-3);
        assert!((d_min(0.85, true) - 0.2458).abs() < 1e-3);
        assert_eq!(ln_rate_wet(0.5, false), ln_rate(80.0, 0.5));
    }

    #[test]
    fn constant_matches_its_logarithm() {
        assert!(
            (D80.value.ln() - LN_D80).abs() < 1e-12,
            "{}",
            D80.value.ln()
        );
        for (law, ln) in WET_LAWS.iter().zip(LN_WET_D) {
            assert!((law.d_s.ln() - ln).abs() < 1e-12, "{}", law.d_s.ln());
        }
    }

    #[test]
    fn fit_is_near_the_nine_measured_values() {
        // D [min] in wheat flour, Salmonella (thesis, seen in print); the fit's rms is 0.033 decades.
        let rows = [
            (0.11, [112.87, 61.01, 32.36]),
            (0.18, [59.05, 30.90, 18.78]),
            (0.33, [25.10, 13.25, 6.22]),
        ];
        let mut sum = 0.0;
        for (a, d) in rows {
            for (celsius, measured) in [80.0, 85.0, 90.0].iter().zip(d) {
                let fit: f64 = (-ln_rate(*celsius, a)).exp() / 60.0;
                sum += (fit / measured).log10().powi(2);
            }
        }
        let rms = (sum / 9.0_f64).sqrt();
        assert!(rms < 0.045, "{rms}");
    }
}
