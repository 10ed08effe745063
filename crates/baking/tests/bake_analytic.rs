//! The bake where it has a closed solution. Values are full series, computed; the one-term values agree with the
//! printed tables of heat transfer textbooks to four digits.

#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use baking::bake::surface::{PRESSURE_PA, mass_transfer_per_film_kelvin};
use baking::bake::{
    Accuracy, Ask, AskedTimes, BakeInput, BakeResult, Closures, Conductivity, Isotherm, LatentHeat,
    LiquidDiffusivity, SaturationPressure, Stage, StageKind, VapourTransport, Workspace, bake,
};
use measure::DryBasis;
use measure::temperature::kelvin;

/// A dry plate, k 0.3, ρ 1000, c 2500 (α 1.2e-7 m²/s), insulated below, nothing on top yet.
fn plate(thickness_m: f64, cells: usize, celsius: f64) -> BakeInput {
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

fn at(input: &BakeInput, times: Vec<f64>) -> BakeResult {
    let ask = Ask {
        history: AskedTimes::At(times.clone()),
        profile_times_s: times,
        ..Ask::default()
    };
    bake(input, &ask, &mut Workspace::new()).unwrap()
}

/// Fourier number, then centre, surface and mean.
type Fractions = (f64, [f64; 3]);
/// Fourier number and share.
type Share = (f64, f64);

#[test]
fn plate_with_convection() {
    // Biot, Fourier, then (T − T_air)/(T₀ − T_air) in the centre, at the surface and on average.
    let rows: [(f64, &[Fractions]); 3] = [
        (
            1.0,
            &[
                (0.05, [0.999_751, 0.790_377, 0.957_310]),
                (0.1, [0.993_108, 0.723_577, 0.919_597]),
                (0.2, [0.950_642, 0.643_391, 0.851_595]),
                (0.5, [0.772_526, 0.504_522, 0.681_105]),
                (1.0, [0.533_859, 0.348_177, 0.470_397]),
                (2.0, [0.254_668, 0.166_091, 0.224_394]),
            ],
        ),
        (0.5, &[(1.0, [0.698_383, 0.554_589, 0.649_760])]),
        (
            10.0,
            &[
                (0.1, [0.968_424, 0.170_574, 0.726_118]),
                (0.5, [0.454_641, 0.064_329, 0.315_016]),
            ],
        ),
    ];
    let mut worst: f64 = 0.0;
    for (biot, points) in rows {
        let mut input = plate(0.01, 200, 100.0);
        let unit_s = 0.01 * 0.01 / 1.2e-7;
        input.stages[0].top_w_per_m2_k = biot * 0.3 / 0.01;
        input.stages[0].duration_s = 2.0 * unit_s;
        let times: Vec<f64> = points.iter().map(|p| p.0 * unit_s).collect();
        let got = at(&input, times);
        for (i, (fourier, [centre, surface, mean])) in points.iter().enumerate() {
            let h = &got.history;
            let fraction = |k: f64| (k - kelvin(20.0)) / 80.0;
            let taken_up = h.enthalpy_in_j_per_m2[i] / (0.01 * 1000.0 * 2500.0 * 80.0);
            for (found, wanted) in [
                (fraction(h.bottom_k[i]), centre),
                (fraction(h.top_k[i]), surface),
                (1.0 + taken_up, mean),
            ] {
                worst = worst.max((found - wanted).abs());
                assert!(
                    (found - wanted).abs() < 5e-5,
                    "Bi {biot} Fo {fourier}: {found} {wanted}"
                );
            }
        }
    }
    println!("plate with convection: {worst:e}");
}

#[test]
fn thick_plate_warms_like_a_half_space() {
    // α 1.2e-7, h 30, k 0.3, 60 s: share of the rise at the surface, 2 mm and 4 mm deep.
    let mut input = plate(0.03, 300, 20.0);
    input.stages[0].top_w_per_m2_k = 30.0;
    input.stages[0].air_k = kelvin(120.0);
    input.stages[0].duration_s = 60.0;
    let profile = &at(&input, vec![60.0]).profiles[0];
    for (depth, wanted) in [(0, 0.243_081), (20, 0.119_512), (40, 0.048_642)] {
        let found = (profile.temperature_k[300 - depth] - kelvin(20.0)) / 100.0;
        assert!((found - wanted).abs() < 2e-5, "{depth} {found} {wanted}");
    }
}

/// A sheet that dries by diffusion alone at 25 °C: no heat of evaporation, and vapour pressure as good as
/// proportional to moisture, so that the surface law is Crank's.
fn sheet(ratio: f64, transfer: f64) -> BakeInput {
    let mut input = plate(0.005, 200, 25.0);
    input.initial_moisture = DryBasis(0.1);
    input.closures.latent_heat = LatentHeat { l: [0.0; 3] };
    // Oswin with exponent 1 is a_w = rX/(1 + rX); r = 100 e^(−a).
    input.closures.isotherm = Isotherm::oswin((100.0 / ratio).ln(), 1.0, 0.0);
    input.closures.liquid.d0_m2_per_s = 1e-9;
    let t = kelvin(25.0);
    let per_h = mass_transfer_per_film_kelvin(1.0) * t * 0.018_015_28 / (8.314_462_618 * t)
        * ratio
        * input.closures.saturation.pascal(t);
    // h_m = transfer·D/l with the flux ρ_s h_m X.
    let h_m = transfer * 1e-9 / 0.005;
    input.stages[0].air_k = t;
    input.stages[0].band_k = t;
    input.stages[0].radiating_k = t;
    input.stages[0].top_w_per_m2_k = 1000.0 * h_m / per_h;
    input.stages[0].vapour_exchange = 1.0;
    input.stages[0].duration_s = 2.0 * 0.005 * 0.005 / 1e-9;
    input
}

#[test]
fn sheet_dries_as_crank_says() {
    // Dt/l² and the share that has left: surface resistance 1 and 10, then a surface held at zero (Crank,
    // The Mathematics of Diffusion; computed to six digits).
    let unit_s = 0.005 * 0.005 / 1e-9;
    let rows: [(f64, f64, f64, &[Share]); 3] = [
        (
            1e-4,
            1.0,
            5e-5,
            &[(0.5, 0.318_895), (1.0, 0.529_603), (2.0, 0.775_606)],
        ),
        (
            1e-4,
            10.0,
            5e-5,
            &[(0.1, 0.273_882), (0.5, 0.684_984), (1.0, 0.886_504)],
        ),
        (
            1e-2,
            1e4,
            3e-4,
            &[
                (0.05, 0.252_313),
                (0.1, 0.356_823),
                (0.2, 0.504_088),
                (0.5, 0.763_950),
                (1.0, 0.931_260),
            ],
        ),
    ];
    for (ratio, transfer, limit, points) in rows {
        let got = at(
            &sheet(ratio, transfer),
            points.iter().map(|p| p.0 * unit_s).collect(),
        );
        for (i, (_, wanted)) in points.iter().enumerate() {
            let found = 1.0 - got.history.mean_moisture[i] / 0.1;
            println!("sheet {transfer}: {:e}", (found - wanted).abs());
            assert!(
                (found - wanted).abs() < limit,
                "{transfer} {i} {found} {wanted}"
            );
            assert!((got.history.top_k[i] - kelvin(25.0)).abs() < 1e-6);
        }
    }
}

/// Temperature \[°C\] at which convection and evaporation balance, by a law of evaporation per unit h \[kg/(m² s)\].
fn balance(air_c: f64, flux: impl Fn(f64, f64) -> f64) -> f64 {
    let gain = |c: f64| {
        let saturated = SaturationPressure::HYLAND_WEXLER.pascal(kelvin(c));
        (air_c - c) - flux(kelvin(c), saturated) * LatentHeat::IAPWS_FIT.j_per_kg(c)
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

const MASS_OVER_R: f64 = 0.018_015_28 / 8.314_462_618;

/// By the law of the model: concentrations p/T at either side; `lewis` scales Le^(−2/3).
fn by_model(air_c: f64, vapour_pa: f64, lewis: f64) -> f64 {
    let air = kelvin(air_c);
    balance(air_c, |t, p| {
        let k = mass_transfer_per_film_kelvin(1.0) * 0.5 * (air + t) * lewis;
        k * MASS_OVER_R * (p / t - vapour_pa / air)
    })
}

/// By adiabatic saturation, which defines the thermodynamic wet bulb: humidity ratios and the heat capacity of
/// the moist air (1006 + 1860 W).
fn by_saturation(air_c: f64, humidity: f64) -> f64 {
    balance(air_c, |_, p| {
        let saturated = 0.621_945 * p / (PRESSURE_PA - p).max(1.0);
        (saturated - humidity) / (1006.0 + 1860.0 * humidity)
    })
}

#[test]
fn wet_piece_stays_at_the_wet_bulb() {
    // Air °C, kg water per kg dry air, thermodynamic wet bulb °C (computed with an open property library).
    let rows = [
        (120.0, 0.02, 41.70),
        (120.0, 0.10, 57.36),
        (150.0, 0.05, 51.73),
        (180.0, 0.02, 48.13),
        (180.0, 0.10, 60.83),
        (200.0, 0.20, 69.95),
        (205.0, 0.03, 52.30),
        (220.0, 0.10, 62.83),
    ];
    for (air_c, humidity, thermodynamic) in rows {
        let vapour_pa = PRESSURE_PA * humidity / (0.621_945 + humidity);
        let own = by_model(air_c, vapour_pa, 1.0);
        let mut input = plate(0.004, 20, 30.0);
        input.initial_moisture = DryBasis(1.5);
        input.closures.isotherm = Isotherm::oswin(-12.0, 1.0, 0.0);
        input.closures.liquid.d0_m2_per_s = 1e-6;
        let s = &mut input.stages[0];
        s.air_k = kelvin(air_c);
        s.air_vapour_pa = vapour_pa;
        s.top_w_per_m2_k = 25.0;
        s.vapour_exchange = 1.0;
        s.duration_s = 2000.0;
        let got = at(&input, vec![2000.0]);
        let plateau = got.history.top_k[0] - 273.15;
        assert!(got.history.mean_moisture[0] > 0.05, "still wet");
        assert!(
            (plateau - own).abs() < 0.02,
            "{air_c} {humidity}: {plateau} {own}"
        );
        // The thermodynamic wet bulb is that of Le = 1 with humidity ratios. The law of the model differs in
        // two ways: Le = 0.86 evaporates 10 % faster (about 1 K lower), and concentrations p/T, each at its own
        // temperature, evaporate faster than mole fractions do when air is hot and damp (up to 5 K lower).
        let le_one = by_model(air_c, vapour_pa, 1.0 / baking::bake::surface::LEWIS_FACTOR);
        let defined = by_saturation(air_c, humidity);
        println!(
            "air {air_c} W {humidity}: plateau {plateau:.2}, Le 1 {le_one:.2}, saturation {defined:.2}, printed {thermodynamic}"
        );
        assert!(
            (defined - thermodynamic).abs() < 0.5,
            "{defined} {thermodynamic}"
        );
        assert!(le_one > plateau && le_one < thermodynamic, "{le_one}");
        assert!(thermodynamic - plateau < 6.0, "{plateau} {thermodynamic}");
    }
}

#[test]
fn evaporation_front_moves_as_stefan_says() {
    // Crust k 0.07, ρ 400, c 1900, surface held at 150 °C, front at boiling, 120 kg/m³ water, 2257 kJ/kg:
    // Ste 0.1403, similarity 0.25898, front 2.7227 mm deep after 300 s (computed).
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
    let mut found = Vec::new();
    for cells in [60, 120, 240] {
        input.cells = cells;
        let got = at(&input, vec![300.0]);
        let depth_mm = got.history.water_out_kg_per_m2[0] / 120.0 * 1e3;
        println!("front {cells} cells: {depth_mm:.4} mm, {:?}", got.work);
        found.push(depth_mm);
    }
    assert!((found[2] / 2.7227 - 1.0).abs() < 0.002, "{found:?}");
}
