//! Marks that a work order puts on things.

/// How something compares with the revision that the work order is based on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Mark {
    /// No revision to compare with.
    #[default]
    Plain,
    /// Present before, unchanged.
    Same,
    /// Not present before.
    Added,
    /// Present before, but changed.
    Changed,
    /// No longer present.
    Removed,
}

impl Mark {
    /// CSS class of what carries the mark.
    pub fn class(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Same => "same",
            Self::Added => "added",
            Self::Changed => "changed",
            Self::Removed => "removed",
        }
    }

    /// Word for the mark. `None` for `Plain` and `Same`.
    pub fn word(self) -> Option<&'static str> {
        match self {
            Self::Plain | Self::Same => None,
            Self::Added => Some("NEW"),
            Self::Changed => Some("CHANGED"),
            Self::Removed => Some("TAKE OUT"),
        }
    }

    /// Whether its text is bold, so that it also stands out in a black-and-white copy.
    pub fn is_heavy(self) -> bool {
        matches!(self, Self::Added | Self::Changed | Self::Removed)
    }

    /// CSS classes of a line of a medium.
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

    /// CSS class of a text.
    pub fn text(self, class: &'static str) -> &'static str {
        match self {
            Self::Same => "said faint",
            _ => class,
        }
    }
}
