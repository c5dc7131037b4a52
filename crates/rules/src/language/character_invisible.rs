use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::CharacterInvisible,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A text has invisible characters.",
    explanation: "Control characters, blanks without width and marks that turn the direction of writing come along when a text is \
                  copied from elsewhere. A search for the text as it looks does not find it, and two texts that look the same differ. The joiners that some scripts are written with may stay. The fix deletes all of them in the file.",
    source: Source::Language,
    example: Some(Example {
        failing: "
block tb { pairs 25, note \"left\u{200b} of the door\" }
#                              ^
",
        passing: r#"
block tb { pairs 25, note "left of the door" }
"#,
    }),
    check: Check::WhileReading,
};
