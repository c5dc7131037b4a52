use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PartChain,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Language,
    summary: "A part is of a part that is of another one itself.",
    explanation: "A part may be of one other part: what a county says, and what it leaves to its region. With a third, two files would no longer be enough to see what an office says. Write what the one in the middle says into the part, \
                  and let the part be of the last one. No part can be of itself.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
use parts/blocks
block tc : door
spare tc pair rest
# file parts/blocks
part block any { pairs 10 }
part block wall : any { model "W-10" }
part block door : wall { note "left of the door" }
#                 ^^^^
"#,
        passing: r#"
use parts/blocks
block tc : door
spare tc pair rest
# file parts/blocks
part block any { pairs 10 }
part block door : any { note "left of the door" }
"#,
    }),
    check: Check::WhileReading,
};
