//! Every kind of bad input gets a clear message: where, what was found, what is allowed, what to
//! write instead.

use measure::{Range, Units};
use study::written::problem::{Allowed, Found};
use study::written::{Code, MOST_BYTES, What, read, read_written, resolve};

/// A problem and its words.
#[derive(Clone, Debug)]
struct Problem {
    span: std::ops::Range<usize>,
    code: Code,
    path: String,
    message: String,
    allowed: String,
    suggestion: String,
    what: What,
    all: String,
}

impl From<study::written::Problem> for Problem {
    fn from(p: study::written::Problem) -> Self {
        let words = p.words(Units::Metric);
        Self {
            span: p.span.clone().expect("a text has places"),
            code: p.code(),
            path: p.path.to_string(),
            message: words.message,
            allowed: words.allowed,
            suggestion: words.way_out,
            all: p.to_string(),
            what: p.what,
        }
    }
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.all)
    }
}

const GOOD: &str = r#"hardtack = 1
[study]
name = "Test"
control = "control"
target = { moisture_pct = 8.0 }
[piece]
outline = "round"
diameter_mm = 50
thickness_mm = 8
[oven]
preset = "three-zone steel band"
[[treatment]]
id = "control"
lines = [
    { material = "wheat_flour_soft", amount = 62 },
    { material = "sunflower_oil", amount = 4 },
    { material = "water", amount = 34 },
]
[[treatment]]
id = "barley"
from = "control"
changes = [{ swap = "wheat_flour_soft", with = "barley_flour" }]
"#;

/// The problems of the good file with one thing changed.
fn with(old: &str, new: &str) -> Vec<Problem> {
    assert!(GOOD.contains(old), "{old}");
    problems(&GOOD.replacen(old, new, 1))
}

fn problems(text: &str) -> Vec<Problem> {
    let problems = read(text).expect_err("this file is wrong");
    let problems: Vec<Problem> = problems.into_iter().map(Problem::from).collect();
    for p in &problems {
        assert!(
            text.get(p.span.clone()).is_some(),
            "a place inside the text: {p:?}"
        );
        assert!(!p.message.is_empty());
    }
    problems
}

/// The one problem of the good file with one thing changed; the place must show `at`.
fn one(old: &str, new: &str, at: &str) -> Problem {
    let text = GOOD.replacen(old, new, 1);
    let found = with(old, new);
    assert_eq!(found.len(), 1, "{found:#?}");
    let shown = &text[found[0].span.clone()];
    assert!(
        shown.contains(at),
        "the place shows {shown:?}, wanted {at:?}"
    );
    found[0].clone()
}

#[test]
fn the_good_file_is_good() {
    assert_eq!(read(GOOD).unwrap().treatments.len(), 2);
}

#[test]
fn misspelt_keys_get_the_closest() {
    let p = one(
        "thickness_mm = 8",
        "thickness_mm = 8\nthicknes = 8",
        "thicknes",
    );
    assert_eq!(p.code, Code::UnknownKey);
    assert_eq!(p.message, "piece has no key `thicknes`");
    assert_eq!(p.suggestion, "did you mean `thickness_mm`?");
    assert_eq!(p.path, "piece.thicknes");
    assert!(p.allowed.contains("diameter_mm"));
}

#[test]
fn units_that_do_not_fit_are_converted() {
    let p = one("thickness_mm = 8", "thickness_cm = 0.8", "thickness_cm");
    assert_eq!(p.code, Code::WrongUnit);
    assert_eq!(
        p.message,
        "`thickness_cm` is in cm, and this table wants mm"
    );
    assert_eq!(p.suggestion, "write thickness_mm = 8");
    let p = one(
        "[oven]",
        "[dough]\ntemperature_f = 77\n[oven]",
        "temperature_f",
    );
    assert_eq!(p.suggestion, "write temperature_c = 25");
    let p = one("thickness_mm = 8", "thickness = 8", "thickness");
    assert_eq!(p.message, "`thickness` doesn't say its unit");
    let p = one(
        "thickness_mm = 8",
        "thickness_mm = 8\nlength_kg = 8",
        "length_kg",
    );
    assert_eq!(p.suggestion, "write length_mm = … in mm");
}

#[test]
fn a_number_in_quotes_is_told_its_unit() {
    let p = one("thickness_mm = 8", "thickness_mm = \"0.8 cm\"", "0.8 cm");
    assert_eq!(p.code, Code::WrongUnit);
    assert_eq!(
        p.message,
        "\"0.8 cm\" is a text, and a number in mm belongs here"
    );
    assert_eq!(p.suggestion, "write thickness_mm = 8");
    let p = one("thickness_mm = 8", "thickness_mm = \"8 kg\"", "8 kg");
    assert_eq!(p.message, "\"8 kg\" can't be turned into a number in mm");
    let p = one("thickness_mm = 8", "thickness_mm = \"thick\"", "thick");
    assert_eq!(p.code, Code::WrongType);
}

#[test]
fn numbers_stay_in_their_range() {
    let p = one("thickness_mm = 8", "thickness_mm = -8", "-8");
    assert_eq!(p.code, Code::OutOfRange);
    assert_eq!(
        p.to_string(),
        "piece.thickness_mm: -8 mm is outside the allowed range; allowed: 1 to 40 mm; the nearest allowed value is 1"
    );
    let p = one("amount = 62", "amount = -62", "-62");
    assert_eq!(p.path, "treatment[control].lines[1].amount");
    for odd in ["nan", "inf", "-inf", "+nan"] {
        let p = one("thickness_mm = 8", &format!("thickness_mm = {odd}"), odd);
        assert_eq!(p.code, Code::NotFinite, "{odd}");
    }
}

#[test]
fn types_are_told() {
    let p = one("name = \"Test\"", "name = 12", "12");
    assert_eq!(p.code, Code::WrongType);
    assert_eq!(p.message, "a text belongs here, found a number");
    assert_eq!(p.suggestion, "put it in quotes: name = \"12\"");
    let p = one(
        "name = \"Test\"",
        "name = \"Test\"\ninvented = \"yes\"",
        "yes",
    );
    assert_eq!(p.message, "found a text, and true or false belongs here");
    let p = one(
        "[oven]\npreset = \"three-zone steel band\"",
        "[[oven]]\npreset = \"three-zone steel band\"",
        "oven",
    );
    assert_eq!(p.message, "found several tables, and a table belongs here");
    let p = one("id = \"control\"", "id = \"Our Control!\"", "Our Control!");
    assert_eq!(p.suggestion, "write \"our_control\"");
    let p = one("{ material = \"sunflower_oil\", amount = 4 }", "4", "4");
    assert_eq!(p.message, "{ … } belongs here, found a number");
    let p = one("[study]", "[study]\nnote = \"bell \\u0007\"", "bell");
    assert_eq!(p.message, "this text holds the control character U+0007");
    let p = one(
        "name = \"Test\"",
        &format!("name = \"{}\"", "x".repeat(201)),
        "xxx",
    );
    assert_eq!(
        p.to_string(),
        "study.name: this text has 201 characters; allowed: at most 200 characters; shorten it"
    );
}

#[test]
fn what_is_missing_is_told_where_it_belongs() {
    let p = one("name = \"Test\"\n", "", "[study]");
    assert_eq!(p.code, Code::Missing);
    assert_eq!(p.message, "`name` is missing: what the study is called");
    let p = one("diameter_mm = 50\n", "", "[piece]");
    assert_eq!(p.message, "`diameter_mm` is missing: a round has one");
    let p = one("thickness_mm = 8\n", "", "[piece]");
    assert_eq!(p.message, "`thickness_mm` is missing: the thickness as cut");
    let p = one("hardtack = 1\n", "", "");
    assert_eq!(p.path, "hardtack");
    let p = one("[oven]\npreset = \"three-zone steel band\"\n", "", "");
    assert_eq!(
        p.to_string(),
        "oven: `oven` is missing: the oven and its setting; allowed: a table of oven; add a section [oven]"
    );
    let p = one(
        "id = \"barley\"",
        "id = \"empty\"\n[[treatment]]\nid = \"barley\"",
        "[[treatment]]",
    );
    assert!(p.message.contains("\"empty\" has no formula"), "{p}");
}

#[test]
fn another_version_is_refused() {
    let p = one("hardtack = 1", "hardtack = 2", "2");
    assert_eq!(p.code, Code::Version);
    assert_eq!(
        p.to_string(),
        "hardtack: this is version 2 of the written form; allowed: version 1; a newer program may read it"
    );
}

#[test]
fn words_that_are_no_choice() {
    let p = one("outline = \"round\"", "outline = \"rond\"", "rond");
    assert_eq!(p.code, Code::UnknownChoice);
    assert_eq!(
        p.to_string(),
        "piece.outline: \"rond\" isn't one of the choices; allowed: \"round\", \"bar\", \"bone\", \"polygon\" or \"path\"; did you mean `round`?"
    );
    let p = one(
        "three-zone steel band",
        "three zone steel band",
        "three zone",
    );
    assert!(
        p.suggestion
            .starts_with("did you mean `three-zone steel band`"),
        "{p}"
    );
    let p = one(
        "control = \"control\"",
        "control = \"control\"\ncurrency = \"eur\"",
        "eur",
    );
    assert_eq!(p.message, "\"eur\" isn't a currency");
}

#[test]
fn materials_that_nobody_has() {
    let p = one(
        "wheat_flour_soft\", amount",
        "wheat_flour_sofd\", amount",
        "wheat_flour_sofd",
    );
    assert_eq!(p.code, Code::UnknownMaterial);
    assert!(
        p.suggestion.starts_with("did you mean `wheat_flour_soft`"),
        "{p}"
    );
    let p = one(
        "with = \"barley_flour\"",
        "with = \"flour_of_barley\"",
        "flour_of_barley",
    );
    assert!(p.suggestion.contains("barley_flour"), "{p}");
    let p = one(
        "swap = \"wheat_flour_soft\"",
        "swap = \"wheat_flour_hard\"",
        "swap",
    );
    assert_eq!(p.code, Code::UnknownMaterial);
    assert!(
        p.message.contains("not in the formula") && p.message.contains("wheat_flour_soft"),
        "{p}"
    );
}

#[test]
fn percentages_that_do_not_sum() {
    let p = one("amount = 34", "amount = 33", "material");
    assert_eq!(p.code, Code::Sum);
    assert_eq!(p.message, "percentages sum to 99.0000, not 100");
    assert_eq!(
        p.suggestion,
        "the lines of the mix must make 100: write 63.0000 instead of 62.0000 for wheat_flour_soft, or make one line the balance"
    );
    // Within the tolerance it's rounding.
    assert!(read(&GOOD.replace("amount = 34", "amount = 34.04")).is_ok());
    let over = one(
        "amount = 34 }",
        "balance = true },\n { material = \"salt\", amount = 99 }",
        "material",
    );
    assert_eq!(over.code, Code::Sum);
    assert!(over.message.contains("165.0000"), "{over}");
}

#[test]
fn flour_and_dry_mix_make_a_hundred_too() {
    let of = |basis: &str| {
        GOOD.replacen(
            "id = \"control\"\n",
            &format!("id = \"control\"\npercent_of = \"{basis}\"\n"),
            1,
        )
    };
    let flour = of("flour");
    assert_eq!(
        problems(&flour)[0].message,
        "percentages sum to 62.0000, not 100"
    );
    let study = read(&flour.replace("amount = 62", "amount = 100")).unwrap();
    assert!((study.control().formula.percent_of_flour().unwrap()[2] - 34.0).abs() < 1e-12);
    let study = read(&of("dry mix").replace("amount = 62", "amount = 96")).unwrap();
    assert!((study.control().formula.water_kg_per_100kg_dry_mix() - 34.0).abs() < 1e-12);
    let study = read(&of("parts").replace("amount = 62", "amount = 700")).unwrap();
    assert_eq!(study.control().formula.total(), 738.0);
}

#[test]
fn balance_lines() {
    let p = one("amount = 34", "amount = 34, balance = true", "34");
    assert_eq!(
        p.message,
        "a balance line takes the rest and has no amount of its own"
    );
    let p = one(
        "amount = 34",
        "balance = true },{ material = \"salt\", balance = true",
        "true",
    );
    assert_eq!(p.message, "there are two balance lines");
    let p = one("\"water\", amount = 34", "\"water\"", "water");
    assert_eq!(p.message, "this line has no amount");
    let study = read(&GOOD.replace("amount = 34", "balance = true")).unwrap();
    assert!((study.control().formula.water() - 34.0).abs() < 1e-12);
}

#[test]
fn ids_stand_once() {
    let p = one("id = \"barley\"", "id = \"control\"", "control");
    assert_eq!(p.message, "there are two treatments \"control\"");
    let p = one(
        "[piece]",
        "[[material]]\nid = \"salt\"\n[[material]]\nid = \"salt\"\n[piece]",
        "salt",
    );
    assert_eq!(p.message, "there are two materials \"salt\"");
}

#[test]
fn the_control_has_to_be_there() {
    let p = one(
        "control = \"control\"",
        "control = \"controll\"",
        "controll",
    );
    assert_eq!(p.code, Code::UnknownTreatment);
    assert_eq!(p.suggestion, "did you mean `control`?");
}

#[test]
fn circles_are_told_once() {
    let circle =
        "[[treatment]]\nid = \"a\"\nfrom = \"b\"\n[[treatment]]\nid = \"b\"\nfrom = \"a\"\n";
    let p = problems(&(GOOD.to_owned() + circle));
    assert_eq!(p.len(), 1, "{p:?}");
    assert_eq!(p[0].code, Code::Circular);
    assert_eq!(p[0].message, "a, b start from each other");
    let p = one("from = \"control\"", "from = \"barley\"", "barley");
    assert_eq!(p.message, "\"barley\" starts from itself");
    let circle =
        "[[material]]\nid = \"a\"\nfrom = \"b\"\n[[material]]\nid = \"b\"\nfrom = \"a\"\n[piece]";
    let p = one("[piece]", circle, "");
    assert_eq!(p.message, "a, b are made from each other");
}

#[test]
fn changes_say_one_thing_a_line() {
    let p = one(
        "swap = \"wheat_flour_soft\",",
        "swap = \"wheat_flour_soft\", remove = \"salt\",",
        "remove",
    );
    assert_eq!(p.message, "swap and remove exclude each other");
    let p = one(
        "swap = \"wheat_flour_soft\",",
        "swop = \"wheat_flour_soft\",",
        "swop",
    );
    assert_eq!(p.suggestion, "did you mean `swap`?");
    let p = one(
        "changes = [{ swap = \"wheat_flour_soft\", with = \"barley_flour\" }]",
        "changes = [{ remove = \"salt\" }]",
        "salt",
    );
    assert!(p.message.contains("salt is not in the formula"), "{p}");
    let p = one(
        "from = \"control\"",
        "from = \"control\"\nlines = [{ material = \"salt\", amount = 100 }]",
        "control",
    );
    assert_eq!(p.message, "`from` and `lines` exclude each other");
}

#[test]
fn materials_of_the_file_have_to_add_up() {
    let p = one(
        "[piece]",
        "[[material]]\nid = \"moon_dust\"\n[piece]",
        "moon_dust",
    );
    assert!(
        p.message.contains("moon_dust") && p.message.contains("a name"),
        "{p}"
    );
    let p = one(
        "[piece]",
        "[[material]]\nid = \"salt\"\nprice_per_kg = 1\nprice_low_per_kg = 1\n[piece]",
        "1",
    );
    assert_eq!(
        p.message,
        "price_per_kg and a price range exclude each other"
    );
    let p = one(
        "[piece]",
        "[[material]]\nid = \"salt\"\nprice_low_per_kg = 1\n[piece]",
        "1",
    );
    assert_eq!(
        p.message,
        "a price range has two ends, and price_high_per_kg isn't written"
    );
    let p = one(
        "[piece]",
        "[[material]]\nid = \"salt\"\nprice_low_per_kg = 2\nprice_high_per_kg = 1\n[piece]",
        "salt",
    );
    assert!(p.message.contains("from 2 to 1"), "{p}");
    let p = one(
        "[piece]",
        "[[material]]\nid = \"salt\"\nspread = { ash_pct = 1 }\n[piece]",
        "1",
    );
    assert_eq!(
        p.message,
        "the spread of ash_pct is given, and its value isn't"
    );
}

#[test]
fn measures_that_do_not_belong_together() {
    let p = one("diameter_mm = 50", "diameter_mm = 50\nwidth_mm = 30", "30");
    assert_eq!(p.message, "a round has no width_mm");
    let bar = "outline = \"bar\"\nlength_mm = 60\nwidth_mm = 30\ncorner_radius_mm = 20";
    let p = one("outline = \"round\"\ndiameter_mm = 50", bar, "20");
    assert_eq!(p.message, "corner radius of the bar is 20 mm");
    assert_eq!(p.suggestion, "it must lie within 0.00 to 15.00 mm");
    let zone = "[[oven.zone]]\nname = \"middle\"\ndew_point_c = 50\nhumidity_kg_per_kg = 0.1\n[[treatment]]";
    let p = one("[[treatment]]", zone, "0");
    assert_eq!(
        p.message,
        "humidity_kg_per_kg and dew_point_c exclude each other"
    );
    let p = one(
        "[[treatment]]",
        "[line.former]\nkind = \"rotary moulder\"\ndie_diameter_mm = 240\naround = 10\nacross = 20\nmost_rpm = 10\n[[treatment]]",
        "rotary",
    );
    assert_eq!(
        p.message,
        "the former is a rotary moulder, and the dough is formed \"sheeted\""
    );
    assert_eq!(p.allowed, "\"sheeter and cutter\"");
    let p = one(
        "[[treatment]]",
        "[line.former]\nkind = \"hand cutting\"\nmost_rpm = 10\npieces_per_h = 100\ntrim_pct = 10\n[[treatment]]",
        "10",
    );
    assert_eq!(p.message, "a hand cutting has no most_rpm");
}

#[test]
fn an_oven_of_ones_own_has_to_be_whole() {
    let oven = "kind = \"band\"\nsurface = \"steel\"\nlength_m = 20\nwidth_m = 1\n[[oven.zone]]\nshare = 1\nair_c = 200\nband_c = 180\nhumidity_kg_per_kg = 0.1\nheat_transfer_w_m2k = 20\nbottom_w_m2k = 80";
    let preset = "preset = \"three-zone steel band\"";
    let study = read(&GOOD.replace(preset, oven)).unwrap();
    assert_eq!(study.setting.oven.zones.len(), 1);
    assert_eq!(study.setting.oven.zones[0].name, "1");
    let text = GOOD.replace(
        preset,
        &oven
            .replace("air_c = 200\n", "")
            .replace("humidity_kg_per_kg = 0.1\n", ""),
    );
    let found: Vec<_> = problems(&text).into_iter().map(|p| p.message).collect();
    assert_eq!(
        found,
        [
            "`air_c` is missing: temperature of the air at the pieces",
            "`humidity_kg_per_kg` is missing: write it, or dew_point_c"
        ]
    );
    let p = problems(&GOOD.replace(preset, &oven.replace("band_c", "band_f")));
    assert_eq!(p[0].suggestion, "write band_c = 82.22222222");
    let two = format!(
        "{}\n[[oven.zone]]\nlength_m = 5\nair_c = 200\nband_c = 180\nhumidity_kg_per_kg = 0.1\nheat_transfer_w_m2k = 20\nbottom_w_m2k = 80",
        oven
    );
    let p = problems(&GOOD.replace(preset, &two));
    assert!(p[0].message.contains("some zones in metres"), "{}", p[0]);
}

#[test]
fn several_problems_come_at_once_in_the_order_of_the_text() {
    let text = GOOD
        .replace("name = \"Test\"", "nam = \"Test\"")
        .replace("thickness_mm = 8", "thickness_mm = 800")
        .replace("\"sunflower_oil\"", "\"sunflour_oil\"")
        .replace("from = \"control\"", "from = \"kontrol\"");
    let codes: Vec<_> = problems(&text).iter().map(|p| p.code).collect();
    assert_eq!(
        codes,
        [
            Code::UnknownKey,
            Code::OutOfRange,
            Code::UnknownMaterial,
            Code::UnknownTreatment
        ]
    );
}

#[test]
fn text_that_is_not_toml() {
    let text = GOOD.replacen("[piece]", "[piece", 1);
    let p = &problems(&text)[0];
    assert_eq!(p.code, Code::Syntax);
    assert!(p.message.starts_with("not TOML: "), "{p}");
    let line = text[..p.span.start].lines().count();
    assert!(
        (5..=7).contains(&line),
        "the place is near the error, line {line}"
    );
    assert_eq!(problems("")[0].code, Code::Missing);
    assert_eq!(problems("\0\0\0")[0].code, Code::Syntax);
    let deep = format!("a = {}{}", "[".repeat(5000), "]".repeat(5000));
    assert_eq!(problems(&deep)[0].code, Code::Syntax);
}

#[test]
fn ten_megabytes_are_refused_before_reading() {
    let noise = "x".repeat(10_000_000);
    let p = problems(&noise);
    assert_eq!(p.len(), 1);
    assert_eq!(
        p[0].to_string(),
        format!(
            "the text has 10000000 bytes, more than a study can have; allowed: at most {MOST_BYTES} bytes; is this the right file?"
        )
    );
}

#[test]
fn noise_of_a_large_file_is_read_in_bounded_time() {
    let started = std::time::Instant::now();
    for piece in [
        "[", "a=[", "{", "a.", "\"", "#\n", "a\n", "[[a]]\n", "'''", "[a]\n", "é=", "a={b=",
    ] {
        let noise = piece.repeat(MOST_BYTES / piece.len());
        assert!(problems(&noise).len() <= 100);
    }
    assert!(started.elapsed().as_secs() < 120, "{:?}", started.elapsed());
}

#[test]
fn there_are_limits_on_counts() {
    let many = |n: usize| {
        (0..n)
            .map(|i| format!("[[treatment]]\nid = \"t{i}\"\nfrom = \"control\"\n"))
            .collect::<String>()
    };
    assert_eq!(
        read(&(GOOD.to_owned() + &many(198)))
            .unwrap()
            .treatments
            .len(),
        200
    );
    let p = problems(&(GOOD.to_owned() + &many(199)));
    assert_eq!(
        p[0].to_string(),
        "treatment: 201 are more than a study holds; allowed: at most 200; split the study in two"
    );
    let lines: String = (0..201)
        .map(|_| "{ material = \"salt\", amount = 0 },")
        .collect();
    let p = one(
        "    { material = \"water\"",
        &format!("{lines} {{ material = \"water\""),
        "salt",
    );
    assert_eq!(p.code, Code::TooMany);
}

#[test]
fn long_chains_are_followed() {
    let chain: String = (0..197)
        .rev()
        .map(|i| format!("[[treatment]]\nid = \"t{}\"\nfrom = \"t{i}\"\n", i + 1))
        .collect();
    let text = GOOD.to_owned() + &chain + "[[treatment]]\nid = \"t0\"\nfrom = \"control\"\n";
    assert_eq!(read(&text).unwrap().treatments.len(), 200);
    let chain: String = (1..500)
        .map(|i| format!("[[material]]\nid = \"m{i}\"\nfrom = \"m{}\"\n", i - 1))
        .collect();
    let text = format!("{GOOD}[[material]]\nid = \"m0\"\nfrom = \"salt\"\n{chain}");
    assert_eq!(read(&text).unwrap().materials.len(), 500);
}

/// Data beside the words: what was found, what is allowed, whose it is; US units by definition of the inch.
#[test]
fn a_problem_is_data() {
    let p = one("thickness_mm = 8", "thickness_mm = 50.8", "50.8");
    let found = Found::Number {
        value: 50.8,
        unit: "mm",
    };
    assert_eq!(p.what.found(), Some(found));
    let allowed = Allowed::Range {
        range: Range::new(1.0, 40.0),
        unit: "mm",
    };
    assert_eq!(p.what.allowed(), Some(allowed));
    let us = p.what.words(Units::Us);
    assert_eq!(us.message, "50.8 mm (2.00 in) is outside the allowed range");
    assert_eq!(us.allowed, "1 to 40 mm (0.0394 to 1.57 in)");
    let bad = GOOD.to_owned() + "[treatment.piece]\nthickness_mm = 80\n";
    let problems = read(&bad).unwrap_err();
    assert_eq!(problems[0].path.treatment(), Some("barley"));
    assert_eq!(problems[0].path.section(), Some("piece"));
    assert_eq!(problems[0].path.below_section().to_string(), "thickness_mm");
}

/// A study that was edited tells the way to a problem and no place; one that stands as it was read tells both.
#[test]
fn places_are_those_of_a_text() {
    let written = read_written(&GOOD.replacen("amount = 34", "amount = 30", 1)).unwrap();
    let as_read = resolve(&written).unwrap_err();
    assert!(as_read[0].span.is_some());
    let note = study::edit::Edit::SetNote {
        treatment: None,
        note: "again".into(),
    };
    let edited = study::edit::apply(&written, &note).unwrap();
    let told = resolve(&edited).unwrap_err();
    assert_eq!(told.len(), 1);
    assert_eq!((told[0].span.clone(), told[0].code()), (None, Code::Sum));
    assert_eq!(told[0].path.to_string(), "treatment[control].lines");
    assert_eq!(told[0].to_string(), as_read[0].to_string());
}

#[test]
fn numbers_beyond_any_drawing_are_told_of() {
    for path in [
        "M0 0 L1e308 0 L0 1e308 Z",
        "M0 0 L-1e308 0 L1e308 1e308 Z",
        "M0 0 a1e308 1e308 0 1 1 50 0 a25 25 0 1 1 -50 0z",
        "M0 0 C 1e308 0 0 1e308 50 50 Z",
        "M1e300 1e300 l10 0 l0 10 z",
        "M0 0 h1e308 v1e308 z",
        "M0 0 q1e308 1e308 50 50 t1e308 0 z",
    ] {
        let p = one(
            "outline = \"round\"\ndiameter_mm = 50",
            &format!("outline = \"path\"\npath = \"{path}\"\nunit_mm = 1"),
            "1e",
        );
        assert_eq!(p.code, Code::BadText, "{path}: {p}");
        assert!(p.message.starts_with("the path holds the number"), "{p}");
    }
    // A drawing that is only too large is about its path, not about a length that it doesn't have.
    let p = one(
        "outline = \"round\"\ndiameter_mm = 50",
        "outline = \"path\"\npath = \"M0 0 L60 0 L30 40 Z\"\nunit_mm = 1000",
        "M0 0",
    );
    assert_eq!(p.path, "piece.path");
    assert_eq!(p.message, "length of the path is 60000 mm");
}
