//! The document about the movement of water: diffusivities and reference solutions.

use super::{Answered, compared};
use baking::bake::case::{CaseFile, output};
use baking::bake::{Accuracy, DryEnd, LiquidDiffusivity, Workspace, bake};
use baking::properties::TransportSettings;
use measure::temperature::kelvin;
use serde_json::{Value, json};

/// Parts of the document that are no checks: what it is about, and what was recommended and drawn.
const TOLD: [&str; 6] = [
    "about",
    "law",
    "recommended",
    "draw",
    "posterior_importance_sampled",
    "posterior_laplace",
];

pub(super) fn run(document: &Value) -> Result<Vec<Answered>, String> {
    let parts = document
        .as_object()
        .ok_or("a document of named parts is needed")?;
    if !parts.contains_key("pairs") && !parts.contains_key("cells_40") {
        return Err("no list of checks, and no document about the movement of water".into());
    }
    if parts.contains_key("cells_40") {
        return Ok(reference("reference", document));
    }
    let mut out = Vec::new();
    for (name, part) in parts {
        match name.as_str() {
            "pairs" => out.extend(crate::transport::pairs_answered(part).into_iter().map(
                |(id, expected, tolerance, got)| {
                    compared(
                        ("pairs".into(), id),
                        &json!(expected),
                        tolerance,
                        got.map(|v| vec![v]),
                    )
                },
            )),
            "liquid_diffusivity_checks" => {
                out.extend(part.as_array().into_iter().flatten().map(diffusivity));
            }
            "reference_solutions" => {
                for (name, solution) in part.as_object().into_iter().flatten() {
                    out.extend(reference(name, solution));
                }
            }
            told if TOLD.contains(&told) => {}
            other => out.push(compared(
                (other.to_owned(), other.to_owned()),
                part,
                0.0,
                Err(format!("nothing here knows {other}")),
            )),
        }
    }
    Ok(out)
}

/// The law that the bake takes unless told otherwise.
fn law() -> LiquidDiffusivity {
    let t = TransportSettings::default().resolve(&mut Vec::new());
    LiquidDiffusivity {
        d0_m2_per_s: t.liquid_diffusivity_m2_per_s,
        activation_j_per_mol: t.activation_j_per_mol,
        reference_k: t.reference_k,
        moisture_exponent: t.moisture_exponent,
        dry_end: DryEnd::of(t.dry_moisture, t.dry_power),
    }
}

fn diffusivity(row: &Value) -> Answered {
    let of = |key: &str| row[key].as_f64().unwrap_or(f64::NAN);
    let (celsius, x, wanted) = (of("T_C"), of("X"), of("D_l_m2_s"));
    let got = law().m2_per_s(x, kelvin(celsius));
    // Relative to the value, which spans three decades.
    let id = format!("{celsius} °C, X {x}");
    compared(
        ("liquid diffusivity".into(), id),
        &json!(wanted),
        1e-6 * wanted,
        Ok(vec![got]),
    )
}

/// A reference solution on the same 40 cells: moistures within 1e-6, temperatures within 0.005 K.
fn reference(name: &str, solution: &Value) -> Vec<Answered> {
    let columns = &solution["cells_40"];
    let run = || -> Result<_, String> {
        let mut file: CaseFile =
            serde_json::from_value(solution["case"].clone()).map_err(|e| e.to_string())?;
        file.output_times =
            serde_json::from_value(columns["t"].clone()).map_err(|e| e.to_string())?;
        let mut case = file.read().map_err(|e| e.to_string())?;
        case.input.accuracy = Accuracy::Tight;
        let baked =
            bake(&case.input, &case.ask, &mut Workspace::new()).map_err(|e| e.to_string())?;
        serde_json::to_value(output(&baked)).map_err(|e| e.to_string())
    };
    let found = run();
    [
        ("X_mean", 1e-6),
        ("X_top", 1e-6),
        ("X_mid", 1e-6),
        ("X_bottom", 1e-6),
        ("T_top_C", 0.005),
        ("T_mid_C", 0.005),
        ("T_bottom_C", 0.005),
    ]
    .into_iter()
    .map(|(key, tolerance)| {
        let numbers =
            |v: &Value| -> Vec<f64> { serde_json::from_value(v.clone()).unwrap_or_default() };
        let got = found.as_ref().map_err(Clone::clone).map(|found| {
            let (found, wanted) = (numbers(&found[key]), numbers(&columns[key]));
            if found.len() != wanted.len() || found.is_empty() {
                return vec![f64::INFINITY];
            }
            let gaps = found.iter().zip(&wanted).map(|(a, b)| (a - b).abs());
            vec![gaps.fold(0.0, f64::max)]
        });
        compared(
            (
                "reference solution".into(),
                format!("{name} {key}, largest difference"),
            ),
            &json!(0.0),
            tolerance,
            got,
        )
    })
    .collect()
}
