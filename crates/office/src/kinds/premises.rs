use drysheath_engineering::units::Dimension;

use super::fields::{LOCATION, MODEL, NOTE, ROOM as IN_ROOM, STAGE, TITLE};
use super::{FieldSpec, Key, Kind, KindId, Shape, Stage};

const MINIMUMS: &[FieldSpec] = &[
    FieldSpec::new(
        Key::Underground,
        Shape::Quantity(Dimension::Pressure),
        "Minimum pressure in cable in duct or manhole.",
    ),
    FieldSpec::new(
        Key::Buried,
        Shape::Quantity(Dimension::Pressure),
        "Minimum pressure in cable laid in earth.",
    ),
    FieldSpec::new(
        Key::Aerial,
        Shape::Quantity(Dimension::Pressure),
        "Minimum pressure in cable on poles.",
    ),
];

const CABLE_TEMPERATURES: &[FieldSpec] = &[
    FieldSpec::new(
        Key::Underground,
        Shape::Quantity(Dimension::Temperature),
        "Temperature of the air in cable in duct or manhole.",
    ),
    FieldSpec::new(
        Key::Buried,
        Shape::Quantity(Dimension::Temperature),
        "Temperature of the air in cable laid in earth.",
    ),
    FieldSpec::new(
        Key::Aerial,
        Shape::Quantity(Dimension::Temperature),
        "Temperature of the air in cable on poles.",
    ),
];

pub(super) static OFFICE: Kind = Kind {
    id: KindId::Office,
    summary: "The office itself. A file describes one office; a file of parts has none.",
    fields: of_thing![
        FieldSpec::new(Key::Title, Shape::Text, "The office's name as people say it."),
        FieldSpec::new(Key::Site, Shape::Text, "Site code, unique in the repository."),
        FieldSpec::new(
            Key::Elevation,
            Shape::Quantity(Dimension::Length),
            "Height above sea level. It fixes the pressure of the surrounding air.",
        ),
        FieldSpec::new(Key::Stage, Shape::Choice(Stage::ALL), "How far the office has come."),
        FieldSpec::new(
            Key::AirMinimum,
            Shape::Group(MINIMUMS),
            "Least air pressure for each surroundings of cable, where the office has its own.",
        ),
        FieldSpec::new(
            Key::Coldest,
            Shape::Quantity(Dimension::Temperature),
            "Coldest that its cable gets: the air in it must stay drier than that.",
        ),
        FieldSpec::new(
            Key::Hottest,
            Shape::Quantity(Dimension::Temperature),
            "Hottest that its pairs get: loops are computed at that temperature.",
        )
        .default("60 degC"),
        FieldSpec::new(
            Key::HottestWire,
            Shape::Quantity(Dimension::Temperature),
            "Hottest that its power wires get: feeds are computed at that temperature.",
        )
        .default("40 degC"),
        FieldSpec::new(
            Key::AirTemperature,
            Shape::Quantity(Dimension::Temperature),
            "Temperature of the air on its way, for the air network.",
        )
        .default("60 degF"),
        FieldSpec::new(
            Key::CableTemperature,
            Shape::Group(CABLE_TEMPERATURES),
            "Temperature of the air in cable of each surroundings, where it is not `air-temperature`: resistance goes with viscosity times \
             absolute temperature, and what cable holds with its inverse.",
        )
        .since(1),
        NOTE,
    ],
    ports: &[],
};

pub(super) static ROOM: Kind = Kind {
    id: KindId::Room,
    summary: "A room of the office. Equipment says which room it is in.",
    fields: of_thing![TITLE, LOCATION, NOTE],
    ports: &[],
};

pub(super) static ASSEMBLY: Kind = Kind {
    id: KindId::Assembly,
    summary: "Equipment that is built as one. What is drawn in a file of its own is placed by its name, as often as it is there.",
    fields: of_thing![TITLE, MODEL, IN_ROOM, LOCATION, STAGE, NOTE],
    ports: &[],
};

pub(super) static ROUTE: Kind = Kind {
    id: KindId::Route,
    summary: "A route between two offices, which a file of its own describes: its cables, pipes and leads are those of both.",
    fields: of_thing![
        TITLE,
        FieldSpec::new(
            Key::From,
            Shape::Path,
            "The file of the office that distances count from, such as `offices/elm-hollow`.",
        )
        .always()
        .since(1),
        FieldSpec::new(Key::To, Shape::Path, "The file of the office at its far end.")
            .always()
            .since(1),
        NOTE,
    ],
    ports: &[],
};
