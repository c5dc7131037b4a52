use drysheath_engineering::measure::{AbsolutePressure, Pressure};
use drysheath_engineering::units::Dimension;
use drysheath_office::{LimitLevel, ThingId};
use drysheath_prediction::{Line, LineSection, position_name};

use super::limit_order::LimitPoint;
use super::low_limit_under_minimum::{Floor, section_floor};
use super::reading::{Reading, readings};
use super::watchers::is_unsure;
use crate::figures::{below, exceeds};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::{self, computed_at};
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::sections::{SectionState, by_cable, section_range};
use crate::supply::sources;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LowLimitTooLate,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[
        reliability::OF_OFFICE,
        (Scope::Office, &[RuleId::AirMissing]),
        reliability::OF_SYSTEM,
        reliability::OF_SUPPLY,
        (Scope::Signal, &[RuleId::LowLimitUnderMinimum, RuleId::LimitsOutOfOrder]),
    ],
    family: Family::Spans,
    summary: "When the supply fails, a cable is below its minimum pressure before any low limit trips.",
    explanation: "When the supply pressure falls, all pressures fall with it. What the cables lose goes with p² − pₐ² of absolute pressures, and so does \
                  what flows to them; so p² − pₐ² falls by the same factor at every place, and for each low limit it follows what every place has \
                  left when it trips. Of all sensors downstream of the same dryer or regulator the first to trip counts. If by then some place has less than its declared \
                  minimum, or than the head of water over its `depth`, even if the sensor trips early by its error, the alarm comes too late. Raise the limit of the sensor \
                  that is nearest to that place, or that of the sensor in the office.",
    source: Source::Derived(
        "laminar isothermal flow and leakage, p\u{b2} \u{2212} p\u{2090}\u{b2} falls by one factor (Hagen-Poiseuille, ideal gas)",
    ),
    example: Some(Example {
        failing: r"
flow-sensor f1 {
    span  0 .. 15 scfh
    step  0.2 scfh
    error 0.3 scfh
    normal 7 scfh
    proof 60 psi
    limit high 8.4 scfh major deadband 0.6 scfh
}
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 5.3 psi major deadband 0.3 psi
}
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 3.2 psi minor deadband 0.3 psi
}
cable c101 {
    pairs 50
    gauge 24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh, volume 7 ft3 }
#           ^^
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh, volume 12 ft3 }
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 6 psi major deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

/// A low limit, and the sources of its air.
struct Alarm<'i> {
    reading: Reading<'i>,
    limit_point: LimitPoint,
    sources: Vec<ThingId>,
    /// What is left of p² − pₐ² when it trips, as a part of what it is when all is well; and where it trips as early as the sensor may err.
    left: f64,
    earliest: f64,
}

/// A place that is already too low when the first alarm comes.
struct Late<'i> {
    line: &'i Line,
    section: &'i LineSection,
    metres: f64,
    floor: Floor<'i>,
    /// Pressure there when the first alarm comes.
    left: Pressure,
}

impl Late<'_> {
    fn lack(&self) -> f64 {
        self.floor.figure - self.left.pascals()
    }
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    if is_unsure(inspection) {
        return;
    }
    let alarms = alarms(inspection);
    if alarms.is_empty() {
        return;
    }
    let sections: Vec<_> = inspection.sections().collect();
    for cable in by_cable(&sections) {
        let Some(thing) = cable.first().map(|section| section.line.thing) else {
            continue;
        };
        let sources = sources(inspection, thing);
        let own = alarms.iter().filter(|alarm| alarm.sources == sources);
        let Some(first) = own.min_by(|one, other| other.left.total_cmp(&one.left)) else {
            continue;
        };
        let late = cable.iter().filter_map(|section| late(inspection, section, first));
        if let Some(worst) = late.max_by(|one, other| one.lack().total_cmp(&other.lack())) {
            report(inspection, first, &worst, sink);
        }
    }
}

/// The low limits that are clear in the normal state.
fn alarms<'i>(inspection: &'i Inspection<'_>) -> Vec<Alarm<'i>> {
    let alarm = |reading: Reading<'i>| {
        let limit_order = reading.limit_order();
        let is_low = |limit_point: &LimitPoint| limit_point.level.is_some_and(LimitLevel::is_low);
        limit_order.limit_points().find(is_low)?;
        let expected = reading.expected(inspection)?;
        let limit_point = limit_order
            .limit_points()
            .filter(is_low)
            .filter(|limit_point| below(limit_point.figure, expected))
            .last()?;
        let well = above_ambient(inspection, expected);
        let error = reading.tolerance().map_or(0.0, |(error, _)| error);
        (well > 0.0).then(|| Alarm {
            reading,
            limit_point,
            sources: sources(inspection, reading.id),
            left: above_ambient(inspection, limit_point.figure) / well,
            earliest: above_ambient(inspection, limit_point.figure + error) / well,
        })
    };
    let pressures = readings(inspection).filter(|reading| reading.dimension == Dimension::Pressure);
    pressures.filter_map(alarm).collect()
}

/// p² − pₐ² of a gauge pressure, Pa².
fn above_ambient(inspection: &Inspection<'_>, gauge: f64) -> f64 {
    let ambient = inspection.prediction.air.conditions.ambient.pascals();
    gauge * (gauge + 2.0 * ambient)
}

/// The lowest place of a section, if its pressure is too low when the first alarm comes but not in the normal state.
fn late<'i>(inspection: &'i Inspection<'_>, state: &SectionState<'i>, alarm: &Alarm<'_>) -> Option<Late<'i>> {
    let SectionState {
        line, reach: section, ..
    } = *state;
    let air = &inspection.prediction.air;
    let floor = section_floor(inspection.office, state)?;
    let (metres, lowest) = air.lowest(line, section)?;
    let ambient = air.conditions.ambient;
    let left = |part: f64| {
        let squared = ambient.pascals().powi(2) + part * above_ambient(inspection, lowest.pascals());
        AbsolutePressure::from_pascals(squared.max(0.0).sqrt()) - ambient
    };
    let is_late = exceeds(floor.figure, left(alarm.earliest).pascals()) && !exceeds(floor.figure, lowest.pascals());
    is_late.then(|| Late {
        line,
        section,
        metres,
        floor,
        left: left(alarm.left),
    })
}

fn report(inspection: &Inspection<'_>, alarm: &Alarm<'_>, late: &Late<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let (reading, limit_point) = (&alarm.reading, &alarm.limit_point);
    let left = reading.shown(limit_point.quantity, late.left.pascals());
    let message = format!(
        "when the supply fails, the first alarm is the {} of {}, {}, and by then {left} is left {}, below {}, {}",
        limit_point.name(),
        reading.name(),
        limit_point.quantity,
        position_name(office, late.line, late.metres),
        late.floor.quantity(limit_point.quantity, office),
        late.floor.purpose()
    );
    let range = section_range(office, late.line, late.section);
    let finding = sink.report(late.line.thing, range, message);
    finding
        .about(computed_at(inspection, late.line.thing))
        .about([reading.subject()]);
    finding.related(
        limit_point.place,
        format!("the {} of {}", limit_point.name(), reading.name()),
    );
    if let Some(place) = late.floor.place {
        finding.related(place, late.floor.label());
    }
    finding.help("raise this limit, or that of the sensor nearest to the place, so that an alarm comes before");
}
