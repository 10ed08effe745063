//! Which doughs may be credited by the quick laws of plain bread doughs while they are wet.

#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use study::{BakeOptions, Sample, Workspace, run};

const WHEAT_BONE: &str = include_str!("../../../examples/jobs/wheat-bone-on-mesh.toml");
const SALT: &str = r#"{ material = "salt", amount = 0.6 }"#;

/// Whether the dough of the first treatment counts as plain where it is baked.
fn is_plain(text: &str) -> bool {
    let study = study::written::read(text).unwrap();
    let (options, w) = (&BakeOptions::BAKE_ONLY, &mut Workspace::new());
    let answer = run(study.control(), options, Sample::Centre, w).unwrap();
    answer.baked.input.closures.plain_dough
}

/// D falls tenfold in 6 to 7 K in bread doughs alone; a sweet batter needs a hundred times as long at 80 °C (Channaiah and
/// others 2016 and 2017, abstracts seen).
#[test]
fn only_a_dough_without_sugar_humectant_and_much_salt_counts_as_plain() {
    assert!(is_plain(WHEAT_BONE));
    for line in [
        r#"{ material = "sugar", amount = 6 }"#,
        r#"{ material = "glycerin", amount = 3 }"#,
        r#"{ material = "salt", amount = 3 }"#,
    ] {
        let other = WHEAT_BONE.replace(SALT, line);
        assert_ne!(other, WHEAT_BONE);
        assert!(!is_plain(&other), "{line}");
    }
}

/// Salt that nobody has looked for may be there: a material without a sodium value takes the credit away.
#[test]
fn a_dough_whose_salt_is_not_known_does_not_count_as_plain() {
    let with = |sodium: &str| {
        let own = format!(
            "[[material]]\nid = \"crumb\"\nname = \"Crumb\"\ncategory = \"mineral\"\nmoisture_pct = 10\n\
             crude_protein_pct = 1\ncrude_fat_pct = 0\ncrude_fibre_pct = 0\nash_pct = 1\nsugars_pct = 0\ngluten = \"free_by_nature\"\n{sodium}\n[[treatment]]\nid = \"plain\""
        );
        let text = WHEAT_BONE.replace("[[treatment]]\nid = \"plain\"", &own);
        let text = text.replace(SALT, r#"{ material = "crumb", amount = 6 }"#);
        assert!(text.contains("crumb\", amount"));
        is_plain(&text)
    };
    assert!(with("sodium_pct = 0.01"));
    assert!(!with(""));
}
