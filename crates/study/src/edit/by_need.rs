//! Edits of a dough as it is made, where its water follows the need.

use super::in_proportion::worked_out;
use super::{Edit, apply};
use crate::chain::dough_and_piece::water_by_need;
use crate::model::WaterChoice;
use crate::written::StudyWritten;
use std::collections::BTreeMap;

/// Water of each treatment whose water follows the need, kg per 100 kg dry mix, by its id.
pub type Waters = BTreeMap<String, f64>;

/// Rounds at most; a need moves little with what is typed, so that each round takes two digits.
const MOST_ROUNDS: usize = 12;
/// Nearer than this the need stays, kg per 100 kg dry mix; an amount then stays within a tenth of that per cent.
const CLOSE_KG: f64 = 1e-7;

/// The edits that hold when their own water is there: `edits` tells them for a given water, the study after them needs
/// another, and so on until it stays. None of it is known before (`edits` then takes what the study has).
///
/// With shares s of the dough as made and the need w(a), kg per 100 kg dry mix, amounts on the dry mix are
/// a = s (1 + w(a) / 100): solved by repeating, since w hardly moves with a.
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
/// let (edits, water) = by_need(&written, typed);
/// assert_eq!(edits.len(), 1);
/// assert!((20.0..60.0).contains(&water), "{water}");
/// ```
pub fn by_need<T>(
    written: &StudyWritten,
    mut edits: impl FnMut(&Waters) -> (Vec<Edit>, T),
) -> (Vec<Edit>, T) {
    let mut waters = Waters::new();
    let mut found = edits(&waters);
    for _ in 0..MOST_ROUNDS {
        let Some(now) = waters_after(written, &found.0) else {
            return found;
        };
        let stays = |id: &String, water: &f64| {
            waters
                .get(id)
                .is_some_and(|before| (before - water).abs() < CLOSE_KG)
        };
        if now.iter().all(|(id, water)| stays(id, water)) {
            return found;
        }
        waters = now;
        found = edits(&waters);
    }
    found
}

/// The waters of a study after edits; none when it can't be worked out then, which whoever makes the edits is told.
fn waters_after(written: &StudyWritten, edits: &[Edit]) -> Option<Waters> {
    let mut after = None;
    for edit in edits {
        after = Some(apply(after.as_ref().unwrap_or(written), edit).ok()?);
    }
    let treatments = worked_out(after.as_ref().unwrap_or(written))?.treatments;
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
            let (edits, ()) = by_need(&written, typed);
            let after = apply(&written, &edits[0]).unwrap();
            let study = worked_out(&after).unwrap();
            let t = study.treatment("rice_chickpea").unwrap();
            let made = t.formula.with_water(water_by_need(t).unwrap()).unwrap();
            let all: f64 = made.lines().iter().map(|l| l.parts).sum();
            let of = made.lines().iter().find(|l| l.material.id == material);
            assert!((of.unwrap().parts / all - share).abs() < 1e-9, "{material}");
        }
        assert!(rounds < 3 * MOST_ROUNDS, "{rounds} rounds");
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
