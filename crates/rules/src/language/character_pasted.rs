use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::CharacterPasted,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A file has characters of a word processor in the place of those of a keyboard.",
    explanation: "Word processors and web pages write a longer minus sign, curved quotes and blanks that do not break a \
                  line. Where they can mean one thing only, they are read as `-`, `\"` and a blank. But a search for `-48 V` does \
                  not find what looks the same, and other programs stumble over it. The fix writes the characters of the keyboard \
                  in the whole file.",
    source: Source::Language,
    example: Some(Example {
        failing: "
battery main { nominal \u{2212}48 V, working \u{2212}43 V .. \u{2212}54 V, filtered\u{a0}yes }
#                      ^
",
        passing: r"
battery main { nominal -48 V, working -43 V .. -54 V, filtered yes }
",
    }),
    check: Check::WhileReading,
};
