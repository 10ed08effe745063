//! Formula, water, nutrition, label and line against worked examples.

use crate::check::{Check, Grounds, Kind, Limit, Part, row, worst, worst_relative};
use baking::after::cooling::cooling_time_s;
use baking::line::capacity;
use baking::line::cost::ingredients_per_kg;
use baking::line::energy::{Temperatures, heat};
use formula::label::guarantee::{Bound, rounded_pct, tolerance_factor};
use formula::nutrition::{
    Nutrition, energy_adjusted_pct, g_per_1000_kcal, need_kcal_per_day, nutrition, pieces_per_day,
    resting_kcal_per_day,
};
use formula::{
    BakeBalance, Category, Forming, Formula, Gluten, Line, MaterialPatch, Nutrient, Proximate,
    Species, WaterNeed, dough_temperature, shelf, water,
};
use measure::basis::{as_is_to_dry_pct, dry_to_as_is_pct};
use measure::temperature::{celsius, celsius_to_fahrenheit, fahrenheit_to_celsius, kelvin};
use measure::{Grade, Source, WetBasis};
use std::sync::Arc;
use trials::measurement::{farinograph, solvent_retention};

/// Rows of formula, nutrition and line.
#[rustfmt::skip] // a table reads best as a table
pub(crate) fn rows() -> Vec<Check> {
    use Kind::Verification;
    use Limit::AtMost;
    use Part::{Formula, Line, Nutrition};
    const BISCUIT: (Grounds, &str) = (Grounds::Computed, "worked out independently from the same composition table (12 materials, baked to 8 %)");
    const PLANT: (Grounds, &str) = (Grounds::Computed, "plant example worked out independently (28 to 7 %, 1.2 × 60 m, 12 min, 55 × 45 mm, 10 g)");
    const AAFCO: (Grounds, &str) = (Grounds::Published, "AAFCO profile text, worked examples A2 and B1");
    const FARINOGRAPH: (Grounds, &str) = (Grounds::Computed, "ICC 115/1 and AACC 54-21, examples worked out independently");
    let met = |id, part, requirement, source, metric, limit, run| row(id, part, Verification, requirement, source, (metric, AtMost(limit)), run);
    vec![
        met("biscuit-dough", Formula, "dough 129.55 parts, 30.685 % moisture", BISCUIT, "largest relative difference", 5e-5, || {
            let f = biscuit();
            worst_relative([(f.total(), 129.55), (f.dough_moisture().percent(), 30.685)])
        }),
        met("biscuit-balance", Formula, "soda loses 0.1845, solids 89.6136, baked 97.4060, yield 75.188 %", BISCUIT, "largest relative difference", 2e-5, || {
            let b = biscuit().bake_balance(BAKED).expect("8 % is below the dough");
            worst_relative([(b.decomposed_kg, 0.1845), (b.solids_kg - b.decomposed_kg, 89.6136), (b.baked_kg, 97.4060), (100.0 * b.yield_fraction(), 75.188)])
        }),
        met("water-need", Formula, "90 soft flour, 5 chicken meal, 3 fat, 2 gelatin ask for 48.9 kg; rotary moulded 41.9", (Grounds::Computed, "priors recalled, sum worked out independently"),
            "largest difference, kg", 1e-9, || worst([(need(Forming::Sheeted).mean, 48.9), (need(Forming::RotaryMoulded).mean, 41.9)])),
        met("water-need-sd", Formula, "with a standard deviation of 4.18 kg", (Grounds::Computed, "as before"), "difference, kg", 0.005, || need(Forming::Sheeted).sd - 4.18),
        met("ice", Formula, "40 kg water from 20 to 10 °C take 4.003 kg ice", (Grounds::Computed, "heat balance (a public example that says 4.4 kg is in error)"),
            "difference, kg", 1e-3, || dough_temperature::ice_kg(40.0, kelvin(20.0), kelvin(10.0)) - 4.002_677_376),
        met("water-temperature-rule", Formula, "dough 80 °F, flour 65, room 75, friction 35: water 65 °F", (Grounds::Published, "trade magazines, worked example"),
            "difference, °F", 1e-9, || {
                let k = |f| kelvin(fahrenheit_to_celsius(f));
                celsius_to_fahrenheit(celsius(dough_temperature::rule_of_thumb_k(k(80.0), &[k(65.0), k(75.0)], 35.0 / 1.8))) - 65.0
            }),
        met("farinograph-flour", Formula, "300 g bowl: 294.857 g of flour at 12.5 %, 298.784 g at 13.65 %", FARINOGRAPH, "largest difference, g", 1e-6, || {
            let g = |m| farinograph::flour_mass_g(300.0, WetBasis(m)).unwrap_or(f64::NAN);
            worst([(g(0.125), 294.857_142_857), (g(0.1365), 298.784_018_529)])
        }),
        met("farinograph-absorption", Formula, "186.0 mL on it are 60.286 %; 180 mL at 14 % are 60.0 %", FARINOGRAPH, "largest difference, %", 1e-6, || {
            let a = |x, y| farinograph::absorption_pct(300.0, x, y).unwrap_or(f64::NAN);
            worst([(a(186.0, 294.857_142_857), 60.285_714_286), (a(180.0, 300.0), 60.0)])
        }),
        met("farinograph-restated", Formula, "62 % at 11 % moisture are 56.539 % at 14 %", FARINOGRAPH, "difference, %", 1e-6, || {
            farinograph::to_14_pct(62.0, WetBasis(0.11)).unwrap_or(f64::NAN) - 56.539_325_843
        }),
        met("solvent-retention", Formula, "5.00 g flour at 12 %, 8.00 g gel: 56.364 %", (Grounds::Computed, "corrected equation of 2009, worked out independently"), "difference, %", 1e-6, || {
            solvent_retention::retention_pct(8.0, 5.0, WetBasis(0.12)).unwrap_or(f64::NAN) - 56.363_636_364
        }),
        met("soda", Formula, "sodium bicarbonate loses 36.9 % as gas", (Grounds::Computed, "stoichiometry"), "difference", 5e-4, || {
            let (na, h, c, o) = (22.990, 1.008, 12.011, 15.999);
            let kept = (2.0 * na + c + 3.0 * o) / (2.0 * (na + h + c + 3.0 * o));
            shelf::find("baking_soda").map_or(f64::NAN, |m| m.loss_on_baking_fraction.fraction) - (1.0 - kept)
        }),
        met("bake-loss", Formula, "28 to 7 %: yield 0.774194, 0.291667 kg water off per kg baked", PLANT, "largest difference", 1e-9, || {
            let b = plant();
            worst([(b.yield_fraction(), 0.774_193_548_387), (b.water_off_kg_per_kg_baked(), 0.291_666_666_667)])
        }),
        met("atwater", Nutrition, "protein 27, fat 14, fibre 2, moisture 10, ash 6: 357 kcal/100 g", (Grounds::Published, "public worked example of modified Atwater"), "difference, kcal/kg", 0.5, || {
            LABEL.atwater_kcal_per_kg() - 3570.0
        }),
        met("four-step-energy", Nutrition, "and by four steps 378.407 kcal/100 g for dogs, 376.101 for cats", (Grounds::Computed, "NRC equations as FEDIAF prints them"), "largest difference, kcal/kg", 0.01, || {
            worst([(LABEL.nrc_kcal_per_kg(Species::Dog), 3784.07), (LABEL.nrc_kcal_per_kg(Species::Cat), 3761.01)])
        }),
        met("energy-of-two", Nutrition, "two more products: 3327.5 and 3292.5 (Atwater), 3492.0 and 3354.5 kcal/kg (four steps, dog)", (Grounds::Computed, "worked out independently; the second make-up from a published label example"),
            "largest difference, kcal/kg", 0.05, || {
                let (a, b) = (Proximate::from_percent([8.0, 12.0, 6.0, 3.0, 2.5]), Proximate::from_percent([17.2, 9.8, 12.3, 4.2, 2.1]));
                worst([(a.atwater_kcal_per_kg(), 3327.5), (b.atwater_kcal_per_kg(), 3292.5), (a.nrc_kcal_per_kg(Species::Dog), 3492.0), (b.nrc_kcal_per_kg(Species::Dog), 3354.5)])
            }),
        met("dry-matter", Nutrition, "75 % moisture, 9 protein, 7 fat, 0.25 Ca, 0.2 P: 36, 28, 1.0, 0.8 % of dry matter", AAFCO, "largest difference, %", 1e-9, || {
            worst([(9.0, 36.0), (7.0, 28.0), (0.25, 1.0), (0.2, 0.8)].map(|(fed, dry)| (as_is_to_dry_pct(fed, WetBasis(0.75)), dry)))
        }),
        met("energy-adjusted", Nutrition, "at 4480 kcal/kg dry matter they are 32.1, 25.0, 0.89, 0.71 brought to 4000", AAFCO, "largest difference, %", 0.05, || {
            worst([(36.0, 32.1), (28.0, 25.0), (1.0, 0.89), (0.8, 0.71)].map(|(dry, adjusted)| (energy_adjusted_pct(dry, 4480.0), adjusted)))
        }),
        met("moisture-adjusted", Nutrition, "profile values at 10 % moisture: 22.5 → 20.25, 8.5 → 7.65, 1.2 → 1.08, 1.0 → 0.9", AAFCO, "largest difference, %", 1e-9, || {
            worst([(22.5, 20.25), (8.5, 7.65), (1.2, 1.08), (1.0, 0.9)].map(|(dry, fed)| (dry_to_as_is_pct(dry, WetBasis(0.10)), fed)))
        }),
        met("dry-matter-public", Nutrition, "20 % at 10 % moisture: 22.2; 5 at 80: 25.0; 26 at 10: 28.9; 26 at 30: 37.1", (Grounds::Published, "public worked examples"), "largest difference, %", 0.05, || {
            worst([(20.0, 0.1, 22.2), (5.0, 0.8, 25.0), (26.0, 0.1, 28.9), (26.0, 0.3, 37.1)].map(|(fed, w, dry)| (as_is_to_dry_pct(fed, WetBasis(w)), dry)))
        }),
        met("per-1000-kcal", Nutrition, "5.5 % fat at 4000 kcal/kg is 13.75 g per 1000 kcal, 0.5 % Ca 1.25 g", AAFCO, "largest difference, g", 1e-9, || {
            worst([(g_per_1000_kcal(5.5, 4000.0), 13.75), (g_per_1000_kcal(0.5, 4000.0), 1.25)])
        }),
        met("daily-need", Nutrition, "dog of 15 kg: 838 and 724 kcal a day; cat of 4 kg: 253 and 189.86; dog of 25 kg resting: 782.6", (Grounds::Published, "FEDIAF table VII-12 (values cut to whole kcal)"),
            "largest difference, kcal", 1.0, || worst([
                (need_kcal_per_day(Species::Dog, 110.0, 15.0), 838.0), (need_kcal_per_day(Species::Dog, 95.0, 15.0), 724.0),
                (need_kcal_per_day(Species::Cat, 100.0, 4.0), 253.0), (need_kcal_per_day(Species::Cat, 75.0, 4.0), 189.86), (resting_kcal_per_day(25.0), 782.6)])),
        met("calcium-balance", Nutrition, "80 corn, 17 soybean meal, 0.94 dicalcium phosphate, 0.88 limestone: Ca 0.6, P 0.5", (Grounds::Published, "university extension page"),
            "largest difference, %", 0.005, calcium_balance),
        met("biscuit-proximate", Nutrition, "protein 14.331, fat 11.369, fibre 0.801, ash 2.614, extract 62.885 %", BISCUIT, "largest difference, %", 1e-3, || {
            let n = fed();
            worst([(n.percent(Nutrient::CrudeProtein), 14.331), (n.percent(Nutrient::CrudeFat), 11.369), (n.percent(Nutrient::CrudeFibre), 0.801), (n.percent(Nutrient::Ash), 2.614), (100.0 * n.proximate.nfe(), 62.885)])
        }),
        met("biscuit-energy", Nutrition, "3668.95 kcal/kg (Atwater), 3895.97 (four steps, dog)", BISCUIT, "largest difference, kcal/kg", 0.05, || {
            worst([(fed().atwater_kcal_per_kg, 3668.95), (fed().nrc_kcal_per_kg, 3895.97)])
        }),
        met("biscuit-minerals", Nutrition, "Ca 275.9, P 221.7, Na 327.5, K 268.3 mg/100 g", BISCUIT, "largest difference, mg/100 g", 0.06, || {
            worst([(Nutrient::Calcium, 275.9), (Nutrient::Phosphorus, 221.7), (Nutrient::Sodium, 327.5), (Nutrient::Potassium, 268.3)].map(|(x, mg)| (fed().get(x).at_least * 1e5, mg)))
        }),
        met("biscuits-a-day", Nutrition, "5 g pieces of 18.3 kcal: 3 a day for a neutered dog of 10 kg (629.8 kcal)", BISCUIT, "difference, pieces", 0.0, || {
            pieces_per_day(1.6 * resting_kcal_per_day(10.0), fed().kcal_per_piece(0.005)) - 3.0
        }),
        met("guarantees", Nutrition, "5 lots, protein 14.3 ± 0.30: at least 13.0 %; moisture 8.0 ± 0.6: at most 11.0 %", (Grounds::Computed, "one-sided tolerance factor 4.203, steps of 0.5"), "largest difference, %", 0.0, || {
            let k = tolerance_factor(5).unwrap_or(f64::NAN);
            worst([(rounded_pct(Bound::Min, 14.3, k * 0.30), 13.0), (rounded_pct(Bound::Max, 8.0, k * 0.6), 11.0)])
        }),
        met("pieces-across", Line, "21 pieces across, 28 000 in the oven, 140 000 an hour", PLANT, "largest relative difference", 1e-9, || {
            let across = capacity::pieces_across(1.2, 0.02, 0.045, 0.055);
            let inside = capacity::pieces_on_band(across, 60.0, 0.045);
            worst_relative([(f64::from(across), 21.0), (inside, 28_000.0), (capacity::band_pieces_per_h(inside, 720.0), 140_000.0)])
        }),
        met("rotary", Line, "die of 240 mm, 16 × 21 at 5 m/min: 133 690 pieces an hour", PLANT, "relative difference", 1e-8, || {
            capacity::rotary_pieces_per_h(0.24, 16, 21, 5.0 / 60.0) / 133_690.152_197 - 1.0
        }),
        met("sheeter", Line, "1.0 m × 6 mm × 5 m/min × 1250 kg/m³: 2250 kg/h", PLANT, "relative difference", 1e-9, || {
            capacity::sheet_kg_per_h(1.0, 0.006, 5.0 / 60.0, 1250.0) / 2250.0 - 1.0
        }),
        met("mixers", Line, "1695.3 kg/h in batches of 250 kg, 20 min: 6.78 an hour, 3 mixers", PLANT, "largest difference", 1e-9, || {
            let per_h = capacity::batches_per_h(1695.3125, 250.0);
            worst([(per_h, 6.781_25), (f64::from(capacity::mixers_needed(per_h, 1200.0)), 3.0)])
        }),
        met("oven-heat", Line, "2.76125 MJ per kg of water, 0.265363 kWh per kg baked, 367.5 kg water an hour at 1260 kg/h", PLANT, "largest relative difference", 1e-6, || {
            let t = Temperatures { dough_k: 298.15, exit_k: 378.15, vapour_k: 473.15 };
            let h = heat(WetBasis(0.28), WetBasis(0.07), 1700.0, &t);
            worst_relative([(h.water_j_per_kg / h.water_kg_per_kg / 1e6, 2.761_25), (h.kwh_per_kg(), 0.265_363_495), (1260.0 * h.water_kg_per_kg, 367.5)])
        }),
        row("oven-heat-seen", Line, Kind::Comparison, "hard sweet biscuits take 0.25 to 0.27 kWh/kg in theory, 28 to 7 %", (Grounds::Published, "trade page, seen"),
            ("useful heat, kWh/kg", Limit::Between(0.25, 0.27)), || {
                heat(WetBasis(0.28), WetBasis(0.07), 1700.0, &Temperatures { dough_k: 298.15, exit_k: 378.15, vapour_k: 473.15 }).kwh_per_kg()
            }),
        met("cooling", Line, "τ 9 min, 95 to 32 °C in 22 °C: 17.891 min", PLANT, "difference, min", 5e-4, || {
            cooling_time_s(540.0, kelvin(95.0), kelvin(32.0), kelvin(22.0)).unwrap_or(f64::NAN) / 60.0 - 17.890_869
        }),
        met("cost", Line, "ingredients at 45 per 100 kg dough, 2 % waste, 3 % breakage, 1.5 % giveaway: 0.620767 per kg", PLANT, "difference", 1e-8, || {
            ingredients_per_kg(0.45, plant().yield_fraction(), 0.02, 0.03, 0.015) - 0.620_767_434
        }),
    ]
}

const BAKED: WetBasis = WetBasis(0.08);

/// Moisture, protein, fat, fibre, ash of the published example.
const LABEL: Proximate = Proximate {
    moisture: 0.10,
    crude_protein: 0.27,
    crude_fat: 0.14,
    crude_fibre: 0.02,
    ash: 0.06,
};

fn line(id: &str, parts: f64) -> Line {
    Line::new(shelf::find(id).expect("on the shelf"), parts)
}

/// Soft flour with as much water as makes 28 % moisture, baked to 7 %.
fn plant() -> BakeBalance {
    let line = |id, parts| Line::new(shelf::find(id).expect("on the shelf"), parts);
    let moisture = |id| {
        shelf::find(id)
            .and_then(|m| m.moisture())
            .map_or(0.0, |w| w.0)
    };
    let (flour, water) = (moisture("wheat_flour_soft"), moisture("water"));
    let parts = 100.0 * (0.28 - flour) / (water - 0.28);
    Formula::new(vec![line("wheat_flour_soft", 100.0), line("water", parts)])
        .and_then(|dough| dough.bake_balance(WetBasis(0.07)))
        .expect("7 % is below the dough")
}

/// The biscuit of the worked example.
fn biscuit() -> Formula {
    let parts = [
        ("wheat_flour_ap", 55.0),
        ("oat_flour", 15.0),
        ("whole_wheat_flour", 10.0),
        ("peanut_butter", 8.0),
        ("egg_whole_dried", 4.0),
        ("sunflower_oil", 3.0),
        ("molasses", 3.0),
        ("calcium_carbonate", 0.6),
        ("salt", 0.4),
        ("baking_soda", 0.5),
        ("mixed_tocopherols", 0.05),
        ("water", 30.0),
    ];
    Formula::new(parts.map(|(id, p)| line(id, p)).to_vec()).expect("legal lines")
}

fn fed() -> Nutrition {
    nutrition(&biscuit(), BAKED, Species::Dog).expect("8 % is below the dough")
}

/// The water need of the worked example; uptakes hold at their own reference moistures.
fn need(forming: Forming) -> WaterNeed {
    let at = |id: &str, moisture: f64, parts: f64| {
        let material = shelf::find(id).expect("on the shelf");
        let patch = MaterialPatch::new(Source::fixed(Grade::Assumed, "at the reference moisture"))
            .value(Nutrient::Moisture, moisture);
        Line::new(
            Arc::new(patch.apply(&material, id).expect("a moisture that can be")),
            parts,
        )
    };
    let lines = vec![
        at("wheat_flour_soft", 0.13, 90.0),
        at("chicken_meal", 0.05, 5.0),
        at("lard", 0.0, 3.0),
        at("gelatin", 0.10, 2.0),
    ];
    water::need(&Formula::new(lines).expect("legal lines"), forming)
}

fn calcium_balance() -> f64 {
    let made = |id: &str, calcium_pct: f64, phosphorus_pct: f64, parts: f64| {
        let mut patch = MaterialPatch::new(Source::fixed(Grade::Published, "extension page"))
            .value(Nutrient::Moisture, 0.0)
            .value(Nutrient::Calcium, calcium_pct / 100.0)
            .value(Nutrient::Phosphorus, phosphorus_pct / 100.0);
        patch.name = Some(id.to_owned());
        patch.category = Some(Category::Other);
        patch.gluten = Some(Gluten::FreeByNature);
        Line::new(
            Arc::new(patch.define(id).expect("a full description")),
            parts,
        )
    };
    let f = Formula::new(vec![
        made("corn", 0.02, 0.28, 80.0),
        made("soybean meal", 0.25, 0.60, 17.0),
        made("dicalcium phosphate", 22.0, 18.5, 0.94),
        made("limestone", 38.0, 0.0, 0.88),
    ])
    .expect("legal lines");
    let of = |n| f.mass_of(n).exact().unwrap_or(f64::NAN);
    worst([
        (of(Nutrient::Calcium), 0.6),
        (of(Nutrient::Phosphorus), 0.5),
    ])
}
