//! What people do at the desk, on fresh books with the demonstration.
#![allow(clippy::unwrap_used)] // a helper of a test may panic

mod examples;
mod lost;
mod lots;
mod study;
mod then;
mod trial;
mod windows;

use ::study::edit::Edit;
use app::App;
use tempfile::TempDir;

const BARS: &str = "spent-grain-bars";

async fn fresh() -> (TempDir, App) {
    let folder = tempfile::tempdir().unwrap();
    let app = App::open(&folder.path().join("lab.book")).await.unwrap();
    (folder, app)
}

fn amount(treatment: &str, material: &str, amount: f64) -> [Edit; 1] {
    [Edit::SetAmount {
        treatment: treatment.into(),
        material: material.into(),
        amount,
    }]
}
