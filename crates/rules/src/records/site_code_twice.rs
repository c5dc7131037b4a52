use std::collections::HashMap;
use std::collections::hash_map::Entry;

use crate::finding::Sink;
use crate::lint::RepositoryInspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SiteCodeTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "Two offices have one site code.",
    explanation: "The site code is what the monitoring system, the tickets and the keys go by. With two offices under one code, \
                  a crew is sent to the wrong one. Usually an office was copied and its code not changed; capitals and blanks make no \
                  difference.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
# file offices/birch-lake
office birch-lake { title "Birch Lake", site "elmh01 ", elevation 290 m, stage planned }
#                                       ^^^^^^^^^^^^^^
block tc { pairs 10 }
spare tc pair rest
"#,
        passing: r#"
# file offices/birch-lake
office birch-lake { title "Birch Lake", site "ELMH02", elevation 290 m, stage planned }
block tc { pairs 10 }
spare tc pair rest
"#,
    }),
    check: Check::Repository(check),
};

fn check(repository: &RepositoryInspection<'_>, sink: &mut Sink<'_>) {
    let mut first = HashMap::new();
    for summary in repository.summaries {
        let Some((code, place)) = &summary.site else { continue };
        let code = code.trim();
        let without_blanks: String = code.split_whitespace().collect();
        if code.is_empty() {
            continue;
        }
        match first.entry(without_blanks.to_lowercase()) {
            Entry::Vacant(free) => {
                free.insert((&summary.office, *place));
            }
            Entry::Occupied(taken) => {
                let (office, earlier) = taken.get();
                sink.report_at(
                    None,
                    *place,
                    format!("the site code {code} is already that of `{office}`"),
                )
                .related(*earlier, format!("the site code of `{office}`"))
                .help("find out which of the two has it, and enter the other's own");
            }
        }
    }
}
