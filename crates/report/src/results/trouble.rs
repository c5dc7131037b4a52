use std::fmt;

use drysheath_text::safe::line;

/// A file or other input that could not be linted.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Trouble {
    /// The file, if it has a name.
    pub path: Option<String>,
    /// Why it could not be read.
    pub why: String,
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.path {
            Some(path) => write!(f, "{}: {}", line(path), line(&self.why)),
            None => f.write_str(&line(&self.why)),
        }
    }
}

impl From<String> for Trouble {
    fn from(why: String) -> Self {
        Self { path: None, why }
    }
}
