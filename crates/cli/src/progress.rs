use std::io::IsTerminal;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Work that takes less than this shows no progress.
const PATIENCE: Duration = Duration::from_secs(1);

/// Progress shown on a terminal once the work takes long.
pub(crate) struct Progress {
    /// What is counted and done: `files checked`.
    what: &'static str,
    start: Instant,
    done: AtomicU64,
    wanted: bool,
    bar: OnceLock<ProgressBar>,
}

impl Progress {
    /// Progress of the work that `what` describes: `files checked`.
    pub fn new(what: &'static str) -> Self {
        Self {
            what,
            start: Instant::now(),
            done: AtomicU64::new(0),
            wanted: std::io::stderr().is_terminal(),
            bar: OnceLock::new(),
        }
    }

    /// Counts one more item.
    pub fn step(&self) {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        if self.wanted && self.start.elapsed() > PATIENCE {
            self.bar.get_or_init(|| bar(self.what)).set_position(done);
        }
    }

    /// Removes the bar from the terminal.
    pub fn end(&self) {
        if let Some(bar) = self.bar.get() {
            bar.finish_and_clear();
        }
    }
}

fn bar(what: &str) -> ProgressBar {
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
    if let Ok(style) = ProgressStyle::with_template(&format!("{{spinner}} {{pos}} {what}")) {
        bar.set_style(style);
    }
    bar
}
