use drysheath_office::kinds::KindId;

use super::beyond::report_beyond;
use crate::finding::Sink;
use crate::lint::Inspection;
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
    report_beyond(inspection, sink, |kind, _| kind == KindId::Block);
}
