//! The one list of what the findings of this crate are called.

measure::codes! {
    /// What a finding about piece, oven, bake, keeping or line is called.
    pub enum Code {
        // Properties of the dough.
        /// The salt of the dough isn't known, so water activity is told without it.
        SaltUnknown = "salt-unknown",
        /// The sugars of the dough aren't known, so water activity is told without them.
        SugarsUnknown = "sugars-unknown",
        /// The density given is above that of the dough's parts without any air.
        DoughDenserThanItsParts = "dough-denser-than-its-parts",
        /// The dough holds more gas than the dense doughs that the bake is made for.
        AiryDough = "airy-dough",

        // The piece.
        /// The thickness is outside what is usual.
        UnusualThickness = "unusual-thickness",
        /// The docker has few holes for the piece's area.
        DockerHolesFarApart = "docker-holes-far-apart",
        /// A docker hole of the pattern stands far from the next.
        DockerHolesApart = "docker-holes-apart",
        /// Docker holes of the pattern stand close to each other.
        DockerHolesClose = "docker-holes-close",
        /// A docker hole stands near the edge, which tears there.
        DockerNearTheEdge = "docker-near-the-edge",
        /// A docker hole stands in a neck, where pieces break.
        DockerInANeck = "docker-in-a-neck",
        /// The docker's pins are unusually thin or thick for the piece.
        DockerDiameter = "docker-diameter",
        /// The docker's pins don't go through the piece.
        DockerNotThrough = "docker-not-through",

        // The oven.
        /// A zone's air can't hold that much vapour.
        FoggyZone = "foggy-zone",
        /// A zone's air is outside what is usual.
        UnusualOvenTemperature = "unusual-oven-temperature",
        /// What leaves the oven burns skin.
        HotSurfaces = "hot-surfaces",

        // The bake.
        /// The kill isn't shown to reach its target.
        KillBelowTarget = "kill-below-target",
        /// A dried material of animals isn't shown to have been killed, here or before.
        DriedAndNotShownToBeKilled = "dried-and-not-shown-to-be-killed",
        /// A raw material of animals isn't shown to be killed.
        RawAndNotShownToBeKilled = "raw-and-not-shown-to-be-killed",
        /// The top stays pale.
        Pale = "pale",
        /// The top is dark.
        Dark = "dark",
        /// The top is burnt.
        Burnt = "burnt",

        // After the oven.
        /// True pieces even out more slowly than is computed.
        EveningOutMayBeSlower = "evening-out-may-be-slower",
        /// Centre and surface differ when packed by more than the limit against checking.
        UnevenWhenPacked = "uneven-when-packed",
        /// The mean moisture when packed is outside what is traditional.
        MeanMoistureOutsideTradition = "mean-moisture-outside-tradition",
        /// Something can grow in the pack.
        GrowsInThePack = "grows-in-the-pack",
        /// The wettest place stays wetter than the evened-out piece for a time.
        WetPlaceInThePack = "wet-place-in-the-pack",

        // The line.
        /// Flour dust harms people and can explode.
        FlourDust = "flour-dust",
        /// The oven is loaded outside what is usual.
        UnusualLoading = "unusual-loading",
        /// The die, not the oven, sets the output.
        DieSetsOutput = "die-sets-output",
        /// The exhaust takes much heat for the water it carries away.
        DryExhaust = "dry-exhaust",
        /// The oven is told to be drier than its own burning gas leaves it.
        DrierThanBurningGas = "drier-than-burning-gas",
        /// The steps after the bake are in the batch oven's time.
        StepsInTheOven = "steps-in-the-oven",
        /// Fuel and heat are the oven's alone.
        DryerFuelApart = "dryer-fuel-apart",
        /// The dryer has no capacity, so the output is the most there can be.
        DryerNotCounted = "dryer-not-counted",
        /// Cooling is shorter than the trade's rule.
        ShortCooling = "short-cooling",
        /// Pieces are packed warm.
        PackedWarm = "packed-warm",
        /// A batch of dough waits long before it is formed.
        DoughStandsLong = "dough-stands-long",
        /// Rework goes back into the dough.
        Rework = "rework",
        /// More trim comes off than may go back.
        TrimAboveCap = "trim-above-cap",
    }
}
