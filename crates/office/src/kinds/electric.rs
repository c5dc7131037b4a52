use drysheath_engineering::units::Dimension;
use drysheath_syntax::Medium;

use super::domain::panel_current;
use super::fields::{MODEL, NOTE, TITLE};
use super::{Bare, FieldSpec, Key, Kind, KindId, Numbering, Port, Role, Shape};

pub(super) static BATTERY: Kind = Kind {
    id: KindId::Battery,
    summary: "The office battery plant, as seen by what it feeds.",
    fields: of_equipment![
        FieldSpec::new(
            Key::Nominal,
            Shape::Quantity(Dimension::Voltage),
            "Nominal voltage with its sign: a positive-ground plant is `-48 V`.",
        )
        .always(),
        FieldSpec::new(
            Key::Working,
            Shape::Range(Dimension::Voltage),
            "Voltage from end of discharge to float.",
        )
        .installed(),
        FieldSpec::new(
            Key::Capacity,
            Shape::Quantity(Dimension::Charge),
            "What it gives in eight hours down to its end of discharge, new and at 25 degC, as the maker rates it: `predict --size` \
             computes from it how long it carries its loads.",
        )
        .since(1),
        FieldSpec::new(
            Key::Filtered,
            Shape::YesNo,
            "Whether the plant is filtered against noise.",
        )
        .always(),
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new("feed", Medium::Power, Role::Battery, Bare::Always, "the battery feed"),
        Port::new(
            "return",
            Medium::Ground,
            Role::Return,
            Bare::Never,
            "the battery's return",
        ),
    ],
};

/// The highest number of a fuse position: some offices number them through all panels (common practice, no source).
const MOST_POSITIONS: u32 = 2_000;

const CURRENT_MAX: FieldSpec = FieldSpec::new(
    Key::CurrentMax,
    Shape::Quantity(Dimension::Current),
    "Highest current that the panel as a whole may carry.",
)
.within(panel_current)
.since(1);

pub(super) static FUSE_PANEL: Kind = Kind {
    id: KindId::FusePanel,
    summary: "A panel of fuse positions between the battery and what it feeds.",
    fields: of_equipment![
        FieldSpec::new(
            Key::Positions,
            Shape::Rows(MOST_POSITIONS),
            "The numbers of its positions, with the letters printed before them; once for each row.",
        )
        .always(),
        CURRENT_MAX,
        CURRENT_MAX.formerly(Key::Limit),
        FieldSpec::new(Key::Label, Shape::Text, "What is written on the panel itself.").since(1),
        TITLE,
        MODEL,
        NOTE,
    ],
    ports: &[
        Port::new(
            "supply",
            Medium::Power,
            Role::PanelInput,
            Bare::Target,
            "the panel's supply",
        ),
        Port::new("fuse", Medium::Power, Role::Fuse, Bare::Never, "a fuse position")
            .numbered(Numbering::Range(Key::Positions)),
        Port::new("frame", Medium::Ground, Role::Frame, Bare::Always, "the panel's frame"),
    ],
};

pub(super) static GROUND_BAR: Kind = Kind {
    id: KindId::GroundBar,
    summary: "A bar that frame grounds end on.",
    fields: of_equipment![
        FieldSpec::new(
            Key::Principal,
            Shape::YesNo,
            "Whether this is the office's principal bar, where all grounds come together.",
        )
        .default("no"),
        TITLE,
        NOTE,
    ],
    ports: &[Port::new("bar", Medium::Ground, Role::Bar, Bare::Always, "the bar")],
};
