//! What one's own bakes and doughs taught, taken up by a study.

use super::NAME;
use crate::written::typed::table;
use crate::written::word::word;
use learning::Parameter;

/// Most numbers of the bake that are learned at once: each of the twelve in each zone would be more than any bakes tell.
const MOST_FACTORS: usize = 40;
/// Most materials whose uptake is learned at once.
const MOST_UPTAKES: usize = 60;

table! {
    /// What was learned.
    LEARNED, LearnedRow = "learned",
        "What your own bakes and doughs taught, as it was taken up: effective numbers of this product in this oven, with how \
         sure they are. It is written by `hardtack oven take-up`, `hardtack learn` and the page Own oven.";
    take_up: flag() optional,
        "false leaves what was learned out, for a treatment that is baked elsewhere or of another dough";
    bake: table(LEARNED_BAKE, LearnedBakeRow) optional, "numbers of the bake";
    water: table(LEARNED_WATER, LearnedWaterRow) optional, "water that the materials take";
    whole: table(LEARNED_WHOLE, LearnedWholeRow) optional, "whether pieces leave the cutter whole";
}

table! {
    /// Numbers of the bake.
    LEARNED_BAKE, LearnedBakeRow = "learned bake",
        "A fit to weighed and measured bakes. One made under another version of the bake's arithmetic isn't used: it is made \
         anew from its bakes.";
    fit: text(NAME) required, "name of the fit";
    from: text(NAME) required, "what it stands on, as \"6 readings of 2 bakes\"";
    treatment: id() required, "the treatment that was baked";
    made: text(40) required, "when";
    model_version: whole(0.0, 1e6) required, "version of the bake's arithmetic it was made with";
    factors: lines(LEARNED_FACTOR, LearnedFactorRow, MOST_FACTORS) required, "what was learned, one number a line";
    together: lines(TOGETHER, TogetherRow, MOST_FACTORS * MOST_FACTORS) optional,
        "correlations of the lines above; 0 where none is written";
}

table! {
    /// A number of the bake.
    LEARNED_FACTOR, LearnedFactorRow = "learned factor", "A factor on the best value of a number of the bake.";
    on: choice(Parameter) required, "which number";
    zone: whole(1.0, 20.0) optional, "its zone; the whole oven unless written";
    place: number("", -20.0, 20.0) required,
        "logarithm of the factor; for a share between 0 and 1 the shift of its log-odds";
    sd: number("", 0.0, 20.0) required, "standard deviation of the place";
}

table! {
    /// Two that go together.
    TOGETHER, TogetherRow = "together", "Correlation of two lines after what was learned.";
    first: whole(1.0, 60.0) required, "number of one line";
    second: whole(1.0, 60.0) required, "number of the other";
    correlation: number("", -1.0, 1.0) required, "their correlation";
}

table! {
    /// Water that the materials take.
    LEARNED_WATER, LearnedWaterRow = "learned water",
        "What titrations taught of the water that each material takes and the forming likes.";
    from: text(NAME) required, "what it stands on, as \"8 titrations in 2 blocks\"";
    uptakes: lines(LEARNED_UPTAKE, LearnedUptakeRow, MOST_UPTAKES) required, "what was learned, a material a line";
    together: lines(TOGETHER, TogetherRow, MOST_UPTAKES * MOST_UPTAKES) optional,
        "correlations of the lines above; 0 where none is written";
}

table! {
    /// What a material takes.
    LEARNED_UPTAKE, LearnedUptakeRow = "learned uptake", "The water a material takes.";
    of: text(NAME) required, "name of the material, or \"forming\"";
    mean: number("kg water/kg", -50.0, 50.0) required,
        "water per kg of it; of the forming: kg per 100 kg dry mix. At 500 farinograph units.";
    sd: number("kg water/kg", 0.0, 50.0) required, "standard deviation";
}

table! {
    /// Whether pieces leave the cutter whole.
    LEARNED_WHOLE, LearnedWholeRow = "learned whole",
        "What counts of whole and broken pieces taught: the log-odds that a piece leaves the cutter whole.";
    from: text(NAME) required, "what it stands on, as \"12 counts in 3 blocks\"";
    level: number("", -20.0, 20.0) required, "log-odds at the water the dough needs";
    level_sd: number("", 0.0, 20.0) required, "its standard deviation";
    off_water: number("", -20.0, 20.0) required, "change per tenth of the water off the need";
    off_water_sd: number("", 0.0, 20.0) required, "its standard deviation";
    correlation: number("", -1.0, 1.0) or(0.0), "correlation of the two";
}

word! {
    Parameter: Parameter::word;
}
