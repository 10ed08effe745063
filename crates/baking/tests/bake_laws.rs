//! Laws that every bake keeps: nothing negative, accounts closed, the same answer whatever the threads and the
//! times asked for, and the work of the benchmark bakes.

#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use baking::bake::case::Benchmark;
use baking::bake::{
    Accuracy, Ask, AskedTimes, BakeInput, DryEnd, Edge, Isotherm, LatentHeat, SaturationPressure,
    StageKind, Workspace, bake, bake_simple,
};
use measure::DryBasis;
use measure::temperature::kelvin;
use proptest::prelude::*;
use rayon::prelude::*;

fn any_bake() -> impl Strategy<Value = BakeInput> {
    let material = (
        -15.0..-12.0_f64, // log10 permeability
        0.0005..0.3_f64,  // porosity over tortuosity
        -11.0..-9.0_f64,  // log10 liquid diffusivity
        0.003..0.015_f64, // thickness
        0.15..0.7_f64,    // moisture
        0.0..2.0_f64,     // moisture exponent of diffusivity
    );
    let zones = prop::collection::vec(
        (
            120.0..270.0_f64,
            120.0..270.0_f64,
            120.0..270.0_f64,
            5.0..60.0_f64,
            0.0..200.0_f64,
            0.0..30_000.0_f64,
            60.0..600.0_f64,
        ),
        3,
    );
    let rest = (
        0.0..=1.0_f64,
        prop::option::of((40.0..300.0_f64, 0.0..=1.0_f64)),
        any::<bool>(),
        any::<bool>(),
    );
    (material, zones, rest).prop_map(|(material, zones, (open, edge, table, accurate_water))| {
        let (permeability, porosity, diffusivity, thickness, moisture, exponent) = material;
        let mut input = Benchmark::SteelBand.case().input;
        input.accuracy = Accuracy::Quick;
        input.thickness_m = thickness;
        input.initial_moisture = DryBasis(moisture);
        let c = &mut input.closures;
        c.vapour.permeability_m2 = 10.0_f64.powf(permeability);
        c.vapour.porosity_over_tortuosity = porosity;
        c.liquid.d0_m2_per_s = 10.0_f64.powf(diffusivity);
        c.liquid.moisture_exponent = exponent;
        // From one that is never felt to one that begins in the wet dough.
        c.liquid.dry_end = DryEnd::of((0.2 * exponent - 0.1).max(1e-4), 1.0 + 2.5 * exponent);
        if table {
            let oswin = c.isotherm.clone();
            let points: Vec<(f64, f64)> = [0.01_f64, 0.03, 0.07, 0.12, 0.3, 0.8]
                .iter()
                .map(|x| {
                    let a = oswin.water_activity(*x, 25.0);
                    (x.ln(), (a / (1.0 - a)).ln() + 0.3 * (7.0 * x).sin())
                })
                .collect();
            c.isotherm = Isotherm::through(&points, 0.012).unwrap();
        }
        if accurate_water {
            c.saturation = SaturationPressure::HYLAND_WEXLER;
            c.latent_heat = LatentHeat::IAPWS_FIT;
        }
        input.edge = edge.map(|(perimeter, exposure)| Edge::of(perimeter, exposure));
        for (stage, (air, radiating, band, top, bottom, vapour, time)) in
            input.stages.iter_mut().zip(zones)
        {
            stage.air_k = kelvin(air);
            stage.radiating_k = kelvin(radiating);
            stage.band_k = kelvin(band);
            stage.top_w_per_m2_k = top;
            stage.bottom_w_per_m2_k = bottom;
            stage.air_vapour_pa = vapour;
            stage.duration_s = time;
            stage.band_open = open;
        }
        input
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bake_stays_sane(input in any_bake()) {
        let times: Vec<f64> = input.stages.iter().scan(0.0, |t, s| { *t += s.duration_s; Some(*t) }).collect();
        let ask = Ask { history: AskedTimes::EveryStep, profile_times_s: times, ..Ask::default() };
        let result = bake(&input, &ask, &mut Workspace::new()).unwrap();
        prop_assert!(result.account.water_rel_error <= 1e-10, "{:?}", result.account);
        prop_assert!(result.account.energy_rel_error <= 1e-10, "{:?}", result.account);
        for profile in &result.profiles {
            for (x, t) in profile.moisture.iter().zip(&profile.temperature_k) {
                prop_assert!(*x >= 0.0 && *x < 5.0, "X {x}");
                prop_assert!(*t > 250.0 && *t < kelvin(271.0), "T {t}");
            }
        }
        let h = &result.history;
        for column in [&h.mean_moisture, &h.top_k, &h.centre_k, &h.bottom_k, &h.colour_delta_e, &h.kill_log10] {
            prop_assert!(column.iter().all(|v| v.is_finite() && *v >= 0.0));
        }
        prop_assert!(h.kill_log10.windows(2).all(|w| w[1] >= w[0]));
        prop_assert!(h.colour_delta_e.windows(2).all(|w| w[1] >= w[0]));
    }
}

/// A thin and very open piece under hot, moist air, where the elimination alone loses four digits of the heat.
#[test]
fn a_stiff_piece_keeps_its_accounts() {
    let mut input = Benchmark::SteelBand.case().input;
    input.accuracy = Accuracy::Quick;
    input.thickness_m = 0.003;
    input.initial_moisture = DryBasis(0.3821);
    let c = &mut input.closures;
    c.liquid.d0_m2_per_s = 6.699e-10;
    c.liquid.moisture_exponent = 1.352;
    c.vapour.porosity_over_tortuosity = 0.2072;
    c.vapour.permeability_m2 = 9.963e-13;
    for stage in input.stages.iter_mut().take(3) {
        stage.air_k = 393.15;
        stage.radiating_k = 393.15;
        stage.band_k = 393.15;
        stage.top_w_per_m2_k = 5.0;
        stage.bottom_w_per_m2_k = 0.0;
        stage.air_vapour_pa = 0.0;
        stage.duration_s = 60.0;
        stage.band_open = 0.0;
    }
    let first = &mut input.stages[0];
    first.duration_s = 240.08;
    first.air_k = 430.836;
    first.radiating_k = 486.28;
    first.band_k = 517.45;
    first.air_vapour_pa = 29_878.75;
    first.bottom_w_per_m2_k = 75.437;
    let account = bake_simple(&input).unwrap().account;
    assert!(account.water_rel_error <= 2e-12, "{account:?}");
    assert!(account.energy_rel_error <= 5e-12, "{account:?}");
}

/// Every number drawn near the ends of what the check allows, sensible or not.
fn anything_allowed() -> impl Strategy<Value = BakeInput> {
    let low_or_high = |low: f64, high: f64| prop_oneof![Just(low), Just(high), low..high];
    let piece = (
        low_or_high(2e-4, 0.2),
        low_or_high(0.0, 5.0),
        low_or_high(250.0, 420.0),
        low_or_high(20.0, 3000.0),
        low_or_high(0.0, 1e-4),
        low_or_high(0.0, 1e-8),
        low_or_high(0.0, 1.0),
    );
    let air = (
        low_or_high(233.15, 873.15),
        low_or_high(0.0, 1273.15),
        low_or_high(233.15, 873.15),
        low_or_high(0.0, 101_325.0),
        low_or_high(0.0, 500.0),
        low_or_high(0.0, 500.0),
    );
    (piece, air, low_or_high(0.0, 1.0)).prop_map(|(piece, air, share)| {
        let mut input = Benchmark::SteelBand.case().input;
        input.accuracy = Accuracy::Quick;
        input.cells = 10;
        input.thickness_m = piece.0;
        input.initial_moisture = DryBasis(piece.1);
        input.initial_temperature_k = piece.2;
        input.dry_solid_kg_per_m3 = piece.3;
        input.closures.liquid.d0_m2_per_s = piece.4;
        input.closures.vapour.permeability_m2 = piece.5;
        input.closures.vapour.porosity_over_tortuosity = piece.6;
        input.closures.emissivity = share;
        input.edge = Some(Edge {
            perimeter_per_area_per_m: 4000.0 * share,
            exposure: share,
            path_m: piece.0 * share,
            holes: None,
        });
        for stage in input.stages.iter_mut().take(3) {
            stage.air_k = air.0;
            stage.radiating_k = air.1;
            stage.band_k = air.2;
            stage.air_vapour_pa = air.3;
            stage.top_w_per_m2_k = air.4;
            stage.bottom_w_per_m2_k = air.5;
            stage.band_open = share;
        }
        input
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// An absurd piece in an absurd oven gives an answer in finite numbers or says that it can't be followed.
    #[test]
    fn the_absurd_ends_kindly(input in anything_allowed()) {
        match bake_simple(&input) {
            Err(error) => prop_assert!(error.to_string().contains("could not be followed"), "{error}"),
            Ok(result) => for end in &result.stages {
                prop_assert!(end.mean_moisture.0.is_finite() && end.top.temperature_k.is_finite());
                prop_assert!(end.mean_moisture.0 > -1e-3, "{:?}", end.mean_moisture);
            },
        }
    }
}

#[test]
fn threads_and_order_do_not_matter() {
    let inputs: Vec<BakeInput> = (0..24)
        .map(|i| {
            let mut input = Benchmark::ALL[i % 3].case().input;
            input.accuracy = Accuracy::Quick;
            input.cells = [20, 40, 64][i / 8];
            input.initial_moisture = DryBasis(0.3 + 0.01 * i as f64);
            input
        })
        .collect();
    let alone: Vec<_> = inputs.iter().map(|i| bake_simple(i).unwrap()).collect();
    let mut shared = Workspace::new();
    let backwards: Vec<_> = inputs
        .iter()
        .rev()
        .map(|i| bake(i, &Ask::default(), &mut shared).unwrap())
        .collect();
    let together: Vec<_> = inputs.par_iter().map(|i| bake_simple(i).unwrap()).collect();
    assert!(alone.iter().eq(backwards.iter().rev()));
    assert_eq!(alone, together);
}

#[test]
fn times_asked_for_do_not_change_the_bake() {
    let input = Benchmark::SteelBand.case().input;
    let run = |times: Vec<f64>| {
        let ask = Ask {
            history: AskedTimes::At(times),
            profile_times_s: vec![0.0, 333.3],
            ..Ask::default()
        };
        bake(&input, &ask, &mut Workspace::new()).unwrap()
    };
    let few = run(vec![0.0, 500.0, 1056.0]);
    let many = run((0..=2000)
        .map(|i| 0.5 * f64::from(i))
        .chain([1056.0])
        .collect());
    assert_eq!(few.stages, many.stages);
    assert_eq!(
        few.history.mean_moisture[1],
        many.history.mean_moisture[1000]
    );
    assert_eq!(
        few.history.mean_moisture[2],
        many.history.mean_moisture[2001]
    );
    assert_eq!(few.profiles, many.profiles);
    // The history told from the fluxes is the mean of the nodes.
    let profile = &few.profiles[1];
    let n = profile.moisture.len();
    let ends = 0.5 * (profile.moisture[0] + profile.moisture[n - 1]);
    let mean = (profile.moisture[1..n - 1].iter().sum::<f64>() + ends) / (n - 1) as f64;
    let asked = run(vec![333.3]).history.mean_moisture[0];
    assert!((mean - asked).abs() < 1e-12, "{mean} {asked}");
}

#[test]
fn work_of_the_benchmark_bakes() {
    // Steps and Jacobians, whole life, 40 cells: a change here is a change of the method and has to be wanted.
    let count = |accuracy| {
        Benchmark::ALL.map(|b| {
            let mut input = b.case().input;
            input.accuracy = accuracy;
            let work = bake_simple(&input).unwrap().work;
            assert_eq!(work.jacobians, work.steps);
            (work.steps, work.rejected)
        })
    };
    assert_eq!(count(Accuracy::Quick), [(124, 2), (137, 3), (115, 1)]);
    assert_eq!(count(Accuracy::Tight), [(843, 21), (892, 12), (823, 30)]);
}

#[test]
fn quick_is_near_tight_on_every_benchmark() {
    for benchmark in Benchmark::ALL {
        let mut input = benchmark.case().input;
        let total: f64 = input.stages[..4].iter().map(|s| s.duration_s).sum();
        let times: Vec<f64> = (0..300)
            .map(|i| 5.0 + (total - 5.0) * f64::from(i) / 299.0)
            .collect();
        let ask = Ask {
            history: AskedTimes::At(times),
            profile_times_s: vec![],
            ..Ask::default()
        };
        let mut run = |accuracy| {
            input.accuracy = accuracy;
            bake(&input, &ask, &mut Workspace::new()).unwrap().history
        };
        let (tight, quick) = (run(Accuracy::Tight), run(Accuracy::Quick));
        let gap = |a: &[f64], b: &[f64]| {
            a.iter()
                .zip(b)
                .map(|(a, b)| (a - b).abs())
                .fold(0.0, f64::max)
        };
        let moisture = gap(&tight.mean_moisture, &quick.mean_moisture) / tight.mean_moisture[0];
        let kelvin = [
            gap(&tight.top_k, &quick.top_k),
            gap(&tight.centre_k, &quick.centre_k),
            gap(&tight.bottom_k, &quick.bottom_k),
        ];
        println!(
            "{}: moisture {moisture:.1e}, kelvin {kelvin:.3?}",
            benchmark.name()
        );
        assert!(moisture <= 5e-4);
        assert!(kelvin.iter().all(|k| *k <= 0.5), "{kelvin:?}");
    }
}

/// What *quick* says of itself, over random doughs and ovens: the same generator with 200 of them gave the figures beside
/// the tolerance.
#[test]
fn quick_leaves_what_it_says() {
    let mut state = 7_u64;
    let mut uniform = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    };
    let (mut means, mut kelvins, mut surfaces) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..40 {
        let mut even = |a: f64, b: f64| a + (b - a) * uniform();
        let mut input = Benchmark::SteelBand.case().input;
        input.stages.truncate(4);
        input.thickness_m = even(0.003_f64.ln(), 0.02_f64.ln()).exp();
        input.initial_moisture = DryBasis(even(0.25, 0.7));
        let c = &mut input.closures;
        c.liquid.d0_m2_per_s = even(1e-10_f64.ln(), 3e-9_f64.ln()).exp();
        c.liquid.activation_j_per_mol = even(15e3, 48e3);
        c.liquid.dry_end = DryEnd::of(even(0.08, 0.14), even(1.9, 4.2));
        c.vapour.porosity_over_tortuosity = even(0.0026_f64.ln(), 0.03_f64.ln()).exp();
        c.vapour.permeability_m2 = even(1e-14_f64.ln(), 3e-12_f64.ln()).exp();
        input.edge = Some(Edge::of(even(60.0, 250.0), even(0.0, 1.0)));
        let longer = (input.thickness_m / 0.008).powf(1.2) * even(0.5, 1.3);
        for stage in input.stages.iter_mut().take(3) {
            stage.duration_s *= longer;
            stage.air_k += even(-40.0, 50.0);
            stage.radiating_k = stage.air_k + even(0.0, 40.0);
            stage.band_k = stage.air_k - even(0.0, 50.0);
            stage.top_w_per_m2_k = even(12.0, 50.0);
            stage.bottom_w_per_m2_k = even(15.0, 150.0);
            stage.air_vapour_pa = even(2e3_f64.ln(), 4e4_f64.ln()).exp();
        }
        let end: f64 = input.stages.iter().map(|s| s.duration_s).sum();
        let ask = Ask {
            history: AskedTimes::At(
                (0..=60)
                    .map(|i| 5.0 + (end - 5.0) * f64::from(i) / 60.0)
                    .collect(),
            ),
            ..Ask::default()
        };
        let mut run = |accuracy| {
            input.accuracy = accuracy;
            bake(&input, &ask, &mut Workspace::new()).unwrap()
        };
        let (quick, tight) = (run(Accuracy::Quick), run(Accuracy::Tight));
        let gap = |a: &[f64], b: &[f64]| {
            a.iter()
                .zip(b)
                .map(|(a, b)| (a - b).abs())
                .fold(0.0, f64::max)
        };
        let start = input.initial_moisture.0;
        let (q, t) = (&quick.history, &tight.history);
        means.push(gap(&q.mean_moisture, &t.mean_moisture) / start);
        kelvins.push(
            gap(&q.top_k, &t.top_k)
                .max(gap(&q.centre_k, &t.centre_k))
                .max(gap(&q.bottom_k, &t.bottom_k)),
        );
        let ends = quick.stages.iter().zip(&tight.stages);
        surfaces.push(
            ends.map(|(a, b)| {
                (a.top.moisture.0 - b.top.moisture.0)
                    .abs()
                    .max((a.bottom.moisture.0 - b.bottom.moisture.0).abs())
            })
            .fold(0.0, f64::max)
                / start,
        );
    }
    let told = |mut v: Vec<f64>| {
        v.sort_by(f64::total_cmp);
        (v[20], v[38], v[39])
    };
    let (mean, kelvin, surface) = (told(means), told(kelvins), told(surfaces));
    println!("{mean:?} {kelvin:?} {surface:?}");
    assert!(mean.0 < 1e-4 && mean.1 < 3e-4 && mean.2 < 1.2e-3);
    assert!(kelvin.0 < 0.15 && kelvin.1 < 1.2 && kelvin.2 < 1.9);
    assert!(surface.0 < 2e-4 && surface.1 < 3e-3 && surface.2 < 6e-3);
}

#[test]
fn a_smaller_tolerance_is_a_smaller_error_at_fourth_order() {
    let mut input = Benchmark::SteelBand.case().input;
    input.stages.truncate(3);
    let mut exit = |accuracy| {
        input.accuracy = accuracy;
        let result = bake_simple(&input).unwrap();
        (result.stages[2].mean_moisture.0, result.work.steps)
    };
    let (truth, _) = exit(Accuracy::Tolerance(1e-9));
    let (loose, few) = exit(Accuracy::Tolerance(1e-3));
    let (close, many) = exit(Accuracy::Tolerance(1e-6));
    let order =
        ((loose - truth).abs() / (close - truth).abs()).ln() / (many as f64 / few as f64).ln();
    println!(
        "time order {order:.2}: {:.1e} in {few}, {:.1e} in {many}",
        (loose - truth).abs(),
        (close - truth).abs()
    );
    // The best a controller of the embedded third-order method can show is near 4; stiffness takes some.
    assert!(order > 2.8, "{order}");
}

#[test]
fn kill_and_colour_of_the_steel_band() {
    let result = bake_simple(&Benchmark::SteelBand.case().input).unwrap();
    let exit = result.end_of(StageKind::Oven).unwrap();
    let packed = result.end_of(StageKind::Pack).unwrap();
    // Common practice, no source: a long bake browns visibly and kills; the pack adds nothing to either kill.
    assert!(
        exit.colour_delta_e > 2.0 && exit.colour_delta_e < 30.0,
        "{}",
        exit.colour_delta_e
    );
    let cooled = result.end_of(StageKind::Cooling).unwrap();
    assert!(exit.kill.log10 > 0.1, "{:?}", exit.kill);
    assert_eq!(cooled.kill.log10, packed.kill.log10);
    assert!(exit.kill.beyond_tested_range);
    println!("{:?} {} {:?}", exit.kill, exit.colour_delta_e, cooled.kill);
}
