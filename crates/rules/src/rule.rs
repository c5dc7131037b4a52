use drysheath_office::Date;
use strum::{IntoStaticStr, VariantArray};

use crate::finding::Sink;
use crate::lint::{Inspection, RepositoryInspection};
use crate::precedence::YieldsTo;
use crate::registry::RuleId;

/// The severity of a result, named as in SARIF.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Level {
    /// Information; no change is required.
    Note,
    /// Probably wrong; should be checked.
    Warning,
    /// Wrong; must be changed.
    Error,
}

impl Level {
    /// Word in settings and output.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// Finds a level by its word.
    pub fn find(word: &str) -> Option<Self> {
        Self::VARIANTS.iter().copied().find(|level| level.word() == word)
    }
}

/// A family of rules, by subject.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Family {
    /// Text that cannot be read or understood.
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
    /// Requirements of records before hand-over.
    HandOver,
}

impl Family {
    /// Word in settings and output.
    pub fn word(self) -> &'static str {
        self.into()
    }
}

/// Source of a fact of the trade or of a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// A publication that was opened to confirm it.
    Published(&'static str),
    /// A publication; the number is from memory.
    FromMemory(&'static str),
    /// Derived from other facts.
    Derived(&'static str),
    /// Common practice, no source.
    CommonPractice,
    /// The definition of the language.
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
/// They replace the statements of the same name in the example office (see [`crate::example`]). A comment of carets
/// marks the result's range in the line above it.
#[derive(Clone, Copy, Debug)]
pub struct Example {
    /// A text that gives exactly the marked results, and none of another rule.
    pub failing: &'static str,
    /// A text that gives no result.
    pub passing: &'static str,
}

/// When and on what a rule is checked.
#[derive(Clone, Copy)]
pub enum Check {
    /// While the file is read.
    WhileReading,
    /// On each office by itself.
    Office(fn(&Inspection<'_>, &mut Sink<'_>)),
    /// On each office by itself, with the date of the check.
    OfficeOn(fn(&Inspection<'_>, Date, &mut Sink<'_>)),
    /// On each office by itself, only when its records are written for the hand-over. Until then its results are not
    /// mistakes.
    HandOver(fn(&Inspection<'_>, &mut Sink<'_>)),
    /// On all offices of a repository together.
    Repository(fn(&RepositoryInspection<'_>, &mut Sink<'_>)),
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
    /// Id; the name in kebab case reads well after `accept`.
    pub id: RuleId,
    /// The level of its results, unless the settings say otherwise.
    pub level: Level,
    /// The level while the office is only planned, where that differs.
    pub while_planned: Option<Level>,
    /// Rules that it yields to where both report on the same subject.
    pub yields_to: YieldsTo,
    /// Family of the rule.
    pub family: Family,
    /// One sentence: what it finds.
    pub summary: &'static str,
    /// Why it matters and what to do, for readers who are new to it.
    pub explanation: &'static str,
    /// Source of the rule.
    pub source: Source,
    /// An example, if text can express one.
    pub example: Option<Example>,
    /// How the rule is checked.
    pub check: Check,
}

impl Rule {
    /// Whether its results can be accepted or lowered. Results that report text that was not understood cannot: such
    /// text is not checked either, and is never correct.
    pub fn can_be_accepted(&self) -> bool {
        // A missing field was understood as missing, and so was the date of an acceptance that is too old or too far
        // ahead.
        const UNDERSTOOD: [RuleId; 4] = [
            RuleId::FieldMissing,
            RuleId::AcceptanceExpired,
            RuleId::AcceptanceTooLong,
            RuleId::AcceptanceUnneeded,
        ];
        !matches!(self.check, Check::WhileReading) || UNDERSTOOD.contains(&self.id)
    }

    /// Whether the settings can switch it off. The language rules are the same in every repository: only the level of
    /// those that can be accepted may be changed.
    pub fn can_be_switched_off(&self) -> bool {
        self.family != Family::Language && self.can_be_accepted()
    }

    /// Whether the settings can give its results this level. The level of a rule that cannot be accepted is never
    /// lowered.
    pub fn can_have(&self, level: Level) -> bool {
        level >= self.level || self.can_be_accepted()
    }

    /// Whether its fixes change only notation, not what the file states about the plant: `lint --fix` applies those
    /// without asking. Which pair is spare, which name or unit was meant and which tube was laid is for a person to
    /// decide.
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

    /// Whether `accept` can name the subjects of its results. A part is not a thing.
    pub fn is_about_things(&self) -> bool {
        self.id != RuleId::PartUnused
    }

    /// Name in settings and acceptances.
    pub fn name(&self) -> &'static str {
        self.id.name()
    }

    /// The rules that it yields to, with a phrase for what the two results must have in common.
    pub fn gives_way(&self) -> impl Iterator<Item = (&'static [RuleId], &'static str)> {
        self.yields_to.iter().map(|(scope, rules)| (*rules, scope.phrase()))
    }

    /// Whether it looks at several files together.
    pub fn is_wide(&self) -> bool {
        matches!(self.check, Check::Repository(_))
    }
}
