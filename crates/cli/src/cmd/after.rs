//! `hardtack after`: cooling, evening-out, checking and keeping of one treatment.

use super::find::find;
use crate::table::{Row, Side, WIDTH, table, wrap};
use crate::{End, files, tell};
use baking::after::{Climate, Crumb};
use clap::Args;
use measure::{Severity, temperature::kelvin, units::HOUR_S};
use paper::number::{self, three};
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::PathBuf;
use study::Treatment;
use study::chain::shelf_life::AfterOptions;
use study::model::{FilmChoice, Keeping};
use study::views::after_oven::{AfterAnswer, after_oven};
use study::{BakeOptions, Sample, Workspace};

/// What happens after the oven, and in what pack.
#[derive(Debug, Args)]
pub struct AfterArgs {
    /// Study file (TOML).
    pub file: PathBuf,
    /// The treatment; the control if none is named.
    #[arg(long, value_name = "ID")]
    pub treatment: Option<String>,
    /// Days of evening-out in the pack; as the study's pack has it unless given.
    #[arg(long, value_name = "DAYS")]
    pub days: Option<f64>,
    /// Try what may help against checking: each change is baked again to the same dryness.
    #[arg(long)]
    pub changes: bool,
    /// Film of the pack, by its short name; an unknown one tells what there is. As the study's pack has it unless given.
    #[arg(long, value_name = "FILM")]
    pub film: Option<String>,
    /// The film's own transmission of water vapour at 38 °C and 90 %, instead of a film of the table.
    #[arg(long, value_name = "G_PER_M2_DAY")]
    pub transmission: Option<f64>,
    /// Area of film on a pack; as the study's pack has it unless given.
    #[arg(long, value_name = "CM2")]
    pub pack_area_cm2: Option<f64>,
    /// Product in a pack; as the study's pack has it unless given.
    #[arg(long, value_name = "G")]
    pub pack_g: Option<f64>,
    /// Temperature and relative humidity of the store, as 25/65; several, as 10/60,30/75, share the year. As the study's pack has it unless given.
    #[arg(long, value_name = "C/PERCENT", value_delimiter = ',', value_parser = store)]
    pub store: Vec<(f64, f64)>,
    /// Months of keeping; as the study's pack has it unless given.
    #[arg(long, value_name = "MONTHS")]
    pub months: Option<f64>,
    /// Water activity at which crispness goes.
    #[arg(long, value_name = "AW")]
    pub crisp: Option<f64>,
    /// Modulus of the crumb.
    #[arg(long, value_name = "MPA")]
    pub modulus_mpa: Option<f64>,
    /// Strength of the crumb.
    #[arg(long, value_name = "MPA")]
    pub strength_mpa: Option<f64>,
    /// Expansion of the crumb per point of moisture (dry basis), in percent of length.
    #[arg(long, value_name = "PERCENT")]
    pub expansion_pct: Option<f64>,
    /// Time in which stress relaxes to 37 %; elastic without it.
    #[arg(long, value_name = "HOURS")]
    pub relaxation_h: Option<f64>,
    /// One JSON document on standard output.
    #[arg(long)]
    pub json: bool,
    /// Write the courses as tidy CSV: part, time, unit of time, quantity, place, value.
    #[arg(long, value_name = "OUT")]
    pub csv: Option<PathBuf>,
    /// Write the curves as SVG.
    #[arg(long, value_name = "OUT")]
    pub svg: Option<PathBuf>,
    /// Overwrite existing files.
    #[arg(long)]
    pub force: bool,
}

/// Temperature in °C and relative humidity in percent.
fn store(text: &str) -> Result<(f64, f64), String> {
    let both = text
        .split_once('/')
        .and_then(|(c, rh)| Some((c.trim().parse().ok()?, rh.trim().parse().ok()?)));
    both.ok_or_else(|| {
        format!("\"{text}\" isn't temperature/humidity; write 25/65 for 25 °C and 65 %")
    })
}

/// As the treatment's pack is written, with what was given in its place.
fn asked(args: &AfterArgs, treatment: &Treatment) -> AfterOptions {
    let AfterOptions {
        evening_days,
        keeping: usual,
        ..
    } = AfterOptions::of(treatment);
    let crumb = Crumb::default();
    let months: Vec<(f64, f64)> = args
        .store
        .iter()
        .map(|(c, rh)| (kelvin(*c), rh / 100.0))
        .collect();
    let keeping = Keeping {
        film: match (args.transmission, &args.film) {
            (Some(own), _) => FilmChoice::Transmission(own),
            (None, Some(film)) => FilmChoice::Known(film.clone()),
            (None, None) => usual.film,
        },
        pack_area_m2: args
            .pack_area_cm2
            .map_or(usual.pack_area_m2, |cm2| cm2 / 1e4),
        pack_kg: args.pack_g.map_or(usual.pack_kg, |g| g / 1e3),
        climate: if months.is_empty() {
            usual.climate
        } else {
            Climate::months(&months)
        },
        months: args.months.unwrap_or(usual.months),
        crisp_water_activity: args.crisp.unwrap_or(usual.crisp_water_activity),
    };
    AfterOptions {
        evening_days: args.days.unwrap_or(evening_days),
        changes: args.changes,
        keeping,
        crumb: Crumb {
            modulus_mpa: args.modulus_mpa.unwrap_or(crumb.modulus_mpa),
            strength_mpa: args.strength_mpa.unwrap_or(crumb.strength_mpa),
            expansion_per_point: args
                .expansion_pct
                .map_or(crumb.expansion_per_point, |p| p / 100.0),
            relaxation_s: args.relaxation_h.map(|h| h * HOUR_S),
            ..crumb
        },
    }
}

/// Does what was asked.
pub fn run(args: &AfterArgs) -> anyhow::Result<End> {
    let Some(study) = files::study_or_tell(&args.file)? else {
        return Ok(End::Bad);
    };
    let treatment = match &args.treatment {
        Some(id) => find(&study, id)?,
        None => study.control(),
    };
    let options = BakeOptions::BAKE_ONLY;
    let baked = study::run(treatment, &options, Sample::Centre, &mut Workspace::new())?;
    let answer = after_oven(&baked, &asked(args, treatment))?;
    if let Some(out) = &args.csv {
        files::write(out, &csv(&answer), args.force)?;
    }
    if let Some(out) = &args.svg {
        files::write(out, &report::after_svg(&answer), args.force)?;
    }
    if args.json {
        let mut document = json!({ "hardtack": env!("CARGO_PKG_VERSION") });
        if let (Value::Object(all), Value::Object(rest)) =
            (&mut document, serde_json::to_value(&answer)?)
        {
            all.extend(rest);
        }
        tell::json(&document)?;
    } else {
        tell::out(&terminal(&answer))?;
    }
    let stops = answer.findings.iter().any(|f| f.severity == Severity::Stop);
    Ok(if stops { End::Stop } else { End::Fine })
}

/// Every course as tidy rows.
fn csv(a: &AfterAnswer) -> String {
    let mut text = "part,time,time_unit,quantity,height_mm,value\n".to_owned();
    let mut row =
        |part: &str, time: f64, unit: &str, what: &str, height: Option<f64>, value: f64| {
            let height = height.map_or_else(String::new, |h| h.to_string());
            // Writing into a text never fails.
            let _ = writeln!(text, "{part},{time},{unit},{what},{height},{value}");
        };
    let c = &a.cooling;
    for (i, t) in c.minutes.iter().enumerate() {
        row("cooling", *t, "min", "mean_c", None, c.mean_c[i]);
        row("cooling", *t, "min", "centre_c", None, c.centre_c[i]);
        row(
            "cooling",
            *t,
            "min",
            "moisture_pct",
            None,
            c.moisture_pct[i],
        );
    }
    let e = &a.evening;
    for (t, moisture) in e.hours.iter().zip(&e.moisture_pct) {
        for (h, m) in e.height_mm.iter().zip(moisture) {
            row("evening", *t, "h", "moisture_pct", Some(*h), *m);
        }
    }
    for (t, index) in a.checking.hours.iter().zip(&a.checking.index) {
        for (h, v) in e.height_mm.iter().zip(index) {
            row("checking", *t, "h", "index", Some(*h), *v);
        }
    }
    let k = &a.keeping;
    for (i, t) in k.days.iter().enumerate() {
        row("keeping", *t, "d", "moisture_pct", None, k.moisture_pct[i]);
        row(
            "keeping",
            *t,
            "d",
            "water_activity",
            None,
            k.water_activity[i],
        );
    }
    text
}

fn or_longer(value: Option<f64>, unit: &str) -> String {
    value.map_or_else(
        || "longer than looked at".into(),
        |v| format!("{v:.1} {unit}"),
    )
}

fn terminal(a: &AfterAnswer) -> String {
    let (cooling, evening, checking, keeping) = (&a.cooling, &a.evening, &a.checking, &a.keeping);
    let last = |v: &[f64]| v.last().copied().unwrap_or(f64::NAN);
    let mut text = format!("{}\n", tell::styled(tell::BOLD, &a.name));
    let cell = |what: &str, value: String| Row::Cells(vec![what.into(), value]);
    let rows = [
        Row::Heading("Cooling".into()),
        cell("time to 35 °C", or_longer(cooling.to_35_c_min, "min")),
        cell("cooling time", format!("{:.1} min", last(&cooling.minutes))),
        cell(
            "temperature when packed",
            format!("{:.0} °C", last(&cooling.mean_c)),
        ),
        cell(
            "mean moisture, oven exit to packed",
            format!(
                "{:.1} to {:.1} %",
                cooling.moisture_pct[0], checking.mean_moisture_pct
            ),
        ),
        Row::Heading("Evening-out in the pack".into()),
        cell(
            "centre less surfaces when packed",
            format!(
                "{} points",
                number::fixed(checking.centre_surface_points, 2)
            ),
        ),
        cell(
            "wettest less driest place when packed",
            format!("{:.2} points", evening.unevenness_points[0]),
        ),
        cell(
            "half of it is left after",
            or_longer(evening.half_hours, "h"),
        ),
        cell(
            "a tenth of it is left after",
            or_longer(evening.tenth_hours, "h"),
        ),
        Row::Heading("Checking (an index until it is calibrated)".into()),
        cell(
            "greatest stress over strength",
            format!("{:.2}", checking.greatest),
        ),
        cell(
            "reached",
            format!(
                "{:.1} h after the oven, {} ({:.1} mm)",
                checking.at_hours, checking.at, checking.at_height_mm
            ),
        ),
        cell("stress there", format!("{:.2} MPa", checking.stress_mpa)),
        Row::Heading(format!(
            "Keeping in {} ({:.2} g/m² d)",
            keeping.film, keeping.transmission_g_per_m2_d
        )),
        cell(
            "water activity, packed to end",
            format!(
                "{:.2} to {:.2}",
                keeping.water_activity[0],
                last(&keeping.water_activity)
            ),
        ),
        cell(
            &format!(
                "days to a water activity of {:.2}",
                keeping.crisp_water_activity
            ),
            days(keeping.crisp_days, keeping.crisp_days_closed_form),
        ),
        cell(
            "days to a water activity of 0.65",
            days(keeping.mould_days, keeping.mould_days_closed_form),
        ),
        cell(
            "the same limit, leakiest and tightest film",
            match keeping.crisp_days_range {
                Some((tight, leaky)) => {
                    format!("{} and {}", or_longer(leaky, "d"), or_longer(tight, "d"))
                }
                None => "not known".into(),
            },
        ),
    ];
    text.push_str(&table(&["", ""], &[Side::Left, Side::Left], &rows));
    if !checking.changes.is_empty() {
        text.push_str("\nWhat would help, baked to the same dryness\n");
        let as_it_is = Row::Cells(vec![
            "as it is".into(),
            format!("{:.1}", a.bake_time_min),
            format!("{:.2}", checking.greatest),
            String::new(),
            number::fixed(checking.centre_surface_points, 2),
            String::new(),
        ]);
        let changed = checking.changes.iter().map(|c| {
            Row::Cells(vec![
                c.change.word().into(),
                format!("{:.1}", c.bake_time_s / 60.0),
                format!("{:.2}", c.index),
                format!("{:+.0} %", 100.0 * c.relative),
                number::fixed(c.centre_surface_points, 2),
                if c.met {
                    String::new()
                } else {
                    "dryness not reached".into()
                },
            ])
        });
        let rows: Vec<Row> = std::iter::once(as_it_is).chain(changed).collect();
        let mut sides = vec![Side::Left];
        sides.extend([Side::Right; 4]);
        sides.push(Side::Left);
        text.push_str(&table(
            &["change", "oven min", "index", "change", "points", ""],
            &sides,
            &rows,
        ));
    }
    text.push('\n');
    let mut grades = String::from("It stands on: ");
    for (i, g) in a.given.iter().enumerate() {
        let _ = write!(
            grades,
            "{}{} {}{}{} ({})",
            if i > 0 { "; " } else { "" },
            g.name,
            g.value.map_or("–".to_owned(), three),
            if g.unit == "1" { "" } else { " " },
            if g.unit == "1" { "" } else { &g.unit },
            g.source.grade.word()
        );
    }
    text.push_str(&wrap(&(grades + "."), WIDTH, ""));
    text.push_str(&tell::findings(
        &[(a.id.as_str(), a.findings.as_slice())],
        true,
    ));
    text
}

fn days(computed: Option<f64>, closed: Option<f64>) -> String {
    let closed = closed.map_or_else(|| "never".into(), |d| format!("{d:.0}"));
    format!(
        "{} (textbook's straight isotherm: {closed})",
        or_longer(computed, "d")
    )
}
