//! What must hold in states of an office other than the normal one.

use drysheath_engineering::units::Quantity;
use drysheath_text::TextRange;

use crate::kinds::Key;
use crate::model::{End, ThingId};
use crate::value::{LimitLevel, StatedPosition};

/// `when d1 stops, v2 opens expect c101 above minimum, no alarm`
#[derive(Clone, Debug)]
pub struct When {
    /// What happens, all of it at once.
    pub events: Vec<Event>,
    /// What must hold then.
    pub expected: Vec<Expectation>,
    /// The bytes of the whole statement.
    pub range: TextRange,
}

/// A statement of which something could not be read, or that names a thing which is not known.
#[derive(Clone, Copy, Debug)]
pub struct UnreadWhen {
    /// Where it says what happens.
    pub events: TextRange,
    /// How much it expects.
    pub expected: usize,
    /// Whether a problem is reported at it. Otherwise what is not known may be in another file that cannot be read.
    pub is_reported: bool,
}

impl When {
    /// The things that it names.
    pub fn things(&self) -> impl Iterator<Item = ThingId> + '_ {
        let expected = self.expected.iter().filter_map(|expected| match expected.what {
            ExpectedCondition::Above(thing, _) => thing,
            ExpectedCondition::Passes(end, _) | ExpectedCondition::Trips(end) => end.thing,
            ExpectedCondition::NoAlarm => None,
        });
        self.events.iter().map(|event| event.thing).chain(expected)
    }
}

/// Something that happens to a thing.
#[derive(Clone, Debug)]
pub struct Event {
    /// The thing that it happens to.
    pub thing: ThingId,
    /// What happens to it.
    pub what: EventKind,
    /// Where it is written.
    pub range: TextRange,
}

/// What can happen to a thing.
#[derive(Clone, Debug)]
pub enum EventKind {
    /// A dryer or bottle gives no air any more.
    Stops,
    /// A valve is opened, or a regulator fails wide open.
    Opens,
    /// A valve or regulator lets no air through.
    Closes,
    /// A hole in a cable or pipe: a long thin one that loses a flow at the normal pressure of its place, or a round one in a thin wall, by its
    /// bore.
    Leaks(Quantity, StatedPosition),
    /// A cable or pipe is open to the surrounding air.
    Breaks(StatedPosition),
    /// A figure is another than the file says.
    Has(FieldOverride),
}

impl Event {
    /// Whether it says of a thing what leaves no room for another event of the same thing. Leaks add up, and so do breaks at different places.
    pub fn excludes(&self, other: &Self) -> bool {
        if self.thing != other.thing {
            return false;
        }
        match (&self.what, &other.what) {
            (EventKind::Breaks(one), EventKind::Breaks(two)) => one.is_same(two),
            (EventKind::Leaks(..) | EventKind::Breaks(_), _) | (_, EventKind::Leaks(..) | EventKind::Breaks(_)) => {
                false
            }
            (EventKind::Has(one), EventKind::Has(two)) => {
                (one.key, &one.branch, &one.section) == (two.key, &two.branch, &two.section)
            }
            _ => true,
        }
    }
}

/// A figure that is another than the file says, for one state.
#[derive(Clone, Debug)]
pub struct FieldOverride {
    /// The branch of the cable, by its name.
    pub branch: Option<Box<str>>,
    /// The section of the cable or branch, by its name.
    pub section: Option<Box<str>>,
    /// Set pressure, usage or resistance.
    pub key: Key,
    /// What it is in this state.
    pub value: Quantity,
}

/// One thing that must hold.
#[derive(Clone, Debug)]
pub struct Expectation {
    /// What must hold in the state after the events.
    pub what: ExpectedCondition,
    /// Whether it must hold once pressures have settled, for a time, or come within one.
    pub timing: Timing,
    /// Where it is written.
    pub range: TextRange,
}

/// When something must hold.
#[derive(Clone, Copy, Debug)]
pub enum Timing {
    /// Once the air has settled.
    Settled,
    /// From the beginning on for that long.
    For(Quantity),
    /// That long after the beginning at the latest.
    Within(Quantity),
}

impl Timing {
    /// The time that it names.
    pub fn time(self) -> Option<Quantity> {
        match self {
            Self::Settled => None,
            Self::For(time) | Self::Within(time) => Some(time),
        }
    }
}

/// A condition on the state after some events.
#[derive(Clone, Copy, Debug)]
pub enum ExpectedCondition {
    /// The pressure everywhere on a cable or pipe, or on all of them, is above a pressure; where none is said, above the least that is
    /// declared for each place.
    Above(Option<ThingId>, Option<Quantity>),
    /// A limit of a sensor's signal is passed for sure.
    Passes(End, LimitLevel),
    /// A contact with a set point changes for sure.
    Trips(End),
    /// No limit is passed and no contact changes.
    NoAlarm,
}
