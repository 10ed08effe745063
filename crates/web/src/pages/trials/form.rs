//! The form of a plan: what stands in it at first, and what was typed in it.

use super::choices;
use crate::fields::Fields;
use ::study::Study;
use app::{AppError, TrialAsked};
use bench::Asked;
use bench::wish::{Field, Typed, takes, wish};
use trials::plan::{Design, Request, Unit};

/// The usual wish for a design, with the study's own treatments.
pub fn usual(design: Design, study: Option<&Study>) -> Typed {
    let ids: Vec<String> = study.map_or_else(Vec::new, |s| {
        let control = s.control().id.clone();
        let others = s.treatments.iter().map(|t| t.id.clone());
        let others = others.filter(|id| *id != control);
        std::iter::once(control.clone()).chain(others).collect()
    });
    let names = |f: &trials::plan::Named| format!("{}={}", f.name, f.levels.join(","));
    let number = |f: &trials::plan::Factor| match f.unit.as_str() {
        "" => format!("{}={}..{}", f.name, f.low, f.high),
        unit => format!("{}:{unit}={}..{}", f.name, f.low, f.high),
    };
    let least = |c: &[String], l: &[f64]| {
        let pairs = c.iter().zip(l);
        pairs.map(|(c, l)| format!("{c}={l}..")).collect()
    };
    let mut typed = Typed {
        treatments: ids.clone(),
        ..Typed::default()
    };
    match Request::example(design) {
        Request::CompletelyRandomised(r) => typed.replicates = Some(r.replicates),
        Request::Blocks(r) => {
            typed.blocks = Some(r.blocks.len());
            typed.block_name = Some(r.block_name);
            typed.per_block = Some(r.per_block);
        }
        Request::LatinSquare(r) => {
            typed.row_name = Some(r.row_name);
            typed.column_name = Some(r.column_name);
            typed.squares = Some(r.squares);
        }
        Request::Williams(r) => typed.dogs = Some(r.dogs),
        Request::Factorial(r) => {
            typed.factor = r.factors.iter().map(names).collect();
            typed.replicates = Some(r.replicates);
            typed.block_name = r.block_name;
        }
        Request::Fractional(r) => {
            typed.factor = r.factors.iter().map(names).collect();
            typed.drop = Some(r.drop);
            typed.replicates = Some(r.replicates);
        }
        Request::Augmented(r) => {
            typed.factor = r.factors.iter().map(names).collect();
            typed.control = ids.first().cloned().or(Some(r.control));
            typed.controls = Some(r.controls_per_replicate);
            typed.replicates = Some(r.replicates);
            typed.block_name = r.block_name;
        }
        Request::SplitPlot(r) => {
            typed.whole_plot = Some(names(&r.whole));
            typed.factor = vec![format!("{}={}", r.sub.name, ids.join(","))];
            typed.blocks = Some(r.blocks.len());
            typed.block_name = Some(r.block_name);
        }
        Request::CentralComposite(r) => {
            typed.factor = r.factors.iter().map(number).collect();
            typed.centre = Some(r.centre_points);
            typed.reach = Some("rotatable".to_owned());
        }
        Request::BoxBehnken(r) => {
            typed.factor = r.factors.iter().map(number).collect();
            typed.centre = Some(r.centre_points);
        }
        Request::SimplexLattice(r) => {
            typed.part = least(&r.components, &r.least);
            typed.steps = Some(r.steps);
            typed.replicates = Some(r.replicates);
        }
        Request::SimplexCentroid(r) => {
            typed.part = least(&r.components, &r.least);
            typed.replicates = Some(r.replicates);
        }
        Request::ConstrainedMixture(r) => {
            let parts = r.components.iter();
            typed.part = parts
                .map(|c| format!("{}={}..{}", c.name, c.low, c.high))
                .collect();
            typed.factor = r.process.iter().map(number).collect();
            typed.runs = Some(r.runs);
            typed.starts = Some(r.starts);
            typed.degree = Some("quadratic".to_owned());
        }
    }
    typed
}

/// A field of what is usual, as it stands in the form.
pub fn usual_of(typed: &Typed, field: Field) -> String {
    let count = |n: Option<usize>| n.map_or_else(String::new, |n| n.to_string());
    let text = |t: &Option<String>| t.clone().unwrap_or_default();
    match field {
        Field::Treatments => typed.treatments.join("\n"),
        Field::Replicates => count(typed.replicates),
        Field::BlockName => text(&typed.block_name),
        Field::Blocks => count(typed.blocks),
        Field::PerBlock => count(typed.per_block),
        Field::RowName => text(&typed.row_name),
        Field::ColumnName => text(&typed.column_name),
        Field::Squares => count(typed.squares),
        Field::Dogs => count(typed.dogs),
        Field::Factor => typed.factor.join("\n"),
        Field::WholePlot => text(&typed.whole_plot),
        Field::Control => text(&typed.control),
        Field::Controls => count(typed.controls),
        Field::Drop => count(typed.drop),
        Field::Generator => typed.generator.join("\n"),
        Field::Reach => text(&typed.reach),
        Field::Centre => count(typed.centre),
        Field::Part => typed.part.join("\n"),
        Field::Steps => count(typed.steps),
        Field::Degree => text(&typed.degree),
        Field::Runs => count(typed.runs),
        Field::Starts => count(typed.starts),
    }
}

/// What was typed in the form.
pub fn read(fields: &Fields, design: Design, study: &str) -> Result<TrialAsked, AppError> {
    let wrong = |field: &str, why: String| AppError::Value {
        field: field.to_owned(),
        why: why.trim_end_matches('.').to_owned(),
    };
    let lines = |name: &str| -> Vec<String> {
        let text = fields.maybe(name).unwrap_or_default();
        let lines = text.lines().map(str::trim).filter(|l| !l.is_empty());
        lines.map(str::to_owned).collect()
    };
    let count = |name: &str, what: &str| -> Result<Option<usize>, AppError> {
        let Some(text) = fields.maybe(name) else {
            return Ok(None);
        };
        let n = text.trim().parse::<usize>().ok().filter(|n| *n <= 100_000);
        let why = || {
            format!(
                "‘{}’ is no whole number from 0 to 100 000",
                text.chars().take(40).collect::<String>()
            )
        };
        n.map(Some).ok_or_else(|| wrong(what, why()))
    };
    let line = |name: &str| fields.maybe(name).map(|t| t.trim().to_owned());
    let n = |field: Field| {
        let (word, what, _) = field.about();
        count(word, what)
    };
    let takes = takes(design);
    let of = |field: Field| takes.contains(&field).then(|| field.word());
    let many = |field: Field| of(field).map_or_else(Vec::new, lines);
    let text = |field: Field| of(field).and_then(line);
    let number = |field: Field| {
        if takes.contains(&field) {
            n(field)
        } else {
            Ok(None)
        }
    };
    let typed = Typed {
        treatments: match many(Field::Treatments) {
            // Ticked by name, or typed where a study can't be worked out.
            typed if typed.is_empty() && of(Field::Treatments).is_some() => choices::ticked(fields),
            typed => typed,
        },
        replicates: number(Field::Replicates)?,
        block_name: text(Field::BlockName),
        blocks: number(Field::Blocks)?,
        per_block: number(Field::PerBlock)?,
        row_name: text(Field::RowName),
        column_name: text(Field::ColumnName),
        squares: number(Field::Squares)?,
        dogs: number(Field::Dogs)?,
        factor: many(Field::Factor),
        whole_plot: text(Field::WholePlot),
        control: text(Field::Control),
        controls: number(Field::Controls)?,
        drop: number(Field::Drop)?,
        generator: many(Field::Generator),
        reach: text(Field::Reach),
        centre: number(Field::Centre)?,
        part: many(Field::Part),
        steps: number(Field::Steps)?,
        degree: text(Field::Degree),
        runs: number(Field::Runs)?,
        starts: number(Field::Starts)?,
    };
    let wish = wish(design, &typed).map_err(|e| {
        let found = match e.found.as_str() {
            "" => String::new(),
            found => format!("‘{found}’: "),
        };
        wrong(e.field.about().1, format!("{found}{}", e.allowed))
    })?;
    let unit = match fields.maybe("unit") {
        None => design.units()[0],
        Some(word) => Unit::ALL
            .into_iter()
            .find(|u| u.word() == word)
            .ok_or_else(|| wrong("unit", "choose one of the list".to_owned()))?,
    };
    let seed = match fields.maybe("seed") {
        None => 1,
        Some(text) => text.trim().parse::<u64>().map_err(|_| {
            wrong(
                "seed",
                format!(
                    "‘{}’ is no whole number",
                    text.chars().take(40).collect::<String>()
                ),
            )
        })?,
    };
    let own = lines("responses");
    let responses = choices::chosen(fields)
        .iter()
        .chain(&own)
        .map(|l| Asked::read(l).map_err(|why| wrong("what is measured", why)))
        .collect::<Result<Vec<_>, _>>()?;
    let pieces = count("pieces", "good pieces")?.map(|n| u32::try_from(n).unwrap_or(u32::MAX));
    Ok(TrialAsked {
        name: fields.text("name")?.trim().to_owned(),
        question: line("question").unwrap_or_default(),
        study: study.to_owned(),
        wish,
        unit,
        seed,
        control: None,
        responses,
        pieces,
        loss_pct: 5.0,
        blind: fields.maybe("blind").is_some(),
    })
}
