use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PartAmbiguous,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A thing takes a part that two used files give.",
    explanation: "Two files that are used may have parts of one name. Which of them a thing takes must not depend on which \
                  `use` comes first, so it is not taken at all. Say the file before the name, as in \
                  `: regulators/small`, or rename one of the parts.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
use parts/strips
use parts/frames
#   ^^^^^^^^^^^^
block tc : field-block
# file parts/strips
part block field-block { pairs 10 }
# file parts/frames
part block field-block { pairs 25 }
",
        passing: r"
use parts/strips
use parts/frames
block tc : strips/field-block
spare tc pair 1 .. 10
block td : frames/field-block
spare td pair 1 .. 25
# file parts/strips
part block field-block { pairs 10 }
# file parts/frames
part block field-block { pairs 25 }
",
    }),
    check: Check::WhileReading,
};
