//! What the browser tests need: a browser, its driver, and the checker of accessibility.

use crate::packages::{NPM, Package, Program, have};
use anyhow::Result;

/// The checker of accessibility, for tests only; a new version may find new faults.
const CHECKER: Package = Package {
    name: "axe-core",
    version: "4.14.1",
    sha256: "e6b0ce02b84d892e2e33e403485e7f3d6c29e2be6df65daf44d89ba564139745",
    file: "axe.min.js",
};

const BROWSER: Program = ("chromium", "chromium");
const DRIVER: Program = ("chromedriver", "chromium-driver");

/// Makes sure that everything is there.
pub fn set_up() -> Result<()> {
    let npm = (!CHECKER.is_fetched()).then_some(NPM);
    let programs: Vec<Program> = [BROWSER, DRIVER].into_iter().chain(npm).collect();
    have(&programs)?;
    CHECKER.fetch()
}
