//! Two-level fraction: a chosen part of all combinations, and what it confounds.

use super::factorial::replicated;
use crate::Code;
use crate::plan::error::within;
use crate::plan::{Draft, DraftRun, Level, MOST_RUNS, Named, PlanError};
use measure::{Finding, Severity};
use serde::{Deserialize, Serialize};

/// A 2^(k − p) fraction of two-level factors.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Fractional {
    /// The factors, each with two levels; they get the letters A, B, C … in their order.
    pub factors: Vec<Named>,
    /// p: the runs are halved p times; 0 for all combinations.
    pub drop: usize,
    /// Generators such as `D=ABC` or `D=-ABC`, p of them; empty to let the program choose the
    /// fraction with the least aberration.
    pub generators: Vec<String>,
    /// Units per run of the fraction.
    pub replicates: usize,
}

/// Words of a defining relation with their signs.
type Words = Vec<(u32, bool)>;

/// A fraction: words of the defining relation and what follows from them.
///
/// Effects are bit sets: bit 0 is factor A, bit 1 factor B …
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fraction {
    /// Number of factors k.
    pub factors: usize,
    /// Generating words with their sign (`true` for −), one per halving.
    pub generators: Vec<(u32, bool)>,
    /// Every word of the defining relation with its sign, shortest first.
    pub words: Vec<(u32, bool)>,
}

impl Fraction {
    /// A fraction from its generating words.
    fn new(factors: usize, generators: Vec<(u32, bool)>) -> Self {
        let mut words = Vec::with_capacity((1 << generators.len()) - 1);
        for choice in 1u32..1 << generators.len() {
            let mut word = (0, false);
            for (i, g) in generators.iter().enumerate() {
                if choice >> i & 1 == 1 {
                    word = (word.0 ^ g.0, word.1 ^ g.1);
                }
            }
            words.push(word);
        }
        words.sort_by_key(|(w, _)| (w.count_ones(), letters(*w)));
        Self {
            factors,
            generators,
            words,
        }
    }

    /// The fraction of `factors` two-level factors in 2^(factors − drop) runs with the highest
    /// resolution and, among those, least aberration (fewest shortest words), found by trying all
    /// choices of generators.
    ///
    /// ```
    /// use trials::plan::Fraction;
    /// let f = Fraction::least_aberration(5, 2).unwrap();
    /// assert_eq!(f.resolution(), Some(3));
    /// assert_eq!(f.defining_relation(), "I = ABD = ACE = BCDE");
    /// ```
    ///
    /// # Errors
    /// When there are more than 10 factors, or too few runs are left for that many factors.
    pub fn least_aberration(factors: usize, drop: usize) -> Result<Self, PlanError> {
        within("two-level factors", factors, 2, 10, "")?;
        if drop == 0 {
            return Ok(Self::new(factors, Vec::new()));
        }
        let base = factors.saturating_sub(drop);
        // Each dropped factor needs a product of two or more base factors of its own.
        let products: Vec<u32> = (1u32..1 << base).filter(|w| w.count_ones() >= 2).collect();
        if products.len() < drop {
            let why = "; halve fewer times: each factor needs a column of its own";
            let least = (1..=factors)
                .find(|b| (1usize << b) > factors)
                .unwrap_or(factors);
            return Err(PlanError::TooFew {
                what: "runs of the fraction",
                given: 1 << base,
                least: 1 << least,
                why,
            });
        }
        let mut best: Option<(Vec<u32>, Words)> = None;
        let mut choice: Vec<usize> = (0..drop).collect();
        loop {
            let generators: Vec<(u32, bool)> = choice
                .iter()
                .enumerate()
                .map(|(i, &c)| (products[c] | 1 << (base + i), false))
                .collect();
            let pattern = length_pattern(factors, &generators);
            if best.as_ref().is_none_or(|(b, _)| pattern < *b) {
                best = Some((pattern, generators));
            }
            if !next_choice(&mut choice, products.len()) {
                break;
            }
        }
        let (_, generators) = best.expect("at least one choice was tried");
        Ok(Self::new(factors, generators))
    }

    /// A fraction from generators written as `D=ABC`.
    ///
    /// # Errors
    /// [`PlanError::Generator`] naming the text that cannot be used.
    pub fn from_generators(factors: usize, texts: &[String]) -> Result<Self, PlanError> {
        within("two-level factors", factors, 2, 26, "")?;
        within("halvings", texts.len(), 0, factors.min(16) - 1, "")?;
        let base = factors - texts.len();
        let mut generators = Vec::new();
        let mut made = 0u32;
        for text in texts {
            let fail = |reason: String| PlanError::Generator {
                generator: text.clone(),
                reason,
            };
            let clean: String = text.chars().filter(|c| !c.is_whitespace()).collect();
            let (left, right) = clean
                .split_once('=')
                .ok_or_else(|| fail("there is no '='".to_owned()))?;
            let (right, minus) = match right.strip_prefix(['-', '−']) {
                Some(rest) => (rest, true),
                None => (right, false),
            };
            let bit = |c: char| {
                let at = (c.to_ascii_uppercase() as u32).wrapping_sub('A' as u32);
                if (at as usize) < factors {
                    Ok(1u32 << at)
                } else {
                    Err(fail(format!("'{c}' is no factor of this trial")))
                }
            };
            let mut letters = left.chars();
            let (Some(first), None) = (letters.next(), letters.next()) else {
                return Err(fail("one letter must stand before the '='".to_owned()));
            };
            let own = bit(first)?;
            if own < 1 << base {
                return Err(fail(format!(
                    "{first} is one of the first {base} factors, which span the runs"
                )));
            }
            let mut word = 0;
            for c in right.chars() {
                word ^= bit(c)?;
            }
            if word.count_ones() < 2 || word >= 1 << base {
                return Err(fail(format!(
                    "the product must be of two or more of the first {base} factors"
                )));
            }
            if made & own != 0 {
                return Err(fail(format!("{first} already has a generator")));
            }
            made |= own;
            generators.push((word | own, minus));
        }
        let fraction = Self::new(factors, generators);
        Ok(fraction)
    }

    /// Length of the shortest word; none for the full factorial.
    pub fn resolution(&self) -> Option<u32> {
        self.words.first().map(|(w, _)| w.count_ones())
    }

    /// The defining relation, e.g. `I = ABD = ACE = BCDE`.
    pub fn defining_relation(&self) -> String {
        let mut text = "I".to_owned();
        for &(word, minus) in &self.words {
            text.push_str(if minus { " = −" } else { " = " });
            text.push_str(&letters(word));
        }
        text
    }

    /// Effects up to `order` factors that cannot be told from `effect`, with their signs.
    pub fn aliases(&self, effect: u32, order: u32) -> Vec<(u32, bool)> {
        let mut found: Vec<(u32, bool)> = self
            .words
            .iter()
            .map(|&(w, minus)| (w ^ effect, minus))
            .filter(|(e, _)| e.count_ones() <= order)
            .collect();
        found.sort_by_key(|(e, _)| (e.count_ones(), *e));
        found
    }

    /// The level of every factor in every run, `true` for the second level.
    pub fn runs(&self) -> Vec<Vec<bool>> {
        let base = self.factors - self.generators.len();
        (0u32..1 << base)
            .map(|run| {
                (0..self.factors)
                    .map(|f| {
                        let generator = (f >= base)
                            .then(|| self.generators.iter().find(|(w, _)| w >> f & 1 == 1))
                            .flatten();
                        match generator {
                            None => run >> f & 1 == 1,
                            Some((word, minus)) => {
                                // Product of signs: high when an even number of its factors are low.
                                let span = word & ((1 << base) - 1);
                                let low = (span & !run).count_ones();
                                low.is_multiple_of(2) ^ minus
                            }
                        }
                    })
                    .collect()
            })
            .collect()
    }
}

/// The letters of an effect: bit 0 is A.
pub(super) fn letters(effect: u32) -> String {
    (0u8..26)
        .filter(|i| effect >> i & 1 == 1)
        .map(|i| (b'A' + i) as char)
        .collect()
}

/// Number of words of length 1, 2, 3 … of the defining relation.
fn length_pattern(factors: usize, generators: &[(u32, bool)]) -> Vec<u32> {
    let mut pattern = vec![0; factors + 1];
    for choice in 1u32..1 << generators.len() {
        let word = generators
            .iter()
            .enumerate()
            .filter(|(i, _)| choice >> i & 1 == 1)
            .fold(0, |w, (_, g)| w ^ g.0);
        pattern[word.count_ones() as usize] += 1;
    }
    pattern
}

/// Advances a choice of ascending places among `n`; false after the last.
fn next_choice(choice: &mut [usize], n: usize) -> bool {
    let k = choice.len();
    for i in (0..k).rev() {
        if choice[i] < n - k + i {
            choice[i] += 1;
            for j in i + 1..k {
                choice[j] = choice[j - 1] + 1;
            }
            return true;
        }
    }
    false
}

impl Fractional {
    /// The fraction this wish stands for.
    ///
    /// # Errors
    /// As [`Fraction::least_aberration`] and [`Fraction::from_generators`].
    pub fn fraction(&self) -> Result<Fraction, PlanError> {
        let k = self.factors.len();
        if self.generators.is_empty() {
            return Fraction::least_aberration(k, self.drop);
        }
        if self.generators.len() != self.drop {
            return Err(PlanError::WrongCount {
                what: "generators",
                given: self.generators.len(),
                wanted: self.drop,
                why: "one for each halving",
            });
        }
        Fraction::from_generators(k, &self.generators)
    }

    pub(super) fn draw(&self, seed: u64) -> Result<Draft, PlanError> {
        Named::check_all(&self.factors)?;
        within("replicates", self.replicates, 1, MOST_RUNS, "")?;
        for f in &self.factors {
            if f.levels.len() != 2 {
                return Err(PlanError::WrongCount {
                    what: "levels of a factor in a two-level fraction",
                    given: f.levels.len(),
                    wanted: 2,
                    why: "more levels need the full factorial",
                });
            }
        }
        let fraction = self.fraction()?;
        let set = fraction
            .runs()
            .into_iter()
            .map(|run| {
                let levels: Vec<&String> = self
                    .factors
                    .iter()
                    .zip(run)
                    .map(|(f, high)| &f.levels[usize::from(high)])
                    .collect();
                DraftRun {
                    treatment: levels
                        .iter()
                        .map(|l| l.as_str())
                        .collect::<Vec<_>>()
                        .join(" / "),
                    levels: levels.into_iter().map(|l| Level::Name(l.clone())).collect(),
                    ..DraftRun::default()
                }
            })
            .collect();
        let mut draft = replicated(&self.factors, set, self.replicates, None, seed)?;
        describe(&fraction, &self.factors, &mut draft);
        Ok(draft)
    }
}

/// Adds letters, defining relation, resolution and aliases to a sheet.
fn describe(fraction: &Fraction, factors: &[Named], draft: &mut Draft) {
    let key: Vec<String> = factors
        .iter()
        .enumerate()
        .map(|(i, f)| format!("{} {}", letters(1 << i), f.name))
        .collect();
    draft.fact("letters", key.join(", "));
    let Some(resolution) = fraction.resolution() else {
        return;
    };
    draft.fact("defining relation", fraction.defining_relation());
    draft.fact("resolution", roman(resolution));
    let signed =
        |(e, minus): (u32, bool)| format!("{}{}", if minus { "−" } else { "" }, letters(e));
    let k = fraction.factors;
    let mut told = std::collections::BTreeSet::new();
    let pairs = (0..k).flat_map(|i| (i + 1..k).map(move |j| 1u32 << i | 1 << j));
    for effect in (0..k).map(|i| 1u32 << i).chain(pairs) {
        if !told.insert(effect) {
            continue;
        }
        let aliases = fraction.aliases(effect, 2);
        told.extend(aliases.iter().map(|(e, _)| *e));
        if !aliases.is_empty() {
            let text: Vec<String> = aliases.into_iter().map(signed).collect();
            draft.fact(
                &format!("{} cannot be told from", letters(effect)),
                text.join(", "),
            );
        }
    }
    if resolution == 3 {
        draft.findings.push(
            Finding::new(
                Severity::Warn,
                Code::MainEffectsAliased,
                "plan",
                "Resolution III: straight effects cannot be told from the joint action of two other factors.",
            )
            .help("Take it as a screening only, or halve once less."),
        );
    }
}

fn roman(n: u32) -> &'static str {
    [
        "0", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X",
    ]
    .get(n as usize)
    .copied()
    .unwrap_or("above X")
}
