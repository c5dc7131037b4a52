use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Thing, ThingId};
use drysheath_syntax::Medium;

use super::open_ports::{in_words, is_joined, open_ports};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::OutletOpen,
    level: Level::Warning,
    while_planned: Some(Level::Note),
    yields_to: &[(
        Scope::Ports,
        &[RuleId::AirPortOutOfRange, RuleId::SpareInUse, RuleId::AirPortsDoubled],
    )],
    family: Family::Regulators,
    summary: "An outlet of a regulator is neither used nor declared spare.",
    explanation: "An outlet that nothing is joined to and nothing closes lets the dryer's air into the room. Plug it and say \
                  so, `spare r1 outlet 2`, or draw the run that leaves from it.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
regulator r1 {
    set 10 psi
    differential 5 psi
    inlet-max 60 psi
    relief 15 psi
    outlets 3
#   ^^^^^^^^^
}
spare r1 outlet 2
",
        passing: r"
regulator r1 {
    set 10 psi
    differential 5 psi
    inlet-max 60 psi
    relief 15 psi
    outlets 3
}
spare r1 outlet 2 .. 3
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    if inspection.office.unsure.about_spares(Medium::Air) {
        return;
    }
    for (id, regulator) in inspection.office.of_kind(KindId::Regulator) {
        if !regulator.damaged && is_joined(inspection, id) {
            judge(inspection, id, regulator, sink);
        }
    }
}

fn judge(inspection: &Inspection<'_>, id: ThingId, regulator: &Thing, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let Some((port, open)) = open_ports(inspection, id) else {
        return;
    };
    let outlets = in_words("outlet", &open);
    let name = office.name(id);
    let message = if outlets.starts_with("outlets") {
        format!("{outlets} of `{name}` are neither used nor declared spare: they let air out")
    } else {
        format!("{outlets} of `{name}` is neither used nor declared spare: it lets air out")
    };
    sink.report(id, regulator.place_of(Key::Outlets, office.file), message)
        .about([Subject::Ports(id, port.word)])
        .help(format!("plug what is not used and declare it: `spare {name} outlet …`"));
}
