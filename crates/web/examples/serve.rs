//! Serves a book until ctrl-c: `cargo run -p web --example serve -- BOOK [PORT]`.
#![allow(clippy::print_stdout)]

#[tokio::main]
async fn main() -> Result<(), web::ServeError> {
    let mut args = std::env::args().skip(1);
    let book = args.next().map(std::path::PathBuf::from);
    let port = args.next().and_then(|p| p.parse().ok()).unwrap_or(0);
    let options = web::Options {
        book,
        listen: Some(([127, 0, 0, 1], port).into()),
        tablets: None,
        open_browser: false,
    };
    web::serve(options, |started| {
        println!("{} {}", started.address, started.book.display())
    })
    .await
}
