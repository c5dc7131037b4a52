use drysheath_engineering::index::IndexVec;
use drysheath_office::{ThingId, lets_air};
use drysheath_syntax::Medium;

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

/// The other dryers that the air of a dryer can flow back into, whichever way the arrows point.
fn fed_dryers(inspection: &Inspection<'_>, dryer: ThingId) -> Vec<ThingId> {
    let office = inspection.office;
    let air = &inspection.networks.air;
    let mut fed = Vec::new();
    // Of each thing whether air comes to its inlet, and whether to its outlet.
    let mut inlets = IndexVec::filled(false, office.things.len());
    let mut outlets = inlets.clone();
    let mut open = vec![(dryer, true)];
    while let Some((id, outlet)) = open.pop() {
        let seen = if outlet { &mut outlets } else { &mut inlets };
        if std::mem::replace(&mut seen[id], true) {
            continue;
        }
        let thing = office.thing(id);
        if thing.gives_air() {
            if id != dryer && outlet {
                fed.push(id);
            }
        } else if !thing.damaged && lets_air(thing, outlet) {
            open.push((id, !outlet));
        }
        let onwards = air.leaving(id).map(|link| (link.from, link.to));
        let joined = onwards.chain(air.leading_to(id).map(|link| (link.to, link.from)));
        let joined = joined.filter(|(own, _)| own.is_outlet() == outlet);
        open.extend(joined.map(|(_, other)| (other.thing, other.is_outlet())));
    }
    fed
}
