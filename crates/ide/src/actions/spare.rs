//! Adds or corrects `spare` statements.

use drysheath_office::kinds::{KindId, Port, Role};
use drysheath_office::{Allocation, SpareRange, numbers_written};
use drysheath_rules::{Finding, RuleId};
use drysheath_text::{Edit, TextRange};
use drysheath_workspace::Analysis;

use super::{Action, ActionKind, Proposal, laid_out, together};
use crate::line_edits::{at_end, below};
use crate::spares::no_longer_spare;

/// Declares all unstated numbers of a block spare at once, where each result is on one gap.
pub(super) fn declare_rest_spare(analysis: &Analysis, finding: &Finding, findings: &[Finding]) -> Option<Action> {
    let on = finding.on.filter(|_| finding.rule.id == RuleId::PairNotSaidSpare)?;
    let is_same =
        |other: &&Finding| other.rule.id == finding.rule.id && other.on == Some(on) && other.accepted.is_none();
    let (_, mends) = together(analysis, findings.iter().filter(is_same));
    let kind = analysis.office.thing(on).kind?;
    let port = kind.ports.iter().find(|port| port.role == Role::Pair)?;
    let name = analysis.office.name(on);
    (mends.len() > 1).then(|| Action {
        title: format!("Declare the rest of `{name}` spare"),
        kind: ActionKind::Fix,
        edits: vec![spares(analysis, on, &rest(name, port))],
        mends,
        preferred: false,
    })
}

/// Declares open ports of a manifold or regulator spare.
pub(super) fn open_ports(analysis: &Analysis, finding: &Finding) -> Vec<Proposal> {
    let office = &analysis.office;
    let found = finding.on.and_then(|id| Some((id, office.thing(id).kind?)));
    let Some((id, kind)) = found else {
        return Vec::new();
    };
    let Some(port) = kind
        .ports
        .iter()
        .find(|port| port.role == Role::Outlet && port.is_counted())
    else {
        return Vec::new();
    };
    let name = office.name(id);
    vec![Proposal::new(
        format!("Declare the rest of `{name}` spare"),
        vec![spares(analysis, id, &rest(name, port))],
    )]
}

/// Removes used numbers from `spare` statements.
pub(super) fn used(analysis: &Analysis, finding: &Finding) -> Vec<Proposal> {
    let office = &analysis.office;
    let said = office
        .spares
        .iter()
        .find(|spare| spare.end.detail == finding.place.range && !spare.is_field);
    let Some((said, id, port)) = said.and_then(|said| Some((said, said.end.thing?, said.end.port?))) else {
        return Vec::new();
    };
    let ends = office
        .runs
        .iter()
        .flat_map(|run| &run.ends)
        .filter(|end| end.thing == Some(id) && end.port.is_some_and(|own| std::ptr::eq(own, port)));
    let mut taken: Vec<(u32, u32)> = ends.map(|end| end.numbers).collect();
    taken.sort_unstable();
    taken.dedup();
    let (first, last) = said.end.numbers;
    let mut left = Vec::new();
    let mut next = first;
    for (from, to) in taken.into_iter().filter(|(from, to)| *from <= last && first <= *to) {
        if from > next {
            left.push((next, from - 1));
        }
        next = next.max(to.saturating_add(1));
    }
    if next <= last {
        left.push((next, last));
    }
    let title = "Leave out of the spares what is used".to_owned();
    let Some(((from, to), rest)) = left.split_first() else {
        return vec![Proposal::new(title, no_longer_spare(office, id, port, (first, last)))];
    };
    let mut edits = vec![Edit {
        range: said.end.detail,
        replacement: format!("{} {}", port.word, numbers_written(*from, *to)),
    }];
    if !rest.is_empty() {
        edits.push(below(
            &office.text,
            said.range.end,
            &statements(office.name(id), port, rest),
        ));
    }
    vec![Proposal::new(title, edits)]
}

/// Declares the unused numbers of a thing spare, with the caret in its head. Pairs are covered by a rule.
pub(super) fn unsaid_of(analysis: &Analysis, range: TextRange) -> Option<Proposal> {
    let office = &analysis.office;
    let (id, thing) = office.things().find(|(_, thing)| {
        thing.range.start <= range.start && range.end <= thing.name.end && !thing.damaged && !thing.name.is_empty()
    })?;
    let kind = thing.kind.filter(|kind| {
        matches!(
            kind.id,
            KindId::Monitor | KindId::FusePanel | KindId::Manifold | KindId::Regulator
        )
    })?;
    let name = office.name(id);
    let allocation = Allocation::new(office, &analysis.networks);
    let mut lines: Vec<String> = Vec::new();
    for port in kind.ports.iter().filter(|port| port.is_counted()) {
        let open = allocation.unstated(office, id, port);
        if !open.is_empty() {
            lines.push(rest(name, port));
        }
    }
    let title = format!("Declare whatever nothing uses of `{name}` spare");
    (!lines.is_empty()).then(|| Proposal::new(title, vec![spares(analysis, id, &lines.join("\n"))]))
}

fn rest(name: &str, port: &Port) -> String {
    laid_out(&format!("spare {name} {} rest", port.word))
}

fn statements(name: &str, port: &Port, ranges: &[(u32, u32)]) -> String {
    let line =
        |(from, to): &(u32, u32)| laid_out(&format!("spare {name} {} {}", port.word, numbers_written(*from, *to)));
    ranges.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// Inserts after the other `spare` statements of the thing, or after the last `spare` statement, or at the end.
fn spares(analysis: &Analysis, id: drysheath_office::ThingId, lines: &str) -> Edit {
    let office = &analysis.office;
    let is_own = |spare: &&SpareRange| !spare.is_field && office.is_own(spare.range);
    let mut said = office.spares.iter().filter(is_own);
    let own = said.clone().rfind(|spare| spare.end.thing == Some(id));
    match own.or(said.next_back()) {
        Some(last) => below(&office.text, last.range.end, lines),
        None => at_end(office.own_text(), lines),
    }
}
