//! Eight people edit the same few studies at once.

use std::time::{Duration, Instant};

use book::{Book, Kind, Page, SaveError};

use crate::{shelf, study};

const PEOPLE: usize = 8;
const STUDIES: usize = 3;

/// A study in which every person has a line with a count of their own.
fn form_of(counts: &[u64]) -> String {
    counts
        .iter()
        .enumerate()
        .map(|(person, count)| format!("person {person} = {count}\n"))
        .collect()
}

fn counts_of(form: &str) -> Vec<u64> {
    form.lines()
        .map(|line| line.rsplit(' ').next().unwrap().parse().unwrap())
        .collect()
}

/// Raises one's own count in one study after another, with what the others did taken over; looks it
/// up again when somebody was faster. Gives how often that was saved in each study, and refused.
async fn edit(book: Book, person: usize, until: Instant) -> ([u64; STUDIES], u64) {
    let (mut saved, mut refused) = ([0; STUDIES], 0);
    let mut at = person;
    while Instant::now() < until {
        at += 1;
        let thing = format!("shared-{}", at % STUDIES);
        let current = book.current(Kind::Study, &thing).await.unwrap().unwrap();
        let mut counts = counts_of(&current.form);
        counts[person] += 1;
        let mut save = study(&thing, Some(current.entry.number), &form_of(&counts));
        save.who = format!("Person {person}");
        tokio::task::yield_now().await;
        match book.save(save).await {
            Ok(_) => saved[at % STUDIES] += 1,
            Err(SaveError::Stale { current, base, .. }) => {
                assert!(current.entry.number > base.unwrap().entry.number);
                refused += 1;
            }
            Err(error) => panic!("person {person}: {error}"),
        }
    }
    (saved, refused)
}

async fn eight_people(seconds: u64) {
    let shelf = shelf().await;
    let book = &shelf.book;
    for at in 0..STUDIES {
        book.save(study(&format!("shared-{at}"), None, &form_of(&[0; PEOPLE])))
            .await
            .unwrap();
    }
    let until = Instant::now() + Duration::from_secs(seconds);
    let people: Vec<_> = (0..PEOPLE)
        .map(|person| tokio::spawn(edit(book.clone(), person, until)))
        .collect();
    let mut done = Vec::new();
    for person in people {
        done.push(person.await.unwrap());
    }

    let saved: u64 = done.iter().flat_map(|(saved, _)| saved).sum();
    let refused: u64 = done.iter().map(|(_, refused)| refused).sum();
    println!("{PEOPLE} people, {seconds} s: {saved} saved, {refused} refused as stale, none lost");
    assert!(saved > 50);
    for at in 0..STUDIES {
        let current = book
            .current(Kind::Study, &format!("shared-{at}"))
            .await
            .unwrap()
            .unwrap();
        let theirs: Vec<u64> = done.iter().map(|(saved, _)| saved[at]).collect();
        assert_eq!(counts_of(&current.form), theirs, "an update was lost");
        assert_eq!(current.entry.number, 1 + theirs.iter().sum::<u64>());
    }
    assert_eq!(
        book.recent(Page::first(1)).await.unwrap().total,
        saved + STUDIES as u64
    );
    let report = book.verify(|_, _| ()).await.unwrap();
    assert!(
        report.is_sound() && report.revisions == saved + STUDIES as u64,
        "{report}"
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn eight_people_for_ten_seconds_lose_no_update() {
    eight_people(10).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
#[ignore = "takes a minute: the same, six times as long"]
async fn eight_people_for_a_minute_lose_no_update() {
    eight_people(60).await;
}
