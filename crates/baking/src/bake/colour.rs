//! Browning of the top surface: colour difference from the dough.
//!
//! d(ΔE)/dt = k(T)·(ΔE∞ − ΔE), k = k₀ exp(−E/(R T)); Zanoni, Peri and Bruno (1995), LWT 28:604–609,
//! on dried bread crumb at 140 to 250 °C. Cooler crumb browns far more slowly than that law carried down says: below
//! 115 °C, where crackers begin to darken, the line goes on with another activation energy. For another dough the law
//! ranks bakes; it is not its colour.

use super::surface::GAS_CONSTANT;
use crate::Code;
use measure::{Constant, Finding, Grade, Range, Severity};

const SOURCE: &str = "Zanoni, Peri and Bruno (1995), LWT 28:604-609, dried bread crumb";

/// Frequency factor of browning.
pub const RATE: Constant = Constant {
    name: "browning frequency factor",
    value: 42_000.0,
    unit: "1/s",
    range: Range::new(1.0, 1e9),
    source: SOURCE,
    grade: Grade::Published,
};

/// Activation energy of browning.
pub const ACTIVATION: Constant = Constant {
    name: "browning activation energy",
    value: 64_151.0,
    unit: "J/mol",
    range: Range::new(1e4, 2e5),
    source: SOURCE,
    grade: Grade::Published,
};

/// Activation energy of browning below [`BREAK`].
pub const COOL_ACTIVATION: Constant = Constant {
    name: "browning activation energy below 115 °C",
    value: 120_000.0,
    unit: "J/mol",
    range: Range::new(81_000.0, 184_000.0),
    source: "sugar and milk solids 81 to 159 kJ/mol, dry solids at 40 to 60 °C 184 kJ/mol (abstracts seen); the value \
             between them is a judgement",
    grade: Grade::Assumed,
};

/// Temperature under which the cooler law holds.
pub const BREAK: Constant = Constant {
    name: "temperature below which browning has the other activation energy",
    value: 388.15,
    unit: "K",
    range: Range::new(378.15, 413.15),
    source: "crackers begin to darken at 105 to 115 °C of product (Broyart et al. 1998, as cited)",
    grade: Grade::Published,
};

/// Temperatures the hot law was tested at \[°C\].
pub const TESTED_CELSIUS: Range = Range::new(140.0, 250.0);

/// Colour difference of the fully browned crumb.
pub const END: Constant = Constant {
    name: "colour difference when fully browned",
    value: 52.0,
    unit: "ΔE",
    range: Range::new(10.0, 100.0),
    source: SOURCE,
    grade: Grade::Published,
};

/// ln of the rate of browning \[1/s\] at T \[K\].
///
/// - Equation: ln k = ln k₀ − E/(R T), with a steeper E below the break
/// - Units: T \[K\], ln of k \[1/s\]
/// - Valid: 140 to 250 °C as tested; below the break an assumption
/// - Source: Zanoni, Peri and Bruno 1995, dried bread crumb (constants seen)
///
/// ```
/// use baking::bake::colour::ln_rate;
/// // 3.474e-3 1/s at 200 °C by the printed constants; activation 64.15 kJ/mol from its slope.
/// assert!((ln_rate(473.15) - 3.474e-3_f64.ln()).abs() < 2e-3);
/// let joule = 8.314 * (ln_rate(500.0) - ln_rate(450.0)) / (1.0 / 450.0 - 1.0 / 500.0);
/// assert!((joule / 64_150.0 - 1.0).abs() < 0.01);
/// ```
pub fn ln_rate(kelvin: f64) -> f64 {
    let over = |activation: f64, t: f64| activation / (GAS_CONSTANT * t);
    let hot = LN_RATE - over(ACTIVATION.value, kelvin.max(BREAK.value));
    if kelvin < BREAK.value {
        hot - over(COOL_ACTIVATION.value, kelvin) + over(COOL_ACTIVATION.value, BREAK.value)
    } else {
        hot
    }
}

/// Slope of [`ln_rate`] \[1/K\].
pub(crate) fn ln_rate_slope(kelvin: f64) -> f64 {
    let activation = if kelvin < BREAK.value {
        COOL_ACTIVATION
    } else {
        ACTIVATION
    };
    activation.value / (GAS_CONSTANT * kelvin * kelvin)
}

/// ln of `RATE`.
///
/// - Units: ln of \[1/s\]
/// - Source: the logarithm of a constant beside it
const LN_RATE: f64 = 10.645_424_897_265_505;

/// Rate of browning k \[1/s\] at T \[K\]; tested from 140 to 250 °C.
///
/// Check: 3.474e-3 1/s at 200 °C (computed from the printed constants with R rounded to
/// 8.314, which is 0.1 % of k).
///
/// - Equation: k = k₀ exp(−E/(R T)), with a steeper E below the break
/// - Units: T \[K\], k \[1/s\]
/// - Valid: 140 to 250 °C as tested; below the break an assumption
/// - Source: Zanoni, Peri and Bruno 1995, dried bread crumb (constants seen); cool end from crackers and sugar-milk
///   systems in print (seen)
///
/// ```
/// let k = baking::bake::colour::rate(473.15);
/// assert!((k / 3.474e-3 - 1.0).abs() < 1.5e-3);
/// ```
pub fn rate(kelvin: f64) -> f64 {
    ln_rate(kelvin).exp()
}

/// Colour difference ΔE after browning with ∫k dt.
///
/// Check: 33.66 after 300 s at 200 °C, 7.32 at 150 °C, 51.63 at 250 °C (computed).
///
/// - Equation: ΔE = ΔE_∞ (1 − exp(−∫k dt))
/// - Units: ∫k dt \[1\], ΔE \[CIELAB units\]
/// - Valid: 0 to the end value, 52
/// - Source: Zanoni, Peri and Bruno 1995 (constants seen); examples computed apart
///
/// ```
/// use baking::bake::colour::{delta_e, rate};
/// for (celsius, wanted) in [(150.0, 7.32), (185.0, 23.78), (200.0, 33.66), (250.0, 51.63)] {
///     assert!((delta_e(300.0 * rate(celsius + 273.15)) - wanted).abs() < 0.03);
/// }
/// ```
pub fn delta_e(browning: f64) -> f64 {
    -END.value * (-browning).exp_m1()
}

/// How a colour difference is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shade {
    /// Hardly browner than the dough.
    Pale,
    /// As a biscuit is.
    Usual,
    /// Darker than is liked.
    Dark,
    /// Burnt; near the end of the law, which tells no more differences.
    Burnt,
}

impl Shade {
    /// Every shade, from pale to burnt.
    pub const ALL: [Self; 4] = [Self::Pale, Self::Usual, Self::Dark, Self::Burnt];

    /// The shade of a colour difference from the dough: limits at 5, 25 and 35.
    ///
    /// ```
    /// use baking::bake::colour::Shade;
    /// assert_eq!([4.9, 5.0, 25.0, 35.0, 35.1].map(Shade::of).map(Shade::word), ["pale", "usual", "usual", "dark", "burnt"]);
    /// ```
    pub fn of(delta_e: f64) -> Self {
        match delta_e {
            d if d < LIMITS[0] => Self::Pale,
            d if d <= LIMITS[1] => Self::Usual,
            d if d <= LIMITS[2] => Self::Dark,
            _ => Self::Burnt,
        }
    }

    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pale => "pale",
            Self::Usual => "usual",
            Self::Dark => "dark",
            Self::Burnt => "burnt",
        }
    }
}

/// Pale below, dark above, burnt above \[ΔE from the dough\]: common practice by judgement, no source.
///
/// - Source: judgement, no source
pub const LIMITS: [f64; 3] = [5.0, 25.0, 35.0];

/// What a person should know about the colour of a bake whose top was at most `top_peak_k`.
///
/// - Rule: pale below the first limit of ΔE, dark above the second, burnt above the third
/// - Units: ΔE \[CIELAB units\], hottest top \[K\]
/// - Valid: the law's own range; a note says when the top was cooler than it was tested
/// - Source: limits by judgement, no source
///
/// ```
/// use baking::bake::colour::findings;
/// assert_eq!(findings(48.0, 473.15)[0].code, baking::Code::Burnt);
/// assert_eq!(findings(2.0, 373.15)[0].code, baking::Code::Pale);
/// assert!(findings(15.0, 433.15).is_empty());
/// ```
pub fn findings(delta_e: f64, top_peak_k: f64) -> Vec<Finding> {
    let source =
        "limits of ΔE from the dough by judgement, no source; law of bread crumb at 140 to 250 °C";
    let finding = |severity, code: Code, text: String, help: &str| {
        Finding::new(severity, code, "bake.colour_delta_e", text)
            .help(help)
            .source(source)
    };
    let top_c = measure::temperature::celsius(top_peak_k);
    let untested = if top_c < TESTED_CELSIUS.low {
        format!(" The top was never above {top_c:.0} °C, cooler than the law was tested.")
    } else {
        String::new()
    };
    match Shade::of(delta_e) {
        Shade::Pale => vec![finding(
            Severity::Note,
            Code::Pale,
            format!(
                "The top stays pale: ΔE {delta_e:.0} from the dough, under {:.0}.{untested}",
                LIMITS[0]
            ),
            "hotter or drier air in the last zone, some reducing sugar, or call it a pale product",
        )],
        Shade::Usual => Vec::new(),
        Shade::Dark => vec![finding(
            Severity::Warn,
            Code::Dark,
            format!(
                "The top is dark: ΔE {delta_e:.0} from the dough, over {:.0}.",
                LIMITS[1]
            ),
            "a cooler end with a longer bake or a drying step after it, less sugar or soda, or a thinner piece",
        )],
        Shade::Burnt => vec![finding(
            Severity::Stop,
            Code::Burnt,
            format!(
                "The top is burnt by the law of browning: ΔE {delta_e:.0} of {:.0} at most, over {:.0}; near its end the \
                 law tells no more differences.",
                END.value, LIMITS[2]
            ),
            "bake cooler and finish in a dryer, or make the piece thinner; a darker piece isn't a safer one",
        )],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn constant_matches_its_logarithm() {
        assert!((RATE.value.ln() - LN_RATE).abs() < 1e-12);
    }

    /// Two hours at a temperature, computed apart: the law of 140 to 250 °C carried down would give 4.9 at 80 °C and
    /// 8.5 at 90 °C.
    #[test]
    fn cool_crumb_hardly_browns() {
        for (celsius, wanted) in [(80.0, 0.91), (90.0, 2.75), (100.0, 7.59)] {
            let found = delta_e(7200.0 * rate(celsius + 273.15));
            assert!((found - wanted).abs() < 0.02, "{celsius} {found}");
        }
        let step = ln_rate(BREAK.value + 1e-6) - ln_rate(BREAK.value - 1e-6);
        assert!(step.abs() < 1e-6);
    }
}
