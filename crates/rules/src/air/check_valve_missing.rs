use drysheath_office::{Thing, ThingId, lets_air};
use drysheath_syntax::Medium;

use super::reach::{Direction, reached};
use crate::figures::names;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::CheckValveMissing,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "Nothing keeps the air of one dryer from flowing back into another.",
    explanation: "Two dryers that feed the same manifold run at different times and hold slightly different pressures. Air from \
                  the one that is running flows back into the one that is off, out through the drain of its towers, and wets \
                  them. A check valve at the outlet of each dryer prevents it; so does a regulator, which passes no air \
                  backwards, and a valve that is closed.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
dryer d2 { compressor rotary, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
#     ^^
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
valve v1 { function check }
manifold m9 { ports 1, rating 30 psi }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
dryer d2 { compressor rotary, delivers 30 psi, capacity 100 scfh, dew-point -40 degC, contact humidity { healthy closed } }
ground d2 frame -> ogb with 10 awg, 4 m
wire d2 contact humidity -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
valve v1 { function check }
valve v2 { function check }
manifold m9 { ports 1, rating 30 psi }
air d1 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air d2 -> v2 -> m9 with 3/8 in tube, 1/4 in bore, 4 m
air m9 port 1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let dryers: Vec<ThingId> = office.air_sources().map(|(id, _)| id).collect();
    if dryers.len() < 2 || office.unsure.about(Medium::Air) {
        return;
    }
    let fed: Vec<Vec<ThingId>> = dryers.iter().map(|dryer| fed_dryers(inspection, *dryer)).collect();
    for dryer in &dryers {
        let strangers = dryers.iter().zip(&fed).filter(|(_, fed)| fed.contains(dryer));
        let strangers: Vec<ThingId> = strangers.map(|(stranger, _)| *stranger).collect();
        if strangers.is_empty() {
            continue;
        }
        let name = office.name(*dryer);
        let message = format!(
            "nothing keeps the air of {} from flowing back into `{name}`",
            names(office, &strangers)
        );
        let finding = sink.report(*dryer, office.thing(*dryer).name, message);
        if let Some(first) = strangers.first() {
            let label = format!("`{}` feeds the same air system", office.name(*first));
            finding.related(office.place(office.thing(*first).name), label);
        }
        finding.help(format!("put a check valve into the run that leaves `{name}`"));
    }
}

/// The other dryers that air of a dryer can flow back into, regardless of the direction of the arrows.
fn fed_dryers(inspection: &Inspection<'_>, dryer: ThingId) -> Vec<ThingId> {
    let office = inspection.office;
    let passes = |thing: &Thing, outlet| !thing.gives_air() && !thing.damaged && lets_air(thing, outlet);
    let reached = reached(inspection, dryer, passes, Direction::Either);
    let is_fed = |(id, outlet): &(ThingId, bool)| *outlet && *id != dryer && office.thing(*id).gives_air();
    reached.into_iter().filter(is_fed).map(|(id, _)| id).collect()
}
