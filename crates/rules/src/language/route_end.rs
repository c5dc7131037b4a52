use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RouteEnd,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "An office and a route do not agree on which end is where.",
    explanation: "A route states by `from` and `to` which two offices it joins, and both of them `use` its file. Without that the \
                  air of one office is computed without the other, and a pair that both give away is not found. Its cables begin \
                  at `from` and end at `to`: the office at `from` joins their inlet, the one at `to` their `end`. Name the \
                  files of both offices in the route, by their paths from the root without extension, write the `use` into both, and join each cable at the end that is in \
                  that office.",
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
