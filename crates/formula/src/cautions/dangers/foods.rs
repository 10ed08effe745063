//! Foods that harm: sweeteners, drink, yeast, raw flesh and egg.

use super::super::danger::{BOTH, Danger, HEATED, LEAVE_OUT, RAW, RECALLED};
use super::flesh::{EGG, FISH, MEAT, PORK_GAME, POULTRY, SALMON};
use crate::Code;
use crate::called::XYLITOL;
use crate::names::{NO_NAMES, Names};
use crate::nutrition::Species;
use measure::Grade::{Published, Recalled};
use measure::Severity::{Note, Stop, Warn};

const RAW_MEAT_CARRIES: &str = "raw meat can carry Salmonella, Campylobacter and E. coli: the bake has to be shown to kill them";
const SHOW_THE_KILL: &str = "Look at the kill of the bake, validate it with a process authority, and keep raw and baked apart.";

/// Foods.
#[rustfmt::skip]
pub(super) const FOODS: &[Danger] = &[
    Danger {
        code: Code::Xylitol, substance: "xylitol",
        names: XYLITOL,
        species: BOTH, severity: Stop,
        threshold: "low blood sugar of dogs above 0.1 g, liver failure above 0.5 g per kg body mass", advice: LEAVE_OUT,
        source: "veterinary review on xylitol poisoning, abstract seen (2010)", grade: Published,
    },
    Danger {
        code: Code::Xylitol, substance: "a food that is sometimes sweetened with xylitol",
        names: Names {
            en: &["peanut butter", "applesauce", "apple sauce", "nut butter"],
            de: &["Erdnussbutter", "Apfelmus", "Nussmus"], fr: &["beurre de cacahuète", "compote de pomme"], es: &["mantequilla de cacahuete", "compota de manzana"],
            ..NO_NAMES
        },
        species: BOTH, severity: Note,
        threshold: "low blood sugar of dogs above 0.1 g xylitol per kg body mass", advice: "Read its ingredient list: no xylitol, birch sugar or E967.",
        source: "common practice, no source", grade: Recalled,
    },
    Danger {
        code: Code::Grapes, substance: "a mixed food that often carries raisins",
        names: Names {
            en: &["trail mix", "fruit bread", "fruit cake", "fruitcake", "mincemeat", "muesli", "granola", "dried fruit mix", "mixed dried fruit"],
            de: &["Studentenfutter", "Früchtebrot", "Stollen", "Müsli"], fr: &["pain aux fruits", "mélange de fruits secs"], es: &["mezcla de frutos secos", "pan de frutas"],
            ..NO_NAMES
        },
        species: BOTH, severity: Warn, threshold: "no safe dose of raisins is known",
        advice: "Read its ingredient list and use it only if it is free of raisins, chocolate, macadamia and xylitol.",
        source: "common practice, no source", grade: Recalled,
    },
    Danger {
        code: Code::Alcohol, substance: "alcohol",
        names: Names {
            en: &["alcohol", "ethanol", "wine", "beer", "liqueur", "rum", "brandy", "whisky"],
            de: &["Alkohol", "Wein", "Rotwein", "Weißwein", "Bier", "Likör", "Weinbrand"],
            fr: &["alcool", "éthanol", "vin", "bière", "rhum", "eau de vie"],
            es: &["alcohol", "etanol", "vino", "cerveza", "licor", "ron"],
            except: &["wine vinegar", "beer yeast", "barley beer", "sugar alcohol", "levure de bière", "levadura de cerveza", "bagazo de cerveza", "vinagre de vino", "vinaigre de vin", "vinaigre d'alcool", "vinagre de alcohol", "beer vinegar", "Wein Essig", "alcohol free", "non alcoholic", "alkoholfrei", "sans alcool", "sin alcohol", "fatty alcohol"],
            ..NO_NAMES
        },
        species: BOTH, severity: Stop, threshold: "no level is set", advice: LEAVE_OUT, source: "veterinary review, abstract seen", grade: Published,
    },
    Danger {
        code: Code::LiveYeast, substance: "live yeast",
        names: Names {
            en: &["bakers yeast", "baker s yeast", "active dry yeast", "fresh yeast", "sourdough"],
            de: &["Backhefe", "Frischhefe", "Trockenhefe", "Sauerteig"], fr: &["levure boulangère", "levure de boulanger", "levain"], es: &["levadura de panadería", "levadura fresca", "masa madre"],
            ..NO_NAMES
        },
        species: BOTH, severity: Warn,
        threshold: "raw dough that goes on fermenting in the stomach bloats it and makes alcohol", advice: "Bake every piece through; keep raw dough and trimmings away from animals.",
        source: "veterinary review, abstract seen", grade: Published,
    },
    Danger {
        code: Code::RawSalmon, substance: "salmon and its kin",
        names: SALMON,
        species: &[Species::Dog], severity: Note,
        threshold: "raw salmonids can carry the agent of salmon poisoning", advice: "Bake it through; feed none of it raw.", source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::RawFish, substance: "raw fish (thiaminase)",
        names: Names { with: RAW, unless: HEATED, ..FISH },
        species: BOTH, severity: Warn,
        threshold: "thiaminase of raw fish breaks down vitamin B1 until 83 to 121 °C have been held", advice: "Cook it before, or claim nothing about vitamin B1.",
        source: "printed range of inactivation, seen", grade: Published,
    },
    Danger {
        code: Code::RawMeat, substance: "raw poultry",
        names: Names { with: RAW, unless: HEATED, ..POULTRY },
        species: BOTH, severity: Note,
        threshold: RAW_MEAT_CARRIES, advice: SHOW_THE_KILL, source: "public health warnings, seen", grade: Published,
    },
    Danger {
        code: Code::RawMeat, substance: "raw meat",
        names: Names { with: RAW, unless: HEATED, ..MEAT },
        species: BOTH, severity: Note,
        threshold: RAW_MEAT_CARRIES, advice: SHOW_THE_KILL, source: "public health warnings, seen", grade: Published,
    },
    Danger {
        code: Code::RawPorkGame, substance: "raw pork, wild boar or game",
        names: Names { with: RAW, unless: HEATED, ..PORK_GAME },
        species: BOTH, severity: Warn,
        threshold: "it can carry Aujeszky's disease, which kills dogs and cats, Trichinella, Toxoplasma and (hare, rabbit) tularaemia", advice: "Cook it before, or use inspected, rendered or dried meal; nothing raw to the animal.",
        source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::RawEggWhite, substance: "egg white (avidin)",
        names: Names { en: &["egg white", "albumen"], de: &["Eiklar", "Eiweißpulver", "Hühnereiweiß"], fr: &["blanc d'oeuf"], es: &["clara de huevo"], ..NO_NAMES },
        species: BOTH, severity: Note, threshold: "raw egg white binds biotin", advice: "Use heat-treated egg white, or bake it through.", source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::RawEggWhite, substance: "raw egg (avidin, Salmonella)",
        names: Names { with: RAW, unless: HEATED, ..EGG },
        species: BOTH, severity: Warn, threshold: "raw egg white binds biotin, and raw egg can carry Salmonella", advice: "Use heat-treated egg, or bake it through.", source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::BoneMeal, substance: "bone meal (fluoride, lead)",
        names: Names {
            en: &["bone meal", "bonemeal", "bone ash", "ground bone"], de: &["Knochenmehl", "Knochenasche"], fr: &["poudre d'os", "farine d'os", "cendre d'os"], es: &["harina de huesos", "harina de hueso", "ceniza de hueso"],
            except: &["meat and bone meal", "meat bone meal", "Fleischknochenmehl", "Fleisch und Knochenmehl", "farine de viande et d'os", "harina de carne y huesos", "harina de carne y hueso"],
            ..NO_NAMES
        },
        species: BOTH, severity: Warn,
        threshold: "complementary feed may hold 500 mg fluoride (up to 4 % phosphorus), 10 mg lead and 4 mg arsenic per kg, complete feed 150, 5 and 2", advice: "Ask for fluoride and lead on the certificate, and reckon them per kg of treat.",
        source: "Directive 2002/32/EC, seen", grade: Published,
    },
    Danger {
        code: Code::BoneMeal, substance: "meat and bone meal (calcium, fluoride, lead of the bone)",
        names: Names {
            en: &["meat and bone meal", "meat bone meal"], de: &["Fleischknochenmehl", "Fleisch und Knochenmehl"], fr: &["farine de viande et d'os"], es: &["harina de carne y huesos", "harina de carne y hueso"],
            ..NO_NAMES
        },
        species: BOTH, severity: Note,
        threshold: "complementary feed may hold 500 mg fluoride and 10 mg lead per kg; foods with bone were measured at 7 to 11 mg fluoride", advice: "Ask for fluoride and lead on the certificate.",
        source: "Directive 2002/32/EC and a survey of foods, seen", grade: Published,
    },
];
