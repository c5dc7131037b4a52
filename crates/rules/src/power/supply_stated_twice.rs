use drysheath_office::Fields;
use drysheath_office::kinds::{Key, KindId};
use drysheath_text::Place;

use super::is_on_mains;
use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SupplyStatedTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "A monitor states that it runs from the mains, and a power run leads to it.",
    explanation: "A monitor that runs from the mains has no fuse in the panel, so one of the two statements is wrong. Whoever pulls the \
                  fuse to work on it must know that it is dead then. Look where its feed comes from, and delete the statement that \
                  is not true.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
monitor m1 { sensors 8, contacts 4, supply mains, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg, loop-max 4000 ohm, link lan "192.0.2.11" }
#                                   ^^^^^^^^^^^^
"#,
        passing: r#"
# without power pdf
spare pdf fuse 1
monitor m1 { sensors 8, contacts 4, supply mains, ground-size 6 awg, loop-max 4000 ohm, link lan "192.0.2.11" }
"#,
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, monitor) in office.of_kind(KindId::Monitor) {
        let Some(supply) = monitor.field(Key::Supply).filter(|_| is_on_mains(monitor)) else {
            continue;
        };
        let Some(feed) = inspection.networks.feeding(id).find(|feed| feed.is_last(office)) else {
            continue;
        };
        let name = office.name(id);
        let message = format!("`{name}` states `supply mains`, and a power run leads to it from the battery");
        let finding = report_said(sink, office, id, supply.place, message);
        let run = run_around(office, feed.to.range);
        finding
            // Whether its power has to be stated depends on which of the two is true.
            .about([Subject::Place(Place {
                file: office.file,
                range: monitor.name,
            })])
            .related(office.place(feed.to.range), format!("{run} feeds `{name}`"))
            .help("delete the run if the monitor is on the mains, otherwise delete `supply mains`");
    }
}
