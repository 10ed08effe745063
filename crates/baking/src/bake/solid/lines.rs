//! Solving by columns: block-tridiagonal systems, [`LANES`] abreast, and a chessboard of them.

#![allow(
    clippy::needless_range_loop,
    reason = "loops over lanes by index are what vectorises"
)]

use super::balance::{Blocks, Rows};
use super::grid::{Group, SIDES};
use crate::bake::kernel::{LANES, Lanes};

/// Eliminated columns of a group.
#[derive(Clone, Debug, Default)]
pub(super) struct Eliminated {
    inverse: Vec<Blocks>,
    onward: Vec<Blocks>,
}

#[inline(always)]
fn inverse(b: &Blocks) -> Blocks {
    let mut out = [[0.0; LANES]; 4];
    for l in 0..LANES {
        let over = 1.0 / (b[0][l] * b[3][l] - b[1][l] * b[2][l]);
        out[0][l] = b[3][l] * over;
        out[1][l] = -b[1][l] * over;
        out[2][l] = -b[2][l] * over;
        out[3][l] = b[0][l] * over;
    }
    out
}

#[inline(always)]
fn times(a: &Blocks, b: &Blocks) -> Blocks {
    let mut out = [[0.0; LANES]; 4];
    for l in 0..LANES {
        out[0][l] = a[0][l].mul_add(b[0][l], a[1][l] * b[2][l]);
        out[1][l] = a[0][l].mul_add(b[1][l], a[1][l] * b[3][l]);
        out[2][l] = a[2][l].mul_add(b[0][l], a[3][l] * b[2][l]);
        out[3][l] = a[2][l].mul_add(b[1][l], a[3][l] * b[3][l]);
    }
    out
}

/// y -= a·x, lane by lane.
#[inline(always)]
fn take(y: &mut [Lanes; 2], a: &Blocks, x: &[Lanes; 2]) {
    for l in 0..LANES {
        y[0][l] -= a[0][l].mul_add(x[0][l], a[1][l] * x[1][l]);
        y[1][l] -= a[2][l].mul_add(x[0][l], a[3][l] * x[1][l]);
    }
}

impl Eliminated {
    pub(super) fn resize(&mut self, nodes: usize) {
        for v in [&mut self.inverse, &mut self.onward] {
            v.clear();
            v.resize(nodes, [[0.0; LANES]; 4]);
        }
    }

    /// Eliminates `shift`·V + rows; nodes without volume keep what they have.
    #[inline(always)]
    pub(super) fn eliminate(&mut self, group: &Group, rows: &Rows, shift: f64) {
        let nodes = group.volume.len();
        for k in 0..nodes {
            let mut d = rows.diagonal[k];
            for l in 0..LANES {
                let v = group.volume[k][l];
                let held = if v > 0.0 { v * shift } else { 1.0 };
                d[0][l] += held;
                d[3][l] += held;
            }
            if k > 0 {
                let gone = times(&rows.lower[k], &self.onward[k - 1]);
                for c in 0..4 {
                    for l in 0..LANES {
                        d[c][l] -= gone[c][l];
                    }
                }
            }
            self.inverse[k] = inverse(&d);
            if k + 1 < nodes {
                self.onward[k] = times(&self.inverse[k], &rows.upper[k]);
            }
        }
    }

    /// Solves in place.
    #[inline(always)]
    pub(super) fn solve(&self, rows: &Rows, y: &mut [Lanes]) {
        let nodes = self.inverse.len();
        let mut last = [[0.0; LANES]; 2];
        for k in 0..nodes {
            let mut b = [y[2 * k], y[2 * k + 1]];
            if k > 0 {
                take(&mut b, &rows.lower[k], &last);
            }
            let a = &self.inverse[k];
            for l in 0..LANES {
                last[0][l] = a[0][l].mul_add(b[0][l], a[1][l] * b[1][l]);
                last[1][l] = a[2][l].mul_add(b[0][l], a[3][l] * b[1][l]);
            }
            y[2 * k] = last[0];
            y[2 * k + 1] = last[1];
        }
        for k in (0..nodes - 1).rev() {
            let mut b = [y[2 * k], y[2 * k + 1]];
            take(&mut b, &self.onward[k], &last);
            y[2 * k] = b[0];
            y[2 * k + 1] = b[1];
            last = b;
        }
    }
}

/// y -= (what couples a group to the other colour)·x.
#[inline(always)]
pub(super) fn take_neighbours(group: &Group, rows: &Rows, other: &[Lanes], y: &mut [Lanes]) {
    let nodes = group.volume.len();
    for direction in 0..SIDES {
        let blocks = &rows.side[direction];
        let mut base = [0; LANES];
        let mut lane = [0; LANES];
        for l in 0..LANES {
            let column = group.neighbour[direction][l] as usize;
            base[l] = column / LANES * 2 * nodes;
            lane[l] = column % LANES;
        }
        for k in 0..nodes {
            let mut x = [[0.0; LANES]; 2];
            for l in 0..LANES {
                x[0][l] = other[base[l] + 2 * k][lane[l]];
                x[1][l] = other[base[l] + 2 * k + 1][lane[l]];
            }
            let a = &blocks[k];
            for l in 0..LANES {
                let [p, q, r, s] = [0, 1, 2, 3].map(|c| f64::from(a[c][l]));
                y[2 * k][l] -= p.mul_add(x[0][l], q * x[1][l]);
                y[2 * k + 1][l] -= r.mul_add(x[0][l], s * x[1][l]);
            }
        }
    }
}
