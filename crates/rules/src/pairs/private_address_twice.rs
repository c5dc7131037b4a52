use super::monitor_address::shared;
use crate::finding::Sink;
use crate::lint::RepositoryInspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PrivateAddressTwice,
    level: Level::Note,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "The monitors of two offices have one private address.",
    explanation: "A private address means another monitor behind each router, so that two offices may well have the same. Within one \
                  network it is one address, and usually an office was copied and its link not changed. Make sure that \
                  the two are in different networks, and accept this with that reason.",
    source: Source::FromMemory("RFC 1918, RFC 4193"),
    example: Some(Example {
        failing: r#"
monitor m1 {
    sensors         8
    contacts        4
    draws           40 W
    window          -40.5 V .. -57 V
    wants-filtered  yes
    ground-size     6 awg
    loop-max        4000 ohm
    link            lan "10.0.0.5"
}
# file offices/birch-lake
office birch-lake { title "Birch Lake", site "BRLK01", elevation 290 m, stage planned }
battery main { nominal -48 V, working -43 V .. -54 V, filtered yes }
ground-bar ogb { principal yes }
fuse-panel pdf { positions 1 .. 2, current-max 30 A }
monitor m1 { sensors 2, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg, link lan "10.0.0.005" }
#                                                                               ^^^^^^^^^^^^^^^^^^^^^
power main -> pdf with 20 A, 6 awg, 5 m
power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m
spare pdf fuse 2
ground m1 frame -> ogb with 6 awg, 3 m
ground pdf frame -> ogb with 6 awg, 2 m
spare m1 sensor 1 .. 2
"#,
        passing: r#"
# file offices/birch-lake
office birch-lake { title "Birch Lake", site "BRLK01", elevation 290 m, stage planned }
battery main { nominal -48 V, working -43 V .. -54 V, filtered yes }
ground-bar ogb { principal yes }
fuse-panel pdf { positions 1 .. 2, current-max 30 A }
monitor m1 { sensors 2, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg, link lan "10.0.0.5" }
power main -> pdf with 20 A, 6 awg, 5 m
power pdf fuse 1 -> m1 with 3 A, 14 awg, 6 m
spare pdf fuse 2
ground m1 frame -> ogb with 6 awg, 3 m
ground pdf frame -> ogb with 6 awg, 2 m
spare m1 sensor 1 .. 2
"#,
    }),
    check: Check::Repository(check),
};

fn check(repository: &RepositoryInspection<'_>, sink: &mut Sink<'_>) {
    for shared in shared(repository).into_iter().filter(|shared| shared.may_be_right) {
        let (whose, link) = (shared.whose(), shared.later.1);
        let message = format!("{whose} has the private address {} too", link.to.trim());
        sink.report_at(Some(link.thing), link.place, message)
            .related(shared.earlier.1.place, format!("the address of {whose}"))
            .help("accept this where the two are in different networks; otherwise enter the other's own address");
    }
}
