//! The kinds of things, each declared once with its fields, their shapes and its ports. The parser's checks,
//! completion, hover and the reference's tables are all derived from this.

#[macro_use]
mod fields;

mod air;
mod air_storage;
mod choices;
pub(crate) mod domain;
mod electric;
pub(crate) mod former_words;
mod losses;
mod other;
mod pairs;
mod port;
mod premises;
mod sensors;
mod shape;

use strum::{IntoStaticStr, VariantArray};

pub use choices::{
    Choice, Compressor, Connector, DewPointSurface, HealthyState, Insulation, MonitorSupply, Stage, ThingStage,
    ValveFunction, ValvePosition,
};
pub use domain::{Domain, OF_RUNS_AND_READINGS};
pub(crate) use fields::KeySet;
pub use fields::{COMMON_FIELDS, EQUIPMENT_FIELDS, FieldSpec, Key, Need};
pub use former_words::{FORMER_WORDS, LANGUAGE, Removal, Successor, first_version};
pub use port::{Bare, Numbering, Port, Role, SignalKind, SignalSource};
pub use shape::{HIGHEST_COUNT, Shape};

use std::sync::LazyLock;

use drysheath_syntax::Medium;
use rustc_hash::FxHashMap;

/// The identity of a kind of thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
#[allow(missing_docs, reason = "the table of kinds describes each")]
pub enum KindId {
    Office,
    Room,
    Assembly,
    Route,
    Battery,
    FusePanel,
    GroundBar,
    Dryer,
    Bottle,
    Tank,
    Regulator,
    Valve,
    Filter,
    Manifold,
    AirPipe,
    Cable,
    FlowSensor,
    PressureSensor,
    HumiditySensor,
    DewPointSensor,
    PressureSwitch,
    Contact,
    Block,
    Lead,
    Monitor,
    Other,
}

/// A kind of thing.
#[derive(Debug)]
pub struct Kind {
    /// Identity of the kind.
    pub id: KindId,
    /// One sentence: what it is.
    pub summary: &'static str,
    /// Fields, in the order of the reference.
    pub fields: &'static [FieldSpec],
    /// Ports of things of this kind.
    pub ports: &'static [Port],
}

/// The kinds of surroundings of a section of cable. A section declares its length with exactly one of these.
pub const SURROUNDINGS: [Key; 3] = [Key::Underground, Key::Buried, Key::Aerial];

/// All kinds, in the order of the reference.
pub static KINDS: &[&Kind] = &[
    &premises::OFFICE,
    &premises::ROOM,
    &premises::ASSEMBLY,
    &premises::ROUTE,
    &electric::BATTERY,
    &electric::FUSE_PANEL,
    &electric::GROUND_BAR,
    &air::DRYER,
    &air_storage::BOTTLE,
    &air_storage::TANK,
    &air::REGULATOR,
    &air::VALVE,
    &losses::FILTER,
    &air::MANIFOLD,
    &air::AIR_PIPE,
    &air::CABLE,
    &sensors::FLOW_SENSOR,
    &sensors::PRESSURE_SENSOR,
    &sensors::HUMIDITY_SENSOR,
    &sensors::DEW_POINT_SENSOR,
    &sensors::PRESSURE_SWITCH,
    &sensors::CONTACT,
    &pairs::BLOCK,
    &pairs::LEAD,
    &pairs::MONITOR,
    &other::OTHER,
];

impl Kind {
    /// Word in a declaration.
    pub fn word(&self) -> &'static str {
        self.id.into()
    }

    /// Finds a kind by its word.
    pub fn find(word: &str) -> Option<&'static Self> {
        BY_WORD.get(word).copied()
    }

    /// Finds a field by its word.
    pub fn field(&self, word: &str) -> Option<&'static FieldSpec> {
        field(self.fields, word)
    }

    /// The ports in a medium.
    pub fn ports_in(&self, medium: Medium) -> impl Iterator<Item = &'static Port> {
        self.ports.iter().filter(move |port| port.medium == medium)
    }

    /// Whether it is a source of air.
    pub fn gives_air(&self) -> bool {
        matches!(self.id, KindId::Dryer | KindId::Bottle)
    }

    /// Whether it is equipment: not the office, a room, an assembly or a route.
    pub fn is_equipment(&self) -> bool {
        !matches!(
            self.id,
            KindId::Office | KindId::Room | KindId::Assembly | KindId::Route
        )
    }

    /// Whether it is a sensor, or a switch for a quantity that a sensor measures.
    pub fn is_sensor(&self) -> bool {
        matches!(
            self.id,
            KindId::FlowSensor
                | KindId::PressureSensor
                | KindId::HumiditySensor
                | KindId::DewPointSensor
                | KindId::PressureSwitch
        )
    }
}

/// Kinds by word: looked up for every statement of a file.
static BY_WORD: LazyLock<FxHashMap<&str, &Kind>> =
    LazyLock::new(|| KINDS.iter().map(|kind| (kind.word(), *kind)).collect());

/// Finds a field by its word in `fields`; [`Kind::field`] does so for a kind.
pub fn field<'s>(fields: &'s [FieldSpec], word: &str) -> Option<&'s FieldSpec> {
    let key = Key::called(word)?;
    fields.iter().find(|field| field.key == key)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_the_fields_of_every_thing() {
        for kind in KINDS {
            let equipment = EQUIPMENT_FIELDS.iter().filter(|_| kind.is_equipment());
            for spec in COMMON_FIELDS.iter().chain(equipment) {
                assert!(
                    kind.field(spec.word()).is_some(),
                    "{} has no {}",
                    kind.word(),
                    spec.word()
                );
            }
        }
    }
}
