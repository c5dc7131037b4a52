use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

/// What `work` makes of each of `items`, in their order, done by as many threads as there are cores.
pub(super) fn each<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    /// So many are taken at once: few enough to share well, and many enough that nobody waits for the next.
    const AT_ONCE: usize = 8;
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let threads = threads.min(items.len().div_ceil(AT_ONCE));
    if threads <= 1 {
        return items.iter().map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let all = Mutex::new(Vec::with_capacity(items.len()));
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                let mut own = Vec::new();
                loop {
                    let start = next.fetch_add(AT_ONCE, Ordering::Relaxed);
                    let Some(rest) = items.get(start..).filter(|rest| !rest.is_empty()) else {
                        break;
                    };
                    own.extend(
                        (start..)
                            .zip(rest.iter().take(AT_ONCE))
                            .map(|(at, item)| (at, work(item))),
                    );
                }
                all.lock().unwrap_or_else(PoisonError::into_inner).extend(own);
            });
        }
    });
    let mut all = all.into_inner().unwrap_or_else(PoisonError::into_inner);
    all.sort_by_key(|(at, _)| *at);
    all.into_iter().map(|(_, made)| made).collect()
}
