use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::UseCycle,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "Files of parts use each other in a ring.",
    explanation: "When each of two files needs the other, neither can be understood alone, and neither can be moved \
                  or reviewed alone. The parts are read all the same. Move what both need into a file that uses \
                  neither.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
use parts/frames
block tc : field-block
spare tc pair 1 .. 10
# file parts/blocks
use parts/frames
#   ^^^^^^^^^^^^
part block field-block { pairs 10 }
# file parts/frames
use parts/blocks
",
        passing: r"
use parts/frames
block tc : field-block
spare tc pair 1 .. 10
# file parts/blocks
part block field-block { pairs 10 }
# file parts/frames
use parts/blocks
",
    }),
    check: Check::WhileReading,
};
