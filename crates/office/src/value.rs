use std::net::IpAddr;

use drysheath_engineering::colour::Colour;
use drysheath_engineering::units::Quantity;
use drysheath_text::{Place, TextRange};
use strum::{IntoStaticStr, VariantArray};

use crate::ThingId;
use crate::kinds::{Choice, DewPointSurface, FieldSpec, Key};

/// A field and its value.
#[derive(Clone, Debug)]
pub struct Field {
    /// The field's entry in the table of kinds.
    pub spec: &'static FieldSpec,
    /// Place of the whole field; in the part's file if a part states it.
    pub place: Place,
    /// The value after parsing.
    pub value: Value,
}

/// The parsed value of a field.
#[derive(Clone, Debug)]
pub enum Value {
    /// It could not be understood; a problem reports it, and nothing is concluded from it.
    Unreadable,
    /// Text, without its quotes.
    Text(Box<str>),
    /// The word `yes` or `no`.
    YesNo(bool),
    /// A whole number of at least 1, at most [`HIGHEST_COUNT`](crate::kinds::HIGHEST_COUNT).
    Count(u32),
    /// A range of numbers in a row, ends included.
    Numbers(u32, u32),
    /// A quantity, as written.
    Quantity(Quantity),
    /// A dew point, and its reference surface if stated.
    DewPoint(Quantity, Option<DewPointSurface>),
    /// Two quantities, in the order written.
    Range(Quantity, Quantity),
    /// One of the words of the field's shape.
    Choice(Choice),
    /// A limit that raises an alarm.
    Limit(Box<Limit>),
    /// A pressure loss at a flow.
    Loss(Loss),
    /// A location on a cable or air pipe.
    At(Box<StatedPosition>),
    /// One half of a fitting.
    Fitting(Fitting),
    /// Number of a pair of a lead, and its colours.
    PairColours(u32, (Colour, Colour)),
    /// How a monitor reports.
    Link {
        /// The medium that it reports over.
        over: LinkMedium,
        /// Address or telephone line.
        to: Box<str>,
    },
    /// A fact of the repository's own.
    Record(Box<Recorded>),
    /// A former name of the thing.
    FormerName(Box<str>),
    /// The path of a file, from the repository's root and without extension.
    Path(Box<str>),
    /// A reference to another thing.
    Thing(Box<ThingReference>),
    /// A group of fields.
    Group(Vec<Field>),
    /// A block of fields with a name.
    Named {
        /// Name of the field, as written.
        name: Box<str>,
        /// Place of the name.
        place: Place,
        /// The fields in its block.
        fields: Vec<Field>,
    },
}

/// A fact that no rule reads, under a name that the repository chooses.
#[derive(Clone, Debug)]
pub struct Recorded {
    /// Name of the fact: `serial`, `asset`.
    pub name: Box<str>,
    /// Range of that name in the file of the field.
    pub range: TextRange,
    /// Text recorded for the fact.
    pub text: Box<str>,
}

/// A reference to another thing by name.
#[derive(Clone, Debug)]
pub struct ThingReference {
    /// Name of the thing, as written.
    pub name: Box<str>,
    /// Range of the name in the file of the field.
    pub range: TextRange,
    /// The thing, once names are resolved.
    pub thing: Option<ThingId>,
}

/// The medium over which a monitor reports.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum LinkMedium {
    /// A telephone line that it dials.
    Dialled,
    /// A LAN where it has an address.
    Lan,
}

impl LinkMedium {
    /// Word in the file.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// One sentence: the meaning of the word.
    pub fn doc(self) -> &'static str {
        match self {
            Self::Dialled => "It dials a line to report.",
            Self::Lan => "It reports over a LAN.",
        }
    }

    /// Finds a medium by its word.
    pub fn find(word: &str) -> Option<Self> {
        Self::VARIANTS.iter().copied().find(|medium| medium.word() == word)
    }

    /// What is expected in place of `to`, if that cannot be a line or address of this medium. `None` if it can.
    pub(crate) fn objection(self, to: &str) -> Option<&'static str> {
        let to = to.trim();
        let is_dotted = to.contains('.') && to.chars().all(|c| c.is_ascii_digit() || c == '.');
        // A number with a leading zero is unusual but clear.
        let is_address = to.split('.').count() == 4 && to.split('.').all(|number| number.parse::<u8>().is_ok());
        match self {
            Self::Dialled if to.parse::<IpAddr>().is_ok() || !to.chars().any(|c| c.is_ascii_digit()) => {
                Some("a telephone number")
            }
            // A host name may be anything without blanks; digits alone are a telephone number.
            Self::Lan
                if to.contains(char::is_whitespace)
                    || !to.chars().any(|c| c.is_alphabetic() || matches!(c, '.' | ':'))
                    || is_dotted && !is_address =>
            {
                Some("an address or the name of a host")
            }
            Self::Dialled | Self::Lan => None,
        }
    }
}

/// The level of a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum LimitLevel {
    /// The lower of two low limits.
    LowLow,
    /// The limit that alarms when the reading falls below it.
    Low,
    /// The limit that alarms when the reading rises above it.
    High,
    /// The higher of two high limits.
    HighHigh,
}

impl LimitLevel {
    /// Word in the file.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// One sentence: the meaning of the word.
    pub fn doc(self) -> &'static str {
        match self {
            Self::LowLow => "The lower of two low limits.",
            Self::Low => "Raises its alarm when the reading falls below it.",
            Self::High => "Raises its alarm when the reading rises above it.",
            Self::HighHigh => "The higher of two high limits.",
        }
    }

    /// Whether it is a low limit.
    pub fn is_low(self) -> bool {
        self <= Self::Low
    }
}

/// The severity of an alarm, in the words of ITU-T X.733.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Severity {
    /// The service is gone.
    Critical,
    /// The service is impaired.
    Major,
    /// Something needs repair before it gets worse.
    Minor,
    /// Something may be about to go wrong.
    Warning,
}

impl Severity {
    /// Word in the file.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// One sentence: the meaning of the word.
    pub fn doc(self) -> &'static str {
        match self {
            Self::Critical => "The service is gone.",
            Self::Major => "The service suffers.",
            Self::Minor => "Something needs repair before it gets worse.",
            Self::Warning => "Something may be about to go wrong.",
        }
    }
}

/// A limit that raises an alarm.
#[derive(Clone, Debug)]
pub struct Limit {
    /// Which of the four limits it is.
    pub level: LimitLevel,
    /// The reading at which the alarm is raised.
    pub value: Quantity,
    /// Alarm severity, if stated.
    pub severity: Option<Severity>,
    /// How far the reading must come back before the alarm clears.
    pub deadband: Option<Quantity>,
}

/// A pressure loss at a flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loss {
    /// Pressure loss at the flow.
    pub pressure: Quantity,
    /// Flow at which the loss is stated.
    pub flow: Quantity,
}

impl std::fmt::Display for Loss {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} at {}", self.pressure, self.flow)
    }
}

/// A location on a cable or air pipe.
#[derive(Clone, Debug)]
pub struct StatedPosition {
    /// The cable or pipe, once names are resolved.
    pub thing: Option<ThingId>,
    /// Place of its name.
    pub name: TextRange,
    /// The branch, by its name.
    pub branch: Option<Box<str>>,
    /// The distance from the office end, or from the branch's beginning.
    pub distance: Option<Quantity>,
    /// The named place instead of a distance.
    pub place: Option<Box<str>>,
}

impl StatedPosition {
    /// Whether another one is the same in other words or units, so far as that shows without the lengths of cables.
    pub fn is_same(&self, other: &Self) -> bool {
        let metres = |position: &Self| position.distance.map(Quantity::si);
        (self.thing, &self.branch, &self.place, metres(self))
            == (other.thing, &other.branch, &other.place, metres(other))
    }
}

/// Type of a fitting.
#[derive(Clone, Copy, Debug, PartialEq, Eq, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum FittingType {
    /// A compression joint on tube of its size.
    Compression,
    /// A barb for hose of that bore.
    Barb,
    /// A push-in joint on tube of its size.
    PushIn,
    /// A tapered pipe thread by ASME B1.20.1.
    #[strum(serialize = "npt")]
    Npt,
    /// A pipe thread by ISO 7-1.
    #[strum(serialize = "iso-7")]
    Iso7,
    /// A parallel pipe thread by ISO 228-1.
    #[strum(serialize = "iso-228")]
    Iso228,
    /// A pipe thread of a standard that is not known.
    Thread,
}

/// Half of a threaded joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Sex {
    /// The half with the outside thread.
    Male,
    /// The half with the inside thread.
    Female,
}

impl FittingType {
    /// Word in the file.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// One sentence: the meaning of the word.
    pub fn doc(self) -> &'static str {
        match self {
            Self::Compression => "A compression joint on tube of its size.",
            Self::Barb => "A barb for hose of that bore.",
            Self::PushIn => "A push-in joint on tube of its size.",
            Self::Npt => "A tapered pipe thread by ASME B1.20.1, which seals on its flanks with a sealant.",
            Self::Iso7 => {
                "A pipe thread by ISO 7-1, which seals on its flanks: R outside, tapered; Rc or Rp inside, tapered or parallel."
            }
            Self::Iso228 => "A parallel pipe thread by ISO 228-1, G, which seals on a washer and not on its flanks.",
            Self::Thread => "A pipe thread whose standard is not known.",
        }
    }

    /// Whether it is a thread, which has two sexes.
    pub fn is_thread(self) -> bool {
        matches!(self, Self::Npt | Self::Iso7 | Self::Iso228 | Self::Thread)
    }
}

impl Sex {
    /// The half that it mates with.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Male => Self::Female,
            Self::Female => Self::Male,
        }
    }

    /// Word in the file.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// One sentence: the meaning of the word.
    pub fn doc(self) -> &'static str {
        match self {
            Self::Male => "The outside thread.",
            Self::Female => "The inside thread.",
        }
    }
}

/// One half of a fitting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fitting {
    /// Size of the tube or of the thread.
    pub size: Quantity,
    /// How it holds the tube or thread.
    pub kind: FittingType,
    /// Male or female, for a thread.
    pub sex: Option<Sex>,
}

impl std::fmt::Display for Fitting {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let kind: &str = self.kind.into();
        write!(f, "{} {kind}", crate::spelling::inches(self.size))?;
        match self.sex {
            Some(sex) => write!(f, " {}", <&str>::from(sex)),
            None => Ok(()),
        }
    }
}

/// A quantity and its origin.
#[derive(Clone, Copy, Debug)]
pub struct GivenQuantity {
    /// The quantity as written, or the default.
    pub quantity: Quantity,
    /// Place where it is stated. `None` for the language's default.
    pub place: Option<Place>,
}

/// The fields of a thing, a part, a group or a named field.
pub trait Fields {
    /// All fields, in order.
    fn fields(&self) -> &[Field];

    /// Whether there may be a field of that name; a quick check, since rules ask for many fields that hardly any thing
    /// has.
    fn may_have(&self, _key: Key) -> bool {
        true
    }

    /// The first field of that name.
    fn field(&self, key: Key) -> Option<&Field> {
        self.all(key).next()
    }

    /// Every field of that name.
    fn all(&self, key: Key) -> impl Iterator<Item = &Field> {
        let fields = if self.may_have(key) { self.fields() } else { &[] };
        fields.iter().filter(move |field| field.spec.key == key)
    }

    /// Whether the field exists, readable or not.
    fn has(&self, key: Key) -> bool {
        self.field(key).is_some()
    }

    /// A quantity and its place.
    fn quantity(&self, key: Key) -> Option<(Quantity, Place)> {
        match self.field(key)? {
            Field {
                value: Value::Quantity(quantity) | Value::DewPoint(quantity, _),
                place,
                ..
            } => Some((*quantity, *place)),
            _ => None,
        }
    }

    /// A quantity, or its default in the table of kinds. `specs` is the table of these fields.
    fn given(&self, specs: &[FieldSpec], key: Key) -> Option<GivenQuantity> {
        if let Some(field) = self.field(key) {
            return match field.value {
                Value::Quantity(quantity) | Value::DewPoint(quantity, _) => Some(GivenQuantity {
                    quantity,
                    place: Some(field.place),
                }),
                _ => None,
            };
        }
        let spec = specs.iter().find(|spec| spec.key == key)?;
        let quantity = spec.default_quantity()?;
        Some(GivenQuantity { quantity, place: None })
    }

    /// The reference surface of a dew point: water, unless ice is stated.
    fn dew_point_surface(&self, key: Key) -> DewPointSurface {
        match self.field(key).map(|field| &field.value) {
            Some(Value::DewPoint(_, Some(surface))) => *surface,
            _ => DewPointSurface::Water,
        }
    }

    /// A range and its place.
    fn range(&self, key: Key) -> Option<(Quantity, Quantity, Place)> {
        match self.field(key)? {
            Field {
                value: Value::Range(from, to),
                place,
                ..
            } => Some((*from, *to, *place)),
            _ => None,
        }
    }

    /// The count that a field states.
    fn count(&self, key: Key) -> Option<u32> {
        match self.field(key)?.value {
            Value::Count(count) => Some(count),
            _ => None,
        }
    }

    /// Value of a yes-or-no field.
    fn yes_no(&self, key: Key) -> Option<bool> {
        match self.field(key)?.value {
            Value::YesNo(yes) => Some(yes),
            _ => None,
        }
    }

    /// A choice, of the type that the field has.
    fn choice<C: TryFrom<Choice>>(&self, key: Key) -> Option<C> {
        match self.field(key)?.value {
            Value::Choice(choice) => choice.try_into().ok(),
            _ => None,
        }
    }

    /// The text that a field states.
    fn text(&self, key: Key) -> Option<&str> {
        match &self.field(key)?.value {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// A fitting and its place.
    fn fitting(&self, key: Key) -> Option<(Fitting, Place)> {
        match self.field(key)? {
            Field {
                value: Value::Fitting(fitting),
                place,
                ..
            } => Some((*fitting, *place)),
            _ => None,
        }
    }

    /// The fields of a group.
    fn group(&self, key: Key) -> Option<&[Field]> {
        match &self.field(key)?.value {
            Value::Group(fields) => Some(fields),
            _ => None,
        }
    }

    /// The named fields with a key: name, place of the name, and fields.
    fn named(&self, key: Key) -> impl Iterator<Item = (&str, Place, &[Field])> {
        self.all(key).filter_map(|field| match &field.value {
            Value::Named { name, place, fields } => Some((&**name, *place, fields.as_slice())),
            _ => None,
        })
    }

    /// The repository's own facts.
    fn recorded(&self) -> impl Iterator<Item = (&Recorded, Place)> {
        self.all(Key::Record).filter_map(|field| match &field.value {
            Value::Record(recorded) => Some((&**recorded, field.place)),
            _ => None,
        })
    }

    /// The reference in a field to another thing.
    fn other(&self, key: Key) -> Option<&ThingReference> {
        match &self.field(key)?.value {
            Value::Thing(other) => Some(other),
            _ => None,
        }
    }

    /// The former names of the thing.
    fn former_names(&self) -> impl Iterator<Item = (&str, Place)> {
        self.all(Key::Formerly).filter_map(|field| match &field.value {
            Value::FormerName(name) => Some((&**name, field.place)),
            _ => None,
        })
    }

    /// The losses and their places, in the order of the file.
    fn losses(&self) -> impl Iterator<Item = (Loss, Place)> {
        self.all(Key::Loss).filter_map(|field| match field.value {
            Value::Loss(loss) => Some((loss, field.place)),
            _ => None,
        })
    }

    /// The limits and their places.
    fn limits(&self) -> impl Iterator<Item = (&Limit, Place)> {
        self.all(Key::Limit).filter_map(|field| match &field.value {
            Value::Limit(limit) => Some((&**limit, field.place)),
            _ => None,
        })
    }
}

impl Fields for [Field] {
    fn fields(&self) -> &[Field] {
        self
    }
}
