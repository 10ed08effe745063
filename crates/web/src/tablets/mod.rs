//! The tablets' door: the pages of the bench alone, over TLS, for devices that were paired.

mod authority;
mod pages;
mod switch;

pub(crate) use authority::fingerprint;
use pages::routes;
pub(crate) use pages::{Cookie, OPEN_TO_ALL, authority as authority_file};
pub use switch::Switch;

use crate::door::Door;
use crate::guard::{self, Names};
use crate::refusals::Refusals;
use crate::serve::ServeError;
use app::App;
use authority::{Authority, Shown};
use axum::{Extension, Router};
use rustls::ServerConfig;
use rustls::crypto::CryptoProvider;
use rustls::server::{ClientHello, ResolvesServerCert};
use rustls::sign::CertifiedKey;
use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;
use std::sync::{Arc, PoisonError, RwLock};
use std::time::{Duration, Instant};
use tokio::net::TcpListener;
use tokio::sync::watch;
use tokio_rustls::TlsAcceptor;

/// How often it is looked whether the computer has other addresses.
const LOOK: Duration = Duration::from_secs(60);
/// A certificate that is older is made anew.
const RENEWED_AFTER: Duration = Duration::from_secs(180 * 24 * 60 * 60);

/// How to open the tablets' door.
#[derive(Clone, Debug)]
pub struct TabletOptions {
    /// Where to listen.
    pub listen: SocketAddr,
    /// One's own certificate and key, in PEM; the local authority's where there are none.
    pub own: Option<(PathBuf, PathBuf)>,
    /// Names that tablets may ask for beside the addresses, such as `bakery.local`.
    pub names: Vec<String>,
}

/// What the desk tells people of the open door.
#[derive(Clone, Debug)]
pub(crate) struct Told(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    /// Where tablets find it.
    places: RwLock<Vec<String>>,
    /// The local authority's certificate; none where one's own is shown.
    authority: Option<Vec<u8>>,
}

impl Told {
    /// Addresses to type on a tablet.
    pub(crate) fn places(&self) -> Vec<String> {
        let places = self.0.places.read().unwrap_or_else(PoisonError::into_inner);
        places.clone()
    }

    /// The local authority's certificate; none where one's own is shown.
    pub(crate) fn authority(&self) -> Option<&[u8]> {
        self.0.authority.as_deref()
    }
}

/// The door, ready to be attended.
#[derive(Debug)]
pub(crate) struct Tablets {
    listener: TcpListener,
    site: Router,
    tls: Tls,
    renewal: Renewal,
    told: Told,
}

/// Seals connections.
struct Tls(TlsAcceptor);

impl std::fmt::Debug for Tls {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Tls")
    }
}

/// The certificate that is shown now.
#[derive(Debug)]
struct Now(RwLock<Arc<CertifiedKey>>);

impl ResolvesServerCert for Now {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        let now = self.0.read().unwrap_or_else(PoisonError::into_inner);
        Some(Arc::clone(&now))
    }
}

/// What is needed to follow the computer's addresses.
#[derive(Debug)]
struct Renewal {
    options: TabletOptions,
    address: SocketAddr,
    authority: Option<Authority>,
    provider: Arc<CryptoProvider>,
    shown: Arc<Now>,
    guard: Names,
    told: Told,
    names: Vec<String>,
    made: Instant,
}

impl Tablets {
    /// Takes its address and makes its certificate; nobody is answered yet.
    ///
    /// # Errors
    /// [`ServeError::Tablets`] with what is wrong: an address that is taken, a certificate that can't be read.
    pub(crate) async fn open(options: TabletOptions, app: &App) -> Result<Self, ServeError> {
        let no = |what: String| ServeError::Tablets {
            listen: options.listen,
            what,
        };
        let listener = TcpListener::bind(options.listen)
            .await
            .map_err(|error| no(error.to_string()))?;
        let address = listener
            .local_addr()
            .map_err(|error| no(error.to_string()))?;
        let authority = match options.own {
            Some(_) => None,
            None => Some(Authority::beside(app.book().path()).map_err(&no)?),
        };
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let names = names(address, &options.names);
        let certificate =
            certificate(&options, authority.as_ref(), &provider, &names).map_err(&no)?;
        let shown = Arc::new(Now(RwLock::new(certificate)));
        let mut config = ServerConfig::builder_with_provider(Arc::clone(&provider))
            .with_safe_default_protocol_versions()
            .map_err(|error| no(error.to_string()))?
            .with_no_client_auth()
            .with_cert_resolver(Arc::clone(&shown) as Arc<dyn ResolvesServerCert>);
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        let told = Told(Arc::new(Inner {
            places: RwLock::new(places(&names, address.port())),
            authority: authority.as_ref().map(|a| a.certificate().to_vec()),
        }));
        let guard = Names::of_tablets(app.clone(), &names, address.port())
            .with_refusals(Refusals::beside(app.book().path()));
        let site = routes()
            .with_state(app.clone())
            .layer(Extension(told.clone()));
        Ok(Self {
            listener,
            site: guard::around(site, guard.clone()),
            tls: Tls(TlsAcceptor::from(Arc::new(config))),
            renewal: Renewal {
                options,
                address,
                authority,
                provider,
                shown,
                guard,
                told: told.clone(),
                names,
                made: Instant::now(),
            },
            told,
        })
    }

    /// What the desk tells people of it.
    pub(crate) fn told(&self) -> Told {
        self.told.clone()
    }

    /// Answers until it is asked to stop.
    pub(crate) async fn attend(self, asked: watch::Receiver<u32>) {
        let Self {
            listener,
            site,
            tls,
            mut renewal,
            ..
        } = self;
        let following = tokio::spawn(async move {
            loop {
                tokio::time::sleep(LOOK).await;
                renewal.follow();
            }
        });
        Door::default()
            .attend(listener, Some(tls.0), site, asked)
            .await;
        following.abort();
    }
}

impl Renewal {
    /// Shows another certificate where the addresses are others, or the one shown is old. What can't be made leaves the
    /// one that is shown.
    fn follow(&mut self) {
        let now = names(self.address, &self.options.names);
        if now == self.names && self.made.elapsed() < RENEWED_AFTER && self.options.own.is_none() {
            return;
        }
        let made = certificate(&self.options, self.authority.as_ref(), &self.provider, &now);
        let Ok(made) = made else { return };
        *self.shown.0.write().unwrap_or_else(PoisonError::into_inner) = made;
        self.guard.answer_to(&now, self.address.port());
        let places = places(&now, self.address.port());
        *self
            .told
            .0
            .places
            .write()
            .unwrap_or_else(PoisonError::into_inner) = places;
        (self.names, self.made) = (now, Instant::now());
    }
}

fn certificate(
    options: &TabletOptions,
    authority: Option<&Authority>,
    provider: &CryptoProvider,
    names: &[String],
) -> Result<Arc<CertifiedKey>, String> {
    let (chain, key): Shown = match (&options.own, authority) {
        (Some((certificate, key)), _) => authority::own(certificate, key)?,
        (None, Some(authority)) => authority
            .certify(names)
            .map_err(|error| error.to_string())?,
        (None, None) => return Err("there is no certificate".to_owned()),
    };
    CertifiedKey::from_der(chain, key, provider)
        .map(Arc::new)
        .map_err(|error| error.to_string())
}

/// What this computer may be called on the door's address: the names given, then addresses.
fn names(address: SocketAddr, given: &[String]) -> Vec<String> {
    let mut names = given.to_vec();
    let ip = address.ip();
    if !ip.is_unspecified() {
        names.push(ip.to_string());
        return names;
    }
    let mut all: Vec<IpAddr> = if_addrs::get_if_addrs()
        .unwrap_or_default()
        .into_iter()
        .filter(|interface| !interface.is_link_local())
        .map(|interface| interface.ip())
        .filter(|other| ip.is_ipv6() || other.is_ipv4())
        .collect();
    // Those that other devices reach come first.
    all.sort_by_key(|ip| (ip.is_loopback(), ip.is_ipv6(), *ip));
    all.dedup();
    names.extend(all.iter().map(IpAddr::to_string));
    names.push("localhost".to_owned());
    names
}

/// A name as it stands in an address and in the head of a request.
pub(crate) fn host(name: &str, port: u16) -> String {
    let name = match name.parse::<IpAddr>() {
        Ok(IpAddr::V6(_)) => format!("[{name}]"),
        _ => name.to_owned(),
    };
    match port {
        443 => name,
        _ => format!("{name}:{port}"),
    }
}

fn places(names: &[String], port: u16) -> Vec<String> {
    let place = |name: &String| format!("https://{}/bench", host(name, port));
    names
        .iter()
        .filter(|name| *name != "localhost")
        .map(place)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hosts_are_written_as_browsers_send_them() {
        assert_eq!(host("192.168.1.7", 7412), "192.168.1.7:7412");
        assert_eq!(host("fd00::7", 7412), "[fd00::7]:7412");
        assert_eq!(host("oven.local", 443), "oven.local");
    }

    /// The computer got another address: the certificate is another, and the new name is answered to.
    #[tokio::test]
    async fn the_certificate_follows_the_addresses() {
        let folder = tempfile::tempdir().unwrap();
        let book = book::Book::open(&folder.path().join("lab.book"), true)
            .await
            .unwrap();
        let options = TabletOptions {
            listen: "127.0.0.4:0".parse().unwrap(),
            own: None,
            names: Vec::new(),
        };
        let mut door = Tablets::open(options, &App::over(book)).await.unwrap();
        let shown = |door: &Tablets| door.renewal.shown.0.read().unwrap().cert[0].clone();
        let first = shown(&door);
        door.renewal.follow();
        assert_eq!(shown(&door), first, "nothing has changed");
        door.renewal.options.names.push("oven.example".to_owned());
        door.renewal.follow();
        assert_ne!(shown(&door), first);
        assert!(door.told().places()[0].contains("oven.example"));
        // An old one is made anew, by the same authority.
        let second = shown(&door);
        let long_ago = Instant::now().checked_sub(2 * RENEWED_AFTER);
        door.renewal.made = long_ago.expect("a clock that goes back a year");
        door.renewal.follow();
        assert_ne!(shown(&door), second);
    }

    #[test]
    fn an_address_given_is_the_only_one_and_all_are_found_where_none_is() {
        let one = names("127.0.0.2:1".parse().unwrap(), &["oven.local".to_owned()]);
        assert_eq!(one, ["oven.local", "127.0.0.2"]);
        let all = names("0.0.0.0:1".parse().unwrap(), &[]);
        assert!(all.contains(&"127.0.0.1".to_owned()), "{all:?}");
        assert!(!all.iter().any(|name| name.contains(':')), "{all:?}");
    }
}
