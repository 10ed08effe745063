//! After the oven: how a treatment's piece cools, evens out, may crack, and keeps.

use crate::Code;
use crate::chain::shelf_life::{
    AfterOptions, EVENING_DAYS, FilmFoundError, evened_for, fat_per_100_flour, film_of, growth_of,
    mean, pack_of, wettest_of,
};
use crate::chain::{Run, RunError, Uncertain, Why};
use crate::model::{PACK_AREA, PACK_CONTENT};
use baking::after::keeping::{CRISP_WATER_ACTIVITY, MOULD_WATER_ACTIVITY};
pub use baking::after::{Changed, Film};
use baking::after::{Course, GROWTH_LIMITS, KeepingError, changes, checking, course, keeping};
use baking::bake::{BakeError, InputError, Profile, Workspace};
use measure::units::{HOUR_S, MINUTE_S};
use measure::{DryBasis, Finding, Given, Severity, Source, temperature::celsius};
use serde::Serialize;

/// Cooling, from the oven's exit to the pack.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CoolingTold {
    /// Since the oven's exit, min.
    pub minutes: Vec<f64>,
    /// Mean temperature, °C.
    pub mean_c: Vec<f64>,
    /// Temperature of the middle, °C.
    pub centre_c: Vec<f64>,
    /// Mean moisture, % wet basis.
    pub moisture_pct: Vec<f64>,
    /// Time to a mean of 35 °C, the warmest it is usually packed at, min; none when it is not reached.
    pub to_35_c_min: Option<f64>,
}

/// Evening-out in the pack.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EveningTold {
    /// Hours in the pack.
    pub hours: Vec<f64>,
    /// Height over the band of each node, mm.
    pub height_mm: Vec<f64>,
    /// Moisture, % wet basis, a row for each time.
    pub moisture_pct: Vec<Vec<f64>>,
    /// Wettest less driest place, percentage points, at each time.
    pub unevenness_points: Vec<f64>,
    /// Hours until half of the unevenness is left.
    pub half_hours: Option<f64>,
    /// Hours until a tenth is left.
    pub tenth_hours: Option<f64>,
}

/// Checking.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CheckingTold {
    /// Hours since the oven's exit.
    pub hours: Vec<f64>,
    /// Tension over strength by place, a row for each time, from bottom to top.
    pub index: Vec<Vec<f64>>,
    /// Greatest index.
    pub greatest: f64,
    /// Hours since the oven's exit at which it is reached.
    pub at_hours: f64,
    /// Height over the band at which it is reached, mm.
    pub at_height_mm: f64,
    /// `bottom`, `inside` or `top`.
    pub at: &'static str,
    /// Stress there, MPa.
    pub stress_mpa: f64,
    /// Hours since the oven's exit at which the crumb set; none when it is still soft at the end.
    pub set_hours: Option<f64>,
    /// Middle less the mean of both surfaces when packed, percentage points wet basis.
    pub centre_surface_points: f64,
    /// Mean moisture when packed, % wet basis.
    pub mean_moisture_pct: f64,
    /// What the changes of the trade do; empty when not asked for.
    pub changes: Vec<Changed>,
}

/// Keeping.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct KeepingTold {
    /// The film.
    pub film: String,
    /// Its transmission at 38 °C and 90 % relative humidity, g/(m² d).
    pub transmission_g_per_m2_d: f64,
    /// Days in the pack.
    pub days: Vec<f64>,
    /// Moisture, % wet basis.
    pub moisture_pct: Vec<f64>,
    /// Water activity at the temperature of the day.
    pub water_activity: Vec<f64>,
    /// Days to the crispness limit; none within the time followed.
    pub crisp_days: Option<f64>,
    /// Days to the crispness limit with the tightest and the leakiest film of that kind.
    pub crisp_days_range: Option<(Option<f64>, Option<f64>)>,
    /// Days to the crispness limit where the packed piece is so close to it that mouths differ: with a limit two standard
    /// deviations lower and higher, none within the time followed. None where a person set the limit, or it is further.
    pub crisp_days_by_mouth: Option<(Option<f64>, Option<f64>)>,
    /// Days to a water activity of 0.65; none within the time followed.
    pub mould_days: Option<f64>,
    /// The crispness limit by the textbook's straight isotherm; none when it is never reached.
    pub crisp_days_closed_form: Option<f64>,
    /// The water activity of 0.65 by the textbook's straight isotherm.
    pub mould_days_closed_form: Option<f64>,
    /// The crispness limit.
    pub crisp_water_activity: f64,
}

/// A limit of growth, told.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GrowthTold {
    /// What grows.
    pub what: &'static str,
    /// Least and most of the printed limits.
    pub water_activity: (f64, f64),
    /// Source.
    pub source: Source,
}

/// What happens to a treatment after the oven.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AfterAnswer {
    /// Short name of the treatment.
    pub id: String,
    /// Name of the treatment.
    pub name: String,
    /// Time in the oven, min.
    pub bake_time_min: f64,
    /// Cooling.
    pub cooling: CoolingTold,
    /// Evening-out.
    pub evening: EveningTold,
    /// Checking.
    pub checking: CheckingTold,
    /// Keeping.
    pub keeping: KeepingTold,
    /// Limits of growth, from wet to dry.
    pub growth: Vec<GrowthTold>,
    /// What a person should know.
    pub findings: Vec<Finding>,
    /// Every default the answer stands on.
    pub given: Vec<Given>,
}

/// Why the time after the oven has no answer.
#[derive(Debug, thiserror::Error)]
pub enum AfterError {
    /// The bake.
    #[error(transparent)]
    Run(#[from] RunError),
    /// The film.
    #[error(transparent)]
    Film(#[from] FilmFoundError),
    /// The pack or its store.
    #[error(transparent)]
    Keeping(#[from] KeepingError),
    /// The crumb, or the days asked for.
    #[error(transparent)]
    Input(#[from] InputError),
}

/// Moments told of the keeping for each month.
const MOMENTS_A_MONTH: f64 = 4.0;
/// Warmest that pieces are packed at \[°C\] (a vendor page, weak; common practice).
const PACK_CELSIUS: f64 = 35.0;

/// Cooling, evening-out, checking and keeping of a treatment that was worked through.
///
/// # Errors
/// What can't be computed, by name and value; a film without data, by name.
pub fn after_oven(run: &Run, options: &AfterOptions) -> Result<AfterAnswer, AfterError> {
    let (treatment, kept) = (&run.treatment, &options.keeping);
    let mut crumb = options.crumb;
    crumb.fat_per_100_flour = crumb
        .fat_per_100_flour
        .or(Some(fat_per_100_flour(&run.made.solids)));
    options.crumb.check()?;
    if !EVENING_DAYS.contains(options.evening_days) {
        let allowed = format!("{EVENING_DAYS} days");
        return Err(InputError::new("days of evening-out", options.evening_days, allowed).into());
    }
    let film = film_of(&kept.film)?;
    let mut w = Workspace::new();
    let of_bake = |e: BakeError| Why::from(e).of(treatment);
    let input = evened_for(&run.baked.input, options.evening_days);
    let course = course(&input, &mut w).map_err(of_bake)?;
    let index = checking(&course, &crumb);
    let tried = if options.changes {
        let area_m2 = treatment.setting.piece.area_m2();
        changes(&input, &crumb, area_m2, &mut w).map_err(of_bake)?
    } else {
        Vec::new()
    };
    let packed = course.at(course.packed_s);

    let moments = (kept.months * MOMENTS_A_MONTH).ceil().clamp(1.0, 1000.0) as usize + 1;
    let pack = pack_of(kept, &course, film.transmission_g_per_m2_d, moments);
    let isotherm = &input.closures.isotherm;
    let told = keeping(&pack, isotherm)?;
    let crisp_days = |transmission: f64| -> Result<Option<f64>, KeepingError> {
        let pack = pack_of(kept, &course, transmission, 2);
        Ok(keeping(&pack, isotherm)?.crisp_days)
    };
    let crisp_days_by_mouth = by_mouth(&told.water_activity, &told.days, kept.crisp_water_activity);
    let crisp_days_range = match film.range {
        Some((low, high)) if low < high => Some((crisp_days(low)?, crisp_days(high)?)),
        _ => None,
    };

    let growth = growth_of(
        &run.made,
        &course,
        kept,
        treatment.setting.dough.ph,
        wettest_of(&told.moisture),
    );
    let mut findings = course.findings();
    let verdict = match &growth {
        Ok(growth) => {
            findings.extend(growth.findings());
            growth.verdict().word()
        }
        Err(why) => {
            findings.push(activity_unknown(why));
            "unknown"
        }
    };
    findings.extend(index_finding(index.greatest));
    findings.extend(crisp_finding(
        &told.water_activity,
        kept.crisp_water_activity,
    ));
    findings.push(
        Finding::new(
            Severity::Warn,
            Code::DryIsNotSafe,
            "after.keeping",
            format!(
                "Growth in the pack: {}. Nothing grows below a water activity of 0.60, but Salmonella survives in dry biscuits for months.",
                verdict
            ),
        )
        .help("have the kill step and the hygiene after it looked at by a process authority; measure water activity on packed product")
        .source("growth bands after Beuchat 1981, as reprinted; survival seen in print"),
    );
    findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
    let mut given = index.given.clone();
    given.push(film.given);
    if kept.pack_area_m2 == PACK_AREA.value {
        given.push(PACK_AREA.used());
    }
    if kept.pack_kg == PACK_CONTENT.value {
        given.push(PACK_CONTENT.used());
    }
    if kept.crisp_water_activity == CRISP_WATER_ACTIVITY.value {
        given.push(CRISP_WATER_ACTIVITY.used());
    }
    given.push(MOULD_WATER_ACTIVITY.used());

    let node = (index.at_height_m / course.thickness_m * input.cells as f64).round() as usize;
    Ok(AfterAnswer {
        id: treatment.id.clone(),
        name: treatment.name.clone(),
        bake_time_min: run.baked.time_s / MINUTE_S,
        cooling: cooling_told(&course),
        evening: evening_told(&course),
        checking: CheckingTold {
            at: match node {
                0 => "bottom",
                n if n == input.cells => "top",
                _ => "inside",
            },
            hours: index.hours,
            index: index.index,
            greatest: index.greatest,
            at_hours: index.at_hours,
            at_height_mm: index.at_height_m * 1e3,
            stress_mpa: index.stress_mpa,
            set_hours: index.set_hours,
            centre_surface_points: Course::centre_surface_points(packed),
            mean_moisture_pct: pack.start.to_wet().percent(),
            changes: tried,
        },
        keeping: KeepingTold {
            film: film.name,
            transmission_g_per_m2_d: film.transmission_g_per_m2_d,
            moisture_pct: told.moisture.iter().map(|x| wet_pct(*x)).collect(),
            days: told.days,
            water_activity: told.water_activity,
            crisp_days: told.crisp_days,
            crisp_days_range,
            crisp_days_by_mouth,
            mould_days: told.mould_days,
            crisp_days_closed_form: told.crisp_days_closed_form,
            mould_days_closed_form: told.mould_days_closed_form,
            crisp_water_activity: kept.crisp_water_activity,
        },
        growth: GROWTH_LIMITS
            .iter()
            .map(|g| GrowthTold {
                what: g.what,
                water_activity: g.water_activity,
                source: g.source.clone(),
            })
            .collect(),
        findings,
        given,
    })
}

/// What may grow can't be told where the water activity isn't known.
fn activity_unknown(why: &str) -> Finding {
    Finding::new(
        Severity::Warn,
        Code::GrowthUnknown,
        "after.growth",
        format!("What may grow in the pack isn't known, because the water activity isn't: {why}."),
    )
    .help(
        "measure the water activity of the packed treat; until then treat it as one that can mould",
    )
}

fn wet_pct(x: f64) -> f64 {
    DryBasis(x).to_wet().percent()
}

fn cooling_told(course: &Course) -> CoolingTold {
    let profiles: Vec<&Profile> = course
        .profiles
        .iter()
        .filter(|p| p.time_s <= course.packed_s * (1.0 + 1e-12))
        .collect();
    let minutes: Vec<f64> = profiles
        .iter()
        .map(|p| (p.time_s - course.exit_s) / MINUTE_S)
        .collect();
    let mean_c: Vec<f64> = profiles
        .iter()
        .map(|p| celsius(mean(&p.temperature_k)))
        .collect();
    let below = mean_c.iter().position(|c| *c <= PACK_CELSIUS);
    let to_35_c_min = below.map(|i| match i {
        0 => 0.0,
        i => {
            let share = (mean_c[i - 1] - PACK_CELSIUS) / (mean_c[i - 1] - mean_c[i]);
            minutes[i - 1] + share * (minutes[i] - minutes[i - 1])
        }
    });
    CoolingTold {
        centre_c: profiles
            .iter()
            .map(|p| celsius(p.temperature_k[p.temperature_k.len() / 2]))
            .collect(),
        moisture_pct: profiles
            .iter()
            .map(|p| wet_pct(mean(&p.moisture)))
            .collect(),
        minutes,
        mean_c,
        to_35_c_min,
    }
}

fn evening_told(course: &Course) -> EveningTold {
    let in_pack = || {
        course
            .profiles
            .iter()
            .filter(|p| p.time_s >= course.packed_s * (1.0 - 1e-12))
    };
    let cells = course.profiles[0].moisture.len() - 1;
    let hours = |share| course.evened_s(share).map(|s| s / HOUR_S);
    EveningTold {
        hours: in_pack()
            .map(|p| (p.time_s - course.packed_s) / HOUR_S)
            .collect(),
        height_mm: (0..=cells)
            .map(|i| 1e3 * course.thickness_m * i as f64 / cells as f64)
            .collect(),
        moisture_pct: in_pack()
            .map(|p| p.moisture.iter().map(|x| wet_pct(*x)).collect())
            .collect(),
        unevenness_points: in_pack().map(Course::unevenness_points).collect(),
        half_hours: hours(0.5),
        tenth_hours: hours(0.1),
    }
}

fn index_finding(index: f64) -> Option<Finding> {
    (index >= 1.0).then(|| {
        Finding::new(
            Severity::Note,
            Code::CheckingIndexAboveOne,
            "after.checking",
            format!(
                "The checking index is {index:.1}: an elastic crumb of these constants would crack. Real crumb gives way \
                 while it is warm and moist, so compare treatments by it and don't read it as a share of cracked pieces."
            ),
        )
        .help("ask which change helps; count cracked pieces 48 to 72 h after the bake and set strength or relaxation by that")
        .source("free-plate stress with recalled and assumed constants: an index until it is calibrated")
    })
}

/// Days to limits two standard deviations below and above the program's, read off the course in the pack.
fn by_mouth(
    water_activity: &[f64],
    days: &[f64],
    limit: f64,
) -> Option<(Option<f64>, Option<f64>)> {
    let reach = 2.0 * Uncertain::Crispness.about().value;
    let close = (water_activity.first()? - limit).abs() < reach;
    (limit == CRISP_WATER_ACTIVITY.value && close).then(|| {
        let to = |limit: f64| first_at(water_activity, days, limit);
        (to(limit - reach), to(limit + reach))
    })
}

/// When a course first comes to a value, between its points on a straight line; none where it doesn't.
fn first_at(course: &[f64], days: &[f64], value: f64) -> Option<f64> {
    let at = course.iter().position(|v| *v >= value)?;
    let Some(before) = at.checked_sub(1) else {
        return Some(0.0);
    };
    let share = (value - course[before]) / (course[at] - course[before]);
    Some(days[before] + share * (days[at] - days[before]))
}

fn crisp_finding(water_activity: &[f64], limit: f64) -> Option<Finding> {
    let start = *water_activity.first()?;
    (start >= limit).then(|| {
        Finding::new(
            Severity::Warn,
            Code::PackedAboveCrispness,
            "after.keeping",
            format!("It is packed at a water activity of {start:.2}, above the crispness limit of {limit:.2}."),
        )
        .help("bake drier, or set the limit you found by biting")
        .source("common practice, from memory")
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chain::{BakeOptions, Sample, run};
    use crate::model::{FilmChoice, Study, Treatment};
    use crate::views::knock_on;

    /// By hand: on a straight course from 0.50 to 0.70 in 100 days, 0.49 is passed at once and 0.61 on day 55.
    #[test]
    fn a_piece_close_to_the_limit_is_told_for_different_mouths() {
        let (course, days) = ([0.5, 0.6, 0.7], [0.0, 50.0, 100.0]);
        let (early, late) = by_mouth(&course, &days, 0.55).unwrap();
        assert_eq!(early, Some(0.0));
        assert!((late.unwrap() - 55.0).abs() < 1e-9, "{late:?}");
        // Far from the limit, or a limit of one's own: nothing to tell.
        assert_eq!(by_mouth(&[0.3, 0.7], &days[..2], 0.55), None);
        assert_eq!(by_mouth(&course, &days, 0.54), None);
        assert_eq!(by_mouth(&[0.5, 0.52], &days[..2], 0.55).unwrap().1, None);
    }

    fn baked(treatment: &Treatment) -> Run {
        let mut w = Workspace::new();
        run(treatment, &BakeOptions::BAKE_ONLY, Sample::Centre, &mut w).unwrap()
    }

    fn example() -> Study {
        crate::written::read(include_str!("../../../../examples/spent-grain.toml")).unwrap()
    }

    #[test]
    fn the_demonstration_has_an_answer_for_every_treatment() {
        let study = example();
        for t in &study.treatments {
            let run = baked(t);
            let a = after_oven(&run, &AfterOptions::default()).unwrap();
            assert!(
                a.checking.greatest > 0.0 && a.checking.greatest.is_finite(),
                "{}",
                t.id
            );
            assert!(a.checking.at_hours <= 7.0 * 24.0 + 12.0);
            assert!((a.evening.hours[a.evening.hours.len() - 1] - 168.0).abs() < 1e-6);
            assert!(
                a.keeping
                    .water_activity
                    .windows(2)
                    .all(|w| w[1] >= w[0] - 1e-9),
                "{}",
                t.id
            );
            let k = knock_on(&run);
            let cooled = a.cooling.moisture_pct[a.cooling.moisture_pct.len() - 1];
            assert!(
                (cooled - k.bake.cooled_moisture_pct).abs() < 0.02,
                "{} {cooled}",
                t.id
            );
        }
    }

    #[test]
    fn what_is_missing_is_told() {
        let control = baked(example().control());
        let ask = |film: &str| {
            let mut options = AfterOptions::default();
            options.keeping.film = FilmChoice::Known(film.into());
            after_oven(&control, &options).unwrap_err().to_string()
        };
        assert!(ask("paper").contains("uncoated kraft paper"));
        assert!(ask("glass").contains("no film is called \"glass\""));
        let mut options = AfterOptions::default();
        options.keeping.pack_area_m2 = 0.0;
        let told = after_oven(&control, &options).unwrap_err().to_string();
        assert!(
            told.starts_with("film area is 0; it must lie within"),
            "{told}"
        );
    }
}
