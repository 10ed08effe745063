//! The report of the demonstration, read back. Expectations are our own, not from a source.

#![allow(clippy::unwrap_used, reason = "a panic fails the test")]

use maud::Markup;
use measure::Units;
use report::{Curve, Options, Per};
use std::sync::{Arc, LazyLock};
use study::{BakeOptions, Compared, Figure, Study, compare, spread, water_curve};

const DEMONSTRATION: &str = include_str!("../../../examples/spent-grain.toml");

struct Demonstration {
    study: Study,
    compared: Vec<Compared>,
    curves: Vec<Curve>,
}

static DEMO: LazyLock<Demonstration> = LazyLock::new(|| worked_out(DEMONSTRATION));

fn worked_out(text: &str) -> Demonstration {
    let study = study::written::read(text).unwrap_or_else(|p| panic!("{p:#?}"));
    let treatments: Vec<_> = study.treatments.iter().collect();
    let compared = compare(&study, &treatments, &BakeOptions::QUICK).unwrap();
    let control = study.control();
    let points = water_curve(control, &BakeOptions::QUICK, 9).unwrap();
    let curves = vec![Curve {
        id: control.id.clone(),
        points,
    }];
    Demonstration {
        study,
        compared,
        curves,
    }
}

fn document(d: &Demonstration, per: Per) -> String {
    let options = Options {
        per,
        version: "9.8.7".to_owned(),
    };
    report::document(&d.study, &d.compared, &d.curves, &options)
}

/// All text that a reader sees, style sheets left out.
fn text_of(html: &str) -> String {
    let body = html.strip_prefix("<!DOCTYPE html>").unwrap();
    let tree = roxmltree::Document::parse(body).unwrap_or_else(|e| panic!("{e}"));
    let told = tree
        .descendants()
        .filter(|n| n.is_text() && !n.parent().unwrap().has_tag_name("style"));
    told.filter_map(|n| n.text()).collect::<Vec<_>>().join("\n")
}

fn fragment(markup: &Markup) -> String {
    let wrapped = format!("<div>{}</div>", markup.0);
    roxmltree::Document::parse(&wrapped).unwrap_or_else(|e| panic!("{e}\n{wrapped}"));
    wrapped
}

#[test]
fn it_parses_and_tells_every_treatment_figure_and_default() {
    for per in Per::ALL {
        let text = text_of(&document(&DEMO, per));
        for c in &DEMO.compared {
            assert!(text.contains(&c.answer.name), "{}", c.answer.name);
            assert!(text.contains(&c.answer.label.ingredient_statement));
            for f in &c.answer.findings {
                assert!(text.contains(&f.message), "{}", f.message);
            }
            for g in &c.answer.given {
                assert!(
                    text.contains(&*g.name) && text.contains(&*g.source.text),
                    "{}",
                    g.name
                );
            }
        }
        for figure in Figure::ALL {
            assert!(text.contains(figure.about().name) && text.contains(figure.about().how));
        }
        assert!(text.contains(per.words()) && text.contains("9.8.7"));
        assert!(text.contains("packed at 8.0 % moisture") && text.contains("Invented data"));
    }
}

#[test]
fn it_asks_nobody_for_anything() {
    let html = document(&DEMO, Per::Mix);
    for outside in [
        "http:", "https:", "src=", "@import", "<link", "<script", "<iframe",
    ] {
        assert!(!html.contains(outside), "{outside}");
    }
    // The type is carried inside.
    for address in html.split("url(").skip(1) {
        assert!(address.starts_with("\"data:font/woff2;base64,"));
    }
    for href in html.split("href=\"").skip(1) {
        assert!(href.starts_with('#'), "{}", &href[..20]);
    }
}

#[test]
fn contents_lead_to_parts_that_exist() {
    let html = document(&DEMO, Per::Mix);
    let tree = roxmltree::Document::parse(html.strip_prefix("<!DOCTYPE html>").unwrap()).unwrap();
    let ids: Vec<&str> = tree
        .descendants()
        .filter_map(|n| n.attribute("id"))
        .collect();
    let links: Vec<&str> = tree
        .descendants()
        .filter_map(|n| n.attribute("href"))
        .collect();
    assert_eq!(links.len(), 8);
    assert_eq!(ids, links.iter().map(|l| &l[1..]).collect::<Vec<_>>());
}

#[test]
fn hostile_names_are_text() {
    let hostile = "<script>alert(1)</script>\\\"'&";
    let text = DEMONSTRATION
        .replace(
            "name = \"Barley for wheat\"",
            &format!("name = \"{hostile}\""),
        )
        .replace(
            "name = \"Spent-grain bars\"",
            &format!("name = \"{hostile}</style>\""),
        )
        .replace(
            "name = \"Spent grain, dried and milled\"",
            &format!("name = \"{hostile}\""),
        );
    assert_eq!(text.matches("alert(1)").count(), 3);
    let d = worked_out(&text);
    let html = document(&d, Per::Mix);
    assert!(!html.contains("<script"));
    assert!(text_of(&html).contains("<script>alert(1)</script>\"'&"));
    let svg = report::bake_svg(&d.compared[1].answer);
    assert!(!svg.contains("<script"));
    roxmltree::Document::parse(&svg).unwrap();
}

#[test]
fn each_part_stands_alone() {
    let d = &*DEMO;
    let control = &d.compared[0].answer;
    for part in [
        report::sheet(&d.study, &d.compared, Per::Flour),
        report::sheet(&d.study, &d.compared[..1], Per::Mix),
        report::bake_curves(&d.compared),
        report::water_curve(&d.compared, &d.curves),
        report::line_stations(&d.compared),
        report::cost_build_up(&d.compared, Units::Metric),
        report::mass_ribbon(control, Units::Metric),
        report::labels_beside(&d.compared),
        report::how_all_dry(&d.compared),
        report::findings(&d.compared),
        report::how_it_comes_about(&d.compared),
        report::limits_of_validity(),
    ] {
        assert!(fragment(&part).len() > 100);
    }
    assert!(report::sheet(&d.study, &[], Per::Mix).0.is_empty());
    assert!(report::water_curve(&d.compared, &[]).0.is_empty());
}

#[test]
fn the_sheet_shows_the_water_that_was_worked_with_beside_its_need() {
    let html = fragment(&report::sheet(&DEMO.study, &DEMO.compared, Per::Mix));
    // The control's own file gives 24.80 % of mix (100 less all other lines).
    assert!(html.contains(">24.80<"));
    // The barley treatment takes its water from the need: w/(100 + w) of the mix.
    let barley = DEMO
        .compared
        .iter()
        .find(|c| c.answer.id == "barley")
        .unwrap();
    let w = barley.answer.dough.water_added_kg_per_100kg_dry_mix;
    assert!(html.contains(&paper::number::fixed(100.0 * w / (100.0 + w), 2)));
    let needs = html.matches(">needs<").count();
    assert!(needs >= 2 && html.matches(">sum<").count() == needs);
}

#[test]
fn a_finding_that_all_share_is_told_once() {
    let html = fragment(&report::findings(&DEMO.compared));
    let shared = "an ingredient that is not on the list is not thereby safe";
    assert!(
        DEMO.compared
            .iter()
            .all(|c| c.answer.findings.iter().any(|f| f.message.contains(shared)))
    );
    assert_eq!(html.matches(shared).count(), 1);
    assert!(html.contains("all treatments<"));
    assert!(html.find("finding warn").unwrap() < html.find("finding note").unwrap());
}

#[test]
fn limits_and_the_widest_inputs_are_told_when_there_is_a_spread() {
    let d = &*DEMO;
    let mut two = d.compared[..2].to_vec();
    spread(&d.study, &mut two, &BakeOptions::QUICK, 20, 7).unwrap();
    let html = fragment(&report::sheet(&d.study, &two, Per::Mix));
    let minutes = two[1].spread.as_ref().unwrap().figures["bake.time_min"];
    let words = format!("{:.1} to {:.1}", minutes.low95, minutes.high95);
    assert!(html.contains(&words) && html.contains("20 draws, seed 7"));
    assert!(!fragment(&report::sheet(&d.study, &d.compared, Per::Mix)).contains("draws"));
    let widest = &two[0].spread.as_ref().unwrap().widest["bake.time_min"][0].input;
    assert!(fragment(&report::how_it_comes_about(&two)).contains(widest.as_str()));
}

#[test]
fn unknown_is_not_zero() {
    let d = &*DEMO;
    let mut one = d.compared[..2].to_vec();
    let answer = Arc::make_mut(&mut one[1].answer);
    let cost = &mut answer.cost;
    (cost.per_kg, cost.per_piece, cost.ingredients_per_kg) = (None, None, None);
    cost.unknown_prices = vec!["hop dust".to_owned()];
    answer
        .nutrition
        .at_least
        .insert("calcium".to_owned(), vec!["hop dust".to_owned()]);
    answer.nutrition.energy_unsure = vec!["hop dust".to_owned()];
    answer.label.guaranteed.crude_fibre_max_pct = None;
    one[1] = Compared::beside(one[1].answer.clone(), &one[0].answer);
    let html = fragment(&report::sheet(&d.study, &one, Per::Mix));
    assert!(html.contains("no price is known for hop dust") && html.contains("≥ 0."));
    assert!(html.contains("≥ +0.") && html.contains("≈ 3") && html.contains("≈ −"));
    let label = fragment(&report::labels_beside(&one));
    assert!(label.contains("1 material unknown (hop dust)"));
    assert!(label.contains("a material of it has no value for this"));
    assert!(label.contains("≈ 3") && label.contains("≤ "));
    assert!(fragment(&report::cost_build_up(&one, Units::Metric)).contains("not known"));
}

#[test]
fn labels_stand_beside_each_other_and_what_they_share_is_told_once() {
    let d = &*DEMO;
    let label = fragment(&report::labels_beside(&d.compared));
    let [control, barley] = [&d.compared[0], &d.compared[1]].map(|c| &c.answer.label.guaranteed);
    let protein = |g: &study::views::knock_on::Guaranteed| g.crude_protein_min_pct.unwrap();
    // The difference is that of the numbers as they are shown.
    let gap = measure::rounding::shown_gap(protein(barley), protein(control), 1);
    assert!(gap.abs() >= 0.1, "{gap}");
    assert!(label.contains(&measure::rounding::signed(gap, 1)), "{gap}");
    for c in &d.compared {
        let statement = &c.answer.label.ingredient_statement;
        assert_eq!(label.matches(statement.as_str()).count(), 1, "{statement}");
    }
    let cautions = d.compared[0].answer.findings.iter();
    let mut cautions = cautions.filter(|f| f.severity >= measure::Severity::Warn);
    let told = |f: &measure::Finding| label.matches(&f.message).count();
    assert!(cautions.clone().any(|f| told(f) == 1) && cautions.all(|f| told(f) <= 1));
}

/// A reader of paper looks at the first page: question, answer, figures and one picture stand before anything else, and
/// what they stand on comes last.
#[test]
fn the_answer_and_its_picture_come_first_and_the_sources_last() {
    let html = document(&DEMO, Per::Mix);
    let at = |what: &str| html.find(what).unwrap_or_else(|| panic!("{what}"));
    let order = [
        "class=\"lead\"",
        "So far: ",
        "class=\"opening\"",
        "How all treatments dry",
        "id=\"sheet\"",
        "id=\"findings\"",
        "id=\"limits\"",
        "id=\"how\"",
    ];
    assert!(order.map(at).is_sorted(), "{:?}", order.map(at));
    assert!(at("What they stand on") > at("id=\"how\""));
    assert_eq!(html.matches("<b>How all treatments dry").count(), 1);
}

#[test]
fn a_bake_that_stops_says_so_first() {
    let mut d = worked_out(DEMONSTRATION);
    let k = Arc::make_mut(&mut d.compared[1].answer);
    k.bake.limit = Some("air too wet".to_owned());
    k.findings.push(measure::Finding::new(
        measure::Severity::Stop,
        study::Code::TargetNotReached,
        "bake.time_min",
        "It doesn’t get there.",
    ));
    let html = document(&d, Per::Mix);
    assert!(html.find("It doesn’t get there.").unwrap() < html.find("id=\"sheet\"").unwrap());
    assert!(html.contains("the target isn’t reached: air too wet"));
}

#[test]
fn the_drawing_file_stands_alone() {
    let svg = report::bake_svg(&DEMO.compared[0].answer);
    let tree = roxmltree::Document::parse(&svg).unwrap();
    let root = tree.root_element();
    assert!(root.has_tag_name(("http://www.w3.org/2000/svg", "svg")));
    let lines = tree
        .descendants()
        .filter(|n| n.attribute("class") == Some("line"));
    assert_eq!(lines.count(), 4);
    for word in ["top", "centre", "bottom", "mean"] {
        assert!(tree.descendants().any(|n| n.text() == Some(word)), "{word}");
    }
    assert!(!svg.contains("var(") && !svg.contains("light-dark"));
}

/// The answer stands before everything else: the sentence, and the same figures that the sheet tells.
#[test]
fn the_answer_stands_first() {
    let html = document(&DEMO, Per::Mix);
    let head = &html[html.find("report-head").unwrap()..html.find("class=\"contents\"").unwrap()];
    assert!(head.contains("So far: "), "{head}");
    let table = &head[head.find("class=\"opening\"").unwrap()..head.find("</table>").unwrap()];
    for c in &DEMO.compared {
        let line = &table[table.find(&c.answer.name).unwrap()..];
        let line = &line[..line.find("</tr>").unwrap()];
        let bake = format!("{:.1}", c.answer.bake.time_min);
        assert!(line.contains(&bake), "{bake}: {line}");
    }
    assert_eq!(table.matches("<tr>").count(), DEMO.compared.len() + 1);
}

/// Of many curves only the chosen one and the control's are named, so that they can be told apart.
#[test]
fn of_many_curves_the_chosen_one_stands_in_front() {
    let points = &DEMO.curves[0].points;
    let curves: Vec<Curve> = (DEMO.compared.iter())
        .map(|c| Curve {
            id: c.answer.id.clone(),
            points: points.clone(),
        })
        .collect();
    assert!(curves.len() > 4);
    let drawn = |picked| {
        fragment(&report::water_curve_with(
            &DEMO.compared,
            &curves,
            picked,
            Units::Metric,
        ))
    };
    let chosen = drawn(Some("barley"));
    let named = |html: &str, id: &str| {
        let name = &DEMO
            .compared
            .iter()
            .find(|c| c.answer.id == id)
            .unwrap()
            .answer
            .name;
        html.contains(name.split(' ').next().unwrap())
    };
    assert!(named(&chosen, "barley") && named(&chosen, "control"));
    assert!(!named(&chosen, "poultry_fat") && chosen.contains("series behind"));
    assert!(named(&drawn(None), "poultry_fat"));
}
