use drysheath_engineering::measure::Pressure;
use drysheath_office::Office;
use drysheath_prediction::{AirLocation, DeclaredBy, Line, LineSection, MinimumPressure, line_name, position_name};

use crate::air_losses::largest_loss;
use crate::coverage::MissingFigure;
use crate::figures::{below, computed};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::sections::{SectionState, by_cable, section_range};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PressureBelowMinimum,
    level: Level::Error,
    while_planned: None,
    yields_to: &[
        (Scope::AirSystem, &[RuleId::UsageBeyondLines]),
        (Scope::Thing, &[RuleId::PressureBelowWaterHead]),
    ],
    family: Family::Air,
    summary: "Somewhere in a cable or pipe the computed pressure is below its declared minimum.",
    explanation: "Air must press outwards hard enough, wherever the sheath may have a hole, to keep water out until somebody comes. \
                  The pressure is computed from the source, the tubes, the resistance and the usage of each section, with air \
                  of the office's `air-temperature`; the result names the place where it is lowest. Repair leaks so that less air is used, raise the regulator's set pressure within \
                  the ratings, bring a pipe or a second source nearer, or correct what is declared. The minimum pressure is common \
                  practice: the section, the office or the settings declare it. Where a filter, a valve, a sensor or a tube on the way \
                  drops more pressure than the cable, the result names it. One result is given for a cable with its branches, where it is \
                  farthest below. Where the air does not even keep water out at \
                  the section's depth, `pressure-below-water-head` says so instead.",
    source: Source::Derived("laminar isothermal flow, p\u{b2} falls evenly (Hagen-Poiseuille, ideal gas)"),
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 9.75 psi major deadband 0.2 psi
}
cable c101 {
    pairs  50
    gauge  24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, minimum 8.8 psi, resistance 0.09 psi/scfh/kft, usage 3 scfh }
#           ^^
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 9.75 psi major deadband 0.2 psi
}
cable c101 {
    pairs  50
    gauge  24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, minimum 8.7 psi, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
}
",
    }),
    check: Check::Office(check),
};

/// The point of a section or pipe with the lowest pressure, that pressure, and the declared minimum.
pub(crate) fn compared(section: &SectionState<'_>) -> Result<(f64, Pressure, MinimumPressure), MissingFigure> {
    let minimum = section.figures.minimum.ok_or(MissingFigure::Minimum)?;
    let (metres, lowest) = section.figures.lowest.ok_or(MissingFigure::Figure)?;
    Ok((metres, lowest, minimum))
}

/// A section or pipe whose pressure is too low.
struct Short<'i> {
    line: &'i Line,
    reach: &'i LineSection,
    metres: f64,
    lowest: Pressure,
    minimum: MinimumPressure,
}

fn short<'i>(office: &Office, section: &SectionState<'i>) -> Option<Short<'i>> {
    let (metres, lowest, minimum) = compared(section).ok()?;
    below(lowest.pascals(), office.figure(minimum.quantity)).then_some(Short {
        line: section.line,
        reach: section.reach,
        metres,
        lowest,
        minimum,
    })
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let sections: Vec<_> = inspection.sections().collect();
    for cable in by_cable(&sections) {
        let mut short: Vec<Short<'_>> = cable.iter().filter_map(|section| short(office, section)).collect();
        // Largest shortfall first.
        let lack = |short: &Short<'_>| office.figure(short.minimum.quantity) - short.lowest.pascals();
        short.sort_by(|one, other| lack(other).total_cmp(&lack(one)));
        let [worst, others @ ..] = short.as_slice() else {
            continue;
        };
        report(inspection, worst, others, sink);
    }
}

fn report(inspection: &Inspection<'_>, worst: &Short<'_>, others: &[Short<'_>], sink: &mut Sink<'_>) {
    let office = inspection.office;
    let Short {
        line, reach, minimum, ..
    } = worst;
    let by = match (minimum.by, line.section(office, reach)) {
        (DeclaredBy::Itself, Some((section, _))) => format!("section `{section}` declares"),
        (DeclaredBy::Itself, None) => format!("{} declares", line_name(office, line)),
        (DeclaredBy::Office, _) => "the office declares".to_owned(),
        (DeclaredBy::Settings, _) => {
            let file = reach.surroundings.and_then(|key| inspection.settings.minimum_file(key));
            format!("{} declares", file.unwrap_or("the repository"))
        }
    };
    let surroundings = reach.surroundings.map_or("here", drysheath_office::kinds::Key::word);
    let falls = |short: &Short<'_>| {
        let found = computed(short.minimum.quantity, short.lowest.pascals(), office);
        let is_known = inspection.prediction.air.lowest(short.line, short.reach).is_some();
        let at_most = if is_known { "" } else { " at most" };
        format!(
            "{} the pressure falls to {found}{at_most}, below the {}",
            position_name(office, short.line, short.metres),
            short.minimum.quantity
        )
    };
    let message = format!("{} that {by} for {surroundings}", falls(worst));
    let finding = sink.report(line.thing, section_range(office, line, reach), message);
    finding.about(air_system(inspection, line.thing));
    if let Some(place) = minimum.place {
        finding.related(place, "the minimum pressure");
    }
    for other in others {
        let place = office.place(section_range(office, other.line, other.reach));
        finding.related(place, falls(other));
    }
    finding.help("use less air, raise the set pressure within the ratings, or bring a source nearer");
    let place = AirLocation::OnLine(line, worst.metres);
    if let Some(largest) = largest_loss(inspection, &place, line.thing, minimum.quantity) {
        largest.tell(finding);
    }
}
