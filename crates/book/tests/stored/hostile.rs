//! Text that would like to be something else stays text.

use book::{BookError, Draft, Kind, Order, Page, SaveError};

use crate::{NOON, shelf, study};

pub(crate) fn nasty() -> Vec<String> {
    vec![
        "'; DROP TABLE revision; --".to_owned(),
        "\"quoted\" 'twice' `thrice`".to_owned(),
        "<script>alert('x')</script>".to_owned(),
        "$1 ?1 :a @b %s {} {{x}} ${y}".to_owned(),
        "%_\\%\\_".to_owned(),
        "../../etc/passwd".to_owned(),
        "line\r\nbreak\ttab \u{7} bell \u{1b}[31m".to_owned(),
        "\u{202e}right to left\u{202c} \u{feff} \u{200b}".to_owned(),
        "é e\u{301} 🦴 𝔄 \u{10ffff}".to_owned(),
        "NULL".to_owned(),
        "1e308".to_owned(),
        " ".to_owned(),
    ]
}

#[tokio::test]
async fn every_field_gives_back_what_it_was_given() {
    let shelf = shelf().await;
    let book = &shelf.book;
    for text in nasty() {
        let mut save = study(&text, None, &text);
        save.title.clone_from(&text);
        save.why = Some(text.clone());
        save.who = format!("{text}.");
        let written = book.save(save).await.unwrap();
        let read = book.current(Kind::Study, &text).await.unwrap().unwrap();
        assert_eq!(read, written);
        assert_eq!((&read.form, &read.entry.title), (&text, &text));
        assert_eq!(
            (&read.entry.thing, read.entry.why.as_ref()),
            (&text, Some(&text))
        );
        let found = book
            .list(Kind::Study, Some(&text), Order::Title, Page::first(100))
            .await
            .unwrap();
        assert!(
            text.trim().is_empty() || found.total == 1,
            "{text:?}: {}",
            found.total
        );
        assert_eq!(
            book.history(Kind::Study, &text, Page::first(9))
                .await
                .unwrap()
                .total,
            1
        );

        let draft = Draft {
            kind: Kind::Study,
            thing: text.clone(),
            who: format!("{text}."),
            counter: 0,
            base: None,
            when: NOON.to_owned(),
            title: text.clone(),
            form_version: 1,
            form: format!("{text}\0"),
        };
        assert_eq!(book.put_draft(&draft).await.unwrap(), Some(1));
        let kept = book.unsaved(Kind::Study, &text, &draft.who).await.unwrap();
        assert_eq!(
            kept.draft,
            Some(Draft {
                counter: 1,
                ..draft
            })
        );
    }
    assert!(book.verify(|_, _| ()).await.unwrap().is_sound());
    assert_eq!(book.tip().await.unwrap().id, nasty().len() as u64);
}

#[tokio::test]
async fn a_form_may_hold_any_character_and_a_name_ten_thousand() {
    let shelf = shelf().await;
    let book = &shelf.book;
    let mut save = study("nul", None, "before\0after\0");
    save.title = "ß".repeat(10_000);
    save.who = "x".repeat(10_000);
    let written = book.save(save).await.unwrap();
    assert_eq!(
        book.current(Kind::Study, "nul").await.unwrap(),
        Some(written)
    );

    let long = "biscuit ".repeat(1 << 20);
    book.save(study("long", None, &long)).await.unwrap();
    assert_eq!(
        book.current(Kind::Study, "long")
            .await
            .unwrap()
            .unwrap()
            .form,
        long
    );
}

#[tokio::test]
async fn what_cannot_be_kept_is_refused_by_name() {
    let shelf = shelf().await;
    let book = &shelf.book;
    let good = study("grain", None, "flour = 60");
    let refused = async |change: &dyn Fn(&mut book::Save)| {
        let mut save = good.clone();
        change(&mut save);
        match book.save(save).await {
            Err(SaveError::Book(BookError::Refused { field, why })) => format!("{field}: {why}"),
            other => panic!("{other:?}"),
        }
    };
    assert!(
        refused(&|s| s.thing.clear())
            .await
            .starts_with("the lasting name")
    );
    assert!(
        refused(&|s| s.thing = "x".repeat(201))
            .await
            .contains("201 bytes, at most 200")
    );
    assert!(
        refused(&|s| s.title = "a\0b".to_owned())
            .await
            .contains("NUL")
    );
    assert!(
        refused(&|s| s.who = "  ".to_owned())
            .await
            .contains("say who")
    );
    assert!(
        refused(&|s| s.why = Some("x".repeat(100_001)))
            .await
            .starts_with("the reason")
    );
    assert!(
        refused(&|s| s.when = "yesterday".to_owned())
            .await
            .contains("yesterday")
    );
    assert!(
        refused(&|s| s.form.clear())
            .await
            .contains("remove the thing")
    );
    assert!(
        refused(&|s| s.form = "x".repeat(book::FORM_LIMIT_BYTES + 1))
            .await
            .contains("at most")
    );
    assert_eq!(book.tip().await.unwrap().id, 0);
}
