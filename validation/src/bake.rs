//! The bake against independent solvers of the same equations, its accounts, its order, and an earlier
//! program's figures.

use crate::check::{Check, Grounds, Kind, Limit, Part, largest, row, worst, worst_relative};
use baking::bake::case::{Benchmark, CaseFile, CaseOutput, output};
use baking::bake::search::spatial_error;
use baking::bake::{
    Accuracy, Ask, AskedTimes, BakeInput, BakeResult, StageKind, TargetAt, Workspace, bake,
    bake_simple, band_time_for_target,
};
use baking::piece::{Docker, Outline, Piece};
use measure::{DryBasis, Range, WetBasis, temperature::celsius};
use serde_json::Value;

const REFERENCE: (Grounds, &str) = (
    Grounds::Computed,
    "SUNDIALS CVODE at 1e-10 on the same cells, about a hundred times",
);
const EARLIER: (Grounds, &str) = (
    Grounds::Computed,
    "an earlier independent program of the same equations, 80 cells",
);
const TRADE: (Grounds, &str) = (Grounds::CommonPractice, "what a dense biscuit does");

/// Rows of the solver and of the bake as a whole.
#[rustfmt::skip] // a table reads best as a table
pub(crate) fn rows() -> Vec<Check> {
    use Kind::{Comparison, Verification};
    use Limit::{AtMost, Between};
    let solver = |id, requirement, source, metric, run| {
        row(
            id,
            Part::Solver,
            Verification,
            requirement,
            source,
            metric,
            run,
        )
    };
    let compared = |id, requirement, source, metric, run| {
        row(id, Part::Bake, Comparison, requirement, source, metric, run)
    };
    let histories = (
        "largest relative difference of moisture, water out and enthalpy",
        AtMost(1e-6),
    );
    let kelvin = (
        "largest difference of top, middle and bottom temperature, K",
        AtMost(0.005),
    );
    let quick = (
        "largest difference of mean moisture over initial moisture",
        AtMost(5e-4),
    );
    let quick_kelvin = (
        "largest difference of temperature after 5 s, K",
        AtMost(0.5),
    );
    let order = (
        "observed order from 20, 40 and 80 cells, less 2",
        AtMost(0.1),
    );
    const EXACT: (Grounds, &str) = (Grounds::Computed, "the balance itself");
    const RADAU: (Grounds, &str) = (
        Grounds::Computed,
        "SciPy Radau at 1e-8 on the same cells, written apart; its BDF is within 3e-9 and 4e-6 K of it",
    );
    const RADAU_RICHARDSON: (Grounds, &str) =
        (Grounds::Computed, "the same solver, Richardson mean of 160 and 320 cells");
    let histories_radau = (
        "largest relative difference of moisture, water out and enthalpy",
        AtMost(1.5e-6),
    );
    const RICHARDSON: (Grounds, &str) =
        (Grounds::Computed, "the same solver, Richardson mean of 160 and 320 cells");
    vec![
        solver("reference-a-histories", "case A (8 mm, steel band, three zones, cooling, pack), tight, is the reference", REFERENCE, histories, || tight("A").0),
        solver("reference-a-temperatures", "case A, tight, temperatures", REFERENCE, kelvin, || tight("A").1),
        solver("reference-c-histories", "case C (5 mm, hot, tight crumb, cooling, pack), tight, is the reference", REFERENCE, histories, || tight("C").0),
        solver("reference-c-temperatures", "case C, tight, temperatures", REFERENCE, kelvin, || tight("C").1),
        solver("reference-a-quick", "case A, quick", REFERENCE, quick, || quickly("A").0),
        solver("reference-a-quick-temperatures", "case A, quick, temperatures", REFERENCE, quick_kelvin, || quickly("A").1),
        solver("reference-c-quick", "case C, quick", REFERENCE, quick, || quickly("C").0),
        solver("reference-c-quick-temperatures", "case C, quick, temperatures", REFERENCE, quick_kelvin, || quickly("C").1),
        solver("reference-dry-a-histories", "case A with the water held at the dry end, tight, is the reference", RADAU, histories_radau, || tight("dry A").0),
        solver("reference-dry-a-temperatures", "the same, temperatures", RADAU, kelvin, || tight("dry A").1),
        solver("reference-dry-b-histories", "12 mm on a half-open mesh, cooler and moister, the water held at the dry end, tight, is the reference", RADAU, histories_radau, || tight("dry B").0),
        solver("reference-dry-b-temperatures", "the same, temperatures", RADAU, kelvin, || tight("dry B").1),
        solver("reference-dry-a-quick", "case A with the water held at the dry end, quick", RADAU, quick, || quickly("dry A").0),
        solver("reference-dry-b-quick", "12 mm on a half-open mesh, quick", RADAU, quick, || quickly("dry B").0),
        solver("grid-error-dry", "32 cells, the default, with the water held at the dry end, 8 and 12 mm", RADAU_RICHARDSON,
            ("relative error of exit moisture", AtMost(0.003)), || largest(["dry A", "dry B"].map(dry_grid_error))),
        solver("account-water", "water closes over oven, cooling and pack, tight and quick, three cases", EXACT,
            ("largest relative gap", AtMost(1e-12)), || accounts(|r| r.account.water_rel_error)),
        solver("account-energy", "energy closes over oven, cooling and pack, tight and quick, three cases", EXACT,
            ("largest relative gap", AtMost(1e-10)), || accounts(|r| r.account.energy_rel_error)),
        solver("grid-order-a", "halving the cells' width quarters the error, case A", RICHARDSON, order, || grid_order("A")),
        solver("grid-order-c", "halving the cells' width quarters the error, case C", RICHARDSON, order, || grid_order("C")),
        solver("grid-error-40", "40 cells, the default, in case A: exit moisture is low by about 0.4 %", RICHARDSON,
            ("relative error of exit moisture", AtMost(0.006)), || grid_error("A", 40)),
        solver("grid-error-80", "80 cells in case A", RICHARDSON,
            ("relative error of exit moisture", AtMost(0.0015)), || grid_error("A", 80)),
        solver("richardson", "20 and 40 cells extrapolated, cases A and C", RICHARDSON,
            ("relative error of exit moisture", AtMost(0.002)), || {
                largest(["A", "C"].map(|n| (4.0 * grid_error(n, 40) - grid_error(n, 20)) / 3.0))
            }),
        solver("spatial-error", "the spatial error the program states is the one there is, case A, 80 cells", RICHARDSON,
            ("stated over true, less 1", AtMost(0.1)), stated_error),
        solver("time-order", "a smaller tolerance is a smaller error, fast", (Grounds::Computed, "the same bake at tolerance 1e-9"),
            ("order of the exit moisture's error in the number of steps, 1e-3 to 1e-6", Between(2.8, 6.0)), time_order),
        solver("threads", "the answer doesn't depend on threads or on what was baked before", EXACT,
            ("largest difference over 12 bakes on 4 threads", AtMost(0.0)), threads),
        solver("asked-times", "the answer doesn't depend on the times asked for", EXACT,
            ("largest difference at the stages' ends, 2 or 2000 times asked for", AtMost(0.0)), asked_times),
        compared("band-time", "8 mm to 8 % at the oven's exit, 80 cells: 1057.3 s", EARLIER,
            ("difference of the time, s", AtMost(1.0)), || (seconds_to_8_pct(|_| {}) - 1057.3).abs()),
        compared("flash", "8.0 % at the oven's exit is 5.85 % cooled, case A", EARLIER,
            ("difference of the cooled moisture, points", AtMost(0.02)), || (wet_pct(&steel(40), StageKind::Cooling) - 5.85).abs()),
        compared("thicker", "10 % thicker bakes 13.7 % longer, 10 % thinner 13.0 % shorter", EARLIER,
            ("difference of the change in time", AtMost(0.001)), || worst([
                (longer(|i| i.thickness_m *= 1.1), 0.137), (longer(|i| i.thickness_m *= 0.9), -0.130)])),
        compared("humid", "twice the humidity bakes 0.76 % longer, half 0.36 % shorter", EARLIER,
            ("difference of the change in time", AtMost(0.001)), || worst([
                (longer(|i| zones(i, |s| s.air_vapour_pa *= 2.0)), 0.0076), (longer(|i| zones(i, |s| s.air_vapour_pa *= 0.5)), -0.0036)])),
        compared("air-heat", "top heat transfer +20 % bakes 3.6 % shorter, −20 % 4.4 % longer", EARLIER,
            ("difference of the change in time", AtMost(0.001)), || worst([
                (longer(|i| zones(i, |s| s.top_w_per_m2_k *= 1.2)), -0.036), (longer(|i| zones(i, |s| s.top_w_per_m2_k *= 0.8)), 0.044)])),
        compared("band-heat", "bottom heat transfer +20 % bakes 4.4 % shorter, −20 % 6.3 % longer", EARLIER,
            ("difference of the change in time", AtMost(0.001)), || worst([
                (longer(|i| zones(i, |s| s.bottom_w_per_m2_k *= 1.2)), -0.044), (longer(|i| zones(i, |s| s.bottom_w_per_m2_k *= 0.8)), 0.063)])),
        compared("hotter", "5 K more: air −1.2 %, radiation −1.1 %, band −2.7 % of the time", EARLIER,
            ("difference of the change in time", AtMost(0.001)), || worst([
                (longer(|i| zones(i, |s| s.air_k += 5.0)), -0.012),
                (longer(|i| zones(i, |s| s.radiating_k += 5.0)), -0.011),
                (longer(|i| zones(i, |s| s.band_k += 5.0)), -0.027)])),
        compared("crust-conductivity", "conductivity of the dry solid −20 % bakes 6.2 % longer", EARLIER,
            ("difference of the change in time", AtMost(0.001)), || (longer(|i| i.closures.conductivity.a[0][0] *= 0.8) - 0.062).abs()),
        compared("liquid-transport", "liquid diffusivity ×2 bakes 3.1 % shorter, ×½ 1.8 % longer", EARLIER,
            ("difference of the change in time", AtMost(0.001)), || worst([
                (longer(|i| i.closures.liquid.d0_m2_per_s *= 2.0), -0.031), (longer(|i| i.closures.liquid.d0_m2_per_s *= 0.5), 0.018)])),
        compared("wetter", "a point more dough water at the same solids bakes 5.0 % longer", EARLIER,
            ("difference of the change in time", AtMost(0.001)), || {
                (longer(|i| i.initial_moisture = WetBasis(i.initial_moisture.to_wet().0 + 0.01).to_dry()) - 0.050).abs()
            }),
        compared("rim", "a 60×30×8 mm bone without holes reaches 8 % in 816.9 s with its rim half exposed, 735.5 s fully (slab 1030.3 s), the water held at the dry end",
            (Grounds::Computed, "the bake of the whole piece, 1 mm columns and 16 cells"),
            ("difference of time over the slab's", AtMost(0.003)), || rim(0, [816.9, 735.5])),
        compared("rim-and-holes", "the same with five docker holes of 2 mm: 781.6 and 701.5 s",
            (Grounds::Computed, "the bake of the whole piece, 1 mm columns and 16 cells"),
            ("difference of time over the slab's", AtMost(0.006)), || rim(5, [781.6, 701.5])),
        compared("plateau", "the centre stays at boiling while the piece dries, case A at 360 to 900 s", TRADE,
            ("centre temperature, furthest from 100 °C, K", AtMost(1.0)), plateau),
        compared("crust", "the top is far hotter than the centre at the exit, case A", TRADE,
            ("top temperature, °C", Between(125.0, 160.0)), || celsius(exit(&steel(40)).top.temperature_k)),
        compared("never-negative", "moisture stays above zero, three cases, whole life, every place", TRADE,
            ("least moisture, kg/kg", Between(0.0, 1.0)), least_moisture),
    ]
}

struct Reference(Value);

fn reference(name: &str) -> Reference {
    let text = match name {
        "A" => include_str!("../../crates/baking/tests/data/bake_reference_a.json"),
        "dry A" => include_str!("../../crates/baking/tests/data/bake_reference_dry_end_a.json"),
        "dry B" => include_str!("../../crates/baking/tests/data/bake_reference_dry_end_b.json"),
        _ => include_str!("../../crates/baking/tests/data/bake_reference_c.json"),
    };
    Reference(serde_json::from_str(text).expect("the carried-in references are JSON"))
}

impl Reference {
    fn column(&self, key: &str) -> Vec<f64> {
        serde_json::from_value(self.0["cells_40"][key].clone()).expect("a column of numbers")
    }

    fn run(&self, accuracy: Accuracy, cells: usize) -> CaseOutput {
        let mut file: CaseFile =
            serde_json::from_value(self.0["case"].clone()).expect("the reference has a case");
        file.output_times = Some(self.column("t"));
        let mut case = file.read().expect("the case is within every range");
        case.input.accuracy = accuracy;
        case.input.cells = cells;
        output(&bake(&case.input, &case.ask, &mut Workspace::new()).expect("the case bakes"))
    }
}

fn pairs(found: Vec<f64>, wanted: Vec<f64>) -> impl Iterator<Item = (f64, f64)> {
    assert_eq!(found.len(), wanted.len());
    found.into_iter().zip(wanted)
}

fn kelvins(r: &Reference, got: CaseOutput, from_s: f64) -> f64 {
    let skip = r.column("t").iter().filter(|t| **t < from_s).count();
    largest(
        [
            (got.T_top_C, "T_top_C"),
            (got.T_mid_C, "T_mid_C"),
            (got.T_bottom_C, "T_bottom_C"),
        ]
        .map(|(found, key)| worst(pairs(found, r.column(key)).skip(skip))),
    )
}

/// Largest relative difference of the histories, and of the temperatures in K.
fn tight(name: &str) -> (f64, f64) {
    let r = reference(name);
    let got = r.run(Accuracy::Tight, 40);
    let moisture = [
        (got.X_mean.clone(), "X_mean"),
        (got.X_top.clone(), "X_top"),
        (got.X_mid.clone(), "X_mid"),
        (got.X_bottom.clone(), "X_bottom"),
    ]
    .map(|(found, key)| worst_relative(pairs(found, r.column(key))));
    // The totals pass through zero: relative to their largest value.
    let totals = [
        (got.water_out_kg_m2.clone(), "water_out_kg_m2"),
        (got.enthalpy_in_net_J_m2.clone(), "enthalpy_in_net_J_m2"),
    ]
    .map(|(found, key)| worst(pairs(found, r.column(key))) / largest(r.column(key)));
    let histories = largest(moisture.into_iter().chain(totals));
    (histories, kelvins(&r, got, 0.0))
}

fn quickly(name: &str) -> (f64, f64) {
    let r = reference(name);
    let got = r.run(Accuracy::Quick, 40);
    let wanted = r.column("X_mean");
    let initial = wanted[0];
    let moisture = worst(pairs(got.X_mean.clone(), wanted)) / initial;
    (moisture, kelvins(&r, got, 5.0))
}

/// Relative error of the exit moisture against cells of no width.
fn grid_error(name: &str, cells: usize) -> f64 {
    let r = reference(name);
    let truth: Vec<f64> = serde_json::from_value(r.0["X_mean_richardson_160_320"].clone())
        .expect("a column of numbers");
    let exit = r.0["t_exit"].as_f64().expect("the exit's time");
    let at = r
        .column("t")
        .iter()
        .position(|t| *t == exit)
        .expect("the exit is among the times");
    r.run(Accuracy::Tight, cells).X_mean[at] / truth[at] - 1.0
}

/// Relative error of the exit moisture on 32 cells against cells of no width.
fn dry_grid_error(name: &str) -> f64 {
    let r = reference(name);
    let number = |key: &str| r.0[key].as_f64().expect("a number of the reference");
    let (truth, exit) = (number("exit_X_mean_richardson_160_320"), number("t_exit"));
    let at = r
        .column("t")
        .iter()
        .position(|t| *t == exit)
        .expect("the exit is among the times");
    r.run(Accuracy::Tight, 32).X_mean[at] / truth - 1.0
}

fn grid_order(name: &str) -> f64 {
    let [a, b, c] = [20, 40, 80].map(|cells| grid_error(name, cells));
    largest([(a / b).log2() - 2.0, (b / c).log2() - 2.0])
}

fn stated_error() -> f64 {
    let mut input = steel(80);
    input.accuracy = Accuracy::Tight;
    let stated =
        spatial_error(&input, TargetAt::OvenExit, &mut Workspace::new()).expect("case A bakes");
    let truth = 0.087_429_275_8;
    stated.error / (stated.fine - truth) - 1.0
}

fn steel(cells: usize) -> BakeInput {
    let mut input = Benchmark::SteelBand.case().input;
    input.accuracy = Accuracy::Quick;
    input.cells = cells;
    input
}

fn accounts(of: fn(&BakeResult) -> f64) -> f64 {
    largest(Benchmark::ALL.into_iter().flat_map(|b| {
        [Accuracy::Quick, Accuracy::Tight].map(|accuracy| {
            let mut input = b.case().input;
            input.accuracy = accuracy;
            of(&bake_simple(&input).expect("the benchmark bakes"))
        })
    }))
}

fn time_order() -> f64 {
    let mut input = steel(40);
    input.stages.truncate(3);
    let mut exit = |tolerance| {
        input.accuracy = Accuracy::Tolerance(tolerance);
        let r = bake_simple(&input).expect("case A bakes");
        (r.stages[2].mean_moisture.0, r.work.steps as f64)
    };
    let (truth, _) = exit(1e-9);
    let ((loose, few), (close, many)) = (exit(1e-3), exit(1e-6));
    ((loose - truth) / (close - truth)).abs().ln() / (many / few).ln()
}

fn threads() -> f64 {
    let inputs: Vec<BakeInput> = (0..12)
        .map(|i| {
            let mut input = Benchmark::ALL[i % 3].case().input;
            input.accuracy = Accuracy::Quick;
            input.initial_moisture = DryBasis(0.3 + 0.01 * i as f64);
            input
        })
        .collect();
    let end = |r: BakeResult| {
        let last = r.stages.last().expect("there are stages");
        (last.mean_moisture.0, last.top.temperature_k)
    };
    let alone = inputs.iter().map(|i| end(bake_simple(i).expect("bakes")));
    let together: Vec<(f64, f64)> = std::thread::scope(|scope| {
        let quarters: Vec<_> = inputs
            .chunks(3)
            .map(|chunk| {
                scope.spawn(move || {
                    let w = &mut Workspace::new();
                    // Backwards, so that the workspace has seen something else before.
                    let mut ends: Vec<(f64, f64)> = chunk
                        .iter()
                        .rev()
                        .map(|i| end(bake(i, &Ask::default(), w).expect("bakes")))
                        .collect();
                    ends.reverse();
                    ends
                })
            })
            .collect();
        quarters
            .into_iter()
            .flat_map(|q| q.join().expect("no bake panics"))
            .collect()
    });
    largest(
        alone
            .zip(together)
            .flat_map(|(a, b)| [a.0 - b.0, a.1 - b.1]),
    )
}

fn asked_times() -> f64 {
    let run = |times: Vec<f64>| {
        let ask = Ask {
            history: AskedTimes::At(times),
            ..Ask::default()
        };
        bake(&steel(40), &ask, &mut Workspace::new())
            .expect("case A bakes")
            .stages
    };
    let (few, many) = (
        run(vec![0.0, 500.0]),
        run((0..2000).map(|i| 0.7 * f64::from(i)).collect()),
    );
    largest(few.iter().zip(&many).flat_map(|(a, b)| {
        [
            a.mean_moisture.0 - b.mean_moisture.0,
            a.top.temperature_k - b.top.temperature_k,
            a.kill.log10 - b.kill.log10,
            a.colour_delta_e - b.colour_delta_e,
        ]
    }))
}

fn zones(input: &mut BakeInput, mut change: impl FnMut(&mut baking::bake::Stage)) {
    input.stages.iter_mut().take(3).for_each(&mut change);
}

/// Time to 8 % at the oven's exit when the last zone is as long as it takes, 80 cells, s.
fn seconds_to_8_pct(change: impl Fn(&mut BakeInput)) -> f64 {
    let mut input = steel(80);
    input.accuracy = Accuracy::Tolerance(1e-4);
    change(&mut input);
    input.stages.truncate(3);
    input.stages[2].duration_s = 1000.0;
    let ask = Ask {
        history: AskedTimes::At((600..=1600).map(f64::from).collect()),
        ..Ask::default()
    };
    let h = bake(&input, &ask, &mut Workspace::new())
        .expect("case A bakes")
        .history;
    let target = WetBasis(0.08).to_dry().0;
    let after = h.mean_moisture.iter().position(|x| *x < target);
    after.filter(|i| *i > 0).map_or(f64::NAN, |i| {
        let (a, b) = (h.mean_moisture[i - 1], h.mean_moisture[i]);
        h.time_s[i - 1] + (a - target) / (a - b)
    })
}

fn longer(change: impl Fn(&mut BakeInput)) -> f64 {
    seconds_to_8_pct(change) / seconds_to_8_pct(|_| {}) - 1.0
}

fn exit(input: &BakeInput) -> baking::bake::StageEnd {
    let result = bake_simple(input).expect("the piece bakes");
    result
        .end_of(StageKind::Oven)
        .expect("there is an oven")
        .clone()
}

fn wet_pct(input: &BakeInput, at: StageKind) -> f64 {
    let result = bake_simple(input).expect("the piece bakes");
    result
        .end_of(at)
        .map_or(f64::NAN, |e| e.mean_moisture.to_wet().percent())
}

/// Times of the bone over that of the slab, less those of the whole piece, with its rim half and fully exposed.
fn rim(holes: u32, solid_s: [f64; 2]) -> f64 {
    let file: CaseFile = serde_json::from_value(reference("dry A").0["case"].clone())
        .expect("the reference has a case");
    let mut input = file.read().expect("the case is within every range").input;
    input.accuracy = Accuracy::Quick;
    input.cells = 16;
    let seconds = |edge| {
        let input = BakeInput {
            edge,
            ..input.clone()
        };
        let (at, w) = (TargetAt::OvenExit, &mut Workspace::new());
        let allowed = Range::new(60.0, 7200.0);
        band_time_for_target(&input, WetBasis(0.08), at, allowed, None, w)
            .expect("the bone bakes")
            .time_s
    };
    let bone = Piece {
        outline: Outline::Bone {
            length_m: 0.060,
            width_m: 0.030,
            neck_m: 0.012,
            lobe_radius_m: 0.0108,
        },
        thickness_m: 0.008,
        docker: (holes > 0).then_some(Docker {
            count: holes,
            diameter_m: 0.002,
        }),
    };
    let slab = seconds(None);
    worst(
        [0.5, 1.0]
            .into_iter()
            .zip(solid_s)
            .map(|(exposure, solid)| (seconds(Some(bone.edge(exposure))) / slab, solid / 1030.3)),
    )
}

fn plateau() -> f64 {
    let ask = Ask {
        history: AskedTimes::At((0..=54).map(|i| 360.0 + 10.0 * f64::from(i)).collect()),
        ..Ask::default()
    };
    let h = bake(&steel(40), &ask, &mut Workspace::new())
        .expect("case A bakes")
        .history;
    worst(h.centre_k.into_iter().map(|k| (celsius(k), 100.0)))
}

fn least_moisture() -> f64 {
    let least = |b: Benchmark| {
        let input = b.case().input;
        let total: f64 = input.stages.iter().map(|s| s.duration_s).sum();
        let ask = Ask {
            profile_times_s: (1..=60).map(|i| total.powf(f64::from(i) / 60.0)).collect(),
            ..Ask::default()
        };
        let r = bake(&input, &ask, &mut Workspace::new()).expect("the benchmark bakes");
        let nodes = r.profiles.into_iter().flat_map(|p| p.moisture);
        nodes.fold(f64::INFINITY, f64::min)
    };
    Benchmark::ALL
        .into_iter()
        .map(least)
        .fold(f64::INFINITY, f64::min)
}
