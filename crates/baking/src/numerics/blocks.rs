//! 2×2 blocks and pairs of unknowns, several side by side, so that every operation is one on all of them.

#![allow(
    clippy::needless_range_loop,
    reason = "loops over lanes by index are what vectorises"
)]

/// N blocks: each entry, row by row, of all of them.
pub(crate) type Blocks<const N: usize> = [[f64; N]; 4];

/// N pairs of unknowns.
pub(crate) type Pairs<const N: usize> = [[f64; N]; 2];

/// m·v.
#[inline(always)]
pub(crate) fn times<const N: usize>(m: &Blocks<N>, v: &Pairs<N>) -> Pairs<N> {
    let mut out = [[0.0; N]; 2];
    for l in 0..N {
        out[0][l] = m[0][l].mul_add(v[0][l], m[1][l] * v[1][l]);
        out[1][l] = m[2][l].mul_add(v[0][l], m[3][l] * v[1][l]);
    }
    out
}

/// a − m·v.
#[inline(always)]
pub(crate) fn less<const N: usize>(a: &Pairs<N>, m: &Blocks<N>, v: &Pairs<N>) -> Pairs<N> {
    let mut out = [[0.0; N]; 2];
    for l in 0..N {
        out[0][l] = (-m[1][l]).mul_add(v[1][l], (-m[0][l]).mul_add(v[0][l], a[0][l]));
        out[1][l] = (-m[3][l]).mul_add(v[1][l], (-m[2][l]).mul_add(v[0][l], a[1][l]));
    }
    out
}

/// a·b.
#[inline(always)]
pub(crate) fn product<const N: usize>(a: &Blocks<N>, b: &Blocks<N>) -> Blocks<N> {
    let [left, right] = [times(a, &[b[0], b[2]]), times(a, &[b[1], b[3]])];
    [left[0], right[0], left[1], right[1]]
}

/// a − b·c.
#[inline(always)]
pub(crate) fn less_product<const N: usize>(
    a: &Blocks<N>,
    b: &Blocks<N>,
    c: &Blocks<N>,
) -> Blocks<N> {
    let left = less(&[a[0], a[2]], b, &[c[0], c[2]]);
    let right = less(&[a[1], a[3]], b, &[c[1], c[3]]);
    [left[0], right[0], left[1], right[1]]
}

/// Each block times a number of its own.
#[inline(always)]
pub(crate) fn scaled<const N: usize>(a: &Blocks<N>, by: &[f64; N]) -> Blocks<N> {
    let mut out = [[0.0; N]; 4];
    for l in 0..N {
        out[0][l] = a[0][l] * by[l];
        out[1][l] = a[1][l] * by[l];
        out[2][l] = a[2][l] * by[l];
        out[3][l] = a[3][l] * by[l];
    }
    out
}

/// The inverse as (adjugate, one over the determinant): their product is left to the caller, who may have other
/// work for the adjugate while the division is under way.
#[inline(always)]
pub(crate) fn inverse<const N: usize>(a: &Blocks<N>) -> (Blocks<N>, [f64; N]) {
    let (mut adjugate, mut over) = ([[0.0; N]; 4], [0.0; N]);
    for l in 0..N {
        adjugate[0][l] = a[3][l];
        adjugate[1][l] = -a[1][l];
        adjugate[2][l] = -a[2][l];
        adjugate[3][l] = a[0][l];
        over[l] = 1.0 / a[0][l].mul_add(a[3][l], -(a[1][l] * a[2][l]));
    }
    (adjugate, over)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inverse_undoes_its_block() {
        let blocks = [[4.0, 0.5], [-1.0, 2.0], [0.25, -3.0], [2.0, 1.5]];
        let (adjugate, over) = inverse(&blocks);
        let one = product(&scaled(&adjugate, &over), &blocks);
        let wanted = [[1.0; 2], [0.0; 2], [0.0; 2], [1.0; 2]];
        let gap = less_product(&wanted, &scaled(&adjugate, &over), &blocks);
        for (entry, (one, wanted)) in gap.iter().zip(one.iter().zip(wanted)) {
            for l in 0..2 {
                assert!((one[l] - wanted[l]).abs() < 1e-15 && entry[l].abs() < 1e-15);
            }
        }
        let v = [[3.0, -1.0], [0.5, 2.0]];
        let back = times(&adjugate, &times(&blocks, &v));
        let rest = less(&v, &scaled(&adjugate, &over), &times(&blocks, &v));
        for k in 0..2 {
            for l in 0..2 {
                assert!((back[k][l] * over[l] - v[k][l]).abs() < 1e-14 && rest[k][l].abs() < 1e-14);
            }
        }
    }
}
