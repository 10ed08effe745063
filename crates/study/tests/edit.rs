//! Editing a study as written, on the demonstration. Expected numbers are arithmetic on its text.
#![allow(clippy::unwrap_used)] // a helper of a test may panic

use proptest::prelude::*;
use study::edit::{Edit, EditError, Put, Water, apply};
use study::written::tables::{RootRow, TreatmentRow};
use study::written::{StudyWritten, read_written, resolve, write};

const EXAMPLE: &str = include_str!("../../../examples/spent-grain.toml");

fn example() -> StudyWritten {
    read_written(EXAMPLE).unwrap()
}

fn amount(treatment: &str, material: &str, amount: f64) -> Edit {
    Edit::SetAmount {
        treatment: treatment.into(),
        material: material.into(),
        amount,
    }
}

fn percent(w: &StudyWritten, treatment: &str, material: &str) -> f64 {
    let study = resolve(w).unwrap();
    let t = study.treatment(treatment).unwrap();
    let shares = t.formula.percent_of_mix();
    t.formula
        .lines()
        .iter()
        .zip(shares)
        .filter(|(l, _)| l.material.id == material)
        .map(|(_, s)| s)
        .sum()
}

fn comments(text: &str) -> usize {
    text.matches('#').count()
}

#[test]
fn a_cell_of_a_full_formula_is_set_in_place_and_the_balance_takes_the_rest() {
    let before = example();
    let after = apply(&before, &amount("control", "salt", 0.8)).unwrap();
    assert!((percent(&after, "control", "salt") - 0.8).abs() < 1e-9);
    let water = percent(&before, "control", "water") - percent(&after, "control", "water");
    assert!((water - 0.5).abs() < 1e-9, "{water}");
    assert_eq!(comments(&write(&before)), comments(&write(&after)));
}

#[test]
fn a_cell_of_a_changed_formula_becomes_a_change_and_is_then_updated() {
    let w = apply(&example(), &amount("barley", "salt", 0.4)).unwrap();
    let w = apply(&w, &amount("barley", "molasses", 2.0)).unwrap();
    let w = apply(&w, &amount("barley", "salt", 0.5)).unwrap();
    assert!((percent(&w, "barley", "salt") - 0.5).abs() < 1e-9);
    assert!((percent(&w, "barley", "molasses") - 2.0).abs() < 1e-9);
    let text = write(&w);
    assert_eq!(text.matches("set = \"salt\"").count(), 1, "{text}");
    assert!(text.contains("from = \"control\""));
}

#[test]
fn a_material_that_is_not_there_is_added_and_taken_out_again() {
    let before = example();
    let w = apply(&before, &amount("barley", "egg_white_dried", 2.0)).unwrap();
    assert!((percent(&w, "barley", "egg_white_dried") - 2.0).abs() < 1e-9);
    let out = Edit::RemoveLine {
        treatment: "barley".into(),
        material: "egg_white_dried".into(),
    };
    assert_eq!(apply(&w, &out).unwrap(), before);
}

#[test]
fn a_swap_in_a_full_formula_keeps_what_it_says() {
    let before = example();
    let swap = Edit::Swap {
        treatment: "control".into(),
        out: "wheat_flour_soft".into(),
        with: "barley_flour".into(),
        keep: formula::At::EqualDryMatter,
        share_pct: 100.0,
    };
    let alone = apply(
        &before,
        &Edit::RemoveTreatment {
            treatment: "barley".into(),
        },
    )
    .unwrap();
    let after = apply(&alone, &swap).unwrap();
    // The demonstration's barley treatment is the same swap written as a change.
    let written = percent(&before, "barley", "barley_flour");
    assert!((percent(&after, "control", "barley_flour") - written).abs() < 1e-4);
}

#[test]
fn the_balance_moves_and_leaves_the_numbers_as_they_were() {
    let before = example();
    let edit = Edit::SetBalance {
        treatment: "control".into(),
        material: Some("wheat_flour_soft".into()),
    };
    let after = apply(&before, &edit).unwrap();
    for material in ["water", "wheat_flour_soft", "salt"] {
        let moved = percent(&before, "control", material) - percent(&after, "control", material);
        assert!(moved.abs() < 1e-5, "{material} {moved}");
    }
}

#[test]
fn water_given_to_a_dry_mix_is_told_on_it() {
    let water = Water::GivenAmount(36.0);
    let after = apply(
        &example(),
        &Edit::SetWater {
            treatment: "rice_chickpea".into(),
            water,
        },
    )
    .unwrap();
    let study = resolve(&after).unwrap();
    let t = study.treatment("rice_chickpea").unwrap();
    assert!((t.formula.water_kg_per_100kg_dry_mix() - 36.0).abs() < 1e-9);
}

#[test]
fn treatments_come_and_go() {
    let w = example();
    let add = Edit::AddTreatment {
        from: "barley".into(),
        id: String::new(),
        name: "Barley, saltier".into(),
    };
    let w = apply(&w, &add).unwrap();
    let w = apply(&w, &amount("barley_saltier", "salt", 0.45)).unwrap();
    assert!((percent(&w, "barley_saltier", "salt") - 0.45).abs() < 1e-9);
    let gone = Edit::RemoveTreatment {
        treatment: "barley_saltier".into(),
    };
    assert_eq!(apply(&w, &gone).unwrap(), example());
    let parent = Edit::RemoveTreatment {
        treatment: "rice_chickpea".into(),
    };
    assert!(matches!(
        apply(&w, &parent),
        Err(EditError::HasChildren { .. })
    ));
    let control = Edit::RemoveTreatment {
        treatment: "control".into(),
    };
    assert!(matches!(
        apply(&w, &control),
        Err(EditError::IsControl { .. })
    ));
}

#[test]
fn a_zone_of_a_preset_changes_alone() {
    let before = resolve(&example()).unwrap();
    let zone = before.setting.oven.zones[1].name.clone();
    let edit = |treatment: Option<&str>| Edit::SetZone {
        treatment: treatment.map(str::to_owned),
        zone: zone.clone(),
        field: "air_c".into(),
        value: 217.0,
    };
    let after = resolve(&apply(&example(), &edit(None)).unwrap()).unwrap();
    assert_eq!(
        after.setting.oven.zones.len(),
        before.setting.oven.zones.len()
    );
    assert!((after.setting.oven.zones[1].air_k - 490.15).abs() < 1e-9);
    assert_eq!(after.setting.oven.zones[0], before.setting.oven.zones[0]);
    let own = resolve(&apply(&example(), &edit(Some("barley"))).unwrap()).unwrap();
    assert_eq!(own.setting.oven, before.setting.oven);
    assert!((own.treatment("barley").unwrap().setting.oven.zones[1].air_k - 490.15).abs() < 1e-9);
    let mut odd = edit(None);
    if let Edit::SetZone { zone, .. } = &mut odd {
        *zone = "moon".into();
    }
    assert!(matches!(
        apply(&example(), &odd),
        Err(EditError::NoZone { .. })
    ));
}

#[test]
fn fields_are_checked_against_their_list() {
    let set = |path: &str, value: Option<Put>| {
        apply(
            &example(),
            &Edit::SetField {
                treatment: None,
                path: path.into(),
                value,
            },
        )
    };
    assert!(set("piece.thickness_mm", Some(Put::Number(9.0))).is_ok());
    for (path, value) in [
        ("piece.thickness_mm", Put::Number(f64::NAN)),
        ("piece.thickness_mm", Put::Number(1e308)),
        ("piece.thickness_mm", Put::Text("8".into())),
        ("study.target.at", Put::Text("noon".into())),
        ("study.name", Put::Text("x".repeat(10_000))),
    ] {
        assert!(
            matches!(set(path, Some(value)), Err(EditError::BadValue { .. })),
            "{path}"
        );
    }
    assert!(matches!(
        set("piece.thickness", None),
        Err(EditError::NoField { .. })
    ));
    assert!(set("piece.outline", None).is_ok());
    let own = Edit::SetField {
        treatment: Some("barley".into()),
        path: "line.packer.label_g".into(),
        value: Some(Put::Number(250.0)),
    };
    let study = resolve(&apply(&example(), &own).unwrap()).unwrap();
    assert!(
        (study
            .treatment("barley")
            .unwrap()
            .setting
            .line
            .packer
            .label_kg
            - 0.25)
            .abs()
            < 1e-12
    );
}

#[test]
fn own_values_go_over_a_material_and_away_again() {
    let values = vec![
        ("moisture_pct".to_owned(), Some(Put::Number(11.0))),
        ("lot".to_owned(), Some(Put::Text("B-7".into()))),
    ];
    let w = apply(
        &example(),
        &Edit::OverrideMaterial {
            material: "chickpea_flour".into(),
            values,
        },
    )
    .unwrap();
    let study = resolve(&w).unwrap();
    assert_eq!(study.materials["chickpea_flour"].lot, "B-7");
    assert!((study.materials["chickpea_flour"].moisture().unwrap().0 - 0.11).abs() < 1e-12);
    let w = apply(
        &w,
        &Edit::ForgetMaterial {
            material: "chickpea_flour".into(),
        },
    )
    .unwrap();
    assert!(
        !resolve(&w)
            .unwrap()
            .materials
            .contains_key("chickpea_flour")
    );
}

const TREATMENTS: [&str; 4] = ["barley", "poultry_fat", "wet", "rice_chickpea_egg"];
const MATERIALS: [&str; 6] = [
    "salt",
    "molasses",
    "spent_grain",
    "beet_pulp",
    "egg_white_dried",
    "calcium_carbonate",
];

fn any_edit() -> impl Strategy<Value = Edit> {
    let which = (
        0..TREATMENTS.len(),
        0..MATERIALS.len(),
        prop_oneof![0.0..5.0, Just(f64::NAN), Just(1e308), -1.0..0.0],
    );
    (which, 0..7_u8).prop_map(|((t, m, a), kind)| {
        let (treatment, material) = (TREATMENTS[t].to_owned(), MATERIALS[m].to_owned());
        match kind {
            0 => Edit::SetAmount {
                treatment,
                material,
                amount: a,
            },
            1 => Edit::AddLine {
                treatment,
                material,
                amount: a,
                stage: None,
            },
            2 => Edit::RemoveLine {
                treatment,
                material,
            },
            3 => Edit::Swap {
                treatment,
                out: material,
                with: "rice_flour_white".into(),
                keep: formula::At::EqualMass,
                share_pct: 20.0 * a,
            },
            4 => Edit::SetNote {
                treatment: Some(treatment),
                note: format!("about {a}"),
            },
            5 => Edit::SetWater {
                treatment,
                water: Water::Need,
            },
            _ => Edit::RenameTreatment {
                treatment,
                name: format!("a {a}"),
            },
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whatever is edited in treatments that no other starts from, all others stay as written, and
    /// the text still reads back as the same study.
    #[test]
    fn other_treatments_stay_as_they_were(edits in proptest::collection::vec(any_edit(), 1..8)) {
        let before = example();
        let mut w = before.clone();
        for edit in &edits {
            if let Ok(next) = apply(&w, edit) {
                w = next;
            }
        }
        prop_assert_eq!(&read_written(&write(&w)).unwrap(), &w);
        for (was, is) in before.treatments().iter().zip(w.treatments()) {
            if !TREATMENTS.contains(&was.get(TreatmentRow::id).unwrap()) {
                prop_assert_eq!(was, is);
            }
        }
        prop_assert_eq!(before.root.row(RootRow::study), w.root.row(RootRow::study));
        prop_assert_eq!(before.root.rows(RootRow::material), w.root.rows(RootRow::material));
    }
}

fn field(treatment: Option<&str>, path: &str, value: Option<Put>) -> Edit {
    Edit::SetField {
        treatment: treatment.map(str::to_owned),
        path: path.into(),
        value,
    }
}

fn all(edits: &[Edit]) -> StudyWritten {
    edits.iter().fold(example(), |w, e| apply(&w, e).unwrap())
}

#[test]
fn another_outline_takes_out_the_measures_of_the_one_before() {
    let text = |t: &str| Some(Put::Text(t.into()));
    let path = all(&[
        field(None, "piece.outline", text("path")),
        field(None, "piece.path", text("M0 0H60V40Z")),
        field(None, "piece.unit_mm", Some(Put::Number(1.0))),
    ]);
    let written = write(&path);
    assert!(
        !written[written.find("[piece]").unwrap()..written.find("[treatment").unwrap()]
            .contains("length_mm")
    );
    assert!((resolve(&path).unwrap().setting.piece.outline.area_m2() - 0.0012).abs() < 1e-12);
    let back = apply(&path, &field(None, "piece.outline", text("bar"))).unwrap();
    assert!(!write(&back).contains("M0 0H60V40Z") && !write(&back).contains("unit_mm"));
}

#[test]
fn another_pattern_of_holes_has_no_places_of_the_one_before() {
    let text = |t: &str| Some(Put::Text(t.into()));
    let study = [
        field(None, "piece.docker.pattern", text("ring")),
        field(None, "piece.docker.ring_mm", Some(Put::Number(12.0))),
    ];
    // A treatment's own pattern doesn't lean on the study's ring.
    let own = [
        field(Some("barley"), "piece.docker.count", Some(Put::Number(3.0))),
        field(Some("barley"), "piece.docker.pattern", text("axis")),
    ];
    let w = all(&[study.as_slice(), own.as_slice()].concat());
    let resolved = resolve(&w).unwrap();
    assert_eq!(
        resolved.control().setting.docker_pattern.places.word(),
        "ring"
    );
    let barley = resolved.treatment("barley").unwrap();
    assert_eq!(barley.setting.docker_pattern.places.word(), "axis");
    let grid = apply(&w, &field(None, "piece.docker.pattern", text("grid"))).unwrap();
    assert!(!write(&grid).contains("ring_mm"));
    resolve(&grid).unwrap();
}

/// A fitted edge changes the quick answer, holds for the treatments that share the piece, and goes when the piece does.
#[test]
fn a_fitted_edge_is_that_of_one_piece() {
    let put = |w: &StudyWritten, of: Option<&str>, path: &str, value: f64| {
        let edit = Edit::SetField {
            treatment: of.map(Into::into),
            path: path.into(),
            value: Some(Put::Number(value)),
        };
        apply(w, &edit)
    };
    let minutes = |w: &StudyWritten, id: &str| {
        let study = resolve(w).unwrap();
        let t = study.treatment(id).unwrap();
        let mut work = study::Workspace::new();
        let asked = study::BakeOptions::QUICK;
        let k = study::knock_on(&study::run(t, &asked, study::Sample::Centre, &mut work).unwrap());
        k.bake.time_min
    };
    let path = "piece.edge_path_share";
    let fitted = put(&example(), None, path, 0.3).unwrap();
    for id in ["control", "barley"] {
        let longer = put(&example(), None, path, 0.9).unwrap();
        assert!(minutes(&fitted, id) < minutes(&longer, id), "{id}");
    }
    let study = resolve(&fitted).unwrap();
    assert_eq!(study.control().setting.edge_path_share, Some(0.3));
    // A treatment with a thickness of its own has an edge of its own.
    let own = put(&fitted, Some("barley"), "piece.thickness_mm", 9.0).unwrap();
    let shares = resolve(&own).unwrap();
    let of = |id: &str| shares.treatment(id).unwrap().setting.edge_path_share;
    assert_eq!((of("control"), of("barley")), (Some(0.3), None));
    // So does the study once its piece changes.
    let thicker = put(&fitted, None, "piece.thickness_mm", 9.0).unwrap();
    let share = resolve(&thicker).unwrap().control().setting.edge_path_share;
    assert_eq!(share, None);
    assert!(put(&example(), None, path, 9.0).is_err());
}

#[test]
fn a_pack_has_one_film() {
    use study::chain::shelf_life::AfterOptions;
    use study::model::FilmChoice;
    let film = |w: &StudyWritten, id: &str| {
        AfterOptions::of(resolve(w).unwrap().treatment(id).unwrap())
            .keeping
            .film
    };
    assert_eq!(film(&example(), "barley"), FilmChoice::Known("opp".into()));
    let own = field(None, "pack.film_g_m2_day", Some(Put::Number(2.5)));
    let foil = field(Some("barley"), "pack.film", Some(Put::Text("foil".into())));
    let w = all(&[own, foil]);
    assert_eq!(film(&w, "control"), FilmChoice::Transmission(2.5));
    assert_eq!(film(&w, "barley"), FilmChoice::Known("foil".into()));
    let w = apply(
        &w,
        &field(None, "pack.film", Some(Put::Text("hdpe".into()))),
    )
    .unwrap();
    assert!(!write(&w).contains("film_g_m2_day"));
    let odd = field(None, "pack.climate", Some(Put::Text("warm".into())));
    let told = resolve(&apply(&w, &odd).unwrap()).unwrap_err();
    assert!(
        told[0]
            .to_string()
            .contains("pack.climate: ‘warm’ is no climate"),
        "{}",
        told[0]
    );
}
