//! Water activity over moisture and temperature, in the form the balances use.
//!
//! logit a_w = S(ln X) + g·(θ − 25 °C), with S rising. Oswin's equation is a straight S; measured or
//! mixed curves are a smooth rising S through points.

use super::error::InputError;
use serde::Serialize;

/// The temperature at which S alone holds \[°C\]: room temperature.
///
/// - Source: a reference state, chosen here
pub const ROOM_CELSIUS: f64 = 25.0;

/// Intervals of the table a curve through points is laid out on.
const INTERVALS: usize = 96;

/// Moisture is not taken below this inside the logarithm \[kg/kg dry solid\].
///
/// - Source: a numerical floor, chosen here
pub const LEAST_MOISTURE: f64 = 1e-12;

/// A moisture sorption isotherm.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Isotherm {
    /// Rise of logit a_w per kelvin at fixed moisture, g \[1/K\].
    pub per_kelvin: f64,
    pub(crate) curve: Curve,
}

/// The curve S over ln X at room temperature.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) enum Curve {
    Line {
        intercept: f64,
        slope: f64,
    },
    Table {
        first: f64,
        step: f64,
        /// Value, slope·step and the two higher coefficients in the fraction of the interval.
        cubics: Vec<[f64; 4]>,
        end: f64,
        end_slope: f64,
    },
}

impl Curve {
    /// S and dS/d ln X.
    #[inline(always)]
    pub(crate) fn at(&self, ln_x: f64) -> (f64, f64) {
        match self {
            Self::Line { intercept, slope } => (slope.mul_add(ln_x, *intercept), *slope),
            Self::Table {
                first,
                step,
                cubics,
                end,
                end_slope,
            } => {
                let place = (ln_x - first) / step;
                if place < 0.0 {
                    let [value, rise, _, _] = cubics[0];
                    return (rise.mul_add(place, value), rise / step);
                }
                let beyond = place - cubics.len() as f64;
                if beyond >= 0.0 {
                    return ((end_slope * step).mul_add(beyond, *end), *end_slope);
                }
                let i = place as usize;
                let u = place - i as f64;
                let [a, b, c, d] = cubics[i.min(cubics.len() - 1)];
                let value = a + u * (b + u * (c + u * d));
                let slope = (b + u * (2.0 * c + u * 3.0 * d)) / step;
                (value, slope)
            }
        }
    }
}

impl Curve {
    /// S, dS/d ln X and d²S/d(ln X)².
    #[inline(always)]
    pub(crate) fn bent(&self, ln_x: f64) -> (f64, f64, f64) {
        let (value, slope) = self.at(ln_x);
        let bend = match self {
            Self::Line { .. } => 0.0,
            Self::Table {
                first,
                step,
                cubics,
                ..
            } => {
                let place = (ln_x - first) / step;
                if place < 0.0 || place >= cubics.len() as f64 {
                    0.0
                } else {
                    let [_, _, c, d] = cubics[place as usize];
                    (2.0 * c + place.fract() * 6.0 * d) / (step * step)
                }
            }
        };
        (value, slope, bend)
    }
}

impl Isotherm {
    /// The same curve for a solid that holds `factor` times the water at every water activity.
    ///
    /// - Equation: X(a) = f X₀(a): ln X is moved by ln f
    /// - Units: f \[1\]
    /// - Valid: f above 0
    /// - Source: an identity: the water at every activity times a factor
    ///
    /// ```
    /// let oswin = baking::bake::Isotherm::oswin(2.28, 0.38, 0.0056);
    /// let wetter = oswin.holding(1.2);
    /// assert!((wetter.water_activity(0.12, 60.0) - oswin.water_activity(0.10, 60.0)).abs() < 1e-12);
    /// ```
    pub fn holding(&self, factor: f64) -> Self {
        let shift = factor.ln();
        let mut out = self.clone();
        match &mut out.curve {
            Curve::Line { intercept, slope } => *intercept -= *slope * shift,
            Curve::Table { first, .. } => *first += shift,
        }
        out
    }

    /// Oswin's equation with a temperature shift: ln(100 X) = a − t·θ + b·logit a_w.
    ///
    /// Check: a 2.28, b 0.38, t 0.0056 give a_w 0.515 at X 0.087 and 25 °C (computed).
    ///
    /// - Equation: ln(100 X) = a − t θ + b ln(a_w/(1 − a_w))
    /// - Units: X \[kg/kg dry solid\], θ \[°C\], a, b \[1\], t \[1/K\]
    /// - Valid: a_w 0.1 to 0.9; logistic beyond
    /// - Source: Oswin 1946 with a shift by temperature (form from memory, to be confirmed); the example computed
    ///   apart
    ///
    /// ```
    /// let oswin = baking::bake::Isotherm::oswin(2.28, 0.38, 0.0056);
    /// assert!((oswin.water_activity(0.087, 25.0) - 0.515).abs() < 5e-4);
    /// ```
    pub fn oswin(a: f64, b: f64, t: f64) -> Self {
        Self {
            per_kelvin: t / b,
            curve: Curve::Line {
                intercept: (100.0_f64.ln() - a + t * ROOM_CELSIUS) / b,
                slope: 1.0 / b,
            },
        }
    }

    /// A smooth rising curve through (ln X, logit a_w) points at 25 °C, straight beyond the ends.
    ///
    /// Shape-keeping piecewise cubic (Fritsch and Carlson), laid out on an even grid of ln X.
    ///
    /// - Rule: a monotone cubic through the points, straight beyond the ends
    /// - Units: ln X with X in \[kg/kg dry solid\], logit of a_w \[1\], shift of the logit \[1/K\]
    /// - Valid: points that rise in both numbers
    /// - Source: Fritsch and Carlson 1980 (from memory, to be confirmed)
    ///
    /// ```
    /// use baking::bake::Isotherm;
    /// let logit = |a: f64| (a / (1.0 - a)).ln();
    /// // 5 % at 0.2 and 12 % at 0.6: it goes through its points.
    /// let own = Isotherm::through(&[(0.05_f64.ln(), logit(0.2)), (0.12_f64.ln(), logit(0.6))], 0.0)?;
    /// assert!((own.water_activity(0.05, 25.0) - 0.2).abs() < 1e-6);
    /// assert!((own.water_activity(0.12, 25.0) - 0.6).abs() < 1e-6);
    /// # Ok::<(), baking::bake::InputError>(())
    /// ```
    ///
    /// # Errors
    /// Fewer than two points, points that don't rise in both numbers, or numbers that aren't finite.
    pub fn through(points: &[(f64, f64)], per_kelvin: f64) -> Result<Self, InputError> {
        let field = "isotherm points";
        if points.len() < 2 {
            return Err(InputError::new(
                field,
                points.len() as f64,
                "at least 2 points",
            ));
        }
        if !per_kelvin.is_finite() {
            return Err(InputError::new(
                "isotherm per_kelvin",
                per_kelvin,
                "a finite number",
            ));
        }
        for pair in points.windows(2) {
            let all = [pair[0].0, pair[0].1, pair[1].0, pair[1].1];
            if let Some(odd) = all.into_iter().find(|v| !v.is_finite()) {
                return Err(InputError::new(field, odd, "finite ln X and logit a_w"));
            }
            if pair[1].0 - pair[0].0 < 1e-9 {
                return Err(InputError::new(
                    field,
                    pair[1].0,
                    "ln X rising from point to point",
                ));
            }
            if pair[1].1 - pair[0].1 < 1e-9 {
                return Err(InputError::new(
                    field,
                    pair[1].1,
                    "water activity rising with moisture from point to point",
                ));
            }
        }
        let slopes = rising_slopes(points);
        let (first, last) = (points[0].0, points[points.len() - 1].0);
        let step = (last - first) / INTERVALS as f64;
        let on_grid: Vec<(f64, f64)> = (0..=INTERVALS)
            .map(|i| through_points(points, &slopes, first + step * i as f64))
            .collect();
        let cubics = on_grid
            .windows(2)
            .map(|w| {
                let rise = w[1].0 - w[0].0;
                let limit = 3.0 * rise;
                let (m0, m1) = ((w[0].1 * step).min(limit), (w[1].1 * step).min(limit));
                [w[0].0, m0, 3.0 * rise - 2.0 * m0 - m1, m0 + m1 - 2.0 * rise]
            })
            .collect();
        Ok(Self {
            per_kelvin,
            curve: Curve::Table {
                first,
                step,
                cubics,
                end: on_grid[INTERVALS].0,
                end_slope: on_grid[INTERVALS].1,
            },
        })
    }

    /// Water activity at moisture X \[kg/kg dry solid\] and θ \[°C\].
    ///
    /// - Equation: a_w = 1/(1 + exp(−(s(ln X) + g (θ − 25)))), s the curve at 25 °C
    /// - Units: X \[kg/kg dry solid\], θ \[°C\], a_w \[1\], g \[1/K\]
    /// - Valid: X from 1e-9; temperatures of the bake
    /// - Source: definition of the curve; temperature by Clausius and Clapeyron with a constant shift of the logit
    ///
    /// ```
    /// // Oswin with exponent ½ and 10 % at a_w ½: 20 % at 0.8, since √(0.8/0.2) = 2.
    /// let oswin = baking::bake::Isotherm::oswin(10.0_f64.ln(), 0.5, 0.0);
    /// assert!((oswin.water_activity(0.20, 25.0) - 0.8).abs() < 1e-12);
    /// ```
    pub fn water_activity(&self, moisture: f64, celsius: f64) -> f64 {
        let (s, _) = self.curve.at(moisture.max(LEAST_MOISTURE).ln());
        1.0 / (1.0 + (-(s + self.per_kelvin * (celsius - ROOM_CELSIUS))).exp())
    }

    /// ∂a_w/∂X at moisture X and θ \[°C\].
    ///
    /// - Equation: ∂a_w/∂X = a_w (1 − a_w) s′(ln X)/X
    /// - Units: X \[kg/kg dry solid\], θ \[°C\], slope \[kg/kg, inverse\]
    /// - Valid: as the isotherm
    /// - Source: an identity: the derivative of the curve
    ///
    /// ```
    /// // Oswin with exponent ½ at a_w ½: ∂a/∂X = a (1 − a)/(b X) = 0.25/(0.5 · 0.10).
    /// let oswin = baking::bake::Isotherm::oswin(10.0_f64.ln(), 0.5, 0.0);
    /// assert!((oswin.slope(0.10, 25.0) - 5.0).abs() < 1e-9);
    /// ```
    pub fn slope(&self, moisture: f64, celsius: f64) -> f64 {
        let x = moisture.max(LEAST_MOISTURE);
        let a = self.water_activity(x, celsius);
        a * (1.0 - a) * self.curve.at(x.ln()).1 / x
    }

    /// Moisture X \[kg/kg dry solid\] in equilibrium with a water activity between 0 and 1 at θ \[°C\].
    ///
    /// - Equation: X with a_w(X, θ) the wanted one, by bisection in ln X
    /// - Units: a_w \[1\], θ \[°C\], X \[kg/kg dry solid\]
    /// - Valid: a_w within 1e-9 of 0 and 1
    /// - Source: an identity: the inverse of the isotherm
    ///
    /// ```
    /// let oswin = baking::bake::Isotherm::oswin(2.28, 0.38, 0.0056);
    /// let x = oswin.moisture(0.65, 25.0);
    /// assert!((oswin.water_activity(x, 25.0) - 0.65).abs() < 1e-12);
    /// ```
    pub fn moisture(&self, water_activity: f64, celsius: f64) -> f64 {
        let a = water_activity.clamp(1e-9, 1.0 - 1e-9);
        let wanted = (a / (1.0 - a)).ln() - self.per_kelvin * (celsius - ROOM_CELSIUS);
        let (mut low, mut high) = (LEAST_MOISTURE.ln(), 100.0_f64.ln());
        for _ in 0..90 {
            let middle = 0.5 * (low + high);
            if self.curve.at(middle).0 < wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        (0.5 * (low + high)).exp()
    }
}

/// Slopes at the points that keep the curve rising (Fritsch and Butland's weighted harmonic mean).
fn rising_slopes(points: &[(f64, f64)]) -> Vec<f64> {
    let secants: Vec<(f64, f64)> = points
        .windows(2)
        .map(|w| (w[1].0 - w[0].0, (w[1].1 - w[0].1) / (w[1].0 - w[0].0)))
        .collect();
    let mut slopes = vec![secants[0].1; points.len()];
    slopes[points.len() - 1] = secants[secants.len() - 1].1;
    for i in 1..secants.len() {
        let ((h0, d0), (h1, d1)) = (secants[i - 1], secants[i]);
        let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
        slopes[i] = (w0 + w1) / (w0 / d0 + w1 / d1);
    }
    slopes
}

/// Value and slope of the cubic through the points at `ln_x`, inside their range.
fn through_points(points: &[(f64, f64)], slopes: &[f64], ln_x: f64) -> (f64, f64) {
    let after = points.partition_point(|p| p.0 <= ln_x);
    let i = after.clamp(1, points.len() - 1) - 1;
    let (h, rise) = (points[i + 1].0 - points[i].0, points[i + 1].1 - points[i].1);
    let (m0, m1) = (slopes[i] * h, slopes[i + 1] * h);
    let u = ((ln_x - points[i].0) / h).clamp(0.0, 1.0);
    let (c, d) = (3.0 * rise - 2.0 * m0 - m1, m0 + m1 - 2.0 * rise);
    (
        points[i].1 + u * (m0 + u * (c + u * d)),
        (m0 + u * (2.0 * c + u * 3.0 * d)) / h,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_of_oswin_points_is_oswin() {
        let oswin = Isotherm::oswin(2.28, 0.38, 0.0056);
        let points: Vec<(f64, f64)> = (0..9)
            .map(|i| {
                let ln_x = -5.0 + 0.5 * f64::from(i);
                (ln_x, oswin.curve.at(ln_x).0)
            })
            .collect();
        let table = Isotherm::through(&points, oswin.per_kelvin).unwrap();
        for x in [1e-6, 0.004, 0.05, 0.11, 0.3, 0.9] {
            for celsius in [5.0, 25.0, 110.0] {
                let (a, b) = (
                    oswin.water_activity(x, celsius),
                    table.water_activity(x, celsius),
                );
                assert!((a - b).abs() < 1e-10, "{x} {celsius} {a} {b}");
                assert!((oswin.slope(x, celsius) / table.slope(x, celsius) - 1.0).abs() < 1e-8);
            }
        }
    }

    #[test]
    fn an_uneven_curve_rises_and_its_slope_is_its_derivative() {
        let points = [
            (-4.0, -3.0),
            (-3.0, -2.9),
            (-2.2, 0.4),
            (-1.5, 0.5),
            (-0.3, 3.0),
        ];
        let curve = Isotherm::through(&points, 0.01).unwrap();
        let mut before = f64::NEG_INFINITY;
        for i in 0..600 {
            let ln_x = -5.0 + f64::from(i) * 0.01 + 0.003;
            let (value, slope) = curve.curve.at(ln_x);
            assert!(value > before && slope >= 0.0);
            let h = 1e-6;
            let secant = (curve.curve.at(ln_x + h).0 - curve.curve.at(ln_x - h).0) / (2.0 * h);
            assert!((secant - slope).abs() < 1e-4, "{ln_x} {secant} {slope}");
            before = value;
        }
        let x = curve.moisture(0.5, 60.0);
        assert!((curve.water_activity(x, 60.0) - 0.5).abs() < 1e-9);
    }

    #[test]
    fn falling_points_are_refused_with_the_place() {
        let error = Isotherm::through(&[(-3.0, 0.0), (-2.0, -0.5)], 0.0).unwrap_err();
        assert!(error.to_string().contains("rising"), "{error}");
        assert!(Isotherm::through(&[(-3.0, 0.0)], 0.0).is_err());
        let odd = Isotherm::through(&[(-3.0, 0.0), (-2.0, f64::INFINITY)], 0.0).unwrap_err();
        assert!(odd.to_string().contains("is inf"), "{odd}");
    }
}
