use drysheath_office::ThingId;
use drysheath_office::kinds::{Key, KindId};

use crate::figures::{below, in_unit_of, names, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{StatedPressure, held, is_bank, sources, stated};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::StandbyTooLow,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(
        Scope::Field,
        &[
            RuleId::RegulatorSetAboveSupply,
            RuleId::RegulatorsSameSet,
            RuleId::RegulatorSetAboveRating,
        ],
    )],
    family: Family::Regulators,
    summary: "Bottles that stand by deliver less than the regulator downstream needs.",
    explanation: "When the dryer stops, the bottles are the only supply. A regulator that gets less than its set pressure plus its differential is wide open then, and the pressure of the cables falls with the bottles. Set them \
                  higher, though below the dryer, or set the regulator lower.",
    source: Source::Derived("what the bottles deliver less the differential, against the set pressure"),
    example: Some(Example {
        failing: r"
bottle n1 { holds 230 scf, delivers 12 psi }
#                          ^^^^^^^^^^^^^^^
valve v1 { function check }
valve v2 { function check }
manifold m9 { ports 2, rating 60 psi }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air n1 -> v2 -> m9 port 2 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
bottle n1 { holds 230 scf, delivers 15 psi }
valve v1 { function check }
valve v2 { function check }
manifold m9 { ports 2, rating 60 psi }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air n1 -> v2 -> m9 port 2 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, _) in office.of_kind(KindId::Regulator) {
        let Some(set) = held(office, id) else { continue };
        let (banks, others): (Vec<_>, Vec<_>) = sources(inspection, id)
            .into_iter()
            .filter(|source| *source != id && office.thing(*source).gives_air())
            .partition(|source| is_bank(office.thing(*source)));
        if others.is_empty() {
            continue;
        }
        let needed = stated(office, id, Key::Differential);
        let wanted = set.figure + needed.map_or(0.0, |needed| needed.figure);
        for bank in banks.into_iter().filter_map(|bank| held(office, bank)) {
            if below(bank.figure, wanted) {
                report(inspection, &bank, &others, (&set, needed.as_ref(), wanted), sink);
            }
        }
    }
}

fn report(
    inspection: &Inspection<'_>,
    bank: &StatedPressure,
    dryers: &[ThingId],
    (set, needed, wanted): (&StatedPressure, Option<&StatedPressure>, f64),
    sink: &mut Sink<'_>,
) {
    let office = inspection.office;
    let (name, regulator) = (office.name(bank.thing), office.name(set.thing));
    let stops = if dryers.len() == 1 { "stops" } else { "stop" };
    let message = format!(
        "when {} {stops}, `{name}` brings {}, and `{regulator}` needs {} to hold {}",
        names(office, dryers),
        bank.quantity,
        in_unit_of(set.quantity, wanted, office),
        set.quantity
    );
    let finding = report_said(sink, office, bank.thing, bank.place, message);
    finding.about([set.subject()]);
    finding.related(set.place, "the set pressure");
    if let Some(needed) = needed {
        finding.related(needed.place, "its differential");
    }
    finding.help(format!(
        "set `{name}` higher, but below the dryer, or set `{regulator}` lower"
    ));
}
