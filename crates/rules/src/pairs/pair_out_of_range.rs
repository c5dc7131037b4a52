use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Thing, ThingId, Value};

use super::out_of_range::report_out_of_range;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PairOutOfRange,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "A wire ends on a pair that the block does not have.",
    explanation: "A block has as many pairs as it says, and nobody on site will find one beyond them. Either the number is \
                  a typing mistake, or the block is larger than the record says. Look at the block.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
wire ps1 -> c101 pair 37 -> tb pair 26 -> m1 sensor 3
#                              ^^^^^^^
",
        passing: r"
wire ps1 -> c101 pair 37 -> tb pair 25 -> m1 sensor 3
# without spare tb pair 5
spare tb pair 3
spare tb pair 5 .. 24
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    report_out_of_range(inspection, sink, |kind, _| matches!(kind, KindId::Block | KindId::Lead));
    for (id, lead) in inspection.office.of_kind(KindId::Lead) {
        colours_beyond(inspection, id, lead, sink);
    }
}

/// Reports colours of pairs that a lead does not have.
fn colours_beyond(inspection: &Inspection<'_>, id: ThingId, lead: &Thing, sink: &mut Sink<'_>) -> Option<()> {
    let office = inspection.office;
    let most = lead.count(Key::Pairs)?;
    for field in lead.all(Key::Pair) {
        let Value::PairColours(pair, _) = field.value else {
            continue;
        };
        if pair > most {
            let name = office.name(id);
            let message = format!("`{name}` has {most} pairs, and its record says the colours of pair {pair}");
            let finding = sink.report(id, lead.name, message);
            finding
                .related(field.place, "the colours of that pair")
                .about([Subject::Ports(id, "pair")]);
            finding.help("correct the number, or `pairs` if the lead has more");
        }
    }
    Some(())
}
