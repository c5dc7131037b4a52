use drysheath_syntax as syntax;

/// Something wrong with what is written, as reading an office finds it.
pub type Problem = syntax::Problem<ProblemId>;

/// What can be wrong with an office before any rule of the trade is asked: all that can be wrong with its text, and all
/// that keeps the text from meaning something. Each of them is a rule of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ProblemId {
    /// An acceptance without a reason, or until a day that there is not.
    AcceptanceVoid,
    /// Characters that a word processor puts in the place of those of a keyboard.
    CharacterPasted,
    /// Invisible characters in a text.
    CharacterInvisible,
    /// A field that has to be there and is not.
    FieldMissing,
    /// A field that is written twice.
    FieldTwice,
    /// A field that the kind does not have.
    FieldUnknown,
    /// A ground run that ends on no bar.
    GroundNotToBar,
    /// A word where a kind of thing belongs, and none that there is.
    KindUnknown,
    /// A name that two things have.
    NameTwice,
    /// A name that no thing has.
    NameUnknown,
    /// Braces within braces, deeper than anything means.
    NestingTooDeep,
    /// A number of more digits than any figure has.
    NumberTooLong,
    /// A second office in one file.
    OfficeRepeated,
    /// A name that parts of several used files have.
    PartAmbiguous,
    /// A part of a part that is of another itself.
    PartChain,
    /// A name that no part within reach has.
    PartUnknown,
    /// A thing of one kind that takes a part of another.
    PartWrongKind,
    /// A port that the thing does not have.
    PortUnknown,
    /// A run whose arrows point against what it carries.
    RunBackwards,
    /// A statement that the grammar does not read.
    StatementUnreadable,
    /// Bytes that are no text.
    TextNotUtf8,
    /// A text of more bytes than ranges can count.
    TextTooLarge,
    /// A number without its unit.
    UnitMissing,
    /// A word where a unit belongs, and none that there is.
    UnitUnknown,
    /// A unit of another dimension than the field's.
    UnitWrongDimension,
    /// Files of parts that use each other in a ring.
    UseCycle,
    /// What a file cannot hold that draws an assembly or describes a route, or that does not.
    StatementMisplaced,
    /// An end of a route that is no office which uses it.
    RouteEnd,
    /// A file that is used and is not there.
    UseNotFound,
    /// A path that leads out of the repository.
    UseOutsideRepository,
    /// A figure that cannot be meant.
    ValueImplausible,
    /// A value that cannot be understood.
    ValueUnreadable,
    /// A word of an earlier language.
    WordOutdated,
}

impl ProblemId {
    /// Whether something of the file is not understood where it is reported, so that it is missing from all that is computed.
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
