use drysheath_office::Fields;
use drysheath_office::kinds::Key;

use crate::figures::{exceeds, report_said, shown_flow};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FlowBeyondLoss,
    level: Level::Note,
    while_planned: None,
    yields_to: &[(
        Scope::AirSystem,
        &[
            RuleId::DryerCapacityShort,
            RuleId::DryerMarginShort,
            RuleId::UsageBeyondLines,
        ],
    )],
    family: Family::Air,
    summary: "More air passes than the largest flow for which a loss is stated.",
    explanation: "Between no flow and the stated points the loss of a filter, a sensor or a valve is known. Beyond the last point it is only extrapolated, and the true loss is \
                  usually larger, since loss grows faster than flow. State the loss at the flow that passes, or above it.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
filter fl1 { rating 60 psi, loss 0.05 psi at 5 scfh }
#                           ^^^^^^^^^^^^^^^^^^^^^^^
air d1 -> fl1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
filter fl1 { rating 60 psi, loss 0.05 psi at 5 scfh, loss 0.12 psi at 10 scfh }
air d1 -> fl1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, thing) in office.things().filter(|(_, thing)| thing.has(Key::Loss)) {
        let largest = thing.losses();
        let largest = largest.max_by(|(one, _), (other, _)| one.flow.si().total_cmp(&other.flow.si()));
        let passing = inspection.prediction.air.through(id);
        let Some(((last, place), passing)) = largest.zip(passing) else {
            continue;
        };
        if !exceeds(passing.flow.cubic_metres_per_second().abs(), last.flow.si()) {
            continue;
        }
        let message = format!(
            "{} passes through `{}`, and its loss is stated for {} at most",
            shown_flow(office, passing.flow),
            office.name(id),
            last.flow
        );
        report_said(sink, office, id, place, message)
            .help("state the loss at a larger flow as well, on a second line")
            .about(air_system(inspection, id));
    }
}
