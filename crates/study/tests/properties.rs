//! What must hold for every treatment, sensible or not: all 130 materials of the shelf in random amounts, random
//! pieces, ovens and processes. 2,000 settings in all.

#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use baking::bake::{Ask, StageKind, bake};
use baking::oven::{CoolingTime, Humidity, TopHeat, presets};
use baking::piece::Outline;
use formula::{Change, Forming, Formula, Line, shelf, treatment};
use measure::{WetBasis, temperature::kelvin};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};
use study::Code;
use study::chain::dough_and_piece::dough_and_piece;
use study::compare::bridge::{Depth, Exchange, causes, mixed};
use study::compare::compared::differences;
use study::model::{DoughDensity, Place, Study, Treatment, WaterChoice};
use study::{BakeOptions, Figure, KnockOn, Sample, Workspace, compare, knock_on, run};

const DEMONSTRATION: &str = include_str!("../../../examples/spent-grain.toml");

fn demonstration() -> &'static Study {
    static STUDY: OnceLock<Study> = OnceLock::new();
    STUDY.get_or_init(|| study::written::read(DEMONSTRATION).unwrap_or_else(|p| panic!("{p:#?}")))
}

const FAST: BakeOptions = BakeOptions {
    cells: 10,
    checks: false,
    ..BakeOptions::QUICK
};

/// A formula of two to nine materials of the whole shelf, with some flour and water so that it can be a dough.
fn any_formula() -> impl Strategy<Value = Formula> {
    let count = shelf::shelf().len();
    let parts = prop::collection::vec((0..count, 0.01..60.0_f64), 1..9);
    (parts, 20.0..100.0_f64, 0.0..50.0_f64).prop_map(|(parts, flour, water)| {
        let mut amounts: BTreeMap<String, f64> = BTreeMap::new();
        *amounts.entry("wheat_flour_soft".into()).or_default() += flour;
        *amounts.entry("water".into()).or_default() += water;
        for (i, amount) in parts {
            *amounts.entry(shelf::shelf()[i].id.clone()).or_default() += amount;
        }
        let lines = amounts
            .into_iter()
            .map(|(id, amount)| Line::new(shelf::find(&id).unwrap(), amount));
        Formula::new(lines.collect()).unwrap()
    })
}

fn any_outline() -> impl Strategy<Value = Outline> {
    prop_oneof![
        (0.01..0.2_f64).prop_map(|diameter_m| Outline::Round { diameter_m }),
        (0.01..0.2_f64, 0.01..0.2_f64, 0.0..0.5_f64).prop_map(|(length_m, width_m, share)| {
            Outline::Bar {
                length_m,
                width_m,
                corner_radius_m: share * length_m.min(width_m),
            }
        }),
    ]
}

/// One zone: air, radiation and band °C, kg/kg, heat transfer at the top and the bottom.
type ZoneDrawn = (f64, f64, f64, f64, f64, f64);

fn any_zone() -> impl Strategy<Value = ZoneDrawn> {
    (
        90.0..280.0_f64,
        90.0..300.0_f64,
        80.0..260.0_f64,
        0.005..0.4_f64,
        3.0..80.0_f64,
        0.0..200.0_f64,
    )
}

fn any_treatment() -> impl Strategy<Value = (Treatment, f64)> {
    let piece = (any_outline(), 0.003..0.02_f64);
    let oven = (0..3_usize, prop::collection::vec(any_zone(), 3));
    let process = (
        prop::sample::select(Forming::ALL.to_vec()),
        300.0..3500.0_f64,
        any::<bool>(),
        5.0..40.0_f64,
        0.0..0.3_f64,
        prop::option::of(2.0..60.0_f64),
        0.3..2.5_f64,
    );
    let target = 0.03..0.14_f64;
    (any_formula(), piece, oven, process, target).prop_map(
        |(formula, (outline, thickness_m), (which, zones), process, target)| {
            let (forming, fu, from_need, dough_c, gas, minutes, cooling) = process;
            let mut t = demonstration().control().clone();
            t.id = "drawn".into();
            t.formula = formula;
            t.changes = Vec::new();
            t.water = if from_need {
                WaterChoice::FromNeed
            } else {
                WaterChoice::Given
            };
            let s = &mut t.setting;
            s.piece.outline = outline.clone();
            s.piece.thickness_m = thickness_m;
            s.piece.docker = None;
            s.layout = baking::piece::Layout::with_gap(&outline, 0.004);
            s.oven = presets::all().swap_remove(which);
            for (zone, (air, radiating, band, humidity, top, bottom)) in
                s.oven.zones.iter_mut().zip(zones)
            {
                zone.air_k = kelvin(air);
                zone.radiating_k = Some(kelvin(radiating));
                zone.band_k = kelvin(band);
                zone.humidity = Humidity::KgPerKg(humidity);
                zone.top = TopHeat::Coefficient(top);
                zone.bottom_w_per_m2_k = bottom;
            }
            s.process.forming = forming;
            s.process.consistency_fu = fu;
            s.dough.temperature_c = dough_c;
            s.dough.density = DoughDensity::GasFraction(gas);
            s.bake_time_s = minutes.map(|m| 60.0 * m);
            s.cooling.time = CoolingTime::OfBakeTime(cooling);
            (t, target)
        },
    )
}

fn study_with(treatment: &Treatment, target: f64) -> Study {
    let mut study = demonstration().clone();
    study.target.moisture = WetBasis(target);
    study.target.at = Place::Packed;
    study.treatments = vec![study.control().clone(), treatment.clone()];
    study.control = 0;
    for t in &mut study.treatments {
        t.target = study.target;
    }
    study
}

/// Every number of an answer as JSON writes it; what isn't finite becomes null there.
fn check_answer(k: &KnockOn) -> Result<(), TestCaseError> {
    // A figure is a number or it is unknown; a reached bake knows everything but the price.
    for f in Figure::ALL {
        let about = f.about();
        match f.value(k) {
            Some(v) => prop_assert!(v.is_finite(), "{}", about.key),
            // What comes after the oven is left out where the checks are.
            None => prop_assert!(
                about.key.starts_with("cost")
                    // A dough that asks for no water can't be off its need.
                    || (f == Figure::WholePieces && k.dough.water_need.mean <= 0.0)
                    || ["bake.checking_index", "bake.crisp_days"].contains(&about.key),
                "{} is unknown",
                about.key
            ),
        }
    }
    let b = &k.bake;
    let c = &b.curve;
    for moisture in [
        b.exit_moisture_pct,
        b.cooled_moisture_pct,
        b.packed_moisture_pct,
        k.dough.moisture_pct,
    ] {
        prop_assert!((0.0..=100.0).contains(&moisture), "{moisture}");
    }
    let off = c
        .moisture_pct
        .iter()
        .enumerate()
        .find(|(_, m)| !(0.0..100.0).contains(*m));
    prop_assert!(off.is_none(), "{off:?} of {}", c.moisture_pct.len());
    for column in [&c.top_c, &c.centre_c, &c.bottom_c, &c.colour_delta_e] {
        prop_assert_eq!(column.len(), c.time_min.len());
        prop_assert!(column.iter().all(|v| v.is_finite()));
    }
    prop_assert!(
        b.exit_water_activity
            .is_none_or(|a| (0.0..=1.0).contains(&a))
    );
    prop_assert!(
        b.cooled_water_activity
            .is_none_or(|a| (0.0..=1.0).contains(&a))
    );
    prop_assert!(
        (0.0..=7.0).contains(&b.kill_log10) && b.kill_carried_on_log10 >= b.kill_log10 - 1e-9
    );
    // No place on the line is used beyond what it can do, one is used fully.
    let used: Vec<f64> = k.line.stations.iter().map(|s| s.use_fraction).collect();
    prop_assert!(used.iter().all(|u| *u <= 1.0 + 1e-9), "{used:?}");
    prop_assert!(used.iter().any(|u| *u >= 1.0 - 1e-9), "{used:?}");
    // The proximate figures leave something over for the rest, and all of it is 100.
    let n = &k.nutrition;
    let sum = n.moisture_pct + n.crude_protein_pct + n.crude_fat_pct + n.ash_pct;
    prop_assert!(sum <= 101.5, "{sum}");
    prop_assert!(
        k.findings
            .iter()
            .all(|f| !f.message.is_empty() && !f.message.contains("NaN"))
    );
    Ok(())
}

/// Mass closes from the dough to the packed piece.
fn check_mass(k: &KnockOn, formula: &Formula) -> Result<(), TestCaseError> {
    // By way of percent a last digit may be lost, and a piece that only took steam up counts as its dough.
    let packed = WetBasis((k.bake.packed_moisture_pct / 100.0).min(formula.dough_moisture().0));
    let b = formula.bake_balance(packed).unwrap();
    let scale = formula.total();
    let shares: f64 = formula.lines().iter().map(|l| l.parts).sum();
    prop_assert!((shares - scale).abs() <= 1e-12 * scale);
    // Water in the dough is what left and what is still there; what decomposes leaves the solids.
    let water = scale - formula.solids() - b.water_off_kg - b.baked_kg * packed.0;
    prop_assert!(water.abs() <= 1e-12 * scale, "{water:e}");
    let solids = formula.solids() - b.decomposed_kg - b.baked_kg * (1.0 - packed.0);
    prop_assert!(solids.abs() <= 1e-12 * scale, "{solids:e}");
    for m in &k.piece.mass {
        prop_assert!(m.dry_g > 0.0 && m.water_g >= 0.0, "{m:?}");
    }
    let packed_mass = k.piece.mass.last().unwrap();
    let gap = (packed_mass.dry_g + packed_mass.water_g) / k.piece.baked_mass_g - 1.0;
    prop_assert!(gap.abs() <= 1e-12, "{gap:e}");
    Ok(())
}

/// Any treatment has an answer in finite numbers, or says by name what can't be.
#[test]
fn any_treatment_is_answered_or_refused_by_name() {
    let config = ProptestConfig {
        cases: 1400,
        failure_persistence: None,
        ..ProptestConfig::default()
    };
    let (answered, reached) = (Cell::new(0), Cell::new(0));
    let w = RefCell::new(Workspace::new());
    let checked = |(treatment, target): (Treatment, f64)| {
        let study = study_with(&treatment, target);
        let treatment = &study.treatments[1];
        let k = match run(treatment, &FAST, Sample::Centre, &mut w.borrow_mut()) {
            Ok(run) => knock_on(&run),
            Err(error) => {
                let text = error.to_string();
                prop_assert!(text.starts_with("treatment drawn: "), "{text}");
                prop_assert!(text.len() > 40 && !text.contains("NaN"), "{text}");
                return Ok(());
            }
        };
        answered.set(answered.get() + 1);
        check_answer(&k)?;
        let prepared = dough_and_piece(treatment, &FAST, Sample::Centre).unwrap();
        check_mass(&k, &prepared.formula)?;
        if !k.bake.reached {
            let told = |code: Code| k.findings.iter().any(|f| f.code == code);
            prop_assert!(told(Code::TargetNotReached) || told(Code::TargetMissedAtSetTime));
        } else if treatment.setting.bake_time_s.is_none() {
            reached.set(reached.get() + 1);
            let miss = k.bake.packed_moisture_pct - 100.0 * target;
            prop_assert!(miss.abs() <= 0.011, "{miss} at {target}");
        }
        Ok(())
    };
    TestRunner::new(config)
        .run(&any_treatment(), checked)
        .unwrap();
    println!("{} answered, {} met", answered.get(), reached.get());
    assert!(answered.get() > 1000 && reached.get() > 300);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// Water and heat are accounted for in every place and stage, and nothing gets drier than dry.
    #[test]
    fn water_and_heat_close_at_every_place((treatment, _) in any_treatment()) {
        let Ok(prepared) = dough_and_piece(&treatment, &BakeOptions { cells: 20, ..FAST }, Sample::Centre) else { return Ok(()) };
        let times = prepared.bake.stages.iter().scan(0.0, |t, s| { *t += s.duration_s; Some(*t) });
        let ask = Ask { profile_times_s: times.collect(), ..Ask::default() };
        let Ok(result) = bake(&prepared.bake, &ask, &mut Workspace::new()) else { return Ok(()) };
        prop_assert!(result.account.water_rel_error <= 1e-10, "{:?}", result.account);
        prop_assert!(result.account.energy_rel_error <= 1e-10, "{:?}", result.account);
        for p in &result.profiles {
            prop_assert!(p.moisture.iter().all(|x| x.is_finite() && *x >= 0.0), "{:?}", p.moisture);
            prop_assert!(p.temperature_k.iter().all(|t| (230.0..700.0).contains(t)));
        }
        // The closed pack neither takes nor gives water.
        let mean = |kind| result.end_of(kind).unwrap().mean_moisture.0;
        prop_assert!((mean(StageKind::Pack) - mean(StageKind::Cooling)).abs() <= 1e-9);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    /// The same question has the same answer, differences are what they say, and a treatment that changes nothing
    /// differs by nothing.
    #[test]
    fn answers_repeat_and_differences_add_up((treatment, target) in any_treatment(), factor in 0.8..1.2_f64) {
        let study = study_with(&treatment, target);
        let w = &mut Workspace::new();
        let treatment = &study.treatments[1];
        let ask = |t: &Treatment, w: &mut Workspace| run(t, &FAST, Sample::Centre, w).map(|r| knock_on(&r));
        let (Ok(control), Ok(first)) = (ask(study.control(), w), ask(treatment, w)) else { return Ok(()) };
        let again = ask(treatment, &mut Workspace::new()).unwrap();
        // As text, because what is unknown inside is no number and so not equal to itself.
        prop_assert_eq!(format!("{first:?}"), format!("{again:?}"));

        let gaps = differences(&first, &control);
        for f in Figure::ALL {
            let told = gaps.get(&f).map(|d| d.value);
            let (Ok(a), Ok(b)) = (f.told(&first), f.told(&control)) else { prop_assert!(told.is_none()); continue };
            prop_assert_eq!(told, Some(a - b), "{}", f.about().key);
        }

        let mut twin = treatment.clone();
        twin.id = "twin".into();
        let same = differences(&ask(&twin, w).unwrap(), &first);
        prop_assert!(same.values().all(|d| d.value == 0.0), "{same:?}");

        // Scaling water scales the added water and nothing else of the formula.
        let scaled = treatment::apply(&treatment.formula, &[Change::ScaleWater { factor }]).unwrap();
        let (was, is) = (treatment.formula.water_kg_per_100kg_dry_mix(), scaled.water_kg_per_100kg_dry_mix());
        prop_assert!((is - factor * was).abs() <= 1e-9 * was.max(1.0));

        let wanted = [&study.treatments[1]];
        let compared = compare(&study, &wanted, &FAST).unwrap();
        prop_assert_eq!(compared.len(), 2);
        prop_assert_eq!(format!("{:?}", compared[1].answer), format!("{first:?}"));
        prop_assert_eq!(&compared[1].differences, &gaps);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 500, failure_persistence: None, ..ProptestConfig::default() })]

    /// A bridge from one treatment to any other sums to the difference, and its causes are all that differs: with each
    /// of them taken, the one bakes as the other.
    #[test]
    fn a_bridge_sums_to_the_difference((one, target) in any_treatment(), (other, _) in any_treatment(), keep in 0..64_u32) {
        let study = study_with(&one, target);
        let control = &study.treatments[1];
        // Some of it stays the control's, so that there are pairs with few causes as well.
        let mut treatment = control.clone();
        treatment.id = "other".into();
        let kept = |bit: u32| keep & (1 << bit) != 0;
        if kept(0) { treatment.formula = other.formula.clone(); }
        if kept(1) { treatment.water = other.water; }
        if kept(2) { treatment.setting.piece = other.setting.piece.clone(); treatment.setting.layout = other.setting.layout; }
        if kept(3) { treatment.setting.oven = other.setting.oven.clone(); }
        if kept(4) { treatment.setting.process = other.setting.process; treatment.setting.dough = other.setting.dough.clone(); }
        if kept(5) { treatment.setting.bake_time_s = other.setting.bake_time_s; }
        let w = &mut Workspace::new();
        // Fewer places still: whether it sums doesn't hang on them.
        let options = BakeOptions { cells: 5, ..FAST };
        let mut ask = |t: &Treatment| run(t, &options, Sample::Centre, w).map(|r| Arc::new(knock_on(&r)));
        let (Ok(from), Ok(to)) = (ask(control), ask(&treatment)) else { return Ok(()) };
        let ends = [control, &treatment];
        let exchange = Exchange::new(ends, [&from, &to], Depth::Bake, &options);
        for figure in Figure::ALL {
            let Ok(bridge) = exchange.bridge(figure) else { continue };
            let sum: f64 = bridge.steps.iter().map(|s| s.value).sum();
            let gap = bridge.from + sum - bridge.to;
            let size = bridge.from.abs().max(bridge.to.abs()).max(bridge.steps.iter().fold(0.0, |m, s| s.value.abs().max(m)));
            prop_assert!(gap.abs() <= 1e-9 * size.max(1.0), "{}: {gap:e} of {bridge:?}", figure.about().key);
            for decimals in 0..3 {
                let tens = 10f64.powi(decimals as i32);
                let round = |v: f64| (v * tens).round() / tens;
                let shown: f64 = bridge.shown(decimals, |v| v).iter().map(|s| s.1).sum();
                prop_assert!((round(bridge.from) + shown - round(bridge.to)).abs() <= 1e-9 * size.max(1.0));
            }
        }
        let water = [&from, &to].map(|k| k.dough.water_added_kg_per_100kg_dry_mix);
        let all = mixed(ends, &causes(ends, Some(water)), |_| true, water, false).unwrap();
        let there = ask(&all).unwrap();
        for figure in Figure::ALL {
            let (Ok(a), Ok(b)) = (figure.told(&there), figure.told(&to)) else { continue };
            let near = 10f64.powi(-(figure.about().decimals as i32)) * 0.1 + 1e-4 * b.abs();
            prop_assert!((a - b).abs() <= near, "{}: {a} and {b}", figure.about().key);
        }
    }
}

#[test]
fn the_sweep_draws_from_the_whole_shelf() {
    assert_eq!(shelf::shelf().len(), 130);
}
