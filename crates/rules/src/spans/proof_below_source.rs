use drysheath_office::kinds::{Key, Kind, KindId};
use drysheath_office::{Fields, Office, Thing, ThingId};

use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{Stated, highest, sources, stated};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ProofBelowSource,
    level: Level::Error,
    while_planned: None,
    yields_to: &[
        (Scope::Field, &[RuleId::RegulatorSetAboveRating]),
        (Scope::Supply, &[RuleId::DryerAboveRating, RuleId::ReliefMisplaced]),
    ],
    family: Family::Spans,
    summary: "A sensor stands less pressure than can come to it.",
    explanation: "When a regulator sticks open, everything behind it sees the pressure at which its relief opens, or what \
                  the dryer delivers where no regulator stands between. A sensor whose proof pressure is lower is ruined \
                  then, and compressed air may burst it in somebody's face. Choose a sensor that stands the pressure, or put \
                  a regulator with a lower relief before it. A dryer or regulator that is reported for its own pressure \
                  is not reported once more for each sensor behind it.",
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
    let pressures = || {
        office
            .things()
            .filter_map(|(id, _)| highest(office, id))
            .map(|stated| stated.figure)
    };
    let Some(top) = pressures().max_by(f64::total_cmp) else {
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
        report(office, &proof, &source, sink);
    }
}

/// The source of the highest pressure above `proof`.
fn strongest(inspection: &Inspection<'_>, sensor: ThingId, proof: &Stated) -> Option<Stated> {
    let office = inspection.office;
    sources(inspection, sensor)
        .into_iter()
        .filter_map(|source| highest(office, source))
        .filter(|source| below(proof.figure, source.figure))
        .max_by(|one, other| one.figure.total_cmp(&other.figure))
}

fn report(office: &Office, proof: &Stated, source: &Stated, sink: &mut Sink<'_>) {
    let (sensor, name) = (office.name(proof.thing), office.name(source.thing));
    let thing = office.thing(source.thing);
    let is_relief = |thing: &Thing| {
        let relief = thing.field(Key::Relief);
        relief.is_some_and(|relief| relief.place == source.place)
    };
    let how = if thing.is(KindId::Dryer) {
        format!("the dryer `{name}` delivers {}", source.quantity)
    } else if is_relief(thing) {
        format!("the relief of `{name}` opens at {}", source.quantity)
    } else {
        format!("`{name}` is set to {}", source.quantity)
    };
    let message = format!("`{sensor}` stands {}, and {how}, which can come to it", proof.quantity);
    report_said(sink, office, proof.thing, proof.place, message)
        .about([proof.subject(), Subject::Supply(source.thing)])
        .related(source.place, "the pressure that can come to it")
        .help("choose a sensor that stands this pressure, or hold the pressure lower before it");
}
