use drysheath_office::kinds::{KindId, Role};
use drysheath_syntax::Medium;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::spare::not_said_spare;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PairNotSaidSpare,
    level: Level::Warning,
    while_planned: Some(Level::Note),
    yields_to: &[
        (
            Scope::Ports,
            &[
                RuleId::PairOutOfRange,
                RuleId::CablePairOutOfRange,
                RuleId::SpareOutOfRange,
                RuleId::SpareInUse,
                RuleId::PairAssignedTwice,
            ],
        ),
        (Scope::Wires, &[RuleId::RangeLengthsDiffer]),
    ],
    family: Family::Pairs,
    summary: "A pair is unused, and nothing says that it is spare.",
    explanation: "A record that is silent about a pair does not tell whether the pair is free or its line was forgotten. Say \
                  that it is spare, or write down what is on it. This looks at every block, and at cables of which a pair is \
                  used or said to be spare. A pair that is only terminated carries nothing, and is as spare as any.",
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
    if office.unsure.about(Medium::Wire) {
        return;
    }
    let allocation = inspection.allocation();
    for (id, thing) in office.things().filter(|(_, thing)| !thing.damaged) {
        let Some(kind) = thing
            .kind
            .filter(|kind| matches!(kind.id, KindId::Block | KindId::Cable))
        else {
            continue;
        };
        let Some(port) = kind.ports.iter().find(|port| port.role == Role::Pair) else {
            continue;
        };
        let (used, spare) = (allocation.used(id, port), allocation.spare(id, port));
        let is_kept = thing.is(KindId::Block) || !used.is_empty() || !spare.is_empty();
        if !is_kept {
            continue;
        }
        for gap in allocation.unstated(office, id, port) {
            not_said_spare(office, id, port, gap, sink).about([Subject::Wires]);
        }
    }
}
