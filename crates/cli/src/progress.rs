//! How far long work is, and the time left, on a terminal; nothing in a pipe.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;
use std::sync::mpsc;
use std::time::Duration;

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

/// Work that takes no longer than this shows nothing.
const PATIENCE: Duration = Duration::from_millis(700);

/// Does work that can't tell its share: on a terminal, once it takes a while, a line on standard error
/// says what is done and for how long. Nothing is written before it ends, so stopping it loses nothing.
pub fn during<T>(what: &str, work: impl FnOnce() -> T) -> T {
    if !std::io::stderr().is_terminal() {
        return work();
    }
    let line = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr_with_hz(8));
    let style = ProgressStyle::with_template("{spinner} {msg}, {elapsed} so far; Ctrl+C stops it");
    if let Ok(style) = style {
        line.set_style(style);
    }
    line.set_message(what.to_owned());
    let (ended, end) = mpsc::channel::<()>();
    let found = std::thread::scope(|scope| {
        let shown = &line;
        scope.spawn(move || {
            if end.recv_timeout(PATIENCE) == Err(mpsc::RecvTimeoutError::Timeout) {
                shown.enable_steady_tick(Duration::from_millis(200));
            }
        });
        let found = work();
        drop(ended);
        found
    });
    line.finish_and_clear();
    found
}

/// Moves a bar to so many rows of so many.
pub fn of_rows(bar: &ProgressBar) -> impl FnMut(u64, u64) + Send + '_ {
    |done, all| {
        bar.set_length(all);
        bar.set_position(done);
    }
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
    fn work_gives_what_it_found() {
        assert_eq!(during("counting", || (1..=4).sum::<i32>()), 10);
    }

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
