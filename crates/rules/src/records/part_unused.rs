use std::collections::HashSet;

use crate::finding::Sink;
use crate::lint::RepositoryInspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PartUnused,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "No thing is made from a part.",
    explanation: "Nobody checks an unused part; it goes out of date, and then somebody copies it. Delete it, or use it for the \
                  things that it describes. This is looked for only when the whole repository is linted.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
use parts/blocks
block tc { pairs 10 }
spare tc pair 1 .. 10
# file parts/blocks
part block field-block { pairs 10 }
#          ^^^^^^^^^^^
",
        passing: r"
use parts/blocks
block tc : field-block
spare tc pair 1 .. 10
# file parts/blocks
part block field-block { pairs 10 }
",
    }),
    check: Check::Repository(check),
};

fn check(repository: &RepositoryInspection<'_>, sink: &mut Sink<'_>) {
    // An unreadable statement may use the part.
    if !repository.whole || repository.summaries.iter().any(|summary| summary.unsure) {
        return;
    }
    let taken: HashSet<&str> = repository
        .summaries
        .iter()
        .flat_map(|summary| &summary.taken)
        .map(|name| &**name)
        .collect();
    for (name, place) in repository.summaries.iter().flat_map(|summary| &summary.parts) {
        if !taken.contains(&**name) {
            sink.report_at(
                None,
                *place,
                format!("no thing in this repository is made from the part `{name}`"),
            )
            .help("delete the part, or use it for the things that it describes");
        }
    }
}
