use drysheath_text::{Edit, Place, TextRange};

/// What can be wrong with a text, whatever it is about. Each of them is a rule of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProblemId {
    /// A statement that the grammar does not read.
    StatementUnreadable,
    /// Braces within braces, deeper than anything means.
    NestingTooDeep,
    /// A number of more digits than any figure has.
    NumberTooLong,
    /// A text of more bytes than ranges can count.
    TextTooLarge,
    /// Bytes that are no text.
    TextNotUtf8,
    /// Characters that a word processor puts in the place of those of a keyboard.
    CharacterPasted,
    /// Invisible characters in a text.
    CharacterInvisible,
}

/// Something wrong with what is written, before any rule of the trade is applied. `Id` says what: this crate's own
/// [`ProblemId`], or that of a crate that reads more out of the text.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem<Id = ProblemId> {
    /// What kind of problem it is.
    pub id: Id,
    /// The bytes that the problem is about.
    pub range: TextRange,
    /// What is wrong, and why, in a sentence.
    pub message: String,
    /// What to do about it.
    pub help: Option<String>,
    /// The other places that matter.
    pub related: Vec<Related>,
    /// The edit that corrects it, where one is certain.
    pub fix: Option<Fix>,
}

/// Another place that a result refers to.
#[derive(Clone, Debug, PartialEq)]
pub struct Related {
    /// The place, in this file or another.
    pub place: Place,
    /// A label for that place, as a phrase.
    pub label: Label,
}

impl Related {
    /// A place and what is there.
    pub fn new(place: Place, label: impl Into<Label>) -> Self {
        Self {
            place,
            label: label.into(),
        }
    }
}

/// A text without the ends of lines and the tabs that it quotes.
fn on_one_line(text: String) -> String {
    if text.contains(['\n', '\r', '\t']) {
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    } else {
        text
    }
}

/// What is at a place that a result points at, in words. There always are some: an arrow without words leaves the reader
/// to guess.
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
    /// Without words: a mistake in the program.
    fn from(words: S) -> Self {
        let words = words.into();
        assert!(!words.is_empty(), "a label without words");
        Self(words)
    }
}

/// An edit of the file the result is in, and what it does in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Fix {
    /// What the edits do.
    pub title: String,
    /// The replacements that make up the fix.
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

impl<Id> Problem<Id> {
    /// A problem at `range`. What the message quotes of several lines is put into one.
    // Nearly every statement is right. What leads here is laid out apart from what is always run.
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

    /// The same problem under the id that another crate has for it.
    pub fn into_id<Other: From<Id>>(self) -> Problem<Other>
    where
        Id: Copy,
    {
        let id = self.id.into();
        self.with_id(id)
    }

    /// The same problem under another id.
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
