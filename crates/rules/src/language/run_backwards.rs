use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RunBackwards,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A run is written against its arrows.",
    explanation: "An arrow points the way things go: air from the dryer to the cable, a signal from the device to the \
                  monitor's input, battery from the plant to the load, a ground conductor from the frame to the bar. A \
                  run the other way round is understood as it is meant, so that nothing else is reported of it, but \
                  whoever reads it at the frame follows it the wrong way. Reverse the run. Cables, pipes, valves and \
                  manifolds let air through in both directions, so that a run between two of them may point either \
                  way.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
wire m1 sensor 2 -> tb pair 2 -> p1 with 22 awg, 8 m
#    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
# without wire p1
",
        passing: r"
wire p1 -> tb pair 2 -> m1 sensor 2 with 22 awg, 8 m
",
    }),
    check: Check::WhileReading,
};
