use drysheath_office::kinds::{Connector, Key, Role};
use drysheath_office::{End, Fields, Office, connector_pairs};
use drysheath_syntax::Medium;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ConnectorsDoNotMate,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "A run joins two connectors that do not fit each other.",
    explanation: "A plug goes into a socket that has as many pairs. Whoever is sent with the wrong one drives back for an adapter, or \
                  wires pair by pair what the record says is plugged together. Look at both connectors.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
block j1 { pairs 4, connector plug }
block j2 { pairs 4, connector plug }
wire j1 -> j2
#          ^^
spare j1 pair rest
spare j2 pair rest
",
        passing: r"
block j1 { pairs 4, connector plug }
block j2 { pairs 4, connector socket }
wire j1 -> j2
spare j1 pair rest
spare j2 pair rest
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let wires = office
        .runs
        .iter()
        .filter(|run| run.medium == Medium::Wire && !run.damaged);
    for run in wires {
        if let [one, other] = run.ends.as_slice()
            && is_connector(one)
            && is_connector(other)
            && let Some((message, help)) = misfit(office, one, other)
            && let Some(id) = other.thing
        {
            sink.report(id, other.range, message)
                .about([Subject::Wires])
                .related(office.place(one.range), "the other connector")
                .help(help);
        }
    }
}

/// Whether an end is a connector rather than one of its pairs.
pub(super) fn is_connector(end: &End) -> bool {
    end.port.is_some_and(|port| port.role == Role::Connector)
}

/// Why two connectors do not go together, and what to do.
fn misfit(office: &Office, one: &End, other: &End) -> Option<(String, &'static str)> {
    for end in [one, other] {
        let thing = office.thing(end.thing?);
        if thing.damaged {
            return None;
        }
        let name = thing.name.of(&office.text);
        if !thing.has(Key::Connector) {
            let message = format!("`{name}` says of no connector that it has");
            return Some((message, "say `connector plug` or `connector socket`, or wire its pairs"));
        }
        if connector_pairs(office, end)?.is_empty() && end.numbers.0 > 0 {
            let message = format!("`{name}` has no connector {}: each is of 25 pairs", end.numbers.0);
            return Some((message, "correct the number, or how many pairs it has"));
        }
    }
    let sex = |end: &End| office.thing(end.thing?).choice::<Connector>(Key::Connector);
    let (one_sex, other_sex) = (sex(one)?, sex(other)?);
    let (one_name, other_name) = (office.end_name(one), office.end_name(other));
    if one_sex == other_sex {
        let message = format!("`{one_name}` and `{other_name}` are both {}s", one_sex.word());
        return Some((
            message,
            "a plug goes into a socket: look at both, and correct the record",
        ));
    }
    let (count, other_count) = (
        connector_pairs(office, one)?.len(),
        connector_pairs(office, other)?.len(),
    );
    (count != other_count).then(|| {
        (
            format!("`{one_name}` has {count} pairs and `{other_name}` {other_count}, so they do not mate"),
            "say which connector of the larger one it is, such as `tb connector 1`, or wire the pairs",
        )
    })
}
