//! `hardtack open`: the book on screen.

use crate::args::Open;
use crate::{End, tell};
use anyhow::Context;

/// Serves the book until ctrl-c.
pub fn run(args: Open) -> anyhow::Result<End> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .context("cannot start the runtime that the pages are served from")?;
    let options = web::Options {
        book: args.book,
        listen: args.listen,
        open_browser: !args.no_browser,
    };
    runtime.block_on(web::serve(options, |address, book| {
        tell::note(&format!(
            "Hardtack is open at http://{address}/ on the book {}\nCtrl-C closes it; the book keeps everything.\n",
            book.display()
        ));
    }))?;
    Ok(End::Fine)
}
