use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RouteEnd,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "An end of a route is no office that uses it.",
    explanation: "A route says by `from` and `to` which two offices it joins, and both of them `use` its file. Where one of the two is \
                  missing, the air of one office is computed without the other, and nobody sees that both give away one pair. Name \
                  the files of both offices in the route, by their paths from the root without extension, and write the `use` into \
                  both.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
# file routes/leased
route leased { from offices/oak, to offices/forkwater }
#                                   ^^^^^^^^^^^^^^^^^
lead lp { pairs 2, loop 900 ohm }
# file offices/oak
use routes/leased
office oak { title "Oak", elevation 90 m, stage planned }
spare lp pair rest
# file offices/forkwater
office forkwater { title "Forkwater", elevation 100 m, stage planned }
block tb { pairs 2 }
spare tb pair rest
"#,
        passing: r#"
# file routes/leased
route leased { from offices/oak, to offices/forkwater }
lead lp { pairs 2, loop 900 ohm }
# file offices/oak
use routes/leased
office oak { title "Oak", elevation 90 m, stage planned }
spare lp pair rest
# file offices/forkwater
use routes/leased
office forkwater { title "Forkwater", elevation 100 m, stage planned }
spare lp pair rest
"#,
    }),
    check: Check::WhileReading,
};
