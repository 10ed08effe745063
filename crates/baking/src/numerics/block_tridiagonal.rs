//! Linear systems with 2×2 blocks on three diagonals, eliminated from both ends at once.
//!
//! The two halves don't wait for each other, which nearly halves the time of what is otherwise
//! one long chain of dependent operations.

#![allow(
    clippy::needless_range_loop,
    reason = "loops over lanes by index are what vectorises"
)]

use super::blocks::{Blocks, Pairs, inverse, less, less_product, product, scaled, times};
use super::lanes::{Field, LANES, Lanes};

/// A 2×2 block, row by row.
pub(crate) type Block = [f64; 4];

/// The unknowns of a row counted from the first, and of the one as far from the last.
#[inline(always)]
fn pairs([x, e]: [f64; 2], [xx, ee]: [f64; 2]) -> Pairs<2> {
    [[x, xx], [e, ee]]
}

/// The blocks of two such rows.
#[inline(always)]
fn both(a: Block, b: Block) -> Blocks<2> {
    [[a[0], b[0]], [a[1], b[1]], [a[2], b[2]], [a[3], b[3]]]
}

/// a − m·v for a single row.
#[inline(always)]
fn less_one(a: [f64; 2], m: &Block, v: [f64; 2]) -> [f64; 2] {
    less(&a.map(|a| [a]), &m.map(|m| [m]), &v.map(|v| [v])).map(|[v]| v)
}

/// One block per row, each of its four entries in a row of its own.
#[derive(Clone, Debug, Default)]
pub(crate) struct BlockRows(pub [Field; 4]);

impl BlockRows {
    /// Makes room for `n` blocks of noughts.
    pub(crate) fn resize(&mut self, n: usize) {
        self.0.iter_mut().for_each(|field| field.resize(n));
    }

    /// The block of row `i`.
    #[inline(always)]
    pub(crate) fn at(&self, i: usize) -> Block {
        let [a, b, c, d] = &self.0;
        [a.0[i], b.0[i], c.0[i], d.0[i]]
    }

    /// Adds to the block of row `i`.
    #[inline(always)]
    pub(crate) fn add(&mut self, i: usize, block: Block) {
        for (field, v) in self.0.iter_mut().zip(block) {
            field.0[i] += v;
        }
    }

    /// Puts the blocks of the rows from `i` on, entry by entry.
    #[inline(always)]
    pub(crate) fn store(&mut self, i: usize, blocks: [Lanes; 4]) {
        let [a, b, c, d] = &mut self.0;
        a.store(i, blocks[0]);
        b.store(i, blocks[1]);
        c.store(i, blocks[2]);
        d.store(i, blocks[3]);
    }
}

/// The matrix: row i is `lower[i]·y[i−1] + diagonal[i]·y[i] + upper[i]·y[i+1]`.
#[derive(Clone, Debug, Default)]
pub(crate) struct Matrix {
    /// Blocks left of the diagonal; the first is not used.
    pub lower: BlockRows,
    /// Blocks on the diagonal.
    pub diagonal: BlockRows,
    /// Blocks right of the diagonal; the last is not used.
    pub upper: BlockRows,
}

impl Matrix {
    /// Makes room for `n` rows.
    pub(crate) fn resize(&mut self, n: usize) {
        for rows in [&mut self.lower, &mut self.diagonal, &mut self.upper] {
            rows.resize(n);
        }
    }
}

/// What two rows need when a right-hand side is solved.
#[derive(Clone, Copy, Debug)]
struct Rows {
    /// Inverse of the eliminated diagonal block.
    inverse: Blocks<2>,
    /// inverse × the block of the neighbour that was eliminated before.
    from: Blocks<2>,
    /// inverse × the block towards the middle.
    onward: Blocks<2>,
}

const NONE: Blocks<2> = [[0.0; 2]; 4];

/// The eliminated matrix; reused from step to step.
#[derive(Clone, Debug, Default)]
pub(crate) struct Factors {
    /// From the ends to the middle, which is not among them.
    rows: Vec<Rows>,
    /// Inverse of the middle row's diagonal block, and its blocks towards its neighbours.
    inverse: Block,
    lower: Block,
    upper: Block,
}

impl Factors {
    /// Makes room for `n` rows; `n` must be odd and at least 3.
    pub(crate) fn resize(&mut self, n: usize) {
        debug_assert!(
            n >= 3 && n % 2 == 1,
            "an odd number of rows has a middle one"
        );
        self.rows.clear();
        let none = Rows {
            inverse: NONE,
            from: NONE,
            onward: NONE,
        };
        self.rows.resize(n / 2, none);
    }

    /// One pass of refinement: solves for what `y` left over of `rhs`, and adds it to `y`. `spare` takes the rest.
    ///
    /// Without pivoting the elimination may lose digits where neighbours are coupled far more strongly than
    /// they hold; one pass gets them back.
    #[inline(always)]
    pub(crate) fn refine(
        &self,
        matrix: &Matrix,
        shift: f64,
        rhs: &[[f64; 2]],
        y: &mut [[f64; 2]],
        spare: &mut [[f64; 2]],
    ) {
        let n = 2 * self.rows.len() + 1;
        for i in 0..n {
            let mut left = [
                (-shift).mul_add(y[i][0], rhs[i][0]),
                (-shift).mul_add(y[i][1], rhs[i][1]),
            ];
            left = less_one(left, &matrix.diagonal.at(i), y[i]);
            if i > 0 {
                left = less_one(left, &matrix.lower.at(i), y[i - 1]);
            }
            if i + 1 < n {
                left = less_one(left, &matrix.upper.at(i), y[i + 1]);
            }
            spare[i] = left;
        }
        self.solve(spare);
        for (y, more) in y.iter_mut().zip(&*spare).take(n) {
            y[0] += more[0];
            y[1] += more[1];
        }
    }

    /// Eliminates shift·1 + matrix.
    #[inline(always)]
    pub(crate) fn eliminate(&mut self, matrix: &Matrix, shift: f64) {
        let middle = self.rows.len();
        let last = 2 * middle;
        let shifted = |i: usize| {
            let d = matrix.diagonal.at(i);
            [d[0] + shift, d[1], d[2], d[3] + shift]
        };
        let mut before = NONE;
        for (i, row) in self.rows.iter_mut().enumerate() {
            let j = last - i;
            let mut d = both(shifted(i), shifted(j));
            // Nothing lies beyond the ends.
            let from = if i == 0 {
                NONE
            } else {
                both(matrix.lower.at(i), matrix.upper.at(j))
            };
            d = less_product(&d, &from, &before);
            let (adjugate, over) = inverse(&d);
            let onward = both(matrix.upper.at(i), matrix.lower.at(j));
            before = scaled(&product(&adjugate, &onward), &over);
            row.inverse = scaled(&adjugate, &over);
            row.from = product(&row.inverse, &from);
            row.onward = before;
        }
        self.lower = matrix.lower.at(middle);
        self.upper = matrix.upper.at(middle);
        let [below, above] = [0, 1].map(|l| before.map(|entry| [entry[l]]));
        let d = shifted(middle).map(|v| [v]);
        let d = less_product(&d, &self.lower.map(|v| [v]), &below);
        let d = less_product(&d, &self.upper.map(|v| [v]), &above);
        let (adjugate, over) = inverse(&d);
        self.inverse = scaled(&adjugate, &over).map(|[v]| v);
    }

    /// Solves for one right-hand side, in place; the two unknowns of a row lie side by side.
    #[inline(always)]
    pub(crate) fn solve(&self, y: &mut [[f64; 2]]) {
        let middle = self.rows.len();
        let last = 2 * middle;
        let y = &mut y[..=last];
        let mut z = [[0.0; 2]; 2];
        for (i, row) in self.rows.iter().enumerate() {
            let own = times(&row.inverse, &pairs(y[i], y[last - i]));
            z = less(&own, &row.from, &z);
            [y[i], y[last - i]] = [[z[0][0], z[1][0]], [z[0][1], z[1][1]]];
        }
        let rest = less_one(y[middle], &self.lower, y[middle - 1]);
        let rest = less_one(rest, &self.upper, y[middle + 1]);
        let [x, e] = less_one([0.0; 2], &self.inverse.map(|v| -v), rest);
        y[middle] = [x, e];
        let mut z = [[x; 2], [e; 2]];
        for (i, row) in self.rows.iter().enumerate().rev() {
            z = less(&pairs(y[i], y[last - i]), &row.onward, &z);
            [y[i], y[last - i]] = [[z[0][0], z[1][0]], [z[0][1], z[1][1]]];
        }
    }

    /// Solves for as many right-hand sides as there are lanes, in place.
    #[inline(always)]
    pub(crate) fn solve_side_by_side(&self, y: &mut [[Lanes; 2]]) {
        let middle = self.rows.len();
        let last = 2 * middle;
        let y = &mut y[..=last];
        let mut z = [[[0.0; LANES]; 2]; 2];
        for (i, row) in self.rows.iter().enumerate() {
            for side in 0..2 {
                let place = if side == 0 { i } else { last - i };
                let [inverse, from] = [&row.inverse, &row.from].map(|b| b.map(|entry| entry[side]));
                z[side] = less_lanes(&inverse, &y[place], &from, &z[side]);
                y[place] = z[side];
            }
        }
        let mut rest = y[middle];
        for (block, beside) in [(&self.lower, middle - 1), (&self.upper, middle + 1)] {
            take_lanes(&mut rest, block, &y[beside]);
        }
        y[middle] = less_lanes(&self.inverse, &rest, &[0.0; 4], &rest);
        let mut z = [y[middle]; 2];
        for (i, row) in self.rows.iter().enumerate().rev() {
            for side in 0..2 {
                let place = if side == 0 { i } else { last - i };
                let onward = row.onward.map(|entry| entry[side]);
                take_lanes(&mut y[place], &onward, &z[side]);
                z[side] = y[place];
            }
        }
    }
}

/// a −= m·v in every lane.
#[inline(always)]
fn take_lanes(a: &mut [Lanes; 2], m: &Block, v: &[Lanes; 2]) {
    for l in 0..LANES {
        let [x, e] = [v[0][l], v[1][l]];
        a[0][l] = (-m[1]).mul_add(e, (-m[0]).mul_add(x, a[0][l]));
        a[1][l] = (-m[3]).mul_add(e, (-m[2]).mul_add(x, a[1][l]));
    }
}

/// m·v − b·z in every lane.
#[inline(always)]
fn less_lanes(m: &Block, v: &[Lanes; 2], b: &Block, z: &[Lanes; 2]) -> [Lanes; 2] {
    let mut out = [[0.0; LANES]; 2];
    for l in 0..LANES {
        let [x, e] = [v[0][l], v[1][l]];
        out[0][l] = m[0].mul_add(x, m[1] * e);
        out[1][l] = m[2].mul_add(x, m[3] * e);
    }
    take_lanes(&mut out, b, z);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solves_what_it_multiplied() {
        for n in [3, 5, 41] {
            let number = |i: usize, k: usize| ((i * 7 + k * 13) as f64 * 0.37).sin();
            let mut matrix = Matrix::default();
            matrix.resize(n);
            for i in 0..n {
                let block = |first: usize| [0, 1, 2, 3].map(|k| number(i, first + k));
                matrix.lower.add(i, block(0));
                matrix.upper.add(i, block(9));
                matrix.diagonal.add(i, block(20));
            }
            let shift = 6.0;
            let truth: Vec<[f64; 2]> = (0..n).map(|i| [number(i, 50), number(i, 60)]).collect();
            let product =
                |m: &Block, v: [f64; 2]| [m[0] * v[0] + m[1] * v[1], m[2] * v[0] + m[3] * v[1]];
            let mut y: Vec<[f64; 2]> = (0..n)
                .map(|i| {
                    let mut sum = product(&matrix.diagonal.at(i), truth[i]);
                    for k in 0..2 {
                        sum[k] += shift * truth[i][k];
                        if i > 0 {
                            sum[k] += product(&matrix.lower.at(i), truth[i - 1])[k];
                        }
                        if i + 1 < n {
                            sum[k] += product(&matrix.upper.at(i), truth[i + 1])[k];
                        }
                    }
                    sum
                })
                .collect();
            let mut factors = Factors::default();
            factors.resize(n);
            factors.eliminate(&matrix, shift);
            let mut side_by_side: Vec<[Lanes; 2]> = y
                .iter()
                .map(|[x, e]| [*x, *e].map(|v| std::array::from_fn(|l| v * (1.0 + l as f64))))
                .collect();
            factors.solve(&mut y);
            factors.solve_side_by_side(&mut side_by_side);
            for (many, one) in side_by_side.iter().zip(&y) {
                for l in 0..LANES {
                    for v in 0..2 {
                        assert!((many[v][l] / (1.0 + l as f64) - one[v]).abs() < 1e-13);
                    }
                }
            }
            for (found, wanted) in y.iter().zip(&truth) {
                assert!((found[0] - wanted[0]).abs() < 1e-13);
                assert!((found[1] - wanted[1]).abs() < 1e-13);
            }
        }
    }
}
