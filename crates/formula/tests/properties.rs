//! Laws that hold for every material and every formula.

use formula::nutrition::nutrition;
use formula::{At, Change, Forming, Formula, Line, Nutrient, Species, shelf, treatment, water};
use measure::WetBasis;
use proptest::prelude::*;

fn any_formula() -> impl Strategy<Value = Formula> {
    let line = (0..130usize, 0.01..50.0f64);
    (prop::collection::vec(line, 1..10), 1.0..60.0f64).prop_map(|(picks, water)| {
        let mut lines: Vec<Line> = Vec::new();
        for (i, parts) in picks {
            let m = &shelf::shelf()[i];
            if m.id != "water" && lines.iter().all(|l| l.material.id != m.id) {
                lines.push(Line::new(m.clone(), parts));
            }
        }
        // Flour keeps every formula bakeable.
        if lines.iter().all(|l| l.material.id != "wheat_flour_ap") {
            lines.push(Line::new(
                shelf::find("wheat_flour_ap").expect("on the shelf"),
                50.0,
            ));
        }
        lines.push(Line::new(shelf::water(), water));
        Formula::new(lines).expect("legal lines")
    })
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * (1.0 + a.abs().max(b.abs()))
}

proptest! {
    #[test]
    fn mass_closes(f in any_formula(), target in 0.0..0.2f64) {
        prop_assert!(near(f.water() + f.dry_mix(), f.total()));
        let moisture = f.mass_of(Nutrient::Moisture).exact().unwrap();
        prop_assert!(near(f.solids() + moisture, f.total()));
        prop_assert!(near(f.percent_of_mix().iter().sum::<f64>(), 100.0));
        prop_assert!(near(f.percent_of_dry_matter().iter().sum::<f64>(), 100.0));
        let flour = f.percent_of_flour().unwrap();
        let sum: f64 = flour.iter().zip(f.lines()).filter(|(_, l)| l.is_flour).map(|(p, _)| p).sum();
        prop_assert!(near(sum, 100.0));
        if let Ok(b) = f.bake_balance(WetBasis(target)) {
            prop_assert!(near(b.baked_kg + b.decomposed_kg + b.water_off_kg, b.dough_kg));
            prop_assert!(near(b.baked_kg * (1.0 - target) + b.decomposed_kg, b.solids_kg));
        }
    }

    #[test]
    fn scaling_commutes(f in any_formula(), factor in 1e-3..1e3f64) {
        let s = f.scaled(factor);
        for (a, b) in f.percent_of_mix().into_iter().zip(s.percent_of_mix()) {
            prop_assert!(near(a, b));
        }
        prop_assert!(near(f.dough_moisture().0, s.dough_moisture().0));
        let need = |f: &Formula| water::need(f, Forming::WireCut);
        prop_assert!(near(need(&f).mean, need(&s).mean) && near(need(&f).sd, need(&s).sd));
        let cost = |f: &Formula| formula::cost::ingredient_cost(f).per_kg_dough.mean;
        prop_assert!(near(cost(&f), cost(&s)));
    }

    #[test]
    fn bases_round_trip(f in any_formula()) {
        // Percent of mix, taken as parts, is the same formula; water comes back as it was given.
        let lines = f.lines().iter().zip(f.percent_of_mix())
            .map(|(l, p)| Line { parts: p, ..l.clone() }).collect();
        let back = Formula::from_percent_of_mix(lines, 1e-9).unwrap();
        prop_assert!(near(back.dough_moisture().0, f.dough_moisture().0));
        let dose = f.water_kg_per_100kg_dry_mix().min(400.0);
        let again = f.with_water(dose).unwrap();
        prop_assert!(near(again.water_kg_per_100kg_dry_mix(), dose));
        prop_assert!(near(again.dry_mix(), f.dry_mix()));
    }

    #[test]
    fn swaps_keep_what_they_promise(f in any_formula(), into in 0..130usize, share in 0.01..1.0f64, which in 0..4usize) {
        let at = At::ALL[which];
        let with = shelf::shelf()[into].clone();
        let out = f.lines()[0].material.clone();
        let kept = |f: &Formula| -> f64 {
            f.lines().iter().map(|l| l.parts * at.content(&l.material).unwrap_or(0.0)).sum()
        };
        let change = Change::Swap { out: out.id.clone(), with: with.clone(), at, share };
        let possible = [&out, &with].iter().all(|m| at.content(m).is_some_and(|c| c > 0.0));
        match treatment::apply(&f, &[change]) {
            Ok(t) => prop_assert!(near(kept(&t), kept(&f)), "{} {}", kept(&t), kept(&f)),
            Err(e) => prop_assert!(!possible, "{e}"),
        }
    }

    #[test]
    fn no_nan_and_nothing_negative(f in any_formula(), target in 0.0..0.15f64) {
        let s = f.dry_solids();
        let sum = s.protein + s.fat + s.digestible_carbohydrate + s.fibre + s.ash;
        prop_assert!(near(sum, 1.0), "{sum}");
        for x in [s.protein, s.fat, s.digestible_carbohydrate, s.fibre, s.ash, s.salt, s.humectant] {
            prop_assert!(x >= 0.0 && x.is_finite());
        }
        let need = water::need(&f, Forming::Sheeted);
        prop_assert!(need.mean.is_finite() && need.sd > 0.0 && need.low95 >= 0.0);
        if let Ok(n) = nutrition(&f, WetBasis(target), Species::Cat) {
            prop_assert!(n.atwater_kcal_per_kg.is_finite() && n.atwater_kcal_per_kg >= 0.0);
            prop_assert!(n.nrc_kcal_per_kg.is_finite());
            for (_, t) in &n.as_baked {
                prop_assert!(t.at_least.is_finite() && t.at_least >= 0.0);
            }
        }
    }

    #[test]
    fn batches_add_up(f in any_formula(), kg in 0.1..500.0f64, division in 0.0..0.05f64) {
        use formula::batch::{Scales, Size, scale};
        let b = scale(&f, Size::Dough { kg }, Scales::one(division)).unwrap();
        prop_assert!(near(b.lines.iter().map(|l| l.exact_kg).sum::<f64>(), kg));
        for l in &b.lines {
            prop_assert!(l.rounding_error_kg().abs() <= division / 2.0 + 1e-9);
        }
    }
}

#[test]
fn every_material_alone_makes_sense() {
    for m in shelf::shelf() {
        let f = Formula::new(vec![Line::new(m.clone(), 1.0)]).unwrap();
        let w = f.dough_moisture().0;
        assert!((0.0..1.0).contains(&w), "{}", m.id);
        let s = f.dry_solids();
        let sum = s.protein + s.fat + s.digestible_carbohydrate + s.fibre + s.ash;
        assert!((sum - 1.0).abs() < 1e-12, "{}: {sum}", m.id);
        assert!(s.unknown.is_empty(), "{}", m.id);
        for n in Nutrient::ALL {
            assert!(f.mass_of(n).at_least.is_finite());
        }
    }
}
