use std::cell::OnceCell;

use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::{Key, Port, Role, SignalSource};
use drysheath_office::line::position_of;
use drysheath_office::{Field, Fields, Office, Thing, ThingId, Value, as_fine_as, reporting_step};
use drysheath_prediction::{Line, Watcher, position_name};
use drysheath_syntax::Medium;
use drysheath_text::Place;

use super::order::Ladder;
use crate::figures::{below, computed, difference, in_unit_of, same};
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::reliability::computed_at;

/// One signal of a sensor that measures something.
#[derive(Clone, Copy)]
pub(crate) struct Reading<'o> {
    pub id: ThingId,
    pub dimension: Dimension,
    /// The signal's own fields.
    pub fields: &'o [Field],
    /// The signal's word, where it is not the sensor's first signal.
    second: Option<&'static str>,
    /// Its name, of a contact of a dryer.
    contact: &'o str,
    /// Whether it is a contact that switches there, and tells no figures.
    pub is_switch: bool,
    office: &'o Office,
    derived: &'o Derived,
}

/// What follows from the fields of a signal. It is computed once for each, since every rule on spans asks for it.
struct Derived {
    sensor: ThingId,
    port: &'static Port,
    /// Which of those that come from the port, counted from 1; 0 where there can be one only.
    number: u32,
    /// What it measures or switches at.
    dimension: Dimension,
    /// Which of the sensor's fields has its fields, unless they are the sensor's own.
    within: Option<usize>,
    span: Option<Span>,
    ladder: Ladder,
    /// What it should read when all is well.
    expected: OnceCell<Option<f64>>,
}

/// What follows from the fields of each signal of each sensor, in the order of the sensors.
pub(crate) struct Signals(Vec<Derived>);

impl Signals {
    fn of(office: &Office) -> Self {
        let mut derived = Vec::new();
        for (id, thing) in office.things() {
            let Some(kind) = thing.kind else { continue };
            if kind.is_sensor() {
                let ports = kind.ports.iter();
                derived.extend(ports.filter_map(|port| Derived::of(office, id, thing, port, 0)));
            } else if kind.gives_air() {
                // Hardly any contact of a dryer says where it switches.
                for (number, (_, _, fields)) in (1..).zip(thing.named(Key::Contact)) {
                    if fields.has(Key::Limit) {
                        let ports = kind.ports_in(Medium::Wire);
                        derived.extend(ports.filter_map(|port| Derived::of(office, id, thing, port, number)));
                    }
                }
            }
        }
        Self(derived)
    }

    /// Those of a port, in the order of their numbers.
    fn of_port(&self, sensor: ThingId, port: &'static Port) -> impl Iterator<Item = &Derived> {
        let first = self.0.partition_point(|derived| derived.sensor < sensor);
        let own = self
            .0
            .iter()
            .skip(first)
            .take_while(move |derived| derived.sensor == sensor);
        own.filter(move |derived| std::ptr::eq(derived.port, port))
    }
}

impl Derived {
    fn of(office: &Office, sensor: ThingId, thing: &Thing, port: &'static Port, number: u32) -> Option<Self> {
        let Role::Signal(signal) = port.role else { return None };
        let mut all = thing.fields.iter().enumerate();
        let within = match signal.source {
            SignalSource::Own => None,
            SignalSource::Group(key) => Some(all.find(|(_, field)| field.spec.key == key)?.0),
            SignalSource::Named(key) => {
                let mut named =
                    all.filter(|(_, field)| field.spec.key == key && matches!(field.value, Value::Named { .. }));
                Some(named.nth((number as usize).checked_sub(1)?)?.0)
            }
        };
        let dimension = signal.reads()?;
        let (_, fields) = fields_of(thing, within)?;
        let span = Span::of(office, fields);
        Some(Self {
            sensor,
            port,
            number,
            dimension,
            within,
            span,
            ladder: Ladder::of(office, fields, span),
            expected: OnceCell::new(),
        })
    }
}

/// The name and the fields in one of a thing's fields, or its own.
fn fields_of(thing: &Thing, within: Option<usize>) -> Option<(&str, &[Field])> {
    let Some(within) = within else {
        return Some(("", &thing.fields));
    };
    match &thing.fields.get(within)?.value {
        Value::Group(fields) => Some(("", fields)),
        Value::Named { name, fields, .. } => Some((name, fields)),
        _ => None,
    }
}

/// A span that runs from bottom to top.
#[derive(Clone, Copy)]
pub(crate) struct Span {
    pub bottom: f64,
    pub top: f64,
    /// Bottom and top as written.
    pub ends: (Quantity, Quantity),
    pub place: Place,
}

/// Every signal of every sensor. An iterator, since this runs for each rule on each office.
pub(crate) fn readings<'i>(inspection: &'i Inspection<'_>) -> impl Iterator<Item = Reading<'i>> {
    let derived = all(inspection).0.iter();
    derived.filter_map(|derived| Reading::from(inspection.office, derived))
}

fn all<'i>(inspection: &'i Inspection<'_>) -> &'i Signals {
    inspection.signals.get_or_init(|| Signals::of(inspection.office))
}

impl<'o> Reading<'o> {
    /// The signal of a sensor that comes from a port.
    pub(crate) fn of(inspection: &'o Inspection<'_>, id: ThingId, port: &'static Port) -> Option<Self> {
        Self::from(inspection.office, all(inspection).of_port(id, port).next()?)
    }

    /// The signal whose limit it is.
    pub(crate) fn of_watcher(inspection: &'o Inspection<'_>, watcher: &Watcher) -> Option<Self> {
        let mut of_port = all(inspection).of_port(watcher.thing, watcher.port);
        let derived = of_port.find(|derived| derived.number == watcher.number)?;
        Self::from(inspection.office, derived)
    }

    fn from(office: &'o Office, derived: &'o Derived) -> Option<Self> {
        let (contact, fields) = fields_of(office.thing(derived.sensor), derived.within)?;
        let (second, is_switch) = match derived.port.role {
            Role::Signal(signal) => {
                let is_own = matches!(signal.source, SignalSource::Own);
                ((!is_own).then_some(derived.port.word), signal.dimension.is_none())
            }
            _ => (None, false),
        };
        Some(Self {
            id: derived.sensor,
            dimension: derived.dimension,
            fields,
            second,
            contact,
            is_switch,
            office,
            derived,
        })
    }

    /// The name of the signal in a run.
    pub fn name(&self) -> String {
        let name = self.office.name(self.id);
        match self.second {
            None => format!("`{name}`"),
            Some(word) if self.contact.is_empty() => format!("`{name} {word}`"),
            Some(word) => format!("`{name} {word} {}`", self.contact),
        }
    }

    /// What a sensor does, or a contact, which shows no figure.
    pub fn should_read(&self) -> &'static str {
        if self.is_switch { "should see" } else { "should read" }
    }

    /// By how much a limit has to be moved past a figure; a contact states no error.
    pub fn margin(&self) -> &'static str {
        if self.is_switch {
            ""
        } else {
            " by more than the sensor's error"
        }
    }

    /// The signal, which several rules may report.
    pub fn subject(&self) -> Subject {
        Subject::Signal(self.id, self.second.unwrap_or_default())
    }

    /// A field of the signal, such as one of its limits.
    pub fn field(&self, place: Place) -> Subject {
        Subject::Field(self.id, place)
    }

    /// The signal, and what the figure that is computed for it depends on.
    pub fn subject_computed(&self, inspection: &Inspection<'_>) -> impl Iterator<Item = Subject> {
        std::iter::once(self.subject()).chain(computed_at(inspection, self.id))
    }

    /// Its span, unless that is empty or reversed, which another rule reports.
    pub fn span(&self) -> Option<Span> {
        self.derived.span
    }

    /// Its limits and normal reading in ascending order.
    pub(super) fn ladder(&self) -> &'o Ladder {
        &self.derived.ladder
    }

    /// The size of a step or error, in SI.
    pub fn size(&self, key: Key) -> Option<(f64, Quantity)> {
        let (quantity, _) = self.fields.quantity(key)?;
        // A temperature is a point on a scale, not a difference.
        let size = quantity.si();
        (self.dimension != Dimension::Temperature && size > 0.0).then_some((size, quantity))
    }

    /// How far it may be off, in SI: its error, or where it states none its step.
    pub fn error(&self) -> f64 {
        let size = self.size(Key::Error).or_else(|| self.size(Key::Step));
        size.map_or(0.0, |(size, _)| size)
    }

    /// A figure (see [`Office::figure`]) in the unit of a written one, as finely as the sensor reports it, unless more is needed
    /// to tell the two apart.
    pub fn shown(&self, beside: Quantity, figure: f64) -> Quantity {
        let exact = in_unit_of(beside, figure, self.office);
        let Some(rounded) = self.as_fine(exact) else {
            return computed(beside, figure, self.office);
        };
        if same(rounded.value, beside.value) && !same(exact.value, beside.value) {
            return computed(beside, figure, self.office);
        }
        rounded
    }

    /// How far two figures are apart and how far they may be, in SI, in the unit of `model` and as finely as the sensor reports,
    /// unless more is needed to tell the two apart.
    pub fn shown_apart(&self, model: Quantity, by: f64, allowed: f64) -> (Quantity, Quantity) {
        let sizes = [by, allowed].map(|size| difference(model, size));
        match sizes.map(|size| self.as_fine(size)) {
            [Some(by), Some(allowed)] if below(allowed.value, by.value) && allowed.value > 0.0 => (by, allowed),
            _ => sizes.into(),
        }
    }

    /// A quantity as finely as the sensor reports; none where it states neither step nor error.
    fn as_fine(&self, exact: Quantity) -> Option<Quantity> {
        Some(as_fine_as(reporting_step(self.fields, self.dimension)?, exact))
    }

    /// The tolerance between a reading and the computed value: the sensor's error and half its step, or a whole step where no
    /// error is stated; in SI, and in the unit of one of them.
    pub fn tolerance(&self) -> Option<(f64, Quantity)> {
        let (size, model) = match (self.size(Key::Error), self.size(Key::Step)) {
            (Some((error, model)), step) => (error + step.map_or(0.0, |(step, _)| step / 2.0), model),
            (None, step) => step?,
        };
        Some((size, difference(model, size)))
    }

    /// What the tolerance is made of, in words.
    pub fn tolerance_name(&self) -> &'static str {
        match (self.size(Key::Error), self.size(Key::Step)) {
            (Some(_), Some(_)) => "the sensor's error and half its step",
            (Some(_), None) => "the sensor's error",
            (None, _) => "a step of the sensor",
        }
    }

    /// The expected figure when all is well (see [`Office::figure`]), where it can be computed. None for a damaged sensor, since
    /// the field to compare with may be missing.
    pub fn expected(&self, inspection: &Inspection<'_>) -> Option<f64> {
        *self.derived.expected.get_or_init(|| {
            let Inspection { office, networks, .. } = *inspection;
            if office.thing(self.id).damaged {
                return None;
            }
            let prediction = inspection.prediction;
            let expected = prediction.expected_reading(office, networks, self.id, self.dimension)?;
            Some(expected.figure()).filter(|figure| figure.is_finite())
        })
    }

    /// The position of its sensor on a cable or pipe.
    pub fn place_on_line<'i>(&self, inspection: &Inspection<'i>) -> Option<(&'i Line, f64)> {
        let spot = position_of(inspection.office, inspection.networks, self.id)?;
        Some((
            inspection.prediction.air.line_of(inspection.office, &spot)?,
            spot.metres,
        ))
    }

    /// " at 3.2 km on `c101`", or nothing for a sensor in the office.
    pub fn whereabouts(&self, inspection: &Inspection<'_>) -> String {
        self.place_on_line(inspection).map_or(String::new(), |(line, metres)| {
            format!(" {}", position_name(inspection.office, line, metres))
        })
    }
}

impl Span {
    fn of(office: &Office, fields: &[Field]) -> Option<Self> {
        let (from, to, place) = fields.range(Key::Span)?;
        let (bottom, top) = (office.figure(from), office.figure(to));
        below(bottom, top).then_some(Self {
            bottom,
            top,
            ends: (from, to),
            place,
        })
    }

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
