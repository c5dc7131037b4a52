use super::budget::{budgets, is_exceeded, report_short};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DryerCapacityShort,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(Scope::AirSystem, &[RuleId::UsageBeyondLines])],
    family: Family::Air,
    summary: "The cables and pipes use more air than their dryers can deliver.",
    explanation: "A dryer that is asked for more than its capacity runs all the time and delivers wet air at falling pressure. \
                  The usage of all sections and pipes of one air system must stay within the capacity of the dryers that feed \
                  it. A capacity is counted at the conditions that its maker states (`rating-pressure`, \
                  `rating-temperature`), and holds at the maker's elevation (`rating-elevation`); it is converted before it is \
                  compared, since a compressor takes in less air where the air is thin. Repair leaks, or add capacity. Where \
                  the pressures cannot be computed, the declared usage is taken, and usage that is not declared counts as \
                  none; with a dryer that states no capacity nothing is compared. Where only the margin is missing, \
                  `dryer-margin-short` says so.",
    source: Source::Derived("sum of the declared usage against the converted capacity"),
    example: Some(Example {
        failing: r"
dryer d1 {
    compressor piston
    delivers 30 psi
    capacity 7.2 scfh
#   ^^^^^^^^^^^^^^^^^
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
    for joint in budgets(inspection).iter().filter(|joint| is_exceeded(&joint.budget)) {
        report_short(inspection, joint, sink);
    }
}
