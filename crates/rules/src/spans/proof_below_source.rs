use drysheath_office::kinds::{Key, Kind};
use drysheath_office::{Fields, Office, Thing, ThingId};

use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{StatedPressure, highest, highest_of_all, sources, stated};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ProofBelowSource,
    level: Level::Error,
    while_planned: None,
    yields_to: &[
        (Scope::Field, &[RuleId::RegulatorSetAboveRating, RuleId::ReliefMissing]),
        (Scope::Supply, &[RuleId::DryerAboveRating, RuleId::ReliefMisplaced]),
    ],
    family: Family::Spans,
    summary: "A sensor's proof pressure is lower than the pressure that can reach it.",
    explanation: "When a regulator sticks open, everything downstream of it sees the pressure at which its relief opens, or \
                  its supply where that is lower; where no regulator is between, what the dryer delivers. A sensor whose proof \
                  pressure is lower is ruined then, and compressed air may burst it in somebody's face. Choose a sensor with a \
                  higher proof pressure, or a regulator with a lower relief upstream. A dryer or regulator that is reported \
                  for its own pressure or its relief is not reported once more for each sensor downstream.",
    source: Source::Derived("the highest pressure that the place can see"),
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 14 psi
#   ^^^^^^^^^^^^
    limit low 8 psi major deadband 0.3 psi
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 15 psi
    limit low 8 psi major deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let pressures = highest_of_all(inspection).iter().flatten().map(|stated| stated.figure);
    let Some(top) = pressures.max_by(f64::total_cmp) else {
        return;
    };
    for (id, thing) in office.things() {
        if !thing.kind.is_some_and(Kind::is_sensor) {
            continue;
        }
        let Some(proof) = stated(office, id, Key::Proof).filter(|proof| below(proof.figure, top)) else {
            continue;
        };
        let Some(source) = strongest(inspection, id, &proof) else {
            continue;
        };
        report(office, &proof, source, sink);
    }
}

/// The source with the highest pressure above `proof` directly upstream of a sensor, and that pressure as stated.
fn strongest(
    inspection: &Inspection<'_>,
    sensor: ThingId,
    proof: &StatedPressure,
) -> Option<(ThingId, StatedPressure)> {
    sources(inspection, sensor)
        .into_iter()
        .filter_map(|source| Some((source, highest(inspection, source)?)))
        .filter(|(_, highest)| below(proof.figure, highest.figure))
        .max_by(|(_, one), (_, other)| one.figure.total_cmp(&other.figure))
}

fn report(office: &Office, proof: &StatedPressure, (source, highest): (ThingId, StatedPressure), sink: &mut Sink<'_>) {
    let (sensor, name) = (office.name(proof.thing), office.name(highest.thing));
    let thing = office.thing(highest.thing);
    let is_relief = |thing: &Thing| {
        let relief = thing.field(Key::Relief);
        relief.is_some_and(|relief| relief.place == highest.place)
    };
    let source_of_air = thing.kind.filter(|kind| kind.gives_air());
    let how = if let Some(kind) = source_of_air {
        format!("the {} `{name}` delivers {}", kind.word(), highest.quantity)
    } else if is_relief(thing) {
        format!("the relief of `{name}` opens at {}", highest.quantity)
    } else {
        format!("`{name}` is set to {}", highest.quantity)
    };
    let message = format!(
        "`{sensor}` has a proof pressure of {}, and {how}, which can reach it",
        proof.quantity
    );
    report_said(sink, office, proof.thing, proof.place, message)
        .about([proof.subject(), Subject::Supply(source)])
        .related(highest.place, "the pressure that can reach it")
        .help("choose a sensor with a higher proof pressure, or limit the pressure upstream of it");
}
