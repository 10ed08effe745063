//! The look held against outside rules: well-formed XML, safe escaping, WCAG 2.2 contrast.

#[path = "../examples/specimen.rs"]
#[allow(dead_code)]
mod specimen;

use maud::html;
use paper::Rgb;
use paper::chart::*;
use paper::parts::*;
use std::collections::BTreeMap;

const HOSTILE: &str = "\"'><script>alert(1)</script>&amp;]]>";

fn parse(xml: &str) -> roxmltree::Document<'_> {
    let options = roxmltree::ParsingOptions {
        allow_dtd: true,
        ..Default::default()
    };
    roxmltree::Document::parse_with_options(xml, options).expect("well-formed")
}

#[test]
fn the_specimen_is_well_formed_and_asks_nobody() {
    let page = specimen::page();
    let document = parse(&page);
    let figures = document.descendants().filter(|n| n.has_tag_name("figure"));
    for figure in figures {
        let drawings = figure.children().filter(|n| n.has_tag_name("svg")).count();
        assert_eq!(drawings, Width::ALL.len());
    }
    for svg in document.descendants().filter(|n| n.has_tag_name("svg")) {
        let title = svg.children().find(|n| n.has_tag_name("title"));
        assert!(title.and_then(|t| t.text()).is_some_and(|t| !t.is_empty()));
        assert_eq!(svg.attribute("role"), Some("img"));
    }
    // The type is carried inside.
    for address in page.split("url(").skip(1) {
        assert!(address.starts_with("\"data:font/woff2;base64,"));
    }
    for asking in [
        "http:", "https:", "@import", "<link", "<script", " src=", " style=",
    ] {
        assert!(!page.contains(asking), "the page has {asking}");
    }
    assert!(!page.contains("NaN"));
}

#[test]
fn drawings_stay_on_their_paper() {
    let page = specimen::page();
    for svg in parse(&page).descendants().filter(|n| n.has_tag_name("svg")) {
        let size: Vec<f64> = (svg.attribute("viewBox").expect("a size").split(' '))
            .map(|v| v.parse().expect("a number"))
            .collect();
        for text in svg.descendants().filter(|n| n.has_tag_name("text")) {
            let at = |name| {
                text.attribute(name)
                    .expect("a place")
                    .parse::<f64>()
                    .expect("a number")
            };
            let words = text.text().unwrap_or("");
            let wide = label::text_width(words);
            let (from, to) = match text.attribute("text-anchor") {
                Some("middle") => (at("x") - wide / 2.0, at("x") + wide / 2.0),
                Some("end") => (at("x") - wide, at("x")),
                _ => (at("x"), at("x") + wide),
            };
            let title = svg.children().find_map(|n| n.text()).unwrap_or("");
            assert!(
                from >= -3.0 && to <= size[2] + 3.0,
                "{words} at {from}..{to} in {title} {}",
                size[2]
            );
            assert!((0.0..=size[3]).contains(&at("y")), "{words} in {title}");
        }
    }
}

#[test]
fn hostile_text_stays_text() {
    let axis = Axis::new(HOSTILE, HOSTILE);
    let series = Series::new(HOSTILE, Look::Changed, [(0.0, 1.0), (1.0, 2.0)]).marked(Mark::Open);
    let chart = LineChart {
        title: HOSTILE.into(),
        note: HOSTILE.into(),
        x: axis.clone(),
        y: axis.with_ticks([(1.0, HOSTILE.to_owned())]),
        series: vec![series],
        zones: vec![Zone {
            name: HOSTILE.into(),
            from: 0.0,
            to: 1.0,
        }],
        levels: vec![Level {
            name: HOSTILE.into(),
            low: 1.0,
            high: 1.5,
        }],
    };
    let table = SideBySide {
        caption: HOSTILE.into(),
        row_head: HOSTILE.into(),
        columns: vec![HOSTILE.into(); 2],
        groups: vec![Group {
            name: HOSTILE.into(),
            rows: vec![Row {
                name: HOSTILE.into(),
                unit: HOSTILE.into(),
                cells: vec![Cell::text(HOSTILE), Cell::unknown(HOSTILE)],
                sum: false,
            }],
        }],
    };
    let finding =
        measure::Finding::new(measure::Severity::Stop, specimen::Code::Hops, "x", HOSTILE)
            .help(HOSTILE)
            .source(HOSTILE);
    let body = html! {
        (line_chart(&chart)) (side_by_side(&table)) (findings(&[finding])) (reason(HOSTILE, &html! { p { (HOSTILE) } }))
        (spark(&[1.0, 2.0], None, HOSTILE))
    };
    let page = paper::self_contained(HOSTILE, HOSTILE, &body);
    let document = parse(&page);
    assert!(!document.descendants().any(|n| n.has_tag_name("script")));
    let titles = document.descendants().filter(|n| n.has_tag_name("title"));
    assert!(titles.filter(|n| n.text() == Some(HOSTILE)).count() >= 4);
}

#[test]
fn empty_figures_draw_without_harm() {
    let axis = Axis::new("", "");
    let nothing = html! {
        (line_chart(&LineChart::default()))
        (bars(&Bars::default()))
        (stack(&Stack::default()))
        (ribbon(&Ribbon::default()))
        (dot_plot(&DotPlot { title: "".into(), note: "".into(), axis, dots: vec![], levels: vec![] }))
        (spark(&[], None, "")) (spark(&[f64::NAN, 3.0], None, ""))
        (interval(&Interval { mean: f64::NAN, low: f64::NAN, high: 1.0, scale: (0.0, 0.0), control: None }))
    };
    let page = paper::self_contained("", "", &nothing);
    parse(&page);
    assert!(!page.contains("NaN") && !page.contains("inf"));
}

/// The tokens of the style sheet: name to its light and dark colour.
fn tokens() -> BTreeMap<&'static str, [Rgb; 2]> {
    let mut tokens = BTreeMap::new();
    for line in paper::STYLE.lines() {
        let Some((name, rest)) = line.trim().split_once(": light-dark(") else {
            continue;
        };
        let (light, dark) = rest
            .trim_end_matches(");")
            .split_once(", ")
            .expect("two colours");
        let pair = [light, dark].map(|c| Rgb::parse(c).expect("a colour"));
        assert!(tokens.insert(name, pair).is_none(), "{name} is given twice");
    }
    tokens
}

#[test]
fn every_pair_has_the_contrast_of_level_aa() {
    // WCAG 2.2, 1.4.3 (text 4.5) and 1.4.11 (graphics 3).
    let tokens = tokens();
    let grounds = ["--paper", "--sheet", "--band", "--target"];
    let tints = ["--tint-1", "--tint-2", "--tint-3", "--dry", "--wet"];
    let mut pairs = Vec::new();
    for ground in grounds {
        for text in ["--ink", "--ink-2", "--accent", "--worse"] {
            pairs.push((text, ground, 4.5));
        }
        pairs.push(("--rule", ground, 3.0));
    }
    pairs.extend(tints.map(|ground| ("--ink", ground, 4.5)));
    let mut failures = Vec::new();
    for (over, under, least) in pairs {
        for (mode, name) in ["light", "dark"].iter().enumerate() {
            let ratio = tokens[over][mode].contrast(tokens[under][mode]);
            if ratio < least {
                failures.push(format!("{over} on {under}, {name}: {ratio:.2} < {least}"));
            }
        }
    }
    assert!(failures.is_empty(), "{failures:#?}");
}

#[test]
fn colours_are_written_as_tokens_alone() {
    let print = paper::STYLE
        .find("@media print")
        .expect("there are print rules");
    let ground = paper::STYLE.find("/* Ground */").expect("tokens end there");
    let rules = &paper::STYLE[ground..print];
    assert!(
        !rules.contains('#') && !rules.contains("rgb"),
        "a colour outside the tokens"
    );
    for used in paper::STYLE.split("var(").skip(1) {
        let name = used.split(')').next().expect("a name");
        assert!(
            paper::STYLE.contains(&format!("{name}: ")),
            "{name} is not given"
        );
    }
}

#[test]
fn every_class_of_a_drawing_is_in_the_style_sheet() {
    let page = specimen::page();
    for node in parse(&page)
        .descendants()
        .filter(|n| n.ancestors().any(|a| a.has_tag_name("svg")))
    {
        // Groups and plain names only gather; what paints has to be styled.
        for class in node.attribute("class").unwrap_or("").split_whitespace() {
            let plain = [
                "name", "series", "readings", "on-band", "dash-0", "filled", "leaving",
            ];
            assert!(
                plain.contains(&class) || paper::STYLE.contains(&format!(".{class}")),
                "{class} has no rule"
            );
        }
    }
}
