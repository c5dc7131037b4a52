use super::monitor_address::shared;
use crate::finding::Sink;
use crate::lint::RepositoryInspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LineShared,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "Two monitors report over one line or address.",
    explanation: "Each monitor answers at a line or address of its own. With two at one, the monitoring system hears one office \
                  and takes it for the other, and the alarms of one of them are lost. Usually an office was copied and its \
                  link not changed. Find out which of the two has it, and enter the other's own. Schemes, paths, leading zeros and \
                  blanks make no difference; two different ports of one address do. Private addresses of two offices are left to \
                  `private-address-twice`.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
monitor m2 {
    sensors       2
    draws         40 W
    window        -40.5 V .. -57 V
    wants-filtered yes
    ground-size   6 awg
    link          lan " 192.0.2.11"
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
power pdf fuse 2 -> m2 with 3 A, 14 awg, 6 m
ground m2 frame -> ogb with 6 awg, 3 m
spare m2 sensor 1 .. 2
# without spare pdf fuse 2
spare pdf fuse 3 .. 10
"#,
        passing: r#"
monitor m2 {
    sensors       2
    draws         40 W
    window        -40.5 V .. -57 V
    wants-filtered yes
    ground-size   6 awg
    link          lan "192.0.2.12"
}
power pdf fuse 2 -> m2 with 3 A, 14 awg, 6 m
ground m2 frame -> ogb with 6 awg, 3 m
spare m2 sensor 1 .. 2
# without spare pdf fuse 2
spare pdf fuse 3 .. 10
"#,
    }),
    check: Check::Repository(check),
};

fn check(repository: &RepositoryInspection<'_>, sink: &mut Sink<'_>) {
    for shared in shared(repository).into_iter().filter(|shared| !shared.may_be_right) {
        let (what, whose, link) = (shared.what(), shared.whose(), shared.later.1);
        let written = link.to.trim();
        let message = format!("the {what} {written} is already that of {whose}");
        sink.report_at(Some(link.thing), link.place, message)
            .related(
                shared.earlier.1.place,
                format!("{whose} has the {what} {}", shared.earlier.1.to.trim()),
            )
            .help("find out which of the two has it, and enter the other's own");
    }
}
