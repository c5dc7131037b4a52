use drysheath_engineering::units::Dimension;
use drysheath_office::{Fields, Limit};
use drysheath_prediction::{MinimumPressure, minimum_pressure, route_name};
use drysheath_text::Place;

use super::reading::{Reading, readings};
use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LowLimitUnderMinimum,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Spans,
    summary: "A low limit lies at or below the least pressure that the cable may have there.",
    explanation: "The least pressure holds water out of the cable for as long as it lasts. An alarm that comes at that \
                  pressure, or below it, comes when water may be entering already. Set the low limit above the minimum \
                  that the section, the office or the settings declare; of two low limits the upper one counts. Where no \
                  minimum is declared nothing is checked.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 3 psi minor deadband 0.3 psi
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 3.1 psi minor deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(office) {
        let Some((limit, place, minimum)) = found(inspection, &reading) else {
            continue;
        };
        let Some((line, metres)) = reading.along(inspection) else {
            continue;
        };
        let host = route_name(office, line);
        let section = line.section_at(metres).and_then(|reach| {
            let (name, _) = line.section(office, reach)?;
            Some(format!("the {} section `{name}` of {host}", reach.surroundings?.word()))
        });
        let message = format!(
            "the {} limit of {}, {}, is not above {}, the least pressure for {}: the alarm comes too late",
            limit.level.word(),
            reading.name(),
            limit.value,
            minimum.quantity,
            section.unwrap_or(host)
        );
        let finding = report_said(sink, office, reading.id, place, message);
        finding.about([reading.subject()]);
        if let Some(place) = minimum.place {
            finding.related(place, "the minimum");
        }
        finding.help("raise the limit above the minimum by more than the sensor's error");
    }
}

/// The limit, its place and the minimum pressure, where the limit lies below that.
fn found<'o>(inspection: &Inspection<'o>, reading: &Reading<'o>) -> Option<(&'o Limit, Place, MinimumPressure)> {
    let office = inspection.office;
    if reading.dimension != Dimension::Pressure {
        return None;
    }
    let (limit, place) = upper_low_limit(inspection, reading)?;
    let minimum = minimum_at(inspection, reading)?;
    (!below(office.figure(minimum.quantity), office.figure(limit.value))).then_some((limit, place, minimum))
}

fn upper_low_limit<'o>(inspection: &Inspection<'o>, reading: &Reading<'o>) -> Option<(&'o Limit, Place)> {
    let figure = |limit: &Limit| inspection.office.figure(limit.value);
    let low = reading.fields.limits().filter(|(limit, _)| limit.level.is_low());
    low.max_by(|(one, _), (other, _)| figure(one).total_cmp(&figure(other)))
}

/// The minimum pressure that is declared at a sensor's position.
pub(super) fn minimum_at(inspection: &Inspection<'_>, reading: &Reading<'_>) -> Option<MinimumPressure> {
    let (line, metres) = reading.along(inspection)?;
    minimum_pressure(
        inspection.office,
        &inspection.settings.minimums(),
        line,
        line.section_at(metres)?,
    )
}
