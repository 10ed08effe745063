//! What the findings of a study are called: this crate's own list, and that of the whole chain.

use measure::Listed;

measure::codes! {
    /// What a finding about a treatment worked through is called.
    pub enum Code {
        // The run.
        /// A material's water uptake isn't known, so the need is without it.
        WaterUptakeUnknown = "water-uptake-unknown",
        /// The bake isn't told how the piece rises.
        RiseNotModelled = "rise-not-modelled",
        /// What dissolves of a material isn't known, so water activity is lower by an unknown amount.
        SoluteUnknown = "solute-unknown",
        /// How moist the treat gets in its pack isn't known, so the label is that of the day of packing.
        LabelAsPacked = "label-as-packed",
        /// The treat takes up or gives off water in its pack, and mass and energy move with it.
        MoistureInThePack = "moisture-in-the-pack",
        /// The time that is set leaves the piece wetter than its target.
        TargetMissedAtSetTime = "target-missed-at-set-time",
        /// No time that is tried brings the piece to its target.
        TargetNotReached = "target-not-reached",
        /// A cost isn't written, so the sum is told as at least.
        CostNotWritten = "cost-not-written",
        /// A price is the built-in, invented one.
        PriceInvented = "price-invented",
        /// What was learned was learned under another version of the bake's arithmetic.
        LearnedUnderAnotherModel = "learned-under-another-model",
        /// What was learned of the dough was learned on another one.
        LearnedOfAnotherDough = "learned-of-another-dough",
        /// What was learned of a zone has no such zone here.
        LearnedZoneMissing = "learned-zone-missing",
        /// A setting is beyond what the model was tested with.
        BeyondWhatWasTested = "beyond-what-was-tested",

        // After the oven.
        /// Being dry doesn't make a biscuit safe.
        DryIsNotSafe = "dry-is-not-safe",
        /// What may grow in the pack isn't known.
        GrowthUnknown = "growth-unknown",
        /// An elastic crumb would crack.
        CheckingIndexAboveOne = "checking-index-above-one",
        /// The piece is packed above the limit of crispness.
        PackedAboveCrispness = "packed-above-crispness",

        // The piece and its whole bake.
        /// Not one piece fits on the roll.
        FitsNoRoll = "fits-no-roll",
        /// The quick answer and that of the whole piece lie apart.
        EdgeCorrectionOff = "edge-correction-off",
        /// A place in the piece never reaches 90 °C.
        APlaceStaysBelow90 = "a-place-stays-below-90",
        /// The kill of the whole piece is a hint, no proof.
        KillIsAHint = "kill-is-a-hint",
    }
}

/// Every code that a finding can have, of all the crates up to this one.
///
/// ```
/// let words: std::collections::BTreeSet<_> = study::codes().map(|c| c.word()).collect();
/// assert_eq!(words.len(), study::codes().count(), "a word stands in two lists");
/// assert!(words.contains("target-not-reached") && words.contains("hops"));
/// ```
pub fn codes() -> impl Iterator<Item = measure::Code> {
    fn of<L: Listed>() -> impl Iterator<Item = measure::Code> {
        L::ALL.iter().map(|code| (*code).into())
    }
    of::<formula::Code>()
        .chain(of::<baking::Code>())
        .chain(of::<trials::Code>())
        .chain(of::<Code>())
}
