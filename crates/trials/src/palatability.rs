//! Which food the dogs prefer: two bowls, first choice, ranking.
//!
//! The dog is the experimental unit. Two days with the bowls changed over are one trial of a dog
//! and are averaged before anything is tested.

mod first_choice;
mod from_table;
mod ranking;
mod rows;
mod two_bowl;

pub use first_choice::{FirstChoices, MinimumNumber, even_split_p, minimum_numbers};
pub use from_table::{ranking_of, two_bowl_of};
pub use ranking::{FriedmanTest, RankedFood, RankedPair, Ranking, bradley_terry, ranking};
pub use rows::{BowlRow, BowlRules, Food, PalatabilityError, read_rows};
pub use two_bowl::{LeftOut, MeanTest, SignedRanks, TwoBowl, two_bowl};

use measure::rounding::significant;

/// A probability as "1 in so many".
fn how_often(p: f64) -> String {
    if p < 1e-4 {
        "fewer than 1 in 10 000".to_owned()
    } else {
        format!("1 in {}", significant(1.0 / p, 2))
    }
}
