use drysheath_engineering::measure::Pressure;
use drysheath_office::kinds::{Key, KindId};

use crate::figures::{computed, exceeds, names, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{held, stated, stronger};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ReliefHeldOpen,
    level: Level::Error,
    while_planned: None,
    yields_to: &[
        (
            Scope::AirSystem,
            &[
                RuleId::PressureAboveRating,
                RuleId::RegulatorSetAboveRating,
                RuleId::RegulatorBackwards,
                RuleId::DryerAboveRating,
                RuleId::RegulatorMissing,
                RuleId::RegulatorAfterSensor,
            ],
        ),
        (Scope::Thing, &[RuleId::ReliefMisplaced]),
    ],
    family: Family::Regulators,
    summary: "A second source downstream of a regulator holds more pressure than its relief opens at.",
    explanation: "The relief of a regulator senses the pressure downstream, whichever source it comes from. Where another dryer or \
                  regulator feeds the same cables with more than the relief opens at, the relief blows that air away day and night, and \
                  the dryers run for nothing. The pressure is the computed one at the outlet of the regulator. Set the other source below \
                  the relief, put a check valve between it and this regulator, or choose a relief above it and not above the lowest rating downstream.",
    source: Source::Derived("the computed pressure at the outlet of the regulator against its relief"),
    example: Some(Example {
        failing: r"
dryer d2 { compressor rotary, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
valve v1 { function check }
valve v2 { function check }
regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 15 psi }
#                                                                                  ^^^^^^^^^^^^^
regulator r2 { set 16 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 18 psi }
manifold m9 { ports 1, rating 30 psi }
air d1 -> v1 -> r1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> r2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
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
regulator r2 { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 18 psi }
manifold m9 { ports 1, rating 30 psi }
air d1 -> v1 -> r1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> r2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    const SHOWN: usize = 6;
    let office = inspection.office;
    for (id, _) in office.of_kind(KindId::Regulator) {
        let relief = stated(office, id, Key::Relief);
        let seen = inspection.prediction.air.outlet(id).map(Pressure::pascals);
        let Some((relief, seen)) = relief.zip(seen).filter(|(relief, seen)| exceeds(*seen, relief.figure)) else {
            continue;
        };
        let stronger = stronger(inspection, id, relief.figure);
        let from = match stronger.as_slice() {
            [] => "air from downstream".to_owned(),
            some => format!("air of {}", names(office, some)),
        };
        let message = format!(
            "{from} puts {} on the outlet of `{}`, and its relief opens at {}: it blows air away all the time",
            computed(relief.quantity, seen, office),
            office.name(id),
            relief.quantity
        );
        let finding = report_said(sink, office, id, relief.place, message);
        finding.about(air_system(inspection, id));
        finding.about([Subject::Supply(id)]);
        for other in stronger.iter().take(SHOWN).filter_map(|other| held(office, *other)) {
            let label = format!("`{}` holds {}", office.name(other.thing), other.quantity);
            finding.related(other.place, label);
        }
        finding.help(format!(
            "set the other source below {}, or put a check valve between it and `{}`",
            relief.quantity,
            office.name(id)
        ));
    }
}
