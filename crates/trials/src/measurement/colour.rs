//! Colour in CIE L*a*b* and the CIEDE2000 difference.
//!
//! Illuminant and observer belong to every figure; figures of two instruments or settings are not
//! compared. About 1 is hardly seen, 2 to 3 is seen at once (rough guide, from memory).

use serde::{Deserialize, Serialize};

/// A colour.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lab {
    /// Lightness L*, 0 to 100.
    pub l: f64,
    /// Green to red a*.
    pub a: f64,
    /// Blue to yellow b*.
    pub b: f64,
}

impl Lab {
    /// Chroma C* = √(a² + b²).
    pub(crate) fn chroma(self) -> f64 {
        self.a.hypot(self.b)
    }
}

/// Hue angle, degrees from 0 to below 360; 0 for grey.
fn hue_deg(a: f64, b: f64) -> f64 {
    if a == 0.0 && b == 0.0 {
        return 0.0;
    }
    let h = b.atan2(a).to_degrees();
    if h < 0.0 { h + 360.0 } else { h }
}

/// The plain distance of 1976.
///
/// - Equation: ΔE = √(ΔL² + Δa² + Δb²)
/// - Units: L*, a*, b* and ΔE \[CIELAB units\]
/// - Valid: colours of one instrument and setting
/// - Source: CIE 1976, ISO/CIE 11664-4; 3, 4 and 12 make 13
///
/// ```
/// use trials::measurement::colour::{Lab, difference_1976};
/// let (x, y) = (Lab { l: 50.0, a: 0.0, b: 0.0 }, Lab { l: 53.0, a: 4.0, b: 12.0 });
/// assert_eq!(difference_1976(x, y), 13.0);
/// ```
pub fn difference_1976(x: Lab, y: Lab) -> f64 {
    ((x.l - y.l).powi(2) + (x.a - y.a).powi(2) + (x.b - y.b).powi(2)).sqrt()
}

/// The CIEDE2000 difference with all weights 1 (ISO/CIE 11664-6; form and test pairs of Sharma, Wu
/// and Dalal 2005).
///
/// Check: pair 1 of their table, 2.0425.
///
/// - Equation: ΔE₀₀ of ISO/CIE 11664-6, all weights 1
/// - Units: L*, a*, b* and ΔE \[CIELAB units\]
/// - Valid: differences up to about 5
/// - Source: Sharma, Wu and Dalal 2005, pair 1 of their printed test data
///
/// ```
/// use trials::measurement::colour::{Lab, difference_2000};
/// let x = Lab { l: 50.0, a: 2.6772, b: -79.7751 };
/// let y = Lab { l: 50.0, a: 0.0, b: -82.7485 };
/// assert!((difference_2000(x, y) - 2.0425).abs() < 1e-4);
/// ```
pub fn difference_2000(x: Lab, y: Lab) -> f64 {
    let power7 = |c: f64| (c.powi(7) / (c.powi(7) + 25f64.powi(7))).sqrt();
    let g = 0.5 * (1.0 - power7(0.5 * (x.chroma() + y.chroma())));
    let (a1, a2) = ((1.0 + g) * x.a, (1.0 + g) * y.a);
    let (c1, c2) = (a1.hypot(x.b), a2.hypot(y.b));
    let (h1, h2) = (hue_deg(a1, x.b), hue_deg(a2, y.b));
    let grey = c1 * c2 == 0.0;

    let dl = y.l - x.l;
    let dc = c2 - c1;
    let turn = match h2 - h1 {
        _ if grey => 0.0,
        d if d > 180.0 => d - 360.0,
        d if d < -180.0 => d + 360.0,
        d => d,
    };
    let dh = 2.0 * (c1 * c2).sqrt() * (0.5 * turn).to_radians().sin();

    let l = 0.5 * (x.l + y.l);
    let c = 0.5 * (c1 + c2);
    let h = match h1 + h2 {
        sum if grey => sum,
        sum if (h1 - h2).abs() <= 180.0 => 0.5 * sum,
        sum if sum < 360.0 => 0.5 * (sum + 360.0),
        sum => 0.5 * (sum - 360.0),
    };
    let cosine = |degrees: f64| degrees.to_radians().cos();
    let t = 1.0 - 0.17 * cosine(h - 30.0) + 0.24 * cosine(2.0 * h) + 0.32 * cosine(3.0 * h + 6.0)
        - 0.20 * cosine(4.0 * h - 63.0);
    let rotation = 30.0 * (-((h - 275.0) / 25.0).powi(2)).exp();
    let away = (l - 50.0).powi(2);
    let sl = 1.0 + 0.015 * away / (20.0 + away).sqrt();
    let sc = 1.0 + 0.045 * c;
    let sh = 1.0 + 0.015 * c * t;
    let rt = -2.0 * power7(c) * (2.0 * rotation).to_radians().sin();
    let (dl, dc, dh) = (dl / sl, dc / sc, dh / sh);
    (dl * dl + dc * dc + dh * dh + rt * dc * dh).max(0.0).sqrt()
}

/// The mean colour of readings; none without readings.
pub fn mean(readings: &[Lab]) -> Option<Lab> {
    let n = readings.len() as f64;
    let mean = |f: fn(&Lab) -> f64| readings.iter().map(f).sum::<f64>() / n;
    (!readings.is_empty()).then(|| Lab {
        l: mean(|r| r.l),
        a: mean(|r| r.a),
        b: mean(|r| r.b),
    })
}
