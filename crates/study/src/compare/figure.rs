//! The figures of the knock-on block: one list from which the terminal table, the report, the
//! study sheet, the differences from the control and the spread are all derived.

use super::Bound;
use crate::views::KnockOn;
use formula::Nutrient;
use measure::rounding;
use serde::Serialize;

/// Which way is better for the person at the bench; many figures are neither.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Better {
    /// More is better.
    Higher,
    /// Less is better.
    Lower,
    /// It depends.
    Neither,
}

/// The part of the knock-on a figure belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Part {
    /// Dough and piece.
    Dough,
    /// The bake.
    Bake,
    /// The line.
    Line,
    /// What it contains.
    Nutrition,
    /// What it costs.
    Cost,
}

impl Part {
    /// Every part, cause before effect.
    pub const ALL: [Self; 5] = [
        Self::Dough,
        Self::Bake,
        Self::Line,
        Self::Nutrition,
        Self::Cost,
    ];

    /// The heading shown over the part.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Dough => "dough and piece",
            Self::Bake => "bake",
            Self::Line => "line",
            Self::Nutrition => "contains, as packed",
            Self::Cost => "cost",
        }
    }
}

/// One figure of the knock-on block.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)] // each is described by `Figure::about`
pub enum Figure {
    DoughMoisture,
    WaterAdded,
    WaterNeed,
    WholePieces,
    GreenMass,
    BakedMass,
    BakeTime,
    WaterRemoved,
    ExitMoisture,
    PackedMoisture,
    PackedActivity,
    CentrePeak,
    TopPeak,
    Colour,
    CentreSurface,
    Checking,
    CrispDays,
    Kill,
    Output,
    OvenOutput,
    Evaporation,
    Heat,
    Protein,
    Fat,
    Fibre,
    Ash,
    Energy,
    EnergyPerPiece,
    Calcium,
    Phosphorus,
    Sodium,
    CostPerKg,
    CostPerPiece,
}

/// What a figure is: its key, name, unit, decimals, direction and how it comes about.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct About {
    /// Key in JSON: `part.name`.
    pub key: &'static str,
    /// Name shown to people.
    pub name: &'static str,
    /// Unit shown to people; the currency stands in for `¤`.
    pub unit: &'static str,
    /// Decimals shown.
    pub decimals: usize,
    /// Which way is better.
    pub better: Better,
    /// The part it belongs to.
    pub part: Part,
    /// How it comes about: inputs and equation in words.
    pub how: &'static str,
}

impl Figure {
    /// Every figure in the order it is shown: cause before effect.
    pub const ALL: [Self; 33] = [
        Self::DoughMoisture,
        Self::WaterAdded,
        Self::WaterNeed,
        Self::WholePieces,
        Self::GreenMass,
        Self::BakedMass,
        Self::BakeTime,
        Self::WaterRemoved,
        Self::ExitMoisture,
        Self::PackedMoisture,
        Self::PackedActivity,
        Self::CentrePeak,
        Self::TopPeak,
        Self::Colour,
        Self::CentreSurface,
        Self::Checking,
        Self::CrispDays,
        Self::Kill,
        Self::Output,
        Self::OvenOutput,
        Self::Evaporation,
        Self::Heat,
        Self::Protein,
        Self::Fat,
        Self::Fibre,
        Self::Ash,
        Self::Energy,
        Self::EnergyPerPiece,
        Self::Calcium,
        Self::Phosphorus,
        Self::Sodium,
        Self::CostPerKg,
        Self::CostPerPiece,
    ];

    /// The figure with a key, if there is one.
    pub fn with_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|f| f.about().key == key)
    }

    /// What the figure is.
    #[rustfmt::skip] // a table reads best as a table
    pub const fn about(self) -> About {
        use Better::{Higher, Lower, Neither};
        const fn row(key: &'static str, name: &'static str, unit: &'static str, decimals: usize, better: Better, part: Part, how: &'static str) -> About {
            About { key, name, unit, decimals, better, part, how }
        }
        match self {
            Self::DoughMoisture => row("dough.moisture_pct", "dough moisture", "%", 1, Neither, Part::Dough,
                "water brought by every material and the water added, over the mass of the dough (wet basis)"),
            Self::WaterAdded => row("dough.water_added_kg_per_100kg_dry_mix", "water added", "kg per 100 kg dry mix", 1, Neither, Part::Dough,
                "the water line of the formula, or the need when the water is left to the need; dry mix is everything but added water"),
            Self::WaterNeed => row("dough.water_need.mean", "water need", "kg per 100 kg dry mix", 1, Neither, Part::Dough,
                "sum of each material's water uptake, restated to its moisture, plus the offset of the forming; a first guess with an interval, to be titrated"),
            Self::WholePieces => row("dough.whole_pieces_pct", "pieces whole from the cutter", "%", 0, Higher, Part::Dough,
                "probability that a piece leaves the cutter whole: log-odds at the water the dough needs, less for every tenth of water off it; a first guess until counts of whole and broken pieces are taken up"),
            Self::GreenMass => row("piece.green_mass_g", "green weight of a piece", "g", 2, Neither, Part::Dough,
                "area of the outline × thickness × density of the dough"),
            Self::BakedMass => row("piece.baked_mass_g", "packed weight of a piece", "g", 2, Neither, Part::Dough,
                "dry solids of the piece less what leavening loses, brought to the packed moisture"),
            Self::BakeTime => row("bake.time_min", "bake", "min", 1, Lower, Part::Bake,
                "band time at which the target moisture is met where the study names it; heat and moisture through the thickness, all zones stretched together"),
            Self::WaterRemoved => row("bake.water_removed_kg_per_kg_baked", "water to take off", "kg per kg packed", 3, Lower, Part::Bake,
                "water in the dough less water in the packed piece, per kg packed"),
            Self::ExitMoisture => row("bake.exit_moisture_pct", "moisture at oven exit", "%", 1, Neither, Part::Bake,
                "mean over the thickness at the oven's exit (wet basis); more leaves while it cools"),
            Self::PackedMoisture => row("bake.packed_moisture_pct", "moisture packed", "%", 1, Neither, Part::Bake,
                "mean over the thickness after cooling, as it goes into the pack (wet basis)"),
            Self::PackedActivity => row("bake.cooled_water_activity", "water activity packed, 25 °C", "", 2, Lower, Part::Bake,
                "sorption of the mixed dry solids at the mean packed moisture; measure it, recalled sorption data are placeholders"),
            Self::CentrePeak => row("bake.centre_peak_c", "highest centre temperature", "°C", 0, Neither, Part::Bake,
                "highest temperature at mid-thickness over bake and cooling"),
            Self::TopPeak => row("bake.top_peak_c", "highest top temperature", "°C", 0, Neither, Part::Bake,
                "highest temperature of the top surface over bake and cooling"),
            Self::Colour => row("bake.colour_delta_e", "colour change of the top, ΔE", "", 1, Neither, Part::Bake,
                "first-order browning along the temperature of the top surface; reducing sugars deepen it"),
            Self::CentreSurface => row("bake.centre_surface_moisture_points", "centre − surface moisture", "points", 1, Neither, Part::Bake,
                "moisture at mid-thickness less the mean of both surfaces after cooling; uneven moisture cracks pieces later"),
            Self::Checking => row("bake.checking_index", "checking index", "", 1, Lower, Part::Bake,
                "greatest tension over strength of the crumb while it cools and evens out in the pack; not calibrated: compare treatments by it and don't read it as a share of cracked pieces"),
            Self::CrispDays => row("bake.crisp_days", "days in pack, crisp", "days", 0, Higher, Part::Bake,
                "vapour through the film into the pack until the sorption of the dry solids reaches the crispness limit; film, area, content and climate as the pack is written; in a spread, what stays crisp for longer than is looked at counts as that long"),
            Self::Kill => row("bake.kill_log10", "kill, least treated place", "log₁₀", 1, Neither, Part::Bake,
                "log reduction of Salmonella from local temperature and water activity, least over the thickness, credited within the tested range alone; only a hint: a process authority has to validate the kill"),
            Self::Output => row("line.output_kg_per_h", "line output, saleable", "kg/h", 0, Higher, Part::Line,
                "capacity of the station that limits the line, less breakage"),
            Self::OvenOutput => row("line.oven_kg_per_h", "oven alone", "kg/h", 0, Higher, Part::Line,
                "pieces on the band × packed weight ÷ bake time, less breakage"),
            Self::Evaporation => row("line.evaporation_kg_per_h", "water to evaporate", "kg/h", 0, Neither, Part::Line,
                "water to take off × output"),
            Self::Heat => row("line.heat_kwh_per_kg", "heat taken up", "kWh/kg", 3, Lower, Part::Line,
                "sensible heat of the piece and evaporation of its water, per kg baked; the oven itself needs more"),
            Self::Protein => row("nutrition.crude_protein_pct", "crude protein", "%", 1, Neither, Part::Nutrition,
                "sum over the materials (N × 6.25), at the packed moisture"),
            Self::Fat => row("nutrition.crude_fat_pct", "crude fat", "%", 1, Neither, Part::Nutrition,
                "sum over the materials, at the packed moisture"),
            Self::Fibre => row("nutrition.crude_fibre_pct", "crude fibre", "%", 1, Neither, Part::Nutrition,
                "sum over the materials, at the packed moisture; table values are recalled"),
            Self::Ash => row("nutrition.ash_pct", "ash", "%", 1, Neither, Part::Nutrition,
                "sum over the materials, at the packed moisture"),
            Self::Energy => row("nutrition.me_kcal_per_kg", "energy (modified Atwater)", "kcal/kg", 0, Neither, Part::Nutrition,
                "10 × (3.5 protein + 8.5 fat + 3.5 nitrogen-free extract), as packed"),
            Self::EnergyPerPiece => row("nutrition.kcal_per_piece", "energy of a piece", "kcal", 0, Neither, Part::Nutrition,
                "energy per kg × packed weight of a piece"),
            Self::Calcium => row("nutrition.calcium_pct", "calcium", "%", 2, Neither, Part::Nutrition,
                "sum over the materials, at the packed moisture"),
            Self::Phosphorus => row("nutrition.phosphorus_pct", "phosphorus", "%", 2, Neither, Part::Nutrition,
                "sum over the materials, at the packed moisture"),
            Self::Sodium => row("nutrition.sodium_pct", "sodium", "%", 2, Neither, Part::Nutrition,
                "sum over the materials, at the packed moisture"),
            Self::CostPerKg => row("cost.per_kg", "cost of a kg", "¤/kg", 2, Lower, Part::Cost,
                "ingredients over yield, waste, breakage and giveaway, plus conversion at the line's output"),
            Self::CostPerPiece => row("cost.per_piece", "cost of a piece", "¤", 4, Lower, Part::Cost,
                "cost of a kg × packed weight of a piece"),
        }
    }

    /// The figure's value in an answer; `None` when it is unknown.
    pub fn value(self, k: &KnockOn) -> Option<f64> {
        let v = match self {
            Self::DoughMoisture => k.dough.moisture_pct,
            Self::WaterAdded => k.dough.water_added_kg_per_100kg_dry_mix,
            Self::WaterNeed => k.dough.water_need.mean,
            Self::WholePieces => return k.dough.whole_pieces.map(|w| 100.0 * w.mean),
            Self::GreenMass => k.piece.green_mass_g,
            Self::BakedMass => k.piece.baked_mass_g,
            Self::BakeTime => k.bake.time_min,
            Self::WaterRemoved => k.bake.water_removed_kg_per_kg_baked,
            Self::ExitMoisture => k.bake.exit_moisture_pct,
            Self::PackedMoisture => k.bake.packed_moisture_pct,
            Self::PackedActivity => return k.bake.cooled_water_activity,
            Self::CentrePeak => k.bake.centre_peak_c,
            Self::TopPeak => k.bake.top_peak_c,
            Self::Colour => k.bake.colour_delta_e,
            Self::CentreSurface => k.bake.centre_surface_moisture_points,
            Self::Checking => return k.bake.checking_index,
            Self::CrispDays => return k.bake.crisp_days.or(k.bake.crisp_days_at_least),
            Self::Kill => k.bake.kill_log10,
            Self::Output => k.line.output_kg_per_h,
            Self::OvenOutput => return k.line.oven_kg_per_h,
            Self::Evaporation => k.line.evaporation_kg_per_h,
            Self::Heat => k.line.heat_kwh_per_kg,
            Self::Protein => k.nutrition.crude_protein_pct,
            Self::Fat => k.nutrition.crude_fat_pct,
            Self::Fibre => k.nutrition.crude_fibre_pct,
            Self::Ash => k.nutrition.ash_pct,
            Self::Energy => k.nutrition.me_kcal_per_kg,
            Self::EnergyPerPiece => k.nutrition.kcal_per_piece,
            Self::Calcium => k.nutrition.calcium_pct,
            Self::Phosphorus => k.nutrition.phosphorus_pct,
            Self::Sodium => k.nutrition.sodium_pct,
            Self::CostPerKg => return k.cost.per_kg,
            Self::CostPerPiece => return k.cost.per_piece,
        };
        v.is_finite().then_some(v)
    }

    /// Decimals that numbers about as large as `value` are shown with. A bench oven gives grams where a line gives
    /// hundredweights: what grows with piece and line has two significant digits at least.
    pub fn decimals_for(self, value: f64) -> usize {
        let usual = self.about().decimals;
        match self {
            Self::GreenMass
            | Self::BakedMass
            | Self::Output
            | Self::OvenOutput
            | Self::Evaporation
            | Self::EnergyPerPiece
            | Self::CostPerPiece => rounding::decimals_for(value, usual),
            _ => usual,
        }
    }

    /// Decimals of a row of treatments, by its control.
    pub fn decimals(self, control: &KnockOn) -> usize {
        self.decimals_for(self.value(control).unwrap_or(0.0))
    }

    /// The figure's value in an answer, or why there is none, in words.
    ///
    /// # Errors
    /// The reason.
    pub fn told(self, k: &KnockOn) -> Result<f64, String> {
        match (self, &k.bake.limit) {
            (Self::BakeTime, Some(limit)) => Err(format!("the target isn’t reached: {limit}")),
            _ => self.value(k).ok_or_else(|| self.why_unknown(k)),
        }
    }

    fn why_unknown(self, k: &KnockOn) -> String {
        let cost = matches!(self, Self::CostPerKg | Self::CostPerPiece);
        if cost && !k.cost.unknown_prices.is_empty() {
            format!("no price is known for {}", k.cost.unknown_prices.join(", "))
        } else if self == Self::CrispDays && !k.bake.crisp_unknown.is_empty() {
            k.bake.crisp_unknown.clone()
        } else if self == Self::WholePieces {
            "the dough asks for no water, so none is off its need".to_owned()
        } else {
            "the answer doesn’t hold it".to_owned()
        }
    }

    /// What a figure that is larger, or smaller, is called beside another: `slower`, `dearer`, `more`.
    ///
    /// ```
    /// use study::Figure;
    /// assert_eq!(Figure::BakeTime.than(1.1), "slower");
    /// assert_eq!(Figure::CostPerKg.than(-0.05), "cheaper");
    /// ```
    pub const fn than(self, gap: f64) -> &'static str {
        let (larger, smaller) = match self {
            Self::DoughMoisture | Self::ExitMoisture | Self::PackedMoisture => ("wetter", "drier"),
            Self::GreenMass | Self::BakedMass => ("heavier", "lighter"),
            Self::BakeTime => ("slower", "faster"),
            Self::CentrePeak | Self::TopPeak => ("hotter", "cooler"),
            Self::Colour => ("darker", "paler"),
            Self::PackedActivity | Self::Checking => ("higher", "lower"),
            Self::CentreSurface => ("less even", "more even"),
            Self::CrispDays => ("longer", "shorter"),
            Self::CostPerKg | Self::CostPerPiece => ("dearer", "cheaper"),
            _ => ("more", "less"),
        };
        if gap < 0.0 { smaller } else { larger }
    }

    /// The constituent that the figure tells.
    pub const fn nutrient(self) -> Option<Nutrient> {
        Some(match self {
            Self::Protein => Nutrient::CrudeProtein,
            Self::Fat => Nutrient::CrudeFat,
            Self::Fibre => Nutrient::CrudeFibre,
            Self::Ash => Nutrient::Ash,
            Self::Calcium => Nutrient::Calcium,
            Self::Phosphorus => Nutrient::Phosphorus,
            Self::Sodium => Nutrient::Sodium,
            _ => return None,
        })
    }

    /// How the figure's value stands to what it tells, where it has one.
    ///
    /// A constituent is at least the sum of what is known, and so is the need for water. Energy counts everything unknown as carbohydrate, which
    /// may be too much (ash) or too little (fat).
    pub fn sure(self, k: &KnockOn) -> Bound {
        let n = &k.nutrition;
        match (self, self.nutrient()) {
            (Self::Energy | Self::EnergyPerPiece, _) if !n.energy_unsure.is_empty() => Bound::About,
            (Self::CrispDays, _) if k.bake.crisp_days.is_none() => Bound::AtLeast,
            (Self::CostPerKg | Self::CostPerPiece, _) if !k.cost.not_written().is_empty() => {
                Bound::AtLeast
            }
            (Self::WaterNeed, _) if !k.dough.unknown_uptake.is_empty() => Bound::AtLeast,
            (_, Some(nutrient)) if n.at_least.contains_key(nutrient.word()) => Bound::AtLeast,
            _ => Bound::Exactly,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_figure_has_its_own_key_and_name() {
        let keys: BTreeSet<_> = Figure::ALL.iter().map(|f| f.about().key).collect();
        let names: BTreeSet<_> = Figure::ALL.iter().map(|f| f.about().name).collect();
        assert_eq!(keys.len(), Figure::ALL.len());
        assert_eq!(names.len(), Figure::ALL.len());
        for f in Figure::ALL {
            assert_eq!(Figure::with_key(f.about().key), Some(f));
            assert!(!f.about().how.is_empty());
        }
    }
}
