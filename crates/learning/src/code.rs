//! The one list of what the findings of this crate are called.

measure::codes! {
    /// What a finding about readings of bakes or a fit to them is called.
    pub enum Code {
        // Readings.
        /// A piece is heavier, or wetter, than the one before it in the same bake.
        MassRises = "mass-rises",
        /// A piece weighs more than before it was baked.
        HeavierThanGreen = "heavier-than-green",
        /// Times of a bake run backwards.
        TimesOutOfOrder = "times-out-of-order",
        /// A probe jumps faster than a piece can warm or cool.
        ProbeJumps = "probe-jumps",
        /// A moisture looks as if it were told per dry solid.
        WrongBasis = "wrong-basis",
        /// A moisture lies above that of the dough.
        WetterThanDough = "wetter-than-dough",
        /// A probe is told to sit outside the piece.
        ProbeOutside = "probe-outside",
        /// A value can't be.
        BeyondPlausible = "beyond-plausible",
        /// A reading lies far off what the whole fit says of it.
        FarOff = "far-off",

        // Fits.
        /// There are fewer readings than parameters.
        FewReadings = "few-readings",
        /// All readings come from one bake, so that differences between bakes are believed and not seen.
        OneBake = "one-bake",
        /// The starts don't end at one place.
        StartsDisagree = "starts-disagree",
        /// A parameter ended far outside what was believed of it.
        RanAway = "ran-away",
        /// Two parameters can't be told apart by these bakes.
        NotToldApart = "not-told-apart",
        /// The readings teach hardly anything.
        LittleLearned = "little-learned",
        /// The posterior isn't what its draws can tell.
        DrawsNotTrusted = "draws-not-trusted",
        /// The fit misses its readings by more than their noise and the model's own error.
        FitsPoorly = "fits-poorly",
        /// The fit was made with another version of the bake's arithmetic.
        OlderModel = "older-model",
    }
}
