//! The parts of a circuit in other offices, which its wires reach over routes.

use drysheath_office::kinds::Role;
use drysheath_office::{TerminalId, ThingId};
use drysheath_prediction::Loop;
use drysheath_text::Place;

use crate::lint::Inspection;

/// Terminals of other offices on a circuit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Elsewhere {
    /// The first device or monitor of another office on it; ids are those of [`drysheath_office::MergedOffice`].
    pub thing: Option<ThingId>,
    /// Number of signals in other offices.
    pub signals: u32,
    /// Number of inputs in other offices.
    pub inputs: u32,
    /// Whether one of those signals is a contact. `None` where there is no signal.
    pub is_contact: Option<bool>,
    /// First place where another office wires it.
    pub place: Place,
    /// Whether there may be more terminals than are known: a wire to a planned or disused thing, or an office that is
    /// planned or unreadable.
    pub may_be_more: bool,
}

/// The terminals that other offices join to the circuit of these terminals. `None` where no route leads out of it.
pub(super) fn elsewhere(
    inspection: &Inspection<'_>,
    group: impl Iterator<Item = TerminalId> + Clone,
) -> Option<Elsewhere> {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let mut on_line = group
        .clone()
        .filter(|id| office.shared(wire.terminal(*id).thing).is_some());
    let first = on_line.next()?;
    let mut found = Elsewhere {
        thing: None,
        signals: 0,
        inputs: 0,
        is_contact: None,
        place: Place::default(),
        may_be_more: false,
    };
    let merged = inspection.networks.merged(office);
    let (all, wires) = (merged.office, &merged.networks.wire);
    let mut all_joined = wires.joined_with(first);
    found.may_be_more = all_joined.any(|id| all.may_go_on(wires.terminal(id)));
    // The office's own terminals keep their ids.
    let own: Vec<TerminalId> = group.collect();
    let joints = own
        .iter()
        .flat_map(|id| wires.connections_at(*id).map(move |joint| (*id, joint)));
    let mut joints = joints.filter(|(_, joint)| all.office_of_run(joint.run).is_some());
    if let Some((id, joint)) = joints.next() {
        found.place = all.written(all.place(joint.range_at(id)));
    }
    for id in wires.joined_with(first).filter(|id| !own.contains(id)) {
        let terminal = wires.terminal(id);
        let role = terminal.port.role;
        if !role.begins_circuit() && !role.ends_circuit() {
            continue;
        }
        found.thing = found.thing.or(Some(terminal.thing));
        if role.ends_circuit() {
            found.inputs += 1;
            continue;
        }
        found.signals += 1;
        if let Role::Signal(kind) = role {
            found.is_contact = Some(kind.dimension.is_none());
        }
    }
    Some(found)
}

/// Whether this office reports results on a loop that ends at this monitor: it is here, or its office leaves this one
/// out.
pub(crate) fn speaks_for(inspection: &Inspection<'_>, monitor: ThingId) -> bool {
    let all = inspection.networks.merged(inspection.office).office;
    all.office_of(monitor)
        .is_none_or(|other| !other.counts(inspection.office))
}

/// The loops on which this office reports.
pub(crate) fn reported_loops<'i>(inspection: &Inspection<'i>) -> impl Iterator<Item = &'i Loop> {
    let loops = inspection.prediction.loops.iter();
    loops.filter(|one| speaks_for(inspection, one.input.thing))
}
