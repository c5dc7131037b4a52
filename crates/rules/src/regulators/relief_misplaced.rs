use drysheath_office::kinds::{Key, KindId};

use super::setting::{relief_below_set, weaker_than_relief};
use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{StatedPressure, highest, stated};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ReliefMisplaced,
    level: Level::Error,
    while_planned: None,
    yields_to: &[
        (Scope::Thing, &[RuleId::RegulatorSetAboveRating]),
        (
            Scope::Field,
            &[RuleId::RegulatorSetAboveSupply, RuleId::RegulatorsSameSet],
        ),
    ],
    family: Family::Regulators,
    summary: "A relief opens at or below the set pressure, or above what is downstream is rated for.",
    explanation: "The relief protects what is downstream of a regulator that sticks open. Opening at the set pressure or below, \
                  it blows the dryer's air away day and night; opening above the lowest rating downstream, it opens after \
                  something has burst. It belongs between the two. A relief that opens above the supply never opens: then the \
                  supply is what can reach the parts downstream. Where the set pressure itself is reported, its relief is not.",
    source: Source::Derived("set pressure < relief ≤ lowest rating downstream"),
    example: Some(Example {
        failing: r"
regulator r1 {
    set 10 psi
    differential 5 psi
    inlet-max 60 psi
    relief 10 psi
#   ^^^^^^^^^^^^^
}
",
        passing: r"
regulator r1 {
    set 10 psi
    differential 5 psi
    inlet-max 60 psi
    relief 20 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, _) in office.of_kind(KindId::Regulator) {
        let Some(relief) = stated(office, id, Key::Relief) else {
            continue;
        };
        let name = office.name(id);
        if let Some((set, relief)) = relief_below_set(inspection, id) {
            let message = format!(
                "the relief of `{name}` opens at {}, not above the {} that it is set to: it blows air away all the time",
                relief.quantity, set.quantity
            );
            report_said(sink, office, id, relief.place, message)
                .about([set.subject(), Subject::Supply(id)])
                .related(set.place, "the set pressure")
                .help("choose a relief above the set pressure and not above the lowest rating downstream");
            continue;
        }
        let weaker = weaker_than_relief(inspection, id);
        let Some(weakest) = weaker.first() else { continue };
        let below = highest(inspection, id).filter(|highest| highest.figure < relief.figure);
        let what = match below {
            Some(supply) => format!(
                "only at {}, above the {} of its supply",
                relief.quantity, supply.quantity
            ),
            None => format!("at {}", relief.quantity),
        };
        let message = format!(
            "the relief of `{name}` opens {what}, and `{}` downstream is rated for {}",
            office.name(weakest.thing),
            weakest.quantity
        );
        report_said(sink, office, id, relief.place, message)
            .about(weaker.iter().map(StatedPressure::subject))
            .about([Subject::Supply(id)])
            .related(weakest.place, "the lowest rating")
            .help("choose a relief above the set pressure and not above the lowest rating downstream");
    }
}
