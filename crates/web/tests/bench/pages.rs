//! The pages of the bench through the router: forms that work without a script.

use app::{App, TrialAsked};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use bench::{Nature, Station, What, demonstration};
use book::{BenchEntry, Kind};
use std::net::SocketAddr;
use tempfile::TempDir;
use tower::ServiceExt;
use trials::plan::Unit;
use web::{Names, router};

pub(crate) const HOST: &str = "127.0.0.1:4711";

pub(crate) struct Site {
    pub(crate) _folder: TempDir,
    pub(crate) app: App,
    pub(crate) router: Router,
    pub(crate) batch: String,
}

impl Site {
    /// The demonstration with a trial whose batches are all to do.
    pub(crate) async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(&folder.path().join("lab.book")).await.unwrap();
        let asked = TrialAsked {
            name: "Another day <i>".to_owned(),
            question: String::new(),
            study: "spent-grain-bars".to_owned(),
            wish: demonstration::wish(),
            unit: Unit::Batch,
            seed: 3,
            control: Some("control".to_owned()),
            responses: demonstration::responses(),
            pieces: Some(60),
            loss_pct: 5.0,
            blind: true,
        };
        let trial = app.keep_trial("Ada", &asked, None).await.unwrap();
        let batch = app.trial(&trial).await.unwrap().made[0].id.clone();
        let address: SocketAddr = HOST.parse().unwrap();
        let router = router(app.clone(), Names::of(address));
        Self {
            _folder: folder,
            app,
            router,
            batch,
        }
    }

    /// The material that is weighed first, and its name.
    async fn first_material(&self) -> (String, String) {
        let batch = self.app.batch(&self.batch).await.unwrap().made.batch;
        let line = self.app.weigh_list(&batch).await.unwrap().remove(0);
        (line.material, line.name)
    }

    pub(crate) async fn ask(&self, request: Request<Body>) -> (StatusCode, String) {
        let response = self.router.clone().oneshot(request).await.unwrap();
        let status = response.status();
        let bytes = to_bytes(response.into_body(), 64_000_000).await.unwrap();
        (status, String::from_utf8_lossy(&bytes).into_owned())
    }

    pub(crate) async fn get(&self, path: &str) -> String {
        let request = Request::get(path).header(header::HOST, HOST);
        let (status, text) = self.ask(request.body(Body::empty()).unwrap()).await;
        assert_eq!(status, StatusCode::OK, "{path}: {text}");
        text
    }

    pub(crate) async fn at(&self, station: Station) -> String {
        self.get(&format!("/bench/{}/{}", self.batch, station.word()))
            .await
    }

    pub(crate) async fn post(&self, station: &str, form: &[(&str, &str)]) -> (StatusCode, String) {
        let request = Request::post(format!("/bench/{}/{station}", self.batch))
            .header(header::HOST, HOST)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header("sec-fetch-site", "same-origin")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        let pairs: Vec<String> = form
            .iter()
            .map(|(k, v)| format!("{k}={}", encoded(v)))
            .collect();
        self.ask(request.body(Body::from(pairs.join("&"))).unwrap())
            .await
    }

    pub(crate) async fn keeps(&self, station: &str, form: &[(&str, &str)]) {
        let (status, text) = self.post(station, form).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{form:?}: {text}");
    }

    pub(crate) async fn rows(&self) -> Vec<BenchEntry> {
        let book = self.app.book();
        book.entries_of(Kind::Batch, &self.batch, 0).await.unwrap()
    }
}

fn encoded(text: &str) -> String {
    text.bytes().map(|b| format!("%{b:02X}")).collect()
}

#[tokio::test]
async fn the_bench_lists_open_batches_by_their_codes_and_every_station_has_what_the_list_tells() {
    let site = Site::new().await;
    let list = site.get("/bench").await;
    assert!(list.contains("batch 1 of 12") && list.contains("to do"));
    assert!(list.contains("Another day &lt;i&gt;") && !list.contains("<i>"));
    assert!(
        list.contains("12 closed"),
        "the demonstration’s day is over"
    );
    let batch = site.app.batch(&site.batch).await.unwrap().made.batch;
    for station in Station::ALL {
        let page = site.at(station).await;
        assert!(
            !page.contains(&format!("<b>{}", batch.label)),
            "a blind trial names nothing"
        );
        for word in Station::ALL.map(Station::word) {
            assert!(page.contains(&format!("/{word}\"")), "{word}");
        }
        let here = What::ALL
            .into_iter()
            .filter(|w| w.about().station == station);
        for what in here {
            // A tray out, a signature and a probe's height need something first; pictures and curves come otherwise.
            let later = [
                What::OvenOut,
                What::Signed,
                What::SetAside,
                What::Observed,
                What::ObservedOf,
                What::ProbeHeight,
                What::LineMass,
                What::LineMoisture,
            ];
            let in_a_file = matches!(what.about().nature, Nature::Picture | Nature::Curve);
            if later.contains(&what) || in_a_file {
                continue;
            }
            let form = format!("data-enter=\"{}\"", what.about().word);
            assert!(page.contains(&form), "{what:?} at {}", station.word());
        }
    }
}

#[tokio::test]
async fn forms_without_a_script_enter_rows_and_tell_what_they_come_to() {
    let site = Site::new().await;
    let rows: &[(&str, &[(&str, &str)])] = &[
        (
            "weigh",
            &[
                ("what", "weighed"),
                ("of", "salt"),
                ("value", "31.50"),
                ("unit", "g"),
            ],
        ),
        (
            "water",
            &[("what", "dose"), ("value", "500"), ("unit", "g")],
        ),
        (
            "water",
            &[("what", "dose"), ("value", "0.25"), ("unit", "kg")],
        ),
        ("water", &[("what", "feel"), ("value", "3")]),
        ("water", &[("what", "dough-right"), ("value", "yes")]),
        ("cut", &[("what", "cut-whole"), ("value", "5")]),
        ("cut", &[("what", "cut-broken"), ("value", "1")]),
        ("cut", &[("what", "cut-whole"), ("value", "-1")]),
        (
            "oven",
            &[("what", "oven-in"), ("of", "1"), ("value", "yes")],
        ),
        ("sheet", &[("what", "note"), ("value", "a draught")]),
    ];
    for (station, form) in rows {
        site.keeps(station, form).await;
    }
    let kept = site.rows().await;
    let words: Vec<&str> = kept.iter().map(|r| r.row.what.as_str()).collect();
    let wanted: Vec<&str> = rows.iter().map(|(_, form)| form[0].1).collect();
    assert_eq!(words, wanted);
    assert_eq!(kept[0].row.value, "31.50", "as it was typed");
    let water = site.at(Station::Water).await;
    assert!(water.contains("0.750</output> kg of water"), "{water}");
    assert!(water.contains("The dough was called right by"));
    let cut = site.at(Station::Cut).await;
    assert!(
        cut.contains("data-out-of=\"\">5</span> so far") && cut.contains("A piece leaves whole")
    );
    assert!(site.at(Station::Oven).await.contains("in for "));
    // A form that is sent twice, by an impatient hand, is kept once.
    let twice = [
        ("what", "cut-stuck"),
        ("value", "1"),
        ("key", "from-the-page"),
    ];
    site.keeps("cut", &twice).await;
    site.keeps("cut", &twice).await;
    assert_eq!(site.rows().await.len(), rows.len() + 1);
    // Signed is what was shown last.
    let hash = site.rows().await.last().unwrap().hash.clone();
    let sheet = site.at(Station::Sheet).await;
    assert!(sheet.contains(&format!("value=\"{hash}\"")));
    site.keeps("sheet", &[("what", "signed"), ("value", &hash)])
        .await;
    site.keeps("cut", &[("what", "cut-whole"), ("value", "1")])
        .await;
    assert!(site.at(Station::Cut).await.contains("after signing"));
    assert!(site.at(Station::Sheet).await.contains("Signed by "));
}

#[tokio::test]
async fn what_cant_be_kept_is_told_beside_its_field_and_nothing_typed_is_lost() {
    let site = Site::new().await;
    let before = site.rows().await.len();
    for (station, form, word) in [
        (
            "water",
            &[("what", "dose"), ("value", "a cup"), ("unit", "g")][..],
            "a cup",
        ),
        (
            "dough",
            &[
                ("what", "dough-temperature"),
                ("value", "140"),
                ("unit", "°F"),
            ],
            "lies beyond 41 to 140",
        ),
        (
            "dough",
            &[("what", "dough-temperature"), ("value", "99")],
            "lies beyond 5 to 60",
        ),
        (
            "oven",
            &[("what", "oven-in"), ("value", "yes")],
            "Name the tray first",
        ),
        (
            "sheet",
            &[("what", "note"), ("value", " ")],
            "nothing in it",
        ),
    ] {
        let (status, page) = site.post(station, form).await;
        if form.iter().any(|f| f.1 == "140") {
            // 140 °F are 60 °C, the highest that is plausible.
            assert_eq!(status, StatusCode::SEE_OTHER, "{page}");
            continue;
        }
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{form:?}");
        assert!(page.contains(word), "{word}: {page}");
        if form[1].1.trim().len() > 1 && form[1].1 != "yes" {
            assert!(page.contains(&format!("value=\"{}\"", form[1].1)));
        }
    }
    assert_eq!(site.rows().await.len(), before + 1);
    // Confirmed, it is kept and marked.
    let sure = [
        ("what", "dough-temperature"),
        ("value", "99"),
        ("why", "it lay on the oven"),
    ];
    site.keeps("dough", &sure).await;
    let page = site.at(Station::Dough).await;
    assert!(page.contains("confirmed: it lay on the oven"), "{page}");
    for (path, form) in [
        ("kettle", &[("what", "note"), ("value", "x")]),
        ("water", &[("what", "kettle"), ("value", "x")]),
    ] {
        let (status, _) = site.post(path, form).await;
        assert!(status.is_client_error(), "{path}");
    }
    let request = Request::get("/bench/no-such-batch/water").header(header::HOST, HOST);
    let (status, _) = site.ask(request.body(Body::empty()).unwrap()).await;
    assert_eq!(status, StatusCode::NOT_FOUND);
}

/// What speaks against an entry is told beside its field once; with a reason it is kept, and marked.
#[tokio::test]
async fn what_speaks_against_an_entry_is_told_beside_its_field_and_kept_with_a_reason() {
    let site = Site::new().await;
    site.keeps("water", &[("what", "dough-right"), ("value", "yes")])
        .await;
    site.keeps("cut", &[("what", "cut"), ("value", "6")]).await;
    site.keeps("cut", &[("what", "cut-whole"), ("value", "5")])
        .await;
    site.keeps(
        "oven",
        &[("what", "oven-in"), ("of", "1"), ("value", "yes")],
    )
    .await;
    let first = site.first_material().await.0;
    let lot = |of| {
        [("what", "lot"), ("of", "MATERIAL"), ("value", of)]
            .map(|(n, v)| (n, if v == "MATERIAL" { first.as_str() } else { v }))
    };
    site.keeps("weigh", &lot("F-12")).await;
    type Case = (
        &'static str,
        &'static [(&'static str, &'static str)],
        &'static str,
    );
    let cases: [Case; 6] = [
        (
            "water",
            &[("what", "dose"), ("value", "50"), ("unit", "g")],
            "This dough was called right",
        ),
        (
            "cut",
            &[("what", "cut-broken"), ("value", "5")],
            "would make 10 pieces, and 6 were cut",
        ),
        (
            "cut",
            &[("what", "cut-stuck"), ("value", "-1")],
            "below nothing",
        ),
        (
            "oven",
            &[("what", "oven-out"), ("of", "7"), ("value", "yes")],
            "Tray 7 isn’t in the oven",
        ),
        (
            "oven",
            &[("what", "oven-in"), ("of", "1"), ("value", "yes")],
            "Tray 1 is in the oven already",
        ),
        (
            "weigh",
            &[("what", "lot"), ("of", "MATERIAL"), ("value", "F-21")],
            "There is no lot ‘F-21’ of it in the book yet; there is F-12",
        ),
    ];
    for (station, form, told) in cases {
        let before = site.rows().await.len();
        let named = |v| if v == "MATERIAL" { first.as_str() } else { v };
        let form: Vec<(&str, &str)> = form.iter().map(|(n, v)| (*n, named(v))).collect();
        let (status, page) = site.post(station, &form).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{form:?}");
        assert_eq!(site.rows().await.len(), before);
        assert!(page.contains(told), "{told}: {page}");
        let sure: Vec<(&str, &str)> = form.iter().copied().chain([("why", "it is so")]).collect();
        site.keeps(station, &sure).await;
        assert_eq!(
            site.rows().await.last().unwrap().row.why.as_deref(),
            Some("it is so")
        );
    }
    site.keeps("weigh", &lot("f-12")).await;
    // A unit that measures something else is told, whatever reason is given.
    let (status, page) = site
        .post(
            "water",
            &[
                ("what", "dose"),
                ("value", "50"),
                ("unit", "mm"),
                ("why", "it is so"),
            ],
        )
        .await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        page.contains("mm") && page.contains("value=\"50\""),
        "{page}"
    );
    // What came in by other ways and can’t be is told beside its row, or at the station.
    assert!(
        site.at(Station::Water)
            .await
            .contains("came after the dough had been called right")
    );
    assert!(site.at(Station::Cut).await.contains("but 6 were cut"));
    assert!(
        site.at(Station::Oven)
            .await
            .contains("nobody wrote when it went in")
    );
}

#[tokio::test]
async fn entries_name_what_they_are_about_and_a_value_set_aside_stays_readable() {
    let site = Site::new().await;
    let (material, name) = site.first_material().await;
    let weighed = [
        ("what", "weighed"),
        ("of", material.as_str()),
        ("value", "1"),
        ("unit", "kg"),
    ];
    site.keeps("weigh", &weighed).await;
    let page = site.at(Station::Weigh).await;
    assert!(
        page.contains(&format!("weighed {name}: 1\u{a0}kg")) && name != material,
        "{page}"
    );
    let moisture = [
        ("what", "moisture"),
        ("of", "moisture_130_percent"),
        ("value", "8.2"),
    ];
    site.keeps("after", &moisture).await;
    let page = site.at(Station::After).await;
    assert!(
        !page.contains("<b>moisture at the end moisture_130"),
        "{page}"
    );
    let key = site.rows().await.last().unwrap().row.key.clone();
    let (status, page) = site
        .post(
            "after",
            &[("what", "set-aside"), ("of", &key), ("value", " ")],
        )
        .await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.contains("nothing in it"), "{page}");
    site.keeps(
        "after",
        &[
            ("what", "set-aside"),
            ("of", &key),
            ("value", "the dish <b>fell</b>"),
        ],
    )
    .await;
    let page = site.at(Station::After).await;
    assert!(page.contains("set aside: the dish &lt;b&gt;fell&lt;/b&gt;") && page.contains("8.2"));
    assert!(!page.contains("Set it aside"), "it is set aside already");
    assert!(
        site.at(Station::Sheet)
            .await
            .contains("set aside moisture at the end 8.2")
    );
    let made = site.app.at_bench(&site.batch).await.unwrap().made;
    assert!(made.state.values.iter().any(|v| v.set_aside().is_some()));
}

#[tokio::test]
async fn the_belief_is_drawn_with_the_doses_and_words_for_who_cant_see_it() {
    let site = Site::new().await;
    let page = site.at(Station::Water).await;
    assert!(page.contains("<svg class=\"strip\"") && page.contains("Doses so far: none"));
    assert!(page.contains("as advised"));
    site.keeps(
        "water",
        &[("what", "dose"), ("value", "100"), ("unit", "g")],
    )
    .await;
    let page = site.at(Station::Water).await;
    let here = site.app.at_bench(&site.batch).await.unwrap();
    let water = here.made.state.water.per_100kg.unwrap();
    assert!(
        page.contains(&format!("Doses so far: {water:.1}")),
        "{page}"
    );
    let of = |name: &str| -> f64 {
        let (_, rest) = page.split_once(&format!("{name}=\"")).unwrap();
        rest.split('"').next().unwrap().parse().unwrap()
    };
    // The dot stands where the scale has it.
    let x = 600.0 * (water - of("data-low")) / (of("data-high") - of("data-low"));
    assert!(page.contains(&format!("<circle cx=\"{x}\"")), "{x}: {page}");
}

#[tokio::test]
async fn a_struck_entry_stays_readable_and_hostile_text_is_but_text() {
    let site = Site::new().await;
    let hostile = "<script>alert(1)</script>\u{202e}\"'&";
    site.keeps("sheet", &[("what", "note"), ("value", hostile)])
        .await;
    let dose = [("what", "dose"), ("value", "9"), ("unit", "kg")];
    site.keeps("water", &dose).await;
    let key = site.rows().await.last().unwrap().row.key.clone();
    let strike = |why: &'static str| {
        [
            ("what", "dose"),
            ("strikes", &*key),
            ("value", "0.9"),
            ("unit", "kg"),
            ("why", why),
        ]
    };
    let (status, page) = site.post("water", &strike(" ")).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.contains("Say why it is wrong") && page.contains("value=\"0.9\""));
    site.keeps("water", &strike("a point <b>forgotten</b>"))
        .await;
    let page = site.at(Station::Water).await;
    assert!(page.contains("<s>water: 9\u{a0}kg</s>"), "{page}");
    assert!(
        page.contains("a point &lt;b&gt;forgotten&lt;/b&gt;") && !page.contains("<b>forgotten")
    );
    assert!(page.contains("0.900</output> kg of water"));
    // Struck through with nothing in its place.
    let key = site.rows().await[0].row.key.clone();
    let strike = [("what", "note"), ("strikes", &*key), ("why", "not mine")];
    site.keeps("sheet", &strike).await;
    let page = site.at(Station::Sheet).await;
    assert!(page.contains("&lt;script&gt;alert(1)") && !page.contains("<script>alert"));
    assert!(page.contains("not mine"));
    // A name that is an attack is no batch.
    let request = Request::get("/bench/%3Cscript%3E/water").header(header::HOST, HOST);
    let (status, text) = site.ask(request.body(Body::empty()).unwrap()).await;
    assert!(status == StatusCode::NOT_FOUND && !text.contains("<script>/"));
    let (_, text) = site
        .post("water", &[("what", "<script>alert(2)</script>")])
        .await;
    assert!(!text.contains("<script>alert(2)"));
}

/// The batch sheet on paper has every station and everything that was entered, struck through or not.
#[tokio::test]
async fn the_whole_batch_sheet_is_one_page() {
    let site = Site::new().await;
    let of_day = site.get("/bench/bite-b05/paper").await;
    for station in Station::ALL.map(Station::word) {
        assert!(of_day.contains(&format!("<h2>{station}</h2>")), "{station}");
    }
    let rows = site.app.book().entries_of(Kind::Batch, "bite-b05", 0);
    let rows = rows.await.unwrap();
    assert_eq!(
        of_day.matches("<td class=\"words\">").count(),
        2 * rows.len()
    );
    // A slip of the pen stays readable with its reason; the signature names its hash.
    assert!(of_day.contains("<s>") && of_day.contains("the point was one place off"));
    let hash = &rows.last().unwrap().row.value;
    assert!(hash.len() > 20 && of_day.contains(hash.as_str()), "{hash}");
    // Nothing is entered yet: room to write, and nobody signed.
    let empty = site.get(&format!("/bench/{}/paper", site.batch)).await;
    assert!(empty.contains("Nothing is entered") && empty.contains("checked by"));
    assert!(empty.contains("to weigh, kg"), "{empty}");
    assert!(!empty.contains("<i>") && !empty.contains("<form"));
    let sheet = site.at(Station::Sheet).await;
    assert!(sheet.contains("/paper\""), "the way to it");
}

/// Twenty samples of three positions, made by hand: 10 g in the middle, the left 0.2 heavier; the last eight 0.3 heavier.
#[tokio::test]
async fn checks_on_the_line_are_entered_drawn_and_told() {
    let site = Site::new().await;
    let at = format!("/bench/{}/line", site.batch);
    assert!(site.get(&at).await.contains("Nothing is checked yet"));
    assert!(site.at(Station::After).await.contains(&format!("{at}\"")));
    for n in 1..=20 {
        let wobble = 0.05 * f64::from(n % 3) + if n > 12 { 0.3 } else { 0.0 };
        let mut form = vec![
            ("what".to_owned(), "line-mass".to_owned()),
            ("sample".to_owned(), n.to_string()),
        ];
        for (i, (place, off)) in [("left", 0.2), ("middle", 0.0), ("right", 0.0)]
            .iter()
            .enumerate()
        {
            let jitter = 0.02 * f64::from((n + i as u32) % 4);
            form.push((format!("position.{i}"), (*place).to_owned()));
            form.push((
                format!("value.{i}"),
                format!("{:.2}", 10.0 + off + wobble + jitter),
            ));
        }
        let form: Vec<(&str, &str)> = form.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
        let (status, text) = site.post("line", &form).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    }
    let page = site.get(&at).await;
    for words in [
        "Means of the samples",
        "Ranges within the samples",
        "eight on one side",
        "to be confirmed",
        "Across the band",
        "Given away",
        "EUR",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    let away = site.get(&format!("{at}?target=10&cost=2.5")).await;
    assert!(
        away.contains("for 1,000 pieces") && away.contains("value=\"10.00\""),
        "{away}"
    );
    // What can't be kept is told beside its field, and what was typed stays.
    let odd: [(&str, &[(&str, &str)]); 5] = [
        (
            "Sample 3 is entered already",
            &[("sample", "3"), ("position.0", "left"), ("value.0", "10.1")],
        ),
        (
            "look once more",
            &[
                ("sample", "21"),
                ("position.0", "left"),
                ("value.0", "1000"),
            ],
        ),
        (
            "Name the position",
            &[("sample", "21"), ("position.0", ""), ("value.0", "10.1")],
        ),
        (
            "nothing in it yet",
            &[("sample", "21"), ("position.0", "left"), ("value.0", "")],
        ),
        (
            "heavy",
            &[
                ("sample", "21"),
                ("position.0", "left"),
                ("value.0", "heavy"),
            ],
        ),
    ];
    for (told, fields) in odd {
        let form = [&[("what", "line-mass")], fields].concat();
        let (status, page) = site.post("line", &form).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{told}");
        assert!(page.contains(told), "{told}: {page}");
    }
    let confirmed = [
        ("what", "line-mass"),
        ("sample", "21"),
        ("position.0", "left"),
        ("value.0", "250"),
        ("why", "a double piece"),
    ];
    let (status, text) = site.post("line", &confirmed).await;
    assert_eq!(status, StatusCode::SEE_OTHER, "{text}");
    assert!(site.get(&at).await.contains("a mean beyond a limit"));
    assert_eq!(site.rows().await.len(), 61);
}
