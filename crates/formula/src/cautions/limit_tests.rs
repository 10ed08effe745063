//! Every limit is told above it, and not at or below it; every content is what molar masses make it.

use super::*;
use crate::Code;
use crate::formula::Line;
use crate::material::Gluten;
use crate::material_patch::MaterialPatch;
use crate::shelf;
use measure::{Grade, Severity, Source};
use std::sync::Arc;

fn line(id: &str, parts: f64) -> Line {
    Line::new(shelf::find(id).unwrap(), parts)
}

fn severity(lines: Vec<Line>, species: Species, code: Code) -> Option<Severity> {
    cautions(&Formula::new(lines).unwrap(), species)
        .into_iter()
        .find(|f| f.code == code)
        .map(|f| f.severity)
}

/// A dry powder without anything in it but a name, so that shares can be set to the digit.
pub(super) fn dry(id: &str, name: &str) -> Arc<Material> {
    let mut patch = MaterialPatch::new(Source::fixed(Grade::Assumed, "test"))
        .value(Nutrient::Moisture, 0.0)
        .value(Nutrient::CrudeFat, 0.0);
    patch.name = Some(name.to_owned());
    patch.category = Some(Category::Other);
    patch.gluten = Some(Gluten::FreeByNature);
    Arc::new(patch.define(id).unwrap())
}

/// 1 kg of dry matter with `kg` of the named material in it.
pub(super) fn one_kg(name: &str, kg: f64) -> Vec<Line> {
    vec![
        Line::new(dry("filler", "Filler"), 1.0 - kg),
        Line::new(dry("carrier", name), kg),
    ]
}

/// Every limit with its number as its source tells it; content of the carrier beside it. A limit
/// that moves, or a content, fails here.
#[test]
fn every_limit_is_told_above_it_and_not_at_or_below_it() {
    use Species::{Cat, Dog};
    // Limits told of treat at 12 % moisture are 1/0.88 of that in dry matter.
    const AT12: f64 = 1.0 / 0.88;
    const DRY: f64 = 1.0;
    let mg = 1e-6;
    // carrier, content, code, species, limit of the substance, basis, at it, above it
    type Row = (
        &'static str,
        f64,
        Code,
        Species,
        f64,
        f64,
        Severity,
        Severity,
    );
    let table: &[Row] = &[
        (
            "Cocoa powder",
            0.02057,
            Code::Theobromine,
            Dog,
            50.0 * mg,
            AT12,
            Note,
            Stop,
        ),
        (
            "Dark chocolate",
            0.00802,
            Code::Theobromine,
            Dog,
            50.0 * mg,
            AT12,
            Note,
            Stop,
        ),
        (
            "Milk chocolate",
            0.00205,
            Code::Theobromine,
            Cat,
            300.0 * mg,
            AT12,
            Note,
            Stop,
        ),
        (
            "Chocolate",
            0.01297,
            Code::Theobromine,
            Cat,
            300.0 * mg,
            AT12,
            Note,
            Stop,
        ),
        (
            "Theobromine",
            1.0,
            Code::Theobromine,
            Dog,
            50.0 * mg,
            AT12,
            Note,
            Stop,
        ),
        (
            "Garlic powder",
            8.0,
            Code::Garlic,
            Dog,
            7.5e-3,
            AT12,
            Note,
            Warn,
        ),
        (
            "Garlic powder",
            8.0,
            Code::Garlic,
            Dog,
            75e-3,
            AT12,
            Warn,
            Stop,
        ),
        (
            "Fresh garlic",
            1.0,
            Code::Garlic,
            Dog,
            7.5e-3,
            AT12,
            Note,
            Warn,
        ),
        (
            "Fresh garlic",
            1.0,
            Code::Garlic,
            Dog,
            75e-3,
            AT12,
            Warn,
            Stop,
        ),
        // 1 IU of vitamin D is 0.025 µg.
        (
            "Cod liver oil",
            2.5e-6,
            Code::VitaminD,
            Dog,
            2000.0 * 2.5e-11,
            AT12,
            Note,
            Warn,
        ),
        (
            "Cod liver oil",
            2.5e-6,
            Code::VitaminD,
            Cat,
            3000.0 * 2.5e-11,
            DRY,
            Warn,
            Stop,
        ),
        (
            "Cholecalciferol",
            1.0,
            Code::VitaminD,
            Dog,
            3000.0 * 2.5e-11,
            DRY,
            Warn,
            Stop,
        ),
        // Na2SeO3 172.94 and Na2SeO4 188.94 g/mol with 78.97 g selenium.
        (
            "Sodium selenite",
            78.97 / 172.94,
            Code::Selenium,
            Dog,
            0.5 * mg,
            AT12,
            Note,
            Warn,
        ),
        (
            "Sodium selenite",
            78.97 / 172.94,
            Code::Selenium,
            Dog,
            2.0 * mg,
            DRY,
            Warn,
            Stop,
        ),
        (
            "Sodium selenate",
            78.97 / 188.94,
            Code::Selenium,
            Cat,
            0.5 * mg,
            AT12,
            Note,
            Warn,
        ),
        // CuSO4 159.61, with 5 H2O 249.69, CuO 79.545 g/mol with 63.546 g copper.
        (
            "Copper sulfate",
            63.546 / 159.61,
            Code::Copper,
            Dog,
            25.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        (
            "Copper sulfate pentahydrate",
            63.546 / 249.69,
            Code::Copper,
            Dog,
            25.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        (
            "Copper oxide",
            63.546 / 79.545,
            Code::Copper,
            Cat,
            25.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        // ZnO 81.38, ZnSO4 161.44, with 1 H2O 179.46, ZnCO3 125.39 g/mol with 65.38 g zinc.
        (
            "Zinc oxide",
            65.38 / 81.38,
            Code::Zinc,
            Dog,
            200.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        (
            "Zinc sulfate",
            65.38 / 161.44,
            Code::Zinc,
            Cat,
            200.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        (
            "Zinc sulfate monohydrate",
            65.38 / 179.46,
            Code::Zinc,
            Dog,
            200.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        (
            "Zinc carbonate",
            65.38 / 125.39,
            Code::Zinc,
            Dog,
            200.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        // KI 166.00 g/mol with 126.90 g, Ca(IO3)2 389.88 g/mol with 253.81 g iodine.
        (
            "Potassium iodide",
            126.90 / 166.00,
            Code::Iodine,
            Cat,
            11.0 * mg,
            DRY,
            Note,
            Warn,
        ),
        (
            "Calcium iodate",
            253.81 / 389.88,
            Code::Iodine,
            Dog,
            11.0 * mg,
            DRY,
            Note,
            Warn,
        ),
        (
            "Sodium nitrite",
            1.0,
            Code::Nitrite,
            Dog,
            100.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        // KNO2 85.104 against NaNO2 68.995 g/mol.
        (
            "Potassium nitrite",
            68.995 / 85.104,
            Code::Nitrite,
            Dog,
            100.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        // SO2 64.064: two of it in Na2S2O5 190.10 and K2S2O5 222.31, one in NaHSO3 104.06 and Na2SO3 126.04 g/mol.
        (
            "Sodium metabisulfite",
            128.128 / 190.10,
            Code::Sulfite,
            Dog,
            500.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        (
            "Potassium metabisulfite",
            128.128 / 222.31,
            Code::Sulfite,
            Dog,
            500.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        (
            "Sodium bisulfite",
            64.064 / 104.06,
            Code::Sulfite,
            Cat,
            500.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        (
            "Sodium sulfite",
            64.064 / 126.04,
            Code::Sulfite,
            Dog,
            500.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        (
            "E 220",
            1.0,
            Code::Sulfite,
            Dog,
            500.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        (
            "Propylene glycol",
            1.0,
            Code::PropyleneGlycol,
            Dog,
            0.13,
            DRY,
            Note,
            Warn,
        ),
        (
            "BHT",
            1.0,
            Code::Antioxidants,
            Dog,
            150.0 * mg,
            AT12,
            Note,
            Warn,
        ),
        // Benzoic acid 122.12, its sodium salt 144.10, potassium salt 160.21 g/mol.
        (
            "Benzoic acid",
            1.0,
            Code::Benzoate,
            Dog,
            1e-3,
            AT12,
            Note,
            Warn,
        ),
        (
            "Sodium benzoate",
            122.12 / 144.10,
            Code::Benzoate,
            Dog,
            1e-3,
            AT12,
            Note,
            Warn,
        ),
        (
            "Potassium benzoate",
            122.12 / 160.21,
            Code::Benzoate,
            Cat,
            2e-3,
            AT12,
            Warn,
            Stop,
        ),
        (
            "Beef liver, dried",
            1.0,
            Code::Liver,
            Dog,
            0.05,
            DRY,
            Note,
            Warn,
        ),
        (
            "Cinnamon, ground",
            1.0,
            Code::Cinnamon,
            Dog,
            0.005,
            DRY,
            Note,
            Warn,
        ),
    ];
    for (name, content, code, species, limit, basis, at, above) in table {
        let carrier = limit * basis / content;
        let found = |share: f64| {
            let all = cautions(
                &Formula::new(one_kg(name, share * carrier)).unwrap(),
                *species,
            );
            // Chocolate and ethoxyquin are told for being there too, under other codes or words.
            all.into_iter()
                .find(|f| f.code == *code && f.about == "formula")
                .map(|f| f.severity)
        };
        let told = format!("{name} for a {}, limit {limit}", species.word());
        // A content is rounded to four digits, so below and above stand 0.1 % apart from it.
        assert_eq!(found(0.999), Some(*at), "below: {told}");
        assert_eq!(found(1.001), Some(*above), "above: {told}");
    }
    // Each limit of the list stands in the table above or in the tests of fat and presence below.
    let listed: usize = SUBSTANCES.iter().map(|s| s.limits.len()).sum();
    assert_eq!(listed, 21);
}

#[test]
fn what_stands_exactly_at_a_limit_is_not_above_it() {
    // 0.05 of 1 kg dry matter, and 0.13; both are whole in the arithmetic of the test.
    for (name, code, share, above) in [
        ("Beef liver, dried", Code::Liver, 0.05, 0.0501),
        ("Cinnamon, ground", Code::Cinnamon, 0.005, 0.00501),
        ("Propylene glycol", Code::PropyleneGlycol, 0.13, 0.1301),
    ] {
        let at = |kg| severity(one_kg(name, kg), Species::Dog, code);
        assert_eq!(at(share), Some(Note), "{name}");
        assert_eq!(at(above), Some(Warn), "{name}");
    }
    let ethoxyquin = |mg_per_kg: f64| {
        let lines = one_kg("Ethoxyquin", mg_per_kg * 1e-6 / 0.88);
        let all = cautions(&Formula::new(lines).unwrap(), Species::Dog);
        all.iter()
            .filter(|f| f.code == Code::Ethoxyquin)
            .map(|f| f.severity)
            .max()
    };
    // Warned of for being there (EU), stopped above 150 mg/kg (21 CFR 573.380).
    assert_eq!(ethoxyquin(149.0), Some(Warn));
    assert_eq!(ethoxyquin(150.0), Some(Warn));
    assert_eq!(ethoxyquin(151.0), Some(Stop));
}

#[test]
fn antioxidants_are_reckoned_on_the_fat() {
    // 21 CFR 582: at most 0.02 % of the fat.
    let at = |bht: f64| {
        severity(
            vec![
                line("lard", 10.0),
                line("wheat_flour_soft", 90.0),
                Line::new(dry("bht", "BHT"), bht),
            ],
            Species::Dog,
            Code::Antioxidants,
        )
    };
    let fat = 10.0 * 1.0 + 90.0 * 0.0143;
    assert_eq!(at(0.000_199 * fat), Some(Note));
    assert_eq!(at(0.000_201 * fat), Some(Warn));
}

/// A limit per fat was passed over in silence when a material's fat wasn't known.
#[test]
fn a_limit_per_fat_without_the_fat_is_told() {
    let with = |bht: f64| {
        let mut odd = Arc::unwrap_or_clone(dry("odd", "Odd powder"));
        odd.composition.forget(Nutrient::CrudeFat);
        let lines = vec![
            line("lard", 10.0),
            Line::new(odd.into(), 90.0),
            Line::new(dry("bht", "BHT"), bht),
        ];
        cautions(&Formula::new(lines).unwrap(), Species::Dog)
            .into_iter()
            .find(|f| f.code == Code::Antioxidants)
            .unwrap()
    };
    // 0.02 % of 10 kg lard is 2 g: less than it is safe whatever the powder holds.
    let safe = with(0.0019);
    assert_eq!(safe.severity, Note);
    let told = with(0.0025);
    assert_eq!(told.severity, Warn);
    assert!(
        told.message.contains("the fat of odd isn't known"),
        "{}",
        told.message
    );
}

#[test]
fn the_source_of_a_content_is_that_of_its_carrier() {
    let source = |name: &str, code: Code| {
        cautions(&Formula::new(one_kg(name, 0.001)).unwrap(), Species::Dog)
            .into_iter()
            .find(|f| f.code == code && f.about == "formula")
            .unwrap()
            .source
    };
    let powder = source("Garlic powder", Code::Garlic);
    assert!(
        powder.starts_with("content: powder is 7 to 9 times as strong as fresh"),
        "{powder}"
    );
    assert!(powder.contains("(recalled); limit assumed"), "{powder}");
    assert_eq!(
        source("Zinc oxide", Code::Zinc),
        "content: molar masses (computed); limit published"
    );
    assert_eq!(
        source("Zinc chelate", Code::Zinc),
        "content not known; limit published"
    );
}

#[test]
fn what_nobody_can_weigh_is_told_as_unknown_not_as_nothing() {
    for (name, code) in [
        ("Vitamin premix", Code::VitaminD),
        ("Vitamin D3 premix", Code::VitaminD),
        ("Kelp meal", Code::Iodine),
        ("Seealgenmehl", Code::Iodine),
        ("Selenium yeast", Code::Selenium),
        ("Copper proteinate", Code::Copper),
        ("Zinc chelate", Code::Zinc),
        ("Curing salt", Code::Nitrite),
        ("Sulphured apricots", Code::Sulfite),
        ("Garlic oil", Code::Garlic),
    ] {
        let all = cautions(&Formula::new(one_kg(name, 0.001)).unwrap(), Species::Dog);
        let found = all.iter().find(|f| f.code == code).unwrap();
        assert_eq!(found.severity, Warn, "{name}");
        assert!(found.message.contains("isn't known"), "{}", found.message);
    }
}

#[test]
fn two_carriers_of_one_substance_add_up() {
    let both = |mg: f64| {
        severity(
            vec![
                Line::new(dry("filler", "Filler"), 1.0),
                Line::new(dry("oxide", "Zinc oxide"), mg * 1e-6),
                Line::new(dry("sulfate", "Zinc sulfate"), mg * 1e-6),
            ],
            Species::Dog,
            Code::Zinc,
        )
    };
    // 160 mg of each: 113 and 57 mg/kg at 12 % moisture, together below 200; 200 mg: above.
    assert_eq!(both(160.0), Some(Note));
    assert_eq!(both(200.0), Some(Warn));
}

#[test]
fn salt_is_told_above_1_and_stopped_above_3_percent_of_the_treat() {
    // Pure salt of 39.337 % sodium in dry matter of 1 kg, which is 1/0.88 kg of treat, and any water
    // in the dough.
    let salt_in = |at_12: f64, water: f64| {
        let share = at_12 / 0.88;
        let mut patch = MaterialPatch::new(Source::fixed(Grade::Assumed, "test"))
            .value(Nutrient::Moisture, 0.0)
            .value(Nutrient::Sodium, 22.990 / 58.443);
        patch.name = Some("Pure salt".to_owned());
        patch.category = Some(Category::Mineral);
        patch.gluten = Some(Gluten::FreeByNature);
        let salt = Arc::new(patch.define("pure_salt").unwrap());
        severity(
            vec![
                Line::new(dry("filler", "Filler"), 1.0 - share),
                Line::new(salt, share),
                line("water", water),
            ],
            Species::Dog,
            Code::SaltHigh,
        )
    };
    let salt = |at_12| salt_in(at_12, 0.0);
    // The water of the dough leaves in the oven and dilutes nothing.
    assert_eq!(salt_in(0.0101, 0.6), Some(Warn));
    assert_eq!(salt_in(0.0301, 0.6), Some(Stop));
    assert_eq!(salt(0.0099), None);
    assert_eq!(salt(0.01), None);
    assert_eq!(salt(0.0101), Some(Warn));
    assert_eq!(salt(0.03), Some(Warn));
    assert_eq!(salt(0.0301), Some(Stop));
}

#[test]
fn fat_is_told_above_25_percent_of_the_treat_as_fed() {
    // At 12 % moisture.
    let fat = |at_12: f64| {
        let share = at_12 / 0.88;
        severity(
            vec![
                Line::new(dry("filler", "Filler"), 1.0 - share),
                line("sunflower_oil", share),
            ],
            Species::Dog,
            Code::FatHigh,
        )
    };
    let oil = shelf::find("sunflower_oil").unwrap();
    assert_eq!(oil.composition.fraction(Nutrient::CrudeFat), Some(1.0));
    assert_eq!(fat(0.249), None);
    assert_eq!(fat(0.25), None);
    assert_eq!(fat(0.251), Some(Warn));
}

#[test]
fn sulfite_never_goes_with_meat() {
    let sulfite = |lines| severity(lines, Species::Dog, Code::SulfiteThiamine);
    let relaxed = vec![
        line("wheat_flour_soft", 99.9),
        line("sodium_metabisulfite", 0.1),
    ];
    assert_eq!(sulfite(relaxed), Some(Warn));
    let meaty = vec![
        line("wheat_flour_soft", 90.0),
        line("chicken_meal", 9.9),
        line("sodium_metabisulfite", 0.1),
    ];
    assert_eq!(sulfite(meaty), Some(Stop));
    // A meat of one's own, under no kind, with a sulfite of one's own.
    let own = vec![
        line("wheat_flour_soft", 90.0),
        Line::new(dry("own", "Hackfleisch"), 9.9),
        Line::new(dry("relaxer", "Kaliumdisulfit"), 0.1),
    ];
    assert_eq!(sulfite(own), Some(Stop));
    let none = vec![line("wheat_flour_soft", 90.0), line("chicken_meal", 10.0)];
    assert_eq!(sulfite(none), None);
}

#[test]
fn the_list_ends_with_saying_that_it_is_not_complete() {
    let all = cautions(
        &Formula::new(vec![line("wheat_flour_soft", 1.0)]).unwrap(),
        Species::Dog,
    );
    assert_eq!(all.last().unwrap().code, Code::ListNotComplete);
}
