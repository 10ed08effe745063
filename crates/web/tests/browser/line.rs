//! A line between the browser and the program that can be cut, as a tablet's is at the far end of a bakery: what is
//! under way breaks off, and nothing new gets through. The browser's own switch for that doesn't reach the worker that
//! keeps the pages.

use app::App;
use std::net::SocketAddr;
use tokio::io::copy_bidirectional;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::watch;
use web::{Names, router};

/// The line.
pub struct Line {
    /// Where the browser finds it.
    pub address: SocketAddr,
    whole: watch::Sender<bool>,
}

impl Line {
    /// A line to a program at an address, which may be away.
    pub async fn to(program: SocketAddr) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let (whole, seen) = watch::channel(true);
        tokio::spawn(async move {
            loop {
                let (mut near, _) = listener.accept().await.unwrap();
                let mut seen = seen.clone();
                if !*seen.borrow_and_update() {
                    continue;
                }
                tokio::spawn(async move {
                    let Ok(mut far) = TcpStream::connect(program).await else {
                        return;
                    };
                    tokio::select! {
                        _over = copy_bidirectional(&mut near, &mut far) => {}
                        _cut = seen.wait_for(|whole| !whole) => {}
                    }
                });
            }
        });
        Self { address, whole }
    }

    /// A line to a program of its own over a book.
    pub async fn over(app: App) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let line = Self::to(listener.local_addr().unwrap()).await;
        let site = router(app, Names::of(line.address));
        tokio::spawn(async move { axum::serve(listener, site).await.unwrap() });
        line
    }

    /// The address of the pages.
    pub fn root(&self) -> String {
        format!("http://{}", self.address)
    }

    /// Cuts it.
    pub fn cut(&self) {
        self.whole.send_replace(false);
    }

    /// Mends it.
    pub fn mend(&self) {
        self.whole.send_replace(true);
    }
}
