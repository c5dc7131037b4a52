use drysheath_engineering::units::Dimension;
use drysheath_syntax::Medium;

use super::choices::{Compressor, Insulation, ValveFunction, ValvePosition};
use super::domain::{control_current, sheath_rating};
use super::fields::{MODEL, NOTE, TITLE};
use super::former_words::Successor;
use super::losses::LOSS;
use super::pairs::MOST_PAIRS;
use super::sensors::{DRYER_CONTACT, DRYER_CONTACT_FIELDS, NEEDS};
use super::{Bare, FieldSpec, Key, Kind, KindId, Numbering, Port, Role, Shape, SignalKind, SignalSource};

pub(super) const OUTLET_FITTING: FieldSpec =
    FieldSpec::new(Key::Outlet, Shape::Fitting, "Its fitting where air goes out.");
pub(super) const INLET_FITTING: FieldSpec =
    FieldSpec::new(Key::Inlet, Shape::Fitting, "Its fitting where air comes in.");
pub(super) const RATING: FieldSpec = FieldSpec::new(
    Key::Rating,
    Shape::Quantity(Dimension::Pressure),
    "Highest pressure that it may see.",
);
const USAGE: FieldSpec = FieldSpec::new(
    Key::Usage,
    Shape::Quantity(Dimension::Flow),
    "Air that it loses, at standard conditions.",
);
const MINIMUM: FieldSpec = FieldSpec::new(
    Key::Minimum,
    Shape::Quantity(Dimension::Pressure),
    "Minimum pressure here, where it differs from the office's.",
);

/// More outlets than a regulator or a manifold has (common practice, no source).
const MOST_OUTLETS: u32 = 200;

pub(super) static DRYER: Kind = Kind {
    id: KindId::Dryer,
    summary: "An air dryer: it compresses and dries the air that everything else lives on.",
    fields: of_equipment![
        FieldSpec::new(
            Key::Compressor,
            Shape::Choice(Compressor::ALL),
            "What compresses the air.",
        )
        .always(),
        FieldSpec::new(
            Key::Delivers,
            Shape::Quantity(Dimension::Pressure),
            "Pressure that it delivers.",
        )
        .always(),
        FieldSpec::new(
            Key::Capacity,
            Shape::Quantity(Dimension::Flow),
            "Most air that it can deliver dry, at standard conditions.",
        )
        .always(),
        FieldSpec::new(
            Key::RatingPressure,
            Shape::Quantity(Dimension::Pressure),
            "Absolute pressure of the air that the capacity is counted in; makers choose it differently. The default is that of the \
             standard conditions in the settings.",
        )
        .default("14.696 psia"),
        FieldSpec::new(
            Key::RatingTemperature,
            Shape::Quantity(Dimension::Temperature),
            "Temperature that the capacity is counted at. The default is that of the standard conditions in the settings.",
        )
        .default("60 degF"),
        FieldSpec::new(
            Key::RatingElevation,
            Shape::Quantity(Dimension::Length),
            "Elevation that the capacity holds for: higher up a compressor takes in less air.",
        )
        .default("0 m"),
        FieldSpec::new(
            Key::CutIn,
            Shape::Quantity(Dimension::Pressure),
            "Pressure in its own tank at which the compressor starts.",
        ),
        FieldSpec::new(
            Key::CutOut,
            Shape::Quantity(Dimension::Pressure),
            "Pressure in its own tank at which the compressor stops.",
        ),
        FieldSpec::new(
            Key::Volume,
            Shape::Quantity(Dimension::Volume),
            "Volume of the air in its own tank, which the compressor fills from `cut-in` to `cut-out`.",
        ),
        FieldSpec::new(
            Key::DewPoint,
            Shape::DewPoint,
            "Dew point of the delivered air at its pressure, over water; a frost point is written `over ice`.",
        )
        .installed(),
        FieldSpec::new(
            Key::Contact,
            Shape::Named(DRYER_CONTACT_FIELDS),
            "A contact of the dryer that reports its state.",
        ),
        FieldSpec::new(
            Key::Control,
            Shape::Named(CONTROL_FIELDS),
            "What an output of the monitor can switch: its start, its stop.",
        ),
        OUTLET_FITTING,
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("outlet", Medium::Air, Role::Outlet, Bare::Source, "the dry air"),
        DRYER_CONTACT,
        Port::new("control", Medium::Wire, Role::Control, Bare::Never, "a control, by its name")
            .numbered(Numbering::Named(Key::Control)),
        Port::new("frame", Medium::Ground, Role::Frame, Bare::Always, "the dryer's frame"),
    ],
};

const CONTROL_FIELDS: &[FieldSpec] = &[
    NEEDS,
    FieldSpec::new(
        Key::CurrentMax,
        Shape::Quantity(Dimension::Current),
        "Highest current that it draws.",
    )
    .within(control_current),
    NOTE,
];

pub(super) static REGULATOR: Kind = Kind {
    id: KindId::Regulator,
    summary: "A pressure regulator: it holds what is downstream at its set pressure.",
    fields: of_equipment![
        FieldSpec::new(
            Key::Set,
            Shape::Quantity(Dimension::Pressure),
            "Pressure that it holds at no flow.",
        )
        .always(),
        FieldSpec::new(
            Key::Differential,
            Shape::Difference,
            "Least difference between supply and set pressure at which it regulates.",
        )
        .installed(),
        FieldSpec::new(
            Key::Droop,
            Shape::Quantity(Dimension::Droop),
            "Fall of its outlet pressure with flow.",
        )
        .default("0 psi/scfh"),
        FieldSpec::new(
            Key::FlowMax,
            Shape::Quantity(Dimension::Flow),
            "Highest flow that it passes in regulation.",
        ),
        FieldSpec::new(
            Key::InletMax,
            Shape::Quantity(Dimension::Pressure),
            "Highest supply pressure that it is rated for.",
        ),
        FieldSpec::new(
            Key::Relief,
            Shape::Quantity(Dimension::Pressure),
            "Pressure at which its relief opens.",
        ),
        FieldSpec::new(Key::Outlets, Shape::Count(MOST_OUTLETS), "How many outlets it has.").default("1"),
        FieldSpec::new(Key::Plugged, Shape::Numbers(MOST_OUTLETS), "Which outlets are plugged.")
            .until(0, Successor::Spare("outlet")),
        INLET_FITTING,
        OUTLET_FITTING,
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("inlet", Medium::Air, Role::Inlet, Bare::Target, "its supply side"),
        Port::new(
            "outlet",
            Medium::Air,
            Role::Outlet,
            Bare::Source,
            "an outlet at set pressure; without a number, outlet 1",
        )
        .numbered(Numbering::Count(Key::Outlets)),
    ],
};

pub(super) static VALVE: Kind = Kind {
    id: KindId::Valve,
    summary: "A valve in an air run.",
    fields: of_equipment![
        FieldSpec::new(Key::Function, Shape::Choice(ValveFunction::ALL), "What it is for.").always(),
        FieldSpec::new(
            Key::Stands,
            Shape::Choice(ValvePosition::ALL),
            "Its position in normal operation.",
        )
        .default("open"),
        RATING,
        LOSS,
        INLET_FITTING,
        OUTLET_FITTING,
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("inlet", Medium::Air, Role::Inlet, Bare::Target, "its near side"),
        Port::new("outlet", Medium::Air, Role::Outlet, Bare::Source, "its far side"),
    ],
};

pub(super) static MANIFOLD: Kind = Kind {
    id: KindId::Manifold,
    summary: "A manifold: one inlet, and a port for each cable or pipe.",
    fields: of_equipment![
        FieldSpec::new(Key::Ports, Shape::Count(MOST_OUTLETS), "How many ports it has.").always(),
        RATING,
        INLET_FITTING,
        OUTLET_FITTING,
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("inlet", Medium::Air, Role::Inlet, Bare::Target, "its inlet"),
        Port::new("port", Medium::Air, Role::Outlet, Bare::Never, "a port").numbered(Numbering::Count(Key::Ports)),
    ],
};

const PLACE_FIELDS: &[FieldSpec] = &[
    FieldSpec::new(
        Key::At,
        Shape::Quantity(Dimension::Length),
        "Distance from the office end.",
    )
    .always(),
    NOTE,
];
const PLACE: FieldSpec = FieldSpec::new(
    Key::Place,
    Shape::Named(PLACE_FIELDS),
    "A named place along it: a manhole, a pole, a pedestal.",
);
const PLACE_PORT: Port = Port::new(
    "place",
    Medium::Air,
    Role::Tap,
    Bare::Never,
    "a place along it, by its name",
)
.numbered(Numbering::Named(Key::Place));

pub(super) static AIR_PIPE: Kind = Kind {
    id: KindId::AirPipe,
    summary: "An air pipe that carries dry air along a cable route and feeds cables at places on its way.",
    fields: of_equipment![
        FieldSpec::new(Key::Length, Shape::Quantity(Dimension::Length), "Its length.").always(),
        FieldSpec::new(Key::Bore, Shape::Quantity(Dimension::Length), "Its inside diameter.").installed(),
        FieldSpec::new(
            Key::Roughness,
            Shape::Quantity(Dimension::Length),
            "Roughness of its bore, which counts once the flow is turbulent.",
        )
        .default("0 mm"),
        USAGE.default("0 scfh"),
        MINIMUM,
        RATING,
        PLACE,
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("inlet", Medium::Air, Role::Inlet, Bare::Target, "its office end"),
        Port::new("end", Medium::Air, Role::Outlet, Bare::Source, "its far end"),
        PLACE_PORT,
    ],
};

const SECTION_FIELDS: &[FieldSpec] = &[
    FieldSpec::new(
        Key::Underground,
        Shape::Quantity(Dimension::Length),
        "Its length, in duct and manholes. A section has one of `underground`, `buried` and `aerial`.",
    ),
    FieldSpec::new(
        Key::Buried,
        Shape::Quantity(Dimension::Length),
        "Its length, laid in earth.",
    ),
    FieldSpec::new(Key::Aerial, Shape::Quantity(Dimension::Length), "Its length, on poles."),
    FieldSpec::new(
        Key::Depth,
        Shape::Quantity(Dimension::Length),
        "How far below ground it lies at its deepest: water may stand that high above it.",
    ),
    FieldSpec::new(
        Key::Resistance,
        Shape::Quantity(Dimension::PneumaticResistance),
        "Pneumatic resistance at a mean absolute pressure of 14.696 psi.",
    )
    .installed(),
    FieldSpec::new(
        Key::ReferencePressure,
        Shape::Quantity(Dimension::Pressure),
        "Mean absolute pressure that the resistance is stated for.",
    )
    .default("14.696 psia"),
    FieldSpec::new(
        Key::ReferenceTemperature,
        Shape::Quantity(Dimension::Temperature),
        "Temperature that the resistance is stated for.",
    )
    .default("60 degF"),
    FieldSpec::new(
        Key::Volume,
        Shape::Quantity(Dimension::Volume),
        "Volume of the air in it, for a decay test.",
    ),
    USAGE,
    MINIMUM,
    FieldSpec::new(
        Key::Gauge,
        Shape::Quantity(Dimension::WireSize),
        "Its conductors, where they differ from the cable's.",
    ),
    NOTE,
];
const SECTION: FieldSpec = FieldSpec::new(
    Key::Section,
    Shape::Named(SECTION_FIELDS),
    "A stretch of the cable, from the office outwards, in one kind of surroundings.",
);

const BRANCH_FIELDS: &[FieldSpec] = &[
    FieldSpec::new(
        Key::From,
        Shape::Quantity(Dimension::Length),
        "Where it leaves the cable, from the office end.",
    )
    .always(),
    SECTION,
    NOTE,
];

pub(super) static CABLE: Kind = Kind {
    id: KindId::Cable,
    summary: "An air-core cable: its pairs carry signals, and its core carries air.",
    fields: of_equipment![
        FieldSpec::new(Key::Pairs, Shape::Count(MOST_PAIRS), "How many pairs it has.").always(),
        FieldSpec::new(
            Key::Gauge,
            Shape::Quantity(Dimension::WireSize),
            "Its conductors, such as `24 awg`, or `0.5 mm` for their diameter.",
        )
        .installed(),
        FieldSpec::new(
            Key::Insulation,
            Shape::Choice(Insulation::ALL),
            "What its conductors are insulated with. Paper has no colour code.",
        )
        .default("plastic")
        .since(1),
        SECTION,
        FieldSpec::new(
            Key::Branch,
            Shape::Named(BRANCH_FIELDS),
            "A cable that leaves this one and shares its air.",
        ),
        PLACE,
        RATING.within(sheath_rating),
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("inlet", Medium::Air, Role::Inlet, Bare::Target, "its office end"),
        Port::new("end", Medium::Air, Role::Outlet, Bare::Source, "its far end"),
        PLACE_PORT,
        Port::new("pair", Medium::Wire, Role::Pair, Bare::Never, "a pair").numbered(Numbering::Count(Key::Pairs)),
    ],
};

pub(super) const NAMED_CONTACT: SignalKind = SignalKind {
    dimension: None,
    switches_at: Some(Dimension::Pressure),
    source: SignalSource::Named(Key::Contact),
};
