//! Additives that harm by being there, or that a law keeps out.

use super::super::danger::{BOTH, Danger, LEAVE_OUT, RECALLED};
use crate::Code;
use crate::called::{ETHOXYQUIN, NITRITE, PROPYLENE_GLYCOL};
use crate::names::{NO_NAMES, Names};
use crate::nutrition::Species;
use measure::Grade::{Published, Recalled};
use measure::Severity::{Stop, Warn};

/// Additives.
#[rustfmt::skip]
pub(super) const ADDITIVES: &[Danger] = &[
    Danger {
        code: Code::PropyleneGlycol, substance: "propylene glycol",
        names: PROPYLENE_GLYCOL,
        species: &[Species::Cat], severity: Stop,
        threshold: "not to be used in or on cat food: diets with 6 and 12 % cut the life of red cells by 44 and 63 %", advice: LEAVE_OUT,
        source: "21 CFR 500.50, seen; feeding trial, seen", grade: Published,
    },
    Danger {
        code: Code::Nitrite, substance: "nitrite",
        names: NITRITE,
        species: &[Species::Cat], severity: Stop,
        threshold: "it makes the blood of cats unable to carry oxygen", advice: LEAVE_OUT,
        source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::TitaniumDioxide, substance: "titanium dioxide",
        names: Names { en: &["titanium dioxide", "titanium white"], de: &["Titandioxid"], fr: &["dioxyde de titane"], es: &["dióxido de titanio"], e: &["171"], ..NO_NAMES },
        species: BOTH, severity: Warn,
        threshold: "refused as a feed colour in the EU (2021/2090)", advice: "Colour with something else, or ask counsel.", source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Ethoxyquin, substance: "ethoxyquin",
        names: ETHOXYQUIN,
        species: BOTH, severity: Warn,
        threshold: "refused as a feed additive in the EU (2022/1375)", advice: "Use tocopherols, or ask counsel.",
        source: "Regulation (EU) 2022/1375, seen", grade: Published,
    },
    Danger {
        code: Code::Menadione, substance: "menadione",
        names: Names { en: &["menadione", "vitamin k3"], de: &["Menadion"], fr: &["ménadione"], es: &["menadiona"], ..NO_NAMES },
        species: BOTH, severity: Warn, threshold: "not approved or only under conditions", advice: "Ask counsel and the feed authority.", source: RECALLED, grade: Recalled,
    },
];
