use drysheath_office::kinds::KindId;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::backwards;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RegulatorBackwards,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Regulators,
    summary: "A regulator is installed backwards.",
    explanation: "Air enters a regulator by its inlet and leaves by its outlet, and an arrow points the way the air goes. \
                  The wrong way round it passes the whole supply pressure or nothing at all, and its relief guards nothing. \
                  Exchange its ends, or turn the arrows if only the record is wrong; vent the air slowly before the line is \
                  opened.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
air d1 -> r1 outlet with 3/8 in tube, 1/4 in bore, 1 m
#         ^^^^^^^^^
air r1 inlet -> f1 -> mf with 3/8 in tube, 1/4 in bore, 3 m
",
        passing: r"
air d1 -> r1 inlet with 3/8 in tube, 1/4 in bore, 1 m
air r1 outlet -> f1 -> mf with 3/8 in tube, 1/4 in bore, 3 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, regulator) in office.of_kind(KindId::Regulator) {
        let Some(range) = backwards(inspection, id) else {
            continue;
        };
        let message = format!(
            "`{}` is installed backwards: air goes in by its inlet and out by its outlet, the way the arrows point",
            office.name(id)
        );
        sink.report(id, range, message)
            .about(air_system(inspection, id))
            .related(office.place(regulator.name), "the regulator")
            .help("lead the run from the dryer to its inlet, and from its outlet to what it feeds");
    }
}
