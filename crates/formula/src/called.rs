//! What a few things are called that more than one list asks for.

use crate::names::{NO_NAMES, Names};

/// Propylene glycol.
pub(crate) const PROPYLENE_GLYCOL: Names = Names {
    en: &["propylene glycol", "propane 1 2 diol"],
    de: &["Propylenglykol"],
    fr: &["propylène glycol", "propylèneglycol"],
    es: &["propilenglicol"],
    e: &["1520"],
    ..NO_NAMES
};
/// Nitrite in any form.
pub(crate) const NITRITE: Names = Names {
    en: &["nitrite", "curing salt", "pink salt"],
    de: &[
        "Nitrit",
        "Natriumnitrit",
        "Kaliumnitrit",
        "Pökelsalz",
        "Nitritpökelsalz",
    ],
    fr: &["nitrite", "sel nitrité"],
    es: &["nitrito", "sal curante", "sal de curado"],
    e: &["249", "250"],
    ..NO_NAMES
};
/// Ethoxyquin.
pub(crate) const ETHOXYQUIN: Names = Names {
    en: &["ethoxyquin"],
    de: &["Ethoxyquin"],
    fr: &["éthoxyquine"],
    es: &["etoxiquina"],
    e: &["324"],
    ..NO_NAMES
};
/// Garlic, which is weighed for dogs and left out for cats.
pub(crate) const GARLIC: Names = Names {
    en: &["garlic", "allium sativum"],
    de: &["Knoblauch"],
    fr: &["ail"],
    es: &["ajo"],
    except: &["wild garlic", "ail des ours", "garlic mustard"],
    ..NO_NAMES
};
/// Xylitol.
pub(crate) const XYLITOL: Names = Names {
    en: &["xylitol", "birch sugar", "birch sweetener", "wood sugar"],
    de: &["Xylit", "Birkenzucker", "Holzzucker"],
    fr: &["sucre de bouleau"],
    es: &["azúcar de abedul"],
    e: &["967"],
    ..NO_NAMES
};
