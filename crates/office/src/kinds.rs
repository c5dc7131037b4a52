//! What things there are: each kind once, with its fields, their shapes and its ports. The parser's checks,
//! completion, hover and the reference's tables all come from here.

mod air;
mod choices;
pub(crate) mod domain;
mod electric;
pub(crate) mod era;
mod fields;
mod pairs;
mod port;
mod record;
mod sensors;
mod shape;

use strum::{IntoStaticStr, VariantArray};

pub use choices::{
    Choice, Compressor, Connector, DewPointSurface, HealthyState, MonitorSupply, Stage, ValveFunction, ValvePosition,
};
pub use domain::{Domain, OF_RUNS_AND_READINGS};
pub use era::{FORMER_WORDS, Gone, LANGUAGE, Successor, first_version};
pub use fields::{FieldSpec, Key, Need};
pub use port::{Bare, Numbering, Port, Role, SignalKind, SignalSource};
pub use shape::{HIGHEST_COUNT, Shape};

use drysheath_syntax::Medium;

/// The identity of a kind of thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
#[allow(missing_docs, reason = "the table of kinds describes each")]
pub enum KindId {
    Office,
    Battery,
    FusePanel,
    GroundBar,
    Dryer,
    Regulator,
    Valve,
    Manifold,
    AirPipe,
    Cable,
    FlowSensor,
    PressureSensor,
    HumiditySensor,
    DewPointSensor,
    Contact,
    Block,
    Lead,
    Monitor,
}

/// A kind of thing.
#[derive(Debug)]
pub struct Kind {
    /// The identity of the kind.
    pub id: KindId,
    /// What it is, in a sentence.
    pub summary: &'static str,
    /// What can be said of it, in the order of the reference.
    pub fields: &'static [FieldSpec],
    /// Where runs can end on it.
    pub ports: &'static [Port],
}

/// The surroundings of a section of cable, each with its length: a section declares one of these.
pub const SURROUNDINGS: [Key; 3] = [Key::Underground, Key::Buried, Key::Aerial];

/// Every kind, in the order of the reference.
pub static KINDS: &[&Kind] = &[
    &record::OFFICE,
    &electric::BATTERY,
    &electric::FUSE_PANEL,
    &electric::GROUND_BAR,
    &air::DRYER,
    &air::REGULATOR,
    &air::VALVE,
    &air::MANIFOLD,
    &air::AIR_PIPE,
    &air::CABLE,
    &sensors::FLOW_SENSOR,
    &sensors::PRESSURE_SENSOR,
    &sensors::HUMIDITY_SENSOR,
    &sensors::DEW_POINT_SENSOR,
    &sensors::CONTACT,
    &pairs::BLOCK,
    &pairs::LEAD,
    &pairs::MONITOR,
];

impl Kind {
    /// The word that declares one.
    pub fn word(&self) -> &'static str {
        self.id.into()
    }

    /// The kind that `word` names.
    pub fn find(word: &str) -> Option<&'static Self> {
        KINDS.iter().copied().find(|kind| kind.word() == word)
    }

    /// The field named `word`.
    pub fn field(&self, word: &str) -> Option<&'static FieldSpec> {
        field(self.fields, word)
    }

    /// The ports in a medium.
    pub fn ports_in(&self, medium: Medium) -> impl Iterator<Item = &'static Port> {
        self.ports.iter().filter(move |port| port.medium == medium)
    }

    /// Whether it is one of the sensors.
    pub fn is_sensor(&self) -> bool {
        matches!(
            self.id,
            KindId::FlowSensor | KindId::PressureSensor | KindId::HumiditySensor | KindId::DewPointSensor
        )
    }
}

/// The field named `word` among `fields`, as [`Kind::field`] does for a whole kind.
pub fn field<'s>(fields: &'s [FieldSpec], word: &str) -> Option<&'s FieldSpec> {
    let key = Key::called(word)?;
    fields.iter().find(|field| field.key == key)
}
