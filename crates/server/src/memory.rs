//! Returns memory to the system after a large document is closed.

use std::thread;
use std::time::Duration;

use tokio::runtime::Handle;
use tokio::time::sleep;

/// Size from which a document counts as large, in bytes.
pub(crate) const LARGE: usize = 1 << 20;

/// Returns freed memory to the system.
///
/// The allocator does so one second after memory is freed, but only when a thread ends or needs a new page. While
/// nobody types, neither happens; hence this starts a thread that ends at once.
pub(crate) fn give_back(runtime: &Handle) {
    runtime.spawn(async {
        // Requests about the document may still run for some seconds.
        for pause in [2, 8] {
            sleep(Duration::from_secs(pause)).await;
            thread::spawn(|| ());
        }
    });
}
