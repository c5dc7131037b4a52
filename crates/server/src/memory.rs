//! What a large document leaves when it is closed.

use std::thread;
use std::time::Duration;

use tokio::runtime::Handle;
use tokio::time::sleep;

/// Bytes of a document from which on it matters.
pub(crate) const LARGE: usize = 1 << 20;

/// Gives freed memory back to the system.
///
/// The allocator does so a second after the memory was freed, but only when some thread ends or needs a new page. While nobody
/// types, no thread does; hence one that ends at once.
pub(crate) fn give_back(runtime: &Handle) {
    runtime.spawn(async {
        // Answers about the document may take some seconds to end.
        for pause in [2, 8] {
            sleep(Duration::from_secs(pause)).await;
            thread::spawn(|| ());
        }
    });
}
