//! Models of amounts that were varied: a trend, a response surface, a mixture; with predictions
//! inside the tried region only.

use super::rows::rows_in_words;
use super::structure::{is_time, numbers_of, unit_column};
use super::table::{Cell, Table};
use crate::Code;
use crate::stats::distribution::t_two_sided;
use crate::stats::least_squares::Fit;
use crate::stats::mixed::{Mixed, RandomTerm};
use crate::stats::mixture::{Degree, Mixture, Prediction, explained, nested_test};
use crate::stats::region::Outside;
use crate::stats::surface::{Canonical, Shape, Surface};
use crate::stats::{design::Factor, least_squares};
use measure::{Finding, Severity};
use serde::Serialize;

/// Units that can have slopes of their own.
const MOST_SLOPES: usize = 300;

/// A coefficient of a model.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CoefficientLine {
    /// The term, in the columns' names.
    pub term: String,
    /// The estimate; null when it can't be told from others.
    pub estimate: Option<f64>,
    /// Its standard error.
    pub se: Option<f64>,
    /// Degrees of freedom.
    pub df: Option<f64>,
    /// Estimate over standard error.
    pub t: Option<f64>,
    /// p-value.
    pub p: Option<f64>,
}

/// A fitted model of amounts.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ModelReport {
    /// The response.
    pub response: String,
    /// The method, in words.
    pub method: String,
    /// Coefficients.
    pub coefficients: Vec<CoefficientLine>,
    /// Residual standard deviation; null where nothing is left to judge by.
    pub residual_sd: Option<f64>,
    /// Residual degrees of freedom.
    pub residual_df: f64,
    /// Share of the variation about the mean explained; null where nothing varies.
    pub r2: Option<f64>,
    /// Lack of fit beside repeated points: F, p-value; null without repeats.
    pub lack_of_fit: Option<(f64, f64)>,
    /// What it says.
    pub sentence: String,
    /// What to know beside it.
    pub findings: Vec<Finding>,
}

fn stop(code: Code, about: &str, message: String, help: &str) -> Vec<Finding> {
    vec![Finding::new(Severity::Stop, code, about, message).help(help)]
}

/// Points and responses, one line per experimental unit, and the rows of the file behind each.
struct Points {
    x: Vec<Vec<f64>>,
    y: Vec<f64>,
    rows: Vec<usize>,
    /// Unit of each line, and whether lines are single values of units that have several.
    unit: Option<(String, Vec<usize>)>,
}

/// Reads the points. Where a column tells units apart, pieces of a unit are averaged, unless
/// `keep` asks for them one by one.
fn points(
    table: &Table,
    response: &str,
    variables: &[String],
    unit: Option<&str>,
    keep: bool,
    findings: &mut Vec<Finding>,
) -> Result<Points, Vec<Finding>> {
    let y = numbers_of(table, response, "response")?;
    let mut columns = Vec::with_capacity(variables.len());
    for name in variables {
        columns.push(numbers_of(table, name, "variable")?);
    }
    let mut used: Vec<&str> = variables.iter().map(String::as_str).collect();
    used.push(response);
    let found = match unit {
        Some(name) => Some((name, false)),
        None => unit_column(table, &used),
    };
    let labels: Option<Vec<Option<String>>> = match found {
        Some((name, false)) => {
            let column = table.column(name).ok_or_else(|| {
                stop(
                    Code::NoSuchColumn,
                    name,
                    format!("there is no column {name} for the unit"),
                    "name one of the columns",
                )
            })?;
            Some(column.cells.iter().map(Cell::label).collect())
        }
        _ => None,
    };
    let (mut x, mut values, mut rows, mut of) = (vec![], vec![], vec![], vec![]);
    let (mut missing, mut empty) = (vec![], vec![]);
    for (at, value) in y.iter().enumerate() {
        let own: Option<Vec<f64>> = columns.iter().map(|c| c[at]).collect();
        match (own, value) {
            (Some(own), Some(value)) => {
                match &labels {
                    Some(labels) => match &labels[at] {
                        Some(label) => of.push(label.clone()),
                        None => empty.push(table.row_numbers[at]),
                    },
                    // Pieces without a unit: those of one setting are one batch's.
                    None if found.is_some() => of.push(format!("{own:?}")),
                    None => of.push(at.to_string()),
                }
                x.push(own);
                values.push(*value);
                rows.push(table.row_numbers[at]);
            }
            _ => missing.push(table.row_numbers[at]),
        }
    }
    if !missing.is_empty() {
        findings.push(Finding::new(
            Severity::Warn,
            Code::MissingValues,
            response,
            format!(
                "a value is missing in {}; left out",
                rows_in_words(&missing)
            ),
        ));
    }
    if !empty.is_empty() {
        let name = found.map_or("", |f| f.0);
        return Err(stop(
            Code::EmptyCell,
            name,
            format!("column {name} is empty in {}", rows_in_words(&empty)),
            "fill in which it was, or remove the row",
        ));
    }
    if values.is_empty() {
        return Err(stop(
            Code::TooFewRows,
            response,
            "no row has all its values".into(),
            "fill in the variables and the response",
        ));
    }
    let Some((name, pieces)) = found else {
        findings.push(
            Finding::new(
                Severity::Note,
                Code::EachRowAUnit,
                "unit",
                "each row was taken as mixed and baked on its own",
            )
            .help("if several rows are pieces of one batch, name the batch column: pieces are not replicates, and the intervals here would be too narrow"),
        );
        return Ok(Points {
            x,
            y: values,
            rows,
            unit: None,
        });
    };
    // A unit is one setting of one label; batches may be numbered afresh at every setting. Only
    // along time is a label the same unit measured again.
    let again = variables.len() == 1 && is_time(&variables[0]);
    let key: Vec<String> = of
        .iter()
        .zip(&x)
        .map(|(label, own)| {
            if again {
                label.clone()
            } else {
                format!("{label} {own:?}")
            }
        })
        .collect();
    let labels = Factor::new("label", &of);
    let units = Factor::new(name, &key);
    if !again && !pieces && units.levels.len() > labels.levels.len() {
        if keep && unit.is_some() {
            // Told outright as what was measured again: each label is one unit.
            return Ok(Points {
                x,
                y: values,
                rows,
                unit: Some((name.into(), labels.codes)),
            });
        }
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::UnitLabelsRepeat,
                name,
                format!("the same {name} numbers occur at several settings; they were taken as numbered afresh at each"),
            )
            .help(format!("if one {name} really got several settings, name it with --unit")),
        );
    }
    let several = units.levels.len() < values.len();
    if pieces {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::PiecesAveraged,
                name,
                "no column tells the batches apart, so the pieces of a setting were averaged as one batch",
            )
            .help("name the column that says what was mixed and baked on its own"),
        );
    }
    if !several {
        return Ok(Points {
            x,
            y: values,
            rows,
            unit: None,
        });
    }
    if again || (keep && !pieces) {
        return Ok(Points {
            x,
            y: values,
            rows,
            unit: Some((name.into(), units.codes)),
        });
    }
    let mut out = Points {
        x: vec![],
        y: vec![],
        rows: vec![],
        unit: None,
    };
    let mut members: Vec<Vec<usize>> = vec![vec![]; units.levels.len()];
    for (row, &code) in units.codes.iter().enumerate() {
        members[code].push(row);
    }
    for own in members {
        let mean = crate::stats::moments::mean(&own.iter().map(|&i| values[i]).collect::<Vec<_>>());
        if let (Some(&first), Some(mean)) = (own.first(), mean) {
            out.x.push(x[first].clone());
            out.y.push(mean);
            out.rows.push(rows[first]);
        }
    }
    findings.push(Finding::new(
        Severity::Note,
        Code::PiecesAveragedByUnit,
        name,
        format!(
            "{} rows were averaged to {} units ({name}): pieces are not replicates",
            values.len(),
            out.y.len()
        ),
    ));
    Ok(out)
}

fn coefficient_lines(fit: &Fit, names: &[String]) -> Vec<CoefficientLine> {
    names
        .iter()
        .enumerate()
        .map(|(i, term)| {
            let (estimate, se) = (fit.coefficients[i], fit.standard_errors[i]);
            let t = estimate
                .zip(se)
                .map(|(b, s)| b / s)
                .filter(|t| t.is_finite());
            CoefficientLine {
                term: term.clone(),
                estimate,
                se: se.filter(|s| s.is_finite()),
                df: Some(fit.df),
                t,
                p: t.map(|t| t_two_sided(t, fit.df)).filter(|p| p.is_finite()),
            }
        })
        .collect()
}

/// Lack of fit against repeated points.
fn lack_of_fit(x: &[Vec<f64>], y: &[f64], fit: &Fit) -> Option<(f64, f64)> {
    let labels: Vec<String> = x.iter().map(|p| format!("{p:?}")).collect();
    let places = Factor::new("point", &labels);
    let pure = crate::stats::one_way::one_way(&places.codes, y, places.levels.len());
    let df_pure = pure.test.denominator_df;
    let df = fit.df - df_pure;
    if df_pure < 1.0 || df < 1.0 || pure.within <= 0.0 {
        return None;
    }
    let f = ((fit.rss - pure.within).max(0.0) / df) / (pure.within / df_pure);
    Some((f, crate::stats::distribution::f_above(f, df, df_pure)))
}

/// Lack of fit of a line where units have several values: what the levels add after the line,
/// judged against units (Kenward–Roger).
fn lack_beside_units(
    columns: &[Vec<f64>],
    x: &[f64],
    y: &[f64],
    random: &[RandomTerm],
) -> Option<(f64, f64)> {
    let labels: Vec<String> = x.iter().map(f64::to_string).collect();
    let levels = Factor::new("level", &labels);
    if levels.levels.len() < 3 || levels.levels.len() > 60 {
        return None;
    }
    let mut all = columns.to_vec();
    for level in 2..levels.levels.len() {
        let dummy = levels
            .codes
            .iter()
            .map(|&c| f64::from(u8::from(c == level)));
        all.push(dummy.collect());
    }
    let model = Mixed::fit(&all, y, random).ok()?;
    let rows: Vec<Vec<f64>> = (2..all.len())
        .map(|at| {
            (0..all.len())
                .map(|k| f64::from(u8::from(k == at)))
                .collect()
        })
        .collect();
    let test = model.test(&rows)?;
    (test.f.is_finite() && test.p.is_finite()).then_some((test.f, test.p))
}

fn lack_words(lack: Option<(f64, f64)>, x: &[Vec<f64>]) -> &'static str {
    let repeated = (1..x.len()).any(|i| x[..i].contains(&x[i]));
    match lack {
        Some((_, p)) if p < 0.05 => {
            " The repeated points show that the model does not follow the response well enough."
        }
        Some(_) => " The repeated points give no sign that the model is too simple.",
        None if repeated => {
            " The model has a term for every point, so nothing is left to show whether it is too simple."
        }
        None => " No point was repeated, so the model could not be checked against pure error.",
    }
}

/// A fitted mixture with its report.
#[derive(Clone, Debug)]
pub struct MixtureModel {
    /// The report.
    pub report: ModelReport,
    /// The fit, for contours and predictions.
    pub model: Mixture,
    parts: Vec<String>,
}

/// Fits a mixture model of the parts (columns of fractions that sum to one; percentages are
/// carried to fractions).
pub fn fit_mixture(
    table: &Table,
    response: &str,
    parts: &[String],
    degree: Degree,
) -> Result<MixtureModel, Vec<Finding>> {
    let mut findings = Vec::new();
    let Points { mut x, y, rows, .. } = points(table, response, parts, None, false, &mut findings)?;
    let total = |p: &Vec<f64>| p.iter().sum::<f64>();
    if x.iter().all(|p| (total(p) - 100.0).abs() < 1e-4) {
        x = x
            .iter()
            .map(|p| p.iter().map(|v| v / 100.0).collect())
            .collect();
    }
    if let Some(at) = x.iter().position(|p| (total(p) - 1.0).abs() > 1e-6) {
        return Err(stop(
            Code::PartsDoNotSumToOne,
            &format!("row {}", rows[at]),
            format!("row {}: the parts sum to {}", rows[at], total(&x[at])),
            "give every part of the mixture as a fraction (or percentage) of the same whole; water that varies on its own is a process variable, not a part",
        ));
    }
    let model = Mixture::fit(&x, &y, degree).map_err(|e| {
        stop(
            Code::MixtureCannotBeFitted,
            response,
            e.to_string(),
            "make more blends, or fit a simpler model",
        )
    })?;
    let names: Vec<String> = model
        .terms
        .iter()
        .map(|t| {
            t.iter()
                .map(|&i| parts[i].as_str())
                .collect::<Vec<_>>()
                .join(" × ")
        })
        .collect();
    let bends = (degree != Degree::Linear)
        .then(|| Mixture::fit(&x, &y, Degree::Linear).ok())
        .flatten()
        .and_then(|linear| nested_test(&linear.fit, &model.fit));
    let lack = lack_of_fit(&x, &y, &model.fit);
    let best = names
        .iter()
        .take(parts.len())
        .zip(&model.fit.coefficients)
        .filter_map(|(n, c)| c.map(|c| (n, c)))
        .max_by(|a, b| a.1.total_cmp(&b.1));
    let mut sentence = best.map_or_else(String::new, |(name, value)| {
        format!("Of the pure parts {name} gives the highest {response}, {value:.3} by the model.")
    });
    if let Some(test) = bends {
        sentence += if test.p < 0.05 {
            " Blends do not simply average their parts."
        } else {
            " That blends do more than average their parts is not shown."
        };
    }
    sentence += lack_words(lack, &x);
    Ok(MixtureModel {
        report: ModelReport {
            response: response.into(),
            method: format!(
                "Scheffé mixture model of order {}, no intercept; R² against the mean",
                degree.order()
            ),
            coefficients: coefficient_lines(&model.fit, &names),
            residual_sd: model.fit.variance().map(f64::sqrt),
            residual_df: model.fit.df,
            r2: model.r2,
            lack_of_fit: lack,
            sentence,
            findings,
        },
        model,
        parts: parts.to_vec(),
    })
}

impl MixtureModel {
    /// The prediction at a blend (fractions); outside the tried region a finding says why not.
    ///
    /// - Rule: as `Mixture::predict`, refusals in words
    /// - Units: blend \[shares\], prediction \[as the response\]
    /// - Valid: inside the region that was tried
    /// - Source: as `Mixture::predict`
    ///
    /// ```
    /// use trials::analyse::{Cell, Table, model::fit_mixture};
    /// use trials::stats::mixture::Degree;
    /// let header = ["a", "b", "force"].map(String::from).to_vec();
    /// // 10 and 20 for the pure parts, 3 more than their mean half way.
    /// let runs = [[1.0, 0.0, 10.0], [0.0, 1.0, 20.0], [0.5, 0.5, 18.0], [0.25, 0.75, 19.75], [0.75, 0.25, 14.75]];
    /// let rows = runs.iter().enumerate().map(|(i, r)| (i + 2, r.map(Cell::Number).to_vec())).collect();
    /// let table = Table::from_rows(header, rows).unwrap();
    /// let found = fit_mixture(&table, "force", &["a".into(), "b".into()], Degree::Quadratic).unwrap();
    /// assert!((found.predict(&[0.5, 0.5]).unwrap().mean - 18.0).abs() < 1e-6);
    /// ```
    pub fn predict(&self, blend: &[f64]) -> Result<Prediction, Box<Finding>> {
        self.model
            .predict(blend)
            .map_err(|o| refusal(&o, &self.parts))
    }
}

fn refusal(outside: &Outside, names: &[String]) -> Box<Finding> {
    Box::new(
        Finding::new(
            Severity::Stop,
            Code::OutsideTheTriedRegion,
            "prediction",
            outside.words(names),
        )
        .help("predict inside the region that was tried, or try a point there"),
    )
}

/// A fitted response surface with its report.
#[derive(Clone, Debug)]
pub struct SurfaceModel {
    /// The report; coefficients in coded units, -1 to 1 over the tried range.
    pub report: ModelReport,
    /// The canonical analysis; none when the quadratic part is singular.
    pub canonical: Option<Canonical>,
    /// The stationary point in the variables' own units.
    pub stationary: Option<Vec<f64>>,
    /// The fit, for contours and predictions.
    pub model: Surface,
    variables: Vec<String>,
}

/// Fits the full quadratic of the variables.
pub fn fit_surface(
    table: &Table,
    response: &str,
    variables: &[String],
) -> Result<SurfaceModel, Vec<Finding>> {
    let mut findings = Vec::new();
    let Points { x, y, .. } = points(table, response, variables, None, false, &mut findings)?;
    let k = variables.len();
    let terms = 1 + 2 * k + k * (k.saturating_sub(1)) / 2;
    if y.len() <= terms {
        return Err(stop(
            Code::TooFewRows,
            response,
            format!(
                "{} batches can't fit {terms} terms and leave an error to judge by",
                y.len()
            ),
            "run a central composite or Box–Behnken plan",
        ));
    }
    let model = Surface::fit(&x, &y);
    let mut names = vec!["mean at the middle".to_string()];
    names.extend(variables.iter().cloned());
    names.extend(variables.iter().map(|v| format!("{v}²")));
    for i in 0..k {
        for j in i + 1..k {
            names.push(format!("{} × {}", variables[i], variables[j]));
        }
    }
    for (at, _) in &model.fit.aliased {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::NotEstimable,
                names[*at].clone(),
                format!("{} can't be told from the other terms", names[*at]),
            )
            .help("try points between the extremes of that variable"),
        );
    }
    let canonical = model
        .fit
        .aliased
        .is_empty()
        .then(|| model.canonical())
        .flatten();
    let stationary = canonical.as_ref().map(|c| {
        c.point
            .iter()
            .zip(&model.coding)
            .map(|(z, (middle, half))| middle + half * z)
            .collect::<Vec<f64>>()
    });
    let lack = lack_of_fit(&x, &y, &model.fit);
    let mut sentence = match (&canonical, &stationary) {
        (Some(c), Some(own)) => {
            let place: Vec<String> = variables
                .iter()
                .zip(own)
                .map(|(n, v)| format!("{n} {}", measure::rounding::significant(*v, 3)))
                .collect();
            let kind = match c.shape {
                Shape::Maximum => "is highest",
                Shape::Minimum => "is lowest",
                Shape::Saddle => "has a saddle (up one way, down another)",
                Shape::Ridge => "lies on a ridge",
            };
            let trust = if c.inside {
                ""
            } else {
                ", which lies outside the tried region and is no prediction"
            };
            format!("{response} {kind} at {}{trust}.", place.join(", "))
        }
        _ => format!("The place where {response} turns can't be told."),
    };
    sentence += lack_words(lack, &x);
    Ok(SurfaceModel {
        report: ModelReport {
            response: response.into(),
            method: "full quadratic response surface, variables coded to -1 … 1".into(),
            coefficients: coefficient_lines(&model.fit, &names),
            residual_sd: model.fit.variance().map(f64::sqrt),
            residual_df: model.fit.df,
            r2: explained(model.fit.rss, &y),
            lack_of_fit: lack,
            sentence,
            findings,
        },
        canonical,
        stationary,
        model,
        variables: variables.to_vec(),
    })
}

impl SurfaceModel {
    /// The prediction at a point in its own units; outside the tried region a finding says why not.
    ///
    /// - Rule: as the surface's own prediction, refusals in words
    /// - Units: point \[as the variables\], prediction \[as the response\]
    /// - Valid: inside the region that was tried
    /// - Source: least squares; a parabola without error gives its points back, in the tests
    ///
    /// ```
    /// use trials::analyse::{Cell, Table, model::fit_surface};
    /// let header = ["water", "force"].map(String::from).to_vec();
    /// // y = 4 − (x − 3)² at 1 to 5.
    /// let rows = (1..=5).map(|i| {
    ///     let x = f64::from(i);
    ///     (i as usize + 1, vec![Cell::Number(x), Cell::Number(4.0 - (x - 3.0).powi(2))])
    /// });
    /// let table = Table::from_rows(header, rows.collect()).unwrap();
    /// let found = fit_surface(&table, "force", &["water".into()]).unwrap();
    /// assert!((found.predict(&[2.5]).unwrap().mean - 3.75).abs() < 1e-6);
    /// ```
    pub fn predict(&self, point: &[f64]) -> Result<Prediction, Box<Finding>> {
        self.model
            .predict(point)
            .map_err(|o| refusal(&o, &self.variables))
    }
}

/// Fits a straight trend of the response along one amount. With a unit column every unit has its
/// own level, and with `slopes` its own slope (REML, Kenward–Roger).
pub fn fit_trend(
    table: &Table,
    response: &str,
    along: &str,
    unit: Option<&str>,
    slopes: bool,
) -> Result<ModelReport, Vec<Finding>> {
    let mut findings = Vec::new();
    let read = points(
        table,
        response,
        &[along.to_string()],
        unit,
        true,
        &mut findings,
    )?;
    let (y, unit) = (read.y, read.unit);
    let x: Vec<f64> = read.x.iter().map(|p| p[0]).collect();
    let columns = vec![vec![1.0; x.len()], x.clone()];
    let names = ["intercept".to_string(), along.to_string()];
    let ols = least_squares::fit(&columns, &y);
    if ols.df <= 0.0 || ols.kept.len() < 2 {
        return Err(stop(
            Code::TooFewRows,
            along,
            format!("{along} needs at least two different values and three rows"),
            "give more rows",
        ));
    }
    let r2 = explained(ols.rss, &y);
    let (method, coefficients, residual_sd, lack) = match unit {
        None if slopes => {
            return Err(stop(
                Code::NoUnit,
                "slopes",
                "slopes of their own need units that were measured several times".into(),
                "name the unit, or leave --slopes out",
            ));
        }
        None => (
            "straight line by least squares".to_string(),
            coefficient_lines(&ols, &names),
            ols.variance().map(f64::sqrt),
            lack_of_fit(&read.x, &y, &ols),
        ),
        Some((unit, codes)) => {
            let units = codes.iter().max().map_or(0, |m| m + 1);
            if slopes && units > MOST_SLOPES {
                return Err(stop(
                    Code::TooManyTerms,
                    &unit,
                    format!(
                        "{units} units are more than the {MOST_SLOPES} that can have slopes of their own"
                    ),
                    "leave --slopes out, or take a part of the units",
                ));
            }
            let random = if slopes {
                RandomTerm::with_slope(unit.as_str(), codes, x.clone())
            } else {
                RandomTerm::intercept(unit.as_str(), codes)
            };
            let failed = |e: crate::stats::mixed::MixedError| {
                stop(
                    Code::ModelCannotBeFitted,
                    &unit,
                    e.to_string(),
                    "give more units",
                )
            };
            let random = [random];
            let model = Mixed::fit(&columns, &y, &random).map_err(failed)?;
            for dropped in &model.dropped {
                findings.push(Finding::new(
                    Severity::Note,
                    Code::VarianceAtZero,
                    unit.as_str(),
                    dropped.clone(),
                ));
            }
            let lines = names
                .iter()
                .enumerate()
                .map(|(i, term)| {
                    let row: Vec<f64> = (0..2).map(|k| f64::from(u8::from(k == i))).collect();
                    let found = model.combine(&row);
                    CoefficientLine {
                        term: term.clone(),
                        estimate: found.map(|c| c.estimate),
                        se: found.map(|c| c.se),
                        df: found.map(|c| c.df),
                        t: found.map(|c| c.estimate / c.se),
                        p: found.map(|c| c.p()),
                    }
                })
                .collect();
            (
                format!(
                    "straight line with {} by {unit}, REML and Kenward–Roger",
                    if slopes {
                        "level and slope varying"
                    } else {
                        "level varying"
                    }
                ),
                lines,
                Some(model.residual_variance.sqrt()),
                lack_beside_units(&columns, &x, &y, &random),
            )
        }
    };
    let slope = &coefficients[1];
    let sentence = match (slope.estimate, slope.se, slope.df, slope.p) {
        (Some(b), Some(se), Some(df), Some(p)) => {
            let half = crate::stats::distribution::t_quantile(0.975, df) * se;
            let s = |v: f64| measure::rounding::significant(v, 3);
            let tail = if p < 0.05 {
                "a trend is shown"
            } else {
                "this trial can't tell whether there is a trend"
            };
            format!(
                "{response} changes by {} per unit of {along}, 95 % interval {} to {}; {tail}.",
                s(b),
                s(b - half),
                s(b + half)
            )
        }
        _ => format!("the trend along {along} can't be told."),
    };
    Ok(ModelReport {
        response: response.into(),
        method,
        coefficients,
        residual_sd,
        residual_df: ols.df,
        r2,
        lack_of_fit: lack,
        sentence,
        findings,
    })
}
