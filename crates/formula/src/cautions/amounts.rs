//! Substances that are weighed: how much of each a formula holds, against limits with their source.

use super::substance::{AmountUnit, Basis, Carrier, FEED_MOISTURE, Limit, Substance};
use super::substances::SUBSTANCES;
use crate::composition::Nutrient;
use crate::formula::{Formula, Line};
use crate::names::{Folded, Text};
use crate::nutrition::Species;
use measure::{Finding, Severity, Tally};
use std::sync::LazyLock;

/// How much of a substance a formula holds as added: what other materials hold of it by nature
/// isn't counted, and none is taken to leave in the oven.
#[derive(Clone, Debug, PartialEq)]
pub struct Amount {
    /// Which.
    pub substance: &'static Substance,
    /// Added on the formula's scale, kg.
    kg: f64,
    /// The same with each material's dry matter in place of its mass, kg.
    dry_kg: f64,
    /// Dry matter of the treat on the formula's scale, kg.
    solids_kg: f64,
    /// Fat on the formula's scale, kg, with the materials whose fat isn't known.
    fat_kg: Tally,
    /// What is known of the contents, by carrier.
    carriers: Vec<&'static Carrier>,
    /// Names of the materials whose content is known.
    pub from: Vec<String>,
    /// Names of the materials whose content isn't known: the amount is at least.
    pub unknown: Vec<String>,
}

impl Amount {
    /// kg of the substance per kg on a basis; none where there is nothing to tell it per.
    ///
    /// - Equation: kg of the substance over the whole of the basis; at 12 % moisture solids/(1 − 0.12)
    /// - Units: masses \[kg\], result \[kg/kg\]
    /// - Valid: a basis of which there is some
    /// - Source: the basis of EU feed limits: 12 % moisture (Directive 2002/32/EC, seen)
    ///
    /// ```
    /// use formula::cautions::{Basis, amounts};
    /// use formula::{Formula, Line, shelf};
    /// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
    /// let f = Formula::new(vec![line("wheat_flour_soft", 99.9), line("sodium_metabisulfite", 0.1)]).unwrap();
    /// let all = amounts(&f);
    /// let sulfite = all.iter().find(|a| a.substance.code == formula::Code::Sulfite).unwrap();
    /// let (at_12, dry) = (sulfite.kg_per_kg(Basis::At12).unwrap(), sulfite.kg_per_kg(Basis::Dry).unwrap());
    /// assert!((at_12 / dry - 0.88).abs() < 1e-12);
    /// ```
    pub fn kg_per_kg(&self, basis: Basis) -> Option<f64> {
        let per = |kg: f64, whole: f64| (whole > 0.0).then_some(kg / whole);
        match basis {
            Basis::At12 => per(self.kg * (1.0 - FEED_MOISTURE), self.solids_kg),
            Basis::Dry => per(self.kg, self.solids_kg),
            Basis::DryOfDry => per(self.dry_kg, self.solids_kg),
            Basis::Fat => per(self.kg, self.fat_kg.exact()?),
        }
    }

    /// The amount on a basis with its unit, three digits.
    fn told(&self, basis: Basis) -> String {
        self.kg_per_kg(basis).map_or_else(
            || String::from("an unknown amount"),
            |x| shown(x, self.substance.unit),
        )
    }

    /// The weightiest limit that it passes for an animal; the largest of those of one weight.
    fn passed(&self, species: Species) -> Option<&'static Limit> {
        self.substance
            .limits
            .iter()
            .filter(|limit| limit.species.contains(&species))
            .filter(|limit| {
                let amount = self.kg_per_kg(limit.basis);
                // A hair of tolerance keeps what stands exactly at a limit from passing it by a
                // rounding error of the sum.
                amount.is_some_and(|a| a > limit.at_most_kg_per_kg * (1.0 + 1e-9))
            })
            .max_by(|a, b| {
                a.severity
                    .cmp(&b.severity)
                    .then(a.at_most_kg_per_kg.total_cmp(&b.at_most_kg_per_kg))
            })
    }

    /// A limit per fat that can't be held against the amount: some fat isn't known, and that which is
    /// known wouldn't be enough.
    fn unsure(&self, species: Species) -> Option<&'static Limit> {
        self.substance
            .limits
            .iter()
            .filter(|limit| limit.species.contains(&species) && limit.basis == Basis::Fat)
            .find(|limit| {
                !self.fat_kg.unknown.is_empty()
                    && self.kg > limit.at_most_kg_per_kg * self.fat_kg.at_least * (1.0 + 1e-9)
            })
    }

    /// Where the contents come from and how sure they are.
    fn contents(&self) -> String {
        let mut told: Vec<String> = Vec::new();
        for carrier in &self.carriers {
            let source = format!("{} ({})", carrier.source, carrier.grade.word());
            if !told.contains(&source) {
                told.push(source);
            }
        }
        if told.is_empty() {
            String::from("content not known")
        } else {
            format!("content: {}", told.join("; "))
        }
    }

    fn finding(&self, species: Species) -> Option<Finding> {
        let s = self.substance;
        let limits = s.limits.iter().filter(|l| l.species.contains(&species));
        let tell = |limit: &Limit| {
            format!(
                "at most {} {} ({})",
                shown(limit.at_most_kg_per_kg, s.unit),
                limit.basis.word(),
                limit.whose
            )
        };
        let all: Vec<String> = limits.clone().map(tell).collect();
        let basis = limits.clone().next()?.basis;
        let at_least = if self.unknown.is_empty() {
            ""
        } else {
            "at least "
        };
        let finding = |severity, message: String, advice: &str| {
            Finding::new(severity, s.code, "formula", message).help(advice)
        };
        let (found, grade) = if let Some(limit) = self.passed(species) {
            let told = self.told(limit.basis);
            (
                finding(
                    limit.severity,
                    format!(
                        "{} from {}: {at_least}{told} {}, above the {} accepted for a {} ({}).",
                        s.substance,
                        self.from.join(", "),
                        limit.basis.word(),
                        shown(limit.at_most_kg_per_kg, s.unit),
                        species.word(),
                        limit.whose
                    ),
                    s.advice,
                ),
                limit.grade,
            )
        } else if let Some(limit) = self.unsure(species) {
            (
                finding(
                    Severity::Warn,
                    format!(
                        "{} from {} can't be held against {}: the fat of {} isn't known.",
                        s.substance,
                        self.from.join(", "),
                        tell(limit),
                        self.fat_kg.unknown.join(", ")
                    ),
                    "Give the fat of these materials.",
                ),
                limit.grade,
            )
        } else if self.unknown.is_empty() {
            let grade = limits.clone().map(|l| l.grade).max()?;
            (
                finding(
                    Severity::Note,
                    format!(
                        "{} from {}: {} {} as added; {}.",
                        s.substance,
                        self.from.join(", "),
                        self.told(basis),
                        basis.word(),
                        all.join(", ")
                    ),
                    "What the other materials hold of it by nature comes on top.",
                ),
                grade,
            )
        } else {
            let grade = limits.clone().map(|l| l.grade).max()?;
            (
                finding(
                    Severity::Warn,
                    format!(
                        "How much {} {} brings isn't known; {}.",
                        s.substance,
                        self.unknown.join(", "),
                        all.join(", ")
                    ),
                    "Take its content from the certificate and reckon it per kg of treat before you bake.",
                ),
                grade,
            )
        };
        Some(found.source(format!("{}; limit {}", self.contents(), grade.word())))
    }
}

/// Three digits, with the unit.
fn shown(kg_per_kg: f64, unit: AmountUnit) -> String {
    let value = kg_per_kg * unit.per_kg_per_kg;
    let decimals = if value == 0.0 {
        0
    } else {
        (2 - value.abs().log10().floor() as i32).clamp(0, 6) as usize
    };
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    format!("{text} {}", unit.word)
}

static FOLDED: LazyLock<Vec<Vec<Folded>>> = LazyLock::new(|| {
    let carriers = |s: &Substance| s.carriers.iter().map(|c| c.names.folded()).collect();
    SUBSTANCES.iter().map(carriers).collect()
});

/// The substances of the list that a formula's materials bring, with how much.
///
/// ```
/// use formula::cautions::{Basis, amounts};
/// use formula::{Formula, Line, shelf};
/// let line = |id, parts| Line::new(shelf::find(id).unwrap(), parts);
/// let f = Formula::new(vec![line("wheat_flour_soft", 99.9), line("sodium_metabisulfite", 0.1)]).unwrap();
/// let all = amounts(&f);
/// let sulfite = all.iter().find(|a| a.substance.code == formula::Code::Sulfite).unwrap();
/// // 0.1 kg with 67.4 % sulfur dioxide in 88.1 kg dry matter: 673 mg per kg at 12 % moisture.
/// let mg_per_kg = 1e6 * sulfite.kg_per_kg(Basis::At12).unwrap();
/// assert!((mg_per_kg - 673.0).abs() < 1.0);
/// ```
pub fn amounts(formula: &Formula) -> Vec<Amount> {
    let lines: Vec<(&Line, Text)> = formula
        .lines()
        .iter()
        .filter(|l| l.parts > 0.0)
        .map(|l| {
            let m = &l.material;
            (l, Text::of(&[&m.id, &m.name, &m.label_name]))
        })
        .collect();
    let mut list = Vec::new();
    for (substance, folded) in SUBSTANCES.iter().zip(FOLDED.iter()) {
        let mut amount = Amount {
            substance,
            kg: 0.0,
            dry_kg: 0.0,
            solids_kg: formula.solids() - formula.decomposed(),
            fat_kg: formula.mass_of(Nutrient::CrudeFat),
            carriers: Vec::new(),
            from: Vec::new(),
            unknown: Vec::new(),
        };
        for (line, text) in &lines {
            let Some(at) = folded.iter().position(|f| f.named_in(text)) else {
                continue;
            };
            let name = line.material.name.clone();
            let carrier = &substance.carriers[at];
            match carrier.kg_per_kg {
                Some(content) => {
                    amount.carriers.push(carrier);
                    let kg = line.parts * content;
                    amount.kg += kg;
                    amount.dry_kg += kg * (1.0 - line.moisture());
                    amount.from.push(name);
                }
                None => amount.unknown.push(name),
            }
        }
        if !amount.from.is_empty() || !amount.unknown.is_empty() {
            list.push(amount);
        }
    }
    list
}

/// What the amounts have to tell about an animal.
pub(super) fn findings(formula: &Formula, species: Species) -> Vec<Finding> {
    amounts(formula)
        .iter()
        .filter_map(|a| a.finding(species))
        .collect()
}
