use super::budget::{budgets, is_exceeded, report_short};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DryerMarginShort,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::AirSystem, &[RuleId::UsageBeyondLines])],
    family: Family::Air,
    summary: "The dryers can deliver what is used, but not with the margin that is kept.",
    explanation: "A dryer that runs nearly all the time wears out, has no time to dry its towers, and leaves nothing for the \
                  next leak. The capacity must exceed the usage of all sections and pipes of one air system by the setting \
                  `dryer-margin`. Capacities are converted as for `dryer-capacity-short`. Repair leaks, or add capacity.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
dryer d1 {
    compressor piston
    delivers 30 psi
    capacity 9.07 scfh
#   ^^^^^^^^^^^^^^^^^^
    dew-point -40 degC
    contact humidity { healthy closed }
}
",
        passing: r"
dryer d1 {
    compressor piston
    delivers 30 psi
    capacity 9.08 scfh
    dew-point -40 degC
    contact humidity { healthy closed }
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for joint in budgets(inspection)
        .iter()
        .filter(|joint| !is_exceeded(&joint.budget) && !joint.budget.enough())
    {
        report_short(inspection, joint, sink);
    }
}
