use std::sync::LazyLock;

use drysheath_engineering::units::{self, Quantity};
use rustc_hash::FxHashMap;
use strum::{IntoStaticStr, VariantArray};

use super::former_words::{Removal, Successor};
use super::{Domain, KINDS, KindId, Shape, ThingStage};

/// The name of a field. A name has the same meaning in every kind that has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
#[allow(missing_docs, reason = "what each means is in the table of its kind")]
pub enum Key {
    Address,
    Addresses,
    Aerial,
    AirMinimum,
    AirTemperature,
    CableTemperature,
    Assembly,
    At,
    Bore,
    Bottles,
    Branch,
    Buried,
    Capacity,
    Coldest,
    Compressor,
    Connector,
    Contact,
    Contacts,
    Control,
    Current,
    CurrentMax,
    CutIn,
    CutOut,
    Delivers,
    Depth,
    DewPoint,
    Differential,
    Draws,
    Droop,
    Elevation,
    Error,
    Filtered,
    FlowMax,
    Formerly,
    From,
    Function,
    Gauge,
    GroundSize,
    Healthy,
    Holds,
    Hottest,
    HottestWire,
    Inlet,
    InletMax,
    Insulation,
    Is,
    Label,
    Length,
    Limit,
    Link,
    Location,
    Loop,
    LoopMax,
    LoopVoltage,
    Loss,
    Minimum,
    Model,
    Needs,
    Nominal,
    Normal,
    Note,
    Order,
    Outlet,
    Outlets,
    OutputMax,
    OutputVoltage,
    Outputs,
    Pair,
    Pairs,
    Pins,
    Place,
    Plugged,
    Ports,
    Positions,
    Pressure,
    Principal,
    Proof,
    Rating,
    RatingElevation,
    RatingPressure,
    RatingTemperature,
    Record,
    ReferencePressure,
    ReferenceTemperature,
    Relief,
    Reports,
    Resistance,
    Room,
    Roughness,
    Section,
    Sensors,
    Set,
    Site,
    Span,
    Stage,
    Stands,
    Step,
    Supply,
    Title,
    To,
    Underground,
    Usage,
    Volume,
    WantsFiltered,
    Window,
    Working,
}

impl Key {
    /// The word in the file.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// Finds the name of a field by its word.
    pub(super) fn called(word: &str) -> Option<Self> {
        let first = *word.as_bytes().first()?;
        let alike = BY_LENGTH.get(word.len())?;
        let is_called = |known: &&Known| known.first == first && known.word == word;
        alike.iter().find(is_called).map(|known| known.key)
    }
}

/// A set of names of fields.
#[derive(Clone, Copy, Debug)]
pub(crate) struct KeySet(u128);

const _: () = assert!(
    Key::VARIANTS.len() <= u128::BITS as usize,
    "a set has a bit for each name"
);

impl KeySet {
    /// The set of all names.
    pub const ALL: Self = Self(u128::MAX);

    /// Whether a name is in the set.
    pub fn has(self, key: Key) -> bool {
        self.0 & (1 << key as u32) != 0
    }
}

impl FromIterator<Key> for KeySet {
    fn from_iter<Keys: IntoIterator<Item = Key>>(keys: Keys) -> Self {
        Self(keys.into_iter().fold(0, |set, key| set | 1 << key as u32))
    }
}

/// The name of a field, with what is compared first in a lookup.
struct Known {
    first: u8,
    word: &'static str,
    key: Key,
}

/// Names of fields by the length of their word: looked up for nearly every word of a file.
static BY_LENGTH: LazyLock<Vec<Vec<Known>>> = LazyLock::new(|| {
    let mut by_length = Vec::new();
    for key in Key::VARIANTS.iter().copied() {
        let word = key.word();
        if by_length.len() <= word.len() {
            by_length.resize_with(word.len() + 1, Vec::new);
        }
        let first = word.as_bytes().first().copied().unwrap_or_default();
        if let Some(alike) = by_length.get_mut(word.len()) {
            alike.push(Known { first, word, key });
        }
    }
    by_length
});

/// Whether a field is required.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// It may be left out.
    Optional,
    /// Required from the first draft.
    Always,
    /// Required once the office is installed.
    Installed,
}

/// A field of a kind.
#[derive(Clone, Copy, Debug)]
pub struct FieldSpec {
    /// Key, which determines the name in the file.
    pub key: Key,
    /// Syntax of the value.
    pub shape: Shape,
    /// Whether it is required.
    pub need: Need,
    /// The value where a file states none, as a file would write it.
    pub default: Option<&'static str>,
    /// One sentence: its meaning.
    pub doc: &'static str,
    /// First language version that has it.
    pub since: u32,
    /// Replacement, if the current language no longer has the field.
    pub gone: Option<Removal>,
    /// Range of plausible figures, where the name alone does not determine it.
    pub(super) own_domain: Option<fn() -> &'static Domain>,
}

impl FieldSpec {
    pub(super) const fn new(key: Key, shape: Shape, doc: &'static str) -> Self {
        Self {
            key,
            shape,
            need: Need::Optional,
            default: None,
            doc,
            since: 0,
            gone: None,
            own_domain: None,
        }
    }

    pub(super) const fn always(mut self) -> Self {
        self.need = Need::Always;
        self
    }

    pub(super) const fn installed(mut self) -> Self {
        self.need = Need::Installed;
        self
    }

    pub(super) const fn default(mut self, written: &'static str) -> Self {
        self.default = Some(written);
        self
    }

    pub(super) const fn within(mut self, domain: fn() -> &'static Domain) -> Self {
        self.own_domain = Some(domain);
        self
    }

    pub(super) const fn since(mut self, language: u32) -> Self {
        self.since = language;
        self
    }

    pub(super) const fn until(mut self, language: u32, successor: Successor) -> Self {
        self.gone = Some(Removal {
            until: language,
            successor,
        });
        self
    }

    /// The field under its former name, up to the language version before the one that introduced this name.
    pub(super) const fn formerly(self, key: Key) -> Self {
        Self {
            key,
            since: 0,
            ..self.until(self.since - 1, Successor::Field(self.key))
        }
    }

    /// The default as a quantity.
    pub fn default_quantity(&self) -> Option<Quantity> {
        DEFAULTS.get(self.default?).copied()
    }

    /// The fields inside a group or named field.
    pub fn inner(&self) -> &'static [FieldSpec] {
        match self.shape {
            Shape::Group(fields) | Shape::Named(fields) => fields,
            _ => &[],
        }
    }

    /// Word in the file.
    pub fn word(&self) -> &'static str {
        self.key.word()
    }
}

/// Default quantities by their text in the tables of kinds.
static DEFAULTS: LazyLock<FxHashMap<&str, Quantity>> = LazyLock::new(|| {
    fn add(fields: &[FieldSpec], defaults: &mut FxHashMap<&str, Quantity>) {
        for field in fields {
            defaults.extend(field.default.and_then(|default| Some((default, written(default)?))));
            add(field.inner(), defaults);
        }
    }
    let mut defaults = FxHashMap::default();
    for kind in KINDS {
        add(kind.fields, &mut defaults);
    }
    defaults
});

/// Parses a quantity in the tables of kinds: a number, a blank, a unit.
pub(super) fn written(quantity: &str) -> Option<Quantity> {
    let (number, unit) = quantity.split_once(' ')?;
    Some(Quantity {
        value: number.parse().ok()?,
        unit: units::find(unit)?,
    })
}

/// The fields of a kind: its own, and those that every thing has.
macro_rules! of_thing {
    ($($own:expr),+ $(,)?) => {
        &[
            $($own,)+
            $crate::kinds::fields::ORDER,
            $crate::kinds::fields::RECORD,
            $crate::kinds::fields::FORMERLY,
        ]
    };
}

/// The fields of a kind of equipment: its own, those that all equipment has, and those that every thing has.
macro_rules! of_equipment {
    ($($own:expr),+ $(,)?) => {
        of_thing![
            $($own,)+
            $crate::kinds::fields::ROOM,
            $crate::kinds::fields::LOCATION,
            $crate::kinds::fields::STAGE,
            $crate::kinds::fields::ASSEMBLY,
        ]
    };
}

/// A fact that no rule reads, under a name that the repository chooses.
pub(super) const RECORD: FieldSpec = FieldSpec::new(
    Key::Record,
    Shape::Record,
    "Any fact of the repository's own, by a name: a serial number, a number in the books. The settings may list the names.",
)
.since(1);
/// A former name, so that records and comparisons follow the thing.
pub(super) const FORMERLY: FieldSpec = FieldSpec::new(
    Key::Formerly,
    Shape::FormerName,
    "A name that it had before: records and comparisons follow it from there.",
)
.since(1);
/// The fields that every thing has in addition to those of its kind.
pub static COMMON_FIELDS: &[FieldSpec] = &[ORDER, RECORD, FORMERLY];
/// The fields that all equipment has in addition (`Kind::is_equipment`).
pub static EQUIPMENT_FIELDS: &[FieldSpec] = &[ROOM, LOCATION, STAGE, ASSEMBLY];

/// The order by which it was bought or built.
pub(super) const ORDER: FieldSpec = FieldSpec::new(
    Key::Order,
    Shape::Text,
    "The number of the order by which it was bought or built.",
)
.since(1);
/// The room that it is in.
pub(super) const ROOM: FieldSpec =
    FieldSpec::new(Key::Room, Shape::Thing(KindId::Room), "The room that it is in.").since(1);
/// The assembly that it belongs to.
pub(super) const ASSEMBLY: FieldSpec = FieldSpec::new(
    Key::Assembly,
    Shape::Thing(KindId::Assembly),
    "The assembly that it belongs to, where that is not drawn in a file of its own.",
)
.since(1);
/// Location within the room.
pub(super) const LOCATION: FieldSpec = FieldSpec::new(
    Key::Location,
    Shape::Text,
    "Where to find it, such as `\"east wall, 1.5 m\"`.",
)
.since(1);
/// Stage, if it differs from the office's.
pub(super) const STAGE: FieldSpec = FieldSpec::new(
    Key::Stage,
    Shape::Choice(ThingStage::ALL),
    "How far it has come, where that differs from the office. What is planned or disused is left out of all checks and figures.",
)
.since(1);

/// Display name: on labels, on the telephone.
pub(super) const TITLE: FieldSpec = FieldSpec::new(
    Key::Title,
    Shape::Text,
    "What people call it, such as `\"101, Harbour Street\"`.",
);
/// The maker's name for it.
pub(super) const MODEL: FieldSpec = FieldSpec::new(Key::Model, Shape::Text, "Maker's name for it, for the record.");
/// A remark that no rule reads.
pub(super) const NOTE: FieldSpec = FieldSpec::new(
    Key::Note,
    Shape::Text,
    "Anything a technician should know, printed on the sheet.",
);
