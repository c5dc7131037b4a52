use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::WordOutdated,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A word belongs to an earlier version of the language.",
    explanation: "The language has a number, and a few words of earlier languages have gone because they meant two things: \
                  `limit` was the most current of a panel and the level of an alarm. Each is understood as it was meant then, \
                  so that nothing is lost, but whoever learns the language today does not know it, and a later program will \
                  not either. The fix writes today's word, and `drysheath migrate` does so in a whole repository.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
fuse-panel pdf { positions 1 .. 10, limit 30 A }
#                                   ^^^^^
",
        passing: r"
fuse-panel pdf { positions 1 .. 10, current-max 30 A }
",
    }),
    check: Check::WhileReading,
};
