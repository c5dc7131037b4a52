use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::{Fields, Limit, Office};
use drysheath_prediction::{Line, LineSection, line_name};
use drysheath_text::Place;

use super::reading::{Reading, readings};
use crate::figures::{below, in_unit_of, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::sections::SectionState;
use crate::supply::behind;

/// Significant digits of computed figures.
const DIGITS: i32 = 3;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LowLimitUnderMinimum,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(
        Scope::AirSystem,
        &[RuleId::PressureBelowMinimum, RuleId::PressureBelowWaterHead],
    )],
    family: Family::Spans,
    summary: "A low limit lies at or below the pressure that keeps water out of the cable.",
    explanation: "An alarm that comes at the minimum pressure of a cable, or below it, comes when water may be entering already. The \
                  low limit of a sensor on a cable belongs above the minimum that the section, the office or the settings declare \
                  there, and above the head of the water over the section's `depth`. That of a sensor in the office belongs above \
                  those of all cables that its air goes on to without another regulator, since they have less pressure than it. \
                  Of two low limits the upper one counts. Without a minimum and a depth nothing is checked.",
    source: Source::Derived("a cable has no more pressure than what feeds it; the minimum is common practice"),
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
    limit low 6.7 psi minor deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

/// The required pressure of a section of cable or a pipe.
#[derive(Clone, Copy)]
pub(crate) struct Floor<'i> {
    /// The pressure as written. `None` for the head of water.
    declared: Option<Quantity>,
    pub figure: f64,
    /// Place of its declaration, if in a file.
    pub place: Option<Place>,
    is_water: bool,
    line: &'i Line,
    section: &'i LineSection,
}

impl Floor<'_> {
    /// The pressure as it is written, or the head of water in the unit of `limit`.
    pub fn quantity(&self, limit: Quantity, office: &Office) -> Quantity {
        self.declared
            .unwrap_or_else(|| in_unit_of(limit, self.figure, office).to_digits(DIGITS))
    }

    /// Purpose of the pressure, as a clause that follows its figure.
    pub fn purpose(&self) -> &'static str {
        if self.is_water {
            "which keeps the water out"
        } else {
            "the minimum pressure there"
        }
    }

    /// Label of its place.
    pub fn label(&self) -> &'static str {
        if self.is_water {
            "the depth"
        } else {
            "the minimum pressure"
        }
    }
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection) {
        let Some((limit, place)) = upper_low_limit(inspection, &reading) else {
            continue;
        };
        let Some(floor) = floor(inspection, &reading) else {
            continue;
        };
        if !below(floor.figure, office.figure(limit.value)) {
            report(inspection, &reading, (limit, place), &floor, sink);
        }
    }
}

fn report(
    inspection: &Inspection<'_>,
    reading: &Reading<'_>,
    (limit, place): (&Limit, Place),
    floor: &Floor<'_>,
    sink: &mut Sink<'_>,
) {
    let office = inspection.office;
    let host = line_name(office, floor.line);
    let section = floor
        .line
        .section(office, floor.section)
        .zip(floor.section.surroundings);
    let section =
        section.map(|((name, _), surroundings)| format!("the {} section `{name}` of {host}", surroundings.word()));
    let what = if floor.is_water {
        "with which water can press on"
    } else {
        "the minimum pressure for"
    };
    let message = format!(
        "the {} limit of {}, {}, is not above {}, {what} {}: the alarm comes too late",
        limit.level.word(),
        reading.name(),
        limit.value,
        floor.quantity(limit.value, office),
        section.unwrap_or(host)
    );
    let finding = report_said(sink, office, reading.id, place, message);
    finding.about(
        air_system(inspection, reading.id)
            .into_iter()
            .chain([reading.subject()]),
    );
    if let Some(place) = floor.place {
        finding.related(place, floor.label());
    }
    let raise = format!("raise the limit above this pressure{}", reading.margin());
    finding.help(if limit.value.value < 0.0 {
        format!("check the sign, and {raise}")
    } else {
        raise
    });
}

/// The pressure that a pressure sensor has to warn of: that of its own section, or for a sensor in the office, the
/// highest of all sections downstream.
pub(crate) fn floor<'i>(inspection: &'i Inspection<'_>, reading: &Reading<'_>) -> Option<Floor<'i>> {
    if reading.dimension != Dimension::Pressure {
        return None;
    }
    if let Some((line, metres)) = reading.place_on_line(inspection) {
        let own = line.section_at(metres)?;
        let own = inspection.sections().find(|section| std::ptr::eq(section.reach, own))?;
        return section_floor(inspection.office, &own);
    }
    let feeder = inspection
        .networks
        .air
        .leading_to(reading.id)
        .next()
        .map(|link| link.from.thing);
    let is_tap = inspection.networks.air.leaving(reading.id).next().is_none();
    let from = feeder.filter(|_| is_tap).unwrap_or(reading.id);
    let fed = behind(inspection, from);
    inspection
        .sections()
        .filter(|section| fed.binary_search(&section.line.thing).is_ok())
        .filter_map(|section| section_floor(inspection.office, &section))
        .max_by(|one, other| one.figure.total_cmp(&other.figure))
}

/// The higher of the declared minimum pressure of a section and the head of water above it.
pub(super) fn section_floor<'i>(office: &Office, section: &SectionState<'i>) -> Option<Floor<'i>> {
    let SectionState { line, reach, figures } = *section;
    let minimum = figures.minimum.map(|minimum| Floor {
        declared: Some(minimum.quantity),
        figure: office.figure(minimum.quantity),
        place: minimum.place,
        is_water: false,
        line,
        section: reach,
    });
    let water = figures.water.map(|water| Floor {
        declared: None,
        figure: water.head.pascals(),
        place: Some(water.place),
        is_water: true,
        line,
        section: reach,
    });
    match (minimum, water) {
        (Some(minimum), Some(water)) if below(minimum.figure, water.figure) => Some(water),
        (minimum, water) => minimum.or(water),
    }
}

fn upper_low_limit<'o>(inspection: &Inspection<'_>, reading: &Reading<'o>) -> Option<(&'o Limit, Place)> {
    let figure = |limit: &Limit| inspection.office.figure(limit.value);
    let low = reading.fields.limits().filter(|(limit, _)| limit.level.is_low());
    low.max_by(|(one, _), (other, _)| figure(one).total_cmp(&figure(other)))
}
