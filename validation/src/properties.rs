//! Water, air, food components, sorption, colour and kill against tables, worked values and measurements.

use crate::check::{Check, Grounds, Kind, Limit, Part, row, worst, worst_relative};
use baking::bake::colour;
use baking::bake::kill;
use baking::bake::surface::{PRESSURE_PA, mass_transfer_per_film_kelvin};
use baking::bake::{LatentHeat, SaturationPressure};
use baking::properties::component::{Component, Mixture};
use baking::properties::conductivity::PorousModel;
use baking::properties::heat_capacity::solid_heat_capacity_j_per_kg_k;
use baking::properties::sorption::{Gab, sodium_chloride_water_activity, sucrose_water_activity};
use baking::properties::sorption::{Solute, StarchState};
use baking::properties::{DrySolids, Sorption, SorptionSettings, SugarState, air, sorption, water};
use measure::{DryBasis, WetBasis, temperature::kelvin};

/// Rows of the properties.
#[rustfmt::skip] // a table reads best as a table
pub(crate) fn rows() -> Vec<Check> {
    use Kind::{Comparison, Fit, Validation, Verification};
    use Limit::{AtMost, Between};
    use Part::{Colour, Kill, Sorption, Thermal, Water};
    const IAPWS: (Grounds, &str) = (Grounds::Computed, "IAPWS-IF97 and IAPWS-95 by open property libraries, 11 temperatures from 0.01 to 200 °C");
    const PSYCHRO: (Grounds, &str) = (Grounds::Computed, "two open psychrometric libraries");
    const CHOI: (Grounds, &str) = (Grounds::Published, "polynomials of Choi and Okos 1986 as in the ASHRAE Handbook, Refrigeration; values worked out independently at 20, 60, 100 and 150 °C");
    const SOLUTES: (Grounds, &str) = (Grounds::FromMemory, "equation and constants recalled, values worked out independently");
    const MEASURED: (Grounds, &str) = (Grounds::Published, "measured mean heat capacities, Geankoplis, appendix A.4 (make-up taken as usual)");
    const FLOUR_KILL: (Grounds, &str) = (Grounds::Published, "University of Nebraska thesis 2015, Salmonella in wheat flour, 9 D values");
    vec![
        row("saturation", Water, Verification, "saturation pressure in the bake (Hyland and Wexler), 0 to 200 °C", IAPWS,
            ("largest relative difference", AtMost(3e-4)), || worst_relative(STEAM.map(|(t, p, _)| (SaturationPressure::HYLAND_WEXLER.pascal(kelvin(t)), p)))),
        row("saturation-if97", Water, Verification, "saturation pressure elsewhere (IF97 region 4)", IAPWS,
            ("largest relative difference", AtMost(1e-5)), || worst_relative(STEAM.map(|(t, p, _)| (water::saturation_pressure_pa(kelvin(t)), p)))),
        row("boiling-point", Water, Verification, "water boils at 99.974 °C under a standard atmosphere", IAPWS,
            ("difference, K", AtMost(1e-3)), || water::saturation_temperature_k(PRESSURE_PA) - 273.15 - 99.974),
        row("latent-heat", Water, Verification, "heat of evaporation in the bake (parabola), 0 to 200 °C", IAPWS,
            ("largest relative difference", AtMost(2.3e-3)), || worst_relative(STEAM.map(|(t, _, l)| (LatentHeat::IAPWS_FIT.j_per_kg(t) / 1e3, l)))),
        row("saturation-slope", Water, Verification, "slope of the saturation pressure at 100 °C: 3619.4 Pa/K", IAPWS,
            ("relative difference", AtMost(1e-3)), || {
                let p = |t| SaturationPressure::HYLAND_WEXLER.pascal(kelvin(t));
                (p(100.01) - p(99.99)) / 0.02 / 3619.4 - 1.0
            }),
        row("vapour-diffusivity", Water, Verification, "diffusivity of vapour in air by Marrero and Mason and by Massman, 25 to 200 °C",
            (Grounds::FromMemory, "correlations recalled; values worked out independently; the correlations part by 10 % at 200 °C"),
            ("largest relative difference", AtMost(3e-4)), || {
                let rows = [(25.0, 2.505e-5, 2.552e-5), (50.0, 2.960e-5, 2.953e-5), (100.0, 3.988e-5, 3.831e-5), (150.0, 5.175e-5, 4.810e-5), (200.0, 6.523e-5, 5.887e-5)];
                worst_relative(rows.into_iter().flat_map(|(t, m, s)| [
                    (water::vapour_diffusivity_marrero_mason(kelvin(t), PRESSURE_PA), m),
                    (water::vapour_diffusivity_massman(kelvin(t), PRESSURE_PA), s)]))
            }),
        row("humidity", Water, Verification, "humidity of room air, 20 to 38 °C, 50 to 90 %", PSYCHRO,
            ("largest difference, kg/kg", AtMost(2e-5)), || worst(ROOMS.map(|(t, rh, w, _)| (air::humidity_kg_per_kg(rh * water::saturation_pressure_pa(kelvin(t)), PRESSURE_PA), w)))),
        row("dew-point", Water, Verification, "dew point of room air", PSYCHRO,
            ("largest difference, K", AtMost(0.08)), || worst(ROOMS.map(|(t, rh, _, dew)| (air::dew_point_k(rh * water::saturation_pressure_pa(kelvin(t))) - 273.15, dew)))),
        row("oven-dew-point", Water, Verification, "dew point of oven air, 0.02 to 0.20 kg/kg (ideal gas against a real one)", PSYCHRO,
            ("largest difference, K", AtMost(0.15)), || worst([(0.02, 24.86), (0.05, 40.30), (0.10, 52.49), (0.20, 64.52)]
                .map(|(w, dew)| (air::dew_point_k(air::vapour_pressure_pa(w, PRESSURE_PA)) - 273.15, dew)))),
        row("air", Water, Verification, "density, conductivity and viscosity of dry air at 100 and 200 °C",
            (Grounds::Computed, "reference equation of state by an open library"), ("largest relative difference", AtMost(0.015)), || {
                worst_relative([(100.0, 0.9459, 0.03162, 2.190e-5), (200.0, 0.7458, 0.03825, 2.605e-5)].into_iter().flat_map(|(t, rho, k, mu)| {
                    let a = air::Air::at(kelvin(t));
                    [(a.density_kg_per_m3, rho), (a.conductivity_w_per_m_k, k), (a.viscosity_pa_s, mu)]
                }))
            }),
        row("flat-plate", Water, Verification, "50 mm piece, 2 m/s, 200 °C: 24.1 W/(m² K)",
            (Grounds::Computed, "laminar flat plate with reference properties of air"), ("difference, W/(m² K)", AtMost(0.3)), || air::flat_plate_w_per_m2_k(0.05, 2.0, kelvin(200.0)) - 24.1),
        row("mass-transfer", Water, Verification, "air at 100 °C, h 20 W/(m² K): 0.02370 m/s at Le 0.829",
            (Grounds::Computed, "transfer analogy with reference properties of air"), ("relative difference", AtMost(0.01)), || {
                mass_transfer_per_film_kelvin(20.0) * 373.15 * (0.829_f64 / 0.86).powf(-2.0 / 3.0) / 0.0237 - 1.0
            }),
        row("component-conductivity", Thermal, Verification, "conductivity of six components at four temperatures", CHOI,
            ("largest difference, W/(m K)", AtMost(6e-6)), || components(|c, t, k, _, _| (c.conductivity_w_per_m_k(t), k))),
        row("component-density", Thermal, Verification, "density of six components at four temperatures", CHOI,
            ("largest difference, kg/m³", AtMost(6e-3)), || components(|c, t, _, rho, _| (c.density_kg_per_m3(t), rho))),
        row("component-heat", Thermal, Verification, "heat capacity of six components at four temperatures", CHOI,
            ("largest difference, kJ/(kg K)", AtMost(6e-6)), || components(|c, t, _, _, cp| (c.heat_capacity_j_per_kg_k(t) / 1e3, cp))),
        row("lamb", Thermal, Verification, "handbook example: lamb carcass, 3.59 kJ/(kg K) at 5 °C, 150 kg from 10 to 0 °C give 5390 kJ",
            (Grounds::FromMemory, "ASHRAE Handbook, statement recalled; arithmetic done again: 3590.8 J/(kg K), 5386.3 kJ"), ("largest relative difference", AtMost(5e-4)), || {
                let c = LAMB.heat_capacity_j_per_kg_k(5.0);
                worst_relative([(c, 3590.8), (150.0 * c * 10.0 / 1e3, 5386.3)])
            }),
        row("dough-mixture", Thermal, Verification, "density, heat capacity and conductivity of a dough and a biscuit, 25 and 100 °C, no pores",
            (Grounds::Computed, "the same mixing rules, worked out independently"), ("largest relative difference", AtMost(2e-3)), || {
                let dough = Mixture([0.09, 0.06, 0.50, 0.035, 0.015, 0.30]);
                let biscuit = Mixture([0.122, 0.081, 0.679, 0.048, 0.020, 0.05]);
                worst_relative([(dough, 25.0, 1277.6, 2.438, 0.372), (dough, 100.0, 1244.7, 2.513, 0.432), (biscuit, 25.0, 1422.0, 1.817, 0.250), (biscuit, 100.0, 1392.4, 1.903, 0.303)]
                    .into_iter().flat_map(|(m, t, rho, c, k)| [
                        (m.true_density_kg_per_m3(t), rho), (m.heat_capacity_j_per_kg_k(t) / 1e3, c), (m.parallel_conductivity_w_per_m_k(t), k)]))
            }),
        row("porous", Thermal, Verification, "pores by Maxwell and Eucken and by Krischer, 10 to 50 % gas",
            (Grounds::Computed, "closed forms, worked out independently"), ("largest difference, W/(m K)", AtMost(1e-4)), || {
                worst([(0.1, 0.2451, 0.2054), (0.3, 0.1833, 0.1308), (0.5, 0.1304, 0.0919)].into_iter().flat_map(|(e, me, kr)| [
                    (PorousModel::MaxwellEucken.conductivity_w_per_m_k(0.28, 0.026, e), me),
                    (PorousModel::Krischer { series_share: 0.3 }.conductivity_w_per_m_k(0.28, 0.026, e), kr)]))
            }),
        row("mean-heat", Thermal, Verification, "mean heat capacity of carbohydrate, 25 to 120 °C: 1655.39 J/(kg K)",
            (Grounds::Computed, "integral of the polynomial"), ("difference, J/(kg K)", AtMost(0.05)), || {
                solid_heat_capacity_j_per_kg_k(&solids(0.0, 0.0, 0.0, 0.0, 0.0, 0.0), 1.0) - 1655.39
            }),
        row("heat-bread", Thermal, Validation, "white bread with 44 to 45 % water: 2.72 to 2.85 kJ/(kg K)", MEASURED,
            ("computed mean 0 to 100 °C, kJ/(kg K)", Between(2.72, 2.85)), || mean_kj(Mixture([0.09, 0.03, 0.39, 0.025, 0.02, 0.445]))),
        row("heat-flour", Thermal, Validation, "flour with 12 to 13.5 % water: 1.80 to 1.88 kJ/(kg K)", MEASURED,
            ("computed mean 0 to 100 °C, kJ/(kg K)", Between(1.80, 1.88)), || mean_kj(Mixture([0.105, 0.012, 0.72, 0.03, 0.005, 0.128])))
            .outside("the published polynomials put dry cereal 8 to 14 % too high; the program leaves them as they are, says so, and has a factor to set (0.9 is fair). In the bake this is small beside the heat of evaporation"),
        row("heat-oil", Thermal, Validation, "olive oil at 20 °C: 2.01 kJ/(kg K)", MEASURED,
            ("relative difference", AtMost(0.01)), || Component::Fat.heat_capacity_j_per_kg_k(20.0) / 2010.0 - 1.0),
        row("gab", Sorption, Verification, "GAB equation, M0 0.07, C 10, K 0.85, a_w 0.1 to 0.8",
            (Grounds::Computed, "closed form, worked out independently"), ("largest difference, kg/kg", AtMost(1e-6)), || {
                let gab = Gab { monolayer: 0.07, c: 10.0, k: 0.85 };
                worst([(0.1, 0.036_843), (0.2, 0.056_669), (0.3, 0.072_715), (0.4, 0.088_819), (0.5, 0.107_231), (0.6, 0.130_335), (0.7, 0.161_825), (0.8, 0.208_919)]
                    .map(|(a, x)| (gab.moisture(a), x)))
            }),
        row("sucrose", Sorption, Verification, "water activity of sucrose solutions, 20 to 67.5 % (Norrish)", SOLUTES,
            ("largest difference", AtMost(1e-4)), || worst([(0.2, 0.9859), (0.4, 0.9589), (0.6, 0.8953), (0.675, 0.8466)].map(|(w, a)| (sucrose_water_activity(w), a)))),
        row("salt", Sorption, Verification, "water activity of salt solutions, 1 to 6 mol/kg (Pitzer)", SOLUTES,
            ("largest difference", AtMost(1e-4)), || worst([(1.0, 0.9668), (2.0, 0.9315), (3.0, 0.8931), (4.0, 0.8515), (5.0, 0.8068), (6.0, 0.7594)].map(|(m, a)| (sodium_chloride_water_activity(m), a)))),
        row("salt-saturated", Sorption, Comparison, "saturated salt at 25 °C: 0.7529", (Grounds::FromMemory, "Greenspan 1977"),
            ("difference", AtMost(1e-3)), || sodium_chloride_water_activity(6.14) - 0.7529),
        row("flour-anchor", Sorption, Comparison, "wheat flour at a_w 0.5 and 25 °C holds 10.5 to 12 % on dry solids", (Grounds::FromMemory, "usual sorption data of flour"),
            ("moisture, % on dry solids", Between(10.5, 12.0)), || {
                100.0 * native(&solids(0.115, 0.015, 0.03, 0.006, 0.005, 0.0)).moisture(0.5, kelvin(25.0)).0
            }),
        row("semolina", Sorption, Validation, "semolina lies within five published sets for pasta and semolina, a_w 0.2 to 0.8",
            (Grounds::Published, "GAB parameters of Waananen 1989 (40 °C), Andrieu 1985, Erbas 2005, Singh 1996 and a refit"),
            ("furthest outside the sets, kg/kg", AtMost(0.0)), || {
                let semolina = native(&solids(0.145, 0.015, 0.035, 0.009, 0.02, 0.0));
                [(0.2, 0.0462, 0.0908), (0.4, 0.0829, 0.1185), (0.6, 0.1225, 0.1581), (0.8, 0.1764, 0.2315)].into_iter().map(|(a, low, high)| {
                    let x = semolina.moisture(a, kelvin(25.0)).0;
                    (low - x).max(x - high).max(0.0)
                }).fold(0.0, f64::max)
            }),
        row("biscuit-dry-end", Sorption, Fit, "commercial biscuits at 2.81 % moisture have a_w 0.12 (make-up not told, taken as lean; the water of baked starch was fitted to it)",
            (Grounds::Published, "abstract, seen"), ("difference of a_w", AtMost(0.05)), || lean().water_activity(WetBasis(0.0281).to_dry(), kelvin(25.0)) - 0.12),
        row("biscuit-dry-end-sweet", Sorption, Validation, "the same, taken as sweet (22 % sugar, 18 % fat)",
            (Grounds::Published, "abstract, seen"), ("difference of a_w", AtMost(0.05)), || sweet().water_activity(WetBasis(0.0281).to_dry(), kelvin(25.0)) - 0.12)
            .outside("with as little starch the classes give that moisture a higher activity; what the biscuits were made of isn't told"),
        row("biscuit-middle-sweet", Sorption, Validation, "commercial biscuits at 4.53 % moisture have a_w 0.24, taken as sweet",
            (Grounds::Published, "abstract, seen"), ("difference of a_w", AtMost(0.05)), || sweet().water_activity(WetBasis(0.0453).to_dry(), kelvin(25.0)) - 0.24)
            .outside("as in the row before"),
        row("biscuit-middle", Sorption, Fit, "commercial biscuits at 4.53 % moisture have a_w 0.24 (taken as lean; fitted to it)",
            (Grounds::Published, "abstract, seen"), ("difference of a_w", AtMost(0.05)), || lean().water_activity(WetBasis(0.0453).to_dry(), kelvin(25.0)) - 0.24),
        row("soft-glycerol", Sorption, Validation, "hen jerky with 10 and 15 % glycerol on the raw meat has water activities of 0.748 and 0.630 at 30.2 and 25.0 % moisture",
            (Grounds::Published, "Sorapukdee et al. 2016, Korean J. Food Sci. An. 36(3), table 1; a quarter of raw meat taken as solids"),
            ("largest difference of a_w by Ross", AtMost(0.04)), || worst([soft(Solute::Glycerol, 10.0, 30.24, 0.748), soft(Solute::Glycerol, 15.0, 24.96, 0.630)])),
        row("soft-sorbitol", Sorption, Validation, "with 10 and 15 % sorbitol 0.787 and 0.759 at 27.1 and 25.5 %",
            (Grounds::Published, "the same"),
            ("largest difference of a_w by Ross", AtMost(0.04)), || worst([soft(Solute::Sorbitol, 10.0, 27.11, 0.787), soft(Solute::Sorbitol, 15.0, 25.45, 0.759)])),
        row("biscuit-20", Sorption, Fit, "biscuits hold 4.60 % on dry solids at 20.1 % relative humidity (make-up not told, taken as lean; fitted to it)",
            (Grounds::Published, "Singh 2025, J. Adv. Food Sci. Technol. 12(2), abstract"), ("relative difference of moisture", AtMost(0.25)), || lean().moisture(0.201, kelvin(25.0)).0 / 0.0460 - 1.0),
        row("biscuit-93", Sorption, Validation, "biscuits hold 23.57 % on dry solids at 93.2 % relative humidity (make-up as before)",
            (Grounds::Published, "Singh 2025, abstract"), ("relative difference of moisture", AtMost(0.25)), || lean().moisture(0.932, kelvin(25.0)).0 / 0.2357 - 1.0),
        row("gingerbread", Sorption, Validation, "gingerbread with 12 to 15 % on dry solids stands at 60 to 64 % (make-up taken: 35 % sugar, 3 % fat)",
            (Grounds::Published, "Cervenka, Rezkova and Kralovsky 2008, abstract"), ("moisture at 62 %, % on dry solids", Between(12.0, 15.0)), || {
                100.0 * isotherm(&solids(0.08, 0.03, 0.03, 0.015, 0.35, 0.003)).moisture(0.62, kelvin(25.0)).0
            }),
        row("sorption-heat", Sorption, Validation, "net heat of sorption of sorghum flour: 338 kJ/kg at 9.80 % on dry solids",
            (Grounds::Published, "Celia et al. 2024, Eng. Agric. 44 e20230063"), ("relative difference", AtMost(0.25)), || {
                sorghum().net_heat_j_per_kg(DryBasis(0.098), kelvin(25.0)) / 338e3 - 1.0
            }),
        row("sorption-heat-wet", Sorption, Validation, "and 57 kJ/kg at 32.2 %", (Grounds::Published, "as before"),
            ("difference, kJ/kg", AtMost(40.0)), || sorghum().net_heat_j_per_kg(DryBasis(0.322), kelvin(25.0)) / 1e3 - 57.0),
        row("browning-rate", Colour, Verification, "browning rate at 150, 185, 200 and 250 °C",
            (Grounds::Published, "constants of Zanoni, Peri and Bruno 1995; rates worked out independently with R 8.314"), ("largest relative difference", AtMost(1.6e-3)), || {
                worst_relative([(150.0, 5.058e-4), (185.0, 2.037e-3), (200.0, 3.474e-3), (250.0, 1.651e-2)].map(|(t, k)| (colour::rate(kelvin(t)), k)))
            }),
        row("browning-300s", Colour, Verification, "colour difference after 300 s at 150, 185, 200 and 250 °C: 7.32, 23.78, 33.66, 51.63",
            (Grounds::Published, "as before"), ("largest difference, ΔE", AtMost(0.03)), || {
                worst([(150.0, 7.32), (185.0, 23.78), (200.0, 33.66), (250.0, 51.63)].map(|(t, d)| (colour::delta_e(300.0 * colour::rate(kelvin(t))), d)))
            }),
        row("lethality-ramp", Kill, Verification, "D75 4.97 min, z 16.45 K: 40 to 95 °C at 10 K/min is 2.36158 decades", (Grounds::Computed, "closed form"),
            ("difference, decades", AtMost(1e-5)), || kill::decades(ln_rate(40.0), ln_rate(95.0), 330.0) - 2.361_58),
        row("lethality-hold", Kill, Verification, "and 2 min at 95 °C are 6.61423 decades", (Grounds::Computed, "closed form"),
            ("difference, decades", AtMost(1e-5)), || kill::decades(ln_rate(95.0), ln_rate(95.0), 120.0) - 6.614_23),
        row("flour-d-values", Kill, Validation, "D values of Salmonella in wheat flour, 80 to 90 °C, a_w 0.11 to 0.33 (the fit's own data)", FLOUR_KILL,
            ("rms difference, decades", AtMost(0.045)), || {
                let squares = D_VALUES.iter().flat_map(|(a, d)| [80.0, 85.0, 90.0].into_iter().zip(*d).map(|(t, d)| {
                    ((-kill::ln_rate(t, *a)).exp() / 60.0 / d).log10().powi(2)
                }));
                (squares.sum::<f64>() / 9.0).sqrt()
            }),
        row("cookie-d-values", Kill, Validation, "Salmonella in a peanut-butter cookie, 8 % moisture, a_w 0.421: D75, D80, D85 of 4.97, 2.59, 1.23 min are not shorter than computed D",
            (Grounds::Published, "abstract, seen; another matrix than the fit's"), ("computed over measured D, least", Between(1.0, 20.0)), || {
                [(75.0, 4.97), (80.0, 2.59), (85.0, 1.23)].into_iter().map(|(t, d)| (-kill::ln_rate(t, 0.421)).exp() / 60.0 / d).fold(f64::INFINITY, f64::min)
            }),
    ]
}

/// °C, saturation pressure \[Pa\], heat of evaporation \[kJ/kg\].
const STEAM: [(f64, f64, f64); 11] = [
    (0.01, 611.66, 2500.91),
    (20.0, 2339.21, 2453.52),
    (25.0, 3169.75, 2441.68),
    (40.0, 7384.43, 2405.98),
    (60.0, 19_945.80, 2357.65),
    (80.0, 47_414.72, 2308.00),
    (100.0, 101_417.98, 2256.40),
    (120.0, 198_665.4, 2202.11),
    (150.0, 476_101.4, 2113.75),
    (180.0, 1_002_634.6, 2014.16),
    (200.0, 1_554_671.9, 1939.74),
];

/// °C, relative humidity, kg/kg, dew point \[°C\] (mean of the two programs).
const ROOMS: [(f64, f64, f64, f64); 4] = [
    (25.0, 0.5, 0.009_88, 13.83),
    (20.0, 0.6, 0.008_73, 11.98),
    (30.0, 0.8, 0.021_57, 26.13),
    (38.0, 0.9, 0.038_93, 36.03),
];

/// Water activity at room temperature, D at 80, 85 and 90 °C \[min\].
const D_VALUES: [(f64, [f64; 3]); 3] = [
    (0.11, [112.87, 61.01, 32.36]),
    (0.18, [59.05, 30.90, 18.78]),
    (0.33, [25.10, 13.25, 6.22]),
];

const LAMB: Mixture = Mixture([0.2029, 0.0525, 0.0, 0.0, 0.0106, 0.7342]);

fn ln_rate(celsius: f64) -> f64 {
    (celsius - 75.0) / 16.45 * std::f64::consts::LN_10 - (4.97_f64 * 60.0).ln()
}

/// Conductivity, density and heat capacity of one component.
type Three = [f64; 3];

/// °C, then every component in the order of [`Component::ALL`].
#[rustfmt::skip]
const COMPONENTS: [(f64, [Three; 6]); 4] = [
    (20.0, [[0.20164, 1319.53, 2.03185], [0.17512, 917.24, 2.01175], [0.22743, 1592.89, 1.58567], [0.20704, 1304.18, 1.88065], [0.35648, 2418.19, 1.12892], [0.60366, 995.74, 4.17657]]),
    (60.0, [[0.24077, 1298.80, 2.07601], [0.16351, 900.54, 2.05532], [0.26906, 1580.47, 1.64517], [0.24689, 1289.55, 1.93899], [0.40322, 2406.96, 1.19272], [0.65271, 983.84, 4.19045]]),
    (100.0, [[0.27121, 1278.06, 2.11596], [0.15133, 883.83, 2.08352], [0.29684, 1568.05, 1.68565], [0.27660, 1274.91, 1.98245], [0.44066, 2395.74, 1.24474], [0.68030, 959.92, 4.22184]]),
    (150.0, [[0.29703, 1252.14, 2.15999], [0.13531, 862.95, 2.09718], [0.31207, 1552.53, 1.70953], [0.29948, 1256.62, 2.01584], [0.47438, 2381.71, 1.29320], [0.68463, 913.11, 4.28572]]),
];

fn components(pair: fn(Component, f64, f64, f64, f64) -> (f64, f64)) -> f64 {
    worst(COMPONENTS.iter().flat_map(|(t, rows)| {
        Component::ALL
            .into_iter()
            .zip(rows)
            .map(|(c, [k, rho, cp])| pair(c, *t, *k, *rho, *cp))
    }))
}

fn mean_kj(mixture: Mixture) -> f64 {
    mixture.mean_heat_capacity_j_per_kg_k(0.0, 100.0) / 1e3
}

fn solids(protein: f64, fat: f64, fibre: f64, ash: f64, sugars: f64, salt: f64) -> DrySolids {
    DrySolids {
        protein,
        fat,
        carbohydrate: 1.0 - protein - fat - fibre - ash,
        fibre,
        ash,
        sugars: Some(sugars),
        salt: Some(salt),
        starch: None,
    }
}

/// Of something baked.
fn isotherm(solids: &DrySolids) -> Sorption {
    curve(solids, StarchState::Baked)
}

/// Of flour and other raw meals.
fn native(solids: &DrySolids) -> Sorption {
    curve(solids, StarchState::Native)
}

fn curve(solids: &DrySolids, starch: StarchState) -> Sorption {
    let settings = SorptionSettings {
        starch,
        ..SorptionSettings::default()
    };
    sorption::sorption(solids, &settings, &mut Vec::new(), &mut Vec::new())
        .expect("there are no own pairs that could be wrong")
}

/// Water activity by Ross of a soft meat treat with a dose of a humectant on 100 raw meat at a moisture, and as read.
fn soft(solute: Solute, dose: f64, pct: f64, read: f64) -> (f64, f64) {
    let (x, share) = (pct / (100.0 - pct), dose / (25.0 + dose));
    let odds = (x / (1.0 - share) / 0.2841_f64).powf(2.5);
    let meat = odds / (1.0 + odds);
    (meat * solute.water_activity(x / share, 25.0), read)
}

/// A sweet biscuit, its sugar mostly crystals.
fn sweet() -> Sorption {
    let settings = SorptionSettings {
        sugars: SugarState::Crystalline,
        ..SorptionSettings::default()
    };
    let solids = solids(0.08, 0.18, 0.03, 0.015, 0.22, 0.006);
    sorption::sorption(&solids, &settings, &mut Vec::new(), &mut Vec::new())
        .expect("a dry solid that holds water")
}

fn lean() -> Sorption {
    isotherm(&solids(0.09, 0.12, 0.03, 0.012, 0.05, 0.003))
}

fn sorghum() -> Sorption {
    native(&solids(0.11, 0.035, 0.08, 0.017, 0.015, 0.0))
}
