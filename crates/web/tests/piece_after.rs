//! The piece and what comes after the oven, through the router, without a socket. Expected numbers are school geometry
//! or follow from the text of the demonstration, unless a source stands beside them.

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
const FORM: &str = "application/x-www-form-urlencoded";

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
        let request = Request::get(format!("{BARS}/{path}")).header(header::HOST, HOST);
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

    async fn send(&self, path: &str, kind: &str, accept: &str, body: &str) -> (StatusCode, String) {
        let request = Request::post(format!("{BARS}/{path}"))
            .header(header::HOST, HOST)
            .header(header::CONTENT_TYPE, kind)
            .header(header::ACCEPT, accept);
        self.ask(request.body(Body::from(body.to_owned())).unwrap())
            .await
    }

    async fn post(&self, path: &str, body: &str) -> (StatusCode, String) {
        self.send(path, FORM, "text/html", body).await
    }

    /// What is refused, by field.
    async fn refused(&self, path: &str, body: &str) -> Value {
        let (status, text) = self.send(path, FORM, "application/json", body).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{text}");
        serde_json::from_str::<Value>(&text).unwrap()["fields"].clone()
    }

    async fn file(&self, unit_mm: &str, svg: &str) -> (StatusCode, String) {
        let mut body = String::new();
        for (name, value) in [
            ("base", "1"),
            ("treatment", "barley"),
            ("whose", "own"),
            ("unit_mm", unit_mm),
        ] {
            body.push_str(&format!(
                "--b\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n"
            ));
        }
        body.push_str(&format!(
            "--b\r\nContent-Disposition: form-data; name=\"file\"; filename=\"o.svg\"\r\nContent-Type: image/svg+xml\r\n\r\n{svg}\r\n--b--\r\n"
        ));
        self.send(
            "piece/file",
            "multipart/form-data; boundary=b",
            "text/html",
            &body,
        )
        .await
    }
}

fn told<'a>(json: &'a Value, id: &str) -> &'a Value {
    let all = json["treatments"].as_array().unwrap();
    &all.iter().find(|t| t["id"] == id).unwrap()["told"]
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// A form of the piece as the page sends it, for the study's piece.
fn piece(rest: &str) -> String {
    format!(
        "base=1&room=piece&treatment=barley&whose=study&thickness_mm=8&docker.pattern=grid&docker.count=10&{rest}"
    )
}

#[tokio::test(flavor = "multi_thread")]
async fn both_pages_stand_by_themselves() {
    let site = Site::new().await;
    for path in [
        "piece",
        "piece?treatment=rotary&gap_mm=5",
        "after",
        "after?treatment=barley&beside=none",
    ] {
        let (status, text) = site.get(path).await;
        assert_eq!(status, StatusCode::OK, "{path}: {text}");
        assert!(
            !text.contains(" style=\"") && !text.contains("<style"),
            "{path}"
        );
        assert!(
            !text.contains(" onclick") && !text.contains("<script>"),
            "{path}"
        );
        assert!(text.contains("<svg") && text.contains("<form"), "{path}");
    }
    for bad in ["piece?treatment=nobody", "after?treatment=nobody"] {
        assert_eq!(site.get(bad).await.0, StatusCode::NOT_FOUND, "{bad}");
    }
    let (status, text) = site.get("piece?gap_mm=9999").await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(text.contains("gap is 9999 mm"), "{text}");
}

/// A triangle of 60 by 40 mm: 12 cm², two sides of 50 mm.
#[tokio::test(flavor = "multi_thread")]
async fn another_outline_is_another_piece_for_all_that_share_it() {
    let site = Site::new().await;
    let before = site.json("piece").await;
    let rotary = told(&before, "rotary").clone();
    let form =
        piece("outline=polygon&points_mm=0,0+60,0+30,40&docker.diameter_mm=2&q.treatment=barley");
    let (status, text) = site.post("piece", &form).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    let after = site.json("piece").await;
    for id in ["control", "barley", "wet"] {
        let t = told(&after, id);
        assert!((number(&t["outline_area_cm2"]) - 12.0).abs() < 1e-9, "{id}");
        assert!((number(&t["perimeter_mm"]) - 160.0).abs() < 1e-9, "{id}");
    }
    // One with an outline of its own keeps it.
    assert_eq!(told(&after, "rotary")["outline_mm"], rotary["outline_mm"]);
    assert_eq!(after["state"]["draft"]["base"], 1);
    // One step back, and the bar is there again.
    assert_eq!(
        site.post("undo", "room=piece").await.0,
        StatusCode::SEE_OTHER
    );
    assert_eq!(site.json("piece").await["treatments"], before["treatments"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn holes_of_a_treatment_alone_leave_the_others_as_they_are() {
    let site = Site::new().await;
    let own = |rest: &str| {
        piece(&format!(
            "outline=bar&length_mm=60&width_mm=30&corner_radius_mm=3&docker.diameter_mm=2&{rest}"
        ))
        .replace("whose=study", "whose=own")
        .replace("&docker.pattern=grid&docker.count=10", "")
    };
    for (rest, count, through) in [
        (
            "docker.pattern=points&docker.points_mm=-10,0+10,0&docker.depth_mm=5",
            2,
            false,
        ),
        ("docker.pattern=axis&docker.count=3", 3, true),
        (
            "docker.pattern=ring&docker.count=6&docker.ring_mm=12",
            6,
            true,
        ),
        ("docker.pattern=grid&docker.count=0", 0, true),
    ] {
        let (status, text) = site.post("piece", &own(rest)).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{rest}: {text}");
        let json = site.json("piece").await;
        let docker = &told(&json, "barley")["docker"];
        assert_eq!(
            docker["centres_m"].as_array().unwrap().len(),
            count,
            "{rest}"
        );
        assert_eq!(docker["through"], through, "{rest}");
        let control = &told(&json, "control")["docker"];
        assert_eq!(control["centres_m"].as_array().unwrap().len(), 10, "{rest}");
    }
    // Back to the study's piece.
    let back = "base=1&room=piece&edit=set_field&treatment=barley&path=piece&value=";
    assert_eq!(site.post("edit", back).await.0, StatusCode::SEE_OTHER);
    let json = site.json("piece?treatment=barley").await;
    assert_eq!(json["shown"]["own"], false);
    assert_eq!(
        told(&json, "barley")["docker"],
        told(&json, "control")["docker"]
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_cannot_be_cut_is_told_at_its_field_and_nothing_is_kept() {
    let site = Site::new().await;
    let before = site.json("piece").await;
    for (form, field, wanted) in [
        (
            "outline=polygon&points_mm=0,0+60,40+60,0+0,40",
            "points_mm",
            "crosses or touches itself near (30.000, 20.000)",
        ),
        (
            "outline=polygon&points_mm=0,0+60,4O+60,0",
            "points_mm",
            "isn't a number",
        ),
        (
            "outline=path&path=M0+0+L60+0+L60+40&unit_mm=1",
            "path",
            "close it with Z",
        ),
        (
            "outline=path&path=M0+0+L60+0+L60+40Z",
            "unit_mm",
            "fill it in",
        ),
        (
            "outline=bar&length_mm=6000&width_mm=30",
            "length_mm",
            "It is 6000; allowed is a number in mm, 4 to 500.",
        ),
        (
            "outline=bar&length_mm=wide&width_mm=30",
            "length_mm",
            "is not a number",
        ),
        ("outline=round&diameter_mm=", "diameter_mm", "fill it in"),
        (
            "outline=bar&length_mm=60&width_mm=30&docker.depth_mm=12",
            "docker.depth_mm",
            "12 mm depth in a piece of 8 mm",
        ),
        (
            "outline=bar&length_mm=60&width_mm=30&docker.diameter_mm=50",
            "docker.diameter_mm",
            "0.5 to 10",
        ),
    ] {
        let fields = site.refused("piece", &piece(form)).await;
        let told = fields[field].as_str().unwrap_or_default();
        assert!(told.contains(wanted), "{form}: {fields}");
    }
    let outside = piece("outline=bar&length_mm=60&width_mm=30&docker.points_mm=40,0")
        .replace("pattern=grid", "pattern=points");
    let fields = site.refused("piece", &outside).await;
    assert!(
        fields
            .to_string()
            .contains("(40.00, 0.00) mm lies outside the outline"),
        "{fields}"
    );
    assert_eq!(site.json("piece").await, before);
    // The page comes back with what was typed.
    let (status, text) = site
        .post(
            "piece",
            &piece("outline=polygon&points_mm=0,0+60,40+60,0+0,40"),
        )
        .await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        text.contains("0,0 60,40 60,0 0,40</textarea>"),
        "what was typed is lost"
    );
    assert!(text.contains("id=\"refused-points_mm\""));
}

/// An ellipse of 60 by 40 units of half a millimetre: π/4 · 3 · 2 cm².
#[tokio::test(flavor = "multi_thread")]
async fn an_outline_comes_out_of_a_file() {
    let site = Site::new().await;
    let ellipse = "<ellipse cx=\"30\" cy=\"20\" rx=\"30\" ry=\"20\"/></svg>";
    let plain =
        format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 60 40\">{ellipse}");
    let (status, text) = site.file("", &plain).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(text.contains("how many mm is one of its units?"), "{text}");
    let scaled = plain.replace("viewBox", "width=\"30mm\" viewBox");
    for (unit, file) in [("0.5", &plain), ("", &scaled)] {
        let (status, text) = site.file(unit, file).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
        let area = number(&told(&site.json("piece").await, "barley")["outline_area_cm2"]);
        assert!(
            (area / (1.5 * std::f64::consts::PI) - 1.0).abs() < 1e-5,
            "{area}"
        );
    }
    for (bad, wanted) in [
        (
            plain.replace("</svg>", "<path d=\"M0 0\"/></svg>"),
            "2 shapes",
        ),
        (
            plain.replace("<ellipse", "<ellipse transform=\"scale(2)\""),
            "is moved, turned or scaled",
        ),
        ("not a drawing".to_owned(), "can be read"),
    ] {
        let (status, text) = site.file("1", &bad).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(text.contains(wanted), "{wanted}");
    }
}

/// A tighter film, less of it, a drier store: each keeps longer (common practice, no source).
#[tokio::test(flavor = "multi_thread")]
async fn the_pack_is_kept_with_the_study_and_changes_how_long_it_keeps() {
    let site = Site::new().await;
    let days = |json: &Value| number(&told(json, "control")["keeping"]["crisp_days"]);
    // The demonstration is packed near the usual limit of crispness; a mouth that minds less makes room.
    let form =
        "base=1&room=after&treatment=control&whose=study&crisp_water_activity=0.62&keep_months=60";
    let (status, text) = site.post("after", &format!("{form}&film=opp")).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    let before = days(&site.json("after").await);
    let mut last = before;
    for rest in [
        "film=hdpe&climate=25/75",
        "film=opp&climate=25/75",
        "film=opp",
        "film=opp&area_cm2=700",
        "film=own&film_g_m2_day=2&area_cm2=700",
    ] {
        let (status, text) = site.post("after", &format!("{form}&{rest}")).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{rest}: {text}");
        let json = site.json("after").await;
        let now = days(&json);
        if rest.starts_with("film=hdpe") {
            assert!(now < before, "{rest}: {now} {before}");
        } else {
            assert!(now > last, "{rest}: {now} {last}");
        }
        last = now;
        // The textbook's straight isotherm is of the same size.
        let closed = number(&told(&json, "control")["keeping"]["crisp_days_closed_form"]);
        assert!(
            closed > 0.3 * now && closed < 3.0 * now,
            "{rest}: {closed} {now}"
        );
    }
    assert!(site.json("after").await["state"]["draft"]["base"] == 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_pack_that_cannot_be_is_told_at_its_field() {
    let site = Site::new().await;
    let form = "base=1&room=after&treatment=control&whose=study";
    for (rest, field, wanted) in [
        ("film=paper", "film", "uncoated kraft paper"),
        ("film=glass", "film", "no film is called"),
        ("film=own", "film_g_m2_day", "fill it in"),
        ("film=opp&area_cm2=0", "area_cm2", "10 to 1000000"),
        ("film=opp&climate=hot", "climate", "‘hot’ is no climate"),
        (
            "film=opp&climate=25/65,99/50",
            "climate",
            "‘99/50’ is no climate",
        ),
        ("film=opp&keep_months=NaN", "keep_months", "is not a number"),
    ] {
        let fields = site.refused("after", &format!("{form}&{rest}")).await;
        let told = fields[field].as_str().unwrap_or_default().to_lowercase();
        assert!(told.contains(wanted), "{rest}: {fields}");
    }
    assert!(site.json("after").await["state"]["draft"].is_null());
}

#[tokio::test(flavor = "multi_thread")]
async fn the_index_is_told_as_uncalibrated_and_growth_with_caution() {
    let site = Site::new().await;
    let (_, text) = site.get("after").await;
    assert!(text.contains("isn’t calibrated"));
    assert!(text.contains("Salmonella survives in dry biscuits for months"));
    let json = site.json("after").await;
    let changes = json["shown"]["checking_changes"].as_array().unwrap();
    assert_eq!(changes.len(), 5);
    let relative = |word: &str| {
        let one = changes.iter().find(|c| c["change"] == word).unwrap();
        number(&one["relative"])
    };
    // Post-baking cooler and cooling in warm moist air lower it (common practice, no source).
    assert!(relative("cooler_last_zone") < 0.0 && relative("warm_moist_cooling") < 0.0);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_study_that_cannot_be_worked_out_still_has_its_form() {
    let site = Site::new().await;
    // A round piece needs a diameter, which a bar has none of.
    let form = "edit=set_field&base=1&room=bake&path=piece.outline&value=round";
    assert_eq!(site.post("edit", form).await.0, StatusCode::SEE_OTHER);
    let (status, text) = site.get("piece").await;
    assert_eq!(status, StatusCode::OK);
    assert!(
        text.contains("There is no piece to draw yet.") && text.contains("name=\"diameter_mm\"")
    );
    let (status, text) = site.get("after").await;
    assert_eq!(status, StatusCode::OK);
    assert!(text.contains("Nothing can be worked out"));
    // And the form puts it right: π/4 · 5² cm².
    let (status, text) = site
        .post(
            "piece",
            &piece("outline=round&diameter_mm=50&docker.diameter_mm=2"),
        )
        .await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    let area = number(&told(&site.json("piece").await, "control")["outline_area_cm2"]);
    assert!((area - 19.634_954).abs() < 1e-5, "{area}");
}

/// 2.5 inches are 63.5 mm and 122 °F are 50 °C, by definition of the units.
#[tokio::test(flavor = "multi_thread")]
async fn inches_are_shown_and_read_when_asked() {
    let site = Site::new().await;
    let request = Request::post("/settings")
        .header(header::HOST, HOST)
        .header(header::CONTENT_TYPE, FORM)
        .body(Body::from(
            "who=me&units=us&currency=EUR&dates=iso&decimal=point",
        ))
        .unwrap();
    assert_eq!(site.ask(request).await.0, StatusCode::SEE_OTHER);
    let (_, text) = site.get("piece?treatment=barley").await;
    assert!(text.contains("value=\"2.3622\""), "60 mm are 2.3622 in");
    // What is shown and left as it is stays 60 mm by 30 mm to the last digit; what is typed is read as inches.
    let form = "base=1&room=piece&treatment=barley&whose=study&outline=bar&length_mm=2.5&width_mm=1.1811&corner_radius_mm=0.1181\
                &thickness_mm=0.315&docker.pattern=grid&docker.count=10&docker.diameter_mm=0.0787";
    let (status, text) = site.post("piece", form).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    let json = site.json("piece").await;
    let barley = told(&json, "barley");
    assert!(
        (number(&barley["length_mm"]) - 63.5).abs() < 1e-9,
        "{barley}"
    );
    assert!(
        (number(&barley["width_mm"]) - 30.0).abs() < 1e-9,
        "{barley}"
    );
    assert!((number(&barley["docker"]["diameter_m"]) - 0.002).abs() < 1e-12);
    let (_, text) = site.get("after").await;
    assert!(
        text.contains("95 °F") && !text.contains("35 °C after"),
        "35 °C is 95 °F"
    );
}
