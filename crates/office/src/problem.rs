use drysheath_syntax as syntax;

/// A problem found while reading an office.
pub type Problem = syntax::Problem<ProblemId>;

/// Problems of an office found before any rule of the trade runs: errors in its text, and text without a meaning. Each
/// is a rule of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ProblemId {
    /// An acceptance without a reason, or with an end date that does not exist.
    AcceptanceVoid,
    /// Characters that a word processor substitutes for those of a keyboard.
    CharacterPasted,
    /// Invisible characters in a text.
    CharacterInvisible,
    /// A required field that is missing.
    FieldMissing,
    /// A field that is stated twice.
    FieldTwice,
    /// A field that the kind does not have.
    FieldUnknown,
    /// A ground run that ends on no bar.
    GroundNotToBar,
    /// An unknown word in place of a kind.
    KindUnknown,
    /// A name that two things have.
    NameTwice,
    /// A name that no thing has.
    NameUnknown,
    /// Blocks nested more deeply than is meaningful.
    NestingTooDeep,
    /// A number with more digits than any figure has.
    NumberTooLong,
    /// A second office in one file.
    OfficeRepeated,
    /// A name that parts of several used files have.
    PartAmbiguous,
    /// A base part that has a base part itself.
    PartChain,
    /// The name of a part that no file within reach has.
    PartUnknown,
    /// A thing that uses a part of another kind.
    PartWrongKind,
    /// A port that the thing does not have.
    PortUnknown,
    /// A run whose arrows point against what it carries.
    RunBackwards,
    /// A statement that the grammar does not read.
    StatementUnreadable,
    /// Bytes that are not valid text.
    TextNotUtf8,
    /// A text too large for 32-bit ranges.
    TextTooLarge,
    /// A number without its unit.
    UnitMissing,
    /// An unknown word in place of a unit.
    UnitUnknown,
    /// A unit of another dimension than the field's.
    UnitWrongDimension,
    /// Files of parts that use each other in a ring.
    UseCycle,
    /// A statement that does not belong in this sort of file: assembly, route or office.
    StatementMisplaced,
    /// An end of a route that is not an office that uses it.
    RouteEnd,
    /// A used file that does not exist.
    UseNotFound,
    /// A path that leads out of the repository.
    UseOutsideRepository,
    /// A figure outside the plausible range of its field.
    ValueImplausible,
    /// A value that cannot be understood.
    ValueUnreadable,
    /// A word of an earlier language.
    WordOutdated,
}

impl ProblemId {
    /// Whether text was not understood, so that it is missing from all computations.
    pub fn leaves_unread(self) -> bool {
        match self {
            Self::StatementUnreadable
            | Self::NestingTooDeep
            | Self::NumberTooLong
            | Self::TextTooLarge
            | Self::TextNotUtf8
            | Self::KindUnknown
            | Self::NameUnknown
            | Self::NameTwice
            | Self::PortUnknown
            | Self::FieldUnknown
            | Self::FieldTwice
            | Self::ValueUnreadable
            | Self::ValueImplausible
            | Self::UnitMissing
            | Self::UnitUnknown
            | Self::UnitWrongDimension
            | Self::OfficeRepeated
            | Self::PartUnknown
            | Self::PartChain
            | Self::PartAmbiguous
            | Self::PartWrongKind
            | Self::StatementMisplaced
            | Self::RouteEnd
            | Self::UseNotFound
            | Self::UseOutsideRepository => true,
            Self::AcceptanceVoid
            | Self::CharacterPasted
            | Self::CharacterInvisible
            | Self::FieldMissing
            | Self::GroundNotToBar
            | Self::RunBackwards
            | Self::UseCycle
            | Self::WordOutdated => false,
        }
    }
}

impl From<syntax::ProblemId> for ProblemId {
    fn from(id: syntax::ProblemId) -> Self {
        match id {
            syntax::ProblemId::StatementUnreadable => Self::StatementUnreadable,
            syntax::ProblemId::NestingTooDeep => Self::NestingTooDeep,
            syntax::ProblemId::NumberTooLong => Self::NumberTooLong,
            syntax::ProblemId::TextTooLarge => Self::TextTooLarge,
            syntax::ProblemId::TextNotUtf8 => Self::TextNotUtf8,
            syntax::ProblemId::CharacterPasted => Self::CharacterPasted,
            syntax::ProblemId::CharacterInvisible => Self::CharacterInvisible,
        }
    }
}
