//! The air network in states other than the normal one: the same office with a few changes.
//!
//! In the normal state a section loses its usage. From its pressures there every place keeps a conductance (see
//! `engineering::network::Leakage`), so that what is lost in another state follows the pressure. Nothing is guessed: where the normal
//! pressure of a section is not known, a state in which air reaches it is not known.

use drysheath_engineering::air::SHARP_EDGE;
use drysheath_engineering::index::IndexVec;
use drysheath_engineering::measure::{Flow, Length, PneumaticResistance, Pressure};
use drysheath_engineering::network::{Leak, Leakage, Link, LinkId, SupplyState};
use drysheath_office::kinds::KindId;
use drysheath_office::{Networks, Office, ThingId};

use super::Air;
use super::builder::NetworkBuilder;
use super::graph::{AirEdge, AirGraph, AirNode, DryerLocation, EdgeLaw, EdgeOrigin, LineId};
use super::solvable::connected;
use super::systems::{SystemId, Systems};
use crate::line::{Line, POSITION_TOLERANCE};
use crate::missing_input::MissingInput;

/// A place on a cable, a branch of one, or an air pipe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinePoint {
    /// The cable or pipe.
    pub thing: ThingId,
    /// The branch, as its number among the branches of the cable, from 0.
    pub branch: Option<u32>,
    /// Metres from the beginning of it.
    pub metres: f64,
}

/// A section of a cable or of a branch of it, or a whole pipe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionOf {
    /// The cable or pipe.
    pub thing: ThingId,
    /// The branch, as its number among the branches of the cable, from 0.
    pub branch: Option<u32>,
    /// The section, as its number among the sections of the cable or branch, from 0; that of a pipe is 0.
    pub section: u32,
}

/// Something that makes a state another one than the normal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NetworkChange {
    /// A dryer or bottle gives no air and takes none.
    Stops(ThingId),
    /// A valve lets air through; a regulator no longer regulates and stays open.
    Opens(ThingId),
    /// A valve or regulator lets no air through.
    Closes(ThingId),
    /// A regulator is set to another pressure above the surrounding air.
    Set(ThingId, Pressure),
    /// A regulator that stays open, whose relief keeps its outlet at a pressure above the surrounding air.
    Relieves(ThingId, Pressure),
    /// A long thin hole that loses a flow at the normal pressure of its place.
    Leaks(LinePoint, Flow),
    /// A round hole of some bore in a thin wall, with a sharp edge.
    Hole(LinePoint, Length),
    /// The sheath is open to the surrounding air on either side of the place.
    Breaks(LinePoint),
    /// A section loses another flow at its normal pressures.
    Usage(SectionOf, Flow),
    /// A section has another pneumatic resistance.
    Resistance(SectionOf, PneumaticResistance),
}

impl NetworkChange {
    /// The place on a cable or pipe that is changed.
    pub(super) fn point(&self) -> Option<&LinePoint> {
        match self {
            Self::Leaks(point, _) | Self::Hole(point, _) | Self::Breaks(point) => Some(point),
            _ => None,
        }
    }
}

/// How far lines are divided beyond what joins and leaves them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Division {
    /// Not at all: in the normal state their usage is the same at any pressure.
    None,
    /// Pipes that lose air, since what a piece of one loses follows the pressure at its ends.
    Leaking,
    /// All of them into so many pieces for each section and pipe, since air is stored along them.
    Stored(u8),
    /// Pipes, and all lines where sensors are, since holes are made everywhere.
    Probed,
}

/// Why a state cannot be computed.
#[derive(Clone, Debug, PartialEq)]
pub enum StateError {
    /// The file lacks something, in the normal state or in this one.
    Missing(Vec<MissingInput>),
    /// Air reaches a cable or pipe whose normal pressure is not known or not above that of the surrounding air, so that what it
    /// loses at another pressure is not known.
    NormalUnknown(ThingId),
    /// A source is asked for more than it can give in the normal state already, so that the pressures to start from are not known.
    NormalOverdrawn(ThingId),
    /// Air reaches offices that share a route with this one, and their normal pressures are not known.
    Shared,
    /// More regulators state a differential than can be followed over time in all combinations.
    ManyRegulators,
    /// The computation did not settle.
    Unsettled,
}

impl StateError {
    /// Why, as it goes on after a colon: "the file does not say the volume of `tk`".
    pub fn reason(&self, office: &Office) -> String {
        match self {
            Self::Missing(missing) => match missing.first() {
                Some(missing) => format!("the file does not say {}", missing.what),
                None => "a place or a figure that it needs is not known".to_owned(),
            },
            Self::NormalUnknown(thing) => format!(
                "the normal pressure of `{}` is not known, or not above that of the surrounding air",
                office.name(*thing)
            ),
            Self::NormalOverdrawn(source) => format!(
                "`{}` is asked for more than it can give when all is well, so that the pressures to start from are not known",
                office.name(*source)
            ),
            Self::Shared => {
                "air comes from or goes to another office over a shared route, and the pressures there are not known"
                    .to_owned()
            }
            Self::ManyRegulators => {
                "more than five regulators state a differential, and any of them may lack pressure at some time"
                    .to_owned()
            }
            Self::Unsettled => "the computation did not settle".to_owned(),
        }
    }
}

impl Air {
    /// The network after some changes, once its pressures have settled. A source gives no more than its capacity: see
    /// [`Air::at_capacity`].
    ///
    /// # Errors
    ///
    /// [`StateError`] where the state is not known.
    pub fn in_state(&self, office: &Office, networks: &Networks, changes: &[NetworkChange]) -> Result<Air, StateError> {
        self.settled(office, networks, changes, false)
    }

    /// The two states between which one is whose regulators lack pressure: the one that opens as wide as it can, and the one that passes
    /// no more than its supply less its differential. Each is shown as if it were so. Where several regulators of one air system lack
    /// pressure, or one passes more than it can regulate, that system stays as it is not known.
    ///
    /// # Errors
    ///
    /// [`StateError`] where the state is not known.
    pub fn between(
        &self,
        office: &Office,
        networks: &Networks,
        changes: &[NetworkChange],
    ) -> Result<[Air; 2], StateError> {
        let mut open = self.settled(office, networks, changes, false)?;
        let mut held = self.settled(office, networks, changes, true)?;
        for (open, held) in open.systems.all.iter_mut().zip(&mut held.systems.all) {
            if open.uncertain.as_ref().is_none_or(|uncertain| uncertain.only.is_some()) {
                open.uncertain = None;
                held.uncertain = None;
            }
        }
        Ok([open, held])
    }

    /// The first regulator that lacks pressure.
    pub(crate) fn out_of_regulation(&self, office: &Office) -> Option<ThingId> {
        let mut regulators = office.of_kind(KindId::Regulator).map(|(id, _)| id);
        regulators.find(|id| self.outlet_bounds(*id).is_some())
    }

    fn settled(
        &self,
        office: &Office,
        networks: &Networks,
        changes: &[NetworkChange],
        regulators_held_back: bool,
    ) -> Result<Air, StateError> {
        let (mut graph, unknown) = self.changed(office, networks, changes, Division::Leaking)?;
        graph.regulators_held_back = regulators_held_back;
        graph.drain();
        let systems = Systems::new(&graph, &self.conditions);
        let mut state = Air {
            conditions: self.conditions,
            graph,
            systems,
        };
        let mut lacking = state.lacking();
        for edge in unknown {
            let is_reached = state.computed_link(edge).is_some();
            if is_reached && !state.is_drained(edge) {
                lacking.push((edge, self.why_unknown(&state.graph, edge)));
            }
        }
        if lacking.is_empty() {
            return self.if_settled(state);
        }
        // Only what air joins with these is not known. Of a state in which nothing happens but there, nothing is.
        let component = connected(&state.graph, |_| true);
        let of = |edge: AirEdge| component[state.graph.edges[edge].from];
        let touched: Vec<AirNode> = changes
            .iter()
            .flat_map(|change| state.graph.touched(change))
            .map(|node| component[node])
            .collect();
        if let Some((_, why)) = lacking.iter().find(|(edge, _)| touched.contains(&of(*edge))) {
            return Err(why.clone());
        }
        let mut is_left_out: IndexVec<AirNode, bool> = IndexVec::filled(false, state.graph.nodes);
        for (edge, _) in &lacking {
            is_left_out[of(*edge)] = true;
        }
        let nodes = component.iter().map(|first| is_left_out[*first]).collect();
        state.systems.leave_out(&state.graph, &nodes);
        self.if_settled(state)
    }

    /// A state of this normal one, unless a source in it is asked for more than it can give: where losses follow the pressure, only a computation
    /// that found no end says so.
    fn if_settled(&self, state: Air) -> Result<Air, StateError> {
        let mut overdrawn = state.overdrawn();
        let is_unsettled = overdrawn.any(|(_, at)| self.overdrawn().all(|(_, before)| before != at));
        drop(overdrawn);
        if is_unsettled {
            Err(StateError::Unsettled)
        } else {
            Ok(state)
        }
    }

    fn missing_inputs(&self) -> Vec<MissingInput> {
        let missing = self.systems.missing.iter();
        missing.map(|missing| self.graph.missing[*missing].clone()).collect()
    }

    /// The edges of which a state lacks a figure, and which.
    fn lacking(&self) -> Vec<(AirEdge, StateError)> {
        let mut lacking = Vec::new();
        for (id, edge) in self.graph.edges.enumerated() {
            if let EdgeLaw::Unknown {
                missing: Some(missing), ..
            } = edge.law
                && self.systems.missing.contains(&missing)
            {
                let missing = self.graph.missing[missing].clone();
                lacking.push((id, StateError::Missing(vec![missing])));
            }
        }
        lacking
    }

    /// The network with some changes, and the pieces of lines of which it is not known what they lose.
    pub(super) fn changed(
        &self,
        office: &Office,
        networks: &Networks,
        changes: &[NetworkChange],
        division: Division,
    ) -> Result<(AirGraph, Vec<AirEdge>), StateError> {
        // Nothing is known of an office that could not be read.
        if self.graph.nodes == 0 {
            return Err(StateError::Missing(self.missing_inputs()));
        }
        let mut builder = NetworkBuilder::new(office, networks).changed(changes, division);
        builder.everything();
        for change in changes {
            let Some(node) = change
                .point()
                .and_then(|point| builder.node_at(point.thing, point.branch, point.metres))
            else {
                continue;
            };
            match *change {
                NetworkChange::Leaks(point, flow) => {
                    let inside = self
                        .pressure_at(&point)
                        .ok_or_else(|| match self.missing_inputs().as_slice() {
                            [] => StateError::NormalUnknown(point.thing),
                            missing => StateError::Missing(missing.to_vec()),
                        })?;
                    let ambient = self.conditions.ambient;
                    let leak = Leak::passing(flow, ambient + inside, ambient);
                    builder
                        .graph
                        .leaks
                        .push((node, leak.ok_or(StateError::NormalUnknown(point.thing))?));
                }
                NetworkChange::Hole(_, bore) => {
                    let leak = Leak::Orifice {
                        hole: bore,
                        coefficient: SHARP_EDGE,
                    };
                    builder.graph.leaks.push((node, leak));
                }
                _ => builder.graph.open.push(node),
            }
        }
        let mut graph = builder.graph;
        let unknown = self.follow(&mut graph, changes, division);
        Ok((graph, unknown))
    }

    /// Why it is not known what an edge of a state loses, where this is the normal one.
    pub(super) fn why_unknown(&self, state: &AirGraph, edge: AirEdge) -> StateError {
        let EdgeOrigin::Line(line, ..) = state.edges[edge].of else {
            return StateError::Shared;
        };
        let normal = self.graph.lines[line].segments.first();
        let system = normal
            .and_then(|segment| self.systems.edges[segment.edge])
            .map(|(system, _)| system);
        let mut overdrawn = self.overdrawn().filter(|(of, _)| Some(*of) == system);
        match overdrawn.next() {
            Some((_, DryerLocation::Here(source))) => StateError::NormalOverdrawn(source),
            Some((_, DryerLocation::Elsewhere(..))) => StateError::Shared,
            None => StateError::NormalUnknown(state.lines[line].thing),
        }
    }

    /// The dryers and bottles that give all that they can, at less than their pressure.
    pub fn at_capacity(&self) -> impl Iterator<Item = (ThingId, SupplyState)> + '_ {
        let sources = self
            .sources()
            .filter(|(.., state)| !state.over_capacity && state.asked.is_some());
        sources.filter_map(|(_, at, state)| Some((at.here()?, state)))
    }

    /// The dryers and bottles, of this office and others, that are asked for more than they can give where what is used leaves no other
    /// solution: the file contradicts itself, and the pressures of their systems are not known.
    pub(super) fn overdrawn(&self) -> impl Iterator<Item = (SystemId, DryerLocation)> + '_ {
        let sources = self.sources().filter(|(.., state)| state.over_capacity);
        sources.map(|(system, at, _)| (system, at))
    }

    fn sources(&self) -> impl Iterator<Item = (SystemId, DryerLocation, SupplyState)> + '_ {
        let dryers = self.graph.dryers.iter().zip(&self.systems.dryers);
        dryers.filter_map(|(dryer, place)| {
            let (system, supply) = (*place)?;
            Some((system, dryer.at, self.solution(system)?.supply(supply)?))
        })
    }

    fn pressure_at(&self, point: &LinePoint) -> Option<Pressure> {
        let mut lines = self.lines().iter();
        let line = lines.find(|line| line.thing == point.thing && line.branch == point.branch)?;
        self.pressure_along(line, point.metres)
    }

    /// Lets every line of a state lose what follows from the normal one. The lines of which nothing follows.
    pub(super) fn follow(&self, graph: &mut AirGraph, changes: &[NetworkChange], division: Division) -> Vec<AirEdge> {
        let is_probed = division == Division::Probed;
        let mut unknown = Vec::new();
        let mut leakage = Vec::new();
        for (id, edge) in graph.edges.enumerated() {
            let (EdgeOrigin::Line(line, from, to), EdgeLaw::Known(law)) = (edge.of, edge.law) else {
                continue;
            };
            let change = Changed::of(graph, line, (from, to), &law, changes);
            if edge
                .law
                .usage()
                .is_none_or(|usage| usage.cubic_metres_per_second() <= 0.0)
                && change.is_none()
                && !is_probed
            {
                continue;
            }
            let found = self.leakage(&self.graph.lines[line], from, to);
            if found.is_none() {
                unknown.push(id);
            }
            let found = found.map(|found| match change {
                Some(Changed { usage, resistance }) => found.changed(usage.unwrap_or(found.usage()), resistance),
                None => found,
            });
            if found.is_some() || !is_probed {
                leakage.push((id, found));
            }
        }
        let elsewhere = graph.lines_elsewhere.iter().zip(&self.graph.lines_elsewhere);
        for (line, before) in elsewhere {
            for segment in &line.part.segments {
                let usage = graph.edges[segment.edge].law.usage();
                if usage.is_none_or(|usage| usage.cubic_metres_per_second() <= 0.0) {
                    continue;
                }
                let found = self.leakage(&before.part, segment.from, segment.to);
                if found.is_none() {
                    unknown.push(segment.edge);
                }
                if found.is_some() || !is_probed {
                    leakage.push((segment.edge, found));
                }
            }
        }
        for (id, edge) in graph.edges.enumerated() {
            if matches!(edge.of, EdgeOrigin::Elsewhere(_)) && edge.law.usage().is_none() {
                unknown.push(id);
                if !is_probed {
                    leakage.push((id, None));
                }
            }
        }
        graph.leakage.extend(leakage);
        unknown
    }

    /// What a link lets out, as this normal state tells.
    fn leakage_of(&self, system: SystemId, link: LinkId) -> Option<Leakage> {
        if self.overdrawn().any(|(of, _)| of == system) {
            return None;
        }
        let (start, _) = self.system(system).network.ends(link);
        // Downstream of a regulator out of regulation the pressure is not known.
        self.known(system, start)?;
        self.solution(system)?.leakage(link)
    }

    /// What a piece of a line lets out, as this normal state tells.
    fn leakage(&self, on: &Line, from: f64, to: f64) -> Option<Leakage> {
        let segment = on.segment_at(f64::midpoint(from, to))?;
        let (system, link) = self.systems.edges[segment.edge]?;
        let whole = self.leakage_of(system, link)?;
        let length = segment.to - segment.from;
        if from <= segment.from + POSITION_TOLERANCE && to >= segment.to - POSITION_TOLERANCE {
            return Some(whole);
        }
        Some(whole.piece((from - segment.from) / length, (to - segment.from) / length))
    }

    /// Whether all pressure has left an edge: nothing feeds it, and it is open somewhere.
    fn is_drained(&self, edge: AirEdge) -> bool {
        let node = self.graph.edges[edge].from;
        self.gauge(node).is_some_and(|gauge| gauge.pascals() <= 0.0)
    }
}

/// What the changes make of a piece of a section.
#[derive(Clone, Copy)]
struct Changed {
    usage: Option<Flow>,
    resistance: f64,
}

impl Changed {
    fn of(
        graph: &AirGraph,
        line: LineId,
        (from, to): (f64, f64),
        law: &Link,
        changes: &[NetworkChange],
    ) -> Option<Self> {
        let on = &graph.lines[line];
        let section = on.section_at(f64::midpoint(from, to))?;
        let is_it = |of: &SectionOf| of.thing == on.thing && of.branch == on.branch && of.section == section.section;
        let part = (to - from) / (section.to - section.from);
        let mut found: Option<Self> = None;
        for change in changes {
            let slot = found.unwrap_or(Self {
                usage: None,
                resistance: 1.0,
            });
            found = match (change, law) {
                (NetworkChange::Usage(of, usage), _) if is_it(of) => Some(Self {
                    usage: Some(*usage * part),
                    ..slot
                }),
                (NetworkChange::Resistance(of, resistance), Link::Section(section)) if is_it(of) => Some(Self {
                    resistance: resistance.pascal_seconds_per_m4() / section.resistance.pascal_seconds_per_m4(),
                    ..slot
                }),
                _ => found,
            };
        }
        found
    }
}

impl AirGraph {
    /// The nodes where a change is made.
    fn touched(&self, change: &NetworkChange) -> Vec<AirNode> {
        let on_line = |thing: ThingId, branch: Option<u32>, metres: f64| {
            let mut lines = self.lines.iter();
            let line = lines.find(|line| line.thing == thing && line.branch == branch)?;
            Some(self.edges[line.segment_at(metres)?.edge].from)
        };
        match *change {
            NetworkChange::Stops(thing)
            | NetworkChange::Opens(thing)
            | NetworkChange::Closes(thing)
            | NetworkChange::Set(thing, _)
            | NetworkChange::Relieves(thing, _) => {
                let ports = self.ports[thing].into_iter();
                ports.flat_map(|ports| [ports.inlet, ports.outlet]).collect()
            }
            NetworkChange::Leaks(point, _) | NetworkChange::Hole(point, _) | NetworkChange::Breaks(point) => {
                on_line(point.thing, point.branch, point.metres).into_iter().collect()
            }
            NetworkChange::Usage(of, _) | NetworkChange::Resistance(of, _) => {
                on_line(of.thing, of.branch, 0.0).into_iter().collect()
            }
        }
    }

    /// Opens each part that no source feeds and that loses air: once it has settled, it is at the pressure of the surrounding air, and with it all
    /// from which air can get there.
    fn drain(&mut self) {
        let component = connected(self, |_| true);
        let mut is_fed: IndexVec<AirNode, bool> = IndexVec::filled(false, self.nodes);
        let fed = self
            .dryers
            .iter()
            .map(|dryer| dryer.node)
            .chain(self.open.iter().copied());
        for node in fed {
            is_fed[component[node]] = true;
        }
        let loses =
            |leakage: &Option<Leakage>| leakage.is_none_or(|leakage| leakage.usage().cubic_metres_per_second() > 0.0);
        let leaking = self.leakage.iter().filter(|(_, leakage)| loses(leakage));
        let leaking = leaking.map(|(edge, _)| self.edges[*edge].from);
        let leaking = leaking.chain(self.leaks.iter().map(|(node, _)| *node));
        let draining: Vec<AirNode> = leaking.filter(|node| !is_fed[component[*node]]).collect();
        if draining.is_empty() {
            return;
        }
        let drained = self.senders(draining);
        let drained = drained.enumerated().filter(|(_, is_drained)| **is_drained);
        self.open.extend(drained.map(|(node, _)| node));
    }
}
