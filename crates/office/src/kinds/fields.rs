use drysheath_engineering::units::{self, Quantity};
use strum::IntoStaticStr;

use super::{Domain, Shape};

/// The name of a field. One name means one thing in every kind that has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
#[allow(missing_docs, reason = "what each means is in the table of its kind")]
pub enum Key {
    Address,
    Addresses,
    Aerial,
    AirMinimum,
    AirTemperature,
    At,
    Bore,
    Branch,
    Buried,
    Capacity,
    Coldest,
    Compressor,
    Contact,
    Contacts,
    Current,
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
    From,
    Function,
    Gauge,
    GroundSize,
    Healthy,
    Hottest,
    HottestWire,
    Inlet,
    InletMax,
    Length,
    Limit,
    Link,
    LoopMax,
    LoopVoltage,
    Minimum,
    Model,
    Needs,
    Nominal,
    Normal,
    Note,
    Outlet,
    Outlets,
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
    ReferencePressure,
    ReferenceTemperature,
    Relief,
    Reports,
    Resistance,
    Roughness,
    Section,
    Sensors,
    Set,
    Site,
    Span,
    Stage,
    Stands,
    Step,
    Title,
    Underground,
    Usage,
    Volume,
    WantsFiltered,
    Window,
    Working,
}

impl Key {
    /// The word that is written.
    pub fn word(self) -> &'static str {
        self.into()
    }
}

/// Whether a field has to be there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// It may be left out.
    Optional,
    /// It must be there from the first draft.
    Always,
    /// It must be there once the office is installed.
    Installed,
}

/// A field of a kind.
#[derive(Clone, Copy, Debug)]
pub struct FieldSpec {
    /// The identity of the field.
    pub key: Key,
    /// What may be said of it.
    pub shape: Shape,
    /// Whether it has to be there.
    pub need: Need,
    /// What holds where it is left out, as it would be written.
    pub default: Option<&'static str>,
    /// What it means, in a sentence.
    pub doc: &'static str,
    /// The figures that can be meant, where its name alone does not decide that.
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

    /// The quantity that holds where it is left out.
    pub fn default_quantity(&self) -> Option<Quantity> {
        written(self.default?)
    }

    /// The fields inside it, of a group or a named field.
    pub fn inner(&self) -> &'static [FieldSpec] {
        match self.shape {
            Shape::Group(fields) | Shape::Named(fields) => fields,
            _ => &[],
        }
    }

    /// The word that is written.
    pub fn word(&self) -> &'static str {
        self.key.word()
    }
}

/// A quantity as the tables of kinds write it: a number, a blank, a unit.
pub(super) fn written(quantity: &str) -> Option<Quantity> {
    let (number, unit) = quantity.split_once(' ')?;
    Some(Quantity {
        value: number.parse().ok()?,
        unit: units::find(unit)?,
    })
}

/// What people call it: on its label, on the telephone.
pub(super) const TITLE: FieldSpec = FieldSpec::new(
    Key::Title,
    Shape::Text,
    "What people call it, such as `\"101, Harbour Street\"`.",
);
/// Who made it and which of theirs it is.
pub(super) const MODEL: FieldSpec = FieldSpec::new(Key::Model, Shape::Text, "Maker's name for it, for the record.");
/// A remark that no rule reads.
pub(super) const NOTE: FieldSpec = FieldSpec::new(
    Key::Note,
    Shape::Text,
    "Anything a technician should know, printed on the sheet.",
);
