//! The power and ground drawing: from the battery over panels and fuses to the loads, and from each frame to its bar.

use std::collections::VecDeque;

use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Fields, Link as NetworkLink, Links, ThingId};
use rustc_hash::FxHashMap;

use crate::air::symbol;
use crate::diagram::{Diagram, Link, Node};
use crate::facts::{Facts, short};
use crate::symbols::Symbol;

/// The power drawing: from the battery along the arrows.
pub fn power(facts: &Facts<'_>) -> Diagram {
    Tree {
        facts,
        links: &facts.networks.power,
        is_ground: false,
        diagram: Diagram::default(),
        drawn: FxHashMap::default(),
    }
    .build()
}

/// The ground drawing: from each bar against the arrows to the frames grounded on it.
pub fn ground(facts: &Facts<'_>) -> Diagram {
    Tree {
        facts,
        links: &facts.networks.ground,
        is_ground: true,
        diagram: Diagram::default(),
        drawn: FxHashMap::default(),
    }
    .build()
}

struct Tree<'f, 'a> {
    facts: &'f Facts<'a>,
    links: &'f Links,
    is_ground: bool,
    diagram: Diagram,
    drawn: FxHashMap<ThingId, usize>,
}

impl Tree<'_, '_> {
    fn build(mut self) -> Diagram {
        let ends = self.links.iter().flat_map(|link| [link.from.thing, link.to.thing]);
        let mut things: Vec<ThingId> = ends.collect();
        let leads_to = |tree: &Self, id: ThingId| tree.inward(id).next().is_some();
        things.sort_by_key(|id| (leads_to(&self, *id), *id));
        things.dedup();
        for thing in things {
            if self.drawn.contains_key(&thing) {
                continue;
            }
            let root = self.node(thing, Link::default());
            self.diagram.roots.push(root);
            let mut open = VecDeque::from([(thing, root)]);
            while let Some((thing, node)) = open.pop_front() {
                self.follow(thing, node, &mut open);
            }
        }
        self.diagram
    }

    fn inward(&self, id: ThingId) -> impl Iterator<Item = &NetworkLink> {
        let (to, from) = (self.links.leading_to(id), self.links.leaving(id));
        to.filter(|_| !self.is_ground).chain(from.filter(|_| self.is_ground))
    }

    fn follow(&mut self, id: ThingId, node: usize, open: &mut VecDeque<(ThingId, usize)>) {
        let (to, from) = (self.links.leading_to(id), self.links.leaving(id));
        let mut links: Vec<NetworkLink> = to
            .filter(|_| self.is_ground)
            .chain(from.filter(|_| !self.is_ground))
            .copied()
            .collect();
        let is_ground = self.is_ground;
        let far = |link: &NetworkLink| if is_ground { link.from.thing } else { link.to.thing };
        links.sort_by_cached_key(|link| {
            (
                link.from.port.role == Role::Fuse,
                if self.is_ground { 0 } else { link.from.number },
                self.facts.office.name(far(link)).to_owned(),
            )
        });
        for link in links {
            let target = far(&link);
            let shown = Link {
                said: self.link(&link),
                class: self.facts.marks.link(self.facts.office, &link).line(if self.is_ground {
                    "earth"
                } else {
                    "power"
                }),
            };
            let next = if self.drawn.contains_key(&target) {
                self.diagram.add(Node {
                    symbol: Symbol::Reference,
                    name: format!("to {}", self.facts.office.name(target)),
                    said: Vec::new(),
                    link: shown,
                    mark: self.facts.mark(target),
                    next: Vec::new(),
                })
            } else {
                let next = self.node(target, shown);
                open.push_back((target, next));
                next
            };
            self.diagram.join(node, next);
        }
    }

    fn link(&self, link: &NetworkLink) -> Vec<String> {
        let facts = self.facts;
        let mut said = Vec::new();
        if link.from.port.role == Role::Fuse {
            said.push(format!("position {}", drysheath_office::printed(link.from.number)));
        }
        if link.from.port.role == Role::Return {
            said.push("return".to_owned());
        }
        for (number, piece) in link.pieces(facts.office).enumerate() {
            if number > 0 {
                said.push("then".to_owned());
            }
            said.extend(facts.piece(link, piece));
        }
        said.extend(facts.marks.link(facts.office, link).word().map(str::to_owned));
        said
    }

    fn node(&mut self, id: ThingId, link: Link) -> usize {
        let facts = self.facts;
        let thing = facts.office.thing(id);
        let name = facts.office.name(id);
        let mut said: Vec<String> = facts.title(id).into_iter().collect();
        if self.is_ground {
            if thing.yes_no(Key::Principal) == Some(true) {
                said.push("principal bar".to_owned());
            }
        } else {
            said.extend(self.power_of(id));
        }
        let mark = facts.mark(id);
        said.extend(mark.word().map(str::to_owned));
        let shape = symbol(thing);
        let node = self.diagram.add(Node {
            symbol: match shape {
                Symbol::GroundBar => shape,
                _ if self.is_ground => Symbol::Frame,
                _ => shape,
            },
            name: name.to_owned(),
            said,
            link,
            mark,
            next: Vec::new(),
        });
        self.drawn.insert(id, node);
        node
    }

    /// Figures of a battery, a panel or a load.
    fn power_of(&self, id: ThingId) -> Vec<String> {
        let facts = self.facts;
        let thing = facts.office.thing(id);
        let mut said = Vec::new();
        said.extend(
            thing
                .quantity(Key::Nominal)
                .map(|(nominal, _)| format!("nominal {nominal}")),
        );
        said.extend(
            thing
                .range(Key::Working)
                .map(|(from, to, _)| format!("works {from} to {to}")),
        );
        said.extend(thing.text(Key::Label).map(|label| format!("labelled {label}")));
        said.extend(facts.office.drawn_power(id).map(|(drawn, _)| format!("draws {drawn}")));
        for feed in facts.prediction.feeds.iter().filter(|feed| feed.load == id) {
            match &feed.receiving_end {
                Ok(receiving_end) => {
                    let volts = facts.figure(Dimension::Voltage, receiving_end.voltage.volts());
                    let amperes = facts.figure(Dimension::Current, receiving_end.current.amperes());
                    said.push(format!("{volts} at {amperes} at the end of discharge"));
                }
                Err(_) => said.push("the feed cannot carry it".to_owned()),
            }
        }
        if let Some(port) = thing
            .kind
            .and_then(|kind| kind.ports.iter().find(|port| port.role == Role::Fuse))
        {
            let spare = facts.allocation.spare(id, port);
            let written: Vec<String> = spare
                .iter()
                .map(|range| crate::air::numbers(range.from, range.to))
                .collect();
            if !written.is_empty() {
                said.push(format!("spare: {}", written.join(", ")));
            }
        }
        said
    }
}

/// Voltage to measure at a load: from the computed value at the end of discharge to the float voltage of the plant.
pub fn supply_window(facts: &Facts<'_>, load: ThingId) -> Option<String> {
    let feed = facts.prediction.feeds.iter().find(|feed| feed.load == load)?;
    let (from, to, _) = facts.office.thing(feed.battery).range(Key::Working)?;
    let receiving_end = feed.receiving_end.as_ref().ok()?;
    let least = facts.figure(Dimension::Voltage, receiving_end.voltage.volts());
    let float: Quantity = if from.si().abs() > to.si().abs() { from } else { to };
    Some(format!(
        "between {least} (computed, end of discharge) and {} (float)",
        short(float)
    ))
}
