use drysheath_engineering::units::time;
use drysheath_office::ThingId;
use drysheath_prediction::bottles_last;

use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{StatedPressure, behind, held, is_bank, sources};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::StandbyNotBelow,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "Bottles beside a dryer deliver as much pressure as the dryer, or more.",
    explanation: "Bottles stand by only while the dryer holds more pressure than they deliver. At the same pressure they share the \
                  load, and above it they feed the office alone: either way they are empty when the dryer stops. Set them below \
                  the dryer, and above what the next regulator needs. Bottles behind a closed valve are not compared.",
    source: Source::Derived("air flows from the source that holds more pressure"),
    example: Some(Example {
        failing: r"
bottle n1 { holds 230 scf, delivers 30 psi }
#                          ^^^^^^^^^^^^^^^
valve v1 { function check }
valve v2 { function check }
manifold m9 { ports 2, rating 60 psi }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air n1 -> v2 -> m9 port 2 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
bottle n1 { holds 230 scf, delivers 20 psi }
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
    for (id, bank) in office.air_sources() {
        if bank.damaged || !is_bank(bank) {
            continue;
        }
        let Some(own) = held(office, id) else { continue };
        if let Some(dryer) = weakest_beside(inspection, id)
            && !below(own.figure, dryer.figure)
        {
            report(inspection, &own, &dryer, sink);
        }
    }
}

/// Of the compressors that feed the same things as the bottles, the one with the lowest delivery pressure.
fn weakest_beside(inspection: &Inspection<'_>, bank: ThingId) -> Option<StatedPressure> {
    let office = inspection.office;
    let fed = behind(inspection, bank);
    let beside = fed.iter().flat_map(|id| sources(inspection, *id));
    let dryers = beside.filter(|id| office.thing(*id).gives_air() && !is_bank(office.thing(*id)));
    let held = dryers.filter_map(|id| held(office, id));
    held.min_by(|one, other| one.figure.total_cmp(&other.figure))
}

fn report(inspection: &Inspection<'_>, own: &StatedPressure, dryer: &StatedPressure, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let (name, beside) = (office.name(own.thing), office.name(dryer.thing));
    let message = if below(dryer.figure, own.figure) {
        let start = format!(
            "`{name}` delivers {} and feeds the office in place of `{beside}`",
            own.quantity
        );
        match empty_in(inspection, own.thing) {
            Some(time) => format!("{start}: full, it is empty in {time}"),
            None => start,
        }
    } else {
        format!(
            "`{name}` delivers {}, as much as `{beside}`: bottles that stand by share the load",
            own.quantity
        )
    };
    report_said(sink, office, own.thing, own.place, message)
        .about(air_system(inspection, own.thing))
        .related(dryer.place, format!("what `{beside}` delivers"))
        .help(format!("set `{name}` below {}", dryer.quantity));
}

/// How long full bottles last at their computed flow, as text.
fn empty_in(inspection: &Inspection<'_>, bank: ThingId) -> Option<String> {
    let flow = inspection.prediction.air.supply(bank)?.flow;
    Some(time(bottles_last(inspection.office.thing(bank), flow)?.seconds())?.to_string())
}
