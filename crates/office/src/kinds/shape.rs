use drysheath_engineering::units::Dimension;

use super::{Choice, FieldSpec, KindId};
use crate::spelling::with_article;

/// Highest plausible count, or number of a pair or port: the largest cables have some thousands of pairs (common
/// practice, no source). Sums of a few of them do not overflow.
pub const HIGHEST_COUNT: u32 = 100_000;

/// Syntax of a field's value.
#[derive(Clone, Copy, Debug)]
pub enum Shape {
    /// Any text between quotes.
    Text,
    /// The word `yes` or `no`.
    YesNo,
    /// A whole number from 1 to this one, at most [`HIGHEST_COUNT`].
    Count(u32),
    /// A range of whole numbers, `1 .. 10`, none above this one.
    Numbers(u32),
    /// A range of numbers with printed letters if there are any, `A1 .. A10`; once for each row.
    Rows(u32),
    /// A count, or rows of numbers as printed.
    CountOrRows(u32),
    /// A number with a unit of this dimension.
    Quantity(Dimension),
    /// Power or highest current of a load.
    Draw,
    /// A pressure difference, neither gauge nor absolute.
    Difference,
    /// A dew point or frost point, `-40 degC over ice`; over water if not stated.
    DewPoint,
    /// Two quantities, `0 .. 15 psi`.
    Range(Dimension),
    /// One of a few words.
    Choice(&'static [Choice]),
    /// A limit: `low 5 psi minor deadband 0.3 psi`.
    Limit(Dimension),
    /// A loss at a flow: `0.5 psi at 20 scfh`.
    Loss,
    /// A position on a cable or air pipe: `c101 1.1 km`, `c101 branch b1 0.4 km`, `ap1 place mh-3`.
    At,
    /// Size, type and sex of a fitting: `3/8 in compression`, `1/4 in npt male`.
    Fitting,
    /// How a monitor reports: `dialled "555-0142"` or `lan "192.0.2.7"`.
    Link,
    /// A name, and text in quotes: `serial "A-1177"`.
    Record,
    /// A former name of the thing.
    FormerName,
    /// A path as in a `use` statement.
    Path,
    /// The name of a thing of this kind.
    Thing(KindId),
    /// The number of a pair and its colours, `1 black-red`.
    PairColours(u32),
    /// A block of fields in braces.
    Group(&'static [FieldSpec]),
    /// A name, and fields in braces; may be repeated.
    Named(&'static [FieldSpec]),
}

impl Shape {
    /// What is expected, as the end of the sentence "`set` wants …".
    pub fn wanted(self) -> String {
        match self {
            Self::Text => "text in quotes".to_owned(),
            Self::YesNo => "`yes` or `no`".to_owned(),
            Self::Count(most) => format!("a whole number from 1 to {most}"),
            Self::Numbers(most) => format!("a range such as `1 .. 10`, up to {most}"),
            Self::Rows(most) => format!("a range such as `1 .. 10` or `A1 .. A10`, up to {most}"),
            Self::CountOrRows(most) => format!("a whole number from 1 to {most}, or a range such as `A1 .. A10`"),
            Self::Quantity(dimension) => format!("a {}, such as `{}`", dimension.name(), sample(dimension)),
            Self::Draw => "a power, such as `40 W`, or a current, such as `0.8 A`".to_owned(),
            Self::Difference => "a pressure difference, such as `0.5 psi`".to_owned(),
            Self::DewPoint => "a temperature, such as `-40 degC over water` or `-36 degC over ice`".to_owned(),
            Self::Range(dimension) => {
                format!("a range of {}, such as `{}`", dimension.name(), range_sample(dimension))
            }
            Self::Choice(choices) => {
                let words: Vec<_> = choices.iter().map(|choice| format!("`{}`", choice.word())).collect();
                format!("one of {}", words.join(", "))
            }
            Self::Limit(dimension) => format!(
                "`low-low`, `low`, `high` or `high-high`, then a {} and a severity, such as `low {} minor`",
                dimension.name(),
                sample(dimension)
            ),
            Self::Loss => {
                "a pressure difference and the flow that it is lost at, such as `0.5 psi at 20 scfh`".to_owned()
            }
            Self::At => "a cable or air pipe and a distance along it, such as `c101 1.1 km`".to_owned(),
            Self::Fitting => "a size and a type, such as `3/8 in compression` or `1/4 in npt male`".to_owned(),
            Self::Link => "`dialled` or `lan`, then the line or address in quotes".to_owned(),
            Self::Record => "a name and text in quotes, such as `serial \"A-1177\"`".to_owned(),
            Self::FormerName => "a name that it had before, such as `ps1`".to_owned(),
            Self::Path => "the path of a file, such as `offices/elm-hollow`".to_owned(),
            Self::Thing(kind) => format!("the name of {}", with_article(kind.into())),
            Self::PairColours(_) => "the number of a pair and its colours, such as `1 black-red`".to_owned(),
            Self::Group(_) => "fields between braces".to_owned(),
            Self::Named(_) => "a name, then fields between braces".to_owned(),
        }
    }

    /// An example of a value.
    pub fn sample(self) -> &'static str {
        match self {
            Self::Text => "\"\"",
            Self::YesNo => "yes",
            Self::Count(_) | Self::CountOrRows(_) => "1",
            Self::Numbers(_) | Self::Rows(_) => "1 .. 10",
            Self::Quantity(dimension) => sample(dimension),
            Self::Draw => "40 W",
            Self::Difference => "0.5 psi",
            Self::DewPoint => "-40 degC over water",
            Self::Range(dimension) => range_sample(dimension),
            Self::Choice(choices) => choices.first().map_or("", |choice| choice.word()),
            Self::Limit(Dimension::Pressure) => "low 5 psi minor deadband 0.3 psi",
            Self::Limit(Dimension::Flow) => "high 20 scfh major deadband 1 scfh",
            Self::Limit(Dimension::Humidity) => "high 5 %rh minor deadband 0.5 %rh",
            Self::Limit(_) => "high -30 degC minor",
            Self::Loss => "0.5 psi at 20 scfh",
            Self::At => "c101 1.1 km",
            Self::Fitting => "3/8 in compression",
            Self::Link => "lan \"192.0.2.1\"",
            Self::Record => "serial \"A-1177\"",
            Self::FormerName => "ps1",
            Self::Path => "offices/elm-hollow",
            Self::Group(_) | Self::Named(_) | Self::Thing(_) => "",
            Self::PairColours(_) => "1 black-red",
        }
    }

    /// Whether it is a loss at a flow.
    pub fn is_loss(self) -> bool {
        matches!(self, Self::Loss)
    }

    /// Whether a thing may have several.
    pub fn repeats(self) -> bool {
        matches!(
            self,
            Self::Named(_)
                | Self::Limit(_)
                | Self::Loss
                | Self::Record
                | Self::FormerName
                | Self::PairColours(_)
                | Self::Link
        ) || self.has_rows()
    }

    /// Whether it may be rows of numbers with letters.
    pub fn has_rows(self) -> bool {
        matches!(self, Self::Rows(_) | Self::CountOrRows(_))
    }
}

/// An example of a quantity of this dimension.
pub fn sample(dimension: Dimension) -> &'static str {
    match dimension {
        Dimension::Pressure => "10 psi",
        Dimension::Flow => "45 scfh",
        Dimension::Length => "1.2 km",
        Dimension::WireSize => "24 awg",
        Dimension::Voltage => "-48 V",
        Dimension::Current => "1.5 A",
        Dimension::Resistance => "3000 ohm",
        Dimension::Power => "40 W",
        Dimension::Temperature => "-40 degC",
        Dimension::Time => "12 min",
        Dimension::Humidity => "2 %rh",
        Dimension::PneumaticResistance => "0.14 psi/scfh/kft",
        Dimension::Droop => "0.02 psi/scfh",
        Dimension::Volume => "2 ft3",
        Dimension::StandardVolume => "230 scf",
        Dimension::Charge => "400 Ah",
    }
}

fn range_sample(dimension: Dimension) -> &'static str {
    match dimension {
        Dimension::Flow => "0 .. 60 scfh",
        Dimension::Voltage => "-43 V .. -54 V",
        Dimension::Temperature => "-60 .. 20 degC",
        Dimension::Humidity => "0 .. 10 %rh",
        _ => "0 .. 15 psi",
    }
}
