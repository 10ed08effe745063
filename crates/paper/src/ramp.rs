//! Colour as a measure: our own ramps, for temperature, for moisture and for the crust.
//!
//! Each ramp runs through anchors in the OKLab space (Ottosson 2020, "A perceptual color space
//! for image processing"; matrices from memory, to be confirmed) and its luminance never turns
//! back, so that it reads in grey and on a black-and-white printer.

/// A colour in eight-bit sRGB.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rgb(pub u8, pub u8, pub u8);

impl Rgb {
    /// The colour as `#rrggbb`.
    pub fn hex(self) -> String {
        format!("#{:02x}{:02x}{:02x}", self.0, self.1, self.2)
    }

    /// Reads `#rrggbb`; nothing for any other text.
    ///
    /// ```
    /// assert_eq!(paper::Rgb::parse("#9C4A1F"), Some(paper::Rgb(0x9c, 0x4a, 0x1f)));
    /// ```
    pub fn parse(text: &str) -> Option<Self> {
        let digits = text.strip_prefix('#').filter(|d| d.len() == 6)?;
        let part = |i: usize| u8::from_str_radix(digits.get(i..i + 2)?, 16).ok();
        Some(Self(part(0)?, part(2)?, part(4)?))
    }

    /// Relative luminance, 0 (black) to 1 (white), as WCAG 2.2 defines it.
    pub fn luminance(self) -> f64 {
        let [r, g, b] = self.linear();
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    /// Contrast ratio of two colours, 1 to 21, as WCAG 2.2 defines it.
    ///
    /// ```
    /// use paper::Rgb;
    /// assert!((Rgb(0, 0, 0).contrast(Rgb(255, 255, 255)) - 21.0).abs() < 1e-9);
    /// ```
    pub fn contrast(self, other: Self) -> f64 {
        let (a, b) = (self.luminance(), other.luminance());
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    fn linear(self) -> [f64; 3] {
        [self.0, self.1, self.2].map(|v| {
            let v = f64::from(v) / 255.0;
            if v <= 0.04045 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            }
        })
    }

    fn to_oklab(self) -> [f64; 3] {
        let [r, g, b] = self.linear();
        let l = (0.412_221_470_8 * r + 0.536_332_536_3 * g + 0.051_445_992_9 * b).cbrt();
        let m = (0.211_903_498_2 * r + 0.680_699_545_1 * g + 0.107_396_956_6 * b).cbrt();
        let s = (0.088_302_461_9 * r + 0.281_718_837_6 * g + 0.629_978_700_5 * b).cbrt();
        [
            0.210_454_255_3 * l + 0.793_617_785 * m - 0.004_072_046_8 * s,
            1.977_998_495_1 * l - 2.428_592_205 * m + 0.450_593_709_9 * s,
            0.025_904_037_1 * l + 0.782_771_766_2 * m - 0.808_675_766 * s,
        ]
    }

    fn from_oklab([l, a, b]: [f64; 3]) -> Self {
        let x = (l + 0.396_337_777_4 * a + 0.215_803_757_3 * b).powi(3);
        let y = (l - 0.105_561_345_8 * a - 0.063_854_172_8 * b).powi(3);
        let z = (l - 0.089_484_177_5 * a - 1.291_485_548 * b).powi(3);
        let channel = |v: f64| {
            let v = v.clamp(0.0, 1.0);
            let v = if v <= 0.003_130_8 {
                12.92 * v
            } else {
                1.055 * v.powf(1.0 / 2.4) - 0.055
            };
            (v * 255.0).round() as u8
        };
        Self(
            channel(4.076_741_662_1 * x - 3.307_711_591_3 * y + 0.230_969_929_2 * z),
            channel(-1.268_438_004_6 * x + 2.609_757_401_1 * y - 0.341_319_396_5 * z),
            channel(-0.004_196_086_3 * x - 0.703_418_614_7 * y + 1.707_614_701 * z),
        )
    }
}

/// Which of our ramps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ramp {
    /// Dark brown, through amber, to pale: cold to hot.
    Temperature,
    /// Dry sand to deep blue-green: dry to wet.
    Moisture,
    /// Pale dough, golden, brown, dark: the colour of a crust from raw to overdone.
    Crust,
}

/// The colour difference from dough at which the crust's ramp ends, ΔE\*ab. Assumed: a dark brown crust.
pub const CRUST_DELTA_E: f64 = 60.0;

impl Ramp {
    /// Every ramp.
    pub const ALL: [Self; 3] = [Self::Temperature, Self::Moisture, Self::Crust];

    /// The anchors, evenly spaced from the low end to the high end.
    const fn anchors(self) -> [Rgb; 5] {
        match self {
            Self::Temperature => [
                Rgb(0x2e, 0x17, 0x10),
                Rgb(0x6b, 0x32, 0x16),
                Rgb(0xae, 0x5a, 0x17),
                Rgb(0xe3, 0x98, 0x37),
                Rgb(0xfb, 0xe8, 0xb8),
            ],
            Self::Moisture => [
                Rgb(0xee, 0xe0, 0xc0),
                Rgb(0xb5, 0xbe, 0x9f),
                Rgb(0x73, 0x97, 0x8a),
                Rgb(0x34, 0x68, 0x6f),
                Rgb(0x0d, 0x33, 0x45),
            ],
            // CIELAB (D65) of a pale dough (88, 2, 18) and of crusts 15, 30, 45 and 60 ΔE*ab from it, along the way
            // that crusts brown: darker, redder, then greyer. Assumed.
            Self::Crust => [
                Rgb(0xee, 0xda, 0xbb),
                Rgb(0xd2, 0xb2, 0x8d),
                Rgb(0xb2, 0x89, 0x65),
                Rgb(0x8b, 0x62, 0x43),
                Rgb(0x55, 0x3d, 0x30),
            ],
        }
    }

    /// The colour at `share` of the way, 0 to 1; values outside are held at the ends.
    pub fn colour(self, share: f64) -> Rgb {
        let anchors = self.anchors();
        let last = anchors.len() - 1;
        let place = share.clamp(0.0, 1.0) * last as f64;
        let i = (place.floor() as usize).min(last - 1);
        let t = place - i as f64;
        let (from, to) = (anchors[i].to_oklab(), anchors[i + 1].to_oklab());
        Rgb::from_oklab(std::array::from_fn(|k| from[k] + t * (to[k] - from[k])))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn luminance_never_turns_back_and_spans_enough_to_read_in_grey() {
        for ramp in Ramp::ALL {
            let light: Vec<f64> = (0..=255)
                .map(|i| ramp.colour(f64::from(i) / 255.0).luminance())
                .collect();
            let rising = light[255] > light[0];
            for pair in light.windows(2) {
                let (low, high) = if rising {
                    (pair[0], pair[1])
                } else {
                    (pair[1], pair[0])
                };
                assert!(high >= low, "{ramp:?} turns back");
            }
            let ends = ramp.colour(0.0).contrast(ramp.colour(1.0));
            assert!(ends > 7.0, "{ramp:?} spans only {ends:.1}");
        }
    }

    #[test]
    fn lightness_steps_are_even_to_the_eye() {
        for ramp in Ramp::ALL {
            let l: Vec<f64> = ramp.anchors().iter().map(|c| c.to_oklab()[0]).collect();
            let mean = (l[4] - l[0]) / 4.0;
            for pair in l.windows(2) {
                let step = (pair[1] - pair[0]) / mean;
                assert!((0.7..1.3).contains(&step), "{ramp:?} step {step:.2} {l:?}");
            }
        }
    }

    /// A place drawn in crust colours is as far from the dough to the eye as the figure says: ΔE*ab of CIE 15:2004
    /// (sRGB of IEC 61966-2-1, D65 white; from memory, to be confirmed).
    #[test]
    fn a_crust_is_as_far_from_its_dough_as_the_figure_says() {
        let lab = |colour: Rgb| {
            let [r, g, b] = colour.linear();
            let f = |t: f64| {
                if t > (6.0_f64 / 29.0).powi(3) {
                    t.cbrt()
                } else {
                    t / (3.0 * (6.0_f64 / 29.0).powi(2)) + 4.0 / 29.0
                }
            };
            let x = f((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.95047);
            let y = f(0.2126 * r + 0.7152 * g + 0.0722 * b);
            let z = f((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.08883);
            [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
        };
        let dough = lab(Ramp::Crust.colour(0.0));
        let mut before = f64::INFINITY;
        for i in 0..=12 {
            let share = f64::from(i) / 12.0;
            let crust = Ramp::Crust.colour(share);
            let far: f64 = lab(crust)
                .iter()
                .zip(dough)
                .map(|(a, b)| (a - b).powi(2))
                .sum();
            let (far, said) = (far.sqrt(), share * CRUST_DELTA_E);
            assert!((far - said).abs() < 2.0, "{said}: drawn {far:.1}");
            assert!(crust.luminance() < before, "browner is darker");
            before = crust.luminance();
        }
    }

    #[test]
    fn anchors_come_back_from_the_round_trip() {
        for ramp in Ramp::ALL {
            for (i, anchor) in ramp.anchors().into_iter().enumerate() {
                assert_eq!(ramp.colour(i as f64 / 4.0), anchor);
            }
        }
    }
}
