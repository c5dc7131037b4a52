use drysheath_office::{NumberRange, Office, StatedRange};
use drysheath_syntax::PairState;

use super::numbers::numbered;
use super::taken::about_taken;
use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::precedence::Scope;
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
        if let ([first, ..], Some(last)) = (taken, taken.last()) {
            about_taken(inspection, &range, taken, report(office, stated, first, last, sink));
        }
    }
}

fn report<'s>(
    office: &Office,
    stated: &StatedRange,
    first: &NumberRange,
    last: &NumberRange,
    sink: &'s mut Sink<'_>,
) -> &'s mut Finding {
    let (noun, name) = (first.port.noun(), office.name(first.thing));
    let (which, said) = (numbered(noun, first.from, last.from), stated.said());
    let run = run_around(office, first.range);
    let message = if first.from == last.from {
        format!("{which} of `{name}` is {said}, and {run} takes it")
    } else {
        format!("some of {which} of `{name}` are {said} and in use, first by {run}")
    };
    let help = match stated.state {
        PairState::Assigned => "take a pair that is free, or correct what is declared assigned",
        PairState::Defective => "take a pair that is good, or delete the statement once this one is repaired",
        // These states tell how runs use a pair, not that none may.
        PairState::Bunched | PairState::Tapped => "correct one of the two statements",
    };
    sink.report(first.thing, first.range, message)
        .related(
            office.place(stated.range),
            format!("declared {} here", stated.state.word()),
        )
        .help(help)
}
