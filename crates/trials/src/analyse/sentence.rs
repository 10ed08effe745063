//! The plain sentence: what the trial shows, and no more. It is put together from typed claims, and
//! each claim is read off the tables.

use super::structure::Laid;
use super::{
    Analysis, AnalysisRequest, Claim, ComparisonLine, EquivalenceLine, MeanLine, Scale, Subjects,
};
use crate::Code;
use crate::response::Better;
use measure::rounding::significant;

fn short(value: f64) -> String {
    significant(value, 3)
}

/// How rare so large a difference would be by chance.
fn chance(p: f64) -> String {
    let rest = "such trials would show so much by chance alone if there were no difference";
    if p < 0.001 {
        format!("fewer than one in a thousand {rest}")
    } else if p < 0.2 {
        format!("about one in {} {rest}", (1.0 / p).round())
    } else {
        format!("about {:.0} of 100 {rest}", 100.0 * p)
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

/// What is said of one difference.
#[derive(Clone, Debug, PartialEq)]
enum Verdict {
    /// It is shown: the interval lies on one side of no difference.
    Shown,
    /// It isn't: the interval holds no difference.
    Open,
}

fn verdict(line: &ComparisonLine) -> Option<Verdict> {
    let (low, high) = (line.low95?, line.high95?);
    // Test and interval come from one adjustment; where rounding parts them the careful one holds.
    Some(if line.p_adjusted < 0.05 && (low > 0.0 || high < 0.0) {
        Verdict::Shown
    } else {
        Verdict::Open
    })
}

/// The sentence of an analysis.
pub(super) fn write(analysis: &Analysis, laid: &Laid, request: &AnalysisRequest) -> String {
    let response = name(request);
    let mut said = Vec::new();
    // What may spoil the answer comes before it.
    for finding in analysis.findings.iter().filter(|f| f.code == Code::Outlier) {
        said.push(format!(
            "{}; what follows leans on it.",
            capital(&finding.message)
        ));
    }
    let mut terms: Vec<&str> = Vec::new();
    for line in &analysis.comparisons {
        if !terms.contains(&line.term.as_str()) {
            terms.push(&line.term);
        }
    }
    if terms.is_empty() {
        said.push(without_comparisons(analysis, laid, &response));
    }
    for term in &terms {
        let own: Vec<&ComparisonLine> = analysis
            .comparisons
            .iter()
            .filter(|c| c.term == *term)
            .collect();
        if own.len() > 6 || (terms.len() > 2 && own.len() > 3) {
            said.push(many(analysis, term, &own, &response));
        } else {
            let place = place(term);
            said.extend(
                own.iter()
                    .map(|c| one(c, analysis, request, &response, &place)),
            );
        }
    }
    let questions: Vec<&str> = terms
        .iter()
        .copied()
        .filter(|t| !t.contains(" @ "))
        .collect();
    if let [rest @ .., last] = questions.as_slice()
        && !rest.is_empty()
    {
        said.push(format!(
            "{} and {last} are questions of their own: the guard against false alarms holds for each, not for all of them together.",
            rest.join(", ")
        ));
    }
    said.extend(
        analysis
            .subjects
            .as_ref()
            .map(|s| format!("It rests on {}.", s.told())),
    );
    said.extend(claim(laid, request));
    said.extend(look(analysis));
    said.join(" ")
}

impl Subjects {
    /// How many there are, and over how many periods: `12 dogs over 2 periods`.
    pub fn told(&self) -> String {
        let several = |number: usize, name: &str| {
            let word = name.chars().all(char::is_alphabetic) && !name.ends_with('s');
            match number {
                1 => format!("1 {name}"),
                _ if word => format!("{number} {name}s"),
                _ => format!("{number} levels of {name}"),
            }
        };
        let subjects = several(self.number, &self.name);
        match self.periods.zip(self.period.as_ref()) {
            Some((number, name)) => format!("{subjects} over {}", several(number, name)),
            None => subjects,
        }
    }
}

impl Analysis {
    /// What the experimental unit is and how many there are: `batch (24 units behind 192 rows)`, `dog and
    /// period (24 units of 12 dogs over 2 periods, behind 24 rows)`.
    pub fn unit_told(&self) -> String {
        let of = self.subjects.as_ref();
        let of = of.map_or_else(String::new, |s| format!(" of {},", s.told()));
        format!(
            "{} ({} units{of} behind {} rows)",
            self.unit, self.units, self.rows
        )
    }
}

/// What a look before the end says of going on.
fn look(analysis: &Analysis) -> Option<String> {
    let look = analysis.look.as_ref()?;
    let shown = analysis
        .comparisons
        .iter()
        .any(|c| verdict(c) == Some(Verdict::Shown));
    let limit = short(look.nominal_p);
    let words = match (shown, look.look == look.looks) {
        (true, false) => format!(
            "the trial may stop for what is shown, whose p lies below the {limit} planned for this look; an estimate from a trial that stopped early is too large on average"
        ),
        (false, false) => format!(
            "nothing lies below the {limit} planned for this look, so the trial goes on as planned"
        ),
        (true, true) => format!("what is shown lies below the {limit} that is left for the end"),
        (false, true) => format!("nothing lies below the {limit} that is left for the end"),
    };
    Some(format!(
        "This is look {} of {}, with {:.0} % of the planned units in: {words}.",
        look.look,
        look.looks,
        100.0 * look.time
    ))
}

/// How rare a difference is; at a look before the end, only that its limit is crossed.
fn rare(line: &ComparisonLine, analysis: &Analysis) -> String {
    match &analysis.look {
        Some(look) => format!("shown by the limit of look {}", look.look),
        None => chance(line.p_adjusted),
    }
}

/// Where a slice along time stands: `on day 7`.
fn place(term: &str) -> String {
    term.split_once(" @ ")
        .map_or_else(String::new, |(_, at)| format!(" at {at}"))
}

/// For which blocks a comparison over blocks with several units each holds.
fn claim(laid: &Laid, request: &AnalysisRequest) -> Option<String> {
    let [block] = laid.blocks.as_slice() else {
        return None;
    };
    let several = !laid.repeated
        && laid.again.is_none()
        && laid.whole_plots.is_none()
        && super::continuous::several_per_block(laid, &laid.combined())
        && matches!(laid.kind, crate::response::Kind::Continuous);
    several.then(|| match request.claim {
        Claim::New => format!(
            "This is said for a new {}, not only for those that were tried.",
            block.name
        ),
        Claim::These => format!(
            "This is said only for the {} levels of {} that were tried.",
            block.levels.len(),
            block.name
        ),
    })
}

fn without_comparisons(analysis: &Analysis, laid: &Laid, response: &str) -> String {
    let means: Vec<String> = analysis
        .means
        .iter()
        .take(8)
        .filter_map(|m| {
            m.mean
                .map(|v| format!("{} {}", m.level, amount(v, analysis)))
        })
        .collect();
    let single = laid.least_units() < 2 && analysis.table.is_empty();
    let overall = analysis
        .table
        .iter()
        .find_map(|l| l.p.map(|p| (&l.term, p)));
    let why = match overall {
        _ if single => {
            "with one batch of each, nothing can be said of whether another batch would come out the same".into()
        }
        Some((term, p)) => format!("{term} as a whole: {}", chance(p)),
        None => "no difference could be estimated".into(),
    };
    format!("{response}: {}; {why}.", means.join(", "))
}

fn amount(value: f64, analysis: &Analysis) -> String {
    if analysis.measure == "share" {
        format!("{} %", short(100.0 * value))
    } else if analysis.measure.is_empty() {
        short(value)
    } else {
        format!("{} {}", short(value), analysis.measure)
    }
}

fn mean_of<'a>(analysis: &'a Analysis, line: &ComparisonLine, level: &str) -> Option<&'a MeanLine> {
    analysis
        .means
        .iter()
        .find(|m| m.term == line.term && m.level == level)
}

/// A level as a sentence names it: a bare number gets its column's name before it.
fn called(term: &str, level: &str) -> String {
    if level.parse::<f64>().is_ok() {
        let term = term.split_once(" @ ").map_or(term, |(t, _)| t);
        format!("{term} {level}")
    } else {
        level.to_string()
    }
}

fn one(
    line: &ComparisonLine,
    analysis: &Analysis,
    request: &AnalysisRequest,
    response: &str,
    place: &str,
) -> String {
    let (a, b) = (&called(&line.term, &line.a), &called(&line.term, &line.b));
    let (Some(low), Some(high), Some(verdict)) = (line.low95, line.high95, verdict(line)) else {
        return format!("{a} and {b} could not be compared{place}.");
    };
    let shown = verdict == Verdict::Shown;
    let margin = margin(analysis, line, request);
    let open = "this trial can't tell whether there is a difference";
    let share = |level: &str| {
        mean_of(analysis, line, level)
            .and_then(|m| m.mean)
            .map_or("?".into(), |v| amount(v, analysis))
    };
    let ratio = |what: &str| {
        format!(
            "{what} {}, 95 % interval {} to {}",
            short(line.difference.exp()),
            short(low.exp()),
            short(high.exp())
        )
    };
    match line.scale {
        Scale::LogOdds | Scale::LogRate => {
            let ratio = ratio(if line.scale == Scale::LogOdds {
                "odds ratio"
            } else {
                "ratio"
            });
            let end = if shown {
                format!("({ratio}); {}.", rare(line, analysis))
            } else {
                format!("({ratio}): {open}.")
            };
            format!(
                "{response}{place}: {a} {} against {b} {} {end}{margin}",
                share(&line.a),
                share(&line.b)
            )
        }
        Scale::LogOddsOfHigher => {
            let odds = ratio("odds of a higher score").replace(", 95 %", " times, 95 %");
            let end = if shown {
                rare(line, analysis)
            } else {
                open.into()
            };
            format!("{response}{place}: {a} against {b}: {odds}; {end}.{margin}")
        }
        Scale::Amount | Scale::Share => {
            let (times, unit) = match line.scale {
                Scale::Share => (100.0, " percentage points".to_string()),
                _ if analysis.measure.is_empty() => (1.0, String::new()),
                _ => (1.0, format!(" {}", analysis.measure)),
            };
            let (low, high) = (times * low, times * high);
            let size = short((times * line.difference).abs());
            let way = if line.difference < 0.0 {
                "lower"
            } else {
                "higher"
            };
            if shown {
                let (near, far) = if line.difference < 0.0 {
                    (-high, -low)
                } else {
                    (low, high)
                };
                format!(
                    "{response} of {a} is {size}{unit} {way} than that of {b}{place}, 95 % interval {} to {}{unit}; {}.{margin}",
                    short(near),
                    short(far),
                    rare(line, analysis),
                )
            } else {
                format!(
                    "{response} of {a} came out {size}{unit} {way} than that of {b}{place}, but {open}: anything from {}{unit} lower to {}{unit} higher fits the data (95 %).{margin}",
                    short((-low).max(0.0)),
                    short(high.max(0.0)),
                )
            }
        }
    }
}

/// The answer to the question of a margin; where nothing was asked, what to ask.
fn margin(analysis: &Analysis, line: &ComparisonLine, request: &AnalysisRequest) -> String {
    let found = analysis
        .equivalence
        .iter()
        .find(|e| e.a == line.a && e.b == line.b && e.term == line.term);
    match found {
        Some(e) => answer(e, analysis),
        None if analysis.look.is_none() && request.control.as_ref().is_some_and(|c| c.eq_ignore_ascii_case(&line.b))
            && request.margin.is_none()
            && verdict(line) == Some(Verdict::Open) =>
        {
            " Whether it is as good as the control can be answered once a difference too small to matter is named.".into()
        }
        None => String::new(),
    }
}

fn answer(e: &EquivalenceLine, analysis: &Analysis) -> String {
    let (times, unit) = if analysis.measure == "share" {
        (100.0, " percentage points".to_string())
    } else if analysis.measure.is_empty() {
        (1.0, String::new())
    } else {
        (1.0, format!(" {}", analysis.measure))
    };
    let told = |v: f64| short(times * v);
    let margin = told(e.margin);
    if let (Some(better), Some(bound), Some(not_worse)) = (e.better, e.bound95, e.not_worse) {
        let gain = if better == Better::Higher {
            bound
        } else {
            -bound
        };
        let reach = if gain >= 0.0 {
            format!("at least {}{unit} better with 95 % confidence", told(gain))
        } else {
            format!("at most {}{unit} worse with 95 % confidence", told(-gain))
        };
        return if not_worse {
            format!(
                " It is no worse than {} by {margin}{unit} or more: {reach}.",
                e.b
            )
        } else {
            format!(
                " That it is no worse than {} by {margin}{unit} or more is not shown: {reach}.",
                e.b
            )
        };
    }
    let interval = format!(
        "(90 % interval {} to {}{unit})",
        told(e.low90),
        told(e.high90)
    );
    let mut text = if e.equivalent {
        format!(
            " It is as good as {} within {margin}{unit} {interval}.",
            e.b
        )
    } else {
        format!(
            " That it is as good as {} within {margin}{unit} is not shown {interval}.",
            e.b
        )
    };
    if e.better.is_none() {
        text += " Say which way is better, and only being worse counts against it.";
    }
    text
}

fn many(analysis: &Analysis, term: &str, lines: &[&ComparisonLine], response: &str) -> String {
    let mut ranked: Vec<_> = analysis
        .means
        .iter()
        .filter(|m| m.term == term)
        .filter_map(|m| Some((m, m.mean?)))
        .collect();
    ranked.sort_by(|a, b| b.1.total_cmp(&a.1));
    let told = lines
        .iter()
        .filter(|c| verdict(c) == Some(Verdict::Shown))
        .count();
    // The overall chance is told only of the very term whose levels are compared.
    let overall = analysis
        .table
        .iter()
        .rev()
        .filter(|_| analysis.look.is_none())
        .find(|l| l.p.is_some() && (l.term == term || l.term == format!("{term} (Welch)")))
        .and_then(|l| l.p);
    let end = |(m, mean): (&MeanLine, f64)| {
        let told = |v: Option<f64>| match v {
            Some(v) if analysis.measure == "share" => short(100.0 * v),
            Some(v) => short(v),
            None => "?".into(),
        };
        format!(
            "{} ({}, 95 % interval {} to {})",
            called(term, &m.level),
            amount(mean, analysis),
            told(m.low95),
            told(m.high95)
        )
    };
    let ends = match (ranked.first(), ranked.last()) {
        (Some(top), Some(bottom)) => format!("highest {}, lowest {}", end(*top), end(*bottom)),
        _ => String::new(),
    };
    let all = lines.len();
    let differences = if told == 0 {
        format!(
            "none of {all} differences is shown; this does not show that there are none: see their intervals"
        )
    } else if told == all {
        format!("all {all} differences are shown, with their intervals in the list")
    } else {
        format!(
            "{told} of {all} differences are shown, with their intervals in the list; of the others this trial can't tell"
        )
    };
    let chance = overall.map_or_else(String::new, |p| format!(" Overall, {}.", chance(p)));
    format!("{response}{}: {ends}; {differences}.{chance}", place(term))
}
