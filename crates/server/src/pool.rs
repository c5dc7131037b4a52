//! Threads that answer requests.

use std::any::Any;
use std::sync::Arc;

use tokio::sync::Semaphore;
use tokio::task::spawn_blocking;

/// Priority of an answer. Each has its own threads, so that one never waits for the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Lane {
    /// The user is typing or looking at one place.
    Interactive,
    /// The answer reads many files or tries edits.
    Background,
}

/// Limits the number of threads per priority, out of the runtime's threads for blocking work.
pub(crate) struct Pool {
    interactive: Arc<Semaphore>,
    background: Arc<Semaphore>,
}

impl Pool {
    /// Number of threads for interactive answers. Each answer takes milliseconds at most.
    const INTERACTIVE: usize = 2;
    /// Maximum number of threads for background answers.
    const MOST_BACKGROUND: usize = 4;

    /// Leaves half of the cores for interactive work.
    pub fn new() -> Self {
        Self {
            interactive: Arc::new(Semaphore::new(Self::INTERACTIVE)),
            background: Arc::new(Semaphore::new(background_threads())),
        }
    }

    /// Number of threads the runtime needs for both priorities.
    pub fn threads() -> usize {
        Self::INTERACTIVE + background_threads()
    }

    /// Runs a closure on a thread with this priority. If dropped before its turn it never runs; a panic is returned as
    /// the error.
    pub async fn run<T: Send + 'static>(
        &self,
        lane: Lane,
        answer: impl FnOnce() -> T + Send + 'static,
    ) -> Result<T, String> {
        let lane = match lane {
            Lane::Interactive => &self.interactive,
            Lane::Background => &self.background,
        };
        let permit = Arc::clone(lane).acquire_owned().await;
        let answered = spawn_blocking(move || {
            let _until_done = permit;
            answer()
        });
        answered.await.map_err(|error| match error.try_into_panic() {
            Ok(panic) => panic_message(&*panic),
            Err(error) => error.to_string(),
        })
    }
}

fn background_threads() -> usize {
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    (cores / 2).clamp(1, Pool::MOST_BACKGROUND)
}

/// Error that the client gets after a panic.
pub(crate) fn panic_message(panic: &(dyn Any + Send)) -> String {
    let words = panic
        .downcast_ref::<&str>()
        .copied()
        .or_else(|| panic.downcast_ref::<String>().map(String::as_str))
        .unwrap_or("no words");
    format!("a fault inside, in which nothing was lost: {words}")
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use std::sync::Mutex;
    use std::sync::mpsc::channel;
    use std::time::Duration;

    use tokio::time::timeout;

    use super::*;

    #[tokio::test(flavor = "multi_thread")]
    async fn interactive_answers_do_not_wait_for_the_background() {
        let pool = Arc::new(Pool::new());
        let (release, released) = channel::<()>();
        let released = Arc::new(Mutex::new(released));
        for _ in 0..20 {
            let (pool, released) = (Arc::clone(&pool), Arc::clone(&released));
            tokio::spawn(async move {
                pool.run(Lane::Background, move || released.lock().unwrap().recv())
                    .await
            });
        }
        while pool.background.available_permits() > 0 {
            tokio::task::yield_now().await;
        }
        for number in 0..100 {
            let answer = timeout(Duration::from_secs(10), pool.run(Lane::Interactive, move || number));
            assert_eq!(answer.await, Ok(Ok(number)));
        }
        drop(release);
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn a_question_that_was_dropped_in_line_never_runs() {
        let pool = Arc::new(Pool::new());
        let all = pool
            .interactive
            .clone()
            .acquire_many_owned(Pool::INTERACTIVE as u32)
            .await
            .unwrap();
        let (ran, runs) = channel();
        let waits = pool.run(Lane::Interactive, move || ran.send(()));
        assert!(timeout(Duration::from_millis(20), waits).await.is_err());
        drop(all);
        assert_eq!(pool.run(Lane::Interactive, || 7).await, Ok(7));
        assert!(runs.recv().is_err(), "the sender was dropped unused");
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn a_panic_costs_one_answer() {
        let pool = Pool::new();
        for _ in 0..2 * Pool::INTERACTIVE {
            let failed = pool.run(Lane::Interactive, || panic!("on purpose")).await;
            assert!(failed.unwrap_err().ends_with(": on purpose"));
        }
        assert_eq!(pool.run(Lane::Interactive, || 7).await, Ok(7));
    }
}
