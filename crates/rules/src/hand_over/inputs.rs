use drysheath_office::kinds::{KindId, Role, SignalSource};
use drysheath_office::{Fields, Signal, Thing, ThingId};
use drysheath_prediction::{SignalPath, signal_paths};
use drysheath_text::{Place, TextRange};

use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::pairs::called;

/// A signal that comes to an input, of which there is one record.
pub(super) struct RecordedInput<'o> {
    pub path: SignalPath,
    pub signal: Signal<'o>,
    pub device: ThingId,
    thing: &'o Thing,
}

/// The signals that come to an input, in the order of the file. What a damaged device lacks proves nothing.
pub(super) fn recorded_inputs<'o>(inspection: &Inspection<'o>) -> impl Iterator<Item = RecordedInput<'o>> {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    signal_paths(office, wire).filter_map(move |path| {
        let device = path.signal.thing;
        let thing = office.thing(device);
        let mut signals = office.signals(device).into_iter();
        let signal =
            signals.find(|own| std::ptr::eq(own.port, path.signal.port) && own.number == path.signal.number)?;
        (!thing.damaged).then_some(RecordedInput {
            path,
            signal,
            device,
            thing,
        })
    })
}

impl RecordedInput<'_> {
    /// Whether it is a contact, which has neither span nor limits at any input.
    pub fn is_contact(&self) -> bool {
        self.signal.dimension.is_none()
    }

    /// The signal as messages name it: `` `ps1` pressure``, `` `d1` contact `humidity` ``.
    pub fn called(&self, inspection: &Inspection<'_>) -> String {
        let (device, port) = (inspection.office.name(self.device), self.signal.port.word);
        match self.signal.name {
            "" => format!("`{device}` {port}"),
            name => format!("`{device}` {port} `{name}`"),
        }
    }

    /// Its input as messages name it: ``sensor input 2 of `m1` ``.
    pub fn called_input(&self, inspection: &Inspection<'_>) -> String {
        called(inspection.office, &self.path.input)
    }

    /// Whether it passes a pair of something of a kind on its way.
    pub fn passes(&self, inspection: &Inspection<'_>, kind: KindId) -> bool {
        let mut steps = self.path.steps(&inspection.networks.wire);
        steps.any(|(_, terminal)| inspection.office.thing(terminal.thing).is(kind))
    }

    /// Whether something on its way cannot be read: what that lacks proves nothing.
    pub fn passes_damage(&self, inspection: &Inspection<'_>) -> bool {
        let mut steps = self.path.steps(&inspection.networks.wire);
        steps.any(|(_, terminal)| inspection.office.thing(terminal.thing).damaged)
    }

    /// Where the file declares it: the field of a signal that has one of its own, or else the device's name.
    fn place(&self) -> Option<Place> {
        let Role::Signal(kind) = self.signal.port.role else {
            return None;
        };
        match kind.source {
            SignalSource::Own => None,
            SignalSource::Group(key) => Some(self.thing.field(key)?.place),
            SignalSource::Named(key) => {
                let number = usize::try_from(self.signal.number).ok()?;
                let (_, place, _) = self.thing.named(key).nth(number.checked_sub(1)?)?;
                Some(place)
            }
        }
    }

    /// A result about its device, where the file declares the signal.
    pub fn report<'s>(&self, sink: &'s mut Sink<'_>, message: String) -> &'s mut Finding {
        let place = self.place().filter(|place| place.file == sink.file);
        self.report_at(sink, place.map_or(self.thing.name, |place| place.range), message)
    }

    /// A result about its device, at `range` of the file.
    pub fn report_at<'s>(&self, sink: &'s mut Sink<'_>, range: TextRange, message: String) -> &'s mut Finding {
        let finding = sink.report(self.device, range, message);
        finding.signal = Some(self.path.signal);
        finding
    }
}

/// The office itself, if it can be read.
pub(super) fn itself<'o>(inspection: &Inspection<'o>) -> Option<(ThingId, &'o Thing)> {
    let office = inspection.office;
    let itself = office.itself.map(|id| (id, office.thing(id)));
    itself.filter(|(_, itself)| !itself.damaged)
}
