use drysheath_office::kinds::KindId;

use super::out_of_range::report_out_of_range;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::CablePairOutOfRange,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "A wire goes through a pair that the cable does not have.",
    explanation: "A cable has as many pairs as it was made with, and a splicer sent to a pair beyond them loses a day. \
                  Either the number is a typing mistake, or the cable is larger than the record says, or another cable is \
                  meant.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
wire ps1 -> c101 pair 51 -> tb pair 3 -> m1 sensor 3
#                ^^^^^^^
",
        passing: r"
wire ps1 -> c101 pair 50 -> tb pair 3 -> m1 sensor 3
# without spare c101
spare c101 pair 1 .. 49
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    report_out_of_range(inspection, sink, |kind, _| kind == KindId::Cable);
}
