use std::process::ExitCode;

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
