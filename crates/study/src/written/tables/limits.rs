//! Limits that a treatment has to keep.

use super::NOTE;
use crate::compare::Figure;
use crate::written::typed::table;
use crate::written::word::word;

table! {
    /// A limit.
    LIMIT, LimitRow = "limit",
        "What a treatment has to keep: a figure of the knock-on that may be at most or at least so much. It is told beside every \
         treatment, and what is tried next stays within it.";
    figure: choice(Figure) required, "the figure, by its key in the report";
    at_most: number("", -1e9, 1e9) optional, "the most it may be, in the figure's unit";
    at_least: number("", -1e9, 1e9) optional, "the least it may be, in the figure's unit";
    probability_pct: number("%", 50.0, 99.9) optional,
        "how surely it has to be kept, by the limits of the figure; unless written its best value has to keep it";
    reason: text(NOTE) optional, "why";
}

word! {
    Figure: |f| f.about().key;
}
