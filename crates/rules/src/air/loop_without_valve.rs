use drysheath_engineering::index::IndexVec;
use drysheath_office::kinds::KindId;
use drysheath_office::{DisjointSets, Link, ThingId};

use crate::figures::names;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LoopWithoutValve,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Thing, &[RuleId::AirPortsDoubled])],
    family: Family::Air,
    summary: "Air runs close a loop in which there is no valve.",
    explanation: "In a closed loop air comes to a leak from both sides, so that flows point nowhere and no part can be shut \
                  off to find or repair it. A shut-off or check valve somewhere in the loop opens it, and so does a \
                  regulator: two regulators side by side are no loop, nor are two dryers that feed one manifold.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
manifold m9 { ports 1, rating 30 psi }
air mf port 3 -> m9 with 3/8 in tube, 1/4 in bore, 3 m
air mf port 4 -> m9 with 3/8 in tube, 1/4 in bore, 3 m
#   ^^^^^^^^^^^^^^^
spare m9 port 1
# without spare mf port 3
",
        passing: r"
manifold m9 { ports 1, rating 30 psi }
valve v1 { function shut-off, rating 30 psi }
air mf port 3 -> m9 with 3/8 in tube, 1/4 in bore, 3 m
air mf port 4 -> v1 -> m9 with 3/8 in tube, 1/4 in bore, 3 m
spare m9 port 1
# without spare mf port 3
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let mut groups = DisjointSets::new(inspection.office.things.len());
    if without_valve(inspection).all(|link| groups.join(link.from.thing, link.to.thing)) {
        return;
    }
    let mut groups = DisjointSets::new(inspection.office.things.len());
    let (tree, closing): (Vec<_>, Vec<_>) =
        without_valve(inspection).partition(|link| groups.join(link.from.thing, link.to.thing));
    let forest = SpanningForest::new(inspection.office.things.len(), &tree);
    for link in closing {
        let path = forest.between(link.from.thing, link.to.thing);
        report(inspection, link, &path, sink);
    }
}

fn without_valve<'i>(inspection: &'i Inspection<'_>) -> impl Iterator<Item = &'i Link> {
    let is_valve = |id| {
        let thing = inspection.office.thing(id);
        thing.is(KindId::Valve) || thing.is(KindId::Regulator)
    };
    inspection
        .networks
        .air
        .iter()
        .filter(move |link| !is_valve(link.from.thing) && !is_valve(link.to.thing))
}

fn report(inspection: &Inspection<'_>, closing: &Link, path: &[ThingId], sink: &mut Sink<'_>) {
    let office = inspection.office;
    let range = closing.from.range.cover(closing.to.range);
    let message = match path {
        [only] => format!("this run leads from `{}` to itself", office.name(*only)),
        _ => format!(
            "this run closes a loop through {} with no valve in it",
            names(office, path)
        ),
    };
    sink.report(closing.from.thing, range, message)
        .about(air_system(inspection, closing.from.thing))
        .about(path.iter().copied().map(Subject::Thing))
        .help("put a shut-off or check valve into one of its runs, or take one run away");
}

/// A spanning forest of the air runs: for each thing its parent and its depth.
struct SpanningForest {
    parents: IndexVec<ThingId, (ThingId, u32)>,
}

impl SpanningForest {
    fn new(things: usize, tree: &[&Link]) -> Self {
        let both_ways = tree.iter().map(|link| (link.from.thing, link.to.thing));
        let mut neighbours: Vec<_> = both_ways.flat_map(|(from, to)| [(from, to), (to, from)]).collect();
        neighbours.sort_unstable();
        let mut parents: IndexVec<ThingId, Option<(ThingId, u32)>> = IndexVec::filled(None, things);
        for start in parents.keys() {
            let mut open = vec![(start, start, 0)];
            while let Some((thing, from, depth)) = open.pop() {
                if parents[thing].is_some() {
                    continue;
                }
                parents[thing] = Some((from, depth));
                let at = neighbours.partition_point(|(other, _)| *other < thing);
                let next = neighbours
                    .get(at..)
                    .unwrap_or_default()
                    .iter()
                    .take_while(|(other, _)| *other == thing);
                open.extend(next.map(|(_, next)| (*next, thing, depth + 1)));
            }
        }
        Self {
            parents: parents.into_iter().flatten().collect(),
        }
    }

    /// The path from one thing to another, both included.
    fn between(&self, one: ThingId, other: ThingId) -> Vec<ThingId> {
        let (mut near, mut far) = (vec![one], vec![other]);
        let (mut one, mut other) = (one, other);
        while one != other {
            let ((parent_of_one, depth_of_one), (parent_of_other, depth_of_other)) =
                (self.parents[one], self.parents[other]);
            if depth_of_one >= depth_of_other {
                one = parent_of_one;
                near.push(one);
            } else {
                other = parent_of_other;
                far.push(other);
            }
            if depth_of_one == 0 && depth_of_other == 0 {
                break;
            }
        }
        // Both paths end at their common ancestor.
        far.pop();
        near.extend(far.into_iter().rev());
        near
    }
}
