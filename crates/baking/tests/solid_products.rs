//! The solid bake where it has a closed solution: a block and a short cylinder that warm or dry are products of
//! the plate's and the long cylinder's series (Carslaw and Jaeger, *Conduction of Heat in Solids*; Crank, *The
//! Mathematics of Diffusion*). The series are summed here.
#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use baking::bake::solid::{SolidAsk, SolidGrid, SolidPiece, SolidResult, solid_bake};
use baking::bake::surface::mass_transfer_per_film_kelvin;
use baking::bake::{
    Accuracy, BakeInput, Closures, Conductivity, Edge, Isotherm, LatentHeat, LiquidDiffusivity,
    SaturationPressure, Stage, StageKind, VapourTransport,
};
use baking::piece::{DockerPattern, Outline, Piece, dock};
use measure::DryBasis;
use measure::temperature::kelvin;
use std::f64::consts::PI;

/// Roots of f between its poles, by halving.
fn root(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if (f(middle) > 0.0) == (f(high) > 0.0) {
            high = middle;
        } else {
            low = middle;
        }
    }
    0.5 * (low + high)
}

const TERMS: usize = 120;

/// Plate of half thickness 1, insulated in the middle: at the place 0 to 1, and on average.
fn plate(biot: f64, fourier: f64, place: f64) -> (f64, f64) {
    let (mut at, mut mean) = (0.0, 0.0);
    for n in 0..TERMS {
        let low = n as f64 * PI;
        let z = root(
            |z| z * z.sin() - biot * z.cos(),
            low + 1e-12,
            low + 0.5 * PI,
        );
        let c = 4.0 * z.sin() / (2.0 * z + (2.0 * z).sin()) * (-z * z * fourier).exp();
        at += c * (z * place).cos();
        mean += c * z.sin() / z;
    }
    (at, mean)
}

/// Bessel functions J0 and J1 by their integral; the trapezoid rule is exact to the last digits on a period.
fn bessel(x: f64) -> (f64, f64) {
    let n = 400;
    let (mut j0, mut j1) = (0.0, 0.0);
    for i in 0..n {
        let t = PI * (f64::from(i) + 0.5) / f64::from(n);
        j0 += (x * t.sin()).cos();
        j1 += (t - x * t.sin()).cos();
    }
    (j0 / f64::from(n), j1 / f64::from(n))
}

/// Long cylinder of radius 1: on the axis, and on average.
fn cylinder(biot: f64, fourier: f64) -> (f64, f64) {
    let (mut at, mut mean) = (0.0, 0.0);
    for n in 0..60 {
        // The roots lie between those of J1 and of J0, each half a turn apart.
        let low = if n == 0 { 1e-9 } else { zero_of_j1(n) };
        let f = |z: f64| {
            let (j0, j1) = bessel(z);
            z * j1 - biot * j0
        };
        let z = root(f, low, zero_of_j0(n));
        let (j0, j1) = bessel(z);
        let decay = (-z * z * fourier).exp();
        at += 2.0 * j1 / (z * (j0 * j0 + j1 * j1)) * decay;
        mean += 4.0 * biot * biot / (z * z * (z * z + biot * biot)) * decay;
    }
    (at, mean)
}

fn zero_of_j0(n: usize) -> f64 {
    let guess = PI * (n as f64 + 0.75);
    root(|z| bessel(z).0, guess - 0.6, guess + 0.6)
}

fn zero_of_j1(n: usize) -> f64 {
    let guess = PI * (n as f64 + 0.25);
    root(|z| bessel(z).1, guess - 0.6, guess + 0.6)
}

const CONDUCTIVITY: f64 = 0.3;
const DIFFUSIVITY: f64 = 1.2e-7;

/// A dry solid, k 0.3, ρ 1000, c 2500 (α 1.2e-7 m²/s), insulated below, with the same law on top and at the wall.
fn dry(thickness_m: f64, durations_s: &[f64]) -> BakeInput {
    let stage = |duration_s: &f64| Stage {
        name: "air".into(),
        kind: StageKind::Oven,
        duration_s: *duration_s,
        air_k: kelvin(20.0),
        radiating_k: kelvin(20.0),
        band_k: kelvin(20.0),
        air_vapour_pa: 0.0,
        top_w_per_m2_k: 0.0,
        bottom_w_per_m2_k: 0.0,
        band_open: 0.0,
        vapour_exchange: 0.0,
    };
    BakeInput {
        thickness_m,
        initial_moisture: DryBasis(0.0),
        initial_temperature_k: kelvin(100.0),
        dry_solid_kg_per_m3: 1000.0,
        closures: Closures {
            solid_heat_capacity_j_per_kg_k: 2500.0,
            water_heat_capacity_j_per_kg_k: 4186.0,
            conductivity: Conductivity::linear(CONDUCTIVITY, 0.0),
            saturation: SaturationPressure::HYLAND_WEXLER,
            latent_heat: LatentHeat::IAPWS_FIT,
            isotherm: Isotherm::oswin(2.28, 0.38, 0.0056),
            liquid: LiquidDiffusivity {
                d0_m2_per_s: 0.0,
                activation_j_per_mol: 0.0,
                reference_k: 298.15,
                moisture_exponent: 0.0,
                dry_end: None,
            },
            vapour: VapourTransport {
                porosity_over_tortuosity: 0.0,
                permeability_m2: 0.0,
                knudsen_m2_per_s: 0.0,
                smoothing: 0.01,
            },
            emissivity: 0.0,
            plain_dough: false,
        },
        edge: Some(Edge::of(100.0, 1.0)),
        stages: durations_s.iter().map(stage).collect(),
        cells: 24,
        accuracy: Accuracy::Tolerance(3e-5),
    }
}

/// The same, drying by diffusion alone at 25 °C: no heat of evaporation, vapour pressure as good as proportional
/// to moisture; `h_m_per_s` is Crank's surface coefficient.
fn moist(thickness_m: f64, durations_s: &[f64], h_m_per_s: f64) -> BakeInput {
    let ratio = 1e-4;
    let mut input = dry(thickness_m, durations_s);
    let t = kelvin(25.0);
    input.initial_moisture = DryBasis(0.1);
    input.initial_temperature_k = t;
    let c = &mut input.closures;
    c.latent_heat = LatentHeat { l: [0.0; 3] };
    c.isotherm = Isotherm::oswin((100.0_f64 / ratio).ln(), 1.0, 0.0);
    c.liquid.d0_m2_per_s = DIFFUSIVITY;
    let per_h = mass_transfer_per_film_kelvin(1.0) * 0.018_015_28 / 8.314_462_618
        * ratio
        * c.saturation.pascal(t);
    for s in &mut input.stages {
        (s.air_k, s.band_k, s.radiating_k) = (t, t, t);
        s.top_w_per_m2_k = 1000.0 * h_m_per_s / per_h;
        s.vapour_exchange = 1.0;
    }
    input
}

fn bake(input: &BakeInput, outline: &Outline, grid: &SolidGrid) -> SolidResult {
    let piece = Piece {
        outline: outline.clone(),
        thickness_m: input.thickness_m,
        docker: None,
    };
    let docked = dock(&piece, &DockerPattern::default()).unwrap();
    let solid = SolidPiece {
        piece: &piece,
        docked: &docked,
    };
    solid_bake(input, solid, grid, &SolidAsk::default(), &mut |_| true).unwrap()
}

const TIMES_S: [f64; 3] = [60.0, 120.0, 240.0];

fn durations() -> Vec<f64> {
    let before = [0.0].iter().chain(&TIMES_S);
    TIMES_S.iter().zip(before).map(|(t, b)| t - b).collect()
}

/// Largest difference of the mean and of the centre from the product, over the times.
fn differences(
    result: &SolidResult,
    told: impl Fn(usize) -> (f64, f64),
    product: impl Fn(f64) -> (f64, f64),
) -> (f64, f64) {
    let mut worst = (0.0_f64, 0.0_f64);
    for (i, t) in TIMES_S.iter().enumerate() {
        let ((mean, centre), (wanted_mean, wanted_centre)) = (told(i), product(*t));
        worst = (
            worst.0.max((mean - wanted_mean).abs()),
            worst.1.max((centre - wanted_centre).abs()),
        );
    }
    assert!(result.account.water_rel_error < 1e-12 && result.account.energy_rel_error < 1e-12);
    worst
}

/// Share of the heat that is left on average, and of the temperature in the centre.
fn heat_left(result: &SolidResult, input: &BakeInput, i: usize) -> (f64, f64) {
    let all = result.grid.volume_m3 * 1000.0 * 2500.0 * 80.0;
    let at = result.stages[i].time_s;
    let row = result
        .history
        .time_s
        .iter()
        .position(|t| *t >= at - 1e-9)
        .unwrap();
    let centre = (result.stages[i].centre.temperature_k - input.stages[0].air_k) / 80.0;
    (1.0 + result.history.enthalpy_in_j[row] / all, centre)
}

fn water_left(result: &SolidResult, i: usize) -> (f64, f64) {
    let end = &result.stages[i];
    (end.mean_moisture.0 / 0.1, end.centre.moisture.0 / 0.1)
}

const BLOCK: Outline = Outline::Bar {
    length_m: 0.036,
    width_m: 0.024,
    corner_radius_m: 0.0,
};
const THICKNESS_M: f64 = 0.008;

/// Mean and centre of the block with surface coefficient over conductivity `h` \[1/m\]; the centre is half way up.
fn block(h: f64, t: f64) -> (f64, f64) {
    let axis = |l: f64, place: f64| plate(h * l, DIFFUSIVITY * t / (l * l), place);
    let (x, y, z) = (axis(0.018, 0.0), axis(0.012, 0.0), axis(THICKNESS_M, 0.5));
    (x.1 * y.1 * z.1, x.0 * y.0 * z.0)
}

fn short_cylinder(h: f64, t: f64) -> (f64, f64) {
    let r = cylinder(h * 0.015, DIFFUSIVITY * t / (0.015 * 0.015));
    let z = plate(
        h * THICKNESS_M,
        DIFFUSIVITY * t / (THICKNESS_M * THICKNESS_M),
        0.5,
    );
    (r.1 * z.1, r.0 * z.0)
}

const DISC: Outline = Outline::Round { diameter_m: 0.03 };
/// Surface coefficient over conductivity \[1/m\].
const OVER_K: f64 = 100.0;

fn grid(plan_m: f64, cells: usize) -> SolidGrid {
    SolidGrid {
        plan_m,
        cells,
        ..SolidGrid::USUAL
    }
}

#[test]
fn series_agree_with_printed_tables() {
    // One-term values of heat transfer textbooks, Biot 1: plate ζ 0.8603 C 1.1191, cylinder ζ 1.2558 C 1.2071.
    let fourier: f64 = 1.0;
    assert!((plate(1.0, fourier, 0.0).0 - 1.1191 * (-0.8603_f64.powi(2)).exp()).abs() < 1e-4);
    assert!((cylinder(1.0, fourier).0 - 1.2071 * (-1.2558_f64.powi(2)).exp()).abs() < 1e-4);
    assert!(
        (plate(1.0, 0.0, 0.3).1 - 1.0).abs() < 1e-4 && (cylinder(1.0, 0.0).1 - 1.0).abs() < 1e-4
    );
}

#[test]
fn block_and_short_cylinder_cool_as_the_product() {
    let mut input = dry(THICKNESS_M, &durations());
    for s in &mut input.stages {
        s.top_w_per_m2_k = OVER_K * CONDUCTIVITY;
    }
    for (outline, product, limit) in [
        (BLOCK, block as fn(f64, f64) -> (f64, f64), (3e-4, 5e-4)),
        (DISC, short_cylinder, (6e-4, 1e-3)),
    ] {
        let r = bake(&input, &outline, &grid(7.5e-4, 24));
        let worst = differences(&r, |i| heat_left(&r, &input, i), |t| product(OVER_K, t));
        println!(
            "{} cools: mean {:e}, centre {:e}",
            outline.word(),
            worst.0,
            worst.1
        );
        assert!(worst.0 < limit.0 && worst.1 < limit.1, "{worst:?}");
    }
}

#[test]
fn block_and_short_cylinder_dry_as_the_product() {
    let input = moist(THICKNESS_M, &durations(), OVER_K * DIFFUSIVITY);
    for (outline, product, limit) in [
        (BLOCK, block as fn(f64, f64) -> (f64, f64), (3e-4, 5e-4)),
        (DISC, short_cylinder, (6e-4, 1e-3)),
    ] {
        let r = bake(&input, &outline, &grid(7.5e-4, 24));
        let worst = differences(&r, |i| water_left(&r, i), |t| product(OVER_K, t));
        println!(
            "{} dries: mean {:e}, centre {:e}",
            outline.word(),
            worst.0,
            worst.1
        );
        assert!(worst.0 < limit.0 && worst.1 < limit.1, "{worst:?}");
    }
}

/// Halving all cells of the block quarters its error.
#[test]
fn the_error_falls_with_the_square_of_the_cells() {
    let mut input = dry(THICKNESS_M, &durations());
    for s in &mut input.stages {
        s.top_w_per_m2_k = OVER_K * CONDUCTIVITY;
    }
    input.accuracy = Accuracy::Tolerance(1e-6);
    let errors: Vec<f64> = [(3e-3, 8), (1.5e-3, 16), (7.5e-4, 32)]
        .into_iter()
        .map(|(plan_m, cells)| {
            let r = bake(&input, &BLOCK, &grid(plan_m, cells));
            differences(&r, |i| heat_left(&r, &input, i), |t| block(OVER_K, t)).0
        })
        .collect();
    for pair in errors.windows(2) {
        let order = (pair[0] / pair[1]).log2();
        println!("order of the grid {order:.3}");
        assert!((order - 2.0).abs() < 0.2, "{errors:?}");
    }
}
