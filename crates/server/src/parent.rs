//! A server whose editor has died has nobody to serve.

/// Returns once the process of that number is gone.
#[cfg(unix)]
pub(crate) async fn gone(process: u32) {
    use std::time::Duration;

    use rustix::process::{Pid, test_kill_process};

    const EVERY: Duration = Duration::from_secs(3);
    let Some(pid) = i32::try_from(process).ok().and_then(Pid::from_raw) else {
        return std::future::pending().await;
    };
    loop {
        tokio::time::sleep(EVERY).await;
        if test_kill_process(pid) == Err(rustix::io::Errno::SRCH) {
            return;
        }
    }
}

/// Where processes cannot be looked for, the closed pipe has to tell.
#[cfg(not(unix))]
pub(crate) async fn gone(_process: u32) {
    std::future::pending().await
}
