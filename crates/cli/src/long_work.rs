//! Long work: how much is done and how long it will still take, and Ctrl-C, which ends it early.

use std::io::{self, IsTerminal as _};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use crate::console::tell;

/// Whether Ctrl-C was pressed since long work began.
static STOPPED: AtomicBool = AtomicBool::new(false);

/// Work shorter than this says nothing of how far it is.
const QUIET: Duration = Duration::from_secs(1);
/// How often the line is written again.
const AGAIN: Duration = Duration::from_millis(200);

/// Long work under way.
pub(crate) struct LongWork {
    started: Instant,
    last: Option<Instant>,
    watched: bool,
}

impl LongWork {
    /// Begins: from here on, Ctrl-C asks the work to stop; pressed again, it ends the program.
    pub(crate) fn begin() -> Self {
        // Where no handler can be set, Ctrl-C ends the program as it always does.
        let _ = ctrlc::set_handler(|| {
            if STOPPED.swap(true, Ordering::SeqCst) {
                std::process::exit(130);
            }
        });
        let watched = io::stderr().is_terminal();
        Self { started: Instant::now(), last: None, watched }
    }

    /// Told after each row; whether to go on.
    pub(crate) fn go_on(&mut self, done: u64, total: u64) -> bool {
        if self.watched && self.is_due() {
            let share = if total == 0 { 0.0 } else { done as f64 / total as f64 };
            let of = if total == 0 { format!("{done} done") } else { format!("{done} of {total}") };
            self.show(&of, share);
        }
        !self.is_stopped()
    }

    /// The same for a stream of rows, of which the bytes read tell how far it is.
    pub(crate) fn go_on_reading(&mut self, rows: u64, bytes: u64, of_bytes: Option<u64>) -> bool {
        if self.watched && self.is_due() {
            let share = of_bytes.filter(|of| *of > 0).map_or(0.0, |of| bytes as f64 / of as f64);
            self.show(&format!("{rows} rows"), share);
        }
        !self.is_stopped()
    }

    /// Whether Ctrl-C was pressed.
    pub(crate) fn is_stopped(&self) -> bool {
        STOPPED.load(Ordering::Relaxed)
    }

    /// Whether it is time to write the line.
    fn is_due(&self) -> bool {
        let wait = if self.last.is_some() { AGAIN } else { QUIET };
        self.last.unwrap_or(self.started).elapsed() >= wait
    }

    fn show(&mut self, done: &str, share: f64) {
        self.last = Some(Instant::now());
        tell(&format!("\r{}\u{1b}[K", sentence(done, share, self.started.elapsed())));
    }
}

impl Drop for LongWork {
    fn drop(&mut self) {
        if self.last.is_some() {
            tell("\r\u{1b}[K");
        }
    }
}

fn sentence(done: &str, share: f64, taken: Duration) -> String {
    const STOP: &str = "Ctrl-C stops and shows what there is";
    if share <= 0.0 {
        return format!("{done}; {STOP}");
    }
    let left = taken.as_secs_f64() * (1.0 - share).max(0.0) / share;
    let left = if left < 90.0 { format!("{left:.0} s") } else { format!("{:.0} min", left / 60.0) };
    format!("{done} ({:.0} %), {left} left; {STOP}", 100.0 * share)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_time_left_follows_from_the_time_taken() {
        let after = |share| sentence("100 of 400", share, Duration::from_secs(10));
        assert!(after(0.25).starts_with("100 of 400 (25 %), 30 s left;"), "{}", after(0.25));
        assert!(after(0.025).contains("(2 %), 6 min left"), "{}", after(0.025));
        assert!(after(0.0).starts_with("100 of 400;"));
    }
}
