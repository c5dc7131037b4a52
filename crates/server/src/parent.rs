//! Detects that the editor's process has died, since some editors die without closing the pipe.

/// Returns once the process with this id has exited.
#[cfg(unix)]
pub(crate) async fn exited(process: u32) {
    use std::time::Duration;

    use rustix::process::{Pid, test_kill_process};

    const INTERVAL: Duration = Duration::from_secs(3);
    let Some(pid) = i32::try_from(process).ok().and_then(Pid::from_raw) else {
        return std::future::pending().await;
    };
    loop {
        tokio::time::sleep(INTERVAL).await;
        if test_kill_process(pid) == Err(rustix::io::Errno::SRCH) {
            return;
        }
    }
}

/// Never returns: on this platform only a closed pipe shows that the editor is gone.
#[cfg(not(unix))]
pub(crate) async fn exited(_process: u32) {
    std::future::pending().await
}
