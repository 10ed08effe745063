//! The bench: what devices send from there, and what they read.

mod batch;
mod entries;
mod field;
mod file;
mod line;
mod list;
mod oven;
mod photographs;
mod picture;
mod rows;
mod stations;
mod water;
mod whole;
mod worker;

use crate::router::{MOST_BYTES, MOST_UPLOAD_BYTES};
use app::App;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};

/// Bytes of rows sent at once.
const MOST_ROWS_BYTES: usize = 1_000_000;

/// The address of the bench.
pub(crate) const ADDRESS: &str = "/bench";

/// All that there is under `/bench`: the same on the desk's door and on the tablets'.
#[rustfmt::skip] // a list reads best as a list
pub(crate) fn routes() -> Router<App> {
    let rows = Router::new()
        .route("/bench/entries",             get(entries::since).post(entries::enter))
        .layer(DefaultBodyLimit::max(MOST_ROWS_BYTES));
    let pictures = Router::new()
        .route("/bench/picture",             post(picture::keep))
        .layer(DefaultBodyLimit::max(book::PICTURE_LIMIT_BYTES));
    let files = Router::new()
        .route("/bench/file",                get(file::page).post(file::read_in))
        .layer(DefaultBodyLimit::max(MOST_UPLOAD_BYTES));
    Router::new()
        .route("/bench",                     get(list::page))
        .route("/bench/worker.js",           get(worker::script))
        .route("/bench/picture/{hash}",      get(picture::show))
        .route("/bench/{batch}",             get(batch::stand))
        .route("/bench/{batch}/line",        get(line::page).post(line::enter))
        .route("/bench/{batch}/paper",       get(whole::page))
        .route("/bench/{batch}/{station}",   get(batch::page).post(batch::enter))
        .layer(DefaultBodyLimit::max(MOST_BYTES))
        .merge(rows)
        .merge(files)
        .merge(pictures)
}
