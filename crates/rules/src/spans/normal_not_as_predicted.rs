use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Office};
use drysheath_text::Place;

use super::reading::{Reading, readings};
use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::NormalNotAsPredicted,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[
        reliability::OF_OFFICE,
        reliability::OF_SYSTEM,
        reliability::OF_SUPPLY,
        (
            Scope::Signal,
            &[
                RuleId::PredictedOffSpan,
                RuleId::LimitsOutOfOrder,
                RuleId::LimitFinerThanStep,
                RuleId::NormalOutsideMiddle,
                RuleId::LimitTripsWhenWell,
            ],
        ),
    ],
    family: Family::Spans,
    summary: "A stated normal reading does not match the computed value.",
    explanation: "The normal reading is known from the place; what the sensor should read follows from the set pressure, the tubes, \
                  the resistance and the usage of each section, the dryer's dew point. The two may differ by the sensor's error and \
                  half its step (by one step where no error is stated). Where they differ by more, one of them is wrong, and whoever \
                  designs limits or looks for a leak by this record is misled. Find out which, and correct it: more flow or \
                  less pressure than computed often means that a section uses more air than is declared.",
    source: Source::Derived("laminar isothermal flow, p\u{b2} falls evenly (Hagen-Poiseuille, ideal gas)"),
    example: Some(Example {
        failing: r"
flow-sensor f1 {
    span  0 .. 15 scfh
    step  0.2 scfh
    error 0.3 scfh
    normal 7.5 scfh
#   ^^^^^^^^^^^^^^^
    proof 60 psi
    limit high 10 scfh major deadband 0.6 scfh
}
",
        passing: r"
flow-sensor f1 {
    span  0 .. 15 scfh
    step  0.2 scfh
    error 0.3 scfh
    normal 7.4 scfh
    proof 60 psi
    limit high 10 scfh major deadband 0.6 scfh
}
",
    }),
    check: Check::Office(check),
};

/// A declared normal reading that differs from the computed one.
struct Apart {
    normal: Quantity,
    place: Place,
    /// Actual and permitted difference.
    by: Quantity,
    allowed: Quantity,
}

fn found(office: &Office, reading: &Reading<'_>, expected: f64) -> Option<Apart> {
    let (normal, place) = reading.fields.quantity(Key::Normal)?;
    let (allowed, shown) = reading.tolerance()?;
    let by = (office.figure(normal) - expected).abs();
    below(allowed, by).then(|| {
        let (by, allowed) = reading.shown_apart(shown, by, allowed);
        Apart {
            normal,
            place,
            by,
            allowed,
        }
    })
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection) {
        if !reading.fields.has(Key::Normal) {
            continue;
        }
        let Some(expected) = reading.expected(inspection) else {
            continue;
        };
        let Some(apart) = found(office, &reading, expected) else {
            continue;
        };
        let message = format!(
            "{} has a normal reading of {}, and {} follows from the record{}: {} apart, where {} allow {}",
            reading.name(),
            apart.normal,
            reading.shown(apart.normal, expected),
            reading.location_text(inspection),
            apart.by,
            reading.tolerance_name(),
            apart.allowed
        );
        report_said(sink, office, reading.id, apart.place, message)
            .about(reading.subject_computed(inspection))
            .help(
                "correct the normal reading, or the set pressure, tubes, resistance and usage upstream in the record",
            );
    }
}
