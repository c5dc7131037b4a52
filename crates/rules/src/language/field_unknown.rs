use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FieldUnknown,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A kind of thing has no field of that name.",
    explanation: "Nothing reads an unknown field, so what it was meant to say is missing. Usually it is a typing error. The \
                  reference lists the fields of each kind of thing; what fits \
                  none of them goes into `note`.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
block tc { pears 10 }
#          ^^^^^
spare tc pair 1 .. 10
",
        passing: r"
block tc { pairs 10 }
spare tc pair 1 .. 10
",
    }),
    check: Check::WhileReading,
};
