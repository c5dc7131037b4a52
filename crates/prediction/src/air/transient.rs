//! The air network over time, after something has happened.
//!
//! It starts at the pressures of the normal state. Air is stored in the sections of cables by their `volume`, in air pipes by their
//! bore, and in tanks; tubes and manifolds hold too little to count. Cables and pipes are divided, with half of what a piece holds at
//! either of its ends. A volume that is not declared leaves unknown what it is joined to, and only that.

use drysheath_engineering::index::IndexVec;
use drysheath_engineering::index_type;
use drysheath_engineering::measure::{AbsolutePressure, Flow, Length, Pressure, Time, Volume};
use drysheath_engineering::network::{
    LinkEnd, LinkId, Network, NodeId, PressureFloor, StoredVolume, SupplyId, Transient, TransientInputs,
};
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Networks, Office, ThingId};
use drysheath_text::TextRange;

use super::graph::{AirEdge, AirGraph, AirNode, DryerLocation, EdgeLaw};
use super::held_back::HeldBack;
use super::shared::Neighbour;
use super::solvable::connected;
use super::state::{Division, NetworkChange, StateError};
use super::{Air, AirLocation, cable_temperature, without_noise};
use crate::bottles::bottles;
use crate::line::{Line, LineSection};
use crate::missing_input::{MissingInput, NeededFor};

index_type! {
    /// A part of the network that no air joins with the rest in this state.
    pub(crate) struct SubnetworkId;
}

/// The air of an office over time.
pub struct AirTransient {
    graph: AirGraph,
    parts: IndexVec<SubnetworkId, Result<Transient, StateError>>,
    nodes: IndexVec<AirNode, Option<(SubnetworkId, NodeId)>>,
    edges: IndexVec<AirEdge, Option<(SubnetworkId, LinkId)>>,
    /// The nodes that join two edges and nothing else.
    is_between_two: IndexVec<AirNode, bool>,
}

/// Pieces of a section or pipe where only pressures are asked for over hours.
pub(crate) const PIECES_FOR_HOLD_UP: u8 = 8;
/// Pieces where readings are asked for, soon after something has happened: with eight an alarm came up to a twelfth too early.
pub(crate) const PIECES_FOR_ALARMS: u8 = 32;

/// How far and how finely the air is followed.
pub(crate) struct StopCondition<'a> {
    /// Pieces that each section and pipe is divided into.
    pub pieces: u8,
    /// Time after which the computation ends in any case.
    pub time: Time,
    /// The things whose parts of the network are followed; all parts where none are named.
    pub only: &'a [ThingId],
    /// The least pressure that a section should keep. The air of a part is followed until it falls below one.
    pub least: &'a dyn Fn(&Line, &LineSection) -> Option<Pressure>,
}

/// A place with a least pressure.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FloorCrossing {
    /// The line, by its number among all.
    pub line: usize,
    /// The section, by its number among those of the line.
    pub section: usize,
    pub metres: f64,
    pub time: Time,
}

/// A part of the network while it is put together.
#[derive(Default)]
struct Subnetwork {
    network: Network,
    start: IndexVec<NodeId, Option<AbsolutePressure>>,
    stores: Vec<StoredVolume>,
    contents: Vec<(SupplyId, Volume)>,
    floors: Vec<PressureFloor>,
    /// The place of each floor: line, section, metres.
    places: Vec<(usize, usize, f64)>,
    why_not: Option<StateError>,
}

impl Subnetwork {
    fn fails(&mut self, why: StateError) {
        self.why_not.get_or_insert(why);
    }
}

impl Air {
    /// The air from the normal state on, after some changes, with some regulators held back. Besides, where in it a least pressure is lost first.
    pub(crate) fn over_time(
        &self,
        office: &Office,
        networks: &Networks,
        changes: &[NetworkChange],
        held_back: &HeldBack,
        until: &StopCondition<'_>,
    ) -> Result<(AirTransient, Option<FloorCrossing>), StateError> {
        let (graph, unknown) = self.changed(office, networks, changes, Division::Stored(until.pieces))?;
        let mut building = SubnetworkBuilder::new(&graph, until.only);
        for id in graph.edges.keys() {
            building.edge(&graph, id);
        }
        for edge in unknown {
            building.fails(graph.edges[edge].from, self.why_unknown(&graph, edge));
        }
        building.sources(office, &graph);
        building.stores(self, office, &graph);
        building.start(self, office, &graph);
        building.floors(&graph, until.least);
        building.hold_back(&graph, held_back);
        let SubnetworkBuilder { nodes, edges, parts } = building;
        let mut fallen: Option<FloorCrossing> = None;
        let parts = parts.into_iter().map(|part| {
            if let Some(why) = part.why_not {
                return Err(why);
            }
            let following = TransientInputs {
                start: &part.start,
                stores: &part.stores,
                contents: &part.contents,
                floors: &part.floors,
                time: fallen.map_or(until.time, |fallen| fallen.time),
            };
            let transient = Transient::new(&part.network, &self.conditions, &following);
            let transient = transient.map_err(|_| StateError::Unsettled)?;
            if let Some((floor, time)) = transient.fell()
                && let Some((line, section, metres)) = part.places.get(floor)
                && fallen.is_none_or(|fallen| time < fallen.time)
            {
                fallen = Some(FloorCrossing {
                    line: *line,
                    section: *section,
                    metres: *metres,
                    time,
                });
            }
            Ok(transient)
        });
        let parts = parts.collect();
        let transient = AirTransient {
            is_between_two: graph.is_between_two(),
            graph,
            parts,
            nodes,
            edges,
        };
        Ok((transient, fallen))
    }
}

/// The parts of a network while they are put together.
struct SubnetworkBuilder {
    nodes: IndexVec<AirNode, Option<(SubnetworkId, NodeId)>>,
    edges: IndexVec<AirEdge, Option<(SubnetworkId, LinkId)>>,
    parts: IndexVec<SubnetworkId, Subnetwork>,
}

impl SubnetworkBuilder {
    fn new(graph: &AirGraph, only: &[ThingId]) -> Self {
        let component = connected(graph, |_| true);
        let outlets = only.iter().filter_map(|thing| Some(graph.ports[*thing]?.outlet));
        let wanted: Vec<AirNode> = outlets.map(|outlet| component[outlet]).collect();
        let mut parts: IndexVec<SubnetworkId, Subnetwork> = IndexVec::new();
        let mut of: IndexVec<AirNode, Option<SubnetworkId>> = IndexVec::filled(None, graph.nodes);
        let node = |first: &AirNode| {
            if !only.is_empty() && !wanted.contains(first) {
                return None;
            }
            let part = *of[*first].get_or_insert_with(|| parts.push(Subnetwork::default()));
            Some((part, parts[part].network.node()))
        };
        let nodes = component.iter().map(node).collect();
        let mut building = Self {
            nodes,
            edges: IndexVec::filled(None, graph.edges.len()),
            parts,
        };
        for (node, leak) in &graph.leaks {
            if let Some((part, node)) = building.nodes[*node] {
                building.parts[part].network.leak(node, *leak);
            }
        }
        for open in &graph.open {
            if let Some((part, node)) = building.nodes[*open] {
                building.parts[part].network.hold(node, Pressure::from_pascals(0.0));
            }
        }
        building
    }

    fn fails(&mut self, at: AirNode, why: StateError) {
        if let Some((part, _)) = self.nodes[at] {
            self.parts[part].fails(why);
        }
    }

    fn edge(&mut self, graph: &AirGraph, id: AirEdge) {
        let edge = &graph.edges[id];
        let Some(((part, from), (_, to))) = self.nodes[edge.from].zip(self.nodes[edge.to]) else {
            return;
        };
        let link = match edge.law {
            EdgeLaw::Known(link) => link,
            EdgeLaw::Unknown { missing, .. } => {
                let missing = missing.map(|missing| graph.missing[missing].clone());
                self.parts[part].fails(StateError::Missing(missing.into_iter().collect()));
                return;
            }
        };
        let network = &mut self.parts[part].network;
        let link = network.link(from, to, link);
        if let Some(leakage) = graph.leakage.get(&id) {
            network.follow(link, *leakage);
        }
        self.edges[id] = Some((part, link));
    }

    fn hold_back(&mut self, graph: &AirGraph, held_back: &HeldBack) {
        match held_back {
            HeldBack::All => {
                for part in &mut self.parts {
                    part.network.hold_back_regulators();
                }
            }
            HeldBack::Only(regulators) => {
                for regulator in regulators {
                    let edge = graph.through[*regulator];
                    if let Some((part, link)) = edge.and_then(|edge| self.edges[edge]) {
                        self.parts[part].network.hold_back(link);
                    }
                }
            }
        }
    }

    fn sources(&mut self, office: &Office, graph: &AirGraph) {
        for dryer in &graph.dryers {
            let Some((part, node)) = self.nodes[dryer.node] else {
                continue;
            };
            let part_of = &mut self.parts[part];
            let Some(supply) = dryer.supply else {
                part_of.fails(StateError::Missing(Vec::new()));
                continue;
            };
            let supply = part_of.network.supply(node, supply);
            let (owner, thing) = match dryer.at {
                DryerLocation::Here(thing) => (Some(Owner::itself(office)), thing),
                DryerLocation::Elsewhere(number, thing) => (Owner::neighbour(office, graph, number), thing),
            };
            let Some(owner) = owner else { continue };
            let bank = owner.office.thing(thing);
            if !bank.is(KindId::Bottle) {
                continue;
            }
            match bank.quantity(Key::Holds) {
                Some((holds, _)) => {
                    let volume = Volume::from_cubic_metres(holds.si() * f64::from(bottles(bank)));
                    part_of.contents.push((supply, volume));
                }
                None => {
                    let what = format!("what one bottle of `{}` holds", owner.office.name(thing));
                    part_of.fails(StateError::Missing(vec![owner.missing(thing, bank.name, what)]));
                }
            }
        }
    }

    /// Adds what sections, pipes and tanks hold.
    fn stores(&mut self, air: &Air, office: &Office, graph: &AirGraph) {
        for line in &graph.lines {
            if line.sections.is_empty() {
                // Its length is not known, and then no figure of its part is.
                if let Some(ports) = graph.ports[line.thing] {
                    self.fails(ports.inlet, StateError::Missing(Vec::new()));
                }
            }
            self.line(air, Owner::itself(office), graph, line);
        }
        for (id, _) in office.of_kind(KindId::Tank) {
            if let Some(ports) = graph.ports[id] {
                self.tank(Owner::itself(office), id, ports.inlet);
            }
        }
        for line in &graph.lines_elsewhere {
            if let Some(owner) = Owner::neighbour(office, graph, line.neighbour) {
                self.line(air, owner, graph, &line.part);
            }
        }
        for tank in &graph.tanks_elsewhere {
            let (id, node) = tank.part;
            if let Some(owner) = Owner::neighbour(office, graph, tank.neighbour) {
                self.tank(owner, id, node);
            }
        }
    }

    fn line(&mut self, air: &Air, owner: Owner<'_>, graph: &AirGraph, line: &Line) {
        for section in &line.sections {
            let volume = volume(air, owner, line, section);
            for segment in line.segments_of(section) {
                let edge = graph.edges[segment.edge];
                let volume = match &volume {
                    Ok(volume) => *volume * ((segment.to - segment.from) / (section.to - section.from) / 2.0),
                    Err(missing) => {
                        self.fails(edge.from, StateError::Missing(vec![missing.clone()]));
                        break;
                    }
                };
                self.store(edge.from, volume);
                self.store(edge.to, volume);
            }
        }
    }

    fn tank(&mut self, owner: Owner<'_>, id: ThingId, node: AirNode) {
        let thing = owner.office.thing(id);
        match thing.quantity(Key::Volume).and_then(|(volume, _)| Volume::of(volume)) {
            Some(volume) => self.store(node, volume),
            None => {
                let what = format!("the volume of `{}`", owner.office.name(id));
                self.fails(node, StateError::Missing(vec![owner.missing(id, thing.name, what)]));
            }
        }
    }

    fn store(&mut self, at: AirNode, volume: Volume) {
        if let Some((part, at)) = self.nodes[at] {
            self.parts[part].stores.push(StoredVolume { at, volume });
        }
    }

    /// The pressures of the normal state. What has none there and stores air leaves its part unknown.
    fn start(&mut self, air: &Air, office: &Office, graph: &AirGraph) {
        let mut normal: IndexVec<AirNode, Option<Pressure>> = IndexVec::filled(None, graph.nodes);
        for (id, ports) in graph.ports.enumerated() {
            if let Some(ports) = ports {
                normal[ports.inlet] = air.inlet(id);
                normal[ports.outlet] = air.outlet(id);
            }
        }
        let own = graph.lines.iter().zip(&air.graph.lines);
        let own = own.map(|(line, before)| (line, before, StateError::NormalUnknown(line.thing)));
        let elsewhere = graph.lines_elsewhere.iter().zip(&air.graph.lines_elsewhere);
        let elsewhere = elsewhere.map(|(line, before)| (&line.part, &before.part, StateError::Shared));
        for (line, before, why_not) in own.chain(elsewhere) {
            for segment in &line.segments {
                let edge = graph.edges[segment.edge];
                normal[edge.from] = air.pressure_along(before, segment.from);
                normal[edge.to] = air.pressure_along(before, segment.to);
                let is_known = normal[edge.from].is_some() && normal[edge.to].is_some();
                if !is_known {
                    self.fails(edge.from, why_not.clone());
                }
            }
        }
        // A tank may stand where no valve lets air in.
        for (id, _) in office.of_kind(KindId::Tank) {
            if let Some(ports) = graph.ports[id]
                && normal[ports.inlet].is_none()
            {
                self.fails(ports.inlet, StateError::NormalUnknown(id));
            }
        }
        for (tank, before) in graph.tanks_elsewhere.iter().zip(&air.graph.tanks_elsewhere) {
            let (_, node) = tank.part;
            let (_, before) = before.part;
            normal[node] = normal[node].or(air.gauge(before));
            if normal[node].is_none() {
                self.fails(node, StateError::Shared);
            }
        }
        for part in &mut self.parts {
            part.start = IndexVec::filled(None, part.network.nodes());
        }
        for (node, normal) in self.nodes.iter().zip(&normal) {
            if let Some((part, node)) = node {
                self.parts[*part].start[*node] = normal.map(|normal| air.conditions.ambient + normal);
            }
        }
        for part in &mut self.parts {
            let known = part.start.iter().flatten().copied();
            let highest = known.reduce(|one, other| if one > other { one } else { other });
            let guess = highest.unwrap_or(air.conditions.ambient);
            for start in &mut part.start {
                start.get_or_insert(guess);
            }
        }
    }

    fn floors(&mut self, graph: &AirGraph, least: &dyn Fn(&Line, &LineSection) -> Option<Pressure>) {
        for (number, line) in graph.lines.iter().enumerate() {
            let first = line.segments.first().map(|segment| graph.edges[segment.edge].from);
            if first.is_none_or(|first| self.nodes[first].is_none()) {
                continue;
            }
            for (at, section) in line.sections.iter().enumerate() {
                let Some(least) = least(line, section) else { continue };
                for segment in line.segments_of(section) {
                    let edge = graph.edges[segment.edge];
                    for (metres, node) in [(segment.from, edge.from), (segment.to, edge.to)] {
                        if let Some((part, node)) = self.nodes[node] {
                            let part = &mut self.parts[part];
                            part.floors.push(PressureFloor { at: node, least });
                            part.places.push((number, at, metres));
                        }
                    }
                }
            }
        }
    }
}

/// What a section of cable or a pipe holds, as a volume of air at the temperature of the network: what cold cable holds is more. Else what is
/// missing for that.
fn volume(air: &Air, owner: Owner<'_>, line: &Line, section: &LineSection) -> Result<Volume, MissingInput> {
    let office = owner.office;
    let thing = office.thing(line.thing);
    let host = office.name(line.thing);
    match line.section(office, section) {
        None => {
            let bore = thing.quantity(Key::Bore).and_then(|(bore, _)| Length::of(bore));
            let area = bore.map(|bore| std::f64::consts::PI / 4.0 * bore.metres() * bore.metres());
            area.map(|area| Volume::from_cubic_metres(area * (section.to - section.from)))
                .ok_or_else(|| owner.missing(line.thing, thing.name, format!("the bore of `{host}`")))
        }
        Some((name, fields)) => {
            let volume = fields.quantity(Key::Volume).and_then(|(volume, _)| Volume::of(volume));
            // pV = nRT: at the same pressure and volume the amount goes with 1/T.
            let network = air.conditions.temperature.kelvins();
            let expansion = cable_temperature(office, line.thing, fields).map_or(1.0, |own| network / own.kelvins());
            volume.map(|volume| volume * expansion).ok_or_else(|| {
                let place = line.section_place(office, section);
                let here = place.filter(|place| place.file == office.file);
                let range = here.map_or(thing.name, |place| place.range);
                owner.missing(line.thing, range, format!("the volume of section `{name}` of `{host}`"))
            })
        }
    }
}

/// The office that a part of the network is in: the one that is computed, or one that shares a route with it.
#[derive(Clone, Copy)]
struct Owner<'o> {
    office: &'o Office,
    /// None for the office that is computed.
    neighbour: Option<&'o Neighbour>,
}

impl<'o> Owner<'o> {
    fn itself(office: &'o Office) -> Self {
        Self {
            office,
            neighbour: None,
        }
    }

    fn neighbour(office: &'o Office, graph: &'o AirGraph, number: usize) -> Option<Self> {
        Some(Self {
            office: office.neighbours.get(number)?,
            neighbour: Some(graph.neighbours.get(number)?),
        })
    }

    fn missing(&self, on: ThingId, range: TextRange, what: String) -> MissingInput {
        match self.neighbour {
            Some(neighbour) => neighbour.missing(self.office, &what, NeededFor::Time),
            None => MissingInput {
                on,
                range,
                what,
                needed_for: NeededFor::Time,
            },
        }
    }
}

impl AirTransient {
    /// All cables, branches and pipes, in the order of the file.
    pub fn lines(&self) -> &[Line] {
        self.graph.lines.as_slice()
    }

    /// Where a sensor or contact senses the air.
    pub fn location_of(&self, office: &Office, networks: &Networks, thing: ThingId) -> Option<AirLocation<'_>> {
        self.graph.location_of(office, networks, thing)
    }

    fn transient(&self, part: SubnetworkId) -> Option<&Transient> {
        self.parts[part].as_ref().ok()
    }

    /// Why the air of a line is not known.
    pub fn why_unknown(&self, line: &Line) -> Option<&StateError> {
        self.why_unknown_at(&AirLocation::OnLine(line, 0.0))
    }

    /// Why the air at a location is not known.
    pub fn why_unknown_at(&self, location: &AirLocation<'_>) -> Option<&StateError> {
        let (part, _) = self.nodes[self.node(location)?]?;
        self.parts[part].as_ref().err()
    }

    /// A node of the part that a location is in.
    fn node(&self, location: &AirLocation<'_>) -> Option<AirNode> {
        Some(match location {
            AirLocation::Thing(thing) => self.graph.ports[*thing]?.inlet,
            AirLocation::OnLine(on, metres) => self.graph.edges[on.segment_at(*metres)?.edge].from,
        })
    }

    /// The first reason why some of the air is not known.
    pub fn first_unknown(&self) -> Option<&StateError> {
        self.parts.iter().find_map(|part| part.as_ref().err())
    }

    /// Pressure above the surrounding air at a distance along a line, after some time.
    pub fn pressure_along(&self, on: &Line, metres: f64, time: Time) -> Option<Pressure> {
        let segment = on.segment_at(metres)?;
        let (part, link) = self.edges[segment.edge]?;
        let inside = Length::from_metres((metres - segment.from).clamp(0.0, segment.to - segment.from));
        self.transient(part)?.profile(link, inside, time).map(without_noise)
    }

    /// Pressure above the surrounding air at a location, after some time.
    pub fn pressure(&self, location: &AirLocation<'_>, time: Time) -> Option<Pressure> {
        match location {
            AirLocation::Thing(thing) => {
                let (part, node) = self.nodes[self.graph.ports[*thing]?.inlet]?;
                self.transient(part)?.gauge(node, time).map(without_noise)
            }
            AirLocation::OnLine(on, metres) => self.pressure_along(on, *metres, time),
        }
    }

    /// Flow at a location after some time: through a thing, or along a line away from its beginning.
    pub fn flow(&self, location: &AirLocation<'_>, time: Time) -> Option<Flow> {
        match location {
            AirLocation::Thing(thing) => self.flow_past_middle(self.graph.through[*thing]?, time),
            AirLocation::OnLine(on, metres) => self.flow_along(on, *metres, time),
        }
    }

    fn flow_past_middle(&self, edge: AirEdge, time: Time) -> Option<Flow> {
        let (part, link) = self.edges[edge]?;
        self.transient(part)?.flow(link, time)
    }

    /// Flow along a line away from its beginning. What a piece loses and stores between its middle and a place at its end follows from the flow past the
    /// middle of the piece before it.
    fn flow_along(&self, on: &Line, metres: f64, time: Time) -> Option<Flow> {
        let at = on.segment_number_at(metres)?;
        let segment = on.segments.get(at)?;
        let flow = self.flow_past_middle(segment.edge, time)?;
        let edge = self.graph.edges[segment.edge];
        let (between, other) = match segment.nearer_end(metres) {
            LinkEnd::Start => (edge.to, at.checked_add(1)),
            LinkEnd::End => (edge.from, at.checked_sub(1)),
        };
        let other = other.and_then(|other| on.segments.get(other));
        let Some(other) = other.filter(|_| self.is_between_two[between]) else {
            return Some(flow);
        };
        let change = flow - self.flow_past_middle(other.edge, time)?;
        Some(flow + change * ((metres - segment.middle()) / (segment.middle() - other.middle())))
    }

    /// The first time at which a figure of a location is above nothing.
    pub fn first(&self, location: &AirLocation<'_>, figure: impl Fn(Time) -> Option<f64>) -> Option<Time> {
        let (part, _) = self.nodes[self.node(location)?]?;
        self.transient(part)?.first(figure)
    }
}
