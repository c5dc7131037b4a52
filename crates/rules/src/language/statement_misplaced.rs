use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::StatementMisplaced,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A file holds a statement that belongs in another kind of file.",
    explanation: "A file whose first statement is an `assembly` draws it once for all offices that place it: its things, the runs \
                  between them, and what is spare. A file whose first statement is a `route` describes cables, air pipes and \
                  leads between two offices, and what is spare on them. Neither holds an assembly, a route, a reading or an \
                  acceptance: an assembly is placed in an office, a route has a file of its own, and a reading or an acceptance \
                  is about one office. Other equipment at the end of a route is declared in the office where it is. Write the \
                  statement in the file where it belongs.",
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
