//! The one list of what the findings of this crate are called.

measure::codes! {
    /// What a finding about a plan, a table, an analysis or a measurement is called.
    pub enum Code {
        // Plans.
        /// The plan leaves nothing to estimate the error from.
        NoErrorEstimate = "no-error-estimate",
        /// The plan leaves few degrees of freedom for the error.
        FewErrorDegrees = "few-error-degrees",
        /// A setting of the plan is outside what was given for its factor.
        SettingOutOfReach = "setting-out-of-reach",
        /// No run of the plan is repeated.
        NoRepeats = "no-repeats",
        /// Main effects can't be told apart from interactions of two factors.
        MainEffectsAliased = "main-effects-aliased",
        /// Water is a part of the mixture, though it follows the other parts.
        WaterAsMixturePart = "water-as-mixture-part",
        /// A bound of a part is never reached, since the other parts' bounds keep it off.
        BoundNeverReached = "bound-never-reached",
        /// The square is a cyclic one, shuffled, which doesn't reach every possible square.
        SquaresReached = "squares-reached",
        /// The sequences aren't used equally often.
        SequencesUneven = "sequences-uneven",

        // The table and its columns.
        /// The table can't be read.
        TableCannotBeRead = "table-cannot-be-read",
        /// A column that is asked for isn't in the table.
        NoSuchColumn = "no-such-column",
        /// A row that is to be left out isn't in the table.
        NoSuchRow = "no-such-row",
        /// A control that is asked for isn't among the treatments.
        NoSuchControl = "no-such-control",
        /// A factor that is asked for isn't among the treatments' columns.
        NoSuchFactor = "no-such-factor",
        /// A cell that has to hold something is empty.
        EmptyCell = "empty-cell",
        /// A column of numbers holds a text.
        TextInNumberColumn = "text-in-number-column",
        /// A number's comma or point means two things.
        DecimalComma = "decimal-comma",
        /// Levels of a column look alike.
        LevelsLookAlike = "levels-look-alike",
        /// Rows without a value are left out.
        MissingValues = "missing-values",
        /// Too few rows are left.
        TooFewRows = "too-few-rows",
        /// A column is used for nothing.
        ColumnsNotUsed = "columns-not-used",
        /// No column looks like the treatment.
        NoTreatment = "no-treatment",
        /// Several columns look like the treatment.
        WhichTreatments = "which-treatments",
        /// There is only one treatment.
        OneTreatment = "one-treatment",
        /// No column tells the units apart.
        NoUnit = "no-unit",
        /// The same label of a unit stands for another unit elsewhere.
        UnitLabelsRepeat = "unit-labels-repeat",
        /// Units seem to be in the table twice.
        DuplicatedUnits = "duplicated-units",
        /// A column splits the rows as another one does, and is left aside.
        SameSplitTwice = "same-split-twice",
        /// A row is left out without a reason.
        ExclusionWithoutReason = "exclusion-without-reason",
        /// Percent and fractions seem to be mixed in a column.
        PercentAgainstFraction = "percent-against-fraction",
        /// A value is outside what is plausible for its kind.
        OutsidePlausibleRange = "outside-plausible-range",
        /// Values by different methods are mixed.
        MethodsMixed = "methods-mixed",
        /// Nothing varies, or nothing is left over that varies.
        ZeroVariance = "zero-variance",

        // What was randomised, and what was only measured.
        /// Each row counts as a unit of its own.
        EachRowAUnit = "each-row-a-unit",
        /// Pieces of a unit count as one value, their mean.
        PiecesAveraged = "pieces-averaged",
        /// Pieces count as one value for each unit.
        PiecesAveragedByUnit = "pieces-averaged-by-unit",
        /// Pieces of one unit aren't units.
        PiecesAreNotReplicates = "pieces-are-not-replicates",
        /// Units have different numbers of pieces.
        UnequalPieces = "unequal-pieces",
        /// What was measured again over time counts as such.
        MeasuredAgain = "measured-again",
        /// A column is taken as the time of repeated measurement.
        TakenAsMeasuredAgain = "taken-as-measured-again",
        /// A day may be that of measuring or that of baking.
        DayMeasuredOrBaked = "day-measured-or-baked",
        /// A column says when, but none what was measured again.
        TimeWithoutUnit = "time-without-unit",
        /// A time is below zero.
        TimeBelowZero = "time-below-zero",
        /// A treatment was made of one lot only.
        OneLotPerTreatment = "one-lot-per-treatment",
        /// Treatments were given to a larger unit, which is then the unit.
        LargerUnit = "larger-unit",
        /// A treatment has one batch only.
        OneBatchPerTreatment = "one-batch-per-treatment",
        /// Without blocks or a unit column the whole plots can't be told apart.
        WholePlotsUnknown = "whole-plots-unknown",
        /// The whole plots have no column of their own.
        WholePlotsNotNamed = "whole-plots-not-named",
        /// A treatment can't be told apart from its block.
        TreatmentAliasedWithBlock = "treatment-aliased-with-block",
        /// A treatment was made in one block only.
        TreatmentInOneBlock = "treatment-in-one-block",

        // Counts.
        /// Something that should be a count isn't one.
        CountsDoNotFit = "counts-do-not-fit",
        /// A count has no column that says out of how many.
        CountWithoutTotal = "count-without-total",
        /// What was looked at isn't above zero.
        ExposureNotAboveZero = "exposure-not-above-zero",
        /// A treatment has no events at all.
        NoEvents = "no-events",
        /// A treatment has events only.
        AllEvents = "all-events",
        /// The fit of the counts didn't settle.
        NotSettled = "not-settled",

        // What was asked for.
        /// A margin is no difference too small to matter.
        Margin = "margin",
        /// A margin has no control to be as good as.
        MarginWithoutControl = "margin-without-control",
        /// A contrast can't be worked out as written.
        Contrast = "contrast",
        /// What was believed before the trial can't be used.
        Prior = "prior",
        /// A look before the end isn't one that was planned, or can't answer what is asked.
        Look = "look",
        /// There are more levels to compare, or terms to fit, than can be worked out in good time.
        TooManyTerms = "too-many-terms",
        /// Ranks don't suit this table.
        ByRanks = "by-ranks",
        /// One of several responses has no answer.
        NoAnswerForResponse = "no-answer-for-response",
        /// A prediction is asked for outside what was tried.
        OutsideTheTriedRegion = "outside-the-tried-region",

        // What the analysis found.
        /// A value lies far off the others.
        Outlier = "outlier",
        /// There is nothing left to judge an error by.
        NoErrorLeft = "no-error-left",
        /// There are few units, so much is unsure.
        FewUnits = "few-units",
        /// The spread differs between treatments.
        VariancesDiffer = "variances-differ",
        /// The spread grows with the mean.
        Transformation = "transformation",
        /// Some combinations of the treatments were never made.
        EmptyCells = "empty-cells",
        /// No combination was made twice, so the highest interaction serves as the error.
        NoReplication = "no-replication",
        /// Something that is asked for can't be estimated from these rows.
        NotEstimable = "not-estimable",
        /// A model can't be fitted.
        ModelCannotBeFitted = "model-cannot-be-fitted",
        /// A mixture's model can't be fitted.
        MixtureCannotBeFitted = "mixture-cannot-be-fitted",
        /// The parts of a mixture don't sum to one.
        PartsDoNotSumToOne = "parts-do-not-sum-to-one",
        /// A variance is estimated at zero.
        VarianceAtZero = "variance-at-zero",
        /// Not every block holds every treatment, so blocks are taken as random.
        IncompleteBlocks = "incomplete-blocks",
        /// The answer holds for new blocks like these, not only for those that were tried.
        ClaimForNewBlocks = "claim-for-new-blocks",
        /// The slopes on a covariate differ between treatments.
        SlopesDiffer = "slopes-differ",
        /// Scores are analysed as if they were amounts.
        ScoresAsAmounts = "scores-as-amounts",
        /// The time that is told is that of this value only.
        KeepingOfThisValueOnly = "keeping-of-this-value-only",

        // Two bowls.
        /// Every dog has the same ratio.
        NoSpread = "no-spread",
        /// Dogs are left out.
        DogsLeftOut = "dogs-left-out",
        /// A bowl was emptied.
        BowlEmptied = "bowl-emptied",
        /// How much was offered isn't known.
        OfferedUnknown = "offered-unknown",
        /// The dogs lean to one side.
        SideBias = "side-bias",
        /// Side and day can't be told apart.
        SidesUneven = "sides-uneven",
        /// Dogs chose differently on the two days.
        FirstChoiceSplit = "first-choice-split",

        // Measurements.
        /// The bend test's span is short for the piece's thickness.
        ShortSpan = "short-span",
        /// Fewer packs were weighed than the rule asks for.
        TooFewWeighed = "too-few-weighed",
        /// The rule's table of net content is from memory.
        NetContentTableRecalled = "net-content-table-recalled",
        /// The lot's net content falls short by the rule.
        NetContentShort = "net-content-short",
    }
}
