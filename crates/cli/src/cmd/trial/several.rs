//! `hardtack trial several`.

use super::{data, refuse, tell_all, worked};
use crate::End;
use crate::trial_args::Several;
use trials::analyse::AnalysisRequest;
use trials::analyse::several::several;

/// Several responses of one trial.
pub fn run(args: &Several) -> anyhow::Result<End> {
    let table = match data::table(&args.data)? {
        Ok(table) => table,
        Err(findings) => return refuse(&findings, args.out.json),
    };
    let request = AnalysisRequest {
        treatments: args.treatment.clone(),
        blocks: args.block.clone(),
        unit: args.unit.clone(),
        control: args.control.clone(),
        ..AnalysisRequest::of("")
    };
    match worked(|| several(&table, &request, &args.responses)) {
        Ok(found) => tell_all(&report::trial::several(&found), &found, &args.out),
        Err(findings) => refuse(&findings, args.out.json),
    }
}
