//! Opening and closing the tablets' door while the program runs.

use super::{TabletOptions, Tablets, Told};
use crate::serve::ServeError;
use app::App;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tokio::sync::watch;
use tokio::task::JoinHandle;

/// The switch of the tablets' door: closed until somebody opens it, and closed when the program ends.
#[derive(Clone, Debug)]
pub struct Switch(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    app: App,
    /// One's own certificate and key, as the program was started with.
    own: Option<(PathBuf, PathBuf)>,
    /// Names that tablets may ask for, as the program was started with.
    names: Vec<String>,
    open: Mutex<Option<Open>>,
    /// One hand at the switch at a time.
    turning: tokio::sync::Mutex<()>,
}

/// A door that is open.
#[derive(Debug)]
struct Open {
    told: Told,
    close: watch::Sender<u32>,
    attending: JoinHandle<()>,
}

impl Switch {
    /// A closed door of a book. Certificate and names are those that it is opened with each time.
    pub fn new(app: &App, own: Option<(PathBuf, PathBuf)>, names: Vec<String>) -> Self {
        Self(Arc::new(Inner {
            app: app.clone(),
            own,
            names,
            open: Mutex::default(),
            turning: tokio::sync::Mutex::default(),
        }))
    }

    fn now(&self) -> MutexGuard<'_, Option<Open>> {
        self.0.open.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What the desk tells people of the open door; none while it is closed.
    pub(crate) fn told(&self) -> Option<Told> {
        self.now().as_ref().map(|open| open.told.clone())
    }

    /// The addresses of the bench; none while it is closed.
    pub fn places(&self) -> Vec<String> {
        self.told().map(|told| told.places()).unwrap_or_default()
    }

    /// Opens the door at an address. One that is open is closed first.
    ///
    /// # Errors
    /// [`ServeError::Tablets`] with what is wrong: an address that is taken, a certificate that can't be read. The door is
    /// closed then.
    pub async fn open(&self, listen: SocketAddr) -> Result<(), ServeError> {
        let _turning = self.0.turning.lock().await;
        self.shut().await;
        let options = TabletOptions {
            listen,
            own: self.0.own.clone(),
            names: self.0.names.clone(),
        };
        let tablets = Tablets::open(options, &self.0.app).await?;
        let told = tablets.told();
        let (close, closing) = watch::channel(0);
        let attending = tokio::spawn(tablets.attend(closing));
        *self.now() = Some(Open {
            told,
            close,
            attending,
        });
        Ok(())
    }

    /// Closes the door: nobody comes in from now on, and what is going on comes to its end for a moment.
    pub async fn close(&self) {
        let _turning = self.0.turning.lock().await;
        self.shut().await;
    }

    async fn shut(&self) {
        let open = self.now().take();
        if let Some(open) = open {
            let _somebody_hears = open.close.send(1);
            let _it_may_have_ended = open.attending.await;
        }
    }
}
