use drysheath_text::{Edit, Place, TextRange};

/// Problems of a text, independent of its meaning. Each is a rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProblemId {
    /// Statement rejected by the grammar.
    StatementUnreadable,
    /// Blocks nested deeper than the language uses.
    NestingTooDeep,
    /// Number with more characters than any figure needs.
    NumberTooLong,
    /// Text larger than the limit.
    TextTooLarge,
    /// Bytes that are not UTF-8.
    TextNotUtf8,
    /// Characters that word processors write instead of keyboard characters.
    CharacterPasted,
    /// Invisible characters in a text.
    CharacterInvisible,
}

/// A problem of the text itself, found before any domain rule is applied. `Id` is its type: this crate's own
/// [`ProblemId`], or that of a crate that interprets the text further.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem<Id = ProblemId> {
    /// Type of problem, which is also the rule.
    pub id: Id,
    /// Range of the problem.
    pub range: TextRange,
    /// One sentence with the problem and its reason.
    pub message: String,
    /// What to do about it.
    pub help: Option<String>,
    /// Places that explain it, such as the first declaration of a name.
    pub related: Vec<Related>,
    /// The fix, if one is certain.
    pub fix: Option<Fix>,
}

/// Another place that a result refers to.
#[derive(Clone, Debug, PartialEq)]
pub struct Related {
    /// Place, in this file or another.
    pub place: Place,
    /// Label of the place, a phrase.
    pub label: Label,
}

impl Related {
    /// Creates a related place with its label.
    pub fn new(place: Place, label: impl Into<Label>) -> Self {
        Self {
            place,
            label: label.into(),
        }
    }
}

/// Replaces quoted line ends and tabs.
fn on_one_line(text: String) -> String {
    if text.contains(['\n', '\r', '\t']) {
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    } else {
        text
    }
}

/// Label of a place that a result points at. Never empty: an arrow without a text leaves the reader to guess.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label(Box<str>);

impl Label {
    /// The text of the label.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl<S: Into<Box<str>>> From<S> for Label {
    /// # Panics
    ///
    /// If the text is empty, which is a bug.
    fn from(words: S) -> Self {
        let words = words.into();
        assert!(!words.is_empty(), "a label without words");
        Self(words)
    }
}

/// An edit of the file that the result is in, with a title.
#[derive(Clone, Debug, PartialEq)]
pub struct Fix {
    /// Title that says what the edits do.
    pub title: String,
    /// Edits that make up the fix.
    pub edits: Vec<Edit>,
}

impl Fix {
    /// A fix with one replacement.
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

impl<Id> Problem<Id> {
    /// A problem at `range`. Line ends quoted in the message are replaced.
    // Nearly every statement is correct; keeps this code apart from the hot path.
    #[cold]
    pub fn new(id: Id, range: TextRange, message: impl Into<String>) -> Self {
        Self {
            id,
            range,
            message: on_one_line(message.into()),
            help: None,
            related: Vec::new(),
            fix: None,
        }
    }

    /// Adds what to do about it.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Adds the help and fix for the spelling `near` that was probably meant.
    #[must_use]
    pub fn meant(self, near: &str) -> Self {
        let fix = Fix::replace(self.range, near, format!("Write `{near}`"));
        self.help(format!("is `{near}` meant?")).fix(fix)
    }

    /// Adds another place that explains the problem.
    #[must_use]
    pub fn related(mut self, place: Place, label: impl Into<Label>) -> Self {
        self.related.push(Related::new(place, label));
        self
    }

    /// Adds the edit that corrects it.
    #[must_use]
    pub fn fix(mut self, fix: Fix) -> Self {
        self.fix = Some(fix);
        self
    }

    /// Converts the id to that of another crate.
    pub fn into_id<Other: From<Id>>(self) -> Problem<Other>
    where
        Id: Copy,
    {
        let id = self.id.into();
        self.with_id(id)
    }

    /// The same problem under an id of another crate.
    pub fn with_id<Other>(self, id: Other) -> Problem<Other> {
        Problem {
            id,
            range: self.range,
            message: self.message,
            help: self.help,
            related: self.related,
            fix: self.fix,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::on_one_line;

    #[test]
    fn what_is_quoted_of_several_lines_is_put_into_one() {
        assert_eq!(on_one_line("before `1 ->\r\n\tA`".to_owned()), "before `1 -> A`");
        assert_eq!(on_one_line("a  b".to_owned()), "a  b");
    }
}
