use drysheath_office::kinds::Role;
use drysheath_office::{NumberRange, Terminal};
use drysheath_syntax::{Medium, PairState};

use super::numbers::numbered;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PairStateIdle,
    level: Level::Note,
    while_planned: None,
    yields_to: &[(
        Scope::Ports,
        &[
            RuleId::BunchWiredApart,
            RuleId::PairOutOfRange,
            RuleId::CablePairOutOfRange,
            RuleId::InputOutOfRange,
        ],
    )],
    family: Family::Pairs,
    summary: "A pair is said to be tapped or bunched, and nothing is wired that way.",
    explanation: "`tapped` allows a third wire on a pair while an office is cut over, and `bunched` makes several pairs one. Where no third \
                  wire is there any more, or no run takes any of the bunched pairs, the line only hides the next slip on these \
                  pairs. Delete it once the work is done.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
tapped tb pair 3 because "cut-over to the new frame, order W-7"
#         ^^^^^^
"#,
        passing: r#"
tapped tb pair 3 because "cut-over to the new frame, order W-7"
block new-tb { pairs 25 }
wire tb pair 3 -> new-tb pair 3
spare new-tb pair 1 .. 2
spare new-tb pair 4 .. 25
"#,
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    if office.unsure.about(Medium::Wire) {
        return;
    }
    for said in &office.wired {
        let Some(range) = NumberRange::of(&said.end) else {
            continue;
        };
        let mut terminals = wire.terminals().filter(|(_, terminal)| {
            let Terminal { thing, port, number } = **terminal;
            said.is_about(thing, port, number) && port.role == Role::Pair
        });
        let is_idle = match said.state {
            PairState::Tapped => !terminals.any(|(id, _)| wire.connections_at(id).len() > 2),
            _ => terminals.next().is_none(),
        };
        if !is_idle || (said.state == PairState::Bunched && range.from == range.to) {
            continue;
        }
        let which = numbered(range.port.noun(), range.from, range.to);
        let is = if range.from == range.to { "is" } else { "are" };
        let why = match said.state {
            PairState::Tapped => "no third wire is there",
            _ => "no run takes any of them",
        };
        let name = office.name(range.thing);
        let message = format!("{which} of `{name}` {is} said to be {}, and {why}", said.state.word());
        sink.report(range.thing, range.range, message)
            .about([Subject::Ports(range.thing, range.port.word)])
            .help("delete the line if the work is done, or correct the numbers");
    }
}
