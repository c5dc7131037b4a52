use drysheath_office::kinds::{KindId, Role, SignalSource};
use drysheath_office::{Fields, Signal, Thing, ThingId};
use drysheath_prediction::{SignalPath, signal_paths};
use drysheath_text::{Place, TextRange};

use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::pairs::{called, place_of};

/// A signal that comes to an input, of which there is one record.
pub(super) struct RecordedInput<'o> {
    pub path: SignalPath,
    pub signal: Signal<'o>,
    /// The device, as [`drysheath_office::Across`] numbers it.
    pub device: ThingId,
    /// Its name, after that of its office where that is another.
    pub name: &'o str,
    thing: &'o Thing,
    /// Where it is declared in another office, and where its wire comes to the input here.
    elsewhere: Option<(Place, TextRange)>,
}

/// The signals that come to an input of the office, in the order of the file; from devices in other offices too. What a damaged
/// device lacks proves nothing.
pub(super) fn recorded_inputs<'o>(inspection: &Inspection<'o>) -> impl Iterator<Item = RecordedInput<'o>> {
    let office = inspection.networks.across(inspection.office).office;
    let paths = signal_paths(inspection.office, inspection.networks);
    let here = |path: &SignalPath| inspection.office.has(path.input.thing);
    paths.filter(here).filter_map(move |path| {
        let device = path.signal.thing;
        let thing = office.thing(device);
        let mut signals = office.signals(device).into_iter();
        let signal =
            signals.find(|own| std::ptr::eq(own.port, path.signal.port) && own.number == path.signal.number)?;
        let elsewhere = (!inspection.office.has(device)).then(|| {
            let wire = &inspection.networks.wire;
            let input = wire.find(path.input.thing, path.input.port, path.input.number);
            let range = input.map_or(TextRange::default(), |id| place_of(wire, id));
            (office.written(office.place(thing.name)), range)
        });
        (!thing.damaged).then_some(RecordedInput {
            path,
            signal,
            device,
            name: office.name(device),
            thing,
            elsewhere,
        })
    })
}

impl RecordedInput<'_> {
    /// Whether it is a contact, which has neither span nor limits at any input.
    pub fn is_contact(&self) -> bool {
        self.signal.dimension.is_none()
    }

    /// The signal as messages name it: `` `ps1` pressure``, `` `d1` contact `humidity` ``.
    pub fn called(&self) -> String {
        let (device, port) = (self.name, self.signal.port.word);
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
        let all = inspection.networks.across(inspection.office);
        let mut steps = self.path.steps(&all.networks.wire);
        steps.any(|(_, terminal)| all.office.thing(terminal.thing).is(kind))
    }

    /// Whether something on its way cannot be read: what that lacks proves nothing.
    pub fn passes_damage(&self, inspection: &Inspection<'_>) -> bool {
        let all = inspection.networks.across(inspection.office);
        let mut steps = self.path.steps(&all.networks.wire);
        steps.any(|(_, terminal)| all.office.thing(terminal.thing).damaged)
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

    /// A result about its device, where the file declares the signal; of one in another office where its wire comes to the input.
    pub fn report<'s>(&self, sink: &'s mut Sink<'_>, message: String) -> &'s mut Finding {
        let place = self.place().filter(|place| place.file == sink.file);
        self.report_at(sink, place.map_or(self.thing.name, |place| place.range), message)
    }

    /// A result about its device, at `range` of the file if the device is declared in that.
    pub fn report_at<'s>(&self, sink: &'s mut Sink<'_>, range: TextRange, message: String) -> &'s mut Finding {
        let finding = match self.elsewhere {
            None => sink.report(self.device, range, message),
            Some((device, range)) => sink
                .report(self.path.input.thing, range, message)
                .related(device, "the device"),
        };
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
