use drysheath_office::kinds::{KindId, Role, SignalSource};
use drysheath_office::{Fields, Signal, Thing, ThingId};
use drysheath_prediction::{SignalPath, signal_paths};
use drysheath_text::{Place, TextRange};

use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::pairs::{called, place_of};

/// A signal that arrives at an input and so has a record.
pub(super) struct RecordedInput<'o> {
    pub path: SignalPath,
    pub signal: Signal<'o>,
    /// The device, by its id in [`drysheath_office::MergedOffice`].
    pub device: ThingId,
    /// Name of the device, prefixed with its office if that is another.
    pub name: &'o str,
    thing: &'o Thing,
    /// For a device in another office: where it is declared, and where its wire reaches the input here.
    elsewhere: Option<(Place, TextRange)>,
}

/// The signals that arrive at inputs of the office, in the order of the file, including those of devices in other
/// offices. Damaged devices are left out, since they may state what seems to be missing.
pub(super) fn recorded_inputs<'o>(inspection: &Inspection<'o>) -> impl Iterator<Item = RecordedInput<'o>> {
    let office = inspection.networks.merged(inspection.office).office;
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
    /// Whether it is a contact, which has neither span nor limits.
    pub fn is_contact(&self) -> bool {
        self.signal.dimension.is_none()
    }

    /// Name of the signal in messages: `` `ps1` pressure``, `` `d1` contact `humidity` ``.
    pub fn called(&self) -> String {
        let (device, port) = (self.name, self.signal.port.word);
        match self.signal.name {
            "" => format!("`{device}` {port}"),
            name => format!("`{device}` {port} `{name}`"),
        }
    }

    /// Name of its input in messages: ``sensor input 2 of `m1` ``.
    pub fn called_input(&self, inspection: &Inspection<'_>) -> String {
        called(inspection.office, &self.path.input)
    }

    /// Whether its path passes a pair of a thing of some kind.
    pub fn passes(&self, inspection: &Inspection<'_>, kind: KindId) -> bool {
        let all = inspection.networks.merged(inspection.office);
        let mut steps = self.path.steps(&all.networks.wire);
        steps.any(|(_, terminal)| all.office.thing(terminal.thing).is(kind))
    }

    /// Whether its path passes a damaged thing, which may state what seems to be missing.
    pub fn passes_damage(&self, inspection: &Inspection<'_>) -> bool {
        let all = inspection.networks.merged(inspection.office);
        let mut steps = self.path.steps(&all.networks.wire);
        steps.any(|(_, terminal)| all.office.thing(terminal.thing).damaged)
    }

    /// Where it is declared: the field of a signal that has one of its own, or else the device's name.
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

    /// Reports a problem of its device, where the signal is declared, or for a device in another office where its wire
    /// reaches the input.
    pub fn report<'s>(&self, sink: &'s mut Sink<'_>, message: String) -> &'s mut Finding {
        let place = self.place().filter(|place| place.file == sink.file);
        self.report_at(sink, place.map_or(self.thing.name, |place| place.range), message)
    }

    /// Reports a problem of its device, at `range` if the device is declared in this file.
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

/// The office's own declaration. `None` if it is damaged.
pub(super) fn itself<'o>(inspection: &Inspection<'o>) -> Option<(ThingId, &'o Thing)> {
    let office = inspection.office;
    let itself = office.itself.map(|id| (id, office.thing(id)));
    itself.filter(|(_, itself)| !itself.damaged)
}
