use drysheath_text::{Edit, Place, TextRange};

/// Something wrong with what is written, before any rule of the trade is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// Name of the rule it comes under.
    pub rule: &'static str,
    /// Where.
    pub range: TextRange,
    /// What is wrong, and why, in a sentence.
    pub message: String,
    /// What to do about it.
    pub help: Option<String>,
    /// The other places that matter.
    pub related: Vec<Related>,
    /// The edit that mends it, where one is certain.
    pub fix: Option<Fix>,
}

/// Another place that a result speaks of.
#[derive(Clone, Debug, PartialEq)]
pub struct Related {
    /// Where.
    pub place: Place,
    /// What is there.
    pub message: String,
}

/// An edit of the file the result is in, and what it does in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Fix {
    /// What the edits do.
    pub title: String,
    /// The edits.
    pub edits: Vec<Edit>,
}

impl Fix {
    /// A fix of one replacement.
    pub fn replace(range: TextRange, replacement: impl Into<String>, title: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            edits: vec![Edit {
                range,
                replacement: replacement.into(),
            }],
        }
    }
}

impl Problem {
    /// A problem under `rule` at `range`.
    pub fn new(rule: &'static str, range: TextRange, message: impl Into<String>) -> Self {
        Self {
            rule,
            range,
            message: message.into(),
            help: None,
            related: Vec::new(),
            fix: None,
        }
    }

    /// With what to do about it.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// With the spelling that was probably meant in its place.
    #[must_use]
    pub fn meant(self, near: &str) -> Self {
        let fix = Fix::replace(self.range, near, format!("Write `{near}`"));
        self.help(format!("is `{near}` meant?")).fix(fix)
    }

    /// With another place.
    #[must_use]
    pub fn related(mut self, place: Place, message: impl Into<String>) -> Self {
        self.related.push(Related {
            place,
            message: message.into(),
        });
        self
    }

    /// With a fix.
    #[must_use]
    pub fn fix(mut self, fix: Fix) -> Self {
        self.fix = Some(fix);
        self
    }
}
