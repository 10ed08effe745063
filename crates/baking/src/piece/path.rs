//! A closed line of any shape: a polygon, or a path in the text form of SVG with its scale.

use kurbo::{Affine, BezPath, ParamCurve, ParamCurveArclen, PathEl, PathSeg, Point, Shape, Vec2};
use measure::{Apart, Units};
use serde::{Deserialize, Serialize};
use svgtypes::{PathParser, PathSegment};

/// A closed line that doesn't cross itself, laid with the middle of its extent at (0, 0).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Written", into = "Written")]
pub struct ClosedPath {
    written: Written,
    /// In metres, counter-clockwise, x along the band, y upwards on paper.
    curve: BezPath,
}

/// What a closed path is made from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Written {
    Polygon(Vec<(f64, f64)>),
    Svg { text: String, metres_per_unit: f64 },
}

/// Why a line can't be an outline; places in the line's own units where it was drawn, else in mm.
#[derive(Clone, Debug, PartialEq)]
pub enum PathError {
    /// The text isn't path data.
    Text {
        /// Which character, counted from 1.
        at: usize,
        /// What stands there.
        near: String,
    },
    /// More curves than one.
    Several {
        /// How many.
        count: usize,
        /// Where the second begins.
        x: f64,
        /// Where the second begins.
        y: f64,
    },
    /// It doesn't close.
    Open {
        /// Where it begins.
        from: (f64, f64),
        /// Where it ends.
        to: (f64, f64),
    },
    /// It crosses or touches itself.
    Crossing {
        /// Where.
        x: f64,
        /// Where.
        y: f64,
    },
    /// Too few points, or all in a line.
    Empty,
    /// A number that isn't one.
    Number {
        /// Which point, counted from 1.
        number: usize,
    },
    /// Too many points to be a cutter's edge.
    Long {
        /// How many.
        count: usize,
        /// How many may be.
        most: usize,
    },
    /// A number far beyond any drawing.
    Far {
        /// The number, in the path's units.
        number: f64,
    },
    /// A scale that isn't one.
    Scale {
        /// What was given \[mm\].
        mm: f64,
    },
}

impl Apart for PathError {
    fn apart(&self, _: Units) -> (String, String) {
        match self {
            Self::Text { at, near } => (
                format!("the path can't be read at character {at} (\"{near}\")"),
                "it wants SVG path data such as M 0 0 L 60 0 L 30 40 Z".to_owned(),
            ),
            Self::Several { count, x, y } => (
                format!("the path holds {count} separate curves, the second from ({x}, {y})"),
                "a piece has one outline, and holes are written as docker holes".to_owned(),
            ),
            Self::Open { from, to } => (
                format!(
                    "the path is open: it begins at ({}, {}) and ends at ({}, {})",
                    from.0, from.1, to.0, to.1
                ),
                "close it with Z".to_owned(),
            ),
            Self::Crossing { x, y } => (
                format!("the outline crosses or touches itself near ({x:.3}, {y:.3})"),
                "move the points there apart".to_owned(),
            ),
            Self::Empty => (
                "the outline encloses nothing".to_owned(),
                "it wants at least three points that are not in a line".to_owned(),
            ),
            Self::Number { number } => (
                format!("point {number} of the outline isn't a pair of finite numbers"),
                "write x,y in mm".to_owned(),
            ),
            Self::Long { count, most } => (
                format!("the outline has {count} pieces of line"),
                format!("at most {most} are taken; simplify the drawing"),
            ),
            Self::Far { number } => (
                format!("the path holds the number {number:e}"),
                "numbers of a path are at most 1e9 of its units".to_owned(),
            ),
            Self::Scale { mm } => (
                format!("one unit of the drawing is {mm} mm"),
                "it must lie within 0.0001 to 1000 mm".to_owned(),
            ),
        }
    }
}

measure::error_apart!(PathError);

/// Most pieces of line in an outline.
pub const MOST_SEGMENTS: usize = 2000;
/// Numbers of a path are at most this many of its units: sums and products of them stay finite, and a piece of 0.5 m
/// in the smallest unit has 5e6.
///
/// - Units: units of the path \[1\]
/// - Source: a limit on input, chosen here
const MOST_UNITS: f64 = 1e9;
/// Sides of the polygon on which crossings are looked for stay this close, as a share of the extent.
///
/// - Units: \[1\]
/// - Source: a numerical tolerance, chosen here
const CROSSING_SHARE: f64 = 2e-4;

impl ClosedPath {
    /// A polygon through corners \[m\], in order; the last joins the first.
    ///
    /// - Rule: straight sides from corner to corner, the last joined to the first
    /// - Units: corners \[m\]
    /// - Valid: three corners or more, sides that don't cross, coordinates under 1 km
    /// - Source: geometry: an isosceles triangle of 6 and 4 cm, sides of 5 cm
    ///
    /// ```
    /// use baking::piece::ClosedPath;
    /// let triangle = ClosedPath::through(&[(0.0, 0.0), (0.06, 0.0), (0.03, 0.04)])?;
    /// assert!((triangle.area_m2() - 0.0012).abs() < 1e-15);
    /// assert!((triangle.perimeter_m() - 0.16).abs() < 1e-12);
    /// # Ok::<(), baking::piece::PathError>(())
    /// ```
    ///
    /// # Errors
    /// Fewer than three corners, no area, or sides that cross, with the place in mm.
    pub fn through(corners_m: &[(f64, f64)]) -> Result<Self, PathError> {
        for (i, (x, y)) in corners_m.iter().enumerate() {
            if !(x.abs() < 1e3 && y.abs() < 1e3) {
                return Err(PathError::Number { number: i + 1 });
            }
        }
        let corners = without_doubles(corners_m.to_vec());
        let mut curve = BezPath::new();
        for (i, &(x, y)) in corners.iter().enumerate() {
            if i == 0 {
                curve.move_to((x, y));
            } else {
                curve.line_to((x, y));
            }
        }
        curve.close_path();
        // Places are told in mm.
        Self::checked(Written::Polygon(corners_m.to_vec()), curve, 1.0, 1e-3, 1.0)
    }

    /// A path in the text form of SVG (the `d` of a path), whose unit is `metres_per_unit` \[m\] long; y points
    /// down in it, as on a screen.
    ///
    /// - Rule: path data of SVG, every coordinate times the unit
    /// - Units: unit \[m\]
    /// - Valid: one closed line that doesn't cross itself, units of 1e-7 to 1 m
    /// - Source: the open standard Scalable Vector Graphics, paths; the example is a circle
    ///
    /// ```
    /// use baking::piece::ClosedPath;
    /// // Two half circles of 50 mm, one unit 1 mm: area π/4 · 50².
    /// let disc = ClosedPath::from_svg("M0 25 a25 25 0 1 1 50 0 a25 25 0 1 1 -50 0z", 1e-3)?;
    /// assert!((disc.area_m2() * 1e6 - 1963.4954).abs() < 1e-3);
    /// let open = ClosedPath::from_svg("M0 0 L10 0 L10 10", 1e-3).unwrap_err();
    /// assert!(open.to_string().starts_with("the path is open: it begins at (0, 0) and ends at (10, 10)"));
    /// # Ok::<(), baking::piece::PathError>(())
    /// ```
    ///
    /// # Errors
    /// Text that isn't path data, an open or self-crossing line or several, with the place.
    pub fn from_svg(text: &str, metres_per_unit: f64) -> Result<Self, PathError> {
        if !(1e-7..=1.0).contains(&metres_per_unit) {
            return Err(PathError::Scale {
                mm: metres_per_unit * 1e3,
            });
        }
        let curve = read(text)?;
        let written = Written::Svg {
            text: text.to_owned(),
            metres_per_unit,
        };
        Self::checked(written, curve, metres_per_unit, 1.0, -1.0)
    }

    /// `scale` takes the curve to metres, `told` divides a place before it is told, `up` is −1 where y points down.
    fn checked(
        written: Written,
        curve: BezPath,
        scale: f64,
        told: f64,
        up: f64,
    ) -> Result<Self, PathError> {
        let count = curve.segments().count();
        if count > MOST_SEGMENTS {
            return Err(PathError::Long {
                count,
                most: MOST_SEGMENTS,
            });
        }
        let bounds = curve.bounding_box();
        let extent = bounds.width().max(bounds.height());
        let sides = flat(&curve, CROSSING_SHARE * extent);
        if sides.len() < 3 || !extent.is_finite() {
            return Err(PathError::Empty);
        }
        if let Some((x, y)) = crossing(&sides) {
            return Err(PathError::Crossing {
                x: x / told,
                y: y / told,
            });
        }
        if curve.area().abs() <= 1e-9 * extent * extent {
            return Err(PathError::Empty);
        }
        let middle = bounds.center().to_vec2();
        let mut curve =
            Affine::scale_non_uniform(scale, up * scale) * (Affine::translate(-middle) * curve);
        if curve.area() < 0.0 {
            curve = curve.reverse_subpaths();
        }
        Ok(Self { written, curve })
    }

    /// The word shown to people.
    pub const fn word(&self) -> &'static str {
        match self.written {
            Written::Polygon(_) => "polygon",
            Written::Svg { .. } => "path",
        }
    }

    /// Length along the band and width across it \[m\].
    pub(crate) fn extent_m(&self) -> (f64, f64) {
        let bounds = self.curve.bounding_box();
        (bounds.width(), bounds.height())
    }

    /// Area \[m²\], exact for straight lines and Bézier curves (arcs are drawn by such to a ten-millionth of their radius).
    ///
    /// - Equation: A = ½ ∮(x dy − y dx)
    /// - Units: A \[m²\]
    /// - Valid: any path that was taken
    /// - Source: Green's theorem; half base times height in the example
    ///
    /// ```
    /// use baking::piece::ClosedPath;
    /// let triangle = ClosedPath::through(&[(0.0, 0.0), (0.06, 0.0), (0.03, 0.04)])?;
    /// assert!((triangle.area_m2() - 0.5 * 0.06 * 0.04).abs() < 1e-15);
    /// # Ok::<(), baking::piece::PathError>(())
    /// ```
    pub fn area_m2(&self) -> f64 {
        self.curve.area()
    }

    /// Perimeter \[m\], to 1e-9 m a piece of line.
    ///
    /// - Equation: Σ lengths of its pieces of line
    /// - Units: length \[m\]
    /// - Valid: any path that was taken
    /// - Source: geometry: 3-4-5 triangles in the example
    ///
    /// ```
    /// use baking::piece::ClosedPath;
    /// let triangle = ClosedPath::through(&[(0.0, 0.0), (0.06, 0.0), (0.03, 0.04)])?;
    /// assert!((triangle.perimeter_m() - (0.06 + 0.05 + 0.05)).abs() < 1e-12);
    /// # Ok::<(), baking::piece::PathError>(())
    /// ```
    pub fn perimeter_m(&self) -> f64 {
        self.curve.segments().map(|s| s.arclen(1e-9)).sum()
    }

    /// The line as a polygon \[m\], counter-clockwise, its sides within `tolerance_m` of it.
    ///
    /// - Rule: curves are cut into chords within the tolerance
    /// - Units: tolerance and places \[m\]
    /// - Valid: a tolerance above 1e-9 m
    /// - Source: geometry: a triangle is its own polygon
    ///
    /// ```
    /// use baking::piece::ClosedPath;
    /// let triangle = ClosedPath::through(&[(0.0, 0.0), (0.06, 0.0), (0.03, 0.04)])?;
    /// assert_eq!(triangle.polygon(1e-5).len(), 3);
    /// # Ok::<(), baking::piece::PathError>(())
    /// ```
    pub fn polygon(&self, tolerance_m: f64) -> Vec<(f64, f64)> {
        flat(&self.curve, tolerance_m)
    }
}

impl TryFrom<Written> for ClosedPath {
    type Error = PathError;
    fn try_from(written: Written) -> Result<Self, PathError> {
        match written {
            Written::Polygon(corners) => Self::through(&corners),
            Written::Svg {
                text,
                metres_per_unit,
            } => Self::from_svg(&text, metres_per_unit),
        }
    }
}

impl From<ClosedPath> for Written {
    fn from(path: ClosedPath) -> Self {
        path.written
    }
}

/// Points without those that repeat the one before, the first and last taken together.
pub(super) fn without_doubles(mut points: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    let same = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1) < 1e-10;
    points.dedup_by(|a, b| same(*a, *b));
    while points.len() > 1 && same(points[0], points[points.len() - 1]) {
        points.pop();
    }
    points
}

/// Arcs of ellipses are drawn by Bézier curves this close, as a share of the larger radius.
///
/// - Units: \[1\]
/// - Source: a numerical tolerance, chosen here
const ARC_SHARE: f64 = 1e-7;

fn read(text: &str) -> Result<BezPath, PathError> {
    let mut curve = BezPath::new();
    let mut starts: Vec<Point> = Vec::new();
    let (mut here, mut closed) = (Point::ZERO, false);
    // The last control point, which a smooth curve reflects: of a cubic, of a quadratic.
    let mut last: (Option<Point>, Option<Point>) = (None, None);
    for segment in PathParser::from(text) {
        let segment = segment.map_err(|_| unreadable(text))?;
        if let Some(number) = numbers(&segment)
            .into_iter()
            .find(|n| n.is_nan() || n.abs() > MOST_UNITS)
        {
            return Err(PathError::Far { number });
        }
        let origin = if segment.is_abs() {
            Vec2::ZERO
        } else {
            here.to_vec2()
        };
        let at = |x: f64, y: f64| Point::new(x, y) + origin;
        let reflected = |control: Option<Point>| control.map_or(here, |c| here + (here - c));
        let mut control = (None, None);
        if closed
            && !matches!(
                segment,
                PathSegment::MoveTo { .. } | PathSegment::ClosePath { .. }
            )
        {
            // What follows a Z without a move begins where the curve began.
            starts.push(here);
            curve.move_to(here);
        }
        match segment {
            PathSegment::MoveTo { x, y, .. } => {
                here = at(x, y);
                // A move that draws nothing leaves no curve.
                if curve
                    .elements()
                    .last()
                    .is_some_and(|e| matches!(e, PathEl::MoveTo(_)))
                {
                    curve.pop();
                    starts.pop();
                }
                starts.push(here);
                curve.move_to(here);
            }
            PathSegment::LineTo { x, y, .. } => {
                here = at(x, y);
                curve.line_to(here);
            }
            PathSegment::HorizontalLineTo { x, .. } => {
                here.x = x + origin.x;
                curve.line_to(here);
            }
            PathSegment::VerticalLineTo { y, .. } => {
                here.y = y + origin.y;
                curve.line_to(here);
            }
            PathSegment::CurveTo {
                x1,
                y1,
                x2,
                y2,
                x,
                y,
                ..
            } => {
                let second = at(x2, y2);
                curve.curve_to(at(x1, y1), second, at(x, y));
                here = at(x, y);
                control.0 = Some(second);
            }
            PathSegment::SmoothCurveTo { x2, y2, x, y, .. } => {
                let second = at(x2, y2);
                curve.curve_to(reflected(last.0), second, at(x, y));
                here = at(x, y);
                control.0 = Some(second);
            }
            PathSegment::Quadratic { x1, y1, x, y, .. } => {
                curve.quad_to(at(x1, y1), at(x, y));
                control.1 = Some(at(x1, y1));
                here = at(x, y);
            }
            PathSegment::SmoothQuadratic { x, y, .. } => {
                let middle = reflected(last.1);
                curve.quad_to(middle, at(x, y));
                control.1 = Some(middle);
                here = at(x, y);
            }
            PathSegment::EllipticalArc {
                rx,
                ry,
                x_axis_rotation,
                large_arc,
                sweep,
                x,
                y,
                ..
            } => {
                let to = at(x, y);
                let arc = kurbo::Arc::from_svg_arc(&kurbo::SvgArc {
                    from: here,
                    to,
                    radii: Vec2::new(rx, ry),
                    x_rotation: x_axis_rotation.to_radians(),
                    large_arc,
                    sweep,
                });
                match arc {
                    Some(arc) => {
                        let tolerance = ARC_SHARE * arc.radii.x.max(arc.radii.y);
                        arc.to_cubic_beziers(tolerance, |a, b, c| curve.curve_to(a, b, c));
                    }
                    None => curve.line_to(to),
                }
                here = to;
            }
            PathSegment::ClosePath { .. } => {
                curve.close_path();
                here = starts.last().copied().unwrap_or_default();
            }
        }
        closed = matches!(segment, PathSegment::ClosePath { .. });
        last = control;
    }
    if curve
        .elements()
        .last()
        .is_some_and(|e| matches!(e, PathEl::MoveTo(_)))
    {
        curve.pop();
        starts.pop();
    }
    let Some(&first) = starts.first() else {
        return Err(PathError::Empty);
    };
    if let Some(second) = starts.get(1) {
        return Err(PathError::Several {
            count: starts.len(),
            x: second.x,
            y: second.y,
        });
    }
    if !closed {
        let size = curve.bounding_box();
        if here.distance(first) > 1e-6 * size.width().max(size.height()) {
            return Err(PathError::Open {
                from: (first.x, first.y),
                to: (here.x, here.y),
            });
        }
        curve.close_path();
    }
    if !curve.is_finite() {
        return Err(unreadable(text));
    }
    Ok(curve)
}

/// Every length and place that a segment tells.
fn numbers(segment: &PathSegment) -> Vec<f64> {
    match *segment {
        PathSegment::MoveTo { x, y, .. }
        | PathSegment::LineTo { x, y, .. }
        | PathSegment::SmoothQuadratic { x, y, .. } => vec![x, y],
        PathSegment::HorizontalLineTo { x, .. } => vec![x],
        PathSegment::VerticalLineTo { y, .. } => vec![y],
        PathSegment::CurveTo {
            x1,
            y1,
            x2,
            y2,
            x,
            y,
            ..
        } => vec![x1, y1, x2, y2, x, y],
        PathSegment::SmoothCurveTo { x2, y2, x, y, .. } => vec![x2, y2, x, y],
        PathSegment::Quadratic { x1, y1, x, y, .. } => vec![x1, y1, x, y],
        PathSegment::EllipticalArc {
            rx,
            ry,
            x_axis_rotation,
            x,
            y,
            ..
        } => vec![rx, ry, x_axis_rotation, x, y],
        PathSegment::ClosePath { .. } => Vec::new(),
    }
}

/// The place of the first character that the path parser can't take.
fn unreadable(text: &str) -> PathError {
    let mut parser = PathParser::from(text);
    let error = parser.find_map(Result::err);
    let at = match error {
        Some(
            svgtypes::Error::UnexpectedData(at)
            | svgtypes::Error::InvalidNumber(at)
            | svgtypes::Error::InvalidChar(_, at)
            | svgtypes::Error::InvalidString(_, at),
        ) => at.max(1),
        _ => text.chars().count().max(1),
    };
    PathError::Text {
        at,
        near: text.chars().skip(at - 1).take(12).collect(),
    }
}

/// Sides as a polygon, without a last point that repeats the first.
fn flat(curve: &BezPath, tolerance: f64) -> Vec<(f64, f64)> {
    let mut points: Vec<Point> = Vec::new();
    for segment in curve.segments() {
        if points.is_empty() {
            points.push(segment.start());
        }
        match segment {
            PathSeg::Line(line) => points.push(line.p1),
            curved => kurbo::flatten(curved.path_elements(tolerance), tolerance, |e| {
                if let PathEl::LineTo(p) = e {
                    points.push(p);
                }
            }),
        }
    }
    let size = points
        .iter()
        .fold(0.0_f64, |s, p| s.max((*p - points[0]).hypot()));
    points.dedup_by(|a, b| a.distance(*b) <= 1e-9 * size);
    while points.len() > 1 && points[0].distance(points[points.len() - 1]) <= 1e-9 * size {
        points.pop();
    }
    points.into_iter().map(|p| (p.x, p.y)).collect()
}

/// Where two sides of a polygon meet that aren't neighbours, or neighbours fold back on each other.
fn crossing(points: &[(f64, f64)]) -> Option<(f64, f64)> {
    let n = points.len();
    let at = |i: usize| Vec2::new(points[i % n].0, points[i % n].1);
    for i in 0..n {
        let (a, b) = (at(i), at(i + 1));
        // A fold: the next side runs back along this one.
        let next = at(i + 2) - b;
        let side = b - a;
        if side.cross(next).abs() <= 1e-9 * side.hypot() * next.hypot() && side.dot(next) < 0.0 {
            return Some((b.x, b.y));
        }
        let (low, high) = (a.min_by_part(b), a.max_by_part(b));
        for j in i + 2..n {
            if i == 0 && j + 1 == n {
                continue;
            }
            let (c, d) = (at(j), at(j + 1));
            let (low2, high2) = (c.min_by_part(d), c.max_by_part(d));
            if low.x > high2.x || low2.x > high.x || low.y > high2.y || low2.y > high.y {
                continue;
            }
            let apart = |p: Vec2, q: Vec2, r: Vec2, s: Vec2| {
                let (u, v) = ((q - p).cross(r - p), (q - p).cross(s - p));
                u > 0.0 && v > 0.0 || u < 0.0 && v < 0.0
            };
            if !apart(a, b, c, d) && !apart(c, d, a, b) {
                let across = side.cross(d - c);
                let t = if across == 0.0 {
                    0.5
                } else {
                    (c - a).cross(d - c) / across
                };
                let place = a + side * t.clamp(0.0, 1.0);
                return Some((place.x, place.y));
            }
        }
    }
    None
}

/// Smaller and larger of each coordinate.
trait ByPart {
    fn min_by_part(self, other: Self) -> Self;
    fn max_by_part(self, other: Self) -> Self;
}

impl ByPart for Vec2 {
    fn min_by_part(self, o: Self) -> Self {
        Self::new(self.x.min(o.x), self.y.min(o.y))
    }
    fn max_by_part(self, o: Self) -> Self {
        Self::new(self.x.max(o.x), self.y.max(o.y))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn what_is_wrong_is_told_with_its_place() {
        let told = |text: &str| ClosedPath::from_svg(text, 1e-3).unwrap_err().to_string();
        assert!(told("M0 0 L10 10 L10 0 L0 10 Z").contains("near (5.000, 5.000)"));
        assert!(told("M0 0 L10 0 L5 0 L5 5 Z").contains("touches itself near (10.000, 0.000)"));
        assert!(
            told("M0 0 H9 V9z M20 20 h5 v5z")
                .contains("2 separate curves, the second from (20, 20)")
        );
        assert!(told("M0 0 L10 !0 Z").contains("at character"));
        assert!(told("").contains("encloses nothing"));
        assert!(ClosedPath::from_svg("M0 0H9V9z", 0.0).is_err());
        let bow = [(0.0, 0.0), (0.01, 0.01), (0.01, 0.0), (0.0, 0.01)];
        let told = ClosedPath::through(&bow).unwrap_err().to_string();
        assert!(told.contains("near (5.000, 5.000)"), "{told}");
        assert_eq!(
            ClosedPath::through(&[(0.0, 0.0), (0.02, 0.0)]),
            Err(PathError::Empty)
        );
        assert_eq!(
            ClosedPath::through(&[(0.0, f64::NAN)]),
            Err(PathError::Number { number: 1 })
        );
    }

    #[test]
    fn a_path_lies_upright_in_the_middle_whichever_way_it_was_drawn() {
        let ways = ["M0 0 h60 v20 z", "M0 0 L60 20 V0 z", "m100 7 h60 v20 z"];
        for way in ways {
            let path = ClosedPath::from_svg(way, 1e-3).unwrap();
            let points = path.polygon(1e-6);
            assert!((path.area_m2() - 6e-4).abs() < 1e-12, "{way}");
            // The right angle, at the right end of the upper side on screen, is the upper right one on paper.
            assert!(
                points
                    .iter()
                    .any(|p| (p.0 - 0.03).hypot(p.1 - 0.01) < 1e-12),
                "{way} {points:?}"
            );
            assert_eq!(points.len(), 3);
        }
    }

    /// Every letter of path data against the same line drawn with absolute ones.
    #[test]
    fn short_forms_draw_the_same_line() {
        let pairs = [
            ("m0 0h60v20H0V0z", "M0 0 L60 0 L60 20 L0 20 Z"),
            (
                "M0 0 c0 10 10 10 10 0 s10 -10 10 0 v9 h-20 z",
                "M0 0 C0 10 10 10 10 0 C10 -10 20 -10 20 0 L20 9 L0 9 Z",
            ),
            (
                "M0 0 q5 8 10 0 t10 0 V-20 H0z",
                "M0 0 Q5 8 10 0 Q15 -8 20 0 L20 -20 L0 -20 Z",
            ),
        ];
        for (short, long) in pairs {
            let [a, b] = [short, long].map(|t| ClosedPath::from_svg(t, 1e-3).unwrap());
            assert!((a.area_m2() - b.area_m2()).abs() < 1e-15, "{short}");
            assert!((a.perimeter_m() - b.perimeter_m()).abs() < 1e-9, "{short}");
        }
        // The unit is all that changes with the scale, arcs included.
        let arc = |unit| {
            ClosedPath::from_svg("M0 0 a2 2 0 0 1 4 0z", unit)
                .unwrap()
                .area_m2()
        };
        assert!((arc(0.01) - 2e-4 * PI).abs() < 1e-10 && (arc(1e-5) - 2e-10 * PI).abs() < 1e-16);
    }

    /// A quadratic segment under its chord has 2/3 of the area of its triangle (Archimedes).
    #[test]
    fn a_parabola_has_the_area_that_archimedes_found() {
        let path = ClosedPath::from_svg("M0 0 Q15 30 30 0 Z", 1e-3).unwrap();
        assert!((path.area_m2() - 2.0 / 3.0 * 0.5 * 0.03 * 0.03).abs() < 1e-12);
    }
}
