//! Readings that can't be so are named by row, and nothing is learned from them.
#![allow(clippy::unwrap_used, reason = "a test that can't go on has failed")]

use baking::bake::case::Benchmark;
use learning::{Asked, Bakes, Chosen, Code, FitError, Parameter, fit, read};
use measure::{Finding, Severity};

/// What is said of a table.
fn said(rows: &str) -> Vec<Finding> {
    let text = format!("bake,what,minutes,value,before_g,height_mm\n{rows}");
    let input = Benchmark::SteelBand.case().input;
    let bakes = Bakes::new(
        &input,
        read(&text).unwrap(),
        vec![Chosen::whole(Parameter::TopHeat)],
    );
    match fit(
        &bakes,
        Asked {
            starts: 1,
            draws: 0,
            ..Asked::USUAL
        },
        &|_| true,
    ) {
        Err(FitError::Readings(found)) => found,
        Err(other) => panic!("{other}"),
        Ok(_) => Vec::new(),
    }
}

#[test]
fn each_is_found_by_row_and_stops_the_fit() {
    // The dough of the benchmark holds 31 % water; 0.40 kg/kg dry solid are 28.6 % of the whole.
    for (code, row, rows) in [
        (
            Code::MassRises,
            "row 3",
            "a,mass_g,4,11.0,12.4,\na,mass_g,8,11.6,12.4,\n",
        ),
        (
            Code::MassRises,
            "row 3",
            "a,moisture_pct,4,20,,\na,moisture_pct,8,24,,\n",
        ),
        (Code::HeavierThanGreen, "row 2", "a,mass_g,4,12.4,11.0,\n"),
        (
            Code::TimesOutOfOrder,
            "row 3",
            "a,moisture_pct,8,20,,\na,moisture_pct,4,26,,\n",
        ),
        (
            Code::ProbeJumps,
            "row 3",
            "a,temperature_c,4,80,,4\na,temperature_c,4.05,400,,4\n",
        ),
        (Code::WrongBasis, "row 2", "a,moisture_pct,1,40,,\n"),
        (Code::WetterThanDough, "row 2", "a,moisture_pct,1,90,,\n"),
        (Code::ProbeOutside, "row 2", "a,temperature_c,4,80,,12\n"),
        (Code::BeyondPlausible, "row 2", "a,moisture_pct,4,-3,,\n"),
        (Code::BeyondPlausible, "row 2", "a,moisture_pct,4000,3,,\n"),
    ] {
        let found = said(rows);
        let finding = found.iter().find(|f| f.code == code);
        let finding = finding.unwrap_or_else(|| panic!("{code:?}: {found:?}"));
        assert!(finding.message.starts_with(row), "{}", finding.message);
        assert!(finding.severity == Severity::Stop && !finding.help.is_empty());
    }
}

#[test]
fn what_is_usual_is_taken() {
    // Another bake may be wetter, another probe colder, and pieces differ a little.
    let rows = "a,mass_g,4,11.7,12.4,\na,mass_g,8,11.2,12.5,\nb,mass_g,4,11.8,12.4,\na,temperature_c,4,80,,4\n\
                a,temperature_c,4,120,,8\na,end_moisture_pct,17,8.1,,\nb,end_moisture_pct,18,8.3,,\n";
    assert!(said(rows).is_empty());
}
