//! Golden snapshots: what a reader of the pages and of the printed report sees, for three different studies.
//!
//! Only words and numbers are kept, not the markup: a figure that moves is seen, a new class isn't. Renew them with
//! `INSTA_UPDATE=always cargo nextest run -p web --test golden` after a look at what moved.

#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use app::App;
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use report::{Curve, Options, Per};
use std::collections::BTreeSet;
use std::net::SocketAddr;
use study::{BakeOptions, compare, water_curve};
use tempfile::TempDir;
use tower::ServiceExt;
use web::{Names, router};

const HOST: &str = "127.0.0.1:4713";
const METRIC: &str = "who=Baker&units=metric&currency=EUR&dates=iso&decimal=point";
const US_COMMA: &str = "who=Baker&units=us&currency=USD&dates=iso&decimal=comma";

/// Short name, file, settings of the person who looks.
const STUDIES: [(&str, &str, &str); 3] = [
    (
        "spent-grain",
        include_str!("../../../examples/spent-grain.toml"),
        METRIC,
    ),
    (
        "bench-oat",
        include_str!("../../../examples/more/bench-oat.toml"),
        US_COMMA,
    ),
    (
        "cat-bits",
        include_str!("../../../examples/more/cat-bits.toml"),
        METRIC,
    ),
];

/// Short name and address of the pages of a study.
const PAGES: [(&str, &str); 6] = [
    ("sheet", ""),
    ("piece", "/piece"),
    ("bake", "/bake"),
    ("after", "/after"),
    ("line", "/line"),
    ("label", "/label"),
];

struct Site {
    _folder: TempDir,
    app: App,
    router: Router,
}

impl Site {
    async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(&folder.path().join("lab.book")).await.unwrap();
        let address: SocketAddr = HOST.parse().unwrap();
        Self {
            _folder: folder,
            router: router(app.clone(), Names::of(address)),
            app,
        }
    }

    async fn ask(&self, request: Request<Body>) -> (StatusCode, String) {
        let response = self.router.clone().oneshot(request).await.unwrap();
        let status = response.status();
        let bytes = to_bytes(response.into_body(), 16_000_000).await.unwrap();
        (status, String::from_utf8(bytes.to_vec()).unwrap())
    }

    async fn look(&self, address: &str) -> String {
        let request = Request::get(address).header(header::HOST, HOST);
        let (status, text) = self.ask(request.body(Body::empty()).unwrap()).await;
        assert_eq!(status, StatusCode::OK, "{address}: {text}");
        text
    }

    async fn settings(&self, form: &str) {
        let request = Request::post("/settings")
            .header(header::HOST, HOST)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        let body = Body::from(form.to_owned());
        let (status, text) = self.ask(request.body(body).unwrap()).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    }
}

/// What a reader sees: text by line, cells parted by bars, what stands in fields in brackets.
fn seen(html: &str) -> String {
    let mut out = String::new();
    let mut rest = html;
    while let Some(at) = rest.find('<') {
        out.push_str(&words(&rest[..at]));
        let end = rest[at..].find('>').map_or(rest.len(), |e| at + e + 1);
        let tag = &rest[at..end];
        rest = &rest[end..];
        let closing = tag.starts_with("</");
        let name: String = tag
            .trim_start_matches(['<', '/'])
            .chars()
            .take_while(char::is_ascii_alphanumeric)
            .collect();
        match name.as_str() {
            "style" | "script" if !closing => {
                let close = format!("</{name}>");
                rest = rest.find(&close).map_or("", |e| &rest[e..]);
            }
            "input" if !tag.contains("type=\"hidden\"") => {
                if let Some(value) = attribute(tag, "value") {
                    out.push_str(&format!("[{value}]"));
                }
            }
            "td" | "th" if closing => out.push_str(" | "),
            "option" if tag.contains(" selected") => out.push('*'),
            "p" | "tr" | "h1" | "h2" | "h3" | "li" | "div" | "section" | "dt" | "dd" | "title"
            | "table" | "option" | "label" | "form" | "details" | "figure" | "figcaption"
            | "text" | "button" | "summary" | "caption" | "ul" | "nav" | "a" => out.push('\n'),
            _ => {}
        }
    }
    let lines = out
        .lines()
        .map(str::trim)
        // The state of the book has the moment and the hash in it.
        .filter(|l| l.chars().any(char::is_alphanumeric) && !l.contains("revision 1"));
    lines.collect::<Vec<_>>().join("\n")
}

fn words(text: &str) -> String {
    text.replace(['\n', '\r', '\t'], " ")
        .replace("&amp;", "&")
        .replace("&lt;", "<")
        .replace("&quot;", "\"")
}

fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    let from = tag.find(&format!(" {name}=\""))? + name.len() + 3;
    Some(&tag[from..from + tag[from..].find('"')?])
}

fn kept(name: &str, text: &str) {
    insta::with_settings!({ snapshot_path => "golden", prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(name, text);
    });
}

async fn pages(of: usize) {
    let (name, text, settings) = STUDIES[of];
    let site = Site::new().await;
    site.settings(settings).await;
    let thing = site
        .app
        .create_from_text("Baker", text, None)
        .await
        .unwrap();
    for (page, address) in PAGES {
        let html = site.look(&format!("/study/{thing}{address}")).await;
        kept(&format!("{name}-{page}"), &seen(&html));
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn pages_of_the_demonstration() {
    pages(0).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn pages_of_a_bench_study_in_us_units_with_decimal_commas() {
    pages(1).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn pages_of_a_cat_study_with_a_rotary_moulder() {
    pages(2).await;
}

#[test]
fn reports_as_they_print() {
    for (name, text, _) in STUDIES {
        let study = study::written::read(text).unwrap_or_else(|p| panic!("{name}: {p:#?}"));
        let treatments: Vec<_> = study.treatments.iter().collect();
        let compared = compare(&study, &treatments, &BakeOptions::QUICK).unwrap();
        let curves = vec![Curve {
            id: study.control().id.clone(),
            points: water_curve(study.control(), &BakeOptions::QUICK, 9).unwrap(),
        }];
        let options = Options {
            per: Per::Mix,
            version: "1.2.3".to_owned(),
        };
        let html = report::document(&study, &compared, &curves, &options);
        kept(&format!("{name}-report"), &seen(&html));
    }
}

/// A snapshot that no test makes any more would be believed for ever.
#[test]
fn no_snapshot_is_stale() {
    let wanted: BTreeSet<String> = STUDIES
        .iter()
        .flat_map(|(study, ..)| {
            PAGES
                .iter()
                .map(|p| p.0)
                .chain(["report"])
                .map(move |page| format!("{study}-{page}.snap"))
        })
        .collect();
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden");
    let there: BTreeSet<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|f| f.unwrap().file_name().into_string().unwrap())
        .filter(|f| f.ends_with(".snap"))
        .collect();
    assert_eq!(there, wanted);
}
