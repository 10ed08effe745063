//! Acids beside soda: how much of it each takes up.

use crate::material::{Category, Material};
use crate::names::{Folded, Names, Text};
use crate::solute::Solute;
use measure::{Constant, Grade, Range};
use std::sync::LazyLock;

const fn acid_salt(name: &'static str, parts: f64, low: f64, high: f64) -> Constant {
    Constant {
        name,
        value: parts,
        unit: "kg per kg soda",
        range: Range::new(low, high),
        source: "a data book on additives, seen; the purer the salt the less of it",
        grade: Grade::Published,
    }
}

/// Acid salts that are added beside soda: what they are called, and how much of each takes up one kg of
/// soda. The neutralising value of the trade is 100 over it: cream of tartar 44.6, acid pyrophosphate
/// 71.9, acid calcium phosphate 80, glucono-delta-lactone 47.2.
#[rustfmt::skip]
pub static ACID_SALTS: [(Names, Constant); 4] = [
    (
        Names { en: &["cream of tartar", "potassium bitartrate", "potassium hydrogen tartrate"], de: &["Weinstein", "Kaliumhydrogentartrat"], fr: &["crème de tartre", "bitartrate de potassium"], es: &["crémor tártaro", "bitartrato de potasio"], e: &["336"], ..Names::NONE },
        acid_salt("potassium hydrogen tartrate that takes up soda", 2.24, 2.2, 2.4),
    ),
    (
        Names { en: &["sodium acid pyrophosphate", "acid sodium pyrophosphate", "disodium diphosphate", "disodium pyrophosphate", "sapp"], de: &["saures Natriumpyrophosphat", "Dinatriumdiphosphat"], fr: &["pyrophosphate acide de sodium", "diphosphate disodique"], es: &["pirofosfato ácido de sodio", "difosfato disódico"], ..Names::NONE },
        acid_salt("acid sodium pyrophosphate that takes up soda", 1.39, 1.32, 1.45),
    ),
    (
        Names { en: &["monocalcium phosphate", "acid calcium phosphate", "calcium dihydrogen phosphate"], de: &["Monocalciumphosphat", "Calciumdihydrogenphosphat"], fr: &["phosphate monocalcique"], es: &["fosfato monocálcico"], ..Names::NONE },
        acid_salt("acid calcium phosphate that takes up soda", 1.25, 1.045, 1.3),
    ),
    (
        Names { en: &["glucono delta lactone", "gluconolactone"], de: &["Glucono delta Lacton", "Gluconsäurelacton"], fr: &["gluconolactone"], es: &["glucono delta lactona", "gluconolactona"], e: &["575"], ..Names::NONE },
        acid_salt("glucono-delta-lactone that takes up soda", 2.12, 2.1, 2.2),
    ),
];

static FOLDED: LazyLock<Vec<(Folded, &'static Constant)>> = LazyLock::new(|| {
    let folded = |(names, parts): &'static (Names, Constant)| (names.folded(), parts);
    ACID_SALTS.iter().map(folded).collect()
});

/// Molar mass of sodium bicarbonate, g/mol (standard atomic weights).
///
/// - Units: \[g/mol\]
/// - Source: standard atomic weights
const SODA_G_PER_MOL: f64 = 84.007;

/// kg of soda that a kg of a dissolved acid takes up, by its acid groups; none for what is no acid.
///
/// - Equation: groups · M(NaHCO₃)/M(acid)
/// - Units: result \[kg soda/kg acid\]
/// - Valid: acids that give up all their groups to soda
/// - Source: stoichiometry, molar masses; the examples by hand
///
/// ```
/// use formula::{Solute, leavening::soda_taken_up};
/// let per_soda = |acid| 1.0 / soda_taken_up(acid).unwrap();
/// // kg of acid per kg of soda by molar mass: citric 0.762, lactic 1.072, malic 0.798, tartaric 0.893,
/// // acetic 0.715.
/// for (acid, kg) in [
///     (Solute::CitricAcid, 0.762),
///     (Solute::LacticAcid, 1.072),
///     (Solute::MalicAcid, 0.798),
///     (Solute::TartaricAcid, 0.893),
///     (Solute::AceticAcid, 0.715),
/// ] {
///     assert!((per_soda(acid) - kg).abs() < 5e-4);
/// }
/// assert_eq!(soda_taken_up(Solute::SodiumLactate), None);
/// ```
pub fn soda_taken_up(solute: Solute) -> Option<f64> {
    let groups = match solute {
        Solute::CitricAcid => 3.0,
        Solute::TartaricAcid | Solute::MalicAcid => 2.0,
        Solute::LacticAcid | Solute::AceticAcid => 1.0,
        Solute::Glycerol
        | Solute::PropyleneGlycol
        | Solute::Sorbitol
        | Solute::Xylitol
        | Solute::Erythritol
        | Solute::Mannitol
        | Solute::Sucrose
        | Solute::Glucose
        | Solute::Fructose
        | Solute::Maltose
        | Solute::Lactose
        | Solute::SodiumLactate
        | Solute::PotassiumLactate => return None,
    };
    Some(groups * SODA_G_PER_MOL / solute.g_per_mol())
}

/// What a material is to soda.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum AsAcid {
    /// No acid that is told.
    None,
    /// An acid that takes up so many kg of soda per kg as received.
    TakesUp(f64),
    /// An acid, how strong isn't known.
    Unknown,
}

/// What a material is to soda: by what dissolves, by its name, or an acidulant that nobody told more of.
/// A baking powder has its acid beside its soda.
pub(crate) fn as_acid(material: &Material) -> AsAcid {
    if material.leavener.is_some() {
        return AsAcid::None;
    }
    let dissolved: f64 = material
        .dissolves
        .iter()
        .filter_map(|d| Some(d.fraction * soda_taken_up(d.solute)?))
        .sum();
    if dissolved > 0.0 {
        return AsAcid::TakesUp(dissolved);
    }
    if may_be_acid_salt(material.category) {
        let called = Text::of(&[&material.id, &material.name, &material.label_name]);
        let salt = FOLDED.iter().find(|(names, _)| names.named_in(&called));
        if let Some((_, parts)) = salt {
            return AsAcid::TakesUp(1.0 / parts.value);
        }
    }
    if material.category == Category::Acidulant {
        AsAcid::Unknown
    } else {
        AsAcid::None
    }
}

/// The kinds that an acid salt may stand under.
const fn may_be_acid_salt(category: Category) -> bool {
    matches!(
        category,
        Category::Leavening
            | Category::Acidulant
            | Category::Mineral
            | Category::Preservative
            | Category::DoughConditioner
            | Category::Other
    )
}
