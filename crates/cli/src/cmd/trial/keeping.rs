//! `hardtack trial keeping`.

use super::{data, refuse, tell_all, worked};
use crate::End;
use crate::trial_args::Keeping;
use trials::analyse::keeping::{Wanted, keeping};
use trials::stats::keeping::Side;

/// How long batches keep.
pub fn run(args: &Keeping) -> anyhow::Result<End> {
    let table = match data::table(&args.data)? {
        Ok(table) => table,
        Err(findings) => return refuse(&findings, args.out.json),
    };
    let wanted = Wanted {
        response: args.response.clone(),
        along: args.along.clone(),
        unit: args.unit.clone(),
        limit: args.limit,
        side: if args.side == "upper" {
            Side::Upper
        } else {
            Side::Lower
        },
        two_sided: args.two_sided,
    };
    match worked(|| keeping(&table, &wanted)) {
        Ok(found) => tell_all(&report::trial::keeping(&found), &found, &args.out),
        Err(findings) => refuse(&findings, args.out.json),
    }
}
