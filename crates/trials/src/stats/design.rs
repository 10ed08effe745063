//! Factors, terms and the columns they become.

use std::collections::HashMap;

/// A factor: its name, its levels in order, and the level of every row.
#[derive(Clone, Debug, PartialEq)]
pub struct Factor {
    /// Name, as in the data.
    pub name: String,
    /// Levels in the order shown.
    pub levels: Vec<String>,
    /// Index into `levels`, one per row.
    pub codes: Vec<usize>,
}

impl Factor {
    /// A factor from one label per row; levels in order of first appearance, or by number when
    /// every label is a number.
    pub fn new(name: impl Into<String>, labels: &[impl AsRef<str>]) -> Self {
        let mut seen: HashMap<&str, usize> = HashMap::new();
        let mut levels: Vec<String> = Vec::new();
        let codes: Vec<usize> = labels
            .iter()
            .map(|label| {
                let label = label.as_ref();
                *seen.entry(label).or_insert_with(|| {
                    levels.push(label.to_owned());
                    levels.len() - 1
                })
            })
            .collect();
        Self::in_order(name, levels, codes)
    }

    /// A factor from levels in order of first appearance and the code of every row; the levels are
    /// put in the order of their numbers when every one is a number.
    pub fn in_order(
        name: impl Into<String>,
        mut levels: Vec<String>,
        mut codes: Vec<usize>,
    ) -> Self {
        let numbers: Option<Vec<f64>> = levels.iter().map(|l| l.parse().ok()).collect();
        if let Some(numbers) = numbers {
            let mut order: Vec<usize> = (0..levels.len()).collect();
            order.sort_by(|&a, &b| numbers[a].total_cmp(&numbers[b]));
            let mut place = vec![0; order.len()];
            for (to, &from) in order.iter().enumerate() {
                place[from] = to;
            }
            levels = order
                .iter()
                .map(|&i| std::mem::take(&mut levels[i]))
                .collect();
            for code in &mut codes {
                *code = place[*code];
            }
        }
        Self {
            name: name.into(),
            levels,
            codes,
        }
    }

    /// The factor over some of the rows, levels kept that still occur.
    #[must_use]
    pub fn rows(&self, rows: &[usize]) -> Self {
        let mut used = vec![false; self.levels.len()];
        for &row in rows {
            used[self.codes[row]] = true;
        }
        let mut place = vec![0; self.levels.len()];
        let mut levels = Vec::new();
        for (i, level) in self.levels.iter().enumerate() {
            if used[i] {
                place[i] = levels.len();
                levels.push(level.clone());
            }
        }
        Self {
            name: self.name.clone(),
            levels,
            codes: rows.iter().map(|&r| place[self.codes[r]]).collect(),
        }
    }

    /// How many rows each level has.
    pub fn counts(&self) -> Vec<usize> {
        let mut counts = vec![0; self.levels.len()];
        for &code in &self.codes {
            counts[code] += 1;
        }
        counts
    }
}

/// The combinations of several factors, counted: each row's, and a row of each combination, in the
/// order of the factors' levels.
pub fn crossed(factors: &[&Factor]) -> (Vec<usize>, Vec<usize>) {
    let rows = factors.first().map_or(0, |f| f.codes.len());
    let mut codes = vec![0; rows];
    let mut firsts: Vec<usize> = if rows > 0 { vec![0] } else { Vec::new() };
    for factor in factors {
        let levels = factor.levels.len();
        // Pairs of what was counted so far with this factor, numbered densely again.
        let pair = |row: usize, so_far: usize| so_far * levels + factor.codes[row];
        let all = firsts.len() * levels;
        if all <= 4 * rows + 1024 {
            let mut place = vec![usize::MAX; all];
            for (row, code) in codes.iter_mut().enumerate() {
                *code = pair(row, *code);
                place[*code] = place[*code].min(row);
            }
            firsts.clear();
            for at in place.iter_mut().filter(|at| **at != usize::MAX) {
                firsts.push(*at);
                *at = firsts.len() - 1;
            }
            for code in &mut codes {
                *code = place[*code];
            }
        } else {
            let mut order: Vec<(usize, usize)> =
                (0..rows).map(|row| (pair(row, codes[row]), row)).collect();
            order.sort_unstable();
            firsts.clear();
            let mut last = usize::MAX;
            for (key, row) in order {
                if key != last {
                    firsts.push(row);
                    last = key;
                }
                codes[row] = firsts.len() - 1;
            }
        }
    }
    (codes, firsts)
}

/// The factor whose levels are the combinations of several, in their order.
pub fn cross(factors: &[&Factor]) -> Factor {
    let (codes, firsts) = crossed(factors);
    let join = |words: &mut dyn Iterator<Item = &str>| -> String {
        let mut out = String::new();
        for (i, word) in words.enumerate() {
            if i > 0 {
                out.push(':');
            }
            out.push_str(word);
        }
        out
    };
    Factor {
        name: join(&mut factors.iter().map(|f| f.name.as_str())),
        levels: firsts
            .iter()
            .map(|&row| join(&mut factors.iter().map(|f| f.levels[f.codes[row]].as_str())))
            .collect(),
        codes,
    }
}

/// How a factor's levels become columns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Coding {
    /// Each level against the first.
    Reference,
    /// Each level against the mean of all (sum to zero), which type III sums of squares need.
    SumToZero,
}

/// A linear model of factors: an intercept and terms, each a set of factors.
#[derive(Clone, Debug)]
pub struct Design {
    /// The factors.
    pub factors: Vec<Factor>,
    /// The terms, each the indices of its factors, main effects before their interactions.
    pub terms: Vec<Vec<usize>>,
    /// How levels become columns.
    pub coding: Coding,
}

impl Design {
    /// All main effects and all interactions up to `order` factors.
    pub fn factorial(factors: Vec<Factor>, order: usize, coding: Coding) -> Self {
        let terms = interactions(&(0..factors.len()).collect::<Vec<_>>(), order);
        Self {
            factors,
            terms,
            coding,
        }
    }

    /// The name of a term: its factors joined by colons.
    pub fn term_name(&self, term: usize) -> String {
        self.terms[term]
            .iter()
            .map(|&f| self.factors[f].name.as_str())
            .collect::<Vec<_>>()
            .join(":")
    }

    /// The entries of a term in a row with the given level of every factor.
    fn entries(&self, term: &[usize], codes: &[usize]) -> Vec<f64> {
        let mut out = vec![1.0];
        for &f in term {
            let own = self.code(self.factors[f].levels.len(), codes[f]);
            out = own
                .iter()
                .flat_map(|b| out.iter().map(move |a| a * b).collect::<Vec<_>>())
                .collect();
        }
        out
    }

    fn code(&self, levels: usize, code: usize) -> Vec<f64> {
        (1..levels)
            .map(|column| match self.coding {
                Coding::Reference => f64::from(u8::from(code == column)),
                Coding::SumToZero if code == levels - 1 => -1.0,
                Coding::SumToZero => f64::from(u8::from(code + 1 == column)),
            })
            .collect()
    }

    /// The full model row (intercept first) for one level of every factor.
    ///
    /// - Rule: 1, then each term's product of codings
    /// - Units: codes \[counted from 0\], entries \[1\]
    /// - Valid: codes below the number of levels
    /// - Source: definition of sum-to-zero coding
    ///
    /// ```
    /// use trials::stats::design::{Coding, Design, Factor};
    /// let design = Design::factorial(vec![Factor::new("group", &["a", "b"])], 1, Coding::SumToZero);
    /// assert_eq!((design.row(&[0]), design.row(&[1])), (vec![1.0, 1.0], vec![1.0, -1.0]));
    /// ```
    pub fn row(&self, codes: &[usize]) -> Vec<f64> {
        let mut row = vec![1.0];
        for term in &self.terms {
            row.extend(self.entries(term, codes));
        }
        row
    }

    /// The term of every column; none for the intercept.
    pub fn owners(&self) -> Vec<Option<usize>> {
        let mut owners = vec![None];
        for (at, term) in self.terms.iter().enumerate() {
            let size: usize = term
                .iter()
                .map(|&f| self.factors[f].levels.len() - 1)
                .product();
            owners.extend(std::iter::repeat_n(Some(at), size));
        }
        owners
    }

    /// All columns, intercept first.
    ///
    /// - Rule: the rows of all units, turned
    /// - Units: entries \[1\]
    /// - Valid: any design
    /// - Source: as `Design::row`
    ///
    /// ```
    /// use trials::stats::design::{Coding, Design, Factor};
    /// let design = Design::factorial(vec![Factor::new("group", &["a", "b", "b"])], 1, Coding::Reference);
    /// assert_eq!(design.columns(), [[1.0, 1.0, 1.0], [0.0, 1.0, 1.0]]);
    /// ```
    pub fn columns(&self) -> Vec<Vec<f64>> {
        let rows = self.factors.first().map_or(0, |f| f.codes.len());
        let width = self.owners().len();
        let mut columns = vec![Vec::with_capacity(rows); width];
        for row in 0..rows {
            let codes: Vec<usize> = self.factors.iter().map(|f| f.codes[row]).collect();
            for (column, value) in columns.iter_mut().zip(self.row(&codes)) {
                column.push(value);
            }
        }
        columns
    }

    /// The model row of a marginal mean: `fixed` factors at given levels, the others averaged over
    /// their levels with equal weight.
    ///
    /// - Equation: mean of the model rows over all levels of the other factors
    /// - Units: entries \[1\]
    /// - Valid: levels that there are
    /// - Source: definition of marginal means with equal weights (Searle, Speed and Milliken 1980, from memory, to
    ///   be confirmed)
    ///
    /// ```
    /// use trials::stats::design::{Coding, Design, Factor};
    /// let (a, b) = (Factor::new("a", &["1", "1", "2", "2"]), Factor::new("b", &["1", "2", "1", "2"]));
    /// let design = Design::factorial(vec![a, b], 1, Coding::SumToZero);
    /// // The other factor's codings, 1 and −1, average to nothing.
    /// assert_eq!(design.marginal_row(&[(0, 0)]), [1.0, 1.0, 0.0]);
    /// ```
    pub fn marginal_row(&self, fixed: &[(usize, usize)]) -> Vec<f64> {
        let mut total = vec![0.0; self.owners().len()];
        let mut count = 0.0;
        let mut codes = vec![0; self.factors.len()];
        for &(f, level) in fixed {
            codes[f] = level;
        }
        let free: Vec<usize> = (0..self.factors.len())
            .filter(|f| fixed.iter().all(|(g, _)| g != f))
            .collect();
        loop {
            for (t, v) in total.iter_mut().zip(self.row(&codes)) {
                *t += v;
            }
            count += 1.0;
            let mut at = 0;
            while at < free.len() {
                codes[free[at]] += 1;
                if codes[free[at]] < self.factors[free[at]].levels.len() {
                    break;
                }
                codes[free[at]] = 0;
                at += 1;
            }
            if at == free.len() {
                break;
            }
        }
        for t in &mut total {
            *t /= count;
        }
        total
    }
}

/// All sets of up to `order` of the factors, small sets first.
pub fn interactions(factors: &[usize], order: usize) -> Vec<Vec<usize>> {
    let mut terms: Vec<Vec<usize>> = vec![vec![]];
    for &f in factors {
        let more: Vec<Vec<usize>> = terms
            .iter()
            .filter(|t| t.len() < order)
            .map(|t| [t.as_slice(), &[f]].concat())
            .collect();
        terms.extend(more);
    }
    terms.retain(|t| !t.is_empty());
    terms.sort_by_key(|t| (t.len(), t.clone()));
    terms
}
