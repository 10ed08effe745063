//! After the oven: worked examples from print, and laws that cooling, evening-out, checking and keeping follow.

#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use baking::Code;
use baking::after::checking::plate_stress_mpa;
use baking::after::film::{permeance_kg_per_m2_s_pa, tropical_permeance_kg_per_m2_s_pa};
use baking::after::growth::Preserved;
use baking::after::keeping::with_isotherm;
use baking::after::{
    Bending, Change, Climate, Course, Crumb, Film, GROWTH_LIMITS, Growth, KeepingInput, changes,
    checking, course, keeping,
};
use baking::bake::case::Benchmark;
use baking::bake::search::{Cooling, TargetAt, band_time_for_target, stretched};
use baking::bake::{Accuracy, BakeInput, Edge, HoleWalls, Isotherm, StageKind, Workspace};
use measure::{DryBasis, Range, WetBasis, units::DAY_S};
use proptest::prelude::*;

/// The steel-band case, quick, with a week in the pack.
fn steel() -> BakeInput {
    let mut input = Benchmark::SteelBand.case().input;
    input.accuracy = Accuracy::Quick;
    let mut pack = input.stages.last().unwrap().clone();
    pack.kind = StageKind::Pack;
    pack.duration_s = 7.0 * DAY_S;
    pack.vapour_exchange = 0.0;
    input.stages.retain(|s| s.kind != StageKind::Pack);
    input.stages.push(pack);
    input
}

/// The same dryness when cooled for every variant, so that only how it was reached differs.
fn to_dryness(input: &BakeInput, pct: f64) -> BakeInput {
    let w = &mut Workspace::new();
    let target = WetBasis::from_percent(pct);
    let range = Range::new(60.0, 10_800.0);
    let found = band_time_for_target(input, target, TargetAt::Cooled, range, None, w).unwrap();
    stretched(input, found.time_s, Cooling::AsGiven)
}

fn index(input: &BakeInput) -> f64 {
    checking(
        &course(input, &mut Workspace::new()).unwrap(),
        &Crumb::default(),
    )
    .greatest
}

/// GAB isotherm and its inverse by halving.
fn gab(m0: f64, c: f64, k: f64) -> impl Fn(f64, f64) -> f64 {
    let moisture = move |a: f64| m0 * c * k * a / ((1.0 - k * a) * (1.0 - k * a + c * k * a));
    move |x, _| {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if moisture(middle) < x {
                low = middle
            } else {
                high = middle
            }
        }
        0.5 * (low + high)
    }
}

/// The pack of the worked example after Heiss and Labuza: 400 g dry solid, 0.09 m², 0.5 g/(m² d) at 38 °C and 90 %,
/// kept at 25 °C and 65 %.
fn pack(start: f64, crisp: f64) -> KeepingInput {
    KeepingInput {
        area_m2: 0.09,
        permeance_kg_per_m2_s_pa: permeance_kg_per_m2_s_pa(0.5, 311.15, 0.9),
        dry_kg: 0.4,
        start: DryBasis(start),
        climate: Climate::steady(298.15, 0.65),
        duration_s: 2000.0 * DAY_S,
        moments: 41,
        crisp_water_activity: crisp,
    }
}

#[test]
fn worked_example_with_a_straight_isotherm() {
    // Computed: 1357.3 d from 3 % to 6 % (water activity 0.35).
    let straight = |x: f64, _: f64| 0.20 + (x - 0.03) / 0.20;
    let k = with_isotherm(&pack(0.03, 0.35), straight);
    let days = k.crisp_days.unwrap();
    assert!((days - 1357.3).abs() < 1.0, "{days}");
    // The closed form is exact for a straight isotherm: the integration must meet it.
    assert!(
        (days / k.crisp_days_closed_form.unwrap() - 1.0).abs() < 1e-6,
        "{k:?}"
    );
}

#[test]
fn worked_example_with_a_curved_isotherm() {
    // Computed by another solver: GAB 0.045, 8, 0.9, water activity 0.20 to 0.40 takes 1113.7 d.
    let isotherm = gab(0.045, 8.0, 0.9);
    let k = with_isotherm(&pack(0.03497, 0.40), isotherm);
    let days = k.crisp_days.unwrap();
    assert!((days - 1113.7).abs() < 1.5, "{days}");
}

#[test]
fn a_warm_season_hastens_and_a_dry_store_never_gets_there() {
    let isotherm = Isotherm::oswin(2.28, 0.38, 0.0056);
    let mut input = pack(0.04, 0.45);
    let steady = keeping(&input, &isotherm).unwrap().crisp_days.unwrap();
    input.climate = Climate::months(&[(298.15, 0.65), (308.15, 0.65)]);
    let seasonal = keeping(&input, &isotherm).unwrap().crisp_days.unwrap();
    assert!(seasonal < steady, "{seasonal} {steady}");
    input.climate = Climate::steady(298.15, 0.30);
    let dry = keeping(&input, &isotherm).unwrap();
    assert_eq!((dry.crisp_days, dry.crisp_days_closed_form), (None, None));
    assert_eq!(dry.days.len(), 41);
    assert!((dry.days[40] - 2000.0).abs() < 1e-6);
    // A leaky film ends in balance with the store.
    input.permeance_kg_per_m2_s_pa = tropical_permeance_kg_per_m2_s_pa(300.0);
    let leaky = keeping(&input, &isotherm).unwrap();
    assert!((leaky.water_activity[40] - 0.30).abs() < 1e-4, "{leaky:?}");
}

#[test]
fn films_and_limits_are_ordered_and_missing_data_is_told() {
    for film in Film::ALL {
        assert!(
            film.g_per_m2_d
                .is_none_or(|(low, high)| low > 0.0 && low <= high),
            "{}",
            film.key
        );
        assert_eq!(Film::find(film.key).unwrap().name, film.name);
    }
    let told = Film::find("paper")
        .unwrap()
        .transmission_g_per_m2_d()
        .unwrap_err()
        .to_string();
    assert!(
        told.contains("uncoated kraft paper") && told.contains("ask its maker"),
        "{told}"
    );
    assert!(
        Film::find("opq")
            .unwrap_err()
            .to_string()
            .contains("known are ldpe, hdpe")
    );
    for pair in GROWTH_LIMITS.windows(2) {
        assert!(pair[0].water_activity.1 >= pair[1].water_activity.1);
        assert!(pair[1].water_activity.0 <= pair[1].water_activity.1);
    }
    // g mil/(100 in² d) as printed, times 15.5 for a square metre and 25.4/25 for 25 µm.
    let opp = Film::find("opp").unwrap().g_per_m2_d.unwrap();
    assert!(
        (opp.0 / (0.2 * 15.5 * 1.016) - 1.0).abs() < 0.02
            && (opp.1 / (0.5 * 15.5 * 1.016) - 1.0).abs() < 0.02
    );
}

#[test]
fn evening_out_loses_no_water_and_ends_even() {
    let input = steel();
    let course = course(&input, &mut Workspace::new()).unwrap();
    let mean =
        |x: &[f64]| (x.iter().sum::<f64>() - 0.5 * (x[0] + x[x.len() - 1])) / (x.len() - 1) as f64;
    let packed = course.at(course.packed_s);
    let end = course.profiles.last().unwrap();
    assert!((mean(&packed.moisture) - mean(&end.moisture)).abs() < 1e-9);
    assert!(Course::unevenness_points(end) < 0.1 * Course::unevenness_points(packed));
    let half = course.evened_s(0.5).unwrap();
    assert!(half > 0.0 && half < 7.0 * DAY_S, "{half}");
    assert!(
        course
            .findings()
            .iter()
            .any(|f| f.code == Code::EveningOutMayBeSlower)
    );
}

#[test]
fn practice_that_is_known_to_help_lowers_the_index() {
    let base = to_dryness(&steel(), 6.0);
    let as_is = index(&base);
    assert!(as_is > 0.0);
    let mut thick = steel();
    thick.thickness_m *= 1.3;
    let thick = index(&to_dryness(&thick, 6.0));
    assert!(thick > as_is, "thicker {thick} {as_is}");
    let mut gentle = steel();
    let last = gentle
        .stages
        .iter()
        .rposition(|s| s.kind == StageKind::Oven)
        .unwrap();
    let zone = &mut gentle.stages[last];
    for k in [&mut zone.air_k, &mut zone.radiating_k, &mut zone.band_k] {
        *k -= 60.0;
    }
    let gentle = index(&to_dryness(&gentle, 6.0));
    assert!(gentle < as_is, "cooler last zone {gentle} {as_is}");
    // A cold draught on the cooling band raises it (the trade's books, as cited); docker holes count, either way.
    let mut draught = steel();
    for stage in draught
        .stages
        .iter_mut()
        .filter(|s| s.kind == StageKind::Cooling)
    {
        stage.top_w_per_m2_k *= 4.0;
        stage.bottom_w_per_m2_k *= 4.0;
    }
    let draught = index(&to_dryness(&draught, 6.0));
    let with = |holes| {
        let mut input = steel();
        input.edge = Some(Edge {
            holes,
            ..Edge::of(139.0, 0.5)
        });
        index(&to_dryness(&input, 6.0))
    };
    let (bare, docked) = (with(None), with(Some(HoleWalls::of(9, 0.002, 1.1e-3, 1.0))));
    println!("{as_is} {gentle} {draught} {bare} {docked}");
    assert!(draught > as_is, "draught {draught} {as_is}");
    assert!(
        (docked / bare - 1.0).abs() > 0.01,
        "docker holes {docked} {bare}"
    );
}

/// Fat: most at about 15 per 100 flour, less above and below (Manley, as cited); moist crumb gives way.
#[test]
fn fat_acts_both_ways_and_moist_crumb_gives_way() {
    let course = course(&to_dryness(&steel(), 6.0), &mut Workspace::new()).unwrap();
    let at = |fat| {
        let crumb = Crumb {
            fat_per_100_flour: fat,
            ..Crumb::default()
        };
        checking(&course, &crumb).greatest
    };
    assert!(at(Some(5.0)) < at(Some(15.0)) && at(Some(30.0)) < at(Some(15.0)));
    assert_eq!(at(None), at(Some(15.0)));
    let rigid = Course {
        isotherm: None,
        ..course.clone()
    };
    assert!(checking(&rigid, &Crumb::default()).greatest > at(None));
}

/// A treat packed at a water activity of 0.93 got no finding.
#[test]
fn a_wet_place_lasts_for_days_and_is_told() {
    let course = course(&to_dryness(&steel(), 8.0), &mut Workspace::new()).unwrap();
    let isotherm = course.isotherm.clone().unwrap();
    let wettest = Course::wettest_activity(course.at(course.packed_s), &isotherm);
    let (soon, later) = (course.wet_days(wettest - 0.01), course.wet_days(0.65));
    println!("{wettest} {soon:?} {later:?}");
    assert!(wettest > 0.6 && soon.unwrap() < later.unwrap_or(f64::INFINITY));
    let even = course
        .bake
        .end_of(StageKind::Pack)
        .unwrap()
        .evened_water_activity;
    let growth = Growth {
        end: None,
        packed: even,
        wettest,
        upper: false,
        wet_days: later,
        store_c: 22.0,
        preserved: Preserved::None,
    };
    assert!(
        growth
            .findings()
            .iter()
            .any(|f| f.code == Code::WetPlaceInThePack)
    );
}

#[test]
fn every_change_is_baked_to_the_same_dryness() {
    let base = to_dryness(&steel(), 6.0);
    let told = changes(&base, &Crumb::default(), 1.3e-3, &mut Workspace::new()).unwrap();
    assert_eq!(told.len(), Change::ALL.len());
    for c in &told {
        assert!(c.met && c.index.is_finite() && c.index >= 0.0, "{c:?}");
    }
    let of = |change| told.iter().find(|c| c.change == change).unwrap().relative;
    assert!(of(Change::Thinner) < 0.0);
    assert!(of(Change::CoolerLastZone) < 0.0);
}

#[test]
fn relaxation_and_bowing_only_take_stress_away() {
    let course = course(&to_dryness(&steel(), 6.0), &mut Workspace::new()).unwrap();
    let of = |crumb: &Crumb| checking(&course, crumb).greatest;
    let elastic = of(&Crumb::default());
    let slow = of(&Crumb {
        relaxation_s: Some(30.0 * DAY_S),
        ..Crumb::default()
    });
    let quick = of(&Crumb {
        relaxation_s: Some(3600.0),
        ..Crumb::default()
    });
    assert!(quick < slow && slow < elastic, "{quick} {slow} {elastic}");
    // A Maxwell time beyond all ages is elastic.
    let never = of(&Crumb {
        relaxation_s: Some(1e9),
        ..Crumb::default()
    });
    assert!((never / elastic - 1.0).abs() < 1e-2);
    let weak_when_wet = Crumb {
        strength_per_point: -0.1,
        strength_at_pct: 0.0,
        ..Crumb::default()
    };
    assert!(of(&weak_when_wet) > elastic);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    /// Stress is in balance with itself, proportional to the unevenness, and nothing for an even change; a plate that
    /// may bow bears no moment either.
    #[test]
    fn stress_is_in_balance(change in prop::collection::vec(-3.0..3.0_f64, 3..80), factor in 0.1..0.9_f64) {
        for bending in [Bending::HeldFlat, Bending::Free] {
            let crumb = Crumb { bending, ..Crumb::default() };
            let stress = plate_stress_mpa(&change, &crumb);
            let n = stress.len();
            let weight = |i: usize| if i == 0 || i + 1 == n { 0.5 } else { 1.0 };
            let force: f64 = stress.iter().enumerate().map(|(i, s)| weight(i) * s).sum();
            prop_assert!(force.abs() < 1e-10);
            if bending == Bending::Free {
                let moment: f64 = stress.iter().enumerate().map(|(i, s)| weight(i) * s * i as f64).sum();
                prop_assert!(moment.abs() < 1e-8);
            }
            let evener: Vec<f64> = change.iter().map(|m| factor * m + 0.7).collect();
            let top = |s: &[f64]| s.iter().copied().fold(0.0, f64::max);
            let less = top(&plate_stress_mpa(&evener, &crumb));
            prop_assert!((less - factor * top(&stress)).abs() < 1e-10);
        }
    }

    /// A better film, less area or more biscuit in the pack never shortens the keeping; moisture stays between
    /// start and balance.
    #[test]
    fn keeping_is_ordered(
        transmission in 0.1..40.0_f64,
        start in 0.02..0.06_f64,
        celsius in 5.0..38.0_f64,
        humidity in 0.5..0.85_f64,
        better in 0.2..0.95_f64,
    ) {
        let isotherm = Isotherm::oswin(2.28, 0.38, 0.0056);
        let mut input = pack(start, 0.45);
        input.permeance_kg_per_m2_s_pa = tropical_permeance_kg_per_m2_s_pa(transmission);
        input.climate = Climate::steady(celsius + 273.15, humidity);
        let a = keeping(&input, &isotherm).unwrap();
        input.permeance_kg_per_m2_s_pa *= better;
        let b = keeping(&input, &isotherm).unwrap();
        let days = |d: Option<f64>| d.unwrap_or(f64::INFINITY);
        prop_assert!(days(b.crisp_days) >= days(a.crisp_days));
        prop_assert!(days(b.mould_days) >= days(b.crisp_days));
        let end = isotherm.moisture(humidity, celsius);
        for x in &a.moisture {
            prop_assert!(*x >= start.min(end) - 1e-7 && *x <= start.max(end) + 1e-7, "{x} {start} {end}");
        }
    }
}
