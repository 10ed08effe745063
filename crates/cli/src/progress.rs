//! How far long work is, and the time left, on a terminal; nothing in a pipe.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;

/// Steps of work that tells only the share that is done.
const STEPS: u64 = 1000;

/// A bar on standard error for work that `what` names; hidden when that is no terminal.
pub fn bar(what: &str) -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::with_draw_target(Some(STEPS), ProgressDrawTarget::stderr_with_hz(8));
    let style = ProgressStyle::with_template("{msg} {bar:30} {percent:>3} %, {eta} left");
    if let Ok(style) = style {
        bar.set_style(style.progress_chars("━━ "));
    }
    bar.set_message(what.to_owned());
    bar
}

/// Moves a bar to a share of the work, 0 to 1.
pub fn to_share(bar: &ProgressBar, done: f64) {
    let length = bar.length().unwrap_or(STEPS);
    bar.set_position((done.clamp(0.0, 1.0) * length as f64) as u64);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_its_place_on_the_bar() {
        let bar = ProgressBar::hidden();
        bar.set_length(40);
        for (share, place) in [(0.0, 0), (0.5, 20), (1.0, 40), (7.0, 40), (-1.0, 0)] {
            to_share(&bar, share);
            assert_eq!(bar.position(), place, "{share}");
        }
    }
}
