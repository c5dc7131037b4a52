use std::io::IsTerminal;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Work that is over sooner shows no progress.
const PATIENCE: Duration = Duration::from_secs(1);

/// How many files are done, shown on a terminal once the work lasts.
pub(crate) struct Progress {
    start: Instant,
    done: AtomicU64,
    wanted: bool,
    bar: OnceLock<ProgressBar>,
}

impl Progress {
    pub fn new() -> Self {
        Self {
            start: Instant::now(),
            done: AtomicU64::new(0),
            wanted: std::io::stderr().is_terminal(),
            bar: OnceLock::new(),
        }
    }

    /// One more file is done.
    pub fn step(&self) {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        if self.wanted && self.start.elapsed() > PATIENCE {
            self.bar.get_or_init(bar).set_position(done);
        }
    }

    /// The work is over.
    pub fn end(&self) {
        if let Some(bar) = self.bar.get() {
            bar.finish_and_clear();
        }
    }
}

fn bar() -> ProgressBar {
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
    if let Ok(style) = ProgressStyle::with_template("{spinner} {pos} files checked") {
        bar.set_style(style);
    }
    bar
}
