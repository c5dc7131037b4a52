use drysheath_syntax::Medium;

/// Content that may seem missing only because it could not be read. A rule that reports an absence checks this first.
#[derive(Clone, Copy, Debug, Default)]
pub struct Unsure {
    /// A thing may be unread.
    pub things: bool,
    /// Media in which a run may be unread.
    pub runs: Media,
    /// Media in which a `spare` declaration may be unread.
    pub spares: Media,
    /// The name of a thing may be unread, so that a name cannot be reported missing.
    pub names: bool,
}

impl Unsure {
    /// Whether a run in `medium` may be unread.
    pub fn about(&self, medium: Medium) -> bool {
        self.things || self.runs.contains(medium)
    }

    /// Whether a run in `medium`, or a `spare` declaration for it, may be unread.
    pub fn about_spares(&self, medium: Medium) -> bool {
        self.about(medium) || self.spares.contains(medium)
    }

    /// Adds the doubts of `other`.
    pub(crate) fn join(&mut self, other: Self) {
        self.things |= other.things;
        self.names |= other.names;
        self.runs.0 |= other.runs.0;
        self.spares.0 |= other.spares.0;
    }

    pub(crate) fn doubt_everything(&mut self) {
        *self = Self {
            things: true,
            runs: Media::ALL,
            spares: Media::ALL,
            names: true,
        };
    }
}

/// A set of media.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Media(u8);

impl Media {
    /// The set of all media.
    pub const ALL: Self = Self(0b1111);
    /// The empty set.
    pub const NONE: Self = Self(0);

    /// Whether a medium is among them.
    pub fn contains(self, medium: Medium) -> bool {
        self.0 & Self::bit(medium) != 0
    }

    pub(crate) fn insert(&mut self, medium: Medium) {
        self.0 |= Self::bit(medium);
    }

    fn bit(medium: Medium) -> u8 {
        match medium {
            Medium::Air => 1,
            Medium::Wire => 1 << 1,
            Medium::Power => 1 << 2,
            Medium::Ground => 1 << 3,
        }
    }
}
