//! The pages of the bench through the tablets' door, from another address of this computer; and several at once.

use crate::door::Bench;
use crate::pages::{HOST, Site};
use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use bench::Station;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::sync::Arc;

async fn page(bench: &Bench, path: &str, cookie: &str) -> crate::door::Answer {
    let head = format!("GET {path}\nAccept: text/html\nCookie: {cookie}");
    bench.ask(&head, "").await
}

/// The tablets' door over a book with a day to do, and one of its batches.
async fn day() -> (Bench, String) {
    let Site {
        _folder,
        app,
        router: _,
        batch,
    } = Site::new().await;
    (Bench::over(_folder, app).await, batch)
}

#[tokio::test]
async fn a_paired_tablet_opens_the_list_and_every_station_and_enters() {
    let (bench, batch) = day().await;
    let cookie = bench.paired("tablet").await;
    let list = page(&bench, "/bench", &cookie).await;
    assert_eq!(list.status, 200, "{list:?}");
    assert!(list.body.contains("batch 1 of 12") && list.body.contains("Nobody has signed in"));
    for station in Station::ALL {
        let shown = page(
            &bench,
            &format!("/bench/{batch}/{}", station.word()),
            &cookie,
        )
        .await;
        assert_eq!(shown.status, 200, "{}", station.word());
        assert!(shown.body.contains("Sign in to enter something"));
        // The desk's rooms don't show through.
        for room in ["\"/materials\"", "\"/settings\"", "/study/", "/trial/"] {
            assert!(!shown.body.contains(room), "{room} at {}", station.word());
        }
    }
    bench.app.set_code("Ada", "4711").await.unwrap();
    bench
        .form("/bench/sign", &cookie, "name=Ada&code=4711")
        .await;
    let water = page(&bench, &format!("/bench/{batch}/water"), &cookie).await;
    assert!(water.body.contains("data-enter=\"dose\"") && water.body.contains("data-who=\"Ada\""));
    let entered = bench
        .form(
            &format!("/bench/{batch}/water"),
            &cookie,
            "what=dose&value=50&unit=g&who=Ada&key=k1",
        )
        .await;
    assert_eq!(entered.status, 303, "{entered:?}");
    let at_bench = bench.app.at_bench(&batch).await.unwrap();
    assert_eq!(at_bench.rows[0].row.device.as_deref(), Some("tablet"));
    // The script that keeps pages reaches no further than the bench.
    let worker = page(&bench, "/bench/worker.js", &cookie).await;
    assert!(
        worker.head.contains("service-worker-allowed: /bench\r\n"),
        "{worker:?}"
    );
    assert!(worker.head.contains("text/javascript"));

    // Without a pairing, with one that was replayed or ended, nothing of it is seen.
    let devices = bench.app.devices().await.unwrap().devices;
    bench.app.end_device(&devices[0].id).await.unwrap();
    for cookie in ["", cookie.as_str(), "hardtack-bench=1"] {
        for path in [
            "/bench".to_owned(),
            format!("/bench/{batch}/water"),
            "/bench/worker.js".to_owned(),
            "/bench/file".to_owned(),
        ] {
            let shown = page(&bench, &path, cookie).await;
            assert_ne!(shown.status, 200, "{path}");
            assert!(!shown.body.contains("batch 1 of 12") && !shown.body.contains("data-enter"));
        }
        let sent = bench
            .form(
                &format!("/bench/{batch}/water"),
                cookie,
                "what=dose&value=50&unit=g&who=Ada",
            )
            .await;
        assert_eq!(sent.status, 403, "{sent:?}");
    }
    assert_eq!(bench.app.at_bench(&batch).await.unwrap().rows.len(), 1);
}

/// Two tablets and the desk write to one batch at the same time, each sending twice what it isn't sure of.
#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn two_tablets_and_a_desk_lose_nothing_on_one_batch() {
    const EACH: usize = 40;
    let site = Site::new().await;
    let (router, batch) = (site.router.clone(), site.batch.clone());
    let bench = Arc::new(Bench::over(site._folder, site.app).await);
    bench.app.set_code("Ada", "4711").await.unwrap();
    let row = |who: &str, device: &str, n: usize, batch: &str| -> Value {
        json!({
            "key": format!("{device}-{n}"), "kind": "batch", "thing": batch, "at": "2026-03-02T12:00:00Z",
            "who": who, "what": "cut-whole", "value": "1",
        })
    };
    let mut at_work = Vec::new();
    for device in ["left", "right"] {
        let cookie = bench.paired(device).await;
        bench
            .form("/bench/sign", &cookie, "name=Ada&code=4711")
            .await;
        let (bench, batch) = (Arc::clone(&bench), batch.clone());
        at_work.push(tokio::spawn(async move {
            for n in 0..EACH {
                // The row before is sent once more, as after an answer that was lost.
                let rows: Vec<Value> = (n.saturating_sub(1)..=n)
                    .map(|n| row("Ada", device, n, &batch))
                    .collect();
                let told = bench.send(&cookie, &rows).await;
                assert!(!told.body.contains("refused"), "{told:?}");
            }
        }));
    }
    let own = batch.clone();
    at_work.push(tokio::spawn(async move {
        use tower::ServiceExt;
        for n in 0..EACH {
            let body = json!([row("Mira", "desk", n, &own)]).to_string();
            let request = Request::post("/bench/entries")
                .header(header::HOST, HOST)
                .header(header::ORIGIN, format!("http://{HOST}"))
                .body(Body::from(body));
            let answer = router.clone().oneshot(request.unwrap()).await.unwrap();
            assert_eq!(answer.status(), StatusCode::OK);
        }
    }));
    for one in at_work {
        one.await.unwrap();
    }
    let at_bench = bench.app.at_bench(&batch).await.unwrap();
    assert_eq!(at_bench.rows.len(), 3 * EACH);
    let keys: BTreeSet<&str> = at_bench.rows.iter().map(|r| r.row.key.as_str()).collect();
    assert_eq!(keys.len(), 3 * EACH);
    assert_eq!(at_bench.made.state.counts.whole as usize, 3 * EACH);
    for device in ["left", "right", "desk"] {
        let order = at_bench
            .rows
            .iter()
            .filter_map(|r| r.row.key.strip_prefix(device));
        let order: Vec<usize> = order.map(|n| n[1..].parse().unwrap()).collect();
        assert_eq!(order, (0..EACH).collect::<Vec<_>>(), "{device}");
    }
    assert!(bench.app.book().verify(|_, _| ()).await.unwrap().is_sound());
}
