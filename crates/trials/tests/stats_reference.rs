//! Analyses of published tables against R 4.2.2 (lme4, lmerTest, pbkrtest, emmeans, multcomp, car):
//! closed forms to 1e-8.
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop where its data are not as written"
)]

mod stats_common;

use serde_json::Value;
use stats_common::{close, data, list, num, r, reference};
use trials::analyse::{AnalysisRequest, Variances, Wanted, analyse};
use trials::stats::adjust::Adjustment;
use trials::stats::anova::{SumsType, anova};
use trials::stats::design::{Coding, Design, Factor};
use trials::stats::one_way::{Group, one_way, welch};
use trials::stats::*;

fn term<'a>(table: &'a Value, name: &str) -> &'a Value {
    table
        .as_array()
        .unwrap()
        .iter()
        .find(|row| row["term"] == name)
        .unwrap()
}

fn check_table(found: &anova::Anova, table: &Value) {
    for line in &found.lines {
        if line.df == 0.0 {
            continue;
        }
        let want = term(table, &line.term);
        close(line.df, num(&want["Df"]), 1e-12);
        close(line.sum_sq, num(&want["Sum Sq"]), 1e-9);
        close(line.f.unwrap(), num(&want["F value"]), 1e-8);
        close(line.p.unwrap(), num(&want["Pr(>F)"]), 1e-8);
    }
}

#[test]
fn plant_growth() {
    let d = r("PlantGrowth");
    let want = &reference()["PlantGrowth"];
    let group = d.factor("group");
    let y = d.numbers("weight");
    assert_eq!(group.levels, ["ctrl", "trt1", "trt2"]);
    let table = one_way(&group.codes, &y, 3);
    close(table.test.f, 4.84608786238014, 1e-10);
    close(table.test.p, num(&want["aov"][0]["Pr(>F)"]), 1e-10);
    close(table.between, 3.76634, 1e-10);
    let size = effect::effect(&table.test).unwrap();
    close(size.eta2, num(&want["eta2"]), 1e-10);
    close(size.omega2, num(&want["omega2"]), 1e-10);
    close(size.epsilon2, num(&want["epsilon2"]), 1e-10);
    // R's own root search stops at 1e-4 here.
    let ncp = list(&want["ncp_CI90"]);
    close(size.noncentrality90.0, ncp[0], 1e-4);
    close(size.noncentrality90.1, ncp[1], 1e-4);
    close(size.eta2_90.0, list(&want["eta2_CI90"])[0], 1e-4);

    let w = welch(&table.groups).unwrap();
    close(w.f, num(&want["welch"]["statistic"]), 1e-10);
    close(w.denominator_df, num(&want["welch"]["parameter"][1]), 1e-10);
    close(w.p, num(&want["welch"]["p.value"]), 1e-9);

    let plants = stats_common::Csv::of(data!("r/PlantGrowth.csv")).table();
    let pairs_of = |variances, wanted| {
        let request = AnalysisRequest {
            variances,
            wanted,
            control: Some("ctrl".into()),
            ..AnalysisRequest::of("weight")
        };
        analyse(&plants, &request).unwrap().comparisons
    };
    let tukey = pairs_of(Variances::Equal, Wanted::AllPairs);
    for (got, want) in tukey.iter().zip(want["tukey"].as_array().unwrap()) {
        close(got.difference, num(&want["diff"]), 1e-10);
        // R's quantile is good to about 1e-8.
        close(got.low95.unwrap(), num(&want["lwr"]), 1e-7);
        close(got.high95.unwrap(), num(&want["upr"]), 1e-7);
        close(got.p_adjusted, num(&want["p adj"]), 1e-8);
    }
    for (got, want) in pairs_of(Variances::Unequal, Wanted::AllPairs)
        .iter()
        .zip(want["games_howell"].as_array().unwrap())
    {
        close(got.df.unwrap(), num(&want["df"]), 1e-10);
        close(got.p_adjusted, num(&want["p"]), 1e-8);
        close(got.low95.unwrap(), num(&want["lo"]), 3e-7);
    }
    for (i, got) in pairs_of(Variances::Equal, Wanted::WithControl)
        .iter()
        .enumerate()
    {
        // multcomp integrates by simulation, good to 1e-4.
        close(got.p_adjusted, num(&want["dunnett"]["p"][i]), 2e-4);
        close(
            got.difference / got.se,
            num(&want["dunnett"]["t"][i]),
            1e-10,
        );
        close(
            got.low95.unwrap(),
            num(&want["dunnett"]["ci"][i]["lwr"]),
            1e-3,
        );
    }
    let kw = ranks::kruskal_wallis(&group.codes, &y, 3).unwrap();
    close(kw.statistic, num(&want["kruskal"]["statistic"]), 1e-10);
    close(kw.p, num(&want["kruskal"]["p.value"]), 1e-10);
    let dunn = ranks::dunn(&group.codes, &y, 3, Adjustment::Holm).unwrap();
    for (got, want) in dunn.iter().zip(want["dunn"].as_array().unwrap()) {
        close(-got.z, num(&want["z"]), 1e-10);
        close(got.p, num(&want["p"]), 1e-10);
        close(got.p_adjusted, num(&want["p_holm"]), 1e-10);
    }
    let bf = spread::brown_forsythe(&group.codes, &y, 3).unwrap();
    close(bf.f, num(&want["levene_median"][0]["F value"]), 1e-10);
    close(bf.p, num(&want["levene_median"][0]["Pr(>F)"]), 1e-10);

    let design = Design::factorial(vec![group], 1, Coding::Reference);
    let full = anova(&design, &y, SumsType::I);
    close(full.lines[0].f.unwrap(), table.test.f, 1e-11);
    let shapiro = shapiro::shapiro_wilk(&full.fit.residuals).unwrap();
    close(shapiro.w, num(&want["shapiro_resid"]["statistic"]), 1e-8);
    close(shapiro.p, num(&want["shapiro_resid"]["p.value"]), 1e-6);
    let t = outlier::studentised(&full.fit.residuals, &full.fit.leverage, full.fit.rss, 27.0);
    let largest = t.iter().flatten().fold(0.0_f64, |m, v| m.max(v.abs()));
    close(largest, num(&want["max_abs_ext_studentized_resid"]), 1e-10);
    close(
        outlier::bonferroni_p(largest, 30, 27.0).unwrap(),
        num(&want["outlierTest_bonf_p"][0]),
        1e-9,
    );
    // Letters, lowest mean first as in the reference.
    let order = ["trt1", "ctrl", "trt2"];
    let found = letters::letters(3, |i, j| {
        let pair = [order[i], order[j]];
        tukey.iter().any(|d| {
            pair.contains(&d.a.as_str()) && pair.contains(&d.b.as_str()) && d.p_adjusted < 0.05
        })
    });
    assert_eq!(found, ["a", "ab", "b"]);
}

#[test]
fn two_way_and_types_of_sums() {
    let want = reference();
    let d = r("warpbreaks");
    let design = Design::factorial(
        vec![d.factor("wool"), d.factor("tension")],
        2,
        Coding::Reference,
    );
    check_table(
        &anova(&design, &d.numbers("breaks"), SumsType::I),
        &want["warpbreaks"]["aov"],
    );
    for (name, key, types) in [
        ("ToothGrowth", "ToothGrowth", &SumsType::ALL[..1]),
        (
            "ToothGrowth_unbalanced",
            "ToothGrowth_unbalanced",
            &SumsType::ALL[..],
        ),
    ] {
        let d = r(name);
        let design = Design::factorial(
            vec![d.factor("supp"), d.factor("dose")],
            2,
            Coding::Reference,
        );
        let y = d.numbers("len");
        for (kind, table) in types.iter().zip(["type1", "type2", "type3"]) {
            check_table(&anova(&design, &y, *kind), &want[key][table]);
        }
        if name == "ToothGrowth_unbalanced" {
            let found = anova(&design, &y, SumsType::III);
            for (factor, table) in [(1, "emm_dose"), (0, "emm_supp")] {
                let name = if factor == 1 { "dose" } else { "supp" };
                for got in found.marginal_means(&[factor]) {
                    let rows = want[key][table].as_array().unwrap();
                    let want = rows.iter().find(|r| r[name] == got.level.as_str()).unwrap();
                    close(got.mean.unwrap(), num(&want["emmean"]), 1e-10);
                    close(got.se.unwrap(), num(&want["SE"]), 1e-10);
                }
            }
        } else {
            let columns = design.columns();
            let hint = box_cox::hint(&columns, &y).unwrap();
            // The reference grid has steps of 0.005.
            assert!((hint.power - 0.735).abs() < 0.005, "{hint:?}");
        }
    }
}

#[test]
fn blocks_squares_and_confounding() {
    let want = reference();
    let d = r("npk");
    let factors: Vec<Factor> = ["block", "N", "P", "K"].map(|c| d.factor(c)).to_vec();
    let mut design = Design::factorial(factors, 1, Coding::Reference);
    design
        .terms
        .extend([vec![1, 2], vec![1, 3], vec![2, 3], vec![1, 2, 3]]);
    let found = anova(&design, &d.numbers("yield"), SumsType::I);
    check_table(&found, &want["npk"]["aov"]);
    let last = found.lines.last().unwrap();
    assert_eq!((last.term.as_str(), last.df), ("N:P:K", 0.0));
    close(found.fit.df, 12.0, 1e-12);

    let d = r("OrchardSprays");
    let factors: Vec<Factor> = ["rowpos", "colpos", "treatment"]
        .map(|c| d.factor(c))
        .to_vec();
    let design = Design::factorial(factors, 1, Coding::Reference);
    let y = d.numbers("decrease");
    check_table(
        &anova(&design, &y, SumsType::I),
        &want["OrchardSprays_latin"]["raw"],
    );
    let logs: Vec<f64> = y.iter().map(|v| v.ln()).collect();
    check_table(
        &anova(&design, &logs, SumsType::I),
        &want["OrchardSprays_latin"]["log"],
    );
}

#[test]
fn split_plot_strata() {
    let d = r("oats");
    let want = &reference()["oats_splitplot_aov"];
    let (b, v, n) = (d.factor("B"), d.factor("V"), d.factor("N"));
    let plot = design::cross(&[&b, &v]);
    let design = Design::factorial(vec![v, n], 2, Coding::Reference);
    let found = strata::strata(&design, &[b, plot], &d.numbers("Y"));
    assert_eq!(found.len(), 3);
    for (stratum, name) in found
        .iter()
        .zip(["Error: B", "Error: B:V", "Error: Within"])
    {
        let error = term(&want[name], "Residuals");
        close(stratum.error_df, num(&error["Df"]), 1e-12);
        close(stratum.error_sum_sq, num(&error["Sum Sq"]), 1e-9);
        for line in &stratum.lines {
            let reference_name = if line.term == "V:N" {
                "N:V"
            } else {
                &line.term
            };
            let want = term(&want[name], reference_name);
            close(line.sum_sq, num(&want["Sum Sq"]), 1e-9);
            close(line.f.unwrap(), num(&want["F value"]), 1e-8);
            close(line.p.unwrap(), num(&want["Pr(>F)"]), 1e-8);
        }
    }
}

#[test]
fn pairs_and_ranks() {
    let want = reference();
    let d = r("sleep");
    let x = d.numbers("extra");
    let differences: Vec<f64> = (0..10).map(|i| x[10 + i] - x[i]).collect();
    let exact = wilcoxon::signed_rank(&differences, wilcoxon::Zeros::Drop);
    close(
        exact.p,
        num(&want["sleep_paired"]["coin_exact_wilcoxon_dropzero"]),
        1e-12,
    );
    let pratt = wilcoxon::signed_rank(&differences, wilcoxon::Zeros::Pratt);
    close(
        pratt.p,
        num(&want["sleep_paired"]["coin_exact_wilcoxon_pratt"]),
        1e-12,
    );
    let hw = &want["hollander_wolfe_depression"];
    let differences: Vec<f64> = list(&hw["x"])
        .iter()
        .zip(list(&hw["y"]))
        .map(|(x, y)| x - y)
        .collect();
    let found = wilcoxon::signed_rank(&differences, wilcoxon::Zeros::Drop);
    close(found.statistic, 40.0, 1e-12);
    close(found.p, 0.0390625, 1e-12);
    close(found.p_greater, 0.01953125, 1e-12);
    close(found.shift.unwrap(), 0.46, 1e-9);
    let d = r("RoundingTimes");
    let columns: Vec<Vec<f64>> = ["V1", "V2", "V3"].map(|c| d.numbers(c)).to_vec();
    let table: Vec<Vec<f64>> = (0..columns[0].len())
        .map(|i| columns.iter().map(|c| c[i]).collect())
        .collect();
    let friedman = ranks::friedman(&table).unwrap();
    close(friedman.statistic, 11.1428571428571, 1e-10);
    close(friedman.p, 0.00380504077551136, 1e-9);
}

#[test]
fn adjustments_are_those_of_r() {
    let want = &reference();
    let p = list(&want["p_adjust"]["p"]);
    for (how, key) in [
        (Adjustment::Holm, "holm"),
        (Adjustment::Hochberg, "hochberg"),
        (Adjustment::BenjaminiHochberg, "BH"),
        (Adjustment::Bonferroni, "bonferroni"),
    ] {
        for (got, want) in adjust::adjust(&p, how)
            .iter()
            .zip(list(&want["p_adjust"][key]))
        {
            close(*got, want, 1e-12);
        }
    }
}

#[test]
fn counts_with_random_herds() {
    let d = r("cbpp");
    let want = &reference()["cbpp_glmm"];
    let period = d.factor("period");
    let columns = Design::factorial(vec![period], 1, Coding::Reference).columns();
    let herds = d.factor("herd").codes;
    let (k, n) = (d.numbers("incidence"), d.numbers("size"));
    for (points, fix, sd) in [
        (1, "laplace_fixef", "laplace_sd"),
        (9, "agq9_fixef", "agq9_sd"),
    ] {
        let found = glmm::binomial_mixed(&columns, &k, &n, &herds, points);
        for (got, name) in
            found
                .coefficients
                .iter()
                .zip(["(Intercept)", "period2", "period3", "period4"])
        {
            // lme4 stops its search short of 1e-3.
            close(*got, num(&want[fix][name]), 1e-3);
        }
        close(found.sd, num(&want[sd]), 1e-3);
        if points == 1 {
            let se = &want["laplace_se"];
            for (i, name) in ["(Intercept)", "period2", "period3", "period4"]
                .iter()
                .enumerate()
            {
                close(found.covariance[(i, i)].sqrt(), num(&se[*name]), 2e-2);
            }
        }
    }
}

#[test]
fn mixture_of_yarns() {
    let d = r("cornell");
    let want = &reference()["scheffe_cornell"];
    let columns: Vec<Vec<f64>> = ["x1", "x2", "x3"].map(|c| d.numbers(c)).to_vec();
    let points: Vec<Vec<f64>> = (0..15)
        .map(|i| columns.iter().map(|c| c[i]).collect())
        .collect();
    let y = d.numbers("y");
    let found = mixture::Mixture::fit(&points, &y, mixture::Degree::Quadratic).unwrap();
    for (i, row) in want["coef"].as_array().unwrap().iter().enumerate() {
        close(
            found.fit.coefficients[i].unwrap(),
            num(&row["Estimate"]),
            1e-10,
        );
        close(
            found.fit.standard_errors[i].unwrap(),
            num(&row["Std. Error"]),
            1e-10,
        );
    }
    close(
        found.fit.variance().unwrap().sqrt(),
        num(&want["sigma"]),
        1e-10,
    );
    let linear = mixture::Mixture::fit(&points, &y, mixture::Degree::Linear).unwrap();
    let bend = mixture::nested_test(&linear.fit, &found.fit).unwrap();
    close(bend.f, num(&want["seq_linear_vs_quadratic"][1]["F"]), 1e-9);
    close(
        bend.p,
        num(&want["seq_linear_vs_quadratic"][1]["Pr(>F)"]),
        1e-8,
    );
    let middle = found.predict(&[0.5, 0.5, 0.0]).unwrap();
    close(middle.mean, 0.5 * (11.7 + 9.4) + 0.25 * 19.0, 1e-10);
    assert!(middle.new95.0 < middle.mean95.0);
    assert!(matches!(
        found.predict(&[1.1, -0.1, 0.0]),
        Err(region::Outside::Range { .. })
    ));
    assert!(found.predict(&[1.0 / 3.0, 1.0 / 3.0, 1.0 / 3.0]).is_ok());
}

#[test]
fn puromycin_curve() {
    let d = r("Puromycin");
    let treated: Vec<usize> = d
        .text("state")
        .iter()
        .enumerate()
        .filter(|(_, s)| *s == "treated")
        .map(|(i, _)| i)
        .collect();
    let x: Vec<f64> = treated.iter().map(|&i| d.numbers("conc")[i]).collect();
    let y: Vec<f64> = treated.iter().map(|&i| d.numbers("rate")[i]).collect();
    let curve = nonlinear::fit(
        &|b: &[f64]| x.iter().map(|x| b[0] * x / (b[1] + x)).collect(),
        &y,
        &[200.0, 0.05],
    );
    let want = &reference()["Puromycin_treated"];
    for i in 0..2 {
        // R's nls stops at a relative offset of 1e-5.
        close(curve.parameters[i], num(&want["coef"][i]["Estimate"]), 1e-5);
        close(
            curve.standard_errors.as_ref().unwrap()[i],
            num(&want["coef"][i]["Std. Error"]),
            1e-5,
        );
    }
    close(curve.residual_sd.unwrap(), num(&want["sigma"]), 1e-9);
}

#[test]
fn welch_needs_no_equal_numbers() {
    let d = r("sleep");
    let x = d.numbers("extra");
    let groups = [Group::of(&x[..10]), Group::of(&x[10..])];
    let want = &reference()["sleep_paired"]["welch"];
    let w = welch(&groups).unwrap();
    close(w.f, num(&want["statistic"]).powi(2), 1e-10);
    close(w.denominator_df, num(&want["parameter"]), 1e-10);
    close(w.p, num(&want["p.value"]), 1e-9);
}

#[test]
fn nonadditivity_matches_the_model_comparison() {
    // The one degree of freedom is what the product of the margins explains beyond both.
    let table = [
        vec![81.0, 105.4, 119.7, 109.7, 98.3],
        vec![146.6, 142.0, 150.7, 191.5, 145.7],
        vec![82.3, 77.3, 78.4, 131.3, 89.6],
        vec![119.8, 121.4, 124.0, 140.8, 124.8],
    ];
    let found = nonadditivity::nonadditivity(&table).unwrap();
    let (b, t) = (4, 5);
    let all: Vec<f64> = table.concat();
    let mean = |v: &[f64]| moments::mean(v).unwrap();
    let grand = mean(&all);
    let row = |i: usize| mean(&table[i]) - grand;
    let column = |j: usize| mean(&table.iter().map(|r| r[j]).collect::<Vec<_>>()) - grand;
    let mut columns = vec![vec![1.0; b * t]];
    for i in 1..b {
        columns.push(
            (0..b * t)
                .map(|k| f64::from(u8::from(k / t == i)))
                .collect(),
        );
    }
    for j in 1..t {
        columns.push(
            (0..b * t)
                .map(|k| f64::from(u8::from(k % t == j)))
                .collect(),
        );
    }
    let additive = least_squares::fit(&columns, &all);
    columns.push((0..b * t).map(|k| row(k / t) * column(k % t)).collect());
    let bent = least_squares::fit(&columns, &all);
    let test = mixture::nested_test(&additive, &bent).unwrap();
    close(found.f, test.f, 1e-9);
    close(found.denominator_df, test.denominator_df, 1e-12);
}
