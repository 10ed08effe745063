//! Rows and photographs through the router, without a socket.

use crate::{lab, picture, row};
use app::App;
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request, StatusCode, header};
use book::{BenchEntry, Kind};
use serde_json::{Value, json};
use std::net::SocketAddr;
use tower::ServiceExt;
use web::{Names, router};

const HOST: &str = "127.0.0.1:4711";

struct Answer {
    status: StatusCode,
    head: HeaderMap,
    bytes: Vec<u8>,
}

impl Answer {
    fn json(&self) -> Value {
        serde_json::from_slice(&self.bytes)
            .unwrap_or_else(|_| panic!("{}", String::from_utf8_lossy(&self.bytes)))
    }
}

fn site(app: &App) -> Router {
    let address: SocketAddr = HOST.parse().unwrap();
    router(app.clone(), Names::of(address))
}

async fn ask(site: &Router, request: Request<Body>) -> Answer {
    let response = site.clone().oneshot(request).await.unwrap();
    let (status, head) = (response.status(), response.headers().clone());
    let bytes = to_bytes(response.into_body(), 64_000_000).await.unwrap();
    Answer {
        status,
        head,
        bytes: bytes.to_vec(),
    }
}

async fn post(site: &Router, path: &str, body: impl Into<Body>) -> Answer {
    let request = Request::post(path).header(header::HOST, HOST);
    ask(site, request.body(body.into()).unwrap()).await
}

async fn send(site: &Router, rows: &[Value]) -> Vec<Value> {
    let answer = post(site, "/bench/entries", json!(rows).to_string()).await;
    assert_eq!(answer.status, StatusCode::OK);
    answer.json().as_array().unwrap().clone()
}

async fn get(site: &Router, path: &str) -> Answer {
    let request = Request::get(path).header(header::HOST, HOST);
    ask(site, request.body(Body::empty()).unwrap()).await
}

async fn kept(app: &App) -> Vec<BenchEntry> {
    app.book().entries_of(Kind::Batch, "b1", 0).await.unwrap()
}

#[tokio::test]
async fn each_row_is_answered_by_itself_and_kept_once() {
    let (_folder, app) = lab().await;
    let site = site(&app);
    let mut strange = row("k4", "1");
    strange["colour"] = json!("red");
    let mut nowhere = row("k5", "1");
    nowhere["thing"] = json!("b9");
    let strike = json!({ "key": "k6", "kind": "batch", "thing": "b1", "at": "2026-03-02T12:01:00Z", "who": "Ada",
        "what": "dose", "value": "118", "strikes": "k1", "why": "misread" });
    let rows = [
        row("k1", "120"),
        json!("no row at all"),
        row("k2", "8"),
        strange,
        nowhere,
        strike,
        json!({ "key": "k7", "kind": "kettle" }),
        Value::Null,
    ];
    let told = send(&site, &rows).await;
    let states: Vec<_> = told.iter().map(|t| t["state"].as_str().unwrap()).collect();
    let (k, r) = ("kept", "refused");
    assert_eq!(states, [k, r, k, r, r, k, r, r]);
    let reasons = |at: usize| {
        (
            told[at]["key"].as_str().unwrap(),
            told[at]["reason"].as_str().unwrap(),
        )
    };
    assert_eq!(reasons(3), ("k4", "unreadable"));
    assert_eq!(reasons(4), ("k5", "no-such-thing"));
    assert_eq!(
        (&told[4]["field"], &told[4]["found"]),
        (&json!("thing"), &json!("b9"))
    );
    assert!(
        told[4]["way_out"]
            .as_str()
            .unwrap()
            .contains("make it first")
    );
    // Again, as an outbox does that heard no answer.
    let again = send(&site, &[row("k1", "120"), row("k2", "9")]).await;
    assert_eq!(again[0]["state"], "kept-already");
    assert_eq!(again[0]["id"], told[0]["id"]);
    assert_eq!(again[1]["reason"], "other-content");

    let since = get(&site, "/bench/entries?kind=batch&thing=b1")
        .await
        .json();
    let values: Vec<_> = since["entries"]
        .as_array()
        .unwrap()
        .iter()
        .map(|e| &e["value"])
        .collect();
    assert_eq!(values, ["120", "8", "118"]);
    assert_eq!(since["more"], false);
    let last = since["last"].as_u64().unwrap();
    let path = format!("/bench/entries?kind=batch&thing=b1&after={}", last - 1);
    let one = get(&site, &path).await.json();
    assert_eq!(one["entries"].as_array().unwrap().len(), 1);
    // It arrived by this computer's clock, whatever the device said.
    let arrived = since["entries"][0]["arrived"].as_str().unwrap();
    assert!(arrived > "2026-03-03", "{arrived}");
    for bad in [
        "/bench/entries",
        "/bench/entries?kind=study&thing=b1",
        "/bench/entries?kind=batch",
        "/bench/entries?kind=batch&thing=b1&after=-1",
        "/bench/entries?kind=batch&thing=b1&after=1e9",
    ] {
        let answer = get(&site, bad).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{bad}");
    }
}

#[tokio::test]
async fn nonsense_and_too_much_are_refused_whole() {
    let (_folder, app) = lab().await;
    let site = site(&app);
    let deep = "[".repeat(100_000);
    let many = format!("[{}1]", "1,".repeat(2_000));
    for (body, status) in [
        ("", StatusCode::UNPROCESSABLE_ENTITY),
        ("{}", StatusCode::UNPROCESSABLE_ENTITY),
        ("[{\"key\":", StatusCode::UNPROCESSABLE_ENTITY),
        ("\u{feff}[]", StatusCode::UNPROCESSABLE_ENTITY),
        (&deep, StatusCode::UNPROCESSABLE_ENTITY),
        (&many, StatusCode::UNPROCESSABLE_ENTITY),
        ("[]", StatusCode::OK),
    ] {
        let answer = post(&site, "/bench/entries", body.to_owned()).await;
        let shown: String = body.chars().take(20).collect();
        assert_eq!(answer.status, status, "{shown}");
    }
    let bytes = post(&site, "/bench/entries", vec![0xff, 0xfe, b'[', b']']).await;
    assert_eq!(bytes.status, StatusCode::UNPROCESSABLE_ENTITY);
    let large = format!("[\"{}\"]", "x".repeat(1_000_000));
    let answer = post(&site, "/bench/entries", large).await;
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(answer.json()["way_out"].as_str().unwrap().contains("fewer"));

    // Another site's page can't send any, and nobody under another name.
    let body = json!([row("k1", "1")]).to_string();
    for (host, origin) in [
        (HOST, "http://evil.example"),
        ("evil.example", "http://evil.example"),
    ] {
        let request = Request::post("/bench/entries")
            .header(header::HOST, host)
            .header(header::ORIGIN, origin);
        let answer = ask(&site, request.body(Body::from(body.clone())).unwrap()).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN);
    }
    assert!(kept(&app).await.is_empty());
}

/// A request that breaks off in the middle keeps nothing, and sent again whole it is kept once.
#[tokio::test]
async fn half_a_request_keeps_nothing() {
    let (_folder, app) = lab().await;
    let site = site(&app);
    let body = json!([row("k1", "1"), row("k2", "2")]).to_string();
    for cut in [1, body.len() / 2, body.len() - 1] {
        let answer = post(&site, "/bench/entries", body[..cut].to_owned()).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    }
    assert!(kept(&app).await.is_empty());
    // Dropped by the other side while it is being answered.
    for _ in 0..20 {
        let answering = tokio::spawn({
            let (site, body) = (site.clone(), body.clone());
            async move { post(&site, "/bench/entries", body).await.status }
        });
        tokio::time::sleep(std::time::Duration::from_micros(300)).await;
        answering.abort();
        let _it_may_be_over = answering.await;
    }
    assert_eq!(
        post(&site, "/bench/entries", body).await.status,
        StatusCode::OK
    );
    let values: Vec<_> = kept(&app).await.into_iter().map(|e| e.row.value).collect();
    assert_eq!(values, ["1", "2"]);
    assert!(app.book().verify(|_, _| ()).await.unwrap().is_sound());
}

/// Ten devices at once, each sending every row twice: each is there once, each device's in its order. How long an
/// acknowledgement takes is told.
#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn ten_devices_at_once_are_each_heard_once() {
    let (_folder, app) = lab().await;
    let site = site(&app);
    let devices: Vec<_> = (0..10)
        .map(|device| {
            let site = site.clone();
            tokio::spawn(async move {
                let mut took = Vec::new();
                for n in 0..20 {
                    let sent = [row(&format!("d{device}-{n}"), &n.to_string())];
                    let began = std::time::Instant::now();
                    assert_eq!(send(&site, &sent).await[0]["state"], "kept");
                    took.push(began.elapsed());
                    assert_eq!(send(&site, &sent).await[0]["state"], "kept-already");
                }
                took
            })
        })
        .collect();
    let mut took = Vec::new();
    for device in devices {
        took.extend(device.await.unwrap());
    }
    took.sort();
    println!(
        "acknowledged within: median {:?}, p95 {:?}",
        took[100], took[190]
    );
    let kept = kept(&app).await;
    assert_eq!(kept.len(), 200);
    for device in 0..10 {
        let own = format!("d{device}-");
        let order: Vec<usize> = kept
            .iter()
            .filter(|e| e.row.key.starts_with(&own))
            .map(|e| e.row.value.parse().unwrap())
            .collect();
        assert_eq!(order, (0..20).collect::<Vec<_>>());
    }
}

#[tokio::test]
async fn a_photograph_is_known_by_its_bytes_and_shown_as_what_it_is() {
    let (_folder, app) = lab().await;
    let site = site(&app);
    let told = post(&site, "/bench/picture", picture()).await.json();
    assert_eq!(
        told["picture"],
        json!({ "type": "png", "width": 1, "height": 1 })
    );
    let again = post(&site, "/bench/picture", picture()).await.json();
    assert_eq!(told["hash"], again["hash"]);
    let path = format!("/bench/picture/{}", told["hash"].as_str().unwrap());
    let shown = get(&site, &path).await;
    assert_eq!(shown.bytes, picture());
    assert_eq!(shown.head[header::CONTENT_TYPE], "image/png");
    assert_eq!(shown.head["x-content-type-options"], "nosniff");
    for no_picture in [
        &b""[..],
        b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
        b"<!doctype html><script>alert(1)</script>",
        b"GIF89a",
        b"\xff\xd8\xff",
    ] {
        let answer = post(&site, "/bench/picture", no_picture.to_vec()).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(answer.json()["what"].as_str().unwrap().contains("JPEG"));
    }
    let mut large = picture();
    large.resize(book::PICTURE_LIMIT_BYTES + 1, 0);
    let answer = post(&site, "/bench/picture", large).await;
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
    for none in ["0", "..%2f..%2fetc%2fpasswd", "%00", &"0".repeat(64)] {
        let answer = get(&site, &format!("/bench/picture/{none}")).await;
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{none}");
    }
    assert_eq!(app.book().info().await.unwrap().pictures, 1);
}
