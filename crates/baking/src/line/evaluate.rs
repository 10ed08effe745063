//! The whole line at once: capacity of every station, the bottleneck, and what follows from it.

use super::capacity;
use super::cost::{self, Cost};
use super::energy::{self, Temperatures};
use super::findings::findings;
use super::load::passing;
use super::losses::{self, Heating, OvenHeat};
use super::{LineError, LineLoad, LineSetting, Rework, Station};
use measure::{Finding, units::HOUR_S};
use serde::Serialize;

/// One station's answer. Capacities of all stations are told at the same place, so that they can be
/// compared: pieces formed per hour that the station could keep up with, and what those weigh baked.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StationResult {
    /// Which one.
    pub station: Station,
    /// What it is called on this line.
    pub name: &'static str,
    /// Pieces formed per hour that it could keep up with.
    pub capacity_pieces_per_h: f64,
    /// The same as mass baked \[kg/h\].
    pub capacity_kg_per_h: f64,
    /// Share of it that the line uses; one for the bottleneck.
    pub use_of_capacity: f64,
    /// How it was worked out, in words.
    pub how: String,
}

/// The line's answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LineResult {
    /// Every station, in the order of the dough.
    pub stations: Vec<StationResult>,
    /// The station that limits.
    pub bottleneck: Station,
    /// Pieces into the oven per hour.
    pub formed_pieces_per_h: f64,
    /// Whole pieces packed per hour.
    pub output_pieces_per_h: f64,
    /// Product packed \[kg/h\], breakage taken off.
    pub output_kg_per_h: f64,
    /// Product out of the oven and cooler \[kg/h\], breakage still in it.
    pub baked_kg_per_h: f64,
    /// Baked mass on the oven's area \[kg/m²\].
    pub loading_kg_per_m2: f64,
    /// Speed of the band \[m/s\]; none for a batch oven.
    pub band_m_per_s: Option<f64>,
    /// Water taken off in the oven \[kg/h\]; a dryer's is apart.
    pub evaporation_kg_per_h: f64,
    /// Useful heat \[kWh/kg baked\].
    pub heat_kwh_per_kg: f64,
    /// Fuel or electricity \[kWh/kg baked\].
    pub fuel_kwh_per_kg: f64,
    /// Where the oven's heat goes; none where the person gave useful heat over fuel.
    pub oven_heat: Option<OvenHeat>,
    /// Dough mixed \[kg/h\], rework in it.
    pub dough_kg_per_h: f64,
    /// Batches mixed per hour.
    pub batches_per_h: f64,
    /// Mixers that takes.
    pub mixers_needed: u32,
    /// Rework loop, as shares of the dough at the former.
    pub rework: Rework,
    /// Rework back into the mixer \[kg/h\].
    pub rework_kg_per_h: f64,
    /// Trim above the cap \[kg/h\].
    pub excess_trim_kg_per_h: f64,
    /// Product broken between oven and pack \[kg/h\].
    pub broken_kg_per_h: f64,
    /// Product given away above the label \[kg/h\].
    pub giveaway_kg_per_h: f64,
    /// Cost, when the dough's is known.
    pub cost: Option<Cost>,
    /// What a person should know.
    pub findings: Vec<Finding>,
}

/// Works out a line for a load.
///
/// Every station's capacity is told as pieces formed per hour it could keep up with; the smallest is
/// the line's. In front of a band oven the former runs and stops with the band, so the share of
/// filled places counts for both.
///
/// # Errors
/// A setting or load that can't be, by name; a piece that doesn't fit.
pub fn evaluate(setting: &LineSetting, load: &LineLoad) -> Result<LineResult, LineError> {
    setting.check()?;
    load.check()?;
    let oven = passing(load)?;
    let forming = setting.former.forming(load, oven.band_m_per_s)?;
    let rework = Rework::steady(forming.trim, setting.rework_cap);
    // Dough mixed for one kg of dough in pieces.
    let mixed_per_piece_dough = 1.0 / ((1.0 - setting.dough_loss) * (1.0 - rework.trim));
    let coupled = if oven.band_m_per_s.is_some() {
        setting.oven_utilisation
    } else {
        1.0
    };
    let percent_filled = setting.oven_utilisation * 100.0;

    let capacity = |station: Station| -> Option<(f64, &'static str, String)> {
        Some(match station {
            Station::Mixer => {
                let m = &setting.mixer;
                let dough = f64::from(m.count) * m.batch_kg * HOUR_S / m.cycle_s;
                (
                    dough / mixed_per_piece_dough / load.green_kg,
                    station.word(),
                    format!(
                        "{} × {:.0} kg every {:.0} min = {dough:.0} kg dough/h",
                        m.count,
                        m.batch_kg,
                        m.cycle_s / 60.0
                    ),
                )
            }
            Station::Former => (
                forming.pieces_per_h * coupled,
                setting.former.word(),
                forming.how.clone(),
            ),
            Station::Oven => (
                oven.pieces_per_h * setting.oven_utilisation,
                station.word(),
                format!("{}, {percent_filled:.0} % filled", oven.how),
            ),
            Station::Dryer => {
                let dryer = setting.dryer.filter(|_| load.dries_apart())?;
                (
                    dryer.pieces_per_h(load.layout.pieces_per_m2(), load.steps_s()),
                    station.word(),
                    format!("{:.1} m², {:.1} min", dryer.area_m2, load.steps_s() / 60.0),
                )
            }
            Station::Cooler => (
                setting
                    .cooler
                    .pieces_per_h(load.layout.pieces_per_m2(), load.cooling_time_s),
                station.word(),
                format!(
                    "{:.1} m², {:.1} min",
                    setting.cooler.area_m2,
                    load.cooling_time_s / 60.0
                ),
            ),
            Station::Packer => {
                let p = &setting.packer;
                (
                    p.kg_per_h() / load.baked_kg / (1.0 - setting.breakage),
                    station.word(),
                    format!(
                        "{:.1} packs/min of {:.3} kg and {:.1} % giveaway",
                        p.packs_per_min,
                        p.label_kg,
                        p.giveaway * 100.0
                    ),
                )
            }
        })
    };
    let capacities: Vec<_> = Station::ALL
        .into_iter()
        .filter_map(|station| Some((station, capacity(station)?)))
        .collect();
    let (bottleneck, formed) = capacities
        .iter()
        .map(|(station, (pieces, ..))| (*station, *pieces))
        .fold((Station::Oven, f64::INFINITY), |least, next| {
            if next.1 < least.1 { next } else { least }
        });
    let stations: Vec<StationResult> = capacities
        .into_iter()
        .map(|(station, (pieces, name, how))| StationResult {
            station,
            name,
            capacity_pieces_per_h: pieces,
            capacity_kg_per_h: pieces * load.baked_kg,
            use_of_capacity: formed / pieces,
            how,
        })
        .collect();

    let baked_kg_per_h = formed * load.baked_kg;
    let output_kg_per_h = baked_kg_per_h * (1.0 - setting.breakage);
    let giveaway_kg_per_h = output_kg_per_h * setting.packer.giveaway;
    let temperatures = Temperatures::in_oven(load.dough_k, load.exit_k, load.oven);
    // What dries apart leaves the oven wetter, and heavier, than it is packed.
    let leaves = if load.dries_apart() {
        load.exit_moisture
    } else {
        load.baked_moisture
    };
    let heat = energy::heat(
        load.dough_moisture,
        leaves,
        load.solid_heat_capacity_j_per_kg_k,
        &temperatures,
    )
    .times((1.0 - load.baked_moisture.0) / (1.0 - leaves.0));
    let heating = setting.heating.unwrap_or(Heating::usual(&load.oven.kind));
    let oven_heat = losses::oven_heat(load.oven, heating, &heat, baked_kg_per_h);
    let fuel_kwh_per_kg = setting
        .oven_efficiency
        .map_or(oven_heat.fuel_kwh_per_kg, |read| heat.fuel_kwh_per_kg(read));
    let dough_kg_per_h = formed * load.green_kg * mixed_per_piece_dough;
    let at_former = dough_kg_per_h * (1.0 - setting.dough_loss);
    let batches_per_h = capacity::batches_per_h(dough_kg_per_h, setting.mixer.batch_kg);
    let sold_share = (1.0 - setting.breakage) * (1.0 - setting.packer.giveaway);

    let cost = load.cost_per_kg_dough.map(|per_kg_dough| {
        let waste = 1.0 - (1.0 - setting.dough_loss) * rework.pieces_per_fresh();
        let ingredients_per_kg = cost::ingredients_per_kg(
            per_kg_dough,
            load.baked_kg / load.green_kg,
            waste,
            setting.breakage,
            setting.packer.giveaway,
        );
        let c = &setting.conversion;
        let conversion_per_kg = c.per_kg
            + c.per_line_hour / (baked_kg_per_h * sold_share)
            + c.per_kwh * fuel_kwh_per_kg / sold_share;
        let per_kg = ingredients_per_kg + conversion_per_kg;
        Cost {
            ingredients_per_kg,
            conversion_per_kg,
            per_kg,
            per_piece: per_kg * load.baked_kg * (1.0 - setting.packer.giveaway),
        }
    });

    let mut result = LineResult {
        stations,
        bottleneck,
        formed_pieces_per_h: formed,
        output_pieces_per_h: formed * (1.0 - setting.breakage),
        output_kg_per_h,
        baked_kg_per_h,
        loading_kg_per_m2: oven.pieces_in_oven * load.baked_kg / load.oven.loading_area_m2(),
        band_m_per_s: oven.band_m_per_s,
        evaporation_kg_per_h: baked_kg_per_h * heat.water_kg_per_kg,
        heat_kwh_per_kg: heat.kwh_per_kg(),
        fuel_kwh_per_kg,
        oven_heat: setting.oven_efficiency.is_none().then_some(oven_heat),
        dough_kg_per_h,
        batches_per_h,
        mixers_needed: capacity::mixers_needed(batches_per_h, setting.mixer.cycle_s),
        rework,
        rework_kg_per_h: at_former * rework.returned,
        excess_trim_kg_per_h: at_former * rework.excess,
        broken_kg_per_h: baked_kg_per_h - output_kg_per_h,
        giveaway_kg_per_h,
        cost,
        findings: Vec::new(),
    };
    result.findings = findings(setting, load, &result);
    Ok(result)
}
