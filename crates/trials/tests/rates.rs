//! Twelve layouts, 200 seeds each: the limits of a rate from so few trials. The page
//! docs/validation-trials.md tells the rates from many more.

use trials::rates::{ALL, Rates};

/// Of 200 trials at 5 % more than 22 alarms come about once in 3,000 times (binomial), and fewer
/// than 2 about once in 2,500.
const MOST_ALARMS: u32 = 22;
const FEWEST_ALARMS: u32 = 2;

#[test]
fn false_alarms_and_coverage_stay_within_what_chance_allows() {
    let gate: Vec<_> = ALL.iter().filter(|l| l.gate).collect();
    assert_eq!(gate.len(), 12);
    let mut wrong = Vec::new();
    for layout in gate {
        let found = Rates::of(layout, 0, 200);
        let cover = f64::from(found.covered) / f64::from(found.intervals);
        let least = if layout.excuse.is_some() {
            0
        } else {
            FEWEST_ALARMS
        };
        // Intervals of one trial go together, so coverage is held to what alarms are.
        if !(least..=MOST_ALARMS).contains(&found.family_alarms())
            || cover < 0.90
            || found.refused > 4
        {
            wrong.push(format!("{}: {found:?}, cover {cover:.3}", layout.name));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn layouts_are_named_once() {
    for (i, layout) in ALL.iter().enumerate() {
        assert!(
            ALL[..i].iter().all(|l| l.name != layout.name),
            "{}",
            layout.name
        );
    }
}
