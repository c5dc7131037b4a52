//! What leads to a thing and what it leads to, along air, power and wire.

use drysheath_office::{Links, Office, ThingId, Value};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;

use crate::analysis::Analysis;
use crate::names::{Name, name_at};

/// A thing next to another in one medium.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stream {
    /// The neighbour.
    pub thing: ThingId,
    /// The medium.
    pub medium: Medium,
    /// The medium and from where to where, in a line.
    pub detail: String,
    /// Where the file says so, in order: the end that the arrow points to, or the place that something stands at.
    pub ranges: Vec<TextRange>,
}

/// The thing whose streams are asked for at an offset.
pub fn thing_at(analysis: &Analysis, offset: u32) -> Option<ThingId> {
    let mention = name_at(analysis, offset)?;
    match mention.name {
        Name::Thing(name) => analysis.office.named(name),
        Name::Inner { .. } => mention.of,
        Name::Part(_) | Name::File(_) | Name::Rule(_) => None,
    }
}

/// What leads to a thing.
pub fn upstream(analysis: &Analysis, thing: ThingId) -> Vec<Stream> {
    neighbours(analysis, thing, Way::Up)
}

/// What a thing leads to.
pub fn downstream(analysis: &Analysis, thing: ThingId) -> Vec<Stream> {
    neighbours(analysis, thing, Way::Down)
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Way {
    Up,
    Down,
}

fn neighbours(analysis: &Analysis, thing: ThingId, way: Way) -> Vec<Stream> {
    let networks = &analysis.networks;
    let mut streams = Streams {
        office: &analysis.office,
        found: Vec::new(),
    };
    streams.links(&networks.air, thing, way, Medium::Air);
    streams.standing(analysis, thing, way);
    streams.links(&networks.power, thing, way, Medium::Power);
    streams.wires(analysis, thing, way);
    streams.found
}

struct Streams<'a> {
    office: &'a Office,
    found: Vec<Stream>,
}

impl Streams<'_> {
    fn links(&mut self, links: &Links, thing: ThingId, way: Way, medium: Medium) {
        let (up, down) = match way {
            Way::Up => (Some(links.leading_to(thing)), None),
            Way::Down => (None, Some(links.leaving(thing))),
        };
        for link in up.into_iter().flatten().chain(down.into_iter().flatten()) {
            let other = if way == Way::Up { link.from.thing } else { link.to.thing };
            self.add(other, medium, link.from.range, link.to.range);
        }
    }

    /// What stands at a cable or pipe has its air.
    fn standing(&mut self, analysis: &Analysis, thing: ThingId, way: Way) {
        match way {
            Way::Up => {
                if let Some(host) = self.office.host(thing).and_then(|at| at.thing) {
                    self.stands(thing, host, host);
                }
            }
            Way::Down => {
                for standing in analysis.networks.standing_at(thing) {
                    self.stands(standing, thing, standing);
                }
            }
        }
    }

    fn stands(&mut self, thing: ThingId, host: ThingId, neighbour: ThingId) {
        let mut fields = self.office.thing(thing).fields.iter();
        let field = fields.find(|field| matches!(&field.value, Value::At(at) if at.thing == Some(host)));
        if let Some(field) = field {
            let range = field.place.range;
            let said = range.of(&self.office.text);
            let detail = format!("air, {} {said}", self.office.name(thing));
            self.push(neighbour, Medium::Air, detail, range);
        }
    }

    fn wires(&mut self, analysis: &Analysis, thing: ThingId, way: Way) {
        let wiring = &analysis.networks.wire;
        let own = wiring.terminals().filter(|(_, terminal)| terminal.thing == thing);
        for (id, _) in own {
            for joint in wiring.joints_at(id) {
                let (near, far) = match way {
                    Way::Up => (joint.to, joint.from),
                    Way::Down => (joint.from, joint.to),
                };
                if let (true, Some(other)) = (near == id, wiring.terminal(far)) {
                    self.add(other.thing, Medium::Wire, joint.from_range, joint.to_range);
                }
            }
        }
    }

    fn add(&mut self, other: ThingId, medium: Medium, from: TextRange, to: TextRange) {
        let text = &self.office.text;
        let detail = format!("{}, {} -> {}", medium.word(), from.of(text), to.of(text));
        self.push(other, medium, detail, to);
    }

    /// Several runs between the same things in the same medium are one stream.
    fn push(&mut self, thing: ThingId, medium: Medium, detail: String, range: TextRange) {
        let known = self
            .found
            .iter_mut()
            .find(|stream| stream.thing == thing && stream.medium == medium);
        match known {
            Some(known) => {
                if let Err(at) = known.ranges.binary_search(&range) {
                    known.ranges.insert(at, range);
                    known.detail = format!("{}, {} ways", medium.word(), known.ranges.len());
                }
            }
            None => self.found.push(Stream {
                thing,
                medium,
                detail,
                ranges: vec![range],
            }),
        }
    }
}
