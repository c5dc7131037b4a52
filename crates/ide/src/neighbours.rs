//! The things upstream and downstream of a thing in its air, power and wire networks.

use drysheath_office::kinds::Key;
use drysheath_office::line::is_line;
use drysheath_office::{Links, Office, ThingId, Value};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;
use drysheath_workspace::Analysis;

use crate::names::{Mention, Name, name_at};

/// A thing joined directly to another in one medium.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Neighbour {
    /// The thing at the other end.
    pub thing: ThingId,
    /// The medium of the runs between the two.
    pub medium: Medium,
    /// One line: the medium, and from where to where.
    pub detail: String,
    /// The places in the file, in order: the end that the arrow points to, or the location of the thing.
    pub ranges: Vec<TextRange>,
}

/// The thing named at an offset.
pub fn thing_at(analysis: &Analysis, offset: u32) -> Option<ThingId> {
    named_by(analysis, &name_at(analysis, offset)?)
}

/// The cable or air pipe named at an offset, or a branch of it. `None` if something else of it is named, such as a
/// section or a place.
pub fn line_at(analysis: &Analysis, offset: u32) -> Option<(ThingId, Option<&str>)> {
    let mention = name_at(analysis, offset)?;
    let branch = match mention.name {
        Name::Inner {
            key: Key::Branch, name, ..
        } => Some(name),
        Name::Inner { .. } => return None,
        _ => None,
    };
    let thing = named_by(analysis, &mention)?;
    is_line(analysis.office.thing(thing)).then_some((thing, branch))
}

fn named_by(analysis: &Analysis, mention: &Mention<'_>) -> Option<ThingId> {
    match mention.name {
        Name::Thing(name) => analysis.office.named(name),
        Name::Within { name, .. } => mention.of.or_else(|| analysis.office.named(name)),
        Name::Inner { .. } => mention.of,
        Name::Part(_) | Name::File(_) | Name::Rule(_) => None,
    }
}

/// The neighbours that lead to a thing.
pub fn upstream(analysis: &Analysis, thing: ThingId) -> Vec<Neighbour> {
    neighbours(analysis, thing, Direction::Up)
}

/// The neighbours that a thing leads to.
pub fn downstream(analysis: &Analysis, thing: ThingId) -> Vec<Neighbour> {
    neighbours(analysis, thing, Direction::Down)
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Direction {
    Up,
    Down,
}

fn neighbours(analysis: &Analysis, thing: ThingId, direction: Direction) -> Vec<Neighbour> {
    let networks = &analysis.networks;
    let mut neighbours = Neighbours {
        office: &analysis.office,
        found: Vec::new(),
    };
    neighbours.links(&networks.air, thing, direction, Medium::Air);
    neighbours.standing(analysis, thing, direction);
    neighbours.links(&networks.power, thing, direction, Medium::Power);
    neighbours.wires(analysis, thing, direction);
    neighbours.found
}

struct Neighbours<'a> {
    office: &'a Office,
    found: Vec<Neighbour>,
}

impl Neighbours<'_> {
    fn links(&mut self, links: &Links, thing: ThingId, direction: Direction, medium: Medium) {
        let (up, down) = match direction {
            Direction::Up => (Some(links.leading_to(thing)), None),
            Direction::Down => (None, Some(links.leaving(thing))),
        };
        for link in up.into_iter().flatten().chain(down.into_iter().flatten()) {
            let other = if direction == Direction::Up {
                link.from.thing
            } else {
                link.to.thing
            };
            self.add(other, medium, link.from.range, link.to.range);
        }
    }

    /// A thing located on a cable or pipe takes its air from it.
    fn standing(&mut self, analysis: &Analysis, thing: ThingId, direction: Direction) {
        match direction {
            Direction::Up => {
                if let Some(host) = self.office.host(thing).and_then(|at| at.thing) {
                    self.located(thing, host, host);
                }
            }
            Direction::Down => {
                for standing in analysis.networks.standing_at(thing) {
                    self.located(standing, thing, standing);
                }
            }
        }
    }

    fn located(&mut self, thing: ThingId, host: ThingId, neighbour: ThingId) {
        let mut fields = self.office.thing(thing).fields.iter();
        let field = fields.find(|field| matches!(&field.value, Value::At(at) if at.thing == Some(host)));
        if let Some(field) = field {
            let range = field.place.range;
            let said = range.of(&self.office.text);
            let detail = format!("air, {} {said}", self.office.name(thing));
            self.push(neighbour, Medium::Air, detail, range);
        }
    }

    fn wires(&mut self, analysis: &Analysis, thing: ThingId, direction: Direction) {
        let wiring = &analysis.networks.wire;
        let own = wiring.terminals().filter(|(_, terminal)| terminal.thing == thing);
        for (id, _) in own {
            for joint in wiring.connections_at(id) {
                let (near, far) = match direction {
                    Direction::Up => (joint.to, joint.from),
                    Direction::Down => (joint.from, joint.to),
                };
                if near == id {
                    self.add(
                        wiring.terminal(far).thing,
                        Medium::Wire,
                        joint.from_range,
                        joint.to_range,
                    );
                }
            }
        }
    }

    fn add(&mut self, other: ThingId, medium: Medium, from: TextRange, to: TextRange) {
        let text = &self.office.text;
        let detail = format!("{}, {} -> {}", medium.word(), from.of(text), to.of(text));
        self.push(other, medium, detail, to);
    }

    /// Several runs between the same things in the same medium give one neighbour.
    fn push(&mut self, thing: ThingId, medium: Medium, detail: String, range: TextRange) {
        let range = self.office.own_range(range);
        let known = self
            .found
            .iter_mut()
            .find(|neighbour| neighbour.thing == thing && neighbour.medium == medium);
        match known {
            Some(known) => {
                if let Err(at) = known.ranges.binary_search(&range) {
                    known.ranges.insert(at, range);
                    known.detail = format!("{}, {} ways", medium.word(), known.ranges.len());
                }
            }
            None => self.found.push(Neighbour {
                thing,
                medium,
                detail,
                ranges: vec![range],
            }),
        }
    }
}
