//! Pages of trials through the router, without a socket.
#![allow(clippy::unwrap_used)] // a helper of a test may panic

mod alone;
mod logger;
mod next;
mod own_oven;
mod questions;

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

    async fn look(&self, path: &str) -> (StatusCode, String, String) {
        let request = Asked::get(path).header(header::HOST, HOST);
        self.ask(request.body(Body::empty()).unwrap()).await
    }

    async fn get(&self, path: &str) -> String {
        let (status, _, text) = self.look(path).await;
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

/// A trial of two flours in three blocks, its force read on three pieces a batch, and crumbs weighed once.
async fn two_flours(site: &Site) -> String {
    let form = [
        ("ask", "blocks"),
        ("name", "Two flours"),
        ("t.control", "0"),
        ("t.barley", "1"),
        ("blocks", "3"),
        ("unit", "batch"),
        ("seed", "5"),
        ("pieces", "40"),
        ("r.breaking_force_n", "3"),
        ("responses", "crumbs (g)"),
    ];
    let (status, to, text) = site.post(TRIALS, &form).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    to.strip_suffix("/sheet").unwrap().to_owned()
}

#[tokio::test]
async fn a_batch_is_measured_in_a_grid() {
    let site = Site::new().await;
    let trial = two_flours(&site).await;
    let page = site.get(&format!("{trial}/measure")).await;
    // The whole batch has one row for what is weighed once, and each piece one for what is read three times.
    for words in [
        "whole batch",
        "piece 1",
        "piece 3",
        "name=\"v.0.1\"",
        "4 to come",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    assert!(!page.contains("piece 4"));
    let json = site.json(&format!("{trial}/measure")).await;
    let batch = json["batch"].as_str().unwrap().to_owned();
    let at = format!("{trial}/measure");
    let send = async |more: &[(&str, &str)]| {
        let mut form = vec![("batch", batch.as_str())];
        form.extend(more);
        site.post(&at, &form).await
    };
    // A slip is told at its field, a value beyond what is plausible is asked for once more; nothing typed is lost.
    let (status, _, text) = send(&[("v.1.0", "6,0x"), ("v.2.0", "61.5")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(text.contains("value=\"6,0x\"") && text.contains("value=\"61.5\""));
    assert!(text.contains("aria-invalid") && text.contains("one value can’t be taken"));
    let (status, _, text) = send(&[("v.1.0", "99999"), ("v.2.0", "61.5")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(text.contains("name=\"sure\"") && text.contains("beyond what is plausible"));
    let (status, ..) = send(&[
        ("v.1.0", "99999"),
        ("v.2.0", "61.5"),
        ("v.0.1", "1.25"),
        ("sure", "yes"),
    ])
    .await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    let rows = site.json(&format!("{at}?batch={batch}")).await["rows"].clone();
    assert_eq!(rows[0]["cells"][1]["reading"]["value"], 1.25);
    assert_eq!(rows[1]["cells"][0]["reading"]["value"], 99999.0);
    assert_eq!(rows[1]["cells"][0]["beyond"], true);
    // The same again writes nothing; another value wants a reason; what stands isn't emptied.
    let (status, ..) = send(&[("v.2.0", "61.5")]).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    let (status, _, text) = send(&[("v.1.0", "60"), ("v.2.0", "61.5")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(text.contains("give a reason"), "{text}");
    let (status, _, text) = send(&[("v.2.0", " ")]).await;
    assert!(status.is_client_error() && text.contains("what is written stays written"));
    let (status, ..) = send(&[("v.1.0", "60"), ("why", "one nine too many")]).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    let rows = site.json(&format!("{at}?batch={batch}")).await["rows"].clone();
    assert_eq!(rows[1]["cells"][0]["reading"]["value"], 60.0);
    let key = rows[2]["cells"][0]["reading"]["key"]
        .as_str()
        .unwrap()
        .to_owned();
    // Set aside with a reason it stays visible, and can be taken back.
    let aside = format!("{at}/aside");
    let form = [
        ("batch", batch.as_str()),
        ("key", &key),
        ("why", "the piece was cracked"),
    ];
    assert_eq!(site.post(&aside, &form).await.0, StatusCode::SEE_OTHER);
    assert!(site.post(&aside, &form).await.0.is_client_error());
    let results = site
        .get(&format!("{trial}?response=breaking_force_n"))
        .await;
    assert!(
        results.contains("mark open"),
        "an open dot for what is set aside"
    );
    let back = [
        ("batch", batch.as_str()),
        ("key", &key),
        ("why", "it wasn’t"),
        ("back", "yes"),
    ];
    assert_eq!(site.post(&aside, &back).await.0, StatusCode::SEE_OTHER);
    let rows = site.json(&format!("{at}?batch={batch}")).await["rows"].clone();
    assert_eq!(rows[2]["cells"][0]["reading"]["set_aside"], Value::Null);
    let batch_page = site
        .json(&format!("/bench/{batch}/sheet"))
        .await
        .to_string();
    assert!(
        !batch_page.contains("value-set-aside-unread"),
        "{batch_page}"
    );
}

impl Site {
    /// Sends a file with fields, as a browser does.
    async fn upload(
        &self,
        path: &str,
        file: &[u8],
        fields: &[(&str, &str)],
    ) -> (StatusCode, String) {
        let mut body =
            b"--XX\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a.csv\"\r\n\r\n"
                .to_vec();
        body.extend(file);
        for (name, value) in fields {
            body.extend(
                format!(
                    "\r\n--XX\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}"
                )
                .bytes(),
            );
        }
        body.extend(b"\r\n--XX--\r\n");
        let request = Asked::post(path)
            .header(header::HOST, HOST)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header("sec-fetch-site", "same-origin")
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=XX");
        let (status, _, text) = self.ask(request.body(Body::from(body)).unwrap()).await;
        (status, text)
    }
}

/// The word that a file is held under, as its preview has it.
fn held(page: &str) -> String {
    let at = page.find("name=\"file\" value=\"").unwrap() + 19;
    page[at..at + 64].to_owned()
}

#[tokio::test]
async fn a_file_is_looked_at_before_it_is_read_in() {
    let site = Site::new().await;
    let trial = two_flours(&site).await;
    let at = format!("{trial}/measure/file");
    // Semicolons, a mark before them, decimal commas, units in heads, a column that nobody asks for.
    let text = "\u{feff}Batch;piece;Kraft [kN];crumbs (mg);mood\r\nB01;1;0,0605;1250;fine\r\nB01;2;0,0612;;\r\nB99;1;0,06;;\r\nB02;1;soft;;\r\n";
    let (status, page) = site
        .upload(&at, text.as_bytes(), &[("decimal", "comma")])
        .await;
    assert_eq!(status, StatusCode::OK, "{page}");
    assert!(page.contains("not asked for; left out"), "{page}");
    let file = held(&page);
    let look = format!("{trial}/measure/look");
    let columns = [
        ("file", file.as_str()),
        ("decimal", "comma"),
        ("head.2", "Kraft [kN]"),
        ("to.2", "breaking_force_n"),
    ];
    let (status, _, page) = site.post(&look, &columns).await;
    assert_eq!(status, StatusCode::OK);
    for words in [
        "typed in kN",
        "typed in mg",
        "there is no such batch",
        "B99",
        "soft",
        "3 values to write",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    // Nothing is kept while anything is wrong, unless the rest is asked for.
    let with = |enter: &'static str, new: &'static str| {
        let mut form = columns.to_vec();
        form.extend([("enter", enter), ("new", new)]);
        form
    };
    let (status, _, page) = site.post(&look, &with("all", "3")).await;
    assert!(status == StatusCode::OK && page.contains("Before it is read in"));
    let (status, _, page) = site.post(&look, &with("rest", "2")).await;
    assert!(status == StatusCode::OK && page.contains("Before it is read in"));
    let (status, ..) = site.post(&look, &with("rest", "3")).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    let rows = site.json(&format!("{trial}/measure?batch=B01")).await["rows"].to_string();
    assert!(rows.contains("60.5") && rows.contains("61.2"), "{rows}");
    let (_, _, page) = site.post(&look, &columns).await;
    assert!(page.contains("3 kept already"), "{page}");
    // A pasted table goes the same way; what is no table is told.
    let (status, page) = site
        .upload(
            &at,
            b"",
            &[("pasted", "batch\tpiece\tbreaking_force_n\nB02\t1\t58.5\n")],
        )
        .await;
    assert!(
        status == StatusCode::OK && page.contains("1 value to write"),
        "{page}"
    );
    for odd in [
        &b"\xff\xfe\x00"[..],
        b"PK\x03\x04 no workbook",
        b"",
        b"\n\n",
        b"only words\n",
    ] {
        let (status, page) = site.upload(&at, odd, &[("decimal", "point")]).await;
        assert!(
            status.is_client_error() || page.contains("What can’t be read in"),
            "{odd:?}: {status}"
        );
    }
    let gone = [("file", "0000"), ("enter", "all")];
    let (status, _, page) = site.post(&look, &gone).await;
    assert!(status.is_client_error() && page.contains("choose it once more"));
}

/// What stands on the page is the file's analysis with names in it.
#[tokio::test]
async fn results_call_treatments_by_name_side_by_side_and_take_a_question() {
    let site = Site::new().await;
    let page = site.get("/trial/bite").await;
    let body = &page[page.find("id=\"response\"").unwrap()..page.find("id=\"batches\"").unwrap()];
    assert!(
        body.contains("Rice and chickpea with egg white") && !body.contains("rice_chickpea_egg"),
        "{body}"
    );
    let side = site.get("/trial/bite?response=all").await;
    for words in [
        "All side by side",
        "breaking force",
        "bake loss",
        "Barley for wheat",
        "65.2 (62.3 to 68.2)",
    ] {
        assert!(side.contains(words), "{words}: {side}");
    }
    let json = site.json("/trial/bite").await;
    let weight = |label: &str| {
        let all = json["trial"]["treatments"].as_array().unwrap();
        let at = all.iter().position(|t| t["label"] == label).unwrap();
        format!("w.{at}")
    };
    let (barley, control) = (weight("barley"), weight("control"));
    let form = [
        ("response", "breaking_force_n"),
        ("q", "barley <less> control"),
        (barley.as_str(), "1"),
        (control.as_str(), "-1"),
    ];
    let asked = site.get(&format!("/trial/bite?{}", query(&form))).await;
    // The estimate is the difference of the two means on the same page.
    for words in [
        "Questions of your own",
        "barley &lt;less&gt; control",
        "\u{2212}7.4",
        "Scheffé",
    ] {
        assert!(asked.contains(words), "{words}: {asked}");
    }
    for odd in ["much", "1e999", "1;2"] {
        let form = [("response", "breaking_force_n"), (barley.as_str(), odd)];
        let path = format!("/trial/bite?{}", query(&form));
        let request = Asked::get(path).header(header::HOST, HOST);
        let (status, ..) = site.ask(request.body(Body::empty()).unwrap()).await;
        assert!(status.is_client_error(), "{odd}: {status}");
    }
}

#[tokio::test]
async fn predicted_and_measured_are_plotted_against_each_other() {
    let site = Site::new().await;
    let path = "/study/spent-grain-bars/measured";
    let page = site.get(path).await;
    for words in [
        "Predicted and measured",
        "At most 3 batches of a treatment, 4 treatments",
        "Water need",
        "as computed",
        "made by revision 1",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    let json = site.json(path).await;
    assert_eq!(json["unread"], 0);
    for row in json["figures"].as_array().unwrap() {
        let batches = row["batches"].as_array().unwrap();
        assert_eq!(row["measured"]["batches"], batches.len());
        let sum: f64 = batches.iter().map(|b| b[2].as_f64().unwrap()).sum();
        let mean = row["measured"]["mean"].as_f64().unwrap();
        assert!((sum / batches.len() as f64 - mean).abs() < 1e-9);
        // Nobody changed the study since: what was computed for these batches is what is computed now, to the last bits
        // that a mean of three takes.
        let computed = [&row["for_these"], &row["today"]].map(|v| v.as_f64().unwrap());
        assert!((computed[0] - computed[1]).abs() < 1e-9, "{row}");
    }
    // More water for the control: what was computed for its batches stays, what is computed now moves.
    let send = async |deed: &str, more: &[(&str, &str)]| {
        let state = site.json("/study/spent-grain-bars").await["state"].clone();
        let seen = ["base", "counter"].map(|n| (n, state[n].to_string()));
        let mut form = more.to_vec();
        form.extend(
            seen.iter()
                .filter(|(_, v)| v != "null")
                .map(|(n, v)| (*n, v.as_str())),
        );
        let (status, _, text) = site
            .post(&format!("/study/spent-grain-bars/{deed}"), &form)
            .await;
        assert!(
            status.is_success() || status.is_redirection(),
            "{status} {text}"
        );
    };
    let oil = [
        ("edit", "set_amount"),
        ("treatment", "control"),
        ("material", "sunflower_oil"),
        ("amount", "6"),
    ];
    send("edit", &oil).await;
    send("save", &[("why", "more oil")]).await;
    let json = site.json(path).await;
    let moved = |row: &&Value| {
        let computed = [&row["for_these"], &row["today"]].map(|v| v.as_f64().unwrap());
        row["measured"]["treatment"] == "control" && (computed[0] - computed[1]).abs() > 1e-6
    };
    assert!(
        json["figures"]
            .as_array()
            .unwrap()
            .iter()
            .any(|r| moved(&r))
    );
    let page = site.get("/study/spent-grain-bars").await;
    assert!(
        page.contains("computed for them") && page.contains("computed now"),
        "{page}"
    );
}

/// The force at break of a curve is its highest point; two curves made by hand, one of which ends before it breaks.
#[tokio::test]
async fn curves_of_an_instrument_become_forces_at_break() {
    let site = Site::new().await;
    let trial = two_flours(&site).await;
    let at = format!("{trial}/measure/curves");
    let text = "piece;Weg/distance (mm);force (N)\n1;0;0\n1;0,4;61,5\n1;0,5;12\n2;0;0\n2;0,3;48,25\n2;x;50\n";
    let fields = [("batch", "B01"), ("decimal", "comma")];
    let (status, page) = site.upload(&at, text.as_bytes(), &fields).await;
    assert_eq!(status, StatusCode::OK, "{page}");
    for words in [
        "2 pieces",
        "61.5",
        "may not have broken",
        "<svg",
        "What can’t be read",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    let file = held(&page);
    let look = [("file", file.as_str()), ("decimal", "point")];
    let (status, _, page) = site.post(&format!("{trial}/measure/look"), &look).await;
    assert!(
        status == StatusCode::OK && page.contains("2 values to write"),
        "{page}"
    );
    let enter = [look[0], look[1], ("enter", "all"), ("new", "2")];
    let (status, ..) = site.post(&format!("{trial}/measure/look"), &enter).await;
    assert_eq!(status, StatusCode::SEE_OTHER);
    let rows = site.json(&format!("{trial}/measure?batch=B01")).await["rows"].to_string();
    assert!(rows.contains("61.5") && rows.contains("48.25"), "{rows}");
    for odd in [
        "time;force\n0;1\n",
        "distance (kg);force (N)\n0;1\n",
        "distance;force\n",
    ] {
        let (_, page) = site.upload(&at, odd.as_bytes(), &fields).await;
        assert!(page.contains("What can’t be read"), "{odd}: {page}");
    }
    let (status, _) = site.upload(&at, text.as_bytes(), &[("batch", "B99")]).await;
    assert!(status.is_client_error());
}
