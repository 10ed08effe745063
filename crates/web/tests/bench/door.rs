//! The tablets' door, through TLS from another address of this computer.

use crate::{lab, row};
use app::{App, MOST_WRONG_CODES, MOST_WRONG_DIGITS, PAIRING_LASTS};
use book::Kind;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, ServerName};
use rustls::{ClientConfig, RootCertStore};
use serde_json::{Value, json};
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;
use tempfile::TempDir;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;
use web::Switch;

pub(crate) struct Bench {
    folder: TempDir,
    pub(crate) app: App,
    at: SocketAddr,
    _switch: Switch,
    tls: TlsConnector,
}

#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: String,
}

impl Answer {
    /// The cookie that was given.
    fn cookie(&self) -> String {
        let line = self
            .head
            .lines()
            .find_map(|line| line.strip_prefix("set-cookie: "));
        let line = line.unwrap_or_else(|| panic!("{self:?}"));
        for word in ["HttpOnly", "Secure", "SameSite=Strict"] {
            assert!(line.contains(word), "{line}");
        }
        line.split(';').next().unwrap().to_owned()
    }
}

/// A device that trusts these authorities and no others.
fn trusting(authorities: &[CertificateDer<'static>]) -> TlsConnector {
    let mut roots = RootCertStore::empty();
    for one in authorities {
        roots.add(one.clone()).unwrap();
    }
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_root_certificates(roots)
        .with_no_client_auth();
    TlsConnector::from(Arc::new(config))
}

fn socket(place: &str) -> SocketAddr {
    let inner = place.strip_prefix("https://").unwrap();
    inner.strip_suffix("/bench").unwrap().parse().unwrap()
}

impl Bench {
    async fn open() -> Self {
        let (folder, app) = lab().await;
        Self::over(folder, app).await
    }

    pub(crate) async fn over(folder: TempDir, app: App) -> Self {
        let switch = Switch::new(&app, None, vec!["oven.example".to_owned()]);
        switch.open("127.0.0.2:0".parse().unwrap()).await.unwrap();
        Self::at(folder, app, switch)
    }

    /// The door as its switch has opened it.
    fn at(folder: TempDir, app: App, switch: Switch) -> Self {
        let places = switch.places();
        assert!(places[0].starts_with("https://oven.example:"), "{places:?}");
        let file = folder.path().join("lab.book.authority");
        let authorities: Result<Vec<_>, _> = CertificateDer::pem_file_iter(file).unwrap().collect();
        Self {
            folder,
            app,
            at: socket(&places[1]),
            _switch: switch,
            tls: trusting(&authorities.unwrap()),
        }
    }

    pub(crate) async fn ask(&self, head: &str, body: &str) -> Answer {
        self.ask_as(&self.at.to_string(), head, body).await
    }

    /// Sends a request whose first line and own lines are `head`.
    async fn ask_as(&self, host: &str, head: &str, body: &str) -> Answer {
        let stream = TcpStream::connect(self.at).await.unwrap();
        let name = ServerName::from(self.at.ip());
        let mut sealed = self.tls.connect(name, stream).await.unwrap();
        let (first, rest) = head.split_once('\n').unwrap_or((head, ""));
        let rest: String = rest.lines().map(|line| format!("{line}\r\n")).collect();
        let request = format!(
            "{first} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nContent-Length: {}\r\n{rest}\r\n{body}",
            body.len()
        );
        // The other side may have had enough before it was all sent.
        let _sent = sealed.write_all(request.as_bytes()).await;
        let mut bytes = Vec::new();
        let _closed_somehow = sealed.read_to_end(&mut bytes).await;
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let (head, body) = text
            .split_once("\r\n\r\n")
            .unwrap_or_else(|| panic!("{first}: {text}"));
        Answer {
            status: head[9..12].parse().unwrap(),
            head: head.to_owned(),
            body: body.to_owned(),
        }
    }

    pub(crate) async fn get(&self, path: &str, cookie: &str) -> Answer {
        let head = format!("GET {path}\nAccept: application/json\nCookie: {cookie}");
        self.ask(&head, "").await
    }

    pub(crate) async fn form(&self, path: &str, cookie: &str, form: &str) -> Answer {
        let head = format!(
            "POST {path}\nAccept: application/json\nCookie: {cookie}\nOrigin: https://{}\n\
             Content-Type: application/x-www-form-urlencoded",
            self.at
        );
        self.ask(&head, form).await
    }

    async fn pair(&self, digits: &str, name: &str) -> Answer {
        let form = format!("digits={digits}&name={name}");
        self.form("/bench/pair", "", &form).await
    }

    /// A paired device: its cookie.
    pub(crate) async fn paired(&self, name: &str) -> String {
        let digits = self.app.offer_pairing(PAIRING_LASTS).unwrap().digits;
        let answer = self.pair(&digits, name).await;
        assert_eq!(answer.status, 200, "{answer:?}");
        answer.cookie()
    }

    pub(crate) async fn send(&self, cookie: &str, rows: &[Value]) -> Answer {
        let head = format!(
            "POST /bench/entries\nCookie: {cookie}\nOrigin: https://{}",
            self.at
        );
        self.ask(&head, &json!(rows).to_string()).await
    }

    /// What the book has of devices and people.
    async fn written(&self) -> String {
        let newest = self.app.book().newest(Kind::Setting, "devices").await;
        newest.unwrap().unwrap().form
    }
}

#[tokio::test]
async fn only_a_paired_device_is_let_in_and_what_it_sends_bears_its_name() {
    let bench = Bench::open().await;
    let entries = "/bench/entries?kind=batch&thing=b1";
    let invented = format!("hardtack-bench-{}={}", bench.at.port(), "0".repeat(64));
    for cookie in ["", "hardtack-bench=1", &invented] {
        let answer = bench.get(entries, cookie).await;
        assert_eq!(answer.status, 403, "{answer:?}");
        assert!(answer.body.contains("paired"), "{answer:?}");
        assert_eq!(bench.send(cookie, &[row("k1", "1")]).await.status, 403);
    }
    // Before it is paired a device sees how to be, and how to trust.
    for open in [
        "/bench/pair",
        "/bench/trust",
        "/bench/authority.crt",
        "/favicon.svg",
    ] {
        assert_eq!(bench.get(open, "").await.status, 200, "{open}");
    }
    let cookie = bench.paired("tablet").await;
    assert_eq!(bench.get(entries, &cookie).await.status, 200);
    // The book has no more than a hash of what it shows.
    let token = cookie.split_once('=').unwrap().1;
    let written = bench.written().await;
    assert!(written.contains("tablet") && !written.contains(token));

    // Nobody has signed in.
    let told = bench.send(&cookie, &[row("k1", "120")]).await;
    assert!(told.body.contains("not-signed-in"), "{told:?}");
    bench.app.set_code("Ada", "4711").await.unwrap();
    let signed = bench
        .form("/bench/sign", &cookie, "name=Ada&code=4711")
        .await;
    assert_eq!(signed.status, 204, "{signed:?}");
    let mut of_another = row("k2", "8");
    of_another["who"] = json!("Ben");
    let told = bench.send(&cookie, &[row("k1", "120"), of_another]).await;
    let told: Vec<Value> = serde_json::from_str(&told.body).unwrap();
    assert_eq!(
        (&told[0]["state"], &told[1]["state"]),
        (&json!("kept"), &json!("refused"))
    );
    let kept = bench
        .app
        .book()
        .entries_of(Kind::Batch, "b1", 0)
        .await
        .unwrap();
    assert_eq!(kept.len(), 1);
    assert_eq!(
        (kept[0].row.who.as_str(), kept[0].row.device.as_deref()),
        ("Ada", Some("tablet"))
    );
    // Who leaves, and whose code is taken away, signs no more.
    bench.form("/bench/sign/out", &cookie, "name=Ada").await;
    assert!(
        bench
            .send(&cookie, &[row("k3", "1")])
            .await
            .body
            .contains("not-signed-in")
    );
    bench
        .form("/bench/sign", &cookie, "name=Ada&code=4711")
        .await;
    assert!(
        bench
            .send(&cookie, &[row("k3", "1")])
            .await
            .body
            .contains("\"kept\"")
    );
    bench.app.take_code("Ada").await.unwrap();
    assert!(
        bench
            .send(&cookie, &[row("k4", "1")])
            .await
            .body
            .contains("not-signed-in")
    );

    // Ended, it is out at once, and others stay.
    let other = bench.paired("telephone").await;
    let devices = bench.app.devices().await.unwrap().devices;
    let id = &devices.iter().find(|d| d.name == "tablet").unwrap().id;
    bench.app.end_device(id).await.unwrap();
    assert_eq!(bench.get(entries, &cookie).await.status, 403);
    assert_eq!(bench.send(&cookie, &[row("k5", "1")]).await.status, 403);
    assert_eq!(bench.get(entries, &other).await.status, 200);
}

#[tokio::test]
async fn six_digits_work_once_within_their_time_and_for_few_tries() {
    let bench = Bench::open().await;
    assert!(
        bench
            .pair("123456", "a")
            .await
            .body
            .contains("none can be used now")
    );
    let digits = bench.app.offer_pairing(PAIRING_LASTS).unwrap().digits;
    assert_eq!(digits.len(), 6);
    let typed = format!("{}+{}", &digits[..3], &digits[3..]);
    assert_eq!(bench.pair(&typed, "one").await.status, 200);
    // Replayed.
    let again = bench.pair(&digits, "two").await;
    assert_eq!(again.status, 422, "{again:?}");
    assert!(again.body.contains("work once"), "{again:?}");
    // Too late.
    let digits = bench
        .app
        .offer_pairing(Duration::from_millis(20))
        .unwrap()
        .digits;
    tokio::time::sleep(Duration::from_millis(40)).await;
    assert!(bench.app.pairing().is_none());
    assert_eq!(bench.pair(&digits, "two").await.status, 422);
    // Guessed: after a few wrong ones the right ones are worth nothing.
    let digits = bench.app.offer_pairing(PAIRING_LASTS).unwrap().digits;
    let wrong = if digits == "000000" {
        "000001"
    } else {
        "000000"
    };
    for left in (0..MOST_WRONG_DIGITS).rev() {
        let told = bench.pair(wrong, "two").await;
        assert_eq!(told.status, 422);
        assert_eq!(
            told.body.contains(&format!("tries left: {left}")),
            left > 0,
            "{told:?}"
        );
    }
    assert_eq!(bench.pair(&digits, "two").await.status, 422);
    // Those shown before are worth nothing once others are.
    let first = bench.app.offer_pairing(PAIRING_LASTS).unwrap().digits;
    let second = bench.app.offer_pairing(PAIRING_LASTS).unwrap().digits;
    if first != second {
        assert_eq!(bench.pair(&first, "two").await.status, 422);
    }
    // A name that is taken costs no digits.
    assert!(
        bench
            .pair(&second, "one")
            .await
            .body
            .contains("another name")
    );
    assert_eq!(bench.pair(&second, "two").await.status, 200);
}

#[tokio::test]
async fn a_short_code_rests_after_a_few_wrong_ones() {
    let bench = Bench::open().await;
    let cookie = bench.paired("tablet").await;
    bench.app.set_code("Ada", "flour-4711").await.unwrap();
    assert!(!bench.written().await.contains("flour-4711"));
    let sign = async |form: &str| bench.form("/bench/sign", &cookie, form).await;
    assert_eq!(sign("name=Eve&code=flour-4711").await.status, 422);
    for _ in 0..MOST_WRONG_CODES {
        let told = sign("name=Ada&code=flour-4712").await;
        assert_eq!(told.status, 422, "{told:?}");
    }
    let told = sign("name=Ada&code=flour-4711").await;
    assert_eq!(told.status, 429, "{told:?}");
    assert!(told.body.contains("minutes"), "{told:?}");
    // A new code, given at the desk, is looked at.
    bench.app.set_code("Ada", "0815").await.unwrap();
    assert_eq!(sign("name=Ada&code=0815").await.status, 204);
    for bad in ["123", "", &"1".repeat(21)] {
        assert!(bench.app.set_code("Ada", bad).await.is_err(), "{bad}");
    }
}

#[tokio::test]
async fn the_door_has_the_bench_alone_and_answers_to_its_own_names() {
    let bench = Bench::open().await;
    let cookie = bench.paired("tablet").await;
    for path in [
        "/",
        "/studies",
        "/settings",
        "/settings/devices",
        "/study/spent-grain-bars",
        "/materials",
        "/bench/../settings",
        "/using/sheet",
        "/nonsense",
    ] {
        assert_eq!(bench.get(path, &cookie).await.status, 404, "{path}");
    }
    // The desk's way in opens nothing.
    let token = "0".repeat(32);
    let start = format!("/bench/entries?kind=batch&thing=b1&start={token}");
    assert_eq!(bench.get(&start, "").await.status, 403);
    let bearer = format!("GET /bench/entries?kind=batch&thing=b1\nAuthorization: Bearer {token}");
    assert_eq!(bench.ask(&bearer, "").await.status, 403);
    // Other names, and other sites.
    let head = format!("GET /bench/sign\nCookie: {cookie}");
    let port = bench.at.port();
    let named = format!("oven.example:{port}");
    assert_eq!(bench.ask_as(&named, &head, "").await.status, 200);
    for name in [
        "evil.example",
        "127.0.0.2",
        &format!("127.0.0.1:{port}"),
        "",
    ] {
        assert_eq!(bench.ask_as(name, &head, "").await.status, 403, "{name}");
    }
    for origin in [
        "https://evil.example",
        &format!("http://{}", bench.at),
        "null",
    ] {
        let head = format!("POST /bench/entries\nCookie: {cookie}\nOrigin: {origin}");
        assert_eq!(bench.ask(&head, "[]").await.status, 403, "{origin}");
    }
    // Its size limits are those of the desk's door.
    let large = format!("[\"{}\"]", "x".repeat(1_000_000));
    let head = format!("POST /bench/entries\nCookie: {cookie}");
    assert_eq!(bench.ask(&head, &large).await.status, 413);
}

#[tokio::test]
async fn without_a_seal_or_with_anothers_nothing_is_answered() {
    let bench = Bench::open().await;
    let mut plain = TcpStream::connect(bench.at).await.unwrap();
    let request = format!("GET /bench/pair HTTP/1.1\r\nHost: {}\r\n\r\n", bench.at);
    plain.write_all(request.as_bytes()).await.unwrap();
    let mut told = Vec::new();
    let _closed_somehow = plain.read_to_end(&mut told).await;
    let told = String::from_utf8_lossy(&told);
    assert!(
        told.starts_with("HTTP/1.1 400") && told.contains("https://"),
        "{told}"
    );
    // A device that doesn't trust the authority.
    let stream = TcpStream::connect(bench.at).await.unwrap();
    let refused = trusting(&[])
        .connect(ServerName::from(bench.at.ip()), stream)
        .await;
    assert!(refused.is_err());
    // The certificate is for the names it bears, and no other.
    for (name, fine) in [("oven.example", true), ("evil.example", false)] {
        let stream = TcpStream::connect(bench.at).await.unwrap();
        let name = ServerName::try_from(name).unwrap();
        assert_eq!(bench.tls.connect(name, stream).await.is_ok(), fine);
    }
    // Who says nothing, or nonsense, keeps nobody else waiting.
    let _silent = TcpStream::connect(bench.at).await.unwrap();
    let mut nonsense = TcpStream::connect(bench.at).await.unwrap();
    nonsense
        .write_all(&[22, 3, 1, 255, 255, 0, 0])
        .await
        .unwrap();
    assert_eq!(bench.get("/bench/pair", "").await.status, 200);
}

/// One's own certificate is shown, and a wrong one is told with its file.
#[tokio::test]
async fn a_certificate_of_ones_own_is_shown() {
    let bench = Bench::open().await;
    let own = rcgen::generate_simple_self_signed(vec!["127.0.0.3".to_owned()]).unwrap();
    let file = |name: &str| bench.folder.path().join(name);
    std::fs::write(file("own.pem"), own.cert.pem()).unwrap();
    std::fs::write(file("own.key"), own.signing_key.serialize_pem()).unwrap();
    let switch = |certificate: &str| {
        let own = Some((file(certificate), file("own.key")));
        Switch::new(&bench.app, own, Vec::new())
    };
    let listen = "127.0.0.3:0".parse().unwrap();
    let refused = switch("own.key").open(listen).await.unwrap_err();
    assert!(refused.to_string().contains("own.key"), "{refused}");
    let switch = switch("own.pem");
    switch.open(listen).await.unwrap();
    let at = socket(&switch.places()[0]);
    let stream = TcpStream::connect(at).await.unwrap();
    let tls = trusting(&[own.cert.der().clone()]);
    assert!(tls.connect(ServerName::from(at.ip()), stream).await.is_ok());
}

/// The desk opens and closes the door while it runs: closed nobody gets in, opened again a paired device is still paired.
#[tokio::test]
async fn the_desk_opens_and_closes_the_door() {
    use axum::body::Body;
    use axum::http::{Request, header};
    use tower::ServiceExt;
    const HOST: &str = "127.0.0.1:7411";
    let (folder, app) = lab().await;
    let switch = Switch::new(&app, None, vec!["oven.example".to_owned()]);
    let names = web::Names::of(HOST.parse().unwrap());
    let desk = web::router(app.clone(), names).layer(axum::Extension(switch.clone()));
    let post = async |form: &str| {
        let request = Request::post("/settings/devices/door")
            .header(header::HOST, HOST)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header(header::ACCEPT, "application/json")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(form.to_owned()));
        let answer = desk.clone().oneshot(request.unwrap()).await.unwrap();
        let status = answer.status().as_u16();
        let bytes = axum::body::to_bytes(answer.into_body(), 1 << 20).await;
        (status, String::from_utf8(bytes.unwrap().to_vec()).unwrap())
    };
    let page = async || {
        let request = Request::get("/settings/devices").header(header::HOST, HOST);
        let answer = desk
            .clone()
            .oneshot(request.body(Body::empty()).unwrap())
            .await;
        let bytes = axum::body::to_bytes(answer.unwrap().into_body(), 1 << 20).await;
        String::from_utf8(bytes.unwrap().to_vec()).unwrap()
    };
    let shown = page().await;
    assert!(shown.contains("Open the door") && shown.contains("No tablet is let in now"));
    let (status, told) = post("address=127.0.0.2&port=0").await;
    assert_eq!(status, 200, "{told}");
    assert!(told.contains("https://oven.example:"), "{told}");
    let shown = page().await;
    assert!(shown.contains("Close the door") && shown.contains("authority.crt"));
    let bench = Bench::at(folder, app, switch.clone());
    let entries = "/bench/entries?kind=batch&thing=b1";
    assert_eq!(bench.get(entries, "").await.status, 403);
    let cookie = bench.paired("tablet").await;
    assert_eq!(bench.get(entries, &cookie).await.status, 200);
    // Nobody turns the switch from outside.
    let outside = bench
        .form("/settings/devices/door", &cookie, "close=yes")
        .await;
    assert!(outside.status >= 400 && !switch.places().is_empty());
    let (status, told) = post("close=yes").await;
    assert_eq!((status, told.as_str()), (200, "{\"places\":[]}"));
    assert!(
        TcpStream::connect(bench.at).await.is_err(),
        "closed is closed"
    );
    // At the same place again: who was paired is.
    let again = format!("address=127.0.0.2&port={}", bench.at.port());
    let (status, told) = post(&again).await;
    assert_eq!(status, 200, "{told}");
    assert_eq!(bench.get(entries, &cookie).await.status, 200);
    assert_eq!(bench.get(entries, "").await.status, 403);
    for (form, word) in [
        ("address=oven&port=7412", "no address"),
        ("address=0.0.0.0&port=many", "no port"),
        ("address=203.0.113.9&port=7412", "can’t be opened there"),
    ] {
        let (status, told) = post(form).await;
        assert!(
            (400..500).contains(&status) && told.contains(word),
            "{form}: {told}"
        );
    }
    assert!(switch.places().is_empty(), "what can’t be opened is closed");
}
