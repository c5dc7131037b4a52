use drysheath_office::kinds::{Numbering, Port, Role, SignalSource};
use drysheath_office::{Fields, ThingId};
use drysheath_text::Place;

use crate::lint::Inspection;
use crate::spans::Reading;

/// A signal without a wire from it, or a control without a wire to it.
pub(super) struct Unwired<'o> {
    /// The thing without a wire.
    pub thing: ThingId,
    /// Port of the signal.
    pub port: &'static Port,
    /// Name of a named contact or control, and its place.
    pub contact: Option<(&'o str, Place)>,
    /// Whether it is the thing's only signal.
    pub only: bool,
}

/// All signals without a wire, of undamaged things. A signal without limits raises no alarm, so it need not be wired.
pub(super) fn unwired<'i>(inspection: &'i Inspection<'_>) -> impl Iterator<Item = Unwired<'i>> {
    let sound = inspection.office.things().filter(|(_, thing)| !thing.damaged);
    sound.flat_map(move |(id, thing)| {
        let ports = thing.kind.map_or(&[][..], |kind| kind.ports);
        let is_wired = move |port, number| inspection.networks.wire.find(id, port, number).is_some();
        ports.iter().flat_map(move |port| {
            let source = match port.role {
                Role::Signal(kind) => Some(kind.source),
                _ => None,
            };
            let single = match source {
                Some(SignalSource::Own) => true,
                Some(SignalSource::Group(key)) => thing.has(key),
                _ => false,
            };
            let named = match (source, port.numbering) {
                (Some(SignalSource::Named(key)), _) => Some(key),
                (None, Numbering::Named(key)) if port.role == Role::Control => Some(key),
                _ => None,
            };
            // A sensor without a limit is read by eye, or its missing limit is reported first.
            let raises = |reading: Reading<'_>| reading.fields.limits().next().is_some();
            let is_read = || Reading::of(inspection, id, port).is_some_and(|reading| !raises(reading));
            let only = ports.iter().filter(|port| matches!(port.role, Role::Signal(_))).count() == 1;
            let single = (single && !is_wired(port, 0) && !is_read()).then_some(Unwired {
                thing: id,
                port,
                contact: None,
                only,
            });
            let contacts = named.into_iter().flat_map(|key| (1..).zip(thing.named(key)));
            // A contact declared spare is unwired on purpose.
            let is_spare = move |number| {
                !inspection.office.spares.is_empty() && inspection.allocation().is_spare(id, port, number)
            };
            let contacts = contacts.filter(move |(number, _)| !is_wired(port, *number) && !is_spare(*number));
            single
                .into_iter()
                .chain(contacts.map(move |(_, (name, place, _))| Unwired {
                    thing: id,
                    port,
                    contact: Some((name, place)),
                    only,
                }))
        })
    })
}
