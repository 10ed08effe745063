//! Questions of one's own about the means, and comparisons by ranks.
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop where its data are not as written"
)]

mod stats_common;

use stats_common::{Csv, close, data};
use trials::Code;
use trials::analyse::{AnalysisRequest, Table, WantedContrast, analyse};

fn plants() -> Table {
    Csv::of(data!("r/PlantGrowth.csv")).table()
}

#[track_caller]
fn refused(request: &AnalysisRequest, words: &str) {
    let findings = analyse(&plants(), request).expect_err("should be refused");
    assert_eq!(findings[0].code, Code::Contrast);
    assert!(findings[0].message.contains(words) && !findings[0].help.is_empty());
}

fn contrast(name: &str, weights: &[(&str, f64)]) -> WantedContrast {
    WantedContrast {
        name: name.to_owned(),
        weights: weights.iter().map(|(l, w)| ((*l).to_owned(), *w)).collect(),
    }
}

/// Orthogonal contrasts share the treatments' sum of squares out among them (a theorem of every textbook), a contrast of
/// two levels is their difference, and Scheffé's p of the contrast that holds it all is the p of the F test.
#[test]
fn contrasts_add_up_to_the_analysis_of_variance() {
    let mut request = AnalysisRequest::of("weight");
    request.contrasts = vec![
        contrast(
            "both against none",
            &[("trt1", 0.5), ("trt2", 0.5), ("ctrl", -1.0)],
        ),
        contrast("one another", &[("trt2", 1.0), ("trt1", -1.0)]),
    ];
    let found = analyse(&plants(), &request).unwrap();
    let (line, s2) = (&found.table[0], found.table[1].mean_sq.unwrap());
    let shares: f64 = found
        .contrasts
        .iter()
        .map(|c| (c.estimate / c.se).powi(2) * s2)
        .sum();
    close(shares, line.sum_sq.unwrap(), 1e-12);
    let pair = &found.contrasts[1];
    let same = found
        .comparisons
        .iter()
        .find(|c| c.a == "trt2" && c.b == "trt1")
        .unwrap();
    close(pair.estimate, same.difference, 1e-12);
    close(pair.se, same.se, 1e-12);
    assert!(pair.p < pair.p_holm && pair.p_holm < pair.p_scheffe);
    assert!(pair.low95_scheffe < pair.low95 && pair.high95 < pair.high95_scheffe);

    let grand = found.means.iter().map(|m| m.mean.unwrap()).sum::<f64>() / 3.0;
    let weights: Vec<(String, f64)> = found
        .means
        .iter()
        .map(|m| (m.level.clone(), m.mean.unwrap() - grand))
        .collect();
    request.contrasts = vec![WantedContrast {
        name: "the largest there is".to_owned(),
        weights,
    }];
    let found = analyse(&plants(), &request).unwrap();
    close(
        found.contrasts[0].p_scheffe,
        found.table[0].p.unwrap(),
        1e-10,
    );
}

#[test]
fn a_contrast_that_is_none_is_refused() {
    let mut request = AnalysisRequest::of("weight");
    request.contrasts = vec![contrast("sum", &[("trt1", 1.0), ("ctrl", 1.0)])];
    refused(&request, "add to 2");
    request.contrasts = vec![contrast("typo", &[("trt1", 1.0), ("control", -1.0)])];
    refused(&request, "control");
}

/// Dunn's comparisons with Holm's p-values of R on the same data.
#[test]
fn comparisons_by_ranks_are_those_of_r() {
    let mut request = AnalysisRequest::of("weight");
    request.by_ranks = true;
    let found = analyse(&plants(), &request).unwrap();
    for (a, b, z, p) in [
        (
            "ctrl",
            "trt1",
            1.117_725_454_378_79_f64,
            0.263_684_267_891_386,
        ),
        ("ctrl", "trt2", -1.689_289_607_186_12, 0.182_327_888_097),
        (
            "trt1",
            "trt2",
            -2.807_015_061_564_91,
            0.015_000_871_110_773_1,
        ),
    ] {
        let line = found
            .by_ranks
            .iter()
            .find(|c| [(a, b), (b, a)].contains(&(c.a.as_str(), c.b.as_str())))
            .unwrap();
        close((line.difference / line.se).abs(), z.abs(), 1e-10);
        close(line.p_adjusted, p, 1e-8);
    }
}
