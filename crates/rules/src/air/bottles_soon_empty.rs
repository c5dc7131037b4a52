use drysheath_engineering::units::{Quantity, time};
use drysheath_office::ThingId;
use drysheath_office::kinds::{Key, KindId};
use drysheath_prediction::{SystemId, bottles_last};
use drysheath_syntax::Medium;

use crate::figures::{below, names, report_said, shown_flow};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::settings::PracticeKey;
use crate::supply::{is_bank, stated};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::BottlesSoonEmpty,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "Bottles are the only source of air, and full ones do not last as long as they must.",
    explanation: "Where no compressor feeds the same cables, somebody has to bring full bottles before these are empty. What they hold \
                  together over what the cables and pipes use is how long they last; the settings say how long they must, \
                  `bottles-last`, which is common practice without a source. Join more bottles, mend the leaks, or set the time to \
                  how often somebody comes. Bottles that stand by for a compressor are not checked.",
    source: Source::Derived("what the bottles hold over what is used"),
    example: Some(Example {
        failing: r"
bottle n1 { holds 230 scf, delivers 30 psi, bottles 5, contact low { healthy closed } }
#           ^^^^^^^^^^^^^
air n1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
wire n1 contact low -> tb pair 4 -> m1 contact 1
# without dryer d1
# without air d1
# without wire d1
# without ground d1
",
        passing: r"
bottle n1 { holds 230 scf, delivers 30 psi, bottles 6, contact low { healthy closed } }
air n1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
wire n1 contact low -> tb pair 4 -> m1 contact 1
# without dryer d1
# without air d1
# without wire d1
# without ground d1
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.of_kind(KindId::Bottle).next().is_none() || office.unsure.about(Medium::Air) {
        return;
    }
    let Some(least) = inspection.settings.quantity(PracticeKey::BottlesLast) else {
        return;
    };
    for system in inspection.prediction.air.systems() {
        report(inspection, system, least, sink);
    }
}

fn report(inspection: &Inspection<'_>, system: SystemId, least: Quantity, sink: &mut Sink<'_>) -> Option<()> {
    let office = inspection.office;
    let air = &inspection.prediction.air;
    let usage = air.usage(system)?;
    let sources: Vec<ThingId> = air.dryers(system).collect();
    if sources.iter().any(|id| !is_bank(office.thing(*id))) {
        return None;
    }
    let lasts = sources
        .iter()
        .map(|id| Some(bottles_last(office.thing(*id), usage)?.seconds()));
    let lasts = lasts.sum::<Option<f64>>()?;
    if !below(lasts, least.si()) {
        return None;
    }
    let first = stated(office, *sources.first()?, Key::Holds)?;
    let who = names(office, &sources);
    let (who, full) = if sources.len() == 1 {
        (format!("{who} is"), "it lasts")
    } else {
        (format!("{who} are"), "they last")
    };
    let message = format!(
        "{who} all that feeds these cables, which use {}: full, {full} {}, and must last {least}{}",
        shown_flow(office, usage),
        time(lasts)?,
        inspection.settings.said_in(PracticeKey::BottlesLast)
    );
    let finding = report_said(sink, office, first.thing, first.place, message);
    finding.about([Subject::AirSystem(system)]);
    for other in sources.iter().skip(1).filter_map(|id| stated(office, *id, Key::Holds)) {
        finding.related(other.place, "what the others hold");
    }
    finding.help("join more bottles, mend the leaks, or say in the settings how often somebody comes: `bottles-last`");
    Some(())
}
