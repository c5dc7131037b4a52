use drysheath_office::Fields;
use drysheath_office::kinds::{Key, KindId};

use super::open_ports::used;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::AirPortOutOfRange,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Regulators,
    summary: "An air run ends on a port or outlet that is not there.",
    explanation: "A manifold has as many ports, and a regulator as many outlets, as it says; a regulator that says nothing \
                  has one. A run that ends on a higher number ends nowhere. Either the number is a typing mistake or the \
                  record of the thing is: look at it.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
air mf port 5 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 m
#   ^^^^^^^^^
# without air mf port 2
",
        passing: r"
air mf port 4 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 m
spare mf port 2 .. 3
# without air mf port 2
# without spare mf port 3
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, thing) in office.things() {
        let (count, noun) = match thing.kind.map(|kind| kind.id) {
            Some(KindId::Manifold) => (thing.count(Key::Ports), "port"),
            // An unreadable count must not be replaced by the default.
            Some(KindId::Regulator) if !thing.damaged => (thing.count(Key::Outlets).or(Some(1)), "outlet"),
            _ => continue,
        };
        let Some(count) = count else { continue };
        for own in used(inspection, id).iter().filter(|own| own.to > count) {
            let plural = if count == 1 { "" } else { "s" };
            let message = format!(
                "`{}` has {count} {noun}{plural}, so there is no {noun} {}",
                office.name(id),
                own.to
            );
            sink.report(id, own.range, message)
                .about([Subject::Ports(id, own.port.word)])
                .help("correct the number, or the count if the thing has more");
        }
    }
}
