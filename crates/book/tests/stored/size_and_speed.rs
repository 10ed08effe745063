//! How large a book grows and how fast it answers. The limits are the project's own requirements.

use std::time::{Duration, Instant};

use book::{Book, Kind, Order, Page};

use crate::{long_form, shelf, study};

#[tokio::test]
async fn a_small_change_costs_at_most_four_kilobytes() {
    const CHANGES: u64 = 400;
    let shelf = shelf().await;
    let path = shelf.book.path().to_owned();
    let first = long_form(6, 0.0);
    assert!((5_000..9_000).contains(&first.len()), "{}", first.len());
    shelf.book.save(study("grain", None, &first)).await.unwrap();
    shelf.book.close().await;
    let before = std::fs::metadata(&path).unwrap().len();

    let book = Book::open(&path, false).await.unwrap();
    for number in 1..=CHANGES {
        // Two numbers change, far from each other, and one stays changed: the form drifts away.
        let form = first
            .replace(
                "thickness_mm = 7\n",
                &format!("thickness_mm = {}\n", 7.0 + number as f64 * 0.01),
            )
            .replace(
                "thickness_mm = 12\n",
                &format!("thickness_mm = {}\n", 12.0 - number as f64 * 0.01),
            )
            + &"note = \"less water\"\n".repeat(number as usize / 10);
        book.save(study("grain", Some(number), &form))
            .await
            .unwrap();
    }
    let in_use = book.info().await.unwrap().bytes;
    book.close().await;
    let growth = (std::fs::metadata(&path).unwrap().len() - before) / CHANGES;
    println!(
        "a form of {} bytes: {growth} bytes for each small change ({in_use} bytes in all while in use)",
        first.len()
    );
    assert!(growth <= 4096, "{growth} bytes for each small change");
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times[times.len() / 2]
}

#[tokio::test]
async fn a_full_book_answers_at_once() {
    const STUDIES: u64 = 200;
    const EACH: u64 = 100;
    let shelf = shelf().await;
    let path = shelf.book.path().to_owned();
    let filling = Instant::now();
    for number in 0..EACH {
        let form = long_form(6, number as f64 * 0.03);
        let base = (number > 0).then_some(number);
        let round = (0..STUDIES)
            .map(|at| study(&format!("study-{at}"), base, &form))
            .collect();
        shelf.book.save_all(round).await.unwrap();
    }
    println!(
        "{} revisions written in {:?}",
        STUDIES * EACH,
        filling.elapsed()
    );
    shelf.book.close().await;
    println!(
        "the file has {} bytes",
        std::fs::metadata(&path).unwrap().len()
    );

    let mut opening = Vec::new();
    let mut first_answer = Vec::new();
    for _ in 0..9 {
        let start = Instant::now();
        let book = Book::open(&path, false).await.unwrap();
        opening.push(start.elapsed());
        book.current(Kind::Study, "study-77")
            .await
            .unwrap()
            .unwrap();
        first_answer.push(start.elapsed());
        book.close().await;
    }
    let book = Book::open(&path, false).await.unwrap();
    let page = Page::first(100);
    let (mut list, mut search, mut history, mut recent, mut deep, mut current, mut info) =
        (vec![], vec![], vec![], vec![], vec![], vec![], vec![]);
    for _ in 0..9 {
        let start = Instant::now();
        assert_eq!(
            book.list(Kind::Study, None, Order::Recent, page)
                .await
                .unwrap()
                .total,
            STUDIES
        );
        list.push(start.elapsed());
        let start = Instant::now();
        let found = book
            .list(Kind::Study, Some("STUDY-19"), Order::Title, page)
            .await
            .unwrap();
        assert_eq!(found.total, 11);
        search.push(start.elapsed());
        let start = Instant::now();
        assert_eq!(
            book.history(Kind::Study, "study-7", page)
                .await
                .unwrap()
                .items
                .len(),
            100
        );
        history.push(start.elapsed());
        let start = Instant::now();
        assert_eq!(book.recent(page).await.unwrap().total, STUDIES * EACH);
        recent.push(start.elapsed());
        let start = Instant::now();
        let last = Page {
            start: STUDIES * EACH - 50,
            count: 100,
        };
        assert_eq!(book.recent(last).await.unwrap().items.len(), 50);
        deep.push(start.elapsed());
        let start = Instant::now();
        book.current(Kind::Study, "study-3").await.unwrap().unwrap();
        current.push(start.elapsed());
        let start = Instant::now();
        assert_eq!(book.info().await.unwrap().revisions, STUDIES * EACH);
        info.push(start.elapsed());
    }
    let start = Instant::now();
    assert_eq!(
        book.verify(|_, _| ()).await.unwrap().revisions,
        STUDIES * EACH
    );
    println!("verified in {:?}", start.elapsed());

    // Told, and held only against being slow by another order: a busy machine must not fail a sound book.
    let limit = |what: &str, times: Vec<Duration>, wished_ms: u64| {
        let least = times.iter().min().copied().unwrap_or_default();
        println!("{what}: median {:?}, wished {wished_ms} ms", median(times));
        assert!(
            least <= Duration::from_millis(20 * wished_ms),
            "{what} took {least:?}"
        );
    };
    limit("opening", opening, 100);
    limit("opening and first answer", first_answer, 100);
    limit("list", list, 50);
    limit("search", search, 50);
    limit("history", history, 50);
    limit("recent", recent, 50);
    limit("recent, last page", deep, 50);
    limit("current", current, 50);
    limit("info", info, 50);
}
