//! Puts the air network of an office together, thing by thing and run by run.

use drysheath_engineering::index::IndexVec;
use drysheath_engineering::measure::{Flow, FlowResistance, Length, Pressure};
use drysheath_engineering::network::{Link, Loss, Regulator, Supply, Tube};
use drysheath_office::kinds::{Key, KindId, Role, ValveFunction, ValvePosition};
use drysheath_office::{self as office, Attributes, Fields, LinkEnd, Networks, Office, RunId, Thing, ThingId};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;
use rustc_hash::FxHashMap;

use super::graph::{
    AirEdge, AirGraph, AirNode, Dryer, DryerLocation, Edge, EdgeLaw, EdgeOrigin, MissingIndex, NeighbourPart, Ports,
    no_flow,
};
use super::shared::{JoinedElsewhere, Neighbour, SharedRoutes, TrunkOrBranch, neighbour_missing};
use super::state::{Division, NetworkChange};
use crate::dryer_capacity::capacity;
use crate::missing_input::{MissingInput, NeededFor};

/// Puts the air network of an office together.
pub(super) struct NetworkBuilder<'o> {
    pub(super) office: &'o Office,
    pub(super) networks: &'o Networks,
    pub(super) graph: AirGraph,
    /// The nodes along each trunk and branch with their distances in metres, from the beginning outwards.
    pub(super) nodes_along: FxHashMap<TrunkOrBranch, Vec<(f64, AirNode)>>,
    /// Where other offices join the routes that are shared with them.
    pub(super) joined_elsewhere: JoinedElsewhere,
    /// What the office is to the one that is computed, where it is not that one.
    pub(super) neighbour: Option<Neighbour>,
    /// What is otherwise than in the normal state.
    pub(super) changes: &'o [NetworkChange],
    /// How far lines are divided.
    pub(super) division: Division,
    /// The last run of which something was missing, so that it is noted once.
    incomplete_run: Option<(RunId, MissingIndex)>,
}

impl<'o> NetworkBuilder<'o> {
    pub fn new(office: &'o Office, networks: &'o Networks) -> Self {
        let mut builder = Self::of(office, networks);
        builder.joined_elsewhere = JoinedElsewhere::of(office, networks);
        builder
    }

    /// The same with changes. Neighbours stay as they are.
    pub fn changed(self, changes: &'o [NetworkChange], division: Division) -> Self {
        Self {
            changes,
            division,
            ..self
        }
    }

    fn of(office: &'o Office, networks: &'o Networks) -> Self {
        let things = office.things.len();
        Self {
            office,
            networks,
            graph: AirGraph {
                ports: IndexVec::filled(None, things),
                through: IndexVec::filled(None, things),
                ..AirGraph::default()
            },
            nodes_along: FxHashMap::default(),
            joined_elsewhere: JoinedElsewhere::default(),
            neighbour: None,
            changes: &[],
            division: Division::None,
            incomplete_run: None,
        }
    }

    /// The network; an empty one where what could not be read may have been a part of it.
    pub fn build(mut self) -> AirGraph {
        self.everything();
        self.graph
    }

    /// Adds what the office has, and what its neighbours have. Nothing where what could not be read may have been a part of it.
    pub fn everything(&mut self) {
        let office = self.office;
        let is_unread = |office: &Office| office.unsure.about(Medium::Air) || surroundings_unread(office);
        if is_unread(office) || office.things.is_empty() {
            return;
        }
        if let Some(why) = neighbour_missing(office, is_unread) {
            self.graph.missing.push(why);
            return;
        }
        self.things_and_runs();
        let mut routes = SharedRoutes::default();
        routes.add(self);
        for (number, (neighbour, networks)) in office.neighbours.iter().zip(&self.networks.neighbours).enumerate() {
            self.join(number, neighbour, networks, &mut routes);
        }
    }

    /// Adds what the office itself has.
    fn things_and_runs(&mut self) {
        for (id, thing) in self.office.things() {
            self.thing(id, thing);
        }
        self.runs(|_| true);
    }

    /// Adds the network of an office that shares routes with this one.
    fn join(&mut self, number: usize, neighbour: &Office, networks: &Networks, routes: &mut SharedRoutes) {
        let ambient = |office: &Office| office.atmosphere().pascals();
        let by = neighbour.placed.iter().find_map(|own| {
            self.office
                .placed
                .iter()
                .find(|placed| placed.is_route() && placed.file == own.file)
        });
        let mut theirs = NetworkBuilder::of(neighbour, networks);
        std::mem::swap(&mut theirs.graph.nodes, &mut self.graph.nodes);
        std::mem::swap(&mut theirs.graph.edges, &mut self.graph.edges);
        std::mem::swap(&mut theirs.graph.dryers, &mut self.graph.dryers);
        std::mem::swap(&mut theirs.graph.missing, &mut self.graph.missing);
        std::mem::swap(&mut theirs.graph.lines_elsewhere, &mut self.graph.lines_elsewhere);
        std::mem::swap(&mut theirs.graph.tanks_elsewhere, &mut self.graph.tanks_elsewhere);
        std::mem::swap(&mut theirs.joined_elsewhere, &mut self.joined_elsewhere);
        if matches!(self.division, Division::Stored(_)) {
            theirs.division = self.division;
        }
        let joined = Neighbour {
            number,
            higher: ambient(neighbour) - ambient(self.office),
            on: by.and_then(|by| self.office.thing_of(by)).unwrap_or(ThingId::from(0)),
            by: by.map_or(TextRange::default(), |by| by.name),
        };
        theirs.neighbour = Some(joined);
        self.graph.neighbours.push(joined);
        let known: Vec<usize> = (0..neighbour.placed.len())
            .filter(|at| {
                neighbour
                    .placed
                    .get(*at)
                    .is_some_and(|placed| routes.give(placed, &mut theirs))
            })
            .collect();
        let is_known = |range: TextRange| {
            let mut known = known.iter().filter_map(|at| neighbour.placed.get(*at));
            neighbour
                .placed_at(range)
                .is_some_and(|placed| known.any(|known| std::ptr::eq(known, placed)))
        };
        for (id, thing) in neighbour.things() {
            if !is_known(thing.range) {
                theirs.thing(id, thing);
            }
        }
        theirs.runs(|run| !is_known(neighbour.run(run).range));
        routes.add(&theirs);
        self.graph.nodes = theirs.graph.nodes;
        self.graph.edges = theirs.graph.edges;
        self.graph.dryers = theirs.graph.dryers;
        self.graph.missing = theirs.graph.missing;
        self.graph.lines_elsewhere = theirs.graph.lines_elsewhere;
        self.graph.tanks_elsewhere = theirs.graph.tanks_elsewhere;
        self.joined_elsewhere = theirs.joined_elsewhere;
    }

    /// Whether it is the network of another office that is added.
    pub(super) fn is_elsewhere(&self) -> bool {
        self.neighbour.is_some()
    }

    /// Adds the runs that count.
    fn runs(&mut self, counts: impl Fn(RunId) -> bool) {
        let office = self.office;
        for link in self.networks.air.iter() {
            let nodes = self
                .node_of(&link.from)
                .zip(self.node_of(&link.to))
                .filter(|_| counts(link.run));
            let mut from = nodes.map(|(from, _)| from);
            let last = link.pieces(office).count() - 1;
            for (at, piece) in link.pieces(office).enumerate() {
                let edge = nodes.zip(from).map(|((_, end), start)| {
                    let law = self.run(link, piece);
                    let to = if at == last { end } else { self.node() };
                    from = Some(to);
                    self.edge(start, to, law, EdgeOrigin::Run(self.graph.runs.len()))
                });
                self.graph.runs.push(edge);
            }
        }
    }

    pub(super) fn node(&mut self) -> AirNode {
        self.graph.nodes += 1;
        AirNode::from(self.graph.nodes - 1)
    }

    pub(super) fn edge(&mut self, from: AirNode, to: AirNode, law: EdgeLaw, of: EdgeOrigin) -> AirEdge {
        let of = self
            .neighbour
            .map_or(of, |neighbour| EdgeOrigin::Elsewhere(neighbour.number));
        self.graph.edges.push(Edge { from, to, law, of })
    }

    pub(super) fn missing(&mut self, on: ThingId, range: TextRange, what: String) -> MissingIndex {
        self.graph.missing.push(match self.neighbour {
            Some(neighbour) => neighbour.missing(self.office, &what, NeededFor::Air),
            None => MissingInput {
                on,
                range,
                what,
                needed_for: NeededFor::Air,
            },
        })
    }

    pub(super) fn set_ports(&mut self, id: ThingId, inlet: AirNode, outlet: AirNode) {
        self.graph.ports[id] = Some(Ports { inlet, outlet });
    }

    /// A node where air comes into a thing and goes out of it.
    fn one_node(&mut self, id: ThingId) -> AirNode {
        let node = self.node();
        self.set_ports(id, node, node);
        node
    }

    fn thing(&mut self, id: ThingId, thing: &'o Thing) {
        let Some(kind) = thing.kind else { return };
        match kind.id {
            KindId::Dryer | KindId::Bottle => {
                let node = self.one_node(id);
                if self.changes.contains(&NetworkChange::Stops(id)) {
                    return;
                }
                let supply = self.pressure(thing, Key::Delivers).map(|delivers| Supply {
                    delivers,
                    capacity: capacity(self.office, id).map(|capacity| capacity.flow),
                });
                self.graph.dryers.push(Dryer {
                    node,
                    at: match self.neighbour {
                        Some(neighbour) => DryerLocation::Elsewhere(neighbour.number, id),
                        None => DryerLocation::Here(id),
                    },
                    supply,
                });
            }
            KindId::Regulator => {
                // What could not be understood may have been its droop.
                let law = if thing.damaged {
                    Some(EdgeLaw::unknown(Some(no_flow())))
                } else if self.changes.contains(&NetworkChange::Closes(id)) {
                    None
                } else if self.changes.contains(&NetworkChange::Opens(id)) {
                    Some(wide_open(thing))
                } else if let Some(relieved) = self.relieved(id) {
                    Some(EdgeLaw::Known(Link::Regulator(relieved)))
                } else {
                    Some(self.regulator(id, thing))
                };
                self.two_nodes(id, law);
            }
            KindId::Valve => {
                let law = match (thing.choice(Key::Function), thing.choice(Key::Stands)) {
                    // It may be stated as closed, and then everything behind it uses nothing.
                    _ if thing.damaged => Some(EdgeLaw::unknown(None)),
                    _ if self.changes.contains(&NetworkChange::Closes(id)) => None,
                    (_, Some(ValvePosition::Closed)) if !self.changes.contains(&NetworkChange::Opens(id)) => None,
                    // One that is stuck open lets air through both ways.
                    (Some(ValveFunction::Check), _) => {
                        Some(Self::lossy(thing, !self.changes.contains(&NetworkChange::Opens(id))))
                    }
                    (Some(ValveFunction::ShutOff), _) => Some(Self::lossy(thing, false)),
                    (None, _) => Some(EdgeLaw::unknown(Some(no_flow()))),
                };
                self.two_nodes(id, law);
            }
            KindId::FlowSensor => {
                let law = Self::lossy(thing, false);
                self.two_nodes(id, Some(law));
            }
            KindId::Filter => {
                let law = self.filter(id, thing);
                self.two_nodes(id, Some(law));
            }
            KindId::Tank => {
                let node = self.one_node(id);
                if let Some(neighbour) = self.neighbour {
                    self.graph.tanks_elsewhere.push(NeighbourPart {
                        neighbour: neighbour.number,
                        part: (id, node),
                    });
                }
            }
            KindId::Manifold
            | KindId::PressureSensor
            | KindId::HumiditySensor
            | KindId::DewPointSensor
            | KindId::PressureSwitch => {
                self.one_node(id);
            }
            // What it does to the air is not known.
            KindId::Other => self.two_nodes(id, Some(EdgeLaw::unknown(None))),
            KindId::AirPipe => self.pipe(id, thing),
            KindId::Cable => self.cable(id, thing),
            _ => {}
        }
    }

    /// Something that takes from the air what its losses say, and nothing where it states none.
    fn lossy(thing: &Thing, one_way: bool) -> EdgeLaw {
        match loss(thing) {
            Some(Ok(loss)) => EdgeLaw::Known(Link::Restriction { loss, one_way }),
            // Which way it lets air through is known all the same, but not how much.
            Some(Err(Unread)) if one_way => EdgeLaw::unknown(Some(no_flow())),
            Some(Err(Unread)) => EdgeLaw::without_resistance(None, Some(no_flow())),
            None if one_way => EdgeLaw::Known(Link::CheckValve),
            None => EdgeLaw::Known(Link::Fitting),
        }
    }

    /// No filter is without a loss.
    fn filter(&mut self, id: ThingId, thing: &Thing) -> EdgeLaw {
        if loss(thing).is_some() {
            return Self::lossy(thing, false);
        }
        let missing = (!thing.damaged).then(|| {
            let what = format!("the loss of `{}` at a flow", self.office.name(id));
            self.missing(id, thing.name, what)
        });
        EdgeLaw::without_resistance(missing, Some(no_flow()))
    }

    /// Nodes before and behind a thing, joined where air passes it.
    fn two_nodes(&mut self, id: ThingId, law: Option<EdgeLaw>) {
        let (inlet, outlet) = (self.node(), self.node());
        self.set_ports(id, inlet, outlet);
        self.graph.through[id] = law.map(|law| self.edge(inlet, outlet, law, EdgeOrigin::Thing(id)));
    }

    /// A pressure above the air that surrounds the office that is computed.
    fn pressure(&self, thing: &Thing, key: Key) -> Option<Pressure> {
        let (pressure, _) = thing.quantity(key)?;
        let higher = self.neighbour.map_or(0.0, |neighbour| neighbour.higher);
        Some(Pressure::from_pascals(self.office.gauge_pascals(pressure) + higher))
    }

    /// A regulator that stays open and keeps its outlet at what its relief lets off. What leaves there is not counted.
    fn relieved(&self, id: ThingId) -> Option<Regulator> {
        self.changes.iter().find_map(|change| match change {
            NetworkChange::Relieves(of, pressure) if *of == id => Some(Regulator {
                set: *pressure,
                droop: FlowResistance::from_pascal_seconds_per_m3(0.0),
                differential: Pressure::from_pascals(0.0),
                rated: None,
            }),
            _ => None,
        })
    }

    fn regulator(&self, id: ThingId, thing: &Thing) -> EdgeLaw {
        let specs = thing.kind.map_or(&[][..], |kind| kind.fields);
        let droop = thing
            .given(specs, Key::Droop)
            .and_then(|given| FlowResistance::of(given.quantity));
        let otherwise = self.changes.iter().find_map(|change| match change {
            NetworkChange::Set(of, pressure) if *of == id => Some(*pressure),
            _ => None,
        });
        match (otherwise.or_else(|| self.pressure(thing, Key::Set)), droop) {
            (Some(set), Some(droop)) => EdgeLaw::Known(Link::Regulator(Regulator {
                set,
                droop,
                differential: thing
                    .quantity(Key::Differential)
                    .and_then(|(differential, _)| Pressure::of(differential))
                    .unwrap_or(Pressure::from_pascals(0.0)),
                rated: thing.quantity(Key::FlowMax).and_then(|(flow, _)| Flow::of(flow)),
            })),
            _ => EdgeLaw::unknown(Some(no_flow())),
        }
    }

    /// The node at one side of a run.
    fn node_of(&self, side: &LinkEnd) -> Option<AirNode> {
        let thing = self.office.thing(side.thing);
        if side.port.role == Role::Tap {
            return self.node_at(side.thing, None, tap(thing, side)?);
        }
        let ports = self.graph.ports[side.thing]?;
        Some(if side.port.role == Role::Outlet {
            ports.outlet
        } else {
            ports.inlet
        })
    }

    /// The law of a piece of what joins the two sides of a link. One that names neither tube nor bore nor length is a joint.
    fn run(&mut self, link: &office::Link, with: &Attributes) -> EdgeLaw {
        if with.damaged {
            return EdgeLaw::unknown(Some(no_flow()));
        }
        let run = self.office.run(link.run);
        let links = (run.ends.len().saturating_sub(1) as u32).max(1);
        let length = with.length.as_ref().and_then(|length| Length::of(length.value));
        let bore = with.bore.as_ref().and_then(|bore| Length::of(bore.value));
        let lacks = match (bore, length) {
            (Some(bore), Some(length)) => {
                return EdgeLaw::Known(Link::Tube(Tube {
                    bore,
                    length: length * f64::from(links).recip(),
                    roughness: Length::from_metres(0.0),
                    usage: no_flow(),
                }));
            }
            (None, None) if with.tube.is_none() => return EdgeLaw::Known(Link::Fitting),
            (None, None) => "bore and length",
            (None, _) => "bore",
            (_, None) => "length",
        };
        let missing = match self.incomplete_run {
            Some((of, missing)) if of == link.run => missing,
            _ => {
                let [from, to] = [link.from.thing, link.to.thing].map(|id| self.office.name(id));
                let piece = link.piece_number(self.office, with);
                let piece = piece.map_or_else(String::new, |(piece, _)| format!("piece {piece} of "));
                let what = format!("the {lacks} of {piece}the tube from `{from}` to `{to}`");
                self.missing(link.to.thing, run.range, what)
            }
        };
        self.incomplete_run = Some((link.run, missing));
        EdgeLaw::without_resistance(Some(missing), Some(no_flow()))
    }
}

/// A regulator that no longer regulates and stays open: it loses its least differential at its greatest flow, and in proportion at
/// others. Where no greatest flow is stated it has no loss worth computing.
fn wide_open(thing: &Thing) -> EdgeLaw {
    let lost = thing
        .quantity(Key::Differential)
        .and_then(|(lost, _)| Pressure::of(lost));
    let most = thing.quantity(Key::FlowMax).and_then(|(flow, _)| Flow::of(flow));
    EdgeLaw::Known(match most.zip(lost) {
        Some(first) if first.1.pascals() > 0.0 => Link::Restriction {
            loss: Loss { first, second: None },
            one_way: true,
        },
        _ => Link::CheckValve,
    })
}

/// A loss that could not be read, or whose points do not rise.
struct Unread;

/// What a thing takes from the air that passes, if it says so.
fn loss(thing: &Thing) -> Option<Result<Loss, Unread>> {
    if !thing.has(Key::Loss) {
        return None;
    }
    let point = |loss: office::Loss| Flow::of(loss.flow).zip(Pressure::of(loss.pressure));
    let mut points: Vec<_> = thing.losses().filter_map(|(loss, _)| point(loss)).collect();
    points.sort_by(|(one, _), (other, _)| {
        let one = one.cubic_metres_per_second();
        one.total_cmp(&other.cubic_metres_per_second())
    });
    let is_read = points.len() == thing.all(Key::Loss).count();
    let is_rising = points.is_sorted_by(|(_, one), (_, other)| one.pascals() < other.pascals());
    Some(match points.as_slice() {
        [first, rest @ ..] if is_read && is_rising && rest.len() < 2 => Ok(Loss {
            first: *first,
            second: rest.first().copied(),
        }),
        _ => Err(Unread),
    })
}

/// Where a run meets a named place of a route, m.
pub(super) fn tap(thing: &Thing, side: &LinkEnd) -> Option<f64> {
    if side.port.role != Role::Tap {
        return None;
    }
    let number = (side.number as usize).checked_sub(1)?;
    let (_, _, fields) = thing.named(Key::Place).nth(number)?;
    Some(fields.quantity(Key::At)?.0.si())
}

/// Whether the pressure around the office or the temperature of its air may be written in what could not be understood.
fn surroundings_unread(office: &Office) -> bool {
    let itself = office.itself.map(|id| office.thing(id));
    itself.is_some_and(|itself| {
        let is_unread = |key| match itself.field(key) {
            Some(field) => field.value.is_unreadable(),
            None => itself.damaged,
        };
        [Key::Elevation, Key::AirTemperature].into_iter().any(is_unread)
    })
}
