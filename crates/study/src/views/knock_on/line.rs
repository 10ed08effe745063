//! The line, told.

use super::{Line, Station};
use baking::line::{self, LineResult};

pub(super) fn line(r: &LineResult) -> Line {
    let name_of = |s: line::Station| {
        r.stations
            .iter()
            .find(|x| x.station == s)
            .map_or(s.word(), |x| x.name)
            .to_owned()
    };
    let whole = r.output_kg_per_h / r.baked_kg_per_h;
    let oven = r.stations.iter().find(|s| s.station == line::Station::Oven);
    Line {
        bottleneck: name_of(r.bottleneck),
        output_kg_per_h: r.output_kg_per_h,
        output_pieces_per_h: r.output_pieces_per_h,
        oven_kg_per_h: oven.map(|s| s.capacity_kg_per_h * whole),
        evaporation_kg_per_h: r.evaporation_kg_per_h,
        heat_kwh_per_kg: r.heat_kwh_per_kg,
        fuel_kwh_per_kg: r.fuel_kwh_per_kg,
        rework_pct: 100.0 * r.rework.returned,
        trim_left_over_kg_per_h: r.excess_trim_kg_per_h,
        broken_kg_per_h: r.broken_kg_per_h,
        giveaway_kg_per_h: r.giveaway_kg_per_h,
        dough_kg_per_h: r.dough_kg_per_h,
        stations: r
            .stations
            .iter()
            .map(|s| Station {
                name: s.name.to_owned(),
                capacity_kg_per_h: s.capacity_kg_per_h * whole,
                use_fraction: s.use_of_capacity,
                how: s.how.clone(),
            })
            .collect(),
    }
}
