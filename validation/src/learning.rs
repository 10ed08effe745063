//! Learning from bakes, held against published curves. Points were read off figures by others; each set names its source.

use crate::check::{Check, Grounds, Kind, Limit, Part, row};
use crate::products::plate;
use baking::bake::surface::PRESSURE_PA;
use baking::bake::{Accuracy, BakeInput, Stage, StageKind};
use baking::properties::{DoughDensity, PropertySettings, air, dough_properties};
use formula::{Formula, Line, shelf};
use learning::{Asked, Bakes, Chosen, Fit, Kind as Read, Parameter, Row, fit};
use measure::temperature::kelvin;
use nalgebra::DMatrix;
use std::sync::OnceLock;
use trials::stats::map::{Closeness, Problem, likeliest};

/// Rows of learning.
#[rustfmt::skip] // a table reads best as a table
pub(crate) fn rows() -> Vec<Check> {
    use Limit::{AtMost, Between};
    const BREAD: &str = "Zhang and Datta 2005, AIChE J., doi 10.1002/aic.10518; points as digitised in the data of doi 10.14311/TPFM.2025.015";
    const APPLE: &str = "drying of apple slices, 6 mm, 50 °C, 0.85 m/s; conditions of Royen, Noori and Haydary 2020, Processes 8(12):1562; points as digitised in a public repository";
    let fitted = |id, requirement, source, metric, limit, run| {
        row(
            id,
            Part::Bake,
            Kind::Fit,
            requirement,
            (Grounds::Published, source),
            (metric, limit),
            run,
        )
    };
    vec![
        fitted("learning-bread-centre", "a small free bread at 190 °C, six factors learned from 38 points at once: the middle (a plate of 24.8 mm stands in for a round of 72 × 35 mm)", BREAD,
            "root mean square gap of 15 temperatures, K", AtMost(5.0), || missed(bread(), Read::Temperature, 0.5))
            .outside("a plate of constant volume can't describe a round that rises by half and is heated from its sides: the fit keeps to what is believed of heat and conductivity and calls the rest the model's own error"),
        fitted("learning-bread-surface", "the same: the surface", BREAD,
            "root mean square gap of 15 temperatures, K", AtMost(5.0), || missed(bread(), Read::Temperature, 1.0))
            .outside("the same plate: it can't describe a loaf"),
        fitted("learning-bread-moisture", "the same: the moisture", BREAD,
            "root mean square gap of 8 moistures, points", AtMost(0.6), || missed(bread(), Read::Moisture, 0.0))
            .outside("the same plate: it can't describe a loaf"),
        fitted("learning-bread-means-nothing", "and what it pays for its wrong shape is told: a factor far from what was believed, one that can't be told from another, or readings that are missed", BREAD,
            "findings that say so", Between(1.0, 99.0), || {
                let said = [learning::Code::RanAway, learning::Code::NotToldApart, learning::Code::FitsPoorly];
                bread().findings.iter().filter(|f| said.iter().any(|c| f.code == *c)).count() as f64
            }),
        fitted("learning-apple-curve", "apple slices dry as a plate with a surface law, both faces taken as open", APPLE,
            "root mean square gap of 36 moistures, kg/kg dry", AtMost(0.1), || apple().0)
            .outside("a slice loses most of its thickness as it dries, and one diffusivity over a plate that keeps its own bends the curve otherwise"),
        fitted("learning-apple-apart", "one thickness can't tell the diffusivity from the surface: the fit says so", APPLE,
            "correlation of ln D and ln Bi, size", Between(0.99, 1.0), || apple().1),
    ]
}

/// Minutes and value.
type Points = &'static [(f64, f64)];

/// Middle, surface \[°C\], and moisture \[kg/kg dry solid\].
#[rustfmt::skip] // a table reads best as a table
const CENTRE: Points = &[
    (0.0153, 23.6798),
    (1.0085, 24.5693),
    (2.0038, 28.3106),
    (3.0019, 35.9157),
    (4.0081, 45.7744),
    (5.0035, 57.9334),
    (6.0104, 68.8041),
    (7.0112, 79.8130),
    (8.0098, 88.0160),
    (9.0061, 93.0913),
    (10.0192, 95.4061),
    (11.0186, 96.3874),
    (12.0115, 96.9550),
    (12.9917, 97.3389),
    (13.2619, 97.5146),
];
#[rustfmt::skip] // a table reads best as a table
const SURFACE: Points = &[
    (0.0, 26.4404),
    (1.0252, 63.3912),
    (2.0049, 71.4568),
    (3.0031, 79.0619),
    (4.0072, 86.1609),
    (5.0094, 90.8219),
    (6.0041, 93.8273),
    (7.0172, 96.0961),
    (8.0181, 99.0093),
    (9.0066, 102.1069),
    (10.0142, 105.5259),
    (11.0154, 108.8070),
    (11.9974, 111.4908),
    (12.9981, 114.0820),
    (13.2686, 114.6257),
];
#[rustfmt::skip] // a table reads best as a table
const MOISTURE: Points = &[
    (0.0482, 0.53734),
    (1.9861, 0.52704),
    (5.0930, 0.50934),
    (7.0742, 0.49784),
    (9.0786, 0.48154),
    (11.1009, 0.46066),
    (13.2695, 0.42692),
    (14.9864, 0.39781),
];

/// A plain wheat dough of the printed moisture, risen, on a grid: make-up and pores are ours.
fn bread_input() -> BakeInput {
    let parts = [("wheat_flour_hard", 100.0), ("water", 46.3), ("salt", 1.5)];
    let line = |(id, parts): (&str, f64)| Line::new(shelf::find(id).expect("on the shelf"), parts);
    let formula = Formula::new(parts.into_iter().map(line).collect()).expect("legal lines");
    let dry = formula.dry_solids();
    let settings = PropertySettings {
        density: Some(DoughDensity::Gas(0.5)),
        sorption: study::chain::dough_and_piece::sorption_settings(&dry, &Default::default()),
        ..PropertySettings::default()
    };
    let solids = study::chain::dough_and_piece::for_properties(&dry);
    let moisture = measure::DryBasis(0.537);
    let dough =
        dough_properties(&solids, moisture.to_wet(), &settings).expect("a dough that can be");
    BakeInput {
        thickness_m: 0.0248,
        initial_moisture: moisture,
        initial_temperature_k: kelvin(24.0),
        dry_solid_kg_per_m3: dough.density.dry_solid_kg_per_m3,
        closures: dough.closures(),
        edge: None,
        stages: vec![Stage {
            name: "oven".into(),
            kind: StageKind::Oven,
            duration_s: 900.0,
            air_k: kelvin(190.0),
            radiating_k: kelvin(190.0),
            band_k: kelvin(190.0),
            air_vapour_pa: air::vapour_pressure_pa(0.0077, PRESSURE_PA),
            top_w_per_m2_k: 10.0,
            bottom_w_per_m2_k: 18.0,
            band_open: 1.0,
            vapour_exchange: 1.0,
        }],
        cells: 24,
        accuracy: Accuracy::Quick,
    }
}

/// The fit to all three curves at once.
fn bread() -> &'static Fit {
    static DONE: OnceLock<Fit> = OnceLock::new();
    DONE.get_or_init(|| {
        let input = bread_input();
        let mut rows = Vec::new();
        let mut put = |points: Points, kind, height_m: Option<f64>| {
            for (minutes, value) in points {
                let value = if kind == Read::Moisture {
                    100.0 * value / (1.0 + value)
                } else {
                    *value
                };
                rows.push(Row {
                    line: rows.len() + 1,
                    bake: "bread".to_owned(),
                    kind,
                    time_s: 60.0 * minutes,
                    value,
                    before_g: None,
                    height_m,
                });
            }
        };
        put(CENTRE, Read::Temperature, Some(0.5 * input.thickness_m));
        put(SURFACE, Read::Temperature, Some(input.thickness_m));
        put(MOISTURE, Read::Moisture, None);
        let chosen = [
            Parameter::TopHeat,
            Parameter::BandHeat,
            Parameter::MassTransfer,
            Parameter::LiquidDiffusivity,
            Parameter::VapourPath,
            Parameter::Conductivity,
        ];
        let bakes = Bakes::new(&input, rows, chosen.map(Chosen::whole).to_vec());
        let asked = Asked {
            starts: 3,
            draws: 0,
            ..Asked::USUAL
        };
        fit(&bakes, asked, &|_| true).expect("a bread that can be followed")
    })
}

/// Root mean square gap of the readings of a kind (at a height share, for temperatures).
fn missed(fit: &Fit, kind: Read, height_share: f64) -> f64 {
    let at = |r: &Row| {
        r.height_m
            .is_none_or(|h| (h / 0.0248 - height_share).abs() < 1e-6)
    };
    let of = fit
        .rows
        .iter()
        .zip(&fit.compared)
        .filter(|(r, _)| r.kind == kind && at(r));
    let gaps: Vec<f64> = of.map(|(r, c)| (r.value - c.fitted).powi(2)).collect();
    (gaps.iter().sum::<f64>() / gaps.len() as f64).sqrt()
}

/// Minutes, and kg/kg dry.
#[rustfmt::skip] // a table reads best as a table
const SLICES: Points = &[
    (4.10, 6.4435),
    (14.64, 6.2483),
    (23.43, 6.0530),
    (31.63, 5.8577),
    (40.42, 5.6527),
    (49.79, 5.4086),
    (57.99, 5.2329),
    (67.94, 4.9888),
    (78.49, 4.7936),
    (87.85, 4.5788),
    (99.57, 4.3250),
    (111.87, 4.0907),
    (121.83, 3.8954),
    (134.72, 3.6611),
    (145.26, 3.4463),
    (156.98, 3.2510),
    (169.28, 3.0265),
    (180.99, 2.8117),
    (193.29, 2.6165),
    (206.76, 2.3919),
    (219.65, 2.1869),
    (233.12, 2.0014),
    (246.01, 1.8159),
    (259.48, 1.6402),
    (273.54, 1.4644),
    (287.01, 1.3278),
    (302.82, 1.1520),
    (318.05, 1.0056),
    (339.72, 0.8201),
    (374.28, 0.6053),
    (398.88, 0.4784),
    (424.07, 0.4100),
    (448.08, 0.3515),
    (471.51, 0.3222),
    (497.28, 0.2929),
    (519.54, 0.2538),
];

/// Root mean square gap, and the size of the correlation of ln D and ln Bi: half a thickness of 3 mm, start and end free.
fn apple() -> (f64, f64) {
    let values = |b: &[f64]| -> Vec<f64> {
        let (d, biot) = (b[0].exp(), b[1].exp());
        let left = |minutes: f64| plate(biot, d * 60.0 * minutes / 0.003_f64.powi(2), 0.0).1;
        SLICES
            .iter()
            .map(|(t, _)| b[3] + (b[2] - b[3]) * left(*t))
            .collect()
    };
    let slopes = |b: &[f64]| {
        let mut out = DMatrix::zeros(SLICES.len(), b.len());
        for c in 0..b.len() {
            let at = |step: f64| {
                let mut moved = b.to_vec();
                moved[c] += step;
                values(&moved)
            };
            let (up, down) = (at(1e-4), at(-1e-4));
            for i in 0..SLICES.len() {
                out[(i, c)] = (up[i] - down[i]) / 2e-4;
            }
        }
        out
    };
    let observed: Vec<f64> = SLICES.iter().map(|(_, x)| *x).collect();
    let sd = vec![0.05; observed.len()];
    let problem = Problem {
        values: &values,
        slopes: &slopes,
        observed: &observed,
        sd: &sd,
        beliefs: &[],
    };
    let found = likeliest(
        &problem,
        &[2e-9_f64.ln(), 0.5_f64.ln(), 6.6, 0.1],
        Closeness::WhatMatters,
    );
    let rms = 0.05 * (found.misfit / observed.len() as f64).sqrt();
    // Too alike for the matrix to be inverted at all is as alike as can be.
    let alike = found
        .covariance
        .map_or(1.0, |c| (c[(0, 1)] / (c[(0, 0)] * c[(1, 1)]).sqrt()).abs());
    (rms, alike)
}
