//! Formulas between two treatments.

use crate::chain::dough_and_piece::{DoughAndPieceError, water_added};
use crate::model::{Treatment, WaterChoice};
use formula::{Formula, Line};

/// A treatment between two, with so much of the second: its formula is the mixture of both on the dry mix, its water
/// likewise; everything else is the first one's.
///
/// # Errors
/// A mixture that is no formula.
///
/// ```
/// use study::compare::blended;
///
/// let study = study::written::read(include_str!("../../../../examples/spent-grain.toml")).unwrap();
/// let [control, barley] = [&study.treatments[0], &study.treatments[1]];
/// let half = blended([control, barley], 0.5).unwrap();
/// let dry = |t: &study::Treatment, id: &str| {
///     let f = t.formula.scaled(100.0 / t.formula.dry_mix());
///     let of = f.lines().iter().filter(|l| l.material.id == id);
///     of.map(|l| l.parts).sum::<f64>()
/// };
/// let between = 0.5 * (dry(control, "wheat_flour_soft") + dry(barley, "wheat_flour_soft"));
/// assert!((dry(&half, "wheat_flour_soft") - between).abs() < 1e-9);
/// // The barley's water follows its need; the mixture's lies between.
/// use study::chain::dough_and_piece::water_added;
/// let water = |t: &study::Treatment| water_added(t).unwrap();
/// assert!((water(&half) - 0.5 * (water(control) + water(barley))).abs() < 1e-9);
/// ```
pub fn blended(
    [first, second]: [&Treatment; 2],
    share: f64,
) -> Result<Treatment, DoughAndPieceError> {
    let share = share.clamp(0.0, 1.0);
    let mut lines: Vec<Line> = Vec::new();
    for (of, part) in [(first, 1.0 - share), (second, share)] {
        let formula = of.formula.scaled(100.0 / of.formula.dry_mix());
        for line in formula.lines().iter().filter(|l| !l.material.is_water()) {
            let parts = part * line.parts;
            let same = |l: &&mut Line| l.stage == line.stage && l.material.id == line.material.id;
            match lines.iter_mut().find(same) {
                Some(there) => there.parts += parts,
                None => lines.push(Line {
                    parts,
                    ..line.clone()
                }),
            }
        }
    }
    lines.retain(|l| l.parts > 1e-12);
    let water = (1.0 - share) * water_added(first)? + share * water_added(second)?;
    let percent = (100.0 * share).round();
    let follows = [first, second].map(|t| t.water) == [WaterChoice::FromNeed; 2];
    Ok(Treatment {
        id: format!("{}-{}-{percent}", first.id, second.id),
        name: format!("{} with {percent} % of {}", first.name, second.name),
        formula: Formula::new(lines)?.with_water(water)?,
        water: if follows {
            WaterChoice::FromNeed
        } else {
            WaterChoice::Given
        },
        changes: Vec::new(),
        ..first.clone()
    })
}
