//! The setting that meets several wishes at once, against an optimum worked out by hand.
#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

mod stats_common;

use stats_common::Csv;
use trials::analyse::Table;
use trials::analyse::best::{best, wish};
use trials::analyse::model::fit_surface;
use trials::stats::desirability::Wish;

/// A central composite plan of temperature 180 to 220 and time 10 to 20, with two responses that follow exactly
/// u = 10 + 2a − b² and v = 10 − 2a − b² in coded units.
fn table() -> Table {
    let mut text = String::from("temperature,minutes,u,v\n");
    let mut runs = vec![(0.0, 0.0); 3];
    runs.extend([(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)]);
    runs.extend([(-1.0, 0.0), (1.0, 0.0), (0.0, -1.0), (0.0, 1.0)]);
    for (a, b) in runs {
        let (u, v) = (10.0 + 2.0 * a - b * b, 10.0 - 2.0 * a - b * b);
        text += &format!("{},{},{u},{v}\n", 200.0 + 20.0 * a, 15.0 + 5.0 * b);
    }
    Csv::of(&text).table()
}

/// Desirabilities and their geometric mean as Derringer and Suich 1980 define them. With d(u) = (1 + a)/2 and
/// d(v) = ((1 − a)/2)² the product (1 + a)(1 − a)² is highest at a = −1/3, b = 0.
#[test]
fn the_best_setting_is_that_of_the_closed_form() {
    let names = ["temperature".to_owned(), "minutes".to_owned()];
    let fit = |response: &str| fit_surface(&table(), response, &names).unwrap();
    let larger = |weight: f64| Wish::Larger {
        low: 8.0,
        high: 12.0,
        weight,
    };
    let models = [(fit("u"), larger(1.0)), (fit("v"), larger(2.0))];
    let found = best(&models).unwrap();
    assert!(
        (found.at[0] - (200.0 - 20.0 / 3.0)).abs() < 0.1,
        "{found:?}"
    );
    assert!((found.at[1] - 15.0).abs() < 0.1, "{found:?}");
    let expected = ((1.0 / 3.0) * (2.0_f64 / 3.0).powi(2)).sqrt();
    assert!((found.overall - expected).abs() < 1e-5, "{found:?}");
    assert!((found.responses[0].prediction.mean - (10.0 - 2.0 / 3.0)).abs() < 0.01);
    // What can't be had at all isn't made up.
    let never = [(fit("u"), wish("larger 13..20").unwrap())];
    assert!(best(&never).is_none());
}
