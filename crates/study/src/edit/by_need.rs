//! Edits of a dough as it is made, where its water follows the need.

use super::in_proportion::worked_out;
use super::{Edit, apply_all};
use crate::chain::dough_and_piece::water_by_need;
use crate::model::WaterChoice;
use crate::written::StudyWritten;
use std::collections::BTreeMap;

/// Water of each treatment whose water follows the need, kg per 100 kg dry mix, by its id.
pub type Waters = BTreeMap<String, f64>;

/// Rounds at most; three or four are needed, be it of what drinks most.
const MOST_ROUNDS: usize = 12;
/// Nearer than this the need stays, kg per 100 kg dry mix; an amount then stays within a tenth of that per cent.
const CLOSE_KG: f64 = 1e-7;

/// The edits that hold when their own water is there: `edits` tells them for a given water, the study after them needs
/// another, and so on until it stays. `known` is what is needed before them.
///
/// With shares s of the dough as made and the need w(a), kg per 100 kg dry mix, amounts on the dry mix are
/// a = s (1 + w(a) / 100). Each treatment's need is looked for by secants, for repeating takes many rounds where what is
/// typed drinks several times its mass.
///
/// ```
/// use study::edit::{Edit, Waters, by_need};
/// let text = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/spent-grain.toml"));
/// let written = study::written::read_written(text).unwrap();
/// // Beet pulp as 12 per cent of a dough whose dry mix sums to 100 and gets its water on top.
/// let typed = |waters: &Waters| {
///     let water = waters.get("rice_chickpea").copied().unwrap_or(0.0);
///     let amount = 12.0 * (1.0 + water / 100.0);
///     (vec![Edit::SetAmount { treatment: "rice_chickpea".into(), material: "beet_pulp".into(), amount }], water)
/// };
/// let (edits, water) = by_need(&written, Waters::new(), typed);
/// assert_eq!(edits.len(), 1);
/// assert!((20.0..60.0).contains(&water), "{water}");
/// ```
pub fn by_need<T>(
    written: &StudyWritten,
    known: Waters,
    mut edits: impl FnMut(&Waters) -> (Vec<Edit>, T),
) -> (Vec<Edit>, T) {
    let mut found = edits(&known);
    let mut last: Option<Round> = None;
    let mut with = known;
    for _ in 0..MOST_ROUNDS {
        let Some(needed) = waters_after(written, &found.0) else {
            return found;
        };
        let next: Waters = needed
            .iter()
            .map(|(id, needed)| {
                let secant = last
                    .as_ref()
                    .and_then(|last| last.secant(id, &with, *needed));
                (id.clone(), secant.unwrap_or(*needed))
            })
            .collect();
        let step = farthest(&with, &next);
        if step > 0.0 {
            found = edits(&next);
        }
        // What a secant is still away is about the product of the last two steps.
        let before = last.as_ref().map_or(1.0, |last| last.step);
        if step < CLOSE_KG || step * before < CLOSE_KG {
            return found;
        }
        last = Some(Round { with, needed, step });
        with = next;
    }
    found
}

/// A round: the waters that edits were made with, those that the study needed after them, and how far the next went.
struct Round {
    with: Waters,
    needed: Waters,
    step: f64,
}

impl Round {
    /// Where the line through two rounds needs what it was made with.
    fn secant(&self, id: &str, with: &Waters, needed: f64) -> Option<f64> {
        let (before, here) = (self.with.get(id)?, with.get(id)?);
        let (off_before, off) = (self.needed.get(id)? - before, needed - here);
        let next = here - off * (here - before) / (off - off_before);
        // Where nothing moves any more the line has no slope.
        next.is_finite().then_some(next)
    }
}

/// How far that need is away that is farthest; without end where one isn't known.
fn farthest(from: &Waters, to: &Waters) -> f64 {
    let one = |(id, water): (&String, &f64)| {
        let before = from.get(id);
        before.map_or(f64::INFINITY, |before| (before - water).abs())
    };
    to.iter().map(one).fold(0.0, f64::max)
}

/// The waters of a study after edits; none when it can't be worked out then, which whoever makes the edits is told.
fn waters_after(written: &StudyWritten, edits: &[Edit]) -> Option<Waters> {
    let after = apply_all(written, edits).ok()?;
    let treatments = worked_out(&after)?.treatments;
    let by_need = treatments
        .iter()
        .filter(|t| t.water == WaterChoice::FromNeed);
    by_need
        .map(|t| Some((t.id.clone(), water_by_need(t).ok()?)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::edit::apply;
    use crate::written::{read_written, resolve};

    const BARS: &str = include_str!("../../../../examples/spent-grain.toml");

    /// Our own identity: a share that is typed is the share that is there, be it of what drinks most or least.
    #[test]
    fn what_is_typed_of_the_dough_is_what_it_has() {
        let written = read_written(BARS).unwrap();
        let mut rounds = 0;
        for (material, share) in [("beet_pulp", 0.12), ("molasses", 0.05), ("salt", 0.012)] {
            let typed = |waters: &Waters| {
                rounds += 1;
                let water = waters.get("rice_chickpea").copied().unwrap_or(0.0);
                // The dry mix need not sum to 100 while somebody types: it is then taken in proportion.
                let others: f64 = others(&written, material);
                let per_dry = share * (1.0 + water / 100.0);
                let amount = others * per_dry / (1.0 - per_dry);
                let edit = Edit::SetAmount {
                    treatment: "rice_chickpea".to_owned(),
                    material: material.to_owned(),
                    amount,
                };
                (vec![edit], ())
            };
            let (edits, ()) = by_need(&written, Waters::new(), typed);
            let after = apply(&written, &edits[0]).unwrap();
            let study = worked_out(&after).unwrap();
            let t = study.treatment("rice_chickpea").unwrap();
            let made = t.formula.with_water(water_by_need(t).unwrap()).unwrap();
            let all: f64 = made.lines().iter().map(|l| l.parts).sum();
            let of = made.lines().iter().find(|l| l.material.id == material);
            assert!((of.unwrap().parts / all - share).abs() < 1e-9, "{material}");
        }
        assert!(rounds <= 15, "{rounds} rounds");
    }

    fn others(written: &StudyWritten, material: &str) -> f64 {
        let study = resolve(written).unwrap();
        let lines = study.treatment("rice_chickpea").unwrap().formula.lines();
        lines
            .iter()
            .filter(|l| l.material.id != material)
            .map(|l| l.parts)
            .sum()
    }
}
