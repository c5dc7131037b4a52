use drysheath_engineering::network::RegulatorState;
use drysheath_office::ThingId;
use drysheath_office::kinds::KindId;

use crate::figures::{computed, names, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{behind, held, sources};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SourceBackedUp,
    level: Level::Note,
    while_planned: None,
    yields_to: &[(
        Scope::AirSystem,
        &[
            RuleId::DryerCapacityShort,
            RuleId::UsageBeyondLines,
            RuleId::DryerDutyCycleHigh,
            RuleId::DryerOverdrawn,
            RuleId::PressureAboveRating,
            RuleId::RegulatorSetAboveRating,
            RuleId::RegulatorBackwards,
            RuleId::DryerAboveRating,
            RuleId::RegulatorMissing,
            RuleId::RegulatorAfterSensor,
        ],
    )],
    family: Family::Air,
    summary: "A dryer or regulator gives nothing, because another one holds more pressure behind it.",
    explanation: "Two sources that feed the same cables share the work only while they hold the same pressure. The one that \
                  is set lower stays shut until the other fails: good for a stand-by, and a mistake if both should work. A dryer \
                  that stands by wants a check valve behind it, so that nothing presses back into it; with one, nothing is \
                  reported. Bring the pressures together, put in the check valve, or accept the note with the reason. Where the \
                  stronger source is reported for what it does to ratings or to the other dryers, this is not reported too.",
    source: Source::Derived("pressures of the computed network"),
    example: Some(Example {
        failing: r"
dryer d2 { compressor rotary, delivers 28 psi, capacity 100 scfh, dew-point -40 degC }
#                             ^^^^^^^^^^^^^^^
ground d2 frame -> ogb with 10 awg, 4 m
manifold m9 { ports 1, rating 30 psi }
air d1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
dryer d2 { compressor rotary, delivers 28 psi, capacity 100 scfh, dew-point -40 degC }
ground d2 frame -> ogb with 10 awg, 4 m
valve v2 { function check }
manifold m9 { ports 1, rating 30 psi }
air d1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for (id, thing) in inspection.office.things() {
        if is_backed_up(inspection, id, thing.kind.map(|kind| kind.id)) {
            report(inspection, id, sink);
        }
    }
}

fn is_backed_up(inspection: &Inspection<'_>, id: ThingId, kind: Option<KindId>) -> bool {
    let air = &inspection.prediction.air;
    match kind {
        Some(KindId::Dryer) => air.supply(id).is_some_and(|supply| supply.backed_up),
        Some(KindId::Regulator) => {
            let state = air.through(id).and_then(|state| state.regulator);
            state == Some(RegulatorState::ClosedByBackPressure)
        }
        _ => false,
    }
}

fn report(inspection: &Inspection<'_>, id: ThingId, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let found = held(office, id).zip(inspection.prediction.air.outlet(id));
    let Some((own, pressure)) = found else { return };
    let is_dryer = office.thing(id).is(KindId::Dryer);
    let does = if is_dryer { "delivers" } else { "is set to" };
    let name = office.name(id);
    let mut message = format!(
        "`{name}` {does} {}, and {} stand behind it: it gives nothing",
        own.quantity,
        computed(own.quantity, pressure.pascals(), office)
    );
    let stronger = stronger(inspection, id, own.figure);
    if !stronger.is_empty() {
        message.push_str(", all air comes from ");
        message.push_str(&names(office, &stronger));
    }
    let finding = report_said(sink, office, id, own.place, message);
    finding.about(air_system(inspection, id));
    for other in stronger.iter().filter_map(|other| held(office, *other)) {
        finding.related(
            other.place,
            format!("`{}` holds {}", office.name(other.thing), other.quantity),
        );
    }
    finding.help("bring the two pressures together, or accept it if this one stands by");
}

/// The sources that maintain more than `figure` and feed the same things as `source`.
fn stronger(inspection: &Inspection<'_>, source: ThingId, figure: f64) -> Vec<ThingId> {
    let fed = behind(inspection, source);
    let mut stronger: Vec<_> = fed.into_iter().flat_map(|id| sources(inspection, id)).collect();
    stronger.sort_unstable();
    stronger.dedup();
    stronger.retain(|other| held(inspection.office, *other).is_some_and(|held| held.figure > figure));
    stronger
}
