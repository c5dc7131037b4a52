use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::{Key, Kind, Port, Role, SignalSource};
use drysheath_office::{Field, Fields, Office, Thing, ThingId};
use drysheath_text::Place;

use crate::figures::below;

/// One signal of a sensor that measures something.
#[derive(Clone, Copy)]
pub(super) struct Reading<'o> {
    pub id: ThingId,
    pub dimension: Dimension,
    /// The signal's own fields.
    pub fields: &'o [Field],
    /// The signal's word, where the sensor has another one that comes first.
    second: Option<&'static str>,
    office: &'o Office,
}

/// A span that runs from bottom to top.
#[derive(Clone, Copy)]
pub(super) struct Span {
    pub bottom: f64,
    pub top: f64,
    /// Both ends as written.
    pub ends: (Quantity, Quantity),
    pub place: Place,
}

/// Every signal of every sensor. It builds no list: this runs for each rule on each office.
pub(super) fn readings(office: &Office) -> impl Iterator<Item = Reading<'_>> {
    office
        .things()
        .filter_map(|(id, thing)| Some((id, thing, thing.kind.filter(|kind| kind.is_sensor())?)))
        .flat_map(move |(id, thing, kind)| of_sensor(office, id, thing, kind))
}

fn of_sensor<'o>(
    office: &'o Office,
    id: ThingId,
    thing: &'o Thing,
    kind: &'static Kind,
) -> impl Iterator<Item = Reading<'o>> {
    let of_port = move |port: &'static Port| {
        let Role::Signal(signal) = port.role else { return None };
        let (fields, second) = match signal.source {
            SignalSource::Own => (thing.fields(), None),
            SignalSource::Group(key) => (thing.group(key)?, Some(port.word)),
            SignalSource::Named(_) => return None,
        };
        Some(Reading {
            id,
            dimension: signal.dimension?,
            fields,
            second,
            office,
        })
    };
    kind.ports.iter().filter_map(of_port)
}

impl Reading<'_> {
    /// How the signal is called where a run names it.
    pub fn name(&self) -> String {
        let name = self.office.name(self.id);
        match self.second {
            None => format!("`{name}`"),
            Some(word) => format!("`{name} {word}`"),
        }
    }

    /// Its span, where that is one: of an empty or reversed span another rule speaks.
    pub fn span(&self) -> Option<Span> {
        let (from, to, place) = self.fields.range(Key::Span)?;
        let (bottom, top) = (self.office.figure(from), self.office.figure(to));
        below(bottom, top).then_some(Span {
            bottom,
            top,
            ends: (from, to),
            place,
        })
    }

    /// The size of a step or error, in SI.
    pub fn size(&self, key: Key) -> Option<(f64, Quantity)> {
        let (quantity, _) = self.fields.quantity(key)?;
        // A point on a scale of temperature has no size.
        let size = quantity.si();
        (self.dimension != Dimension::Temperature && size > 0.0).then_some((size, quantity))
    }
}

impl Span {
    /// Whether a figure lies in it, the ends included.
    pub fn holds(&self, figure: f64) -> bool {
        !below(figure, self.bottom) && !below(self.top, figure)
    }
}

impl std::fmt::Display for Span {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} .. {}", self.ends.0, self.ends.1)
    }
}
