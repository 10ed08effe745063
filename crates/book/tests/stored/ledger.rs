//! Save, remove, restore, and how they are read.

use book::{Action, BookError, Kind, Order, Page, Remove, Restore, SaveError};

use crate::{NOON, shelf, study};

fn remove(thing: &str, base: u64) -> Remove {
    Remove {
        kind: Kind::Study,
        thing: thing.to_owned(),
        base,
        who: "Ben".to_owned(),
        when: NOON.to_owned(),
        why: None,
    }
}

fn restore(thing: &str, number: u64, base: u64) -> Restore {
    Restore {
        kind: Kind::Study,
        thing: thing.to_owned(),
        number,
        base,
        who: "Cyd".to_owned(),
        when: NOON.to_owned(),
        why: Some("it was better".to_owned()),
    }
}

#[tokio::test]
async fn a_thing_is_saved_changed_removed_and_restored_and_all_of_it_stays() {
    let shelf = shelf().await;
    let book = &shelf.book;
    let first = book.save(study("grain", None, "flour = 60")).await.unwrap();
    let second = book
        .save(study("grain", Some(1), "flour = 55"))
        .await
        .unwrap();
    assert_eq!((first.entry.number, second.entry.number), (1, 2));
    assert_eq!(second.entry.parent, Some(1));
    assert_eq!(second.entry.previous, first.entry.hash);
    assert_eq!(
        book.current(Kind::Study, "grain").await.unwrap(),
        Some(second.clone())
    );
    assert_eq!(book.current(Kind::Oven, "grain").await.unwrap(), None);

    let gone = book.remove(remove("grain", 2)).await.unwrap();
    assert_eq!(
        (gone.entry.action, gone.form.as_str()),
        (Action::Remove, "")
    );
    assert_eq!(book.current(Kind::Study, "grain").await.unwrap(), None);
    assert_eq!(book.newest(Kind::Study, "grain").await.unwrap(), Some(gone));
    let all = Page::first(10);
    assert_eq!(
        book.list(Kind::Study, None, Order::Title, all)
            .await
            .unwrap()
            .total,
        0
    );
    assert_eq!(
        book.list_removed(Kind::Study, None, Order::Title, all)
            .await
            .unwrap()
            .total,
        1
    );
    let twice = book.remove(remove("grain", 3)).await;
    assert!(
        matches!(twice, Err(SaveError::Book(BookError::NoSuch { .. }))),
        "{twice:?}"
    );

    let back = book.restore(restore("grain", 1, 3)).await.unwrap();
    assert_eq!(back.form, "flour = 60");
    assert_eq!(
        (back.entry.action, back.entry.restored),
        (Action::Restore, Some(1))
    );
    assert_eq!(
        book.current(Kind::Study, "grain").await.unwrap(),
        Some(back.clone())
    );
    let of_a_removal = book.restore(restore("grain", 3, 4)).await;
    assert!(matches!(
        of_a_removal,
        Err(SaveError::Book(BookError::Refused { .. }))
    ));
    let of_nothing = book.restore(restore("grain", 9, 4)).await;
    assert!(matches!(
        of_nothing,
        Err(SaveError::Book(BookError::NoSuch { .. }))
    ));

    let history = book.history(Kind::Study, "grain", all).await.unwrap();
    let numbers: Vec<u64> = history.items.iter().map(|entry| entry.number).collect();
    assert_eq!((numbers, history.total), (vec![4, 3, 2, 1], 4));
    assert_eq!(book.revision(1).await.unwrap(), Some(first));
    assert_eq!(
        book.numbered(Kind::Study, "grain", 2).await.unwrap(),
        Some(second)
    );
    assert_eq!(book.revision(99).await.unwrap(), None);
    assert_eq!(
        book.recent(Page { start: 1, count: 2 })
            .await
            .unwrap()
            .items[0]
            .id,
        3
    );
    assert!(book.verify(|_, _| ()).await.unwrap().is_sound());
}

#[tokio::test]
async fn saving_on_top_of_a_stale_revision_is_refused_with_both_versions() {
    let shelf = shelf().await;
    let book = &shelf.book;
    book.save(study("grain", None, "flour = 60")).await.unwrap();
    book.save(study("grain", Some(1), "flour = 55"))
        .await
        .unwrap();

    let late = book
        .save(study("grain", Some(1), "flour = 70"))
        .await
        .unwrap_err();
    let words = late.to_string();
    let SaveError::Stale {
        yours_base,
        current,
        base,
    } = late
    else {
        panic!("{late}")
    };
    assert_eq!(yours_base, Some(1));
    assert_eq!(current.form, "flour = 55");
    assert_eq!(base.unwrap().form, "flour = 60");
    assert!(
        words.contains("revision 2") && words.contains("Ada"),
        "{words}"
    );

    let as_new = book
        .save(study("grain", None, "flour = 1"))
        .await
        .unwrap_err();
    assert!(matches!(
        as_new,
        SaveError::Stale {
            yours_base: None,
            base: None,
            ..
        }
    ));
    let from_the_future = book
        .save(study("grain", Some(7), "flour = 1"))
        .await
        .unwrap_err();
    assert!(matches!(
        from_the_future,
        SaveError::Stale {
            yours_base: Some(7),
            base: None,
            ..
        }
    ));
    let of_nothing = book
        .save(study("other", Some(1), "flour = 1"))
        .await
        .unwrap_err();
    assert!(matches!(
        of_nothing,
        SaveError::Book(BookError::NoSuch { .. })
    ));
    assert!(matches!(
        book.remove(remove("grain", 1)).await,
        Err(SaveError::Stale { .. })
    ));
    assert!(matches!(
        book.restore(restore("grain", 1, 1)).await,
        Err(SaveError::Stale { .. })
    ));

    assert_eq!(book.tip().await.unwrap().id, 2, "nothing was written");
}

#[tokio::test]
async fn several_are_saved_together_or_not_at_all() {
    let shelf = shelf().await;
    let book = &shelf.book;
    let together = vec![
        study("a", None, "1"),
        study("b", None, "2"),
        study("a", Some(1), "3"),
    ];
    assert_eq!(book.save_all(together).await.unwrap().len(), 3);
    let half_stale = vec![study("c", None, "1"), study("b", None, "2")];
    assert!(matches!(
        book.save_all(half_stale).await,
        Err(SaveError::Stale { .. })
    ));
    assert_eq!(book.current(Kind::Study, "c").await.unwrap(), None);
    assert!(book.save_all(vec![]).await.unwrap().is_empty());
    assert_eq!(book.verify(|_, _| ()).await.unwrap().revisions, 3);
}

#[tokio::test]
async fn lists_are_searched_sorted_and_paged() {
    let shelf = shelf().await;
    let book = &shelf.book;
    for (thing, title) in [
        ("b", "Äpfel mit Hafer"),
        ("a", "barley, 50% spent grain"),
        ("c", "Zwieback_roh"),
    ] {
        let mut save = study(thing, None, "x = 1");
        save.title = title.to_owned();
        book.save(save).await.unwrap();
    }
    let list = async |search: Option<&str>, order, start, count| {
        let found = book
            .list(Kind::Study, search, order, Page { start, count })
            .await
            .unwrap();
        let things: String = found
            .items
            .iter()
            .map(|entry| entry.thing.as_str())
            .collect();
        (things, found.total)
    };
    assert_eq!(
        list(None, Order::Recent, 0, 10).await,
        ("cab".to_owned(), 3)
    );
    assert_eq!(list(None, Order::Title, 0, 10).await, ("acb".to_owned(), 3));
    assert_eq!(list(None, Order::Recent, 1, 1).await, ("a".to_owned(), 3));
    assert_eq!(list(Some("äPFEL"), Order::Recent, 0, 10).await.0, "b");
    assert_eq!(
        list(Some("grain barley"), Order::Recent, 0, 10).await.0,
        "a"
    );
    assert_eq!(
        list(Some("%"), Order::Recent, 0, 10).await.0,
        "a",
        "a percent sign is itself"
    );
    assert_eq!(list(Some("_"), Order::Recent, 0, 10).await.0, "c");
    assert_eq!(
        list(Some("rye"), Order::Recent, 0, 10).await,
        (String::new(), 0)
    );
    for count in [0, Page::LONGEST + 1] {
        let page = Page { start: 0, count };
        assert!(matches!(
            book.recent(page).await,
            Err(BookError::Refused { .. })
        ));
    }
}

#[tokio::test]
async fn drafts_come_and_go_beside_the_record() {
    let shelf = shelf().await;
    let book = &shelf.book;
    let mut draft = book::Draft {
        kind: Kind::Study,
        thing: "grain".to_owned(),
        who: "Ada".to_owned(),
        counter: 0,
        base: None,
        when: NOON.to_owned(),
        title: "Grain".to_owned(),
        form_version: 1,
        form: "flour = 6".to_owned(),
    };
    assert_eq!(book.put_draft(&draft).await.unwrap(), Some(1));
    // Another window that looked at what was before can't overwrite it.
    assert_eq!(book.put_draft(&draft).await.unwrap(), None);
    draft.counter = 1;
    draft.form = "flour = 60".to_owned();
    draft.base = Some(3);
    assert_eq!(book.put_draft(&draft).await.unwrap(), Some(2));
    draft.counter = 2;
    let of = async |who: &str| book.unsaved(Kind::Study, "grain", who).await.unwrap();
    assert_eq!(of("Ada").await.draft, Some(draft.clone()));
    assert_eq!(of("Ben").await.draft, None);
    assert_eq!(book.drafts("Ada").await.unwrap(), vec![draft.clone()]);
    let info = book.info().await.unwrap();
    assert_eq!((info.revisions, info.drafts), (0, 1));
    let drop = async |over| {
        let dropped = book.drop_draft(Kind::Study, "grain", "Ada", over);
        dropped.await.unwrap()
    };
    assert!(!drop(Some(1)).await);
    assert!(drop(Some(2)).await && !drop(None).await);
    // The counter goes on: what was dropped can't be taken for what comes.
    assert_eq!(of("Ada").await.counter, 3);
    assert_eq!(book.put_draft(&draft).await.unwrap(), None);
    draft.counter = 3;
    assert_eq!(book.put_draft(&draft).await.unwrap(), Some(4));
    assert_eq!(book.drafts("Ada").await.unwrap().len(), 1);
}

/// The save and the end of the draft are one: it can't be that one of them was and the other not.
#[tokio::test]
async fn a_draft_is_saved_and_gone_in_one_or_neither() {
    let shelf = shelf().await;
    let book = &shelf.book;
    let mut draft = book::Draft {
        kind: Kind::Study,
        thing: "grain".to_owned(),
        who: "Ada".to_owned(),
        counter: 0,
        base: None,
        when: NOON.to_owned(),
        title: "Grain".to_owned(),
        form_version: 1,
        form: "flour = 6".to_owned(),
    };
    book.put_draft(&draft).await.unwrap();
    let save = study("grain", None, "flour = 6");
    let moved = book.save_draft(save.clone(), 7).await.unwrap_err();
    assert!(matches!(moved, SaveError::DraftMoved), "{moved}");
    assert_eq!(book.tip().await.unwrap().id, 0);
    let saved = book.save_draft(save.clone(), 1).await.unwrap();
    assert_eq!(saved.entry.number, 1);
    let unsaved = book.unsaved(Kind::Study, "grain", "Ada").await.unwrap();
    assert_eq!((unsaved.counter, unsaved.draft), (2, None));
    // Where somebody was faster, the draft stays.
    draft.counter = 2;
    book.put_draft(&draft).await.unwrap();
    let stale = book.save_draft(save, 3).await.unwrap_err();
    assert!(matches!(stale, SaveError::Stale { .. }), "{stale}");
    assert_eq!(book.drafts("Ada").await.unwrap().len(), 1);
}

/// Who is called otherwise keeps what they had not saved.
#[tokio::test]
async fn drafts_go_along_with_a_new_name() {
    let shelf = shelf().await;
    let book = &shelf.book;
    let put = async |who: &str, thing: &str, counter| {
        let draft = book::Draft {
            kind: Kind::Study,
            thing: thing.to_owned(),
            who: who.to_owned(),
            counter,
            base: None,
            when: NOON.to_owned(),
            title: thing.to_owned(),
            form_version: 1,
            form: "flour = 6".to_owned(),
        };
        book.put_draft(&draft).await.unwrap().unwrap()
    };
    put("Ada", "grain", 0).await;
    put("Ben", "grain", 0).await;
    book.drop_draft(Kind::Study, "grain", "Ben", None)
        .await
        .unwrap();
    let named = |who: &str, base| {
        let mut save = study("settings", base, who);
        save.who = who.to_owned();
        save
    };
    book.save_name(named("Ben", None), "Ada").await.unwrap();
    assert_eq!(book.drafts("Ada").await.unwrap().len(), 0);
    let theirs = book.unsaved(Kind::Study, "grain", "Ben").await.unwrap();
    assert!(theirs.draft.is_some() && theirs.counter > 2, "{theirs:?}");
    put("Cy", "grain", 0).await;
    let refused = book
        .save_name(named("Cy", Some(1)), "Ben")
        .await
        .unwrap_err();
    assert!(
        refused.to_string().contains("both have unsaved changes"),
        "{refused}"
    );
    assert_eq!(book.drafts("Ben").await.unwrap().len(), 1);
}

#[tokio::test]
async fn the_book_tells_what_it_holds() {
    let shelf = shelf().await;
    let book = &shelf.book;
    assert_eq!(book.info().await.unwrap().last_when, None);
    book.save(study("a", None, "1")).await.unwrap();
    book.save(study("b", None, "1")).await.unwrap();
    book.remove(remove("b", 1)).await.unwrap();
    let info = book.info().await.unwrap();
    assert_eq!(
        (info.revisions, info.schema, info.tip.id),
        (3, book::SCHEMA, 3)
    );
    assert_eq!(info.first_when.as_deref(), Some(NOON));
    assert_eq!(
        (
            info.counts[0].kind,
            info.counts[0].in_use,
            info.counts[0].removed
        ),
        (Kind::Study, 1, 1)
    );
    assert!(info.bytes > 0);
}
