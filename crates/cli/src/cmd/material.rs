//! `hardtack material`: the built-in table of raw materials, with source and grade of every value.

use crate::args::Material;
use crate::table::{Row, Side, WIDTH, cut, table, wrap};
use crate::{End, tell};
use formula::{Nutrient, shelf};
use measure::Source;
use serde_json::{Value, json};

/// Does what was asked.
pub fn run(args: Material) -> anyhow::Result<End> {
    match args {
        Material::List { word, json } => list(word.as_deref(), json),
        Material::Show { id, json } => show(&id, json),
    }
}

fn percent(m: &formula::Material, n: Nutrient) -> String {
    m.composition.get(n).map_or_else(
        || "unknown".to_owned(),
        |v| format!("{:.1}", 100.0 * v.fraction),
    )
}

fn list(word: Option<&str>, as_json: bool) -> anyhow::Result<End> {
    let word = word.unwrap_or_default().to_lowercase();
    let found: Vec<_> = shelf::shelf()
        .iter()
        .filter(|m| {
            [&m.id, &m.name, &m.label_name]
                .iter()
                .any(|t| t.to_lowercase().contains(&word))
                || m.category.word().contains(&word)
        })
        .collect();
    if as_json {
        let all: Vec<Value> = found.iter().map(|m| material_json(m)).collect();
        tell::json(&all)?;
        return Ok(End::Fine);
    }
    if found.is_empty() {
        let near = shelf::closest(&word);
        anyhow::bail!(
            "no material has `{word}` in its name or group; the closest names: {}",
            near.join(", ")
        );
    }
    let rows: Vec<Row> = found
        .iter()
        .map(|m| {
            Row::Cells(vec![
                m.id.clone(),
                cut(&m.name, 28),
                percent(m, Nutrient::Moisture),
                percent(m, Nutrient::CrudeProtein),
                percent(m, Nutrient::CrudeFat),
                percent(m, Nutrient::Ash),
                m.water_uptake_kg_per_kg()
                    .map_or("unknown".to_owned(), |u| format!("{u:.2}")),
            ])
        })
        .collect();
    let mut sides = vec![Side::Left, Side::Left];
    sides.extend([Side::Right; 5]);
    tell::out(&table(
        &[
            "",
            "",
            "water %",
            "protein %",
            "fat %",
            "ash %",
            "takes kg/kg",
        ],
        &sides,
        &rows,
    ))?;
    tell::out(&format!(
        "{} materials; `hardtack material show ID` tells source and grade of each value\n",
        found.len()
    ))?;
    Ok(End::Fine)
}

fn material_json(m: &formula::Material) -> Value {
    let composition: serde_json::Map<String, Value> = Nutrient::ALL
        .into_iter()
        .map(|n| {
            let value = m.composition.get(n).map_or(Value::Null, |v| {
                json!({ "pct": 100.0 * v.fraction, "sd_pct": 100.0 * v.sd_or_default(n), "source": v.source })
            });
            (n.word().replace(' ', "_"), value)
        })
        .collect();
    json!({
        "id": m.id, "name": m.name, "label_name": m.label_name, "category": m.category.word(),
        "composition": composition, "nitrogen_factor": m.nitrogen_factor,
        "loss_on_baking_pct": 100.0 * m.loss_on_baking_fraction.fraction,
        "gluten": m.gluten.word(),
        "allergens": m.allergens.iter().map(|a| a.allergen.word()).collect::<Vec<_>>(),
        "water_uptake": m.water_uptake, "price_per_kg": m.price,
        "bulk_density_kg_per_m3": m.bulk_density_kg_per_m3,
        "caution": m.caution, "notes": m.notes, "source": m.source,
    })
}

fn show(id: &str, as_json: bool) -> anyhow::Result<End> {
    let Some(m) = shelf::find(id) else {
        anyhow::bail!(
            "no material `{id}`; the closest names: {}",
            shelf::closest(id).join(", ")
        );
    };
    if as_json {
        tell::json(&material_json(&m))?;
        return Ok(End::Fine);
    }
    let mut text = format!(
        "{}  {} ({})\n",
        tell::styled(tell::BOLD, &m.name),
        m.id,
        m.category.word()
    );
    let told = |s: &Source| (s.grade.word().to_owned(), cut(&s.text, 40));
    let mut rows: Vec<Row> = Nutrient::ALL
        .into_iter()
        .map(|n| match m.composition.get(n) {
            Some(v) => {
                let (grade, source) = told(&v.source);
                Row::Cells(vec![
                    format!("{}, {}", n.word(), n.unit()),
                    format!("{:.2}", v.fraction * n.per_unit()),
                    format!("± {:.2}", v.sd_or_default(n) * n.per_unit()),
                    grade,
                    source,
                ])
            }
            None => Row::Cells(vec![
                format!("{}, {}", n.word(), n.unit()),
                "unknown".into(),
                String::new(),
                String::new(),
                String::new(),
            ]),
        })
        .collect();
    if let Some(u) = &m.water_uptake {
        let (grade, source) = told(&u.source);
        rows.push(Row::Cells(vec![
            "water uptake, kg/kg".into(),
            format!("{:.2}", u.kg_per_kg),
            format!("± {:.2}", u.sd),
            grade,
            source,
        ]));
    }
    if let Some(p) = &m.price {
        let (grade, source) = told(&p.source);
        rows.push(Row::Cells(vec![
            "price per kg".into(),
            format!("{:.2}–{:.2}", p.low_per_kg, p.high_per_kg),
            String::new(),
            grade,
            source,
        ]));
    }
    text.push_str(&table(
        &["", "value", "sd", "grade", "source"],
        &[Side::Left, Side::Right, Side::Left, Side::Left, Side::Left],
        &rows,
    ));
    text.push_str(&format!(
        "gluten: {}; label name: {}\n",
        m.gluten.word(),
        m.label_name
    ));
    if !m.allergens.is_empty() {
        let names: Vec<&str> = m.allergens.iter().map(|a| a.allergen.word()).collect();
        text.push_str(&format!("allergens: {}\n", names.join(", ")));
    }
    for (what, words) in [("caution", &m.caution), ("notes", &m.notes)] {
        if !words.is_empty() {
            text.push_str(&wrap(&format!("{what}: {words}"), WIDTH, ""));
        }
    }
    text.push_str(&wrap(
        &format!("source: {} [{}]", m.source.text, m.source.grade.word()),
        WIDTH,
        "",
    ));
    tell::out(&text)?;
    Ok(End::Fine)
}
