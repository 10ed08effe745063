//! Pages of trials through the router, without a socket.
#![allow(clippy::unwrap_used)] // a helper of a test may panic

use app::App;
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request as Asked, StatusCode, header};
use serde_json::Value;
use std::net::SocketAddr;
use tempfile::TempDir;
use tower::ServiceExt;
use trials::plan::{Design, Request, plan};
use web::{Names, router};

const TRIALS: &str = "/study/spent-grain-bars/trials";
const HOST: &str = "127.0.0.1:4711";

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

    async fn ask(&self, request: Asked<Body>) -> (StatusCode, String, String) {
        let response = self.router.clone().oneshot(request).await.unwrap();
        let status = response.status();
        let to = response.headers().get(header::LOCATION);
        let to = to.map_or("", |l| l.to_str().unwrap()).to_owned();
        let bytes = to_bytes(response.into_body(), 64_000_000).await.unwrap();
        (status, to, String::from_utf8_lossy(&bytes).into_owned())
    }

    async fn get(&self, path: &str) -> String {
        let request = Asked::get(path).header(header::HOST, HOST);
        let (status, _, text) = self.ask(request.body(Body::empty()).unwrap()).await;
        assert_eq!(status, StatusCode::OK, "{path}: {text}");
        text
    }

    async fn json(&self, path: &str) -> Value {
        let request = Asked::get(path)
            .header(header::HOST, HOST)
            .header(header::ACCEPT, "application/json");
        let (status, _, text) = self.ask(request.body(Body::empty()).unwrap()).await;
        assert_eq!(status, StatusCode::OK, "{path}: {text}");
        serde_json::from_str(&text).unwrap()
    }

    async fn post(&self, path: &str, form: &[(&str, &str)]) -> (StatusCode, String, String) {
        let request = Asked::post(path)
            .header(header::HOST, HOST)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header("sec-fetch-site", "same-origin")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        let body = query(form);
        self.ask(request.body(Body::from(body)).unwrap()).await
    }
}

fn query(form: &[(&str, &str)]) -> String {
    let pairs: Vec<String> = form
        .iter()
        .map(|(k, v)| format!("{k}={}", encoded(v)))
        .collect();
    pairs.join("&")
}

fn encoded(text: &str) -> String {
    let byte = |b: u8| match b {
        b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' => char::from(b).to_string(),
        b => format!("%{b:02X}"),
    };
    text.bytes().map(byte).collect()
}

/// What the form of a design holds when it is first shown: name and value of every field.
fn fields(html: &str) -> Vec<(String, String)> {
    let start = html.find("<form class=\"plan-form\"").unwrap();
    let end = start + html[start..].find("</form>").unwrap();
    let text = html[start..end]
        .replace("&", "&amp;")
        .replace("&amp;amp;", "&amp;")
        .replace("&amp;lt;", "&lt;")
        .replace("&amp;quot;", "&quot;")
        .replace("&amp;gt;", "&gt;");
    let mut closed = text.clone();
    // Void elements closed, flags given a value, so that a strict reader takes it.
    for flag in [" selected", " checked", " required"] {
        closed = closed.replace(&format!("{flag}>"), &format!("{flag}=\"\">"));
    }
    let mut out = Vec::new();
    let mut rest = closed.as_str();
    while let Some(at) = rest.find("name=\"") {
        let after = &rest[at + 6..];
        let name = after[..after.find('"').unwrap()].to_owned();
        let tag_start = rest[..at].rfind('<').unwrap();
        let is_area = rest[tag_start..].starts_with("<textarea");
        let is_select = rest[tag_start..].starts_with("<select");
        let tag_whole = &rest[tag_start..at + after.find('>').unwrap_or(0) + 6];
        let is_sent = !tag_whole.contains("checkbox") || tag_whole.contains(" checked");
        let value = if is_area {
            let open = after.find('>').unwrap() + 1;
            after[open..open + after[open..].find("</textarea>").unwrap()].to_owned()
        } else if is_select {
            let open = after.find("<option value=\"").unwrap() + 15;
            after[open..open + after[open..].find('"').unwrap()].to_owned()
        } else {
            let tag = &after[..after.find('>').unwrap()];
            tag.find("value=\"").map_or_else(String::new, |v| {
                let v = &tag[v + 7..];
                v[..v.find('"').unwrap()].to_owned()
            })
        };
        if is_sent {
            out.push((
                name,
                value
                    .replace("&quot;", "\"")
                    .replace("&lt;", "<")
                    .replace("&gt;", ">")
                    .replace("&amp;", "&"),
            ));
        }
        rest = after;
    }
    out
}

/// Every question leads to a form that draws at once, with the runs that the plan itself draws with the same seed.
#[tokio::test]
async fn every_design_is_reached_by_its_question_and_draws_what_the_plan_draws() {
    let site = Site::new().await;
    let first = site.get(TRIALS).await;
    for design in Design::ALL {
        assert!(
            first.contains(&format!("ask={}#plan", design.code())),
            "{design:?}"
        );
        let page = site.get(&format!("{TRIALS}?ask={}", design.code())).await;
        let mut form = fields(&page);
        for (name, value) in &mut form {
            if name == "seed" {
                *value = "42".into();
            }
        }
        let pairs: Vec<(&str, &str)> = form.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
        let address = format!("{TRIALS}?{}", query(&pairs));
        let drawn = site.json(&address).await["drawn"].clone();
        assert_eq!(drawn["seed"], 42, "{design:?}");
        let page = site.get(&address).await;
        assert!(page.contains("Run sheet"), "{design:?}: {page}");
        // Where the study has nothing to say, the form begins with the invented example; its runs are the plan's own.
        let own = form.iter().any(|(name, value)| {
            name == "t.rice_chickpea" || name == "factor" && value.contains("rice_chickpea")
        });
        if !own {
            let wish = Request::example(design);
            let sheet = plan(&wish, design.units()[0], 42).unwrap();
            let wanted = serde_json::to_value(&sheet.runs).unwrap();
            if design != Design::Augmented {
                assert_eq!(drawn["runs"], wanted, "{design:?}");
            }
        }
    }
}

#[tokio::test]
async fn a_trial_is_made_looked_at_and_changed() {
    let site = Site::new().await;
    let form = [
        ("ask", "blocks"),
        ("name", "Two <b>flours</b>"),
        ("question", "Which?"),
        ("t.control", "0"),
        ("t.barley", "1"),
        ("blocks", "3"),
        ("unit", "batch"),
        ("seed", "5"),
        ("pieces", "40"),
        ("r.breaking_force_n", "4"),
        ("m.breaking_force_n", "8"),
        ("responses", "crumbs (g)"),
        ("blind", "yes"),
        ("difference", "8"),
        ("between_sd", "3"),
        ("within_sd", "7"),
    ];
    let drawn = site.get(&format!("{TRIALS}?{}", query(&form))).await;
    assert!(drawn.contains("Chance to see a real difference"));
    assert!(drawn.contains("As good as the control"));
    let (status, to, text) = site.post(TRIALS, &form).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    let sheet = site.get(&to).await;
    assert!(sheet.contains("Two &lt;b&gt;flours&lt;/b&gt;") && !sheet.contains("<b>flours"));
    let trial = to.strip_suffix("/sheet").unwrap();
    let json = site.json(trial).await;
    let treatments = json["trial"]["treatments"].as_array().unwrap();
    assert_eq!(treatments.len(), 2);
    assert_eq!(json["trial"]["control"], "control");
    for t in treatments {
        let code = t["blind"].as_str().unwrap();
        assert!(sheet.contains(code), "{code}");
        assert!(
            !sheet.contains("<td>barley</td>"),
            "a blind sheet names nothing"
        );
    }
    let page = site.get(trial).await;
    assert!(page.contains("Nothing is measured of it yet") && page.contains("0 of 6 batches done"));
    let batch = json["trial"]["runs"][0]["batch"]
        .as_str()
        .unwrap()
        .to_owned();
    let (status, to, _) = site
        .post(
            &format!("{trial}/abandon"),
            &[("batch", &batch), ("why", "the bowl tipped")],
        )
        .await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{to}");
    let (status, ..) = site
        .post(
            &format!("{trial}/more"),
            &[("unit", "B01"), ("why", "the bowl tipped")],
        )
        .await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    let page = site.get(trial).await;
    assert!(
        page.contains("given up: the bowl tipped") && page.contains("B07 for B01"),
        "{page}"
    );
    // Refusals say what to do, and change nothing.
    for (path, form) in [
        ("abandon", &[("batch", batch.as_str()), ("why", " ")][..]),
        (
            "abandon",
            &[("batch", "bite-b01"), ("why", "no part of it")],
        ),
        ("more", &[("unit", "B99"), ("why", "x")]),
        ("more", &[("treatment", "soup"), ("why", "x")]),
    ] {
        let (status, _, text) = site.post(&format!("{trial}/{path}"), form).await;
        assert!(status.is_client_error(), "{path} {form:?}: {status} {text}");
    }
    for (field, value) in [
        ("blocks", "many"),
        ("blocks", "100000"),
        ("t", "no treatment at all"),
        ("seed", "-3"),
        ("r.breaking_force_n", "many"),
        ("m.breaking_force_n", "-1"),
        ("responses", "force:many"),
        ("r", "nothing measured"),
        ("unit", "piece"),
        ("name", " "),
        ("ask", "soup"),
    ] {
        let mut odd: Vec<(&str, &str)> =
            form.iter().copied().filter(|(k, _)| *k != field).collect();
        match field {
            "t" => odd.retain(|(k, _)| !k.starts_with("t.")),
            "r" => odd.retain(|(k, _)| !k.starts_with("r.") && *k != "responses"),
            _ => odd.push((field, value)),
        }
        let (status, _, text) = site.post(TRIALS, &odd).await;
        assert!(status.is_client_error(), "{field}={value}: {status} {text}");
    }
}

#[tokio::test]
async fn results_stand_pictures_first_and_measured_beside_computed() {
    let site = Site::new().await;
    let page = site.get("/trial/bite").await;
    let picture = page.find("Every batch").unwrap();
    let table = page.find("Difference").unwrap_or(usize::MAX);
    assert!(picture < table);
    assert!(
        page.contains("All of its data are invented") && page.contains("12 of 12 batches done")
    );
    let json = site.json("/trial/bite").await;
    for response in json["responses"].as_array().unwrap() {
        let id = response["response"]["id"].as_str().unwrap();
        let sentence = response["analysis"]["sentence"].as_str().unwrap();
        assert!(!sentence.is_empty());
        let page = site.get(&format!("/trial/bite?response={id}")).await;
        assert!(
            page.contains("id=\"response\"") && page.contains("<svg"),
            "{id}"
        );
        let csv = site
            .get(&format!(
                "/trial/bite/measurements?format=csv&response={id}"
            ))
            .await;
        assert!(
            csv.starts_with("order,batch,part of the day,treatment"),
            "{csv}"
        );
    }
    for path in ["/study/spent-grain-bars", "/study/spent-grain-bars/bake"] {
        let page = site.get(path).await;
        assert!(page.contains("Measured beside computed"), "{path}");
        assert!(page.contains("known measured"), "{path}");
    }
    let request = Asked::get("/trial/nothing").header(header::HOST, HOST);
    let (status, _, text) = site.ask(request.body(Body::empty()).unwrap()).await;
    assert!(
        status == StatusCode::NOT_FOUND || status.is_client_error(),
        "{status} {text}"
    );
}
