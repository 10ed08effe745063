//! What stands around every page: whose requests are answered, how long they may take, how large
//! they may be, and what browsers are told about the answers.

use crate::error::{Failure, broken_off};
use crate::refusals::{Reason, Refusals};
use crate::tablets::{Cookie, OPEN_TO_ALL, host};
use crate::wants::Wants;
use app::{App, Device};
use axum::Router;
use axum::body::Body;
use axum::extract::{MatchedPath, Request, State};
use axum::http::header::{
    AUTHORIZATION, COOKIE, HOST, HeaderName, HeaderValue, ORIGIN, SET_COOKIE,
};
use axum::http::{HeaderMap, Method, StatusCode};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Redirect, Response};
use std::net::SocketAddr;
use std::sync::{Arc, PoisonError, RwLock};
use std::time::Duration;
use tower_http::CompressionLevel;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;

/// Longest time that a request may take.
const MOST_TIME: Duration = Duration::from_secs(30);

/// How hard an answer is packed: over a wire it is short enough, and nobody waits for the packing.
const QUICKLY: CompressionLevel = CompressionLevel::Precise(4);

/// The hosts that the site answers to, with their ports, and what lets people in.
#[derive(Clone, Debug)]
pub struct Names {
    hosts: Arc<RwLock<Vec<String>>>,
    /// How an address of these begins.
    scheme: &'static str,
    lets_in: LetsIn,
    /// Cookies know no ports, so the name has it.
    cookie: Arc<str>,
    refusals: Option<Refusals>,
}

/// Who is let in.
#[derive(Clone, Debug)]
enum LetsIn {
    /// Everybody on this computer.
    All,
    /// Who shows what only the person who started the program knows.
    Token(Arc<str>),
    /// Devices that were paired.
    Devices(App),
}

impl Names {
    /// The names of this computer at an address.
    pub fn of(address: SocketAddr) -> Self {
        let port = address.port();
        let mut names: Vec<String> = ["127.0.0.1", "localhost", "[::1]"]
            .iter()
            .map(|name| format!("{name}:{port}"))
            .collect();
        names.push(address.to_string());
        if port == 80 {
            names.extend(["127.0.0.1", "localhost", "[::1]"].map(str::to_owned));
        }
        Self {
            hosts: Arc::new(RwLock::new(names)),
            scheme: "http://",
            lets_in: LetsIn::All,
            cookie: format!("hardtack-{port}").into(),
            refusals: None,
        }
    }

    /// The names and addresses of the tablets' door, which lets in paired devices, over TLS alone.
    pub(crate) fn of_tablets(app: App, names: &[String], port: u16) -> Self {
        let of_tablets = Self {
            hosts: Arc::default(),
            scheme: "https://",
            lets_in: LetsIn::Devices(app),
            cookie: format!("hardtack-bench-{port}").into(),
            refusals: None,
        };
        of_tablets.answer_to(names, port);
        of_tablets
    }

    /// From now on these names and addresses are answered to.
    pub(crate) fn answer_to(&self, names: &[String], port: u16) {
        let hosts = names.iter().map(|name| host(name, port)).collect();
        *self.hosts.write().unwrap_or_else(PoisonError::into_inner) = hosts;
    }

    /// Lets in only who knows the token: in the address once, as a cookie after that, or as a bearer's.
    #[must_use]
    pub fn with_token(self, token: &str) -> Self {
        Self {
            lets_in: LetsIn::Token(token.into()),
            ..self
        }
    }

    pub(crate) fn with_refusals(self, refusals: Refusals) -> Self {
        Self {
            refusals: Some(refusals),
            ..self
        }
    }

    /// What a request shows as its cookies of this site.
    fn shown<'a>(&self, headers: &'a HeaderMap) -> Vec<&'a str> {
        let wanted = format!("{}=", self.cookie);
        texts(headers, COOKIE)
            .flat_map(|line| line.split(';'))
            .filter_map(|cookie| cookie.trim().strip_prefix(&wanted))
            .collect()
    }

    /// Whether a request comes from who is let in, and over which paired device.
    async fn comes_in(&self, headers: &HeaderMap) -> Result<Option<Device>, Refused> {
        match &self.lets_in {
            LetsIn::All => Ok(None),
            LetsIn::Token(token) => {
                let by_cookie = self.shown(headers).iter().any(|shown| same(shown, token));
                let by_bearer = || {
                    texts(headers, AUTHORIZATION)
                        .any(|a| a.strip_prefix("Bearer ").is_some_and(|t| same(t, token)))
                };
                (by_cookie || by_bearer())
                    .then_some(None)
                    .ok_or(Refused::Unknown)
            }
            LetsIn::Devices(app) => {
                for token in self.shown(headers) {
                    match app.device_with(token).await {
                        Ok(Some(device)) => return Ok(Some(device)),
                        Ok(None) => {}
                        Err(error) => return Err(Refused::Unread(error)),
                    }
                }
                Err(Refused::Unknown)
            }
        }
    }

    /// What anybody may see.
    fn is_open(&self, path: &str) -> bool {
        let of_tablets = matches!(self.lets_in, LetsIn::Devices(_));
        is_of_the_program(path) || of_tablets && OPEN_TO_ALL.contains(&path)
    }

    fn has(&self, host: &str) -> bool {
        let hosts = self.hosts.read().unwrap_or_else(PoisonError::into_inner);
        hosts.iter().any(|name| name.eq_ignore_ascii_case(host))
    }
}

/// Why somebody isn't let in.
enum Refused {
    Unknown,
    /// The book couldn't be asked.
    Unread(app::AppError),
}

fn texts(headers: &HeaderMap, name: HeaderName) -> impl Iterator<Item = &str> {
    let all = headers.get_all(name).into_iter();
    all.filter_map(|value| value.to_str().ok())
}

/// The site with everything that stands around it.
pub(crate) fn around(site: Router, names: Names) -> Router {
    site.layer(middleware::from_fn(timely))
        .layer(CatchPanicLayer::custom(|_| broken_off()))
        .layer(middleware::from_fn_with_state(
            names.clone(),
            own_requests_only,
        ))
        .layer(middleware::from_fn_with_state(names, refusals_noted))
        .layer(CompressionLayer::new().quality(QUICKLY))
        .layer(middleware::from_fn(told_to_browsers))
}

/// Breaks off what takes too long; the book finishes or undoes its own writing.
async fn timely(request: Request, next: Next) -> Response {
    match tokio::time::timeout(MOST_TIME, next.run(request)).await {
        Ok(response) => response,
        Err(_) => Failure::new(
            StatusCode::SERVICE_UNAVAILABLE,
            "This took too long",
            format!(
                "The answer wasn't there after {} s, so it was broken off.",
                MOST_TIME.as_secs()
            ),
            "Try again; if it lasts, make the study smaller. What was saved before is safe.",
        )
        .into_response(),
    }
}

/// Answers only requests that this computer's own pages make. A page of another site can neither
/// read the book by letting its name point here (the host is checked) nor change it by sending a
/// form (the origin is checked).
async fn own_requests_only(
    State(names): State<Names>,
    mut request: Request,
    next: Next,
) -> Response {
    if matches!(names.lets_in, LetsIn::Devices(_)) {
        // Whatever is told from here on knows through which door it was asked.
        let cookie = Cookie(Arc::clone(&names.cookie));
        request.extensions_mut().insert(cookie);
    }
    let wants = Wants::of(request.headers(), request.extensions());
    let headers = request.headers();
    let host = headers
        .get(HOST)
        .and_then(|h| h.to_str().ok())
        .map(str::to_owned)
        .or_else(|| request.uri().authority().map(ToString::to_string));
    if !host.as_deref().is_some_and(|h| names.has(h)) {
        let told = host.unwrap_or_default();
        let told: String = told.chars().take(80).collect();
        return Failure::new(
            StatusCode::FORBIDDEN,
            "This address isn't the book's",
            format!(
                "The book was asked for under the name ‘{told}’, which isn't this computer's own."
            ),
            "Open the address that was shown when the program started.",
        )
        .told_as(wants)
        .into_response();
    }
    let device = match names.comes_in(headers).await {
        Ok(device) => device,
        Err(_) if names.is_open(request.uri().path()) => None,
        Err(Refused::Unknown) => return let_in(&names, &request),
        Err(Refused::Unread(error)) => {
            return Failure::of(error, wants).into_response();
        }
    };
    if changes(request.method()) && !same_origin(headers, &names) {
        return Failure::new(
            StatusCode::FORBIDDEN,
            "Another site asked for this change",
            "The request came from a page that isn't the book's, so nothing was changed.",
            "Make the change on the book's own page.",
        )
        .told_as(wants)
        .into_response();
    }
    if let Some(device) = device {
        request.extensions_mut().insert(device);
    }
    next.run(request).await
}

/// Whether two secrets are the same, in a time that doesn't tell how far they are.
fn same(a: &str, b: &str) -> bool {
    a.len() == b.len()
        && a.bytes()
            .zip(b.bytes())
            .fold(0, |all, (a, b)| all | (a ^ b))
            == 0
}

/// Style and scripts, which are the same for everybody and tell nothing of the book.
fn is_of_the_program(path: &str) -> bool {
    path.starts_with("/assets/") || path == "/favicon.svg"
}

/// Who comes with the token in the address gets it as a cookie and the address without it.
fn let_in(names: &Names, request: &Request) -> Response {
    let LetsIn::Token(token) = &names.lets_in else {
        return Failure::new(
            StatusCode::FORBIDDEN,
            "This device isn’t paired",
            "The bench is open to devices that were paired at the desk, and this one wasn’t, or it was ended there.",
            "Ask for six digits at the desk, in Settings under Devices, and open /bench/pair on this device.",
        )
        .told_as(Wants::of(request.headers(), request.extensions()))
        .into_response();
    };
    let query = request.uri().query().unwrap_or_default();
    let shown = query
        .split('&')
        .find_map(|pair| pair.strip_prefix("start="));
    if request.method() == Method::GET && shown.is_some_and(|shown| same(shown, token)) {
        let cookie = format!(
            "{}={token}; Path=/; HttpOnly; SameSite=Strict",
            names.cookie
        );
        return ([(SET_COOKIE, cookie)], Redirect::to(request.uri().path())).into_response();
    }
    Failure::new(
        StatusCode::FORBIDDEN,
        "Who is there?",
        "The book is open for the person who started the program, and this browser hasn't shown that it is theirs.",
        "Open the address that was shown when the program started, with all that stands behind it; or start the program again: it opens the browser.",
    )
    .told_as(Wants::of(request.headers(), request.extensions()))
    .into_response()
}

/// Notes what was refused or went wrong.
async fn refusals_noted(State(names): State<Names>, request: Request, next: Next) -> Response {
    let Some(refusals) = names.refusals else {
        return next.run(request).await;
    };
    let method = request.method().clone();
    let route = request
        .extensions()
        .get::<MatchedPath>()
        .map_or("no such page", MatchedPath::as_str)
        .to_owned();
    let response = next.run(request).await;
    let status = response.status();
    if status.is_client_error() || status.is_server_error() {
        let reason = response.extensions().get::<Reason>();
        refusals.note(&method, &route, status, reason.map_or("", |r| &r.0));
    }
    response
}

fn changes(method: &Method) -> bool {
    !matches!(*method, Method::GET | Method::HEAD | Method::OPTIONS)
}

/// Whether a request that changes something comes from the book's own pages, or from a program that
/// is no browser and so sends neither header.
fn same_origin(headers: &HeaderMap, names: &Names) -> bool {
    let site = headers
        .get(HeaderName::from_static("sec-fetch-site"))
        .and_then(|v| v.to_str().ok());
    if site.is_some_and(|s| s != "same-origin" && s != "none") {
        return false;
    }
    match headers.get(ORIGIN).map(|o| o.to_str()) {
        None => true,
        Some(Ok(origin)) => origin
            .strip_prefix(names.scheme)
            .is_some_and(|host| names.has(host)),
        Some(Err(_)) => false,
    }
}

/// No script but ours, no frame, no other host.
async fn told_to_browsers(request: Request, next: Next) -> Response {
    const TOLD: [(&str, &str); 6] = [
        (
            "content-security-policy",
            "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; \
             form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
        ),
        ("x-content-type-options", "nosniff"),
        ("x-frame-options", "DENY"),
        ("referrer-policy", "same-origin"),
        ("cross-origin-opener-policy", "same-origin"),
        ("cross-origin-resource-policy", "same-origin"),
    ];
    let mut response: Response<Body> = next.run(request).await;
    let headers = response.headers_mut();
    for (name, value) in TOLD {
        headers.insert(
            HeaderName::from_static(name),
            HeaderValue::from_static(value),
        );
    }
    headers
        .entry(HeaderName::from_static("cache-control"))
        .or_insert(HeaderValue::from_static("no-store"));
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_panic_stays_inside() {
        use tower::ServiceExt;
        async fn broken() -> &'static str {
            panic!("secret detail")
        }
        let site = Router::new().route("/", axum::routing::get(broken));
        let names = Names::of(([127, 0, 0, 1], 4711).into());
        let request = Request::get("/")
            .header(HOST, "localhost:4711")
            .body(Body::empty())
            .unwrap();
        let response = around(site, names).oneshot(request).await.unwrap();
        assert_eq!(response.status(), StatusCode::INTERNAL_SERVER_ERROR);
        let bytes = axum::body::to_bytes(response.into_body(), 1_000_000)
            .await
            .unwrap();
        let text = String::from_utf8(bytes.to_vec()).unwrap();
        assert!(text.contains("The book is untouched") && !text.contains("secret"));
    }
}
