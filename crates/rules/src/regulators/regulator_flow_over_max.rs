use drysheath_engineering::measure::Flow;
use drysheath_office::ThingId;
use drysheath_office::kinds::{Key, KindId};

use crate::coverage::MissingFigure;
use crate::figures::{computed, exceeds, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{StatedPressure, stated};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RegulatorFlowOverMax,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(
        Scope::AirSystem,
        &[RuleId::DryerCapacityShort, RuleId::UsageBeyondLines],
    )],
    family: Family::Regulators,
    summary: "More air passes through a regulator than it can regulate.",
    explanation: "Beyond its maximum flow a regulator is wide open: the pressure downstream falls with every leak and follows \
                  the dryer up and down. The flow is computed from the usage of all that the regulator feeds. Find and repair the leaks, \
                  choose a bigger regulator, or divide the cables between two. Where the dryers are reported for too much air, this is \
                  not reported too.",
    source: Source::Derived("computed flow against the regulator's flow-max"),
    example: Some(Example {
        failing: r"
regulator r1 {
    set 10 psi
    differential 5 psi
    inlet-max 60 psi
    flow-max 6.9 scfh
#   ^^^^^^^^^^^^^^^^^
    relief 15 psi
}
",
        passing: r"
regulator r1 {
    set 10 psi
    differential 5 psi
    inlet-max 60 psi
    flow-max 7 scfh
    relief 15 psi
}
",
    }),
    check: Check::Office(check),
};

/// Maximum flow of a regulator, and the computed flow, where that is higher.
fn too_much(inspection: &Inspection<'_>, regulator: ThingId) -> Option<(StatedPressure, Flow)> {
    let (most, flow) = compared(inspection, regulator).ok()?;
    exceeds(flow.cubic_metres_per_second(), most.figure).then_some((most, flow))
}

/// Maximum flow of a regulator in regulation, and its computed flow.
pub(crate) fn compared(
    inspection: &Inspection<'_>,
    regulator: ThingId,
) -> Result<(StatedPressure, Flow), MissingFigure> {
    let most = stated(inspection.office, regulator, Key::FlowMax).ok_or(MissingFigure::FlowMax)?;
    let state = inspection
        .prediction
        .air
        .through(regulator)
        .ok_or(MissingFigure::Figure)?;
    Ok((most, state.flow))
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for (id, _) in inspection.office.of_kind(KindId::Regulator) {
        if let Some((most, flow)) = too_much(inspection, id) {
            report(inspection, &most, flow, sink);
        }
    }
}

fn report(inspection: &Inspection<'_>, most: &StatedPressure, flow: Flow, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let message = format!(
        "{} passes through `{}`, which regulates {} at most",
        computed(most.quantity, flow.cubic_metres_per_second(), office),
        office.name(most.thing),
        most.quantity
    );
    report_said(sink, office, most.thing, most.place, message)
        .about(air_system(inspection, most.thing))
        .help("find and repair the leaks, choose a bigger regulator, or divide the cables between two");
}
