//! `hardtack measure`: from what the instruments show to the numbers that are compared.

use crate::table::{Row, Side, WIDTH, table, wrap};
use crate::trial_args::Measure;
use crate::{End, tell};
use anyhow::bail;
use measure::{Finding, Severity, WetBasis, rounding::significant};
use serde_json::{Map, Value, json};
use trials::Code;
use trials::measurement::colour::{Lab, difference_1976, difference_2000};
use trials::measurement::farinograph::{self, Addition};
use trials::measurement::moisture::{self, Dish, Method};
use trials::measurement::net_content::{self, Rule};
use trials::measurement::solvent_retention::{Solvent, retention_before_2009_pct, retention_pct};
use trials::measurement::{bend, sampling_plan, spread, water_holding};

/// What was measured: figures with their units, words, findings.
#[derive(Default)]
struct Told {
    figures: Vec<(&'static str, f64, &'static str, &'static str)>,
    words: Vec<String>,
    findings: Vec<Finding>,
    more: Map<String, Value>,
}

impl Told {
    /// A figure: its name in JSON, its value, its unit, and what it is.
    fn figure(&mut self, key: &'static str, value: f64, unit: &'static str, what: &'static str) {
        self.figures.push((key, value, unit, what));
    }

    fn tell(self, as_json: bool) -> anyhow::Result<End> {
        let stops = self.findings.iter().any(|f| f.severity == Severity::Stop);
        if as_json {
            let mut out = Map::new();
            for (key, value, _, _) in &self.figures {
                out.insert((*key).to_owned(), json!(value));
            }
            out.extend(self.more);
            out.insert("says".into(), json!(self.words));
            out.insert("findings".into(), json!(self.findings));
            tell::json(&out)?;
        } else {
            let rows: Vec<Row> = self
                .figures
                .iter()
                .map(|(_, value, unit, what)| {
                    Row::Cells(vec![
                        (*what).to_owned(),
                        significant(*value, 4).replace('-', "−"),
                        (*unit).to_owned(),
                    ])
                })
                .collect();
            let mut text = String::new();
            if !rows.is_empty() {
                let all = table(&["", "", ""], &[Side::Left, Side::Right, Side::Left], &rows);
                text.push_str(all.trim_start_matches('\n'));
            }
            for words in &self.words {
                text.push_str(&wrap(words, WIDTH, ""));
            }
            text.push_str(&tell::findings(&[("", &self.findings)], true));
            tell::out(&text)?;
        }
        Ok(if stops { End::Stop } else { End::Fine })
    }
}

fn wet(percent: f64) -> WetBasis {
    WetBasis(percent / 100.0)
}

/// Does what was asked.
pub fn run(args: Measure) -> anyhow::Result<End> {
    let mut told = Told::default();
    let as_json = match args {
        Measure::Farinograph {
            moisture_pct,
            absorption_pct,
            bowl_g,
            tried,
            target,
            json,
        } => {
            let moisture = wet(moisture_pct);
            told.figure(
                "flour_g",
                farinograph::flour_mass_g(bowl_g, moisture)?,
                "g",
                "flour to weigh in",
            );
            if let Some(absorption) = absorption_pct {
                let restated = farinograph::to_14_pct(absorption, moisture)?;
                told.figure(
                    "absorption_14_pct",
                    restated,
                    "% of flour at 14 % moisture",
                    "absorption",
                );
            }
            if !tried.is_empty() {
                titrated(&mut told, &tried, target)?;
            }
            json
        }
        Measure::Src {
            gel_g,
            flour_g,
            moisture_pct,
            solvent,
            json,
        } => {
            let solvent = match solvent.as_str() {
                "sucrose" => Solvent::Sucrose,
                "carbonate" => Solvent::Carbonate,
                "lactic-acid" => Solvent::LacticAcid,
                _ => Solvent::Water,
            };
            let unit = "% of flour at 14 % moisture";
            let found = retention_pct(gel_g, flour_g, wet(moisture_pct))?;
            told.figure("retention_pct", found, unit, "solvent retention");
            let old = retention_before_2009_pct(gel_g, flour_g, wet(moisture_pct))?;
            told.figure(
                "retention_before_2009_pct",
                old,
                unit,
                "the same in the form before 2009",
            );
            let band = solvent.cookie_flour_pct();
            told.words.push(format!(
                "Retention of {} tells of {}; cookie flours lie from {} to {} %.",
                solvent.word(),
                solvent.tells(),
                band.low,
                band.high
            ));
            json
        }
        Measure::Whc {
            sample_g,
            sediment_g,
            moisture_pct,
            json,
        } => {
            let held = water_holding::held(sample_g, sediment_g)?;
            told.figure("held_g_per_g", held, "g per g as it is", "water held");
            if let Some(m) = moisture_pct {
                let dry = water_holding::on_dry_matter(held, wet(m))?;
                told.figure("held_g_per_g_dry", dry, "g per g dry matter", "all water");
            }
            told.words.push(
                "It ranks materials but overstates what a dough takes up, most of all for gums."
                    .into(),
            );
            json
        }
        Measure::Bend {
            force_n,
            span_mm,
            width_mm,
            thickness_mm,
            diameter_mm,
            deflection_mm,
            json,
        } => {
            let m = |mm: f64| mm / 1000.0;
            if let Some((b, d)) = width_mm.zip(thickness_mm) {
                let stress = bend::flat_stress_pa(force_n, m(span_mm), m(b), m(d))?;
                told.figure("stress_mpa", stress / 1e6, "MPa", "stress at break");
                if let Some(x) = deflection_mm {
                    let modulus = bend::flat_modulus_pa(force_n, m(span_mm), m(b), m(d), m(x))?;
                    told.figure("modulus_mpa", modulus / 1e6, "MPa", "modulus");
                    let strain = bend::flat_strain(m(span_mm), m(d), m(x))?;
                    told.figure("strain_pct", 100.0 * strain, "%", "strain at break");
                }
            } else if let Some(d) = diameter_mm {
                let stress = bend::round_stress_pa(force_n, m(span_mm), m(d))?;
                told.figure("stress_mpa", stress / 1e6, "MPa", "stress at break");
            }
            if let Some(d) = thickness_mm.or(diameter_mm) {
                told.findings.extend(bend::short_span(m(span_mm), m(d)));
            }
            told.words
                .push("Bone shapes are no beams: report their force at one span.".into());
            json
        }
        Measure::Colour {
            first,
            second,
            json,
        } => {
            let (x, y) = (lab("first", &first)?, lab("second", &second)?);
            told.figure(
                "delta_e00",
                difference_2000(x, y),
                "",
                "difference CIEDE2000",
            );
            told.figure(
                "delta_e76",
                difference_1976(x, y),
                "",
                "plain distance of 1976",
            );
            told.figure("delta_l", y.l - x.l, "", "lightness, second less first");
            told.words.push("Light source and observer belong to every figure; about 1 is hardly seen, 2 to 3 at once (rough guide, from memory).".into());
            json
        }
        Measure::Moisture { dish, method, json } => {
            let dishes = dish
                .iter()
                .map(|d| dish_of(d))
                .collect::<anyhow::Result<Vec<_>>>()?;
            let found = moisture::of_dishes(&dishes)?;
            told.figure(
                "moisture_pct",
                found.mean.percent(),
                "% as it is",
                "moisture",
            );
            told.figure(
                "spread_points",
                100.0 * found.spread,
                "points",
                "largest less smallest dish",
            );
            let method = match method.as_str() {
                "oven135" => Method::Oven135,
                "oven103" => Method::Oven103,
                "vacuum" => Method::Vacuum,
                "karl-fischer" => Method::KarlFischer,
                "balance" => Method::Balance,
                "near-infrared" => Method::NearInfrared,
                _ => Method::Oven130,
            };
            told.words.push(format!(
                "By {}: {}. Dishes of one sample are one figure, however many.",
                method.word(),
                method.caution()
            ));
            told.more.insert("method".into(), json!(method.word()));
            told.more.insert("dishes".into(), json!(found.dishes));
            json
        }
        Measure::Spread {
            width_mm,
            thickness_mm,
            control,
            json,
        } => {
            let ratio = spread::ratio(width_mm / 1000.0, thickness_mm / 1000.0)?;
            told.figure("ratio", ratio, "", "width over thickness");
            if let Some(c) = control {
                let factor = spread::factor_pct(ratio, c)?;
                told.figure("factor_pct", factor, "% of the control", "spread factor");
            }
            json
        }
        Measure::Sampling {
            lot,
            limit_pct,
            json,
        } => {
            let plan = sampling_plan::for_lot(lot, limit_pct)?;
            told.figure("sample", f64::from(plan.sample), "pieces", "look at");
            told.figure(
                "accept",
                f64::from(plan.accept),
                "defective",
                "accept with at most",
            );
            told.words.push(plan.sentence());
            let curve: Vec<Value> = plan
                .operating_curve(11)
                .iter()
                .map(|(p, a)| json!({ "defective": p, "accepted": a }))
                .collect();
            if !json && !plan.whole_lot {
                let line: Vec<String> = plan
                    .operating_curve(6)
                    .iter()
                    .map(|(p, a)| format!("{:.1} % → {:.0} %", 100.0 * p, 100.0 * a))
                    .collect();
                told.words
                    .push(format!("Defective → accepted: {}.", line.join(", ")));
            }
            told.more.insert("plan".into(), json!(plan));
            told.more.insert("operating_curve".into(), json!(curve));
            json
        }
        Measure::NetContent {
            rule,
            label_g,
            net_g,
            lot,
            json,
        } => {
            let rule = if rule == "us" {
                Rule::UnitedStates
            } else {
                Rule::EuropeanUnion
            };
            let plan = rule.sample_for_lot(lot);
            let found = net_content::check(rule, label_g, &net_g, plan)?;
            told.figure(
                "wanted",
                plan.0 as f64,
                "packages",
                "to be weighed of this lot",
            );
            told.figure("mean_error_g", found.mean_error_g, "g", "mean less label");
            told.figure(
                "mean_limit_g",
                found.mean_limit_g,
                "g",
                "must not lie below",
            );
            told.figure(
                "short",
                found.short as f64,
                "packages",
                "short by more than allowed",
            );
            told.figure(
                "allowed_shortage_g",
                found.allowed_shortage_g,
                "g",
                "allowed for one package",
            );
            told.words.push(if found.passes {
                "The sample passes.".into()
            } else {
                "The sample does not pass.".into()
            });
            told.findings.extend(found.findings.iter().cloned());
            let too_few = found.packages < found.wanted;
            if !found.passes && !too_few {
                told.findings.push(Finding::new(
                    Severity::Stop,
                    Code::NetContentShort,
                    "net content",
                    format!(
                        "Mean {} g from the label where {} g is the limit; {} packages short by more than {} g where {} may be.",
                        significant(found.mean_error_g, 3),
                        significant(found.mean_limit_g, 3),
                        found.short,
                        found.allowed_shortage_g,
                        found.short_allowed
                    ),
                ));
            }
            told.more.insert("check".into(), json!(found));
            json
        }
    };
    told.tell(as_json)
}

fn titrated(told: &mut Told, tried: &[String], target: f64) -> anyhow::Result<()> {
    let tried = tried
        .iter()
        .map(|t| {
            let pair = t
                .split_once('=')
                .and_then(|(w, c)| Some((w.trim().parse().ok()?, c.trim().parse().ok()?)));
            let Some((water_pct, consistency)) = pair else {
                bail!("--tried `{t}`: write water and consistency, e.g. --tried 56=560");
            };
            Ok(Addition {
                water_pct,
                consistency,
            })
        })
        .collect::<anyhow::Result<Vec<_>>>()?;
    let found = farinograph::titrate(&tried, target)?;
    told.figure(
        "water_pct",
        found.water_pct,
        "% of flour",
        "water for the target",
    );
    match found.interval95_pct {
        Some((low, high)) => told.words.push(format!(
            "95 % interval {} to {} %.",
            significant(low, 4),
            significant(high, 4)
        )),
        None => told
            .words
            .push("Two additions fit exactly; a third tells how sure it is.".into()),
    }
    if found.extrapolated {
        told.words
            .push("The answer lies beyond the additions tried: try one there.".into());
    }
    told.more.insert("titration".into(), json!(found));
    Ok(())
}

fn lab(name: &str, values: &[f64]) -> anyhow::Result<Lab> {
    let &[l, a, b] = values else {
        bail!("--{name}: give L*, a* and b*, e.g. --{name} 62.1,5.0,24.3");
    };
    if !(0.0..=100.0).contains(&l) || !a.is_finite() || !b.is_finite() {
        bail!("--{name}: L* is {l}; it must lie from 0 to 100, a* and b* be numbers");
    }
    Ok(Lab { l, a, b })
}

fn dish_of(text: &str) -> anyhow::Result<Dish> {
    let values: Vec<f64> = text
        .split(',')
        .map_while(|x| x.trim().parse().ok())
        .collect();
    let &[empty_g, before_g, after_g] = values.as_slice() else {
        bail!(
            "--dish `{text}`: give empty, with sample, after drying in g, e.g. --dish 20.000,25.000,24.600"
        );
    };
    Ok(Dish {
        empty_g,
        before_g,
        after_g,
    })
}
