use drysheath_office::{NumberRange, Office, StatedRange};
use drysheath_syntax::PairState;

use super::circuit::circuit;
use super::numbers::numbered;
use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PairNotFree,
    level: Level::Error,
    while_planned: None,
    yields_to: &[
        (
            Scope::Circuit,
            &[
                RuleId::PairAssignedTwice,
                RuleId::InputAssignedTwice,
                RuleId::SignalWiredTwice,
            ],
        ),
        (Scope::Terminal, &[RuleId::SignalOnWrongInput]),
    ],
    family: Family::Pairs,
    summary: "A run takes a pair or an input that is assigned to others or defective.",
    explanation: "Whoever splices by this record cuts off the service that has the pair, or waits for a sensor that a broken pair \
                  never brings in. Take another pair, or correct what is said of this one. A pair that is only terminated, with \
                  neither a device nor an input on it, is not taken: it may be assigned or defective as it stands, and what it is \
                  joined with is as little free as it is.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
defective c101 pair 37 because "open at mh-4"
wire ps1 -> c101 pair 37 -> tb pair 3 -> m1 sensor 3
#           ^^^^^^^^^^^^
"#,
        passing: r#"
# without spare c101 pair 38
defective c101 pair 37 because "open at mh-4"
wire ps1 -> c101 pair 38 -> tb pair 3 -> m1 sensor 3
spare c101 pair 39 .. 50
"#,
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for stated in &office.stated {
        let Some(range) = NumberRange::of(&stated.end) else {
            continue;
        };
        let taken = inspection.allocation().used_within(&range);
        if let [first, ..] = taken {
            let last = taken.last().unwrap_or(first);
            let finding = report(office, stated, first, last, sink);
            finding.about([Subject::Ports(range.thing, range.port.word)]);
            finding.about(subjects(inspection, first));
            for own in taken.iter().skip(1) {
                finding.and_about(subjects(inspection, own));
            }
        }
    }
}

/// The wire on a number that is in use: it may be there only because two circuits meet.
fn subjects(inspection: &Inspection<'_>, used: &NumberRange) -> impl Iterator<Item = Subject> {
    let wire = &inspection.networks.wire;
    let terminal = wire.find(used.thing, used.port, used.from);
    terminal
        .into_iter()
        .flat_map(|id| [Subject::Terminal(id), circuit(wire, id)])
}

fn report<'s>(
    office: &Office,
    stated: &StatedRange,
    first: &NumberRange,
    last: &NumberRange,
    sink: &'s mut Sink<'_>,
) -> &'s mut Finding {
    let (noun, name) = (first.port.noun(), office.name(first.thing));
    let (which, is) = if first.from == last.from {
        (numbered(noun, first.from, first.from), "is")
    } else {
        (numbered(noun, first.from, last.from), "are, in part,")
    };
    let run = run_around(office, first.range);
    let message = format!("{which} of `{name}` {is} {}, and {run} takes it", stated.said());
    let help = match stated.state {
        PairState::Assigned => "take a pair that is free, or correct what is said to be assigned",
        PairState::Defective => "take a pair that is good, or delete the statement once this one is mended",
    };
    sink.report(first.thing, first.range, message)
        .related(
            office.place(stated.range),
            format!("said to be {} here", stated.state.word()),
        )
        .help(help)
}
