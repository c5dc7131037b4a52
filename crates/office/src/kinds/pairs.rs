use drysheath_engineering::units::Dimension;
use drysheath_syntax::Medium;

use super::choices::{Connector, MonitorSupply};
use super::domain::lead_length;
use super::fields::{MODEL, NOTE, TITLE};
use super::sensors::HIGHEST_ADDRESS;
use super::{Bare, FieldSpec, Key, Kind, KindId, Numbering, Port, Role, Shape};

/// The largest cables have some 4,200 pairs, and a block terminates no more than one of them (common practice, no
/// source).
pub(super) const MOST_PAIRS: u32 = 5_000;
/// Far more inputs than one monitor has (common practice, no source).
const MOST_INPUTS: u32 = 10_000;

const CONNECTOR: FieldSpec = FieldSpec::new(
    Key::Connector,
    Shape::Choice(Connector::ALL),
    "Which half of a connector its pairs are on.",
);
const CONNECTOR_PORT: Port = Port::new(
    "connector",
    Medium::Wire,
    Role::Connector,
    Bare::Always,
    "its connector, with all pairs at once",
)
.numbered(Numbering::Connectors);

pub(super) static BLOCK: Kind = Kind {
    id: KindId::Block,
    summary: "A terminal block or connector: each pair of it joins what is wired to either side.",
    fields: of_equipment![
        FieldSpec::new(
            Key::Pairs,
            Shape::CountOrRows(MOST_PAIRS),
            "How many pairs it has, or their numbers row by row.",
        )
        .always(),
        FieldSpec::new(
            Key::Pins,
            Shape::YesNo,
            "Whether it is a 50-position connector for each 25 pairs, so that pairs have pin numbers.",
        )
        .default("no"),
        CONNECTOR,
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("pair", Medium::Wire, Role::Pair, Bare::Never, "a pair").numbered(Numbering::Range(Key::Pairs)),
        CONNECTOR_PORT,
    ],
};

pub(super) static LEAD: Kind = Kind {
    id: KindId::Lead,
    summary: "A lead: a cable without air, from a device to a block or between two blocks.",
    fields: of_equipment![
        FieldSpec::new(Key::Pairs, Shape::Count(MOST_PAIRS), "How many pairs it has.").always(),
        FieldSpec::new(
            Key::Gauge,
            Shape::Quantity(Dimension::WireSize),
            "Size of its conductors.",
        )
        .installed(),
        FieldSpec::new(
            Key::Pair,
            Shape::PairColours(MOST_PAIRS),
            "The colours of one of its pairs, tip and ring. Without any, its pairs have the code of 25 pairs.",
        ),
        FieldSpec::new(Key::Length, Shape::Quantity(Dimension::Length), "Its length.")
            .installed()
            .within(lead_length),
        FieldSpec::new(
            Key::Loop,
            Shape::Quantity(Dimension::Resistance),
            "Resistance of one of its pairs there and back at 20 °C. It counts in place of size and length.",
        ),
        CONNECTOR,
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("pair", Medium::Wire, Role::Pair, Bare::Never, "a pair").numbered(Numbering::Count(Key::Pairs)),
        CONNECTOR_PORT,
    ],
};

pub(super) static MONITOR: Kind = Kind {
    id: KindId::Monitor,
    summary: "The monitor that reads the sensors and contacts and reports them.",
    fields: of_equipment![
        FieldSpec::new(
            Key::Sensors,
            Shape::CountOrRows(MOST_INPUTS),
            "How many sensor inputs it has, or their numbers row by row.",
        )
        .always(),
        FieldSpec::new(
            Key::Contacts,
            Shape::CountOrRows(MOST_INPUTS),
            "How many contact inputs it has, or their numbers row by row.",
        ),
        FieldSpec::new(
            Key::Outputs,
            Shape::CountOrRows(MOST_INPUTS),
            "How many control outputs it has, or their numbers row by row.",
        ),
        FieldSpec::new(
            Key::OutputMax,
            Shape::Quantity(Dimension::Current),
            "Highest current that each of its outputs may carry.",
        ),
        FieldSpec::new(
            Key::OutputVoltage,
            Shape::Quantity(Dimension::Voltage),
            "Least voltage that it gives over its outputs. Contacts without voltage of their own have none.",
        ),
        FieldSpec::new(
            Key::Supply,
            Shape::Choice(MonitorSupply::ALL),
            "What feeds it. Without it, the battery.",
        ),
        FieldSpec::new(
            Key::Draws,
            Shape::Draw,
            "Power that it draws from the battery, or its most current, which it draws at the low end of its window.",
        )
        .installed(),
        FieldSpec::new(
            Key::Window,
            Shape::Range(Dimension::Voltage),
            "Voltage between which it works, with its sign.",
        )
        .installed(),
        FieldSpec::new(
            Key::WantsFiltered,
            Shape::YesNo,
            "Whether it must be fed from a filtered battery.",
        )
        .default("yes"),
        FieldSpec::new(
            Key::GroundSize,
            Shape::Quantity(Dimension::WireSize),
            "Least size of its frame ground, as its maker says.",
        ),
        FieldSpec::new(
            Key::LoopMax,
            Shape::Quantity(Dimension::Resistance),
            "Most loop resistance that its inputs work over.",
        ),
        FieldSpec::new(
            Key::LoopVoltage,
            Shape::Quantity(Dimension::Voltage),
            "Least voltage that it gives its sensor loops.",
        ),
        FieldSpec::new(
            Key::Addresses,
            Shape::Count(HIGHEST_ADDRESS),
            "How many addressed sensors each of its sensor inputs reads over one pair.",
        ),
        FieldSpec::new(
            Key::Link,
            Shape::Link,
            "How it reports: over a dialled line or a LAN; one of each where it has both.",
        )
        .installed(),
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("sensor", Medium::Wire, Role::SensorInput, Bare::Never, "a sensor input")
            .numbered(Numbering::Range(Key::Sensors)),
        Port::new(
            "contact",
            Medium::Wire,
            Role::ContactInput,
            Bare::Never,
            "a contact input",
        )
        .numbered(Numbering::Range(Key::Contacts)),
        Port::new("output", Medium::Wire, Role::Output, Bare::Never, "a control output")
            .numbered(Numbering::Range(Key::Outputs)),
        Port::new("supply", Medium::Power, Role::Load, Bare::Always, "its battery input"),
        Port::new("frame", Medium::Ground, Role::Frame, Bare::Always, "its frame"),
        Port::new(
            "return",
            Medium::Ground,
            Role::Return,
            Bare::Never,
            "its battery return",
        ),
    ],
};
