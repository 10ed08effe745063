//! Which part of the product answers which topic.

use super::{Got, number, sorption};
use baking::after::checking::brittle_share;
use baking::after::evening::half_time_s;
use baking::after::growth::{GROWTH_LIMITS, mould_free_days};
use baking::bake::colour;
use baking::bake::kill::{WET_LAWS, WetLaw, decades};
use baking::bake::surface::GAS_CONSTANT;
use baking::line::losses::air_j_per_kg_water;
use baking::properties::air;
use formula::Species;
use formula::cautions::{Basis, SUBSTANCES};
use formula::leavening::ACID_SALTS;
use formula::preservative::{SALTS, WeakAcid};
use formula::water::flour_absorption_pct;
use measure::temperature::kelvin;
use serde_json::Value;

/// Answers a check, or says why nothing can.
pub(super) fn answer(topic: &str, id: &str, inputs: &Value) -> Got {
    match topic {
        "solutes" | "solutes validation" => sorption::answer(id, inputs),
        "growth" => growth(inputs),
        "colour" => browning(inputs),
        "kill" => kill(inputs),
        "checking" => evening(inputs),
        "strength" => strength(inputs),
        "flour water" => flour_water(inputs),
        "leavening" => leavening(inputs),
        "energy" => energy(inputs),
        "cautions" => cautions(inputs),
        other => Err(format!("nothing here knows the topic {other}")),
    }
}

fn unknown(what: &str, inputs: &Value) -> String {
    format!("the product says nothing about this {what}: {inputs}")
}

fn growth(inputs: &Value) -> Got {
    if let Some(name) = inputs["organism"].as_str() {
        return organism(name).map(|a| vec![a]);
    }
    if let (Some(celsius), Some(humidity)) = (number(inputs, "T_C"), number(inputs, "ERH_pct")) {
        return mould_free_days(humidity / 100.0, celsius)
            .map(|days| vec![days])
            .ok_or_else(|| "outside what the clock was printed for".into());
    }
    if let (Some(name), Some(ph)) = (inputs["acid"].as_str(), number(inputs, "pH")) {
        let acid = WeakAcid::ALL.into_iter().find(|a| a.word() == name);
        return acid
            .map(|a| vec![100.0 * a.undissociated(ph)])
            .ok_or(format!("no acid {name}"));
    }
    if let Some(ask) = inputs["ask"].as_str() {
        let salt = SALTS
            .iter()
            .find(|s| ask == format!("g {} acid per g {}", s.acid.word(), s.name));
        return salt
            .map(|s| vec![s.acid_share])
            .ok_or_else(|| unknown("acid", inputs));
    }
    Err(unknown("growth", inputs))
}

/// Least water activity of growth of an organism: the upper of the printed values, by its name in the table.
fn organism(name: &str) -> Result<f64, String> {
    // Name in a check, name in the table, and whether the lower of two temperatures is meant.
    const NAMES: [(&str, &str, bool); 11] = [
        ("Salmonella Typhimurium", "Salmonella", true),
        ("C. botulinum A,B", "Clostridium botulinum A, B", true),
        ("C. botulinum E", "Clostridium botulinum E", true),
        ("S. aureus", "Staphylococcus aureus", true),
        ("L. monocytogenes", "Listeria monocytogenes", true),
        ("E. coli", "Escherichia coli", true),
        ("B. cereus", "Bacillus cereus", true),
        (
            "Xeromyces bisporus",
            "yeasts that like sugar, Xeromyces bisporus",
            true,
        ),
        ("P. roqueforti 30 C", "Penicillium roqueforti", true),
        ("Eurotium repens 30 C", "Eurotium repens", false),
        ("Eurotium repens 25 C", "Eurotium repens", true),
    ];
    let (_, what, upper) = NAMES
        .into_iter()
        .find(|n| n.0 == name)
        .ok_or(format!("{name} is not in the table of growth"))?;
    let limit = GROWTH_LIMITS
        .into_iter()
        .find(|g| g.what == what)
        .ok_or(format!("{what} is not in the table of growth"))?;
    let (low, high) = limit.water_activity;
    Ok(if upper { high } else { low })
}

fn browning(inputs: &Value) -> Got {
    if inputs["product"] == "crackers" {
        let low = measure::temperature::celsius(colour::BREAK.range.low);
        let at = measure::temperature::celsius(colour::BREAK.value);
        return Ok(vec![low, at]);
    }
    let (Some(celsius), Some(time_s)) = (number(inputs, "T_C"), number(inputs, "time_s")) else {
        return Err(unknown("colour", inputs));
    };
    let t = kelvin(celsius);
    let carried_down = inputs["law"]
        .as_str()
        .is_some_and(|law| law.contains("carried down"));
    let rate = if carried_down {
        colour::RATE.value * (-colour::ACTIVATION.value / (GAS_CONSTANT * t)).exp()
    } else {
        colour::rate(t)
    };
    Ok(vec![colour::delta_e(time_s * rate)])
}

fn kill(inputs: &Value) -> Got {
    if let (Some(dry), Some(wet)) = (number(inputs, "dry_bulb_C"), number(inputs, "wet_bulb_C")) {
        return Ok(vec![air::humidity_of_wet_bulb(kelvin(dry), kelvin(wet))]);
    }
    let muffin = WET_LAWS[2];
    let wet = WET_LAWS[3];
    if inputs["matrix"] == "muffin batter" {
        return Ok(vec![match number(inputs, "T_C") {
            Some(celsius) => muffin.seconds(celsius) / 60.0,
            None => muffin.z_k,
        }]);
    }
    if inputs["ask"] == "z" {
        return Ok(vec![wet.z_k]);
    }
    if inputs["ask"] == "z by least squares" {
        return Ok(vec![muffin.z_k]);
    }
    let (Some(d), Some(reference), Some(z)) = (
        number(inputs, "Dref_min"),
        number(inputs, "Tref_C"),
        number(inputs, "z_C"),
    ) else {
        return Err(unknown("kill", inputs));
    };
    let law = WetLaw {
        d_s: 60.0 * d,
        reference_celsius: reference,
        z_k: z,
        ..muffin
    };
    if let Some(celsius) = number(inputs, "T_C") {
        return Ok(vec![law.seconds(celsius) / 60.0]);
    }
    let (Some(from), Some(to), Some(rise)) = (
        number(inputs, "T0_C"),
        number(inputs, "T1_C"),
        number(inputs, "K_per_min"),
    ) else {
        return Err(unknown("kill", inputs));
    };
    let ln_rate = |celsius: f64| -law.seconds(celsius).ln();
    let time_s = 60.0 * (to - from) / rise;
    Ok(vec![decades(ln_rate(from), ln_rate(to), time_s)])
}

fn evening(inputs: &Value) -> Got {
    let (Some(mm), Some(d)) = (number(inputs, "half_thickness_mm"), number(inputs, "D")) else {
        return Err(unknown("checking", inputs));
    };
    Ok(vec![half_time_s(1e-3 * mm, d) / 3600.0])
}

/// Breaking force of the dry gluten-free biscuit of the softening curve \[N\].
const GLUTEN_FREE_N: f64 = 68.5;

fn strength(inputs: &Value) -> Got {
    let Some(a) = number(inputs, "a_w") else {
        return Err(unknown("strength", inputs));
    };
    let dry = match (number(inputs, "H0"), inputs["product"].as_str()) {
        (Some(newton), _) => newton,
        (None, Some(product)) if product.contains("gluten-free") => GLUTEN_FREE_N,
        _ => return Err(unknown("strength", inputs)),
    };
    Ok(vec![dry * brittle_share(a)])
}

fn flour_water(inputs: &Value) -> Got {
    let (Some(protein), Some(damaged), Some(moisture)) = (
        number(inputs, "protein"),
        number(inputs, "starch_damage_FU"),
        number(inputs, "moisture"),
    ) else {
        return Err(unknown("flour", inputs));
    };
    Ok(vec![flour_absorption_pct(protein, damaged, moisture)])
}

fn leavening(inputs: &Value) -> Got {
    let Some(acid) = inputs["acid"].as_str() else {
        return Err(unknown("leavening", inputs));
    };
    // Name in a check, and a name by which the product knows the salt.
    const NAMES: [(&str, &str); 4] = [
        ("KH", "cream of tartar"),
        ("SAPP", "sodium acid pyrophosphate"),
        ("ACP", "acid calcium phosphate"),
        ("GDL", "glucono delta lactone"),
    ];
    let known = NAMES.iter().find(|(short, _)| acid.starts_with(short));
    let salt = known.and_then(|(_, name)| ACID_SALTS.iter().find(|(n, _)| n.en.contains(name)));
    salt.map(|(_, parts)| vec![100.0 / parts.value])
        .ok_or_else(|| unknown("acid", inputs))
}

fn energy(inputs: &Value) -> Got {
    let (Some(celsius), Some(humidity)) = (number(inputs, "T_C"), number(inputs, "W_exhaust"))
    else {
        return Err(unknown("energy", inputs));
    };
    Ok(vec![air_j_per_kg_water(kelvin(celsius), humidity) / 1e3])
}

/// A limit of a substance in feed, by the words of a check.
fn cautions(inputs: &Value) -> Got {
    let Some(what) = inputs["what"].as_str() else {
        return Err(unknown("caution", inputs));
    };
    let cat = what.contains("cat") && !what.contains("dog");
    let species = if cat { Species::Cat } else { Species::Dog };
    let substance = SUBSTANCES
        .iter()
        .find(|s| {
            what.to_lowercase()
                .contains(&s.code.word().replace('-', " "))
        })
        .ok_or_else(|| unknown("caution", inputs))?;
    let dry = what.contains("DM");
    let limits = substance
        .limits
        .iter()
        .filter(|l| l.species.contains(&species) && (l.basis == Basis::Dry) == dry);
    let most: Vec<f64> = limits
        .map(|l| l.at_most_kg_per_kg * substance.unit.per_kg_per_kg)
        .collect();
    if most.is_empty() {
        return Err(unknown("caution", inputs));
    }
    Ok(most)
}
