use drysheath_syntax::Medium;

use super::air::{INLET_FITTING, OUTLET_FITTING, RATING};
use super::fields::{MODEL, NOTE, TITLE};
use super::{Bare, FieldSpec, Key, Kind, KindId, Port, Role, Shape};

/// Pressure loss of the air that passes.
pub(super) const LOSS: FieldSpec = FieldSpec::new(
    Key::Loss,
    Shape::Loss,
    "Pressure drop at a stated flow. Below that flow it is in proportion; a second line for a larger \
     flow gives the curve.",
)
.since(1);

pub(super) static FILTER: Kind = Kind {
    id: KindId::Filter,
    summary: "A filter in an air run.",
    fields: of_equipment![
        RATING,
        LOSS.installed(),
        INLET_FITTING,
        OUTLET_FITTING,
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("inlet", Medium::Air, Role::Inlet, Bare::Target, "where air comes in"),
        Port::new("outlet", Medium::Air, Role::Outlet, Bare::Source, "where air goes out"),
    ],
};
