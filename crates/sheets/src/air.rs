//! The air drawing: from the dryer through the office into the cables, with the computed pressure and flow at each
//! point.

use std::collections::VecDeque;

use drysheath_office::kinds::{Key, KindId, Numbering, ValveFunction, ValvePosition};
use drysheath_office::line::{is_line, tap_position};
use drysheath_office::{Attributes, Fields, Link as AirLink, Office, Thing, ThingId};
use drysheath_prediction::{Landmark, Line, ProfilePoint};
use rustc_hash::FxHashMap;

use crate::diagram::{Diagram, Link, Node};
use crate::facts::Facts;
use crate::mark::Mark;
use crate::metric::unbroken;
use crate::symbols::Symbol;

/// Points closer together than this are treated as one, m.
const SAME: f64 = 0.02;

/// Draws the air network. The result also states what could not be computed.
pub fn diagram(facts: &Facts<'_>) -> Diagram {
    let mut builder = Builder {
        facts,
        diagram: Diagram::default(),
        drawn: FxHashMap::default(),
        open: VecDeque::new(),
        figures: figures(facts),
    };
    let air = &facts.networks.air;
    let mut things: Vec<ThingId> = air.iter().flat_map(|link| [link.from.thing, link.to.thing]).collect();
    things.extend(
        facts
            .office
            .things()
            .filter(|(_, thing)| is_line(thing))
            .map(|(id, _)| id),
    );
    // Sources first, then things without a predecessor, then the rest: a ring has no beginning.
    let begins = |id: &ThingId| air.leading_to(*id).next().is_none();
    things.sort_by_key(|id| (!facts.office.thing(*id).gives_air(), !begins(id), *id));
    things.dedup();
    for thing in things {
        if !builder.drawn.contains_key(&thing) {
            let root = builder.thing(thing, Link::default());
            builder.diagram.roots.push(root);
            while let Some(next) = builder.open.pop_front() {
                builder.follow(next);
            }
        }
    }
    builder.diagram
}

/// Flow of each piece of each air run, with the link it belongs to.
fn figures(facts: &Facts<'_>) -> Vec<(AirLink, Attributes, Option<String>)> {
    let pieces = facts.networks.air.pieces(facts.office);
    let flows = facts
        .prediction
        .air
        .runs()
        .map(|state| state.map(|state| facts.flow(state.flow)));
    pieces
        .zip(flows)
        .map(|((link, piece), flow)| (*link, *piece, flow))
        .collect()
}

struct Builder<'f, 'a> {
    facts: &'f Facts<'a>,
    diagram: Diagram,
    /// Where each thing is drawn: for a cable, each of its points with its distance.
    drawn: FxHashMap<ThingId, Vec<(f64, usize)>>,
    /// Things already drawn whose successors are not.
    open: VecDeque<ThingId>,
    figures: Vec<(AirLink, Attributes, Option<String>)>,
}

impl Builder<'_, '_> {
    /// Draws a thing and returns the number of its first node. Successors are drawn later from a queue, without
    /// recursion, so a chain may have any length.
    fn thing(&mut self, id: ThingId, link: Link) -> usize {
        let thing = self.facts.office.thing(id);
        if is_line(thing) {
            return self.route(id, None, link);
        }
        let node = self.diagram.add(Node {
            symbol: symbol(thing),
            name: self.facts.office.name(id).to_owned(),
            said: self.said(id),
            link,
            mark: self.facts.mark(id),
            next: Vec::new(),
        });
        self.drawn.insert(id, vec![(0.0, node)]);
        self.open.push_back(id);
        node
    }

    /// Draws the successors of a thing. For a cable or pipe, each starts at the point where its run leaves.
    fn follow(&mut self, id: ThingId) {
        let nodes = self.drawn.get(&id).cloned().unwrap_or_default();
        let mut leaving: Vec<AirLink> = self.facts.networks.air.leaving(id).copied().collect();
        let name = |link: &AirLink| self.facts.office.name(link.to.thing).to_owned();
        leaving.sort_by_cached_key(|link| (link.from.number, name(link)));
        for link in leaving {
            let spot = tap_position(self.facts.office, &link).map(|spot| spot.metres);
            let found = spot.and_then(|spot| nodes.iter().find(|(metres, _)| (metres - spot).abs() < SAME));
            let Some((_, from)) = found.or(nodes.last()).copied() else {
                continue;
            };
            let (said, mark) = self.link(&link);
            let shown = Link {
                said,
                class: mark.line("air"),
            };
            let target = link.to.thing;
            let next = if self.drawn.contains_key(&target) {
                self.reference(target, shown)
            } else {
                self.thing(target, shown)
            };
            self.diagram.join(from, next);
        }
    }

    /// Adds a reference symbol where the line continues at a thing that is drawn elsewhere.
    fn reference(&mut self, to: ThingId, link: Link) -> usize {
        self.diagram.add(Node {
            symbol: Symbol::Reference,
            name: format!("to {}", self.facts.office.name(to)),
            said: Vec::new(),
            link,
            mark: self.facts.mark(to),
            next: Vec::new(),
        })
    }

    /// Caption above the line of a link, and the mark of the link.
    fn link(&self, link: &AirLink) -> (Vec<String>, Mark) {
        let facts = self.facts;
        let mut said = Vec::new();
        if let Numbering::Count(_) = link.from.port.numbering
            && facts
                .office
                .rows(link.from.thing, link.from.port)
                .is_some_and(|rows| rows.count() > 1)
        {
            said.push(format!("{} {}", link.from.port.word, link.from.number));
        }
        let own =
            |one: &&(AirLink, Attributes, Option<String>)| one.0.run == link.run && one.0.to.range == link.to.range;
        let mut flow = None;
        for (number, (_, piece, flows)) in self.figures.iter().filter(own).enumerate() {
            if number > 0 {
                said.push(if piece.reducer.is_some() {
                    "reducer, then".to_owned()
                } else {
                    "then".to_owned()
                });
            }
            said.extend(facts.piece(link, piece));
            flow = flow.or(flows.clone());
        }
        said.extend(flow);
        let mark = facts.marks.link(facts.office, link);
        said.extend(mark.word().map(str::to_owned));
        (said, mark)
    }

    /// Captions below a thing of the office: its title and its figures.
    fn said(&self, id: ThingId) -> Vec<String> {
        let facts = self.facts;
        let air = &facts.prediction.air;
        let thing = facts.office.thing(id);
        let mut said: Vec<String> = facts.title(id).into_iter().collect();
        let stated = |key: Key, word: &str| {
            thing
                .quantity(key)
                .map(|(quantity, _)| format!("{word} {}", unbroken(&quantity)))
        };
        said.extend(stated(Key::Delivers, "delivers"));
        said.extend(stated(Key::Set, "set"));
        let (before, after) = (air.inlet(id), air.outlet(id));
        let is_step = thing.is(KindId::Regulator) || thing.has(Key::Loss);
        match (before, after) {
            (Some(before), Some(after)) if is_step => {
                said.push(format!("{} in, {} out", facts.pressure(before), facts.pressure(after)));
            }
            (Some(pressure), _) | (None, Some(pressure)) if !thing.has(Key::Delivers) => {
                said.push(facts.pressure(pressure));
            }
            _ => {}
        }
        if thing.is(KindId::Dryer) {
            let supply = air.supply(id).map(|supply| facts.flow(supply.flow));
            said.extend(supply.map(|flow| format!("gives {flow}")));
        }
        if thing.is(KindId::FlowSensor) {
            said.extend(air.through(id).map(|state| facts.flow(state.flow)));
        }
        said.extend(spare(facts, id));
        said.extend(facts.mark(id).word().map(str::to_owned));
        said
    }

    /// Draws a cable, a branch of one or an air pipe: a node for the line itself, then one for each point from its
    /// start outwards.
    fn route(&mut self, id: ThingId, branch: Option<u32>, link: Link) -> usize {
        let facts = self.facts;
        let office = facts.office;
        let thing = office.thing(id);
        let mut routes = facts.prediction.air.lines().iter();
        let route = routes.find(|route| route.thing == id && route.branch == branch);
        let name = match route.and_then(|route| route.branch_name(office)) {
            Some(branch) => format!("{} branch {branch}", office.name(id)),
            None => office.name(id).to_owned(),
        };
        let mut said: Vec<String> = if branch.is_none() {
            facts.title(id).into_iter().collect()
        } else {
            Vec::new()
        };
        let pairs = thing.count(Key::Pairs).map(|pairs| format!("{pairs} pairs"));
        let gauge = thing.quantity(Key::Gauge).map(|(gauge, _)| gauge.to_string());
        let facts_of_cable: Vec<String> = pairs.into_iter().chain(gauge).collect();
        if !facts_of_cable.is_empty() && branch.is_none() {
            said.push(facts_of_cable.join(", "));
        }
        let mark = facts.mark(id);
        said.extend(mark.word().map(str::to_owned));
        let first = self.diagram.add(Node {
            symbol: if thing.is(KindId::Cable) {
                Symbol::Cable
            } else {
                Symbol::Pipe
            },
            name,
            said,
            link,
            mark,
            next: Vec::new(),
        });
        if branch.is_none() {
            self.drawn.insert(id, vec![(0.0, first)]);
        }
        let points = match route {
            Some(route) => facts
                .prediction
                .profile(office, facts.networks, &facts.explainer.minimums, route),
            None => Vec::new(),
        };
        let mut nodes = vec![(0.0, first)];
        let mut before = first;
        let mut passed: Option<&ProfilePoint> = None;
        for point in &points {
            let Some(route) = route else { break };
            if point.metres <= SAME {
                if let Some(node) = self.diagram.nodes.get_mut(first) {
                    node.said
                        .extend(point.pressure.map(|pressure| facts.pressure(pressure)));
                }
                self.start_of(point, first);
                passed = Some(point);
                continue;
            }
            if point.landmarks == [Landmark::Lowest] {
                continue;
            }
            let node = self.point(id, route, point, passed);
            self.diagram.join(before, node);
            nodes.push((point.metres, node));
            self.branches(id, branch, point, node);
            (before, passed) = (node, Some(point));
        }
        if branch.is_none() {
            self.drawn.insert(id, nodes);
            self.open.push_back(id);
        }
        first
    }

    /// Adds what else is at the start of a route to the caption of its first node.
    fn start_of(&mut self, point: &ProfilePoint, first: usize) {
        let there = point.landmarks.iter().filter(|landmark| **landmark != Landmark::Start);
        let there: Vec<String> = there.map(|landmark| landmark.words(self.facts.office)).collect();
        if !there.is_empty()
            && let Some(node) = self.diagram.nodes.get_mut(first)
        {
            node.said.push(format!("here: {}", there.join(", ")));
        }
    }

    fn point(&mut self, id: ThingId, route: &Line, point: &ProfilePoint, before: Option<&ProfilePoint>) -> usize {
        let facts = self.facts;
        let office = facts.office;
        let things: Vec<ThingId> = point.things().collect();
        let thing = office.thing(id);
        let mut landmarks = point.landmarks.iter();
        let is_place = landmarks.any(|landmark| matches!(landmark, Landmark::Place(_)));
        let symbol = match things.first() {
            Some(first) => symbol(office.thing(*first)),
            None if is_place => Symbol::Place,
            None => Symbol::SectionEnd,
        };
        let mut said: Vec<String> = things.iter().filter_map(|id| facts.title(*id)).collect();
        let branch = route.branch_name(office);
        let end = point.landmarks.iter().find(|landmark| is_section_end(landmark));
        let end = end.filter(|_| point.landmarks.len() > 1);
        said.extend(end.map(|end| end.words(office)));
        said.push(format!(
            "at {}",
            unbroken(&drysheath_office::line::shown_length(thing, branch, point.metres))
        ));
        said.extend(point.pressure.map(|pressure| facts.pressure(pressure)));
        let mark = match things.first() {
            Some(first) => facts.mark(*first),
            None => facts.mark(id),
        };
        said.extend(things.iter().find_map(|id| facts.mark(*id).word()).map(str::to_owned));
        let node = self.diagram.add(Node {
            symbol,
            name: named(office, point),
            said,
            link: Link {
                said: between(facts, route, before, point),
                class: facts.mark(id).line("cable"),
            },
            mark,
            next: Vec::new(),
        });
        for id in things {
            // A thing on the cable is drawn there; one that has a run of its own too is drawn where that run leads.
            self.drawn.entry(id).or_insert_with(|| vec![(0.0, node)]);
        }
        node
    }

    fn branches(&mut self, id: ThingId, branch: Option<u32>, point: &ProfilePoint, node: usize) {
        if branch.is_some() {
            return;
        }
        let thing = self.facts.office.thing(id);
        let branches: Vec<(u32, f64)> = (0..)
            .zip(thing.named(Key::Branch))
            .filter_map(|(number, (_, _, fields))| Some((number, fields.quantity(Key::From)?.0.si())))
            .collect();
        for (number, metres) in branches {
            if (metres - point.metres).abs() < SAME {
                let link = Link {
                    said: Vec::new(),
                    class: self.facts.mark(id).line("cable"),
                };
                let first = self.route(id, Some(number), link);
                self.diagram.join(node, first);
            }
        }
    }
}

/// Caption between two points of a route: section, length, and the flow that arrives.
fn between(facts: &Facts<'_>, route: &Line, before: Option<&ProfilePoint>, point: &ProfilePoint) -> Vec<String> {
    let from = before.map_or(0.0, |before| before.metres);
    let mut said = Vec::new();
    let middle = f64::midpoint(from, point.metres);
    if let Some(section) = route.section_at(middle) {
        let name = route.section(facts.office, section).map_or("", |(name, _)| name);
        let surroundings = section.surroundings.map_or("", Key::word);
        let words = format!("{name} {surroundings}");
        said.extend(Some(words.trim().to_owned()).filter(|words| !words.is_empty()));
    }
    let length = drysheath_office::line::shown_length(
        facts.office.thing(route.thing),
        route.branch_name(facts.office),
        point.metres - from,
    );
    said.push(unbroken(&length));
    let flows = before.and_then(|before| before.flow).zip(point.flow);
    said.extend(flows.map(|(enters, leaves)| format!("{} to {}", facts.flow(enters), facts.flow(leaves))));
    said
}

/// Name of a point: what is there, or the section that ends there if nothing else is.
pub fn named(office: &Office, point: &ProfilePoint) -> String {
    let there = point.landmarks.iter().filter(|landmark| !is_section_end(landmark));
    let there: Vec<String> = there.map(|landmark| landmark.words(office)).collect();
    if there.is_empty() {
        point.what(office)
    } else {
        there.join(", ")
    }
}

fn is_section_end(landmark: &Landmark) -> bool {
    matches!(landmark, Landmark::EndOfSection(_))
}

/// Spare, and therefore plugged, ports and outlets.
fn spare(facts: &Facts<'_>, id: ThingId) -> Option<String> {
    let thing = facts.office.thing(id);
    let port = thing
        .kind?
        .ports_in(drysheath_syntax::Medium::Air)
        .find(|port| port.is_counted())?;
    let ranges = facts.allocation.spare(id, port);
    let written: Vec<String> = ranges.iter().map(|range| numbers(range.from, range.to)).collect();
    (!written.is_empty()).then(|| format!("plugged: {} {}", port.word, written.join(", ")))
}

/// Formats a range of numbers.
pub fn numbers(from: u32, to: u32) -> String {
    use drysheath_office::printed;
    match to - from {
        0 => printed(from).to_string(),
        1 => format!("{}, {}", printed(from), printed(to)),
        _ => format!("{} to {}", printed(from), printed(to)),
    }
}

/// Symbol for a thing, by its kind.
pub fn symbol(thing: &Thing) -> Symbol {
    match thing.kind.map(|kind| kind.id) {
        Some(KindId::Dryer) => Symbol::Dryer,
        Some(KindId::Bottle) => Symbol::Bottle,
        Some(KindId::Tank) => Symbol::Tank,
        Some(KindId::Regulator) => Symbol::Regulator,
        Some(KindId::Valve) => match (thing.choice(Key::Function), thing.choice(Key::Stands)) {
            (Some(ValveFunction::Check), _) => Symbol::CheckValve,
            (_, Some(ValvePosition::Closed)) => Symbol::ClosedValve,
            _ => Symbol::Valve,
        },
        Some(KindId::Filter) => Symbol::Filter,
        Some(KindId::Manifold) => Symbol::Manifold,
        Some(KindId::Cable) => Symbol::Cable,
        Some(KindId::AirPipe) => Symbol::Pipe,
        Some(KindId::PressureSensor) => Symbol::PressureTransmitter,
        Some(KindId::FlowSensor) => Symbol::FlowTransmitter,
        Some(KindId::HumiditySensor) => Symbol::MoistureTransmitter,
        Some(KindId::DewPointSensor) => Symbol::DewPointTransmitter,
        Some(KindId::PressureSwitch) => Symbol::PressureSwitch,
        Some(KindId::Battery) => Symbol::Battery,
        Some(KindId::FusePanel) => Symbol::Panel,
        Some(KindId::GroundBar) => Symbol::GroundBar,
        Some(KindId::Monitor) => Symbol::Load,
        _ => Symbol::Other,
    }
}
