use std::fmt;

use drysheath_rules::{Finding, Level};

/// How many results there are of each level, and how many that somebody has accepted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Count {
    /// Errors.
    pub errors: usize,
    /// Warnings.
    pub warnings: usize,
    /// Notes.
    pub notes: usize,
    /// Accepted, of any level.
    pub accepted: usize,
}

impl Count {
    /// Counts results.
    pub fn of<'f>(findings: impl IntoIterator<Item = &'f Finding>) -> Self {
        let mut count = Self::default();
        for finding in findings {
            let slot = match (finding.accepted.is_some(), finding.level) {
                (true, _) => &mut count.accepted,
                (_, Level::Error) => &mut count.errors,
                (_, Level::Warning) => &mut count.warnings,
                (_, Level::Note) => &mut count.notes,
            };
            *slot += 1;
        }
        count
    }

    /// How many count at `level` or above.
    pub fn at_least(self, level: Level) -> usize {
        match level {
            Level::Error => self.errors,
            Level::Warning => self.errors + self.warnings,
            Level::Note => self.errors + self.warnings + self.notes,
        }
    }
}

impl fmt::Display for Count {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}, {}, {}",
            several(self.errors, "error"),
            several(self.warnings, "warning"),
            several(self.notes, "note")
        )?;
        if self.accepted > 0 {
            write!(f, "; {} accepted", self.accepted)?;
        }
        Ok(())
    }
}

/// "1 error", "2 errors".
pub(crate) fn several(number: usize, word: &str) -> String {
    if number == 1 {
        format!("1 {word}")
    } else {
        format!("{number} {word}s")
    }
}
