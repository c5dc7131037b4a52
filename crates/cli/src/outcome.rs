use std::process::ExitCode;

/// Exit code of `merge-driver` if nothing could be merged. Git takes codes up to 128 for a conflict and would use this
/// branch's version as the merged one.
pub(crate) const MERGE_FAILED: u8 = 129;

/// How a command ended; determines the exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Outcome {
    /// Nothing at or above the failing level: exit code 0.
    Clean,
    /// Results were found: exit code 1.
    Results,
    /// Something could not be read or written: exit code 2, as for a wrong argument.
    Failed,
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        Self::from(outcome as u8)
    }
}
