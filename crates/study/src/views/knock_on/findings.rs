//! What a person should know of a treatment, the weightiest first.

use super::Cost;
use crate::chain::timed_bake::target_at;
use crate::chain::{Run, browning};
use crate::model::WaterChoice;
use baking::after::Growth;
use baking::bake::colour;
use baking::bake::search::{Found, Limit};
use measure::{Finding, Severity};

pub(super) fn findings(run: &Run, cost: &Cost) -> Vec<Finding> {
    let (treatment, made) = (&run.treatment, &run.made);
    let mut findings = water_findings(run);
    findings.extend(target_finding(run));
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
    findings.extend(run.shelf_life.growth.iter().flat_map(Growth::findings));
    findings.extend(run.line.findings.iter().cloned());
    findings.extend(run.sold.nutrition.findings.iter().cloned());
    findings.extend(run.sold.flags.findings());
    findings.extend(formula::cautions::cautions(
        &made.formula,
        treatment.species,
    ));
    findings.extend(run.sold.ingredients.findings());
    findings.extend(currency_finding(run));
    findings.extend(not_written_finding(cost));
    findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
    dedup(&mut findings);
    findings
}

fn water_findings(run: &Run) -> Vec<Finding> {
    let mut findings = Vec::new();
    let need = &run.made.need;
    if run.treatment.water == WaterChoice::Given {
        findings.extend(need.compare(run.made.formula.water_kg_per_100kg_dry_mix()));
    }
    if !need.unknown.is_empty() {
        findings.push(
            Finding::new(
                Severity::Warn,
                "water-uptake-unknown",
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

fn target_finding(run: &Run) -> Option<Finding> {
    let (timed, target) = (&run.baked, run.treatment.target.moisture.percent());
    let place = target_at(&run.treatment).word();
    let reached = timed.moisture.percent();
    let minutes = timed.time_s / 60.0;
    match timed.found {
        Found::Met if timed.moisture.0 > run.treatment.target.moisture.0 + 5e-4 => Some(
            Finding::new(
                Severity::Warn,
                "target-missed-at-set-time",
                "bake.time_min",
                format!("After {minutes:.1} min the piece has {reached:.1} % moisture {place}; the target is {target:.1} %."),
            )
            .help("Lengthen the bake, or leave the time open and let the target set it."),
        ),
        Found::Met => None,
        Found::TooWet(Limit::Rewetted) => Some(
            Finding::new(
                Severity::Stop,
                "target-not-reached",
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
                "target-not-reached",
                "bake.time_min",
                format!("The oven doesn't get there: after {minutes:.0} min the piece still has {reached:.1} % moisture {place}, target {target:.1} %."),
            )
            .help(limit.words()),
        ),
        Found::TooDry => Some(
            Finding::new(
                Severity::Stop,
                "target-not-reached",
                "bake.time_min",
                format!("Even after {minutes:.1} min the piece is drier ({reached:.1} %) than the target of {target:.1} % {place}."),
            )
            .help("A gentler oven, a thicker piece or a drier target."),
        ),
        Found::DoughTooDry => Some(
            Finding::new(
                Severity::Stop,
                "target-not-reached",
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
            "cost-not-written",
            "cost.per_kg",
            format!(
                "No cost of {} is written: the cost is told as at least.",
                not_written.join(", ")
            ),
        )
        .help("Give per_kg, per_line_hour and heat_per_kwh under [line.conversion].")
    })
}

/// Prices of the built-in table are invented, and in a currency of its own.
fn currency_finding(run: &Run) -> Option<Finding> {
    let lines = run.made.formula.lines().iter();
    let invented: Vec<(&str, &str)> = lines
        .filter(|l| l.parts > 0.0 && !l.material.is_water())
        .filter_map(|l| {
            let currency = l.material.price.as_ref()?.invented_in()?;
            Some((l.material.name.as_str(), currency))
        })
        .collect();
    let (_, currency) = invented.first()?;
    let own = &run.treatment.currency;
    let (severity, taken) = if currency == own {
        (Severity::Note, String::new())
    } else {
        (
            Severity::Warn,
            format!(" in {currency}, taken here as {own}"),
        )
    };
    let names: Vec<&str> = invented.iter().map(|(name, _)| *name).collect();
    let names = names.join(", ");
    Some(
        Finding::new(
            severity,
            "price-invented",
            "cost.per_kg",
            format!("The built-in price of {names} is invented{taken}."),
        )
        .help("Give your own prices per kg in the study file."),
    )
}

/// Keeps the first of findings that say the same.
fn dedup(findings: &mut Vec<Finding>) {
    let mut seen = std::collections::BTreeSet::new();
    findings.retain(|f| seen.insert((f.code.clone(), f.about.clone(), f.message.clone())));
}
