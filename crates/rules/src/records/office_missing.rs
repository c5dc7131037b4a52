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
    summary: "A file has equipment but no office.",
    explanation: "Things and runs belong to an office: its elevation gives the pressure of the outside air, and its stage how \
                  complete the record must be. A file without an office holds parts only. Declare the office, or turn what is in \
                  the file into parts.",
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
    // Damaged text may have been a part.
    if let Some((id, first)) = office.things().find(|(_, thing)| !thing.damaged) {
        sink.report(id, first.name, "this file has equipment but no office")
            .help("declare it: `office NAME { title \"…\", elevation … m, stage planned }`");
    }
}
