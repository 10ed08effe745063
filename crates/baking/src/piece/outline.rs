//! Shapes seen from above, with exact area and perimeter.

use super::path::ClosedPath;
use measure::{Apart, Range, Units};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// The shape of a piece seen from above.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Outline {
    /// A disc.
    Round {
        /// Diameter \[m\].
        diameter_m: f64,
    },
    /// A rectangle with rounded corners.
    Bar {
        /// Length along the band \[m\].
        length_m: f64,
        /// Width \[m\].
        width_m: f64,
        /// Radius of the corners \[m\].
        corner_radius_m: f64,
    },
    /// A bone-like shape: a straight neck between four round lobes.
    Bone {
        /// Length over the lobes \[m\].
        length_m: f64,
        /// Width over the lobes \[m\].
        width_m: f64,
        /// Width of the neck \[m\].
        neck_m: f64,
        /// Radius of each lobe \[m\].
        lobe_radius_m: f64,
    },
    /// Any closed line: a polygon, or a path drawn elsewhere.
    Path(ClosedPath),
}

/// Why an outline can't be drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct OutlineError {
    /// The shape.
    pub shape: &'static str,
    /// Which measure.
    pub field: OutlineMeasure,
    /// What was given \[mm\].
    pub value_mm: f64,
    /// Smallest allowed \[mm\].
    pub low_mm: f64,
    /// Largest allowed \[mm\].
    pub high_mm: f64,
}

impl Apart for OutlineError {
    fn apart(&self, units: Units) -> (String, String) {
        let Self {
            shape,
            field,
            value_mm,
            low_mm,
            high_mm,
        } = self;
        (
            format!(
                "{} of the {shape} is {value_mm} mm{}",
                field.word(),
                units.also(&[*value_mm], "mm")
            ),
            format!(
                "it must lie within {low_mm:.2} to {high_mm:.2} mm{}",
                units.also(&[*low_mm, *high_mm], "mm")
            ),
        )
    }
}

measure::error_apart!(OutlineError);

/// A measure of an outline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OutlineMeasure {
    /// Of a disc.
    Diameter,
    /// Along the band.
    Length,
    /// Across the band.
    Width,
    /// Of a bar.
    CornerRadius,
    /// Of a bone.
    NeckWidth,
    /// Of a bone.
    LobeRadius,
}

impl OutlineMeasure {
    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Diameter => "diameter",
            Self::Length => "length",
            Self::Width => "width",
            Self::CornerRadius => "corner radius",
            Self::NeckWidth => "neck width",
            Self::LobeRadius => "lobe radius",
        }
    }
}

/// How long and wide a piece may be \[m\].
pub const EXTENT_M: Range = Range::new(0.004, 0.5);

impl Outline {
    /// The word shown to people.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Round { .. } => "round",
            Self::Bar { .. } => "bar",
            Self::Bone { .. } => "bone",
            Self::Path(path) => path.word(),
        }
    }

    /// Looks at every measure.
    ///
    /// # Errors
    /// The first one that can't be drawn, with what is allowed.
    pub fn check(&self) -> Result<(), OutlineError> {
        let shape = self.word();
        let within = |field, value: f64, low: f64, high: f64| {
            // A hair of room, so that 15 mm is half of 30 mm in any arithmetic.
            let slack = 1e-9;
            if value >= low - slack && value <= high + slack {
                Ok(())
            } else {
                Err(OutlineError {
                    shape,
                    field,
                    value_mm: value * 1e3,
                    low_mm: low * 1e3,
                    high_mm: high * 1e3,
                })
            }
        };
        let Range { low, high } = EXTENT_M;
        match *self {
            Self::Path(ref path) => {
                let (length_m, width_m) = path.extent_m();
                within(OutlineMeasure::Length, length_m, low, high)?;
                within(OutlineMeasure::Width, width_m, low, high)
            }
            Self::Round { diameter_m } => within(OutlineMeasure::Diameter, diameter_m, low, high),
            Self::Bar {
                length_m,
                width_m,
                corner_radius_m,
            } => {
                within(OutlineMeasure::Length, length_m, low, high)?;
                within(OutlineMeasure::Width, width_m, low, high)?;
                within(
                    OutlineMeasure::CornerRadius,
                    corner_radius_m,
                    0.0,
                    0.5 * length_m.min(width_m),
                )
            }
            Self::Bone {
                length_m,
                width_m,
                neck_m,
                lobe_radius_m,
            } => {
                within(OutlineMeasure::Length, length_m, low, high)?;
                within(OutlineMeasure::Width, width_m, low, high)?;
                // Lobes of one end touch, stay inside the width, and don't reach across the middle.
                within(
                    OutlineMeasure::LobeRadius,
                    lobe_radius_m,
                    0.25 * width_m,
                    (0.5 * width_m).min(0.25 * length_m),
                )?;
                within(OutlineMeasure::NeckWidth, neck_m, 0.1 * width_m, width_m)
            }
        }
    }

    /// Length along the band and width across it \[m\].
    ///
    /// - Rule: the box that holds the outline, its sides along and across the band
    /// - Units: lengths \[m\]
    /// - Valid: any outline
    /// - Source: geometry
    ///
    /// ```
    /// use baking::piece::Outline;
    /// let bone = Outline::Bone { length_m: 0.06, width_m: 0.03, neck_m: 0.015, lobe_radius_m: 0.009 };
    /// assert_eq!(bone.extent_m(), (0.06, 0.03));
    /// ```
    pub fn extent_m(&self) -> (f64, f64) {
        match *self {
            Self::Path(ref path) => path.extent_m(),
            Self::Round { diameter_m } => (diameter_m, diameter_m),
            Self::Bar {
                length_m, width_m, ..
            }
            | Self::Bone {
                length_m, width_m, ..
            } => (length_m, width_m),
        }
    }

    /// Area \[m²\].
    ///
    /// - Equation: disc π d²/4; bar l w − (4 − π) r²; bone by arcs and lines; path by its curves
    /// - Units: lengths \[m\], A \[m²\]
    /// - Valid: outlines that pass their check
    /// - Source: geometry, worked out in the example
    ///
    /// ```
    /// use baking::piece::Outline;
    /// let bar = Outline::Bar { length_m: 0.06, width_m: 0.03, corner_radius_m: 0.003 };
    /// assert!((bar.area_m2() * 1e6 - (1800.0 - (4.0 - std::f64::consts::PI) * 9.0)).abs() < 1e-9);
    /// ```
    pub fn area_m2(&self) -> f64 {
        match *self {
            Self::Path(ref path) => path.area_m2(),
            Self::Round { diameter_m } => PI / 4.0 * diameter_m * diameter_m,
            Self::Bar {
                length_m,
                width_m,
                corner_radius_m: r,
            } => length_m * width_m - (4.0 - PI) * r * r,
            Self::Bone { .. } => 4.0 * self.bone_quarter().area_m2,
        }
    }

    /// Perimeter \[m\].
    ///
    /// - Equation: disc π d; bar 2 (l + w) − (8 − 2 π) r; bone and path by their lines
    /// - Units: lengths \[m\]
    /// - Valid: outlines that pass their check
    /// - Source: geometry: four straight sides and a whole circle
    ///
    /// ```
    /// use baking::piece::Outline;
    /// let bar = Outline::Bar { length_m: 0.06, width_m: 0.03, corner_radius_m: 0.003 };
    /// let wanted = 2.0 * (0.054 + 0.024) + 2.0 * std::f64::consts::PI * 0.003;
    /// assert!((bar.perimeter_m() - wanted).abs() < 1e-15);
    /// ```
    pub fn perimeter_m(&self) -> f64 {
        match *self {
            Self::Path(ref path) => path.perimeter_m(),
            Self::Round { diameter_m } => PI * diameter_m,
            Self::Bar {
                length_m,
                width_m,
                corner_radius_m: r,
            } => 2.0 * (length_m + width_m) - (8.0 - 2.0 * PI) * r,
            Self::Bone { .. } => 4.0 * self.bone_quarter().edge_m,
        }
    }

    /// The outline as a polygon \[m\], counter-clockwise, x along the band, y across it, the middle of the
    /// extent at (0, 0). Its corners lie on the outline, its sides within `tolerance_m` of it.
    ///
    /// - Rule: arcs are cut into chords whose sagitta is below the tolerance
    /// - Units: tolerance and places \[m\]
    /// - Valid: a tolerance above 1e-9 m
    /// - Source: geometry: corners of a disc lie on its circle
    ///
    /// ```
    /// use baking::piece::Outline;
    /// let disc = Outline::Round { diameter_m: 0.05 };
    /// let ring = disc.polygon(1e-5);
    /// assert!((40..200).contains(&ring.len()));
    /// assert!(ring.iter().all(|(x, y)| (x.hypot(*y) - 0.025).abs() < 1e-12));
    /// ```
    pub fn polygon(&self, tolerance_m: f64) -> Vec<(f64, f64)> {
        let tolerance_m = tolerance_m.max(1e-9);
        let mut points = Vec::new();
        match *self {
            Self::Path(ref path) => return path.polygon(tolerance_m),
            Self::Round { diameter_m } => {
                arc(
                    &mut points,
                    (0.0, 0.0),
                    0.5 * diameter_m,
                    (0.0, 2.0 * PI),
                    tolerance_m,
                );
            }
            Self::Bar {
                length_m,
                width_m,
                corner_radius_m: r,
            } => {
                let (x, y) = (0.5 * length_m - r, 0.5 * width_m - r);
                for (i, middle) in [(x, y), (-x, y), (-x, -y), (x, -y)].into_iter().enumerate() {
                    let from = 0.5 * PI * i as f64;
                    arc(&mut points, middle, r, (from, from + 0.5 * PI), tolerance_m);
                }
            }
            Self::Bone {
                length_m,
                width_m,
                neck_m,
                lobe_radius_m: r,
            } => {
                let (x, y) = (0.5 * length_m - r, 0.5 * width_m - r);
                // Where the lobe meets the long axis of its end, and where it meets the neck.
                let axis = (-y / r).clamp(-1.0, 1.0).asin();
                let neck = PI - ((0.5 * neck_m - y) / r).clamp(-1.0, 1.0).asin();
                arc(&mut points, (x, y), r, (axis, neck), tolerance_m);
                arc(&mut points, (-x, y), r, (PI - neck, PI - axis), tolerance_m);
                arc(
                    &mut points,
                    (-x, -y),
                    r,
                    (PI + axis, PI + neck),
                    tolerance_m,
                );
                arc(
                    &mut points,
                    (x, -y),
                    r,
                    (2.0 * PI - neck, 2.0 * PI - axis),
                    tolerance_m,
                );
            }
        }
        super::path::without_doubles(points)
    }

    /// A quarter of the bone: the lobe's part above the long axis and the neck's part beside it.
    fn bone_quarter(&self) -> Quarter {
        let Self::Bone {
            length_m,
            width_m,
            neck_m,
            lobe_radius_m: r,
        } = *self
        else {
            return Quarter {
                area_m2: 0.0,
                edge_m: 0.0,
            };
        };
        let (lobe_x, lobe_y) = (0.5 * length_m - r, 0.5 * width_m - r);
        // Heights of the long axis and of the neck's edge, seen from the lobe's centre.
        let axis = -lobe_y;
        let neck = (0.5 * neck_m - lobe_y).min(r);
        // Area of the right half of a circle below a height h: ∫√(r² − y²) dy from −r.
        let half_below = |h: f64| {
            0.5 * (h * (r * r - h * h).max(0.0).sqrt()
                + r * r * ((h / r).clamp(-1.0, 1.0).asin() + PI / 2.0))
        };
        let lobe = PI * r * r - 2.0 * half_below(axis);
        let shared = half_below(neck) - half_below(axis);
        let reach = (r * r - neck * neck).max(0.0).sqrt();
        let angle = |h: f64| (h / r).clamp(-1.0, 1.0).asin();
        Quarter {
            area_m2: lobe + lobe_x * 0.5 * neck_m.min(width_m) - shared,
            edge_m: r * (PI - angle(neck) - angle(axis)) + lobe_x - reach,
        }
    }
}

/// Points of an arc about a middle, from one angle to another, its chords within the tolerance.
fn arc(
    points: &mut Vec<(f64, f64)>,
    middle: (f64, f64),
    r: f64,
    (from, to): (f64, f64),
    tolerance_m: f64,
) {
    let step = 2.0 * (1.0 - (tolerance_m / r.max(1e-12)).min(0.5)).acos();
    let n = (((to - from) / step).ceil() as usize).clamp(1, 100_000);
    points.extend((0..=n).map(|i| {
        let (sin, cos) = (from + (to - from) * i as f64 / n as f64).sin_cos();
        (r.mul_add(cos, middle.0), r.mul_add(sin, middle.1))
    }));
}

struct Quarter {
    area_m2: f64,
    edge_m: f64,
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const BONE: Outline = Outline::Bone {
        length_m: 0.060,
        width_m: 0.030,
        neck_m: 0.012,
        lobe_radius_m: 0.0108,
    };

    /// Polygons against the formulas for area and perimeter.
    #[test]
    fn polygons_have_the_area_and_perimeter_of_their_outlines() {
        let bar = |corner_radius_m| Outline::Bar {
            length_m: 0.06,
            width_m: 0.03,
            corner_radius_m,
        };
        for outline in [
            Outline::Round { diameter_m: 0.05 },
            bar(0.0),
            bar(0.004),
            bar(0.015),
            BONE,
        ] {
            let ring = outline.polygon(1e-7);
            let next = ring.iter().cycle().skip(1);
            let (mut area, mut edge) = (0.0, 0.0);
            for (a, b) in ring.iter().zip(next) {
                area += 0.5 * (a.0 * b.1 - b.0 * a.1);
                edge += (b.0 - a.0).hypot(b.1 - a.1);
            }
            assert!(
                (area / outline.area_m2() - 1.0).abs() < 3e-5,
                "{outline:?} {area}"
            );
            assert!(
                (edge / outline.perimeter_m() - 1.0).abs() < 3e-5,
                "{outline:?} {edge}"
            );
        }
    }

    #[test]
    fn disc_and_bar_are_exact() {
        let disc = Outline::Round { diameter_m: 0.05 };
        assert!((disc.area_m2() - PI * 0.025 * 0.025).abs() < 1e-18);
        assert!((disc.perimeter_m() - PI * 0.05).abs() < 1e-16);
        let bar = Outline::Bar {
            length_m: 0.06,
            width_m: 0.03,
            corner_radius_m: 0.0,
        };
        assert!((bar.area_m2() - 0.0018).abs() < 1e-16 && (bar.perimeter_m() - 0.18).abs() < 1e-15);
        // A bar with fully round corners and equal sides is a disc.
        let round = Outline::Bar {
            length_m: 0.05,
            width_m: 0.05,
            corner_radius_m: 0.025,
        };
        assert!((round.area_m2() - disc.area_m2()).abs() < 1e-15);
        assert!((round.perimeter_m() - disc.perimeter_m()).abs() < 1e-15);
    }

    /// The formulas against counting points and against walking along the edge.
    #[test]
    fn bone_against_counting() {
        let Outline::Bone {
            length_m,
            width_m,
            neck_m,
            lobe_radius_m: r,
        } = BONE
        else {
            panic!("bone")
        };
        let (cx, cy) = (0.5 * length_m - r, 0.5 * width_m - r);
        let inside = |x: f64, y: f64| {
            let (x, y) = (x.abs(), y.abs());
            (x <= cx && y <= 0.5 * neck_m) || (x - cx).hypot(y - cy) <= r
        };
        let n = 1500;
        let mut hits = 0u32;
        for i in 0..n {
            for j in 0..n {
                let x = length_m * ((f64::from(i) + 0.5) / f64::from(n) - 0.5);
                let y = width_m * ((f64::from(j) + 0.5) / f64::from(n) - 0.5);
                hits += u32::from(inside(x, y));
            }
        }
        let counted = f64::from(hits) / f64::from(n * n) * length_m * width_m;
        assert!(
            (BONE.area_m2() / counted - 1.0).abs() < 5e-4,
            "{} {counted}",
            BONE.area_m2()
        );
        // With the neck as wide as the lobes it is a stadium, known exactly.
        let ring = Outline::Bone {
            length_m: 0.06,
            width_m: 0.03,
            neck_m: 0.03,
            lobe_radius_m: 0.015,
        };
        let stadium = (0.03 * 0.03 + PI * 0.015 * 0.015, 2.0 * 0.03 + PI * 0.03);
        assert!((ring.area_m2() - stadium.0).abs() < 1e-12);
        assert!((ring.perimeter_m() - stadium.1).abs() < 1e-9);
    }

    /// The outline that the solid bake's reference runs have: 1293 mm² and 180 mm at 60 × 30 mm.
    #[test]
    fn bone_of_the_reference_runs() {
        assert!(
            (BONE.area_m2() * 1e6 - 1293.0).abs() < 1.0,
            "{}",
            BONE.area_m2()
        );
        assert!(
            (BONE.perimeter_m() * 1e3 - 180.0).abs() < 0.3,
            "{}",
            BONE.perimeter_m()
        );
    }

    proptest! {
        /// Inside its extent, never rounder than a circle, and continuous with a hair more neck.
        #[test]
        fn every_bone_is_a_shape(
            length_m in 0.02f64..0.2, slim in 0.2f64..0.9, neck in 0.1f64..1.0, lobe in 0.0f64..1.0,
        ) {
            let width_m = slim * length_m;
            let (least, most) = (0.25 * width_m, (0.5 * width_m).min(0.25 * length_m));
            let lobe_radius_m = least + lobe * (most - least);
            let bone = |neck_m| Outline::Bone { length_m, width_m, neck_m, lobe_radius_m };
            let one = bone(neck * width_m);
            prop_assume!(one.check().is_ok());
            let (area, perimeter) = (one.area_m2(), one.perimeter_m());
            prop_assert!(area > 0.0 && area <= length_m * width_m * (1.0 + 1e-12));
            prop_assert!(perimeter * perimeter >= 4.0 * PI * area * (1.0 - 1e-12));
            let wider = bone(neck * width_m * (1.0 - 1e-6));
            prop_assert!(wider.area_m2() <= area && (wider.area_m2() / area - 1.0).abs() < 1e-5);
        }
    }

    #[test]
    fn what_cannot_be_drawn_is_named() {
        let wrong = Outline::Bar {
            length_m: 0.06,
            width_m: 0.03,
            corner_radius_m: 0.02,
        };
        assert_eq!(
            wrong.check().unwrap_err().to_string(),
            "corner radius of the bar is 20 mm; it must lie within 0.00 to 15.00 mm"
        );
        assert!(BONE.check().is_ok());
        assert!(
            Outline::Round {
                diameter_m: f64::NAN
            }
            .check()
            .is_err()
        );
    }
}
