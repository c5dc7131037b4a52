use drysheath_engineering::units::Dimension;
use drysheath_syntax::Medium;

use super::air::NAMED_CONTACT;
use super::fields::{MODEL, NOTE, TITLE};
use super::losses::LOSS;
use super::{Bare, FieldSpec, HealthyState, Key, Kind, KindId, Numbering, Port, Role, Shape, SignalKind, SignalSource};

/// The range of one byte (common practice, no source).
pub(super) const HIGHEST_ADDRESS: u32 = 255;

const HEALTHY: FieldSpec = FieldSpec::new(
    Key::Healthy,
    Shape::Choice(HealthyState::ALL),
    "State of the contact while all is well.",
)
.always();
/// Set point of a contact.
const SET_POINT: FieldSpec = FieldSpec::new(
    Key::Limit,
    Shape::Limit(Dimension::Pressure),
    "The pressure at which it switches, with the severity of its alarm and the deadband it must come back by.",
)
.since(1);
pub(super) const DRYER_CONTACT_FIELDS: &[FieldSpec] = &[HEALTHY, SET_POINT, NOTE];
pub(super) const DRYER_CONTACT: Port = Port::new(
    "contact",
    Medium::Wire,
    Role::Signal(NAMED_CONTACT),
    Bare::Never,
    "a contact, by its name",
)
.numbered(Numbering::Named(Key::Contact));

const AT: FieldSpec = FieldSpec::new(
    Key::At,
    Shape::At,
    "Where it is on a cable or air pipe. A sensor in the office is joined by an air run instead.",
);
const LOOP_MAX: FieldSpec = FieldSpec::new(
    Key::LoopMax,
    Shape::Quantity(Dimension::Resistance),
    "Highest loop resistance that it works over.",
);
const CURRENT_MAX: FieldSpec = FieldSpec::new(
    Key::CurrentMax,
    Shape::Quantity(Dimension::Current),
    "Highest current that it draws from its loop.",
)
.since(1);
pub(super) const NEEDS: FieldSpec = FieldSpec::new(
    Key::Needs,
    Shape::Quantity(Dimension::Voltage),
    "Least voltage that it needs at its terminals.",
);
const ADDRESS: FieldSpec = FieldSpec::new(
    Key::Address,
    Shape::Count(HIGHEST_ADDRESS),
    "The address that is set in it, by which its input distinguishes it from others on the same pair.",
);
const PROOF: FieldSpec = FieldSpec::new(
    Key::Proof,
    Shape::Quantity(Dimension::Pressure),
    "Pressure that it is rated for without damage.",
)
.installed();
const ERROR: &str = "Largest error of its reading.";
const NORMAL: &str = "Reading under normal conditions, known from experience at that place.";
const SPAN: &str = "What it can read, from bottom to top.";
const STEP: &str = "Smallest change that it reports.";
const LIMIT: &str =
    "A reading that raises an alarm, with its severity (ITU-T X.733) and the deadband it must come back by.";

const PRESSURE_SIGNAL: &[FieldSpec] = &[
    FieldSpec::new(Key::Span, Shape::Range(Dimension::Pressure), SPAN).always(),
    FieldSpec::new(Key::Step, Shape::Difference, STEP).installed(),
    FieldSpec::new(Key::Error, Shape::Difference, ERROR),
    FieldSpec::new(Key::Normal, Shape::Quantity(Dimension::Pressure), NORMAL),
    FieldSpec::new(Key::Limit, Shape::Limit(Dimension::Pressure), LIMIT),
];

const OWN_FLOW: SignalKind = SignalKind::measured(Dimension::Flow, SignalSource::Own);
const OWN_PRESSURE: SignalKind = SignalKind::measured(Dimension::Pressure, SignalSource::Own);
const SECOND_PRESSURE: SignalKind = SignalKind::measured(Dimension::Pressure, SignalSource::Group(Key::Pressure));
const OWN_HUMIDITY: SignalKind = SignalKind::measured(Dimension::Humidity, SignalSource::Own);
const OWN_DEW_POINT: SignalKind = SignalKind::measured(Dimension::Temperature, SignalSource::Own);
const OWN_CONTACT: SignalKind = SignalKind {
    dimension: None,
    switches_at: None,
    source: SignalSource::Own,
};
const OWN_SWITCH: SignalKind = SignalKind {
    switches_at: Some(Dimension::Pressure),
    ..OWN_CONTACT
};

const TAP: Port = Port::new(
    "inlet",
    Medium::Air,
    Role::Inlet,
    Bare::Target,
    "where it senses the air",
);

pub(super) static FLOW_SENSOR: Kind = Kind {
    id: KindId::FlowSensor,
    summary: "A flow sensor in an air run. It may read the pressure too.",
    fields: of_equipment![
        AT,
        FieldSpec::new(Key::Span, Shape::Range(Dimension::Flow), SPAN).always(),
        FieldSpec::new(Key::Step, Shape::Quantity(Dimension::Flow), STEP).installed(),
        FieldSpec::new(Key::Error, Shape::Quantity(Dimension::Flow), ERROR),
        FieldSpec::new(Key::Normal, Shape::Quantity(Dimension::Flow), NORMAL),
        FieldSpec::new(Key::Limit, Shape::Limit(Dimension::Flow), LIMIT),
        FieldSpec::new(
            Key::Pressure,
            Shape::Group(PRESSURE_SIGNAL),
            "Its pressure signal, if it has one.",
        ),
        PROOF,
        LOSS,
        LOOP_MAX,
        CURRENT_MAX,
        CURRENT_MAX.formerly(Key::Current),
        NEEDS,
        ADDRESS,
        FieldSpec::new(Key::Inlet, Shape::Fitting, "Its fitting where air comes in."),
        FieldSpec::new(Key::Outlet, Shape::Fitting, "Its fitting where air goes out."),
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("inlet", Medium::Air, Role::Inlet, Bare::Target, "where air comes in"),
        Port::new("outlet", Medium::Air, Role::Outlet, Bare::Source, "where air goes out"),
        Port::new(
            "flow",
            Medium::Wire,
            Role::Signal(OWN_FLOW),
            Bare::Always,
            "its flow signal",
        ),
        Port::new(
            "pressure",
            Medium::Wire,
            Role::Signal(SECOND_PRESSURE),
            Bare::Never,
            "its pressure signal",
        ),
    ],
};

pub(super) static PRESSURE_SENSOR: Kind = Kind {
    id: KindId::PressureSensor,
    summary: "A pressure sensor, in the office or out on a cable or pipe.",
    fields: of_equipment![
        AT,
        FieldSpec::new(Key::Span, Shape::Range(Dimension::Pressure), SPAN).always(),
        FieldSpec::new(Key::Step, Shape::Difference, STEP).installed(),
        FieldSpec::new(Key::Error, Shape::Difference, ERROR),
        FieldSpec::new(Key::Normal, Shape::Quantity(Dimension::Pressure), NORMAL),
        FieldSpec::new(Key::Limit, Shape::Limit(Dimension::Pressure), LIMIT),
        PROOF,
        LOOP_MAX,
        CURRENT_MAX,
        CURRENT_MAX.formerly(Key::Current),
        NEEDS,
        ADDRESS,
        FieldSpec::new(Key::Inlet, Shape::Fitting, "Its fitting."),
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        TAP,
        Port::new(
            "pressure",
            Medium::Wire,
            Role::Signal(OWN_PRESSURE),
            Bare::Always,
            "its signal",
        ),
    ],
};

pub(super) static HUMIDITY_SENSOR: Kind = Kind {
    id: KindId::HumiditySensor,
    summary: "A sensor of relative humidity in the delivered air.",
    fields: of_equipment![
        AT,
        FieldSpec::new(Key::Span, Shape::Range(Dimension::Humidity), SPAN).always(),
        FieldSpec::new(Key::Step, Shape::Quantity(Dimension::Humidity), STEP).installed(),
        FieldSpec::new(Key::Error, Shape::Quantity(Dimension::Humidity), ERROR),
        FieldSpec::new(Key::Normal, Shape::Quantity(Dimension::Humidity), NORMAL),
        FieldSpec::new(Key::Limit, Shape::Limit(Dimension::Humidity), LIMIT),
        PROOF,
        LOOP_MAX,
        CURRENT_MAX,
        CURRENT_MAX.formerly(Key::Current),
        NEEDS,
        ADDRESS,
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        TAP,
        Port::new(
            "humidity",
            Medium::Wire,
            Role::Signal(OWN_HUMIDITY),
            Bare::Always,
            "its signal",
        ),
    ],
};

pub(super) static DEW_POINT_SENSOR: Kind = Kind {
    id: KindId::DewPointSensor,
    summary: "A sensor of the dew point of the delivered air.",
    fields: of_equipment![
        AT,
        FieldSpec::new(Key::Span, Shape::Range(Dimension::Temperature), SPAN).always(),
        FieldSpec::new(Key::Normal, Shape::Quantity(Dimension::Temperature), NORMAL),
        FieldSpec::new(Key::Limit, Shape::Limit(Dimension::Temperature), LIMIT),
        PROOF,
        LOOP_MAX,
        CURRENT_MAX,
        CURRENT_MAX.formerly(Key::Current),
        NEEDS,
        ADDRESS,
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        TAP,
        Port::new(
            "dew-point",
            Medium::Wire,
            Role::Signal(OWN_DEW_POINT),
            Bare::Always,
            "its signal",
        ),
    ],
};

pub(super) static CONTACT: Kind = Kind {
    id: KindId::Contact,
    summary: "A contact that reports a state: a door, a power failure.",
    fields: of_equipment![
        HEALTHY,
        AT,
        FieldSpec::new(
            Key::Reports,
            Shape::Text,
            "What it reports when it leaves its healthy state.",
        ),
        LOOP_MAX,
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[Port::new(
        "contact",
        Medium::Wire,
        Role::Signal(OWN_CONTACT),
        Bare::Always,
        "its signal",
    )],
};

pub(super) static PRESSURE_SWITCH: Kind = Kind {
    id: KindId::PressureSwitch,
    summary: "A pressure switch: a contact that changes at one pressure.",
    fields: of_equipment![
        HEALTHY,
        SET_POINT.always(),
        AT,
        FieldSpec::new(
            Key::Proof,
            Shape::Quantity(Dimension::Pressure),
            "Pressure that it is rated for without damage.",
        ),
        FieldSpec::new(
            Key::Reports,
            Shape::Text,
            "What it reports when it leaves its healthy state.",
        ),
        LOOP_MAX,
        FieldSpec::new(Key::Inlet, Shape::Fitting, "Its fitting."),
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        TAP,
        Port::new(
            "contact",
            Medium::Wire,
            Role::Signal(OWN_SWITCH),
            Bare::Always,
            "its signal",
        ),
    ],
};
