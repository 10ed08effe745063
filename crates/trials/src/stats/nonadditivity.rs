//! Tukey's one degree of freedom for nonadditivity: do blocks and treatments multiply?

use super::moments::mean;
use super::one_way::FTest;

/// The test on a complete `table[block][treatment]`; none when too small or one margin is flat.
///
/// - Equation: SS₁ = (Σ aᵢ bⱼ yᵢⱼ)²/(Σa² Σb²), F = SS₁/((SS_rest − SS₁)/ν)
/// - Units: \[as the values\], F and p \[1\]
/// - Valid: complete tables of two ways
/// - Source: Tukey 1949 (from memory, to be confirmed)
///
/// ```
/// use trials::stats::nonadditivity::nonadditivity;
/// // Blocks that multiply treatments are found out; the log of them adds.
/// let table: Vec<Vec<f64>> = [1.0, 2.0, 4.0].iter().map(|b| [3.0, 5.0, 9.1].iter().map(|t| b * t + 0.01 * b * b).collect()).collect();
/// assert!(nonadditivity(&table).unwrap().p < 1e-3);
/// ```
pub fn nonadditivity(table: &[Vec<f64>]) -> Option<FTest> {
    let b = table.len();
    let t = table.first()?.len();
    if b < 2 || t < 2 || (b - 1) * (t - 1) < 2 || table.iter().any(|row| row.len() != t) {
        return None;
    }
    let all: Vec<f64> = table.concat();
    let grand = mean(&all)?;
    let rows: Vec<f64> = table
        .iter()
        .map(|r| Some(mean(r)? - grand))
        .collect::<Option<_>>()?;
    let columns: Vec<f64> = (0..t)
        .map(|j| Some(mean(&table.iter().map(|r| r[j]).collect::<Vec<_>>())? - grand))
        .collect::<Option<_>>()?;
    let squares = |v: &[f64]| v.iter().map(|x| x * x).sum::<f64>();
    let below = squares(&rows) * squares(&columns);
    if below <= 0.0 {
        return None;
    }
    let mut product = 0.0;
    let mut rest = 0.0;
    for (i, row) in table.iter().enumerate() {
        for (j, y) in row.iter().enumerate() {
            product += rows[i] * columns[j] * (y - grand);
            rest += (y - grand - rows[i] - columns[j]).powi(2);
        }
    }
    let one = product * product / below;
    let df = ((b - 1) * (t - 1) - 1) as f64;
    Some(FTest::new(one / ((rest - one) / df), 1.0, df))
}
