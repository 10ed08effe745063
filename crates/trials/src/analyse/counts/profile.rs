//! Limits of a difference by the likelihood along it, where a share at its edge leaves curvature nothing to tell.

use crate::analyse::ComparisonLine;
use crate::analyse::structure::Laid;
use crate::stats::design::Factor;
use crate::stats::distribution::root_between;
use crate::stats::quasi::{Family, fit};

/// The penalised likelihood along one difference.
pub(super) struct Profile<'a> {
    pub laid: &'a Laid,
    pub combined: &'a Factor,
    pub counts: (&'a [f64], &'a [f64]),
    pub family: Family,
    pub dispersion: f64,
}

impl Profile<'_> {
    /// Columns in which the difference of `a` from `b` is a coefficient of its own: the last.
    fn columns(&self, a: usize, b: usize) -> Vec<Vec<f64>> {
        let rows = self.combined.codes.len();
        let dummy = |codes: &[usize], level: usize| -> Vec<f64> {
            codes
                .iter()
                .map(|&c| f64::from(u8::from(c == level)))
                .collect()
        };
        let mut out = vec![vec![1.0; rows]];
        for block in &self.laid.blocks {
            out.extend((1..block.levels.len()).map(|l| dummy(&block.codes, l)));
        }
        out.extend(
            (0..self.combined.levels.len())
                .filter(|l| *l != a && *l != b)
                .map(|l| dummy(&self.combined.codes, l)),
        );
        out.push(dummy(&self.combined.codes, a));
        out
    }

    /// Fall of twice the penalised log likelihood when the difference is held, over the spread.
    pub(super) fn fall(&self, a: usize, b: usize, held: f64) -> f64 {
        let columns = self.columns(a, b);
        let (k, n) = self.counts;
        let top = fit(self.family, &columns, k, n, true, None);
        let at = fit(
            self.family,
            &columns,
            k,
            n,
            true,
            Some((columns.len() - 1, held)),
        );
        2.0 * (top.penalised_ln_likelihood - at.penalised_ln_likelihood).max(0.0) / self.dispersion
    }

    /// Puts the profile's limits in place of the curvature's.
    pub(super) fn limits(&self, line: &mut ComparisonLine, edge: &[usize]) {
        let level = |name: &str| self.combined.levels.iter().position(|l| l == name);
        let (Some(a), Some(b)) = (level(&line.a), level(&line.b)) else {
            return;
        };
        let (Some(low), Some(high)) = (line.low95, line.high95) else {
            return;
        };
        if !edge.contains(&a) && !edge.contains(&b) {
            return;
        }
        let critical = 0.5 * (high - low) / line.se;
        let depth = |held: f64| self.fall(a, b, held) - critical * critical;
        let find = |way: f64| {
            let mut reach = 1.0;
            while reach < 60.0 && depth(line.difference + way * reach) < 0.0 {
                reach *= 2.0;
            }
            let far = line.difference + way * reach;
            let root = root_between(|x| depth(line.difference + way * x), 0.0, reach);
            if depth(far) < 0.0 {
                far
            } else {
                line.difference + way * root
            }
        };
        line.low95 = Some(find(-1.0));
        line.high95 = Some(find(1.0));
    }
}
