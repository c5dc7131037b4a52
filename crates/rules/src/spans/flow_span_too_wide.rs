use drysheath_engineering::units::Dimension;
use drysheath_office::Fields;
use drysheath_office::kinds::Key;

use super::reading::{Reading, readings};
use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::settings::PracticeKey;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FlowSpanTooWide,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[
        reliability::OF_OFFICE,
        reliability::OF_SYSTEM,
        reliability::OF_SUPPLY,
        (
            Scope::Signal,
            &[RuleId::NormalOutsideMiddle, RuleId::PredictedOutsideMiddle],
        ),
    ],
    family: Family::Spans,
    summary: "A flow sensor's span is over ten times wider than anything it has to show.",
    explanation: "A flow sensor has to show its normal reading with a leak of the setting `leak-size` on top of it, and its limits. A \
                  span of more than ten times that is most likely written in another unit, such as scfm for scfh, or with its decimal \
                  point in another place; then its alarms come at another flow than the one written. If the sensor is really \
                  that wide, all that it ever shows lies in the lowest tenth of its span, where flow sensors are least exact.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
flow-sensor f1 {
    span  0 .. 150 scfh
#   ^^^^^^^^^^^^^^^^^^^
    step  0.2 scfh
    error 0.3 scfh
    normal 7 scfh
    proof 60 psi
    limit high 10 scfh major deadband 0.6 scfh
}
",
        passing: r"
flow-sensor f1 {
    span  0 .. 120 scfh
    step  0.2 scfh
    error 0.3 scfh
    normal 7 scfh
    proof 60 psi
    limit high 10 scfh major deadband 0.6 scfh
}
",
    }),
    check: Check::Office(check),
};

/// Largest ratio of a span to the readings that it has to show.
const TIMES: f64 = 10.0;

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection).filter(|reading| reading.dimension == Dimension::Flow) {
        let Some(span) = reading.span() else { continue };
        let Some(most) = most(inspection, &reading) else {
            continue;
        };
        if most <= 0.0 || !below(TIMES * most, span.top) {
            continue;
        }
        let message = format!(
            "{} has a span of {span}, and the highest flow that it has to show is {}",
            reading.name(),
            reading.shown(span.ends.1, most)
        );
        let finding = report_said(sink, office, reading.id, span.place, message);
        finding.about(reading.subject_computed(inspection));
        if let Some(field) = reading.fields.field(Key::Limit).or(reading.fields.field(Key::Normal)) {
            finding.related(field.place, "what it has to show");
        }
        finding.help("check the unit and the decimal point of the span, or choose a sensor with a narrower one");
    }
}

/// The highest reading that a sensor has to show: its highest limit, or the reading with a leak worth a visit. `None`
/// where neither a limit nor a reading is known.
fn most(inspection: &Inspection<'_>, reading: &Reading<'_>) -> Option<f64> {
    let office = inspection.office;
    let leak = inspection.settings.quantity(PracticeKey::LeakSize);
    let leak = leak.map_or(0.0, |leak| office.figure(leak));
    let normal = reading.fields.quantity(Key::Normal);
    let well = normal.map(|(normal, _)| office.figure(normal));
    let with_leak = well.or_else(|| reading.expected(inspection)).map(|well| well + leak);
    let limits = reading.fields.limits().map(|(limit, _)| office.figure(limit.value));
    limits.chain(with_leak).max_by(f64::total_cmp)
}
