//! What must hold for every dough.

use super::*;
use crate::Code;
use measure::DryBasis;
use proptest::prelude::*;

prop_compose! {
    fn any_solids()(parts in proptest::array::uniform5(0.01f64..1.0), sugars in 0.0f64..0.9, salt in 0.0f64..0.9) -> DrySolids {
        // Mostly carbohydrate and protein, as doughs are.
        let weights = [0.4, 0.3, 2.0, 0.3, 0.1];
        let sum: f64 = parts.iter().zip(weights).map(|(p, w)| p * w).sum();
        let [protein, fat, carbohydrate, fibre, ash] = std::array::from_fn(|i| parts[i] * weights[i] / sum);
        DrySolids {
            protein, fat, carbohydrate, fibre, ash,
            sugars: Some(sugars * carbohydrate), salt: Some(salt * ash), starch: None,
        }
    }
}

proptest! {
    #[test]
    fn every_dough_has_sane_properties(solids in any_solids(), wet in 0.15f64..0.5, gas in 0.0f64..0.3) {
        let settings = PropertySettings { density: Some(DoughDensity::Gas(gas)), ..Default::default() };
        let dough = dough_properties(&solids, WetBasis(wet), &settings).unwrap();
        prop_assert!((dough.density.porosity - gas).abs() < 1e-9);
        prop_assert!((1300.0..2300.0).contains(&dough.solid_heat_capacity_j_per_kg_k));
        let closures = dough.closures();
        for i in 0..=20 {
            for celsius in [20.0, 60.0, 100.0, 150.0, 200.0] {
                let x = f64::from(i) / 20.0 * WetBasis(wet).to_dry().0;
                let k = closures.conductivity.at(x, celsius);
                prop_assert!((0.03..1.0).contains(&k), "{k} at {x} {celsius}");
            }
        }
        // Against the closed form of the heat capacity, conductivity fit within its own word.
        prop_assert!(dough.conductivity.largest_relative_error < 0.15, "{}", dough.conductivity.largest_relative_error);
        let mut before = 0.0;
        for i in 1..=60 {
            let x = DryBasis(f64::from(i) / 60.0);
            let a = dough.sorption.water_activity(x, 298.15);
            prop_assert!(a > before && a < 1.0);
            before = a;
            let back = dough.sorption.moisture(a, 298.15);
            prop_assert!((back.0 / x.0 - 1.0).abs() < 1e-6);
            prop_assert!(dough.sorption.net_heat_j_per_kg(x, 298.15) >= 0.0);
        }
        prop_assert!(dough.given.iter().all(|g| g.value.is_some_and(f64::is_finite) && !g.source.text.is_empty()));
    }

    #[test]
    fn wetter_dough_is_lighter_in_solids_and_conducts_better(solids in any_solids(), wet in 0.15f64..0.45) {
        let at = |w| dough_properties(&solids, WetBasis(w), &PropertySettings::default()).unwrap();
        let (dry, moist) = (at(wet), at(wet + 0.03));
        prop_assert!(moist.density.dry_solid_kg_per_m3 < dry.density.dry_solid_kg_per_m3);
        let k = |d: &DoughProperties| d.conductivity.at(d.dough_moisture.to_dry(), 25.0);
        prop_assert!(k(&moist) > k(&dry));
    }
}

#[test]
fn settings_out_of_range_are_named_and_own_settings_are_marked() {
    let solids = DrySolids {
        protein: 0.13,
        fat: 0.08,
        carbohydrate: 0.71,
        fibre: 0.05,
        ash: 0.03,
        sugars: None,
        salt: None,
        starch: None,
    };
    let mut settings = PropertySettings::default();
    settings.transport.permeability_m2 = Some(1.0);
    let error = dough_properties(&solids, WetBasis(0.3), &settings)
        .unwrap_err()
        .to_string();
    assert!(
        error.starts_with("permeability is 1 m²; it must lie within"),
        "{error}"
    );
    settings.transport.permeability_m2 = Some(2e-14);
    settings.density = Some(DoughDensity::Measured(1500.0));
    let dough = dough_properties(&solids, WetBasis(0.3), &settings).unwrap();
    let own = dough
        .given
        .iter()
        .find(|g| g.name == "permeability")
        .unwrap();
    assert_eq!(
        (own.value, own.source.grade),
        (Some(2e-14), Grade::Measured)
    );
    for code in [
        Code::SugarsUnknown,
        Code::SaltUnknown,
        Code::DoughDenserThanItsParts,
    ] {
        assert!(dough.findings.iter().any(|f| f.code == code), "{code:?}");
    }
    assert!(dough_properties(&solids, WetBasis(0.95), &settings).is_err());
}

/// The bake gets what was computed.
#[test]
fn closures_carry_every_number() {
    let solids = DrySolids {
        protein: 0.13,
        fat: 0.08,
        carbohydrate: 0.71,
        fibre: 0.05,
        ash: 0.03,
        sugars: Some(0.03),
        salt: Some(0.005),
        starch: None,
    };
    let dough = dough_properties(&solids, WetBasis(0.30), &PropertySettings::default()).unwrap();
    let c = dough.closures();
    assert_eq!(c.liquid.d0_m2_per_s, 6e-10);
    assert_eq!(c.liquid.activation_j_per_mol, 31_000.0);
    assert_eq!(c.liquid.dry_end, DryEnd::of(0.10, 2.8));
    assert_eq!(c.vapour.permeability_m2, 1e-13);
    assert_eq!(c.vapour.porosity_over_tortuosity, 0.010);
    assert_eq!(c.emissivity, 0.9);
    assert!(
        (c.conductivity.at(0.4, 60.0) - dough.conductivity.at(DryBasis(0.4), 60.0)).abs() < 1e-12
    );
    let (bake, own) = (
        c.isotherm.water_activity(0.08, 60.0),
        dough.sorption.water_activity(DryBasis(0.08), 333.15),
    );
    assert!((bake - own).abs() < 1e-12);
}
