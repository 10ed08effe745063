//! The statements for rows of the bench and for pictures.

use sqlx::sqlite::SqliteRow;
use sqlx::{QueryBuilder, Row};

use super::Talk;
use super::rows::{as_stored, kind_of, natural, noted_once};
use super::told::{doing, told};
use crate::store::{BenchSession, Doing, Lengths, Session};
use crate::{BenchEntry, Kind, NewBenchEntry, ThingEnd};

const COLUMNS: &str = "id, number, key, kind, thing, at_utc, arrived_utc, who, device, what, of_which, on_unit, value, unit, strikes, why, previous, hash";

fn bench_of(row: &SqliteRow) -> Result<BenchEntry, sqlx::Error> {
    Ok(BenchEntry {
        id: natural(row, "id")?,
        number: natural(row, "number")?,
        row: NewBenchEntry {
            key: row.try_get("key")?,
            kind: kind_of(row.try_get("kind")?)?,
            thing: row.try_get("thing")?,
            at: row.try_get("at_utc")?,
            arrived: row.try_get("arrived_utc")?,
            who: row.try_get("who")?,
            device: row.try_get("device")?,
            what: row.try_get("what")?,
            of: row.try_get("of_which")?,
            on: row.try_get("on_unit")?,
            value: row.try_get("value")?,
            unit: row.try_get("unit")?,
            strikes: row.try_get("strikes")?,
            why: row.try_get("why")?,
        },
        previous: row.try_get("previous")?,
        hash: row.try_get("hash")?,
    })
}

fn selected(rest: &str) -> QueryBuilder<sqlx::Sqlite> {
    QueryBuilder::new(format!("SELECT {COLUMNS} FROM bench_entry {rest}"))
}

impl BenchSession for Talk {
    fn lengths(&mut self) -> Doing<'_, Lengths> {
        Box::pin(async move {
            if !self.knows_the_bench().await? {
                let revisions = self.tip().await?.id;
                return Ok(Lengths {
                    revisions,
                    ..Lengths::default()
                });
            }
            let counted: Result<(i64, i64, i64), _> =
                sqlx::query_as("SELECT id, bench_entries, pictures FROM head")
                    .fetch_one(&mut *self.line)
                    .await;
            let (rows, entries, pictures) = counted.map_err(|error| told(&self.path, error))?;
            Ok(Lengths {
                revisions: rows.saturating_sub(entries).unsigned_abs(),
                entries: entries.unsigned_abs(),
                pictures: pictures.unsigned_abs(),
            })
        })
    }

    fn bench_after(
        &mut self,
        id: u64,
        up_to: u64,
    ) -> Doing<'_, Vec<(u64, Result<BenchEntry, String>)>> {
        Box::pin(async move {
            if !self.knows_the_bench().await? {
                return Ok(Vec::new());
            }
            let rows = selected("WHERE id > ")
                .push_bind(as_stored(id))
                .push(" AND id <= ")
                .push_bind(as_stored(up_to))
                .push(" ORDER BY id")
                .build()
                .fetch_all(&mut *self.line)
                .await
                .map_err(|error| told(&self.path, error))?;
            let read = |row| {
                let id = natural(row, "id").unwrap_or(id + 1);
                (id, bench_of(row).map_err(|error| error.to_string()))
            };
            Ok(rows.iter().map(read).collect())
        })
    }

    fn bench_of<'a>(
        &'a mut self,
        kind: Kind,
        thing: &'a str,
        after: u64,
        most: u64,
    ) -> Doing<'a, Vec<BenchEntry>> {
        doing!(self, {
            let rows = selected("WHERE kind = ")
                .push_bind(kind.word())
                .push(" AND thing = ")
                .push_bind(thing)
                .push(" AND id > ")
                .push_bind(as_stored(after))
                .push(" ORDER BY id LIMIT ")
                .push_bind(as_stored(most))
                .build()
                .fetch_all(&mut *self.line)
                .await?;
            rows.iter().map(bench_of).collect()
        })
    }

    fn bench_numbered<'a>(
        &'a mut self,
        kind: Kind,
        thing: &'a str,
        number: Option<u64>,
    ) -> Doing<'a, Option<(u64, u64)>> {
        doing!(self, {
            let row = sqlx::query(
                "SELECT number, id FROM bench_entry WHERE kind = $1 AND thing = $2 AND number <= $3
                 ORDER BY number DESC LIMIT 1",
            )
            .bind(kind.word())
            .bind(thing)
            .bind(as_stored(number.unwrap_or(u64::MAX)))
            .fetch_optional(&mut *self.line)
            .await?;
            row.map(|row| Ok((natural(&row, "number")?, natural(&row, "id")?)))
                .transpose()
        })
    }

    fn bench_ends(&mut self, kind: Kind) -> Doing<'_, Vec<ThingEnd>> {
        doing!(self, {
            // Looked up thing by thing along the indexes, so that it costs as many looks as there are things, not rows.
            let rows = sqlx::query(
                "SELECT t.thing,
                   (SELECT MAX(r.id) FROM revision r WHERE r.kind = $1 AND r.thing = t.thing) AS revision,
                   (SELECT MAX(b.number) FROM bench_entry b WHERE b.kind = $1 AND b.thing = t.thing) AS rows,
                   (SELECT MAX(b.id) FROM bench_entry b WHERE b.kind = $1 AND b.thing = t.thing) AS last
                 FROM (SELECT DISTINCT thing FROM revision WHERE kind = $1) t",
            )
            .bind(kind.word())
            .fetch_all(&mut *self.line)
            .await?;
            let end = |row: &SqliteRow| {
                let or_none = |column| -> Result<u64, sqlx::Error> {
                    let found: Option<i64> = row.try_get(column)?;
                    Ok(found.map_or(0, i64::unsigned_abs))
                };
                Ok(ThingEnd {
                    thing: row.try_get("thing")?,
                    revision: natural(row, "revision")?,
                    rows: or_none("rows")?,
                    last: or_none("last")?,
                })
            };
            rows.iter().map(end).collect()
        })
    }

    fn bench_last<'a>(
        &'a mut self,
        kind: Kind,
        things: &'a [String],
        most: u64,
    ) -> Doing<'a, Vec<BenchEntry>> {
        doing!(self, {
            if things.is_empty() {
                return Ok(Vec::new());
            }
            // Each thing's highest number first, then its last rows, both along the index: as many looks as there are things.
            let mut asked: QueryBuilder<sqlx::Sqlite> = QueryBuilder::new(
                "WITH ends (of_thing, highest) AS MATERIALIZED (SELECT column1, (SELECT MAX(m.number) FROM bench_entry m WHERE m.kind = ",
            );
            asked
                .push_bind(kind.word())
                .push(" AND m.thing = column1) FROM (");
            asked.push_values(things, |mut row, thing| {
                row.push_bind(thing);
            });
            let rows = asked
                .push(format!(
                    ")) SELECT {COLUMNS} FROM ends CROSS JOIN bench_entry ON kind = "
                ))
                .push_bind(kind.word())
                .push(" AND thing = of_thing AND number > highest - ")
                .push_bind(as_stored(most))
                .push(" ORDER BY thing, number")
                .build()
                .fetch_all(&mut *self.line)
                .await?;
            rows.iter().map(bench_of).collect()
        })
    }

    fn bench_by_key<'a>(&'a mut self, keys: Vec<&'a str>) -> Doing<'a, Vec<BenchEntry>> {
        doing!(self, {
            if keys.is_empty() {
                return Ok(Vec::new());
            }
            let mut asked = selected("WHERE key IN (");
            let mut list = asked.separated(", ");
            for key in keys {
                list.push_bind(key);
            }
            asked.push(")");
            let rows = asked.build().fetch_all(&mut *self.line).await?;
            rows.iter().map(bench_of).collect()
        })
    }

    fn bench_saying<'a>(&'a mut self, kind: Kind, what: &'a str) -> Doing<'a, Vec<BenchEntry>> {
        doing!(self, {
            let rows = selected("WHERE kind = ")
                .push_bind(kind.word())
                .push(" AND what = ")
                .push_bind(what)
                .push(" ORDER BY id")
                .build()
                .fetch_all(&mut *self.line)
                .await?;
            rows.iter().map(bench_of).collect()
        })
    }

    fn add_bench<'a>(&'a mut self, entries: &'a [BenchEntry]) -> Doing<'a, ()> {
        doing!(self, {
            let Some(last) = entries.last() else {
                return Ok(());
            };
            let mut adding: QueryBuilder<sqlx::Sqlite> =
                QueryBuilder::new(format!("INSERT INTO bench_entry ({COLUMNS}) "));
            adding.push_values(entries, |mut row, entry| {
                let BenchEntry {
                    id,
                    number,
                    row:
                        NewBenchEntry {
                            key,
                            kind,
                            thing,
                            at,
                            arrived,
                            who,
                            device,
                            what,
                            of,
                            on,
                            value,
                            unit,
                            strikes,
                            why,
                        },
                    previous,
                    hash,
                } = entry;
                row.push_bind(as_stored(*id))
                    .push_bind(as_stored(*number))
                    .push_bind(key)
                    .push_bind(kind.word())
                    .push_bind(thing)
                    .push_bind(at)
                    .push_bind(arrived)
                    .push_bind(who)
                    .push_bind(device)
                    .push_bind(what)
                    .push_bind(of)
                    .push_bind(on)
                    .push_bind(value)
                    .push_bind(unit)
                    .push_bind(strikes)
                    .push_bind(why)
                    .push_bind(previous)
                    .push_bind(hash);
            });
            adding.build().execute(&mut *self.line).await?;
            let noted = sqlx::query(
                "UPDATE head SET id = $1, hash = $2, bench_entries = bench_entries + $3",
            )
            .bind(as_stored(last.id))
            .bind(&last.hash)
            .bind(as_stored(entries.len() as u64))
            .execute(&mut *self.line)
            .await?;
            noted_once(noted.rows_affected())
        })
    }

    fn picture<'a>(&'a mut self, hash: &'a str) -> Doing<'a, Option<Vec<u8>>> {
        doing!(self, {
            sqlx::query_scalar("SELECT bytes FROM picture WHERE hash = $1")
                .bind(hash)
                .fetch_optional(&mut *self.line)
                .await
        })
    }

    fn pictures_after<'a>(&'a mut self, hash: &'a str) -> Doing<'a, Vec<(String, Vec<u8>)>> {
        Box::pin(async move {
            if !self.knows_the_bench().await? {
                return Ok(Vec::new());
            }
            sqlx::query_as("SELECT hash, bytes FROM picture WHERE hash > $1 ORDER BY hash LIMIT 20")
                .bind(hash)
                .fetch_all(&mut *self.line)
                .await
                .map_err(|error| told(&self.path, error))
        })
    }

    fn add_picture<'a>(&'a mut self, hash: &'a str, bytes: &'a [u8]) -> Doing<'a, ()> {
        doing!(self, {
            sqlx::query("INSERT INTO picture (hash, bytes) VALUES ($1, $2)")
                .bind(hash)
                .bind(bytes)
                .execute(&mut *self.line)
                .await?;
            let noted = sqlx::query("UPDATE head SET pictures = pictures + 1")
                .execute(&mut *self.line)
                .await?;
            noted_once(noted.rows_affected())
        })
    }
}
