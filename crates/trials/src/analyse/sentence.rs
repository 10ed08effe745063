//! The plain sentence: what the trial shows, and no more.

use super::structure::Laid;
use super::{Analysis, AnalysisRequest, ComparisonLine};
use crate::response::Kind;
use measure::rounding::significant;

fn short(value: f64) -> String {
    significant(value, 3)
}

/// How rare so large a difference would be by chance.
fn chance(p: f64) -> String {
    if p < 0.001 {
        "fewer than one in a thousand such trials would show so much by chance alone if there were no difference".into()
    } else {
        let one_in = (1.0 / p).round();
        format!(
            "about one in {one_in} such trials would show so much by chance alone if there were no difference"
        )
    }
}

fn name(request: &AnalysisRequest) -> String {
    super::known(request).map_or_else(|| request.response.clone(), |a| capital(a.name))
}

/// A name as a sentence begins with it; a column's own name stays as it is written.
fn capital(name: &str) -> String {
    let mut letters = name.chars();
    // `pH` and `a*` would not be known again.
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if second.is_lowercase() => {
            first.to_uppercase().chain(letters).collect()
        }
        _ => name.to_string(),
    }
}

/// The sentence of an analysis.
pub fn write(analysis: &Analysis, laid: &Laid, request: &AnalysisRequest) -> String {
    let response = name(request);
    if analysis.comparisons.is_empty() {
        let means: Vec<String> = analysis
            .means
            .iter()
            .take(8)
            .filter_map(|m| {
                m.mean
                    .map(|v| format!("{} {}", m.level, amount(v, analysis, laid.kind)))
            })
            .collect();
        let why = if analysis
            .findings
            .iter()
            .any(|f| f.code == "one-batch-per-treatment")
        {
            "with one batch of each, nothing can be said of whether another batch would come out the same"
        } else {
            "no difference could be estimated"
        };
        return format!("{response}: {}; {why}.", means.join(", "));
    }
    let lines = &analysis.comparisons;
    if lines.len() > 6 {
        return many(analysis, laid, &response);
    }
    let said: Vec<String> = lines
        .iter()
        .map(|c| one(c, analysis, laid, request, &response))
        .collect();
    said.join(" ")
}

fn amount(value: f64, analysis: &Analysis, kind: Kind) -> String {
    if matches!(kind, Kind::CountOf | Kind::Binary) {
        format!("{} %", short(100.0 * value))
    } else if analysis.measure.is_empty() {
        short(value)
    } else {
        format!("{} {}", short(value), analysis.measure)
    }
}

fn level_mean(analysis: &Analysis, line: &ComparisonLine, level: &str) -> Option<f64> {
    analysis
        .means
        .iter()
        .find(|m| m.term == line.term && m.level == level)
        .and_then(|m| m.mean)
}

fn one(
    line: &ComparisonLine,
    analysis: &Analysis,
    laid: &Laid,
    request: &AnalysisRequest,
    response: &str,
) -> String {
    let called = |level: &str| {
        if level.parse::<f64>().is_ok() {
            format!("{} {level}", line.term)
        } else {
            level.to_string()
        }
    };
    let (a, b) = (&called(&line.a), &called(&line.b));
    let (Some(low), Some(high)) = (line.low95, line.high95) else {
        return format!("{a} and {b} could not be compared.");
    };
    let shown = line.p_adjusted < 0.05;
    if matches!(laid.kind, Kind::CountOf | Kind::Binary) {
        let share = |l: &str| {
            level_mean(analysis, line, l).map_or("?".into(), |v| amount(v, analysis, laid.kind))
        };
        let odds = format!(
            "odds ratio {}, 95 % interval {} to {}",
            short(line.difference.exp()),
            short(low.exp()),
            short(high.exp())
        );
        return if shown {
            format!(
                "{response}: {a} {} against {b} {} ({odds}); {}.",
                share(&line.a),
                share(&line.b),
                chance(line.p_adjusted)
            )
        } else {
            format!(
                "{response}: {a} {} against {b} {} ({odds}): this trial can't tell whether there is a difference.",
                share(&line.a),
                share(&line.b)
            )
        };
    }
    if line.method.contains("log odds") {
        let odds = format!(
            "odds of a higher score {} times, 95 % interval {} to {}",
            short(line.difference.exp()),
            short(low.exp()),
            short(high.exp())
        );
        return if shown {
            format!(
                "{response}: {a} against {b}: {odds}; {}.",
                chance(line.p_adjusted)
            )
        } else {
            format!(
                "{response}: {a} against {b}: {odds}; this trial can't tell whether there is a difference."
            )
        };
    }
    let unit = if analysis.measure.is_empty() {
        String::new()
    } else {
        format!(" {}", analysis.measure)
    };
    let equivalence = equivalence(analysis, line, request, &unit);
    if shown {
        let (way, near, far) = if line.difference < 0.0 {
            ("lower", -high, -low)
        } else {
            ("higher", low, high)
        };
        format!(
            "{response} of {a} is {}{unit} {way} than that of {b}, 95 % interval {} to {}{unit}; {}.{equivalence}",
            short(line.difference.abs()),
            short(near),
            short(far),
            chance(line.p_adjusted),
        )
    } else {
        format!(
            "{response} of {a} came out {}{unit} {} than that of {b}, but this trial can't tell whether there is a difference: anything from {}{unit} lower to {}{unit} higher fits the data (95 %).{equivalence}",
            short(line.difference.abs()),
            if line.difference < 0.0 {
                "lower"
            } else {
                "higher"
            },
            short((-low).max(0.0)),
            short(high.max(0.0)),
        )
    }
}

/// The equivalence answer of a comparison with the control; where nothing was asked, what to ask.
fn equivalence(
    analysis: &Analysis,
    line: &ComparisonLine,
    request: &AnalysisRequest,
    unit: &str,
) -> String {
    match analysis
        .equivalence
        .iter()
        .find(|e| e.a == line.a && e.b == line.b)
    {
        Some(e) if e.equivalent => format!(
            " It is as good as {} within {}{unit} (90 % interval {} to {}{unit}).",
            e.b,
            short(e.margin),
            short(e.low90),
            short(e.high90)
        ),
        Some(e) => format!(
            " That it is as good as {} within {}{unit} is not shown (90 % interval {} to {}{unit}).",
            e.b,
            short(e.margin),
            short(e.low90),
            short(e.high90)
        ),
        None if request.control.as_ref().is_some_and(|c| c.eq_ignore_ascii_case(&line.b))
            && line.p_adjusted >= 0.05 =>
        {
            " Whether it is as good as the control can be answered once a difference too small to matter is named.".into()
        }
        None => String::new(),
    }
}

fn many(analysis: &Analysis, laid: &Laid, response: &str) -> String {
    let mut ranked: Vec<_> = analysis
        .means
        .iter()
        .filter(|m| m.term == analysis.comparisons[0].term && m.mean.is_some())
        .collect();
    ranked.sort_by(|a, b| b.mean.unwrap_or(0.0).total_cmp(&a.mean.unwrap_or(0.0)));
    let told = analysis
        .comparisons
        .iter()
        .filter(|c| c.p_adjusted < 0.05)
        .count();
    let overall = analysis
        .table
        .iter()
        .find(|l| l.p.is_some() && l.term == analysis.comparisons[0].term)
        .or_else(|| analysis.table.iter().find(|l| l.p.is_some()))
        .and_then(|l| l.p);
    let ends = match (ranked.first(), ranked.last()) {
        (Some(top), Some(bottom)) => format!(
            "highest {} ({}, 95 % interval {} to {}), lowest {} ({}, {} to {})",
            top.level,
            amount(top.mean.unwrap_or(f64::NAN), analysis, laid.kind),
            short(top.low95.unwrap_or(f64::NAN)),
            short(top.high95.unwrap_or(f64::NAN)),
            bottom.level,
            amount(bottom.mean.unwrap_or(f64::NAN), analysis, laid.kind),
            short(bottom.low95.unwrap_or(f64::NAN)),
            short(bottom.high95.unwrap_or(f64::NAN)),
        ),
        _ => String::new(),
    };
    let all = analysis.comparisons.len();
    let differences = if told == 0 {
        format!(
            "none of {all} differences is shown; this does not show that there are none: see their intervals"
        )
    } else {
        format!(
            "{told} of {all} differences are shown, with their intervals in the list; of the others this trial can't tell"
        )
    };
    let chance = overall.map_or_else(String::new, |p| format!(" Overall, {}.", chance(p)));
    format!("{response}: {ends}; {differences}.{chance}")
}
