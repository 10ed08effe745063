//! The demonstration's trial day: planned, baked, measured and signed, all of it invented.

use crate::{App, AppError, TrialAsked, now};
use bench::demonstration::{self, LOST, PIECES, SEED};
use book::{BenchEntry, Entered, Kind, NewBenchEntry};
use trials::plan::Unit;

impl App {
    pub(crate) async fn add_demonstration_day(
        &self,
        who: &str,
        study: &str,
    ) -> Result<(), AppError> {
        let asked = TrialAsked {
            name: demonstration::NAME.to_owned(),
            question: demonstration::QUESTION.to_owned(),
            study: study.to_owned(),
            wish: demonstration::wish(),
            unit: Unit::Batch,
            seed: SEED,
            control: self.control_of(study).await?,
            responses: demonstration::responses(),
            pieces: Some(PIECES),
            loss_pct: 100.0 * LOST,
            blind: false,
        };
        let trial = self
            .keep_trial(who, &asked, Some(demonstration::ID))
            .await?;
        let view = self.trial(&trial).await?;
        let mut rows = Vec::new();
        for made in view.made.iter() {
            let of_batch = demonstration::rows(&made.id, &made.batch);
            rows.extend(of_batch.into_iter().map(|row| new_row(&made.id, row)));
        }
        let kept = self.kept(rows).await?;
        let mut signatures = Vec::new();
        for made in view.made.iter() {
            let rows = demonstration::rows(&made.id, &made.batch);
            let last = kept.iter().rfind(|e| e.row.thing == made.id);
            let signed = last.and_then(|l| demonstration::signature(&made.id, &rows, &l.hash));
            signatures.extend(signed.map(|row| new_row(&made.id, row)));
        }
        self.kept(signatures).await?;
        Ok(())
    }

    async fn kept(&self, rows: Vec<NewBenchEntry>) -> Result<Vec<BenchEntry>, AppError> {
        let entered = self.book().enter(rows).await?;
        entered
            .into_iter()
            .map(|e| match e {
                Entered::Kept(entry) | Entered::KeptAlready(entry) => Ok(entry),
                Entered::Refused(refused) => Err(AppError::Value {
                    field: refused.field.to_owned(),
                    why: refused.to_string(),
                }),
            })
            .collect()
    }
}

fn new_row(batch: &str, row: bench::Entry) -> NewBenchEntry {
    let bench::Entry {
        id: _,
        key,
        at,
        arrived: _,
        who,
        device,
        what,
        of,
        on,
        value,
        unit,
        strikes,
        why,
    } = row;
    NewBenchEntry {
        key,
        kind: Kind::Batch,
        thing: batch.to_owned(),
        at,
        // The day is invented; its rows come into the book now.
        arrived: now(),
        who,
        device,
        what,
        of,
        on,
        value,
        unit,
        strikes,
        why,
    }
}
