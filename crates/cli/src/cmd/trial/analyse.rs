//! `hardtack trial analyse`.

use super::{data, looks, refuse, tell_all, worked};
use crate::End;
use crate::trial_args::{Analyse, Data};
use trials::analyse::from_sheet::filled;
use trials::analyse::{
    AnalysisRequest, Claim, Exclusion, PlannedLook, Prior, Variances, Wanted, WantedContrast,
    analyse,
};
use trials::response::{Better, Kind};
use trials::stats::anova::SumsType;

/// Analyses a table.
pub fn run(args: &Analyse) -> anyhow::Result<End> {
    let mut request = request(args)?;
    let of_book = match &args.trial {
        Some(trial) => Some(super::kept::trial(args.book.as_deref(), trial)?),
        None => None,
    };
    let table = match &of_book {
        Some(view) => super::kept::table(view, &args.response)?,
        None => data::table(&Data {
            data: args.data.clone().unwrap_or_default(),
            decimal_comma: args.decimal_comma,
            sheet: args.sheet.clone(),
        })?,
    };
    if let Some(asked) = of_book
        .as_ref()
        .and_then(|v| v.trial.response(&args.response))
    {
        request.response.clone_from(&asked.id);
    }
    let table = match table {
        Ok(table) => table,
        Err(findings) => return refuse(&findings, args.out.json),
    };
    match worked(|| analyse(&table, &request)) {
        Ok(found) => {
            // A table of our own may name the control itself.
            let control = filled(&table, &request).control;
            let mut told = report::trial::analysis(&found, control.as_deref());
            if let Some(view) = &of_book {
                report::trial::of_trial(
                    &mut told,
                    &view.trial,
                    &view.made,
                    &request.response,
                    Some(&found),
                );
            }
            tell_all(&told, &found, &args.out)
        }
        Err(findings) => refuse(&findings, args.out.json),
    }
}

fn request(args: &Analyse) -> anyhow::Result<AnalysisRequest> {
    Ok(AnalysisRequest {
        treatments: args.treatment.clone(),
        control: args.control.clone(),
        blocks: args.block.clone(),
        unit: args.unit.clone(),
        whole_plot: args.whole_plot.clone(),
        plots: args.plots.clone(),
        time: args.time.clone(),
        period: args.period.clone(),
        sequence: args.sequence.clone(),
        covariates: args.covariate.clone(),
        exposure: args.exposure.clone(),
        claim: match args.claim.as_deref() {
            Some("these") => Claim::These,
            _ => Claim::New,
        },
        out_of: args.out_of.clone(),
        kind: args.kind.as_deref().and_then(Kind::from_word),
        better: args.better.as_deref().and_then(Better::from_word),
        measure: args.measure.clone(),
        wanted: if args.all_pairs {
            Wanted::AllPairs
        } else {
            Wanted::Auto
        },
        variances: match args.variances.as_deref() {
            Some("equal") => Variances::Equal,
            Some("unequal") => Variances::Unequal,
            _ => Variances::Auto,
        },
        sums: args.sums.as_deref().map(|s| match s {
            "1" => SumsType::I,
            "2" => SumsType::II,
            _ => SumsType::III,
        }),
        margin: args.margin,
        contrasts: args
            .contrast
            .iter()
            .map(|c| contrast(c))
            .collect::<anyhow::Result<_>>()?,
        by_ranks: args.by_ranks,
        look: args.look.map(|look| PlannedLook {
            look,
            times: match &args.looks_at {
                given if given.is_empty() => looks::evenly(args.looks.unwrap_or(2)),
                given => given.clone(),
            },
            spending: looks::spending(args.spend.as_deref().unwrap_or("late")),
        }),
        belief: args
            .belief
            .then(|| args.prior_sd.map_or(Prior::Flat, Prior::AboutZero)),
        exclude: args
            .exclude
            .iter()
            .map(|e| exclusion(e))
            .collect::<anyhow::Result<_>>()?,
        ..AnalysisRequest::of(&args.response)
    })
}

fn contrast(text: &str) -> anyhow::Result<WantedContrast> {
    let wrong = || {
        anyhow::anyhow!(
            "--contrast `{text}`: give a name, a colon and each level with its weight, \
             e.g. --contrast \"others against control: barley=0.5,rice_chickpea=0.5,control=-1\""
        )
    };
    let (name, weights) = text.split_once(':').ok_or_else(wrong)?;
    let weight = |part: &str| -> anyhow::Result<(String, f64)> {
        let (level, weight) = part.rsplit_once('=').ok_or_else(wrong)?;
        let weight: f64 = weight.trim().parse().map_err(|_| wrong())?;
        if !weight.is_finite() {
            return Err(wrong());
        }
        Ok((level.trim().to_owned(), weight))
    };
    Ok(WantedContrast {
        name: name.trim().to_owned(),
        weights: weights
            .split(',')
            .map(weight)
            .collect::<anyhow::Result<_>>()?,
    })
}

fn exclusion(text: &str) -> anyhow::Result<Exclusion> {
    let (row, reason) = text.split_once('=').unwrap_or((text, ""));
    let row = row.trim().parse().map_err(|_| {
        anyhow::anyhow!(
            "--exclude `{text}`: give the row of the file and the reason, e.g. --exclude \"17=oven door stood open\""
        )
    })?;
    Ok(Exclusion {
        row,
        reason: reason.trim().to_owned(),
    })
}
