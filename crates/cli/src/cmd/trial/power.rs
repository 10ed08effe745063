//! `hardtack trial power`.

use super::{tell_all, unit, write_all};
use crate::End;
use crate::trial_args::{Power, Question};
use serde_json::json;
use trials::plan::Unit;
use trials::power::{Comparison, batch_mean_sd};

/// How many units a question needs, or what a plan of a given size finds.
pub fn run(args: &Power) -> anyhow::Result<End> {
    let comparison = comparison(args)?;
    let usual = match args.question {
        Question::FirstChoice => Unit::Dog,
        _ => Unit::Batch,
    };
    let unit = unit(args.unit.as_deref(), usual);
    unit.check()?;
    let answer = match args.n {
        Some(n) => comparison.of_plan(n, args.alpha, unit)?,
        None => comparison.replicates(args.power, args.alpha, unit)?,
    };
    let smallest = comparison.smallest_difference(answer.n, args.power, args.alpha)?;
    let steps = steps(answer.n);
    let curve = comparison.curve(&steps, args.alpha)?;
    let svg = || report::trial::curve_svg(unit, &curve, args.power);
    write_all(&[(&args.svg, &svg)], args.out.force)?;
    let told = report::trial::power(&answer, &curve, args.power, smallest);
    let points: Vec<_> = curve
        .iter()
        .map(|(n, power)| json!({ "n": n, "power": power }))
        .collect();
    let document = json!({
        "answer": answer, "wanted_power": args.power,
        "smallest_difference": smallest, "curve": points,
    });
    tell_all(&told, &document, &args.out)
}

/// Numbers of units around an answer: at most about twenty, up to twice as many.
fn steps(n: usize) -> Vec<usize> {
    let top = (2 * n).max(10);
    let step = top.div_ceil(20);
    let mut all: Vec<usize> = (2..=top).step_by(step).collect();
    if !all.contains(&n) {
        all.push(n);
        all.sort_unstable();
    }
    all
}

fn comparison(args: &Power) -> anyhow::Result<Comparison> {
    let need = |name: &str, value: Option<f64>| {
        value.ok_or_else(|| anyhow::anyhow!("this question needs --{name}"))
    };
    let sd = || match (args.between_sd, args.within_sd) {
        (Some(between), Some(within)) => Ok(batch_mean_sd(between, within, args.pieces)),
        _ => need("sd", args.sd),
    };
    let difference = || need("difference", args.difference);
    let treatments = || {
        args.treatments
            .ok_or_else(|| anyhow::anyhow!("this question needs --treatments"))
    };
    Ok(match args.question {
        Question::TwoSample => Comparison::TwoSample {
            difference: difference()?,
            sd: sd()?,
            one_sided: args.one_sided,
        },
        Question::Paired => Comparison::Paired {
            difference: difference()?,
            sd_of_differences: sd()?,
            one_sided: args.one_sided,
        },
        Question::OneWay => Comparison::OneWay {
            treatments: treatments()?,
            difference: difference()?,
            sd: sd()?,
        },
        Question::Means => Comparison::Means {
            means: args.means.clone(),
            sd: sd()?,
        },
        Question::Blocks => Comparison::Blocks {
            treatments: treatments()?,
            difference: difference()?,
            sd: sd()?,
        },
        Question::Proportions => Comparison::Proportions {
            first: need("first", args.first)?,
            second: need("second", args.second)?,
        },
        Question::AsGood => Comparison::AsGood {
            margin: need("margin", args.margin)?,
            difference: args.difference.unwrap_or(0.0),
            sd: sd()?,
            one_sided: args.one_sided,
        },
        Question::FirstChoice => Comparison::FirstChoice {
            share: need("share", args.share)?,
        },
    })
}
