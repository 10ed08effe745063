//! Two-bowl trials and rankings against R 4.2.2 (synthetic dogs, results computed with R).

#![allow(clippy::unwrap_used, reason = "a failed read fails the test")]

use proptest::prelude::*;
use serde_json::Value;
use trials::Code;
use trials::palatability::*;

fn table(text: &str) -> (Vec<String>, Vec<Vec<String>>) {
    let mut lines = text.lines().map(|l| {
        l.split(',')
            .map(|c| c.trim_matches('"').to_owned())
            .collect::<Vec<_>>()
    });
    (lines.next().unwrap(), lines.collect())
}

fn dogs() -> Vec<BowlRow> {
    let (headings, lines) = table(include_str!("data/plans/two_bowl_synthetic.csv"));
    read_rows(&headings, &lines).unwrap()
}

const RULES: BowlRules = BowlRules {
    least_total_g: 50.0,
};

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-9 * b.abs().max(1e-3), "{a} against {b}");
}

#[test]
fn reference_dogs_are_reproduced() {
    let r: Value =
        serde_json::from_str(include_str!("data/plans/two_bowl_reference.json")).unwrap();
    let f = |v: &Value| v.as_f64().unwrap();
    let x = two_bowl(&dogs(), RULES).unwrap();
    assert_eq!((x.dogs, x.left_out.len()), (20, 0));
    close(x.ratio.mean, f(&r["IR_mean_of_dog_means"]));
    let t = &r["IR_t_vs_0.5"];
    close(x.ratio.t.unwrap(), f(&t["statistic"]));
    close(x.ratio.df, f(&t["parameter"]));
    close(x.ratio.p, f(&t["p.value"]));
    close(x.ratio.low95, f(&t["conf.int"][0]));
    close(x.ratio.high95, f(&t["conf.int"][1]));
    close(x.pooled_ratio, f(&r["pooled_IR"]));
    close(x.a_to_b.unwrap(), f(&r["ratio_A_to_B"]));
    let g = &r["paired_t_grams"];
    close(x.grams.mean, f(&g["estimate"]));
    close(x.grams.t.unwrap(), f(&g["statistic"]));
    close(x.grams.p, f(&g["p.value"]));
    close(x.grams.low95, f(&g["conf.int"][0]));
    close(x.grams.high95, f(&g["conf.int"][1]));
    assert!(x.grams_ranks.exact);
    close(
        x.grams_ranks.statistic,
        f(&r["wilcoxon_exact_grams"]["statistic"]),
    );
    close(x.grams_ranks.p, f(&r["wilcoxon_exact_grams"]["p.value"]));
    close(x.effect_dz.unwrap(), f(&r["dz"]));
    assert!(serde_json::to_string(&x).unwrap().contains("ratio_ranks"));
    let first = x.first.unwrap();
    assert_eq!(
        (first.both_a, first.both_b, first.split, first.unknown),
        (6, 4, 10, 0)
    );
    assert_eq!((first.days_a, first.days, first.days_left), (22, 40, 22));
    close(first.p, f(&r["first_consistent_binom_p"]));
    close(even_split_p(22, 40), f(&r["first_naive_binom_p"]));
    // Side and day of the mixed model with a random dog (lmerTest, 18 degrees of freedom); R's
    // optimiser does not touch these balanced contrasts beyond about 1e-8.
    let (side, day) = (x.side.unwrap(), x.day.unwrap());
    for (got, row) in [(side, &r["lmm_IR"][1]), (day, &r["lmm_IR"][2])] {
        let se = (got.high95 - got.low95) / 2.0 / 2.100_922_040_241;
        assert!((got.mean - f(&row["Estimate"])).abs() < 1e-9);
        assert!(
            (got.t.unwrap() - f(&row["t value"])).abs() < 1e-5,
            "{} {}",
            got.t.unwrap(),
            row["t value"]
        );
        assert!((se - f(&row["Std. Error"])).abs() < 1e-6);
        assert!((got.df - 18.0).abs() < 1e-12);
    }
    assert!(x.findings.iter().any(|f| f.code == Code::SideBias));
    assert!(x.findings.iter().any(|f| f.code == Code::FirstChoiceSplit));
    assert!(
        x.sentence.contains("ate more of A") && x.sentence.contains("58 to 69 %"),
        "{}",
        x.sentence
    );
}

#[test]
fn first_choice_intervals_equal_r() {
    // binom.test and Wilson's interval, R 4.2.2; also in the minimum numbers table.
    let t = minimum_numbers(&[5, 6, 20, 100], 0.05);
    assert_eq!(
        t.iter().map(|m| m.least).collect::<Vec<_>>(),
        [None, Some(6), Some(15), Some(61)]
    );
    close(t[1].p.unwrap(), 0.03125);
    close(t[3].p.unwrap(), 0.0352002002177048);
    for (k, n, p) in [
        (14, 20, 0.115318298339844),
        (9, 10, 0.021484375),
        (25, 40, 0.153859944162832),
    ] {
        close(even_split_p(k, n), p);
        close(even_split_p(n - k, n), p);
    }
}

#[test]
fn dogs_that_cannot_count_are_left_out_by_name() {
    let mut rows = dogs();
    rows[0].intake_a_g = 1.0;
    rows[0].intake_b_g = 2.0;
    rows[3].left = rows[2].left;
    rows.remove(5);
    for r in &mut rows[8..10] {
        r.offered_a_g = Some(r.intake_a_g);
        r.offered_b_g = Some(r.intake_b_g);
    }
    let x = two_bowl(&rows, RULES).unwrap();
    let reasons: String = x
        .left_out
        .iter()
        .map(|l| format!("{} {}\n", l.dog, l.reason))
        .collect();
    println!("{reasons}");
    assert_eq!(x.dogs, 20 - x.left_out.len());
    assert!(x.left_out.len() >= 4);
    for word in [
        "less than",
        "not changed over",
        "one day only",
        "emptied both",
    ] {
        assert!(reasons.contains(word), "{word}");
    }
    let few = two_bowl(&rows[..2], RULES).unwrap_err().to_string();
    assert!(few.contains("at least 2"));
    let mut twice = dogs();
    twice.push(twice[0].clone());
    assert!(
        two_bowl(&twice, RULES)
            .unwrap_err()
            .to_string()
            .contains("twice")
    );
}

#[test]
fn small_trial_does_not_claim_equality() {
    let mut rows = dogs();
    rows.truncate(8);
    for (i, r) in rows.iter_mut().enumerate() {
        (r.intake_a_g, r.intake_b_g) = if i % 4 < 2 {
            (100.0 + i as f64, 90.0)
        } else {
            (90.0, 100.0 - i as f64)
        };
    }
    let x = two_bowl(&rows, RULES).unwrap();
    assert!(x.ratio.p > 0.05);
    assert!(
        x.sentence.contains("do not show") && x.sentence.contains("not proof"),
        "{}",
        x.sentence
    );
}

#[test]
fn cells_that_cannot_be_read_are_named() {
    let read = |text: &str| {
        let (h, l) = table(text);
        read_rows(&h, &l)
    };
    let say = |text: &str| read(text).unwrap_err().to_string();
    let head = "Dog,Day,Left,Intake A g,intake_b,first\n";
    assert!(read(&format!("{head}Rex,1,A,10,20,\nRex,2,b,10.5,20,NA")).is_ok());
    let x = say(&format!("{head}Rex,1,A,10,20,A\nRex,2,A,ten,20,A"));
    assert!(
        x.contains("row 2") && x.contains("intake_a") && x.contains("ten"),
        "{x}"
    );
    assert!(say(&format!("{head}Rex,1,C,10,20,A")).contains("A or B"));
    assert!(say(&format!("{head}Rex,1,A,-1,20,A")).contains("0 or more"));
    assert!(say("dog,day,left,intake_a\nRex,1,A,5").contains("intake_b"));
    let comma = read_rows(
        &["dog", "day", "left", "intake_a", "intake_b"].map(String::from),
        &[["Rex", "1", "A", "10,5", "20"].map(String::from).to_vec()],
    );
    assert!(comma.unwrap_err().to_string().contains("decimal"));
}

#[test]
fn ranking_of_foods() {
    // Hollander and Wolfe's rounding times (22 runners as blocks): Friedman 11.1428571, p 0.00380504
    // (R 4.2.2) when the columns are ranked.
    let foods: Vec<String> = ["x", "y", "z"].map(String::from).to_vec();
    let times: Vec<Vec<f64>> = include_str!("data/plans/rounding_times.csv")
        .lines()
        .skip(1)
        .map(|l| l.split(',').map(|c| c.parse().unwrap()).collect())
        .collect();
    let ranks: Vec<Vec<f64>> = times
        .iter()
        .map(|r| trials::stats::ranks::mid_ranks(r).0)
        .collect();
    let x = ranking(&foods, &ranks).unwrap();
    assert!((x.friedman.unwrap().statistic - 11.1428571).abs() < 1e-7);
    assert!((x.friedman.unwrap().p - 0.00380504).abs() < 1e-8);
    assert_eq!(x.foods[0].food, "z");
    let strengths: Vec<f64> = x.foods.iter().map(|f| f.strength.unwrap()).collect();
    assert!((strengths.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    assert!(
        strengths[0] > strengths[1] && strengths[1] > strengths[2],
        "{strengths:?}"
    );
    assert_eq!(x.pairs.len(), 3);
    assert!(ranking(&foods, &[vec![1.0, 2.0]]).is_err());
    assert!(
        ranking(&foods, &[vec![1.0, 1.0, 2.0]])
            .unwrap_err()
            .to_string()
            .contains("line 1")
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]
    #[test]
    fn order_and_names_do_not_matter(seed: u64) {
        let base = two_bowl(&dogs(), RULES).unwrap();
        // Changing the names of the foods mirrors the answer.
        let mut rows = dogs();
        let swap = |f: Food| if f == Food::A { Food::B } else { Food::A };
        for r in &mut rows {
            std::mem::swap(&mut r.intake_a_g, &mut r.intake_b_g);
            r.left = swap(r.left);
            r.first = r.first.map(swap);
        }
        let other = two_bowl(&rows, RULES).unwrap();
        prop_assert!((other.ratio.mean - (1.0 - base.ratio.mean)).abs() < 1e-12);
        prop_assert!((other.ratio.p - base.ratio.p).abs() < 1e-12);
        prop_assert!((other.side.unwrap().mean - base.side.unwrap().mean).abs() < 1e-12);
        // Order of whole days kept, dogs shuffled within them.
        let mut day1: Vec<BowlRow> = dogs().into_iter().filter(|r| r.day == "1").collect();
        let mut day2: Vec<BowlRow> = dogs().into_iter().filter(|r| r.day == "2").collect();
        let mut g = trials::random::SplitMix64::new(seed);
        trials::random::shuffle(&mut day1, &mut g);
        trials::random::shuffle(&mut day2, &mut g);
        day1.extend(day2);
        prop_assert_eq!(two_bowl(&day1, RULES).unwrap().sentence, base.sentence);
    }
}

#[test]
fn dogs_that_all_change_their_mind_give_no_share() {
    let mut rows = dogs();
    for (i, r) in rows.iter_mut().enumerate() {
        r.first = Some(if i % 2 == 0 { Food::A } else { Food::B });
    }
    let x = two_bowl(&rows, RULES).unwrap();
    let f = x.first.unwrap();
    assert_eq!(
        (f.both_a + f.both_b, f.split, f.share_a, f.p),
        (0, 20, None, 1.0)
    );
    assert!(x.sentence.contains("can never settle"), "{}", x.sentence);
    // Nothing noted: nothing said.
    for r in &mut rows {
        r.first = None;
    }
    let x = two_bowl(&rows, RULES).unwrap();
    assert!(x.first.is_none() && !x.sentence.contains("first choice"));
}

#[test]
fn intervals_of_first_choice_equal_r() {
    // binom.test and Wilson's interval, R 4.2.2: 9 of 10 and 10 of 10.
    let mut rows: Vec<BowlRow> = dogs().into_iter().take(20).collect();
    for r in &mut rows {
        r.first = Some(Food::A);
    }
    let all = two_bowl(&rows, RULES).unwrap().first.unwrap();
    close(all.exact95.unwrap().0, 0.691502892181239);
    close(all.score95.unwrap().0, 0.722467200137111);
    assert_eq!(all.exact95.unwrap().1, 1.0);
    close(all.p, 0.001953125);
    for r in &mut rows[..2] {
        r.first = Some(Food::B);
    }
    let nine = two_bowl(&rows, RULES).unwrap().first.unwrap();
    close(nine.exact95.unwrap().0, 0.554983882971805);
    close(nine.exact95.unwrap().1, 0.997471421455538);
    close(nine.score95.unwrap().1, 0.982123786904927);
}
