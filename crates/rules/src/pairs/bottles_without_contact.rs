use drysheath_office::Fields;
use drysheath_office::kinds::{Key, KindId};

use super::dryer_without_contact::all_spare;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::is_bank;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::BottlesWithoutContact,
    level: Level::Warning,
    while_planned: Some(Level::Note),
    yields_to: &[],
    family: Family::Pairs,
    summary: "Bottles are the only source of air, and no contact reports that they run low.",
    explanation: "The regulator of bottles holds its pressure until they are nearly empty, so no sensor downstream shows that \
                  they run low. A contact on their high-pressure side does. Write it down and wire it to the monitor, or accept this with how \
                  else somebody knows. Bottles that stand by for a compressor, and offices without a monitor, are left out.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
bottle n1 { holds 230 scf, delivers 30 psi, bottles 6 }
#      ^^
air n1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
# without dryer d1
# without air d1
# without wire d1
# without ground d1
spare tb pair 4
spare m1 contact 1
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
    let mut sources = office.air_sources();
    let has_monitor = office.of_kind(KindId::Monitor).next().is_some();
    // Unreadable text may contain a compressor.
    if !has_monitor || office.unsure.things || sources.any(|(_, thing)| !is_bank(thing)) {
        return;
    }
    for (id, thing) in office.air_sources().filter(|(_, thing)| !thing.damaged) {
        let name = office.name(id);
        if !thing.has(Key::Contact) {
            let message = format!(
                "nothing but bottles feeds this office, and `{name}` has no contact that reports when it runs low"
            );
            sink.report(id, thing.name, message).help(
                "write its contact, such as `contact low-pressure { healthy closed }`, and wire it to the monitor",
            );
        } else if let Some(spare) = all_spare(inspection, id) {
            let message =
                format!("nothing but bottles feeds this office, and every contact of `{name}` is declared spare");
            sink.report(id, spare, message)
                .help("wire the contact that reports when it runs low to the monitor");
        }
    }
}
