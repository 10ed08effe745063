//! The document made from the rows.

use crate::check::{Check, Grounds, Kind, Limit, Outcome, Part};
use std::fmt::Write;

/// What isn't held against anything yet, and why.
const NOT_CHECKED: [(&str, &str); 7] = [
    (
        "Sphere with convection",
        "pieces have a flat top and bottom; a sphere has no counterpart in them",
    ),
    (
        "Constant heat flux at the surface",
        "the oven gives heat by temperature differences only, so that there is no such boundary",
    ),
    (
        "Moisture and temperature curves of a biscuit against time",
        "no such table is at hand in print or as open data; the bake stands on end points until one's own bakes are fitted",
    ),
    (
        "Cake and flatbread end points",
        "raised or very thin products, outside a model of dense dough of constant volume",
    ),
    (
        "The bake of the whole piece against a real oven",
        "none is at hand; the exposure of the edge and the share of transfer in docker holes decide most and are assumed",
    ),
    (
        "Cracks, and keeping in real packs",
        "the checking index only ranks, held against common practice alone; leaks at seals aren't in the keeping",
    ),
    ("Starch gelatinisation", "not part of this version"),
];

/// The document of every row with its measured value.
pub fn markdown(measured: &[(Check, f64)]) -> String {
    let mut text = String::from(HEAD);
    for kind in Kind::ALL {
        let _ = writeln!(text, "- **{}**: {}", kind.word(), kind.meaning());
    }
    text.push_str(WORDS);
    for grounds in Grounds::ALL {
        let of = measured.iter().filter(|(c, _)| c.grounds == grounds);
        let _ = writeln!(text, "- {} ({} rows)", grounds.word(), of.count());
    }
    text.push('\n');
    text.push_str(&summary(measured));
    for kind in Kind::ALL {
        let _ = write!(text, "\n## {}\n", kind.word());
        for part in Part::ALL {
            let rows: Vec<&(Check, f64)> = measured
                .iter()
                .filter(|(c, _)| c.kind == kind && c.part == part)
                .collect();
            if rows.is_empty() {
                continue;
            }
            let _ = write!(text, "\n### {}\n\n", part.word());
            text.push_str("| Requirement | Source | Metric | Limit | Achieved | |\n");
            text.push_str("|---|---|---|---|---|---|\n");
            for (c, value) in rows {
                let _ = writeln!(
                    text,
                    "| {} | {} ({}) | {} | {} | {} | {} |",
                    c.requirement,
                    c.source,
                    c.grounds.word(),
                    c.metric,
                    limit(c.limit),
                    achieved(c.limit, *value),
                    outcome(c.outcome(*value)),
                );
            }
        }
    }
    text.push_str("\n## Rows outside, and why\n\n");
    for (c, value) in measured {
        if let Some(reason) = c.outside {
            let _ = writeln!(
                text,
                "- **{}** ({}, allowed {}, found {}): {reason}",
                c.requirement,
                c.metric,
                limit(c.limit),
                achieved(c.limit, *value),
            );
        }
    }
    text.push_str("\n## Not checked\n\n");
    for (what, why) in NOT_CHECKED {
        let _ = writeln!(text, "- {what}: {why}.");
    }
    text
}

const HEAD: &str = "# What the program is held against

Made by the tests; don't edit. `UPDATE_VALIDATION=1 cargo test -p validation` writes it anew.

A computed kill, guarantee, label or heat balance is a draft. A kill step has to be validated by a process
authority, a label checked against the law of the place, a diet judged by a veterinarian.

Four kinds of rows are kept apart:

";

const WORDS: &str = "
*Achieved* is told as a bound when the row measures a deviation (rounded up to 1, 2 or 5 of a power of ten, so
that it reads the same on every machine), and as the value when the row measures a value. How sure a reference is:

";

fn summary(measured: &[(Check, f64)]) -> String {
    let mut text = String::from("| | rows | met | outside |\n|---|---|---|---|\n");
    for kind in Kind::ALL {
        let of: Vec<Outcome> = measured
            .iter()
            .filter(|(c, _)| c.kind == kind)
            .map(|(c, v)| c.outcome(*v))
            .collect();
        let count = |o| of.iter().filter(|x| **x == o).count();
        let _ = writeln!(
            text,
            "| {} | {} | {} | {} |",
            kind.word(),
            of.len(),
            count(Outcome::Met),
            count(Outcome::Outside)
        );
    }
    text
}

fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Met => "met",
        Outcome::Outside => "outside",
        Outcome::Failed => "FAILED",
        Outcome::Surprise => "met, though told to be outside",
    }
}

fn limit(limit: Limit) -> String {
    match limit {
        Limit::AtMost(0.0) => "0".to_owned(),
        Limit::AtMost(most) => format!("≤ {}", number(most)),
        Limit::Between(low, high) => format!("{} to {}", number(low), number(high)),
    }
}

/// Below this a deviation is round-off and differs from machine to machine.
const ROUND_OFF: f64 = 1e-12;

fn achieved(limit: Limit, value: f64) -> String {
    match limit {
        _ if !value.is_finite() => "no number".to_owned(),
        Limit::AtMost(0.0) if value == 0.0 => "0".to_owned(),
        Limit::AtMost(most) => {
            let bound = rounded_up(value.abs().max(ROUND_OFF));
            // A bound that was met isn't told wider than it is allowed.
            let told = if limit.allows(value) {
                bound.min(most)
            } else {
                bound
            };
            format!("≤ {}", number(told))
        }
        Limit::Between(..) => measure::rounding::significant(value, 3).replace('-', "−"),
    }
}

/// The next of 1, 2 or 5 times a power of ten that isn't below.
fn rounded_up(value: f64) -> f64 {
    let power = value.log10().floor() as i32;
    for exponent in [power, power + 1] {
        for mantissa in [1, 2, 5] {
            // Parsed, so that the decimal is exact.
            let step: f64 = format!("{mantissa}e{exponent}").parse().unwrap_or(value);
            if value <= step * (1.0 + 1e-9) {
                return step;
            }
        }
    }
    value
}

/// A number as people write it: small ones as a power of ten.
fn number(value: f64) -> String {
    if value != 0.0 && value.abs() < 1e-3 {
        format!("{value:e}").replace('-', "−")
    } else {
        format!("{value}").replace('-', "−")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_are_rounded_up_and_values_to_three_digits() {
        for (value, bound) in [(3.1e-7, 5e-7), (5e-7, 5e-7), (5.1e-7, 1e-6), (0.21, 0.5)] {
            assert_eq!(rounded_up(value), bound);
        }
        assert_eq!(achieved(Limit::AtMost(1e-10), 3e-16), "≤ 1e−12");
        assert_eq!(achieved(Limit::AtMost(1e-10), 0.0), "≤ 1e−12");
        assert_eq!(achieved(Limit::AtMost(3e-4), 2.6e-4), "≤ 3e−4");
        assert_eq!(achieved(Limit::AtMost(3e-4), 3.6e-4), "≤ 5e−4");
        assert_eq!(achieved(Limit::AtMost(0.0), 0.0), "0");
        assert_eq!(achieved(Limit::Between(0.0, 9.0), 4.8449), "4.84");
        assert_eq!(achieved(Limit::Between(0.0, 9.0), f64::NAN), "no number");
        assert_eq!(limit(Limit::Between(-1.0, 0.5)), "−1 to 0.5");
    }
}
