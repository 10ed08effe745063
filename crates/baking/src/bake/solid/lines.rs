//! Solving by columns: block-tridiagonal systems, [`LANES`] abreast, and a chessboard of them.

#![allow(
    clippy::needless_range_loop,
    reason = "loops over lanes by index are what vectorises"
)]

use super::balance::{Blocks, Rows};
use super::grid::{Group, SIDES};
use crate::numerics::blocks::{inverse, less, less_product, product, scaled, times};
use crate::numerics::lanes::{LANES, Lanes};

/// Eliminated columns of a group.
#[derive(Clone, Debug, Default)]
pub(super) struct Eliminated {
    inverse: Vec<Blocks>,
    onward: Vec<Blocks>,
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
                d = less_product(&d, &rows.lower[k], &self.onward[k - 1]);
            }
            let (adjugate, over) = inverse(&d);
            self.inverse[k] = scaled(&adjugate, &over);
            if k + 1 < nodes {
                self.onward[k] = scaled(&product(&adjugate, &rows.upper[k]), &over);
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
                b = less(&b, &rows.lower[k], &last);
            }
            last = times(&self.inverse[k], &b);
            y[2 * k] = last[0];
            y[2 * k + 1] = last[1];
        }
        for k in (0..nodes - 1).rev() {
            last = less(&[y[2 * k], y[2 * k + 1]], &self.onward[k], &last);
            y[2 * k] = last[0];
            y[2 * k + 1] = last[1];
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
