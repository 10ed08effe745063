//! The linear systems of a step: columns of one colour eliminated exactly, the other colour by GMRES.
//!
//! With the columns coloured like a chessboard the matrix is \[R, C; D, B\] with R and B block-tridiagonal column
//! by column. Eliminating the red columns leaves (1 − B⁻¹D R⁻¹C) u_b = B⁻¹(b − D R⁻¹r): half the
//! unknowns and about half the iterations of the same preconditioner on the whole (Saad, *Iterative
//! Methods for Sparse Linear Systems*, reduced systems).

use super::balance::Rows;
use super::grid::Grid;
use super::lines::{Eliminated, take_neighbours};
use crate::numerics::lanes::{LANES, Lanes};
use pulp::{Arch, NullaryFnOnce};
use rayon::prelude::*;

/// Most iterations before a system counts as not solved.
const MOST_ITERATIONS: usize = 60;

/// Buffers of the iteration.
#[derive(Debug, Default)]
pub(super) struct Krylov {
    basis: Vec<Vec<Lanes>>,
    red: Vec<Lanes>,
    red_rhs: Vec<Lanes>,
}

/// How a system was solved.
#[derive(Clone, Copy, Debug)]
pub(super) struct Solved {
    pub iterations: usize,
    pub converged: bool,
}

struct Dot<'a>(&'a [Lanes], &'a [Lanes], &'a [Lanes]);
impl NullaryFnOnce for Dot<'_> {
    type Output = f64;
    #[inline(always)]
    fn call(self) -> f64 {
        let mut sum = [0.0; LANES];
        for ((w, a), b) in self.0.iter().zip(self.1).zip(self.2) {
            for l in 0..LANES {
                sum[l] = (w[l] * a[l]).mul_add(b[l], sum[l]);
            }
        }
        sum.iter().sum()
    }
}

/// y += factor·x.
struct Add<'a>(&'a mut [Lanes], f64, &'a [Lanes]);
impl NullaryFnOnce for Add<'_> {
    type Output = ();
    #[inline(always)]
    fn call(self) {
        for (a, b) in self.0.iter_mut().zip(self.2) {
            for l in 0..LANES {
                a[l] = self.1.mul_add(b[l], a[l]);
            }
        }
    }
}

struct HalfGroup<'a> {
    group: &'a super::grid::Group,
    rows: &'a Rows,
    factors: &'a Eliminated,
    other: Option<&'a [Lanes]>,
    y: &'a mut [Lanes],
}
impl NullaryFnOnce for HalfGroup<'_> {
    type Output = ();
    #[inline(always)]
    fn call(self) {
        if let Some(other) = self.other {
            take_neighbours(self.group, self.rows, other, self.y);
        }
        self.factors.solve(self.rows, self.y);
    }
}

/// The eliminated matrix of a step.
pub(super) struct System<'a> {
    pub arch: Arch,
    pub grid: &'a Grid,
    pub rows: &'a [Rows],
    pub factors: &'a [Eliminated],
}

impl System<'_> {
    /// y ← (own columns)⁻¹ (y − coupling·other).
    fn half(&self, red: bool, other: Option<&[Lanes]>, y: &mut [Lanes]) {
        let range = if red {
            0..self.grid.reds
        } else {
            self.grid.reds..self.grid.groups.len()
        };
        let stride = 2 * self.grid.nodes;
        let (groups, rows) = (&self.grid.groups[range.clone()], &self.rows[range.clone()]);
        let factors = &self.factors[range];
        y.par_chunks_mut(stride)
            .zip(groups.par_iter().zip(rows).zip(factors))
            .with_min_len(2)
            .for_each(|(y, ((group, rows), factors))| {
                self.arch.dispatch(HalfGroup {
                    group,
                    rows,
                    factors,
                    other,
                    y,
                });
            });
    }

    /// Solves in place until the weighted norm of the preconditioned residual is below `tolerance`.
    pub(super) fn solve(
        &self,
        k: &mut Krylov,
        weights: &[Lanes],
        tolerance: f64,
        y: &mut [Lanes],
    ) -> Solved {
        let cut = self.grid.reds * 2 * self.grid.nodes;
        let (red_y, black_y) = y.split_at_mut(cut);
        let w = &weights[cut..];
        let arch = self.arch;
        k.red_rhs.clear();
        k.red_rhs.extend_from_slice(red_y);
        self.half(true, None, red_y);
        self.half(false, Some(red_y), black_y);
        let norm = |v: &[Lanes]| arch.dispatch(Dot(w, v, v)).sqrt();
        let first = norm(black_y);
        let mut solved = Solved {
            iterations: 0,
            converged: first.is_finite(),
        };
        if first > 0.1 * tolerance && first.is_finite() {
            solved = self.gmres(k, w, tolerance, first, black_y);
        }
        red_y.copy_from_slice(&k.red_rhs);
        self.half(true, Some(black_y), red_y);
        solved
    }

    /// GMRES on the black columns from a right-hand side of norm `first`.
    fn gmres(
        &self,
        k: &mut Krylov,
        w: &[Lanes],
        tolerance: f64,
        first: f64,
        y: &mut [Lanes],
    ) -> Solved {
        let arch = self.arch;
        let zero = [0.0; LANES];
        let put = |basis: &mut Vec<Vec<Lanes>>, at: usize, v: &[Lanes], scale: f64| {
            if basis.len() == at {
                basis.push(Vec::new());
            }
            let to = &mut basis[at];
            to.clear();
            to.resize(v.len(), zero);
            arch.dispatch(Add(to, scale, v));
        };
        put(&mut k.basis, 0, y, 1.0 / first);
        // Columns of the triangle, the rotations that made it, and the rotated right-hand side.
        let mut triangle: Vec<Vec<f64>> = Vec::new();
        let mut turns: Vec<(f64, f64)> = Vec::new();
        let mut rhs = vec![first];
        let mut converged = false;
        while triangle.len() < MOST_ITERATIONS {
            let j = triangle.len();
            // v − T v, with T v through the red columns.
            k.red.clear();
            k.red.resize(k.red_rhs.len(), zero);
            self.half(true, Some(&k.basis[j]), &mut k.red);
            y.fill(zero);
            self.half(false, Some(&k.red), y);
            for (a, b) in y.iter_mut().zip(&k.basis[j]) {
                for l in 0..LANES {
                    a[l] = b[l] - a[l];
                }
            }
            let mut column = Vec::with_capacity(j + 2);
            for v in &k.basis[..=j] {
                let h = arch.dispatch(Dot(w, v, y));
                arch.dispatch(Add(y, -h, v));
                column.push(h);
            }
            let rest = arch.dispatch(Dot(w, y, y)).sqrt();
            for (i, (c, s)) in turns.iter().enumerate() {
                let (a, b) = (column[i], column[i + 1]);
                column[i] = c * a + s * b;
                column[i + 1] = c * b - s * a;
            }
            let last = column[j];
            let size = last.hypot(rest);
            if !(size > 0.0 && size.is_finite()) {
                break;
            }
            let (c, s) = (last / size, rest / size);
            turns.push((c, s));
            column[j] = size;
            triangle.push(column);
            let before = rhs[j];
            rhs[j] = c * before;
            rhs.push(-s * before);
            if rhs[j + 1].abs() <= tolerance {
                converged = true;
                break;
            }
            put(&mut k.basis, j + 1, y, 1.0 / rest);
        }
        let n = triangle.len();
        let mut factors = vec![0.0; n];
        for i in (0..n).rev() {
            let known: f64 = (i + 1..n).map(|j| triangle[j][i] * factors[j]).sum();
            factors[i] = (rhs[i] - known) / triangle[i][i];
        }
        y.fill(zero);
        for (factor, v) in factors.iter().zip(&k.basis) {
            arch.dispatch(Add(y, *factor, v));
        }
        Solved {
            iterations: n,
            converged,
        }
    }
}
