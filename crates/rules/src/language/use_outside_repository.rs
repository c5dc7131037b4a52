use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::UseOutsideRepository,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A file outside the repository is used.",
    explanation: "A repository must read the same for everyone who has a copy of it, and a file outside of it is not \
                  in the copy. A path starts at the repository's root and cannot lead out of it. Copy the parts into the repository and use them from there.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
use ../county/blocks
#   ^^^^^^^^^^^^^^^^
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
