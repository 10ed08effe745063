//! Writing: save, remove, restore. Each is one transaction that adds revisions and touches nothing
//! else.

use sqlx::{Connection, SqliteConnection};

use crate::chain::{BEFORE_THE_FIRST, hash_of};
use crate::check::{check_change, check_save};
use crate::error::no_such;
use crate::form;
use crate::revision::{
    Stored, as_stored, entry_columns, form_packed_alone, revision_columns, stored_of, unpacked,
};
use crate::{
    Action, Book, BookError, Entry, Kind, Remove, Restore, Revision, Save, SaveError, Tip,
};

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
