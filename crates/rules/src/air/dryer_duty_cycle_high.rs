use drysheath_prediction::{SystemId, capacity};

use super::budget::{Share, conversion, overworked};
use crate::figures::{computed, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::settings::PracticeKey;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DryerDutyCycleHigh,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(
        Scope::AirSystem,
        &[
            RuleId::DryerCapacityShort,
            RuleId::DryerMarginShort,
            RuleId::DryerOverdrawn,
            RuleId::UsageBeyondLines,
        ],
    )],
    family: Family::Air,
    summary: "A dryer runs more of the time than practice allows.",
    explanation: "The part of the time that a dryer runs is what is used over what it can deliver. A compressor that hardly ever \
                  rests wears out early, and its towers have no time to dry. The setting `duty-cycle` says how much is \
                  allowed. For a single dryer the default of 80 % is the same as the default margin of 25 % (1/1.25), and then `dryer-margin-short` reports it; this rule adds a result where \
                  the settings allow less than the margin leaves, and where one of several dryers carries more than its share. One result is given for all dryers that feed the same \
                  cables, at the one that runs most. Share the work, repair leaks, or add capacity.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
dryer d1 { compressor piston, delivers 30 psi, capacity 9 scfh, dew-point -40 degC, contact humidity { healthy closed } }
#                                              ^^^^^^^^^^^^^^^
dryer d2 { compressor rotary, delivers 28 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
valve v1 { function check }
valve v2 { function check }
manifold m9 { ports 1 }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
dryer d1 { compressor piston, delivers 30 psi, capacity 9 scfh, dew-point -40 degC, contact humidity { healthy closed } }
dryer d2 { compressor rotary, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
valve v1 { function check }
valve v2 { function check }
manifold m9 { ports 1 }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for system in inspection.prediction.air.systems() {
        let Some(busiest) = overworked(inspection, system) else {
            continue;
        };
        report(inspection, system, &busiest, sink);
    }
}

fn report(inspection: &Inspection<'_>, system: SystemId, share: &Share, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let Some(capacity) = capacity(office, share.dryer) else {
        return;
    };
    let Some(place) = capacity.stated.place else { return };
    let figure = share.flow.cubic_metres_per_second();
    let used = computed(capacity.stated.quantity, figure, office);
    let most = computed(
        capacity.stated.quantity,
        capacity.flow.cubic_metres_per_second(),
        office,
    );
    let how = conversion(office, share.dryer, &capacity).map_or(String::new(), |words| format!(" ({words})"));
    let message = format!(
        "{used} come from `{}`, which delivers {most} at most{how}: it runs {:.1} % of the time, and {:.1} % is allowed{}",
        office.name(share.dryer),
        share.duty() * 100.0,
        inspection.settings.fraction(PracticeKey::DutyCycle) * 100.0,
        inspection.settings.said_in(PracticeKey::DutyCycle)
    );
    report_said(sink, office, share.dryer, place, message)
        .about([Subject::AirSystem(system)])
        .help("share the work between the dryers, find and repair leaks, or add capacity");
}
