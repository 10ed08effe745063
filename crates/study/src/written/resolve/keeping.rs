//! How a pack is kept: its film, its measures, its climate.

use super::super::path::At;
use super::super::problem::{ClimateFault, Problems, STORE_C, What};
use super::super::tables::PackRow;
use crate::model::FilmChoice;
use crate::model::Keeping;
use baking::after::Climate;
use measure::{Range, temperature::kelvin};

/// Most spells of a year.
const MOST_SPELLS: usize = 52;

/// The keeping of a merged pack; what isn't written is as usual.
pub(super) fn keeping(pack: &PackRow<'_>, at: &At<'_>, problems: &mut Problems) -> Option<Keeping> {
    let film = at.key(PackRow::film.name);
    if pack.film.written && pack.film_g_m2_day.written {
        let (one, other) = (PackRow::film.name, PackRow::film_g_m2_day.name);
        problems.tell(&film, &pack.film.place, What::Either { one, other });
        return None;
    }
    let usual = Keeping::default();
    let own = pack.film_g_m2_day.value.map(FilmChoice::Transmission);
    let known = pack
        .film
        .value
        .map(|f| FilmChoice::Known(f.0.key.to_owned()));
    Some(Keeping {
        film: own.or(known).unwrap_or(usual.film),
        pack_area_m2: pack
            .area_cm2
            .value
            .map_or(usual.pack_area_m2, |cm2| cm2 / 1e4),
        pack_kg: pack.content_g.value.map_or(usual.pack_kg, |g| g / 1e3),
        climate: match pack.climate.value.map(climate) {
            Some(Ok(climate)) => climate,
            Some(Err(fault)) => {
                let at = at.key(PackRow::climate.name);
                problems.tell(&at, &pack.climate.place, What::Climate(fault));
                return None;
            }
            None => usual.climate,
        },
        months: pack.keep_months.value.unwrap_or(usual.months),
        crisp_water_activity: pack
            .crisp_water_activity
            .value
            .unwrap_or(usual.crisp_water_activity),
    })
}

fn climate(text: &str) -> Result<Climate, ClimateFault> {
    let spells: Vec<&str> = text.split(',').map(str::trim).collect();
    if spells.len() > MOST_SPELLS {
        return Err(ClimateFault::Spells {
            found: spells.len(),
            most: MOST_SPELLS,
        });
    }
    let spell = |text: &&str| {
        let (c, pct) = text.split_once('/')?;
        let c = c.trim().parse::<f64>().ok()?;
        let pct = pct.trim().parse::<f64>().ok()?;
        let fits = STORE_C.contains(c) && Range::new(0.0, 100.0).contains(pct);
        fits.then(|| (kelvin(c), pct / 100.0))
    };
    let year = spells
        .iter()
        .map(|s| spell(s).ok_or_else(|| ClimateFault::Spell(s.chars().take(40).collect())))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(match year[..] {
        [(k, humidity)] => Climate::steady(k, humidity),
        _ => Climate::months(&year),
    })
}
