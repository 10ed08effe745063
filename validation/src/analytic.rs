//! The bake where it has a closed solution.

use crate::check::{Check, Grounds, Kind, Limit, Part, largest, row, worst};
use baking::bake::surface::{LEWIS_FACTOR, PRESSURE_PA, mass_transfer_per_film_kelvin};
use baking::bake::{
    Accuracy, Ask, AskedTimes, BakeInput, BakeResult, Closures, Conductivity, Isotherm, LatentHeat,
    LiquidDiffusivity, SaturationPressure, Stage, StageKind, VapourTransport, Workspace, bake,
};
use measure::DryBasis;
use measure::temperature::kelvin;

/// Rows with a closed solution.
#[rustfmt::skip] // a table reads best as a table
pub(crate) fn rows() -> Vec<Check> {
    use Limit::{AtMost, Between};
    let solver = |id, requirement, source, metric, run| {
        row(
            id,
            Part::Solver,
            Kind::Verification,
            requirement,
            source,
            metric,
            run,
        )
    };
    const SERIES: (Grounds, &str) = (
        Grounds::Computed,
        "full series; one-term values agree with printed tables of heat transfer textbooks to four digits",
    );
    const CRANK: (Grounds, &str) = (
        Grounds::Computed,
        "Crank, The Mathematics of Diffusion, series to six digits",
    );
    let fractions = (
        "largest difference of centre, surface and mean fraction",
        AtMost(5e-5),
    );
    vec![
        solver("plate-biot-1", "plate with convection, Bi 1, Fo 0.05 to 2, 200 cells", SERIES, fractions, || plate_fractions(1.0, &[
            (0.05, [0.999_751, 0.790_377, 0.957_310]),
            (0.1, [0.993_108, 0.723_577, 0.919_597]),
            (0.2, [0.950_642, 0.643_391, 0.851_595]),
            (0.5, [0.772_526, 0.504_522, 0.681_105]),
            (1.0, [0.533_859, 0.348_177, 0.470_397]),
            (2.0, [0.254_668, 0.166_091, 0.224_394])])),
        solver("plate-biot-half", "plate with convection, Bi 0.5, Fo 1", SERIES, fractions, || {
            plate_fractions(0.5, &[(1.0, [0.698_383, 0.554_589, 0.649_760])])
        }),
        solver("plate-biot-10", "plate with convection, Bi 10, Fo 0.1 and 0.5", SERIES, fractions, || plate_fractions(10.0, &[
            (0.1, [0.968_424, 0.170_574, 0.726_118]),
            (0.5, [0.454_641, 0.064_329, 0.315_016])])),
        solver("textbook-pipe", "textbook example: pipe wall 40 mm, oil at 60 °C, 8 minutes: 43.02 °C outside, 45.36 °C inside",
            (Grounds::Computed, "Incropera and DeWitt, example 5.4 (printed, one term of the series: 42.9 °C outside), series worked out exactly"),
            ("largest difference, K", AtMost(0.02)), textbook_pipe),
        solver("textbook-wall", "textbook example: wall 0.1 m, k 20, h 100, 600 s: centre 0.64125, heat given 0.40340",
            (Grounds::Computed, "worked example of a university course (Yovanovich, Waterloo), series worked out exactly"),
            ("largest difference", AtMost(5e-5)), textbook_wall),
        solver("half-space-convection", "thick plate with convection, 60 s: share of the rise at 0, 2 and 4 mm",
            (Grounds::Computed, "half-space in closed form"), ("largest difference", AtMost(2e-5)), || {
                half_space(30.0, &[(0, 0.243_081), (20, 0.119_512), (40, 0.048_642)])
            }),
        solver("half-space-held", "thick plate with a held surface, 60 s: share of the rise at 2 mm",
            (Grounds::Computed, "half-space in closed form"), ("difference", AtMost(2e-4)), || half_space(1e6, &[(20, 0.598_161)])),
        solver("crank-resistance-1", "sheet that dries by diffusion, surface resistance L 1", CRANK, ("largest difference of the share left", AtMost(5e-5)), || {
            crank(1e-4, 1.0, &[(0.5, 0.318_895), (1.0, 0.529_603), (2.0, 0.775_606)])
        }),
        solver("crank-resistance-10", "sheet that dries by diffusion, surface resistance L 10", CRANK, ("largest difference of the share left", AtMost(5e-5)), || {
            crank(1e-4, 10.0, &[(0.1, 0.273_882), (0.5, 0.684_984), (1.0, 0.886_504)])
        }),
        solver("crank-held", "sheet that dries by diffusion, surface held dry", CRANK, ("largest difference of the share left", AtMost(3e-4)), || {
            crank(1e-2, 1e4, &[(0.05, 0.252_313), (0.1, 0.356_823), (0.2, 0.504_088), (0.5, 0.763_950), (1.0, 0.931_260)])
        }),
        solver("stefan", "evaporation front under a dry crust: 2.7227 mm after 300 s (Ste 0.1403), 240 cells",
            (Grounds::Computed, "Stefan's similarity solution"), ("relative difference of the depth", AtMost(0.002)), || stefan() / 2.7227 - 1.0),
        solver("wet-bulb-own", "a wet piece without radiation stays where convection and evaporation balance, 8 states of air",
            (Grounds::Computed, "root of the surface law"), ("largest difference of the plateau, K", AtMost(0.02)), || {
                worst(WET_BULBS.map(|(t, w, _)| (plateau(t, w), by_model(t, w, 1.0))))
            }),
        row("wet-bulb", Part::Water, Kind::Comparison,
            "the plateau lies a little below the thermodynamic wet bulb, 120 to 220 °C and 0.02 to 0.20 kg/kg. It has to: with Le = 0.86 \
             (the wet bulb presumes 1) water leaves 10 % faster, about 1 K; and the law takes concentrations p/T each at its own \
             temperature, which in hot, damp air gives up to 5 K more",
            (Grounds::Computed, "an open property library (humid air)"), ("wet bulb less plateau, largest, K", Between(0.0, 6.0)), || {
                largest(WET_BULBS.map(|(t, w, wet_bulb)| {
                    let below = wet_bulb - plateau(t, w);
                    if below < 0.0 { f64::INFINITY } else { below }
                }))
            }),
        row("wet-bulb-explained", Part::Water, Kind::Comparison,
            "with Le = 1 the same law comes nearer the thermodynamic wet bulb from below, in every state of air",
            (Grounds::Computed, "an open property library (humid air)"), ("least gain over the plateau, K", Between(0.1, 3.0)), || {
                WET_BULBS.map(|(t, w, wet_bulb)| {
                    let nearer = by_model(t, w, 1.0 / LEWIS_FACTOR);
                    if nearer < wet_bulb { nearer - plateau(t, w) } else { f64::NAN }
                }).into_iter().reduce(f64::min).unwrap_or(f64::NAN)
            }),
    ]
}

/// A dry plate, k 0.3, ρ 1000, c 2500 (α 1.2e-7 m²/s), insulated below, nothing on top yet.
pub(crate) fn plate(thickness_m: f64, cells: usize, celsius: f64) -> BakeInput {
    BakeInput {
        thickness_m,
        initial_moisture: DryBasis(0.0),
        initial_temperature_k: kelvin(celsius),
        dry_solid_kg_per_m3: 1000.0,
        closures: Closures {
            solid_heat_capacity_j_per_kg_k: 2500.0,
            water_heat_capacity_j_per_kg_k: 4186.0,
            conductivity: Conductivity::linear(0.3, 0.0),
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
        edge: None,
        stages: vec![Stage {
            name: "plate".into(),
            kind: StageKind::Oven,
            duration_s: 1.0,
            air_k: kelvin(20.0),
            radiating_k: kelvin(20.0),
            band_k: kelvin(20.0),
            air_vapour_pa: 0.0,
            top_w_per_m2_k: 0.0,
            bottom_w_per_m2_k: 0.0,
            band_open: 0.0,
            vapour_exchange: 0.0,
        }],
        cells,
        accuracy: Accuracy::Tight,
    }
}

fn at(input: &BakeInput, times_s: &[f64]) -> BakeResult {
    let ask = Ask {
        history: AskedTimes::At(times_s.to_vec()),
        profile_times_s: times_s.to_vec(),
        ..Ask::default()
    };
    bake(input, &ask, &mut Workspace::new()).expect("the plate can be followed")
}

/// Fourier number, then the fraction in the centre, at the surface and on average.
type Fractions = (f64, [f64; 3]);

fn plate_fractions(biot: f64, points: &[Fractions]) -> f64 {
    let mut input = plate(0.01, 200, 100.0);
    let unit_s = 0.01 * 0.01 / 1.2e-7;
    input.stages[0].top_w_per_m2_k = biot * 0.3 / 0.01;
    input.stages[0].duration_s = 2.0 * unit_s;
    let times: Vec<f64> = points.iter().map(|p| p.0 * unit_s).collect();
    let h = at(&input, &times).history;
    let fraction = |k: f64| (k - kelvin(20.0)) / 80.0;
    let heat = 0.01 * 1000.0 * 2500.0 * 80.0;
    largest(
        points
            .iter()
            .enumerate()
            .flat_map(|(i, (_, [centre, surface, mean]))| {
                [
                    fraction(h.bottom_k[i]) - centre,
                    fraction(h.top_k[i]) - surface,
                    1.0 + h.enthalpy_in_j_per_m2[i] / heat - mean,
                ]
            }),
    )
}

fn textbook_pipe() -> f64 {
    let mut input = plate(0.04, 100, -20.0);
    // ρ·c of the steel, ρ brought into the range of doughs.
    input.dry_solid_kg_per_m3 = 2000.0;
    input.closures.solid_heat_capacity_j_per_kg_k = 63.9 / 18.8e-6 / 2000.0;
    input.closures.conductivity = Conductivity::linear(63.9, 0.0);
    let s = &mut input.stages[0];
    s.air_k = kelvin(60.0);
    s.top_w_per_m2_k = 500.0;
    s.duration_s = 480.0;
    let h = at(&input, &[480.0]).history;
    worst([
        (h.bottom_k[0] - 273.15, 43.02),
        (h.top_k[0] - 273.15, 45.36),
    ])
}

fn textbook_wall() -> f64 {
    let mut input = plate(0.1, 100, 100.0);
    input.closures.solid_heat_capacity_j_per_kg_k = 20.0 / 2e-5 / 1000.0;
    input.closures.conductivity = Conductivity::linear(20.0, 0.0);
    let s = &mut input.stages[0];
    s.top_w_per_m2_k = 100.0;
    s.duration_s = 600.0;
    let h = at(&input, &[600.0]).history;
    let given = -h.enthalpy_in_j_per_m2[0] / (0.1 * 1e6 * 80.0);
    worst([
        ((h.bottom_k[0] - kelvin(20.0)) / 80.0, 0.641_25),
        (given, 0.403_40),
    ])
}

/// Depths in tenths of a millimetre and the share of the rise after 60 s.
fn half_space(top_w_per_m2_k: f64, points: &[(usize, f64)]) -> f64 {
    let mut input = plate(0.03, 300, 20.0);
    let s = &mut input.stages[0];
    s.top_w_per_m2_k = top_w_per_m2_k;
    s.air_k = kelvin(120.0);
    s.duration_s = 60.0;
    let profile = &at(&input, &[60.0]).profiles[0];
    worst(points.iter().map(|(d, share)| {
        (
            (profile.temperature_k[300 - d] - kelvin(20.0)) / 100.0,
            *share,
        )
    }))
}

/// A sheet that dries by diffusion alone at 25 °C: no heat of evaporation, and vapour pressure as good as
/// proportional to moisture, so that the surface law is Crank's. Points are Dt/l² and the share that has left.
fn crank(ratio: f64, transfer: f64, points: &[(f64, f64)]) -> f64 {
    let (l, d) = (0.005, 1e-9);
    let mut input = plate(l, 200, 25.0);
    input.initial_moisture = DryBasis(0.1);
    input.closures.latent_heat = LatentHeat { l: [0.0; 3] };
    // Oswin with exponent 1 is a_w = rX/(1 + rX); r = 100 e^(−a).
    input.closures.isotherm = Isotherm::oswin((100.0 / ratio).ln(), 1.0, 0.0);
    input.closures.liquid.d0_m2_per_s = d;
    let t = kelvin(25.0);
    let per_h = mass_transfer_per_film_kelvin(1.0) * t * MASS_OVER_R / t
        * ratio
        * input.closures.saturation.pascal(t);
    // h_m = transfer·D/l with the flux ρ_s h_m X.
    let h_m = transfer * d / l;
    let s = &mut input.stages[0];
    s.air_k = t;
    s.band_k = t;
    s.radiating_k = t;
    s.top_w_per_m2_k = 1000.0 * h_m / per_h;
    s.vapour_exchange = 1.0;
    s.duration_s = 2.0 * l * l / d;
    let times: Vec<f64> = points.iter().map(|p| p.0 * l * l / d).collect();
    let h = at(&input, &times).history;
    worst(
        points
            .iter()
            .zip(h.mean_moisture)
            .map(|((_, share), x)| (1.0 - x / 0.1, *share)),
    )
}

pub(crate) const MASS_OVER_R: f64 =
    baking::bake::surface::WATER_MOLAR_MASS / baking::bake::surface::GAS_CONSTANT;

/// Air \[°C\], kg water per kg dry air, thermodynamic wet bulb \[°C\].
const WET_BULBS: [(f64, f64, f64); 8] = [
    (120.0, 0.02, 41.70),
    (120.0, 0.10, 57.36),
    (150.0, 0.05, 51.73),
    (180.0, 0.02, 48.13),
    (180.0, 0.10, 60.83),
    (200.0, 0.20, 69.95),
    (205.0, 0.03, 52.30),
    (220.0, 0.10, 62.83),
];

/// Temperature \[°C\] at which convection and evaporation balance by the law of the model, concentrations p/T
/// at either side; `lewis` scales Le^(−2/3).
fn by_model(air_c: f64, humidity: f64, lewis: f64) -> f64 {
    let air = kelvin(air_c);
    let vapour_pa = baking::properties::air::vapour_pressure_pa(humidity, PRESSURE_PA);
    let gain = |c: f64| {
        let t = kelvin(c);
        let k = mass_transfer_per_film_kelvin(1.0) * 0.5 * (air + t) * lewis;
        let saturated = SaturationPressure::HYLAND_WEXLER.pascal(t);
        let flux = k * MASS_OVER_R * (saturated / t - vapour_pa / air);
        (air_c - c) - flux * LatentHeat::IAPWS_FIT.j_per_kg(c)
    };
    let (mut low, mut high) = (0.0, 99.0);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if gain(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// Temperature \[°C\] of a wet piece after it has settled.
fn plateau(air_c: f64, humidity: f64) -> f64 {
    let mut input = plate(0.004, 20, 30.0);
    input.initial_moisture = DryBasis(1.5);
    input.closures.isotherm = Isotherm::oswin(-12.0, 1.0, 0.0);
    input.closures.liquid.d0_m2_per_s = 1e-6;
    let s = &mut input.stages[0];
    s.air_k = kelvin(air_c);
    s.air_vapour_pa = baking::properties::air::vapour_pressure_pa(humidity, PRESSURE_PA);
    s.top_w_per_m2_k = 25.0;
    s.vapour_exchange = 1.0;
    s.duration_s = 2000.0;
    at(&input, &[2000.0]).history.top_k[0] - 273.15
}

/// Depth of the front \[mm\]. Crust k 0.07, ρ 400, c 1900, surface held at 150 °C, front at boiling, 120 kg/m³
/// water, 2257 kJ/kg.
fn stefan() -> f64 {
    let boiling = 99.974;
    let mut input = plate(0.006, 240, boiling);
    input.dry_solid_kg_per_m3 = 400.0;
    input.initial_moisture = DryBasis(0.3);
    let c = &mut input.closures;
    c.solid_heat_capacity_j_per_kg_k = 1900.0;
    c.conductivity = Conductivity::linear(0.07, 0.0);
    // Nearly free water, an open crumb, and vapour that carries the same enthalpy at every temperature.
    c.isotherm = Isotherm::oswin((100.0 * 1e-4_f64).ln(), 1.0, 0.0);
    c.vapour.permeability_m2 = 1e-9;
    c.vapour.porosity_over_tortuosity = 0.5;
    let c_w = c.water_heat_capacity_j_per_kg_k;
    c.latent_heat = LatentHeat {
        l: [2.257e6 + c_w * boiling, -c_w, 0.0],
    };
    let s = &mut input.stages[0];
    s.air_k = kelvin(150.0);
    s.air_vapour_pa = PRESSURE_PA;
    s.top_w_per_m2_k = 1e5;
    s.vapour_exchange = 1.0;
    s.duration_s = 300.0;
    at(&input, &[300.0]).history.water_out_kg_per_m2[0] / 120.0 * 1e3
}
