//! The one list of dangers.

use crate::nutrition::Species;
use measure::{Grade, Severity};

/// A substance that harms, and how its presence shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Danger {
    /// Short name, code of the finding; rows of one code are one danger seen from two sides.
    pub code: &'static str,
    /// The substance in words.
    pub substance: &'static str,
    /// Words that give it away; several words stand in that order. Five letters or more match the
    /// beginning of a word, so `raisin` finds "raisins" and "raisinbread".
    pub synonyms: &'static [&'static str],
    /// Words that look like it and aren't.
    pub except: &'static [&'static str],
    /// The animals it concerns.
    pub species: &'static [Species],
    /// How much it weighs when it stands in a name.
    pub severity: Severity,
    /// Share of the dry matter from which it is told; 0 = any amount.
    pub from_share: f64,
    /// Dose level in words.
    pub threshold: &'static str,
    /// What to do.
    pub advice: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// How sure it is.
    pub grade: Grade,
}

const BOTH: &[Species] = &[Species::Dog, Species::Cat];
const LEAVE_OUT: &str = "Leave it out; ask a veterinarian before any exception.";

#[allow(clippy::too_many_arguments, reason = "one row of a table")]
const fn row(
    code: &'static str,
    substance: &'static str,
    synonyms: &'static [&'static str],
    species: &'static [Species],
    severity: Severity,
    threshold: &'static str,
    advice: &'static str,
    source: &'static str,
    grade: Grade,
) -> Danger {
    Danger {
        code,
        substance,
        synonyms,
        except: &[],
        species,
        severity,
        from_share: 0.0,
        threshold,
        advice,
        source,
        grade,
    }
}

const fn but_not(danger: Danger, except: &'static [&'static str]) -> Danger {
    Danger { except, ..danger }
}

const fn from_share(danger: Danger, from_share: f64) -> Danger {
    Danger {
        from_share,
        ..danger
    }
}

use Grade::{Computed, Published, Recalled};
use Severity::{Note, Stop, Warn};

/// Every danger the program knows of.
#[rustfmt::skip]
pub const DANGERS: &[Danger] = &[
    row("xylitol", "xylitol", &["xylitol", "birch sugar", "birch sweetener", "wood sugar", "e967", "e 967"], BOTH, Stop,
        "low blood sugar of dogs above 0.1 g, liver failure above 0.5 g per kg body mass", LEAVE_OUT,
        "veterinary review on xylitol poisoning, abstract seen (2010)", Published),
    but_not(row("grapes", "grapes, raisins, sultanas, currants", &["grape", "raisin", "sultana", "currant", "zante"], BOTH, Stop,
        "no safe dose is known; signs from about 3 g raisins or 20 g grapes per kg body mass", LEAVE_OUT,
        "veterinary trade press, seen; gram values computed", Published), &["grapeseed", "grape seed", "blackcurrant", "redcurrant"]),
    row("grapes", "a mixed food that often carries raisins", &["trail mix", "fruit bread", "fruit cake", "fruitcake", "mincemeat", "muesli", "granola", "dried fruit mix", "mixed dried fruit"], BOTH, Warn,
        "no safe dose of raisins is known", "Read its ingredient list and use it only if it is free of raisins, chocolate, macadamia and xylitol.",
        "common practice, no source", Recalled),
    but_not(row("chocolate", "chocolate or cocoa (theobromine, caffeine)", &["chocolate", "cocoa", "cacao"], BOTH, Stop,
        "methylxanthines: mild signs 20, heart 40 to 50, seizures from 60 mg per kg body mass; cocoa powder carries about 23 mg/g, milk chocolate 2.3 mg/g", LEAVE_OUT,
        "veterinary manual text, copy seen; contents from public food composition data", Published), &["cocoa substitute"]),
    but_not(row("caffeine", "coffee, tea, guarana, caffeine", &["caffeine", "coffee", "tea", "guarana", "yerba mate", "kola nut", "matcha"], BOTH, Stop,
        "as for chocolate", LEAVE_OUT, "from memory, to be confirmed", Recalled), &["tea tree"]),
    row("onion", "onion, leek, chive, shallot", &["onion", "leek", "chive", "shallot", "scallion"], BOTH, Stop,
        "red cells are damaged from about 15 g (dog) or 5 g (cat) fresh onion per kg body mass; powder is 5 to 8 times as strong", LEAVE_OUT,
        "veterinary review, reprint seen; factor for powder from memory", Published),
    row("garlic", "garlic", &["garlic"], &[Species::Dog], Warn,
        "the same poison as onion in smaller amounts; no safe dose is agreed", "Leave it out, or ask a veterinarian for a limit.",
        "from memory, to be confirmed", Recalled),
    row("garlic", "garlic", &["garlic"], &[Species::Cat], Stop,
        "cats are more sensitive than dogs", LEAVE_OUT, "from memory, to be confirmed", Recalled),
    row("macadamia", "macadamia", &["macadamia", "queensland nut"], BOTH, Stop,
        "weakness in dogs from 0.7, usually 2.4 g per kg body mass", LEAVE_OUT, "case series, abstract seen", Published),
    but_not(row("alcohol", "alcohol", &["alcohol", "ethanol", "wine", "beer", "liqueur", "rum", "brandy", "whisky"], BOTH, Stop,
        "no level is set", LEAVE_OUT, "veterinary review, abstract seen", Published), &["wine vinegar", "beer yeast", "barley beer"]),
    row("live-yeast", "live yeast", &["bakers yeast", "baker s yeast", "active dry yeast", "fresh yeast", "sourdough"], BOTH, Warn,
        "raw dough that goes on fermenting in the stomach bloats it and makes alcohol", "Bake every piece through; keep raw dough and trimmings away from animals.",
        "veterinary review, abstract seen", Published),
    row("hops", "hops", &["hop", "hops", "hop pellet", "hop extract"], BOTH, Stop,
        "runaway body temperature in dogs; no safe dose is known", LEAVE_OUT, "from memory, to be confirmed", Recalled),
    row("hops", "spent grain that may have met hops", &["spent grain", "brewers grain", "brewer s grain", "brewers dried grain", "brewers spent", "draff"], BOTH, Warn,
        "hops make the body temperature of dogs run away; no safe dose is known", "Use only grain that was never hopped, from a lot whose brewer confirms it in writing.",
        "from memory, to be confirmed", Recalled),
    row("hops", "yeast from hopped beer", &["brewers yeast", "brewer s yeast", "brewers dried yeast"], BOTH, Note,
        "brewers' yeast can carry hop bitters; no safe dose of hops is known", "Buy debittered feed or food grade yeast.",
        "from memory, to be confirmed", Recalled),
    row("nutmeg", "nutmeg or mace", &["nutmeg", "mace", "pumpkin pie mix", "pumpkin pie spice"], BOTH, Warn,
        "no level is set", "Leave it out.", "from memory, to be confirmed", Recalled),
    row("avocado", "avocado", &["avocado", "guacamole"], BOTH, Warn,
        "no level is set", "Leave it out, above all skin and stone.", "from memory, to be confirmed", Recalled),
    row("kernels", "stones and seeds of fruit (amygdalin)", &["apple seed", "cherry stone", "cherry pit", "peach stone", "peach pit", "plum stone", "apricot kernel", "bitter almond"], BOTH, Warn,
        "they set free cyanide", "Leave them out.", "from memory, to be confirmed", Recalled),
    but_not(row("raw-salmon", "raw salmon and its kin", &["salmon", "trout"], &[Species::Dog], Note,
        "raw salmonids can carry the agent of salmon poisoning", "Bake it through; feed none of it raw.", "from memory, to be confirmed", Recalled), &["salmonella"]),
    row("raw-egg-white", "egg white (avidin)", &["egg white", "albumen"], BOTH, Note,
        "raw egg white binds biotin", "Use heat-treated egg white, or bake it through.", "from memory, to be confirmed", Recalled),
    row("raw-egg-white", "raw egg white (avidin)", &["raw egg white", "egg white raw"], BOTH, Warn,
        "raw egg white binds biotin, and can carry Salmonella", "Use heat-treated egg white, or bake it through.", "from memory, to be confirmed", Recalled),
    but_not(row("tree-nuts", "tree nuts", &["almond", "walnut", "pecan", "hazelnut", "pistachio", "cashew", "brazil nut", "pine nut"], BOTH, Warn,
        "rich in fat, may be mouldy, and an allergen for people", "Leave them out, or ask a veterinarian.", "from memory, to be confirmed", Recalled), &["bitter almond"]),
    row("essential-oils", "essential oils", &["essential oil", "tea tree", "melaleuca", "citrus oil", "orange oil", "lemon oil", "peppermint oil", "eucalyptus", "wintergreen", "pennyroyal", "clove oil"], BOTH, Stop,
        "small amounts harm, cats above all", LEAVE_OUT, "from memory, to be confirmed", Recalled),
    from_share(row("liver", "liver", &["liver"], BOTH, Warn,
        "fresh beef liver carries 16 898 IU vitamin A and 9.76 mg copper per 100 g; house cap 5 % of the formula as dried liver", "Lower the liver, and have vitamin A and copper of the product reckoned.",
        "public food composition data; the cap is a house rule", Computed), 0.05),
    row("vitamin-d", "vitamin D", &["cod liver oil", "vitamin d", "cholecalciferol", "vitamin premix"], BOTH, Warn,
        "complete foods hold 500 to 3000 IU per kg dry matter", "Reckon the daily dose of the smallest animal on the label; ask a veterinary nutritionist.",
        "from memory, to be confirmed", Recalled),
    row("propylene-glycol", "propylene glycol", &["propylene glycol", "propane 1 2 diol", "e1520"], &[Species::Cat], Stop,
        "not to be used in or on cat food", LEAVE_OUT, "21 CFR 500.50, seen", Published),
    row("propylene-glycol", "propylene glycol", &["propylene glycol", "propane 1 2 diol", "e1520"], &[Species::Dog], Note,
        "allowed for dogs, forbidden for cats", "Keep the line and its rework away from anything for cats.", "21 CFR 500.50, seen", Published),
    row("ethoxyquin", "ethoxyquin", &["ethoxyquin"], BOTH, Warn,
        "at most 150 mg per kg feed", "Reckon its share, and ask whether the market takes it.", "21 CFR 573.380, seen", Published),
    row("synthetic-antioxidant", "BHA or BHT", &["bha", "bht", "butylated hydroxy"], BOTH, Note,
        "antioxidants together at most 0.02 % of the fat", "Reckon the share on the fat.", "21 CFR 582, seen", Published),
    from_share(row("benzoate", "benzoic acid or benzoate", &["benzoic acid", "benzoate"], BOTH, Warn,
        "at most 0.1 %", "Lower it; cats handle benzoate badly.", "21 CFR 582, seen; remark on cats from memory", Published), 0.001),
    row("hemp", "hemp or cannabidiol", &["hemp", "cbd", "cannabidiol", "cannabis"], BOTH, Warn,
        "not approved or only under conditions", "Ask counsel and the feed authority.", "from memory, to be confirmed", Recalled),
    row("menadione", "menadione", &["menadione"], BOTH, Warn,
        "not approved or only under conditions", "Ask counsel and the feed authority.", "from memory, to be confirmed", Recalled),
    from_share(row("cinnamon", "cinnamon", &["cinnamon", "cassia"], BOTH, Warn,
        "irritant; cassia carries coumarin", "Keep it at or below 0.5 %.", "from memory, to be confirmed", Recalled), 0.005),
    but_not(row("mycotoxin", "material at risk of aflatoxin", &["peanut", "groundnut"], BOTH, Note,
        "aflatoxin 20 µg per kg where the use is not known", "Buy tested lots and keep the certificate.", "summary of FDA action levels, seen", Published), &["peanut oil"]),
    row("xylitol", "a food that is sometimes sweetened with xylitol", &["peanut butter", "applesauce", "apple sauce", "nut butter"], BOTH, Note,
        "low blood sugar of dogs above 0.1 g xylitol per kg body mass", "Read its ingredient list: no xylitol, birch sugar or E967.", "common practice, no source", Recalled),
];
