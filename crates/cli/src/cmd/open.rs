//! `hardtack open`: the book on screen.

use crate::args::Open;
use crate::{End, tell};
use anyhow::{Context, bail};
use std::io::{BufRead, IsTerminal};
use std::path::Path;
use std::time::Duration;

/// How long work that goes on is waited for when everything else has ended.
const LAST: Duration = Duration::from_millis(500);

/// Serves the book until ctrl-c.
pub fn run(args: Open) -> anyhow::Result<End> {
    if let Some(book) = args
        .book
        .as_deref()
        .filter(|book| !args.new && !book.exists())
    {
        may_be_made(book)?;
    }
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .context("cannot start the runtime that the pages are served from")?;
    let (names, own) = (args.bench_name, args.bench_certificate.zip(args.bench_key));
    let tablets = args
        .bench_listen
        .map(|listen| web::TabletOptions { listen, own, names });
    let options = web::Options {
        book: args.book,
        listen: args.listen,
        tablets,
        open_browser: !(args.no_browser || args.print_address),
    };
    let served = runtime.block_on(web::serve(options, |started| {
        let web::Started {
            address,
            book,
            tablets,
            elsewhere,
        } = started;
        if args.print_address {
            // Whoever asked for the address and doesn't take it has no use for anything else.
            let _nobody_reads_it = tell::out(&format!("{address}\n"));
        }
        let book = book.display();
        tell::note(&if elsewhere {
            format!("The book {book} is open already, at {address}\n")
        } else {
            format!(
                "Hardtack is open at {address} on the book {book}\n\
                 The address lets in whoever knows it: keep it to yourself. Ctrl-C closes; the book keeps everything.\n"
            )
        });
        if let Some(place) = tablets.first() {
            tell::note(&format!(
                "Tablets find the bench at {place}; pair them in Settings, Devices.\n"
            ));
        }
    }));
    runtime.shutdown_timeout(LAST);
    served?;
    Ok(End::Fine)
}

/// A mistyped name isn't a wish for a new book: asks, where there is somebody to ask.
fn may_be_made(book: &Path) -> anyhow::Result<()> {
    let shown = book.display();
    if std::io::stdin().is_terminal() {
        tell::note(&format!(
            "There is no book at {shown}. Make a new one there? [y/N] "
        ));
        let mut answer = String::new();
        std::io::stdin().lock().read_line(&mut answer)?;
        if matches!(answer.trim(), "y" | "Y" | "yes") {
            return Ok(());
        }
    }
    bail!(
        "there is no book at {shown}, and none was made. Check the path, or add --new for a new book there"
    );
}
