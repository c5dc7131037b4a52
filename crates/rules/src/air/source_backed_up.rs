use drysheath_office::{Office, ThingId};

use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{StatedPressure, held, is_bank, stronger};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SourceBackedUp,
    level: Level::Note,
    while_planned: None,
    yields_to: &[(
        Scope::AirSystem,
        &[
            RuleId::DryerCapacityShort,
            RuleId::DryerMarginShort,
            RuleId::UsageBeyondLines,
            RuleId::DryerDutyCycleHigh,
            RuleId::DryerOverdrawn,
            RuleId::PressureAboveRating,
            RuleId::RegulatorSetAboveRating,
            RuleId::RegulatorBackwards,
            RuleId::DryerAboveRating,
            RuleId::RegulatorMissing,
            RuleId::RegulatorAfterSensor,
            RuleId::ReliefHeldOpen,
        ],
    )],
    family: Family::Air,
    summary: "A dryer or regulator supplies no air, because another one holds a higher pressure.",
    explanation: "Two sources that feed the same cables share the work only while they hold the same pressure. The one that \
                  is set lower supplies no air until the other fails, with or without a check valve: right for a stand-by, and a \
                  mistake if both should work. Bottles beside a compressor are taken for a stand-by, and `standby-not-below` compares the \
                  two. Bring the pressures together, or accept the note with the reason. Where the \
                  stronger source is reported for what it does to ratings or to the other dryers, this is not reported too.",
    source: Source::Derived("pressures of the computed network"),
    example: Some(Example {
        failing: r"
dryer d2 { compressor rotary, delivers 28 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
#                             ^^^^^^^^^^^^^^^
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
valve v1 { function check }
valve v2 { function check }
manifold m9 { ports 1, rating 30 psi }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
dryer d2 { compressor rotary, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
valve v1 { function check }
valve v2 { function check }
manifold m9 { ports 1, rating 30 psi }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for (id, _) in inspection.office.things() {
        let Some(own) = held(inspection.office, id).filter(|_| gives_nothing(inspection, id)) else {
            continue;
        };
        let stronger = stronger(inspection, id, own.figure);
        if !stronger.is_empty() && !stands_by(inspection.office, id, &stronger) {
            report(inspection, &own, &stronger, sink);
        }
    }
}

/// Whether a dryer or regulator delivers no air: a stronger source holds it back, or nothing uses air. The caller tells
/// the two apart by the other sources of the same things.
fn gives_nothing(inspection: &Inspection<'_>, id: ThingId) -> bool {
    let air = &inspection.prediction.air;
    let is_dryer = inspection.office.thing(id).gives_air();
    let flow = if is_dryer {
        air.supply(id).map(|supply| supply.flow)
    } else {
        air.through(id).map(|state| state.flow)
    };
    flow.is_some_and(|flow| flow.cubic_metres_per_second() <= 0.0)
}

fn report(inspection: &Inspection<'_>, own: &StatedPressure, stronger: &[ThingId], sink: &mut Sink<'_>) {
    let office = inspection.office;
    let (id, name) = (own.thing, office.name(own.thing));
    let does = if office.thing(id).gives_air() {
        "delivers"
    } else {
        "is set to"
    };
    let holds = |other: &ThingId| {
        let held = held(office, *other)?;
        Some((held.place, format!("`{}` holds {}", office.name(*other), held.quantity)))
    };
    let holding: Vec<_> = stronger.iter().filter_map(holds).collect();
    let words: Vec<_> = holding.iter().map(|(_, words)| words.as_str()).collect();
    let message = format!(
        "`{name}` {does} {}, and {} for the same cables: `{name}` supplies no air while the other works",
        own.quantity,
        words.join(" and ")
    );
    let finding = report_said(sink, office, id, own.place, message);
    finding.about(air_system(inspection, id));
    for (place, words) in holding {
        finding.related(place, words);
    }
    finding.help("bring the two pressures together, or accept it if this one stands by");
}

/// Whether a bank of bottles is compared with a compressor. Bottles on standby are set lower on purpose; another rule
/// reports them where they are not.
fn stands_by(office: &Office, id: ThingId, stronger: &[ThingId]) -> bool {
    let is_bank = |id: ThingId| is_bank(office.thing(id));
    if is_bank(id) {
        !stronger.iter().copied().all(is_bank)
    } else {
        office.thing(id).gives_air() && stronger.iter().copied().any(is_bank)
    }
}
