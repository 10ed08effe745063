//! An analysis: dot plots of the means, residuals, interaction, and the tables behind the sentence.

use super::Told;
use super::sheet::{Cell, Sheet, df, fixed, p, places, three};
use maud::Markup;
use paper::chart::{
    Axis, Dot, DotPlot, Interaction, InteractionLine, Residuals, dot_plot, interaction_plot,
    residual_plot,
};
use trials::analyse::{Analysis, MeanLine, ResidualPoint, Scale};
use trials::response::Response;

/// Tells an analysis. `control` is the control's level, when there is one.
pub fn analysis(found: &Analysis, control: Option<&str>) -> Told {
    let name = Response::find(&found.response).map_or(found.response.as_str(), |r| r.about().name);
    let mut told = Told {
        kind: "Trial analysis",
        title: title(name),
        sentence: paragraphs(&found.sentence, &title(name)),
        facts: vec![
            ("experimental unit", found.unit_told()),
            ("layout", found.layout.clone()),
            ("method", found.method.clone()),
        ],
        pictures: pictures(found, name, control),
        sheets: sheets(found),
        findings: found.findings.clone(),
    };
    if let Some(look) = &found.look {
        told.facts.push((
            "look before the end",
            format!(
                "{} of {}, {} % of the planned units in; limit of p {}, risk spent so far {}",
                look.look,
                look.looks,
                paper::number::fixed(100.0 * look.time, 0),
                paper::number::three(look.nominal_p),
                paper::number::three(look.spent),
            ),
        ));
    }
    told.facts.retain(|(_, words)| !words.is_empty());
    if let Some(all) = &found.with_all_rows {
        let mut means = means_sheet(all);
        means.title = "Means with nothing left out".into();
        let mut differences = comparison_sheet(all);
        differences.title = "Differences with nothing left out".into();
        told.sheets.extend([means, differences]);
    }
    told.sheets.retain(|s| !s.rows.is_empty());
    told
}

/// One paragraph for each difference: every one begins with the response.
fn paragraphs(sentence: &str, name: &str) -> String {
    sentence
        .replace(&format!(". {name}"), &format!(".\n{name}"))
        .replace(" It rests on ", "\nIt rests on ")
        .replace(" This is said ", "\nThis is said ")
        .replace(" With nothing left out: ", "\nWith nothing left out: ")
}

fn title(name: &str) -> String {
    let mut letters = name.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

/// Shares are shown in per cent.
pub(super) fn scale(found: &Analysis) -> (f64, &str) {
    if found.measure == "share" {
        (100.0, "%")
    } else {
        (1.0, &found.measure)
    }
}

fn terms(found: &Analysis) -> Vec<&str> {
    let mut terms: Vec<&str> = Vec::new();
    for m in &found.means {
        if !terms.contains(&m.term.as_str()) {
            terms.push(&m.term);
        }
    }
    terms
}

fn of_term<'a>(found: &'a Analysis, term: &'a str) -> impl Iterator<Item = &'a MeanLine> {
    found
        .means
        .iter()
        .filter(move |m| m.term == term && m.mean.is_some())
}

/// Marks that a drawing can show.
const MOST_MARKS: usize = 2_000;

/// Of very many units every so many-th, and those that stand out.
fn marks(found: &Analysis) -> Vec<&ResidualPoint> {
    let step = found.residuals.len() / MOST_MARKS + 1;
    let mut odd = 0;
    let residuals = found.residuals.iter().enumerate();
    residuals
        .filter(|(i, r)| {
            let stands_out =
                step > 1 && odd < MOST_MARKS && r.studentised.is_some_and(|t| t.abs() > 4.0);
            odd += usize::from(stands_out);
            i % step == 0 || stands_out
        })
        .map(|(_, r)| r)
        .collect()
}

fn pictures(found: &Analysis, name: &str, control: Option<&str>) -> Vec<Markup> {
    let (times, unit) = scale(found);
    let marks = marks(found);
    let part = if marks.len() < found.residuals.len() {
        format!(
            " {} of {} are drawn.",
            paper::number::fixed(marks.len() as f64, 0),
            paper::number::fixed(found.residuals.len() as f64, 0)
        )
    } else {
        String::new()
    };
    let mut out = Vec::new();
    for term in terms(found) {
        let parts = term.split(':').count();
        if parts == 2
            && let Some(picture) = interaction(found, name, term)
        {
            out.push(picture);
        }
        let mut dots: Vec<Dot> = of_term(found, term)
            .filter_map(|m| Some((m, m.mean?)))
            .map(|(m, mean)| Dot {
                name: m.level.clone(),
                mean: times * mean,
                limits: m
                    .low95
                    .zip(m.high95)
                    .map(|(low, high)| (times * low, times * high)),
                observations: marks
                    .iter()
                    .filter(|r| r.level == m.level)
                    .map(|r| times * r.observed)
                    .collect(),
                letters: m.letters.clone(),
            })
            .collect();
        if dots.is_empty() {
            continue;
        }
        let is_control = |d: &Dot| control.is_some_and(|c| d.name.eq_ignore_ascii_case(c));
        dots.sort_by_key(|d| !is_control(d));
        let level = dots
            .iter()
            .find(|d| is_control(d))
            .map(|d| (d.name.clone(), d.mean));
        let each = if dots.iter().any(|d| !d.observations.is_empty()) {
            format!(" Each mark is one {}.{part}", found.unit)
        } else {
            String::new()
        };
        let letters = if dots.iter().any(|d| !d.letters.is_empty()) {
            " Those that share a letter are not shown to differ."
        } else {
            ""
        };
        out.push(dot_plot(&DotPlot {
            title: format!("Means by {term}"),
            note: format!("with 95 % intervals.{each}{letters}"),
            axis: Axis::new(name, unit),
            dots,
            levels: level.into_iter().collect(),
        }));
    }
    if found.residuals.len() > 2 {
        out.push(residual_plot(&Residuals {
            title: "What is left over".into(),
            note: format!(
                "beside what was fitted, one mark for each {}; a funnel or a bow speaks against the model.{part}",
                found.unit
            ),
            response: name.to_owned(),
            unit: unit.to_owned(),
            points: marks
                .iter()
                .map(|r| (times * r.fitted, times * r.residual))
                .collect(),
        }));
    }
    out
}

/// Lines of one factor over the other.
fn interaction(found: &Analysis, name: &str, term: &str) -> Option<Markup> {
    let (times, unit) = scale(found);
    let (first, second) = term.split_once(':')?;
    let mut across: Vec<String> = Vec::new();
    let mut along: Vec<String> = Vec::new();
    let mut cells = Vec::new();
    for m in of_term(found, term) {
        let (a, b) = m.level.split_once(':')?;
        for (list, level) in [(&mut across, a), (&mut along, b)] {
            if !list.iter().any(|l| l == level) {
                list.push(level.to_owned());
            }
        }
        cells.push((a, b, m));
    }
    // An interval may be missing where nothing is left to judge by; the mean then stands alone.
    let lines = along
        .iter()
        .map(|b| InteractionLine {
            name: b.clone(),
            means: across
                .iter()
                .map(|a| {
                    let m = cells.iter().find(|c| c.0 == a && c.1 == b)?.2;
                    let mean = m.mean?;
                    Some((
                        times * mean,
                        times * m.low95.unwrap_or(mean),
                        times * m.high95.unwrap_or(mean),
                    ))
                })
                .collect(),
        })
        .collect();
    Some(interaction_plot(&Interaction {
        title: format!("{first} by {second}"),
        note: "with 95 % intervals; lines that run apart or cross say that the factors do not act alone.".into(),
        y: Axis::new(name, unit),
        factor: first.to_owned(),
        levels: across,
        lines,
    }))
}

/// Whether treatments are as good as the control.
pub(super) fn equal_sheet(found: &Analysis) -> Sheet {
    let mut equal = Sheet::new(
        "As good as the control?",
        "Each treatment is a question of its own, asked at 5 %. Where one way is better: no worse by the margin or more (one-sided). Else: within the margin either way (the whole 90 % interval).",
        &[
            "treatment",
            "control",
            "#margin",
            "#90 % from",
            "#to",
            "question",
            "#p",
            "shown",
        ],
    );
    for e in &found.equivalence {
        let times = scale(found).0;
        let d = places([times * (e.high90 - e.low90)].into_iter());
        let (question, chance, shown) = match (e.p_not_worse, e.not_worse) {
            (Some(p), Some(shown)) => ("no worse", p, shown),
            _ => ("as alike", e.p, e.equivalent),
        };
        equal.rows.push(vec![
            Cell::from(e.a.as_str()),
            Cell::from(e.b.as_str()),
            three(Some(times * e.margin)),
            fixed(Some(times * e.low90), d),
            fixed(Some(times * e.high90), d),
            Cell::from(question),
            p(Some(chance)),
            Cell::from(if shown { "yes" } else { "no" }),
        ]);
    }
    equal
}

fn sheets(found: &Analysis) -> Vec<Sheet> {
    let mut out = vec![
        means_sheet(found),
        comparison_sheet(found),
        contrast_sheet(found),
        rank_sheet(found),
    ];
    out.push(equal_sheet(found));
    out.push(belief_sheet(found));
    let mut table = Sheet::new(
        "Table of analysis",
        "",
        &[
            "term",
            "#df",
            "#sum of squares",
            "#mean square",
            "#ratio",
            "#error df",
            "#p",
        ],
    );
    for l in &found.table {
        table.rows.push(vec![
            Cell::from(l.term.as_str()),
            df(Some(l.df)),
            three(l.sum_sq),
            three(l.mean_sq),
            three(l.f),
            df(l.denominator_df),
            p(l.p),
        ]);
    }
    out.push(table);
    let mut variance = Sheet::new(
        "Where the spread lies",
        "",
        &["source", "#variance", "#standard deviation"],
    );
    for v in &found.variance {
        variance.rows.push(vec![
            Cell::from(v.term.as_str()),
            three(Some(v.value)),
            three(Some(v.value.max(0.0).sqrt())),
        ]);
    }
    out.push(variance);
    let mut checks = Sheet::new(
        "Checks",
        "",
        &["check", "#statistic", "#p", "what it says here"],
    );
    for c in &found.checks {
        checks.rows.push(vec![
            Cell::from(c.check.as_str()),
            three(c.statistic),
            p(c.p),
            Cell::from(c.says.as_str()),
        ]);
    }
    out.push(checks);
    let e = &found.effect;
    let mut effect = Sheet::new(
        "Size of the effect",
        "Share of the variation that the treatment explains; the interval matches a 5 % test.",
        &["measure", "#value", "#90 % from", "#to"],
    );
    for (name, value, low, high) in [
        ("partial η²", e.eta2, e.eta2_low90, e.eta2_high90),
        ("partial ω²", e.omega2, None, None),
        ("partial ε²", e.epsilon2, None, None),
    ] {
        if value.is_some() {
            effect.rows.push(vec![
                Cell::from(name),
                fixed(value, 3),
                fixed(low, 3),
                fixed(high, 3),
            ]);
        }
    }
    out.push(effect);
    let mut excluded = Sheet::new("Left out", "", &["#row", "reason"]);
    for e in &found.excluded {
        excluded.rows.push(vec![
            fixed(Some(e.row as f64), 0),
            Cell::from(e.reason.as_str()),
        ]);
    }
    out.push(excluded);
    out
}

fn means_sheet(found: &Analysis) -> Sheet {
    let (times, unit) = scale(found);
    let several = terms(found).len() > 1;
    let mean = format!("#mean{}", of_unit(unit));
    let mut heads = vec![
        "level",
        "#n",
        mean.as_str(),
        "#se",
        "#95 % from",
        "#to",
        "letters",
    ];
    if several {
        heads.insert(0, "of");
    }
    let mut sheet = Sheet::new("Means", "", &heads);
    let d = places(found.means.iter().filter_map(|m| m.se).map(|s| times * s));
    let x = |v: Option<f64>| fixed(v.map(|v| times * v), d);
    for m in &found.means {
        let mut cells = vec![
            Cell::from(m.level.as_str()),
            fixed(Some(m.n as f64), 0),
            x(m.mean),
            x(m.se),
            x(m.low95),
            x(m.high95),
            Cell::from(m.letters.as_str()),
        ];
        if several {
            cells.insert(0, Cell::from(m.term.as_str()));
        }
        sheet.rows.push(cells);
    }
    sheet
}

fn of_unit(unit: &str) -> String {
    if unit.is_empty() {
        String::new()
    } else {
        format!(", {unit}")
    }
}

fn contrast_sheet(found: &Analysis) -> Sheet {
    let estimate = format!("#estimate{}", of_unit(&found.measure));
    let mut sheet = Sheet::new(
        "Questions of your own",
        "The interval and p hold for one question planned beforehand; Holm’s p and limits for all of these together; Scheffé’s p for any question thought of after a look at the data.",
        &[
            "question",
            estimate.as_str(),
            "#95 % from",
            "#to",
            "#p",
            "#p, Holm",
            "#Holm from",
            "#to",
            "#p, Scheffé",
        ],
    );
    let d = places(found.contrasts.iter().map(|c| c.se));
    for c in &found.contrasts {
        sheet.rows.push(vec![
            Cell::from(c.name.as_str()),
            fixed(Some(c.estimate), d),
            fixed(Some(c.low95), d),
            fixed(Some(c.high95), d),
            p(Some(c.p)),
            p(Some(c.p_sign)),
            fixed(Some(c.low95_holm), d),
            fixed(Some(c.high95_holm), d),
            p(Some(c.p_scheffe)),
        ]);
    }
    sheet
}

fn belief_sheet(found: &Analysis) -> Sheet {
    let unit = found
        .beliefs
        .iter()
        .find_map(|b| b.scale.word())
        .unwrap_or_else(|| scale(found).1);
    let difference = format!("#difference{}", of_unit(unit));
    let mut sheet = Sheet::new(
        "Differences as beliefs",
        "How likely each is after the trial, by what was held likely before it. Each stands for itself, not guarded for their being several; a look at the intervals above is still the test.",
        &[
            "first",
            "less",
            difference.as_str(),
            "#95 % likely from",
            "#to",
            "#higher, %",
            "#better, %",
            "#at least as good, %",
        ],
    );
    let d = places(found.beliefs.iter().map(|b| b.high95 - b.low95));
    let share = |v: Option<f64>| fixed(v.map(|v| 100.0 * v), 1);
    for b in &found.beliefs {
        sheet.rows.push(vec![
            Cell::from(b.a.as_str()),
            Cell::from(b.b.as_str()),
            fixed(Some(b.median), d),
            fixed(Some(b.low95), d),
            fixed(Some(b.high95), d),
            share(Some(b.higher)),
            share(b.better),
            share(b.as_good),
        ]);
    }
    sheet
}

fn rank_sheet(found: &Analysis) -> Sheet {
    let mut sheet = Sheet::new(
        "By ranks",
        "Dunn’s comparisons of mean ranks; p holds for all of them together (Holm).",
        &[
            "first",
            "less",
            "#difference of mean ranks",
            "#standard error",
            "#p",
        ],
    );
    let d = places(found.by_ranks.iter().map(|c| c.se));
    for c in &found.by_ranks {
        sheet.rows.push(vec![
            Cell::from(c.a.as_str()),
            Cell::from(c.b.as_str()),
            fixed(Some(c.difference), d),
            fixed(Some(c.se), d),
            p(Some(c.p_adjusted)),
        ]);
    }
    sheet
}

fn comparison_sheet(found: &Analysis) -> Sheet {
    let mut methods: Vec<&str> = found
        .comparisons
        .iter()
        .map(|c| c.method.as_str())
        .collect();
    methods.dedup();
    let mut families: Vec<&str> = Vec::new();
    for c in &found.comparisons {
        if !families.contains(&c.term.as_str()) {
            families.push(&c.term);
        }
    }
    let unit = found
        .comparisons
        .iter()
        .find_map(|c| (c.scale != Scale::Amount).then(|| c.scale.word()).flatten())
        .unwrap_or_else(|| scale(found).1);
    let mean = format!("#difference{}", of_unit(unit));
    let together = match families.as_slice() {
        [] | [_] => "all of them together".to_owned(),
        several => format!(
            "the differences of each together ({}), one family at a time",
            several.join("; ")
        ),
    };
    let mut sheet = Sheet::new(
        "Differences",
        &format!(
            "Intervals and p hold for {together} ({}).",
            methods.join("; ")
        ),
        &["first", "less", mean.as_str(), "#95 % from", "#to", "#p"],
    );
    let d = places(found.comparisons.iter().map(|c| c.se));
    for c in &found.comparisons {
        sheet.rows.push(vec![
            Cell::from(c.a.as_str()),
            Cell::from(c.b.as_str()),
            fixed(Some(c.difference), d),
            fixed(c.low95, d),
            fixed(c.high95, d),
            p(Some(c.p_adjusted)),
        ]);
    }
    sheet
}
