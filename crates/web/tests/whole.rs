//! The bake of the whole piece over HTTP: set to work, followed, stopped, kept, and what the quick answer takes from it.

#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use app::App;
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use serde_json::Value;
use std::net::SocketAddr;
use std::time::Duration;
use tempfile::TempDir;
use tower::ServiceExt;
use web::{Names, router};

const STUDY: &str = "/study/spent-grain-bars";
const HOST: &str = "127.0.0.1:4713";

struct Site {
    folder: TempDir,
    app: App,
    router: Router,
}

impl Site {
    async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(&folder.path().join("lab.book")).await.unwrap();
        let address: SocketAddr = HOST.parse().unwrap();
        Self {
            folder,
            app: app.clone(),
            router: router(app, Names::of(address)),
        }
    }

    async fn ask(&self, request: Request<Body>) -> (StatusCode, String) {
        let response = self.router.clone().oneshot(request).await.unwrap();
        let status = response.status();
        let bytes = to_bytes(response.into_body(), 16_000_000).await.unwrap();
        (status, String::from_utf8(bytes.to_vec()).unwrap())
    }

    async fn get(&self, path: &str, accept: &str) -> (StatusCode, String) {
        let request = Request::get(format!("{STUDY}/{path}").trim_end_matches('/'))
            .header(header::HOST, HOST)
            .header(header::ACCEPT, accept);
        self.ask(request.body(Body::empty()).unwrap()).await
    }

    async fn state(&self, treatment: &str) -> Value {
        let (status, text) = self
            .get(&format!("solid?treatment={treatment}"), "application/json")
            .await;
        assert_eq!(status, StatusCode::OK, "{text}");
        serde_json::from_str(&text).unwrap()
    }

    async fn post(&self, path: &str, form: &str) -> (StatusCode, String) {
        let request = Request::post(format!("{STUDY}/{path}"))
            .header(header::HOST, HOST)
            .header("hardtack-part", "main")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        self.ask(request.body(Body::from(form.to_owned())).unwrap())
            .await
    }

    /// Waits until a question is no longer worked on; its state.
    async fn ended(&self, treatment: &str, what: &str) -> Value {
        for _ in 0..1200 {
            let state = self.state(treatment).await[what].clone();
            if state["state"] != "running" {
                return state;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        panic!("{what} of {treatment} never ended");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_first_look_is_followed_and_its_pictures_are_small() {
    let site = Site::new().await;
    assert_eq!(site.state("barley").await["preview"]["state"], "not asked");
    let (status, part) = site.post("solid", "treatment=barley&what=preview").await;
    assert_eq!(status, StatusCode::OK, "{part}");
    assert!(
        part.starts_with("<section") && part.contains("Stop"),
        "{part}"
    );
    let state = site.ended("barley", "preview").await;
    assert_eq!(state["state"], "done", "{state}");
    let answer = &state["answer"];
    assert!(answer["met"] == true && answer["water_rel_error"].as_f64().unwrap() < 1e-8);
    let (_, page) = site.get("bake?treatment=barley", "text/html").await;
    assert!(page.contains("solid-plan") && page.contains("coarse"));
    let (status, frames) = site
        .get(
            "solid/frames?treatment=barley&what=preview",
            "application/json",
        )
        .await;
    assert_eq!(status, StatusCode::OK);
    assert!(frames.len() <= 1_000_000, "{} bytes", frames.len());
    let frames: Value = serde_json::from_str(&frames).unwrap();
    assert_eq!(frames["time_min"].as_array().unwrap().len(), 60);
    // Another treatment has other inputs, and this one too once it is edited.
    assert_eq!(site.state("control").await["preview"]["state"], "not asked");
    let edit = "base=1&room=bake&edit=set_field&treatment=barley&path=piece.thickness_mm&value=9";
    assert_eq!(site.post("edit", edit).await.0, StatusCode::OK);
    assert_eq!(site.state("barley").await["preview"]["state"], "not asked");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bake_is_kept_and_corrects_the_quick_answer() {
    let site = Site::new().await;
    site.post("solid", "treatment=control&what=bake").await;
    let state = site.ended("control", "bake").await;
    assert_eq!(state["state"], "done", "{state}");
    let minutes = state["answer"]["time_min"].as_f64().unwrap();
    let share = state["answer"]["correction"]["edge_path_share"]
        .as_f64()
        .unwrap();
    // The kept answer is there for another start of the program.
    let again = App::open(&site.folder.path().join("lab.book"))
        .await
        .unwrap();
    let view = again.study("Baker", "spent-grain-bars").await.unwrap();
    let (kept, same) = again.kept_solid(&view, "control").await.unwrap().unwrap();
    assert!(same && kept["answer"]["time_min"].as_f64() == Some(minutes));
    assert!(site.app.book().verify(|_, _| ()).await.unwrap().is_sound());
    let edit =
        format!("base=1&room=bake&edit=set_field&path=piece.edge_path_share&value={share:.3}");
    assert_eq!(site.post("edit", &edit).await.0, StatusCode::OK);
    let (_, text) = site.get("bake?treatment=control", "application/json").await;
    let json: Value = serde_json::from_str(&text).unwrap();
    let all = json["treatments"].as_array().unwrap();
    let control = all.iter().find(|t| t["id"] == "control").unwrap();
    let quick = control["bake"]["time_min"].as_f64().unwrap();
    assert!(
        (quick / minutes - 1.0).abs() < 5e-3,
        "{quick} and {minutes}"
    );
    // What was baked before the change is an old answer now.
    let view = again.study("Baker", "spent-grain-bars").await.unwrap();
    let who = again.settings().await.unwrap().who;
    let drafted = again.study(&who, "spent-grain-bars").await.unwrap();
    assert!(again.kept_solid(&view, "control").await.unwrap().unwrap().1);
    assert!(
        !again
            .kept_solid(&drafted, "control")
            .await
            .unwrap()
            .unwrap()
            .1
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bake_that_is_stopped_leaves_nothing() {
    let site = Site::new().await;
    site.post("solid", "treatment=barley&what=dockers").await;
    let (status, _) = site.post("solid/stop", "treatment=barley").await;
    assert_eq!(status, StatusCode::OK);
    assert_eq!(site.ended("barley", "dockers").await["state"], "not asked");
    let view = site.app.study("Baker", "spent-grain-bars").await.unwrap();
    assert!(
        site.app
            .kept_solid(&view, "barley")
            .await
            .unwrap()
            .is_none()
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_cannot_be_asked_is_told() {
    let site = Site::new().await;
    let (status, text) = site.post("solid", "treatment=barley&what=fry").await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(text.contains("preview, bake, dockers"), "{text}");
    let (status, _) = site.post("solid", "treatment=nobody&what=bake").await;
    assert_eq!(status, StatusCode::NOT_FOUND);
    let (status, text) = site
        .get("solid/frames?treatment=barley", "application/json")
        .await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(text.contains("bake the whole piece first"), "{text}");
}

/// Two baked pieces stand beside each other in the same colours, and the second one can be chosen and baked from there.
#[tokio::test(flavor = "multi_thread")]
async fn two_pieces_stand_beside_each_other_in_the_same_colours() {
    let site = Site::new().await;
    site.post("solid", "treatment=barley&what=preview").await;
    site.ended("barley", "preview").await;
    let beside = "bake?treatment=barley&beside=wet";
    let (_, page) = site.get(beside, "text/html").await;
    assert!(
        page.contains("isn’t baked as a whole piece yet"),
        "the other isn't baked"
    );
    assert!(page.contains("aria-label=\"The piece beside it\""));
    assert_eq!(page.matches("class=\"biscuit\"").count(), 1);
    let form = "treatment=wet&about=barley&beside=wet&what=preview";
    let (status, part) = site.post("solid", form).await;
    assert_eq!(status, StatusCode::OK, "{part}");
    assert!(
        part.contains("data-running") && part.contains("solid?treatment=barley&amp;beside=wet"),
        "{part}"
    );
    site.ended("wet", "preview").await;
    let (_, page) = site.get(beside, "text/html").await;
    assert_eq!(page.matches("class=\"biscuit\"").count(), 2);
    let scales: Vec<&str> = page
        .split("data-most=\"")
        .skip(1)
        .map(|t| t.split('"').next().unwrap())
        .collect();
    assert!(scales.len() == 2 && scales[0] == scales[1], "{scales:?}");
    // Each is cut out along its own outline: their names differ.
    assert!(page.contains("biscuit-edge-barley") && page.contains("biscuit-edge-wet"));
    // Alone it stands alone.
    let (_, page) = site
        .get("bake?treatment=barley&beside=none", "text/html")
        .await;
    assert_eq!(page.matches("class=\"biscuit\"").count(), 1);
}

/// Vapour condenses where a piece is still cold, so a place can be wetter than the dough went in; then the page says why.
#[tokio::test(flavor = "multi_thread")]
async fn a_place_wetter_than_the_dough_is_explained() {
    let site = Site::new().await;
    let mut explained = 0;
    for treatment in ["control", "wet"] {
        site.post("solid", &format!("treatment={treatment}&what=preview"))
            .await;
        let answer = site.ended(treatment, "preview").await["answer"].clone();
        let (_, text) = site.get("", "application/json").await;
        let all: Value = serde_json::from_str(&text).unwrap();
        let dough = find(&all, treatment).unwrap();
        let most = answer["wettest_history_pct"]
            .as_array()
            .unwrap()
            .iter()
            .filter_map(Value::as_f64);
        let wetter = most.fold(0.0, f64::max) - dough >= 0.05;
        let (_, page) = site
            .get(
                &format!("bake?treatment={treatment}&beside=none"),
                "text/html",
            )
            .await;
        assert_eq!(
            page.contains("condenses where it is still colder"),
            wetter,
            "{treatment}: {dough}"
        );
        explained += usize::from(wetter);
    }
    assert!(explained > 0, "no treatment of the demonstration shows it");
}

/// The moisture of a treatment's dough, wherever it stands in the JSON of the sheet.
fn find(value: &Value, treatment: &str) -> Option<f64> {
    match value {
        Value::Object(map)
            if map.get("id").and_then(Value::as_str) == Some(treatment)
                && map.contains_key("dough") =>
        {
            map["dough"]["moisture_pct"].as_f64()
        }
        Value::Object(map) => map.values().find_map(|v| find(v, treatment)),
        Value::Array(all) => all.iter().find_map(|v| find(v, treatment)),
        _ => None,
    }
}
