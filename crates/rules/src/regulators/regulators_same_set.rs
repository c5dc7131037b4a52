use drysheath_office::kinds::KindId;

use super::setting::same_set_before;
use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::held;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RegulatorsSameSet,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(Scope::Thing, &[RuleId::RegulatorSetAboveRating])],
    family: Family::Regulators,
    summary: "Two regulators one after the other are set to the same pressure.",
    explanation: "The second of two regulators with the same set pressure never has the difference that it needs, so it \
                  is wide open and does nothing but restrict the flow. Either one of the two is set wrong, or the second \
                  can go.",
    source: Source::Derived("supply less differential"),
    example: Some(Example {
        failing: r"
regulator r2 {
    set 10 psi
#   ^^^^^^^^^^
    differential 1 psi
    inlet-max 60 psi
}
air d1 -> r1 -> r2 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
regulator r2 {
    set 9.8 psi
    differential 0.15 psi
    inlet-max 60 psi
}
air d1 -> r1 -> r2 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, _) in office.of_kind(KindId::Regulator) {
        let Some((before, set)) = same_set_before(inspection, id).zip(held(office, id)) else {
            continue;
        };
        let (name, first) = (office.name(id), office.name(before.thing));
        let message = format!(
            "`{name}` is set to {}, the same as `{first}` before it ({}): it does nothing",
            set.quantity, before.quantity
        );
        report_said(sink, office, id, set.place, message)
            .about([set.subject(), Subject::Supply(id)])
            .related(before.place, format!("`{first}` is set to {}", before.quantity))
            .help(format!(
                "set `{first}` higher or `{name}` lower, or take one of them away"
            ));
    }
}
