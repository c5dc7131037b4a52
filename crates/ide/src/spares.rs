//! Edits of `spare` statements for numbers that become used.

use drysheath_office::kinds::Port;
use drysheath_office::{End, Free, FreeState, Office, ThingId, numbers_written};
use drysheath_syntax::with_comments;
use drysheath_text::{Edit, TextRange};
use drysheath_workspace::Analysis;

use crate::line_edits::{below, whole_line};

/// Free numbers as written.
pub(crate) fn written(free: Free) -> String {
    numbers_written(free.from, free.to)
}

/// The ends that declare numbers of a port spare, each with its statement.
fn declared_spare<'o>(
    office: &'o Office,
    thing: ThingId,
    port: &'static Port,
) -> impl Iterator<Item = (End, TextRange)> + use<'o> {
    // `rest` adjusts by itself, and `plugged` is not a statement.
    let ranges = office
        .spares
        .iter()
        .filter(|spare| !spare.is_rest && !spare.is_field && office.is_own(spare.range));
    let spares = ranges.map(|spare| (spare.end, spare.range));
    spares.filter(move |(end, _)| end.thing == Some(thing) && end.port.is_some_and(|own| std::ptr::eq(own, port)))
}

/// Edits that remove used numbers from `spare` statements: the numbers themselves, and all pairs joined to a terminated
/// pair.
pub(crate) fn taken(analysis: &Analysis, thing: ThingId, port: &'static Port, free: Free) -> Vec<Edit> {
    let (office, wire) = (&analysis.office, &analysis.networks.wire);
    let pair = wire
        .find(thing, port, free.from)
        .filter(|_| free.state == FreeState::Terminated);
    let Some(pair) = pair else {
        return no_longer_spare(office, thing, port, (free.from, free.to));
    };
    let joined = wire.joined_with(pair).map(|id| wire.terminal(id));
    let edits = joined.flat_map(|own| no_longer_spare(office, own.thing, own.port, (own.number, own.number)));
    edits.collect()
}

/// Edits that remove numbers of a port from `spare` statements.
pub(crate) fn no_longer_spare(
    office: &Office,
    thing: ThingId,
    port: &'static Port,
    (from, to): (u32, u32),
) -> Vec<Edit> {
    let mut edits = Vec::new();
    for (end, statement) in declared_spare(office, thing, port) {
        let (first, last) = end.numbers;
        if last < from || to < first {
            continue;
        }
        let detail = |from, to| format!("{} {}", port.word, numbers_written(from, to));
        let before = (first < from).then(|| detail(first, from - 1));
        let after = (to < last).then(|| detail(to + 1, last));
        let (range, replacement) = match (before, after) {
            (None, None) => {
                let statement = with_comments(&office.text, statement);
                (whole_line(&office.text, statement), String::new())
            }
            (Some(kept), None) | (None, Some(kept)) => (end.detail, kept),
            (Some(before), Some(after)) => {
                let line = format!("spare {} {after}", office.name(thing));
                edits.push(below(&office.text, statement.end, &line));
                (end.detail, before)
            }
        };
        edits.push(Edit { range, replacement });
    }
    edits
}
