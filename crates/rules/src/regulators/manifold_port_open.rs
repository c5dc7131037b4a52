use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, LinkEnd, ThingId, lets_air};
use drysheath_syntax::Medium;

use super::open_ports::{in_words, is_joined, open_ports};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ManifoldPortOpen,
    level: Level::Warning,
    while_planned: Some(Level::Note),
    yields_to: &[(
        Scope::Ports,
        &[RuleId::AirPortOutOfRange, RuleId::SpareInUse, RuleId::AirPortsDoubled],
    )],
    family: Family::Regulators,
    summary: "A port of a manifold is neither used nor declared spare, or an open valve leads nowhere.",
    explanation: "A port with no run and no plug lets the dryer's air into the room, and so does a valve that is open \
                  with nothing joined to its outlet. Where a port is plugged, the record says that it is spare, so that the \
                  next feeder finds it; where something is joined to it, the record shows the run.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
manifold mf { ports 6, rating 30 psi }
#             ^^^^^^^
",
        passing: r"
manifold mf { ports 6, rating 30 psi }
spare mf port 5 .. 6
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.unsure.about_spares(Medium::Air) {
        return;
    }
    for (id, manifold) in office.of_kind(KindId::Manifold) {
        if manifold.count(Key::Ports).is_none() || manifold.damaged || !is_joined(inspection, id) {
            continue;
        }
        let Some((port, open)) = open_ports(inspection, id) else {
            continue;
        };
        let Some((first, _)) = open.first() else { continue };
        let ports = in_words("port", &open);
        let (name, are) = (office.name(id), if ports.starts_with("ports") { "are" } else { "is" });
        let message = format!("{ports} of `{name}` {are} neither used nor declared spare");
        sink.report(id, manifold.place_of(Key::Ports, office.file), message)
            .about([Subject::Ports(id, port.word)])
            .help(format!(
                "plug what is not used and declare it, as in `spare {name} port {first}`"
            ));
    }
    let passed = [KindId::Filter, KindId::Tank].into_iter();
    for (id, filter) in passed.flat_map(|kind| office.of_kind(kind)) {
        if !filter.damaged && leads_nowhere(inspection, id) {
            let name = office.name(id);
            let message = format!("nothing is connected to the outlet of `{name}`: it lets air out");
            sink.report(id, filter.name, message)
                .help(format!("draw the run that leaves it, `air {name} -> …`"));
        }
    }
    for (id, valve) in office.of_kind(KindId::Valve) {
        if valve.damaged || !lets_air(valve, false) || !leads_nowhere(inspection, id) {
            continue;
        }
        let name = office.name(id);
        let message = format!("`{name}` is open, and nothing is connected to its outlet: it lets air out");
        sink.report(id, valve.name, message).help(format!(
            "declare it `stands closed`, or draw the run that leaves it, `air {name} -> …`"
        ));
    }
}

/// Whether a run leads to the inlet of a valve and none is joined to its outlet.
fn leads_nowhere(inspection: &Inspection<'_>, valve: ThingId) -> bool {
    let networks = inspection.networks;
    let sides = || {
        let leaving = networks.air.leaving(valve).map(|link| &link.from);
        leaving.chain(networks.air.leading_to(valve).map(|link| &link.to))
    };
    sides().any(|side| networks.is_reached_at(side)) && !sides().any(LinkEnd::is_outlet)
}
