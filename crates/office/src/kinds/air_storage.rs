use drysheath_engineering::units::Dimension;
use drysheath_syntax::Medium;

use super::air::{INLET_FITTING, OUTLET_FITTING, RATING};
use super::fields::{MODEL, NOTE, TITLE};
use super::sensors::{DRYER_CONTACT, DRYER_CONTACT_FIELDS};
use super::{Bare, FieldSpec, Key, Kind, KindId, Port, Role, Shape};

/// More bottles than there are in one office (common practice, no source).
const MOST_BOTTLES: u32 = 200;

pub(super) static BOTTLE: Kind = Kind {
    id: KindId::Bottle,
    summary: "Bottles of dry gas with their regulator, which feed the office or stand by for a dryer.",
    fields: of_equipment![
        FieldSpec::new(
            Key::Holds,
            Shape::Quantity(Dimension::StandardVolume),
            "What one full bottle holds, at standard conditions.",
        )
        .always()
        .since(1),
        FieldSpec::new(
            Key::Bottles,
            Shape::Count(MOST_BOTTLES),
            "How many bottles are joined.",
        )
        .default("1")
        .since(1),
        FieldSpec::new(
            Key::Delivers,
            Shape::Quantity(Dimension::Pressure),
            "Pressure that its regulator delivers.",
        )
        .always(),
        FieldSpec::new(
            Key::DewPoint,
            Shape::DewPoint,
            "Dew point of the delivered gas at its pressure. The default is what bottled nitrogen keeps at the least (CGA G-10.1, from \
             memory, from the air's pressure to a few times that).",
        )
        .default("-50 degC"),
        FieldSpec::new(
            Key::Contact,
            Shape::Named(DRYER_CONTACT_FIELDS),
            "A contact that reports their state.",
        ),
        OUTLET_FITTING,
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("outlet", Medium::Air, Role::Outlet, Bare::Source, "the dry gas"),
        DRYER_CONTACT,
    ],
};

pub(super) static TANK: Kind = Kind {
    id: KindId::Tank,
    summary: "A tank that holds air under pressure.",
    fields: of_equipment![
        FieldSpec::new(
            Key::Volume,
            Shape::Quantity(Dimension::Volume),
            "Volume of the air in it.",
        )
        .always(),
        RATING.installed(),
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
