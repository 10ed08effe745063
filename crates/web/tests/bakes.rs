//! Bake, line and label through the router, without a socket.

#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use app::App;
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use serde_json::Value;
use std::net::SocketAddr;
use tempfile::TempDir;
use tower::ServiceExt;
use web::{Names, router};

const BARS: &str = "/study/spent-grain-bars";
const HOST: &str = "127.0.0.1:4712";

struct Site {
    _folder: TempDir,
    router: Router,
}

impl Site {
    async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(&folder.path().join("lab.book")).await.unwrap();
        let address: SocketAddr = HOST.parse().unwrap();
        Self {
            _folder: folder,
            router: router(app, Names::of(address)),
        }
    }

    async fn ask(&self, request: Request<Body>) -> (StatusCode, String) {
        let response = self.router.clone().oneshot(request).await.unwrap();
        let status = response.status();
        let bytes = to_bytes(response.into_body(), 16_000_000).await.unwrap();
        (status, String::from_utf8(bytes.to_vec()).unwrap())
    }

    async fn get(&self, path: &str) -> (StatusCode, String) {
        let address = format!("{BARS}/{path}");
        let request = Request::get(address.trim_end_matches('/')).header(header::HOST, HOST);
        self.ask(request.body(Body::empty()).unwrap()).await
    }

    async fn json(&self, path: &str) -> Value {
        let request = Request::get(format!("{BARS}/{path}"))
            .header(header::HOST, HOST)
            .header(header::ACCEPT, "application/json");
        let (status, text) = self.ask(request.body(Body::empty()).unwrap()).await;
        assert_eq!(status, StatusCode::OK, "{text}");
        serde_json::from_str(&text).unwrap()
    }

    async fn post(&self, form: &str) -> (StatusCode, String) {
        let request = Request::post(format!("{BARS}/edit"))
            .header(header::HOST, HOST)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        self.ask(request.body(Body::from(form.to_owned())).unwrap())
            .await
    }
}

fn bake_min(json: &Value, id: &str) -> f64 {
    let all = json["treatments"].as_array().unwrap();
    let one = all.iter().find(|t| t["id"] == id).unwrap();
    one["bake"]["time_min"].as_f64().unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn pages_have_no_script_or_style_of_their_own() {
    let site = Site::new().await;
    for path in [
        "bake",
        "bake?beside=none",
        "line?treatment=control",
        "label",
    ] {
        let (status, text) = site.get(path).await;
        assert_eq!(status, StatusCode::OK, "{path}");
        assert!(
            !text.contains(" style=\"") && !text.contains("<style"),
            "{path}"
        );
        assert!(
            !text.contains(" onclick") && !text.contains("<script>"),
            "{path}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_hotter_zone_shortens_the_bake_of_every_treatment_that_shares_the_oven() {
    let site = Site::new().await;
    let before = site.json("bake").await;
    let form =
        "edit=set_zone&base=1&room=bake&q.treatment=barley&zone=middle&field=air_c&value=230";
    let (status, text) = site.post(form).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    let after = site.json("bake").await;
    for id in ["control", "barley"] {
        assert!(bake_min(&after, id) < bake_min(&before, id), "{id}");
    }
    // A change for one treatment leaves the others alone.
    let own = format!("{form}&treatment=barley").replace("value=230", "value=250");
    assert_eq!(site.post(&own).await.0, StatusCode::SEE_OTHER);
    let alone = site.json("bake?treatment=barley").await;
    assert!(bake_min(&alone, "barley") < bake_min(&after, "barley"));
    assert_eq!(bake_min(&alone, "control"), bake_min(&after, "control"));
    assert_eq!(alone["shown"]["oven"]["own"], true);
}

#[tokio::test(flavor = "multi_thread")]
async fn pounds_inches_and_fahrenheit_are_shown_and_read_back() {
    let site = Site::new().await;
    let (_, metric) = site.get("bake").await;
    assert!(metric.contains("°C") && !metric.contains("°F"));
    let settings = "who=Baker&units=us&currency=EUR&dates=iso&decimal=point";
    let request = Request::post("/settings")
        .header(header::HOST, HOST)
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    let (status, text) = site.ask(request.body(Body::from(settings)).unwrap()).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    for (path, shown) in [
        ("bake", "°F"),
        ("line", "lb/h"),
        ("", "lb/h"),
        ("line", "EUR/lb"),
    ] {
        let (_, text) = site.get(path).await;
        assert!(text.contains(shown), "{path}: {shown}");
        // How a capacity comes about and what a number stands on stay in the units of their sources.
        assert!(!text.contains("kg/h<") && !text.contains("> °C<"), "{path}");
    }
    // 428 °F are 220 °C.
    let (status, text) = site
        .post("base=1&edit=set_zone&zone=middle&field=air_c&value=428&units=us&metric=%C2%B0C")
        .await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    let zones = site.json("bake").await["shown"]["oven"]["zones"].clone();
    let middle = zones
        .as_array()
        .unwrap()
        .iter()
        .find(|z| z["name"] == "middle")
        .unwrap()
        .clone();
    let air = middle["values"]
        .as_array()
        .unwrap()
        .iter()
        .find(|v| v["field"] == "air_c")
        .unwrap()["value"]
        .as_f64();
    assert!((air.unwrap() - 220.0).abs() < 1e-9);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_value_that_cannot_be_is_refused_with_what_is_allowed() {
    let site = Site::new().await;
    let form = "edit=set_zone&base=1&room=bake&zone=exit&field=air_c&value=9999";
    let (status, text) = site.post(form).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(text.contains("20 to 400"), "{text}");
    let (status, _) = site.get("bake?treatment=nobody").await;
    assert_eq!(status, StatusCode::NOT_FOUND);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_cross_section_is_whole_and_small() {
    let site = Site::new().await;
    let (status, text) = site.get("field?treatment=control&frames=60").await;
    assert_eq!(status, StatusCode::OK);
    assert!(text.len() < 1_000_000, "{} bytes", text.len());
    let field: Value = serde_json::from_str(&text).unwrap();
    let frames = field["time_min"].as_array().unwrap().len();
    let nodes = field["height_mm"].as_array().unwrap().len();
    for key in ["temperature_c", "moisture_pct", "water_activity"] {
        let rows = field[key].as_array().unwrap();
        assert_eq!(rows.len(), frames, "{key}");
        let full = |r: &Value| {
            r.as_array()
                .is_some_and(|r| r.len() == nodes && r.iter().all(Value::is_number))
        };
        assert!(rows.iter().all(full), "{key}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_study_that_cannot_be_worked_out_says_so_on_every_page() {
    let site = Site::new().await;
    // A round piece needs a diameter, which a bar has none of.
    let form = "edit=set_field&base=1&room=bake&path=piece.outline&value=round";
    let (status, text) = site.post(form).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    for (path, what) in [("bake", "bake"), ("line", "line"), ("label", "label")] {
        let (status, text) = site.get(path).await;
        assert_eq!(status, StatusCode::OK, "{path}");
        assert!(text.contains("Nothing can be worked out"), "{path}");
        assert!(
            text.contains(&format!("There is no {what} to show yet.")),
            "{path}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_target_that_is_not_reached_is_told_with_a_way_out() {
    let site = Site::new().await;
    for zone in ["entrance", "middle", "exit"] {
        for field in ["air_c", "radiating_c", "band_c"] {
            let form = format!("edit=set_zone&base=1&room=bake&zone={zone}&field={field}&value=45");
            assert_eq!(site.post(&form).await.0, StatusCode::SEE_OTHER);
        }
    }
    let (status, text) = site.get("bake").await;
    assert_eq!(status, StatusCode::OK);
    assert!(text.contains("The target isn’t reached"));
    assert!(text.contains("a drier dough or a thinner piece helps"));
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_script_a_change_is_undone_on_the_page_that_it_was_made_on() {
    let site = Site::new().await;
    let edit = "base=1&room=bake&edit=set_field&treatment=wet&path=piece.thickness_mm&value=9";
    assert_eq!(site.post(edit).await.0, StatusCode::SEE_OTHER);
    let (_, page) = site.get("bake?treatment=wet&beside=barley").await;
    let undo = page.split("<form").find(|f| f.contains("/undo\"")).unwrap();
    for kept in [
        "name=\"q.treatment\" value=\"wet\"",
        "name=\"q.beside\" value=\"barley\"",
    ] {
        assert!(undo.contains(kept), "{kept} isn't in {undo}");
    }
    let request = Request::post(format!("{BARS}/undo"))
        .header(header::HOST, HOST)
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    let form = "base=1&room=bake&q.treatment=wet&q.beside=barley";
    let response = site
        .router
        .clone()
        .oneshot(request.body(Body::from(form)).unwrap())
        .await
        .unwrap();
    assert_eq!(response.status(), StatusCode::SEE_OTHER);
    let to = response.headers()[header::LOCATION].to_str().unwrap();
    assert_eq!(to, format!("{BARS}/bake?beside=barley&treatment=wet"));
}
