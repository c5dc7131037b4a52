use drysheath_engineering::measure::Pressure;
use drysheath_office::kinds::Key;
use drysheath_prediction::{AirLocation, Line, position_name};

use crate::air_losses::largest_loss;
use crate::coverage::MissingFigure;
use crate::figures::{below, computed, in_unit_of, report_said, usual};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::sections::{SectionState, Water, by_cable};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PressureBelowWaterHead,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(Scope::AirSystem, &[RuleId::UsageBeyondLines])],
    family: Family::Air,
    summary: "Somewhere in a section of cable the computed pressure is below the head of water that may stand over it.",
    explanation: "Water fills ducts and manholes up to the ground, and at the depth of the cable it presses with its whole \
                  height: 1 psi for each 2.307 ft, 9.807 kPa for each metre. Where the air in the cable has less pressure, any hole in the sheath lets the water in, whatever the regulator in the office shows. The lowest pressure of the section, \
                  computed with air of the office's `air-temperature`, is compared with the section's `depth`; where the deepest \
                  place is not the farthest one, divide the section there. \
                  Use less air, raise the set pressure within the ratings, or bring a source nearer. One result is given for \
                  a cable with its branches, where it is farthest below; where a declared minimum is missed as well, only the \
                  water is reported. Test the air of a manhole before anyone goes down.",
    source: Source::Derived("weight of conventional water, \u{3c1}\u{b7}g\u{b7}h (NIST SP 811, from memory)"),
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
    section s1 { underground 1.2 km, depth 6.2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
#                                    ^^^^^^^^^^^
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
    section s1 { underground 1.2 km, depth 6.1 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
}
",
    }),
    check: Check::Office(check),
};

/// A section whose air pressure does not keep water out.
pub(crate) struct Drowned<'i> {
    line: &'i Line,
    /// Distance along the line, m.
    metres: f64,
    lowest: Pressure,
    water: Water,
}

impl Drowned<'_> {
    fn lack(&self) -> f64 {
        self.water.head.pascals() - self.lowest.pascals()
    }
}

/// The point of lowest pressure in a section, and the water above it.
pub(crate) fn compared<'i>(section: &SectionState<'i>) -> Result<Drowned<'i>, MissingFigure> {
    let water = section.figures.water.ok_or(MissingFigure::Depth)?;
    let (metres, lowest) = section.figures.lowest.ok_or(MissingFigure::Figure)?;
    Ok(Drowned {
        line: section.line,
        metres,
        lowest,
        water,
    })
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let is_drowned = |compared: &Drowned<'_>| below(compared.lowest.pascals(), compared.water.head.pascals());
    let sections: Vec<_> = inspection.sections().collect();
    for cable in by_cable(&sections) {
        let compared = cable.iter().filter_map(|section| compared(section).ok());
        let mut found: Vec<_> = compared.filter(is_drowned).collect();
        found.sort_by(|one, other| other.lack().total_cmp(&one.lack()));
        if let [worst, others @ ..] = found.as_slice() {
            report(inspection, worst, others, sink);
        }
    }
}

fn report(inspection: &Inspection<'_>, worst: &Drowned<'_>, others: &[Drowned<'_>], sink: &mut Sink<'_>) {
    let office = inspection.office;
    let Some(usual) = usual(office, Key::Delivers) else {
        return;
    };
    let falls = |found: &Drowned<'_>| {
        let water = in_unit_of(usual, found.water.head.pascals(), office);
        format!(
            "{} the pressure falls to {}, and {} of water press with {}",
            position_name(office, found.line, found.metres),
            computed(water, found.lowest.pascals(), office),
            found.water.depth,
            computed(usual, found.water.head.pascals(), office)
        )
    };
    let message = format!("{}: water comes in by any hole", falls(worst));
    let finding = report_said(sink, office, worst.line.thing, worst.water.place, message);
    finding.about(air_system(inspection, worst.line.thing));
    for other in others {
        finding.related(other.water.place, falls(other));
    }
    finding.help("use less air, raise the set pressure within the ratings, or bring a source nearer");
    let place = AirLocation::OnLine(worst.line, worst.metres);
    if let Some(largest) = largest_loss(inspection, &place, worst.line.thing, usual) {
        largest.tell(finding);
    }
}
