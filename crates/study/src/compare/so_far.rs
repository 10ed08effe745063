//! The question answered as far as the figures go: what each treatment does beside the control, in a sentence.

use super::uncertainty::Limits;
use super::{Compared, Figure};
use measure::{Severity, Units, rounding};

/// Least difference that is worth a word, as a share of the control's figure.
const WORTH: f64 = 0.03;
/// Most differences of a treatment that are told.
const DIFFERENCES: usize = 3;
/// Most treatments that are told one by one.
const TREATMENTS: usize = 3;

/// What there is to say of a treatment.
#[derive(Clone, Debug, PartialEq)]
pub enum Says {
    /// Something stops it: so many findings.
    Stopped(usize),
    /// Its bake doesn't meet the target.
    Unreached,
    /// Nothing that is watched differs enough to speak of.
    Alike,
    /// What differs: first what is sure to, the most telling before the others.
    Differs(Vec<Gap>),
}

/// A difference from the control that is worth a word.
#[derive(Clone, Debug, PartialEq)]
pub struct Gap {
    /// The figure.
    pub figure: Figure,
    /// The difference.
    pub value: f64,
    /// Its limits where they hold none: then it is smaller than what isn't known.
    pub open: Option<Limits>,
}

/// How numbers are written.
pub struct Wording<'a> {
    /// The units that are read.
    pub units: Units,
    /// The currency of prices.
    pub currency: &'a str,
    /// The decimal mark.
    pub mark: char,
}

/// What there is to say of a treatment beside the control, by the figures that somebody watches.
pub fn says(treatment: &Compared, control: &Compared, watched: &[Figure]) -> Says {
    let found = treatment.answer.findings.iter();
    let stops = found.filter(|f| f.severity == Severity::Stop).count();
    if stops > 0 {
        return Says::Stopped(stops);
    }
    if !treatment.answer.bake.reached {
        return Says::Unreached;
    }
    let gap = |figure: &Figure| {
        let difference = treatment.difference(*figure)?;
        let there = figure.told(&control.answer).ok()?;
        let share = difference.value.abs() / there.abs();
        let sure = difference.bound.tells_sign(difference.value);
        let limits = treatment.spread.as_ref();
        let limits = limits.and_then(|s| s.versus_control.get(figure.about().key));
        let open = limits.copied().filter(Limits::hold_none);
        let gap = Gap {
            figure: *figure,
            value: difference.value,
            open,
        };
        (sure && share >= WORTH).then_some((gap, share))
    };
    let mut gaps: Vec<(Gap, f64)> = watched.iter().filter_map(gap).collect();
    gaps.sort_by(|(a, x), (b, y)| (a.open.is_some().cmp(&b.open.is_some())).then(y.total_cmp(x)));
    gaps.truncate(DIFFERENCES);
    if gaps.is_empty() {
        return Says::Alike;
    }
    Says::Differs(gaps.into_iter().map(|(gap, _)| gap).collect())
}

/// The answer so far: a clause for each treatment, and what isn't proven yet.
///
/// ```
/// use measure::Units;
/// use study::compare::so_far::{Wording, so_far};
/// use study::{BakeOptions, Figure, compare};
///
/// let study = study::written::read(include_str!("../../../../examples/spent-grain.toml")).unwrap();
/// let barley = study.treatment("barley").unwrap();
/// let compared = compare(&study, &[barley], &BakeOptions::BAKE_ONLY).unwrap();
/// let wording = Wording { units: Units::Metric, currency: "EUR", mark: '.' };
/// let told = so_far(&compared, &[Figure::BakeTime, Figure::CostPerKg], &wording).unwrap();
/// assert!(told.starts_with("Barley for wheat is "), "{told}");
/// assert!(told.contains("dearer") && told.ends_with("These figures are worked out, not measured."), "{told}");
/// ```
pub fn so_far(compared: &[Compared], watched: &[Figure], wording: &Wording) -> Option<String> {
    let [control, others @ ..] = compared else {
        return None;
    };
    if others.is_empty() {
        return None;
    }
    let clause = |c: &Compared| {
        let words = match says(c, control, watched) {
            Says::Stopped(1) => "is stopped by a finding".to_owned(),
            Says::Stopped(n) => format!("is stopped by {n} findings"),
            Says::Unreached => "doesn’t get dry enough in this oven".to_owned(),
            Says::Alike => "does as the control in what is watched".to_owned(),
            Says::Differs(gaps) => {
                let told: Vec<String> = gaps
                    .iter()
                    .map(|gap| phrase(gap, c, control, wording))
                    .collect();
                and(&told)
            }
        };
        format!("{} {words}", c.answer.name)
    };
    let mut clauses: Vec<String> = others.iter().take(TREATMENTS).map(clause).collect();
    if others.len() > TREATMENTS {
        clauses.push(format!(
            "{} more stand beside them",
            others.len() - TREATMENTS
        ));
    }
    Some(format!(
        "{}. These figures are worked out, not measured.",
        clauses.join("; ")
    ))
}

/// A difference as it is said: `bakes 1.0 min slower`, with its limits where it may as well be none.
fn phrase(gap: &Gap, c: &Compared, control: &Compared, wording: &Wording) -> String {
    let words = bare(gap.figure, c, control, wording);
    let Some(limits) = &gap.open else {
        return words;
    };
    let unit = gap.figure.about().unit;
    let decimals = wording
        .units
        .decimals(unit, gap.figure.decimals(&control.answer));
    let text = |v: f64| {
        let text = rounding::signed(wording.units.gap(v, unit), decimals);
        text.replace('.', &wording.mark.to_string())
    };
    format!(
        "{words} ({} to {}, so it may be none)",
        text(limits.low95),
        text(limits.high95)
    )
}

/// A difference without its limits.
fn bare(figure: Figure, c: &Compared, control: &Compared, wording: &Wording) -> String {
    let about = figure.about();
    let units = wording.units;
    let decimals = units.decimals(about.unit, figure.decimals(&control.answer));
    let shown = |c: &Compared| {
        let told = figure.told(&c.answer).unwrap_or(f64::NAN);
        units.value(told, about.unit)
    };
    let gap = rounding::shown_gap(shown(c), shown(control), decimals);
    let number = format!("{:.decimals$}", gap.abs()).replace('.', &wording.mark.to_string());
    let unit = units.unit(about.unit).replace('¤', wording.currency);
    let than = figure.than(gap);
    match figure {
        Figure::BakeTime => format!("bakes {number} {unit} {than}"),
        Figure::Output => format!("gives {number} {unit} {than}"),
        Figure::CrispDays => format!("stays crisp {number} {unit} {than}"),
        Figure::CostPerKg => format!("is {number} {unit} {than}"),
        _ => {
            let unit = match about.unit {
                "" => String::new(),
                "%" => " points".to_owned(),
                _ => format!(" {unit}"),
            };
            match than {
                "more" | "less" => format!("has {number}{unit} {than} {}", about.name),
                _ => format!("is {number}{unit} {than} ({})", about.name),
            }
        }
    }
}

fn and(told: &[String]) -> String {
    match told {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{BakeOptions, compare};

    const WATCHED: [Figure; 3] = [Figure::BakeTime, Figure::Protein, Figure::CostPerKg];

    #[test]
    fn nothing_is_said_that_the_figures_do_not_bear() {
        let text = include_str!("../../../../examples/spent-grain.toml");
        let study = crate::written::read(text).unwrap();
        let control = study.control().clone();
        let mut twin = control.clone();
        twin.id = "twin".into();
        twin.name = "Twin".into();
        let mut wet = twin.clone();
        wet.target.moisture = measure::WetBasis(0.0005);
        let compared = compare(&study, &[&twin, &wet], &BakeOptions::BAKE_ONLY).unwrap();
        assert_eq!(says(&compared[1], &compared[0], &WATCHED), Says::Alike);
        let wording = Wording {
            units: Units::Metric,
            currency: "EUR",
            mark: '.',
        };
        assert_eq!(so_far(&compared[..1], &WATCHED, &wording), None);
        let told = so_far(&compared[..2], &WATCHED, &wording).unwrap();
        assert!(told.starts_with("Twin does as the control"), "{told}");
        // A difference that is smaller than what isn't known carries its limits, and stands behind what is sure.
        let mut slow = compared[1].clone();
        let answer = std::sync::Arc::make_mut(&mut slow.answer);
        answer.bake.time_min *= 1.2;
        answer.nutrition.crude_protein_pct *= 1.1;
        let mut slow = Compared::beside(slow.answer, &compared[0].answer);
        let told =
            |c: &Compared| so_far(&[compared[0].clone(), c.clone()], &WATCHED, &wording).unwrap();
        assert!(!told(&slow).contains("may be none"), "{}", told(&slow));
        let limits = Limits {
            low95: -1.26,
            high95: 4.0,
        };
        let spread = compare::Spread {
            draws: 40,
            used: 40,
            seed: 1,
            figures: Default::default(),
            versus_control: [(Figure::BakeTime.about().key, limits)].into(),
            widest: Default::default(),
        };
        slow.spread = Some(spread);
        let words = told(&slow);
        assert!(
            words.contains("slower (\u{2212}1.3 to +4.0, so it may be none)"),
            "{words}"
        );
        assert!(
            words.find("crude protein") < words.find("slower"),
            "{words}"
        );
        // A difference whose sign isn't known has no word.
        let mut unsure = compared[1].clone();
        let gap = compare::Difference {
            value: 5.0,
            bound: compare::Bound::About,
        };
        unsure.differences.insert(Figure::BakeTime, gap);
        assert_eq!(says(&unsure, &compared[0], &WATCHED), Says::Alike);
    }
}
