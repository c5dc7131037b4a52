use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PartWrongKind,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A thing takes its fields from a part of another kind.",
    explanation: "A part describes one kind of thing: the fields of a regulator say nothing of a valve. Name the \
                  part that was meant, or correct the kind of the thing.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
use parts/blocks
ground-bar gb2 : field-block
#                ^^^^^^^^^^^
# file parts/blocks
part block field-block { pairs 10 }
",
        passing: r"
use parts/blocks
block tc : field-block
spare tc pair 1 .. 10
# file parts/blocks
part block field-block { pairs 10 }
",
    }),
    check: Check::WhileReading,
};
