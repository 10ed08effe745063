//! Solutes: solutions alone, with an isotherm, and soft treats.

use super::{Got, number};
use baking::properties::sorption::{Solute, norrish, pitzer};
use serde_json::Value;

/// The solute of a name.
fn named(name: &str) -> Option<Solute> {
    let name = name.trim_end_matches(" amorphous");
    Solute::ALL.into_iter().find(|s| s.word() == name)
}

pub(super) fn answer(id: &str, inputs: &Value) -> Got {
    if let Some(product) = inputs["product"].as_str() {
        return treat(product, inputs);
    }
    if inputs["rule"].is_string() {
        return with_isotherm(id, inputs);
    }
    if inputs["salt"].is_string() {
        let of = |key| number(inputs, key).ok_or(format!("{key} is missing"));
        return Ok(vec![pitzer(
            of("molal")?,
            of("b0")?,
            of("b1")?,
            of("Cphi")?,
        )]);
    }
    let name = inputs["solute"]
        .as_str()
        .ok_or("no solute is named; only solutions by Norrish, Wilson and Pitzer are known")?;
    let solute = named(name).ok_or(format!("no law is known for {name}"))?;
    if let (Some(a), Some(ask)) = (number(inputs, "a_w"), inputs["ask"].as_str()) {
        let held = solute.water_held(a);
        return match ask {
            "wt% glycerol in solution" => Ok(vec![100.0 / (1.0 + held)]),
            "g water/100 g solids" => Ok(vec![100.0 * held]),
            _ => Err(format!("nothing here knows {ask}")),
        };
    }
    let share =
        number(inputs, "wt_frac_in_water").ok_or("neither share nor water activity is given")?;
    let water = (1.0 - share) / share;
    if let Some(k) = number(inputs, "K") {
        // The equation at the constant that is given, whichever law the solute has here.
        let moles = 1.0 / solute.kg_per_mol();
        return Ok(vec![norrish(moles / (moles + water / 0.018_015), k)]);
    }
    let celsius = number(inputs, "T_C").unwrap_or(25.0);
    Ok(vec![solute.water_activity(water, celsius)])
}

/// Oswin's equation.
struct Oswin {
    a: f64,
    n: f64,
}

impl Oswin {
    fn activity(&self, x: f64) -> f64 {
        let odds = (x / self.a).powf(1.0 / self.n);
        odds / (1.0 + odds)
    }

    fn moisture(&self, activity: f64) -> f64 {
        self.a * (activity / (1.0 - activity)).powf(self.n)
    }
}

/// By Ross, or with each part holding its own water.
fn mixed(base: &Oswin, solute: Solute, share: f64, x: f64, ross: bool) -> f64 {
    if share == 0.0 {
        return base.activity(x);
    }
    if ross {
        return base.activity(x / (1.0 - share)) * solute.water_activity(x / share, 25.0);
    }
    let (mut low, mut high) = (1e-6, 1.0 - 1e-9);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        let held = (1.0 - share) * base.moisture(middle) + share * solute.water_held(middle);
        if held < x {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

const DOUGH: Oswin = Oswin { a: 0.098, n: 0.38 };
const MEAT: Oswin = Oswin { a: 0.2841, n: 0.4 };
/// Dry solid of raw meat, taken by us.
const RAW_MEAT_SOLIDS: f64 = 25.0;

fn with_isotherm(id: &str, inputs: &Value) -> Got {
    let ross = !id.contains("additive");
    if let (Some(moisture), Some(glycerol)) = (
        number(inputs, "moisture_wb"),
        number(inputs, "glycerol_per_100g_solids"),
    ) {
        let x = moisture / (100.0 - moisture);
        return Ok(vec![mixed(
            &DOUGH,
            Solute::Glycerol,
            glycerol / 100.0,
            x,
            ross,
        )]);
    }
    // A soft treat told by its name alone.
    let moisture = [
        ("10glycerol", 30.24),
        ("15glycerol", 24.96),
        ("10sorbitol", 27.11),
        ("15sorbitol", 25.45),
    ];
    let treat = moisture
        .into_iter()
        .find(|(name, _)| id.ends_with(name))
        .ok_or("no mixture is known by that name")?;
    Ok(vec![jerky(treat.0, treat.1, ross)?])
}

/// Hen jerky with 10 or 15 % of a humectant, as measured moistures have it.
fn jerky(name: &str, moisture: f64, ross: bool) -> Result<f64, String> {
    let (dose, solute) = name.split_at(2);
    let dose: f64 = dose.parse().map_err(|_| format!("{name} tells no dose"))?;
    let solute = named(solute).ok_or(format!("no law is known for {solute}"))?;
    let x = moisture / (100.0 - moisture);
    Ok(mixed(
        &MEAT,
        solute,
        dose / (RAW_MEAT_SOLIDS + dose),
        x,
        ross,
    ))
}

fn treat(product: &str, inputs: &Value) -> Got {
    let moisture = number(inputs, "moisture_wb_pct").ok_or("no moisture is given")?;
    let dose = product
        .split_once("hen jerky ")
        .and_then(|(_, rest)| rest.split_once("% "))
        .ok_or(format!("nothing here knows {product}"))?;
    Ok(vec![jerky(
        &format!("{}{}", dose.0, dose.1),
        moisture,
        true,
    )?])
}
