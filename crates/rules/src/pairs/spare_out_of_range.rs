use drysheath_office::printed;

use super::numbers::has;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SpareOutOfRange,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "Something that is declared spare does not exist.",
    explanation: "A spare that the thing does not have will be assigned one day, and then looked for in vain. Correct the range, \
                  or the count if the thing is larger than the record says.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
# without spare m1 sensor
spare m1 sensor 4 .. 9
#        ^^^^^^^^^^^^^
",
        passing: r"
# without spare m1 sensor
spare m1 sensor 4 .. 7
spare m1 sensor 8
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for spare in office.spares.iter().filter(|spare| !spare.is_rest) {
        let Some((id, port)) = spare.end.thing.zip(spare.end.port) else {
            continue;
        };
        let Some(rows) = office.rows(id, port) else {
            continue;
        };
        let (from, to) = spare.end.numbers;
        let Some((_, wrong)) = rows.lacking(from, to) else {
            continue;
        };
        let message = format!(
            "`{}` {}, and no {} {}",
            office.name(id),
            has(port, rows),
            port.noun(),
            printed(wrong)
        );
        sink.report(id, spare.end.detail, message)
            .about([Subject::Ports(id, port.word)])
            .help("correct the range, or the count if the thing has more");
    }
}
