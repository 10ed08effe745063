//! Writing: save, remove, restore. Each is one transaction that adds revisions and touches nothing
//! else.

use sqlx::{Connection, SqliteConnection};

use crate::chain::{BEFORE_THE_FIRST, hash_of};
use crate::error::no_such;
use crate::form;
use crate::revision::{
    Stored, as_stored, entry_columns, form_packed_alone, revision_columns, stored_of, unpacked,
};
use crate::{Action, Book, BookError, Entry, Kind, Revision, SaveError, Tip};

/// The longest form, in bytes.
pub const FORM_LIMIT_BYTES: usize = 16 * 1024 * 1024;
/// The longest title, person's name or reason, in bytes.
pub const TEXT_LIMIT_BYTES: usize = 100_000;
/// The longest lasting name of a thing, in bytes.
pub const NAME_LIMIT_BYTES: usize = 200;

/// A form to be saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Save {
    /// What kind of thing it is.
    pub kind: Kind,
    /// The name that the thing keeps for ever.
    pub thing: String,
    /// The number of the revision it was made from; none for a new thing.
    pub base: Option<u64>,
    /// Who saves.
    pub who: String,
    /// Now, in UTC, such as `2026-11-25T09:00:44Z`.
    pub when: String,
    /// Why, if they say.
    pub why: Option<String>,
    /// What people call it.
    pub title: String,
    /// Version of the language the form is written in.
    pub form_version: u32,
    /// The form.
    pub form: String,
}

/// A thing to be taken out of use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remove {
    /// What kind of thing it is.
    pub kind: Kind,
    /// The name that the thing keeps for ever.
    pub thing: String,
    /// The number of the revision that was looked at.
    pub base: u64,
    /// Who removes.
    pub who: String,
    /// Now, in UTC.
    pub when: String,
    /// Why, if they say.
    pub why: Option<String>,
}

/// An earlier form to be taken up again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restore {
    /// What kind of thing it is.
    pub kind: Kind,
    /// The name that the thing keeps for ever.
    pub thing: String,
    /// The number whose form is taken up again.
    pub number: u64,
    /// The number of the newest revision that was looked at.
    pub base: u64,
    /// Who restores.
    pub who: String,
    /// Now, in UTC.
    pub when: String,
    /// Why, if they say.
    pub why: Option<String>,
}

/// A revision about to be written, when all has been checked but its place in the chain.
struct Next {
    kind: Kind,
    thing: String,
    parent: Option<u64>,
    action: Action,
    restored: Option<u64>,
    who: String,
    when: String,
    why: Option<String>,
    title: String,
    form_version: u32,
    form: String,
}

impl Book {
    /// Saves a form as a new revision. When this returns, it is on the disk.
    ///
    /// # Errors
    /// [`SaveError::Stale`] with both versions if somebody saved since `base`; otherwise what
    /// [`BookError`] tells. Nothing is written then.
    pub async fn save(&self, save: Save) -> Result<Revision, SaveError> {
        let mut written = self.save_all(vec![save]).await?;
        Ok(written.remove(0))
    }

    /// Saves several forms in one transaction: all of them or none.
    ///
    /// # Errors
    /// As [`Book::save`], for the first form that cannot be saved.
    pub async fn save_all(&self, saves: Vec<Save>) -> Result<Vec<Revision>, SaveError> {
        for save in &saves {
            check_save(save)?;
        }
        let mut writer = self.writer().await?;
        let outcome = self.save_all_on(&mut writer, saves).await;
        release(writer, &outcome).await;
        outcome
    }

    /// Takes a thing out of use. Its earlier revisions stay and can be restored.
    ///
    /// # Errors
    /// As [`Book::save`]; [`BookError::NoSuch`] if there is no such thing in use.
    pub async fn remove(&self, remove: Remove) -> Result<Revision, SaveError> {
        check_change(
            &remove.thing,
            &remove.who,
            &remove.when,
            remove.why.as_deref(),
        )?;
        let mut writer = self.writer().await?;
        let outcome = self.remove_on(&mut writer, remove).await;
        release(writer, &outcome).await;
        outcome
    }

    /// Takes up the form of an earlier revision again, as a new revision.
    ///
    /// # Errors
    /// As [`Book::save`]; [`BookError::NoSuch`] if there is no such revision, and
    /// [`BookError::Refused`] if that revision is itself a removal.
    pub async fn restore(&self, restore: Restore) -> Result<Revision, SaveError> {
        check_change(
            &restore.thing,
            &restore.who,
            &restore.when,
            restore.why.as_deref(),
        )?;
        let mut writer = self.writer().await?;
        let outcome = self.restore_on(&mut writer, restore).await;
        release(writer, &outcome).await;
        outcome
    }

    async fn save_all_on(
        &self,
        writer: &mut SqliteConnection,
        saves: Vec<Save>,
    ) -> Result<Vec<Revision>, SaveError> {
        let told = |error| self.told(error);
        let mut transaction = writer.begin_with("BEGIN IMMEDIATE").await.map_err(told)?;
        let mut written = Vec::with_capacity(saves.len());
        for save in saves {
            let Save {
                kind,
                thing,
                base,
                who,
                when,
                why,
                title,
                form_version,
                form,
            } = save;
            let newest = self.newest_if(&mut transaction, kind, &thing, base).await?;
            let next = Next {
                kind,
                thing,
                parent: base,
                action: Action::Save,
                restored: None,
                who,
                when,
                why,
                title,
                form_version,
                form,
            };
            written.push(append(&mut transaction, newest, next).await.map_err(told)?);
        }
        transaction.commit().await.map_err(told)?;
        Ok(written)
    }

    async fn remove_on(
        &self,
        writer: &mut SqliteConnection,
        remove: Remove,
    ) -> Result<Revision, SaveError> {
        let told = |error| self.told(error);
        let Remove {
            kind,
            thing,
            base,
            who,
            when,
            why,
        } = remove;
        let mut transaction = writer.begin_with("BEGIN IMMEDIATE").await.map_err(told)?;
        let newest = self
            .newest_if(&mut transaction, kind, &thing, Some(base))
            .await?
            .filter(|newest| newest.entry.action != Action::Remove)
            .ok_or_else(|| no_such(kind, &thing, None))?;
        let next = Next {
            kind,
            thing,
            parent: Some(base),
            action: Action::Remove,
            restored: None,
            who,
            when,
            why,
            title: newest.entry.title.clone(),
            form_version: newest.entry.form_version,
            form: String::new(),
        };
        let revision = append(&mut transaction, Some(newest), next)
            .await
            .map_err(told)?;
        transaction.commit().await.map_err(told)?;
        Ok(revision)
    }

    async fn restore_on(
        &self,
        writer: &mut SqliteConnection,
        restore: Restore,
    ) -> Result<Revision, SaveError> {
        let told = |error| self.told(error);
        let Restore {
            kind,
            thing,
            number,
            base,
            who,
            when,
            why,
        } = restore;
        let mut transaction = writer.begin_with("BEGIN IMMEDIATE").await.map_err(told)?;
        let newest = self
            .newest_if(&mut transaction, kind, &thing, Some(base))
            .await?;
        let earlier = numbered(&mut transaction, kind, &thing, number)
            .await
            .map_err(told)?
            .ok_or_else(|| no_such(kind, &thing, Some(number)))?;
        if earlier.entry.action == Action::Remove {
            let why =
                format!("revision {number} is a removal and has no form; give an earlier one");
            return Err(BookError::Refused {
                field: "the revision to restore",
                why,
            }
            .into());
        }
        let earlier = unpacked(&mut transaction, earlier).await.map_err(told)?;
        let next = Next {
            kind,
            thing,
            parent: Some(base),
            action: Action::Restore,
            restored: Some(number),
            who,
            when,
            why,
            title: earlier.entry.title,
            form_version: earlier.entry.form_version,
            form: earlier.form,
        };
        let revision = append(&mut transaction, newest, next).await.map_err(told)?;
        transaction.commit().await.map_err(told)?;
        Ok(revision)
    }

    /// The newest revision of a thing, provided that it is the one the change was made from.
    async fn newest_if(
        &self,
        connection: &mut SqliteConnection,
        kind: Kind,
        thing: &str,
        base: Option<u64>,
    ) -> Result<Option<Stored>, SaveError> {
        let told = |error| self.told(error);
        let newest = newest(connection, kind, thing).await.map_err(told)?;
        match newest {
            Some(newest) if Some(newest.entry.number) != base => {
                let yours = match base {
                    Some(number) => numbered(connection, kind, thing, number)
                        .await
                        .map_err(told)?,
                    None => None,
                };
                let yours = match yours {
                    Some(stored) => {
                        Some(Box::new(unpacked(connection, stored).await.map_err(told)?))
                    }
                    None => None,
                };
                let current = Box::new(unpacked(connection, newest).await.map_err(told)?);
                Err(SaveError::Stale {
                    yours_base: base,
                    current,
                    base: yours,
                })
            }
            None if base.is_some() => Err(no_such(kind, thing, base).into()),
            newest => Ok(newest),
        }
    }
}

/// Gives the connection back, or away with it after trouble: a full disk can leave a transaction in
/// a state that is not worth reasoning about.
async fn release<T>(
    writer: sqlx::pool::PoolConnection<sqlx::Sqlite>,
    outcome: &Result<T, SaveError>,
) {
    if let Err(SaveError::Book(_)) = outcome {
        let _closing_may_fail_on_a_full_disk = writer.close().await;
    }
}

pub(crate) async fn newest(
    connection: &mut SqliteConnection,
    kind: Kind,
    thing: &str,
) -> Result<Option<Stored>, sqlx::Error> {
    let sql = concat!(
        "SELECT ",
        revision_columns!(),
        " FROM revision WHERE kind = $1 AND thing = $2 ORDER BY number DESC LIMIT 1"
    );
    let row = sqlx::query(sql)
        .bind(kind.word())
        .bind(thing)
        .fetch_optional(connection)
        .await?;
    row.as_ref().map(stored_of).transpose()
}

pub(crate) async fn numbered(
    connection: &mut SqliteConnection,
    kind: Kind,
    thing: &str,
    number: u64,
) -> Result<Option<Stored>, sqlx::Error> {
    let sql = concat!(
        "SELECT ",
        revision_columns!(),
        " FROM revision WHERE kind = $1 AND thing = $2 AND number = $3"
    );
    let row = sqlx::query(sql)
        .bind(kind.word())
        .bind(thing)
        .bind(as_stored(number))
        .fetch_optional(connection)
        .await?;
    row.as_ref().map(stored_of).transpose()
}

pub(crate) async fn tip(connection: &mut SqliteConnection) -> Result<Tip, sqlx::Error> {
    let last: Option<(i64, String)> =
        sqlx::query_as("SELECT id, hash FROM revision ORDER BY id DESC LIMIT 1")
            .fetch_optional(connection)
            .await?;
    match last {
        Some((id, hash)) => {
            let id = u64::try_from(id)
                .map_err(|_| crate::revision::wrong(format!("a revision has the id {id}")))?;
            Ok(Tip { id, hash })
        }
        None => Ok(Tip {
            id: 0,
            hash: BEFORE_THE_FIRST.to_owned(),
        }),
    }
}

/// Adds a revision at the end of the chain.
async fn append(
    connection: &mut SqliteConnection,
    newest: Option<Stored>,
    next: Next,
) -> Result<Revision, sqlx::Error> {
    let Tip {
        id: last_id,
        hash: previous,
    } = tip(connection).await?;
    let number = newest.as_ref().map_or(1, |newest| newest.entry.number + 1);
    // The form that was last packed alone, unless a removal came in between.
    let base_id = newest.as_ref().and_then(|newest| match newest.form_base {
        Some(id) => Some(id),
        None if newest.form_length > 0 => Some(newest.entry.id),
        None => None,
    });
    let base = match base_id {
        Some(id) => Some(form_packed_alone(connection, id).await?),
        None => None,
    };
    let packed = form::pack(&next.form, base.as_deref());

    let Next {
        kind,
        thing,
        parent,
        action,
        restored,
        who,
        when,
        why,
        title,
        form_version,
        form,
    } = next;
    let mut entry = Entry {
        id: last_id + 1,
        kind,
        thing,
        number,
        parent,
        action,
        restored,
        who,
        when,
        why,
        title,
        form_version,
        previous,
        hash: String::new(),
    };
    entry.hash = hash_of(&entry, &form);

    let sql = concat!(
        "INSERT INTO revision (",
        entry_columns!(),
        ", form, form_base, form_length) ",
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17)"
    );
    sqlx::query(sql)
        .bind(as_stored(entry.id))
        .bind(entry.kind.word())
        .bind(&entry.thing)
        .bind(as_stored(entry.number))
        .bind(entry.parent.map(as_stored))
        .bind(entry.action.word())
        .bind(entry.restored.map(as_stored))
        .bind(&entry.who)
        .bind(&entry.when)
        .bind(&entry.why)
        .bind(&entry.title)
        .bind(i64::from(entry.form_version))
        .bind(&entry.previous)
        .bind(&entry.hash)
        .bind(&packed.bytes)
        .bind(base_id.filter(|_| packed.on_base).map(as_stored))
        .bind(as_stored(form.len() as u64))
        .execute(connection)
        .await?;
    Ok(Revision { entry, form })
}

fn check_save(save: &Save) -> Result<(), BookError> {
    check_change(&save.thing, &save.who, &save.when, save.why.as_deref())?;
    check_text("the title", &save.title, TEXT_LIMIT_BYTES)?;
    check_form(&save.form)
}

pub(crate) fn check_form(form: &str) -> Result<(), BookError> {
    if form.is_empty() {
        let why = "it is empty; remove the thing instead".to_owned();
        return Err(BookError::Refused {
            field: "the form",
            why,
        });
    }
    if form.len() > FORM_LIMIT_BYTES {
        let why = format!(
            "it has {} bytes, at most {FORM_LIMIT_BYTES} are kept",
            form.len()
        );
        return Err(BookError::Refused {
            field: "the form",
            why,
        });
    }
    Ok(())
}

fn check_change(thing: &str, who: &str, when: &str, why: Option<&str>) -> Result<(), BookError> {
    check_name(thing)?;
    check_who(who)?;
    check_when(when)?;
    why.map_or(Ok(()), |why| {
        check_text("the reason", why, TEXT_LIMIT_BYTES)
    })
}

pub(crate) fn check_name(thing: &str) -> Result<(), BookError> {
    let field = "the lasting name of a thing";
    if thing.is_empty() {
        return Err(BookError::Refused {
            field,
            why: "it is empty".to_owned(),
        });
    }
    check_text(field, thing, NAME_LIMIT_BYTES)
}

pub(crate) fn check_who(who: &str) -> Result<(), BookError> {
    let field = "the name of the person";
    if who.trim().is_empty() {
        return Err(BookError::Refused {
            field,
            why: "it is empty; say who made the change".to_owned(),
        });
    }
    check_text(field, who, TEXT_LIMIT_BYTES)
}

/// Any text is kept as it is, but for the NUL character, which not every database can hold.
pub(crate) fn check_text(field: &'static str, text: &str, most: usize) -> Result<(), BookError> {
    if text.len() > most {
        let why = format!(
            "it has {} bytes, at most {most} are kept; shorten it",
            text.len()
        );
        return Err(BookError::Refused { field, why });
    }
    if text.contains('\0') {
        let why = "it contains the NUL character, which cannot be stored; take it out".to_owned();
        return Err(BookError::Refused { field, why });
    }
    Ok(())
}

/// A moment in UTC as RFC 3339 writes it: `2026-11-25T09:00:44Z`, with a decimal fraction of the
/// second if wanted.
pub(crate) fn check_when(when: &str) -> Result<(), BookError> {
    let shape_is_right = when.is_ascii() && when.len() >= 20 && when.len() <= 30 && {
        let (whole, rest) = when.split_at(19);
        let digits_and_marks =
            whole
                .bytes()
                .zip("0000-00-00T00:00:00".bytes())
                .all(|(byte, shape)| match shape {
                    b'0' => byte.is_ascii_digit(),
                    mark => byte == mark,
                });
        let part = |from: usize, range: std::ops::RangeInclusive<u32>| {
            whole[from..from + 2]
                .parse()
                .is_ok_and(|part: u32| range.contains(&part))
        };
        let fraction = rest.strip_suffix('Z').is_some_and(|fraction| {
            fraction.is_empty()
                || fraction.strip_prefix('.').is_some_and(|digits| {
                    !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit())
                })
        });
        digits_and_marks
            && fraction
            && part(5, 1..=12)
            && part(8, 1..=31)
            && part(11, 0..=23)
            && part(14, 0..=59)
            && part(17, 0..=60)
    };
    if shape_is_right {
        return Ok(());
    }
    let shown: String = when.chars().take(40).collect();
    let why = format!("‘{shown}’ is not a moment in UTC written like 2026-11-25T09:00:44Z");
    Err(BookError::Refused {
        field: "the time",
        why,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_utc_as_rfc_3339_writes_them() {
        for good in [
            "2026-11-25T09:00:44Z",
            "2026-11-25T09:00:44.5Z",
            "2016-12-31T23:59:60Z",
        ] {
            assert!(check_when(good).is_ok(), "{good}");
        }
        for bad in [
            "",
            "now",
            "2026-11-25 09:00:44Z",
            "2026-11-25T09:00:44",
            "2026-11-25T09:00:44+01:00",
            "2026-13-25T09:00:44Z",
            "2026-11-25T24:00:44Z",
            "2026-11-25T09:00:44.Z",
            "２026-11-25T09:00:44Z",
        ] {
            assert!(check_when(bad).is_err(), "{bad}");
        }
    }
}
