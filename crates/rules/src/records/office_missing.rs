use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::OfficeMissing,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A file has things and no office that they stand in.",
    explanation: "Things and runs belong to an office: its height fixes the pressure of the air around them, and its stage how \
                  much of the record must be there. A file without one holds parts alone. Declare the office, or make what \
                  stands in the file parts.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
# file parts/blocks
block tc { pairs 10 }
#     ^^
spare tc pair 1 .. 10
",
        passing: r"
use parts/blocks
block tc : field-block
spare tc pair 1 .. 10
# file parts/blocks
part block field-block { pairs 10 }
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.itself.is_some() || office.unsure.things {
        return;
    }
    if let Some((id, first)) = office.things().next() {
        sink.report(id, first.name, "this file has things, and no office that they stand in")
            .help("declare it: `office NAME { title \"…\", elevation … m, stage planned }`");
    }
}
