use drysheath_office::Fields;
use drysheath_office::kinds::{Key, KindId};

use crate::figures::{below, names};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{StatedPressure, held, supply_of, weaker_behind};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ReliefMissing,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Regulators,
    summary: "A regulator has no relief, and its supply exceeds what is downstream is rated for.",
    explanation: "When a regulator sticks open, its whole supply pressure reaches everything downstream, up to the next regulator. \
                  Without a relief nothing stops it: a cable splits, a sensor is ruined, and compressed air hurts anyone who stands \
                  beside it. Fit a relief that opens above the set pressure and not above the lowest rating downstream, or \
                  choose parts that are rated for the supply.",
    source: Source::Derived("the highest pressure upstream against the lowest rating downstream"),
    example: Some(Example {
        failing: r"
regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh }
#         ^^
",
        passing: r"
regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, flow-max 80 scfh, relief 20 psi }
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    const SHOWN: usize = 6;
    let office = inspection.office;
    for (id, regulator) in office.of_kind(KindId::Regulator) {
        if regulator.damaged || regulator.has(Key::Relief) {
            continue;
        }
        let (Some(set), Some(supply)) = (held(office, id), supply_of(inspection, id)) else {
            continue;
        };
        // A relief does not protect things rated below the set pressure.
        let mut weaker = weaker_behind(inspection, id, &[Key::Rating, Key::Proof], supply.figure);
        weaker.retain(|weak| !below(weak.figure, set.figure));
        let Some(weakest) = weaker.first() else { continue };
        let mut others: Vec<_> = weaker.iter().skip(1).map(|other| other.thing).collect();
        others.sort_unstable();
        others.dedup();
        let name = office.name(id);
        let mut message = format!(
            "`{name}` has no relief: if it sticks open, {} from `{}` reaches `{}`, which is rated for {}",
            supply.quantity,
            office.name(supply.thing),
            office.name(weakest.thing),
            weakest.quantity
        );
        if !others.is_empty() {
            message.push_str("; too weak as well: ");
            message.push_str(&names(office, &others));
        }
        let finding = sink.report(id, regulator.name, message);
        finding.about(weaker.iter().map(StatedPressure::subject));
        finding.about([Subject::Supply(id)]);
        finding.related(supply.place, "the pressure that can reach it");
        for weak in weaker.iter().take(SHOWN) {
            let label = format!("`{}` is rated for {}", office.name(weak.thing), weak.quantity);
            finding.related(weak.place, label);
        }
        finding.help(format!(
            "fit a relief that opens above {} and not above {}, and state it: `relief`",
            set.quantity, weakest.quantity
        ));
    }
}
