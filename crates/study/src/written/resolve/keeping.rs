//! How a pack is kept: its film, its measures, its climate.

use super::super::problem::{Code, Problem};
use super::super::reader::Reader;
use super::super::row::Row;
use crate::model::FilmChoice;
use crate::model::Keeping;
use baking::after::Climate;
use measure::{Range, temperature::kelvin};

/// Temperatures of a store, °C, as the keeping takes them.
const STORE_C: Range = Range::new(-20.0, 60.0);
/// Most spells of a year.
const MOST_SPELLS: usize = 52;

/// The keeping of a merged pack; what isn't written is as usual.
pub(super) fn keeping(row: &Row, path: &str, reader: &mut Reader<'_>) -> Option<Keeping> {
    if row.has("film") && row.has("film_g_m2_day") {
        reader.tell(
            Problem::new(
                Code::Contradiction,
                row.place("film"),
                format!("{path}.film"),
                "`film` and `film_g_m2_day` exclude each other",
            )
            .suggest("take one of them out"),
        );
        return None;
    }
    let usual = Keeping::default();
    let own = row.number("film_g_m2_day").map(FilmChoice::Transmission);
    let known = row.text("film").map(|f| FilmChoice::Known(f.to_owned()));
    Some(Keeping {
        film: own.or(known).unwrap_or(usual.film),
        pack_area_m2: row
            .number("area_cm2")
            .map_or(usual.pack_area_m2, |cm2| cm2 / 1e4),
        pack_kg: row.number("content_g").map_or(usual.pack_kg, |g| g / 1e3),
        climate: match row.text("climate") {
            Some(text) => climate(text, row, path, reader)?,
            None => usual.climate,
        },
        months: row.number("keep_months").unwrap_or(usual.months),
        crisp_water_activity: row
            .number("crisp_water_activity")
            .unwrap_or(usual.crisp_water_activity),
    })
}

fn climate(text: &str, row: &Row, path: &str, reader: &mut Reader<'_>) -> Option<Climate> {
    let spells: Vec<&str> = text.split(',').map(str::trim).collect();
    let mut wrong = (spells.len() > MOST_SPELLS).then(|| {
        format!(
            "the climate has {} spells; at most {MOST_SPELLS} share a year",
            spells.len()
        )
    });
    let mut year = Vec::new();
    for spell in &spells {
        let both = spell.split_once('/').and_then(|(c, pct)| {
            Some((
                c.trim().parse::<f64>().ok()?,
                pct.trim().parse::<f64>().ok()?,
            ))
        });
        match both {
            Some((c, pct)) if STORE_C.contains(c) && Range::new(0.0, 100.0).contains(pct) => {
                year.push((kelvin(c), pct / 100.0));
            }
            _ => {
                let spell: String = spell.chars().take(40).collect();
                wrong.get_or_insert(format!("‘{spell}’ is no climate"));
            }
        }
    }
    let Some(message) = wrong else {
        return Some(match year[..] {
            [(k, humidity)] => Climate::steady(k, humidity),
            _ => Climate::months(&year),
        });
    };
    reader.tell(
        Problem::new(
            Code::BadText,
            row.place("climate"),
            format!("{path}.climate"),
            message,
        )
        .allowed(format!(
            "temperature {STORE_C} °C / relative humidity 0 to 100 %, with a point for decimals"
        ))
        .suggest("write \"25/65\", or \"10/60, 30/75\" for two halves of a year"),
    );
    None
}
