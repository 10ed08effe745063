//! `hardtack oven`: what an oven's own bakes teach: fit, show, compare.

use super::find::find;
use crate::table::{Row, Side, WIDTH, table, wrap};
use crate::{End, files, progress, tell};
use anyhow::{Context, anyhow, bail};
use app::{at_best_values, chosen};
use baking::bake::search::BandTarget;
use baking::bake::{BakeInput, Workspace};
use clap::{Args, Subcommand};
use learning::written::{self, Kept};
use learning::{Asked, Bakes, Chosen, Fit, FitError, Kind, Parameter, time};
use measure::rounding::significant;
use measure::{Finding, Severity};
use serde_json::{Value, json};
use std::path::PathBuf;
use study::chain::timed_bake::wanted;
use study::edit::{Edit, Taught};

/// Commands about one's own oven.
#[derive(Debug, Subcommand)]
pub enum Oven {
    /// Learn from bakes: pulled pieces, end moistures, probes; tell what was learned and what wasn't.
    Fit(OvenFit),
    /// Show a fit that was kept.
    Show(OvenShow),
    /// Readings beside what the model says of them, before and after a fit.
    Compare(OvenCompare),
    /// Take a fit up in a study file: its figures and limits then stand on what was learned.
    TakeUp(OvenTakeUp),
}

/// What readings are of.
#[derive(Debug, Args)]
pub struct OvenFrom {
    /// Table of readings (CSV: bake, what, minutes, value, before_g, height_mm); `-` reads standard input.
    pub file: PathBuf,
    /// Study file (TOML) that the bakes are of.
    #[arg(long, value_name = "FILE")]
    pub study: PathBuf,
    /// The treatment they are of; the control if none is named.
    #[arg(long, value_name = "ID")]
    pub treatment: Option<String>,
}

/// How to fit.
#[derive(Debug, Args)]
pub struct OvenFit {
    #[command(flatten)]
    from: OvenFrom,
    /// What to learn, in words as the fit tells them; without it what moves the bake of a dense piece most.
    #[arg(long, value_name = "WORDS", value_delimiter = ',')]
    learn: Vec<String>,
    /// Name of the fit.
    #[arg(long, value_name = "NAME", default_value = "own oven")]
    name: String,
    /// Learn heat from above and from the band in each zone by itself.
    #[arg(long)]
    by_zone: bool,
    /// Starts, which have to end at one place.
    #[arg(long, value_name = "N", default_value_t = 8)]
    starts: usize,
    /// Draws from what is held likely; 0 keeps to the curvature.
    #[arg(long, value_name = "N", default_value_t = 1000)]
    draws: usize,
    /// Let intervals follow the profile, which takes longer.
    #[arg(long)]
    profiles: bool,
    /// Seed of starts and draws.
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Keep the fit in a file (TOML).
    #[arg(long, value_name = "OUT")]
    out: Option<PathBuf>,
    /// Overwrite an existing file.
    #[arg(long)]
    force: bool,
    /// One JSON document on standard output.
    #[arg(long)]
    json: bool,
}

/// A kept fit.
#[derive(Debug, Args)]
pub struct OvenShow {
    /// The fit (TOML).
    file: PathBuf,
    /// One JSON document on standard output.
    #[arg(long)]
    json: bool,
}

/// Readings beside the model.
#[derive(Debug, Args)]
pub struct OvenCompare {
    #[command(flatten)]
    from: OvenFrom,
    /// A kept fit; without it the best values alone are told.
    #[arg(long, value_name = "FIT")]
    fit: Option<PathBuf>,
    /// One JSON document on standard output.
    #[arg(long)]
    json: bool,
}

/// Taking a fit up.
#[derive(Debug, Args)]
pub struct OvenTakeUp {
    /// The fit (TOML).
    fit: PathBuf,
    /// Study file (TOML) to take it up in.
    #[arg(long, value_name = "FILE")]
    study: PathBuf,
    /// Where to write the study with it.
    #[arg(long, value_name = "OUT")]
    out: PathBuf,
    /// Take it up although it has doubts, having read them.
    #[arg(long)]
    doubts_read: bool,
    /// Overwrite an existing file.
    #[arg(long)]
    force: bool,
}

/// Does what was asked.
pub fn run(args: Oven) -> anyhow::Result<End> {
    match args {
        Oven::Fit(args) => run_fit(&args),
        Oven::Show(args) => show(&args),
        Oven::Compare(args) => compare(&args),
        Oven::TakeUp(args) => take_up(&args),
    }
}

/// What readings are of: the rows, the bake at its best values, the target, a name.
struct Of {
    rows: Vec<learning::Row>,
    input: BakeInput,
    target: BandTarget,
    name: String,
    treatment: String,
}

/// None when the study has problems, which are then told.
fn of(from: &OvenFrom) -> anyhow::Result<Option<Of>> {
    let text = files::any_text(&from.file)?;
    let rows = learning::read(&text).with_context(|| from.file.display().to_string())?;
    let Some(study) = files::study_or_tell(&from.study)? else {
        return Ok(None);
    };
    let treatment = match &from.treatment {
        Some(id) => find(&study, id)?,
        None => study.control(),
    };
    Ok(Some(Of {
        rows,
        input: at_best_values(treatment)?,
        target: wanted(treatment),
        name: format!("{}, treatment {}", study.name, treatment.id),
        treatment: treatment.id.clone(),
    }))
}

fn words(learn: &[String]) -> anyhow::Result<Vec<Parameter>> {
    learn
        .iter()
        .map(|word| {
            Parameter::of(word.trim()).ok_or_else(|| {
                let all = Parameter::ALL.map(Parameter::word).join(", ");
                anyhow!("--learn {word}: isn't one of what can be learned; there are {all}")
            })
        })
        .collect()
}

fn run_fit(args: &OvenFit) -> anyhow::Result<End> {
    if let Some(out) = args.out.as_ref().filter(|o| o.exists() && !args.force) {
        bail!(
            "{} exists and stays as it is; --force overwrites it",
            out.display()
        );
    }
    anyhow::ensure!(
        (1..=64).contains(&args.starts),
        "--starts {}: give 1 to 64",
        args.starts
    );
    anyhow::ensure!(
        args.draws == 0 || (100..=100_000).contains(&args.draws),
        "--draws {}: give 0, or 100 to 100000",
        args.draws
    );
    let Some(of) = of(&args.from)? else {
        return Ok(End::Bad);
    };
    let bakes = Bakes::new(
        &of.input,
        of.rows,
        chosen(&words(&args.learn)?, args.by_zone, &of.input),
    );
    let asked = Asked {
        starts: args.starts,
        draws: args.draws,
        profiles: args.profiles,
        seed: args.seed,
    };
    let bar = progress::bar("fitting");
    let found = learning::fit(&bakes, asked, &|share| {
        progress::to_share(&bar, share);
        true
    });
    bar.finish_and_clear();
    let fit = match found {
        Ok(fit) => fit,
        Err(FitError::Readings(found)) => {
            if args.json {
                tell::json(&json!({"hardtack": env!("CARGO_PKG_VERSION"), "findings": found}))?;
            } else {
                tell::out(&findings(&found))?;
            }
            return Ok(End::Stop);
        }
        Err(other) => return Err(other.into()),
    };
    let w = &mut Workspace::new();
    let before = time::before(&of.input, &of.target, &bakes.chosen, w)?;
    let after = time::after(&of.input, &of.target, &fit, w)?;
    let kept = Kept {
        of: of.name,
        name: args.name.clone(),
        study: String::new(),
        treatment: of.treatment,
        made: app::now().chars().take(10).collect(),
        fit,
    };
    if let Some(out) = &args.out {
        files::write(out, &written::write(&kept), args.force)?;
    }
    if args.json {
        let mut document = document(&kept);
        document["bake_time"] = json!({"before": timed(before), "after": timed(after)});
        tell::json(&document)?;
    } else {
        tell::out(&(terminal(&kept) + &times(before, after) + &findings(&kept.fit.findings)))?;
    }
    Ok(End::Fine)
}

fn show(args: &OvenShow) -> anyhow::Result<End> {
    let kept = kept(&args.file)?;
    if args.json {
        tell::json(&document(&kept))?;
    } else {
        tell::out(&(terminal(&kept) + &findings(&kept.fit.findings)))?;
    }
    Ok(End::Fine)
}

fn take_up(args: &OvenTakeUp) -> anyhow::Result<End> {
    let kept = kept(&args.fit)?;
    anyhow::ensure!(
        kept.fit.holds(),
        "{}: it was made under another version of the bake's arithmetic; fit its readings anew",
        args.fit.display()
    );
    let doubts: Vec<Finding> = kept.fit.doubts().cloned().collect();
    if !doubts.is_empty() && !args.doubts_read {
        tell::out(&findings(&doubts))?;
        bail!(
            "{}: it has doubts, told above; --doubts-read takes it up all the same",
            args.fit.display()
        );
    }
    let text = files::any_text(&args.study)?;
    let Some(_) = files::study_or_tell(&args.study)? else {
        return Ok(End::Bad);
    };
    let written = study::written::read_written(&text)
        .map_err(|problems| anyhow!("{}: {} problems", args.study.display(), problems.len()))?;
    let learned = Taught::of_fit(&kept);
    let with = study::edit::apply(&written, &Edit::TakeUp { learned })?;
    files::write(&args.out, &study::written::write(&with), args.force)?;
    tell::out(&format!(
        "{}: “{}” is taken up, {}. What follows from it is marked ○.\n",
        args.out.display(),
        kept.name,
        kept.fit.stands_on()
    ))?;
    Ok(End::Fine)
}

fn kept(path: &std::path::Path) -> anyhow::Result<Kept> {
    let text = files::any_text(path)?;
    written::read(&text).with_context(|| path.display().to_string())
}

fn compare(args: &OvenCompare) -> anyhow::Result<End> {
    let Some(of) = of(&args.from)? else {
        return Ok(End::Bad);
    };
    let fit = args.fit.as_deref().map(kept).transpose()?.map(|k| k.fit);
    let chosen: Vec<Chosen> = fit
        .iter()
        .flat_map(|f| f.parameters.iter().map(|p| p.chosen))
        .collect();
    let places: Vec<f64> = fit
        .iter()
        .flat_map(|f| f.parameters.iter().map(|p| p.place))
        .collect();
    let bakes = Bakes::new(&of.input, of.rows, chosen);
    let found = learning::fit::checked(&bakes);
    let w = &mut Workspace::new();
    let believed = bakes.predicted(&vec![0.0; places.len()], w);
    let fitted = fit.as_ref().map(|_| bakes.predicted(&places, w));
    if args.json {
        let rows: Vec<Value> = (0..bakes.rows.len())
            .map(|i| {
                let r = &bakes.rows[i];
                json!({
                    "line": r.line, "bake": r.bake, "what": r.kind.word(), "minutes": r.time_s / 60.0,
                    "measured": r.value, "believed": believed[i], "fitted": fitted.as_ref().map(|f| f[i]),
                })
            })
            .collect();
        tell::json(
            &json!({"hardtack": env!("CARGO_PKG_VERSION"), "rows": rows, "findings": found}),
        )?;
    } else {
        let rows: Vec<Row> = (0..bakes.rows.len())
            .map(|i| {
                let r = &bakes.rows[i];
                let gap = r.value - fitted.as_ref().map_or(believed[i], |f| f[i]);
                Row::Cells(vec![
                    r.line.to_string(),
                    r.bake.clone(),
                    r.kind.name().to_owned(),
                    format!("{:.1}", r.time_s / 60.0),
                    value(r.kind, r.value),
                    value(r.kind, believed[i]),
                    fitted
                        .as_ref()
                        .map_or_else(String::new, |f| value(r.kind, f[i])),
                    measure::rounding::signed(gap, 2),
                ])
            })
            .collect();
        use Side::{Left as L, Right as R};
        let head = [
            "row",
            "bake",
            "what",
            "min",
            "measured",
            "best values",
            "fitted",
            "gap",
        ];
        let text = table(&head, &[R, L, L, R, R, R, R, R], &rows);
        tell::out(&(text + &findings(&found)))?;
    }
    let stops = found.iter().any(|f| f.severity == Severity::Stop);
    Ok(if stops { End::Stop } else { End::Fine })
}

fn value(kind: Kind, v: f64) -> String {
    match kind {
        Kind::Mass => format!("{v:.2} g"),
        Kind::Moisture | Kind::EndMoisture => format!("{v:.1} %"),
        Kind::Temperature => format!("{v:.1} °C"),
    }
}

fn terminal(kept: &Kept) -> String {
    use Side::{Left as L, Right as R};
    let f = &kept.fit;
    let mut text = format!("{}\n", tell::styled(tell::BOLD, &kept.of));
    let bakes: std::collections::BTreeSet<&str> = f.rows.iter().map(|r| r.bake.as_str()).collect();
    text.push_str(&wrap(
        &format!(
            "Learned from {} readings of {} bakes. Factors are on the best values of this product in this oven; they are effective \
             ones, not physics to carry to another product.",
            f.rows.len(),
            bakes.len()
        ),
        WIDTH,
        "",
    ));
    text.push('\n');
    let factor = |v: f64| significant(v, 2);
    let between = |[low, high]: [f64; 2]| format!("{} to {}", factor(low), factor(high));
    let rows: Vec<Row> = f
        .parameters
        .iter()
        .map(|p| {
            Row::Cells(vec![
                p.chosen.name(),
                between(p.believed_factor),
                factor(p.factor),
                between(p.factor_limits),
                format!("{:.0} %", 100.0 * p.share.max(0.0)),
            ])
        })
        .collect();
    text.push_str(&table(
        &[
            "factor on",
            "believed",
            "learned",
            "95 % within",
            "learned share",
        ],
        &[L, R, R, R, R],
        &rows,
    ));
    text.push('\n');
    let rows: Vec<Row> = f
        .quality
        .iter()
        .map(|q| {
            let unit = if q.kind == Kind::Temperature {
                "K"
            } else {
                "%"
            };
            Row::Cells(vec![
                q.kind.name().to_owned(),
                q.rows.to_string(),
                format!("{:.2} {unit}", q.before),
                format!("{:.2} {unit}", q.after),
            ])
        })
        .collect();
    text.push_str(&table(
        &[
            "missed by, root mean square",
            "readings",
            "best values",
            "fitted",
        ],
        &[L, R, R, R],
        &rows,
    ));
    text.push('\n');
    let [agree, all] = f.starts;
    let mut how = format!("{agree} of {all} starts ended at one place");
    match f.draws {
        Some(d) if f.by_draws => how.push_str(&format!(
            "; {} draws, worth {:.0}, with a tail of shape {:.2} (trusted below {:.2})",
            d.count, d.effective, d.shape, d.limit
        )),
        Some(d) => how.push_str(&format!(
            "; {} draws with a tail of shape {:.2}, which can't be trusted",
            d.count, d.shape
        )),
        None => how.push_str("; intervals by the curvature there"),
    }
    text.push_str(&wrap(&format!("{how}."), WIDTH, ""));
    text.push_str(&unknown(f));
    text
}

/// What isn't known, in words.
fn unknown(f: &Fit) -> String {
    let little: Vec<String> = f
        .parameters
        .iter()
        .filter(|p| p.share < 0.2)
        .map(|p| p.chosen.name())
        .collect();
    if little.is_empty() {
        return String::new();
    }
    wrap(
        &format!("Not learned (less than a fifth): {}.", little.join("; ")),
        WIDTH,
        "",
    )
}

fn times(before: Option<time::Sure>, after: Option<time::Sure>) -> String {
    let minutes = |s: time::Sure| {
        let [low, high] = s.interval_s().map(|v| v / 60.0);
        let [least, most] = s.next_interval_s().map(|v| v / 60.0);
        format!(
            "{:.1} min ({low:.1} to {high:.1}; a single bake {least:.1} to {most:.1})",
            s.time_s / 60.0
        )
    };
    let told = |s: Option<time::Sure>| s.map_or_else(|| "the target isn't met".to_owned(), minutes);
    wrap(
        &format!(
            "Time in the oven to the target: {} as believed, {} after these bakes; limits of 95 % by what is learned here alone.",
            told(before),
            told(after)
        ),
        WIDTH,
        "",
    )
}

fn findings(found: &[Finding]) -> String {
    tell::findings(&[("", found)], true)
}

fn timed(s: Option<time::Sure>) -> Value {
    s.map_or(Value::Null, |s| {
        let minutes = |v: [f64; 2]| v.map(|s| s / 60.0);
        json!({
            "time_min": s.time_s / 60.0, "interval_95_min": minutes(s.interval_s()),
            "next_bake_95_min": minutes(s.next_interval_s()), "sd_ln": s.sd_ln, "next_sd_ln": s.next_sd_ln,
        })
    })
}

fn document(kept: &Kept) -> Value {
    let f = &kept.fit;
    let parameters: Vec<Value> = f
        .parameters
        .iter()
        .map(|p| {
            json!({
                "word": p.chosen.parameter.word(), "name": p.chosen.parameter.about().name,
                "zone": p.chosen.zone.map(|z| z + 1), "believed_factor_95": p.believed_factor, "factor": p.factor,
                "factor_95": p.factor_limits, "learned_share": p.share, "by_profile": p.by_profile,
                "source": p.chosen.parameter.about().source,
            })
        })
        .collect();
    let word = |i: usize| f.parameters[i].chosen.parameter.word();
    let tangles: Vec<Value> = f
        .tangles
        .iter()
        .map(|t| json!({"pair": t.pair.map(word), "correlation": t.correlation, "learned_share_together": t.together}))
        .collect();
    let combinations: Vec<Value> = f
        .combinations
        .iter()
        .map(|c| json!({"weights": c.weights, "learned_share": c.share}))
        .collect();
    let quality: Vec<Value> = f
        .quality
        .iter()
        .map(|q| json!({"what": q.kind.word(), "readings": q.rows, "rms_before": q.before, "rms_after": q.after}))
        .collect();
    let draws = f.draws.map(|d| {
        // A tail without weights has no shape that JSON can hold.
        let shape = d.shape.is_finite().then_some(d.shape);
        json!({"count": d.count, "tail_shape": shape, "trusted_below": d.limit, "effective": d.effective})
    });
    let rows: Vec<Value> = f
        .rows
        .iter()
        .zip(&f.compared)
        .map(|(r, c)| {
            json!({
                "line": r.line, "bake": r.bake, "what": r.kind.word(), "minutes": r.time_s / 60.0, "measured": r.value,
                "believed": c.believed, "fitted": c.fitted, "gap_sd": c.gap,
            })
        })
        .collect();
    json!({
        "hardtack": env!("CARGO_PKG_VERSION"), "of": kept.of, "model_version": f.model_version,
        "parameters": parameters, "quality": quality, "misfit": f.misfit, "starts": f.starts, "draws": draws,
        "by_draws": f.by_draws, "not_told_apart": tangles, "combinations": combinations, "rows": rows,
        "findings": f.findings,
    })
}
