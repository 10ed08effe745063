//! Prints the HTML report of the demonstration study; with a number, with so many draws of spread.

use study::{BakeOptions, compare, spread, water_curve};

const DEMONSTRATION: &str = include_str!("../../../examples/spent-grain.toml");

fn main() {
    let study = study::written::read(DEMONSTRATION).unwrap_or_else(|p| panic!("{p:#?}"));
    let treatments: Vec<_> = study.treatments.iter().collect();
    let mut compared =
        compare(&study, &treatments, &BakeOptions::QUICK).expect("the demonstration has answers");
    let mut words = std::env::args().skip(1);
    let first = words.next();
    if first.as_deref() == Some("svg") {
        std::io::Write::write_all(
            &mut std::io::stdout(),
            report::bake_svg(&compared[0].answer).as_bytes(),
        )
        .expect("standard output takes the drawing");
        return;
    }
    if let Some(draws) = first.and_then(|n| n.parse().ok()) {
        spread(&study, &mut compared, &BakeOptions::QUICK, draws, 7)
            .expect("the demonstration has a spread");
    }
    let curves: Vec<report::Curve> = treatments
        .iter()
        .map(|t| report::Curve {
            id: t.id.clone(),
            points: water_curve(t, &BakeOptions::QUICK, 9).expect("the demonstration has curves"),
        })
        .collect();
    let options = report::Options {
        per: report::Per::Mix,
        version: env!("CARGO_PKG_VERSION").to_owned(),
    };
    let html = report::document(&study, &compared, &curves, &options);
    std::io::Write::write_all(&mut std::io::stdout(), html.as_bytes())
        .expect("standard output takes the report");
}
