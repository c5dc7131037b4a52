use drysheath_engineering::network::RegulatorState;
use drysheath_office::ThingId;
use drysheath_office::kinds::{Key, KindId};
use drysheath_prediction::AirLocation;

use crate::air_losses::largest_loss;
use crate::figures::{computed, in_unit_of, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{StatedPressure, held, sources, stated};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RegulatorOutOfRegulation,
    level: Level::Error,
    while_planned: None,
    yields_to: &[
        (
            Scope::Thing,
            &[
                RuleId::RegulatorBackwards,
                RuleId::RegulatorSetAboveSupply,
                RuleId::RegulatorsSameSet,
                RuleId::RegulatorSetAboveRating,
                RuleId::RegulatorFlowOverMax,
            ],
        ),
        (
            Scope::AirSystem,
            &[RuleId::DryerCapacityShort, RuleId::UsageBeyondLines],
        ),
    ],
    family: Family::Regulators,
    summary: "So little pressure is left at a regulator's inlet that it cannot hold its set pressure.",
    explanation: "The regulator gets less than the dryer delivers: tubes and sensors upstream drop pressure, more so the more air \
                  is used. With less than its differential across it, the regulator is wide open and regulates \
                  nothing, and the cables follow the dryer up and down. Give the supply a bigger or shorter tube, set the \
                  regulator lower, or raise the supply. Where the set pressure alone is too high for what the dryer delivers, \
                  `regulator-set-above-supply` says so; of several regulators in a row the first is reported.",
    source: Source::Derived("computed inlet pressure less set pressure against the differential"),
    example: Some(Example {
        failing: r"
dryer d1 { compressor piston, delivers 15.5 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
regulator r1 {
    set 10 psi
#   ^^^^^^^^^^
    differential 5 psi
    inlet-max 60 psi
    relief 15 psi
}
air d1 -> r1 with 1/4 in tube, 0.17 in bore, 60 m
air r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
dryer d1 { compressor piston, delivers 15.5 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
air d1 -> r1 with 1/4 in tube, 0.17 in bore, 45 m
air r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for (id, _) in inspection.office.of_kind(KindId::Regulator) {
        if !is_out(inspection, id) {
            continue;
        }
        let mut before = sources(inspection, id).into_iter().filter(|source| *source != id);
        if let Some(set) = held(inspection.office, id)
            && !before.any(|before| is_out(inspection, before))
        {
            report(inspection, &set, sink);
        }
    }
}

/// Whether a regulator is out of regulation in the computed network.
fn is_out(inspection: &Inspection<'_>, regulator: ThingId) -> bool {
    let state = inspection.prediction.air.through(regulator);
    state.is_some_and(|state| state.regulator == Some(RegulatorState::OutOfRegulation))
}

fn report(inspection: &Inspection<'_>, set: &StatedPressure, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let Some(inlet) = inspection.prediction.air.inlet(set.thing) else {
        return;
    };
    let name = office.name(set.thing);
    let needed = stated(office, set.thing, Key::Differential);
    let wanted = set.figure + needed.map_or(0.0, |needed| needed.figure);
    let wanted = in_unit_of(set.quantity, wanted, office);
    let arrives = computed(wanted, inlet.pascals(), office);
    let message = match needed {
        Some(needed) => format!(
            "{arrives} arrives at `{name}`, which is set to {} and needs {} more than that, {wanted}, to hold it",
            set.quantity, needed.quantity
        ),
        None => format!("{arrives} arrives at `{name}`, which is set to {}", set.quantity),
    };
    let finding = report_said(sink, office, set.thing, set.place, message);
    finding.about(air_system(inspection, set.thing));
    for supply in sources(inspection, set.thing) {
        if let Some(held) = held(office, supply).filter(|_| supply != set.thing) {
            finding.related(held.place, format!("`{}` gives {}", office.name(supply), held.quantity));
        }
    }
    if let Some(needed) = needed {
        finding.related(needed.place, "its differential");
    }
    finding.help("give its supply a bigger or shorter tube, set it lower, or raise the supply");
    let place = AirLocation::Thing(set.thing);
    if let Some(largest) = largest_loss(inspection, &place, set.thing, set.quantity) {
        largest.tell(finding);
    }
}
