//! Which water dose to try next: the one that teaches most, or the one likeliest to succeed.

use super::release::{Release, ReleaseError, Whole};
use serde::{Deserialize, Serialize};

/// A dose with what it promises.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Dose {
    /// Water, kg per 100 kg of dry mix (or whatever unit the caller's doses have).
    pub water: f64,
    /// Probability that a piece leaves whole.
    pub whole: Whole,
    /// What cutting at this dose would teach, nats.
    pub expected_information: f64,
}

/// The doses weighed against each other.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct NextDose {
    /// Every dose asked about, in the order given.
    pub doses: Vec<Dose>,
    /// Place of the dose that teaches most.
    pub teaches_most: usize,
    /// Place of the dose with the highest probability of whole pieces.
    pub likeliest: usize,
    /// The advice in words.
    pub sentence: String,
}

/// Weighs doses. `setting` turns a dose into the values of the model's effects (e.g. 1, distance
/// from the predicted need, its square).
///
/// - Rule: the dose with the most expected information, and the one with the highest chance
/// - Units: doses \[kg per 100 kg dry mix\], chances \[share\], information \[nats\]
/// - Valid: a fitted model and doses near what was tried
/// - Source: Lindley 1956, expected information (from memory, to be confirmed)
///
/// ```
/// use trials::learn::{Cut, ReleasePrior, fit, next_dose};
/// let prior = |name: &str, mean, sd| ReleasePrior { name: name.into(), mean, sd };
/// let cuts = [Cut { x: vec![1.0, 0.0], whole: 45, cut: 50 }, Cut { x: vec![1.0, 1.0], whole: 20, cut: 50 }];
/// let model = fit(&[prior("level", 0.0, 1.5), prior("per kg", 0.0, 1.5)], &cuts, 0.0).unwrap();
/// // Fewer leave whole with a kg more, so the least dose is the likeliest.
/// let next = next_dose(&model, &[0.0, 0.5, 1.0], 50, |kg| vec![1.0, kg]).unwrap();
/// assert_eq!(next.likeliest, 0);
/// ```
///
/// # Errors
/// As [`Release::whole`], and [`ReleaseError::Value`] when there is no dose to weigh.
pub fn next_dose(
    model: &Release,
    doses: &[f64],
    pieces: u32,
    setting: impl Fn(f64) -> Vec<f64>,
) -> Result<NextDose, ReleaseError> {
    if doses.is_empty() || pieces == 0 {
        return Err(ReleaseError::Value {
            name: "the number of doses times pieces".into(),
            value: 0.0,
            allowed: "above 0",
        });
    }
    let weighed = doses
        .iter()
        .map(|&water| {
            let x = setting(water);
            Ok(Dose {
                water,
                whole: model.whole(&x)?,
                expected_information: model.expected_information(&x, pieces)?,
            })
        })
        .collect::<Result<Vec<Dose>, ReleaseError>>()?;
    let best = |f: fn(&Dose) -> f64| {
        weighed
            .iter()
            .enumerate()
            .fold(0, |b, (i, d)| if f(d) > f(&weighed[b]) { i } else { b })
    };
    let teaches_most = best(|d| d.expected_information);
    let likeliest = best(|d| d.whole.probability);
    let (t, l) = (&weighed[teaches_most], &weighed[likeliest]);
    let percent = |p: f64| format!("{:.0}", 100.0 * p);
    let win = format!(
        "likeliest to come out whole is {} ({} %, 95 % interval {} to {} %)",
        l.water,
        percent(l.whole.probability),
        percent(l.whole.low95),
        percent(l.whole.high95)
    );
    let sentence = if teaches_most == likeliest {
        format!("Try {}: it teaches most, and {win}.", t.water)
    } else {
        format!("To learn, try {}; {win}.", t.water)
    };
    Ok(NextDose {
        doses: weighed,
        teaches_most,
        likeliest,
        sentence,
    })
}
