use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::NestingTooDeep,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "Blocks nest deeper than the language goes.",
    explanation: "A thing has a block, and a field of it may have one: a section of a branch of a cable is as deep \
                  as it gets. Blocks far deeper than that are a slip of an editor or of a program that wrote the \
                  file. The statement is not read; count its braces.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
block tc { a { a { a { a { a { a { a { a { a { a { a { a { a { a { a { a { } } } } } } } } } } } } } } } } }
#                                                                        ^
",
        passing: r#"
office elm-hollow {
    title "Elm Hollow", site "ELMH01", elevation 310 m, stage installed, coldest -25 degC
    air-minimum { underground 5 psi, buried 3 psi, aerial 1 psi }
}
"#,
    }),
    check: Check::WhileReading,
};
