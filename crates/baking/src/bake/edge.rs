//! The edge correction: what the rim of a piece of finite size gives and takes, as a sink in every node.
//!
//! A slab that goes on for ever bakes slower than a piece with edges. The correction adds, per unit
//! volume, the perimeter per area of the piece times a lateral flux: the surface law at the gas side in
//! series with an inner path over which heat and vapour have to travel to the mean place of a node:
//! heat (h_c(T_air − T) + εσ(T_rad⁴ − T⁴))·k/(k + h·path), with h the sum of the convective and the radiative
//! coefficient between T and T_rad; vapour likewise with K_v in the place of k. Exposure scales the surface
//! law, not the inner path, because that is what neighbours on the band shield. Liquid water doesn't move
//! sideways in it. The closed pack has no rim. Docker holes are a second rim of the same kind with a share and a path
//! of their own.

use super::error::InputError;
use measure::{Constant, Grade, Range};
use serde::Serialize;

/// Share of the surface transfer at the wall of a docker hole: the hole is narrow, and the band closes its lower end.
pub const HOLE_SHARE: Constant = Constant {
    name: "share of the surface transfer that reaches the wall of a docker hole",
    value: 0.3,
    unit: "1",
    range: Range::new(0.0, 1.0),
    source: "working value: a bone of 60×30×8 mm with five holes of 2 mm bakes 3, 5 and 7 % sooner at 0.1, 0.3 and 0.6",
    grade: Grade::Assumed,
};

/// The rim of a piece, as seen by the bake through its thickness.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Edge {
    /// Perimeter over plan area \[1/m\].
    pub perimeter_per_area_per_m: f64,
    /// Share of the full surface transfer that reaches the rim, 0 to 1: 1 alone on the band, less
    /// between neighbours.
    pub exposure: f64,
    /// Inner path from the rim to the mean place \[m\].
    pub path_m: f64,
    /// The walls of docker holes, if any.
    pub holes: Option<HoleWalls>,
}

/// The walls of docker holes, as seen by the bake through the thickness.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct HoleWalls {
    /// Length of the holes' edges over the plan area \[1/m\] as counted, less where they go only part of the way.
    pub wall_per_area_per_m: f64,
    /// Share of the top's surface transfer that reaches the walls, 0 to 1.
    pub exposure: f64,
    /// Inner path from the walls to the mean place \[m\].
    pub path_m: f64,
}

/// Wall of docker holes that the bake through the thickness counts, over their own: a hole also takes away a column of
/// dough from where it is wettest.
pub const HOLE_WALL: Constant = Constant {
    name: "wall of docker holes as counted, over their own",
    value: 1.5,
    unit: "",
    range: Range::new(0.1, 5.0),
    source: "fitted to bakes of the whole piece with five and nine holes of 2 and 3 mm at a hole share of 0.3: 1.45 to 1.75",
    grade: Grade::Computed,
};

impl HoleWalls {
    /// The walls of holes of a diameter \[m\] on a plan area \[m²\], through a share of the thickness.
    ///
    /// Each hole of radius r drains a disc of radius R, its share of the area. In steady conduction of heat taken up
    /// evenly in that disc the mean place is r (ln(R/r) − 3/4) away from the wall; never taken below r/10.
    ///
    /// - Equation: path = r (ln(R/r) − ¾), at least r/10, with n π R² the plan area; wall = w n π d · depth/A
    /// - Units: diameter and path \[m\], plan area \[m²\], wall per area \[1/m\]
    /// - Valid: holes that share the plan evenly, R well above r
    /// - Source: steady conduction with even heat uptake in an annulus, closed form for R ≫ r, worked out here
    ///
    /// ```
    /// use baking::bake::edge::HoleWalls;
    /// // One hole of 2 mm on a disc of R = 20 mm: 1 mm · (ln 20 − 0.75) = 2.2457 mm.
    /// let one = HoleWalls::of(1, 0.002, std::f64::consts::PI * 0.02 * 0.02, 1.0);
    /// assert!((one.path_m * 1e3 - 2.2457).abs() < 1e-4);
    /// ```
    pub fn of(count: u32, diameter_m: f64, area_m2: f64, depth_share: f64) -> Self {
        let (n, r) = (f64::from(count), 0.5 * diameter_m);
        let disc = (area_m2 / (n * std::f64::consts::PI)).sqrt();
        let path_m = r * ((disc / r).ln() - 0.75).max(0.1);
        let wall = HOLE_WALL.value * n * std::f64::consts::PI * diameter_m * depth_share;
        Self {
            wall_per_area_per_m: wall / area_m2,
            exposure: HOLE_SHARE.value,
            path_m,
        }
    }
}

/// The inner path as a share of area over perimeter.
///
/// The 8 mm reference piece with the outline of a 60×30 mm bone (perimeter over area 139.2 1/m), without holes and with
/// the water held at the dry end, reaches 8 % moisture at the oven's exit after 816.9 s at exposure one half and 735.5 s
/// at exposure 1 by the bake of the whole piece (1 mm columns, 16 cells), against 1030.3 s of the slab on as many cells:
/// 20.7 % and 28.6 % sooner.
pub const PATH_SHARE: Constant = Constant {
    name: "inner path of the edge, as a share of area over perimeter",
    value: 0.70,
    unit: "",
    range: Range::new(0.05, 3.0),
    source: "fitted to bakes of the whole piece (60×30 mm bone without holes: 0.70 at exposure 0.5 and 1 for 8 mm, 0.68 for \
             12 mm); to be replaced by calibration on real pieces",
    grade: Grade::Computed,
};

impl Edge {
    /// The edge of a piece by its perimeter over area \[1/m\] and exposure, with the default path.
    ///
    /// - Equation: path = share/(perimeter over area)
    /// - Units: perimeter over area \[1/m\], exposure \[1\], path \[m\]
    /// - Valid: convex pieces; a slab has 0
    /// - Source: for a disc of radius R the perimeter over area is 2/R, so the path is a share of R/2; the share is
    ///   a constant with its grade
    ///
    /// ```
    /// use baking::bake::Edge;
    /// // A disc of 50 mm and one of 100 mm: the path goes with the radius.
    /// let (small, large) = (Edge::of(2.0 / 0.025, 1.0), Edge::of(2.0 / 0.050, 1.0));
    /// assert!((large.path_m / small.path_m - 2.0).abs() < 1e-12);
    /// ```
    pub fn of(perimeter_per_area_per_m: f64, exposure: f64) -> Self {
        Self {
            perimeter_per_area_per_m,
            exposure,
            path_m: PATH_SHARE.value / perimeter_per_area_per_m,
            holes: None,
        }
    }

    /// Checks every number.
    ///
    /// # Errors
    /// The first number that is outside what is allowed.
    pub fn check(&self) -> Result<(), InputError> {
        let rows = [
            (
                "edge.perimeter_per_area_per_m",
                self.perimeter_per_area_per_m,
                Range::new(0.0, 4000.0),
            ),
            ("edge.exposure", self.exposure, Range::new(0.0, 1.0)),
            ("edge.path_m", self.path_m, Range::new(0.0, 1.0)),
        ];
        let holes = self.holes.map(|h| {
            [
                (
                    "edge.holes.wall_per_area_per_m",
                    h.wall_per_area_per_m,
                    Range::new(0.0, 4000.0),
                ),
                ("edge.holes.exposure", h.exposure, Range::new(0.0, 1.0)),
                ("edge.holes.path_m", h.path_m, Range::new(0.0, 1.0)),
            ]
        });
        for (field, value, range) in rows.into_iter().chain(holes.into_iter().flatten()) {
            if !range.contains(value) {
                return Err(InputError::new(field, value, range.to_string()));
            }
        }
        Ok(())
    }
}
