//! A desk: a server with a fresh book, and a browser that looks at it.

use app::App;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use std::any::Any;
use std::future::Future;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};
use tempfile::TempDir;
use thirtyfour::common::capabilities::desiredcapabilities::DesiredCapabilities;
use thirtyfour::prelude::*;
use tokio::io::{AsyncBufReadExt, BufReader};
use tokio::net::TcpListener;
use tokio::process::{Child, Command};
use web::{Names, router};

/// The demonstration's sheet.
pub const BARS: &str = "/study/spent-grain-bars";
/// Holds once the sheet's script listens.
pub const LIVE: &str = "document.documentElement.classList.contains('live')";
/// How long anything may take to appear; the machine that runs the tests may be busy.
const PATIENCE: Duration = Duration::from_secs(30);
/// How long a whole way through the pages may take.
const WHOLE: Duration = Duration::from_secs(240);
/// Between two looks at a page that isn't there yet.
const LOOK_AGAIN: Duration = Duration::from_millis(25);

/// A browser on the pages of a fresh book.
#[derive(Clone)]
pub struct Desk {
    pub web: WebDriver,
    pub app: App,
    pub root: String,
    clicks: Arc<AtomicUsize>,
}

/// Goes through the pages: sets up, goes, and clears away whether it went well or not.
pub fn at_desk<F, Fut>(way: F)
where
    F: FnOnce(Desk) -> Fut + Send + 'static,
    Fut: Future<Output = ()> + Send + 'static,
{
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .unwrap();
    let went: Result<(), Box<dyn Any + Send>> = runtime.block_on(async {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(&folder.path().join("new folder/lab.book"))
            .await
            .unwrap();
        let address = served(app.clone()).await;
        let (mut driver, port) = driver(&folder).await;
        let web = browser(port, &folder).await;
        let desk = Desk {
            web: web.clone(),
            app,
            root: format!("http://{address}"),
            clicks: Arc::default(),
        };
        desk.screen(1280, 800).await;
        let going = tokio::spawn(async move { tokio::time::timeout(WHOLE, way(desk)).await });
        let went = going.await;
        if went.is_err() {
            seen_last(&web).await;
        }
        let closed = web.quit().await;
        driver.kill().await.unwrap();
        match went {
            Ok(in_time) => {
                closed.unwrap();
                assert!(in_time.is_ok(), "not done after {WHOLE:?}");
                Ok(())
            }
            Err(failed) => Err(failed.into_panic()),
        }
    });
    runtime.shutdown_timeout(Duration::from_secs(5));
    if let Err(failed) = went {
        std::panic::resume_unwind(failed);
    }
}

/// Keeps what stood on the screen when something failed.
async fn seen_last(web: &WebDriver) {
    let name = std::thread::current()
        .name()
        .unwrap_or("test")
        .replace("::", "-");
    if let Ok(picture) = web.screenshot_as_png().await {
        let to = screens().join(format!("failed-{name}.png"));
        std::fs::write(&to, picture).unwrap();
        println!("the screen at that moment: {}", to.display());
    }
}

async fn served(app: App) -> SocketAddr {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let site = router(app, Names::of(address));
    tokio::spawn(async move { axum::serve(listener, site).await.unwrap() });
    address
}

/// A driver on a free port, which it tells itself. It picks the port for one kind of address and ends where somebody has
/// it for the other kind: then another is started.
async fn driver(folder: &TempDir) -> (Child, u16) {
    for _ in 0..5 {
        let started = tokio::time::timeout(PATIENCE, started(folder));
        if let Some(started) = started.await.expect("chromedriver told its port") {
            return started;
        }
    }
    panic!("chromedriver ended five times before it told its port")
}

/// A driver with its port; none where it ended before it told one.
async fn started(folder: &TempDir) -> Option<(Child, u16)> {
    let mut child = Command::new("chromedriver")
        .arg("--port=0")
        // What it and the browser leave behind goes with the book.
        .env("TMPDIR", folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .kill_on_drop(true)
        .spawn()
        .expect("there is no chromedriver: `cargo xtask test` installs it");
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    while let Some(line) = lines.next_line().await.unwrap() {
        let port = line
            .split("successfully on port ")
            .nth(1)
            .and_then(|rest| rest.trim_end_matches('.').parse().ok());
        if let Some(port) = port {
            // What it says later is read as well, or it would stop at a full pipe.
            tokio::spawn(async move { while let Ok(Some(_)) = lines.next_line().await {} });
            return Some((child, port));
        }
    }
    None
}

async fn browser(port: u16, folder: &TempDir) -> WebDriver {
    let mut wishes = DesiredCapabilities::chrome();
    let own = format!(
        "--user-data-dir={}",
        folder.path().join("browser").display()
    );
    for flag in [
        "--headless=new",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--disable-dev-shm-usage",
        "--hide-scrollbars",
        "--window-size=1280,800",
        &own,
    ] {
        wishes.add_arg(flag).unwrap();
    }
    let started = Instant::now();
    loop {
        match WebDriver::new(format!("http://127.0.0.1:{port}"), wishes.clone()).await {
            Ok(web) => return web,
            Err(error) => assert!(started.elapsed() < 3 * PATIENCE, "no browser: {error}"),
        }
    }
}

impl Desk {
    /// Opens a page of the book and waits until its scripts have begun.
    pub async fn open(&self, path: &str) {
        self.web.goto(format!("{}{path}", self.root)).await.unwrap();
        self.until("document.readyState === 'complete'").await;
    }

    /// What an expression of the page comes to.
    pub async fn ask<T: DeserializeOwned>(&self, expression: &str) -> T {
        self.run(&format!("return ({expression});"), &[]).await
    }

    /// What a script of the page returns.
    pub async fn run<T: DeserializeOwned>(&self, script: &str, given: &[Value]) -> T {
        let told = self.web.execute(script, given.to_vec()).await;
        told.unwrap_or_else(|e| panic!("{script}: {e}"))
            .convert()
            .unwrap_or_else(|e| panic!("{script}: {e}"))
    }

    /// Waits until an expression holds.
    pub async fn until(&self, expression: &str) {
        self.until_within(expression, PATIENCE).await;
    }

    /// Waits until an expression holds that the program has to compute for.
    pub async fn long_until(&self, expression: &str) {
        self.until_within(expression, 5 * PATIENCE).await;
    }

    async fn until_within(&self, expression: &str, patience: Duration) {
        let script = format!("return Boolean({expression});");
        let started = Instant::now();
        let mut last = String::new();
        while started.elapsed() < patience {
            match self.web.execute(script.as_str(), Vec::new()).await {
                Ok(told) if told.json() == &Value::Bool(true) => return,
                Ok(_) => last.clear(),
                // The page is just changing, or what is asked for isn't there yet.
                Err(error) => last = error.to_string(),
            }
            tokio::time::sleep(LOOK_AGAIN).await;
        }
        let text: String = self.ask("document.body.innerText.slice(0, 800)").await;
        panic!("never came true: {expression}\n{last}\non a page that reads\n{text}");
    }

    /// Waits until a field or a place reads as told.
    pub async fn until_reads(&self, css: &str, text: &str) {
        let (css, text) = (json!(css), json!(text));
        let place = format!("document.querySelector({css})");
        self.until(&format!(
            "({place}.matches('input, textarea, select') ? {place}.value : {place}.textContent.trim()) === {text}"
        ))
        .await;
    }

    /// Waits until the words of the page contain these.
    pub async fn until_told(&self, words: &str) {
        self.until(&format!(
            "document.body.innerText.includes({})",
            json!(words)
        ))
        .await;
    }

    /// Clicks what a selector finds, as soon as it can be clicked.
    pub async fn click(&self, css: &str) {
        let started = Instant::now();
        loop {
            let tried = async {
                let found = self.web.find(By::Css(css)).await?;
                found.click().await
            };
            match tried.await {
                Ok(()) => {
                    self.clicks.fetch_add(1, Ordering::Relaxed);
                    return;
                }
                Err(error) => assert!(started.elapsed() < PATIENCE, "{css}: {error}"),
            }
            tokio::time::sleep(LOOK_AGAIN).await;
        }
    }

    /// Clicks the button with these words inside what a selector finds.
    pub async fn press(&self, within: &str, words: &str) {
        const FIND: &str = "return [...document.querySelectorAll(arguments[0])]
            .flatMap((w) => [...w.querySelectorAll('button, a')])
            .find((b) => b.textContent.trim() === arguments[1] && b.getClientRects().length);";
        let started = Instant::now();
        loop {
            let tried = async {
                let found = self.web.execute(FIND, vec![json!(within), json!(words)]);
                found.await?.element()?.click().await
            };
            match tried.await {
                Ok(()) => {
                    self.clicks.fetch_add(1, Ordering::Relaxed);
                    return;
                }
                Err(error) => assert!(
                    started.elapsed() < PATIENCE,
                    "‘{words}’ in {within}: {error}"
                ),
            }
            tokio::time::sleep(LOOK_AGAIN).await;
        }
    }

    /// Clicks a button that leads to another page, or to this one anew, and waits until it is there.
    pub async fn press_on(&self, within: &str, words: &str) {
        self.run::<bool>("return window.leaving = true;", &[]).await;
        self.press(within, words).await;
        self.until("!window.leaving && document.readyState === 'complete'")
            .await;
    }

    /// Clicks so far; a list that was opened and chosen from counts two.
    pub fn clicks(&self) -> usize {
        self.clicks.load(Ordering::Relaxed)
    }

    /// Puts a text in place of what stands in a field, key by key.
    pub async fn fill(&self, css: &str, text: &str) {
        self.click(css).await;
        self.keys(Key::Control + "a").await;
        if text.is_empty() {
            self.keys(Key::Delete).await;
        } else {
            self.keys(text).await;
        }
    }

    /// Presses keys wherever the person is.
    ///
    /// The page may draw its table anew between a look at where the person is and the key; a person doesn't notice, and
    /// the key goes to where they are then.
    pub async fn keys(&self, keys: impl Into<TypingData>) {
        let keys: String = keys.into().as_vec().into_iter().collect();
        for _ in 0..4 {
            let here = self.web.active_element().await.unwrap();
            if here.send_keys(keys.as_str()).await.is_ok() {
                return;
            }
        }
        let here = self.web.active_element().await.unwrap();
        here.send_keys(keys.as_str()).await.unwrap();
    }

    /// Chooses from a list by its value.
    pub async fn choose(&self, css: &str, value: &str) {
        self.clicks.fetch_add(2, Ordering::Relaxed);
        self.run::<Value>(
            "const s = document.querySelector(arguments[0]); s.value = arguments[1];
             s.dispatchEvent(new Event('input', { bubbles: true })); s.dispatchEvent(new Event('change', { bubbles: true })); return s.value;",
            &[json!(css), json!(value)],
        )
        .await;
    }

    /// The text of the first thing that a selector finds.
    pub async fn text(&self, css: &str) -> String {
        self.ask(&format!(
            "document.querySelector({})?.textContent.trim() ?? '(nothing)'",
            json!(css)
        ))
        .await
    }

    /// The value in a field.
    pub async fn value(&self, css: &str) -> String {
        self.ask(&format!(
            "document.querySelector({})?.value ?? '(nothing)'",
            json!(css)
        ))
        .await
    }

    /// What makes the page wider than the screen; nothing on a page that fits.
    pub async fn too_wide(&self) -> Vec<String> {
        self.ask(
            "(() => {
               if (document.documentElement.scrollWidth <= innerWidth) return [];
               const scrolls = (e) => { for (; e; e = e.parentElement) if (getComputedStyle(e).overflowX !== 'visible') return true; return false; };
               const out = [...document.querySelectorAll('body *')].filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !scrolls(e));
               return ['the page', ...out.map((e) => `${e.tagName}.${e.className} to ${e.getBoundingClientRect().right} px`)].slice(0, 12);
             })()",
        )
        .await
    }

    /// A command of the browser itself.
    pub async fn browser(&self, command: &str, given: Value) -> Value {
        let told = self.web.cdp().send_raw(command, given).await;
        told.unwrap_or_else(|e| panic!("{command}: {e}"))
    }

    /// The size of the screen, CSS pixels.
    pub async fn screen(&self, width: u32, height: u32) {
        self.browser(
            "Emulation.setDeviceMetricsOverride",
            json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false }),
        )
        .await;
    }

    /// Light or dark, as the system would say.
    pub async fn scheme(&self, scheme: &str) {
        self.browser(
            "Emulation.setEmulatedMedia",
            json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] }),
        )
        .await;
    }
}

/// The selector of a cell of the sheet.
pub fn cell(treatment: &str, stage: &str, material: &str) -> String {
    format!("[data-cell='c:{treatment}:{stage}:{material}']")
}

/// The selector of a live part of the sheet.
pub fn part(key: &str) -> String {
    format!("[data-p='{key}']")
}

/// The folder of what is built, which git leaves alone.
pub fn target() -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target");
    std::fs::create_dir_all(&folder).unwrap();
    folder.canonicalize().unwrap()
}

/// Where pictures of the pages are left to look at.
pub fn screens() -> PathBuf {
    let folder = target().join("screens");
    std::fs::create_dir_all(&folder).unwrap();
    folder
}
