use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PartUnknown,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A thing names a part that this file does not know.",
    explanation: "A part is known in the file that declares it and in every file that names that file with `use`. \
                  Without it the thing has none of the part's fields, and nothing of it is checked. Correct the \
                  name, or add the `use`.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
use parts/blocks
block tc : field-blok
#          ^^^^^^^^^^
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
