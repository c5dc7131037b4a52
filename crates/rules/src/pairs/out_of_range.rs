use drysheath_office::kinds::{KindId, Role};
use drysheath_syntax::Medium;

use super::numbers::{has, numbered};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::runs::whole_runs;

/// Reports numbers beyond the range of a thing's ports, in run ends and in declarations of assigned or defective
/// numbers, for the ports that `wanted` selects.
pub(super) fn report_out_of_range(
    inspection: &Inspection<'_>,
    sink: &mut Sink<'_>,
    wanted: impl Fn(KindId, Role) -> bool,
) {
    let office = inspection.office;
    let wires = whole_runs(office, Medium::Wire);
    let stated = office.stated.iter().chain(&office.wired).map(|stated| &stated.end);
    for end in wires.flat_map(|run| &run.ends).chain(stated) {
        let Some((id, port)) = end.thing.zip(end.port) else {
            continue;
        };
        let kind = office.thing(id).kind;
        if !kind.is_some_and(|kind| wanted(kind.id, port.role)) {
            continue;
        }
        let Some(rows) = office.rows(id, port) else { continue };
        let Some((first, last)) = rows.lacking(end.numbers.0, end.numbers.1) else {
            continue;
        };
        let beyond = numbered(port.noun(), first, last);
        let message = format!("`{}` {}, so there is no {beyond}", office.name(id), has(port, rows));
        sink.report(id, end.detail, message)
            .about([Subject::Ports(id, port.word), Subject::Place(office.place(end.range))])
            .help("correct the number, or the count if the thing has more");
    }
}
