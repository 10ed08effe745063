//! Starting and stopping the server.

use crate::guard::{Names, refuse_outside};
use crate::router::router;
use app::{App, AppError};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use tokio::net::TcpListener;

/// Where the book is served unless another address is asked for.
pub const USUAL: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), 7411);

/// How to serve.
#[derive(Clone, Debug)]
pub struct Options {
    /// The book; the person's default one when none.
    pub book: Option<PathBuf>,
    /// Where to listen; port 0 takes a free one. None takes the usual address of the program, or a free port where that is taken.
    pub listen: Option<SocketAddr>,
    /// Whether to open the person's browser.
    pub open_browser: bool,
}

/// Why the server didn't start or stopped.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ServeError {
    /// The address is outside this computer.
    #[error(
        "{listen} can be reached from other computers, and there are no accounts yet: anybody there could change the book. \
         Listen on 127.0.0.1 instead; for the lab's network wait until accounts exist."
    )]
    Outside {
        /// The address asked for.
        listen: SocketAddr,
    },
    /// The address is taken or not allowed.
    #[error(
        "{listen} can't be listened on: {what}. Another copy may be running; close it, or give another port with --listen 127.0.0.1:PORT."
    )]
    Listen {
        /// The address asked for.
        listen: SocketAddr,
        /// The words of the system.
        what: String,
    },
    /// The book.
    #[error(transparent)]
    App(#[from] AppError),
    /// The server broke off.
    #[error("the server broke off: {0}. The book is whole; start again.")]
    BrokenOff(String),
}

/// Opens the book, serves it until ctrl-c, and closes it tidily. `started` is told the address and
/// the book once requests are answered.
///
/// # Errors
/// [`ServeError`]; nothing is left half done.
pub async fn serve(
    options: Options,
    started: impl FnOnce(SocketAddr, &std::path::Path),
) -> Result<(), ServeError> {
    let Options {
        book,
        listen,
        open_browser,
    } = options;
    refuse_outside(listen.unwrap_or(USUAL))?;
    let path = match book {
        Some(path) => path,
        None => app::default_book()?,
    };
    let told = |error: std::io::Error| ServeError::Listen {
        listen: listen.unwrap_or(USUAL),
        what: error.to_string(),
    };
    let listener = match TcpListener::bind(listen.unwrap_or(USUAL)).await {
        Err(_) if listen.is_none() => TcpListener::bind((USUAL.ip(), 0)).await,
        bound => bound,
    }
    .map_err(told)?;
    let address = listener.local_addr().map_err(told)?;
    let app = App::open(&path).await?;
    let site = router(app.clone(), Names::of(address));
    started(address, app.book().path());
    if open_browser {
        // Where there is no browser, the address that was told is enough.
        let _no_browser = open::that_detached(format!("http://{address}/"));
    }
    let served = axum::serve(listener, site)
        .with_graceful_shutdown(stopped())
        .await;
    app.close().await;
    served.map_err(|error| ServeError::BrokenOff(error.to_string()))
}

/// Waits until somebody asks the program to stop.
async fn stopped() {
    let ctrl_c = async {
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    #[cfg(unix)]
    let terminated = async {
        match tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
            Ok(mut signal) => {
                signal.recv().await;
            }
            Err(_) => std::future::pending::<()>().await,
        }
    };
    #[cfg(not(unix))]
    let terminated = std::future::pending::<()>();
    tokio::select! { () = ctrl_c => {}, () = terminated => {} }
}
