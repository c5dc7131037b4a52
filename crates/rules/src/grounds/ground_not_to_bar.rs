use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::GroundNotToBar,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Grounds,
    summary: "A ground conductor ends on something that is not a ground bar.",
    explanation: "A frame ground that ends on a pipe, a manifold or a cable hangs on whatever that touches, which may be \
                  nothing, and it carries a fault's current into metal that somebody works on. It goes to a ground bar of \
                  the office. Local code and licensed practice govern what may serve as one.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
ground m1 frame -> mf with 6 awg, 3 m
#                  ^^
",
        passing: r"
ground m1 frame -> ogb with 6 awg, 3 m
",
    }),
    check: Check::WhileReading,
};
