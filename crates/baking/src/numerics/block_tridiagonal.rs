//! Linear systems with 2×2 blocks on three diagonals, eliminated from both ends at once.
//!
//! The two halves don't wait for each other, which nearly halves the time of what is otherwise
//! one long chain of dependent operations.

/// A 2×2 block, row by row.
pub type Block = [f64; 4];

const ZERO: Block = [0.0; 4];

/// a·b.
#[inline(always)]
fn times(a: &Block, b: &Block) -> Block {
    [
        a[0].mul_add(b[0], a[1] * b[2]),
        a[0].mul_add(b[1], a[1] * b[3]),
        a[2].mul_add(b[0], a[3] * b[2]),
        a[2].mul_add(b[1], a[3] * b[3]),
    ]
}

/// a − b·c.
#[inline(always)]
fn less_product(a: &Block, b: &Block, c: &Block) -> Block {
    let p = times(b, c);
    [a[0] - p[0], a[1] - p[1], a[2] - p[2], a[3] - p[3]]
}

/// a − m·b.
#[inline(always)]
fn less(a: [f64; 2], m: &Block, b: [f64; 2]) -> [f64; 2] {
    [
        (-m[1]).mul_add(b[1], (-m[0]).mul_add(b[0], a[0])),
        (-m[3]).mul_add(b[1], (-m[2]).mul_add(b[0], a[1])),
    ]
}

#[inline(always)]
fn inverse(a: &Block) -> Block {
    let scale = 1.0 / a[0].mul_add(a[3], -(a[1] * a[2]));
    [a[3] * scale, -a[1] * scale, -a[2] * scale, a[0] * scale]
}

/// The matrix: row i is `lower[i]·y[i−1] + diagonal[i]·y[i] + upper[i]·y[i+1]`.
#[derive(Clone, Debug, Default)]
pub struct Matrix {
    /// Blocks left of the diagonal; the first is not used.
    pub lower: Vec<Block>,
    /// Blocks on the diagonal.
    pub diagonal: Vec<Block>,
    /// Blocks right of the diagonal; the last is not used.
    pub upper: Vec<Block>,
}

impl Matrix {
    /// Makes room for `n` rows.
    pub fn resize(&mut self, n: usize) {
        for blocks in [&mut self.lower, &mut self.diagonal, &mut self.upper] {
            blocks.clear();
            blocks.resize(n, ZERO);
        }
    }
}

/// What one row needs when a right-hand side is solved.
#[derive(Clone, Copy, Debug)]
struct Row {
    /// Multiplier of the neighbour that was eliminated before this row.
    from: Block,
    /// Inverse of the eliminated diagonal block.
    inverse: Block,
    /// inverse × the block towards the middle.
    onward: Block,
}

/// The eliminated matrix; reused from step to step.
#[derive(Clone, Debug, Default)]
pub struct Factors {
    rows: Vec<Row>,
    /// The middle row also has a neighbour above that was eliminated.
    from_above: Block,
}

impl Factors {
    /// Makes room for `n` rows; `n` must be odd and at least 3.
    pub fn resize(&mut self, n: usize) {
        debug_assert!(
            n >= 3 && n % 2 == 1,
            "an odd number of rows has a middle one"
        );
        let empty = Row {
            from: ZERO,
            inverse: ZERO,
            onward: ZERO,
        };
        self.rows.clear();
        self.rows.resize(n, empty);
    }

    /// One pass of refinement: solves for what `y` left over of `rhs`, and adds it to `y`. `spare` takes the rest.
    ///
    /// Without pivoting the elimination may lose digits where neighbours are coupled far more strongly than
    /// they hold; one pass gets them back.
    #[inline(always)]
    pub fn refine(
        &self,
        matrix: &Matrix,
        shift: f64,
        rhs: &[[f64; 2]],
        y: &mut [[f64; 2]],
        spare: &mut [[f64; 2]],
    ) {
        let n = self.rows.len();
        for i in 0..n {
            let mut left = [
                (-shift).mul_add(y[i][0], rhs[i][0]),
                (-shift).mul_add(y[i][1], rhs[i][1]),
            ];
            left = less(left, &matrix.diagonal[i], y[i]);
            if i > 0 {
                left = less(left, &matrix.lower[i], y[i - 1]);
            }
            if i + 1 < n {
                left = less(left, &matrix.upper[i], y[i + 1]);
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
    pub fn eliminate(&mut self, matrix: &Matrix, shift: f64) {
        let n = self.rows.len();
        let middle = n / 2;
        let (lower, diagonal, upper) = (
            &matrix.lower[..n],
            &matrix.diagonal[..n],
            &matrix.upper[..n],
        );
        let shifted = |i: usize| {
            let d = &diagonal[i];
            [d[0] + shift, d[1], d[2], d[3] + shift]
        };
        let (up, down) = self.rows.split_at_mut(middle + 1);
        let first = inverse(&shifted(0));
        let last = inverse(&shifted(n - 1));
        up[0] = Row {
            from: ZERO,
            inverse: first,
            onward: times(&first, &upper[0]),
        };
        down[middle - 1] = Row {
            from: ZERO,
            inverse: last,
            onward: times(&last, &lower[n - 1]),
        };
        for i in 1..middle {
            let j = n - 1 - i;
            let (before, after) = (up[i - 1], down[j - middle]);
            let d_up = inverse(&less_product(&shifted(i), &lower[i], &before.onward));
            let d_down = inverse(&less_product(&shifted(j), &upper[j], &after.onward));
            up[i] = Row {
                from: times(&lower[i], &before.inverse),
                inverse: d_up,
                onward: times(&d_up, &upper[i]),
            };
            down[j - middle - 1] = Row {
                from: times(&upper[j], &after.inverse),
                inverse: d_down,
                onward: times(&d_down, &lower[j]),
            };
        }
        let (below, above) = (up[middle - 1], down[0]);
        let d = less_product(&shifted(middle), &lower[middle], &below.onward);
        let d = less_product(&d, &upper[middle], &above.onward);
        up[middle] = Row {
            from: times(&lower[middle], &below.inverse),
            inverse: inverse(&d),
            onward: ZERO,
        };
        self.from_above = times(&upper[middle], &above.inverse);
    }

    /// Solves for one right-hand side, in place; the two unknowns of a row lie side by side.
    #[inline(always)]
    pub fn solve(&self, y: &mut [[f64; 2]]) {
        let n = self.rows.len();
        let middle = n / 2;
        let rows = &self.rows[..n];
        let y = &mut y[..n];
        #[inline(always)]
        fn apply(m: &Block, b: [f64; 2]) -> [f64; 2] {
            [
                m[0].mul_add(b[0], m[1] * b[1]),
                m[2].mul_add(b[0], m[3] * b[1]),
            ]
        }
        let (mut a, mut b) = (y[0], y[n - 1]);
        for i in 1..middle {
            let j = n - 1 - i;
            a = less(y[i], &rows[i].from, a);
            b = less(y[j], &rows[j].from, b);
            y[i] = a;
            y[j] = b;
        }
        let centre = less(less(y[middle], &rows[middle].from, a), &self.from_above, b);
        let centre = apply(&rows[middle].inverse, centre);
        y[middle] = centre;
        let (mut a, mut b) = (centre, centre);
        for i in (0..middle).rev() {
            let j = n - 1 - i;
            a = less(apply(&rows[i].inverse, y[i]), &rows[i].onward, a);
            b = less(apply(&rows[j].inverse, y[j]), &rows[j].onward, b);
            y[i] = a;
            y[j] = b;
        }
    }
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
                for k in 0..4 {
                    matrix.lower[i][k] = number(i, k);
                    matrix.upper[i][k] = number(i, k + 9);
                    matrix.diagonal[i][k] = number(i, k + 20);
                }
            }
            let shift = 6.0;
            let truth: Vec<[f64; 2]> = (0..n).map(|i| [number(i, 50), number(i, 60)]).collect();
            let product =
                |m: &Block, v: [f64; 2]| [m[0] * v[0] + m[1] * v[1], m[2] * v[0] + m[3] * v[1]];
            let mut y: Vec<[f64; 2]> = (0..n)
                .map(|i| {
                    let mut sum = product(&matrix.diagonal[i], truth[i]);
                    for k in 0..2 {
                        sum[k] += shift * truth[i][k];
                        if i > 0 {
                            sum[k] += product(&matrix.lower[i], truth[i - 1])[k];
                        }
                        if i + 1 < n {
                            sum[k] += product(&matrix.upper[i], truth[i + 1])[k];
                        }
                    }
                    sum
                })
                .collect();
            let mut factors = Factors::default();
            factors.resize(n);
            factors.eliminate(&matrix, shift);
            factors.solve(&mut y);
            for (found, wanted) in y.iter().zip(&truth) {
                assert!((found[0] - wanted[0]).abs() < 1e-13);
                assert!((found[1] - wanted[1]).abs() < 1e-13);
            }
        }
    }
}
