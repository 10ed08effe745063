//! The demonstration study: it reads, its formulas are such as a bakery would mix, and it survives
//! being written and read.

use formula::water::Forming;
use formula::{Formula, Gluten, Nutrient, WaterNeed};
use study::model::{Place, Species, Study, Treatment, WaterChoice};
use study::written::{Value, read, read_written, tables, write};

const EXAMPLE: &str = include_str!("../../../examples/spent-grain.toml");

fn example() -> Study {
    read(EXAMPLE).unwrap_or_else(|problems| {
        panic!(
            "{}",
            problems
                .iter()
                .map(|p| format!("{p}\n"))
                .collect::<String>()
        )
    })
}

#[test]
fn it_reads() {
    let study = example();
    assert_eq!(study.name, "Spent-grain bars");
    assert!(study.invented, "made-up data are marked");
    assert_eq!(study.species, Species::Dog);
    assert_eq!(study.target.at, Place::Packed);
    assert_eq!(study.control().id, "control");
    assert!(study.treatments.len() >= 5);
    let ids: Vec<_> = study.treatments.iter().map(|t| t.id.as_str()).collect();
    assert_eq!(
        ids,
        [
            "control",
            "barley",
            "rice_chickpea",
            "rice_chickpea_egg",
            "poultry_fat",
            "wet",
            "rotary"
        ]
    );
}

/// The water that a treatment's dough asks for.
fn need_of(t: &Treatment) -> WaterNeed {
    let process = &t.setting.process;
    formula::water::need(&t.formula, process.forming).at_consistency(process.consistency_fu)
}

/// The formula with the water it is mixed with.
fn mixed(t: &Treatment) -> Formula {
    match t.water {
        WaterChoice::Given => t.formula.clone(),
        WaterChoice::FromNeed => {
            let need = need_of(t);
            t.formula
                .with_water(need.mean)
                .expect("the need can be dosed")
        }
    }
}

/// Common practice, no source: total moisture of lean pet dough, wet basis, 26 to 34 % sheeted and 18
/// to 30 % rotary moulded, a few points more where barley drinks or water is given freely; fat 3 to
/// 8 %, salt at most 0.5 % of the dough; calcium not below phosphorus and at most twice it.
#[test]
fn its_doughs_are_such_as_a_bakery_would_mix() {
    for t in &example().treatments {
        let f = &mixed(t);
        let moisture = f.dough_moisture().percent();
        let usual = match t.setting.process.forming {
            Forming::RotaryMoulded => 18.0..=30.0,
            _ if ["barley", "wet"].contains(&t.id.as_str()) => 26.0..=37.0,
            _ => 26.0..=34.0,
        };
        assert!(usual.contains(&moisture), "{}: moisture {moisture}", t.id);
        let share = |n| f.mass_of(n).at_least / f.total();
        let fat = share(Nutrient::CrudeFat);
        assert!((0.03..=0.08).contains(&fat), "{}: fat {fat}", t.id);
        let salt = f.lines().iter().find(|l| l.material.id == "salt").unwrap();
        assert!(salt.parts / f.total() <= 0.005, "{}", t.id);
        let ratio = share(Nutrient::Calcium) / share(Nutrient::Phosphorus);
        assert!(
            (1.0..=2.0).contains(&ratio),
            "{}: calcium over phosphorus {ratio}",
            t.id
        );
        assert!(f.percent_of_flour().is_some(), "{}", t.id);
    }
}

/// Common practice, no source: a dough without gluten grain asks for at least as much water as the
/// wheat one, a binder raises the need, and a rotary dough is drier than a sheeted one. What the
/// control is given is near what it needs.
#[test]
fn its_waters_go_the_usual_way() {
    let study = example();
    let need = |id: &str| need_of(study.treatment(id).unwrap());
    assert!(need("rice_chickpea").mean >= need("control").mean);
    assert!(need("rice_chickpea_egg").mean > need("rice_chickpea").mean);
    assert!(need("rotary").mean < need("control").mean);
    let given = study.control().formula.water_kg_per_100kg_dry_mix();
    let control = need("control");
    assert!(
        (control.low95..=control.high95).contains(&given),
        "{given} {control:?}"
    );
}

#[test]
fn the_gluten_free_ones_have_no_gluten_grain() {
    for id in ["rice_chickpea", "rice_chickpea_egg"] {
        let study = example();
        let t = study.treatment(id).unwrap();
        assert!(
            t.formula
                .lines()
                .iter()
                .all(|l| l.material.gluten != Gluten::Contains),
            "{id}"
        );
    }
}

#[test]
fn changes_and_overrides_run_on() {
    let study = example();
    let of = |id: &str| study.treatment(id).unwrap();
    let has = |id: &str, material: &str| {
        of(id)
            .formula
            .lines()
            .iter()
            .any(|l| l.material.id == material)
    };
    assert!(has("barley", "barley_flour") && !has("barley", "wheat_flour_soft"));
    assert!(has("poultry_fat", "poultry_fat") && !has("poultry_fat", "sunflower_oil"));
    assert!(
        has("rice_chickpea_egg", "egg_white_dried") && !has("rice_chickpea", "egg_white_dried")
    );
    assert_eq!(
        of("rice_chickpea_egg").water,
        WaterChoice::FromNeed,
        "taken over from what it starts from"
    );
    assert!(of("wet").formula.dough_moisture().0 > study.control().formula.dough_moisture().0);
    assert_eq!(of("rotary").own, ["piece", "process", "line"]);
    // What the rotary bone doesn't write of the piece stays as the study has it.
    assert_eq!(
        of("rotary").setting.piece.thickness_m,
        study.setting.piece.thickness_m
    );
    assert_eq!(of("rotary").setting.piece.outline.word(), "bone");
    assert_eq!(of("rotary").setting.line.former.word(), "rotary moulder");
    assert_eq!(of("rotary").setting.line.packer, study.setting.line.packer);
    // The oven keeps the zones of its preset and has its own band.
    let preset = baking::oven::presets::steel_band();
    let oven = &study.setting.oven;
    assert_eq!(oven.zones.len(), preset.zones.len());
    assert!(oven.loading_area_m2() < preset.loading_area_m2());
    assert_eq!(of("barley").setting, study.setting);
    let grain = study.material("spent_grain").unwrap();
    assert_eq!(grain.composition.fraction(Nutrient::Moisture), Some(0.06));
    assert_eq!(grain.lot, "SG-24-117");
}

#[test]
fn it_survives_writing() {
    let written = read_written(EXAMPLE).unwrap();
    let text = write(&written);
    let again = read_written(&text).unwrap();
    assert_eq!(written, again, "{text}");
    assert_eq!(read(&text).unwrap(), example());
    assert_eq!(write(&again), text, "the second writing changes nothing");
    for comment in [
        "# Two rows of five holes",
        "# gas against a dense crumb",
        "# All data of the bakery",
    ] {
        assert!(text.contains(comment), "{comment} is kept\n{text}");
    }
}

#[test]
fn a_written_study_can_be_edited() {
    let mut written = read_written(EXAMPLE).unwrap();
    let mut piece = written.root.row(tables::RootRow::piece).unwrap().clone();
    assert!(piece.set("thickness_mm", Value::Number(10.0)));
    assert!(
        !piece.set("thickness_furlong", Value::Number(10.0)),
        "only what the field list has"
    );
    assert!(written.root.set("piece", Value::Row(piece)));
    let study = read(&write(&written)).unwrap();
    assert_eq!(study.setting.piece.thickness_m, 0.010);
}

#[test]
fn line_ends_and_marks_of_other_systems_are_read() {
    let windows = format!("\u{feff}{}", EXAMPLE.replace('\n', "\r\n"));
    assert_eq!(read_written(&windows), read_written(EXAMPLE));
}

/// The page of fields in docs/using is made from the field list; `UPDATE_DOCS=1` writes it anew.
#[test]
fn the_page_of_fields_is_up_to_date() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../docs/using/study-file.md"
    );
    let made = study::written::fields_markdown();
    if std::env::var_os("UPDATE_DOCS").is_some() {
        std::fs::write(path, &made).expect("docs/using can be written");
    }
    let there = std::fs::read_to_string(path).unwrap_or_default();
    assert!(
        there == made,
        "docs/using/study-file.md is not what the field list says; run UPDATE_DOCS=1 cargo test -p study --test written_example"
    );
}

/// A steering character in a comment, such as the next-line character of a mainframe's text, was read and not written.
#[test]
fn a_steering_character_in_a_comment_is_left_out_at_once() {
    let text = include_str!("../../../examples/spent-grain.toml");
    let text = text.replacen("# Hops", "# Ho\u{85}ps \u{9f}", 1);
    let read = read_written(&text).unwrap();
    let written = write(&read);
    assert!(written.contains("# Hops"));
    assert_eq!(read_written(&written).unwrap(), read);
}
