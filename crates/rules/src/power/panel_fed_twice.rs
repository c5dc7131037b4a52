use drysheath_office::kinds::KindId;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PanelFedTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "Two runs lead to the one supply of a panel.",
    explanation: "Two supplies on one bus join what they come from: two batteries then charge each other through it, and two fuses of \
                  one battery share a fault, so that neither opens in time. Whoever pulls one of the fuses finds the panel still \
                  live. A panel for two supplies has two buses: declare it as two panels. Work on battery is for qualified people \
                  with insulated tools and no jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
battery second { nominal -48 V, working -43 V .. -54 V, filtered yes }
power main -> pdf with 30 A, 6 awg, 5 m
power second -> pdf with 30 A, 6 awg, 5 m
#               ^^^
",
        passing: r"
battery second { nominal -48 V, working -43 V .. -54 V, filtered yes }
fuse-panel pdf-2 { positions 1 .. 10, current-max 30 A }
power second -> pdf-2 with 30 A, 6 awg, 5 m
ground pdf-2 -> ogb with 6 awg, 2 m
spare pdf-2 fuse 1 .. 10
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, _) in office.of_kind(KindId::FusePanel) {
        // A run through the panel repeats its supply without stating anything about it.
        let mut feeds = inspection.networks.feeding(id).filter(|feed| feed.is_last(office));
        let Some(first) = feeds.next() else { continue };
        for second in feeds {
            let name = office.name(id);
            let message = format!("`{name}` has a supply already, and this run leads to it too");
            sink.report(id, second.to.range, message)
                .related(
                    office.place(first.to.range),
                    format!("{} supplies `{name}`", run_around(office, first.to.range)),
                )
                .help("keep one of them; where the panel has two buses, declare each as a panel of its own");
        }
    }
}
