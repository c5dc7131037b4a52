use drysheath_office::{Fields, LimitLevel};

use super::reading::readings;
use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SecondLimitAlone,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Spans,
    summary: "A sensor has a low-low or high-high limit without the milder one before it.",
    explanation: "A low-low limit is the second alarm, after a low one, and a high-high limit the second after a high one. Alone, \
                  the first alarm that anybody gets is the one for the last stage. Either it is meant as the first alarm \
                  and is called `low` or `high`, or the first is missing.",
    source: Source::Derived("what the levels mean"),
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low-low 8 psi major deadband 0.3 psi
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 8.5 psi minor deadband 0.3 psi
    limit low-low 8 psi major deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(inspection).filter(|reading| !office.thing(reading.id).damaged) {
        let find = |level| reading.fields.limits().find(|(limit, _)| limit.level == level);
        for (outer, inner) in [
            (LimitLevel::LowLow, LimitLevel::Low),
            (LimitLevel::HighHigh, LimitLevel::High),
        ] {
            let (Some((limit, place)), None) = (find(outer), find(inner)) else {
                continue;
            };
            let (outer, inner) = (outer.word(), inner.word());
            let message = format!(
                "{} has a {outer} limit, {}, and no {inner} limit that trips before it",
                reading.name(),
                limit.value
            );
            report_said(sink, office, reading.id, place, message).help(format!(
                "call it `{inner}` if it is meant as the first alarm, or add the {inner} limit"
            ));
        }
    }
}
