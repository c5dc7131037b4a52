use drysheath_engineering::measure::Flow;
use drysheath_prediction::capacity;

use super::budget::budgets;
use crate::figures::{computed, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DryerFarTooLarge,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::AirSystem, &[RuleId::UsageBeyondLines])],
    family: Family::Air,
    summary: "A dryer could deliver over a hundred times the air that is used.",
    explanation: "A dryer of more than 1000 scfh is a large plant, which is bought for large usage. Where its cables and pipes use less \
                  than a hundredth of its capacity, its capacity is most likely written in another unit than its maker's, such as scfm \
                  for scfh, or with its decimal point in another place. Then the checks of capacity, margin and duty cycle pass \
                  whatever the cables use. Look the capacity up on the name plate.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
dryer d1 {
    compressor piston
    delivers 30 psi
    capacity 100 scfm
#   ^^^^^^^^^^^^^^^^^
    dew-point -40 degC
    contact humidity { healthy closed }
}
",
        passing: r"
dryer d1 {
    compressor piston
    delivers 30 psi
    capacity 10 scfm
    dew-point -40 degC
    contact humidity { healthy closed }
}
",
    }),
    check: Check::Office(check),
};

/// 1000 scfh, in m³/s: beyond the dryers of a single office.
const LARGE: f64 = 1000.0 * 7.865_790_72e-6;
/// Capacity over usage beyond which the capacity must be a mistake: no plant is bought that large.
const TIMES: f64 = 100.0;

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for joint in budgets(inspection) {
        let demand = joint.budget.demand.cubic_metres_per_second();
        for dryer in &joint.dryers {
            let Some(capacity) = capacity(office, *dryer) else {
                continue;
            };
            let Some(place) = capacity.stated.place else { continue };
            let flow = capacity.flow.cubic_metres_per_second();
            if demand <= 0.0 || flow < LARGE || flow < TIMES * demand {
                continue;
            }
            let shown = |flow: Flow| computed(capacity.stated.quantity, flow.cubic_metres_per_second(), office);
            let message = format!(
                "`{}` can deliver {}, over a hundred times the {} that its cables and pipes use",
                office.name(*dryer),
                shown(capacity.flow),
                shown(joint.budget.demand)
            );
            report_said(sink, office, *dryer, place, message)
                .about(air_system(inspection, *dryer))
                .help("look the capacity up on the name plate: check its unit and its decimal point");
        }
    }
}
