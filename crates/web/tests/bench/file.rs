//! Entries that a device saved as a file, read in by hand.

use crate::pages::{HOST, Site};
use crate::picture;
use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde_json::{Value, json};

fn row(site: &Site, key: &str, value: &str) -> Value {
    json!({
        "key": key, "kind": "batch", "thing": site.batch, "at": "2026-03-02T12:00:00Z", "who": "Ada",
        "what": "dose", "value": value, "unit": "g",
    })
}

async fn read_in(site: &Site, file: &str, json: bool) -> (StatusCode, String) {
    const EDGE: &str = "the-edge-of-a-part";
    let body = format!(
        "--{EDGE}\r\nContent-Disposition: form-data; name=\"file\"; filename=\"../<i>.json\"\r\n\r\n{file}\r\n--{EDGE}--\r\n"
    );
    let accept = if json {
        "application/json"
    } else {
        "text/html"
    };
    let request = Request::post("/bench/file")
        .header(header::HOST, HOST)
        .header(header::ORIGIN, format!("http://{HOST}"))
        .header(header::ACCEPT, accept)
        .header(
            header::CONTENT_TYPE,
            format!("multipart/form-data; boundary={EDGE}"),
        );
    site.ask(request.body(Body::from(body)).unwrap()).await
}

#[tokio::test]
async fn a_file_is_read_in_once_however_often_it_is_read() {
    let site = Site::new().await;
    assert!(site.get("/bench/file").await.contains("Read it in"));
    let mut photograph = row(&site, "k3", "");
    photograph["what"] = json!("photograph");
    photograph["picture"] = json!(STANDARD.encode(picture()));
    let rows = json!([row(&site, "k1", "100"), row(&site, "k2", "20"), photograph]);
    let (status, page) = read_in(&site, &rows.to_string(), false).await;
    assert_eq!(status, StatusCode::OK, "{page}");
    assert!(page.contains("3 kept."), "{page}");
    let kept = site.rows().await;
    let keys: Vec<&str> = kept.iter().map(|r| r.row.key.as_str()).collect();
    assert_eq!(keys, ["k1", "k2", "k3"]);
    let (bytes, _) = site.app.picture(&kept[2].row.value).await.unwrap();
    assert_eq!(bytes, picture());
    // Read again, with one that is new and some that can't be.
    let mut other = row(&site, "k1", "900");
    other["value"] = json!("900");
    let mut no_picture = row(&site, "k5", "");
    no_picture["picture"] = json!(STANDARD.encode("<svg onload='alert(1)'/>"));
    let mut no_base64 = row(&site, "k6", "");
    no_base64["picture"] = json!("<script>");
    let rows = json!([
        row(&site, "k2", "20"),
        row(&site, "k4", "5"),
        other,
        no_picture,
        no_base64,
        7
    ]);
    let (_, told) = read_in(&site, &rows.to_string(), true).await;
    let told: Vec<Value> = serde_json::from_str(&told).unwrap();
    let states: Vec<&str> = told.iter().map(|t| t["state"].as_str().unwrap()).collect();
    assert_eq!(
        states,
        [
            "kept-already",
            "kept",
            "refused",
            "refused",
            "refused",
            "refused"
        ]
    );
    assert_eq!(site.rows().await.len(), 4);
    let (_, page) = read_in(&site, &rows.to_string(), false).await;
    assert!(
        page.contains("2 had the book already, 4 not taken"),
        "{page}"
    );
    assert!(!page.contains("<script>") && !page.contains("<svg onload"));
    for no_file in ["", "{}", "<html>", "[[]", "\u{feff}"] {
        let (status, page) = read_in(&site, no_file, false).await;
        assert_eq!(
            status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{no_file}: {page}"
        );
    }
    assert_eq!(site.rows().await.len(), 4);
}
