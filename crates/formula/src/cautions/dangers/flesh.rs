//! What flesh, egg and blood are called: one list for the dangers of what is raw, for sulfite beside
//! meat and for the kill that a bake owes.

use crate::names::{NO_NAMES, Names};

/// Salmon and its kin.
#[rustfmt::skip]
pub(in crate::cautions) const SALMON: Names = Names {
    en: &["salmon", "trout"],
    de: &["Lachs", "Forelle"],
    fr: &["saumon", "truite"],
    es: &["salmón", "trucha"],
    except: &["salmonella", "Salmonelle", "salmon oil", "Lachsöl", "huile de saumon", "aceite de salmón"],
    ..NO_NAMES
};

/// Fish.
#[rustfmt::skip]
pub(in crate::cautions) const FISH: Names = Names {
    en: &["fish", "herring", "carp", "smelt", "sardine", "anchovy", "mackerel", "tuna"],
    de: &["Fisch", "Hering", "Karpfen", "Stint", "Sardine", "Makrele", "Thunfisch"],
    fr: &["poisson", "hareng", "carpe", "éperlan", "sardine", "anchois", "maquereau", "thon"],
    es: &["pescado", "arenque", "carpa", "sardina", "anchoa", "caballa", "atún"],
    except: &["fish oil", "Fischöl", "huile de poisson", "aceite de pescado"],
    ..NO_NAMES
};

/// Poultry, its eggs apart.
#[rustfmt::skip]
pub(in crate::cautions) const POULTRY: Names = Names {
    en: &["chicken", "turkey", "duck", "goose", "quail", "poultry"],
    de: &["Huhn", "Hühnerfleisch", "Hühnerleber", "Hühnerherz", "Hähnchen", "Pute", "Puten", "Truthahn", "Ente", "Entenfleisch", "Gans", "Gänsefleisch", "Geflügel"],
    fr: &["poulet", "dinde", "canard", "oie", "caille", "volaille"],
    es: &["pollo", "pavo", "pato", "ganso", "codorniz", "ave de corral"],
    except: &["chicken fat", "poultry fat", "duck fat", "goose fat", "turkey fat", "Geflügelfett", "gooseberry", "gooseberries", "chicken egg", "turkey egg", "duck egg", "goose egg", "quail egg", "oeuf de caille", "oeufs de caille", "huevo de codorniz", "huevos de codorniz", "huevo de pato", "huevos de pato"],
    ..NO_NAMES
};

/// Meat and offal of mammals, pork and game apart.
#[rustfmt::skip]
pub(in crate::cautions) const MEAT: Names = Names {
    en: &["meat", "beef", "veal", "bison", "lamb", "mutton", "offal", "liver", "heart", "kidney", "lung", "spleen", "tripe"],
    de: &["Fleisch", "Hackfleisch", "Rind", "Rindfleisch", "Rinder", "Kalb", "Kalbfleisch", "Lamm", "Lammfleisch", "Innereien", "Leber", "Herz", "Niere", "Lunge", "Milz", "Pansen"],
    fr: &["viande", "boeuf", "veau", "agneau", "abats", "foie", "coeur", "rognon", "poumon"],
    es: &["carne", "vacuno", "ternera", "cordero", "despojos", "hígado", "corazón", "riñón", "pulmón"],
    except: &["beef fat", "beef tallow", "liver oil", "kidney bean", "judía", "artichoke heart", "heart of palm", "palm heart", "orange rind", "lemon rind", "citrus rind", "melon rind"],
    ..NO_NAMES
};

/// Pork and game. The German word "Wild" alone is also wild rice.
#[rustfmt::skip]
pub(in crate::cautions) const PORK_GAME: Names = Names {
    en: &["pork", "pig", "swine", "wild boar", "venison", "game", "deer", "bear", "hare", "rabbit"],
    de: &["Schwein", "Wildschwein", "Wildfleisch", "Wildbret", "Hirsch", "Reh", "Hase", "Kaninchen"],
    fr: &["porc", "sanglier", "gibier", "cerf", "chevreuil", "lièvre", "lapin"],
    es: &["cerdo", "jabalí", "caza", "venado", "ciervo", "liebre", "conejo"],
    except: &["pork fat", "pig fat"],
    ..NO_NAMES
};

/// Egg.
pub(in crate::cautions) const EGG: Names = Names {
    en: &["egg"],
    de: &["Ei", "Eier", "Eiklar", "Vollei", "Hühnerei"],
    fr: &["oeuf", "oeufs"],
    es: &["huevo", "huevos"],
    except: &["egg shell", "eggshell"],
    ..NO_NAMES
};

/// Blood.
pub(in crate::cautions) const BLOOD: Names = Names {
    en: &["blood", "plasma"],
    de: &["Blut", "Blutplasma"],
    fr: &["sang", "plasma sanguin"],
    es: &["sangre"],
    except: &["blood orange", "Blutorange"],
    ..NO_NAMES
};
