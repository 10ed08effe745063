//! What harms people and animals whatever is in a formula; dust and heat are told with the line.

use measure::{Finding, Severity};

/// Raw dough, and feeding hard pieces.
///
/// ```
/// let codes: Vec<_> = formula::cautions::always().iter().map(|f| f.code.to_string()).collect();
/// assert_eq!(codes, ["raw-dough", "feeding"]);
/// ```
pub fn always() -> [Finding; 2] {
    let note =
        |code: &str, about: &str, message: &str| Finding::new(Severity::Note, code, about, message);
    [
        note(
            "raw-dough",
            "dough.moisture_pct",
            "Raw flour and raw dough can carry E. coli and Salmonella; yeast dough goes on fermenting.",
        )
        .help("Don't taste it, feed none of it to an animal, wash hands, keep raw and baked apart.")
        .source("public health warnings, seen"),
        note(
            "feeding",
            "label.feeding",
            "Hard pieces can choke or break teeth.",
        )
        .help(
            "Say on the pack: supervise your pet, break for small animals, give fresh water, wash hands, keep dry.",
        )
        .source("common practice, no source"),
    ]
}
