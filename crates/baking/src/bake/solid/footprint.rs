//! The plan of a piece cut by a rectangular grid: areas, apertures and wall lengths of every cell.
//!
//! Grid points lie on the extent of the outline and evenly between, so that straight walls along the grid go
//! through the middle of a cell, where its value is held. A cell on the outline keeps the area inside and, on
//! each of its sides, the length inside (the aperture). Lengths of walls are those of the outline itself, so
//! that their sum is the perimeter whatever the grid.

use crate::piece::Docked;
use std::f64::consts::PI;

/// Sides of the polygon that stands for a hole.
const HOLE_SIDES: usize = 96;

type Point = (f64, f64);

/// One number per cell, or per side between a cell and the next one along x or y.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Share {
    /// Area inside \[m²\].
    pub area: Vec<f64>,
    /// Length of line through the cell \[m\].
    pub wall: Vec<f64>,
    /// Length inside of the side to the next cell along x, and along y \[m\].
    pub sides: [Vec<f64>; 2],
}

/// A piece's plan on a grid.
#[derive(Clone, Debug)]
pub(super) struct Footprint {
    /// Grid points along x and y.
    pub n: [usize; 2],
    /// Distance between them \[m\].
    pub step_m: [f64; 2],
    /// Place of the first one \[m\].
    pub first_m: [f64; 2],
    /// The outline.
    pub outline: Share,
    /// What the holes take out of it.
    pub holes: Share,
}

/// Keeps the part of a polygon on one side of a line across axis `axis`.
fn half(ring: &[Point], axis: usize, at: f64, above: bool) -> Vec<Point> {
    let value = |p: &Point| {
        let v = if axis == 0 { p.0 } else { p.1 };
        if above { v - at } else { at - v }
    };
    let mut kept = Vec::with_capacity(ring.len() + 4);
    for (i, a) in ring.iter().enumerate() {
        let b = &ring[(i + 1) % ring.len()];
        let (va, vb) = (value(a), value(b));
        if va >= 0.0 {
            kept.push(*a);
        }
        if (va > 0.0 && vb < 0.0) || (va < 0.0 && vb > 0.0) {
            let s = va / (va - vb);
            kept.push((a.0 + s * (b.0 - a.0), a.1 + s * (b.1 - a.1)));
        }
    }
    kept
}

fn area(ring: &[Point]) -> f64 {
    let Some(&origin) = ring.first() else {
        return 0.0;
    };
    let mut twice = 0.0;
    for (i, a) in ring.iter().enumerate() {
        let b = ring[(i + 1) % ring.len()];
        twice += (a.0 - origin.0) * (b.1 - origin.1) - (b.0 - origin.0) * (a.1 - origin.1);
    }
    0.5 * twice.abs()
}

/// Stretches of a grid line inside a polygon: pairs of places along the other axis, rising.
fn inside_stretches(ring: &[Point], axis: usize, at: f64) -> Vec<(f64, f64)> {
    let of = |p: &Point| if axis == 0 { (p.0, p.1) } else { (p.1, p.0) };
    let mut crossings = Vec::new();
    for (i, a) in ring.iter().enumerate() {
        let (a, b) = (of(a), of(&ring[(i + 1) % ring.len()]));
        if (a.0 <= at) != (b.0 <= at) {
            crossings.push(a.1 + (at - a.0) / (b.0 - a.0) * (b.1 - a.1));
        }
    }
    crossings.sort_by(f64::total_cmp);
    crossings.chunks_exact(2).map(|c| (c[0], c[1])).collect()
}

impl Footprint {
    /// An empty grid of at most `target_m` over an extent, with an even number of steps on both axes.
    fn empty(ring: &[Point], target_m: [f64; 2]) -> Self {
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        for p in ring {
            for (axis, v) in [p.0, p.1].into_iter().enumerate() {
                low[axis] = low[axis].min(v);
                high[axis] = high[axis].max(v);
            }
        }
        let steps = [0, 1].map(|a| {
            let half = (0.5 * (high[a] - low[a]) / target_m[a] - 1e-6).ceil();
            2 * (half.max(1.0) as usize)
        });
        let step_m = [0, 1].map(|a| (high[a] - low[a]) / steps[a] as f64);
        let n = steps.map(|s| s + 1);
        let cells = n[0] * n[1];
        let share = Share {
            area: vec![0.0; cells],
            wall: vec![0.0; cells],
            sides: [vec![0.0; cells], vec![0.0; cells]],
        };
        Self {
            n,
            step_m,
            first_m: low,
            outline: share.clone(),
            holes: share,
        }
    }

    pub(super) fn new(ring: &[Point], docked: &Docked, target_m: [f64; 2]) -> Self {
        let mut plan = Self::empty(ring, target_m);
        let mut outline = std::mem::take(&mut plan.outline);
        plan.add(ring, 1.0, &mut outline);
        plan.outline = outline;
        let r = 0.5 * docked.diameter_m;
        let part = 2.0 * PI / HOLE_SIDES as f64;
        // The polygon has the area of the circle; its sides are counted with the circle's length.
        let reach = r * (part / part.sin()).sqrt();
        let longer = 2.0 * PI * r / (HOLE_SIDES as f64 * 2.0 * reach * (0.5 * part).sin());
        let mut holes = std::mem::take(&mut plan.holes);
        for &(x, y) in &docked.centres_m {
            // Corners where a symmetric hole stays symmetric to the last digit.
            let ring: Vec<Point> = (0..HOLE_SIDES)
                .map(|i| {
                    let (sin, cos) = (part * (i as f64 + 0.5)).sin_cos();
                    (reach.mul_add(cos, x), reach.mul_add(sin, y))
                })
                .collect();
            plan.add(&ring, longer, &mut holes);
        }
        plan.holes = holes;
        plan
    }

    pub(super) fn at(&self, i: usize, j: usize) -> usize {
        j * self.n[0] + i
    }

    /// Lower border of a row of cells along an axis.
    fn border(&self, axis: usize, i: usize) -> f64 {
        self.first_m[axis] + (i as f64 - 0.5) * self.step_m[axis]
    }

    /// Cells along an axis that a stretch touches.
    fn span(&self, axis: usize, from: f64, to: f64) -> std::ops::Range<usize> {
        let place = |v: f64| ((v - self.first_m[axis]) / self.step_m[axis] + 0.5).floor();
        let last = self.n[axis] as f64 - 1.0;
        place(from).clamp(0.0, last) as usize..place(to).clamp(0.0, last) as usize + 1
    }

    /// Adds a polygon's areas, apertures and wall lengths.
    fn add(&self, ring: &[Point], longer: f64, share: &mut Share) {
        let bounds = |axis: usize| {
            let of = |p: &Point| if axis == 0 { p.0 } else { p.1 };
            let low = ring.iter().map(of).fold(f64::INFINITY, f64::min);
            (low, ring.iter().map(of).fold(f64::NEG_INFINITY, f64::max))
        };
        let (x, y) = (bounds(0), bounds(1));
        for i in self.span(0, x.0, x.1) {
            let left = half(ring, 0, self.border(0, i), true);
            let strip = half(&left, 0, self.border(0, i + 1), false);
            for j in self.span(1, y.0, y.1) {
                let low = half(&strip, 1, self.border(1, j), true);
                let cell = half(&low, 1, self.border(1, j + 1), false);
                share.area[self.at(i, j)] += area(&cell);
            }
        }
        for (axis, (from, to)) in [x, y].into_iter().enumerate() {
            let other = 1 - axis;
            for i in self.span(axis, from, to) {
                for (a, b) in inside_stretches(ring, axis, self.border(axis, i + 1)) {
                    for j in self.span(other, a, b) {
                        let inside =
                            b.min(self.border(other, j + 1)) - a.max(self.border(other, j));
                        let cell = if axis == 0 {
                            self.at(i, j)
                        } else {
                            self.at(j, i)
                        };
                        share.sides[axis][cell] += inside.max(0.0);
                    }
                }
            }
        }
        for (i, a) in ring.iter().enumerate() {
            let b = ring[(i + 1) % ring.len()];
            self.add_wall(*a, b, longer, &mut share.wall);
        }
    }

    /// Shares a side of a polygon out to the cells it goes through.
    fn add_wall(&self, a: Point, b: Point, longer: f64, wall: &mut [f64]) {
        let mut cuts = vec![0.0, 1.0];
        for (axis, (from, to)) in [(a.0, b.0), (a.1, b.1)].into_iter().enumerate() {
            if from == to {
                continue;
            }
            for i in self.span(axis, from.min(to), from.max(to)) {
                let s = (self.border(axis, i + 1) - from) / (to - from);
                if s > 0.0 && s < 1.0 {
                    cuts.push(s);
                }
            }
        }
        cuts.sort_by(f64::total_cmp);
        let length = (b.0 - a.0).hypot(b.1 - a.1) * longer;
        for pair in cuts.windows(2) {
            let middle = 0.5 * (pair[0] + pair[1]);
            let (x, y) = (a.0 + middle * (b.0 - a.0), a.1 + middle * (b.1 - a.1));
            let (i, j) = (self.span(0, x, x).start, self.span(1, y, y).start);
            wall[self.at(i, j)] += (pair[1] - pair[0]) * length;
        }
    }

    /// Whether the plan is its own mirror image across the middle of an axis.
    pub(super) fn mirrors(&self, axis: usize) -> bool {
        let cell_m2 = self.step_m[0] * self.step_m[1];
        let [nx, ny] = self.n;
        let image = |i: usize, j: usize| {
            if axis == 0 {
                self.at(nx - 1 - i, j)
            } else {
                self.at(i, ny - 1 - j)
            }
        };
        let alike = |v: &[f64], scale: f64| {
            (0..ny)
                .all(|j| (0..nx).all(|i| (v[self.at(i, j)] - v[image(i, j)]).abs() < 1e-6 * scale))
        };
        [&self.outline, &self.holes].into_iter().all(|share| {
            alike(&share.area, cell_m2) && alike(&share.sides[1 - axis], self.step_m[axis])
        })
    }

    /// Keeps the upper half along an axis, the cells on the middle line with half of what they have.
    pub(super) fn halved(&self, axis: usize) -> Self {
        let middle = self.n[axis] / 2;
        let mut n = self.n;
        n[axis] -= middle;
        let mut first_m = self.first_m;
        first_m[axis] += middle as f64 * self.step_m[axis];
        let pick = |v: &[f64], on_the_line: f64| -> Vec<f64> {
            let mut out = Vec::with_capacity(n[0] * n[1]);
            for j in 0..n[1] {
                for i in 0..n[0] {
                    let (full_i, full_j) = if axis == 0 {
                        (i + middle, j)
                    } else {
                        (i, j + middle)
                    };
                    let line = if axis == 0 { i == 0 } else { j == 0 };
                    let factor = if line { on_the_line } else { 1.0 };
                    out.push(factor * v[self.at(full_i, full_j)]);
                }
            }
            out
        };
        let share = |s: &Share| {
            let mut sides = [Vec::new(), Vec::new()];
            sides[axis] = pick(&s.sides[axis], 1.0);
            sides[1 - axis] = pick(&s.sides[1 - axis], 0.5);
            Share {
                area: pick(&s.area, 0.5),
                wall: pick(&s.wall, 0.5),
                sides,
            }
        };
        Self {
            n,
            step_m: self.step_m,
            first_m,
            outline: share(&self.outline),
            holes: share(&self.holes),
        }
    }
}
