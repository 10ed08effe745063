//! What a person should know of a treatment, the weightiest first.

use super::{Beyond, Cost};
use crate::Code;
use crate::chain::timed_bake::target_at;
use crate::chain::{Run, browning};
use crate::model::WaterChoice;
use baking::after::Growth;
use baking::bake::search::{Found, Limit};
use baking::bake::{colour, kill};
use formula::cautions::{kill_asked, raw_animal};
use formula::leavening::Leavening;
use measure::{Finding, Severity};

pub(super) fn findings(run: &Run, cost: &Cost, beyond: &[Beyond]) -> Vec<Finding> {
    let (treatment, made) = (&run.treatment, &run.made);
    let mut findings = water_findings(run);
    findings.extend(beyond.iter().map(Beyond::finding));
    findings.extend(learned_findings(run));
    findings.extend(target_finding(run));
    let forming = treatment.setting.process.forming;
    findings.extend(formula::hold::hold(&made.formula, forming).finding());
    let leavening = made.formula.leavening();
    findings.extend(leavening.findings());
    findings.extend(rise_finding(run, &leavening));
    findings.extend(solutes_finding(run));
    findings.extend(label_finding(run));
    for line in made.formula.lines().iter().filter(|l| l.parts > 0.0) {
        findings.extend(line.material.findings());
    }
    findings.extend(made.dough.findings.iter().cloned());
    findings.extend(treatment.setting.piece.findings());
    findings.extend(treatment.setting.oven.findings());
    findings.extend(colour::findings(
        browning::deepened(run.baked.cooled.colour_delta_e, run.browning),
        run.baked.result.top_peak_k,
    ));
    findings.extend(kill_finding(run));
    findings.extend(run.shelf_life.growth.iter().flat_map(Growth::findings));
    findings.extend(run.line.findings.iter().cloned());
    findings.extend(run.sold.nutrition.findings.iter().cloned());
    findings.extend(run.sold.flags.findings());
    findings.extend(formula::cautions::cautions(
        &made.formula,
        treatment.species,
    ));
    findings.extend(formula::cautions::always());
    findings.extend(run.sold.ingredients.findings());
    findings.extend(currency_finding(run));
    findings.extend(not_written_finding(cost));
    findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
    dedup(&mut findings);
    findings
}

/// What was learned and doesn't hold here as it stands.
fn learned_findings(run: &Run) -> Vec<Finding> {
    let setting = &run.treatment.setting;
    let taken_up = setting.learned.as_ref();
    let Some(bake) = taken_up.and_then(|l| l.bake.as_ref()) else {
        return Vec::new();
    };
    let mut findings = Vec::new();
    if !bake.holds() {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::LearnedUnderAnotherModel,
                "learned.bake.model_version",
                format!(
                    "“{}” was learned under version {} of the bake's arithmetic, and this is version {}: it isn't used.",
                    bake.fit,
                    bake.model_version,
                    baking::bake::MODEL_VERSION
                ),
            )
            .help("Make the fit anew from its bakes, and take it up again."),
        );
        return findings;
    }
    let of_the_dough: Vec<&str> = (bake.factors.of.iter())
        .filter(|c| c.parameter.is_of_the_dough())
        .map(|c| c.parameter.about().name)
        .collect();
    if run.treatment.id != bake.treatment && !of_the_dough.is_empty() {
        findings.push(
            Finding::new(
                Severity::Note,
                Code::LearnedOfAnotherDough,
                "learned.bake.treatment",
                format!(
                    "Learned on bakes of “{}” and taken as the same for this dough: {}.",
                    bake.treatment,
                    of_the_dough.join(", ")
                ),
            )
            .help("Weigh a few pieces of this treatment as it bakes, and fit them too."),
        );
    }
    let zones = setting.oven.zones.len();
    if let Some(zone) = (bake.factors.of.iter().filter_map(|c| c.zone)).find(|z| *z >= zones) {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::LearnedZoneMissing,
                "learned.bake.factors",
                format!(
                    "What was learned of zone {} isn't used: the oven has {zones}.",
                    zone + 1
                ),
            )
            .help("Make the fit anew with the oven as it is now."),
        );
    }
    findings
}

/// A kill below what is asked for: by the study's target, or beside raw meat, fish, egg or blood.
fn kill_finding(run: &Run) -> Option<Finding> {
    let raw = raw_animal(&run.made.formula);
    let names: Vec<&str> = raw.iter().map(|r| r.name.as_str()).collect();
    let asked = kill_asked(&raw).map(|asked| kill::Raw {
        names: &names,
        asked_log10: asked.value,
        dried: raw.iter().all(|r| r.dried),
    });
    let target = run.treatment.target.kill_log10;
    kill::findings(&run.baked.cooled.kill, target, asked)
}

fn water_findings(run: &Run) -> Vec<Finding> {
    let mut findings = Vec::new();
    let need = &run.made.need;
    if run.treatment.water == WaterChoice::Given {
        findings.extend(need.compare(run.made.formula.water_kg_per_100kg_dry_mix()));
    }
    findings.extend(need.finding());
    if !need.unknown.is_empty() {
        findings.push(
            Finding::new(
                Severity::Warn,
                Code::WaterUptakeUnknown,
                "dough.water_need",
                format!(
                    "No water uptake is known for {}: the need counts them as asking for nothing.",
                    need.unknown.join(", ")
                ),
            )
            .help("Titrate the dough, or give the uptake in the study file."),
        );
    }
    findings
}

/// The bake keeps the thickness of the dough: what leavening may do is told beside it.
fn rise_finding(run: &Run, leavening: &Leavening) -> Option<Finding> {
    if leavening.gas_m3_per_kg_dough <= 0.0 {
        return None;
    }
    let piece = &run.treatment.setting.piece;
    let density = run.made.dough.density.dough_kg_per_m3;
    let rise = leavening.rise(density)?;
    let length_m = piece.outline.extent_m().0;
    let ratio = leavening.spread_ratio(length_m, piece.thickness_m, density)?;
    let mm = |rise: f64| 1000.0 * piece.thickness_m * (1.0 + rise);
    Some(
        Finding::new(
            Severity::Note,
            Code::RiseNotModelled,
            "piece.thickness_mm",
            format!(
                "The bake isn't told the rise: after the oven the piece may be {:.1} to {:.1} mm thick (about {:.1}), its length over thickness {:.1} to {:.1}.",
                mm(rise.low),
                mm(rise.high),
                mm(rise.mid),
                ratio.low,
                ratio.high
            ),
        )
        .help("Measure ten pieces before and after the oven, and write the thickness in between.")
        .source("gas by stoichiometry, of which a dense dough keeps 2 to 10 %; spread by gluten (recalled, low confidence)"),
    )
}

/// A humectant that nobody has told more of makes the water activity a guess.
fn solutes_finding(run: &Run) -> Option<Finding> {
    let unknown = &run.made.solids.solutes.unknown;
    (!unknown.is_empty()).then(|| {
        Finding::new(
            Severity::Warn,
            Code::SoluteUnknown,
            "bake.cooled_water_activity",
            format!(
                "What dissolves of {} isn't known: the water activity is lower by an unknown amount.",
                unknown.join(", ")
            ),
        )
        .help("Write solute and solute_pct of the material, or measure the water activity of the treat.")
    })
}

/// What the label promises at the end of shelf life, where that isn't what is packed.
fn label_finding(run: &Run) -> Option<Finding> {
    let months = run.treatment.setting.keeping.months;
    let Some(kept) = run.sold.kept else {
        // Without the checks nobody asked for it.
        return run.options.checks.then(|| {
            Finding::new(
                Severity::Note,
                Code::LabelAsPacked,
                "label.guaranteed",
                format!(
                    "How moist the treat gets in its pack isn't known ({}): guarantees, mass and energy are those of the day of packing.",
                    run.shelf_life.crisp_unknown
                ),
            )
            .help("Give the film, its area and the climate under [pack].")
        });
    };
    let end = if kept.wettest.0 > kept.packed.0 {
        kept.wettest
    } else {
        kept.driest
    };
    let mass = formula::label::kept::mass_factor(kept.packed, end);
    if (mass - 1.0).abs() < LABEL_MOVES {
        return None;
    }
    let n = &run.sold.nutrition;
    Some(
        Finding::new(
            Severity::Note,
            Code::MoistureInThePack,
            "label.guaranteed",
            format!(
                "Packed at {:.1} % moisture, the treat has {:.1} % after {months:.0} months in its pack: its mass changes by {:+.1} %, its energy from {:.0} to {:.0} kcal/kg. The guarantees hold to there.",
                kept.packed.percent(),
                end.percent(),
                100.0 * (mass - 1.0),
                n.atwater_kcal_per_kg,
                formula::label::kcal_per_kg_at(n, end)
            ),
        )
        .help("A tighter film keeps the moisture; weigh in with the law of net content in mind."),
    )
}

/// Change of mass from which the end of shelf life is told.
const LABEL_MOVES: f64 = 0.002;

fn target_finding(run: &Run) -> Option<Finding> {
    let (timed, target) = (&run.baked, run.treatment.target.moisture.percent());
    let place = target_at(&run.treatment).word();
    let reached = timed.moisture.percent();
    let minutes = timed.time_s / 60.0;
    match timed.found {
        Found::Met if timed.moisture.0 > run.treatment.target.moisture.0 + 5e-4 => Some(
            Finding::new(
                Severity::Warn,
                Code::TargetMissedAtSetTime,
                "bake.time_min",
                format!("After {minutes:.1} min the piece has {reached:.1} % moisture {place}; the target is {target:.1} %."),
            )
            .help("Lengthen the bake, or leave the time open and let the target set it."),
        ),
        Found::Met => None,
        Found::TooWet(Limit::Rewetted) => Some(
            Finding::new(
                Severity::Stop,
                Code::TargetNotReached,
                "bake.time_min",
                format!(
                    "The cooling misses the target: the piece leaves the oven with {:.1} % moisture and has {reached:.1} % {place}, target {target:.1} %.",
                    timed.exit.mean_moisture.to_wet().percent()
                ),
            )
            .help(Limit::Rewetted.words()),
        ),
        Found::TooWet(limit) => Some(
            Finding::new(
                Severity::Stop,
                Code::TargetNotReached,
                "bake.time_min",
                format!("The oven doesn't get there: after {minutes:.0} min the piece still has {reached:.1} % moisture {place}, target {target:.1} %."),
            )
            .help(limit.words()),
        ),
        Found::TooDry => Some(
            Finding::new(
                Severity::Stop,
                Code::TargetNotReached,
                "bake.time_min",
                format!("Even after {minutes:.1} min the piece is drier ({reached:.1} %) than the target of {target:.1} % {place}."),
            )
            .help("A gentler oven, a thicker piece or a drier target."),
        ),
        Found::DoughTooDry => Some(
            Finding::new(
                Severity::Stop,
                Code::TargetNotReached,
                "bake.time_min",
                format!("The dough itself isn't wetter than the target of {target:.1} % {place}; told after {minutes:.1} min."),
            )
            .help("More water in the dough, or a drier target."),
        ),
    }
}

/// Costs that nobody has written are none: what is told is at least the rest.
fn not_written_finding(cost: &Cost) -> Option<Finding> {
    let not_written = cost.not_written();
    (!not_written.is_empty()).then(|| {
        Finding::new(
            Severity::Note,
            Code::CostNotWritten,
            "cost.per_kg",
            format!(
                "No cost of {} is written: the cost is told as at least.",
                not_written.join(", ")
            ),
        )
        .help("Give per_kg, per_line_hour and heat_per_kwh under [line.conversion].")
    })
}

/// Prices of the built-in table are invented and in a currency of their own.
fn currency_finding(run: &Run) -> Option<Finding> {
    let foreign: Vec<&str> = run
        .made
        .formula
        .lines()
        .iter()
        .filter(|l| l.parts > 0.0 && !l.material.is_water())
        .filter(|l| {
            l.material
                .price
                .as_ref()
                .is_some_and(|p| p.invented_in().is_some())
        })
        .map(|l| l.material.name.as_str())
        .collect();
    if foreign.is_empty() {
        return None;
    }
    let own = run.treatment.currency.as_str();
    let others: std::collections::BTreeSet<&str> = run
        .made
        .formula
        .lines()
        .iter()
        .filter(|l| l.parts > 0.0 && !l.material.is_water())
        .filter_map(|l| l.material.price.as_ref()?.invented_in())
        .filter(|currency| *currency != own)
        .collect();
    let mixed = !others.is_empty();
    let severity = if mixed {
        Severity::Warn
    } else {
        Severity::Note
    };
    let taken = if mixed {
        let others: Vec<&str> = others.into_iter().collect();
        format!(" in {}, taken here as {own}", others.join(" and "))
    } else {
        String::new()
    };
    Some(
        Finding::new(
            severity,
            Code::PriceInvented,
            "cost.per_kg",
            format!(
                "The built-in price of {} is invented{taken}.",
                foreign.join(", ")
            ),
        )
        .help("Give your own prices per kg in the study file."),
    )
}

/// Keeps the first of findings that say the same.
fn dedup(findings: &mut Vec<Finding>) {
    let mut seen = std::collections::BTreeSet::new();
    findings.retain(|f| seen.insert((f.code.word(), f.about.clone(), f.message.clone())));
}
