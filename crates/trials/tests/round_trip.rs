//! Every plan has its analysis: a sheet is drawn, filled in from a known truth, read back by what it
//! says of itself, and the truth is found.
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop where its data are not as written"
)]

mod stats_common;

use stats_common::Csv;
use std::collections::HashMap;
use trials::Code;
use trials::analyse::{Analysis, AnalysisRequest, Table, analyse, from_sheet, model};
use trials::plan::{Design, Request, RunSheet, Unit, plan};
use trials::random::SplitMix64;
use trials::stats::distribution::normal_quantile;
use trials::stats::mixture::Degree;

struct Truth {
    generator: SplitMix64,
    places: HashMap<String, f64>,
}

impl Truth {
    fn normal(&mut self) -> f64 {
        normal_quantile(self.generator.unit().clamp(1e-12, 1.0 - 1e-12))
    }
}

/// The sheet's own file with a value for every run.
fn filled(sheet: &RunSheet, y: impl Fn(usize) -> f64, seed: u64) -> Table {
    let text = sheet.to_csv();
    let mut csv = Csv::of(&text);
    let mut truth = Truth {
        generator: SplitMix64::stream(seed, 9),
        places: HashMap::new(),
    };
    csv.header.push("y".into());
    for (i, run) in sheet.runs.iter().enumerate() {
        let mut value = y(i);
        for place in &run.places {
            if !truth.places.contains_key(place) {
                let level = truth.normal();
                truth.places.insert(place.clone(), level);
            }
            value += truth.places[place];
        }
        if sheet.design == Design::Williams {
            let dog = truth.places.get(&run.unit_id).copied();
            let dog = dog.unwrap_or_else(|| truth.normal());
            truth.places.insert(run.unit_id.clone(), dog);
            value += 3.0 * dog;
        }
        value += 0.4 * truth.normal();
        csv.rows[i].push(format!("{value}"));
    }
    csv.table()
}

fn drawn(design: Design, seed: u64) -> RunSheet {
    let unit = *design.units().first().unwrap();
    assert!(unit != Unit::Piece);
    plan(&Request::example(design), unit, seed).unwrap()
}

/// Effect of a treatment: its settings' places in the order of the alphabet.
fn effects(sheet: &RunSheet) -> HashMap<String, f64> {
    let mut labels: Vec<String> = sheet.runs.iter().map(|r| r.treatment.clone()).collect();
    labels.sort();
    labels.dedup();
    labels
        .into_iter()
        .enumerate()
        .map(|(i, l)| (l, 3.0 * i as f64))
        .collect()
}

/// All differences that are told lie by the truth, which the means of the effects give.
fn near(found: &Analysis, truth: impl Fn(&str, &str) -> Option<f64>) {
    assert!(!found.comparisons.is_empty(), "{}", found.sentence);
    for c in &found.comparisons {
        let Some(d) = truth(&c.a, &c.b) else { continue };
        assert!((c.difference - d).abs() < 4.5 * c.se, "{c:?} truth {d}");
    }
}

fn residual_df(found: &Analysis) -> f64 {
    found
        .table
        .iter()
        .rev()
        .find(|l| l.term == "residual")
        .map_or(f64::NAN, |l| l.df)
}

#[test]
fn plain_blocked_square_and_crossover_sheets_come_back() {
    for design in [
        Design::CompletelyRandomised,
        Design::Blocks,
        Design::LatinSquare,
        Design::Williams,
    ] {
        for seed in [1, 2] {
            let sheet = drawn(design, seed);
            let effect = effects(&sheet);
            let table = filled(&sheet, |i| effect[&sheet.runs[i].treatment], seed);
            let found = analyse(&table, &AnalysisRequest::of("y"))
                .unwrap_or_else(|e| panic!("{design:?} {e:#?}"));
            near(&found, |a, b| Some(effect.get(a)? - effect.get(b)?));
            if let Some(df) = sheet.error_df
                && design != Design::Williams
            {
                assert!(
                    (residual_df(&found) - df as f64).abs() < 1e-9,
                    "{design:?} {:?} {df}",
                    found.table
                );
            }
        }
    }
}

#[test]
fn a_split_plot_sheet_gets_two_errors() {
    let sheet = drawn(Design::SplitPlot, 3);
    let effect = effects(&sheet);
    let table = filled(&sheet, |i| effect[&sheet.runs[i].treatment], 3);
    let found = analyse(&table, &AnalysisRequest::of("y")).unwrap();
    assert!(found.method.contains("split plot"), "{}", found.method);
    let whole = &sheet.factors[0].name;
    let line = |n: &str| found.table.iter().find(|l| l.term == n).unwrap();
    let blocks = sheet
        .runs
        .iter()
        .map(|r| &r.places[0])
        .collect::<std::collections::BTreeSet<_>>()
        .len();
    let levels = line(whole).df + 1.0;
    // One oven load per setting and day: settings are judged on (days − 1)(settings − 1).
    let df = line(whole).denominator_df.unwrap();
    assert!(
        (df - (blocks as f64 - 1.0) * (levels - 1.0)).abs() < 0.5,
        "{df} {:?}",
        found.table
    );
}

#[test]
fn factorial_sheets_get_their_factors_back() {
    for design in [Design::Factorial, Design::Augmented, Design::Fractional] {
        let sheet = drawn(design, 4);
        let effect = effects(&sheet);
        let table = filled(&sheet, |i| effect[&sheet.runs[i].treatment], 4);
        match analyse(&table, &AnalysisRequest::of("y")) {
            Ok(found) => {
                let terms: Vec<&str> = found.table.iter().map(|l| l.term.as_str()).collect();
                for factor in &sheet.factors {
                    assert!(
                        terms.contains(&factor.name.as_str()),
                        "{design:?} {terms:?}"
                    );
                }
            }
            // A fraction may use up every run.
            Err(findings) => assert!(
                design == Design::Fractional
                    && findings.iter().any(|f| f.code == Code::NoErrorLeft),
                "{design:?} {findings:#?}"
            ),
        }
    }
}

#[test]
fn settings_and_mixtures_name_their_columns() {
    for design in [Design::CentralComposite, Design::BoxBehnken] {
        let sheet = drawn(design, 5);
        let number = |i: usize, j: usize| match sheet.runs[i].levels[j] {
            trials::plan::Level::Number(v) => v,
            trials::plan::Level::Name(_) => f64::NAN,
        };
        let table = filled(&sheet, |i| 2.0 * number(i, 0), 5);
        let variables = from_sheet::roles(&table).unwrap().variables;
        assert_eq!(variables.len(), sheet.factors.len());
        let found = model::fit_surface(&table, "y", &variables).unwrap();
        let first = &found.report.coefficients[1];
        let truth = 2.0 * found.model.coding[0].1;
        assert!(
            (first.estimate.unwrap() - truth).abs() < 5.0 * first.se.unwrap(),
            "{first:?} {truth}"
        );
    }
    for design in [
        Design::SimplexLattice,
        Design::SimplexCentroid,
        Design::ConstrainedMixture,
    ] {
        let sheet = drawn(design, 6);
        let table = filled(
            &sheet,
            |i| {
                sheet.runs[i]
                    .levels
                    .iter()
                    .enumerate()
                    .map(|(j, l)| match l {
                        trials::plan::Level::Number(v) => (j + 1) as f64 * 10.0 * v,
                        trials::plan::Level::Name(_) => 0.0,
                    })
                    .sum()
            },
            6,
        );
        let parts = from_sheet::roles(&table).unwrap().parts;
        let own = sheet
            .factors
            .iter()
            .filter(|f| f.unit == "fraction")
            .count();
        assert!(own >= 2 && parts.len() == own, "{design:?}");
        let found = model::fit_mixture(&table, "y", &parts, Degree::Linear).unwrap();
        assert_eq!(found.report.coefficients.len(), parts.len());
    }
}
