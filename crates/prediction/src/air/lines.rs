//! Cables, their branches and air pipes in the air network.
//!
//! Lines are divided only where something joins or leaves them: usage along a segment needs no finer cutting, since
//! half of it at either end is exact where the flow is laminar.

use drysheath_engineering::air::Reference;
use drysheath_engineering::measure::{Flow, Length, PneumaticResistance, Temperature};
use drysheath_engineering::network::{Link, Section, Tube};
use drysheath_office::kinds::{FieldSpec, Key, KindId};
use drysheath_office::line::position_at;
use drysheath_office::{Field, Fields, Office, Thing, ThingId, Value, line};
use drysheath_text::{Place, TextRange};

use super::builder::{NetworkBuilder, tap};
use super::graph::{AirNode, EdgeLaw, EdgeOrigin, LineId, NeighbourPart, no_flow};
use super::state::{Division, NetworkChange};
use crate::line::{Line, LineSection, POSITION_TOLERANCE, Segment};

/// A branch of a cable.
#[derive(Clone, Copy)]
struct Branch<'o> {
    /// Index among the branches of the cable.
    number: u32,
    /// Index among the fields of the cable.
    field: u32,
    name: &'o str,
}

impl<'o> NetworkBuilder<'o> {
    pub(super) fn pipe(&mut self, id: ThingId, thing: &'o Thing) {
        let specs = thing.kind.map_or(&[][..], |kind| kind.fields);
        let figure = |key| thing.given(specs, key).map(|given| given.quantity);
        let usage = figure(Key::Usage).and_then(Flow::of).filter(|_| !thing.damaged);
        let length = line::length(thing, None);
        let bore = figure(Key::Bore).and_then(Length::of);
        let known = bore.zip(figure(Key::Roughness).and_then(Length::of));
        let lacks = match (known, length) {
            _ if thing.damaged => None,
            (Some(_), Some(_)) => None,
            (None, _) => Some("bore"),
            (_, None) => Some("length"),
        };
        let name = self.office.name(id);
        let missing = lacks.map(|lacks| self.missing(id, thing.name, format!("the {lacks} of `{name}`")));
        let section = length.map(|to| LineSection {
            section: 0,
            field: 0,
            from: 0.0,
            to,
            surroundings: None,
        });
        let law = |_: u32, part: f64, metres: f64| match (known, usage) {
            (Some((bore, roughness)), Some(usage)) if missing.is_none() => EdgeLaw::Known(Link::Tube(Tube {
                bore,
                roughness,
                length: Length::from_metres(metres),
                usage: usage * part,
            })),
            _ => EdgeLaw::without_resistance(missing, usage.map(|usage| usage * part)),
        };
        self.line(id, None, section.into_iter().collect(), law);
    }

    pub(super) fn cable(&mut self, id: ThingId, thing: &'o Thing) {
        self.trunk_or_branch(id, thing, None, thing.fields());
        for (number, (field, name, _, fields)) in (0..).zip(named(thing.fields(), Key::Branch)) {
            let branch = Branch { number, field, name };
            self.trunk_or_branch(id, thing, Some(branch), fields);
            let Some((from, _)) = fields.quantity(Key::From) else {
                continue;
            };
            let trunk = self.node_at(id, None, from.si());
            let start = self.node_at(id, Some(number), 0.0);
            if let (Some(trunk), Some(start)) = (trunk, start) {
                self.edge(trunk, start, EdgeLaw::Known(Link::Fitting), EdgeOrigin::Joint);
            }
        }
    }

    fn trunk_or_branch(&mut self, id: ThingId, thing: &'o Thing, branch: Option<Branch<'o>>, fields: &'o [Field]) {
        let specs = section_specs(thing);
        let mut sections = Vec::new();
        let mut laws = Vec::new();
        let mut end = Some(0.0);
        for (number, (field, name, place, section)) in (0..).zip(named(fields, Key::Section)) {
            let range = if place.file == self.office.file {
                place.range
            } else {
                thing.name
            };
            let surroundings = line::surroundings(section).filter(|_| !thing.damaged);
            if let (Some(from), Some((key, metres))) = (end, surroundings) {
                sections.push(LineSection {
                    section: number,
                    field,
                    from,
                    to: from + metres,
                    surroundings: Some(key),
                });
            }
            end = end.zip(surroundings).map(|(from, (_, metres))| from + metres);
            // A damaged cable may lack whole sections.
            laws.push(if thing.damaged {
                EdgeLaw::unknown(None)
            } else {
                self.section(id, name, range, section, specs)
            });
        }
        if end.is_none() || laws.is_empty() {
            sections.clear();
            laws = vec![self.law_of_unknown_length(id, thing, branch, &laws)];
        }
        let law = |section: u32, part: f64, metres: f64| match laws.get(section as usize) {
            Some(EdgeLaw::Known(Link::Section(section))) => EdgeLaw::Known(Link::Section(Section {
                length: Length::from_metres(metres),
                usage: section.usage * part,
                ..*section
            })),
            Some(EdgeLaw::Unknown {
                missing,
                usage,
                only_resistance,
            }) => EdgeLaw::Unknown {
                missing: *missing,
                usage: usage.map(|usage| usage * part),
                only_resistance: *only_resistance,
            },
            _ => EdgeLaw::without_resistance(None, None),
        };
        self.line(id, branch.map(|branch| (branch.number, branch.field)), sections, law);
    }

    /// The law of a whole trunk or branch of which a section lacks its length: the positions of its sections are not
    /// known, but their total usage may be.
    fn law_of_unknown_length(
        &mut self,
        id: ThingId,
        thing: &Thing,
        branch: Option<Branch<'_>>,
        laws: &[EdgeLaw],
    ) -> EdgeLaw {
        let Some(first) = laws.first() else {
            let missing = (!thing.damaged).then(|| {
                let of = branch.map_or(String::new(), |branch| format!("branch `{}` of ", branch.name));
                let what = format!("the sections of {of}`{}`", self.office.name(id));
                self.missing(id, thing.name, what)
            });
            return EdgeLaw::without_resistance(missing, None);
        };
        let missing = match first {
            EdgeLaw::Unknown { missing, .. } => *missing,
            EdgeLaw::Known(_) => None,
        };
        EdgeLaw::without_resistance(missing, laws.iter().map(EdgeLaw::usage).sum())
    }

    /// The link that a section is as a whole, as far as it is stated, without its length.
    fn section(
        &mut self,
        id: ThingId,
        name: &str,
        range: TextRange,
        section: &[Field],
        specs: &[FieldSpec],
    ) -> EdgeLaw {
        let figure = |key| section.given(specs, key).map(|given| given.quantity);
        let usage = figure(Key::Usage).and_then(Flow::of);
        let resistance = figure(Key::Resistance).and_then(PneumaticResistance::of);
        let reference = figure(Key::ReferencePressure)
            .map(|pressure| self.office.absolute(pressure))
            .zip(figure(Key::ReferenceTemperature).and_then(Temperature::of));
        let lacks = match (usage, resistance, reference) {
            (Some(usage), Some(resistance), Some((pressure, temperature))) => {
                return EdgeLaw::Known(Link::Section(Section {
                    resistance,
                    reference: Reference { pressure, temperature },
                    temperature: cable_temperature(self.office, id, section),
                    length: Length::from_metres(0.0),
                    usage,
                }));
            }
            (None, None, _) => Some("usage and resistance"),
            (None, ..) => Some("usage"),
            (_, None, _) => Some("resistance"),
            _ => None,
        };
        let of = self.office.name(id);
        let missing = lacks.map(|lacks| self.missing(id, range, format!("the {lacks} of section `{name}` of `{of}`")));
        EdgeLaw::without_resistance(missing, usage)
    }

    /// Adds a line with its sections, which are empty where its length is not known. `branch` is the index of the
    /// branch and of its field in the cable. `law` gives the law of a segment from the index of its section, its
    /// fraction of the section, and its length in metres.
    fn line(
        &mut self,
        id: ThingId,
        branch: Option<(u32, u32)>,
        sections: Vec<LineSection>,
        law: impl Fn(u32, f64, f64) -> EdgeLaw,
    ) {
        let (branch, branch_field) = branch.unzip();
        let index = LineId::from(self.graph.lines.len());
        let start = self.node();
        let mut end = start;
        let mut nodes = vec![(0.0, start)];
        let mut segments = Vec::new();
        let cuts = self.cuts(id, branch, &sections);
        if sections.is_empty() {
            // All its taps are somewhere beyond its beginning, and all its usage is drawn before one of them.
            let (missing, mut usage) = match law(0, 1.0, 0.0) {
                EdgeLaw::Unknown { missing, usage, .. } => (missing, usage),
                EdgeLaw::Known(_) => (None, None),
            };
            for metres in cuts.iter().copied().chain([f64::INFINITY]) {
                end = self.node();
                let law = EdgeLaw::without_resistance(missing, usage);
                self.edge(start, end, law, EdgeOrigin::Joint);
                nodes.push((metres, end));
                usage = Some(no_flow());
            }
        }
        for section in &sections {
            let (whole, mut from) = (section.to - section.from, section.from);
            let first = cuts.partition_point(|metres| *metres <= section.from + POSITION_TOLERANCE);
            let inside = cuts.get(first..).unwrap_or_default().iter();
            let inside = inside.take_while(|metres| **metres < section.to - POSITION_TOLERANCE);
            for to in inside.copied().chain([section.to]) {
                let near = end;
                end = self.node();
                let part = if whole > 0.0 { (to - from) / whole } else { 1.0 };
                let law = law(section.section, part, to - from);
                let edge = self.edge(near, end, law, EdgeOrigin::Line(index, from, to));
                segments.push(Segment { from, to, edge });
                nodes.push((to, end));
                from = to;
            }
        }
        if branch.is_none() {
            self.set_ports(id, start, end);
        }
        let line = Line {
            thing: id,
            branch,
            branch_field,
            sections,
            segments,
        };
        match self.neighbour {
            Some(neighbour) => self.graph.lines_elsewhere.push(NeighbourPart {
                neighbour: neighbour.number,
                part: line,
            }),
            None => {
                self.graph.lines.push(line);
            }
        }
        self.nodes_along.insert((id, branch), nodes);
    }

    /// Distances in metres where something joins, leaves or divides a line, sorted and without duplicates.
    fn cuts(&self, id: ThingId, branch: Option<u32>, sections: &[LineSection]) -> Vec<f64> {
        let changed = self.changes.iter().filter_map(NetworkChange::point);
        let changed = changed.filter(|point| point.thing == id && point.branch == branch && !self.is_elsewhere());
        let mut cuts: Vec<f64> = changed.map(|point| point.metres).collect();
        cuts.extend(self.divisions(self.office.thing(id), sections));
        if self.division == Division::Probed && !self.is_elsewhere() {
            cuts.extend(self.sensors_at(id, branch));
        }
        if branch.is_none() {
            let thing = self.office.thing(id);
            let air = &self.networks.air;
            let leaving = air.leaving(id).map(|link| link.from);
            let joining = air.leading_to(id).map(|link| link.to);
            let taps = leaving.chain(joining).filter_map(|side| tap(thing, &side));
            let branches = thing.named(Key::Branch);
            let branches = branches.filter_map(|(_, _, fields)| Some(fields.quantity(Key::From)?.0.si()));
            let elsewhere = self.joined_elsewhere.along(self.office, id);
            cuts.extend(taps.chain(branches).chain(elsewhere));
        }
        cuts.sort_by(f64::total_cmp);
        cuts.dedup_by(|later, first| (*later - *first).abs() <= POSITION_TOLERANCE);
        cuts
    }

    /// Distances where a line is divided although nothing joins or leaves it.
    fn divisions(&self, thing: &Thing, sections: &[LineSection]) -> Vec<f64> {
        let pieces = match self.division {
            Division::Leaking if thing.is(KindId::AirPipe) && thing.has(Key::Usage) => 16,
            // Half of a piece's volume is placed at either of its ends: pressures are then right to about a hundredth
            // of a psi.
            Division::Stored(pieces) => pieces,
            Division::Probed if thing.is(KindId::AirPipe) => 16,
            Division::None | Division::Leaking | Division::Probed => 1,
        };
        let places = |section: &LineSection| {
            let (from, length) = (section.from, section.to - section.from);
            (1..pieces).map(move |piece| from + length * f64::from(piece) / f64::from(pieces))
        };
        sections.iter().flat_map(places).collect()
    }

    /// Distances of the sensors on a line, in metres.
    fn sensors_at(&self, id: ThingId, branch: Option<u32>) -> impl Iterator<Item = f64> {
        let mut branches = self.office.thing(id).named(Key::Branch);
        let name = branch.and_then(|branch| Some(branches.nth(branch as usize)?.0));
        self.networks.standing_at(id).filter_map(move |sensor| {
            let position = position_at(self.office, self.office.host(sensor)?)?;
            (position.branch == name).then_some(position.metres)
        })
    }

    /// The node at a distance along a line, in metres.
    pub(super) fn node_at(&self, id: ThingId, branch: Option<u32>, metres: f64) -> Option<AirNode> {
        let nodes = self.nodes_along.get(&(id, branch))?;
        let first = nodes.partition_point(|(there, _)| there - metres < -POSITION_TOLERANCE);
        let (_, node) = nodes
            .get(first)
            .filter(|(there, _)| there - metres <= POSITION_TOLERANCE)?;
        Some(*node)
    }
}

/// Field specifications of a cable's section.
fn section_specs(thing: &Thing) -> &'static [FieldSpec] {
    let field = thing
        .kind
        .and_then(|kind| kind.fields.iter().find(|spec| spec.key == Key::Section));
    field.map_or(&[], FieldSpec::inner)
}

/// The named fields with a key: index in `fields`, name, place, and inner fields.
fn named(fields: &[Field], key: Key) -> impl Iterator<Item = (u32, &str, Place, &[Field])> {
    let all = (0..).zip(fields).filter(move |(_, field)| field.spec.key == key);
    all.filter_map(|(at, field)| match &field.value {
        Value::Named { name, place, fields } => Some((at, &**name, *place, fields.as_slice())),
        _ => None,
    })
}

/// Temperature of the air in a section of a cable: as read on the day that is computed, or else as the office states it
/// for the section's surroundings.
pub(crate) fn cable_temperature(office: &Office, cable: ThingId, section: &[Field]) -> Option<Temperature> {
    let (surroundings, _) = line::surroundings(section)?;
    if let Some(read) = office.temperature_of_day(cable, surroundings) {
        return Temperature::of(read);
    }
    let of_office = office.thing(office.itself?).group(Key::CableTemperature)?;
    Temperature::of(of_office.quantity(surroundings)?.0)
}
