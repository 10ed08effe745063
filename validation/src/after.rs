//! What happens beside and after the oven: layout on the sheet, the pack that takes up water, checking.

use crate::check::{Check, Grounds, Kind, Limit, Part, row};
use baking::after::film::permeance_kg_per_m2_s_pa;
use baking::after::keeping::with_isotherm;
use baking::after::{Climate, Course, Crumb, KeepingInput, checking, course};
use baking::bake::case::Benchmark;
use baking::bake::search::{Cooling, TargetAt, band_time_for_target, stretched};
use baking::bake::{Accuracy, BakeInput, StageKind, Workspace};
use baking::piece::{Arrangement, Outline, on_sheet};
use measure::temperature::kelvin;
use measure::{DryBasis, Range, WetBasis, units::DAY_S};

/// Rows of layout, pack and checking.
#[rustfmt::skip] // a table reads best as a table
pub(crate) fn rows() -> Vec<Check> {
    use Kind::{Comparison, Verification};
    use Limit::{AtMost, Between};
    let verified = |id, requirement, source, metric, run| {
        row(id, Part::After, Verification, requirement, source, metric, run)
    };
    let practice = |id, requirement, metric, run| {
        row(id, Part::After, Comparison, requirement, (Grounds::CommonPractice, "what is known of checking"), metric, run)
    };
    const GEOMETRY: (Grounds, &str) = (Grounds::Computed, "geometry");
    let days = |most| ("difference, days", AtMost(most));
    let index = "checking index over that of case A, both 6 % when cooled";
    vec![
        verified("trim-square", "touching circles on a square grid leave 1 − π/4 = 21.46 % trim", GEOMETRY,
            ("difference of the share", AtMost(1e-6)), || trim(Arrangement::Rectangular) - (1.0 - std::f64::consts::FRAC_PI_4)),
        verified("trim-hexagonal", "staggered they leave 1 − π/(2√3) = 9.31 %", GEOMETRY,
            ("difference of the share", AtMost(1e-4)), || {
                trim(Arrangement::Staggered) - (1.0 - std::f64::consts::PI / 12.0_f64.sqrt())
            }),
        verified("pack-straight", "400 g dry solid in 0.09 m² of film of 0.5 g/(m² d) at 38 °C and 90 %, kept at 25 °C and 65 %: 1357.3 d from 3 to 6 % (straight isotherm)",
            (Grounds::Computed, "worked example with the equation of Heiss 1958 and Labuza, Mizrahi and Karel 1972, closed form"), days(1.0), || {
                days_crisp((0.03, 0.35), |x, _| 0.20 + (x - 0.03) / 0.20) - 1357.3
            }),
        verified("pack-curved", "the same pack with GAB 0.045, 8, 0.9: 1113.7 d from water activity 0.20 to 0.40",
            (Grounds::Computed, "integrated independently as an ordinary differential equation"), days(1.5), || {
                days_crisp((0.034_97, 0.40), gab_activity) - 1113.7
            }),
        practice("checking-evener", "more even moisture checks less: moisture moves four times as easily inside", (index, Between(0.0, 0.999)), || {
            over_case_a(|i| i.closures.liquid.d0_m2_per_s *= 4.0)
        }),
        practice("checking-evener-unevenness", "that piece is indeed the more even one when packed",
            ("centre to surface when packed over case A's", Between(0.0, 0.999)), || {
                let mut evener = steel();
                evener.closures.liquid.d0_m2_per_s *= 4.0;
                unevenness(&to_six_pct(&evener)) / unevenness(&to_six_pct(&steel()))
            }),
        practice("checking-cooler-end", "finished in a last zone 60 K cooler, it checks less", (index, Between(0.0, 0.999)), || {
            over_case_a(|i| cooler(i, 60.0))
        }),
        practice("checking-post-bake", "baked on after the oven for as long as a zone, in air, walls and band of 110 °C, it checks less", (index, Between(0.0, 0.999)), || {
            over_case_a(post_bake)
        }),
        practice("checking-thicker", "30 % thicker, it checks more", (index, Between(1.001, 10.0)), || {
            over_case_a(|i| i.thickness_m *= 1.3)
        }),
    ]
}

fn trim(arrangement: Arrangement) -> f64 {
    let disc = Outline::Round { diameter_m: 0.05 };
    on_sheet(&disc, arrangement, 0.0).trim_share
}

/// Days until the water activity at which it is no longer crisp.
fn days_crisp((start, crisp): (f64, f64), activity: impl Fn(f64, f64) -> f64) -> f64 {
    let pack = KeepingInput {
        area_m2: 0.09,
        permeance_kg_per_m2_s_pa: permeance_kg_per_m2_s_pa(0.5, kelvin(38.0), 0.9),
        dry_kg: 0.4,
        start: DryBasis(start),
        climate: Climate::steady(kelvin(25.0), 0.65),
        duration_s: 2000.0 * DAY_S,
        moments: 41,
        crisp_water_activity: crisp,
    };
    with_isotherm(&pack, activity)
        .crisp_days
        .unwrap_or(f64::NAN)
}

/// Water activity by GAB 0.045, 8, 0.9 at a moisture, by halving.
fn gab_activity(x: f64, _celsius: f64) -> f64 {
    let moisture = |a: f64| {
        let ka = 0.9 * a;
        0.045 * 8.0 * ka / ((1.0 - ka) * (1.0 - ka + 8.0 * ka))
    };
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if moisture(middle) < x {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Case A, quick; its pack is closed for a week.
fn steel() -> BakeInput {
    let mut input = Benchmark::SteelBand.case().input;
    input.accuracy = Accuracy::Quick;
    input
}

/// The same dryness when cooled, so that only how it was reached differs.
fn to_six_pct(input: &BakeInput) -> BakeInput {
    let found = band_time_for_target(
        input,
        WetBasis::from_percent(6.0),
        TargetAt::Cooled,
        Range::new(60.0, 10_800.0),
        None,
        &mut Workspace::new(),
    )
    .expect("the piece bakes");
    stretched(input, found.time_s, Cooling::AsGiven)
}

fn followed(input: &BakeInput) -> Course {
    course(input, &mut Workspace::new()).expect("the piece bakes")
}

fn unevenness(input: &BakeInput) -> f64 {
    let course = followed(input);
    Course::unevenness_points(course.at(course.packed_s))
}

fn over_case_a(change: impl Fn(&mut BakeInput)) -> f64 {
    let index =
        |input: &BakeInput| checking(&followed(&to_six_pct(input)), &Crumb::default()).greatest;
    let mut changed = steel();
    change(&mut changed);
    index(&changed) / index(&steel())
}

fn last_zone(input: &BakeInput) -> usize {
    let last = input.stages.iter().rposition(|s| s.kind == StageKind::Oven);
    last.expect("there is an oven")
}

fn cooler(input: &mut BakeInput, by_k: f64) {
    let last = last_zone(input);
    let zone = &mut input.stages[last];
    for k in [&mut zone.air_k, &mut zone.radiating_k, &mut zone.band_k] {
        *k -= by_k;
    }
}

fn post_bake(input: &mut BakeInput) {
    let last = last_zone(input);
    let mut zone = input.stages[last].clone();
    "post-bake".clone_into(&mut zone.name);
    for k in [&mut zone.air_k, &mut zone.radiating_k, &mut zone.band_k] {
        *k = kelvin(110.0);
    }
    input.stages.insert(last + 1, zone);
}
