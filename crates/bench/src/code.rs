//! The one list of what the findings of this crate are called.

measure::codes! {
    /// What a finding about a batch or a trial is called.
    pub enum Code {
        /// Water was dosed after the dough had been called right.
        DoseAfterRight = "dose-after-right",
        /// More pieces were counted than were cut.
        CountsBeyondCut = "counts-beyond-cut",
        /// A count was taken back below nothing.
        CountBelowNothing = "count-below-nothing",
        /// A tray left the oven before it went in.
        OutBeforeIn = "out-before-in",
        /// A tray left the oven that never went in.
        OutWithoutIn = "out-without-in",
        /// A value lies beyond what is plausible, and nobody has confirmed it.
        BeyondPlausible = "beyond-plausible",
        /// A value lies beyond what is plausible, and was confirmed.
        BeyondPlausibleConfirmed = "beyond-plausible-confirmed",
        /// A unit isn't known, or measures something else.
        UnitUnknown = "unit-unknown",
        /// A number was wanted and something else was typed.
        NotANumber = "not-a-number",
        /// A row says something that this list doesn't know.
        WordUnknown = "word-unknown",
        /// A row tells of a place in the batch that can't be read.
        PlaceUnread = "place-unread",
        /// A row that has to say which one it is about doesn't.
        WhichMissing = "which-missing",
        /// A row strikes one through that isn't there.
        StrikesNothing = "strikes-nothing",
        /// A row is struck through without a reason.
        StrikeWithoutReason = "strike-without-reason",
        /// A device's clock runs ahead of the book's.
        ClockAhead = "clock-ahead",
        /// A device's clock runs behind, or it was long out of reach.
        ClockBehind = "clock-behind",
        /// The moment of a row can't be read.
        MomentUnread = "moment-unread",
        /// Rows were written after the batch sheet was signed.
        AfterSigning = "written-after-signing",
        /// The batch was given up.
        Abandoned = "batch-abandoned",
        /// A value is set aside, with a reason.
        SetAside = "value-set-aside",
        /// A value is set aside by a row that names none, or gives no reason.
        SetAsideUnread = "set-aside-unread",
        /// The readings of a probe can't be read.
        CurveUnread = "curve-unread",
        /// Batches of the plan weren't finished.
        BatchesMissing = "batches-missing",
        /// Batches were added after the plan was made.
        BatchesAdded = "batches-added",
        /// A titration lies far off what was believed, and isn't learned from before somebody confirms it.
        TitrationFarOff = "titration-far-off",
    }
}
