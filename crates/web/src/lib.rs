//! The pages: HTML that works without script, and the same as JSON, over HTTP on this computer.
//!
//! Knows HTTP, HTML and how a person moves from page to page. Must not know SQL or any science:
//! it asks [`app`] and shows what it answers.

mod asset;
mod assets;
mod door;
mod error;
mod fields;
mod guard;
mod pages;
mod refusals;
mod router;
mod running;
mod sent;
mod serve;
mod shell;
mod tablets;
mod wants;

pub use guard::Names;
pub use router::router;
pub use serve::{Options, ServeError, Started, refuse_outside, serve};
pub use tablets::{Switch, TabletOptions};
