use drysheath_office::kinds::{KindId, Port, Role};
use drysheath_office::{Office, ThingId, numbers_written};
use drysheath_syntax::Medium;

use super::numbers::numbered;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::spare::not_said_spare;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PairNotSaidSpare,
    level: Level::Note,
    while_planned: None,
    yields_to: &[
        (
            Scope::Ports,
            &[
                RuleId::PairOutOfRange,
                RuleId::CablePairOutOfRange,
                RuleId::SpareOutOfRange,
                RuleId::SpareInUse,
                RuleId::PairAssignedTwice,
                RuleId::PairStateTwice,
            ],
        ),
        (
            Scope::Wires,
            &[
                RuleId::RangeLengthsDiffer,
                RuleId::ConnectorsDoNotMate,
                RuleId::ConnectorMatedTwice,
            ],
        ),
    ],
    family: Family::Pairs,
    summary: "The record says nothing about a pair.",
    explanation: "A record that is silent about a pair does not tell whether the pair is free, carries another service, or had its \
                  wire forgotten. Write down what is on it, or say that it is spare. Most pairs of a cable carry customers, \
                  as in `assigned c101 pair 1 .. 30 to \"subscribers\"`: never call a cable pair spare before somebody has \
                  measured it, or the next crew cuts a customer off. A pair that is broken is `defective`. This looks at every block, and at cables of which the record says anything. A \
                  pair that is only terminated carries nothing, and is as spare as any.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
block tb { pairs 25 }
#     ^^
# without spare tb pair 5
spare tb pair 5 .. 23
",
        passing: r"
# without spare tb pair 5
spare tb pair 5 .. 23
spare tb pair 24 .. 25
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.unsure.about_spares(Medium::Wire) {
        return;
    }
    let allocation = inspection.allocation();
    for (id, thing) in office.things().filter(|(_, thing)| !thing.damaged) {
        let Some(kind) = thing
            .kind
            .filter(|kind| matches!(kind.id, KindId::Block | KindId::Lead | KindId::Cable))
        else {
            continue;
        };
        let Some(port) = kind.ports.iter().find(|port| port.role == Role::Pair) else {
            continue;
        };
        let (used, spare) = (allocation.used(id, port), allocation.spare(id, port));
        let is_kept =
            !thing.is(KindId::Cable) || !used.is_empty() || !spare.is_empty() || allocation.has_stated(id, port);
        if !is_kept {
            continue;
        }
        for gap in allocation.unstated(office, id, port) {
            if thing.is(KindId::Cable) {
                of_cable(office, id, port, gap, sink);
            } else {
                not_said_spare(office, id, port, gap, sink).about([Subject::Wires]);
            }
        }
    }
}

/// Reports pairs of a cable that no statement names. Other services may use them, so no fix offers to declare them
/// spare.
fn of_cable(office: &Office, id: ThingId, port: &Port, (from, to): (u32, u32), sink: &mut Sink<'_>) {
    let name = office.name(id);
    let it = if from == to { "it" } else { "them" };
    let message = format!(
        "the record does not say what is on {} of `{name}`",
        numbered(port.word, from, to)
    );
    sink.report(id, office.thing(id).name, message)
        .about([Subject::Ports(id, port.word), Subject::Wires])
        .help(format!(
            "write down what is on {it}, as in `assigned {name} {} {} to \"subscribers\"`, or call {it} spare once somebody \
             has measured that nothing is",
            port.word,
            numbers_written(from, to)
        ));
}
