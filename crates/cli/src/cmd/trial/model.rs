//! `hardtack trial trend`, `surface` and `mixture`: amounts that were varied.

use super::{data, refuse, tell_all, worked};
use crate::End;
use crate::trial_args::{Mixture, Surface, Trend};
use measure::Finding;
use serde_json::json;
use trials::analyse::Table;
use trials::analyse::best::{best, wish};
use trials::analyse::from_sheet::{self, SheetRoles};
use trials::analyse::model::{SurfaceModel, fit_mixture, fit_surface, fit_trend};
use trials::stats::desirability::Wish;
use trials::stats::mixture::{Degree, Prediction};

/// The numbers of columns, in the rows where all of them are there.
fn rows(table: &Table, names: &[String]) -> Vec<Vec<f64>> {
    (0..table.row_numbers.len())
        .filter_map(|i| {
            names
                .iter()
                .map(|n| table.column(n)?.cells[i].number())
                .collect()
        })
        .collect()
}

/// The columns that were named, else those that a run sheet of our own names.
fn named(
    asked: &[String],
    table: &Table,
    what: &str,
    of: impl Fn(SheetRoles) -> Vec<String>,
) -> anyhow::Result<Vec<String>> {
    let found = if asked.is_empty() {
        from_sheet::roles(table).map(of).unwrap_or_default()
    } else {
        asked.to_vec()
    };
    anyhow::ensure!(
        !found.is_empty(),
        "--{what}: name the columns, parted by commas; this table isn't a run sheet that names them itself"
    );
    Ok(found)
}

/// A straight line.
pub fn trend(args: &Trend) -> anyhow::Result<End> {
    let table = match data::table(&args.data)? {
        Ok(table) => table,
        Err(findings) => return refuse(&findings, args.out.json),
    };
    let unit = args.unit.as_deref();
    let fit = || fit_trend(&table, &args.response, &args.along, unit, args.slopes);
    match worked(fit) {
        Ok(found) => {
            let points: Vec<(f64, f64)> =
                rows(&table, &[args.along.clone(), args.response.clone()])
                    .iter()
                    .map(|p| (p[0], p[1]))
                    .collect();
            let told = report::trial::trend(&found, &args.along, &points);
            tell_all(&told, &found, &args.out)
        }
        Err(findings) => refuse(&findings, args.out.json),
    }
}

/// A response surface.
pub fn surface(args: &Surface) -> anyhow::Result<End> {
    let table = match data::table(&args.data)? {
        Ok(table) => from_sheet::standing(&table),
        Err(findings) => return refuse(&findings, args.out.json),
    };
    let variables = named(&args.variables, &table, "variables", |r| r.variables)?;
    let model = match worked(|| fit_surface(&table, &args.response, &variables)) {
        Ok(model) => model,
        Err(findings) => return refuse(&findings, args.out.json),
    };
    let asked = predictions(&args.predict, &variables, |p| model.predict(p))?;
    let asked = match asked {
        Ok(asked) => asked,
        Err(finding) => return refuse(&[*finding], args.out.json),
    };
    let mut told = report::trial::surface(&model, &variables, &asked);
    let best = if args.wish.is_empty() {
        None
    } else {
        let models = match wished(&table, args, &variables)? {
            Ok(models) => models,
            Err(findings) => return refuse(&findings, args.out.json),
        };
        let found = best(&models);
        report::trial::best(&mut told, found.as_ref(), &variables);
        found
    };
    let document = json!({
        "model": model.report,
        "stationary": model.stationary,
        "shape": model.canonical.as_ref().map(|c| format!("{:?}", c.shape).to_lowercase()),
        "inside": model.canonical.as_ref().map(|c| c.inside),
        "eigenvalues": model.canonical.as_ref().map(|c| c.eigenvalues.clone()),
        "predictions": written(&asked),
        "best": best.map(|b| json!({
            "at": b.at, "overall": b.overall,
            "responses": b.responses.iter().map(|r| json!({
                "response": r.response, "desirability": r.desirability,
                "predicted": written(&vec![(String::new(), r.prediction)])[0],
            })).collect::<Vec<_>>(),
        })),
    });
    tell_all(&told, &document, &args.out)
}

type Wished = Vec<(SurfaceModel, Wish)>;

/// A model of every response that something is wished of.
fn wished(
    table: &Table,
    args: &Surface,
    variables: &[String],
) -> anyhow::Result<Result<Wished, Vec<Finding>>> {
    let mut models = Vec::with_capacity(args.wish.len());
    for text in &args.wish {
        let read = text
            .rsplit_once(':')
            .and_then(|(column, wanted)| Some((column.trim(), wish(wanted)?)));
        let (column, wanted) = read.ok_or_else(|| {
            anyhow::anyhow!(
                "--wish `{text}`: give a column, a colon and what is wished, e.g. \
                 --wish \"breaking_force_n: larger 30..50\", \"bake_loss_pct: smaller 18..24\" \
                 or \"moisture_pct: target 6..8..10\""
            )
        })?;
        match fit_surface(table, column, variables) {
            Ok(model) => models.push((model, wanted)),
            Err(findings) => return Ok(Err(findings)),
        }
    }
    Ok(Ok(models))
}

/// A mixture model.
pub fn mixture(args: &Mixture) -> anyhow::Result<End> {
    let table = match data::table(&args.data)? {
        Ok(table) => from_sheet::standing(&table),
        Err(findings) => return refuse(&findings, args.out.json),
    };
    let degree = match args.degree.as_str() {
        "linear" => Degree::Linear,
        "special-cubic" => Degree::SpecialCubic,
        _ => Degree::Quadratic,
    };
    let parts = named(&args.parts, &table, "parts", |r| r.parts)?;
    let model = match worked(|| fit_mixture(&table, &args.response, &parts, degree)) {
        Ok(model) => model,
        Err(findings) => return refuse(&findings, args.out.json),
    };
    let asked = predictions(&args.predict, &parts, |p| model.predict(p))?;
    let asked = match asked {
        Ok(asked) => asked,
        Err(finding) => return refuse(&[*finding], args.out.json),
    };
    let blends = rows(&table, &parts);
    let told = report::trial::mixture(&model, &parts, &blends, &asked);
    let document = json!({ "model": model.report, "predictions": written(&asked) });
    tell_all(&told, &document, &args.out)
}

type Asked = Vec<(String, Prediction)>;

fn predictions(
    asked: &[String],
    names: &[String],
    predict: impl Fn(&[f64]) -> Result<Prediction, Box<Finding>>,
) -> anyhow::Result<Result<Asked, Box<Finding>>> {
    let mut found = Vec::with_capacity(asked.len());
    for text in asked {
        let point = text
            .split(',')
            .map(|x| x.trim().parse::<f64>())
            .collect::<Result<Vec<f64>, _>>()
            .ok()
            .filter(|p| p.len() == names.len())
            .ok_or_else(|| {
                anyhow::anyhow!(
                    "--predict `{text}`: give {} numbers parted by commas, for {}",
                    names.len(),
                    names.join(", ")
                )
            })?;
        match predict(&point) {
            Ok(p) => {
                let place: Vec<String> = names
                    .iter()
                    .zip(&point)
                    .map(|(n, v)| format!("{n} {v}"))
                    .collect();
                found.push((place.join(", "), p));
            }
            Err(finding) => return Ok(Err(finding)),
        }
    }
    Ok(Ok(found))
}

fn written(asked: &Asked) -> serde_json::Value {
    asked
        .iter()
        .map(|(place, p)| {
            json!({
                "at": place, "mean": p.mean, "se": p.se,
                "low95": p.mean95.0, "high95": p.mean95.1,
                "new_low95": p.new95.0, "new_high95": p.new95.1,
            })
        })
        .collect()
}
