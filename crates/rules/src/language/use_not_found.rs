use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::UseNotFound,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A file that is used does not exist or cannot be read.",
    explanation: "The parts of a file that is not there are unknown, and nothing is said of the things that take \
                  them. A path counts from the repository's root and has no extension. Correct the path, or add the \
                  file. No more than 250 files are read for one, those among them that others use in turn.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
use parts/block
#   ^^^^^^^^^^^
block tc : field-block
spare tc pair 1 .. 10
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
