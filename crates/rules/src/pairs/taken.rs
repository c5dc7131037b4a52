//! Numbers that runs use although a statement declares them otherwise.

use drysheath_office::NumberRange;

use super::circuit::circuit;
use crate::finding::Finding;
use crate::lint::Inspection;
use crate::precedence::Subject;

/// Adds the subjects of a finding on the used numbers `taken` of a range: the port, and the wire on each number.
pub(super) fn about_taken(
    inspection: &Inspection<'_>,
    range: &NumberRange,
    taken: &[NumberRange],
    finding: &mut Finding,
) {
    finding.about([Subject::Ports(range.thing, range.port.word)]);
    if let [first, others @ ..] = taken {
        finding.about(subjects(inspection, first));
        for own in others {
            finding.and_about(subjects(inspection, own));
        }
    }
}

/// The wire on a used number as subject: it may be there only because two circuits meet, or because the wrong sort of
/// signal ends there.
fn subjects(inspection: &Inspection<'_>, used: &NumberRange) -> impl Iterator<Item = Subject> {
    let wire = &inspection.networks.wire;
    let terminal = wire.find(used.thing, used.port, used.from);
    terminal
        .into_iter()
        .flat_map(|id| [Subject::Terminal(id), circuit(wire, id)])
}
