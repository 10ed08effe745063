//! How long batches keep, looks before the end, and several responses of one trial.

use super::Told;
use super::sheet::{Cell, Sheet, fixed, p, three};
use trials::analyse::keeping::KeepingReport;
use trials::analyse::several::SeveralReport;
use trials::stats::sequential::Look;

/// Tells how long batches keep.
pub fn keeping(found: &KeepingReport) -> Told {
    let mut lines = Sheet::new(
        "Lines of the batches",
        "The time at which the confidence bound of the mean meets the limit, by each way to draw the lines; the first column that is chosen counts.",
        &[
            "batch",
            "#start",
            "#change per unit of time",
            "#keeps, chosen lines",
            "#keeps, own line alone",
        ],
    );
    for l in &found.batches {
        lines.rows.push(vec![
            Cell::from(l.batch.as_str()),
            three(Some(l.start)),
            three(Some(l.slope)),
            three(l.keeps),
            three(l.keeps_alone),
        ]);
    }
    let mut pooling = Sheet::new(
        "May batches share a line?",
        "Pooled where p is 0.25 or more: slopes first, then starts.",
        &["question", "#ratio", "#p"],
    );
    for (name, f, chance) in &found.pooling {
        pooling.rows.push(vec![
            Cell::from(name.as_str()),
            three(Some(*f)),
            p(Some(*chance)),
        ]);
    }
    Told {
        kind: "Trial analysis",
        title: format!("{} along {}", found.response, found.along),
        sentence: found.sentence.clone(),
        facts: vec![
            ("experimental unit", found.unit.clone()),
            ("method", found.method.clone()),
        ],
        sheets: vec![lines, pooling],
        findings: found.findings.clone(),
        ..Told::default()
    }
}

/// Tells the looks of a plan.
pub fn looks(found: &[Look], alpha: f64, one_sided: bool) -> Told {
    let mut sheet = Sheet::new(
        "Looks",
        "Stop at a look whose statistic lies beyond z, or whose p-value falls below the one here.",
        &[
            "#units in, %",
            "#z",
            "#p at this look",
            "#risk spent so far",
        ],
    );
    for l in found {
        sheet.rows.push(vec![
            fixed(Some(100.0 * l.time), 0),
            fixed(Some(l.z), 3),
            fixed(Some(l.nominal_p), 5),
            fixed(Some(l.spent), 5),
        ]);
    }
    Told {
        kind: "Trial size",
        title: "Looks before the end".into(),
        sentence: format!(
            "{} looks keep a risk of {} {} together only when each is judged by its own limit; a look that wasn’t planned has none. An estimate from a trial that stopped early is too large on average.",
            found.len(),
            paper::number::three(alpha),
            if one_sided { "one-sided" } else { "two-sided" }
        ),
        sheets: vec![sheet],
        ..Told::default()
    }
}

/// Tells several responses in one table.
pub fn several(found: &SeveralReport) -> Told {
    let mut sheet = Sheet::new(
        "Responses",
        &format!(
            "The family is these {} responses: Holm’s p holds for all of them together, the last column is the share of false alarms among those called different (Benjamini and Hochberg).",
            found.lines.len()
        ),
        &[
            "response",
            "term",
            "#ratio",
            "#p",
            "#p, Holm",
            "#p, false-alarm share",
            "method",
        ],
    );
    for l in &found.lines {
        sheet.rows.push(vec![
            Cell::from(l.response.as_str()),
            Cell::from(l.term.as_str()),
            three(l.f),
            p(l.p),
            p(l.p_holm),
            p(l.p_false_share),
            Cell::from(l.method.as_str()),
        ]);
    }
    Told {
        kind: "Trial analysis",
        title: "Several responses".into(),
        sentence: found.sentence.clone(),
        sheets: vec![sheet],
        findings: found.findings.clone(),
        ..Told::default()
    }
}
