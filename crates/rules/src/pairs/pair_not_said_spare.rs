use drysheath_office::kinds::{KindId, Port, Role};
use drysheath_office::{Office, Thing, ThingId};
use drysheath_syntax::{Fix, Medium};
use drysheath_text::TextRange;

use super::numbers::numbered;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

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
            report(office, (id, thing), port, gap, sink);
        }
    }
}

fn report(office: &Office, (id, thing): (ThingId, &Thing), port: &Port, (from, to): (u32, u32), sink: &mut Sink<'_>) {
    let name = office.name(id);
    let are = if from == to { "is" } else { "are" };
    let message = format!(
        "{} of `{name}` {are} unused and not said to be spare",
        numbered(port.word, from, to)
    );
    let numbers = if from == to {
        from.to_string()
    } else {
        format!("{from} .. {to}")
    };
    let statement = format!("spare {name} {} {numbers}", port.word);
    let title = format!("Add `{statement}`");
    sink.report(id, thing.name, message)
        .help(if from == to {
            "say so, or write down what is on it"
        } else {
            "say so, or write down what is on them"
        })
        .about([Subject::Ports(id, port.word), Subject::Wires])
        .fix(add_line(office, thing.range.end, &statement, title));
}

/// Puts a statement on a line of its own after the line that holds `after`.
fn add_line(office: &Office, after: u32, statement: &str, title: String) -> Fix {
    let rest = office.text.get(after as usize..).unwrap_or_default();
    let line = rest.split('\n').next().unwrap_or_default();
    let (line, end) = match line.strip_suffix('\r') {
        Some(line) => (line, "\r\n"),
        None => (line, "\n"),
    };
    let at = TextRange::empty(after + line.len() as u32);
    Fix::replace(at, format!("{end}{statement}"), title)
}
