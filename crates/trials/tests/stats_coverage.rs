//! Coverage by simulation: slow, run with `--ignored`.
#![allow(
    clippy::unwrap_used,
    reason = "a test may stop where its data are not as written"
)]

use trials::stats::coverage::{Layout, coverage};

#[test]
#[ignore = "slow: 5,000 trials per layout"]
fn intervals_cover_and_tukey_keeps_its_error() {
    for layout in Layout::ALL {
        let found = coverage(layout, 5_000, 20_240_711);
        println!(
            "{}: intervals cover {:.2} %, family error {:.2} %",
            layout.word(),
            100.0 * found.interval,
            100.0 * found.family_error
        );
        assert_eq!(found.trials, 5_000, "every model settles");
        if layout.sound() {
            assert!((0.94..=0.96).contains(&found.interval), "{found:?}");
            assert!((0.04..=0.06).contains(&found.family_error), "{found:?}");
        } else {
            // Pieces as replicates: most trials find a difference that isn't there.
            assert!(
                found.interval < 0.70 && found.family_error > 0.50,
                "{found:?}"
            );
        }
    }
}

#[test]
fn a_short_run_is_reproducible_and_near() {
    let one = coverage(Layout::BatchMeans, 400, 7);
    assert_eq!(one, coverage(Layout::BatchMeans, 400, 7));
    assert!(one.interval > 0.90 && one.family_error < 0.10);
    let naive = coverage(Layout::PiecesAsReplicates, 400, 7);
    assert!(naive.family_error > 0.4);
}
