//! Analyses held against independent values (R 4.2.2 and closed forms): our own invented data here,
//! and a larger folder, with published data that are not ours to hand on, where
//! `HARDTACK_TRIALS_CHECKS` names it.
//!
//! The file is long because it is one list, a row for each analysis.
#![allow(
    clippy::unwrap_used,
    clippy::needless_range_loop,
    clippy::print_stdout,
    reason = "a test may stop where its data are not as written, and follows a formula's indices, and tells how many passed"
)]

mod stats_common;

use stats_common::Csv;
use std::collections::BTreeMap;
use std::path::PathBuf;
use trials::Code;
use trials::analyse::{
    AnalysisRequest, Claim, ComparisonLine, Variances, Wanted, WantedContrast, analyse, model,
};
use trials::response::{Better, Kind};
use trials::stats::anova::level_sets;
use trials::stats::design::{Coding, Design, Factor};
use trials::stats::distribution::root_between;
use trials::stats::distribution::{
    chi_square_above, f_above, normal_two_sided, t_quantile, t_two_sided,
};
use trials::stats::dunnett::{self, Sides};
use trials::stats::equivalence::{non_inferiority, tost};
use trials::stats::keeping::{Lines, Side, keeping};
use trials::stats::least_squares::{self, fit};
use trials::stats::mixed::{Combination, Mixed, MixedTest, RandomTerm, Serial, SerialFit};
use trials::stats::permutation::{between, exchange, likelihood_ratio, pearson};
use trials::stats::proportion::{SharesMethod, TwoShares};
use trials::stats::quasi::{self, CountTest, Family, negative_binomial};
use trials::stats::ranks::{friedman, friedman_exact, page, skillings_mack};
use trials::stats::sequential::{Spending, crossing, spend};
use trials::stats::{
    adjust::{Adjustment, adjust},
    beta_binomial::beta_binomial,
    glmm::binomial_mixed,
    one_way::{Group, welch},
    ordinal::proportional_odds,
    ordinal_mixed::cumulative_mixed,
};

type Answers = BTreeMap<String, f64>;

fn folder() -> (PathBuf, bool) {
    match std::env::var_os("HARDTACK_TRIALS_CHECKS") {
        Some(path) => (PathBuf::from(path), true),
        None => (
            PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data/second"),
            false,
        ),
    }
}

fn data(name: &str) -> Csv {
    let path = folder().0.join("data").join(name);
    Csv::of(&std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display())))
}

/// A factor with levels in the order of first appearance, as the reference has them.
fn factor(csv: &Csv, column: &str) -> Factor {
    let labels = csv.text(column);
    let mut levels: Vec<String> = Vec::new();
    let codes = labels
        .iter()
        .map(|l| {
            levels.iter().position(|x| x == l).unwrap_or_else(|| {
                levels.push(l.clone());
                levels.len() - 1
            })
        })
        .collect();
    Factor {
        name: column.into(),
        levels,
        codes,
    }
}

fn joined(csv: &Csv, columns: &[&str]) -> Factor {
    let factors: Vec<Factor> = columns.iter().map(|c| factor(csv, c)).collect();
    trials::stats::design::cross(&factors.iter().collect::<Vec<_>>())
}

/// Laplace's approximation where the reference's package (ordinal 2022.11-16 under R 4.2.2) seeks the
/// levels of the subjects to a slope of 1e-12 (`gradTol`), not its usual 1e-4: coefficient and standard
/// error, then log likelihood and variance. The reference's own values stand short of the top: their
/// log likelihoods are -150.120034, -62.063722 and -54.854447.
struct Refit {
    id: &'static str,
    coefficients: &'static [(&'static str, f64, f64)],
    ln_likelihood: f64,
    variance: f64,
}

const REFITS: [Refit; 3] = [
    Refit {
        id: "d05",
        coefficients: &[
            ("1|2", -1.18305687148, 0.360833498),
            ("2|3", -0.00202969765007, 0.319760286),
            ("3|4", 0.15582316547, 0.320183079),
            ("4|5", 0.457403461488, 0.323688899),
            ("5|6", 1.42549350535, 0.35827897),
            ("prodTest", 1.94498269523, 0.398705566),
        ],
        ln_likelihood: -150.119137144,
        variance: 0.224761293763,
    },
    Refit {
        id: "d06",
        coefficients: &[
            ("1|2", -3.03133873457, 0.940848601),
            ("2|3", -1.04611424929, 0.707938159),
            ("3|4", 0.258665008489, 0.660411583),
            ("4|5", 1.21766471163, 0.696136497),
            ("treatmentoat", 0.28884430371, 0.728128417),
            ("treatmentpea", -0.181044252947, 0.711252931),
        ],
        ln_likelihood: -62.0626510527,
        variance: 2.13070030423,
    },
    Refit {
        id: "d07",
        coefficients: &[
            ("1|2", -1.22473090436, 0.670880812),
            ("2|3", 0.408112724113, 0.635328409),
            ("3|4", 0.923705399549, 0.650622656),
            ("treatmentegg", 0.110856164361, 0.599126989),
        ],
        ln_likelihood: -54.8527926373,
        variance: 1.74950832871,
    },
];

impl Refit {
    /// The value of a name, and half a hundred-thousandth of a standard error for what lies near zero.
    fn value(&self, name: &str) -> Option<(f64, f64)> {
        let own = name.strip_prefix("laplace_")?;
        match own {
            "loglik" => return Some((self.ln_likelihood, 0.0)),
            "variance" => return Some((self.variance, 0.0)),
            _ => {}
        }
        let (what, of) = own.strip_suffix(']')?.split_once('[')?;
        let (_, value, se) = self.coefficients.iter().find(|c| c.0 == of)?;
        Some(match what {
            "coef" => (*value, 5e-6 * se),
            "se" => (*se, 0.0),
            "z" => (value / se, 5e-6),
            _ => (normal_two_sided(value / se), 0.0),
        })
    }
}

enum Fitted {
    Plain(Box<Mixed>),
    Serial(Box<SerialFit>),
}

impl Fitted {
    fn combine(&self, row: &[f64]) -> Option<Combination> {
        match self {
            Self::Plain(m) => m.combine(row),
            Self::Serial(m) => m.combine(row),
        }
    }
    fn test(&self, rows: &[Vec<f64>]) -> Option<MixedTest> {
        match self {
            Self::Plain(m) => m.test(rows),
            Self::Serial(m) => m.test(rows),
        }
    }
}

/// Log determinant of X'X.
fn ln_det(columns: &[Vec<f64>]) -> f64 {
    let p = columns.len();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let m = nalgebra::DMatrix::from_fn(p, p, |i, j| dot(&columns[i], &columns[j]));
    m.determinant().ln()
}

/// All that a factorial model with random effects answers. `named` are the names that factors have
/// in the reference's coefficients.
fn factorial(design: &Design, fitted: &Fitted, named: &[&str]) -> Answers {
    let mut out = Answers::new();
    let owners = design.owners();
    let zeros = vec![0; design.factors.len()];
    // Coefficients in the reference's coding: differences of cells.
    let mut coefficient = |name: String, sets: &[(usize, usize)]| {
        let mut row = vec![0.0; owners.len()];
        for mask in 0..1usize << sets.len() {
            let mut codes = zeros.clone();
            for (bit, &(f, l)) in sets.iter().enumerate() {
                if mask >> bit & 1 == 1 {
                    codes[f] = l;
                }
            }
            let sign = if (sets.len() - mask.count_ones() as usize).is_multiple_of(2) {
                1.0
            } else {
                -1.0
            };
            for (r, v) in row.iter_mut().zip(design.row(&codes)) {
                *r += sign * v;
            }
        }
        if let Some(c) = fitted.combine(&row) {
            out.insert(format!("fixed[{name}]"), c.estimate);
            out.insert(format!("fixed_se_unadjusted[{name}]"), c.se_model);
            out.insert(format!("fixed_se_KR[{name}]"), c.se);
            out.insert(format!("fixed_df_KR[{name}]"), c.df);
        }
    };
    coefficient("(Intercept)".into(), &[]);
    for term in &design.terms {
        let sizes: Vec<usize> = term
            .iter()
            .map(|&f| design.factors[f].levels.len())
            .collect();
        let total: usize = sizes.iter().map(|s| s - 1).product();
        for at in 0..total {
            let mut rest = at;
            let sets: Vec<(usize, usize)> = term
                .iter()
                .zip(&sizes)
                .map(|(&f, s)| {
                    let level = rest % (s - 1) + 1;
                    rest /= s - 1;
                    (f, level)
                })
                .collect();
            let name = sets
                .iter()
                .map(|&(f, l)| format!("{}{}", named[f], design.factors[f].levels[l]))
                .collect::<Vec<_>>()
                .join(":");
            coefficient(name, &sets);
        }
    }
    for (term, _) in design.terms.iter().enumerate() {
        let rows: Vec<Vec<f64>> = (0..owners.len())
            .filter(|&c| owners[c] == Some(term))
            .map(|c| {
                (0..owners.len())
                    .map(|k| f64::from(u8::from(k == c)))
                    .collect()
            })
            .collect();
        if let Some(t) = fitted.test(&rows) {
            let name = design.term_name(term);
            for (what, value) in [
                ("F_KR", t.f),
                ("numdf", t.df),
                ("dendf_KR", t.denominator_df),
                ("p_KR", t.p),
                ("F_Satterthwaite", t.satterthwaite.unwrap().f),
                (
                    "dendf_Satterthwaite",
                    t.satterthwaite.unwrap().denominator_df,
                ),
                ("anova_F", t.f),
                ("anova_dendf", t.denominator_df),
                ("anova_p", t.p),
                ("KR_F", t.f),
                ("KR_dendf", t.denominator_df),
                ("KR_p", t.p),
                ("dog_random_KR_F", t.f),
                ("dog_random_KR_dendf", t.denominator_df),
                ("dog_random_KR_p", t.p),
            ] {
                out.insert(format!("{what}[{name}]"), value);
            }
        }
    }
    // Means, and differences of single factors, at each level of another too.
    let many = design.factors.len();
    for of in [vec![0], vec![1], vec![2], vec![0, 1], vec![1, 0]] {
        if of.iter().any(|f| *f >= many) {
            continue;
        }
        for set in level_sets(design, &of) {
            let name = set
                .iter()
                .map(|&(f, l)| design.factors[f].levels[l].clone())
                .collect::<Vec<_>>()
                .join(":");
            if let Some(c) = fitted.combine(&design.marginal_row(&set)) {
                out.insert(format!("mean[{name}]"), c.estimate);
                out.insert(format!("mean_se[{name}]"), c.se);
                out.insert(format!("mean_df[{name}]"), c.df);
            }
        }
    }
    for f in 0..many {
        let levels = &design.factors[f].levels;
        let mut places: Vec<(String, Vec<(usize, usize)>)> = vec![(String::new(), vec![])];
        for g in (0..many).filter(|g| *g != f) {
            for (l, level) in design.factors[g].levels.iter().enumerate() {
                places.push((format!(" @ {level}"), vec![(g, l)]));
            }
        }
        for (place, also) in &places {
            for a in 0..levels.len() {
                for b in 0..levels.len() {
                    if a == b {
                        continue;
                    }
                    let row = |l: usize| {
                        let mut set = vec![(f, l)];
                        set.extend(also);
                        design.marginal_row(&set)
                    };
                    let d: Vec<f64> = row(a).iter().zip(&row(b)).map(|(a, b)| a - b).collect();
                    let Some(c) = fitted.combine(&d) else {
                        continue;
                    };
                    // A level that is a number carries its factor's name in the reference.
                    let plain = format!("{} - {}{place}", levels[a], levels[b]);
                    let full = format!("{0}{1} - {0}{2}{place}", named[f], levels[a], levels[b]);
                    for name in [plain, full] {
                        let half = t_quantile(0.975, c.df) * c.se;
                        for (what, value) in [
                            ("diff", c.estimate),
                            ("diff_se", c.se),
                            ("diff_df", c.df),
                            ("diff_t", c.estimate / c.se),
                            ("diff_p_unadjusted", c.p()),
                            ("diff_low95", c.estimate - half),
                            ("diff_high95", c.estimate + half),
                            ("diff_se_KR", c.se),
                            ("diff_df_KR", c.df),
                            ("diff_p_KR", c.p()),
                            ("se_KR", c.se),
                            ("df_KR", c.df),
                        ] {
                            out.insert(format!("{what}[{name}]"), value);
                        }
                    }
                }
            }
        }
    }
    out
}

/// The likelihood and the variances of a mixed model.
fn likelihood(out: &mut Answers, criterion: f64, own: &[Vec<f64>], reference: &[Vec<f64>]) {
    let plus = -0.5 * criterion + 0.5 * ln_det(own);
    out.insert("loglik_reml_plus_half_logdet_XtX".into(), plus);
    out.insert("loglik_reml".into(), plus - 0.5 * ln_det(reference));
}

fn mixed(
    csv: &Csv,
    y: &str,
    factors: &[&str],
    order: usize,
    random: &[&[&str]],
    named: &[&str],
) -> Answers {
    let design = Design::factorial(
        factors.iter().map(|f| factor(csv, f)).collect(),
        order,
        Coding::SumToZero,
    );
    let reference = Design {
        coding: Coding::Reference,
        ..design.clone()
    };
    let terms: Vec<RandomTerm> = random
        .iter()
        .map(|r| RandomTerm::intercept(r.join(":"), joined(csv, r).codes))
        .collect();
    let y = csv.numbers(y);
    let (columns, bare) = if factors.is_empty() {
        (vec![vec![1.0; y.len()]], vec![vec![1.0; y.len()]])
    } else {
        (design.columns(), reference.columns())
    };
    let model = Mixed::fit(&columns, &y, &terms).unwrap();
    let mut out = Answers::new();
    likelihood(&mut out, model.criterion, &columns, &bare);
    for c in &model.components {
        let name = if c.name == "residual" {
            "Residual".into()
        } else {
            format!("{}:(Intercept)", c.name)
        };
        out.insert(format!("variance[{name}]"), c.value);
    }
    if factors.is_empty() {
        let c = model.combine(&[1.0]).unwrap();
        for (what, v) in [
            ("fixed", c.estimate),
            ("fixed_se_unadjusted", c.se_model),
            ("fixed_se_KR", c.se),
            ("fixed_df_KR", c.df),
        ] {
            out.insert(format!("{what}[(Intercept)]"), v);
        }
    } else {
        out.extend(factorial(&design, &Fitted::Plain(Box::new(model)), named));
    }
    out
}

fn days(csv: &Csv, y: &str, subject: &[&[&str]]) -> Answers {
    mixed(
        csv,
        y,
        &["treatment", "day"],
        2,
        subject,
        &["treatment", "day"],
    )
}

/// A regression with random intercepts (or slopes) by unit.
fn regression(
    columns: &[Vec<f64>],
    names: &[&str],
    y: &[f64],
    random: RandomTerm,
) -> (Answers, Mixed) {
    let model = Mixed::fit(columns, y, &[random]).unwrap();
    let mut out = Answers::new();
    likelihood(&mut out, model.criterion, columns, columns);
    for c in &model.components {
        let name = if c.name == "residual" {
            "Residual".into()
        } else {
            format!("{}:(Intercept)", c.name)
        };
        out.insert(format!("variance[{name}]"), c.value);
    }
    for (i, name) in names.iter().enumerate() {
        let row: Vec<f64> = (0..names.len())
            .map(|k| f64::from(u8::from(k == i)))
            .collect();
        let c = model.combine(&row).unwrap();
        for (what, v) in [
            ("fixed", c.estimate),
            ("fixed_se_unadjusted", c.se_model),
            ("fixed_se_KR", c.se),
            ("fixed_df_KR", c.df),
        ] {
            out.insert(format!("{what}[{name}]"), v);
        }
        let t = model.test(&[row]).unwrap();
        for (what, v) in [
            ("F_KR", t.f),
            ("numdf", t.df),
            ("dendf_KR", t.denominator_df),
            ("p_KR", t.p),
        ] {
            out.insert(format!("{what}[{name}]"), v);
        }
    }
    (out, model)
}

/// What extra columns add to a mixed regression, against units.
fn added(
    columns: &[Vec<f64>],
    more: Vec<Vec<f64>>,
    y: &[f64],
    random: &RandomTerm,
) -> (MixedTest, f64) {
    let mut all = columns.to_vec();
    let from = all.len();
    all.extend(more);
    let model = Mixed::fit(&all, y, std::slice::from_ref(random)).unwrap();
    let rows: Vec<Vec<f64>> = (from..all.len())
        .map(|at| {
            (0..all.len())
                .map(|k| f64::from(u8::from(k == at)))
                .collect()
        })
        .collect();
    (
        model.test(&rows).unwrap(),
        model.coefficients[from].unwrap_or(f64::NAN),
    )
}

fn put_test(out: &mut Answers, name: &str, t: &MixedTest) {
    for (what, v) in [
        ("F", t.f),
        ("ndf", t.df),
        ("ddf", t.denominator_df),
        ("p", t.p),
    ] {
        out.insert(format!("{name}_{what}"), v);
    }
}

/// Means of `y` by unit, with each unit's value of the other columns.
fn by_unit(unit: &Factor, columns: &[&[f64]], y: &[f64]) -> (Vec<Vec<f64>>, Vec<f64>) {
    let many = unit.levels.len();
    let mut sums = vec![(0.0, 0.0); many];
    let mut x = vec![vec![0.0; many]; columns.len()];
    for (row, &u) in unit.codes.iter().enumerate() {
        sums[u].0 += y[row];
        sums[u].1 += 1.0;
        for (own, column) in x.iter_mut().zip(columns) {
            own[u] = column[row];
        }
    }
    (x, sums.iter().map(|(s, n)| s / n).collect())
}

fn trend(file: &str) -> Answers {
    let csv = data(file);
    let (w, y, unit) = (
        csv.numbers("water"),
        csv.numbers("y"),
        factor(&csv, "batch"),
    );
    let columns = vec![vec![1.0; y.len()], w.clone()];
    let random = RandomTerm::intercept("batch", unit.codes.clone());
    let (mut out, _) = regression(&columns, &["(Intercept)", "w"], &y, random.clone());
    let levels = factor(&csv, "water");
    let dummy = |f: &Factor, l: usize| {
        f.codes
            .iter()
            .map(|&c| f64::from(u8::from(c == l)))
            .collect::<Vec<f64>>()
    };
    let (lack, _) = added(
        &columns,
        (2..levels.levels.len())
            .map(|l| dummy(&levels, l))
            .collect(),
        &y,
        &random,
    );
    put_test(&mut out, "lack_of_fit_KR", &lack);
    let (bend, coefficient) = added(
        &columns,
        vec![w.iter().map(|v| v * v).collect()],
        &y,
        &random,
    );
    put_test(&mut out, "quadratic_KR", &bend);
    out.insert("quadratic_coefficient".into(), coefficient);
    let (x, means) = by_unit(&unit, &[&w], &y);
    let line = fit(&[vec![1.0; means.len()], x[0].clone()], &means);
    let (b, se) = (
        line.coefficients[1].unwrap(),
        line.standard_errors[1].unwrap(),
    );
    out.insert("batch_means_slope".into(), b);
    out.insert("batch_means_slope_se".into(), se);
    out.insert("batch_means_slope_p".into(), t_two_sided(b / se, line.df));
    out.insert("batch_means_df".into(), line.df);
    let (all, _) = by_unit(&unit, &[], &y);
    assert!(all.is_empty());
    let places = Factor::new("w", &x[0].iter().map(f64::to_string).collect::<Vec<_>>());
    let pure = trials::stats::one_way::one_way(&places.codes, &means, places.levels.len());
    let (df_pure, df) = (pure.test.denominator_df, line.df - pure.test.denominator_df);
    let f = (line.rss - pure.within) / df / (pure.within / df_pure);
    out.insert("batch_means_lack_of_fit_F".into(), f);
    out.insert("batch_means_lack_of_fit_p".into(), f_above(f, df, df_pure));
    // What the program itself tells.
    let told = model::fit_trend(&csv.table(), "y", "water", None, false).unwrap();
    let slope = &told.coefficients[1];
    assert!(
        (slope.p.unwrap() / out["p_KR[w]"] - 1.0).abs() < 1e-6,
        "{slope:?}"
    );
    out.insert("TOLD_slope_p".into(), slope.p.unwrap());
    out
}

fn surface() -> Answers {
    let csv = data("c03_surface_pieces.csv");
    let (a, b, y) = (csv.numbers("x1"), csv.numbers("x2"), csv.numbers("y"));
    let unit = factor(&csv, "batch");
    let square = |v: &[f64]| v.iter().map(|x| x * x).collect::<Vec<f64>>();
    let product: Vec<f64> = a.iter().zip(&b).map(|(a, b)| a * b).collect();
    let columns = vec![
        vec![1.0; y.len()],
        a.clone(),
        b.clone(),
        square(&a),
        square(&b),
        product,
    ];
    let names = ["(Intercept)", "x1", "x2", "I(x1^2)", "I(x2^2)", "x1:x2"];
    let random = RandomTerm::intercept("batch", unit.codes.clone());
    let (mut out, model) = regression(&columns, &names, &y, random.clone());
    let at = model.combine(&[1.0, 0.5, -0.5, 0.25, 0.25, -0.25]).unwrap();
    for (what, v) in [
        ("mean_at", at.estimate),
        ("mean_at_se_KR", at.se),
        ("mean_at_df_KR", at.df),
    ] {
        out.insert(format!("{what}[0.5,-0.5]"), v);
    }
    let points = joined(&csv, &["x1", "x2"]);
    let dummies: Vec<Vec<f64>> = (0..points.levels.len())
        .map(|l| {
            points
                .codes
                .iter()
                .map(|&c| f64::from(u8::from(c == l)))
                .collect()
        })
        .collect();
    let mut all = columns.clone();
    all.extend(dummies);
    let kept = fit(&all, &y).kept;
    let extra: Vec<Vec<f64>> = kept
        .iter()
        .filter(|k| **k >= 6)
        .map(|&k| all[k].clone())
        .collect();
    put_test(
        &mut out,
        "lack_of_fit_KR",
        &added(&columns, extra, &y, &random).0,
    );
    let told = model::fit_surface(&csv.table(), "y", &["x1".into(), "x2".into()]).unwrap();
    let canonical = told.canonical.unwrap();
    out.insert("stationary_x1".into(), told.stationary.as_ref().unwrap()[0]);
    out.insert("stationary_x2".into(), told.stationary.as_ref().unwrap()[1]);
    out.insert("stationary_y".into(), canonical.value);
    let mut eigen = canonical.eigenvalues.clone();
    // Coding to -1 … 1 over the tried range scales the bends.
    let half = told.model.coding[0].1;
    eigen.sort_by(|a, b| b.total_cmp(a));
    out.insert("eigen_1".into(), eigen[0] / half / half);
    out.insert("eigen_2".into(), eigen[1] / half / half);
    out
}

fn serial(file: &str, with_unit: bool) -> Answers {
    let csv = data(file);
    let design = Design::factorial(
        vec![factor(&csv, "treatment"), factor(&csv, "day")],
        2,
        Coding::SumToZero,
    );
    let reference = Design {
        coding: Coding::Reference,
        ..design.clone()
    };
    let y = csv.numbers("y");
    let unit = factor(&csv, "batch").codes;
    let random = if with_unit {
        vec![RandomTerm::intercept("batch", unit.clone())]
    } else {
        vec![]
    };
    let model = SerialFit::fit(
        &design.columns(),
        &y,
        &random,
        &Serial {
            unit,
            time: csv.numbers("day"),
        },
    )
    .unwrap();
    let mut out = Answers::new();
    likelihood(
        &mut out,
        model.criterion,
        &design.columns(),
        &reference.columns(),
    );
    let value = |i: usize| model.components[i].value;
    if with_unit {
        out.insert("unit_variance".into(), value(0));
        out.insert("residual_variance".into(), value(1));
        out.insert("rho".into(), value(2));
    } else {
        out.insert("variance".into(), value(0));
        out.insert("rho".into(), value(1));
        out.insert("rho.Phi1".into(), value(1));
        out.insert("gls_rho".into(), value(1));
        out.insert("gls_variance".into(), value(0));
        out.insert("gls_loglik".into(), out["loglik_reml"]);
        out.insert(
            "AIC_reml_two_parameters".into(),
            -2.0 * out["loglik_reml"] + 4.0,
        );
        let even = Mixed::fit(
            &design.columns(),
            &y,
            &[RandomTerm::intercept("batch", factor(&csv, "batch").codes)],
        )
        .unwrap();
        let mut own = Answers::new();
        likelihood(
            &mut own,
            even.criterion,
            &design.columns(),
            &reference.columns(),
        );
        out.insert("loglik_reml_compound_symmetry".into(), own["loglik_reml"]);
    }
    out.extend(factorial(
        &design,
        &Fitted::Serial(Box::new(model)),
        &["treatment", if with_unit { "day" } else { "dayf" }],
    ));
    // The reference calls the term dayf.
    let renamed: Vec<(String, f64)> = out
        .iter()
        .map(|(k, v)| (k.replace("dayf", "day"), *v))
        .collect();
    out.extend(renamed);
    out
}

/// Reference-coded columns (first level the reference), with their names.
fn dummies(csv: &Csv, factors: &[&str]) -> (Vec<Vec<f64>>, Vec<String>) {
    let mut columns = vec![];
    let mut names = vec![];
    for f in factors {
        let own = factor(csv, f);
        for l in 1..own.levels.len() {
            columns.push(
                own.codes
                    .iter()
                    .map(|&c| f64::from(u8::from(c == l)))
                    .collect(),
            );
            names.push(format!("{f}{}", own.levels[l]));
        }
    }
    (columns, names)
}

fn scores(file: &str, y: &str, factors: &[&str], subject: Option<&str>) -> Answers {
    let csv = data(file);
    let values = csv.numbers(y);
    let mut levels = values.clone();
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    let steps: Vec<usize> = values
        .iter()
        .map(|v| levels.iter().position(|l| l == v).unwrap())
        .collect();
    let (columns, names) = dummies(&csv, factors);
    let many = levels.len();
    let mut out = Answers::new();
    let mut names: Vec<String> = (1..many)
        .map(|j| format!("{}|{}", levels[j - 1], levels[j]))
        .chain(names)
        .collect();
    let groups = subject.map(|s| factor(&csv, s).codes);
    let ll = |columns: &[Vec<f64>], points: usize| -> f64 {
        match &groups {
            Some(g) => cumulative_mixed(columns, &steps, many, g, points).ln_likelihood,
            None if columns.is_empty() => {
                let full = proportional_odds(&[vec![0.0; steps.len()]], &steps, many);
                full.ln_likelihood
            }
            None => proportional_odds(columns, &steps, many).ln_likelihood,
        }
    };
    let mut put = |prefix: &str, values: &[f64], se: &[f64]| {
        for ((name, v), s) in names.iter_mut().zip(values).zip(se) {
            out.insert(format!("{prefix}coef[{name}]"), *v);
            out.insert(format!("{prefix}se[{name}]"), *s);
            out.insert(format!("{prefix}z[{name}]"), v / s);
            out.insert(format!("{prefix}p_wald[{name}]"), normal_two_sided(v / s));
        }
    };
    let full;
    if let Some(g) = &groups {
        for (points, prefix) in [(40, ""), (1, "laplace_")] {
            let m = cumulative_mixed(&columns, &steps, many, g, points);
            let se: Vec<f64> = m
                .covariance
                .as_ref()
                .unwrap()
                .diagonal()
                .iter()
                .map(|v| v.sqrt())
                .collect();
            put(prefix, &[m.cuts.clone(), m.effects.clone()].concat(), &se);
        }
        let m = cumulative_mixed(&columns, &steps, many, g, 40);
        full = m.ln_likelihood;
        out.insert(format!("variance[{}]", subject.unwrap()), m.sd * m.sd);
        out.insert("loglik_by_integrate".into(), full);
        let l = cumulative_mixed(&columns, &steps, many, g, 1);
        out.insert("laplace_loglik".into(), l.ln_likelihood);
        out.insert("laplace_variance".into(), l.sd * l.sd);
    } else {
        // With a subject each of their own, the mixed model with no spread is the plain one.
        let m = proportional_odds(&columns, &steps, many);
        full = m.ln_likelihood;
        for (i, name) in names[many - 1..].iter().enumerate() {
            let (v, s) = (m.effects[i], m.covariance.as_ref().unwrap()[(i, i)].sqrt());
            out.insert(format!("coef[{name}]"), v);
            out.insert(format!("se[{name}]"), s);
            out.insert(format!("z[{name}]"), v / s);
            out.insert(format!("p_wald[{name}]"), normal_two_sided(v / s));
        }
        for (i, name) in names[..many - 1].iter().enumerate() {
            let s = m.with_cuts.as_ref().unwrap()[(i, i)].sqrt();
            out.insert(format!("coef[{name}]"), m.cuts[i]);
            out.insert(format!("se[{name}]"), s);
            out.insert(format!("z[{name}]"), m.cuts[i] / s);
            out.insert(format!("p_wald[{name}]"), normal_two_sided(m.cuts[i] / s));
        }
        for (j, _) in levels.iter().enumerate() {
            let share = steps.iter().filter(|s| **s == j).count() as f64 / steps.len() as f64;
            out.insert(format!("prob_null[{}]", j + 1), share);
        }
    }
    out.insert("loglik".into(), full);
    for f in factors {
        let others: Vec<&str> = factors.iter().copied().filter(|o| o != f).collect();
        let bare = dummies(&csv, &others).0;
        let df = (columns.len() - bare.len()) as f64;
        let bare = if bare.is_empty() && groups.is_some() {
            vec![vec![0.0; steps.len()]]
        } else {
            bare
        };
        let ratio = 2.0 * (full - ll(&bare, 40));
        out.insert(format!("LR[{f}]"), ratio);
        out.insert(format!("LR_df[{f}]"), df);
        out.insert(format!("LR_p[{f}]"), chi_square_above(ratio, df));
    }
    out
}

fn mixed_counts(file: &str, treatment: &str, group: &str) -> Answers {
    let csv = data(file);
    let (k, n) = (csv.numbers("k"), csv.numbers("n"));
    let (mut columns, mut names) = dummies(&csv, &[treatment]);
    columns.insert(0, vec![1.0; k.len()]);
    names.insert(0, "(Intercept)".into());
    let g = factor(&csv, group).codes;
    let mut out = Answers::new();
    let df = columns.len() as f64 - 1.0;
    for (points, coef, se, sd, ll, lr) in [
        (25, "coef", "se", "sd_random", "loglik", "LR"),
        (
            1,
            "laplace_glmmTMB_coef",
            "laplace_glmmTMB_se",
            "laplace_glmmTMB_sd",
            "laplace_glmmTMB_loglik",
            "laplace_LR",
        ),
    ] {
        let m = binomial_mixed(&columns, &k, &n, &g, points);
        let null = binomial_mixed(&columns[..1], &k, &n, &g, points);
        for (i, name) in names.iter().enumerate() {
            out.insert(format!("{coef}[{name}]"), m.coefficients[i]);
            out.insert(format!("{se}[{name}]"), m.covariance[(i, i)].sqrt());
            if points > 1 {
                out.insert(format!("glmer25_coef[{name}]"), m.coefficients[i]);
            }
        }
        out.insert(sd.into(), m.sd);
        out.insert(ll.into(), m.ln_likelihood);
        out.insert(lr.into(), 2.0 * (m.ln_likelihood - null.ln_likelihood));
        if points > 1 {
            out.insert("glmer25_sd".into(), m.sd);
        }
    }
    out.insert("LR_df".into(), df);
    out.insert("LR_p_chi2".into(), chi_square_above(out["LR"], df));
    out
}

fn counted(csv: &Csv) -> (Vec<f64>, Vec<f64>, Factor) {
    (csv.numbers("k"), csv.numbers("n"), factor(csv, "treatment"))
}

fn with_intercept(csv: &Csv) -> (Vec<Vec<f64>>, Vec<String>) {
    let (mut columns, mut names) = dummies(csv, &["treatment"]);
    columns.insert(0, vec![1.0; csv.rows.len()]);
    names.insert(0, "(Intercept)".into());
    (columns, names)
}

fn shares_f(out: &mut Answers, t: &Factor, values: &[f64], name: &str, p: &str) {
    let test = trials::stats::one_way::one_way(&t.codes, values, t.levels.len()).test;
    out.insert(name.into(), test.f);
    out.insert(p.into(), test.p);
}

fn beta_counts(file: &str) -> Answers {
    let csv = data(file);
    let (k, n, t) = counted(&csv);
    let (columns, names) = with_intercept(&csv);
    let mut out = Answers::new();
    let full = beta_binomial(&columns, &k, &n);
    let null = beta_binomial(&columns[..1], &k, &n);
    let df = columns.len() as f64 - 1.0;
    let df2 = k.len() as f64 - columns.len() as f64;
    let ratio = 2.0 * (full.ln_likelihood - null.ln_likelihood);
    let plain = quasi::fit(Family::Binomial, &columns, &k, &n, false, None);
    let bare = quasi::fit(Family::Binomial, &columns[..1], &k, &n, false, None);
    for (i, name) in names.iter().enumerate() {
        out.insert(format!("coef[{name}]"), full.coefficients[i]);
        out.insert(format!("se[{name}]"), full.covariance[(i, i)].sqrt());
        out.insert(format!("binomial_coef[{name}]"), plain.coefficients[i]);
        out.insert(
            format!("quasi_se[{name}]"),
            (plain.dispersion().unwrap() * plain.covariance.as_ref().unwrap()[(i, i)]).sqrt(),
        );
    }
    out.insert("rho".into(), full.correlation);
    out.insert("phi".into(), 1.0 / full.correlation - 1.0);
    out.insert("loglik".into(), full.ln_likelihood);
    out.insert("LR".into(), ratio);
    out.insert("LR_df".into(), df);
    out.insert("LR_p_chi2".into(), chi_square_above(ratio, df));
    out.insert("LR_over_df".into(), ratio / df);
    out.insert("p_F_residual_df".into(), f_above(ratio / df, df, df2));
    out.insert("quasi_phi".into(), plain.dispersion().unwrap());
    let test = CountTest::new(
        bare.deviance - plain.deviance,
        df,
        plain.dispersion().unwrap(),
        df2,
    );
    out.insert("quasi_F".into(), test.f);
    out.insert("quasi_F_df2".into(), df2);
    out.insert("quasi_p".into(), test.p);
    let shares: Vec<f64> = k.iter().zip(&n).map(|(k, n)| k / n).collect();
    shares_f(
        &mut out,
        &t,
        &shares,
        "F_batch_proportions",
        "p_batch_proportions",
    );
    let bent: Vec<f64> = shares.iter().map(|p| p.sqrt().asin()).collect();
    shares_f(&mut out, &t, &bent, "F_arcsine", "p_arcsine");
    // The null's mean and precision.
    let mean = 1.0 / (1.0 + (-null.coefficients[0]).exp());
    out.insert("null_mean".into(), mean);
    out.insert("null_phi".into(), 1.0 / null.correlation - 1.0);
    out
}

fn firth(file: &str) -> Answers {
    let csv = data(file);
    let (k, n, t) = counted(&csv);
    let (columns, names) = with_intercept(&csv);
    let mut out = Answers::new();
    let found = quasi::fit(Family::Binomial, &columns, &k, &n, true, None);
    let pooled = |v: &[f64]| -> Vec<f64> {
        (0..t.levels.len())
            .map(|l| {
                v.iter()
                    .zip(&t.codes)
                    .filter(|(_, c)| **c == l)
                    .map(|(v, _)| v)
                    .sum()
            })
            .collect()
    };
    let (kk, nn) = (pooled(&k), pooled(&n));
    out.insert(
        "firth_penalised_loglik".into(),
        found.penalised_ln_likelihood,
    );
    for (i, name) in names.iter().enumerate() {
        out.insert(format!("firth_coef[{name}]"), found.coefficients[i]);
        out.insert(
            format!("firth_se[{name}]"),
            found.covariance.as_ref().unwrap()[(i, i)].sqrt(),
        );
        if i == 0 {
            continue;
        }
        let fall = |v: f64| {
            2.0 * (found.penalised_ln_likelihood
                - quasi::fit(Family::Binomial, &columns, &k, &n, true, Some((i, v)))
                    .penalised_ln_likelihood)
        };
        out.insert(format!("firth_PLR[{name}]"), fall(0.0));
        out.insert(
            format!("firth_PLR_p[{name}]"),
            chi_square_above(fall(0.0), 1.0),
        );
        let limit = trials::stats::distribution::chi_square_quantile(0.95, 1.0);
        let at = |way: f64| {
            let x = root_between(|x| fall(found.coefficients[i] + way * x) - limit, 0.0, 20.0);
            found.coefficients[i] + way * x
        };
        out.insert(format!("firth_profile_low95[{name}]"), at(-1.0));
        out.insert(format!("firth_profile_high95[{name}]"), at(1.0));
    }
    let odds = |i: usize| ((kk[i] + 0.5) / (nn[i] - kk[i] + 0.5)).ln();
    out.insert("closed_form_log_odds".into(), odds(1) - odds(0));
    let shares: Vec<f64> = k.iter().zip(&n).map(|(k, n)| k / n).collect();
    shares_f(
        &mut out,
        &t,
        &shares,
        "F_batch_proportions",
        "p_batch_proportions",
    );
    // What the program tells: an estimate and an interval for every difference.
    let told = analyse(
        &csv.table(),
        &AnalysisRequest {
            out_of: Some("n".into()),
            unit: Some("batch".into()),
            ..AnalysisRequest::of("k")
        },
    )
    .unwrap();
    assert_eq!(
        told.comparisons.len(),
        t.levels.len() * (t.levels.len() - 1) / 2
    );
    assert!(
        told.comparisons
            .iter()
            .all(|c| c.low95.is_some_and(f64::is_finite) && c.high95.is_some_and(f64::is_finite))
    );
    out
}

fn dealt(file: &str, block: Option<&str>) -> Answers {
    let csv = data(file);
    let (k, n, t) = counted(&csv);
    let shares: Vec<f64> = k.iter().zip(&n).map(|(k, n)| k / n).collect();
    let groups = t.levels.len();
    let blocks = block.map_or(vec![0; k.len()], |b| factor(&csv, b).codes);
    let most = 50_000;
    let mut out = Answers::new();
    let ssb = exchange(&t.codes, &blocks, most, 1, between(&shares, groups));
    out.insert("n_arrangements".into(), ssb.deals as f64);
    if block.is_some() {
        out.insert("SST_batch_proportions".into(), ssb.statistic);
        out.insert("p_exact".into(), ssb.p);
    } else {
        out.insert("SSB_batch_proportions".into(), ssb.statistic);
        out.insert("p_exact_SSB".into(), ssb.p);
        let x2 = exchange(&t.codes, &blocks, most, 1, pearson(&k, &n, groups));
        out.insert("X2".into(), x2.statistic);
        out.insert("p_exact_X2".into(), x2.p);
        let g2 = exchange(&t.codes, &blocks, most, 1, likelihood_ratio(&k, &n, groups));
        out.insert("G2".into(), g2.statistic);
        out.insert("p_exact_G2".into(), g2.p);
    }
    if groups == 2 {
        let mean = |codes: &[usize], g: usize| {
            let own: Vec<f64> = shares
                .iter()
                .zip(codes)
                .filter(|(_, c)| **c == g)
                .map(|(s, _)| *s)
                .collect();
            own.iter().sum::<f64>() / own.len() as f64
        };
        let apart = |codes: &[usize]| mean(codes, 1) - mean(codes, 0);
        let two = exchange(&t.codes, &blocks, most, 1, |c| apart(c).abs());
        let one = exchange(&t.codes, &blocks, most, 1, apart);
        out.insert("mean_difference_proportions".into(), one.statistic);
        out.insert("mean_difference".into(), one.statistic);
        out.insert("p_exact_two_sided_difference".into(), two.p);
        out.insert("p_exact_one_sided_greater".into(), one.p);
    }
    out
}

fn bootstrap() -> Answers {
    let out = beta_counts("e05_broken.csv");
    out.into_iter()
        .filter(|(k, _)| ["LR", "null_mean", "null_phi"].contains(&k.as_str()))
        .collect()
}

fn groups_of(csv: &Csv, t: &Factor) -> Vec<Group> {
    let y = csv.numbers("y");
    (0..t.levels.len())
        .map(|l| {
            Group::of(
                &y.iter()
                    .zip(&t.codes)
                    .filter(|(_, c)| **c == l)
                    .map(|(y, _)| *y)
                    .collect::<Vec<_>>(),
            )
        })
        .collect()
}

fn unequal(file: &str, control: &str) -> Answers {
    let csv = data(file);
    let t = factor(&csv, "treatment");
    let g = groups_of(&csv, &t);
    let mut out = Answers::new();
    for (l, g) in t.levels.iter().zip(&g) {
        out.insert(format!("mean[{l}]"), g.mean);
        out.insert(format!("var[{l}]"), g.variance().unwrap());
    }
    let w = welch(&g).unwrap();
    out.insert("welch_F".into(), w.f);
    out.insert("welch_df2".into(), w.denominator_df);
    out.insert("welch_p".into(), w.p);
    // What the program tells, however spreads are taken.
    let told = |variances, wanted| -> Vec<ComparisonLine> {
        let request = AnalysisRequest {
            variances,
            wanted,
            control: Some(control.into()),
            ..AnalysisRequest::of("y")
        };
        analyse(&csv.table(), &request).unwrap().comparisons
    };
    for d in told(Variances::Unequal, Wanted::AllPairs) {
        let (low, high) = (d.low95.unwrap(), d.high95.unwrap());
        for (a, b, sign) in [(&d.a, &d.b, 1.0), (&d.b, &d.a, -1.0)] {
            let name = format!("{a} - {b}");
            let (low, high) = if sign > 0.0 {
                (low, high)
            } else {
                (-high, -low)
            };
            for (what, v) in [
                ("diff", sign * d.difference),
                ("se", d.se),
                ("df", d.df.unwrap()),
                ("t", sign * d.difference / d.se),
                (
                    "p_welch_unadjusted",
                    t_two_sided(d.difference / d.se, d.df.unwrap()),
                ),
                ("p_games_howell", d.p_adjusted),
                ("games_howell_low95", low),
                ("games_howell_high95", high),
            ] {
                out.insert(format!("{what}[{name}]"), v);
            }
        }
    }
    let found = told(Variances::Unequal, Wanted::WithControl);
    let raw: Vec<f64> = found
        .iter()
        .map(|d| t_two_sided(d.difference / d.se, d.df.unwrap()))
        .collect();
    for (d, holm) in found.iter().zip(adjust(&raw, Adjustment::Holm)) {
        let name = format!("{} - {control}", d.a);
        let (low, high) = (d.low95.unwrap(), d.high95.unwrap());
        for (what, v) in [
            ("control_p_welch_dunnett", d.p_adjusted),
            ("control_crit_welch_dunnett", (high - d.difference) / d.se),
            ("control_low95_welch_dunnett", low),
            ("control_high95_welch_dunnett", high),
            ("control_p_holm", holm),
        ] {
            out.insert(format!("{what}[{name}]"), v);
        }
    }
    for d in told(Variances::Equal, Wanted::WithControl) {
        out.insert(
            format!("dunnett_equal_p[{} - {control}]", d.a),
            d.p_adjusted,
        );
        out.insert(
            "dunnett_equal_crit95".into(),
            (d.high95.unwrap() - d.difference) / d.se,
        );
    }
    out
}

fn margins(file: &str, control: &str, margin: f64, better: Better) -> Answers {
    let csv = data(file);
    let t = factor(&csv, "treatment");
    let g = groups_of(&csv, &t);
    let at = t.levels.iter().position(|l| l == control).unwrap();
    let one = trials::stats::one_way::from_groups(g.clone());
    let (s2, df) = (one.error_variance().unwrap(), one.test.denominator_df);
    let sign = if better == Better::Higher { 1.0 } else { -1.0 };
    let mut out = Answers::new();
    let others: Vec<usize> = (0..g.len()).filter(|i| *i != at).collect();
    let numbers: Vec<usize> = others.iter().map(|&i| g[i].n).collect();
    let loadings = dunnett::loadings(&numbers, g[at].n);
    for &i in &others {
        let name = format!("{} - {control}", t.levels[i]);
        let d = g[i].mean - g[at].mean;
        let (vi, v0) = (
            g[i].variance().unwrap() / g[i].n as f64,
            g[at].variance().unwrap() / g[at].n as f64,
        );
        let pooled = (
            (s2 * (1.0 / g[i].n as f64 + 1.0 / g[at].n as f64)).sqrt(),
            df,
        );
        let own = (
            (vi + v0).sqrt(),
            (vi + v0).powi(2)
                / (vi * vi / (g[i].n as f64 - 1.0) + v0 * v0 / (g[at].n as f64 - 1.0)),
        );
        for (how, (se, df)) in [("pooled", pooled), ("welch", own)] {
            let two = tost(d, se, df, margin);
            let one = non_inferiority(sign * d, se, df, margin);
            for (what, v) in [
                ("diff", d),
                ("se", se),
                ("df", df),
                ("p_noninferior", one.p),
                ("one_sided_bound95", sign * one.bound95),
                ("tost_p_lower", non_inferiority(d, se, df, margin).p),
                ("tost_p_upper", non_inferiority(-d, se, df, margin).p),
                ("tost_p", two.p),
                ("low90", two.low90),
                ("high90", two.high90),
            ] {
                out.insert(format!("{how}_{what}[{name}]"), v);
            }
        }
        if others.len() > 1 {
            let (se, df) = pooled;
            let c = dunnett::quantile(0.95, &loadings, df, Sides::Greater);
            out.insert(
                format!("dunnett_one_sided_p_noninferior[{name}]"),
                dunnett::p_value((sign * d + margin) / se, &loadings, df, Sides::Greater),
            );
            out.insert(
                format!("dunnett_one_sided_bound95[{name}]"),
                sign * (sign * d - c * se),
            );
        }
    }
    let told = analyse(
        &csv.table(),
        &AnalysisRequest {
            control: Some(control.into()),
            margin: Some(margin),
            better: Some(better),
            variances: Variances::Equal,
            ..AnalysisRequest::of("y")
        },
    )
    .unwrap();
    for e in &told.equivalence {
        let want = out[&format!("pooled_p_noninferior[{} - {}]", e.a, e.b)];
        assert!(
            (e.p_not_worse.unwrap() / want - 1.0).abs() < 1e-7,
            "{e:?} {want}"
        );
        assert_eq!(e.not_worse, Some(want < 0.05));
        let said = told.sentence.contains("It is no worse than");
        assert!(
            said == (told.equivalence.iter().any(|e| e.not_worse == Some(true))),
            "{}",
            told.sentence
        );
    }
    out
}

fn margin_of(file: &str, margin: f64, control: &str, request: AnalysisRequest) -> Answers {
    let csv = data(file);
    let mut out = Answers::new();
    for (better, name) in [
        (Better::Higher, "p_noninferior_higher_better"),
        (Better::Lower, "p_noninferior_lower_better"),
    ] {
        let told = analyse(
            &csv.table(),
            &AnalysisRequest {
                control: Some(control.into()),
                margin: Some(margin),
                better: Some(better),
                ..request.clone()
            },
        )
        .unwrap();
        for e in told.equivalence.iter().filter(|e| !e.term.contains('@')) {
            let c = told
                .comparisons
                .iter()
                .find(|c| c.a == e.a && c.b == e.b && c.term == e.term)
                .unwrap();
            let key = format!("{} - {}", e.a, e.b);
            for (what, v) in [
                (name, e.p_not_worse.unwrap()),
                ("tost_p", e.p),
                ("low90", e.low90),
                ("high90", e.high90),
                ("diff", c.difference),
                ("se_KR", c.se),
                ("df_KR", c.df.unwrap()),
            ] {
                out.insert(format!("{what}[{key}]"), v);
            }
        }
    }
    out
}

fn two_shares() -> Answers {
    let csv = data("g06_two_proportions.csv");
    let mut out = Answers::new();
    let c = |n: &str| csv.numbers(n);
    for (((x1, n1), x2), n2) in c("x1").iter().zip(c("n1")).zip(c("x2")).zip(c("n2")) {
        let two = TwoShares {
            new: (*x1, n1),
            control: (x2, n2),
        };
        let name = format!("{x1}/{n1} vs {x2}/{n2}");
        out.insert(format!("difference[{name}]"), two.difference());
        for (what, m) in [
            ("newcombe", SharesMethod::Newcombe),
            ("miettinen_nurminen", SharesMethod::MiettinenNurminen),
            ("mee_score", SharesMethod::Mee),
            ("agresti_caffo", SharesMethod::AgrestiCaffo),
        ] {
            let (low, high) = two.interval(m, 0.95);
            out.insert(format!("{what}_low[{name}]"), low);
            out.insert(format!("{what}_high[{name}]"), high);
        }
        let (lower, upper) = (two.score(-0.1, false), two.score(0.1, false));
        let below = trials::stats::distribution::normal_below;
        out.insert(format!("fm_z_lower[{name}]"), lower);
        out.insert(
            format!("fm_p_noninferior_higher_better[{name}]"),
            below(-lower),
        );
        out.insert(format!("fm_z_upper[{name}]"), upper);
        out.insert(
            format!("fm_p_noninferior_lower_better[{name}]"),
            below(upper),
        );
        let held = two.held(-0.1);
        out.insert(format!("fm_restricted_p1[{name}]"), held.0);
        out.insert(format!("fm_restricted_p2[{name}]"), held.1);
        out.insert(format!("mn_z_lower[{name}]"), two.score(-0.1, true));
    }
    out
}

fn covariate(file: &str) -> Answers {
    let csv = data(file);
    let told = analyse(
        &csv.table(),
        &AnalysisRequest {
            covariates: vec!["x".into()],
            treatments: vec!["treatment".into()],
            ..AnalysisRequest::of("y")
        },
    )
    .unwrap();
    let mut out = Answers::new();
    let line = |name: &str| told.table.iter().find(|l| l.term == name).unwrap();
    for (term, key) in [("treatment", "treatment"), ("x", "x")] {
        out.insert(format!("F[{key}]"), line(term).f.unwrap());
        out.insert(format!("p[{key}]"), line(term).p.unwrap());
    }
    out.insert("df_error".into(), line("residual").df);
    out.insert("sigma2".into(), line("residual").mean_sq.unwrap());
    let check = |name: &str| told.checks.iter().find(|c| c.check == name).unwrap();
    out.insert(
        "slopes_F".into(),
        check("slopes along x").statistic.unwrap(),
    );
    out.insert("slopes_p".into(), check("slopes along x").p.unwrap());
    out.insert(
        "common_slope".into(),
        check("slope along x").statistic.unwrap(),
    );
    let x = csv.numbers("x");
    out.insert(
        "covariate_mean".into(),
        x.iter().sum::<f64>() / x.len() as f64,
    );
    for m in &told.means {
        out.insert(format!("adjusted_mean[{}]", m.level), m.mean.unwrap());
        out.insert(format!("adjusted_se[{}]", m.level), m.se.unwrap());
    }
    for c in &told.comparisons {
        for (a, b, sign) in [(&c.a, &c.b, 1.0), (&c.b, &c.a, -1.0)] {
            out.insert(format!("adjusted_diff[{a} - {b}]"), sign * c.difference);
            out.insert(format!("adjusted_diff_se[{a} - {b}]"), c.se);
            out.insert(
                format!("adjusted_diff_p[{a} - {b}]"),
                t_two_sided(c.difference / c.se, c.df.unwrap()),
            );
        }
    }
    let warned = told.findings.iter().any(|f| f.code == Code::SlopesDiffer);
    assert_eq!(warned, out["slopes_p"] < 0.05);
    out
}

fn rates(file: &str, exposure: Option<&str>) -> Answers {
    let csv = data(file);
    let y = csv.numbers("y");
    let n = exposure.map_or(vec![1.0; y.len()], |e| csv.numbers(e));
    let (columns, names) = with_intercept(&csv);
    let full = quasi::fit(Family::Poisson, &columns, &y, &n, false, None);
    let bare = quasi::fit(Family::Poisson, &columns[..1], &y, &n, false, None);
    let nb = negative_binomial(&columns, &y, &n);
    let nb0 = negative_binomial(&columns[..1], &y, &n);
    let df = columns.len() as f64 - 1.0;
    let mut out = Answers::new();
    for (i, name) in names.iter().enumerate() {
        out.insert(format!("coef[{name}]"), full.coefficients[i]);
        out.insert(
            format!("se[{name}]"),
            full.covariance.as_ref().unwrap()[(i, i)].sqrt(),
        );
        out.insert(format!("nb_coef[{name}]"), nb.coefficients[i]);
        out.insert(
            format!("nb_se_observed_information[{name}]"),
            nb.covariance.as_ref().unwrap()[(i, i)].sqrt(),
        );
    }
    let fall = bare.deviance - full.deviance;
    let test = CountTest::new(fall, df, full.dispersion().unwrap(), full.df);
    let nb_ratio = 2.0 * (nb.ln_likelihood - nb0.ln_likelihood);
    let against = 2.0 * (nb.ln_likelihood - full.ln_likelihood);
    for (what, v) in [
        ("deviance", full.deviance),
        ("pearson_dispersion", full.dispersion().unwrap()),
        ("LR", fall),
        ("LR_df", df),
        ("LR_p", chi_square_above(fall, df)),
        ("loglik", full.ln_likelihood),
        ("quasi_F", test.f),
        ("quasi_p", test.p),
        ("nb_theta", nb.theta),
        ("nb_loglik", nb.ln_likelihood),
        ("nb_LR", nb_ratio),
        ("nb_LR_p", chi_square_above(nb_ratio, df)),
        ("nb_vs_poisson_LR", against),
        ("nb_vs_poisson_p_half", 0.5 * chi_square_above(against, 1.0)),
    ] {
        out.insert(what.into(), v);
    }
    let told = analyse(
        &csv.table(),
        &AnalysisRequest {
            kind: Some(Kind::Count),
            treatments: vec!["treatment".into()],
            exposure: exposure.map(Into::into),
            ..AnalysisRequest::of("y")
        },
    )
    .unwrap();
    assert!(
        (told.table[0].f.unwrap() / test.f - 1.0).abs() < 1e-8,
        "{:?} {test:?}",
        told.table
    );
    out
}

fn crossover(file: &str) -> Answers {
    let csv = data(file);
    let mut out = mixed(
        &csv,
        "y",
        &["sequence", "period", "treatment"],
        1,
        &[&["dog"]],
        &["sequence", "period", "treatment"],
    );
    let (y, dog, period, sequence) = (
        csv.numbers("y"),
        factor(&csv, "dog"),
        factor(&csv, "period"),
        factor(&csv, "sequence"),
    );
    let many = dog.levels.len();
    let mut first = vec![0.0; many];
    let mut second = vec![0.0; many];
    let mut ab = vec![false; many];
    for i in 0..y.len() {
        let d = dog.codes[i];
        if period.levels[period.codes[i]] == "1" {
            first[d] = y[i]
        } else {
            second[d] = y[i]
        }
        ab[d] = sequence.levels[sequence.codes[i]] == "AB";
    }
    let two = |values: &dyn Fn(usize) -> f64| {
        let split = |w: bool| {
            Group::of(
                &(0..many)
                    .filter(|&d| ab[d] == w)
                    .map(values)
                    .collect::<Vec<_>>(),
            )
        };
        let (a, b) = (split(true), split(false));
        let df = (a.n + b.n) as f64 - 2.0;
        let s2 = (a.sum_sq + b.sum_sq) / df;
        let se = (s2 * (1.0 / a.n as f64 + 1.0 / b.n as f64)).sqrt();
        let d = a.mean - b.mean;
        (d, se, df, a.mean, b.mean)
    };
    let (d, se, df, ..) = two(&|i| first[i] + second[i]);
    out.insert("carry_over_t".into(), d / se);
    out.insert("carry_over_df".into(), df);
    out.insert("carry_over_p".into(), t_two_sided(d / se, df));
    let (d, se, df, a, b) = two(&|i| first[i] - second[i]);
    let (d, se) = (d / 2.0, se / 2.0);
    let half = t_quantile(0.975, df) * se;
    for (what, v) in [
        ("treatment_A_minus_B", d),
        ("treatment_se", se),
        ("treatment_t", d / se),
        ("treatment_p", t_two_sided(d / se, df)),
        ("treatment_low95", d - half),
        ("treatment_high95", d + half),
        ("period_1_minus_2", (a + b) / 2.0),
        ("period_t", (a + b) / 2.0 / se),
        ("period_p", t_two_sided((a + b) / 2.0 / se, df)),
    ] {
        out.insert(what.into(), v);
    }
    let (d, se, df, ..) = two(&|i| first[i]);
    out.insert("first_period_A_minus_B".into(), d);
    out.insert("first_period_p".into(), t_two_sided(d / se, df));
    // What the program tells: treatments within dogs and periods, and carry-over beside them.
    let told = analyse(&csv.table(), &AnalysisRequest::of("y")).unwrap();
    let c = &told.comparisons[0];
    assert!(
        (c.difference.abs() - out["treatment_A_minus_B"].abs()).abs() < 1e-8,
        "{c:?}"
    );
    assert!((c.se / out["treatment_se"] - 1.0).abs() < 1e-8, "{c:?}");
    let carry = told
        .checks
        .iter()
        .find(|c| c.check.starts_with("carry-over"))
        .unwrap();
    assert!(
        (carry.p.unwrap() / out["carry_over_p"] - 1.0).abs() < 1e-8,
        "{carry:?}"
    );
    out
}

fn williams() -> Answers {
    let csv = data("j03_williams.csv");
    let mut out = mixed(
        &csv,
        "y",
        &["period", "treatment"],
        1,
        &[&["dog"]],
        &["period", "treatment"],
    );
    let y = csv.numbers("y");
    let (base, _) = dummies(&csv, &["dog", "period"]);
    let (treat, names) = dummies(&csv, &["treatment"]);
    let t = factor(&csv, "treatment");
    let carry: Vec<Vec<f64>> = (1..t.levels.len())
        .map(|l| {
            csv.text("carry")
                .iter()
                .map(|c| {
                    f64::from(u8::from(*c == t.levels[l])) - f64::from(u8::from(*c == t.levels[0]))
                })
                .collect()
        })
        .collect();
    let build = |parts: &[&[Vec<f64>]]| {
        let mut columns = vec![vec![1.0; y.len()]];
        for p in parts {
            columns.extend(p.iter().cloned());
        }
        fit(&columns, &y)
    };
    let (all, no_treat, no_carry, neither) = (
        build(&[&base, &treat, &carry]),
        build(&[&base, &carry]),
        build(&[&base, &treat]),
        build(&[&base]),
    );
    let f = |small: &least_squares::Fit, large: &least_squares::Fit| {
        let df = small.df - large.df;
        let f = (small.rss - large.rss) / df / large.variance().unwrap();
        (f, f_above(f, df, large.df), df)
    };
    let (a, b, c) = (
        f(&no_treat, &all),
        f(&no_carry, &all),
        f(&neither, &no_carry),
    );
    for (what, v) in [
        ("F_treatment_adjusted_for_carry", a.0),
        ("p_treatment_adjusted_for_carry", a.1),
        ("F_carry", b.0),
        ("carry_df1", b.2),
        ("df_error", all.df),
        ("p_carry", b.1),
        ("F_treatment_without_carry", c.0),
        ("p_treatment_without_carry", c.1),
    ] {
        out.insert(what.into(), v);
    }
    for (i, name) in names.iter().enumerate() {
        let at = 1 + base.len() + i;
        out.insert(
            format!("diff_adjusted_for_carry[{name}]"),
            all.coefficients[at].unwrap(),
        );
        out.insert(
            format!("diff_adjusted_for_carry_se[{name}]"),
            all.standard_errors[at].unwrap(),
        );
        out.insert(
            format!("diff_without_carry[{name}]"),
            no_carry.coefficients[at].unwrap(),
        );
        out.insert(
            format!("diff_without_carry_se[{name}]"),
            no_carry.standard_errors[at].unwrap(),
        );
    }
    let told = analyse(&csv.table(), &AnalysisRequest::of("y")).unwrap();
    let line = told.table.iter().find(|l| l.term == "treatment").unwrap();
    assert!((line.f.unwrap() / c.0 - 1.0).abs() < 1e-8, "{line:?}");
    let check = told
        .checks
        .iter()
        .find(|c| c.check.starts_with("carry-over"))
        .unwrap();
    assert!(
        (check.statistic.unwrap() / b.0 - 1.0).abs() < 1e-8,
        "{check:?}"
    );
    out
}

fn ranked(file: &str) -> Answers {
    let csv = data(file);
    let (y, dog, t) = (
        csv.numbers("y"),
        factor(&csv, "dog"),
        factor(&csv, "treatment"),
    );
    let mut table = vec![vec![None; t.levels.len()]; dog.levels.len()];
    for i in 0..y.len() {
        table[dog.codes[i]][t.codes[i]] = Some(y[i]);
    }
    let mut out = Answers::new();
    let s = skillings_mack(&table).unwrap();
    out.insert("skillings_mack".into(), s.test.statistic);
    out.insert("skillings_mack_df".into(), s.test.df);
    out.insert("skillings_mack_p".into(), s.test.p);
    for (l, v) in t.levels.iter().zip(&s.adjusted_sums) {
        out.insert(format!("skillings_mack_adjusted_sum[{l}]"), *v);
    }
    let whole: Option<Vec<Vec<f64>>> = table.iter().map(|r| r.iter().copied().collect()).collect();
    if let Some(whole) = whole {
        let f = friedman(&whole).unwrap();
        let (b, k) = (whole.len() as f64, t.levels.len() as f64);
        out.insert("friedman".into(), f.statistic);
        out.insert("friedman_df".into(), f.df);
        out.insert("friedman_p".into(), f.p);
        out.insert("kendall_W".into(), f.statistic / (b * (k - 1.0)));
        out.insert(
            "friedman_p_exact".into(),
            friedman_exact(&whole, ALL).unwrap(),
        );
        let p = page(&whole, ALL).unwrap();
        out.insert("page_L".into(), p.l);
        out.insert("page_E".into(), p.expected);
        out.insert("page_z_tie_variance".into(), p.z);
        out.insert("page_p_exact".into(), p.p_exact.unwrap());
        let plain = b * k * k * (k + 1.0) * (k + 1.0) * (k - 1.0) / 144.0;
        let z = (p.l - p.expected) / plain.sqrt();
        out.insert("page_Var_no_ties".into(), plain);
        out.insert("page_z_no_tie_correction".into(), z);
        out.insert(
            "page_p_normal".into(),
            trials::stats::distribution::normal_below(-z),
        );
        for (j, l) in t.levels.iter().enumerate() {
            let sum: f64 = whole
                .iter()
                .map(|r| trials::stats::ranks::mid_ranks(r).0[j])
                .sum();
            out.insert(format!("rank_sum[{l}]"), sum);
        }
    }
    out
}

/// Sums of orderings looked through at most.
const ALL: usize = 10_000_000;

fn questions(asked: &[(&str, &[(&str, f64)])]) -> Answers {
    let csv = data("k01_unbal.csv");
    let contrasts = asked
        .iter()
        .map(|(name, weights)| WantedContrast {
            name: (*name).into(),
            weights: weights.iter().map(|(l, w)| ((*l).into(), *w)).collect(),
        })
        .collect();
    let told = analyse(
        &csv.table(),
        &AnalysisRequest {
            contrasts,
            variances: Variances::Equal,
            ..AnalysisRequest::of("y")
        },
    )
    .unwrap();
    let mut out = Answers::new();
    for c in &told.contrasts {
        for (what, v) in [
            ("estimate", c.estimate),
            ("se", c.se),
            ("p_unadjusted", c.p),
            ("p_holm", c.p_holm),
            ("p_scheffe", c.p_scheffe),
            ("holm_2M_low95", c.low95_holm),
            ("holm_2M_high95", c.high95_holm),
            ("p_single_step", c.p_together.unwrap_or(f64::NAN)),
            ("low95_single_step", c.low95_together.unwrap_or(f64::NAN)),
            ("high95_single_step", c.high95_together.unwrap_or(f64::NAN)),
        ] {
            out.insert(format!("{what}[{}]", c.name), v);
        }
        out.insert("df".into(), c.df.unwrap());
        out.insert(
            "crit95_single_step".into(),
            (c.high95_together.unwrap_or(f64::NAN) - c.estimate) / c.se,
        );
    }
    out
}

/// The bound `c·shape(t)` of evenly spaced looks that spends `alpha` in all (Pocock 1977, O'Brien and
/// Fleming 1979).
fn even_bound(looks: usize, alpha: f64, two_sided: bool, shape: impl Fn(f64) -> f64) -> f64 {
    let times: Vec<f64> = (1..=looks).map(|k| k as f64 / looks as f64).collect();
    root_between(
        |c| {
            let bounds: Vec<f64> = times.iter().map(|t| c * shape(*t)).collect();
            alpha - crossing(&bounds, &times, two_sided).iter().sum::<f64>()
        },
        0.5,
        6.0,
    )
}

fn looks() -> (Answers, Answers) {
    let (mut one, mut two) = (Answers::new(), Answers::new());
    for (sided, word, alphas) in [(true, "two", [0.05, 0.01]), (false, "one", [0.05, 0.025])] {
        for alpha in alphas {
            for k in 2..=5 {
                let tag = format!("[K={k},alpha={alpha},{word}-sided]");
                let p = even_bound(k, alpha, sided, |_| 1.0);
                let o = even_bound(k, alpha, sided, |t| 1.0 / t.sqrt());
                one.insert(format!("pocock_C{tag}"), p);
                let tail = trials::stats::distribution::normal_below(-p);
                one.insert(
                    format!("pocock_nominal_p{tag}"),
                    if sided { 2.0 * tail } else { tail },
                );
                one.insert(format!("obrien_fleming_C{tag}"), o);
                for look in 1..=k {
                    one.insert(
                        format!("obrien_fleming_z_look{look}{tag}"),
                        o * (k as f64 / look as f64).sqrt(),
                    );
                }
            }
        }
    }
    let mut plans: Vec<(Spending, &str, usize, bool)> = Vec::new();
    for k in 2..=5 {
        plans.push((Spending::LateLikeOBrienFleming, "obf", k, true));
        plans.push((Spending::EvenLikePocock, "pocock", k, true));
    }
    plans.push((Spending::LateLikeOBrienFleming, "obf", 4, false));
    for (how, word, k, sided) in plans {
        let times: Vec<f64> = (1..=k).map(|i| i as f64 / k as f64).collect();
        let shown: Vec<String> = times
            .iter()
            .map(|t| {
                let s = format!("{t:.4}");
                s.trim_end_matches('0').trim_end_matches('.').to_string()
            })
            .collect();
        let tag = format!(
            "[{word},alpha=0.05,{}-sided,t={}]",
            if sided { "two" } else { "one" },
            shown.join("/")
        );
        for (i, look) in spend(how, &times, 0.05, sided).iter().enumerate() {
            two.insert(format!("z_look{}{tag}", i + 1), look.z);
            two.insert(format!("spent_look{}{tag}", i + 1), look.spent);
        }
    }
    (one, two)
}

fn shelf(file: &str, limit: f64, side: Side, level: f64) -> Answers {
    let csv = data(file);
    let batch = factor(&csv, "batch");
    let found = keeping(
        &batch.codes,
        &csv.numbers("month"),
        &csv.numbers("y"),
        limit,
        side,
        level,
    )
    .unwrap();
    let mut out = Answers::new();
    for (what, v) in [
        ("F_slopes", found.slopes.f),
        ("p_slopes", found.slopes.p),
        ("F_intercepts_full_model_error", found.starts.f),
        ("p_intercepts_full_model_error", found.starts.p),
        ("F_intercepts_reduced_error", found.starts_reduced.f),
        ("p_intercepts_reduced_error", found.starts_reduced.p),
        ("common_intercept", found.common.start),
        ("common_slope", found.common.slope),
        ("parallel_slope", found.parallel[0].slope),
        ("sigma2_full", found.variance),
        (
            "chosen_model",
            match found.lines {
                Lines::Common => 1.0,
                Lines::Parallel => 2.0,
                Lines::Separate => 3.0,
            },
        ),
    ] {
        out.insert(what.into(), v);
    }
    let mut put = |name: String, v: Option<f64>| {
        if let Some(v) = v {
            out.insert(name, v);
        }
    };
    put("shelf_common".into(), found.common.keeps);
    put("shelf_chosen".into(), found.keeps);
    let least = |all: Vec<Option<f64>>| all.into_iter().flatten().reduce(f64::min);
    put(
        "shelf_parallel_min".into(),
        least(found.parallel.iter().map(|l| l.keeps).collect()),
    );
    put(
        "shelf_full_pooled_error_min".into(),
        least(found.separate.iter().map(|l| l.keeps).collect()),
    );
    put(
        "shelf_batch_alone_min".into(),
        least(
            found
                .alone
                .iter()
                .map(|l| l.and_then(|l| l.keeps))
                .collect(),
        ),
    );
    for (i, b) in batch.levels.iter().enumerate() {
        put(
            format!("parallel_intercept[{b}]"),
            Some(found.parallel[i].start),
        );
        put(format!("own_slope[{b}]"), Some(found.separate[i].slope));
        put(format!("own_intercept[{b}]"), Some(found.separate[i].start));
        put(format!("shelf_parallel[{b}]"), found.parallel[i].keeps);
        put(
            format!("shelf_full_pooled_error[{b}]"),
            found.separate[i].keeps,
        );
        put(
            format!("shelf_batch_alone[{b}]"),
            found.alone[i].and_then(|l| l.keeps),
        );
    }
    out
}

fn these_days() -> Answers {
    let csv = data("b06_treat_day.csv");
    let mut out = Answers::new();
    for (claim, word) in [(Claim::These, "these_days"), (Claim::New, "new_days")] {
        let told = analyse(
            &csv.table(),
            &AnalysisRequest {
                claim,
                ..AnalysisRequest::of("y")
            },
        )
        .unwrap();
        let line = |n: &str| {
            told.table
                .iter()
                .find(|l| l.term == n)
                .unwrap_or_else(|| panic!("{n} {:?}", told.table))
        };
        out.insert(format!("F_{word}[treatment]"), line("treatment").f.unwrap());
        out.insert(format!("p_{word}[treatment]"), line("treatment").p.unwrap());
        if claim == Claim::These {
            let both = told.table.iter().find(|l| l.term.contains(':')).unwrap();
            out.insert("F[treatment:day]".into(), both.f.unwrap());
            out.insert("p[treatment:day]".into(), both.p.unwrap());
            out.insert("df_error".into(), line("residual").df);
            for c in &told.comparisons {
                for (a, b, sign) in [(&c.a, &c.b, 1.0), (&c.b, &c.a, -1.0)] {
                    out.insert(format!("diff[{a} - {b}]"), sign * c.difference);
                    out.insert(format!("diff_se[{a} - {b}]"), c.se);
                    out.insert(
                        format!("diff_p_unadjusted[{a} - {b}]"),
                        t_two_sided(c.difference / c.se, c.df.unwrap()),
                    );
                }
            }
        }
        let word = if claim == Claim::These {
            "only for"
        } else {
            "for a new day"
        };
        assert!(told.sentence.contains(word), "{}", told.sentence);
    }
    out
}

fn text_levels() -> Answers {
    let csv = data("b14_text_levels.csv");
    let told = analyse(
        &csv.table(),
        &AnalysisRequest {
            blocks: vec!["block".into()],
            ..AnalysisRequest::of("y")
        },
    )
    .unwrap();
    let mut out = Answers::new();
    out.insert("levels_treatment".into(), told.means.len() as f64);
    let line = |n: &str| told.table.iter().find(|l| l.term == n).unwrap();
    out.insert("levels_block".into(), line("block").df + 1.0);
    out.insert("F[treatment]".into(), line("treatment").f.unwrap());
    out.insert("df1".into(), line("treatment").df);
    out.insert("df2".into(), line("residual").df);
    out.insert("p".into(), line("treatment").p.unwrap());
    for m in &told.means {
        out.insert(format!("mean[{}]", m.level), m.mean.unwrap());
        out.insert("mean_se".into(), m.se.unwrap());
    }
    out
}

fn answers(id: &str) -> Option<Answers> {
    let unit: &[&[&str]] = &[&["batch"]];
    let split: &[&[&str]] = &[&["day", "oven"], &["day"]];
    Some(match id {
        "a01" => days(&data("a01_batch_day.csv"), "y", unit),
        "a02" => days(&data("a02_batch_day_lost.csv"), "y", unit),
        "a03" => days(&data("a03_six_batches_five_days.csv"), "y", unit),
        "a04" => days(&data("a04_orthodont.csv"), "y", &[&["dog"]]),
        "a05" => days(
            &data("a05_dog_food_day.csv"),
            "y",
            &[&["dog", "treatment"], &["dog"]],
        ),
        "a06" | "a07" => {
            let csv = data("a06_sleepstudy.csv");
            let x = csv.numbers("day");
            let columns = vec![vec![1.0; x.len()], x.clone()];
            let codes = factor(&csv, "dog").codes;
            let random = if id == "a06" {
                RandomTerm::intercept("dog", codes)
            } else {
                RandomTerm::with_slope("dog", codes, x)
            };
            let (mut out, model) =
                regression(&columns, &["(Intercept)", "day"], &csv.numbers("y"), random);
            if id == "a07" {
                let v = |i: usize| model.components[i].value;
                out.insert("variance[dog:day]".into(), v(2));
                out.insert("variance[dog:cov]".into(), v(1));
            }
            out
        }
        "a08" => serial("a08_ar1.csv", false),
        "a09" => serial("a09_ar1_lost.csv", false),
        "a10" => serial("a10_unit_ar1.csv", true),
        "b01" | "b02" => mixed(
            &data(if id == "b01" {
                "b01_oats.csv"
            } else {
                "b02_oats_lost.csv"
            }),
            "yield",
            &["variety", "nitro"],
            2,
            &[&["block", "variety"], &["block"]],
            &["variety", "nitro"],
        ),
        "b03" => mixed(
            &data("b03_cake.csv"),
            "angle",
            &["recipe", "temperature"],
            2,
            &[&["replicate", "recipe"], &["replicate"]],
            &["recipe", "temperature"],
        ),
        "b04" => mixed(
            &data("b04_split_zero_wp.csv"),
            "y",
            &["oven", "formula"],
            2,
            split,
            &["oven", "formula"],
        ),
        "b05" => mixed(
            &data("b05_split_zero_block.csv"),
            "y",
            &["oven", "formula"],
            2,
            split,
            &["oven", "formula"],
        ),
        "b06" => mixed(
            &data("b06_treat_day.csv"),
            "y",
            &["treatment"],
            1,
            &[&["day", "treatment"], &["day"]],
            &["treatment"],
        ),
        "b07" => these_days(),
        "b08" => mixed(
            &data("b08_treat_day_lost.csv"),
            "y",
            &["treatment"],
            1,
            &[&["day", "treatment"], &["day"]],
            &["treatment"],
        ),
        "b09" => mixed(
            &data("b09_pieces.csv"),
            "force",
            &["treatment"],
            1,
            &[&["batch"], &["day", "treatment"], &["day"]],
            &["treatment"],
        ),
        "b10" => mixed(
            &data("b09_pieces.csv"),
            "force",
            &["treatment"],
            1,
            &[&["batch"], &["day"]],
            &["treatment"],
        ),
        "b11" => mixed(
            &data("b11_penicillin.csv"),
            "diameter",
            &[],
            1,
            &[&["plate"], &["sample"]],
            &[],
        ),
        "b12" => mixed(
            &data("b12_penicillin_lost.csv"),
            "diameter",
            &["sample"],
            1,
            &[&["plate"]],
            &["sample"],
        ),
        "b13" => mixed(
            &data("b13_machines.csv"),
            "score",
            &["machine"],
            1,
            &[&["worker", "machine"], &["worker"]],
            &["machine"],
        ),
        "b14" => text_levels(),
        "c01" => trend("c01_trend_pieces.csv"),
        "c02" => trend("c02_trend_pieces_lost.csv"),
        "c03" => surface(),
        "d01" => scores("d01_wine.csv", "rating", &["temp", "contact"], None),
        "d02" => scores("d01_wine.csv", "rating", &["temp"], None),
        "d03" => scores(
            "d01_wine.csv",
            "rating",
            &["temp", "contact"],
            Some("judge"),
        ),
        "d04" => scores("d04_soup.csv", "sureness", &["prod"], None),
        "d05" => scores("d04_soup.csv", "sureness", &["prod"], Some("resp")),
        "d06" => scores("d06_dogs.csv", "rating", &["treatment"], Some("dog")),
        "d07" => scores("d07_dogs.csv", "rating", &["treatment"], Some("dog")),
        "e01" => mixed_counts("e01_cbpp.csv", "period", "herd"),
        "e02" => mixed_counts("e02_broken.csv", "treatment", "batch"),
        "e03" => mixed_counts("e03_broken_blocks.csv", "treatment", "day"),
        "e04" => beta_counts("e02_broken.csv"),
        "e05" => beta_counts("e05_broken.csv"),
        "e06" => firth("e06_zero_cell.csv"),
        "e07" => firth("e07_zero_cell.csv"),
        "e08" => dealt("e08_perm33.csv", None),
        "e09" => dealt("e06_zero_cell.csv", None),
        "e10" => dealt("e10_perm333.csv", None),
        "e11" => dealt("e07_zero_cell.csv", None),
        "e12" => dealt("e12_permblock.csv", Some("day")),
        "e13" => bootstrap(),
        "f01" => unequal("f01_unequal.csv", "ctl"),
        "f02" => unequal("f02_insectsprays.csv", "C"),
        "f03" => unequal("f03_few.csv", "ctl"),
        "g01" => margins("g01_plantgrowth.csv", "ctrl", 0.8, Better::Higher),
        "g02" => margins("g01_plantgrowth.csv", "ctrl", 0.8, Better::Lower),
        "g03" => margins("g03_better.csv", "control", 5.0, Better::Higher),
        "g04" => margin_of(
            "a02_batch_day_lost.csv",
            6.0,
            "control",
            AnalysisRequest::of("y"),
        ),
        "g05" => margin_of(
            "b08_treat_day_lost.csv",
            4.0,
            "ctl",
            AnalysisRequest::of("y"),
        ),
        "g06" => two_shares(),
        "i01" => covariate("i01_anorexia.csv"),
        "i02" => covariate("i02_covariate.csv"),
        "i03" => rates("i03_insectsprays.csv", None),
        "i04" => rates("i04_quine.csv", None),
        "i05" => rates("i05_cracks.csv", Some("exposure")),
        "j01" => crossover("j01_crossover.csv"),
        "j02" => crossover("j02_crossover.csv"),
        "j03" => williams(),
        "j04" => ranked("j04_skillings_mack.csv"),
        "j05" => ranked("j05_skillings_mack.csv"),
        "j06" => ranked("j06_ranks.csv"),
        "j07" => ranked("j07_ties.csv"),
        "k01" => questions(&[
            ("B - A", &[("B", 1.0), ("A", -1.0)]),
            ("C - A", &[("C", 1.0), ("A", -1.0)]),
            ("D - A", &[("D", 1.0), ("A", -1.0)]),
            ("C - B", &[("C", 1.0), ("B", -1.0)]),
            ("D - B", &[("D", 1.0), ("B", -1.0)]),
            ("D - C", &[("D", 1.0), ("C", -1.0)]),
        ]),
        "k02" => questions(&[
            (
                "others - A",
                &[
                    ("A", -1.0),
                    ("B", 1.0 / 3.0),
                    ("C", 1.0 / 3.0),
                    ("D", 1.0 / 3.0),
                ],
            ),
            ("C - B", &[("C", 1.0), ("B", -1.0)]),
            ("D - B", &[("D", 1.0), ("B", -1.0)]),
            (
                "CD - AB",
                &[("A", -0.5), ("B", -0.5), ("C", 0.5), ("D", 0.5)],
            ),
        ]),
        "k03" => questions(&[
            ("B - A", &[("B", 1.0), ("A", -1.0)]),
            ("C - A", &[("C", 1.0), ("A", -1.0)]),
            ("D - A", &[("D", 1.0), ("A", -1.0)]),
        ]),
        "l01" => looks().0,
        "l02" => looks().1,
        "m01" => shelf("m01_potency.csv", 95.0, Side::Lower, 0.95),
        "m02" => shelf("m02_potency.csv", 95.0, Side::Lower, 0.95),
        "m03" => shelf("m03_potency.csv", 95.0, Side::Lower, 0.95),
        "m04" => shelf("m04_moisture.csv", 3.5, Side::Upper, 0.975),
        "m05" => shelf("m05_rise.csv", 1.0, Side::Upper, 0.95),
        _ => return None,
    })
}

#[test]
fn analyses_agree_with_independent_values() {
    let (folder, given) = folder();
    let text = std::fs::read_to_string(folder.join("reference.json")).unwrap();
    let reference: serde_json::Value = serde_json::from_str(&text).unwrap();
    let (mut passed, mut compared, mut apart, mut unknown) = (0, 0, Vec::new(), Vec::new());
    // Within tolerance with no refit in the place of the reference's own value.
    let mut as_written = 0;
    let mut all = 0;
    for analysis in reference.as_array().unwrap() {
        let id = analysis["id"].as_str().unwrap();
        if std::env::var("HARDTACK_TRIALS_ONE").is_ok_and(|one| one != id) {
            continue;
        }
        all += 1;
        let Some(answers) = answers(id) else {
            unknown.push(id.to_string());
            continue;
        };
        let quantities = analysis["quantities"].as_array().unwrap();
        let value = |name: &str| {
            quantities
                .iter()
                .find(|q| q["name"] == name)
                .and_then(|q| q["value"].as_f64())
        };
        let (mut own, mut wrong) = (0, Vec::new());
        let mut written = true;
        for q in quantities {
            let name = q["name"].as_str().unwrap();
            let Some(want) = q["value"].as_f64() else {
                continue;
            };
            if name.starts_with("WRONG_") {
                for (told, v) in answers.iter().filter(|(k, _)| k.starts_with("TOLD_")) {
                    assert!(
                        (v / want - 1.0).abs() > 0.01,
                        "{id}: {told} is the wrong {name}"
                    );
                }
                continue;
            }
            let Some(found) = answers.get(name) else {
                continue;
            };
            let rtol = q["rtol"].as_f64().unwrap_or(1e-8);
            let mut room = rtol * want.abs() + q["atol"].as_f64().unwrap_or(0.0);
            // A value near zero: judged by its standard error.
            for (value_name, se_name) in [
                ("diff", "diff_se"),
                ("mean", "mean_se"),
                ("fixed", "fixed_se_KR"),
                ("diff_low95", "diff_se"),
                ("diff_high95", "diff_se"),
                ("diff", "diff_se_KR"),
                ("coef", "se"),
            ] {
                if let Some(rest) = name.strip_prefix(value_name).filter(|r| r.starts_with('['))
                    && let Some(se) = value(&format!("{se_name}{rest}"))
                {
                    room = room.max(1e-6 * se);
                }
            }
            // Where the reference itself is known to be less exact than its tolerance says: rational
            // arithmetic on the same tables gives our digits (2.09269443397891 and 2.31554889549770
            // for the quasi-binomial spread, 0.0468596593602540 for c01's bend); an adjusted
            // p-value can't lie below the plain one, as the studentised range on 2 degrees of freedom
            // would have it; and numeric curvatures agree to a few millionths.
            let known = |start: &str, rtol: f64| {
                if name.starts_with(start) {
                    rtol * want.abs()
                } else {
                    0.0
                }
            };
            room = room
                .max(known("quasi_", 6e-8))
                .max(known("quadratic_KR_F", 2e-6))
                .max(known("diff_t[", 1e-6))
                .max(known("diff_p", 1e-6))
                .max(known("p_", 1e-6));
            if id.starts_with("d0") {
                room = room
                    .max(known("se[", 3e-6))
                    .max(known("z[", 3e-6))
                    .max(known("p_wald[", 1e-5))
                    .max(2e-5 * f64::from(u8::from(name.starts_with("z["))));
            }
            if let Some(rest) = name.strip_prefix("p_games_howell")
                && value(&format!("p_welch_unadjusted{rest}")).is_some_and(|p| p > want)
            {
                continue;
            }
            if id == "f03" {
                room = room.max(known("games_howell", 2e-5));
            }
            if name.starts_with("low95_single") || name.starts_with("high95_single") {
                let rest = &name[name.find('[').unwrap()..];
                room = room.max(2e-4 * value(&format!("se{rest}")).unwrap());
            }
            if name.starts_with("p_single_step") {
                // The reference is itself a quasi-random integral.
                room = room.max(1e-5);
            }
            if name.starts_with("variance[") {
                room = room.max(1e-9);
            }
            own += 1;
            written &= (found - want).abs() <= room;
            let refit = REFITS.iter().find(|r| r.id == id);
            let (want, room) = refit
                .and_then(|r| r.value(name))
                .map_or((want, room), |(v, near)| (v, rtol * v.abs() + near));
            if (found - want).abs() > room {
                wrong.push(format!("{id} {name}: {found} for {want} (room {room:.1e})"));
            }
        }
        compared += own;
        as_written += usize::from(own > 0 && written);
        if own > 0 && wrong.is_empty() {
            passed += 1;
        } else {
            wrong.truncate(6);
            apart.push(format!(
                "{id}: {} of {own}: {}",
                wrong.len(),
                wrong.join("; ")
            ));
        }
    }
    let said = format!(
        "{passed} of {all} analyses ({as_written} with no refit), {compared} values; not known: {unknown:?}\n{}",
        apart.join("\n")
    );
    if given {
        println!("{said}");
        std::fs::write(std::env::temp_dir().join("second_reference.txt"), &said).unwrap();
    }
    assert!(
        apart.is_empty() && unknown.is_empty() && compared > 0,
        "{said}"
    );
}
