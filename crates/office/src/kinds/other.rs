use drysheath_engineering::units::Dimension;
use drysheath_syntax::Medium;

use super::fields::{MODEL, NOTE, TITLE};
use super::pairs::MOST_PAIRS;
use super::{Bare, FieldSpec, Key, Kind, KindId, Numbering, Port, Role, Shape};

pub(super) static OTHER: Kind = Kind {
    id: KindId::Other,
    summary: "A thing that no kind fits. Nothing is computed from it but what it draws.",
    fields: of_equipment![
        FieldSpec::new(Key::Is, Shape::Text, "What it is, such as `\"heater\"`.")
            .always()
            .since(1),
        FieldSpec::new(
            Key::Draws,
            Shape::Quantity(Dimension::Power),
            "Power that it draws from the battery.",
        ),
        FieldSpec::new(Key::Pairs, Shape::Count(MOST_PAIRS), "How many pairs it has."),
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("inlet", Medium::Air, Role::Inlet, Bare::Target, "where air comes in"),
        Port::new("outlet", Medium::Air, Role::Outlet, Bare::Source, "where air goes out"),
        Port::new("pair", Medium::Wire, Role::Pair, Bare::Never, "a pair").numbered(Numbering::Count(Key::Pairs)),
        Port::new("supply", Medium::Power, Role::Load, Bare::Always, "its battery input"),
        Port::new("frame", Medium::Ground, Role::Frame, Bare::Always, "its frame"),
    ],
};
