use drysheath_office::kinds::{Kind, KindId, Role};
use drysheath_office::{LinkEnd, RunId, ThingId};
use drysheath_text::TextRange;

use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::AirPortsDoubled,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "Two runs end on one port where only one tube can.",
    explanation: "A port of a manifold, an outlet of a regulator and an inlet take one tube each. Either one of the runs goes \
                  to another port, or there is a tee or a manifold that the record does not show. The one inlet of a \
                  manifold may take several runs, for two dryers that feed it; so may the outlet of a dryer, valve or sensor, \
                  where a tee is common.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
air mf port 1 -> c101 with 3/8 in tube, 1/4 in bore, 3 m
air mf port 1 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 m
#   ^^^^^^^^^
spare mf port 2 .. 4
# without air mf port 2
# without spare mf port 3
",
        passing: r"
air f1 -> p1 with 1/4 in tube, 0.17 in bore, 0.5 m
spare mf port 2 .. 4
# without air mf port 2
# without spare mf port 3
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, thing) in office.things() {
        let Some(kind) = thing.kind else { continue };
        match kind.id {
            KindId::Manifold => numbered(inspection, id, sink),
            KindId::Regulator => {
                numbered(inspection, id, sink);
                inlet(inspection, id, sink);
            }
            _ if has_inlet(kind) => inlet(inspection, id, sink),
            _ => {}
        }
    }
}

fn has_inlet(kind: &Kind) -> bool {
    kind.ports.iter().any(|port| port.role == Role::Inlet)
}

/// The ends of all air runs on a thing.
fn sides<'i>(inspection: &'i Inspection<'_>, id: ThingId) -> impl Iterator<Item = (RunId, LinkEnd)> + 'i {
    let air = &inspection.networks.air;
    let leaving = air.leaving(id).map(|link| (link.run, link.from));
    leaving.chain(air.leading_to(id).map(|link| (link.run, link.to)))
}

fn numbered(inspection: &Inspection<'_>, id: ThingId, sink: &mut Sink<'_>) {
    let outlets = sides(inspection, id).filter(|(_, side)| side.port.role == Role::Outlet);
    let mut outlets: Vec<_> = outlets.map(|(run, side)| (side.number, run, side)).collect();
    outlets.sort_by_key(|(number, run, side)| (*number, *run, side.range));
    for same in outlets.chunk_by(|one, other| one.0 == other.0) {
        let Some(((_, first_run, first), rest)) = same.split_first() else {
            continue;
        };
        for (number, _, side) in rest.iter().filter(|(_, run, _)| run != first_run) {
            let what = format!("{} {number} of `{}`", side.port.word, inspection.office.name(id));
            report(inspection, id, &what, side.range, first.range, sink).about([Subject::Ports(id, side.port.word)]);
        }
    }
}

fn inlet(inspection: &Inspection<'_>, id: ThingId, sink: &mut Sink<'_>) {
    let mut inlets = sides(inspection, id).filter(|(_, side)| side.port.role == Role::Inlet);
    let Some((first_run, first)) = inlets.next() else {
        return;
    };
    for (run, side) in inlets.filter(|(run, _)| *run != first_run) {
        // Two runs from one outlet to one inlet are the same run written twice.
        if shares_outlet(inspection, id, first_run, run) {
            continue;
        }
        let what = format!("the inlet of `{}`", inspection.office.name(id));
        report(inspection, id, &what, side.range, first.range, sink);
    }
}

/// Whether two runs come to a thing from the same numbered outlet. The result is then given at that outlet.
fn shares_outlet(inspection: &Inspection<'_>, id: ThingId, one: RunId, other: RunId) -> bool {
    let outlet = |run| {
        let mut leading = inspection.networks.air.leading_to(id).filter(|link| link.run == run);
        leading
            .next()
            .map(|link| (link.from.thing, link.from.number))
            .filter(|(_, number)| *number > 0)
    };
    outlet(one).is_some_and(|shared| outlet(other) == Some(shared))
}

fn report<'s>(
    inspection: &Inspection<'_>,
    id: ThingId,
    what: &str,
    range: TextRange,
    first: TextRange,
    sink: &'s mut Sink<'_>,
) -> &'s mut Finding {
    let office = inspection.office;
    sink.report(id, range, format!("{what} has another run already"))
        .about(air_system(inspection, id))
        .related(
            office.place(first),
            format!("{what} is used by {}", run_around(office, first)),
        )
        .help("take one of the runs to another port, or declare the manifold that joins them")
}
