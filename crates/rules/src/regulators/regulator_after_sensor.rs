use super::unregulated::{regulator_behind, unregulated};
use crate::figures::names;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RegulatorAfterSensor,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Regulators,
    summary: "A regulator is downstream of the flow sensor that it should protect.",
    explanation: "With a piston or diaphragm compressor the regulator belongs between the dryer and the flow sensor, where it \
                  takes the strokes out of the air before they are measured. Downstream of the sensor it smooths the cable's \
                  pressure and leaves the reading jumping. Exchange the two; vent the air slowly before the line is opened.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
air d1 -> f1 -> r1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
#               ^^
",
        passing: r"
dryer d1 { compressor scroll, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
air d1 -> f1 -> r1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (sensor, dryers) in unregulated(inspection) {
        let Some(link) = regulator_behind(inspection, sensor) else {
            continue;
        };
        let (name, regulator) = (office.name(sensor), office.name(link.to.thing));
        let message = format!(
            "the regulator `{regulator}` is downstream of the flow sensor `{name}`, which reads the strokes of the \
             compressor of {}",
            names(office, &dryers)
        );
        let finding = sink.report(link.to.thing, link.to.range, message);
        finding.about(dryers.iter().copied().map(Subject::Supply));
        finding
            .about(air_system(inspection, sensor))
            .about([Subject::Thing(sensor)]);
        finding.related(office.place(office.thing(sensor).name), "the flow sensor");
        finding.help(format!(
            "lead the air through `{regulator}` first and `{name}` after it"
        ));
    }
}
