//! Work that can wait: one thread of its own, so that whoever types in a cell doesn't wait for it.

use rayon::{ThreadPool, ThreadPoolBuilder};
use std::sync::OnceLock;

/// Does a work whose parts would otherwise take every core, on one thread.
pub(crate) fn patiently<R: Send>(work: impl FnOnce() -> R + Send) -> R {
    static POOL: OnceLock<Option<ThreadPool>> = OnceLock::new();
    let one = || ThreadPoolBuilder::new().num_threads(1).build().ok();
    match POOL.get_or_init(one) {
        Some(pool) => pool.install(work),
        // A computer that gives no thread more does it where it is.
        None => work(),
    }
}
