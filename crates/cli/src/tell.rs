//! What goes to the terminal: text, problems with a caret, findings.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use anstyle::Style;
use measure::{Finding, Severity, Units};
use serde::Serialize;
use std::io::{self, Write};
use study::written::Problem;

/// Writes to standard output; a pipe closed early is an error of its own kind, told to nobody.
pub fn out(text: &str) -> anyhow::Result<()> {
    let mut stdout = anstream::stdout().lock();
    stdout.write_all(text.as_bytes())?;
    stdout.flush()?;
    Ok(())
}

/// Writes to standard error.
pub fn note(text: &str) {
    // Nothing is left to be done when even that fails.
    let _ = anstream::stderr().lock().write_all(text.as_bytes());
}

/// One JSON document and nothing else.
pub fn json(value: &impl Serialize) -> anyhow::Result<()> {
    let mut text = serde_json::to_string_pretty(value)?;
    text.push('\n');
    out(&text)
}

/// Whether an error is only that the reader of our output has gone.
pub fn is_closed_pipe(error: &anyhow::Error) -> bool {
    error.chain().any(|e| {
        e.downcast_ref::<io::Error>()
            .is_some_and(|e| e.kind() == io::ErrorKind::BrokenPipe)
    })
}

/// An error and what it came from.
pub fn error(error: &anyhow::Error) {
    let mut text = format!("{}error{}: {error}\n", BOLD.render(), BOLD.render_reset());
    for cause in error.chain().skip(1) {
        text.push_str(&format!("  because {cause}\n"));
    }
    note(&text);
}

/// Bold, where the terminal can.
pub const BOLD: Style = Style::new().bold();
/// Second ink.
pub const DIM: Style = Style::new().dimmed();

/// Text in a style.
pub fn styled(style: Style, text: &str) -> String {
    format!("{}{text}{}", style.render(), style.render_reset())
}

/// Problems of a study file: file, line, caret, what was found, what is allowed, what to write.
pub fn problems(path: &str, text: &str, problems: &[Problem]) {
    let renderer = Renderer::styled();
    let mut all = String::new();
    for p in problems {
        let words = p.words(Units::Metric);
        let span = p.span.clone().unwrap_or(0..0);
        let span = span.start.min(text.len())..span.end.min(text.len());
        let mut label = String::new();
        if !words.allowed.is_empty() {
            label = format!("allowed: {}", words.allowed);
        }
        let mut group = Level::ERROR
            .primary_title(&words.message)
            .id(p.code().word())
            .element(
                Snippet::source(text)
                    .path(path)
                    .annotation(AnnotationKind::Primary.span(span).label(&label)),
            );
        if !words.way_out.is_empty() {
            group = group.element(Level::HELP.message(&words.way_out));
        }
        all.push_str(&renderer.render(&[group]));
        all.push_str("\n\n");
    }
    let n = problems.len();
    let more = if n >= study::written::MOST_PROBLEMS {
        " (there may be more)"
    } else {
        ""
    };
    let s = if n == 1 { "" } else { "s" };
    all.push_str(&format!(
        "{n} problem{s} in {path}{more}; nothing was changed\n"
    ));
    note(&all);
}

/// Findings from the heaviest to the lightest, each told once with the treatments it concerns.
pub fn findings(all: &[(&str, &[Finding])], with_notes: bool) -> String {
    let mut told: Vec<(&Finding, Vec<&str>)> = Vec::new();
    for (treatment, findings) in all {
        for f in *findings {
            match told.iter_mut().find(|(g, _)| *g == f) {
                Some((_, who)) => who.push(treatment),
                None => told.push((f, vec![treatment])),
            }
        }
    }
    told.sort_by_key(|(f, _)| std::cmp::Reverse(f.severity));
    let mut text = String::new();
    let mut notes = 0;
    for (f, who) in told {
        if f.severity == Severity::Note && !with_notes {
            notes += 1;
            continue;
        }
        let whom = if who.len() == all.len() && all.len() > 1 {
            "all".to_owned()
        } else {
            who.join(", ")
        };
        text.push_str(&styled(BOLD, f.severity.word()));
        text.push_str(&format!("  {whom}\n"));
        text.push_str(&crate::table::wrap(&f.message, crate::table::WIDTH, "  "));
        if !f.help.is_empty() {
            text.push_str(&crate::table::wrap(
                &format!("→ {}", f.help),
                crate::table::WIDTH,
                "  ",
            ));
        }
        if !f.source.is_empty() {
            text.push_str(&styled(
                DIM,
                &crate::table::wrap(&format!("[{}]", f.source), crate::table::WIDTH, "  "),
            ));
        }
    }
    if notes > 0 {
        text.push_str(&format!(
            "{notes} notes more in the HTML report and with --json\n"
        ));
    }
    text
}

/// What the rim does to the time of the bake.
pub fn edge_correction(pct: Option<f64>) -> String {
    if let Some(pct) = pct {
        format!(
            "the rim takes {pct:.0} % off the time of an endless slab (correction, assumed exposure)"
        )
    } else {
        "what the rim does isn't known, for the target isn't reached".to_owned()
    }
}

/// How far the grid is off.
pub fn grid_error(points: Option<f64>) -> String {
    points.map_or_else(
        || "the grid error isn't known".to_owned(),
        |points| format!("grid error {points:.2} points"),
    )
}
