use super::setting::weaker_than_delivery;
use crate::figures::report_said;
use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{StatedPressure, held};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DryerAboveRating,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(Scope::Supply, &[RuleId::RegulatorMissing, RuleId::RegulatorAfterSensor])],
    family: Family::Regulators,
    summary: "A dryer delivers more than what it feeds without a regulator is rated for.",
    explanation: "Equipment between a dryer and the first regulator, or without any regulator, sees the pressure that the dryer \
                  delivers. A manifold, valve, pipe or cable that is rated for less leaks, or bursts in somebody's hands. Put a \
                  regulator before it, or choose a part that is rated for the pressure. A part that declares no rating is not \
                  checked. Where the regulator is reported missing, this is not reported too.",
    source: Source::Derived("lowest rating before the first regulator"),
    example: Some(Example {
        failing: r"
manifold m2 { ports 1, rating 20 psi }
dryer d1 {
    compressor scroll
    delivers 30 psi
#   ^^^^^^^^^^^^^^^
    capacity 100 scfh
    dew-point -40 degC
    contact humidity { healthy closed }
}
air d1 -> m2 with 3/8 in tube, 1/4 in bore, 1 m
air m2 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
manifold m2 { ports 1, rating 30 psi }
air d1 -> m2 with 3/8 in tube, 1/4 in bore, 1 m
air m2 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for (id, _) in inspection.office.air_sources() {
        let weaker = weaker_than_delivery(inspection, id);
        let (Some(weakest), Some(delivered)) = (weaker.first(), held(inspection.office, id)) else {
            continue;
        };
        report(inspection, &delivered, weakest, sink)
            .about(weaker.iter().map(StatedPressure::subject))
            .about([Subject::Supply(id)])
            .about(air_system(inspection, id));
    }
}

fn report<'s>(
    inspection: &Inspection<'_>,
    delivered: &StatedPressure,
    weakest: &StatedPressure,
    sink: &'s mut Sink<'_>,
) -> &'s mut Finding {
    let office = inspection.office;
    let message = format!(
        "`{}` delivers {}, and `{}`, with no regulator between, is rated for {}",
        office.name(delivered.thing),
        delivered.quantity,
        office.name(weakest.thing),
        weakest.quantity
    );
    report_said(sink, office, delivered.thing, delivered.place, message)
        .related(weakest.place, "the lowest rating")
        .help("put a regulator between, or choose a part that is rated for this pressure")
}
