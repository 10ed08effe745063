//! What an edit puts into a study can be read back: any edit that is accepted gives a study that comes through its
//! text unchanged.

use formula::At;
use proptest::prelude::*;
use study::edit::{Edit, EditError, Put, Water, apply};
use study::written::field::{Kind, Table};
use study::written::{StudyWritten, read_written, tables, write};

fn example() -> StudyWritten {
    read_written(include_str!("../../../examples/spent-grain.toml")).expect("the example is sound")
}

/// Every way to a field below a table.
fn paths(table: &'static Table, before: &str, found: &mut Vec<String>) {
    for field in table.fields {
        let path = format!("{before}{}", field.key);
        if let Kind::Table(below) | Kind::Inline(below) = field.kind {
            paths(below, &format!("{path}."), found);
        }
        found.push(path);
    }
}

fn any_path() -> impl Strategy<Value = (Option<String>, String)> {
    let (mut study, mut own) = (Vec::new(), Vec::new());
    paths(&tables::ROOT, "", &mut study);
    paths(&tables::TREATMENT, "", &mut own);
    prop_oneof![
        proptest::sample::select(study).prop_map(|path| (None, path)),
        (treatment(), proptest::sample::select(own)).prop_map(|(id, path)| (Some(id), path)),
    ]
}

fn treatment() -> impl Strategy<Value = String> {
    let written = example();
    let ids = written.treatments().iter();
    let ids: Vec<String> = ids
        .filter_map(|t| t.get(tables::TreatmentRow::id))
        .map(str::to_owned)
        .collect();
    proptest::sample::select(ids)
}

fn material() -> impl Strategy<Value = String> {
    let ids = formula::shelf::shelf().iter().map(|m| m.id.clone());
    prop_oneof![
        4 => proptest::sample::select(ids.collect::<Vec<_>>()),
        1 => "[a-z_]{1,9}",
        1 => any::<String>(),
    ]
}

fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        "[ -~]{0,20}",
        Just("two\r\nlines\n".to_owned()),
        "[\\x00-\\x1f\\x7f\u{85}a\"\\\\]{1,6}",
        Just("M0 0 L1e308 0 L0 1e308 Z".to_owned()),
        proptest::sample::select(vec![
            "round", "bar", "path", "ring", "points", "need", "band", "mesh", "opp"
        ])
        .prop_map(str::to_owned),
    ]
}

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<f64>(),
        0.0..100.0,
        (0u32..50).prop_map(f64::from),
        Just(-0.0)
    ]
}

fn put() -> impl Strategy<Value = Put> {
    prop_oneof![
        any::<bool>().prop_map(Put::Flag),
        number().prop_map(Put::Number),
        text().prop_map(Put::Text),
        proptest::collection::vec(text(), 0..3).prop_map(Put::Words),
    ]
}

fn edit() -> BoxedStrategy<Edit> {
    let own_key = proptest::sample::select(
        tables::MATERIAL
            .keys()
            .map(str::to_owned)
            .collect::<Vec<_>>(),
    );
    let zone_key =
        proptest::sample::select(tables::ZONE.keys().map(str::to_owned).collect::<Vec<_>>());
    let value = || proptest::option::weighted(0.8, put());
    let edits = vec![
        (
            4,
            (any_path(), value())
                .prop_map(|((treatment, path), value)| Edit::SetField {
                    treatment,
                    path,
                    value,
                })
                .boxed(),
        ),
        (
            1,
            (treatment(), material(), number())
                .prop_map(|(treatment, material, amount)| Edit::SetAmount {
                    treatment,
                    material,
                    amount,
                })
                .boxed(),
        ),
        (
            1,
            (
                treatment(),
                material(),
                number(),
                proptest::option::of(text()),
            )
                .prop_map(|(treatment, material, amount, stage)| Edit::AddLine {
                    treatment,
                    material,
                    amount,
                    stage,
                })
                .boxed(),
        ),
        (
            1,
            (treatment(), material())
                .prop_map(|(treatment, material)| Edit::RemoveLine {
                    treatment,
                    material,
                })
                .boxed(),
        ),
        (
            1,
            (treatment(), material(), material(), number())
                .prop_map(|(treatment, out, with, share_pct)| Edit::Swap {
                    treatment,
                    out,
                    with,
                    keep: At::EqualMass,
                    share_pct,
                })
                .boxed(),
        ),
        (
            1,
            (treatment(), number())
                .prop_map(|(treatment, n)| Edit::SetWater {
                    treatment,
                    water: Water::GivenAmount(n),
                })
                .boxed(),
        ),
        (
            1,
            (treatment(), proptest::option::of(material()))
                .prop_map(|(treatment, material)| Edit::SetBalance {
                    treatment,
                    material,
                })
                .boxed(),
        ),
        (
            1,
            (treatment(), text(), text())
                .prop_map(|(from, id, name)| Edit::AddTreatment { from, id, name })
                .boxed(),
        ),
        (
            1,
            treatment()
                .prop_map(|treatment| Edit::RemoveTreatment { treatment })
                .boxed(),
        ),
        (
            1,
            (treatment(), text())
                .prop_map(|(treatment, name)| Edit::RenameTreatment { treatment, name })
                .boxed(),
        ),
        (
            1,
            (proptest::option::of(treatment()), text())
                .prop_map(|(treatment, note)| Edit::SetNote { treatment, note })
                .boxed(),
        ),
        (
            1,
            (number(), proptest::option::of(text()))
                .prop_map(|(moisture_pct, at)| Edit::SetTarget { moisture_pct, at })
                .boxed(),
        ),
        (
            1,
            (
                proptest::option::of(treatment()),
                text(),
                zone_key,
                number(),
            )
                .prop_map(|(treatment, zone, field, value)| Edit::SetZone {
                    treatment,
                    zone,
                    field,
                    value,
                })
                .boxed(),
        ),
        (
            1,
            (
                proptest::option::of(treatment()),
                prop_oneof!["entrance|middle|exit|middle 2|middle and exit", text()],
                -0.5..1.5,
            )
                .prop_map(|(treatment, zone, share)| Edit::SplitZone {
                    treatment,
                    zone,
                    share,
                })
                .boxed(),
        ),
        (
            1,
            (
                proptest::option::of(treatment()),
                prop_oneof!["entrance|middle|exit|middle 2|middle and exit", text()],
            )
                .prop_map(|(treatment, zone)| Edit::RemoveZone { treatment, zone })
                .boxed(),
        ),
        (
            1,
            (
                material(),
                proptest::collection::vec((own_key, value()), 0..4),
            )
                .prop_map(|(material, values)| Edit::OverrideMaterial { material, values })
                .boxed(),
        ),
        (
            1,
            material()
                .prop_map(|material| Edit::ForgetMaterial { material })
                .boxed(),
        ),
    ];
    proptest::strategy::Union::new_weighted(edits).boxed()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_put_can_be_read_back(edits in proptest::collection::vec(edit(), 1..12)) {
        let mut w = example();
        for edit in edits {
            let Ok(after) = apply(&w, &edit) else { continue };
            let text = write(&after);
            let again = read_written(&text).map_err(|p| TestCaseError::fail(format!("{edit:?}\n{p:?}\n{text}")))?;
            prop_assert_eq!(&again, &after, "{:?}\n{}", edit, text);
            // Whatever stands there now is worked out or told of, without a panic.
            let _ = study::written::resolve(&after);
            w = after;
        }
    }
}

/// Control characters of the C0 and C1 sets (Unicode 15, general category Cc) but tab and line ends.
#[test]
fn control_characters_are_refused_at_the_field() {
    let edits = |text: String| {
        let field = |path: &str| Edit::SetField {
            treatment: None,
            path: path.into(),
            value: Some(Put::Text(text.clone())),
        };
        vec![
            field("study.name"),
            field("study.question"),
            field("piece.path"),
            field("oven.source"),
            Edit::SetNote {
                treatment: Some("barley".into()),
                note: text.clone(),
            },
            Edit::AddTreatment {
                from: "barley".into(),
                id: String::new(),
                name: text.clone(),
            },
            Edit::RenameTreatment {
                treatment: "barley".into(),
                name: text.clone(),
            },
            Edit::OverrideMaterial {
                material: "salt".into(),
                values: vec![("caution".into(), Some(Put::Text(text.clone())))],
            },
        ]
    };
    for odd in [
        '\0', '\u{8}', '\u{b}', '\u{c}', '\r', '\u{1b}', '\u{7f}', '\u{85}',
    ] {
        for edit in edits(format!("a{odd}b")) {
            match apply(&example(), &edit) {
                Err(error @ EditError::BadValue { .. }) => {
                    let words = error.to_string();
                    assert!(
                        words.contains(&format!("U+{:04X}", u32::from(odd))),
                        "{words}"
                    );
                }
                other => panic!("{edit:?}: {other:?}"),
            }
        }
    }
    for edit in edits("two\r\nlines".into()).into_iter().take(5) {
        let after = apply(&example(), &edit).unwrap();
        assert_eq!(read_written(&write(&after)).unwrap(), after);
    }
}

/// Docker holes without their number couldn't be read again.
#[test]
fn a_table_without_what_it_has_to_have_is_refused() {
    let plain =
        read_written(&write(&example()).replace("docker = { count = 10, diameter_mm = 2 }\n", ""))
            .unwrap();
    let set = |path: &str, value: f64| Edit::SetField {
        treatment: Some("barley".into()),
        path: path.into(),
        value: Some(Put::Number(value)),
    };
    let error = apply(&plain, &set("piece.docker.depth_mm", 3.0)).unwrap_err();
    let EditError::BadValue { path, .. } = &error else {
        panic!("{error}")
    };
    assert_eq!(path, "piece.docker.count");
    let holes = apply(&plain, &set("piece.docker.count", 4.0)).unwrap();
    assert!(apply(&holes, &set("piece.docker.depth_mm", 3.0)).is_ok());
}
