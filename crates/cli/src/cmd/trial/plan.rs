//! `hardtack trial plan`.

use super::{tell_all, unit, write_all};
use crate::table::{WIDTH, wrap};
use crate::trial_args::{Out, Plan};
use crate::{End, tell};
use bench::wish::{Field, Shape, Typed, takes, wish};
use serde_json::json;
use trials::plan::{Design, Request};

/// Draws a plan, or tells the designs.
pub fn run(args: &Plan) -> anyhow::Result<End> {
    if args.design == "list" {
        return list(&args.out);
    }
    let design = Design::ALL
        .into_iter()
        .find(|d| d.code() == args.design)
        .ok_or_else(|| {
            let codes: Vec<&str> = Design::ALL.iter().map(|d| d.code()).collect();
            anyhow::anyhow!(
                "there is no design `{}`; there are {}; `hardtack trial plan list` tells when each fits",
                args.design,
                codes.join(", ")
            )
        })?;
    check_options(args, design)?;
    let request = if args.example {
        Request::example(design)
    } else {
        request(args, design)?
    };
    let unit = unit(args.unit.as_deref(), design.units()[0]);
    let sheet = trials::plan::plan(&request, unit, args.seed)?;
    let kept = match &args.save {
        Some(id) => Some(super::kept::keep(args, id, &request, unit)?),
        None => None,
    };
    // A run sheet is written as the sheet itself, ready for the bench.
    write_all(
        &[
            (&args.toml, &|| sheet.to_toml()),
            (&args.out.csv, &|| sheet.to_csv()),
            (&args.out.markdown, &|| sheet.to_markdown()),
        ],
        args.out.force,
    )?;
    let rest = Out {
        json: args.out.json,
        html: args.out.html.clone(),
        markdown: None,
        csv: None,
        force: args.out.force,
    };
    let end = tell_all(&report::trial::plan(&sheet), &sheet, &rest)?;
    if let Some(kept) = kept.filter(|_| !args.out.json) {
        tell::out(&format!(
            "Kept as trial {kept}, with its batches; `hardtack bench list --trial {kept}` tells them.\n"
        ))?;
    }
    if !args.out.json {
        for path in [&args.toml, &args.out.csv, &args.out.markdown]
            .into_iter()
            .flatten()
        {
            tell::out(&format!("Written: {}\n", path.display()))?;
        }
    }
    Ok(end)
}

fn list(out: &Out) -> anyhow::Result<End> {
    if out.json {
        let all: Vec<_> = Design::ALL
            .iter()
            .map(|d| {
                json!({
                    "design": d.code(), "name": d.word(), "when": d.when(),
                    "units": d.units().iter().map(|u| u.word()).collect::<Vec<_>>(),
                    "options": takes(*d).iter().map(|o| o.word()).collect::<Vec<_>>(),
                })
            })
            .collect();
        tell::json(&all)?;
        return Ok(End::Fine);
    }
    let mut text = String::new();
    for d in Design::ALL {
        text.push_str(&tell::styled(tell::BOLD, d.code()));
        text.push('\n');
        text.push_str(&wrap(d.when(), WIDTH, "    "));
        let flags: Vec<String> = takes(d).iter().map(|o| format!("--{}", o.word())).collect();
        text.push_str(&wrap(&flags.join(" "), WIDTH, "    "));
    }
    text.push_str(
        "\nEach also takes --seed and --unit (batch, oven-load or dog), and --example for an invented one.\n",
    );
    tell::out(&text)?;
    Ok(End::Fine)
}

/// Refuses an option that the design would silently leave aside.
fn check_options(args: &Plan, design: Design) -> anyhow::Result<()> {
    let t = typed(args);
    let given = |field: Field| match field {
        Field::Treatments => !t.treatments.is_empty(),
        Field::Replicates => t.replicates.is_some(),
        Field::BlockName => t.block_name.is_some(),
        Field::Blocks => t.blocks.is_some(),
        Field::PerBlock => t.per_block.is_some(),
        Field::RowName => t.row_name.is_some(),
        Field::ColumnName => t.column_name.is_some(),
        Field::Squares => t.squares.is_some(),
        Field::Dogs => t.dogs.is_some(),
        Field::Factor => !t.factor.is_empty(),
        Field::WholePlot => t.whole_plot.is_some(),
        Field::Control => t.control.is_some(),
        Field::Controls => t.controls.is_some(),
        Field::Drop => t.drop.is_some(),
        Field::Generator => !t.generator.is_empty(),
        Field::Reach => t.reach.is_some(),
        Field::Centre => t.centre.is_some(),
        Field::Part => !t.part.is_empty(),
        Field::Steps => t.steps.is_some(),
        Field::Degree => t.degree.is_some(),
        Field::Runs => t.runs.is_some(),
        Field::Starts => t.starts.is_some(),
    };
    let takes = takes(design);
    for field in Field::ALL.into_iter().filter(|f| given(*f)) {
        anyhow::ensure!(
            takes.contains(&field) && !args.example,
            "--{} has no place {}; it takes {}",
            field.word(),
            if args.example {
                "beside --example".to_owned()
            } else {
                format!("in a {} plan", design.word())
            },
            takes
                .iter()
                .map(|t| format!("--{}", t.word()))
                .collect::<Vec<_>>()
                .join(" ")
        );
    }
    Ok(())
}

/// What was typed, as options are.
fn typed(args: &Plan) -> Typed {
    Typed {
        treatments: args.treatments.clone(),
        replicates: args.replicates,
        block_name: args.block_name.clone(),
        blocks: args.blocks,
        per_block: args.per_block,
        row_name: args.row_name.clone(),
        column_name: args.column_name.clone(),
        squares: args.squares,
        dogs: args.dogs,
        factor: args.factor.clone(),
        whole_plot: args.whole_plot.clone(),
        control: args.control.clone(),
        controls: args.controls,
        drop: args.drop,
        generator: args.generator.clone(),
        reach: args.reach.clone(),
        centre: args.centre,
        part: args.part.clone(),
        steps: args.steps,
        degree: args.degree.clone(),
        runs: args.runs,
        starts: args.starts,
    }
}

fn request(args: &Plan, design: Design) -> anyhow::Result<Request> {
    wish(design, &typed(args)).map_err(|wrong| {
        let value = match wrong.found.as_str() {
            "" => String::new(),
            found if wrong.field.about().2 == Shape::Count => format!(" {found}"),
            found => format!(" `{found}`"),
        };
        anyhow::anyhow!("--{}{value}: {}", wrong.field.word(), wrong.allowed)
    })
}
