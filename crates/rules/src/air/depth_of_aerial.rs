use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Field, Fields, Office, ThingId};
use drysheath_text::Place;

use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DepthOfAerial,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "A section of aerial cable states a depth.",
    explanation: "A depth is how far below ground the cable lies, and the pressure there has to exceed that of the water above it. A \
                  cable on poles has no depth, so nothing is compared with it. Either the section is buried or runs underground, and \
                  then its water is not checked and another minimum pressure holds for it, or the depth belongs to another section. \
                  Find out which, and correct one or delete the other.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
cable c101 {
    pairs 50
    gauge 24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { aerial 2.0 km, depth 1 m, resistance 0.14 psi/scfh/kft, usage 4 scfh }
#                               ^^^^^^^^^
}
",
        passing: r"
cable c101 {
    pairs 50
    gauge 24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, depth 1 m, resistance 0.14 psi/scfh/kft, usage 4 scfh }
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, cable) in office.of_kind(KindId::Cable) {
        let branches = cable
            .named(Key::Branch)
            .flat_map(|(.., branch)| branch.named(Key::Section));
        for (name, _, section) in cable.named(Key::Section).chain(branches) {
            judge(office, id, (name, section), sink);
        }
    }
}

fn judge(office: &Office, id: ThingId, (name, section): (&str, &[Field]), sink: &mut Sink<'_>) -> Option<()> {
    let aerial: Place = section.field(Key::Aerial)?.place;
    let (depth, place) = section.quantity(Key::Depth)?;
    // Two kinds of surroundings in one section are reported by another rule.
    if section.has(Key::Underground) || section.has(Key::Buried) {
        return None;
    }
    let message = format!(
        "section `{name}` of `{}` is aerial and states a depth of {depth}: a cable on poles has none",
        office.name(id)
    );
    report_said(sink, office, id, place, message)
        .related(aerial, "the section is aerial")
        .help("write `underground` or `buried` if it lies in the ground, or delete the depth");
    Some(())
}
