//! `hardtack trial plan`.

use super::{tell_all, unit, write_all};
use crate::table::{WIDTH, wrap};
use crate::trial_args::{Out, Plan};
use crate::{End, tell};
use serde_json::json;
use trials::plan::{
    Augmented, Blocks, BoxBehnken, CentralComposite, CompletelyRandomised, Component,
    ConstrainedMixture, Degree, Design, Factor, Factorial, Fractional, LatinSquare, MOST_BLOCKS,
    Named, Reach, Request, SimplexCentroid, SimplexLattice, SplitPlot, Williams,
};

/// The options each design takes beside seed, unit and outputs.
const fn options(design: Design) -> &'static [&'static str] {
    match design {
        Design::CompletelyRandomised => &["treatments", "replicates"],
        Design::Blocks => &["treatments", "blocks", "block-name", "per-block"],
        Design::LatinSquare => &["treatments", "row-name", "column-name", "squares"],
        Design::Williams => &["treatments", "dogs"],
        Design::Factorial => &["factor", "replicates", "block-name"],
        Design::Fractional => &["factor", "drop", "generator", "replicates"],
        Design::Augmented => &["factor", "control", "controls", "replicates", "block-name"],
        Design::SplitPlot => &["whole-plot", "factor", "blocks", "block-name"],
        Design::CentralComposite => &["factor", "reach", "centre"],
        Design::BoxBehnken => &["factor", "centre"],
        Design::SimplexLattice => &["part", "steps", "replicates"],
        Design::SimplexCentroid => &["part", "replicates"],
        Design::ConstrainedMixture => &["part", "factor", "degree", "runs", "starts"],
    }
}

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
                    "options": options(*d),
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
        let flags: Vec<String> = options(d).iter().map(|o| format!("--{o}")).collect();
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
    let given = [
        ("treatments", !args.treatments.is_empty()),
        ("replicates", args.replicates.is_some()),
        ("block-name", args.block_name.is_some()),
        ("blocks", args.blocks.is_some()),
        ("per-block", args.per_block.is_some()),
        ("row-name", args.row_name.is_some()),
        ("column-name", args.column_name.is_some()),
        ("squares", args.squares.is_some()),
        ("dogs", args.dogs.is_some()),
        ("factor", !args.factor.is_empty()),
        ("whole-plot", args.whole_plot.is_some()),
        ("control", args.control.is_some()),
        ("controls", args.controls.is_some()),
        ("drop", args.drop.is_some()),
        ("generator", !args.generator.is_empty()),
        ("reach", args.reach.is_some()),
        ("centre", args.centre.is_some()),
        ("part", !args.part.is_empty()),
        ("steps", args.steps.is_some()),
        ("degree", args.degree.is_some()),
        ("runs", args.runs.is_some()),
        ("starts", args.starts.is_some()),
    ];
    let takes = options(design);
    for (name, _) in given.iter().filter(|g| g.1) {
        anyhow::ensure!(
            takes.contains(name) && !args.example,
            "--{name} has no place {}; it takes {}",
            if args.example {
                "beside --example".to_owned()
            } else {
                format!("in a {} plan", design.word())
            },
            takes
                .iter()
                .map(|t| format!("--{t}"))
                .collect::<Vec<_>>()
                .join(" ")
        );
    }
    Ok(())
}

fn request(args: &Plan, design: Design) -> anyhow::Result<Request> {
    let treatments = || {
        let names: Vec<String> = args
            .treatments
            .iter()
            .map(|t| t.trim().to_owned())
            .collect();
        anyhow::ensure!(
            !names.is_empty(),
            "name the treatments, the control first: --treatments \"control,barley,rice\""
        );
        Ok(names)
    };
    let replicates = args.replicates.unwrap_or(3);
    let block_name = || args.block_name.clone().unwrap_or_else(|| "bake day".into());
    let blocks = || {
        let count = args.blocks.unwrap_or(3);
        anyhow::ensure!(
            count <= MOST_BLOCKS,
            "--blocks {count}: at most {MOST_BLOCKS} are allowed; split the question into several trials"
        );
        Ok((1..=count).map(|i| i.to_string()).collect())
    };
    let named = || {
        args.factor
            .iter()
            .map(|f| named(f))
            .collect::<anyhow::Result<Vec<_>>>()
    };
    let numbers = || {
        args.factor
            .iter()
            .map(|f| number(f))
            .collect::<anyhow::Result<Vec<_>>>()
    };
    let parts = || {
        args.part
            .iter()
            .map(|p| part(p))
            .collect::<anyhow::Result<Vec<_>>>()
    };
    let split = |parts: Vec<Component>| -> (Vec<String>, Vec<f64>) {
        parts.into_iter().map(|p| (p.name, p.low)).unzip()
    };
    Ok(match design {
        Design::CompletelyRandomised => Request::CompletelyRandomised(CompletelyRandomised {
            treatments: treatments()?,
            replicates,
        }),
        Design::Blocks => Request::Blocks(Blocks {
            treatments: treatments()?,
            block_name: block_name(),
            blocks: blocks()?,
            per_block: args.per_block.unwrap_or(1),
        }),
        Design::LatinSquare => Request::LatinSquare(LatinSquare {
            treatments: treatments()?,
            row_name: args.row_name.clone().unwrap_or_else(|| "bake day".into()),
            column_name: args
                .column_name
                .clone()
                .unwrap_or_else(|| "place in the day".into()),
            squares: args.squares.unwrap_or(1),
        }),
        Design::Williams => Request::Williams(Williams {
            foods: treatments()?,
            dogs: args.dogs.unwrap_or(12),
        }),
        Design::Factorial => Request::Factorial(Factorial {
            factors: named()?,
            replicates,
            block_name: args.block_name.clone(),
        }),
        Design::Fractional => Request::Fractional(Fractional {
            factors: named()?,
            drop: args.drop.unwrap_or(args.generator.len().max(1)),
            generators: args.generator.clone(),
            replicates: args.replicates.unwrap_or(1),
        }),
        Design::Augmented => Request::Augmented(Augmented {
            factors: named()?,
            control: args.control.clone().unwrap_or_else(|| "control".into()),
            controls_per_replicate: args.controls.unwrap_or(1),
            replicates,
            block_name: args.block_name.clone(),
        }),
        Design::SplitPlot => {
            let whole = args.whole_plot.as_deref().ok_or_else(|| {
                anyhow::anyhow!("name what is hard to change: --whole-plot \"oven=150 °C,170 °C\"")
            })?;
            let mut sub = named()?;
            anyhow::ensure!(
                sub.len() == 1,
                "a split plot takes one --factor within its whole plots, e.g. --factor \"formula=control,barley\""
            );
            Request::SplitPlot(SplitPlot {
                whole: self::named(whole)?,
                sub: sub.remove(0),
                block_name: block_name(),
                blocks: blocks()?,
            })
        }
        Design::CentralComposite => Request::CentralComposite(CentralComposite {
            factors: numbers()?,
            reach: reach(args.reach.as_deref())?,
            centre_points: args.centre.unwrap_or(6),
        }),
        Design::BoxBehnken => Request::BoxBehnken(BoxBehnken {
            factors: numbers()?,
            centre_points: args.centre.unwrap_or(3),
        }),
        Design::SimplexLattice => {
            let (components, least) = split(parts()?);
            Request::SimplexLattice(SimplexLattice {
                components,
                least,
                steps: args.steps.unwrap_or(2),
                replicates: args.replicates.unwrap_or(2),
            })
        }
        Design::SimplexCentroid => {
            let (components, least) = split(parts()?);
            Request::SimplexCentroid(SimplexCentroid {
                components,
                least,
                replicates: args.replicates.unwrap_or(2),
            })
        }
        Design::ConstrainedMixture => Request::ConstrainedMixture(ConstrainedMixture {
            components: parts()?,
            process: numbers()?,
            degree: degree(args.degree.as_deref())?,
            runs: args.runs.unwrap_or(16),
            starts: args.starts.unwrap_or(200),
        }),
    })
}

/// `flour=barley,rice`
fn named(text: &str) -> anyhow::Result<Named> {
    let (name, levels) = text.split_once('=').ok_or_else(|| {
        anyhow::anyhow!(
            "factor `{text}`: write the name and its levels, e.g. \"flour=barley,rice\""
        )
    })?;
    Ok(Named {
        name: name.trim().to_owned(),
        levels: levels.split(',').map(|l| l.trim().to_owned()).collect(),
    })
}

/// `bake time:min=18..30`
fn number(text: &str) -> anyhow::Result<Factor> {
    let wrong = || {
        anyhow::anyhow!(
            "factor `{text}`: write name, unit, low and high end, e.g. \"bake time:min=18..30\""
        )
    };
    let (name, range) = text.split_once('=').ok_or_else(wrong)?;
    let (name, unit) = name.split_once(':').unwrap_or((name, ""));
    let (low, high) = range.split_once("..").ok_or_else(wrong)?;
    let end = |x: &str| x.trim().parse::<f64>().map_err(|_| wrong());
    Ok(Factor {
        name: name.trim().to_owned(),
        unit: unit.trim().to_owned(),
        low: end(low)?,
        high: end(high)?,
        allowed: None,
    })
}

/// `barley flour=0.05..0.30`, or a name alone for the whole range.
fn part(text: &str) -> anyhow::Result<Component> {
    let wrong = || {
        anyhow::anyhow!(
            "part `{text}`: write the name with least and most as fractions, e.g. \"barley flour=0.05..0.30\""
        )
    };
    let (name, range) = text.split_once('=').unwrap_or((text, "0..1"));
    let (low, high) = range.split_once("..").ok_or_else(wrong)?;
    let end = |x: &str, open: f64| match x.trim() {
        "" => Ok(open),
        x => x.parse::<f64>().map_err(|_| wrong()),
    };
    Ok(Component {
        name: name.trim().to_owned(),
        low: end(low, 0.0)?,
        high: end(high, 1.0)?,
    })
}

fn reach(text: Option<&str>) -> anyhow::Result<Reach> {
    Ok(match text {
        None | Some("rotatable") => Reach::Rotatable,
        Some("spherical") => Reach::Spherical,
        Some("face") => Reach::Face,
        Some(x) => Reach::At(x.parse().map_err(|_| {
            anyhow::anyhow!("--reach `{x}`: allowed are rotatable, spherical, face or a number")
        })?),
    })
}

fn degree(text: Option<&str>) -> anyhow::Result<Degree> {
    Ok(match text {
        None | Some("quadratic") => Degree::Quadratic,
        Some("linear") => Degree::Linear,
        Some("interaction") => Degree::Interaction,
        Some("special-cubic") => Degree::SpecialCubic,
        Some(x) => anyhow::bail!(
            "--degree `{x}`: allowed are linear, interaction, quadratic and special-cubic"
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factors_and_parts_are_read_as_written() {
        let f = number("bake time:min=18..30").unwrap();
        assert_eq!((f.name.as_str(), f.unit.as_str()), ("bake time", "min"));
        assert_eq!((f.low, f.high), (18.0, 30.0));
        assert_eq!(number("shift=-3..3").unwrap().low, -3.0);
        assert!(number("time=18-30").is_err());
        assert_eq!(part("rice").unwrap().high, 1.0);
        assert_eq!(part("rice=0.1..").unwrap().low, 0.1);
        assert_eq!(named("flour=a, b").unwrap().levels, ["a", "b"]);
    }
}
