//! Connections: how many there may be, how long each may dawdle, and how they end when the program stops.

use axum::Router;
use axum::extract::Request;
use axum::response::Response;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use std::convert::Infallible;
use std::net::IpAddr;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};
use tokio::io::{AsyncRead, AsyncWrite, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Notify, watch};
use tokio::task::JoinSet;
use tokio_rustls::TlsAcceptor;
use tower::ServiceExt;

/// Connections at once.
const MOST: usize = 256;
/// Connections at once from one address.
const MOST_EACH: usize = 192;
/// Longest that the head of a request may take to come, and that a connection may be idle.
const MOST_IDLE: Duration = Duration::from_secs(30);
/// Longest that a connection may take to agree on how it is sealed.
const MOST_AGREEING: Duration = Duration::from_secs(10);
/// The first byte of a connection that is to be sealed: a handshake record (RFC 8446, 5.1).
const HANDSHAKE: u8 = 22;
/// What is told who speaks without a seal to a door that wants one.
const UNSEALED: &str = "HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain; charset=utf-8\r\nConnection: close\r\n\r\n\
                        This door is sealed: begin its address with https:// instead of http://.\n";
/// Longest that what is going on is waited for at the end.
const FAREWELL: Duration = Duration::from_secs(2);

/// Who is in.
#[derive(Debug)]
struct Guest {
    id: u64,
    address: IpAddr,
    /// Requests being answered.
    busy: Arc<AtomicUsize>,
    /// Since when nothing is.
    idle_since: Arc<Mutex<Instant>>,
    leave: Arc<Notify>,
}

/// Lets connections in and out.
#[derive(Clone, Debug, Default)]
pub(crate) struct Door(Arc<Mutex<Vec<Guest>>>);

impl Door {
    fn guests(&self) -> MutexGuard<'_, Vec<Guest>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Answers until it is asked to stop; then lets what is going on come to its end for a moment, or not even that if it
    /// is asked once more.
    pub(crate) async fn attend(
        self,
        listener: TcpListener,
        tls: Option<TlsAcceptor>,
        site: Router,
        mut asked: watch::Receiver<u32>,
    ) {
        let (ending, ended) = watch::channel(false);
        let mut inside = JoinSet::new();
        let mut id = 0;
        loop {
            let came = tokio::select! {
                _ = asked.wait_for(|times| *times > 0) => break,
                came = listener.accept() => came,
                Some(_gone) = inside.join_next(), if !inside.is_empty() => continue,
            };
            let Ok((stream, from)) = came else {
                // Too many open files, say: whoever is idle leaves, and a moment later there is room.
                self.send_away(None);
                tokio::time::sleep(Duration::from_millis(50)).await;
                continue;
            };
            id += 1;
            if let Some(guest) = self.let_in(id, from.ip()) {
                let door = self.clone();
                let serving = received(stream, tls.clone(), site.clone(), guest, ended.clone());
                inside.spawn(async move {
                    serving.await;
                    door.guests().retain(|guest| guest.id != id);
                });
            }
        }
        drop(listener);
        let _nobody_may_be_in = ending.send(true);
        let all_gone = async { while inside.join_next().await.is_some() {} };
        tokio::select! {
            () = all_gone => {}
            () = tokio::time::sleep(FAREWELL) => {}
            _ = asked.wait_for(|times| *times > 1) => {}
        }
        inside.abort_all();
    }

    /// Makes room for one more, if need be by sending away who has been idle longest; none when everybody is busy.
    fn let_in(&self, id: u64, address: IpAddr) -> Option<Here> {
        let (all, same) = {
            let guests = self.guests();
            let same = guests.iter().filter(|g| g.address == address).count();
            (guests.len(), same)
        };
        let room = if same >= MOST_EACH {
            self.send_away(Some(address))
        } else {
            all < MOST || self.send_away(None)
        };
        if !room {
            return None;
        }
        let here = Here {
            busy: Arc::default(),
            idle_since: Arc::new(Mutex::new(Instant::now())),
            leave: Arc::default(),
        };
        self.guests().push(Guest {
            id,
            address,
            busy: Arc::clone(&here.busy),
            idle_since: Arc::clone(&here.idle_since),
            leave: Arc::clone(&here.leave),
        });
        Some(here)
    }

    /// Sends away who has been idle longest; says whether there was anybody.
    fn send_away(&self, of: Option<IpAddr>) -> bool {
        let mut guests = self.guests();
        let idle = guests
            .iter()
            .enumerate()
            .filter(|(_, g)| of.is_none_or(|of| g.address == of))
            .filter(|(_, g)| g.busy.load(Ordering::Relaxed) == 0)
            .min_by_key(|(_, g)| *g.idle_since.lock().unwrap_or_else(PoisonError::into_inner));
        match idle.map(|(at, _)| at) {
            Some(at) => {
                guests.remove(at).leave.notify_one();
                true
            }
            None => false,
        }
    }
}

/// What a connection knows of itself.
#[derive(Clone)]
struct Here {
    busy: Arc<AtomicUsize>,
    idle_since: Arc<Mutex<Instant>>,
    leave: Arc<Notify>,
}

/// Serves a connection, sealed where the door is.
async fn received(
    mut stream: TcpStream,
    tls: Option<TlsAcceptor>,
    site: Router,
    here: Here,
    ended: watch::Receiver<bool>,
) {
    // An answer goes out as soon as it is there.
    let _not_everywhere = stream.set_nodelay(true);
    let Some(tls) = tls else {
        return serve_one(stream, site, here, ended).await;
    };
    let leave = Arc::clone(&here.leave);
    let sealed = async {
        let mut first = [0];
        if stream.peek(&mut first).await.ok()? == 1 && first[0] != HANDSHAKE {
            let _told_if_heard = stream.write_all(UNSEALED.as_bytes()).await;
            return None;
        }
        tls.accept(stream).await.ok()
    };
    let sealed = tokio::select! {
        sealed = tokio::time::timeout(MOST_AGREEING, sealed) => sealed.ok().flatten(),
        () = leave.notified() => None,
    };
    if let Some(sealed) = sealed {
        serve_one(sealed, site, here, ended).await;
    }
}

async fn serve_one(
    stream: impl AsyncRead + AsyncWrite + Unpin,
    site: Router,
    here: Here,
    mut ended: watch::Receiver<bool>,
) {
    let leave = Arc::clone(&here.leave);
    let service = hyper::service::service_fn(move |request: hyper::Request<Incoming>| {
        let (site, here) = (site.clone(), here.clone());
        async move {
            let _busy = Busy::of(here);
            let answer: Result<Response, Infallible> = site
                .oneshot(request.map(axum::body::Body::new) as Request)
                .await;
            answer
        }
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(MOST_IDLE)
        .serve_connection(TokioIo::new(stream), service);
    tokio::pin!(connection);
    tokio::select! {
        _over = connection.as_mut() => return,
        () = leave.notified() => return,
        _ = ended.wait_for(|ended| *ended) => {}
    }
    connection.as_mut().graceful_shutdown();
    let _over = connection.await;
}

/// Counts a request as long as it is being answered, also when it is broken off.
struct Busy(Here);

impl Busy {
    fn of(here: Here) -> Self {
        here.busy.fetch_add(1, Ordering::Relaxed);
        Self(here)
    }
}

impl Drop for Busy {
    fn drop(&mut self) {
        *self
            .0
            .idle_since
            .lock()
            .unwrap_or_else(PoisonError::into_inner) = Instant::now();
        self.0.busy.fetch_sub(1, Ordering::Relaxed);
    }
}
