use drysheath_engineering::measure::Pressure;
use drysheath_engineering::network::NoSolution;
use drysheath_office::ThingId;
use drysheath_prediction::{AirLocation, Line, LineSection, SystemId, position_name};
use drysheath_text::TextRange;

use super::failed_place::failed_place;
use crate::figures::{below, shown_pressure};
use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::sections::section_range;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::UsageBeyondLines,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(Scope::AirSystem, &[RuleId::RegulatorSetAboveSupply])],
    family: Family::Air,
    summary: "The declared usage is more than the tubes, pipes and cables can carry.",
    explanation: "The usage of the sections and the resistance on the way to them leave no pressure: at the named place it would \
                  have to be below that of the surrounding air, or even a vacuum there would not draw that much air. No cable \
                  works like that, so a figure is wrong, most often a usage, a resistance, a bore or a set pressure that is off \
                  by a factor of ten or has the wrong unit. Until it is corrected, no other pressure, flow or dryer duty is \
                  computed for the connected air system.",
    source: Source::Derived("laminar isothermal flow, p\u{b2} falls evenly (Hagen-Poiseuille, ideal gas)"),
    example: Some(Example {
        failing: r"
cable c101 {
    pairs  50
    gauge  24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 1.4 psi/scfh/kft, usage 4 scfh }
#           ^^
}
",
        passing: r"
cable c101 {
    pairs  50
    gauge  24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
}
",
    }),
    check: Check::Office(check),
};

/// The point of lowest pressure in a system, if it is below atmospheric.
struct Lowest<'i> {
    line: &'i Line,
    reach: &'i LineSection,
    metres: f64,
    pressure: Pressure,
}

fn lowest<'i>(inspection: &'i Inspection<'_>, system: SystemId) -> Option<Lowest<'i>> {
    let air = &inspection.prediction.air;
    let below_air = inspection.sections().filter_map(|section| {
        let (line, reach) = (section.line, section.reach);
        let (metres, pressure) = section
            .figures
            .lowest
            .filter(|(_, lowest)| below(lowest.pascals(), 0.0))?;
        let is_here = air.system_at(&AirLocation::OnLine(line, metres)) == Some(system);
        is_here.then_some(Lowest {
            line,
            reach,
            metres,
            pressure,
        })
    });
    below_air.min_by(|one, other| one.pressure.pascals().total_cmp(&other.pressure.pascals()))
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for failure in inspection.prediction.air.failures() {
        if !matches!(failure.why, NoSolution::Overdrawn { .. }) {
            continue;
        }
        let Some(at) = failed_place(inspection, &failure) else {
            continue;
        };
        let place = at.name;
        report(
            at.on,
            at.range,
            &format!("not even a vacuum {place} would draw that much air"),
            sink,
        )
        .about([Subject::AirSystem(failure.system)]);
    }
    let office = inspection.office;
    for system in inspection.prediction.air.systems() {
        if let Some(found) = lowest(inspection, system) {
            let place = position_name(office, found.line, found.metres);
            let pressure = shown_pressure(office, found.pressure);
            let range = section_range(office, found.line, found.reach);
            let why = format!("{place} the pressure would be {pressure}, below that of the surrounding air");
            report(found.line.thing, range, &why, sink).about([Subject::AirSystem(system)]);
        }
    }
}

fn report<'s>(on: ThingId, range: TextRange, why: &str, sink: &'s mut Sink<'_>) -> &'s mut Finding {
    let message = format!("the declared usage is more than the tubes and cables can carry at this pressure: {why}");
    sink.report(on, range, message)
        .help("look for a usage, resistance, length, bore or set pressure that is ten times too large or too small, or has the wrong unit")
}
