//! The one list of what the findings of this crate are called.

measure::codes! {
    /// What a finding about materials, dough, label, cautions or cost is called.
    pub enum Code {
        // Materials and their sums.
        /// Moisture, protein, fat, fibre and ash of a material add to more than the whole.
        CompositionDoesNotClose = "composition-does-not-close",
        /// Sugars and starch of a material are more than the difference leaves for carbohydrate.
        CarbohydrateDoesNotClose = "carbohydrate-does-not-close",
        /// Protein, fat, fibre, ash and moisture leave nothing for carbohydrate.
        NfeBelowZero = "nfe-below-zero",
        /// Values of materials are missing, so sums are told as at least.
        ValuesMissing = "values-missing",
        /// There is more fibre than the equation for energy is made for.
        FibreHighForEnergy = "fibre-high-for-energy",
        /// Calcium is above the house rule.
        CalciumHigh = "calcium-high",
        /// A material has no price, so the cost isn't known.
        PriceUnknown = "price-unknown",
        /// A scale can't weigh a line as finely as the formula asks.
        ScaleTooCoarse = "scale-too-coarse",

        // The dough.
        /// The mix is wetter already than a dough is thought to be.
        WetterThanDough = "wetter-than-dough",
        /// The water given is less than the dough is thought to need.
        WaterBelowNeed = "water-below-need",
        /// The water given is more than the dough is thought to need.
        WaterAboveNeed = "water-above-need",
        /// Little holds the dough together.
        DoughHoldsWeakly = "dough-holds-weakly",
        /// Too little holds the dough together for the way it is formed.
        DoughFallsApart = "dough-falls-apart",
        /// Acids beside the soda are there, in an amount that isn't known.
        SodaAcidUnknown = "soda-acid-unknown",
        /// Soda that no acid takes up makes the crust brown faster.
        SodaBrowns = "soda-browns",
        /// Ammonia stays in pieces that aren't thin and dry.
        AmmoniaStays = "ammonia-stays",
        /// What a leavening gives isn't known.
        LeaveningUnknown = "leavening-unknown",
        /// Raw flour and raw dough can carry what makes ill.
        RawDough = "raw-dough",

        // The label and how it is fed.
        /// Materials without gluten of their own usually meet gluten grain.
        GlutenCrossContact = "gluten-cross-contact",
        /// A material brings an allergen for the people who mix, pack and feed.
        Allergen = "allergen",
        /// Hard pieces can choke or break teeth.
        Feeding = "feeding",

        // Dangers by being there.
        /// Grapes, raisins, currants, or what often carries them.
        Grapes = "grapes",
        /// Tartaric acid, suspected to be what harms in grapes.
        TartaricAcid = "tartaric-acid",
        /// Chocolate or cocoa.
        Chocolate = "chocolate",
        /// Coffee, tea, guarana, caffeine.
        Caffeine = "caffeine",
        /// Onion and its kin.
        Onion = "onion",
        /// Garlic, by being there or by its amount.
        Garlic = "garlic",
        /// Macadamia nuts.
        Macadamia = "macadamia",
        /// Hops, or what may have met them.
        Hops = "hops",
        /// Nutmeg or mace.
        Nutmeg = "nutmeg",
        /// Avocado.
        Avocado = "avocado",
        /// Stones and seeds of fruit.
        Kernels = "kernels",
        /// A plant that sets free cyanide.
        Cyanide = "cyanide",
        /// Tree nuts.
        TreeNuts = "tree-nuts",
        /// Beans that aren't said to be cooked.
        BeanLectin = "bean-lectin",
        /// Soy that isn't said to be heated.
        RawSoy = "raw-soy",
        /// Plants with oxalate.
        Oxalate = "oxalate",
        /// Tomato leaf or green potato.
        Solanine = "solanine",
        /// Comfrey, borage, coltsfoot.
        Pyrrolizidines = "pyrrolizidines",
        /// Essential oils.
        EssentialOils = "essential-oils",
        /// Hemp or cannabidiol.
        Hemp = "hemp",
        /// A material at risk of mould poisons.
        Mycotoxin = "mycotoxin",
        /// Xylitol, or a food that is sometimes sweetened with it.
        Xylitol = "xylitol",
        /// Alcohol.
        Alcohol = "alcohol",
        /// Live yeast.
        LiveYeast = "live-yeast",
        /// Salmon and its kin.
        RawSalmon = "raw-salmon",
        /// Raw fish.
        RawFish = "raw-fish",
        /// Raw meat or poultry.
        RawMeat = "raw-meat",
        /// Raw pork, wild boar or game.
        RawPorkGame = "raw-pork-game",
        /// Raw egg or its white.
        RawEggWhite = "raw-egg-white",
        /// Bone meal, or meal with bone in it.
        BoneMeal = "bone-meal",
        /// Titanium dioxide.
        TitaniumDioxide = "titanium-dioxide",
        /// Menadione.
        Menadione = "menadione",

        // Amounts against their limits.
        /// Theobromine.
        Theobromine = "theobromine",
        /// Vitamin D.
        VitaminD = "vitamin-d",
        /// Selenium.
        Selenium = "selenium",
        /// Copper.
        Copper = "copper",
        /// Zinc.
        Zinc = "zinc",
        /// Iodine.
        Iodine = "iodine",
        /// Nitrite, by being there or by its amount.
        Nitrite = "nitrite",
        /// Sulfite.
        Sulfite = "sulfite",
        /// Sulfite destroys thiamine.
        SulfiteThiamine = "sulfite-thiamine",
        /// Propylene glycol, by being there or by its amount.
        PropyleneGlycol = "propylene-glycol",
        /// Antioxidants whose amounts count together.
        Antioxidants = "antioxidants",
        /// Ethoxyquin, by being there or by its amount.
        Ethoxyquin = "ethoxyquin",
        /// Benzoate.
        Benzoate = "benzoate",
        /// Liver.
        Liver = "liver",
        /// Cinnamon.
        Cinnamon = "cinnamon",
        /// Salt above the house rule.
        SaltHigh = "salt-high",
        /// Fat above the house rule.
        FatHigh = "fat-high",
        /// The list of dangerous ingredients isn't whole.
        ListNotComplete = "list-not-complete",
    }
}
