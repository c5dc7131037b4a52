use drysheath_office::kinds::{Key, KindId, SURROUNDINGS};
use drysheath_office::{Field, Fields, Office, ThingId};
use drysheath_text::Place;

use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SectionNeedsOneSurroundings,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "A section has more than one kind of surroundings.",
    explanation: "A section is a stretch of cable underground, buried or aerial, and the word also gives its length. With two of them it is not known how long it is and which minimum pressure applies. Make a section of each stretch, \
                  from the office outwards.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
cable c101 {
    pairs 50
    gauge 24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 1.5 km, aerial 0.5 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
#           ^^
}
",
        passing: r"
cable c101 {
    pairs 50
    gauge 24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 1.5 km, resistance 0.14 psi/scfh/kft, usage 3 scfh }
    section s3 { aerial 0.5 km, resistance 0.14 psi/scfh/kft, usage 1 scfh }
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, cable) in office.of_kind(KindId::Cable) {
        for (name, place, section) in cable.named(Key::Section) {
            judge(office, id, (name, place, section), sink);
        }
        for (_, _, branch) in cable.named(Key::Branch) {
            for (name, place, section) in branch.named(Key::Section) {
                judge(office, id, (name, place, section), sink);
            }
        }
    }
}

fn judge(office: &Office, id: ThingId, (name, place, section): (&str, Place, &[Field]), sink: &mut Sink<'_>) {
    let mut said = SURROUNDINGS.into_iter().filter(|key| section.has(*key));
    let (Some(first), Some(second)) = (said.next(), said.next()) else {
        return;
    };
    let message = format!(
        "section `{name}` of `{}` is declared both {} and {}",
        office.name(id),
        first.word(),
        second.word()
    );
    report_said(sink, office, id, place, message).help("make a section of each stretch, from the office outwards");
}
