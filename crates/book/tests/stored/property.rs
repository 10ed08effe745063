//! Whatever is done in whatever order, the chain and the views say what a plain list would.

use std::collections::HashMap;

use book::{Action, BookError, Kind, Order, Page, Remove, Restore, SaveError};
use proptest::prelude::*;

use crate::{NOON, shelf, study};

#[derive(Debug, Clone)]
enum Step {
    Save {
        thing: usize,
        back: u64,
        form: String,
    },
    Remove {
        thing: usize,
        back: u64,
    },
    Restore {
        thing: usize,
        number: u64,
        back: u64,
    },
}

fn step() -> impl Strategy<Value = Step> {
    // Mostly on top of the newest revision, sometimes on a stale one.
    let back = prop_oneof![5 => Just(0_u64), 1 => 1..3_u64];
    prop_oneof![
        4 => (0..3_usize, back.clone(), "[a-e \n]{1,60}").prop_map(|(thing, back, form)| Step::Save { thing, back, form }),
        1 => (0..3_usize, back.clone()).prop_map(|(thing, back)| Step::Remove { thing, back }),
        1 => (0..3_usize, 0..6_u64, back).prop_map(|(thing, number, back)| Step::Restore { thing, number, back }),
    ]
}

/// What a thing went through: action and form, in order.
type Told = Vec<(Action, String)>;

async fn play(steps: Vec<Step>) {
    let shelf = shelf().await;
    let book = &shelf.book;
    let mut told: HashMap<usize, Told> = HashMap::new();
    let mut all = 0;

    for step in steps {
        let (thing, back) = match &step {
            Step::Save { thing, back, .. }
            | Step::Remove { thing, back }
            | Step::Restore { thing, back, .. } => (*thing, *back),
        };
        let own = told.entry(thing).or_default();
        let newest = own.len() as u64;
        let base = newest.saturating_sub(back);
        let is_stale = base != newest;
        let is_there = own
            .last()
            .is_some_and(|(action, _)| *action != Action::Remove);
        let name = format!("thing-{thing}");
        let (who, when, why) = ("Ada".to_owned(), NOON.to_owned(), None);
        let kind = Kind::Study;

        let (outcome, expected) = match step {
            Step::Save { form, .. } => {
                let base = (base > 0).then_some(base);
                let outcome = book.save(study(&name, base, &form)).await;
                (outcome, Some((Action::Save, form)))
            }
            Step::Remove { .. } => {
                let outcome = book
                    .remove(Remove {
                        kind,
                        thing: name,
                        base,
                        who,
                        when,
                        why,
                    })
                    .await;
                (outcome, is_there.then(|| (Action::Remove, String::new())))
            }
            Step::Restore { number, .. } => {
                let outcome = book
                    .restore(Restore {
                        kind,
                        thing: name,
                        number,
                        base,
                        who,
                        when,
                        why,
                    })
                    .await;
                let earlier = number.checked_sub(1).and_then(|at| own.get(at as usize));
                let form = earlier.filter(|(action, _)| *action != Action::Remove);
                (
                    outcome,
                    form.map(|(_, form)| (Action::Restore, form.clone())),
                )
            }
        };
        match outcome {
            Ok(revision) => {
                assert!(!is_stale);
                let (action, form) = expected.expect("this should have been refused");
                assert_eq!((revision.entry.action, &revision.form), (action, &form));
                own.push((action, form));
                all += 1;
                assert_eq!(
                    (revision.entry.id, revision.entry.number),
                    (all, own.len() as u64)
                );
            }
            Err(SaveError::Stale { current, .. }) => {
                assert!(is_stale);
                assert_eq!(current.form, own.last().unwrap().1);
            }
            Err(SaveError::Book(BookError::NoSuch { .. } | BookError::Refused { .. })) => {
                assert!(!is_stale && expected.is_none());
            }
            Err(error) => panic!("{error}"),
        }
    }

    let page = Page::first(1000);
    let report = book.verify(|_, _| ()).await.unwrap();
    assert!(report.is_sound() && report.revisions == all, "{report}");
    let is_there = |own: &Told| {
        own.last()
            .is_some_and(|(action, _)| *action != Action::Remove)
    };
    let listed = book
        .list(Kind::Study, None, Order::Recent, page)
        .await
        .unwrap();
    assert_eq!(
        listed.total,
        told.values().filter(|own| is_there(own)).count() as u64
    );
    for (thing, own) in &told {
        let name = format!("thing-{thing}");
        let current = book.current(Kind::Study, &name).await.unwrap();
        let expected = own
            .last()
            .filter(|_| is_there(own))
            .map(|(_, form)| form.clone());
        assert_eq!(current.map(|current| current.form), expected);
        let history = book.history(Kind::Study, &name, page).await.unwrap();
        assert_eq!(history.total, own.len() as u64);
        for (at, (action, form)) in own.iter().enumerate() {
            let revision = book
                .numbered(Kind::Study, &name, at as u64 + 1)
                .await
                .unwrap()
                .unwrap();
            assert_eq!((revision.entry.action, &revision.form), (*action, form));
            assert_eq!(history.items[own.len() - 1 - at], revision.entry);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]
    #[test]
    fn any_sequence_keeps_the_chain_and_the_views_right(steps in prop::collection::vec(step(), 0..25)) {
        tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap().block_on(play(steps));
    }
}
