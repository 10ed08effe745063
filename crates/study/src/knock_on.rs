//! The one call: what a treatment's formula does to the dough, the bake, the line, the label, the
//! keeping and the cost.

use crate::answer::{Bake, BakeCurve, Dough, KnockOn, Line, MassStage, Piece, Station};
use crate::browning;
use crate::draw::Draw;
use crate::later::{Later, later};
use crate::prepare::{Asked, PrepareError, Prepared, prepare, target_at};
use crate::sold::{
    cost_answer, currency_finding, label_answer, not_written_finding, nutrition_answer,
};
use crate::study::{Study, Treatment, WaterChoice};
use baking::bake::{
    Ask, AskedTimes, BakeResult, StageEnd, StageKind, Workspace, bake,
    kill::{TESTED_CELSIUS, TESTED_WATER_ACTIVITY, TOLD_AT_MOST},
    search::{BandTime, Cooling, Found, band_time_with_cooling, stretched},
};
use baking::line::{self, LineLoad};
use baking::oven::CoolingTime;
use formula::label;
use measure::{Finding, Given, Grade, Range, Severity, Source, WetBasis, temperature};

/// Times in the oven that are tried, s: half a minute to three hours.
pub const OVEN_TIME_S: Range = Range::new(30.0, 10_800.0);

/// Why a treatment has no answer.
#[derive(Debug, thiserror::Error)]
#[error("treatment {id}: {why}")]
pub struct KnockOnError {
    /// The treatment.
    pub id: String,
    /// What went wrong, by name and value.
    pub why: Why,
}

/// What went wrong.
#[derive(Debug, thiserror::Error)]
pub enum Why {
    /// Up to the oven's mouth.
    #[error(transparent)]
    Prepare(#[from] PrepareError),
    /// In the oven.
    #[error(transparent)]
    Bake(#[from] baking::bake::BakeError),
    /// On the line.
    #[error(transparent)]
    Line(#[from] line::LineError),
    /// In the formula.
    #[error(transparent)]
    Formula(#[from] formula::FormulaError),
}

/// Everything that follows from a treatment.
///
/// # Errors
/// What can't be computed, by treatment, field and value.
pub fn knock_on(
    study: &Study,
    treatment: &Treatment,
    asked: &Asked,
    draw: Draw,
    workspace: &mut Workspace,
) -> Result<KnockOn, KnockOnError> {
    answer(study, treatment, asked, draw, workspace).map_err(|why| KnockOnError {
        id: treatment.id.clone(),
        why,
    })
}

fn answer(
    study: &Study,
    treatment: &Treatment,
    asked: &Asked,
    draw: Draw,
    workspace: &mut Workspace,
) -> Result<KnockOn, Why> {
    let prepared = prepare(treatment, asked, draw)?;
    let timed = timed_bake(study, treatment, &prepared, asked, workspace)?;
    let packed = packed_moisture(&timed.bake, prepared.dough_moisture);
    let balance = prepared.formula.bake_balance(packed)?;
    let baked_kg = prepared.green_kg * balance.yield_fraction();

    let mut findings = Vec::new();
    let mut given = prepared.given.clone();
    let dough = dough(treatment, &prepared, &mut findings);
    let details = Details {
        checks: asked.checks,
        draw,
        cooling: cooling_of(treatment),
        treatment,
    };
    let bake = bake_answer(
        study, &prepared, &timed, packed, &balance, details, workspace, &mut given,
    )?;
    if let Some(finding) = target_finding(study, &timed) {
        findings.push(finding);
    }

    let nutrition = formula::nutrition::nutrition(&prepared.formula, packed, study.species)?;
    let cost = formula::cost::ingredient_cost(&prepared.formula);
    let load = line_load(treatment, &prepared, &timed, packed, baked_kg, &cost);
    let result = line::evaluate(&treatment.setting.line, &load)?;
    let label = label_answer(&prepared, &nutrition, baked_kg);

    for line in prepared.formula.lines().iter().filter(|l| l.parts > 0.0) {
        findings.extend(line.material.findings());
    }
    findings.extend(prepared.dough.findings.iter().cloned());
    findings.extend(treatment.setting.piece.findings());
    findings.extend(treatment.setting.oven.findings());
    findings.extend(result.findings.iter().cloned());
    findings.extend(nutrition.findings.iter().cloned());
    findings.extend(label::flags(&prepared.formula).findings());
    findings.extend(formula::cautions::cautions(
        &prepared.formula,
        study.species,
    ));
    findings.extend(cost.findings());
    findings.extend(currency_finding(study, &prepared));
    let cost = cost_answer(study, treatment, &result, &cost);
    findings.extend(not_written_finding(&cost));
    findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
    dedup(&mut findings);

    given.push(setting_given("oven", &treatment.setting.oven.source));
    given.push(setting_given("line", &treatment.setting.line.source));
    Ok(KnockOn {
        id: treatment.id.clone(),
        name: treatment.name.clone(),
        dough,
        piece: Piece {
            green_mass_g: prepared.green_kg * 1e3,
            baked_mass_g: baked_kg * 1e3,
            thickness_mm: treatment.setting.piece.thickness_m * 1e3,
            loss_pct: 100.0 * balance.loss_fraction(),
            mass: mass_stages(&prepared, &timed, packed, baked_kg),
        },
        bake,
        line: line_answer(&result),
        nutrition: nutrition_answer(&nutrition, baked_kg),
        label,
        cost,
        findings,
        given,
    })
}

/// A bake with its time and how the search for it ended.
struct Timed {
    time_s: f64,
    found: Found,
    moisture: WetBasis,
    bake: BakeResult,
}

fn timed_bake(
    study: &Study,
    treatment: &Treatment,
    prepared: &Prepared,
    asked: &Asked,
    workspace: &mut Workspace,
) -> Result<Timed, Why> {
    let at = target_at(study);
    let fixed = asked.bake_time_s.or(treatment.setting.bake_time_s);
    let every_step = Ask {
        history: AskedTimes::EveryStep,
        ..Ask::default()
    };
    if let Some(time_s) = fixed {
        let bake = bake(&prepared.bake, &every_step, workspace)?;
        let moisture = bake
            .end_of(at.stage())
            .map_or(prepared.dough_moisture, |e| e.mean_moisture.to_wet());
        return Ok(Timed {
            time_s,
            found: Found::Met,
            moisture,
            bake,
        });
    }
    let BandTime {
        time_s,
        found,
        moisture,
        accuracy,
        ..
    } = band_time_with_cooling(
        &prepared.bake,
        study.target.moisture,
        at,
        OVEN_TIME_S,
        None,
        cooling_of(treatment),
        workspace,
    )?;
    let mut input = stretched(&prepared.bake, time_s, cooling_of(treatment));
    input.accuracy = accuracy;
    let bake = bake(&input, &every_step, workspace)?;
    Ok(Timed {
        time_s,
        found,
        moisture,
        bake,
    })
}

/// A cooling told as a multiple of the bake follows the time that is found.
fn cooling_of(treatment: &Treatment) -> Cooling {
    match treatment.setting.cooling.time {
        CoolingTime::OfBakeTime(_) => Cooling::WithTheOven,
        CoolingTime::Seconds(_) => Cooling::AsGiven,
    }
}

/// What goes into the pack: the mean after cooling. A bake that ends wetter than the dough
/// (steam on a cold piece) counts as the dough.
fn packed_moisture(bake: &BakeResult, dough: WetBasis) -> WetBasis {
    let end = bake
        .end_of(StageKind::Cooling)
        .or_else(|| bake.end_of(StageKind::Oven));
    let moisture = end.map_or(dough, |e| e.mean_moisture.to_wet());
    WetBasis(moisture.0.clamp(0.0, dough.0))
}

fn dough(treatment: &Treatment, prepared: &Prepared, findings: &mut Vec<Finding>) -> Dough {
    let added = prepared.formula.water_kg_per_100kg_dry_mix();
    if treatment.water == WaterChoice::Given {
        findings.extend(prepared.need.compare(added));
    }
    if !prepared.need.unknown.is_empty() {
        findings.push(
            Finding::new(
                Severity::Warn,
                "water-uptake-unknown",
                "dough.water_need",
                format!(
                    "No water uptake is known for {}: the need counts them as asking for nothing.",
                    prepared.need.unknown.join(", ")
                ),
            )
            .help("Titrate the dough, or give the uptake in the study file."),
        );
    }
    let tempered = tempering(treatment, prepared);
    Dough {
        moisture_pct: prepared.dough_moisture.percent(),
        water_added_kg_per_100kg_dry_mix: added,
        water_need: crate::answer::Interval {
            mean: prepared.need.mean,
            low95: prepared.need.low95,
            high95: prepared.need.high95,
        },
        first_dose_kg_per_100kg_dry_mix: prepared.need.first_dose,
        dose_step_kg_per_100kg_dry_mix: prepared.need.step,
        water_from: treatment.water.written(),
        density_kg_per_m3: prepared.dough.density.dough_kg_per_m3,
        unknown_uptake: prepared.need.unknown.clone(),
        water_temperature_c: tempered.map(|t| temperature::celsius(t.water_k)),
        ice_fraction: tempered.map(|t| t.ice_fraction),
    }
}

fn tempering(
    treatment: &Treatment,
    prepared: &Prepared,
) -> Option<formula::dough_temperature::WaterTemperature> {
    let process = &treatment.setting.process;
    let heat = formula::dough_temperature::DoughHeat {
        wanted_k: temperature::kelvin(treatment.setting.dough.temperature_c),
        materials_k: temperature::kelvin(process.flour_c),
        tap_k: temperature::kelvin(process.tap_water_c),
        mixing_work_j_per_kg: process.mixing_work_kj_per_kg * 1e3,
        work_to_heat_fraction: 1.0,
    };
    formula::dough_temperature::water_temperature(&prepared.formula, &heat).ok()
}

/// What is asked of a bake beside its time.
struct Details<'a> {
    checks: bool,
    draw: Draw,
    cooling: Cooling,
    treatment: &'a Treatment,
}

#[allow(clippy::too_many_arguments)] // one place gathers what the bake answers
fn bake_answer(
    study: &Study,
    prepared: &Prepared,
    timed: &Timed,
    packed: WetBasis,
    balance: &formula::BakeBalance,
    details: Details<'_>,
    workspace: &mut Workspace,
    given: &mut Vec<Given>,
) -> Result<Bake, Why> {
    let result = &timed.bake;
    let exit = result.end_of(StageKind::Oven);
    let cooled = result.end_of(StageKind::Cooling).or(exit);
    let browned = browning::factor(prepared.solids.sugars.at_least, details.draw, given);
    let isotherm = &prepared.bake.closures.isotherm;
    let activity = |end: Option<&StageEnd>| {
        end.map_or(f64::NAN, |e| {
            isotherm.water_activity(e.mean_moisture.0, 25.0)
        })
    };
    let moisture =
        |end: Option<&StageEnd>| end.map_or(f64::NAN, |e| e.mean_moisture.to_wet().percent());
    let (kill, kill_within, kill_shown) = cooled
        .map_or((0.0, 0.0, String::from("0.0 log₁₀")), |e| {
            kill_told(&e.kill)
        });
    let (edge_correction_pct, grid_error_points) = if details.checks && !details.draw.varies() {
        checks(study, prepared, details.cooling, timed, workspace)?
    } else {
        (f64::NAN, f64::NAN)
    };
    let later = if details.checks {
        let input = stretched(&prepared.bake, timed.time_s, details.cooling);
        // A pack that can't be followed takes nothing away from the bake.
        later(details.treatment, &input, details.draw, workspace)
            .unwrap_or_else(|e| Later::none(e.to_string()))
    } else {
        Later::none("it wasn't asked for".to_owned())
    };
    given.extend(later.given);
    Ok(Bake {
        time_min: timed.time_s / 60.0,
        exit_moisture_pct: moisture(exit),
        cooled_moisture_pct: moisture(cooled),
        packed_moisture_pct: packed.percent(),
        exit_water_activity: activity(exit),
        cooled_water_activity: activity(cooled),
        centre_peak_c: temperature::celsius(result.centre_peak_k),
        top_peak_c: temperature::celsius(result.top_peak_k),
        kill_log10: kill,
        kill_within_tested_log10: kill_within,
        kill_shown,
        colour_delta_e: cooled.map_or(0.0, |e| browning::deepened(e.colour_delta_e, browned)),
        water_removed_kg_per_kg_baked: balance.water_off_kg_per_kg_baked(),
        centre_surface_moisture_points: cooled.map_or(f64::NAN, |e| {
            e.centre.moisture.to_wet().percent() - e.top.moisture.to_wet().percent()
        }),
        checking_index: later.checking_index,
        crisp_days: later.crisp_days,
        crisp_days_at_least: later.crisp_days_at_least,
        crisp_unknown: later.crisp_unknown,
        reached: timed.found == Found::Met && timed.moisture.0 <= study.target.moisture.0 + 5e-4,
        limit: match timed.found {
            Found::TooWet(limit) => Some(limit.words().to_owned()),
            Found::TooDry => Some("drier than the target even at the shortest time".to_owned()),
            Found::DoughTooDry => Some("the dough isn't wetter than the target".to_owned()),
            Found::Met => None,
        },
        edge_correction_pct,
        grid_error_points,
        curve: curve(prepared, result, browned),
    })
}

/// The log reduction with the equation carried on above 90 °C, the part of it that the tested range
/// supports, and both in words.
fn kill_told(kill: &baking::bake::Kill) -> (f64, f64, String) {
    let carried_on = kill.extrapolated_log10;
    let number = if carried_on > TOLD_AT_MOST {
        ">10".to_owned()
    } else {
        format!("{carried_on:.1}")
    };
    let words = if kill.beyond_tested_range {
        let (t, a) = (TESTED_CELSIUS, TESTED_WATER_ACTIVITY);
        format!(
            "{number} log₁₀ (carried on beyond the tested {} to {} °C and a_w {} to {}; tests support {})",
            t.low,
            t.high,
            a.low,
            a.high,
            kill.shown()
        )
    } else {
        format!("{number} log₁₀")
    };
    (
        carried_on.min(TOLD_AT_MOST),
        kill.log10.min(TOLD_AT_MOST),
        words,
    )
}

/// How much the edge correction takes off the bake time, %, and the spatial error, points.
fn checks(
    study: &Study,
    prepared: &Prepared,
    cooling: Cooling,
    timed: &Timed,
    workspace: &mut Workspace,
) -> Result<(f64, f64), Why> {
    let mut coarse = stretched(&prepared.bake, timed.time_s, cooling);
    coarse.cells = (prepared.bake.cells / 2).max(4);
    let coarse_bake = bake(&coarse, &Ask::default(), workspace)?;
    let exit = |b: &BakeResult| {
        b.end_of(StageKind::Oven)
            .map_or(f64::NAN, |e| e.mean_moisture.to_wet().percent())
    };
    let grid_error_points = (exit(&timed.bake) - exit(&coarse_bake)).abs() / 3.0;
    if timed.found != Found::Met {
        return Ok((f64::NAN, grid_error_points));
    }
    // The slab without a rim, on the coarse grid, brought to what the coarse piece reaches.
    let at = target_at(study);
    let reached = coarse_bake
        .end_of(at.stage())
        .map_or(timed.moisture, |e| e.mean_moisture.to_wet());
    let mut slab = coarse;
    slab.edge = None;
    let guess = Some(timed.time_s * 1.15);
    let slab = band_time_with_cooling(&slab, reached, at, OVEN_TIME_S, guess, cooling, workspace)?;
    let correction = match slab.found {
        Found::Met => 100.0 * (1.0 - timed.time_s / slab.time_s),
        Found::TooWet(_) | Found::TooDry | Found::DoughTooDry => f64::NAN,
    };
    Ok((correction, grid_error_points))
}

fn curve(prepared: &Prepared, result: &BakeResult, browned: f64) -> BakeCurve {
    let h = &result.history;
    let end_s = result
        .end_of(StageKind::Cooling)
        .or_else(|| result.end_of(StageKind::Oven))
        .map_or(0.0, |e| e.time_s);
    let n = h.time_s.iter().take_while(|t| **t <= end_s + 1e-9).count();
    let celsius = |v: &[f64]| v[..n].iter().map(|k| temperature::celsius(*k)).collect();
    debug_assert!(prepared.bake.cells > 0);
    BakeCurve {
        time_min: h.time_s[..n].iter().map(|t| t / 60.0).collect(),
        moisture_pct: h.mean_moisture[..n]
            .iter()
            .map(|x| 100.0 * x / (1.0 + x))
            .collect(),
        top_c: celsius(&h.top_k),
        centre_c: celsius(&h.centre_k),
        bottom_c: celsius(&h.bottom_k),
        colour_delta_e: h.colour_delta_e[..n]
            .iter()
            .map(|d| browning::deepened(*d, browned))
            .collect(),
        zones: result
            .stages
            .iter()
            .filter(|s| s.kind != StageKind::Pack)
            .map(|s| (s.name.clone(), s.time_s / 60.0))
            .collect(),
    }
}

fn target_finding(study: &Study, timed: &Timed) -> Option<Finding> {
    let target = study.target.moisture.percent();
    let place = target_at(study).word();
    let reached = timed.moisture.percent();
    let minutes = timed.time_s / 60.0;
    match timed.found {
        Found::Met if timed.moisture.0 > study.target.moisture.0 + 5e-4 => Some(
            Finding::new(
                Severity::Warn,
                "target-missed-at-set-time",
                "bake.time_min",
                format!("After {minutes:.1} min the piece has {reached:.1} % moisture {place}; the target is {target:.1} %."),
            )
            .help("Lengthen the bake, or leave the time open and let the target set it."),
        ),
        Found::Met => None,
        Found::TooWet(limit) => Some(
            Finding::new(
                Severity::Stop,
                "target-not-reached",
                "bake.time_min",
                format!("The oven doesn't get there: after {minutes:.0} min the piece still has {reached:.1} % moisture {place}, target {target:.1} %."),
            )
            .help(limit.words()),
        ),
        Found::TooDry => Some(
            Finding::new(
                Severity::Stop,
                "target-not-reached",
                "bake.time_min",
                format!("Even after {minutes:.1} min the piece is drier ({reached:.1} %) than the target of {target:.1} % {place}."),
            )
            .help("A gentler oven, a thicker piece or a drier target."),
        ),
        Found::DoughTooDry => Some(
            Finding::new(
                Severity::Stop,
                "target-not-reached",
                "bake.time_min",
                format!("The dough itself isn't wetter than the target of {target:.1} % {place}; told after {minutes:.1} min."),
            )
            .help("More water in the dough, or a drier target."),
        ),
    }
}

fn line_load<'a>(
    treatment: &'a Treatment,
    prepared: &Prepared,
    timed: &Timed,
    packed: WetBasis,
    baked_kg: f64,
    cost: &formula::cost::IngredientCost,
) -> LineLoad<'a> {
    let setting = &treatment.setting;
    let exit = timed.bake.end_of(StageKind::Oven);
    let cooled = timed.bake.end_of(StageKind::Cooling);
    LineLoad {
        oven: &setting.oven,
        piece: &setting.piece,
        layout: setting.layout,
        dough_kg_per_m3: prepared.dough.density.dough_kg_per_m3,
        green_kg: prepared.green_kg,
        baked_kg: baked_kg.min(prepared.green_kg),
        dough_moisture: prepared.dough_moisture,
        baked_moisture: packed,
        solid_heat_capacity_j_per_kg_k: prepared.dough.solid_heat_capacity_j_per_kg_k,
        bake_time_s: timed.time_s,
        cooling_time_s: setting.cooling.seconds(timed.time_s),
        dough_k: prepared.bake.initial_temperature_k,
        // Top and bottom count a quarter each, as a parabola's mean nearly does.
        exit_k: exit.map_or(373.15, |e| {
            0.25 * e.top.temperature_k
                + 0.5 * e.centre.temperature_k
                + 0.25 * e.bottom.temperature_k
        }),
        cooled_k: cooled.map(|e| {
            e.top
                .temperature_k
                .max(e.centre.temperature_k)
                .max(e.bottom.temperature_k)
        }),
        cost_per_kg_dough: cost.unknown.is_empty().then_some(cost.per_kg_dough.mean),
    }
}

fn line_answer(r: &line::LineResult) -> Line {
    let name_of = |s: line::Station| {
        r.stations
            .iter()
            .find(|x| x.station == s)
            .map_or(s.word(), |x| x.name)
            .to_owned()
    };
    let whole = r.output_kg_per_h / r.baked_kg_per_h;
    let oven = r.stations.iter().find(|s| s.station == line::Station::Oven);
    Line {
        bottleneck: name_of(r.bottleneck),
        output_kg_per_h: r.output_kg_per_h,
        output_pieces_per_h: r.output_pieces_per_h,
        oven_kg_per_h: oven.map_or(f64::NAN, |s| s.capacity_kg_per_h * whole),
        evaporation_kg_per_h: r.evaporation_kg_per_h,
        heat_kwh_per_kg: r.heat_kwh_per_kg,
        fuel_kwh_per_kg: r.fuel_kwh_per_kg,
        rework_pct: 100.0 * r.rework.returned,
        trim_left_over_kg_per_h: r.excess_trim_kg_per_h,
        broken_kg_per_h: r.broken_kg_per_h,
        giveaway_kg_per_h: r.giveaway_kg_per_h,
        dough_kg_per_h: r.dough_kg_per_h,
        stations: r
            .stations
            .iter()
            .map(|s| Station {
                name: s.name.to_owned(),
                capacity_kg_per_h: s.capacity_kg_per_h * whole,
                use_fraction: s.use_of_capacity,
                how: s.how.clone(),
            })
            .collect(),
    }
}

/// What a piece weighs from dough to pack; leavening is taken to be gone at the oven's exit.
fn mass_stages(
    prepared: &Prepared,
    timed: &Timed,
    packed: WetBasis,
    baked_kg: f64,
) -> Vec<MassStage> {
    let stage = |place, dry_g: f64, moisture: WetBasis| MassStage {
        place,
        dry_g,
        water_g: dry_g * moisture.to_dry().0,
    };
    let green_dry_g = prepared.green_kg * 1e3 * (1.0 - prepared.dough_moisture.0);
    let baked_dry_g = baked_kg * 1e3 * (1.0 - packed.0);
    let mut stages = vec![stage("dough", green_dry_g, prepared.dough_moisture)];
    if let Some(exit) = timed.bake.end_of(StageKind::Oven) {
        stages.push(stage("oven exit", baked_dry_g, exit.mean_moisture.to_wet()));
    }
    stages.push(stage("packed", baked_dry_g, packed));
    stages
}

fn setting_given(what: &'static str, source: &Source) -> Given {
    Given {
        name: format!("description of the {what}").into(),
        value: f64::NAN,
        unit: "".into(),
        source: Source {
            text: source.text.clone(),
            grade: source.grade.worse(Grade::Measured),
        },
    }
}

/// Keeps the first of findings that say the same.
fn dedup(findings: &mut Vec<Finding>) {
    let mut seen = std::collections::BTreeSet::new();
    findings.retain(|f| seen.insert((f.code.clone(), f.about.clone(), f.message.clone())));
}
