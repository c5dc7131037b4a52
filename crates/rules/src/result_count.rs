use std::fmt;

use crate::finding::Finding;
use crate::rule::Level;

/// Number of results of each level, and number of accepted ones.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ResultCount {
    /// Errors that are not accepted.
    pub errors: usize,
    /// Warnings that are not accepted.
    pub warnings: usize,
    /// Notes that are not accepted.
    pub notes: usize,
    /// Accepted results of any level.
    pub accepted: usize,
}

impl ResultCount {
    /// Counts results by their levels.
    pub fn of<'f>(findings: impl IntoIterator<Item = &'f Finding>) -> Self {
        let mut count = Self::default();
        for finding in findings {
            if finding.accepted.is_some() {
                count.accepted += 1;
            } else {
                count.add(finding.level);
            }
        }
        count
    }

    /// Counts one more result that is not accepted.
    pub fn add(&mut self, level: Level) {
        *match level {
            Level::Error => &mut self.errors,
            Level::Warning => &mut self.warnings,
            Level::Note => &mut self.notes,
        } += 1;
    }

    /// Number of results with `level` or a higher one that are not accepted.
    pub fn at_least(self, level: Level) -> usize {
        match level {
            Level::Error => self.errors,
            Level::Warning => self.errors + self.warnings,
            Level::Note => self.errors + self.warnings + self.notes,
        }
    }

    /// The gravest level that results have which are not accepted.
    pub fn gravest(self) -> Option<Level> {
        let mut levels = self.levels().into_iter();
        levels.find(|(number, _)| *number > 0).map(|(_, level)| level)
    }

    /// The levels of which there are results, gravest first: "2 errors", "1 note".
    pub fn present(self) -> impl Iterator<Item = String> {
        let levels = self.levels().into_iter();
        levels
            .filter(|(number, _)| *number > 0)
            .map(|(number, level)| numbered(number, level))
    }

    fn levels(self) -> [(usize, Level); 3] {
        [
            (self.errors, Level::Error),
            (self.warnings, Level::Warning),
            (self.notes, Level::Note),
        ]
    }
}

impl fmt::Display for ResultCount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let levels = self.levels().map(|(number, level)| numbered(number, level));
        f.write_str(&levels.join(", "))?;
        if self.accepted > 0 {
            write!(f, "; {} accepted", self.accepted)?;
        }
        Ok(())
    }
}

fn numbered(number: usize, level: Level) -> String {
    let plural = if number == 1 { "" } else { "s" };
    format!("{number} {}{plural}", level.word())
}
