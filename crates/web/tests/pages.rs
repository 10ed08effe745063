//! Every page through the router, without a socket.
//!
//! The file is long because it is one walk through the pages with the same few helpers.
#![allow(clippy::unwrap_used)] // a helper of a test may panic

use app::App;
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use std::net::SocketAddr;
use tempfile::TempDir;
use tower::ServiceExt;
use web::{Names, router};

const BARS: &str = "/study/spent-grain-bars";
const HOST: &str = "127.0.0.1:4711";

struct Site {
    _folder: TempDir,
    app: App,
    router: Router,
}

struct Answer {
    status: StatusCode,
    to: String,
    text: String,
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

    async fn ask(&self, request: Request<Body>) -> Answer {
        let response = self.router.clone().oneshot(request).await.unwrap();
        let status = response.status();
        let policy = response
            .headers()
            .get("content-security-policy")
            .unwrap()
            .to_str()
            .unwrap();
        assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe"));
        let to = response
            .headers()
            .get(header::LOCATION)
            .map_or("", |l| l.to_str().unwrap())
            .to_owned();
        let bytes = to_bytes(response.into_body(), 64_000_000).await.unwrap();
        Answer {
            status,
            to,
            text: String::from_utf8_lossy(&bytes).into_owned(),
        }
    }

    async fn get(&self, path: &str) -> Answer {
        self.ask(
            Request::get(path)
                .header(header::HOST, HOST)
                .body(Body::empty())
                .unwrap(),
        )
        .await
    }

    async fn json(&self, path: &str) -> Answer {
        let request = Request::get(path)
            .header(header::HOST, HOST)
            .header(header::ACCEPT, "application/json");
        self.ask(request.body(Body::empty()).unwrap()).await
    }

    async fn post(&self, path: &str, form: &[(&str, &str)]) -> Answer {
        let body: Vec<String> = form
            .iter()
            .map(|(k, v)| format!("{k}={}", encoded(v)))
            .collect();
        let request = Request::post(path)
            .header(header::HOST, HOST)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header("sec-fetch-site", "same-origin")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        self.ask(request.body(Body::from(body.join("&"))).unwrap())
            .await
    }

    async fn upload(&self, path: &str, bytes: &[u8], fields: &[(&str, &str)]) -> Answer {
        let mut body = Vec::new();
        for (name, value) in fields {
            body.extend(
                format!(
                    "--b\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n"
                )
                .bytes(),
            );
        }
        body.extend(b"--b\r\nContent-Disposition: form-data; name=\"file\"; filename=\"../../x.toml\"\r\n\r\n");
        body.extend(bytes);
        body.extend(b"\r\n--b--\r\n");
        let request = Request::post(path)
            .header(header::HOST, HOST)
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=b");
        self.ask(request.body(Body::from(body)).unwrap()).await
    }
}

fn encoded(text: &str) -> String {
    text.bytes()
        .map(|b| {
            if b.is_ascii_alphanumeric() {
                char::from(b).to_string()
            } else {
                format!("%{b:02X}")
            }
        })
        .collect()
}

fn cell(amount: &str) -> Vec<(&'static str, String)> {
    [
        ("edit", "set_amount"),
        ("base", "1"),
        ("treatment", "barley"),
        ("material", "salt"),
    ]
    .into_iter()
    .map(|(k, v)| (k, v.to_owned()))
    .chain([("amount", amount.to_owned())])
    .collect()
}

async fn edit(site: &Site, amount: &str) -> Answer {
    let form = cell(amount);
    let form: Vec<(&str, &str)> = form.iter().map(|(k, v)| (*k, v.as_str())).collect();
    site.post(&format!("{BARS}/edit"), &form).await
}

const PAGES: [&str; 13] = [
    "/",
    "/studies?q=bars&by=title",
    "/removed",
    "/study/spent-grain-bars",
    "/study/spent-grain-bars?per=flour",
    "/study/spent-grain-bars/bake",
    "/study/spent-grain-bars/line",
    "/study/spent-grain-bars/label",
    "/study/spent-grain-bars/history",
    "/materials?q=flour",
    "/material/wheat_flour_soft",
    "/settings",
    "/settings/devices",
];

#[tokio::test]
async fn every_page_is_there_in_html_and_json() {
    let site = Site::new().await;
    for path in PAGES {
        let page = site.get(path).await;
        assert_eq!(page.status, StatusCode::OK, "{path}: {}", page.text);
        assert!(
            page.text.starts_with("<!DOCTYPE html>") && page.text.contains("<h1"),
            "{path}"
        );
        // Scripts come as files; none is written into a page, and nothing comes from elsewhere.
        assert!(
            !page.text.contains("style=\"") && !page.text.contains(" onclick"),
            "{path}"
        );
        assert!(
            !page.text.contains("https://") && !page.text.contains("=\"http://"),
            "{path}"
        );
        let json = site.json(path).await;
        assert_eq!(json.status, StatusCode::OK, "{path}");
        let _value: serde_json::Value = serde_json::from_str(&json.text).unwrap();
    }
    let field = site
        .get(&format!("{BARS}/field?treatment=control&frames=20"))
        .await;
    assert_eq!(field.status, StatusCode::OK, "{}", field.text);
}

/// A study that another version of the model told says so on its sheet; one of this version doesn't.
#[tokio::test]
async fn the_sheet_tells_figures_then_and_now() {
    let site = Site::new().await;
    let said = "was saved under model";
    assert!(!site.get(BARS).await.text.contains(said));
    let book = site.app.book();
    let kept = book
        .newest(book::Kind::Figures, "spent-grain-bars")
        .await
        .unwrap()
        .unwrap();
    let mut form: serde_json::Value = serde_json::from_str(&kept.form).unwrap();
    form["told"]["model"] = 0.into();
    form["told"]["treatments"][0]["figures"]["cost.per_kg"] = "9.87".into();
    let save = book::Save {
        kind: book::Kind::Figures,
        thing: kept.entry.thing,
        base: Some(kept.entry.number),
        who: kept.entry.who,
        when: app::now(),
        why: None,
        title: kept.entry.title,
        form_version: kept.entry.form_version,
        form: form.to_string(),
    };
    book.save(save).await.unwrap();
    let page = site.get(BARS).await.text;
    let at = page.find(said).unwrap();
    let note = &page[at..at + page[at..].find("</section>").unwrap()];
    assert!(
        note.contains("model 0") && note.contains("One figure has moved"),
        "{note}"
    );
    assert!(
        note.contains("cost of a kg") && note.contains("9.87"),
        "{note}"
    );
    let json: serde_json::Value = serde_json::from_str(&site.json(BARS).await.text).unwrap();
    assert_eq!(json["then"]["otherwise"]["moved"][0]["then"], "9.87");
    assert_eq!(
        json["then"]["otherwise"]["moved"][0]["treatment"],
        "control"
    );
}

#[tokio::test]
async fn assets_are_kept_for_ever_and_other_names_are_not_there() {
    let site = Site::new().await;
    let page = site.get("/").await.text;
    let at = page.find("/assets/").unwrap();
    let address: String = page[at..].chars().take_while(|c| *c != '"').collect();
    let request = Request::get(&address)
        .header(header::HOST, HOST)
        .body(Body::empty())
        .unwrap();
    let response = site.router.clone().oneshot(request).await.unwrap();
    assert!(
        response.headers()[header::CACHE_CONTROL]
            .to_str()
            .unwrap()
            .contains("immutable")
    );
    for path in [
        "/assets/0000/style.css",
        "/assets/..%2f..%2fetc/passwd",
        "/moon",
        "/study/no-such-study",
        "/material/moon",
        "/study/..%2f..%2fx",
    ] {
        let lost = site.get(path).await;
        assert_eq!(lost.status, StatusCode::NOT_FOUND, "{path}");
        assert!(lost.text.contains("<h1"), "{path}");
    }
}

#[tokio::test]
async fn only_the_books_own_pages_are_answered() {
    let site = Site::new().await;
    for host in [
        "evil.example",
        "127.0.0.1:1",
        "localhost.evil.example:4711",
        "",
    ] {
        let answer = site
            .ask(
                Request::get("/")
                    .header(header::HOST, host)
                    .body(Body::empty())
                    .unwrap(),
            )
            .await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{host}");
        assert!(!answer.text.contains("Spent-grain"));
    }
    for (name, value) in [
        ("origin", "http://evil.example"),
        ("origin", "null"),
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
    ] {
        let request = Request::post("/studies")
            .header(header::HOST, HOST)
            .header(name, value)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        let answer = site
            .ask(request.body(Body::from("name=Stolen")).unwrap())
            .await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{name} {value}");
    }
    assert!(!site.get("/").await.text.contains("Stolen"));
}

#[tokio::test]
async fn edit_draft_save_history_restore() {
    let site = Site::new().await;
    let edited = edit(&site, "0.4").await;
    assert_eq!(
        (edited.status, edited.to.as_str()),
        (StatusCode::SEE_OTHER, BARS),
        "{}",
        edited.text
    );
    assert!(site.get(BARS).await.text.contains("not saved"));
    let saved = site
        .post(
            &format!("{BARS}/save"),
            &[("base", "1"), ("why", "taste"), ("room", "line")],
        )
        .await;
    assert_eq!(saved.to, format!("{BARS}/line"));
    let history = site.get(&format!("{BARS}/history")).await.text;
    assert!(history.contains("taste"));
    let difference = site
        .get(&format!("{BARS}/difference?from=1&to=2"))
        .await
        .text;
    assert!(
        difference.contains("salt") && difference.contains("sodium"),
        "{difference}"
    );
    let restored = site
        .post(
            &format!("{BARS}/restore"),
            &[("number", "1"), ("base", "2")],
        )
        .await;
    assert_eq!(restored.status, StatusCode::SEE_OTHER);
    assert!(site.get(BARS).await.text.contains("saved: revision 3"));
    let undone = site.post(&format!("{BARS}/undo"), &[("base", "3")]).await;
    assert_eq!(undone.status, StatusCode::SEE_OTHER, "{}", undone.text);
    assert!(site.get(BARS).await.text.contains("not saved"));
}

#[tokio::test]
async fn a_script_gets_the_part_or_the_numbers() {
    let site = Site::new().await;
    let body = r#"{"base":1,"room":"sheet","edits":[{"edit":"set_amount","treatment":"barley","material":"salt","amount":0.4}]}"#;
    let ask = |name: &'static str, value: &'static str| {
        Request::post(format!("{BARS}/edit"))
            .header(header::HOST, HOST)
            .header(header::CONTENT_TYPE, "application/json")
            .header(name, value)
            .body(Body::from(body))
            .unwrap()
    };
    let part = site.ask(ask("hardtack-part", "main")).await;
    assert_eq!(part.status, StatusCode::OK, "{}", part.text);
    assert!(part.text.contains("id=\"study\"") && !part.text.contains("<html"));
    let numbers = site.ask(ask("accept", "application/json")).await;
    let numbers: serde_json::Value = serde_json::from_str(&numbers.text).unwrap();
    assert_eq!(numbers["state"]["base"], 1);
    assert!(numbers["state"]["draft"]["when"].is_string());
}

#[tokio::test]
async fn the_loser_of_a_race_sees_both_versions() {
    let site = Site::new().await;
    edit(&site, "0.4").await;
    let other = study::edit::Edit::SetAmount {
        treatment: "barley".into(),
        material: "salt".into(),
        amount: 0.6,
    };
    site.app
        .edit("Somebody else", "spent-grain-bars", 1, &[other])
        .await
        .unwrap();
    site.app
        .save("Somebody else", "spent-grain-bars", 1, Some("more".into()))
        .await
        .unwrap();
    let saved = site.post(&format!("{BARS}/save"), &[("base", "1")]).await;
    assert_eq!(saved.status, StatusCode::CONFLICT);
    for words in [
        "what you typed",
        "what stands here now",
        "Somebody else",
        "0.4",
        "0.6",
    ] {
        assert!(saved.text.contains(words), "{words}");
    }
    assert_eq!(
        site.get(&format!("{BARS}/conflict")).await.status,
        StatusCode::CONFLICT
    );
    let over = site
        .post(&format!("{BARS}/save-over"), &[("theirs", "2")])
        .await;
    assert_eq!(over.status, StatusCode::SEE_OTHER, "{}", over.text);
    assert!(site.get(BARS).await.text.contains("saved: revision 3"));
}

#[tokio::test]
async fn hostile_text_stays_text() {
    let site = Site::new().await;
    const EVIL: &str = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>";
    let name = [
        ("edit", "rename_treatment"),
        ("base", "1"),
        ("treatment", "barley"),
        ("name", EVIL),
    ];
    site.post(&format!("{BARS}/edit"), &name).await;
    for path in ["question", "name", "note"] {
        let field = [
            ("edit", "set_field"),
            ("base", "1"),
            ("path", &format!("study.{path}")),
            ("value", EVIL),
        ];
        let answer = site.post(&format!("{BARS}/edit"), &field).await;
        assert_eq!(
            answer.status,
            StatusCode::SEE_OTHER,
            "{path} {}",
            answer.text
        );
    }
    site.post(&format!("{BARS}/save"), &[("base", "1"), ("why", EVIL)])
        .await;
    site.post("/studies", &[("name", EVIL)]).await;
    let settings = [
        ("who", EVIL),
        ("units", "metric"),
        ("currency", "EUR"),
        ("dates", "iso"),
        ("decimal", "point"),
    ];
    assert_eq!(
        site.post("/settings", &settings).await.status,
        StatusCode::SEE_OTHER
    );
    let more = [
        format!("{BARS}/difference?from=1&to=2"),
        format!("/studies?q={}", encoded(EVIL)),
        format!("/material/{}", encoded(EVIL)),
    ];
    for path in PAGES.iter().map(|p| (*p).to_owned()).chain(more) {
        let text = site.get(&path).await.text;
        assert!(
            !text.contains("<script>alert") && !text.contains("<img src=x"),
            "{path}"
        );
    }
    let long = "x".repeat(10_000);
    let answer = site.post("/studies", &[("name", &long)]).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text.contains("10000 letters"), "{}", answer.text);
}

#[tokio::test]
async fn odd_numbers_are_refused_kindly_and_the_decimal_mark_is_the_settings() {
    let site = Site::new().await;
    for odd in ["NaN", "inf", "1e308", "-1", "0,4", "0.4 %", "four", "1.2.3"] {
        let answer = edit(&site, odd).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{odd}");
        assert!(answer.text.contains("The book is as it was"), "{odd}");
    }
    assert!(!site.get(BARS).await.text.contains("not saved"));
    let settings = [
        ("who", "Ada"),
        ("units", "metric"),
        ("currency", "EUR"),
        ("dates", "german"),
        ("decimal", "comma"),
    ];
    assert_eq!(
        site.post("/settings", &settings).await.status,
        StatusCode::SEE_OTHER
    );
    assert_eq!(edit(&site, "0,4").await.status, StatusCode::SEE_OTHER);
    assert_eq!(
        edit(&site, "0.4").await.status,
        StatusCode::UNPROCESSABLE_ENTITY
    );
}

#[tokio::test]
async fn a_study_file_goes_out_and_in_again() {
    let site = Site::new().await;
    let text = site.get(&format!("{BARS}/export")).await.text;
    let changed = text.replace("Spent-grain bars", "Spent-grain sticks");
    let preview = site
        .upload("/studies/import", changed.as_bytes(), &[])
        .await;
    assert_eq!(preview.status, StatusCode::OK, "{}", preview.text);
    let made = site
        .post(
            "/studies/import/confirm",
            &[("text", &changed.replace('\n', "\r\n"))],
        )
        .await;
    assert_eq!(made.to, "/study/spent-grain-sticks", "{}", made.text);
    assert_eq!(
        site.get("/study/spent-grain-sticks/export").await.text,
        changed
    );
    let into = site
        .upload(
            &format!("{BARS}/import"),
            changed.as_bytes(),
            &[("base", "1")],
        )
        .await;
    assert!(into.text.contains("Spent-grain sticks") && into.text.contains("What will change"));
    let put = site
        .post(
            &format!("{BARS}/import/confirm"),
            &[("base", "1"), ("text", &changed)],
        )
        .await;
    assert_eq!(put.status, StatusCode::SEE_OTHER, "{}", put.text);
    assert!(site.get(BARS).await.text.contains("not saved"));
    let broken = site
        .upload(
            "/studies/import",
            b"hardtack = 1\n[study]\nnmae = \"x\"\n",
            &[],
        )
        .await;
    assert_eq!(broken.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        broken.text.contains("line 3") && broken.text.contains("name"),
        "{}",
        broken.text
    );
}

#[tokio::test]
async fn materials_come_in_as_a_table() {
    let site = Site::new().await;
    let preview = site
        .upload(
            "/materials/import",
            b"id,moisture_pct\nchickpea_flour,9.5\nsalt,NaN\n",
            &[],
        )
        .await;
    assert_eq!(preview.status, StatusCode::OK, "{}", preview.text);
    assert!(preview.text.contains("Read in 1 material") && preview.text.contains("Left out"));
    let confirmed = site
        .post(
            "/materials/import/confirm",
            &[("rows", r#"[["chickpea_flour",{"moisture_pct":9.5}]]"#)],
        )
        .await;
    assert_eq!(
        confirmed.status,
        StatusCode::SEE_OTHER,
        "{}",
        confirmed.text
    );
    let used = site
        .post(
            &format!("{BARS}/use-material"),
            &[("material", "chickpea_flour")],
        )
        .await;
    assert_eq!(used.status, StatusCode::SEE_OTHER, "{}", used.text);
    let saved = site
        .post(
            "/material/chickpea_flour",
            &[("base", "1"), ("v.moisture_pct", "9.9"), ("v.lot", "C-1")],
        )
        .await;
    assert_eq!(saved.status, StatusCode::SEE_OTHER, "{}", saved.text);
    let stale = site
        .post(
            "/material/chickpea_flour",
            &[("base", "1"), ("v.moisture_pct", "8")],
        )
        .await;
    assert_eq!(stale.status, StatusCode::CONFLICT);
    for kind in ["csv", "xlsx"] {
        assert_eq!(
            site.get(&format!("/materials/export?which=all&format={kind}"))
                .await
                .status,
            StatusCode::OK
        );
    }
}

#[tokio::test]
async fn what_is_too_large_is_refused() {
    let site = Site::new().await;
    let big = "x".repeat(3 * 1024 * 1024);
    let answer = site.post("/studies", &[("name", &big)]).await;
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(answer.text.contains("<h1"), "{}", answer.text);
    let table = vec![b'x'; 51 * 1024 * 1024];
    let answer = site.upload("/materials/import", &table, &[]).await;
    assert_eq!(
        answer.status,
        StatusCode::PAYLOAD_TOO_LARGE,
        "{}",
        answer.text
    );
    assert!(answer.text.contains("50 MB"));
}

/// Two windows of one person on the same page: the second is told both values, loses nothing and locks nothing; and
/// the forms of a page carry what that takes.
#[tokio::test]
async fn two_windows_are_told_apart() {
    let site = Site::new().await;
    let page = site.get(BARS).await.text;
    assert!(page.contains("data-counter=\"0\"") && page.contains("name=\"counter\" value=\"0\""));
    let edit = async |window: &str, counter: u64, amount: f64| {
        let body = format!(
            "{{\"base\":1,\"counter\":{counter},\"window\":\"{window}\",\"edits\":[{{\"edit\":\"set_amount\",\
             \"treatment\":\"barley\",\"material\":\"salt\",\"amount\":{amount}}}]}}"
        );
        let request = Request::post(format!("{BARS}/edit"))
            .header(header::HOST, HOST)
            .header(header::ACCEPT, "application/json")
            .header(header::CONTENT_TYPE, "application/json");
        site.ask(request.body(Body::from(body)).unwrap()).await
    };
    assert_eq!(edit("one", 0, 0.4).await.status, StatusCode::OK);
    let refused = edit("two", 0, 0.7).await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    assert!(
        refused.text.contains("‘0.4’") && refused.text.contains("‘0.7’"),
        "{}",
        refused.text
    );
    let form = [("base", "1"), ("counter", "0"), ("window", "two")];
    let discard = site.post(&format!("{BARS}/discard"), &form).await;
    assert_eq!(discard.status, StatusCode::CONFLICT);
    // Loaded again, the second window knows.
    assert!(site.get(BARS).await.text.contains("data-counter=\"1\""));
    assert_eq!(edit("two", 1, 0.7).await.status, StatusCode::OK);
}

/// What can't be read has its ways out on the page itself.
#[tokio::test]
async fn an_unreadable_draft_offers_to_be_discarded() {
    let site = Site::new().await;
    let who = site.app.settings().await.unwrap().who;
    let draft = book::Draft {
        kind: book::Kind::Study,
        thing: "spent-grain-bars".into(),
        who,
        counter: 0,
        base: Some(1),
        when: "2026-03-02T12:00:00Z".into(),
        title: "Bars".into(),
        form_version: 1,
        form: "name = \u{8}".into(),
    };
    site.app.book().put_draft(&draft).await.unwrap();
    let page = site.get(BARS).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.text.contains("/study/spent-grain-bars/discard"));
    assert!(page.text.contains("name=\"counter\" value=\"1\""));
    let discard = async |form: &[(&str, &str)]| site.post(&format!("{BARS}/discard"), form).await;
    // Nothing is dropped that wasn't looked at, or where it can't be told what was.
    let forms: [&[(&str, &str)]; 5] = [
        &[],
        &[("base", "1")],
        &[("base", "1"), ("counter", "one")],
        &[("base", "1"), ("counter", "0")],
        &[("base", "1"), ("counter", "9")],
    ];
    for (at, form) in forms.into_iter().enumerate() {
        let status = if at < 3 {
            StatusCode::UNPROCESSABLE_ENTITY
        } else {
            StatusCode::CONFLICT
        };
        let told = discard(form).await;
        assert_eq!(told.status, status, "{form:?}: {}", told.text);
        assert_eq!(
            site.get(BARS).await.status,
            StatusCode::UNPROCESSABLE_ENTITY
        );
    }
    let gone = discard(&[("base", "1"), ("counter", "1")]).await;
    assert_eq!(gone.status, StatusCode::SEE_OTHER);
    assert_eq!(site.get(BARS).await.status, StatusCode::OK);
}

/// A page of two versions drops what it showed, and not what was typed elsewhere after it was made.
#[tokio::test]
async fn a_conflict_drops_only_what_it_showed() {
    let site = Site::new().await;
    let who = site.app.settings().await.unwrap().who;
    let salt = |amount: f64| {
        [study::edit::Edit::SetAmount {
            treatment: "barley".into(),
            material: "salt".into(),
            amount,
        }]
    };
    let bars = "spent-grain-bars";
    site.app.edit(&who, bars, 1, &salt(0.4)).await.unwrap();
    site.app.edit("Grace", bars, 1, &salt(0.5)).await.unwrap();
    site.app.save("Grace", bars, 1, None).await.unwrap();
    let page = site.get(&format!("{BARS}/conflict")).await.text;
    let drop = &page[page.find("/discard").unwrap()..];
    let of = |name: &str| {
        let from = drop.find(&format!("name=\"{name}\" value=\"")).unwrap() + name.len() + 15;
        drop[from..from + drop[from..].find('"').unwrap()].to_owned()
    };
    let (base, counter) = (of("base"), of("counter"));
    assert_eq!((base.as_str(), counter.as_str()), ("1", "1"));
    site.app.edit(&who, bars, 1, &salt(0.6)).await.unwrap();
    let form = [("base", base.as_str()), ("counter", counter.as_str())];
    let refused = site.post(&format!("{BARS}/discard"), &form).await;
    assert_eq!(refused.status, StatusCode::CONFLICT, "{}", refused.text);
    assert!(
        site.app
            .study(&who, bars)
            .await
            .unwrap()
            .text
            .contains("0.6")
    );
    let page = site.get(&format!("{BARS}/conflict")).await.text;
    assert!(page.contains("name=\"counter\" value=\"2\""));
    let form = [("base", "1"), ("counter", "2")];
    let gone = site.post(&format!("{BARS}/discard"), &form).await;
    assert_eq!(gone.status, StatusCode::SEE_OTHER);
}

/// A page's own counter that isn't one is no reason to change whatever stands.
#[tokio::test]
async fn a_counter_that_is_none_is_refused() {
    let site = Site::new().await;
    let cells = [
        ("base", "1"),
        ("counter", "x"),
        ("c:control:dry:salt", "0.4"),
    ];
    let told = site.post(&format!("{BARS}/sheet"), &cells).await;
    assert_eq!(told.status, StatusCode::BAD_REQUEST);
    assert!(told.text.contains("counter came as ‘x’"), "{}", told.text);
    for deed in ["undo", "redo", "save"] {
        let form = [("base", "1"), ("counter", "x")];
        let told = site.post(&format!("{BARS}/{deed}"), &form).await;
        assert_eq!(told.status, StatusCode::UNPROCESSABLE_ENTITY, "{deed}");
        assert!(told.text.contains("‘x’ is not a whole number"), "{deed}");
    }
}

/// An edit changes numbers and not the shape of the sheet: its answer holds the parts that differ, never the sheet.
#[tokio::test(flavor = "multi_thread")]
async fn an_edit_brings_the_parts_that_follow_and_not_the_whole_sheet() {
    let site = Site::new().await;
    for amount in ["0.4", "0.5"] {
        let page = site.get(BARS).await.text;
        let of = |name: &str| {
            let from = page.find(&format!(" {name}=\"")).unwrap() + name.len() + 3;
            page[from..from + page[from..].find('"').unwrap()].to_owned()
        };
        let (base, counter, shape) = (of("data-base"), of("data-counter"), of("data-shape"));
        let body = format!(
            r#"{{"base":{base},"counter":{counter},"per":"mix","shape":"{shape}","cells":{{"c:control:dry:salt":"{amount}"}}}}"#
        );
        let request = Request::post(format!("{BARS}/sheet"))
            .header(header::HOST, HOST)
            .header(header::ACCEPT, "application/json")
            .header(header::CONTENT_TYPE, "application/json");
        let told = site.ask(request.body(Body::from(body)).unwrap()).await;
        assert_eq!(told.status, StatusCode::OK, "{}", told.text);
        let answer: serde_json::Value = serde_json::from_str(&told.text).unwrap();
        assert!(answer["sheet"].is_null(), "{amount}: the whole sheet came");
        assert!(answer["pieces"].as_object().unwrap().len() > 50);
    }
}

/// One field that can't be read throws nothing away: what was typed stands in the form again, told beside the field.
#[tokio::test]
async fn a_certificate_with_one_bad_number_is_kept_as_typed() {
    let site = Site::new().await;
    let form = [
        ("v.name", "Barley flour, lot 17"),
        ("v.moisture_pct", "11.x"),
        ("v.crude_protein_pct", "10.4"),
        ("why", "certificate of the mill"),
    ];
    let told = site.post("/material/barley_flour", &form).await;
    assert_eq!(told.status, StatusCode::UNPROCESSABLE_ENTITY);
    for kept in [
        "Barley flour, lot 17",
        "value=\"11.x\"",
        "value=\"10.4\"",
        "certificate of the mill",
    ] {
        assert!(told.text.contains(kept), "{kept} is lost");
    }
    assert!(
        told.text.contains("‘11.x’ is not a number"),
        "the field isn’t told"
    );
    assert_eq!(told.text.matches("aria-invalid=\"true\"").count(), 1);
    // Values that can be read but can't be are kept as well.
    let form = [("v.moisture_pct", "11"), ("v.crude_protein_pct", "250")];
    let told = site.post("/material/barley_flour", &form).await;
    assert_eq!(told.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(told.text.contains("value=\"250\"") && told.text.contains("Nothing was saved yet"));
    let form = [("v.moisture_pct", "11"), ("v.crude_protein_pct", "10.4")];
    let saved = site.post("/material/barley_flour", &form).await;
    assert_eq!(saved.status, StatusCode::SEE_OTHER, "{}", saved.text);
}

/// A lot is written down with its certificate, told under the sheet, and taken; what can't be read stays as typed.
#[tokio::test]
async fn a_lot_is_written_down_told_and_taken() {
    let site = Site::new().await;
    let lots = "/material/wheat_flour_soft/lots";
    let form = [
        ("code", "W-77"),
        ("received", "yesterday"),
        ("certificate", "C 114 <b>"),
        ("v.moisture_pct", "9.2x"),
        ("v.spread.crude_protein_pct", "0.4"),
        ("v.crude_protein_pct", "11.4"),
    ];
    let told = site.post(lots, &form).await;
    assert_eq!(told.status, StatusCode::UNPROCESSABLE_ENTITY);
    for kept in [
        "value=\"9.2x\"",
        "value=\"0.4\"",
        "C 114 &lt;b&gt;",
        "‘yesterday’ is no date",
        "‘9.2x’ is not a number",
    ] {
        assert!(told.text.contains(kept), "{kept} is lost");
    }
    let form = [
        ("code", "W-77"),
        ("received", "2026-11-02"),
        ("certificate", "C 114 <b>"),
        ("v.moisture_pct", "9.2"),
    ];
    assert_eq!(site.post(lots, &form).await.status, StatusCode::SEE_OTHER);
    let page = site.get("/material/wheat_flour_soft?lot=W-77").await.text;
    assert!(page.contains("moisture, % 9.2") && page.contains("C 114 &lt;b&gt;"));
    let of_study = format!("{BARS}/lots");
    let told = site.get(&of_study).await.text;
    assert!(told.contains("W-77") && told.contains("Take this lot"));
    let take = [
        ("base", "1"),
        ("material", "wheat_flour_soft"),
        ("code", "W-77"),
    ];
    assert_eq!(
        site.post(&of_study, &take).await.status,
        StatusCode::SEE_OTHER
    );
    let told = site.get(&of_study).await.text;
    assert!(told.contains("in use") && !told.contains("Take this lot"));
    let none = [
        ("base", "1"),
        ("material", "wheat_flour_soft"),
        ("code", "W-0"),
    ];
    let told = site.post(&of_study, &none).await;
    assert_eq!(told.status, StatusCode::NOT_FOUND);
    assert!(told.text.contains("no lot ‘W-0’"));
}

/// Where something isn't known, what a lot would change says so as the sheet does: here nobody told the fibre of the paste, nor what it
/// costs.
#[tokio::test]
async fn what_a_lot_changes_carries_the_marks_of_what_is_not_known() {
    let site = Site::new().await;
    let text = include_str!("../../../examples/more/bench-oat.toml");
    let thing = site.app.create_from_text("Ada", text, None).await.unwrap();
    let lots = "/material/oat_flour/lots";
    let form = [("code", "O-3"), ("v.moisture_pct", "7.1")];
    assert_eq!(site.post(lots, &form).await.status, StatusCode::SEE_OTHER);
    let view = site.app.study("Ada", &thing).await.unwrap();
    let lot = &site.app.lots_in(&view).await.unwrap()[0];
    let answer = &lot.with[0].0.answer;
    use study::Figure::{BakeTime, CostPerKg, Fibre, Protein};
    let watched = [BakeTime, Protein, Fibre, CostPerKg].map(|f| f.about().key.to_owned());
    let change = |settings| {
        let watched = watched.to_vec();
        Ok(app::Settings {
            watched,
            ..settings
        })
    };
    site.app.change_settings(change).await.unwrap();
    assert_eq!(CostPerKg.value(answer), None);
    let fibre = Fibre.value(answer).unwrap();
    let told = site.get(&format!("/study/{thing}/lots")).await.text;
    assert!(
        told.contains("not known") && told.contains(&format!("≥ {fibre:.1}")),
        "{told}"
    );
    assert!(told.contains("something it stands on isn’t known"));
}

/// Discarding asks first, and shows what would go.
#[tokio::test]
async fn discarding_asks_and_shows_what_would_go() {
    let site = Site::new().await;
    edit(&site, "0.77").await;
    let page = site.get(BARS).await.text;
    let form = &page[..page.find("Discard draft").unwrap()];
    let form = &form[form.rfind("<form").unwrap()..];
    assert!(
        form.contains("method=\"get\"") && form.contains("/discard"),
        "{form}"
    );
    let asked = site.get(&format!("{BARS}/discard?room=line")).await;
    assert_eq!(asked.status, StatusCode::OK);
    assert!(asked.text.contains("Discard these changes?") && asked.text.contains("0.77"));
    assert!(
        site.get(BARS).await.text.contains("not saved"),
        "nothing goes unasked"
    );
    let form = [("base", "1"), ("counter", "1"), ("room", "line")];
    let gone = site.post(&format!("{BARS}/discard"), &form).await;
    assert_eq!(
        (gone.status, gone.to.as_str()),
        (StatusCode::SEE_OTHER, "/study/spent-grain-bars/line")
    );
}

/// A pasted block comes back as it was read, or with the question how it is meant; nothing is changed by asking.
#[tokio::test]
async fn a_pasted_block_is_read_by_the_program() {
    let site = Site::new().await;
    let paste = async |block: &str| {
        let body = serde_json::json!({ "base": 1, "per": "mix", "act": "paste", "fields": { "block": block } });
        let request = Request::post(format!("{BARS}/sheet"))
            .header(header::HOST, HOST)
            .header(header::ACCEPT, "application/json")
            .header(header::CONTENT_TYPE, "application/json");
        let told = site
            .ask(request.body(Body::from(body.to_string())).unwrap())
            .await;
        assert_eq!(told.status, StatusCode::OK, "{}", told.text);
        serde_json::from_str::<serde_json::Value>(&told.text).unwrap()
    };
    let sure = paste("58,5\t20,1").await;
    assert_eq!(
        sure["readings"][0]["rows"],
        serde_json::json!([["58.5", "20.1"]])
    );
    assert!(sure["which"].is_null());
    let ask = paste("58,5").await;
    assert_eq!(ask["readings"][0]["rows"], serde_json::json!([["58.5"]]));
    assert!(ask["which"].as_str().unwrap().contains("58.5"));
    // A list says what each name means, or what it may mean.
    let list = paste("Salt\t0.3\nbarly flour\t50").await;
    let shown = list["which"].as_str().unwrap();
    assert!(shown.contains("value=\"salt\"") && shown.contains("One name isn’t certain"));
    assert!(shown.contains("type=\"radio\" name=\"as.1\" value=\"barley_flour\""));
    let refused = paste("Salt\t0.3 g").await;
    assert!(refused["said"].as_str().unwrap().contains("‘0.3 g’"));
    assert!(site.get(BARS).await.text.contains("saved: revision 1"));
}

/// A list that was looked at becomes amounts as a whole: what was chosen for each name, and nothing where a name is left
/// open or one of its amounts can't be.
#[tokio::test]
async fn a_pasted_list_is_taken_as_it_was_chosen_or_not_at_all() {
    let site = Site::new().await;
    let lay = async |base: u64, counter: u64, fields: serde_json::Value| {
        let body = serde_json::json!({ "base": base, "counter": counter, "per": "mix", "act": "lay", "fields": fields });
        let request = Request::post(format!("{BARS}/sheet"))
            .header(header::HOST, HOST)
            .header(header::CONTENT_TYPE, "application/json");
        let told = site
            .ask(request.body(Body::from(body.to_string())).unwrap())
            .await;
        assert_eq!(told.status, StatusCode::OK, "{}", told.text);
        serde_json::from_str::<serde_json::Value>(&told.text).unwrap()
    };
    let block = "Salt\t0.45\nbarly flour\t5\nwater\t20";
    let open =
        serde_json::json!({ "block": block, "to.0": "control", "as.0": "salt", "as.2": "water" });
    let told = lay(1, 0, open).await;
    assert!(
        told["said"].as_str().unwrap().contains("‘barly flour’"),
        "{told}"
    );
    let wrong = serde_json::json!({ "block": block, "to.0": "control", "as.0": "salt", "as.1": "?", "other.1": "barley", "as.2": "salt" });
    assert!(lay(1, 0, wrong).await["said"].is_string());
    let less = serde_json::json!({ "block": "Salt\t-1\nMolasses\t2", "to.0": "control", "as.0": "salt", "as.1": "molasses" });
    assert!(lay(1, 0, less).await["said"].is_string());
    assert!(site.get(BARS).await.text.contains("saved: revision 1"));
    let chosen = serde_json::json!({ "block": block, "to.0": "control", "as.0": "salt", "as.1": "barley_flour", "as.2": "-" });
    let told = lay(1, 0, chosen).await;
    assert!(told["said"].is_null(), "{told}");
    let text = site
        .app
        .study(&site.app.settings().await.unwrap().who, "spent-grain-bars")
        .await
        .unwrap()
        .text;
    assert!(
        text.contains("0.45") && text.contains("barley_flour\""),
        "{text}"
    );
}
