//! What harms people and animals whatever is in a formula; dust and heat are told with the line.

use crate::Code;
use measure::{Finding, Severity};

/// Raw dough, and feeding hard pieces.
///
/// ```
/// let codes: Vec<_> = formula::cautions::always().iter().map(|f| f.code.word()).collect();
/// assert_eq!(codes, ["raw-dough", "feeding"]);
/// ```
pub fn always() -> [Finding; 2] {
    let note =
        |code: Code, about: &str, message: &str| Finding::new(Severity::Note, code, about, message);
    [
        note(
            Code::RawDough,
            "dough.moisture_pct",
            "Raw flour and raw dough can carry E. coli and Salmonella; yeast dough goes on fermenting.",
        )
        .help("Don't taste it, feed none of it to an animal, wash hands, keep raw and baked apart.")
        .source("public health warnings, seen"),
        note(
            Code::Feeding,
            "label.feeding",
            "Hard pieces can choke or break teeth.",
        )
        .help(
            "Say on the pack: supervise your pet, break for small animals, give fresh water, wash hands, keep dry.",
        )
        .source("common practice, no source"),
    ]
}
