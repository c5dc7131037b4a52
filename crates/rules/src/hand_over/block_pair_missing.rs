use drysheath_office::kinds::KindId;

use super::inputs::recorded_inputs;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::BlockPairMissing,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::HandOver,
    summary: "A signal comes to an input over no pair of a block.",
    explanation: "A line is opened and measured at the block, and its record says at which pair. A wire without a pair of a \
                  block leaves that out. Write the pair that it is connected to.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
wire p1 -> m1 sensor 2
pressure-sensor p1 {
#               ^^
    span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, normal 10 psi, proof 30 psi
    limit low 8 psi major deadband 0.3 psi
}
",
        passing: r"
wire p1 -> tb pair 12 -> m1 sensor 2
",
    }),
    check: Check::HandOver(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for input in recorded_inputs(inspection) {
        if !input.passes(inspection, KindId::Block) {
            let (device, called) = (input.name, input.called_input(inspection));
            input
                .report(sink, format!("`{device}` comes to {called} over no pair of a block"))
                .help("write the pair of the block that it is connected to, between the device and the input");
        }
    }
}
