//! What one treatment asks of the line.

use super::LineError;
use super::capacity;
use super::setting::within;
use crate::oven::{Kind, Oven, stages::BAND_TIME_S};
use crate::piece::{Layout, Piece};
use measure::{Range, WetBasis, units::HOUR_S};

/// What the line has to carry: one treatment's piece, bake and cost.
#[derive(Clone, Debug, PartialEq)]
pub struct LineLoad<'a> {
    /// The oven.
    pub oven: &'a Oven,
    /// The piece as formed.
    pub piece: &'a Piece,
    /// How pieces lie in the oven.
    pub layout: Layout,
    /// Density of the formed dough \[kg/m³\].
    pub dough_kg_per_m3: f64,
    /// Mass of a piece before the oven \[kg\].
    pub green_kg: f64,
    /// Mass of a piece as packed \[kg\].
    pub baked_kg: f64,
    /// Moisture of the dough.
    pub dough_moisture: WetBasis,
    /// Moisture as packed.
    pub baked_moisture: WetBasis,
    /// Moisture at the end of the oven's zones, before any step after them.
    pub exit_moisture: WetBasis,
    /// Mean heat capacity of the dry solid \[J/(kg K)\].
    pub solid_heat_capacity_j_per_kg_k: f64,
    /// From the oven's entrance to its exit, the steps after its zones left out \[s\].
    pub bake_time_s: f64,
    /// Time on the cooler \[s\].
    pub cooling_time_s: f64,
    /// Temperature of the dough \[K\].
    pub dough_k: f64,
    /// Mean temperature of a piece at the oven's exit \[K\].
    pub exit_k: f64,
    /// Warmest place of a piece when it is packed \[K\], when known.
    pub cooled_k: Option<f64>,
    /// Ingredients \[per kg dough\], when every price is known.
    pub cost_per_kg_dough: Option<f64>,
}

/// What the oven holds and passes.
pub(super) struct Passing {
    pub(super) pieces_in_oven: f64,
    pub(super) pieces_per_h: f64,
    pub(super) band_m_per_s: Option<f64>,
    pub(super) how: String,
}

pub(super) fn passing(load: &LineLoad) -> Result<Passing, LineError> {
    let (_, piece_width_m) = load.piece.outline.extent_m();
    let minutes = load.bake_time_s / 60.0;
    let steps_s = load.steps_s();
    match load.oven.kind {
        Kind::Band {
            length_m,
            width_m,
            edge_clear_m,
            ..
        } => {
            let across = capacity::pieces_across(
                width_m,
                edge_clear_m,
                piece_width_m,
                load.layout.pitch_across_m,
            );
            if across == 0 {
                return Err(nothing_fits(
                    piece_width_m,
                    "a band",
                    width_m - 2.0 * edge_clear_m,
                ));
            }
            let pieces_in_oven =
                capacity::pieces_on_band(across, length_m, load.layout.pitch_along_m);
            Ok(Passing {
                pieces_in_oven,
                pieces_per_h: capacity::band_pieces_per_h(pieces_in_oven, load.bake_time_s),
                band_m_per_s: Some(length_m / load.bake_time_s),
                how: format!(
                    "{across} across, {pieces_in_oven:.0} on {length_m:.1} m of band, {minutes:.1} min"
                ),
            })
        }
        Kind::Batch {
            trays,
            tray_area_m2,
            pieces_per_tray,
            loading_s,
            ..
        } => {
            let on_tray = pieces_per_tray.map_or_else(
                || (tray_area_m2 * load.layout.pieces_per_m2() + 1e-9).floor(),
                f64::from,
            );
            if on_tray < 1.0 {
                return Err(nothing_fits(piece_width_m, "a tray", tray_area_m2.sqrt()));
            }
            let pieces_in_oven = on_tray * f64::from(trays);
            Ok(Passing {
                pieces_in_oven,
                pieces_per_h: capacity::batch_pieces_per_h(
                    pieces_in_oven,
                    load.bake_time_s + steps_s,
                    loading_s,
                ),
                band_m_per_s: None,
                how: format!(
                    "{trays} × {on_tray:.0} pieces every {:.1} min (bake {minutes:.1}, {}loading {:.1})",
                    minutes + (steps_s + loading_s) / 60.0,
                    if steps_s > 0.0 {
                        format!("steps after it {:.1}, ", steps_s / 60.0)
                    } else {
                        String::new()
                    },
                    loading_s / 60.0
                ),
            })
        }
    }
}

fn nothing_fits(piece_m: f64, place: &'static str, room_m: f64) -> LineError {
    LineError::NothingFits {
        piece_mm: piece_m * 1e3,
        place,
        room_mm: room_m * 1e3,
    }
}

impl LineLoad<'_> {
    /// Time of the steps after the oven's zones \[s\].
    pub(crate) fn steps_s(&self) -> f64 {
        self.oven.steps.iter().map(|s| s.time_s).sum()
    }

    /// Whether those steps are on a machine of their own: a batch oven takes them itself.
    pub fn dries_apart(&self) -> bool {
        self.steps_s() > 0.0 && matches!(self.oven.kind, Kind::Band { .. })
    }

    /// Looks at every number.
    ///
    /// # Errors
    /// The first one that can't be, by name.
    pub fn check(&self) -> Result<(), LineError> {
        self.oven.check()?;
        self.piece.check()?;
        let (length_m, width_m) = self.piece.outline.extent_m();
        let (dough_pct, baked_pct) = (self.dough_moisture.percent(), self.baked_moisture.percent());
        let temperature = Range::new(253.15, 573.15);
        let hair = 1e-9;
        let numbers = [
            (
                "pitch across the band",
                self.layout.pitch_across_m,
                "m",
                Range::new(width_m - hair, 2.0),
            ),
            (
                "pitch along the band",
                self.layout.pitch_along_m,
                "m",
                Range::new(length_m - hair, 2.0),
            ),
            (
                "dough density",
                self.dough_kg_per_m3,
                "kg/m³",
                crate::properties::DOUGH_DENSITY,
            ),
            (
                "mass of a piece before the oven",
                self.green_kg,
                "kg",
                Range::new(1e-5, 5.0),
            ),
            (
                "mass of a baked piece",
                self.baked_kg,
                "kg",
                Range::new(1e-5, self.green_kg),
            ),
            (
                "dough moisture",
                self.dough_moisture.0,
                "kg/kg",
                Range::new(0.0, 0.9),
            ),
            (
                "baked moisture",
                self.baked_moisture.0,
                "kg/kg",
                Range::new(0.0, 0.9),
            ),
            (
                "moisture at the oven's exit",
                self.exit_moisture.0,
                "kg/kg",
                Range::new(0.0, 0.9),
            ),
            (
                "heat capacity of the dry solid",
                self.solid_heat_capacity_j_per_kg_k,
                "J/(kg K)",
                Range::new(200.0, 10_000.0),
            ),
            ("bake time", self.bake_time_s, "s", BAND_TIME_S),
            (
                "cooling time",
                self.cooling_time_s,
                "s",
                Range::new(1.0, 48.0 * HOUR_S),
            ),
            ("dough temperature", self.dough_k, "K", temperature),
            (
                "temperature at the oven's exit",
                self.exit_k,
                "K",
                temperature,
            ),
            (
                "temperature when packed",
                self.cooled_k.unwrap_or(300.0),
                "K",
                temperature,
            ),
            (
                "ingredient cost",
                self.cost_per_kg_dough.unwrap_or(0.0),
                "per kg dough",
                Range::new(0.0, 1e9),
            ),
        ];
        for (field, value, unit, allowed) in numbers {
            within(field, value, unit, allowed)?;
        }
        if baked_pct > dough_pct {
            return Err(LineError::Moisture {
                dough_pct,
                baked_pct,
            });
        }
        Ok(())
    }
}
