//! The one list of substances that are weighed, with carriers and limits.
//!
//! Contents of pure substances follow from standard atomic weights; those of foods and the limits
//! carry their source. A limit of a law is told as whose it is: the law in force where the treat is
//! sold decides.

use super::danger::BOTH;
use super::substance::Basis::{At12, Dry, DryOfDry, Fat};
use super::substance::{
    AmountUnit, Basis, Carrier, G_PER_KG, IU_D_PER_KG, Limit, MG_PER_KG, PERCENT, Substance,
};
use crate::Code;
use crate::called::{ETHOXYQUIN, GARLIC, NITRITE, PROPYLENE_GLYCOL};
use crate::names::{NO_NAMES, Names};
use crate::nutrition::Species;
use measure::Grade::{Assumed, Computed, Published, Recalled};
use measure::Severity::{Stop, Warn};
use measure::{Grade, Severity};

const DOG: &[Species] = &[Species::Dog];
const CAT: &[Species] = &[Species::Cat];
const MOLAR: &str = "molar masses";

const fn pure(names: Names, kg_per_kg: f64) -> Carrier {
    Carrier {
        names,
        kg_per_kg: Some(kg_per_kg),
        source: MOLAR,
        grade: Computed,
    }
}

const fn holds(names: Names, kg_per_kg: f64, source: &'static str, grade: Grade) -> Carrier {
    Carrier {
        names,
        kg_per_kg: Some(kg_per_kg),
        source,
        grade,
    }
}

const fn differs(names: Names) -> Carrier {
    Carrier {
        names,
        kg_per_kg: None,
        source: "differs from product to product",
        grade: Assumed,
    }
}

const fn at_most(
    species: &'static [Species],
    unit: AmountUnit,
    value: f64,
    basis: Basis,
    severity: Severity,
    whose: &'static str,
    grade: Grade,
) -> Limit {
    Limit {
        species,
        basis,
        at_most_kg_per_kg: value / unit.per_kg_per_kg,
        severity,
        whose,
        grade,
    }
}

/// Every substance that is weighed.
#[rustfmt::skip]
pub const SUBSTANCES: &[Substance] = &[
    Substance {
        code: Code::Theobromine, substance: "theobromine", unit: MG_PER_KG,
        carriers: &[
            holds(Names { en: &["dark chocolate"], de: &["Zartbitterschokolade", "dunkle Schokolade"], fr: &["chocolat noir"], es: &["chocolate negro"], ..NO_NAMES }, 8.02e-3, "public food composition data", Published),
            holds(Names { en: &["milk chocolate"], de: &["Vollmilchschokolade", "Milchschokolade"], fr: &["chocolat au lait"], es: &["chocolate con leche"], ..NO_NAMES }, 2.05e-3, "public food composition data", Published),
            holds(Names { en: &["chocolate"], de: &["Schokolade", "Kochschokolade"], fr: &["chocolat"], es: &["chocolate"], ..NO_NAMES }, 12.97e-3, "public food composition data, unsweetened: the most", Published),
            pure(Names { en: &["theobromine"], de: &["Theobromin"], fr: &["théobromine"], es: &["teobromina"], ..NO_NAMES }, 1.0),
            holds(Names { en: &["cocoa", "cacao"], de: &["Kakao"], fr: &["cacao"], es: &["cacao"], except: &["cocoa substitute", "cocoa butter", "Kakaobutter", "beurre de cacao", "manteca de cacao"], ..NO_NAMES }, 20.57e-3, "public food composition data, powder", Published),
        ],
        limits: &[
            at_most(DOG, MG_PER_KG, 50.0, At12, Stop, "Directive 2009/141/EC", Published),
            at_most(CAT, MG_PER_KG, 300.0, At12, Stop, "Directive 2009/141/EC", Published),
        ],
        advice: "Leave it out; carob is no source of it.",
    },
    Substance {
        code: Code::Garlic, substance: "garlic, as fresh", unit: G_PER_KG,
        carriers: &[
            differs(Names { en: &["garlic oil", "garlic extract"], de: &["Knoblauchöl", "Knoblauchextrakt"], fr: &["huile d'ail", "extrait d'ail"], es: &["aceite de ajo", "extracto de ajo"], ..NO_NAMES }),
            holds(Names { with: &["fresh", "raw", "puree", "paste", "frisch", "frischer", "roh", "roher", "frais", "fraîche", "cru", "fresco", "crudo"], ..GARLIC }, 1.0, "fresh", Computed),
            holds(GARLIC, 8.0, "powder is 7 to 9 times as strong as fresh, from memory, to be confirmed", Recalled),
        ],
        limits: &[
            at_most(DOG, G_PER_KG, 7.5, At12, Warn, "a hundredth of 15 g per kg body mass in 20 g treat per kg body mass, house rule", Assumed),
            at_most(DOG, G_PER_KG, 75.0, At12, Stop, "a tenth of 15 g per kg body mass in 20 g treat per kg body mass, house rule", Assumed),
        ],
        advice: "Leave it out, or ask a veterinarian for a limit; the same poison as onion, and Japanese breeds are more sensitive.",
    },
    Substance {
        code: Code::VitaminD, substance: "vitamin D", unit: IU_D_PER_KG,
        carriers: &[
            holds(Names { en: &["cod liver oil"], de: &["Lebertran", "Dorschlebertran"], fr: &["huile de foie de morue"], es: &["aceite de hígado de bacalao"], ..NO_NAMES }, 2.5e-6, "100 000 IU/kg, from memory of public food composition data, to be confirmed", Recalled),
            differs(Names { en: &["vitamin d premix", "vitamin d3 premix", "vitamin premix", "vitamin mix", "multivitamin"], de: &["Vitamin D3 Vormischung", "Vitaminvormischung", "Vitaminmischung", "Vitamin Vormischung"], fr: &["prémélange de vitamines", "prémélange vitaminique"], es: &["premezcla de vitaminas", "premezcla vitamínica"], ..NO_NAMES }),
            pure(Names { en: &["cholecalciferol", "colecalciferol", "vitamin d3 pure"], de: &["Cholecalciferol"], fr: &["cholécalciférol"], es: &["colecalciferol"], unless: &["premix", "Vormischung", "premezcla", "prémélange"], ..NO_NAMES }, 1.0),
            differs(Names { en: &["vitamin d", "vitamin d3", "cholecalciferol", "3a671"], de: &["Vitamin D3"], fr: &["vitamine d", "vitamine d3", "cholécalciférol"], es: &["vitamina d", "vitamina d3", "colecalciferol"], e: &["671"], ..NO_NAMES }),
        ],
        limits: &[
            at_most(BOTH, IU_D_PER_KG, 2000.0, At12, Warn, "EU maximum of feed, from memory, to be confirmed", Recalled),
            at_most(BOTH, IU_D_PER_KG, 3000.0, Dry, Stop, "maximum of US nutrient profiles, seen secondary", Published),
        ],
        advice: "Signs begin near 0.1 mg (4000 IU) per kg body mass, and treats were recalled at 70 times the wanted dose: reckon the daily dose of the smallest animal on the label; ask a veterinary nutritionist.",
    },
    Substance {
        code: Code::Selenium, substance: "selenium", unit: MG_PER_KG,
        carriers: &[
            differs(Names { en: &["selenium premix", "selenium yeast", "selenised yeast", "selenized yeast"], de: &["Selenvormischung", "Selenhefe"], fr: &["levure séléniée"], es: &["levadura de selenio"], ..NO_NAMES }),
            pure(Names { en: &["selenite", "3b801"], de: &["Selenit", "Natriumselenit"], fr: &["sélénite"], es: &["selenito"], ..NO_NAMES }, 0.4566),
            pure(Names { en: &["selenate"], de: &["Selenat", "Natriumselenat"], fr: &["séléniate"], es: &["selenato"], ..NO_NAMES }, 0.4180),
            differs(Names { en: &["selenium"], de: &["Selen"], fr: &["sélénium"], es: &["selenio"], ..NO_NAMES }),
        ],
        limits: &[
            at_most(BOTH, MG_PER_KG, 0.5, At12, Warn, "EU maximum in all, from memory, to be confirmed", Recalled),
            at_most(BOTH, MG_PER_KG, 2.0, Dry, Stop, "maximum of US nutrient profiles, seen secondary", Published),
        ],
        advice: "Weigh and mix it only as a certified premix; pure selenite poisons at milligrams.",
    },
    Substance {
        code: Code::Copper, substance: "copper", unit: MG_PER_KG,
        carriers: &[
            pure(Names { en: &["copper sulfate pentahydrate", "copper sulphate pentahydrate", "cupric sulfate pentahydrate"], de: &["Kupfersulfat Pentahydrat"], fr: &["sulfate de cuivre pentahydraté"], es: &["sulfato de cobre pentahidratado"], ..NO_NAMES }, 0.2545),
            pure(Names { en: &["copper sulfate", "copper sulphate", "cupric sulfate"], de: &["Kupfersulfat"], fr: &["sulfate de cuivre"], es: &["sulfato de cobre"], e: &["519"], ..NO_NAMES }, 0.3981),
            pure(Names { en: &["copper oxide", "cupric oxide"], de: &["Kupferoxid"], fr: &["oxyde de cuivre"], es: &["óxido de cobre"], ..NO_NAMES }, 0.7989),
            differs(Names { en: &["copper", "cupric"], de: &["Kupfer"], fr: &["cuivre"], es: &["cobre"], ..NO_NAMES }),
        ],
        limits: &[at_most(BOTH, MG_PER_KG, 25.0, At12, Warn, "EU maximum of feed in all, from memory, to be confirmed", Recalled)],
        advice: "Lower it; some breeds store copper in the liver. Liver and yeast bring their own.",
    },
    Substance {
        code: Code::Zinc, substance: "zinc", unit: MG_PER_KG,
        carriers: &[
            pure(Names { en: &["zinc oxide"], de: &["Zinkoxid"], fr: &["oxyde de zinc"], es: &["óxido de zinc", "óxido de cinc"], ..NO_NAMES }, 0.8034),
            pure(Names { en: &["zinc sulfate monohydrate", "zinc sulphate monohydrate"], de: &["Zinksulfat Monohydrat"], fr: &["sulfate de zinc monohydraté"], es: &["sulfato de zinc monohidratado"], ..NO_NAMES }, 0.3643),
            pure(Names { en: &["zinc sulfate", "zinc sulphate"], de: &["Zinksulfat"], fr: &["sulfate de zinc"], es: &["sulfato de zinc", "sulfato de cinc"], ..NO_NAMES }, 0.4050),
            pure(Names { en: &["zinc carbonate"], de: &["Zinkcarbonat"], fr: &["carbonate de zinc"], es: &["carbonato de zinc"], ..NO_NAMES }, 0.5214),
            differs(Names { en: &["zinc"], de: &["Zink"], fr: &["zinc"], es: &["cinc"], ..NO_NAMES }),
        ],
        limits: &[at_most(BOTH, MG_PER_KG, 200.0, At12, Warn, "Regulation (EU) 2019/1125, in all", Published)],
        advice: "Lower it: flour and meat bring 10 to 60 mg/kg of their own.",
    },
    Substance {
        code: Code::Iodine, substance: "iodine", unit: MG_PER_KG,
        carriers: &[
            pure(Names { en: &["potassium iodide"], de: &["Kaliumiodid", "Kaliumjodid"], fr: &["iodure de potassium"], es: &["yoduro de potasio"], ..NO_NAMES }, 0.7645),
            pure(Names { en: &["calcium iodate"], de: &["Calciumiodat", "Kalziumjodat"], fr: &["iodate de calcium"], es: &["yodato de calcio"], ..NO_NAMES }, 0.6510),
            differs(Names { en: &["kelp", "seaweed", "ascophyllum", "dulse", "kombu", "iodine", "iodised salt", "iodized salt"], de: &["Seetang", "Seealge", "Braunalge", "Jod", "Jodsalz"], fr: &["algue", "varech", "iode", "sel iodé"], es: &["alga", "yodo", "sal yodada"], ..NO_NAMES }),
        ],
        limits: &[at_most(BOTH, MG_PER_KG, 11.0, Dry, Warn, "maximum of US nutrient profiles, seen secondary; the EU's 10 mg/kg at 12 % is much the same", Published)],
        advice: "Kelp holds from tens to thousands of mg/kg: take it from the certificate of the lot.",
    },
    Substance {
        code: Code::Nitrite, substance: "nitrite as sodium nitrite", unit: MG_PER_KG,
        carriers: &[
            pure(Names { en: &["sodium nitrite"], de: &["Natriumnitrit"], fr: &["nitrite de sodium"], es: &["nitrito de sodio", "nitrito sódico"], e: &["250"], ..NO_NAMES }, 1.0),
            pure(Names { en: &["potassium nitrite"], de: &["Kaliumnitrit"], fr: &["nitrite de potassium"], es: &["nitrito de potasio", "nitrito potásico"], e: &["249"], ..NO_NAMES }, 0.8107),
            differs(NITRITE),
        ],
        limits: &[at_most(DOG, MG_PER_KG, 100.0, At12, Warn, "house rule, from memory; the EU limit of 15 mg/kg leaves pets out", Recalled)],
        advice: "Leave it out: a dry biscuit needs no curing. Curing salt holds 0.4 to 6 %.",
    },
    Substance {
        code: Code::Sulfite, substance: "sulfite as sulfur dioxide", unit: MG_PER_KG,
        carriers: &[
            pure(Names { en: &["sodium metabisulfite", "sodium metabisulphite"], de: &["Natriummetabisulfit", "Natriumdisulfit"], fr: &["métabisulfite de sodium"], es: &["metabisulfito de sodio", "metabisulfito sódico"], e: &["223"], ..NO_NAMES }, 0.6740),
            pure(Names { en: &["sodium bisulfite", "sodium bisulphite", "sodium hydrogen sulfite"], de: &["Natriumbisulfit", "Natriumhydrogensulfit"], fr: &["bisulfite de sodium"], es: &["bisulfito de sodio"], e: &["222"], ..NO_NAMES }, 0.6157),
            pure(Names { en: &["potassium metabisulfite", "potassium metabisulphite"], de: &["Kaliummetabisulfit", "Kaliumdisulfit"], fr: &["métabisulfite de potassium"], es: &["metabisulfito de potasio"], e: &["224"], ..NO_NAMES }, 0.5763),
            pure(Names { en: &["sodium sulfite", "sodium sulphite"], de: &["Natriumsulfit"], fr: &["sulfite de sodium"], es: &["sulfito de sodio"], e: &["221"], ..NO_NAMES }, 0.5083),
            pure(Names { en: &["sulfur dioxide", "sulphur dioxide"], de: &["Schwefeldioxid"], fr: &["dioxyde de soufre", "anhydride sulfureux"], es: &["dióxido de azufre"], e: &["220"], ..NO_NAMES }, 1.0),
            differs(Names { en: &["sulfite", "sulphite", "bisulfite", "bisulphite", "metabisulfite", "metabisulphite", "sulfured", "sulphured"], de: &["Sulfit", "Disulfit", "Metabisulfit", "Kaliumdisulfit", "geschwefelt"], fr: &["sulfite", "métabisulfite", "sulfité", "soufré"], es: &["sulfito", "metabisulfito", "sulfitado"], e: &["226", "227", "228"], except: &["unsulfured", "unsulphured"], ..NO_NAMES }),
        ],
        limits: &[at_most(BOTH, MG_PER_KG, 500.0, At12, Warn, "EU maximum for dogs and cats, from memory, to be confirmed", Recalled)],
        advice: "Lower it, or relax the dough by rest, protease or inactive yeast. Part of it leaves in the oven; how much isn't known.",
    },
    Substance {
        code: Code::PropyleneGlycol, substance: "propylene glycol", unit: PERCENT,
        carriers: &[pure(PROPYLENE_GLYCOL, 1.0)],
        limits: &[at_most(DOG, PERCENT, 13.0, Dry, Warn, "6 to 13 % of dry matter are usual in semi-moist dog food, in print", Published)],
        advice: "Lower it; cats must never get it.",
    },
    Substance {
        code: Code::Antioxidants, substance: "BHA and BHT together", unit: PERCENT,
        carriers: &[
            differs(Names { en: &["butylated hydroxyanisole premix", "antioxidant premix"], ..NO_NAMES }),
            pure(Names { en: &["bha", "bht", "butylated hydroxy"], de: &["Butylhydroxyanisol", "Butylhydroxytoluol"], fr: &["butylhydroxyanisol", "butylhydroxytoluène"], es: &["butilhidroxianisol", "butilhidroxitolueno"], e: &["320", "321"], ..NO_NAMES }, 1.0),
        ],
        limits: &[
            at_most(BOTH, PERCENT, 0.02, Fat, Warn, "21 CFR 582, seen", Published),
            at_most(BOTH, PERCENT, 0.015, At12, Warn, "EU maximum of feed, 150 mg/kg, seen", Published),
        ],
        advice: "Lower it, or use tocopherols.",
    },
    Substance {
        code: Code::Ethoxyquin, substance: "ethoxyquin", unit: MG_PER_KG,
        carriers: &[pure(ETHOXYQUIN, 1.0)],
        limits: &[at_most(BOTH, MG_PER_KG, 150.0, At12, Stop, "21 CFR 573.380, seen", Published)],
        advice: "Use tocopherols; in the EU it is refused.",
    },
    Substance {
        code: Code::Benzoate, substance: "benzoate as benzoic acid", unit: PERCENT,
        carriers: &[
            pure(Names { en: &["benzoic acid"], de: &["Benzoesäure"], fr: &["acide benzoïque"], es: &["ácido benzoico"], e: &["210"], ..NO_NAMES }, 1.0),
            pure(Names { en: &["sodium benzoate"], de: &["Natriumbenzoat"], fr: &["benzoate de sodium"], es: &["benzoato de sodio", "benzoato sódico"], e: &["211"], ..NO_NAMES }, 0.8474),
            pure(Names { en: &["potassium benzoate"], de: &["Kaliumbenzoat"], fr: &["benzoate de potassium"], es: &["benzoato de potasio"], e: &["212"], ..NO_NAMES }, 0.7622),
            pure(Names { en: &["benzoate"], de: &["Benzoat"], fr: &["benzoate"], es: &["benzoato"], e: &["213"], ..NO_NAMES }, 1.0),
        ],
        limits: &[
            at_most(BOTH, PERCENT, 0.1, At12, Warn, "21 CFR 582, seen", Published),
            at_most(CAT, PERCENT, 0.2, At12, Stop, "cats break it down badly, from memory, to be confirmed", Recalled),
        ],
        advice: "Lower it.",
    },
    Substance {
        code: Code::Liver, substance: "liver", unit: PERCENT,
        carriers: &[holds(Names { en: &["liver"], de: &["Leber", "Rinderleber", "Hühnerleber", "Schweineleber"], fr: &["foie"], es: &["hígado"], except: &["cod liver oil", "huile de foie de morue", "aceite de hígado de bacalao", "Lebertran"], ..NO_NAMES }, 1.0, "itself", Computed)],
        limits: &[at_most(BOTH, PERCENT, 5.0, DryOfDry, Warn, "fresh beef liver carries 16 898 IU vitamin A and 9.76 mg copper per 100 g (public food composition data); the cap is a house rule", Assumed)],
        advice: "Lower the liver, and have vitamin A and copper of the product reckoned.",
    },
    Substance {
        code: Code::Cinnamon, substance: "cinnamon", unit: PERCENT,
        carriers: &[holds(Names { en: &["cinnamon", "cassia"], de: &["Zimt", "Zimtpulver"], fr: &["cannelle"], es: &["canela"], except: &["cinnamon oil", "cassia gum"], ..NO_NAMES }, 1.0, "itself", Computed)],
        limits: &[at_most(BOTH, PERCENT, 0.5, DryOfDry, Warn, "irritant, and cassia carries coumarin; from memory, to be confirmed", Recalled)],
        advice: "Keep it at or below 0.5 %.",
    },
];
