//! The bench's way in: rows and photographs through the desk's door, and the tablets' door through TLS.
#![allow(clippy::unwrap_used, clippy::print_stdout)] // tests throughout

mod door;
mod file;
mod pages;
mod rows;
mod tablets;

use app::App;
use book::{Kind, Save};
use serde_json::{Value, json};
use tempfile::TempDir;

/// A book with a batch ‘b1’.
pub(crate) async fn lab() -> (TempDir, App) {
    let folder = tempfile::tempdir().unwrap();
    let app = App::open(&folder.path().join("lab.book")).await.unwrap();
    let batch = Save {
        kind: Kind::Batch,
        thing: "b1".to_owned(),
        base: None,
        who: "Ada".to_owned(),
        when: "2026-03-02T12:00:00Z".to_owned(),
        why: None,
        title: "Batch 1".to_owned(),
        form_version: 1,
        form: "treatment = \"control\"".to_owned(),
    };
    app.book().save(batch).await.unwrap();
    (folder, app)
}

/// A row as a device sends it.
pub(crate) fn row(key: &str, value: &str) -> Value {
    json!({
        "key": key, "kind": "batch", "thing": "b1", "at": "2026-03-02T12:00:00Z", "who": "Ada",
        "what": "dose", "of": "water", "value": value, "unit": "g",
    })
}

/// A picture of one pixel.
pub(crate) fn picture() -> Vec<u8> {
    let head = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\x02\0\0\0\x90\x77\x53\xde";
    let data = b"\0\0\0\x0cIDAT\x08\xd7\x63\xf8\xcf\xc0\0\0\x03\x01\x01\0\x18\xdd\x8d\xb0";
    let end = b"\0\0\0\0IEND\xae\x42\x60\x82";
    [&head[..], data, end].concat()
}
