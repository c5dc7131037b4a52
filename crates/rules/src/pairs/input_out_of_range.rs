use super::out_of_range::report_out_of_range;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use drysheath_office::kinds::Role;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::InputOutOfRange,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "A wire ends on an input or output that the monitor does not have.",
    explanation: "A monitor has as many sensor and contact inputs and control outputs as it says; one that says no number of contact \
                  inputs has none. What is wired beyond them is read by nobody. Give the device a free input, or correct the \
                  monitor's record.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
wire d1 contact humidity -> tb pair 4 -> m1 contact 5
#                                           ^^^^^^^^^
",
        passing: r"
wire d1 contact humidity -> tb pair 4 -> m1 contact 4
# without spare m1 contact
spare m1 contact 1 .. 3
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    report_out_of_range(inspection, sink, |_, role| role.is_input() || role == Role::Output);
}
