use drysheath_office::kinds::KindId;

use super::setting::weaker_than_set;
use crate::figures::{names, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{StatedPressure, held};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RegulatorSetAboveRating,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Regulators,
    summary: "A regulator is set above the rating of a part downstream.",
    explanation: "Everything from a regulator to the next one sees its set pressure: manifolds, valves, pipes, cables and \
                  sensors. What is rated for less leaks, or bursts in somebody's hands. Set the regulator below the lowest \
                  rating downstream, or give the weak part a regulator of its own. A part that declares no rating is not \
                  checked.",
    source: Source::Derived("lowest rating downstream"),
    example: Some(Example {
        failing: r"
manifold mf { ports 4, rating 9 psi }
regulator r1 {
    set 10 psi
#   ^^^^^^^^^^
    differential 5 psi
    inlet-max 60 psi
    relief 15 psi
}
",
        passing: r"
manifold mf { ports 4, rating 12 psi }
regulator r1 {
    set 10 psi
    differential 5 psi
    inlet-max 60 psi
    relief 12 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    const SHOWN: usize = 6;
    let office = inspection.office;
    for (id, _) in office.of_kind(KindId::Regulator) {
        let weaker = weaker_than_set(inspection, id);
        let (Some(weakest), Some(set)) = (weaker.first(), held(office, id)) else {
            continue;
        };
        let mut others: Vec<_> = weaker.iter().skip(1).map(|other| other.thing).collect();
        others.sort_unstable();
        others.dedup();
        let mut message = format!(
            "`{}` is set to {}, and `{}` downstream is rated for {}",
            office.name(id),
            set.quantity,
            office.name(weakest.thing),
            weakest.quantity
        );
        if !others.is_empty() {
            message.push_str("; too weak as well: ");
            message.push_str(&names(office, &others));
        }
        let finding = report_said(sink, office, id, set.place, message);
        finding.about(weaker.iter().map(StatedPressure::subject));
        finding.about([Subject::Supply(id)]).about(air_system(inspection, id));
        for stated in weaker.iter().take(SHOWN) {
            finding.related(
                stated.place,
                format!("`{}` is rated for {}", office.name(stated.thing), stated.quantity),
            );
        }
        finding.help("set it below the lowest rating downstream, or give the weak part a regulator of its own");
    }
}
