use std::process::ExitCode;

/// The exit code of `merge-driver` where nothing could be merged. Git takes one up to 128 for a conflict, and the version of
/// this branch for the merged one.
pub(crate) const MERGE_FAILED: u8 = 129;

/// How a command ended, and so its exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Outcome {
    /// Nothing at or above the failing level: 0.
    Clean,
    /// Results were found: 1.
    Results,
    /// Something could not be read or written: 2, as for a wrong argument.
    Failed,
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        Self::from(outcome as u8)
    }
}
