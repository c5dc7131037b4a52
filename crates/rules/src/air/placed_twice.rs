use drysheath_office::Fields;
use drysheath_office::kinds::Key;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PlacedTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "A sensor has a place on a cable and also a run of air to it.",
    explanation: "A sensor is at one place: on the cable or pipe that its `at` names, or in the office at the end of a \
                  run of air. With both, nobody knows which pressure it reads, and its alarm sends a technician to one of \
                  two places. Delete the one that is not true. A sensor that is tapped from a cable's named place needs \
                  `at` alone.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
 air mf port 3 -> ps1 with 1/4 in tube, 0.17 in bore, 0.5 m
#                 ^^^
spare mf port 4
# without spare mf port 3
",
        passing: r"
spare mf port 3 .. 4
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, thing) in office.things() {
        let Some(at) = thing.field(Key::At) else { continue };
        let Some(link) = inspection.networks.air.leading_to(id).next() else {
            continue;
        };
        let name = office.name(id);
        let message = format!("`{name}` has a place on a cable, and this run of air leads to it as well");
        sink.report(id, link.to.range, message)
            .about(air_system(inspection, id))
            .related(at.place, format!("the place of `{name}`"))
            .help(format!(
                "delete this run if `{name}` is out on the cable, otherwise delete its `at`"
            ));
    }
}
