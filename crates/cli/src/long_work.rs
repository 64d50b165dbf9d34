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
    shown: bool,
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
        Self { started: Instant::now(), last: None, shown: false, watched }
    }

    /// Told after each row; whether to go on.
    pub(crate) fn go_on(&mut self, done: u64, total: u64) -> bool {
        if self.watched {
            self.show(done, total);
        }
        !self.is_stopped()
    }

    /// Whether Ctrl-C was pressed.
    pub(crate) fn is_stopped(&self) -> bool {
        STOPPED.load(Ordering::Relaxed)
    }

    fn show(&mut self, done: u64, total: u64) {
        let now = Instant::now();
        let since = now - self.last.unwrap_or(self.started);
        if since < if self.shown { AGAIN } else { QUIET } {
            return;
        }
        self.last = Some(now);
        self.shown = true;
        tell(&format!("\r{}\u{1b}[K", sentence(done, total, now - self.started)));
    }
}

impl Drop for LongWork {
    fn drop(&mut self) {
        if self.shown {
            tell("\r\u{1b}[K");
        }
    }
}

fn sentence(done: u64, total: u64, taken: Duration) -> String {
    if done == 0 || total == 0 {
        return format!("{done} done; Ctrl-C stops and shows what there is");
    }
    let left = taken.as_secs_f64() * (total.saturating_sub(done)) as f64 / done as f64;
    let left = if left < 90.0 { format!("{left:.0} s") } else { format!("{:.0} min", left / 60.0) };
    let share = 100.0 * done as f64 / total as f64;
    format!("{done} of {total} ({share:.0} %), {left} left; Ctrl-C stops and shows what there is")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_time_left_follows_from_the_time_taken() {
        let after = |done| sentence(done, 400, Duration::from_secs(10));
        assert!(after(100).starts_with("100 of 400 (25 %), 30 s left;"), "{}", after(100));
        assert!(after(10).contains("(2 %), 6 min left"), "{}", after(10));
        assert!(after(0).starts_with("0 done"));
    }
}
