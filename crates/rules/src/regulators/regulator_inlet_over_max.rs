use drysheath_office::kinds::{Key, KindId};

use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{stated, supply_of};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RegulatorInletOverMax,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Regulators,
    summary: "A regulator's supply can exceed its maximum inlet pressure.",
    explanation: "Above its maximum inlet pressure a regulator may burst or pass that pressure on, and compressed air hurts \
                  anyone standing beside it. The highest pressure that can reach it counts: what a dryer delivers, or, where a \
                  regulator upstream sticks open, the pressure at which that one's relief opens. Without a relief, the supply \
                  of the regulator upstream counts. Choose a regulator for the supply, or lower the supply.",
    source: Source::Derived("the highest pressure that the place can see"),
    example: Some(Example {
        failing: r"
regulator r1 {
    set 10 psi
    differential 5 psi
    inlet-max 29 psi
#   ^^^^^^^^^^^^^^^^
    relief 15 psi
}
",
        passing: r"
regulator r1 {
    set 10 psi
    differential 5 psi
    inlet-max 30 psi
    relief 15 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, _) in office.of_kind(KindId::Regulator) {
        let Some(most) = stated(office, id, Key::InletMax) else {
            continue;
        };
        let Some(supply) = supply_of(inspection, id) else {
            continue;
        };
        if !below(most.figure, supply.figure) {
            continue;
        }
        let message = format!(
            "the inlet of `{}` is rated for {}, and {} can reach it from `{}`",
            office.name(id),
            most.quantity,
            supply.quantity,
            office.name(supply.thing)
        );
        report_said(sink, office, id, most.place, message)
            .about([most.subject()])
            .related(supply.place, "the supply")
            .help("choose a regulator that is rated for this supply, or lower the supply");
    }
}
