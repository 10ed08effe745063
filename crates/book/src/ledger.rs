//! Writing: save, remove, restore. Each is one transaction that adds revisions and touches nothing
//! else but the unsaved work that is saved by it.

use crate::chain::hash_of;
use crate::check::{check_change, check_save, check_who};
use crate::error::no_such;
use crate::form;
use crate::revision::{form_packed_alone, unpacked, unpacked_if_any};
use crate::store::{For, Session, Stored};
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

/// Unsaved work that a save takes up or renames, in the same transaction.
enum Along<'a> {
    Nothing,
    /// The saver's draft of this counter is saved by it, and so no draft any more.
    Draft(u64),
    /// The saver was called otherwise, and takes the drafts along.
    Name(&'a str),
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
        self.write_all(saves, Along::Nothing).await
    }

    /// Saves the person's draft that has the counter `draft`: the revision is written and the draft gone in one
    /// transaction.
    ///
    /// # Errors
    /// As [`Book::save`]; [`SaveError::DraftMoved`] if the draft has another counter by now.
    pub async fn save_draft(&self, save: Save, draft: u64) -> Result<Revision, SaveError> {
        let mut written = self.write_all(vec![save], Along::Draft(draft)).await?;
        Ok(written.remove(0))
    }

    /// Saves a form that gives a person another name, `save.who`, and puts that on the drafts they had as `before`.
    ///
    /// # Errors
    /// As [`Book::save`]; [`BookError::Refused`] where both names have a draft of the same thing.
    pub async fn save_name(&self, save: Save, before: &str) -> Result<Revision, SaveError> {
        check_who(before)?;
        let mut written = self.write_all(vec![save], Along::Name(before)).await?;
        Ok(written.remove(0))
    }

    async fn write_all(
        &self,
        saves: Vec<Save>,
        along: Along<'_>,
    ) -> Result<Vec<Revision>, SaveError> {
        for save in &saves {
            check_save(save)?;
        }
        let mut session = self.begin(For::Writing).await?;
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
            let newest = match newest_if(&mut *session, kind, &thing, base).await {
                Ok(newest) => newest,
                Err(error) => return refused(session, error).await,
            };
            match along {
                Along::Nothing => {}
                Along::Draft(counter) => {
                    if !session
                        .drop_unsaved(kind, &thing, &who, Some(counter))
                        .await?
                    {
                        return refused(session, SaveError::DraftMoved).await;
                    }
                }
                Along::Name(before) => {
                    if let Err(error) = rename(&mut *session, before, &who).await {
                        return refused(session, error.into()).await;
                    }
                }
            }
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
            written.push(append(&mut *session, newest, next).await?);
        }
        session.commit().await?;
        self.settle().await;
        Ok(written)
    }

    /// Takes a thing out of use. Its earlier revisions stay and can be restored, and so do drafts of it.
    ///
    /// # Errors
    /// As [`Book::save`]; [`BookError::NoSuch`] if there is no such thing in use.
    pub async fn remove(&self, remove: Remove) -> Result<Revision, SaveError> {
        let Remove {
            kind,
            thing,
            base,
            who,
            when,
            why,
        } = remove;
        check_change(&thing, &who, &when, why.as_deref())?;
        let mut session = self.begin(For::Writing).await?;
        let newest = match newest_if(&mut *session, kind, &thing, Some(base)).await {
            Ok(Some(newest)) if newest.entry.action != Action::Remove => newest,
            Ok(_) => return refused(session, no_such(kind, &thing, None).into()).await,
            Err(error) => return refused(session, error).await,
        };
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
        let revision = append(&mut *session, Some(newest), next).await?;
        session.commit().await?;
        self.settle().await;
        Ok(revision)
    }

    /// Takes up the form of an earlier revision again, as a new revision.
    ///
    /// # Errors
    /// As [`Book::save`]; [`BookError::NoSuch`] if there is no such revision, and
    /// [`BookError::Refused`] if that revision is itself a removal.
    pub async fn restore(&self, restore: Restore) -> Result<Revision, SaveError> {
        let Restore {
            kind,
            thing,
            number,
            base,
            who,
            when,
            why,
        } = restore;
        check_change(&thing, &who, &when, why.as_deref())?;
        let mut session = self.begin(For::Writing).await?;
        let newest = match newest_if(&mut *session, kind, &thing, Some(base)).await {
            Ok(newest) => newest,
            Err(error) => return refused(session, error).await,
        };
        let earlier = match session.of(kind, &thing, Some(number)).await? {
            Some(earlier) if earlier.entry.action != Action::Remove => earlier,
            Some(_) => {
                let why =
                    format!("revision {number} is a removal and has no form; give an earlier one");
                let field = "the revision to restore";
                return refused(session, BookError::Refused { field, why }.into()).await;
            }
            None => return refused(session, no_such(kind, &thing, Some(number)).into()).await,
        };
        let earlier = unpacked(&mut *session, earlier).await?;
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
        let revision = append(&mut *session, newest, next).await?;
        session.commit().await?;
        self.settle().await;
        Ok(revision)
    }
}

/// Nothing is written, and the connection is as good as before.
async fn refused<T>(session: Box<dyn Session>, error: SaveError) -> Result<T, SaveError> {
    session.leave().await?;
    Err(error)
}

/// The newest revision of a thing, provided that it is the one the change was made from.
async fn newest_if(
    session: &mut dyn Session,
    kind: Kind,
    thing: &str,
    base: Option<u64>,
) -> Result<Option<Stored>, SaveError> {
    match session.of(kind, thing, None).await? {
        Some(newest) if Some(newest.entry.number) != base => {
            let yours = match base {
                Some(number) => session.of(kind, thing, Some(number)).await?,
                None => None,
            };
            Err(SaveError::Stale {
                yours_base: base,
                base: unpacked_if_any(session, yours).await?.map(Box::new),
                current: Box::new(unpacked(session, newest).await?),
            })
        }
        None if base.is_some() => Err(no_such(kind, thing, base).into()),
        newest => Ok(newest),
    }
}

async fn rename(session: &mut dyn Session, from: &str, to: &str) -> Result<(), BookError> {
    if from == to {
        return Ok(());
    }
    let theirs = session.unsaved_of(to).await?;
    for mine in session.unsaved_of(from).await? {
        let same = |other: &&crate::Draft| other.kind == mine.kind && other.thing == mine.thing;
        if let Some(other) = theirs.iter().find(same) {
            return Err(BookError::Refused {
                field: "the name",
                why: format!(
                    "‘{from}’ and ‘{to}’ both have unsaved changes of ‘{}’; save or discard one of them first",
                    other.title
                ),
            });
        }
    }
    for mine in session.unsaved_of(from).await? {
        let there = session.unsaved(mine.kind, &mine.thing, to).await?.counter;
        session
            .drop_unsaved(mine.kind, &mine.thing, from, None)
            .await?;
        // Its counter never falls below one that was seen under either name.
        let moved = crate::Draft {
            who: to.to_owned(),
            counter: mine.counter.max(there) + 1,
            ..mine
        };
        session.put_unsaved(&moved, there).await?;
    }
    Ok(())
}

/// Adds a revision at the end of the chain.
async fn append(
    session: &mut dyn Session,
    newest: Option<Stored>,
    next: Next,
) -> Result<Revision, BookError> {
    let Tip {
        id: last_id,
        hash: previous,
    } = session.tip().await?;
    let number = newest.as_ref().map_or(1, |newest| newest.entry.number + 1);
    // The form that was last packed alone, unless a removal came in between.
    let base_id = newest.as_ref().and_then(|newest| match newest.form_base {
        Some(id) => Some(id),
        None if newest.form_length > 0 => Some(newest.entry.id),
        None => None,
    });
    let base = match base_id {
        Some(id) => Some(form_packed_alone(session, id).await?),
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
    let stored = Stored {
        entry,
        packed: packed.bytes,
        form_base: base_id.filter(|_| packed.on_base),
        form_length: form.len() as u64,
    };
    session.add(&stored).await?;
    Ok(Revision {
        entry: stored.entry,
        form,
    })
}
