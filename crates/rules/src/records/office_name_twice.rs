use std::collections::HashMap;

use crate::finding::Sink;
use crate::lint::RepositoryInspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::OfficeNameTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "Two offices of a repository have one name.",
    explanation: "An office without a site code is known by its name: in the keys of its records, in comparisons and in \
                  messages. With two of one name, or a name that is another office's site code, the records of one \
                  replace those of the other. Mostly an office was copied and its name not changed; capitals make no \
                  difference.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
# file offices/birch-lake
office elm-hollow { title "Birch Lake", elevation 290 m, stage planned }
#      ^^^^^^^^^^
block tc { pairs 10 }
spare tc pair rest
"#,
        passing: r#"
# file offices/birch-lake
office birch-lake { title "Birch Lake", elevation 290 m, stage planned }
block tc { pairs 10 }
spare tc pair rest
"#,
    }),
    check: Check::Repository(check),
};

fn check(repository: &RepositoryInspection<'_>, sink: &mut Sink<'_>) {
    let offices = || repository.summaries.iter().filter(|summary| !summary.office.is_empty());
    let mut names = HashMap::new();
    for summary in offices() {
        let (office, place) = (&summary.office, summary.office_place);
        if let Some(first) = names.get(&office.to_lowercase()) {
            sink.report_at(
                None,
                place,
                format!("another office of this repository is named `{office}`"),
            )
            .related(*first, "the other office")
            .help("rename one of the two: records and comparisons know an office by its name");
        }
        names.entry(office.to_lowercase()).or_insert(place);
    }
    // An office without a site code is identified by its name.
    let without_code = offices().filter(|summary| summary.site.is_none());
    let mut by_name: HashMap<_, _> = without_code
        .map(|summary| (summary.office.to_lowercase(), summary))
        .collect();
    for summary in offices() {
        let Some((code, place)) = &summary.site else { continue };
        if let Some(other) = by_name.remove(&code.trim().to_lowercase()) {
            let office = &other.office;
            sink.report_at(
                None,
                other.office_place,
                format!("the name `{office}` is the site code of another office"),
            )
            .related(*place, format!("the site code of `{}`", summary.office))
            .help("give it a site code of its own: without one, the records of both have the same keys");
        }
    }
}
