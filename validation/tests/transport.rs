//! The page about how water moves is what the list of pairs says, and both laws give what was worked out apart.

use std::path::Path;

#[test]
fn the_page_of_pairs_is_up_to_date() {
    let text = validation::transport_page();
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/model/transport.md");
    if std::env::var_os("UPDATE_VALIDATION").is_some() {
        std::fs::write(&path, &text).expect("the page can be written");
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    let differs = text.lines().zip(written.lines()).find(|(a, b)| a != b);
    assert!(
        text == written,
        "docs/model/transport.md is out of date (UPDATE_VALIDATION=1 cargo test -p validation writes it): {differs:?}"
    );
}
