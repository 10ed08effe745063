//! One zone more, one zone fewer.

#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use study::edit::{Edit, EditError, apply};
use study::written::{StudyWritten, read_written, resolve, write};
use study::{BakeOptions, Sample, Study, Workspace};

fn example() -> StudyWritten {
    read_written(include_str!("../../../examples/spent-grain.toml")).unwrap()
}

fn split(treatment: Option<&str>, zone: &str, share: f64) -> Edit {
    Edit::SplitZone {
        treatment: treatment.map(str::to_owned),
        zone: zone.into(),
        share,
    }
}

fn remove(treatment: Option<&str>, zone: &str) -> Edit {
    Edit::RemoveZone {
        treatment: treatment.map(str::to_owned),
        zone: zone.into(),
    }
}

fn air(treatment: Option<&str>, zone: &str, value: f64) -> Edit {
    Edit::SetZone {
        treatment: treatment.map(str::to_owned),
        zone: zone.into(),
        field: "air_c".into(),
        value,
    }
}

/// The study after edits, as it is read again from its text.
fn after(edits: &[Edit]) -> Study {
    let edited = edits
        .iter()
        .fold(example(), |w, edit| apply(&w, edit).unwrap());
    resolve(&read_written(&write(&edited)).unwrap()).unwrap()
}

fn zones(study: &Study, treatment: &str) -> Vec<(String, f64, f64)> {
    let oven = &study.treatment(treatment).unwrap().setting.oven;
    let shares = oven.shares();
    let told = oven.zones.iter().zip(shares);
    told.map(|(z, share)| (z.name.clone(), share, z.air_k))
        .collect()
}

fn minutes(study: &Study, treatment: &str) -> f64 {
    let treatment = study.treatment(treatment).unwrap();
    let run = study::run(
        treatment,
        &BakeOptions::BAKE_ONLY,
        Sample::Centre,
        &mut Workspace::new(),
    );
    run.unwrap().baked.time_s / 60.0
}

/// Two parts that are set as the whole was are the whole: nothing in the bake knows a border at which nothing changes.
#[test]
fn a_zone_in_two_parts_bakes_as_the_whole() {
    let was = resolve(&example()).unwrap();
    let is = after(&[split(None, "middle", 0.25)]);
    let (before, now) = (zones(&was, "barley"), zones(&is, "barley"));
    let names: Vec<&str> = now.iter().map(|z| z.0.as_str()).collect();
    assert_eq!(names, ["entrance", "middle", "middle 2", "exit"]);
    assert!((now[1].1 - 0.25 * before[1].1).abs() < 1e-6, "{now:?}");
    assert!((now[2].1 - 0.75 * before[1].1).abs() < 1e-6, "{now:?}");
    assert!((now[3].1 - before[2].1).abs() < 1e-6 && now[2].2 == before[1].2);
    let (whole, parts) = (minutes(&was, "control"), minutes(&is, "control"));
    assert!((whole - parts).abs() < 0.01 * whole, "{whole} {parts}");
}

#[test]
fn a_zone_that_is_taken_away_leaves_its_length_to_its_neighbour_and_stays_away() {
    let was = zones(&resolve(&example()).unwrap(), "control");
    for (gone, stays) in [(0, 1), (1, 0), (2, 1)] {
        let is = zones(&after(&[remove(None, &was[gone].0)]), "control");
        assert_eq!(is.len(), 2, "{is:?}");
        let kept = is.iter().find(|z| z.0.contains(&was[stays].0)).unwrap();
        assert!((kept.1 - was[gone].1 - was[stays].1).abs() < 1e-6, "{is:?}");
        assert_eq!(kept.2, was[stays].2, "it is set as before");
    }
    // Back to one, and no further.
    let one = [remove(None, "exit"), remove(None, "middle and exit")];
    assert_eq!(zones(&after(&one), "barley").len(), 1);
    let last = one
        .iter()
        .fold(example(), |w, edit| apply(&w, edit).unwrap());
    let name = zones(&resolve(&last).unwrap(), "barley")[0].0.clone();
    assert!(matches!(
        apply(&last, &remove(None, &name)),
        Err(EditError::BadValue { .. })
    ));
    // One more and one fewer is as before.
    let back = after(&[split(None, "middle", 0.5), remove(None, "middle 2")]);
    for (a, b) in zones(&back, "control").iter().zip(&was) {
        assert!(
            a.0 == b.0 && (a.1 - b.1).abs() < 1e-6 && a.2 == b.2,
            "{a:?} {b:?}"
        );
    }
}

#[test]
fn what_a_treatment_has_of_its_own_follows_the_zones_it_stands_over() {
    let own = [
        air(Some("barley"), "middle", 260.0),
        split(None, "middle", 0.5),
    ];
    let study = after(&own);
    let (control, barley) = (zones(&study, "control"), zones(&study, "barley"));
    assert_eq!(barley.len(), 4);
    for i in [1, 2] {
        assert!((barley[i].2 - 533.15).abs() < 1e-9 && control[i].2 != barley[i].2);
    }
    let study = after(&[air(Some("barley"), "middle", 260.0), remove(None, "exit")]);
    let barley = zones(&study, "barley");
    assert!(
        barley.len() == 2 && (barley[1].2 - 533.15).abs() < 1e-9,
        "{barley:?}"
    );
    let study = after(&[air(Some("barley"), "exit", 260.0), remove(None, "exit")]);
    assert_eq!(zones(&study, "barley"), zones(&study, "control"));
    // A treatment's own zones leave the others' alone.
    let study = after(&[split(Some("barley"), "exit", 0.5)]);
    assert_eq!(
        (
            zones(&study, "barley").len(),
            zones(&study, "control").len()
        ),
        (4, 3)
    );
    let study = after(&[remove(Some("barley"), "exit")]);
    assert_eq!(
        (
            zones(&study, "barley").len(),
            zones(&study, "control").len()
        ),
        (2, 3)
    );
}

#[test]
fn zones_that_cannot_be_are_refused() {
    let refused = |edit: &Edit| apply(&example(), edit).unwrap_err();
    for edit in [split(None, "moon", 0.5), remove(None, "moon")] {
        assert!(matches!(refused(&edit), EditError::NoZone { .. }));
    }
    for share in [0.0, 1.0, -1.0, f64::NAN] {
        let edit = split(None, "middle", share);
        assert!(matches!(refused(&edit), EditError::BadValue { .. }));
    }
    let mut w = example();
    for _ in 0..17 {
        w = apply(&w, &split(None, "middle", 0.9)).unwrap();
    }
    let text = apply(&w, &split(None, "middle", 0.9))
        .unwrap_err()
        .to_string();
    assert!(text.contains("20"), "{text}");
}
