use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Office};

use super::limit_order::LimitPoint;
use super::reading::{Reading, readings};
use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LimitFinerThanStep,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Signal, &[RuleId::LimitsOutOfOrder])],
    family: Family::Spans,
    summary: "A limit or its deadband is finer than the sensor's step can tell.",
    explanation: "A reading moves in steps. A limit less than one step from the normal reading cannot be told from it. A \
                  steady value between two steps is reported as either of them, and a little noise on top moves it by one step \
                  more. So a deadband of less than two steps is crossed with nothing amiss, and the alarm comes and goes all \
                  night. Widen the margin, or choose a sensor with a finer step.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 8 psi major deadband 0.15 psi
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 9.7 psi major deadband 0.2 psi
}
",
    }),
    check: Check::Office(check),
};

const STEPS_OF_DEADBAND: f64 = 2.0;

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection) {
        deadbands(&reading, office, sink);
        margins(&reading, office, sink);
    }
}

fn deadbands(reading: &Reading<'_>, office: &Office, sink: &mut Sink<'_>) {
    let Some((step, step_written)) = reading.size(Key::Step) else {
        return;
    };
    for (limit, place) in reading.fields.limits() {
        let Some(deadband) = limit
            .deadband
            .filter(|deadband| below(deadband.si(), step * STEPS_OF_DEADBAND))
        else {
            continue;
        };
        let (level, name) = (limit.level.word(), reading.name());
        let message = format!(
            "the deadband of the {level} limit of {name}, {deadband}, is less than two steps of {step_written}: a reading \
             that flickers by one step raises and clears the alarm again and again"
        );
        let finding = report_said(sink, office, reading.id, place, message);
        if let Some(field) = reading.fields.field(Key::Step) {
            finding.related(field.place, "the step");
        }
        finding.help("make the deadband at least two steps");
    }
}

fn margins(reading: &Reading<'_>, office: &Office, sink: &mut Sink<'_>) {
    let Some((step, step_written)) = reading.size(Key::Step) else {
        return;
    };
    let limit_order = reading.limit_order();
    let Some(normal) = limit_order.normal() else { return };
    for limit_point in limit_order
        .limit_points()
        .filter(|limit_point| is_near(limit_point, &normal, step))
    {
        let message = format!(
            "the {} of {}, {}, is less than one step of {step_written} from its normal reading, {}",
            limit_point.name(),
            reading.name(),
            limit_point.quantity,
            normal.quantity
        );
        report_said(sink, office, reading.id, limit_point.place, message)
            .about([reading.subject()])
            .related(normal.place, "the normal reading")
            .help("move the limit away from the normal reading, or choose a sensor with a finer step");
    }
}

fn is_near(limit_point: &LimitPoint, normal: &LimitPoint, step: f64) -> bool {
    limit_point.level.is_some() && below((limit_point.figure - normal.figure).abs(), step)
}
