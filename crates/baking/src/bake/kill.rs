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

use measure::{Constant, Grade, Range};

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
pub const TOLD_AT_MOST: f64 = 10.0;

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
    /// Whether any of it was earned outside the tested temperatures or water activities, or the sum is
    /// above what is told.
    pub beyond_tested_range: bool,
}

impl Kill {
    /// The number as told to people: one decimal, never above ">10".
    ///
    /// ```
    /// use baking::bake::Kill;
    /// let kill = |log10| Kill { log10, extrapolated_log10: log10, beyond_tested_range: log10 > 10.0 };
    /// assert_eq!(kill(4.96).shown(), "5.0");
    /// assert_eq!(kill(31.0).shown(), ">10");
    /// ```
    pub fn shown(&self) -> String {
        if self.log10 > TOLD_AT_MOST {
            ">10".into()
        } else {
            format!("{:.1}", self.log10)
        }
    }
}

/// ln of the rate 1/D \[1/s\] at θ \[°C\] and the room-temperature water activity, held to the tested
/// upper edges of both.
///
/// Check: D 23.35 min at 80 °C and 0.33 by construction; 112.87 min measured at a_w 0.11 against 107.9
/// by the fit.
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
const LN_D80: f64 = 7.244_941_546_337_007;

/// ∫dt/D over a time \[s\] in which ln(1/D) goes evenly from one value to another: exact for an even ramp.
///
/// Check: D₇₅ 4.97 min, z 16.45 K, an even ramp from 40 to 95 °C at 10 K/min is 2.36158 decades and
/// 2 min at 95 °C are 6.61423 decades (closed form, computed).
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
    fn constant_matches_its_logarithm() {
        assert!(
            (D80.value.ln() - LN_D80).abs() < 1e-12,
            "{}",
            D80.value.ln()
        );
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
