use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::KindUnknown,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A statement names an unknown kind of thing.",
    explanation: "A statement that starts with neither a run nor one of the known kinds says nothing that can be \
                  checked. Its name counts as declared, so that what refers to it is not reported as well. The \
                  reference lists the kinds.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
 blok tc { pairs 10 }
#^^^^
spare tc pair 1 .. 10
",
        passing: r"
 block tc { pairs 10 }
spare tc pair 1 .. 10
",
    }),
    check: Check::WhileReading,
};
