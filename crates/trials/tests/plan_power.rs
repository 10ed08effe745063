//! Size and power against R 4.2.2 (power.t.test, power.anova.test, power.prop.test, binom.test).

#![allow(clippy::unwrap_used, reason = "a failed read fails the test")]

use proptest::prelude::*;
use trials::plan::Unit;
use trials::power::*;

fn close(a: f64, b: f64, tolerance: f64) {
    assert!(
        (a - b).abs() <= tolerance * b.abs().max(1.0),
        "{a} against {b}: off by {}",
        (a - b).abs()
    );
}

fn n(c: &Comparison, power: f64) -> f64 {
    c.replicates(power, 0.05, Unit::Batch)
        .unwrap()
        .exact_n
        .unwrap()
}

#[test]
fn t_tests() {
    let two = Comparison::TwoSample {
        difference: 1.0,
        sd: 1.0,
        one_sided: false,
    };
    // R leaves out the far tail, 2.3e-7 here: one-sided at half the risk is its figure exactly.
    close(two.power(20.0, 0.05).unwrap(), 0.868952801692498, 3e-7);
    let near = Comparison::TwoSample {
        difference: 1.0,
        sd: 1.0,
        one_sided: true,
    };
    close(near.power(20.0, 0.025).unwrap(), 0.868952801692498, 1e-11);
    // R's search for n stops within about 1e-4.
    close(n(&two, 0.9), 22.0210977038512, 1e-5);
    close(two.power(n(&two, 0.9), 0.05).unwrap(), 0.9, 1e-11);
    let paired = Comparison::Paired {
        difference: 0.5,
        sd_of_differences: 1.0,
        one_sided: false,
    };
    close(n(&paired, 0.8), 33.367204088022, 1e-5);
    let one = Comparison::TwoSample {
        difference: 1.0,
        sd: 1.0,
        one_sided: true,
    };
    close(n(&one, 0.9), 17.8471260864842, 1e-5);
}

#[test]
fn analysis_of_variance() {
    // R: 4 groups, variance between means 1, within 3: sum of squares of the means 3.
    let means = [-1.0, -0.5, 0.5, 1.0];
    let squares: f64 = means.iter().map(|m: &f64| m * m).sum();
    let scaled: Vec<f64> = means.iter().map(|m| m * (3.0 / squares).sqrt()).collect();
    let c = Comparison::Means {
        means: scaled,
        sd: 3f64.sqrt(),
    };
    close(c.power(5.0, 0.05).unwrap(), 0.353559423815302, 1e-9);
    close(c.power(n(&c, 0.8), 0.05).unwrap(), 0.8, 1e-11);
    close(n(&c, 0.8), 11.9261309577355, 1e-5);
    // Cohen's f 0.28, 5 groups: Σ(μ−μ̄)² = 5·0.28².
    let f = Comparison::OneWay {
        treatments: 5,
        difference: (2.0 * 5.0 * 0.28f64.powi(2)).sqrt(),
        sd: 1.0,
    };
    close(n(&f, 0.8), 31.4105642567988, 1e-5);
    // Two treatments: the F test is the t test, and blocks of two are pairs (sd of a difference is √2 sd).
    let t = Comparison::TwoSample {
        difference: 1.3,
        sd: 1.0,
        one_sided: false,
    };
    let two = Comparison::OneWay {
        treatments: 2,
        difference: 1.3,
        sd: 1.0,
    };
    close(
        t.power(8.0, 0.05).unwrap(),
        two.power(8.0, 0.05).unwrap(),
        1e-12,
    );
    let pairs = Comparison::Paired {
        difference: 1.3,
        sd_of_differences: 2f64.sqrt(),
        one_sided: false,
    };
    let blocks = Comparison::Blocks {
        treatments: 2,
        difference: 1.3,
        sd: 1.0,
    };
    close(
        pairs.power(8.0, 0.05).unwrap(),
        blocks.power(8.0, 0.05).unwrap(),
        1e-12,
    );
}

#[test]
fn shares_and_first_choice() {
    let p = Comparison::Proportions {
        first: 0.5,
        second: 0.75,
    };
    close(p.power(50.0, 0.05).unwrap(), 0.740165901331388, 1e-9);
    // R's search stops at about 1e-6.
    close(n(&p, 0.9), 76.7069301141077, 1e-6);
    for (dogs, share, power, alpha) in [
        (20, 0.7, 0.416413769469435, 0.0413894653320312),
        (40, 0.7, 0.703250169634514, 0.0384773082842002),
        (50, 0.7, 0.782193222728048, 0.0328391375642684),
        (100, 0.6, 0.462093382348394, 0.0352002002177048),
        (200, 0.6, 0.786848265307622, 0.0400371916133994),
    ] {
        let e = first_choice_power(dogs, share, 0.05);
        close(e.power, power, 1e-11);
        close(e.true_alpha, alpha, 1e-11);
    }
    for (dogs, k) in [
        (6, 6),
        (8, 8),
        (10, 9),
        (12, 10),
        (15, 12),
        (20, 15),
        (24, 18),
        (25, 18),
        (30, 21),
        (36, 25),
        (40, 27),
        (50, 33),
        (60, 39),
        (80, 50),
        (100, 61),
    ] {
        assert_eq!(smallest_significant(dogs, 0.05), Some(k), "{dogs} dogs");
    }
    assert_eq!(smallest_significant(5, 0.05), None);
}

#[test]
fn first_choice_size_stays_above_the_wish() {
    for (share, power) in [(0.7, 0.8), (0.75, 0.9), (0.4, 0.8), (0.9, 0.8)] {
        let c = Comparison::FirstChoice { share };
        let answer = c.replicates(power, 0.05, Unit::Dog).unwrap();
        assert!(first_choice_power(answer.n - 1, share, 0.05).power < power);
        for more in 0..200 {
            assert!(first_choice_power(answer.n + more, share, 0.05).power >= power);
        }
    }
    assert!(
        Comparison::FirstChoice { share: 0.501 }
            .replicates(0.8, 0.05, Unit::Dog)
            .is_err()
    );
}

#[test]
fn answers_count_units_and_refuse_pieces() {
    let c = Comparison::Blocks {
        treatments: 4,
        difference: 10.0,
        sd: 6.0,
    };
    let answer = c.replicates(0.8, 0.05, Unit::Batch).unwrap();
    assert!(
        answer.sentence.contains("counts batches"),
        "{}",
        answer.sentence
    );
    assert!(answer.power >= 0.8 && c.power(answer.n as f64 - 1.0, 0.05).unwrap() < 0.8);
    let message = c
        .replicates(0.8, 0.05, Unit::Piece)
        .unwrap_err()
        .to_string();
    assert!(
        message.starts_with("a piece is not a replicate"),
        "{message}"
    );
    let curve = c.curve(&[1, 2, answer.n], 0.05).unwrap();
    assert!(curve[0].1 == 0.0 && curve[1].1 < curve[2].1 && curve[2].1 == answer.power);
    let d = c.smallest_difference(answer.n, 0.8, 0.05).unwrap().unwrap();
    assert!(d <= 10.0 && d > 5.0);
    for bad in [
        Comparison::Proportions {
            first: 50.0,
            second: 0.2,
        },
        Comparison::TwoSample {
            difference: 0.0,
            sd: 1.0,
            one_sided: false,
        },
        Comparison::OneWay {
            treatments: 1,
            difference: 1.0,
            sd: 1.0,
        },
        Comparison::Paired {
            difference: 1.0,
            sd_of_differences: f64::NAN,
            one_sided: false,
        },
    ] {
        assert!(bad.replicates(0.8, 0.05, Unit::Batch).is_err(), "{bad:?}");
    }
    let tiny = Comparison::TwoSample {
        difference: 1e-4,
        sd: 1.0,
        one_sided: false,
    };
    assert!(matches!(
        tiny.replicates(0.8, 0.05, Unit::Batch),
        Err(PowerError::Unreachable { .. })
    ));
    let huge = Comparison::TwoSample {
        difference: 50.0,
        sd: 1.0,
        one_sided: false,
    };
    assert_eq!(huge.replicates(0.8, 0.05, Unit::Batch).unwrap().n, 2);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]
    #[test]
    fn power_rises_with_n(d in 0.2f64..3.0, k in 2usize..6, n in 2usize..30) {
        for c in [
            Comparison::OneWay { treatments: k, difference: d, sd: 1.0 },
            Comparison::Blocks { treatments: k, difference: d, sd: 1.0 },
            Comparison::TwoSample { difference: d, sd: 1.0, one_sided: true },
        ] {
            let (a, b) = (c.power(n as f64, 0.05).unwrap(), c.power(n as f64 + 1.0, 0.05).unwrap());
            prop_assert!(a >= 0.05 - 1e-9 && b >= a - 1e-10 && b <= 1.0 + 1e-12, "{c:?} {a} {b}");
        }
    }
}
