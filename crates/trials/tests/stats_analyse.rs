//! From a table to an analysis: structures found, published answers reproduced, bad input named.
//!
//! The file is long because each question stands with the numbers that it is held against.
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop where its data are not as written"
)]

mod stats_common;

use measure::{Finding, Severity};
use stats_common::{Csv, close, data};
use trials::Code;
use trials::analyse::{Analysis, AnalysisRequest, Cell, Exclusion, Table, Wanted, analyse, model};
use trials::stats::mixture::Degree;

fn run(text: &str, request: &AnalysisRequest) -> Result<Analysis, Vec<Finding>> {
    analyse(&Csv::of(text).table(), request)
}

#[track_caller]
fn refused(text: &str, request: &AnalysisRequest, code: Code, words: &[&str]) {
    let findings = run(text, request).expect_err("should be refused");
    let found = findings
        .iter()
        .find(|f| f.code == code)
        .unwrap_or_else(|| panic!("{findings:#?}"));
    assert_eq!(found.severity, Severity::Stop);
    assert!(!found.help.is_empty());
    for word in words {
        assert!(
            found.message.contains(word),
            "{} lacks {word}",
            found.message
        );
    }
}

#[test]
fn a_treatment_that_seldom_breaks_is_no_fraction() {
    // 0.12 % beside 12 % is what a good formula does; only within a treatment would it be two ways of
    // writing.
    let text = "treatment,batch,broken_pct\ncontrol,1,0.12\ncontrol,2,0.15\ncontrol,3,0.11\nrice,4,12\nrice,5,11\nrice,6,15\n";
    let found = run(text, &AnalysisRequest::of("broken_pct")).unwrap();
    let told = warned(&found, Code::PercentAgainstFraction);
    assert_eq!(told.severity, Severity::Warn);
    assert!(told.message.contains("control"), "{}", told.message);
    assert!((found.comparisons[0].difference.abs() - (38.0 - 0.38) / 3.0).abs() < 1e-9);
    let mixed = text.replace("control,2,0.15", "control,2,15");
    refused(
        &mixed,
        &AnalysisRequest::of("broken_pct"),
        Code::PercentAgainstFraction,
        &["rows 2"],
    );
}

#[test]
fn a_variance_at_zero_has_no_degrees_of_freedom_from_its_peak() {
    // Three of four treatments on each of six days that are all alike.
    let mut text = String::from("bake_day,treatment,y\n");
    let noise = [0.3, -0.6, 0.4, -0.2, 0.7, -0.5, 0.6, -0.4, -0.1];
    for day in 0..6 {
        for (k, t) in (0..4).filter(|t| (t + day) % 4 != 0).enumerate() {
            let y = 50.0 + noise[(2 * day + 4 * k) % 9] - noise[(2 * day) % 9] / 3.0;
            text += &format!("d{day},t{t},{y:.3}\n");
        }
    }
    let found = run(&text, &AnalysisRequest::of("y")).unwrap();
    warned(&found, Code::VarianceAtZero);
    assert_eq!(found.variance[0].value, 0.0);
    // Kenward and Roger's error counts the day's variance as estimated: fewer than 18 - 4.
    let error = found.table[0].denominator_df.unwrap();
    assert!(
        found.method.contains("Kenward–Roger") && error < 14.0,
        "{error}"
    );
    assert!(
        found
            .checks
            .iter()
            .all(|c| !c.check.contains("Satterthwaite")),
        "{:?}",
        found.checks
    );
}

#[test]
fn dogs_and_their_shares_of_a_food_have_variances_of_their_own() {
    // Dogs differ by tens of grams, a dog's foods by a few.
    let mut text = String::from("dog,treatment,day,intake_g\n");
    let mut g = trials::random::SplitMix64::new(4);
    for dog in 0..8 {
        for food in 0..3 {
            for day in 0..3 {
                let own = [0.0, 40.0, -35.0, 20.0, -10.0, 60.0, -50.0, 5.0][dog];
                let share = [8.0, -8.0, 1.0, 9.0, -10.0][(3 * dog + 2 * food) % 5];
                let y = 200.0 + own + share + 8.0 * (g.unit() - 0.5);
                text += &format!("D{dog},f{food},{},{y}\n", day + 1);
            }
        }
    }
    let found = run(&text, &AnalysisRequest::of("intake_g")).unwrap();
    assert_eq!((found.units, found.rows), (24, 72));
    let of = |name: &str| found.variance.iter().find(|v| v.term == name);
    let (dogs, shares) = (of("dog"), of("dog and treatment"));
    assert!(
        dogs.is_some_and(|v| v.value > 500.0)
            && shares.is_some_and(|v| (20.0..200.0).contains(&v.value)),
        "{}: {:?}",
        found.method,
        found.variance
    );
}

#[test]
fn very_many_blocks_are_taken_out_as_means() {
    // Days and treatments add up exactly, so nothing is left to judge by, with one day or thousands.
    let exact = |days: usize, wobble: f64| {
        let mut text = String::from("bake_day,treatment,y\n");
        for day in 0..days {
            for t in 0..4 {
                let off = if (day + t) % 7 == 0 { wobble } else { 0.0 };
                let y = (day % 13) as f64 + 2.0 * t as f64 + off;
                text += &format!("d{day},t{t},{y}\n");
            }
        }
        text
    };
    let y = AnalysisRequest::of("y");
    for days in [5, 120, 2_500] {
        refused(
            &exact(days, 0.0),
            &y,
            Code::ZeroVariance,
            &["exactly alike"],
        );
        assert!(run(&exact(days, 0.5), &y).is_ok(), "{days}");
    }
}

#[track_caller]
fn warned(found: &Analysis, code: Code) -> &Finding {
    found
        .findings
        .iter()
        .find(|f| f.code == code)
        .unwrap_or_else(|| panic!("{:#?}", found.findings))
}

/// Three treatments, four batches each, five pieces a batch; invented.
fn biscuits() -> String {
    let mut text = String::from("treatment,batch,piece,breaking_force_n\n");
    for (t, (name, base)) in [("control", 50.0), ("barley", 36.0), ("oat", 49.0)]
        .iter()
        .enumerate()
    {
        for b in 0..4 {
            let batch = [-3.0, 2.0, 4.0, -3.0][b] + f64::from(t as u8) * [0.5, -0.5, 0.2, -0.2][b];
            for p in 0..5 {
                let piece = [-2.0, 1.0, 0.0, 3.0, -2.0][(p + b) % 5];
                text += &format!("{name},{}{b},{p},{}\n", &name[..1], base + batch + piece);
            }
        }
    }
    text
}

#[test]
fn plant_growth_json_has_the_promised_fields() {
    let found = run(data!("r/PlantGrowth.csv"), &AnalysisRequest::of("weight")).unwrap();
    let json: serde_json::Value = serde_json::to_value(&found).unwrap();
    for key in [
        "table",
        "means",
        "comparisons",
        "variance",
        "checks",
        "effect",
        "sentence",
        "unit",
        "findings",
    ] {
        assert!(json.get(key).is_some(), "{key}");
    }
    for key in [
        "term",
        "df",
        "sum_sq",
        "mean_sq",
        "f",
        "p",
        "denominator_df",
    ] {
        assert!(json["table"][0].get(key).is_some(), "{key}");
    }
    for key in ["level", "n", "mean", "se", "low95", "high95", "letters"] {
        assert!(json["means"][0].get(key).is_some(), "{key}");
    }
    for key in [
        "a",
        "b",
        "difference",
        "low95",
        "high95",
        "p_adjusted",
        "method",
    ] {
        assert!(json["comparisons"][0].get(key).is_some(), "{key}");
    }
    assert!(
        json["variance"][0].get("term").is_some() && json["variance"][0].get("value").is_some()
    );
    close(found.table[0].f.unwrap(), 4.84608786238014, 1e-10);
    let letters: Vec<&str> = found.means.iter().map(|m| m.letters.as_str()).collect();
    assert_eq!(letters, ["ab", "b", "a"]);
    let p: Vec<f64> = found.comparisons.iter().map(|c| c.p_adjusted).collect();
    for (got, want) in p.iter().zip([0.390871144, 0.197995991, 0.0120064240]) {
        close(*got, want, 1e-8);
    }
    assert!(found.sentence.contains("can't tell whether"));
    assert!(!found.sentence.contains("no difference between"));
}

#[test]
fn pieces_are_averaged_by_batch() {
    let found = run(
        &biscuits(),
        &AnalysisRequest {
            control: Some("control".into()),
            margin: Some(5.0),
            ..AnalysisRequest::of("breaking_force_n")
        },
    )
    .unwrap();
    assert_eq!((found.units, found.rows), (12, 60));
    assert_eq!(found.unit, "batch");
    assert_eq!(found.table.last().unwrap().df, 9.0);
    assert!(
        found
            .variance
            .iter()
            .any(|v| v.term == "pieces within units")
    );
    let barley = found.comparisons.iter().find(|c| c.a == "barley").unwrap();
    close(barley.difference, -14.0, 1e-9);
    assert!(barley.p_adjusted < 0.05 && barley.method == "Dunnett");
    assert!(
        found.sentence.contains("lower than that of control"),
        "{}",
        found.sentence
    );
    assert!(found.sentence.contains("N"));
    assert_eq!(found.equivalence.len(), 2);
    // The same pieces taken as replicates are refused.
    refused(
        &biscuits(),
        &AnalysisRequest {
            unit: Some("piece".into()),
            ..AnalysisRequest::of("breaking_force_n")
        },
        Code::PiecesAreNotReplicates,
        &["share its mixing"],
    );
}

#[test]
fn split_plots_are_found_from_the_units_or_told() {
    let told = run(
        data!("r/oats.csv"),
        &AnalysisRequest {
            blocks: vec!["B".into()],
            whole_plot: vec!["V".into()],
            ..AnalysisRequest::of("Y")
        },
    )
    .unwrap();
    let line =
        |found: &Analysis, term: &str| found.table.iter().find(|l| l.term == term).unwrap().clone();
    close(line(&told, "V").f.unwrap(), 1.48534037943633, 1e-9);
    close(line(&told, "V").denominator_df.unwrap(), 10.0, 1e-9);
    close(line(&told, "N").f.unwrap(), 37.6856470588235, 1e-9);
    close(
        line(&told, "residual").mean_sq.unwrap(),
        177.083333333333,
        1e-9,
    );
    let csv = Csv::of(data!("r/oats.csv"));
    let mut text = String::from("block,plot,variety,nitrogen,yield\n");
    for row in &csv.rows {
        text += &format!(
            "{},{}-{},{},{},{}\n",
            row[0], row[0], row[1], row[1], row[2], row[3]
        );
    }
    let found = run(&text, &AnalysisRequest::of("yield")).unwrap();
    close(line(&found, "variety").f.unwrap(), 1.48534037943633, 1e-9);
    close(line(&found, "nitrogen").denominator_df.unwrap(), 45.0, 1e-9);
}

#[test]
fn squares_factorials_and_subjects_are_found() {
    let found = run(
        data!("r/OrchardSprays.csv"),
        &AnalysisRequest::of("decrease"),
    )
    .unwrap();
    assert!(found.method.contains("Latin square"));
    close(found.table[2].f.unwrap(), 21.066700922364, 1e-10);
    let found = run(data!("r/npk.csv"), &AnalysisRequest::of("yield")).unwrap();
    assert!(warned(&found, Code::NotEstimable).message.contains("N:P:K"));
    close(
        found
            .table
            .iter()
            .find(|l| l.term == "N")
            .unwrap()
            .f
            .unwrap(),
        12.2587342136509,
        1e-9,
    );
    let found = run(data!("r/sleep.csv"), &AnalysisRequest::of("extra")).unwrap();
    close(found.comparisons[0].p_adjusted, 0.00283289019738427, 1e-8);
    close(found.comparisons[0].low95.unwrap(), 0.700114236723018, 1e-8);
    let found = run(
        data!("r/cbpp.csv"),
        &AnalysisRequest {
            out_of: Some("size".into()),
            ..AnalysisRequest::of("incidence")
        },
    )
    .unwrap();
    // Herds are blocks; what animals of a herd and period differ by beyond counting is the error.
    assert!(found.method.contains("logistic regression by batch"));
    assert!(
        found
            .table
            .iter()
            .any(|l| l.term == "period" && l.denominator_df.is_some())
    );
}

#[test]
fn a_control_beside_a_factorial() {
    // Two flours by two ovens and a control outside; no noise beyond a fixed pattern.
    let mut text = String::from("flour,oven,y\n");
    for (flour, oven, mean) in [
        ("a", "hot", 10.0),
        ("a", "cool", 12.0),
        ("b", "hot", 14.0),
        ("b", "cool", 16.0),
        ("old", "old_oven", 20.0),
    ] {
        for e in [-1.0, 0.0, 1.0] {
            text += &format!("{flour},{oven},{}\n", mean + e);
        }
    }
    let found = run(&text, &AnalysisRequest::of("y")).unwrap();
    let line = |term: &str| found.table.iter().find(|l| l.term == term).unwrap();
    // By hand: control 20 against the mean 13 of twelve rows; flour 4 apart, oven 2 apart.
    close(
        line("old:old_oven against the rest").sum_sq.unwrap(),
        49.0 / (1.0 / 3.0 + 1.0 / 12.0),
        1e-9,
    );
    close(line("flour").sum_sq.unwrap(), 12.0 * 4.0, 1e-9);
    close(line("oven").sum_sq.unwrap(), 12.0, 1e-9);
    assert!(line("flour:oven").sum_sq.unwrap() < 1e-9);
    close(line("residual").mean_sq.unwrap(), 1.0, 1e-9);
}

#[test]
fn incomplete_blocks_go_to_a_mixed_model() {
    let mut text = String::from("treatment,day,y\n");
    for (day, t, y) in [
        (1, "A", 5.1),
        (1, "B", 6.4),
        (2, "B", 7.9),
        (2, "C", 8.4),
        (3, "A", 4.3),
        (3, "C", 6.1),
        (4, "A", 6.2),
        (4, "B", 7.1),
        (5, "B", 5.5),
        (5, "C", 6.6),
        (6, "A", 5.0),
        (6, "C", 7.3),
    ] {
        text += &format!("{t},{day},{y}\n");
    }
    let found = run(&text, &AnalysisRequest::of("y")).unwrap();
    assert!(found.method.contains("mixed model"));
    warned(&found, Code::IncompleteBlocks);
    assert_eq!(found.means.len(), 3);
}

#[test]
fn unequal_variances_are_met_by_welch() {
    let mut text = String::from("treatment,y\n");
    for i in 0..12 {
        let e = f64::from(i % 6) - 2.5;
        text += &format!(
            "steady,{}\nwild,{}\nother,{}\n",
            10.0 + 0.1 * e,
            12.0 + 6.0 * e,
            11.0 + 0.1 * e
        );
    }
    let found = run(&text, &AnalysisRequest::of("y")).unwrap();
    assert!(found.method.contains("Welch"));
    assert_eq!(found.comparisons[0].method, "Games–Howell");
    warned(&found, Code::VariancesDiffer);
}

#[test]
fn bad_input_is_named() {
    let y = AnalysisRequest::of("y");
    // One batch per treatment.
    let found = run(
        "treatment,batch,piece,y\nA,1,1,5\nA,1,2,6\nA,1,3,5.5\nB,2,1,8\nB,2,2,9\nB,2,3,8.5\n",
        &y,
    )
    .unwrap();
    assert_eq!(
        warned(&found, Code::OneBatchPerTreatment).severity,
        Severity::Stop
    );
    assert!(found.table.is_empty() && found.comparisons.is_empty());
    assert!(found.sentence.contains("one batch of each"));
    // Pieces and no batch column at all.
    let found = run("treatment,piece,y\nA,1,5\nA,2,6\nB,1,8\nB,2,9\n", &y).unwrap();
    warned(&found, Code::PiecesAveraged);
    warned(&found, Code::OneBatchPerTreatment);
    // Empty cells: of the response, and of the treatment.
    let found = run("treatment,y\nA,1\nA,2\nA,\nB,4\nB,5\nB,6.5\n", &y).unwrap();
    assert!(
        warned(&found, Code::MissingValues)
            .message
            .contains("row 4")
    );
    refused(
        "treatment,y\nA,1\n,2\nB,4\nB,5\n",
        &y,
        Code::EmptyCell,
        &["treatment", "row 3"],
    );
    // Text and decimal commas in a number column.
    refused(
        "treatment,y\nA,1\nA,about 2\nB,4\nB,5\n",
        &y,
        Code::TextInNumberColumn,
        &["row 3", "column y", "about 2"],
    );
    refused(
        "treatment,y\nA,\"1,5\"\nA,2\nB,4\nB,5\n",
        &y,
        Code::DecimalComma,
        &["row 2", "1,5"],
    );
    let names = ["treatment", "y"].map(String::from).to_vec();
    let long = vec![Cell::of("A", None), Cell::Number(1.0), Cell::Number(5.0)];
    let broken = Table::from_rows(names, vec![(2, long)]).unwrap_err();
    assert!(broken[0].message.contains("row 2") && broken[0].help.contains("decimal comma"));
    // Duplicated pieces.
    let found = run(
        "treatment,batch,piece,y\nA,1,1,5\nA,1,1,5\nA,2,1,6\nB,3,1,8\nB,4,1,9\n",
        &y,
    )
    .unwrap();
    assert!(
        warned(&found, Code::DuplicatedUnits)
            .message
            .contains("row 3")
    );
    // The same batch numbers under several treatments.
    let found = run("treatment,batch,y\nA,1,5\nA,2,6\nB,1,8\nB,2,9.5\n", &y).unwrap();
    warned(&found, Code::UnitLabelsRepeat);
    // A treatment in one block only, alone there and beside others.
    refused(
        "treatment,day,y\nA,1,5\nB,1,6\nA,2,5.5\nB,2,6.2\nC,3,9\nC,3,9.1\n",
        &y,
        Code::TreatmentAliasedWithBlock,
        &["C", "day 3"],
    );
    let found = run(
        "treatment,day,y\nA,1,5\nB,1,6\nA,2,5.5\nB,2,6.2\nA,3,4\nB,3,5.1\nC,3,9\n",
        &y,
    )
    .unwrap();
    assert!(
        warned(&found, Code::TreatmentInOneBlock)
            .message
            .contains("C")
    );
    // Zero variance, of everything and within treatments.
    refused(
        "treatment,y\nA,3\nA,3\nB,3\nB,3\n",
        &y,
        Code::ZeroVariance,
        &["3"],
    );
    refused(
        "treatment,y\nA,3\nA,3\nB,4\nB,4\n",
        &y,
        Code::ZeroVariance,
        &["exactly alike"],
    );
    // Two methods mixed.
    refused(
        "treatment,moisture_method,y\nA,air oven,3\nA,air oven,4\nB,halogen,4\nB,halogen,5\n",
        &y,
        Code::MethodsMixed,
        &["air oven", "row 2", "halogen", "row 4"],
    );
    // Percent against fraction.
    refused(
        "treatment,moisture_130_percent\nA,7.1\nA,0.072\nB,6.5\nB,6.8\n",
        &AnalysisRequest::of("moisture_130_percent"),
        Code::PercentAgainstFraction,
        &["row 3"],
    );
    // A slip of the decimal point.
    let found = run(
        "treatment,piece_mass_g\nA,10\nA,11\nB,1005\nB,10\n",
        &AnalysisRequest::of("piece_mass_g"),
    )
    .unwrap();
    assert!(
        warned(&found, Code::OutsidePlausibleRange)
            .message
            .contains("row 4")
    );
    // Wrong names.
    refused(
        "treatment,y\nA,1\nB,2\n",
        &AnalysisRequest::of("z"),
        Code::NoSuchColumn,
        &["z"],
    );
    // Counts that are none.
    refused(
        "treatment,broken,n\nA,5,4\nB,1,4\nA,1,4\nB,2,4\n",
        &AnalysisRequest {
            out_of: Some("n".into()),
            ..AnalysisRequest::of("broken")
        },
        Code::CountsDoNotFit,
        &["row 2"],
    );
}

#[test]
fn outliers_are_flagged_and_left_out_only_with_a_reason() {
    let mut text = String::from("treatment,y\n");
    for i in 0..8 {
        let e = f64::from(i % 4) * 0.2;
        text += &format!(
            "A,{}\nB,{}\n",
            10.0 + e,
            if i == 3 { 30.0 } else { 11.0 + e }
        );
    }
    let request = AnalysisRequest {
        variances: trials::analyse::Variances::Equal,
        ..AnalysisRequest::of("y")
    };
    let found = run(&text, &request).unwrap();
    assert!(warned(&found, Code::Outlier).message.contains("row 9"));
    assert_eq!(found.units, 16);
    refused(
        &text,
        &AnalysisRequest {
            exclude: vec![Exclusion {
                row: 9,
                reason: " ".into(),
            }],
            ..request.clone()
        },
        Code::ExclusionWithoutReason,
        &["row 9"],
    );
    let both = run(
        &text,
        &AnalysisRequest {
            exclude: vec![Exclusion {
                row: 9,
                reason: "tray fell".into(),
            }],
            ..request
        },
    )
    .unwrap();
    assert_eq!(both.units, 15);
    assert_eq!(both.with_all_rows.as_ref().unwrap().units, 16);
    assert!(both.sentence.contains("With nothing left out"));
}

#[test]
fn order_of_rows_shift_and_scale_behave() {
    let text = biscuits();
    let request = AnalysisRequest::of("breaking_force_n");
    let own = run(&text, &request).unwrap();
    let mut lines: Vec<&str> = text.lines().collect();
    let header = lines.remove(0);
    lines.reverse();
    lines.rotate_left(17);
    let moved = run(&format!("{header}\n{}\n", lines.join("\n")), &request).unwrap();
    close(moved.table[0].f.unwrap(), own.table[0].f.unwrap(), 1e-10);
    for mean in &own.means {
        let other = moved.means.iter().find(|m| m.level == mean.level).unwrap();
        close(other.mean.unwrap(), mean.mean.unwrap(), 1e-12);
        assert_eq!(other.letters, mean.letters);
    }
    let changed: String = std::iter::once(header.to_string())
        .chain(text.lines().skip(1).map(|l| {
            let (keep, value) = l.rsplit_once(',').unwrap();
            format!("{keep},{}", 3.0 * value.parse::<f64>().unwrap() + 100.0)
        }))
        .collect::<Vec<_>>()
        .join("\n");
    let scaled = run(&changed, &request).unwrap();
    close(scaled.table[0].f.unwrap(), own.table[0].f.unwrap(), 1e-10);
    for (a, b) in scaled.comparisons.iter().zip(&own.comparisons) {
        close(a.difference, 3.0 * b.difference, 1e-10);
        close(a.p_adjusted, b.p_adjusted, 1e-7);
    }
}

#[test]
fn counts_without_any_event_are_told_honestly() {
    let text = "treatment,batch,broken_after_48h,n\nA,1,0,50\nA,2,0,50\nA,3,0,50\nB,4,6,50\nB,5,9,50\nB,6,4,50\n";
    let found = run(
        text,
        &AnalysisRequest {
            out_of: Some("n".into()),
            ..AnalysisRequest::of("broken_after_48h")
        },
    )
    .unwrap();
    let line = warned(&found, Code::NoEvents);
    // Clopper and Pearson's two-sided upper end is 2.4 % for 150 independent pieces; the batches of
    // the other treatment spread somewhat more than counting, which widens it.
    assert!(
        line.message.contains("0 of 150") && line.message.contains("2.8"),
        "{}",
        line.message
    );
    // Judged by what three batches of one treatment differ by: F on 1 and 2 degrees of freedom.
    assert!(found.table[0].p.unwrap() < 0.05);
}

#[test]
fn scores_get_an_ordinal_model() {
    let mut text = String::from("treatment,feel_score\n");
    for (t, scores) in [
        ("A", [3, 4, 4, 5, 3, 4, 2, 4]),
        ("B", [5, 6, 7, 5, 6, 6, 4, 7]),
    ] {
        for s in scores {
            text += &format!("{t},{s}\n");
        }
    }
    let found = run(&text, &AnalysisRequest::of("feel_score")).unwrap();
    assert!(found.method.contains("proportional-odds"));
    assert!(found.comparisons[0].difference > 0.0 && found.comparisons[0].p_adjusted < 0.05);
    let kw = found
        .checks
        .iter()
        .find(|c| c.check == "Kruskal–Wallis")
        .unwrap();
    assert!(kw.p.unwrap() < 0.01);
}

#[test]
fn all_pairs_can_be_asked_beside_a_control() {
    let found = run(
        data!("r/PlantGrowth.csv"),
        &AnalysisRequest {
            control: Some("ctrl".into()),
            wanted: Wanted::AllPairs,
            ..AnalysisRequest::of("weight")
        },
    )
    .unwrap();
    assert_eq!(found.comparisons.len(), 3);
    warned(&found, Code::EachRowAUnit);
}

#[test]
fn batches_without_treatment_give_their_variances() {
    // Dyestuff (Davies 1947; recalled, see the mixed-model tests).
    let mut text = String::from("batch,yield\n");
    for (batch, values) in [
        ("A", [1545, 1440, 1440, 1520, 1580]),
        ("B", [1540, 1555, 1490, 1560, 1495]),
        ("C", [1595, 1550, 1605, 1510, 1560]),
        ("D", [1445, 1440, 1595, 1465, 1545]),
        ("E", [1595, 1630, 1515, 1635, 1625]),
        ("F", [1520, 1455, 1450, 1480, 1445]),
    ] {
        for v in values {
            text += &format!("{batch},{v}\n");
        }
    }
    let found = run(&text, &AnalysisRequest::of("yield")).unwrap();
    close(found.variance[0].value, 1764.05, 1e-7);
    close(found.variance[1].value, 2451.25, 1e-7);
    close(found.means[0].mean.unwrap(), 1527.5, 1e-9);
}

#[test]
fn a_trend_with_its_own_slope_by_subject() {
    let table = Csv::of(data!("r/sleepstudy.csv")).table();
    let found = model::fit_trend(&table, "Reaction", "Days", Some("Subject"), true).unwrap();
    close(
        found.coefficients[1].estimate.unwrap(),
        10.467285959596,
        1e-9,
    );
    close(found.coefficients[1].se.unwrap(), 1.54578964390598, 1e-5);
    close(found.coefficients[1].df.unwrap(), 17.0, 1e-4);
    assert!(found.sentence.contains("a trend is shown"));
}

#[test]
fn mixtures_and_surfaces_from_a_table() {
    let parts = ["x1", "x2", "x3"].map(String::from);
    let table = Csv::of(data!("r/cornell_yarn_mixture.csv")).table();
    let yarn = model::fit_mixture(&table, "y", &parts, Degree::Quadratic).unwrap();
    let published = [11.7, 9.4, 16.4, 19.0, 11.4, -9.6];
    for (line, want) in yarn.report.coefficients.iter().zip(published) {
        close(line.estimate.unwrap(), want, 1e-9);
    }
    assert!(yarn.predict(&[0.3, 0.3, 0.4]).is_ok());
    let refused = yarn.predict(&[1.2, -0.1, -0.1]).unwrap_err();
    assert_eq!(refused.code, Code::OutsideTheTriedRegion);
    assert!(refused.message.contains("x1"));

    // A known hill, 20 - (t - 3)² - 2 (h - 1)², on a central composite plan with repeats.
    let mut text = String::from("t,h,y\n");
    let steps: [(f64, f64); 12] = [
        (1.0, 0.0),
        (5.0, 0.0),
        (1.0, 2.0),
        (5.0, 2.0),
        (0.0, 1.0),
        (6.0, 1.0),
        (3.0, -0.5),
        (3.0, 2.5),
        (3.0, 1.0),
        (3.0, 1.0),
        (3.0, 1.0),
        (3.0, 1.0),
    ];
    for (i, (t, h)) in steps.iter().enumerate() {
        let noise = if i < 8 {
            0.0
        } else {
            [-0.1, 0.1, 0.2, -0.2][i - 8]
        };
        text += &format!(
            "{t},{h},{}\n",
            20.0 - (t - 3.0).powi(2) - 2.0 * (h - 1.0).powi(2) + noise
        );
    }
    let table = Csv::of(&text).table();
    let hill = model::fit_surface(&table, "y", &["t", "h"].map(String::from)).unwrap();
    let top = hill.stationary.as_ref().unwrap();
    close(top[0], 3.0, 1e-6);
    close(top[1], 1.0, 1e-6);
    assert!(hill.canonical.as_ref().unwrap().inside && hill.report.sentence.contains("is highest"));
    assert!(hill.predict(&[3.0, 1.5]).is_ok());
    // Within both ranges, but between no tried points.
    let corner = hill.predict(&[5.9, 2.4]).unwrap_err();
    assert!(corner.message.contains("hull"), "{}", corner.message);
}

#[test]
fn weeks_of_days_and_other_measurements_are_not_taken_for_factors() {
    let mut text = String::from("formula,week,day,temperature,score,y\n");
    for day in 0..4 {
        for (f, base) in [("A", 5.0), ("B", 6.0), ("C", 7.5)] {
            let i = day * 3
                + if f == "A" {
                    0
                } else if f == "B" {
                    1
                } else {
                    2
                };
            let wobble = [
                0.1, -0.2, 0.3, 0.0, -0.1, 0.2, -0.3, 0.15, 0.05, -0.05, 0.25, -0.15,
            ][i];
            let score = [1, 1, 1, 1, 1, 1, 1, 2, 1, 1, 1, 3][i];
            text += &format!(
                "{f},{},{day},{},{score},{}\n",
                day / 2,
                20.0 + wobble,
                base + wobble + 0.5 * day as f64
            );
        }
    }
    let found = run(&text, &AnalysisRequest::of("y")).unwrap();
    assert_eq!(found.table[0].term, "day");
    assert_eq!(found.table.len(), 3);
    let aside = warned(&found, Code::ColumnsNotUsed);
    assert!(aside.message.contains("temperature") && aside.message.contains("score"));
    assert!(found.means.iter().all(|m| m.mean.is_some()));
    // Every batch used up.
    refused(
        "flour,oven,block,y\na,hot,1,5\nb,cool,1,6\na,cool,2,7\nb,hot,2,5.5\n",
        &AnalysisRequest::of("y"),
        Code::NoErrorLeft,
        &["nothing is left"],
    );
}

/// A control of 3 batches beside 8 and 8, its spread only a little larger in the sample. Choosing by
/// the look of the spreads took one error here, and raised 11 % false alarms where the 3 truly spread
/// threefold (1,500 seeded trials); each by its own spread raised 6 %.
#[test]
fn unlike_numbers_are_each_judged_by_their_own_spread() {
    let mut text = String::from("treatment,batch,y\n");
    let made: [(&str, &[f64]); 3] = [
        ("control", &[48.6, 50.1, 51.4]),
        ("barley", &[49.0, 50.2, 51.1, 48.9, 50.6, 51.3, 49.4, 50.0]),
        ("oat", &[50.4, 49.1, 50.9, 51.5, 48.8, 50.1, 49.9, 50.7]),
    ];
    for (name, values) in made {
        for (i, y) in values.iter().enumerate() {
            text += &format!("{name},{name}{i},{y}\n");
        }
    }
    let with_control = AnalysisRequest {
        control: Some("control".into()),
        ..AnalysisRequest::of("y")
    };
    let found = run(&text, &with_control).unwrap();
    assert!(found.method.contains("Welch"), "{}", found.method);
    assert!(
        warned(&found, Code::VariancesDiffer)
            .message
            .contains("unlike numbers")
    );
    let asked = AnalysisRequest {
        variances: trials::analyse::Variances::Equal,
        ..with_control
    };
    let found = run(&text, &asked).unwrap();
    assert!(!found.method.contains("Welch"), "{}", found.method);
}

/// Two factors are two families; the sentence claims no guard over both.
#[test]
fn factors_are_said_to_be_questions_of_their_own() {
    let mut text = String::from("flour,fat,batch,y\n");
    for i in 0..12 {
        let y = 50.0
            + [
                0.3, -0.5, 0.9, -0.2, 0.4, -1.0, 0.1, 0.6, -0.7, 0.2, -0.3, 0.8,
            ][i];
        text += &format!("f{},g{},B{i},{y}\n", i % 2, i / 2 % 2);
    }
    let both = AnalysisRequest {
        treatments: vec!["flour".into(), "fat".into()],
        ..AnalysisRequest::of("y")
    };
    let said = run(&text, &both).unwrap().sentence;
    assert!(
        said.contains("flour and fat are questions of their own"),
        "{said}"
    );
    let one = AnalysisRequest {
        treatments: vec!["flour".into()],
        ..AnalysisRequest::of("y")
    };
    assert!(!run(&text, &one).unwrap().sentence.contains("questions"));
}
