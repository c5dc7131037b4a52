//! What a work order says of a thing.

/// How something compares with the revision that the work starts from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Mark {
    /// There is no revision to compare with.
    #[default]
    Plain,
    /// It was there, and stays as it is.
    Same,
    /// It was not there.
    Added,
    /// It was there and is another.
    Changed,
    /// It is there no more.
    Removed,
}

impl Mark {
    /// The class of what is drawn of it.
    pub fn class(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Same => "same",
            Self::Added => "added",
            Self::Changed => "changed",
            Self::Removed => "removed",
        }
    }

    /// The word for it, where there is something to say.
    pub fn word(self) -> Option<&'static str> {
        match self {
            Self::Plain | Self::Same => None,
            Self::Added => Some("NEW"),
            Self::Changed => Some("CHANGED"),
            Self::Removed => Some("TAKE OUT"),
        }
    }

    /// Whether its text is bold, so that it differs from the rest in a copy too.
    pub fn is_heavy(self) -> bool {
        matches!(self, Self::Added | Self::Changed | Self::Removed)
    }

    /// The classes of a line of a medium.
    pub fn line(self, medium: &'static str) -> &'static str {
        match (medium, self) {
            ("air", Self::Same) => "air same",
            ("air", Self::Removed) => "air removed",
            ("cable", Self::Same) => "cable same",
            ("cable", Self::Removed) => "cable removed",
            ("power", Self::Same) => "power same",
            ("power", Self::Removed) => "power removed",
            ("earth", Self::Same) => "earth same",
            ("earth", Self::Removed) => "earth removed",
            ("wire", Self::Same) => "wire same",
            ("wire", Self::Removed) => "wire removed",
            _ => medium,
        }
    }

    /// The class of a text that belongs to it.
    pub fn text(self, class: &'static str) -> &'static str {
        match self {
            Self::Same => "said faint",
            _ => class,
        }
    }
}
