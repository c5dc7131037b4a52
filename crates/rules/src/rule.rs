use drysheath_office::Date;
use strum::{IntoStaticStr, VariantArray};

use crate::finding::Sink;
use crate::lint::{Inspection, Repository};
use crate::precedence::YieldsTo;
use crate::registry::RuleId;

/// The severity of a result, named as in SARIF.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Level {
    /// Good to know; nothing need be changed.
    Note,
    /// Probably wrong, and to be looked into.
    Warning,
    /// Wrong, and to be changed.
    Error,
}

impl Level {
    /// The word in settings and output.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// The level that `word` names.
    pub fn find(word: &str) -> Option<Self> {
        Self::VARIANTS.iter().copied().find(|level| level.word() == word)
    }
}

/// The subject of a rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Family {
    /// What is written can be read and understood.
    Language,
    /// Pairs, signals and inputs.
    Pairs,
    /// Spans and limits of sensors.
    Spans,
    /// Regulators, their settings and ratings.
    Regulators,
    /// Frame grounds and their conductors.
    Grounds,
    /// Battery plant, fuses and feeds.
    Power,
    /// Air runs, dryers and predicted pressures.
    Air,
    /// The record as a whole.
    Records,
    /// What the records of an office need before they are handed over.
    HandOver,
}

impl Family {
    /// The word in settings and output.
    pub fn word(self) -> &'static str {
        self.into()
    }
}

/// Where a fact of the trade, or a number, comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// A publication that was opened to confirm it.
    Published(&'static str),
    /// Published; the number is from memory.
    FromMemory(&'static str),
    /// Follows from something else.
    Derived(&'static str),
    /// Common practice, no source.
    CommonPractice,
    /// The language itself says so.
    Language,
}

impl std::fmt::Display for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Published(source) => f.write_str(source),
            Self::FromMemory(source) => write!(f, "{source} (from memory)"),
            Self::Derived(from) => write!(f, "derived: {from}"),
            Self::CommonPractice => f.write_str("common practice, no source"),
            Self::Language => f.write_str("the office language"),
        }
    }
}

/// Statements that violate a rule, and others that narrowly do not.
///
/// They replace the statements of the same name in the example office (see [`crate::example`]). A comment of carets marks
/// the result's range in the line above it.
#[derive(Clone, Copy, Debug)]
pub struct Example {
    /// Gives exactly the marked results, and none of another rule.
    pub failing: &'static str,
    /// Gives no result at all.
    pub passing: &'static str,
}

/// How a rule is checked.
#[derive(Clone, Copy)]
pub enum Check {
    /// While the file is read.
    WhileReading,
    /// On each office by itself.
    Office(fn(&Inspection<'_>, &mut Sink<'_>)),
    /// On each office by itself, and on the day on which it is checked.
    OfficeOn(fn(&Inspection<'_>, Date, &mut Sink<'_>)),
    /// On one office, only when its records are written for the hand-over. Until then its results are not mistakes.
    HandOver(fn(&Inspection<'_>, &mut Sink<'_>)),
    /// On all offices of a repository together.
    Repository(fn(&Repository<'_>, &mut Sink<'_>)),
}

impl std::fmt::Debug for Check {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::WhileReading => "WhileReading",
            Self::Office(_) => "Office",
            Self::OfficeOn(_) => "OfficeOn",
            Self::HandOver(_) => "HandOver",
            Self::Repository(_) => "Repository",
        })
    }
}

/// A rule, with the text of its page.
#[derive(Debug)]
pub struct Rule {
    /// The id. Its name in kebab case reads well after `accept`.
    pub id: RuleId,
    /// The level of its results, unless the settings say otherwise.
    pub level: Level,
    /// The level while the office is only planned, where that differs.
    pub while_planned: Option<Level>,
    /// The rules whose results are enough where they report the same on the same subject.
    pub yields_to: YieldsTo,
    /// The family of rules that it belongs to.
    pub family: Family,
    /// What it finds, in a sentence.
    pub summary: &'static str,
    /// Why it matters and what to do, for readers who meet it for the first time.
    pub explanation: &'static str,
    /// Where it comes from.
    pub source: Source,
    /// An example, where text can give one.
    pub example: Option<Example>,
    /// How it is checked.
    pub check: Check,
}

impl Rule {
    /// Whether its results can be accepted or lowered. Those that say that something was not understood
    /// cannot: what is not understood is not checked either, and is never right as it is.
    pub fn can_be_accepted(&self) -> bool {
        // What a file does not say is known not to be said, and an acceptance that is too old or too new is understood.
        const UNDERSTOOD: [RuleId; 4] = [
            RuleId::FieldMissing,
            RuleId::AcceptanceExpired,
            RuleId::AcceptanceTooLong,
            RuleId::AcceptanceUnneeded,
        ];
        !matches!(self.check, Check::WhileReading) || UNDERSTOOD.contains(&self.id)
    }

    /// Whether the settings can switch it off. The rules of the language are the same in every repository: only the level of
    /// those that can be accepted may be another.
    pub fn can_be_switched_off(&self) -> bool {
        self.family != Family::Language && self.can_be_accepted()
    }

    /// Whether the settings can give its results this level. Those of a rule that cannot be accepted are never lowered.
    pub fn can_have(&self, level: Level) -> bool {
        level >= self.level || self.can_be_accepted()
    }

    /// Whether its fixes change only how something is written, and nothing that the file says of the plant: `lint --fix` makes those
    /// without asking. Which pair is spare, which name or unit was meant and which tube was laid is for somebody to decide.
    pub fn is_fixed_for_certain(&self) -> bool {
        const WRITING: [RuleId; 7] = [
            RuleId::CharacterPasted,
            RuleId::CharacterInvisible,
            RuleId::WordOutdated,
            RuleId::RunBackwards,
            RuleId::RestTwice,
            RuleId::AcceptanceUnneeded,
            RuleId::NameMalformed,
        ];
        WRITING.contains(&self.id)
    }

    /// Whether `accept` can name what its results are about. A part is not a thing.
    pub fn is_about_things(&self) -> bool {
        self.id != RuleId::PartUnused
    }

    /// The name that settings and acceptances use.
    pub fn name(&self) -> &'static str {
        self.id.name()
    }

    /// The rules whose results stand for its own, and what the two must have in common, in words.
    pub fn gives_way(&self) -> impl Iterator<Item = (&'static [RuleId], &'static str)> {
        self.yields_to.iter().map(|(scope, rules)| (*rules, scope.phrase()))
    }

    /// Whether it looks at several files together.
    pub fn is_wide(&self) -> bool {
        matches!(self.check, Check::Repository(_))
    }
}
