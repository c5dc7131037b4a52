//! Changes a wrong number to the next free pair, input, fuse position, port or outlet.

use drysheath_office::kinds::{Bare, Port, Role};
use drysheath_office::{Allocation, End, Free, FreeState, Office, Run, ThingId};
use drysheath_rules::{Finding, RuleId};
use drysheath_syntax::Medium;
use drysheath_text::{Edit, TextRange};
use drysheath_workspace::Analysis;

use super::Proposal;
use crate::spares::{no_longer_spare, written};

/// The rules whose results can be fixed by another number.
const RULES: [RuleId; 11] = [
    RuleId::PairAssignedTwice,
    RuleId::InputAssignedTwice,
    RuleId::FusePositionTwice,
    RuleId::AirPortsDoubled,
    RuleId::PairOutOfRange,
    RuleId::CablePairOutOfRange,
    RuleId::InputOutOfRange,
    RuleId::FusePositionOutOfRange,
    RuleId::AirPortOutOfRange,
    RuleId::SignalOnWrongInput,
    RuleId::PairNotFree,
];

/// Gives the end that a result is on the next free number. If other runs continue from there, they are changed too.
pub(super) fn next_free_number(analysis: &Analysis, finding: &Finding) -> Vec<Proposal> {
    let range = finding.place.range;
    if !RULES.contains(&finding.rule.id) {
        return Vec::new();
    }
    let office = &analysis.office;
    let Some((run, end)) = office
        .runs
        .iter()
        .flat_map(|run| run.ends.iter().map(move |end| (run, end)))
        .find(|(_, end)| end.range == range || end.detail == range)
    else {
        return Vec::new();
    };
    let Some((thing, port, (from, to))) = meant(office, run, end) else {
        return Vec::new();
    };
    let to_port = if finding.rule.id == RuleId::SignalOnWrongInput {
        other_input(office, thing, port)
    } else {
        Some(port)
    };
    let Some(to_port) = to_port else {
        return Vec::new();
    };
    let allocation = Allocation::while_writing(office, &analysis.networks, range);
    let next = allocation.free(office, thing, to_port, to - from + 1).next();
    let Some(next) = next.filter(|next| next.state != FreeState::Terminated) else {
        return Vec::new();
    };
    let detail = format!("{} {}", to_port.word, written(next));
    let title = format!("Use `{} {detail}`, which is free", office.name(thing));
    let alone = move_ends(office, [end], thing, to_port, next);
    let also = office
        .runs
        .iter()
        .filter(|other| other.range != run.range && other.medium == run.medium);
    let others = also.flat_map(|other| &other.ends).filter(|other| {
        let is_port = other.port.is_some_and(|other| std::ptr::eq(other, port));
        other.thing == Some(thing) && is_port && other.numbers == (from, to)
    });
    let together =
        others.map(|other| Proposal::new(title.clone(), move_ends(office, [end, other], thing, to_port, next)));
    std::iter::once(Proposal::new(title.clone(), alone))
        .chain(together)
        .collect()
}

/// Port and numbers of an end. A run that names a regulator without a port leaves by its first outlet.
fn meant(office: &Office, run: &Run, end: &End) -> Option<(ThingId, &'static Port, (u32, u32))> {
    let thing = end.thing?;
    if let Some(port) = end.port.filter(|port| port.is_counted()) {
        return Some((thing, port, end.numbers));
    }
    let kind = office.thing(thing).kind?;
    let mut ports = kind.ports_in(run.medium);
    let bare = ports.find(|port| port.is_counted() && port.bare == Bare::Source)?;
    Some((thing, bare, (1, 1)))
}

/// The input for the other kind of signal.
fn other_input(office: &Office, thing: ThingId, port: &'static Port) -> Option<&'static Port> {
    let kind = office.thing(thing).kind?;
    let wanted = if port.role == Role::ContactInput {
        Role::SensorInput
    } else {
        Role::ContactInput
    };
    kind.ports_in(Medium::Wire).find(|port| port.role == wanted)
}

fn move_ends<'e>(
    office: &Office,
    ends: impl IntoIterator<Item = &'e End>,
    thing: ThingId,
    port: &'static Port,
    next: Free,
) -> Vec<Edit> {
    let mut edits = no_longer_spare(office, thing, port, (next.from, next.to));
    let detail = format!("{} {}", port.word, written(next));
    for end in ends {
        let has_detail = end.port.is_some_and(Port::is_counted) && end.detail != end.range;
        let (range, replacement) = match end.colours {
            // Stated colours belong to the number before them.
            Some(colours) => {
                let own = office
                    .pair_colours(thing, next.from)
                    .map_or(String::new(), |own| format!(" {}-{}", own.tip.name(), own.ring.name()));
                (end.detail.cover(colours), format!("{detail}{own}"))
            }
            None if has_detail => (end.detail, detail.clone()),
            None => (TextRange::empty(end.range.end), format!(" {detail}")),
        };
        edits.push(Edit { range, replacement });
    }
    edits
}
