use super::numbers::has;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RestEmpty,
    level: Level::Note,
    while_planned: None,
    yields_to: &[
        (
            Scope::Ports,
            &[
                RuleId::PairOutOfRange,
                RuleId::CablePairOutOfRange,
                RuleId::InputOutOfRange,
                RuleId::FusePositionOutOfRange,
                RuleId::AirPortOutOfRange,
                RuleId::SpareOutOfRange,
                RuleId::SpareInUse,
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
    summary: "A `rest` is declared spare, and nothing is left of it.",
    explanation: "`rest` is all that no other statement uses. Where every number is used already, the line says nothing, \
                  and whoever counts on a spare finds none. It does no harm where the thing has filled up over the years; on a \
                  new line, a range elsewhere may reach too far.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
spare tb pair rest
#        ^^^^^^^^^
",
        passing: r"
# without spare tb pair 5
spare tb pair 5 .. 24
spare tb pair rest
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let mut seen: Vec<(_, *const _)> = Vec::new();
    for rest in office.spares.iter().filter(|spare| spare.is_rest) {
        let Some((id, port)) = rest.end.thing.zip(rest.end.port) else {
            continue;
        };
        // A second `rest` is always empty.
        let key = (id, std::ptr::from_ref(port));
        if seen.contains(&key) {
            continue;
        }
        seen.push(key);
        let is_left = inspection
            .allocation()
            .spare(id, port)
            .iter()
            .any(|own| own.range == rest.end.detail);
        let Some(rows) = office.rows(id, port).filter(|_| !is_left) else {
            continue;
        };
        let message = format!(
            "no {} of `{}` is left to be spare: it {}",
            port.noun(),
            office.name(id),
            has(port, rows)
        );
        sink.report(id, rest.end.detail, message)
            .about([Subject::Ports(id, port.word), Subject::Wires])
            .help("delete it, or correct the range that reaches too far");
    }
}
