//! Starting and stopping the server.

use crate::door::Door;
use crate::guard::Names;
use crate::refusals::Refusals;
use crate::router::router;
use crate::running::{Running, Taken};
use crate::tablets::{Switch, TabletOptions};
use app::{App, AppError};
use axum::Extension;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::watch;

/// Where the book is served unless another address is asked for.
pub const USUAL: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), 7411);

/// Longest that the book is waited for at the end.
const CLOSING: Duration = Duration::from_secs(2);
/// How often the book is looked after: whether the copy of the day is made.
const LOOK_AFTER: Duration = Duration::from_secs(600);

/// How to serve.
#[derive(Clone, Debug)]
pub struct Options {
    /// The book; the person's default one when none.
    pub book: Option<PathBuf>,
    /// Where to listen; port 0 takes a free one. None takes the usual address of the program, or a free port where that is taken.
    pub listen: Option<SocketAddr>,
    /// A second door for tablets at the bench, if wanted.
    pub tablets: Option<TabletOptions>,
    /// Whether to open the person's browser.
    pub open_browser: bool,
}

/// What is told when requests are answered.
#[derive(Debug)]
pub struct Started<'a> {
    /// The address to open; it carries what lets its owner in.
    pub address: &'a str,
    /// The book.
    pub book: &'a Path,
    /// Where tablets find the bench, if that door was asked for.
    pub tablets: &'a [String],
    /// Whether another copy of the program has the book open, and this is its address; this one then ends.
    pub elsewhere: bool,
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
        "{listen} can't be listened on: {what}. Another program may be there; close it, or give another port with --listen 127.0.0.1:PORT."
    )]
    Listen {
        /// The address asked for.
        listen: SocketAddr,
        /// The words of the system.
        what: String,
    },
    /// The tablets' door.
    #[error(
        "the bench can't be served at {listen}: {what}. Give another port with --bench-listen, or mend what is told; the book wasn't served."
    )]
    Tablets {
        /// The address asked for.
        listen: SocketAddr,
        /// What is wrong.
        what: String,
    },
    /// The book.
    #[error(transparent)]
    App(#[from] AppError),
    /// The server broke off.
    #[error("the server broke off: {0}. The book is whole; start again.")]
    BrokenOff(String),
}

/// Opens the book, serves it until ctrl-c, and closes it tidily; a second ctrl-c ends it at once. `started` is told the
/// address and the book once requests are answered. Where another copy of the program has the book open already, that
/// one's address is told and opened instead.
///
/// # Errors
/// [`ServeError`]; nothing is left half done.
pub async fn serve(options: Options, started: impl FnOnce(Started<'_>)) -> Result<(), ServeError> {
    let Options {
        book,
        listen,
        tablets,
        open_browser,
    } = options;
    refuse_outside(listen.unwrap_or(USUAL))?;
    let path = match book {
        Some(path) => path,
        None => app::default_book()?,
    };
    let open = |address: &str| {
        if open_browser {
            // Where there is no browser, the address that was told is enough.
            let _no_browser = open::that_detached(address);
        }
    };
    if let Some(Taken::Elsewhere(address)) = path.is_file().then(|| Running::take(&path)) {
        started(Started {
            address: &address,
            book: &path,
            tablets: &[],
            elsewhere: true,
        });
        open(&address);
        return Ok(());
    }
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
    let switch = match tablets {
        Some(TabletOptions { listen, own, names }) => {
            let switch = Switch::new(&app, own, names);
            switch.open(listen).await?;
            switch
        }
        None => Switch::new(&app, None, Vec::new()),
    };
    let mut asked = asked_to_stop()?;
    let token = new_token()?;
    let shown = format!("http://{address}/?start={token}");
    let mut running = match Running::take(app.book().path()) {
        Taken::Here(running) => Some(running),
        // Somebody else started at the same moment, and serves the same book as well.
        Taken::Elsewhere(_) | Taken::Unknown => None,
    };
    if let Some(running) = &mut running {
        running.tell(&shown);
    }
    let names = Names::of(address)
        .with_token(&token)
        .with_refusals(Refusals::beside(app.book().path()));
    let site = router(app.clone(), names).layer(Extension(switch.clone()));
    started(Started {
        address: &shown,
        book: app.book().path(),
        tablets: &switch.places(),
        elsewhere: false,
    });
    open(&shown);
    let looking_after = tokio::spawn({
        let app = app.clone();
        async move {
            loop {
                app.look_after().await;
                tokio::time::sleep(LOOK_AFTER).await;
            }
        }
    });
    let at_the_desk = Door::default().attend(listener, None, site, asked.clone());
    let at_the_bench = async {
        let mut asked = asked.clone();
        drop(asked.wait_for(|times| *times > 0).await);
        tokio::select! { () = switch.close() => {}, _ = asked.wait_for(|times| *times > 1) => {} }
    };
    tokio::join!(at_the_desk, at_the_bench);
    looking_after.abort();
    let closing = async {
        let _its_time_is_over = tokio::time::timeout(CLOSING, app.close()).await;
    };
    // Whoever asks twice isn't kept waiting: nothing that was acknowledged is lost by it.
    tokio::select! { () = closing => {}, _ = asked.wait_for(|times| *times > 1) => {} }
    drop(running);
    Ok(())
}

/// Refuses an address that other computers can reach, as long as there are no accounts.
///
/// # Errors
/// [`ServeError::Outside`] for any address but this computer's own.
pub fn refuse_outside(listen: SocketAddr) -> Result<(), ServeError> {
    if listen.ip().to_canonical().is_loopback() {
        return Ok(());
    }
    Err(ServeError::Outside { listen })
}

/// What only the person who started the program knows: 128 random bits.
fn new_token() -> Result<String, ServeError> {
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes).map_err(|error| ServeError::BrokenOff(error.to_string()))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

/// How often the program was asked to stop. From the moment that this returns no asking is missed.
fn asked_to_stop() -> Result<watch::Receiver<u32>, ServeError> {
    let (asked, heard) = watch::channel(0);
    let once_more = move || asked.send_modify(|times| *times += 1);
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let listen = |kind| signal(kind).map_err(|error| ServeError::BrokenOff(error.to_string()));
        let mut interrupted = listen(SignalKind::interrupt())?;
        let mut terminated = listen(SignalKind::terminate())?;
        tokio::spawn(async move {
            loop {
                tokio::select! { _ = interrupted.recv() => {}, _ = terminated.recv() => {} }
                once_more();
            }
        });
    }
    #[cfg(not(unix))]
    tokio::spawn(async move {
        while tokio::signal::ctrl_c().await.is_ok() {
            once_more();
        }
    });
    Ok(heard)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_this_computer_is_listened_on() {
        for (listen, fine) in [
            ("127.0.0.1:8080", true),
            ("127.8.8.8:0", true),
            ("[::1]:8080", true),
            ("0.0.0.0:8080", false),
            ("[::]:8080", false),
            ("192.168.1.4:80", false),
        ] {
            assert_eq!(
                refuse_outside(listen.parse().unwrap()).is_ok(),
                fine,
                "{listen}"
            );
        }
    }
}
