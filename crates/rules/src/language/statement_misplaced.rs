use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::StatementMisplaced,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "The file that draws an assembly holds what only an office can have.",
    explanation: "A file whose first statement is an `assembly` draws it: things, the runs between them and what is spare of them, \
                  once for all offices that place it. An assembly within an assembly would hide what is in it, so there is none. \
                  What is read on a visit, and what is accepted for a while, is said of one office. Write these in the office.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
use parts/bracket
assembly b1 : bracket
spare b1/plug pair rest
# file parts/bracket
assembly bracket { model "Quern B1" }
block plug { pairs 4 }
 assembly inner { model "Quern B0" }
#^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
"#,
        passing: r#"
use parts/bracket
assembly b1 : bracket
spare b1/plug pair rest
# file parts/bracket
assembly bracket { model "Quern B1" }
block plug { pairs 4 }
"#,
    }),
    check: Check::WhileReading,
};
