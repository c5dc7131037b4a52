use std::cell::OnceCell;

use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::{Key, Port, Role, SignalSource};
use drysheath_office::line::position_of;
use drysheath_office::{Field, Fields, Office, Thing, ThingId, Value, reporting_step, rounded_to_step};
use drysheath_prediction::{Line, Watcher, position_name};
use drysheath_syntax::Medium;
use drysheath_text::Place;

use super::limit_order::LimitOrder;
use crate::figures::{below, computed, difference, in_unit_of, same};
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::reliability::computed_at;

/// A signal of a sensor that measures something.
#[derive(Clone, Copy)]
pub(crate) struct Reading<'o> {
    pub id: ThingId,
    pub dimension: Dimension,
    /// The signal's own fields.
    pub fields: &'o [Field],
    /// The signal's word, if it is not the sensor's first signal.
    second: Option<&'static str>,
    /// Name of a dryer's contact; otherwise empty.
    contact: &'o str,
    /// Whether it is a contact that switches at a limit and shows no figure.
    pub is_switch: bool,
    office: &'o Office,
    derived: &'o Derived,
}

/// Derived figures of a signal, computed once since every rule on spans needs them.
struct Derived {
    sensor: ThingId,
    port: &'static Port,
    /// Which of those that come from the port, counted from 1; 0 where there can be one only.
    number: u32,
    /// What it measures or switches at.
    dimension: Dimension,
    /// Index of the sensor's field that contains its fields. `None` if they are the sensor's own.
    within: Option<usize>,
    span: Option<Span>,
    limit_order: LimitOrder,
    /// Expected reading in the normal state.
    expected: OnceCell<Option<f64>>,
}

/// Derived figures of the signals of all sensors, in the order of the sensors.
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
                // Hardly any contact of a dryer states where it switches.
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
            limit_order: LimitOrder::of(office, fields, span),
            expected: OnceCell::new(),
        })
    }
}

/// Name and fields in one of a thing's fields, or the thing's own fields.
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

/// All signals of all sensors. An iterator, since this runs for each rule on each office.
pub(crate) fn readings<'i>(inspection: &'i Inspection<'_>) -> impl Iterator<Item = Reading<'i>> {
    let derived = all(inspection).0.iter();
    derived.filter_map(|derived| Reading::from(inspection.office, derived))
}

fn all<'i>(inspection: &'i Inspection<'_>) -> &'i Signals {
    inspection.signals.get_or_init(|| Signals::of(inspection.office))
}

impl<'o> Reading<'o> {
    /// The signal of a sensor at a port.
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

    /// Name of the signal in a run.
    pub fn name(&self) -> String {
        let name = self.office.name(self.id);
        match self.second {
            None => format!("`{name}`"),
            Some(word) if self.contact.is_empty() => format!("`{name} {word}`"),
            Some(word) => format!("`{name} {word} {}`", self.contact),
        }
    }

    /// Verb for messages: a sensor reads, while a contact shows no figure.
    pub fn should_read(&self) -> &'static str {
        if self.is_switch { "should see" } else { "should read" }
    }

    /// Phrase for how far a limit must be moved past a figure; a contact states no error.
    pub fn margin(&self) -> &'static str {
        if self.is_switch {
            ""
        } else {
            " by more than the sensor's error"
        }
    }

    /// The signal as a subject.
    pub fn subject(&self) -> Subject {
        Subject::Signal(self.id, self.second.unwrap_or_default())
    }

    /// A field of the signal, such as a limit, as a subject.
    pub fn field(&self, place: Place) -> Subject {
        Subject::Field(self.id, place)
    }

    /// The signal and everything that its computed figure depends on, as subjects.
    pub fn subject_computed(&self, inspection: &Inspection<'_>) -> impl Iterator<Item = Subject> {
        std::iter::once(self.subject()).chain(computed_at(inspection, self.id))
    }

    /// Span of the reading. `None` if it is empty or reversed, which another rule reports.
    pub fn span(&self) -> Option<Span> {
        self.derived.span
    }

    /// Limits and normal reading in ascending order.
    pub(super) fn limit_order(&self) -> &'o LimitOrder {
        &self.derived.limit_order
    }

    /// A step or error in SI.
    pub fn size(&self, key: Key) -> Option<(f64, Quantity)> {
        let (quantity, _) = self.fields.quantity(key)?;
        // For a temperature the field is a point on a scale, not a difference.
        let size = quantity.si();
        (self.dimension != Dimension::Temperature && size > 0.0).then_some((size, quantity))
    }

    /// Error in SI, or the step if no error is stated.
    pub fn error(&self) -> f64 {
        let size = self.size(Key::Error).or_else(|| self.size(Key::Step));
        size.map_or(0.0, |(size, _)| size)
    }

    /// A figure (see [`Office::figure`]) in the unit of a written one, at the sensor's resolution unless more digits
    /// are needed to tell the two apart.
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

    /// Actual and permitted difference, given in SI, in the unit of `model` and at the sensor's resolution unless more
    /// digits are needed to tell the two apart.
    pub fn shown_apart(&self, model: Quantity, by: f64, allowed: f64) -> (Quantity, Quantity) {
        let sizes = [by, allowed].map(|size| difference(model, size));
        match sizes.map(|size| self.as_fine(size)) {
            [Some(by), Some(allowed)] if below(allowed.value, by.value) && allowed.value > 0.0 => (by, allowed),
            _ => sizes.into(),
        }
    }

    /// A quantity rounded to the sensor's resolution. `None` where it states neither step nor error.
    fn as_fine(&self, exact: Quantity) -> Option<Quantity> {
        Some(rounded_to_step(reporting_step(self.fields, self.dimension)?, exact))
    }

    /// Permitted difference between a reading and the computed value: the sensor's error and half its step, or a whole
    /// step where no error is stated; in SI, and in the unit of one of them.
    pub fn tolerance(&self) -> Option<(f64, Quantity)> {
        let (size, model) = match (self.size(Key::Error), self.size(Key::Step)) {
            (Some((error, model)), step) => (error + step.map_or(0.0, |(step, _)| step / 2.0), model),
            (None, step) => step?,
        };
        Some((size, difference(model, size)))
    }

    /// Composition of the tolerance, as text.
    pub fn tolerance_name(&self) -> &'static str {
        match (self.size(Key::Error), self.size(Key::Step)) {
            (Some(_), Some(_)) => "the sensor's error and half its step",
            (Some(_), None) => "the sensor's error",
            (None, _) => "a step of the sensor",
        }
    }

    /// Expected figure in the normal state (see [`Office::figure`]). `None` where it cannot be computed, and for a
    /// damaged sensor, whose field to compare with may be missing.
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

    /// Position of its sensor on a cable or pipe.
    pub fn place_on_line<'i>(&self, inspection: &Inspection<'i>) -> Option<(&'i Line, f64)> {
        let position = position_of(inspection.office, inspection.networks, self.id)?;
        Some((
            inspection.prediction.air.line_of(inspection.office, &position)?,
            position.metres,
        ))
    }

    /// Position as a suffix: " at 3.2 km on `c101`"; empty for a sensor in the office.
    pub fn location_text(&self, inspection: &Inspection<'_>) -> String {
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

    /// Whether a figure lies in the span, ends included.
    pub fn holds(&self, figure: f64) -> bool {
        !below(figure, self.bottom) && !below(self.top, figure)
    }
}

impl std::fmt::Display for Span {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} .. {}", self.ends.0, self.ends.1)
    }
}
