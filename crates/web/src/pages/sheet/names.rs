//! What people call a material: the one that a name means, or the few that it may mean.

use formula::{Material, shelf};
use std::collections::BTreeSet;
use study::Study;

/// Candidates that are shown for a name.
const MOST_CANDIDATES: usize = 4;
/// Likeness, 0 to 1, below which a material isn't worth showing (judgement).
const LIKE_ENOUGH: f64 = 0.45;

/// How much liker a material is that stands in one of the study's formulas (judgement).
const IN_USE: f64 = 0.15;

/// Materials by their short names or what people call them, without those that there are none of.
pub fn known_rows(study: &Study, asked: &[String]) -> Vec<String> {
    let mut rows: Vec<String> = Vec::new();
    for name in asked.iter().take(60) {
        if let Some(id) = called(study, name)
            && !rows.contains(&id)
        {
            rows.push(id);
        }
    }
    rows
}

/// The material that goes by a short name, a name, a name on labels that no other has, or is the only one whose name
/// starts so; the study's own first.
pub fn called(study: &Study, name: &str) -> Option<String> {
    certain(study, name).or_else(|| begins(study, name.trim()))
}

/// The material that a name means without doubt: its short name, its name, or a name on labels that no other has.
pub fn certain(study: &Study, name: &str) -> Option<String> {
    let name = name.trim();
    if let Some(material) = study.material(name) {
        return Some(material.id.clone());
    }
    let wanted = words(name);
    if wanted.is_empty() {
        return None;
    }
    let only = |of: fn(&Material) -> &str| {
        let same = all(study).filter(|m| words(of(m)) == wanted);
        let ids: BTreeSet<&str> = same.map(|m| m.id.as_str()).collect();
        let one = ids.first().copied().filter(|_| ids.len() == 1);
        one.map(str::to_owned)
    };
    only(|m| &m.name).or_else(|| only(|m| &m.label_name))
}

fn begins(study: &Study, name: &str) -> Option<String> {
    let begins = |m: &&Material| {
        let start = m.name.get(..name.len());
        !name.is_empty() && start.is_some_and(|s| s.eq_ignore_ascii_case(name))
    };
    let ids: BTreeSet<&str> = all(study).filter(begins).map(|m| m.id.as_str()).collect();
    let one = ids.first().copied().filter(|_| ids.len() == 1);
    one.map(str::to_owned)
}

/// The study's own materials, then those of the shelf.
fn all(study: &Study) -> impl Iterator<Item = &Material> {
    let own = study.materials.values().map(|m| &**m);
    let rest = shelf::shelf()
        .iter()
        .filter(|m| !study.materials.contains_key(&m.id));
    own.chain(rest.map(|m| &**m))
}

/// Materials that a name may mean, the likest first.
pub fn candidates<'s>(study: &'s Study, name: &str) -> Vec<&'s Material> {
    let wanted = words(name);
    let formulas = study.treatments.iter().map(|t| &t.formula);
    let used = formulas
        .flat_map(|f| f.lines())
        .map(|l| l.material.id.as_str());
    let used: BTreeSet<&str> = used.collect();
    let like = |m: &'s Material| {
        let names = [&m.name, &m.label_name, &m.id];
        let best = names.map(|n| likeness(&wanted, &words(n)));
        let best = best.into_iter().fold(0.0, f64::max);
        let own = best > 0.0 && used.contains(m.id.as_str());
        (best + if own { IN_USE } else { 0.0 }, m)
    };
    let mut found: Vec<(f64, &Material)> = all(study).map(like).collect();
    found.retain(|(likeness, _)| *likeness >= LIKE_ENOUGH);
    found.sort_by(|(a, m), (b, n)| b.total_cmp(a).then_with(|| m.name.cmp(&n.name)));
    found.truncate(MOST_CANDIDATES);
    found.into_iter().map(|(_, m)| m).collect()
}

/// That there is no such material, and which are like it.
pub fn unknown(study: &Study, name: &str) -> String {
    let shown: String = name.trim().chars().take(80).collect();
    let like: Vec<String> = candidates(study, name)
        .iter()
        .map(|m| format!("‘{}’", m.name))
        .collect();
    let help = if like.is_empty() {
        "Choose one from the list.".to_owned()
    } else {
        format!("Is it {}?", like.join(" or "))
    };
    format!("There is no material ‘{shown}’. {help}")
}

/// The words of a name in small letters, without an ending s.
fn words(name: &str) -> Vec<String> {
    let lower = name.to_lowercase();
    let parts = lower.split(|c: char| !c.is_alphanumeric());
    let bare = |w: &str| {
        w.strip_suffix('s')
            .filter(|w| w.len() > 2)
            .unwrap_or(w)
            .to_owned()
    };
    parts.filter(|w| !w.is_empty()).map(bare).collect()
}

/// How alike two names are, 0 to 1: how well the words of each find one of the other's, each weighted by its letters.
/// What was asked for counts three times what it leaves out.
fn likeness(asked: &[String], there: &[String]) -> f64 {
    3f64.mul_add(found(asked, there), found(there, asked)) / 4.0
}

fn found(these: &[String], those: &[String]) -> f64 {
    let letters = |w: &String| w.chars().count() as f64;
    let best = |w: &String| those.iter().map(|v| alike(w, v)).fold(0.0, f64::max);
    let all: f64 = these.iter().map(letters).sum();
    let got: f64 = these.iter().map(|w| letters(w) * best(w)).sum();
    if all > 0.0 { got / all } else { 0.0 }
}

/// How alike two words are: the share of pairs of letters that they have in common (the coefficient of Dice, 1945).
fn alike(a: &str, b: &str) -> f64 {
    if a == b {
        return 1.0;
    }
    let pairs = |w: &str| -> Vec<(char, char)> { w.chars().zip(w.chars().skip(1)).collect() };
    let (a, mut b) = (pairs(a), pairs(b));
    let all = a.len() + b.len();
    let mut common = 0;
    for pair in &a {
        if let Some(at) = b.iter().position(|p| p == pair) {
            b.swap_remove(at);
            common += 1;
        }
    }
    if all > 0 {
        2.0 * f64::from(common) / all as f64
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bars() -> Study {
        study::written::read(app::DEMONSTRATION).unwrap()
    }

    #[test]
    fn a_name_is_certain_or_its_likest_are_shown() {
        let study = bars();
        for (name, id) in [
            ("Barley flour", "barley_flour"),
            ("barley  FLOUR", "barley_flour"),
            ("barley_flour", "barley_flour"),
            ("Salt", "salt"),
        ] {
            assert_eq!(certain(&study, name).as_deref(), Some(id), "{name}");
        }
        for (name, id) in [
            ("flour of barley", "barley_flour"),
            ("barly flour", "barley_flour"),
            ("chick pea flour", "chickpea_flour"),
            ("wheat flour, soft", "wheat_flour_soft"),
            ("sunflower", "sunflower_oil"),
            ("wheat flour", "wheat_flour_soft"),
        ] {
            assert_eq!(certain(&study, name), None, "{name}");
            let found = candidates(&study, name);
            let ids: Vec<&str> = found.iter().map(|m| m.id.as_str()).collect();
            assert!(
                ids.contains(&id) && ids.len() <= MOST_CANDIDATES,
                "{name}: {ids:?}"
            );
        }
        assert!(candidates(&study, "zzyzx").is_empty());
        assert_eq!(certain(&study, ""), None);
    }

    /// A name that several labels share means none of them without doubt.
    #[test]
    fn a_shared_name_on_labels_is_not_certain() {
        let study = bars();
        let mut names: Vec<(Vec<String>, &str)> = all(&study)
            .map(|m| (words(&m.label_name), m.id.as_str()))
            .collect();
        names.sort();
        let shared = names.windows(2).filter(|w| w[0].0 == w[1].0);
        let mut met = 0;
        for pair in shared {
            let name = pair[0].0.join(" ");
            // Unless it is also some material's own name.
            if all(&study).all(|m| words(&m.name) != pair[0].0) && study.material(&name).is_none() {
                assert_eq!(certain(&study, &name), None, "{name}");
                met += 1;
            }
        }
        assert!(
            met > 0,
            "the shelf has no two materials of one name on labels"
        );
    }
}
