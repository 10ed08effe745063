//! Rows written at the bench: taken in from devices with the moment they arrive, and given out again.

use crate::{App, AppError, Device, now};
use book::{BenchEntry, Entered, Kind, NewBenchEntry};
use serde::{Deserialize, Serialize};

/// Rows given out at once.
const MOST_AT_ONCE: u64 = 10_000;

/// A row as a device sends it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sent {
    /// Made by the device; a row that is sent twice is kept once.
    pub key: String,
    /// Of what it belongs to.
    pub kind: Kind,
    /// The lasting name of what it belongs to.
    pub thing: String,
    /// The moment by the clock of the device, UTC.
    pub at: String,
    /// Who did it; where nobody is named, whose name stands on changes of this book.
    #[serde(default)]
    pub who: Option<String>,
    /// What was done or measured.
    pub what: String,
    /// Which material, response, pull or tray.
    #[serde(default)]
    pub of: Option<String>,
    /// On which unit within the batch.
    #[serde(default)]
    pub on: Option<String>,
    /// As it was typed.
    #[serde(default)]
    pub value: String,
    /// Unit of the value.
    #[serde(default)]
    pub unit: Option<String>,
    /// The key of the row that it strikes through.
    #[serde(default)]
    pub strikes: Option<String>,
    /// Why.
    #[serde(default)]
    pub why: Option<String>,
}

/// What became of a row that was sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Taken {
    /// What the book made of it.
    Entered(Box<Entered>),
    /// It bears the name of somebody who hasn't signed in on the device it came from, and was not kept.
    NotSignedIn {
        /// Its key.
        key: String,
        /// The name.
        who: String,
    },
}

/// Rows of a batch or trial after a place of the book.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct EntriesSince {
    /// The rows, in order.
    pub entries: Vec<BenchEntry>,
    /// The place to ask from next.
    pub last: u64,
    /// Whether there are more.
    pub more: bool,
}

impl App {
    /// Takes rows in, in their order: each is kept once, or was kept already, or is refused by itself. They bear the
    /// moment of now as that of their arrival, and the name of the paired device they came from, on which whoever they name
    /// has to have signed in.
    ///
    /// # Errors
    /// What the book tells; nothing is kept then.
    pub async fn enter(
        &self,
        sent: Vec<Sent>,
        device: Option<&Device>,
    ) -> Result<Vec<Taken>, AppError> {
        let mut taken: Vec<Option<Taken>> = Vec::with_capacity(sent.len());
        let mut sent = sent;
        if let Some(device) = device {
            sent.retain(|sent| {
                let who = sent.who.as_deref().unwrap_or_default();
                let signed = device.signed_in.iter().any(|name| name == who);
                taken.push((!signed).then(|| Taken::NotSignedIn {
                    key: sent.key.clone(),
                    who: who.to_owned(),
                }));
                signed
            });
        } else {
            taken.resize_with(sent.len(), || None);
        }
        let arrived = now();
        let desk = match sent.iter().any(|sent| sent.who.is_none()) {
            true => self.settings().await?.who,
            false => String::new(),
        };
        let entries = sent.into_iter().map(|sent| {
            let Sent {
                key,
                kind,
                thing,
                at,
                who,
                what,
                of,
                on,
                value,
                unit,
                strikes,
                why,
            } = sent;
            NewBenchEntry {
                key,
                kind,
                thing,
                at,
                arrived: arrived.clone(),
                who: who.unwrap_or_else(|| desk.clone()),
                device: device.map(|device| device.name.clone()),
                what,
                of,
                on,
                value,
                unit,
                strikes,
                why,
            }
        });
        let mut entered = self.book.enter(entries.collect()).await?.into_iter();
        let each = |taken: Option<Taken>| {
            taken.or_else(|| {
                entered
                    .next()
                    .map(|entered| Taken::Entered(Box::new(entered)))
            })
        };
        Ok(taken.into_iter().filter_map(each).collect())
    }

    /// The rows of a batch or trial after a place of the book, 0 for the first.
    ///
    /// # Errors
    /// What the book tells.
    pub async fn entries_since(
        &self,
        kind: Kind,
        thing: &str,
        after: u64,
    ) -> Result<EntriesSince, AppError> {
        let mut entries = self
            .book
            .entries_after(kind, thing, after, MOST_AT_ONCE + 1)
            .await?;
        let more = entries.len() as u64 > MOST_AT_ONCE;
        if more {
            entries.pop();
        }
        Ok(EntriesSince {
            last: entries.last().map_or(after, |entry| entry.id),
            entries,
            more,
        })
    }
}
