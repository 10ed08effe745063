//! Pieces within batches: what more of them can and cannot buy.

use super::PowerError;

/// How much less m pieces of one batch tell than m independent ones: 1 + (m − 1)·ρ, ρ being the
/// share of the variance that lies between batches (Kish's design effect, textbook algebra).
///
/// - Equation: 1 + (m − 1) ρ
/// - Units: m \[pieces\], ρ \[share\], result \[1\]
/// - Valid: one piece or more, ρ from 0 to 1
/// - Source: Kish 1965 (from memory, to be confirmed); the example by hand
///
/// ```
/// // 50 pieces of a batch with a tenth of the variance between batches count as 8.5 pieces.
/// assert!((50.0 / trials::power::design_effect(50, 0.1) - 8.474_576).abs() < 1e-6);
/// ```
pub fn design_effect(pieces_per_batch: usize, between_batches: f64) -> f64 {
    1.0 + (pieces_per_batch.max(1) - 1) as f64 * between_batches
}

/// Standard deviation of a batch mean: √(between² + within²/m). More pieces per batch only shrink the
/// second part; the first shrinks with more batches alone.
///
/// - Equation: √(b² + w²/m)
/// - Units: spreads \[as the response\], m \[pieces\]
/// - Valid: one piece or more
/// - Source: textbook; 3 and 4 make 5
///
/// ```
/// use trials::power::batch_mean_sd;
/// assert!((batch_mean_sd(3.0, 4.0, 1) - 5.0).abs() < 1e-12);
/// assert!(batch_mean_sd(3.0, 4.0, 1000) > 3.0);
/// ```
pub fn batch_mean_sd(between_sd: f64, within_sd: f64, pieces: usize) -> f64 {
    (between_sd * between_sd + within_sd * within_sd / pieces.max(1) as f64).sqrt()
}

/// The pieces to measure per batch that give the surest mean for the money:
/// √(cost of a batch/cost of a piece)·within/between, at least 1 (textbook allocation).
///
/// - Equation: m = √(c_batch/c_piece) · w/b
/// - Units: spreads \[as the response\], costs \[money\]
/// - Valid: spreads and costs above 0
/// - Source: optimal allocation, textbook; 10 · 2 by hand
///
/// ```
/// // A batch costs as much as 100 pieces measured; pieces vary twice as much as batches.
/// assert_eq!(trials::power::pieces_per_batch(1.0, 2.0, 100.0, 1.0).unwrap(), 20);
/// ```
///
/// # Errors
/// Spreads or costs that are not above 0.
pub fn pieces_per_batch(
    between_sd: f64,
    within_sd: f64,
    batch_cost: f64,
    piece_cost: f64,
) -> Result<usize, PowerError> {
    for (name, value) in [
        ("spread between batches", between_sd),
        ("spread within a batch", within_sd),
        ("cost of a batch", batch_cost),
        ("cost of a piece", piece_cost),
    ] {
        if !(value > 0.0 && value.is_finite()) {
            return Err(PowerError::Value {
                name,
                value,
                allowed: "above 0",
            });
        }
    }
    let best = (batch_cost / piece_cost).sqrt() * within_sd / between_sd;
    Ok((best.round() as usize).max(1))
}
