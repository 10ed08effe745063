//! Worked examples from print and computed references, source beside each.

use formula::Code;
use formula::label::{
    Bound, Guarantee, calorie_content, guaranteed_analysis, ingredient_statement,
};
use formula::nutrition::{
    energy_adjusted_pct, need_kcal_per_day, nutrition, pieces_per_day, resting_kcal_per_day,
};
use formula::{Amount, At, Forming};
use formula::{
    Category, Change, Formula, Line, MaterialPatch, Nutrient, Proximate, Species, Stage, shelf,
    treatment, water,
};
use measure::{Grade, Source, WetBasis};
use std::sync::Arc;

fn line(id: &str, parts: f64) -> Line {
    Line::new(shelf::find(id).expect("on the shelf"), parts)
}

/// The biscuit of the computed reference (parts by mass, water 30).
fn biscuit() -> Formula {
    Formula::new(vec![
        line("wheat_flour_ap", 55.0),
        line("oat_flour", 15.0),
        line("whole_wheat_flour", 10.0),
        line("peanut_butter", 8.0),
        line("egg_whole_dried", 4.0),
        line("sunflower_oil", 3.0),
        line("molasses", 3.0),
        line("calcium_carbonate", 0.6),
        line("salt", 0.4),
        line("baking_soda", 0.5),
        line("mixed_tocopherols", 0.05),
        line("water", 30.0),
    ])
    .expect("legal lines")
}

fn close(actual: f64, expected: f64, tolerance: f64) {
    assert!(
        (actual - expected).abs() <= tolerance,
        "{actual} is not {expected} within {tolerance}"
    );
}

/// Computed independently from the same table.
#[test]
fn biscuit_from_formula_to_treats_per_day() {
    let f = biscuit();
    close(f.total(), 129.55, 1e-9);
    close(f.dough_moisture().percent(), 30.685, 1e-3);
    close(f.decomposed(), 0.1845, 1e-9);
    let b = f.bake_balance(WetBasis(0.08)).unwrap();
    close(b.solids_kg - b.decomposed_kg, 89.6136, 5e-4);
    close(b.baked_kg, 97.4060, 5e-4);
    close(100.0 * b.yield_fraction(), 75.188, 1e-3);
    let n = nutrition(&f, WetBasis(0.08), Species::Dog).unwrap();
    close(n.percent(Nutrient::CrudeProtein), 14.331, 1e-3);
    close(n.percent(Nutrient::CrudeFat), 11.369, 1e-3);
    close(n.percent(Nutrient::CrudeFibre), 0.801, 1e-3);
    close(n.percent(Nutrient::Ash), 2.614, 1e-3);
    close(100.0 * n.proximate.nfe(), 62.885, 1e-3);
    close(n.atwater_kcal_per_kg, 3668.95, 0.05);
    close(n.nrc_kcal_per_kg, 3895.97, 0.05);
    for (nutrient, mg) in [
        (Nutrient::Calcium, 275.9),
        (Nutrient::Phosphorus, 221.7),
        (Nutrient::Sodium, 327.5),
        (Nutrient::Potassium, 268.3),
    ] {
        close(n.get(nutrient).at_least * 1e5, mg, 0.06);
    }
    close(n.calcium_to_phosphorus.unwrap(), 1.245, 1e-3);
    close(n.kcal_per_piece(0.005), 18.3, 0.05);
    let day = 1.6 * resting_kcal_per_day(10.0);
    close(day, 629.8, 0.05);
    assert_eq!(pieces_per_day(day, n.kcal_per_piece(0.005)), 3.0);
    assert!(n.unsure().is_empty());
    assert_eq!(
        calorie_content(n.atwater_kcal_per_kg, 0.005, "treat"),
        "Calorie Content (calculated): 3,670 kcal ME/kg, 18 kcal/treat"
    );
}

/// Computed from the printed equations: CP 12, fat 6, fibre 3, moisture 8, ash 2.5, and the
/// analysis of a published label example (CP 9.8, fat 12.3, fibre 4.2, moisture 17.2, ash 2.1).
#[test]
fn energy_of_two_products() {
    let p = Proximate::from_percent([8.0, 12.0, 6.0, 3.0, 2.5]);
    close(100.0 * p.nfe(), 68.5, 1e-9);
    close(p.atwater_kcal_per_kg(), 3327.5, 1e-6);
    close(p.nrc_kcal_per_kg(Species::Dog), 3492.0, 0.05);
    let p = Proximate::from_percent([17.2, 9.8, 12.3, 4.2, 2.1]);
    close(100.0 * p.nfe(), 54.4, 1e-9);
    close(p.atwater_kcal_per_kg(), 3292.5, 0.05);
    close(p.nrc_kcal_per_kg(Species::Dog), 3354.5, 0.05);
}

/// AAFCO profile text, worked example B1 (in print): moisture 75 %, 1120 kcal/kg as fed.
#[test]
fn dry_matter_and_energy_adjustment() {
    let w = WetBasis(0.75);
    for (fed, dry, adjusted) in [
        (9.0, 36.0, 32.1),
        (7.0, 28.0, 25.0),
        (0.25, 1.0, 0.89),
        (0.2, 0.8, 0.71),
    ] {
        let dm = measure::basis::as_is_to_dry_pct(fed, w);
        close(dm, dry, 1e-9);
        close(energy_adjusted_pct(dm, 4480.0), adjusted, 0.05);
    }
    // 20 % at 10 %, 5 % at 80 %, 26 % at 10 and at 30 % moisture (in print).
    for (fed, moisture, dry) in [
        (20.0, 0.1, 22.2),
        (5.0, 0.8, 25.0),
        (26.0, 0.1, 28.9),
        (26.0, 0.3, 37.1),
    ] {
        close(
            measure::basis::as_is_to_dry_pct(fed, WetBasis(moisture)),
            dry,
            0.05,
        );
    }
    close(need_kcal_per_day(Species::Cat, 75.0, 4.0), 189.86, 0.01);
}

/// Balance of calcium and phosphorus (extension page, in print): 80 corn and 17 soybean meal with
/// 0.94 dicalcium phosphate and 0.88 limestone make 0.6 % Ca and 0.5 % P of 100.
#[test]
fn calcium_and_phosphorus_balance() {
    let source = || Source::fixed(Grade::Published, "extension page");
    let made = |id: &str, ca_pct: f64, p_pct: f64, parts: f64| {
        let mut patch = MaterialPatch::new(source())
            .value(Nutrient::Moisture, 0.0)
            .value(Nutrient::Calcium, ca_pct / 100.0)
            .value(Nutrient::Phosphorus, p_pct / 100.0);
        patch.name = Some(id.to_owned());
        patch.category = Some(Category::Other);
        patch.gluten = Some(formula::Gluten::FreeByNature);
        Line::new(Arc::new(patch.define(id).unwrap()), parts)
    };
    let f = Formula::new(vec![
        made("corn", 0.02, 0.28, 80.0),
        made("soybean meal", 0.25, 0.60, 17.0),
        made("dicalcium phosphate", 22.0, 18.5, 0.94),
        made("limestone", 38.0, 0.0, 0.88),
    ])
    .unwrap();
    let calcium = f.mass_of(Nutrient::Calcium).exact().unwrap();
    let phosphorus = f.mass_of(Nutrient::Phosphorus).exact().unwrap();
    close(calcium, 0.6, 0.005);
    close(phosphorus, 0.5, 0.005);
    close(calcium / phosphorus, 1.2, 0.01);
}

/// Computed: 90 soft flour, 5 chicken meal, 3 fat, 2 gelatin ask for 48.9 ± 4.18 kg, rotary 41.9.
#[test]
fn water_need_worked_example() {
    // The priors hold at their own reference moistures.
    let at = |id: &str, moisture: f64, parts: f64| {
        let m = shelf::find(id).unwrap();
        let patch = MaterialPatch::new(Source::fixed(Grade::Assumed, "at the reference moisture"))
            .value(Nutrient::Moisture, moisture);
        Line::new(Arc::new(patch.apply(&m, id).unwrap()), parts)
    };
    let f = Formula::new(vec![
        at("wheat_flour_soft", 0.13, 90.0),
        at("chicken_meal", 0.05, 5.0),
        at("lard", 0.0, 3.0),
        at("gelatin", 0.10, 2.0),
    ])
    .unwrap();
    let sheeted = water::need(&f, Forming::Sheeted);
    close(sheeted.mean, 48.9, 1e-9);
    close(sheeted.sd, 4.18, 0.005);
    close(sheeted.first_dose, 48.9 - sheeted.sd, 1e-9);
    assert!(sheeted.low95 < sheeted.first_dose && sheeted.high95 > sheeted.mean);
    assert_eq!(sheeted.step, 2.0);
    assert!(sheeted.unknown.is_empty());
    close(water::need(&f, Forming::RotaryMoulded).mean, 41.9, 1e-9);
    let told: f64 = sheeted.shares.iter().map(|s| s.water_kg_per_100kg).sum();
    close(told, sheeted.mean, 1e-9);
    assert!(sheeted.compare(48.0).is_none());
    assert_eq!(sheeted.compare(30.0).unwrap().code, Code::WaterBelowNeed);
    assert_eq!(sheeted.compare(70.0).unwrap().code, Code::WaterAboveNeed);
}

/// Common practice, no source: drier flour asks for more, wet food for less, moulded dough is
/// drier than sheeted, water already in the formula changes nothing.
#[test]
fn water_need_goes_the_right_way() {
    let need = |f: &Formula| water::need(f, Forming::Sheeted).mean;
    let flour = |w: f64| {
        let m = shelf::find("wheat_flour_soft").unwrap();
        let patch =
            MaterialPatch::new(Source::fixed(Grade::Measured, "lot")).value(Nutrient::Moisture, w);
        Formula::new(vec![Line::new(
            Arc::new(patch.apply(&m, "flour").unwrap()),
            100.0,
        )])
        .unwrap()
    };
    assert!(need(&flour(0.09)) > need(&flour(0.14)));
    let plain = Formula::new(vec![line("wheat_flour_soft", 100.0)]).unwrap();
    let wet = Formula::new(vec![
        line("wheat_flour_soft", 80.0),
        line("pumpkin_canned", 20.0),
    ])
    .unwrap();
    assert!(need(&wet) < need(&plain));
    for forming in [Forming::RotaryMoulded, Forming::WireCut] {
        assert!(water::need(&plain, forming).mean < need(&plain));
    }
    close(need(&plain.with_water(35.0).unwrap()), need(&plain), 1e-12);
    // Binder raises the need; rice asks for at least as much as soft wheat.
    let bound = Formula::new(vec![
        line("wheat_flour_soft", 98.0),
        line("psyllium_husk", 2.0),
    ])
    .unwrap();
    assert!(need(&bound) > need(&plain));
    let rice = Formula::new(vec![line("rice_flour_white", 100.0)]).unwrap();
    assert!(need(&rice) >= need(&plain));
}

#[test]
fn unknown_uptake_and_unknown_nutrients_are_named() {
    let mut patch = MaterialPatch::new(Source::fixed(Grade::Measured, "supplier"))
        .value(Nutrient::Moisture, 0.1)
        .value(Nutrient::CrudeProtein, 0.2);
    patch.name = Some("mystery meal".into());
    patch.category = Some(Category::Other);
    patch.gluten = Some(formula::Gluten::FreeByNature);
    let mystery = Arc::new(patch.define("mystery").unwrap());
    let f = Formula::new(vec![
        line("wheat_flour_soft", 90.0),
        Line::new(mystery, 10.0),
    ])
    .unwrap()
    .with_water(30.0)
    .unwrap();
    assert_eq!(water::need(&f, Forming::Sheeted).unknown, ["mystery"]);
    let n = nutrition(&f, WetBasis(0.08), Species::Dog).unwrap();
    assert_eq!(n.unsure(), ["mystery"]);
    assert!(n.get(Nutrient::CrudeProtein).exact().is_some());
    assert!(n.get(Nutrient::CrudeFat).exact().is_none());
    let told = n.findings.iter().find(|f| f.code == Code::ValuesMissing);
    let told = &told.unwrap().message;
    assert!(
        told.contains(
            "mystery (crude fat, crude fibre, ash, calcium, phosphorus, sodium, potassium)"
        ),
        "{told}"
    );
    assert!(!told.contains("crude protein") && told.contains("energy"));
    assert_eq!(n.calcium_to_phosphorus, None);
    // What has no most can't be guaranteed by one; the leasts hold.
    let bounds: Vec<_> = guaranteed_analysis(&n).iter().map(|g| g.nutrient).collect();
    let least = [Nutrient::CrudeProtein, Nutrient::CrudeFat];
    assert_eq!(bounds[..2], least);
    assert_eq!(bounds[2..], [Nutrient::Moisture]);
    assert_eq!(f.dry_solids().unknown, ["mystery"]);
    assert_eq!(formula::cost::ingredient_cost(&f).unknown, ["mystery"]);
}

/// Leavening by stoichiometry (computed): sodium bicarbonate loses 36.9 % and leaves the carbonate;
/// ammonium bicarbonate leaves nothing.
#[test]
fn leavening_goes_off_as_gas() {
    let m = |s: &str| shelf::find(s).unwrap().loss_on_baking_fraction.fraction;
    let (na, h, c, o) = (22.990, 1.008, 12.011, 15.999);
    let bicarbonate = na + h + c + 3.0 * o;
    let carbonate = 2.0 * na + c + 3.0 * o;
    close(
        m("baking_soda"),
        1.0 - carbonate / (2.0 * bicarbonate),
        5e-4,
    );
    assert_eq!(m("ammonium_bicarbonate"), 1.0);
}

#[test]
fn label_draft_of_the_biscuit() {
    let f = biscuit();
    assert_eq!(
        ingredient_statement(&f, false),
        "Wheat Flour, Oat Flour, Whole Wheat Flour, Peanut Butter, Dried Whole Egg, Cane Molasses, \
         Sunflower Oil, Calcium Carbonate, Sodium Bicarbonate, Salt, Mixed Tocopherols (a preservative)"
    );
    assert!(ingredient_statement(&f, true).starts_with("Wheat Flour, Water, Oat Flour"));
    let n = nutrition(&f, WetBasis(0.08), Species::Dog).unwrap();
    let ga: Vec<Guarantee> = guaranteed_analysis(&n);
    let numbers: Vec<(Bound, f64)> = ga.iter().map(|g| (g.bound, g.guarantee_pct)).collect();
    // 14.331 − 6 % = 13.47; 11.369 − 16 % = 9.55; 0.801 + 0.5 (laboratory,
    // more than 40 % of it) = 1.30; 8 + 20 % = 9.6.
    assert_eq!(
        numbers,
        [
            (Bound::Min, 13.0),
            (Bound::Min, 9.5),
            (Bound::Max, 1.4),
            (Bound::Max, 10.0)
        ]
    );
    assert_eq!(ga[0].text(), "Crude protein (min) 13.0 %");
    let flags = formula::label::flags(&f);
    assert_eq!(flags.gluten, formula::Gluten::Contains);
    assert_eq!(flags.gluten_from.len(), 3);
    let names: Vec<(&str, bool)> = flags
        .allergens
        .iter()
        .map(|(a, p, _)| (a.word(), *p))
        .collect();
    assert_eq!(
        names,
        [
            ("wheat", false),
            ("soy", true),
            ("egg", false),
            ("peanut", false)
        ]
    );
}

/// The same biscuit in a pack that lets it take water up from 8 to 10.24 % by the end of its shelf
/// life: every promise is made at the moisture at which it is hardest to keep.
#[test]
fn a_label_promises_to_the_end_of_shelf_life() {
    use formula::label::{Kept, guaranteed_analysis_kept, kcal_per_kg_at};
    let (packed, end) = (WetBasis(0.08), WetBasis(0.102_44));
    let n = nutrition(&biscuit(), packed, Species::Dog).unwrap();
    let numbers = |kept: &Kept| -> Vec<f64> {
        guaranteed_analysis_kept(&n, kept)
            .iter()
            .map(|g| g.guarantee_pct)
            .collect()
    };
    // 14.331 and 11.369 over 1.025, less 6 and 16 %: 13.14 and 9.32; fibre as packed; 10.244 + 20 % = 12.3.
    let wetter = Kept::until(packed, end);
    assert_eq!(numbers(&wetter), [13.0, 9.0, 1.4, 12.5]);
    // A biscuit packed at 10.24 % that dries to 8 %: moisture as packed, fibre at the driest.
    let drier = Kept::until(end, packed);
    assert_eq!((drier.driest, drier.wettest), (packed, end));
    let as_packed = Kept::as_packed(packed);
    assert_eq!(numbers(&as_packed), [13.0, 9.5, 1.4, 10.0]);
    // Energy reckoned anew at the other moisture is the same.
    let anew = nutrition(&biscuit(), end, Species::Dog).unwrap();
    let carried = kcal_per_kg_at(&n, end);
    assert!((carried - anew.atwater_kcal_per_kg).abs() < 1e-6);
    assert!((n.atwater_kcal_per_kg / carried - 1.025).abs() < 1e-4);
}

#[test]
fn percentages_that_do_not_sum_tell_sum_and_fix() {
    let lines = vec![line("wheat_flour_soft", 70.0), line("water", 28.5)];
    let error = Formula::from_percent_of_mix(lines.clone(), 0.01)
        .unwrap_err()
        .to_string();
    assert!(
        error.contains("98.5000")
            && error.contains("write 71.5000 instead of 70.0000 for wheat_flour_soft"),
        "{error}"
    );
    let f = Formula::from_percent_of_mix(lines.clone(), 2.0).unwrap();
    close(f.total(), 100.0, 1e-12);
    let f = Formula::with_balance(lines, "wheat_flour_soft", 100.0).unwrap();
    close(f.lines()[0].parts, 71.5, 1e-12);
    let over = vec![line("wheat_flour_soft", 0.0), line("water", 101.0)];
    let error = Formula::with_balance(over, "wheat_flour_soft", 100.0)
        .unwrap_err()
        .to_string();
    assert!(error.contains("at least 1.0000"), "{error}");
}

#[test]
fn illegal_formulas_are_refused_kindly() {
    assert!(Formula::new(vec![]).is_err());
    assert!(Formula::new(vec![line("salt", 0.0)]).is_err());
    assert!(
        Formula::new(vec![line("salt", -1.0)])
            .unwrap_err()
            .to_string()
            .contains("salt")
    );
    assert!(Formula::new(vec![line("salt", f64::NAN)]).is_err());
    let twice = vec![line("salt", 1.0), line("salt", 1.0)];
    assert!(
        Formula::new(twice)
            .unwrap_err()
            .to_string()
            .contains("twice")
    );
    let parted = vec![line("salt", 1.0), line("salt", 1.0).at(Stage::Late)];
    assert!(Formula::new(parted).is_ok());
    let dry = Formula::new(vec![line("wheat_flour_soft", 1.0)]).unwrap();
    assert!(
        dry.bake_balance(WetBasis(0.5))
            .unwrap_err()
            .to_string()
            .contains("50.0 %")
    );
    assert!(dry.with_water(-1.0).is_err());
}

#[test]
fn changes_are_refused_kindly() {
    let f = Formula::with_balance(
        vec![
            line("wheat_flour_soft", 0.0),
            line("sunflower_oil", 5.0),
            line("water", 25.0),
        ],
        "wheat_flour_soft",
        100.0,
    )
    .unwrap();
    let with = |id: &str| shelf::find(id).unwrap();
    let say = |change: Change| treatment::apply(&f, &[change]).unwrap_err().to_string();
    let unknown = say(Change::Remove {
        material: "sunflour_oil".into(),
    });
    assert!(unknown.contains("closest: sunflower_oil"), "{unknown}");
    let swap = |out: &str, into: &str, at, share| Change::Swap {
        out: out.into(),
        with: with(into),
        at,
        share,
    };
    assert!(
        say(swap("sunflower_oil", "poultry_fat", At::EqualProtein, 1.0))
            .contains("no known protein")
    );
    assert!(
        say(swap("sunflower_oil", "salt", At::EqualFat, 1.0)).contains("salt brings no known fat")
    );
    assert!(say(swap("sunflower_oil", "salt", At::EqualMass, 1.5)).contains("1.5"));
    let set = |id: &str, amount| Change::Set {
        material: id.into(),
        amount,
    };
    assert!(say(set("wheat_flour_soft", Amount::Parts(1.0))).contains("balance"));
    assert!(say(set("water", Amount::PercentOfMix(100.0))).contains("100"));
    assert!(say(set("sunflower_oil", Amount::PercentOfMix(80.0))).contains("negative"));
    assert!(say(Change::ScaleWater { factor: -1.0 }).contains("-1"));
    let add = Change::Add {
        material: with("water"),
        amount: Amount::Parts(1.0),
        stage: None,
        is_flour: None,
    };
    assert!(say(add).contains("already"));
}

#[test]
fn the_balance_keeps_percent_of_mix_at_100() {
    let f = Formula::with_balance(
        vec![
            line("wheat_flour_soft", 0.0),
            line("sunflower_oil", 5.0),
            line("water", 25.0),
        ],
        "wheat_flour_soft",
        100.0,
    )
    .unwrap();
    let t = treatment::apply(
        &f,
        &[
            Change::Add {
                material: shelf::find("gelatin").unwrap(),
                amount: Amount::PercentOfMix(2.0),
                stage: None,
                is_flour: None,
            },
            Change::Set {
                material: "sunflower_oil".into(),
                amount: Amount::PercentOfMix(3.0),
            },
            Change::ScaleWater { factor: 0.9 },
        ],
    )
    .unwrap();
    close(t.total(), 100.0, 1e-12);
    close(
        t.water_kg_per_100kg_dry_mix(),
        0.9 * f.water_kg_per_100kg_dry_mix(),
        1e-12,
    );
    // Scaling water keeps the dry mix as it was: oil over gelatin is still 3 to 2.
    let parts = |id: &str| {
        t.lines()
            .iter()
            .find(|l| l.material.id == id)
            .unwrap()
            .parts
    };
    close(parts("sunflower_oil") / parts("gelatin"), 1.5, 1e-12);
    assert_eq!(t.balance(), Some("wheat_flour_soft"));
    // Swapping the whole balance line hands the balance on.
    let s = treatment::apply(
        &f,
        &[Change::Swap {
            out: "wheat_flour_soft".into(),
            with: shelf::find("barley_flour").unwrap(),
            at: At::EqualDryMatter,
            share: 1.0,
        }],
    )
    .unwrap();
    assert_eq!(s.balance(), Some("barley_flour"));
    close(s.total(), 100.0, 1e-12);
}

#[test]
fn a_certificate_overrides_and_restates() {
    let base = shelf::find("wheat_flour_ap").unwrap();
    let mut patch = MaterialPatch::new(Source::fixed(Grade::Measured, "certificate, lot 7"))
        .value(Nutrient::Moisture, 0.14)
        .value(Nutrient::CrudeProtein, 0.12);
    patch.lot = Some("7".into());
    let lot = patch.apply(&base, "flour_lot_7").unwrap();
    let get = |n| lot.composition.get(n).unwrap();
    assert_eq!(get(Nutrient::CrudeProtein).source.grade, Grade::Measured);
    close(lot.protein_mass().unwrap(), 0.12 * 5.7 / 6.25, 1e-12);
    // What the certificate doesn't give keeps its dry-matter value.
    let fat = |m: &formula::Material| {
        m.composition.fraction(Nutrient::CrudeFat).unwrap() / m.composition.dry_matter().unwrap()
    };
    close(fat(&lot), fat(&base), 1e-12);
    assert_eq!(get(Nutrient::CrudeFat).source.grade, Grade::Computed);
    assert_eq!(lot.lot, "7");
    let bad =
        MaterialPatch::new(Source::fixed(Grade::Measured, "x")).value(Nutrient::CrudeFat, 1.4);
    let error = bad.apply(&base, "flour").unwrap_err().to_string();
    assert!(
        error.contains("crude fat is 1.4") && error.contains("0 to 1"),
        "{error}"
    );
    let nameless = MaterialPatch::new(Source::fixed(Grade::Measured, "x"));
    assert!(
        nameless
            .define("new")
            .unwrap_err()
            .to_string()
            .contains("a name")
    );
}

#[test]
fn batch_rounds_to_the_scale_and_tells_the_error() {
    use formula::batch::{Scales, Size, scale};
    let f = biscuit();
    let batch = scale(&f, Size::Dough { kg: 12.955 }, Scales::one(0.005)).unwrap();
    close(batch.exact_kg, 12.955, 1e-12);
    let lines: f64 = batch.lines.iter().map(|l| l.rounding_error_kg()).sum();
    close(lines, batch.rounding_error_kg(), 1e-12);
    assert!(batch.lines.windows(2).all(|w| w[0].stage <= w[1].stage));
    assert!(
        batch
            .lines
            .iter()
            .all(|l| l.rounding_error_kg().abs() <= 0.0025 + 1e-12)
    );
    // Tocopherols are 5 g: the 5 g division can weigh them, a 20 g division can't.
    assert!(batch.findings().is_empty());
    let coarse = scale(&f, Size::Dough { kg: 12.955 }, Scales::one(0.02)).unwrap();
    assert!(
        coarse
            .findings()
            .iter()
            .any(|f| f.about == "material:mixed_tocopherols")
    );
    let fine = Scales {
        division_kg: 0.02,
        fine: Some((0.5, 0.0001)),
    };
    assert!(
        scale(&f, Size::Dough { kg: 12.955 }, fine)
            .unwrap()
            .findings()
            .is_empty()
    );
    let pieces = Size::Pieces {
        count: 1000.0,
        green_mass_kg: 0.0125,
        loss_fraction: 0.04,
    };
    close(
        scale(&f, pieces, Scales::one(0.0)).unwrap().exact_kg,
        12.5 / 0.96,
        1e-12,
    );
    assert!(scale(&f, Size::Dough { kg: -1.0 }, Scales::one(0.0)).is_err());
}
