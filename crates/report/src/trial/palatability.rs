//! Which food is preferred: two bowls and rankings.

use super::Told;
use super::sheet::{Cell, Sheet, fixed, p, places, three};
use paper::chart::{Axis, Dot, DotPlot, dot_plot};
use trials::palatability::{MeanTest, Ranking, SignedRanks, TwoBowl};

/// Tells a two-bowl trial.
pub fn two_bowl(found: &TwoBowl) -> Told {
    let r = &found.ratio;
    let mut dots = vec![Dot {
        name: "share of A in the intake".into(),
        mean: 100.0 * r.mean,
        limits: Some((100.0 * r.low95, 100.0 * r.high95)),
        observations: Vec::new(),
        letters: String::new(),
    }];
    let first = found.first.as_ref();
    if let Some((share, (low, high))) = first.and_then(|f| f.share_a.zip(f.exact95)) {
        dots.push(Dot {
            name: "share of A in first choice".into(),
            mean: 100.0 * share,
            limits: Some((100.0 * low, 100.0 * high)),
            observations: Vec::new(),
            letters: String::new(),
        });
    }
    let mut tests = Sheet::new(
        "Intake",
        "Each dog counts once: its two days are averaged.",
        &["what", "#mean", "#95 % from", "#to", "#t", "#df", "#p"],
    );
    let mut add = |name: &str, t: &MeanTest| {
        let d = places([t.high95 - t.low95].into_iter());
        tests.rows.push(vec![
            Cell::from(name),
            fixed(Some(t.mean), d),
            fixed(Some(t.low95), d),
            fixed(Some(t.high95), d),
            fixed(t.t, 2),
            fixed(Some(t.df), 0),
            p(Some(t.p)),
        ]);
    };
    add("intake ratio A/(A + B), against 0.5", r);
    add("A less B, g a day", &found.grams);
    for (name, t) in [
        ("side: left less right", &found.side),
        ("day: second less first", &found.day),
    ] {
        if let Some(t) = t {
            add(name, t);
        }
    }
    let mut ranks = Sheet::new(
        "By ranks",
        found.zeros,
        &["what", "#statistic", "#n", "#p", "exact", "#shift"],
    );
    for (name, t) in [
        ("intake ratio", &found.ratio_ranks),
        ("A less B, g", &found.grams_ranks),
    ] {
        ranks.rows.push(rank_row(name, t));
    }
    let mut choice = Sheet::new("First choice", "", &["what", "#number"]);
    if let Some(f) = first {
        for (name, n) in [
            ("dogs to A on both days", f.both_a),
            ("dogs to B on both days", f.both_b),
            ("dogs that changed", f.split),
            ("dogs without two noted choices", f.unknown),
            ("dog-days on which the left bowl came first", f.days_left),
            ("dog-days with a choice", f.days),
        ] {
            choice
                .rows
                .push(vec![Cell::from(name), fixed(Some(n as f64), 0)]);
        }
        choice.rows.push(vec![
            Cell::from("exact p of the dogs that chose alike"),
            p(Some(f.p)),
        ]);
    }
    let mut out = Sheet::new("Left out", "", &["dog", "reason"]);
    for l in &found.left_out {
        out.rows.push(vec![
            Cell::from(l.dog.as_str()),
            Cell::from(l.reason.as_str()),
        ]);
    }
    let mut facts = vec![
        ("experimental unit", format!("dog ({} count)", found.dogs)),
        (
            "pooled share of A",
            format!(
                "{} % (dogs that eat much weigh more)",
                paper::number::fixed(100.0 * found.pooled_ratio, 1)
            ),
        ),
    ];
    if let Some(effect) = found.effect_dz {
        facts.push((
            "effect size d of the grams",
            paper::number::fixed(effect, 2),
        ));
    }
    let mut sheets = vec![tests, ranks, choice, out];
    sheets.retain(|s| !s.rows.is_empty());
    Told {
        kind: "Two-bowl trial",
        title: "Food A against food B".into(),
        sentence: found.sentence.clone(),
        facts,
        pictures: vec![dot_plot(&DotPlot {
            title: "Share of A".into(),
            note: "with 95 % intervals; half is no preference.".into(),
            axis: Axis::new("share of A", "%").with_range(0.0, 100.0),
            dots,
            levels: vec![("half".into(), 50.0)],
        })],
        sheets,
        findings: found.findings.clone(),
    }
}

fn rank_row(name: &str, t: &SignedRanks) -> Vec<Cell> {
    vec![
        Cell::from(name),
        fixed(Some(t.statistic), 1),
        fixed(Some(t.n as f64), 0),
        p(Some(t.p)),
        Cell::from(if t.exact { "exact" } else { "approximate" }),
        three(t.shift),
    ]
}

/// Tells a ranking.
pub fn ranking(found: &Ranking) -> Told {
    let mut foods = Sheet::new(
        "Foods, best first",
        "Strengths (Bradley and Terry) add up to one.",
        &["food", "#mean rank", "#strength"],
    );
    for f in &found.foods {
        foods.rows.push(vec![
            Cell::from(f.food.as_str()),
            fixed(Some(f.mean_rank), 2),
            fixed(f.strength, 3),
        ]);
    }
    let mut pairs = Sheet::new(
        "Pairs",
        "Exact sign test, p adjusted for all pairs (Holm).",
        &[
            "first",
            "second",
            "#dogs for the first",
            "#dogs for the second",
            "#p",
        ],
    );
    for pair in &found.pairs {
        pairs.rows.push(vec![
            Cell::from(pair.a.as_str()),
            Cell::from(pair.b.as_str()),
            fixed(Some(pair.a_first as f64), 0),
            fixed(Some(pair.b_first as f64), 0),
            p(Some(pair.p_adjusted)),
        ]);
    }
    Told {
        kind: "Preference ranking",
        title: "Preference ranking".into(),
        sentence: found.sentence.clone(),
        facts: vec![
            ("experimental unit", format!("dog ({})", found.dogs)),
            (
                "Friedman",
                found.friedman.map_or_else(
                    || "–".into(),
                    |t| {
                        format!(
                            "chi-square {} on {} degrees of freedom, p {}",
                            paper::number::three(t.statistic),
                            paper::number::fixed(t.df, 0),
                            p(Some(t.p)).text
                        )
                    },
                ),
            ),
        ],
        pictures: vec![dot_plot(&DotPlot {
            title: "Mean rank".into(),
            note: "1 is the most liked; the intervals of ranks are not drawn, the pairs are tested below.".into(),
            axis: Axis::new("mean rank", "").with_range(1.0, found.foods.len() as f64),
            dots: found
                .foods
                .iter()
                .map(|f| Dot {
                    name: f.food.clone(),
                    mean: f.mean_rank,
                    limits: None,
                    observations: Vec::new(),
                    letters: String::new(),
                })
                .collect(),
            levels: Vec::new(),
        })],
        sheets: vec![foods, pairs],
        findings: Vec::new(),
    }
}
