//! Which limits of an office a leak or a cut trips, place by place.
//!
//! At each place a hole is made in the normal state, with leakage that follows the pressure, and the readings of all sensors with
//! limits are looked at. The answer of a laminar network to a hole is in proportion to what leaves by it, in squared pressures as in
//! flows. So the slopes of the normal state say which leak is the smallest that is reported. It is put in and looked at; where the network is not
//! laminar, or a source comes to its capacity, the search goes on from there.

use std::sync::Arc;

use drysheath_engineering::index::IndexVec;
use drysheath_engineering::index_type;
use drysheath_engineering::measure::{Flow, Length, Pressure};
use drysheath_engineering::network::{Hole, HoleLocation, Link, LinkEnd, LinkId, NodeId, Probe};
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::{Key, Port};
use drysheath_office::{Fields, Limit, LimitLevel, Networks, Office, Signal, ThingId};
use drysheath_text::Place;

use super::builder::NetworkBuilder;
use super::graph::{AirEdge, AirGraph, AirNode, DryerLocation, EdgeLaw};
use super::state::{Division, StateError};
use super::systems::{Assembled, SystemId};
use super::{Air, AirLocation};
use crate::expectation::alarm_reading;
use crate::line::{Line, POSITION_TOLERANCE};
use crate::missing_input::MissingInput;

/// How far what is foretold of a limit may be corrected, as a part of the way to it.
const CLOSE: f64 = 0.05;
/// How near to its limit it is doubtful then whether it trips: more than the square of that, which the next correction would be.
const MARGIN: f64 = 0.01;

index_type! {
    /// A limit that a leak could trip.
    pub struct WatcherId;
}

/// A limit of a sensor or contact that is quiet in the normal state.
#[derive(Clone, Copy, Debug)]
pub struct Watcher {
    /// The sensor or dryer.
    pub thing: ThingId,
    /// The port of the signal.
    pub port: &'static Port,
    /// Which of the signals of that port, as [`Signal::number`].
    pub number: u32,
    /// The level of the limit that would trip.
    pub level: LimitLevel,
    /// The limit as it is written, and where.
    pub limit: (Quantity, Place),
    /// What it reads in the normal state, in the unit of [`Office::figure`].
    pub normal: f64,
    /// How far the sensor may be off, in the same unit.
    pub error: f64,
    system: SystemId,
    /// What it must be past so that the limit surely trips, in SI.
    surely: f64,
    senses: SensedQuantity,
}

/// What a sensor senses.
#[derive(Clone, Copy, Debug)]
enum SensedQuantity {
    PressureAt(NodeId),
    FlowPast(LinkId, LinkEnd),
}

impl Watcher {
    /// How much of the way from its normal reading to where its limit surely trips a reading has gone: from 1 on it trips. Pressures
    /// count by their squares, in which a laminar network is linear.
    fn share(&self, ambient: f64, reading: f64) -> f64 {
        let figure = |reading: f64| match self.senses {
            SensedQuantity::PressureAt(_) => (ambient + reading).powi(2),
            SensedQuantity::FlowPast(..) => reading,
        };
        let normal = figure(self.normal);
        (figure(reading) - normal) / (figure(self.surely) - normal)
    }
}

/// The smallest leak at a place that is reported.
#[derive(Clone, Copy, Debug)]
pub struct SmallestLeak {
    /// What it loses at the normal pressure of its place, and which limit it trips first. None where not even a cut trips one.
    pub leak: Option<(Flow, WatcherId)>,
}

/// What a hole at a place does to the limits of its air system.
#[derive(Clone, Debug)]
pub struct HoleEffect {
    /// The limits that it surely trips.
    pub tripped: Vec<WatcherId>,
    /// The limit that comes nearest to being surely tripped or is farthest past that, and what its sensor reads, in the unit of
    /// [`Office::figure`]. None where the air system has no limit that a leak could trip.
    pub nearest: Option<(WatcherId, f64)>,
    /// How much of the way to where it surely trips that reading has gone, from its normal one: from 1 on it trips.
    pub share: f64,
    /// What leaves by the hole.
    pub lost: Flow,
}

impl HoleEffect {
    /// Whether some limit surely reports it.
    pub fn is_reported(&self) -> bool {
        self.share >= 1.0
    }
}

/// The limits of an office, and its air network with holes to be made.
pub struct Detection<'a> {
    air: &'a Air,
    graph: AirGraph,
    nodes: IndexVec<AirNode, Option<(SystemId, NodeId)>>,
    edges: IndexVec<AirEdge, Option<(SystemId, LinkId)>>,
    /// None for systems in which it is not known what each line loses at other pressures.
    probes: IndexVec<SystemId, Option<Probe>>,
    /// Why it is not known there.
    why_not: IndexVec<SystemId, Option<Arc<StateError>>>,
    /// The nodes that air reaches only along edges without a known resistance: nothing is known of a hole there. None where there are none.
    beyond: Option<IndexVec<AirNode, bool>>,
    /// The nodes that join two edges and nothing else.
    is_between_two: IndexVec<AirNode, bool>,
    /// The limits that a leak could trip.
    pub watchers: IndexVec<WatcherId, Watcher>,
    /// Those of each air system.
    watching: IndexVec<SystemId, Vec<WatcherId>>,
}

impl Air {
    /// The limits that a leak could trip, and the network with holes to be made. None where nothing is computed.
    pub fn detection(&self, office: &Office, networks: &Networks) -> Option<Detection<'_>> {
        if self.graph.nodes == 0 {
            return None;
        }
        let mut builder = NetworkBuilder::new(office, networks).changed(&[], Division::Probed);
        builder.everything();
        let mut graph = builder.graph;
        let unknown = self.follow(&mut graph, &[], Division::Probed);
        let Assembled {
            systems,
            nodes,
            edges,
            beyond,
            fixed,
            ..
        } = Assembled::of(&graph);
        // Neither what an overdrawn source cannot give nor a fixed loss follows the pressure.
        let mut why_not: IndexVec<SystemId, Option<Arc<StateError>>> = IndexVec::filled(None, systems.len());
        for (_, at) in self.overdrawn() {
            let dryer = graph.dryers.iter().find(|dryer| dryer.at == at);
            if let Some((system, _)) = dryer.and_then(|dryer| nodes[dryer.node]) {
                let why = match at {
                    DryerLocation::Here(source) => StateError::NormalOverdrawn(source),
                    DryerLocation::Elsewhere(..) => StateError::Shared,
                };
                why_not[system].get_or_insert_with(|| Arc::new(why));
            }
        }
        for system in fixed {
            let why = || Arc::new(StateError::Missing(entrances(&graph, &nodes, &edges, system)));
            why_not[system].get_or_insert_with(why);
        }
        let is_used = |edge: &AirEdge| {
            let usage = graph.edges[*edge].law.usage();
            usage.is_none_or(|usage| usage.cubic_metres_per_second() > 0.0)
        };
        let unknown = unknown.into_iter().filter(is_used);
        let unknown: Vec<(AirEdge, (SystemId, LinkId))> =
            unknown.filter_map(|edge| Some((edge, edges[edge]?))).collect();
        let probes = systems.enumerated().map(|(id, system)| {
            if why_not[id].is_some() {
                return None;
            }
            let probe = Probe::new(&system.network, &self.conditions).ok()?;
            // A line that no air reaches loses none with a hole elsewhere either.
            let mut reached = unknown
                .iter()
                .filter(|(_, (of, link))| *of == id && probe.reaches(*link));
            let Some((edge, _)) = reached.next() else {
                return Some(probe);
            };
            why_not[id] = Some(Arc::new(self.why_unknown(&graph, *edge)));
            None
        });
        let probes = probes.collect();
        let mut detection = Detection {
            air: self,
            probes,
            why_not,
            beyond,
            is_between_two: graph.is_between_two(),
            graph,
            nodes,
            edges,
            watchers: IndexVec::new(),
            watching: IndexVec::new(),
        };
        detection.watchers = detection.watchers_of(office, networks);
        let mut watching = IndexVec::filled(Vec::new(), detection.probes.len());
        for (id, watcher) in detection.watchers.enumerated() {
            watching[watcher.system].push(id);
        }
        detection.watching = watching;
        Some(detection)
    }
}

/// What is missing where air goes on from a system into a part of which nothing is known.
fn entrances(
    graph: &AirGraph,
    nodes: &IndexVec<AirNode, Option<(SystemId, NodeId)>>,
    edges: &IndexVec<AirEdge, Option<(SystemId, LinkId)>>,
    system: SystemId,
) -> Vec<MissingInput> {
    let is_of_it = |node: AirNode| nodes[node].is_some_and(|(of, _)| of == system);
    let mut missing: Vec<_> = graph
        .edges
        .enumerated()
        .filter(|(id, edge)| edges[*id].is_none() && (is_of_it(edge.from) || is_of_it(edge.to)))
        .filter_map(|(_, edge)| match edge.law {
            EdgeLaw::Unknown { missing, .. } => missing,
            EdgeLaw::Known(_) => None,
        })
        .collect();
    missing.sort_unstable();
    missing.dedup();
    missing
        .into_iter()
        .map(|missing| graph.missing[missing].clone())
        .collect()
}

impl Detection<'_> {
    fn watchers_of(&self, office: &Office, networks: &Networks) -> IndexVec<WatcherId, Watcher> {
        let mut watchers = IndexVec::new();
        for signal in office.things().flat_map(|(id, _)| office.signals(id)) {
            let Some(dimension) = signal
                .reads
                .filter(|dimension| matches!(dimension, Dimension::Pressure | Dimension::Flow))
            else {
                continue;
            };
            for limit in signal.fields.limits() {
                if let Some(watcher) = self.watcher(office, networks, &signal, limit, dimension) {
                    watchers.push(watcher);
                }
            }
        }
        watchers
    }

    /// A limit as a watcher. None where what its sensor reads is not known, and where it is not quiet in the normal state.
    fn watcher(
        &self,
        office: &Office,
        networks: &Networks,
        signal: &Signal<'_>,
        (limit, place): (&Limit, Place),
        dimension: Dimension,
    ) -> Option<Watcher> {
        let (system, senses) = self.senses(&self.graph.location_of(office, networks, signal.thing)?, dimension)?;
        let location = self.air.location_of(office, networks, signal.thing)?;
        let normal = match dimension {
            Dimension::Pressure => self.air.pressure(&location)?.pascals(),
            _ => self.air.flow(&location)?.cubic_metres_per_second(),
        };
        let error = alarm_reading(signal, limit, normal, dimension, None).error;
        let figure = office.figure(limit.value);
        // No hole raises a pressure, and no reading comes to what lies outside the span.
        let span = signal.fields.range(Key::Span);
        let can_read = span.is_none_or(|(bottom, top, _)| {
            let (bottom, top) = (office.figure(bottom), office.figure(top));
            // Another rule reports one that is empty.
            bottom >= top || (bottom..=top).contains(&figure)
        });
        if !can_read || dimension == Dimension::Pressure && !limit.level.is_low() {
            return None;
        }
        let (is_quiet, surely) = if limit.level.is_low() {
            (normal > figure, figure - error)
        } else {
            (normal < figure, figure + error)
        };
        is_quiet.then_some(Watcher {
            thing: signal.thing,
            port: signal.port,
            number: signal.number,
            level: limit.level,
            limit: (limit.value, place),
            normal,
            error,
            system,
            surely,
            senses,
        })
    }

    fn senses(&self, location: &AirLocation<'_>, dimension: Dimension) -> Option<(SystemId, SensedQuantity)> {
        Some(match (location, dimension) {
            (AirLocation::Thing(thing), Dimension::Pressure) => {
                let (system, node) = self.nodes[self.graph.ports[*thing]?.inlet]?;
                (system, SensedQuantity::PressureAt(node))
            }
            (AirLocation::Thing(thing), _) => {
                let (system, link) = self.edges[self.graph.through[*thing]?]?;
                (system, SensedQuantity::FlowPast(link, LinkEnd::Start))
            }
            (AirLocation::OnLine(line, metres), Dimension::Pressure) => {
                let segment = line.segment_at(*metres)?;
                let edge = self.graph.edges[segment.edge];
                let node = match segment.nearer_end(*metres) {
                    LinkEnd::Start => edge.from,
                    LinkEnd::End => edge.to,
                };
                let (system, node) = self.nodes[node]?;
                (system, SensedQuantity::PressureAt(node))
            }
            (AirLocation::OnLine(on, metres), _) => {
                // What comes from before it, as in every state. Where nothing joins or leaves, that is what goes on from there, but for a hole at
                // the very place of the sensor, which counts as before it here: it may show or not.
                let at = on.segment_number_at(*metres)?;
                let segment = on.segments.get(at)?;
                let end = segment.nearer_end(*metres);
                let next = on.segments.get(at + 1);
                let next =
                    next.filter(|next| end == LinkEnd::End && self.is_between_two[self.graph.edges[next.edge].from]);
                let (edge, end) = next.map_or((segment.edge, end), |next| (next.edge, LinkEnd::Start));
                let (system, link) = self.edges[edge]?;
                (system, SensedQuantity::FlowPast(link, end))
            }
        })
    }

    /// Where what a hole does can take a turn along a line, by its number among those of [`Air::lines`], in metres from its beginning: at its
    /// ends and those of its sections, where something joins or leaves it, and where sensors are.
    pub fn marks(&self, line: usize) -> Vec<f64> {
        let segments = self
            .graph
            .lines
            .as_slice()
            .get(line)
            .map_or(&[][..], |line| &line.segments);
        let mut marks: Vec<f64> = segments.iter().flat_map(|segment| [segment.from, segment.to]).collect();
        marks.dedup_by(|later, earlier| (*later - *earlier).abs() < POSITION_TOLERANCE);
        marks
    }

    /// Where holes are looked at along a line, by its number among those of [`Air::lines`]: at its marks, and in a cable also at the quarters
    /// between.
    pub fn places(&self, line: usize) -> Vec<f64> {
        const PARTS: [f64; 4] = [0.0, 0.25, 0.5, 0.75];
        let marks = self.marks(line);
        if !self
            .graph
            .lines
            .as_slice()
            .get(line)
            .is_some_and(|line| self.is_cable(line))
        {
            return marks;
        }
        let pieces = marks.iter().zip(marks.iter().skip(1));
        let mut places: Vec<f64> = pieces
            .flat_map(|(from, to)| PARTS.map(|part| from + part * (to - from)))
            .collect();
        places.extend(marks.last());
        places
    }

    /// Whether holes can be made anywhere along a line: in cables, not in pipes, in which flow need not be laminar.
    pub fn is_cable(&self, line: &Line) -> bool {
        line.sections.iter().any(|section| section.surroundings.is_some())
    }

    /// Whether it is known what a hole does anywhere along a line, by its number among those of [`Air::lines`].
    pub fn is_known(&self, line: usize) -> bool {
        let segments = self.graph.lines.as_slice().get(line).map(|line| &line.segments);
        segments.into_iter().flatten().any(|segment| {
            let edge = self.graph.edges[segment.edge];
            let is_probed = |(system, _): (SystemId, _)| self.probes[system].is_some();
            let is_open = !edge.law.is_unknown() && self.is_reached(edge.from) && self.is_reached(edge.to);
            is_open && self.edges[segment.edge].is_some_and(is_probed)
        })
    }

    /// The air system of a line, and why it is not known what holes in it do, by its number among those of [`Air::lines`]: a single line of which it is
    /// not known what it loses at other pressures is enough. None where it is known, and where nothing of the line is.
    pub fn why_unknown(&self, line: usize) -> Option<(SystemId, &Arc<StateError>)> {
        let segments = self.graph.lines.as_slice().get(line).map(|line| &line.segments);
        let mut systems = segments
            .into_iter()
            .flatten()
            .filter_map(|segment| self.edges[segment.edge]);
        let (system, _) = systems.next()?;
        Some((system, self.why_not[system].as_ref()?))
    }

    fn is_reached(&self, node: AirNode) -> bool {
        self.beyond.as_ref().is_none_or(|beyond| !beyond[node])
    }

    fn hole_at(&self, on: usize, metres: f64) -> Option<(SystemId, HoleLocation)> {
        let segment = self.graph.lines.as_slice().get(on)?.segment_at(metres)?;
        let edge = self.graph.edges[segment.edge];
        let (system, link) = self.edges[segment.edge]?;
        let inside = (metres - segment.from).clamp(0.0, segment.to - segment.from);
        let is_section = matches!(edge.law, EdgeLaw::Known(Link::Section(_))) && self.is_reached(edge.from);
        if is_section && inside > POSITION_TOLERANCE && segment.to - metres > POSITION_TOLERANCE {
            return Some((system, HoleLocation::Inside(link, Length::from_metres(inside))));
        }
        let (at, away) = match segment.nearer_end(metres) {
            LinkEnd::Start => (edge.from, metres - segment.from),
            LinkEnd::End => (edge.to, segment.to - metres),
        };
        if edge.law.is_unknown() && away > POSITION_TOLERANCE {
            return None;
        }
        let (_, node) = self.nodes[at].filter(|_| self.is_reached(at))?;
        Some((system, HoleLocation::Node(node)))
    }

    /// Makes a hole at a distance along a line. The air system, and what it loses; none where that is not known.
    fn make(&mut self, line: usize, metres: f64, hole: Hole) -> Option<(SystemId, Flow)> {
        let (system, at) = self.hole_at(line, metres)?;
        let probe = self.probes[system].as_mut()?;
        probe.make(at, hole).then(|| (system, probe.lost()))
    }

    fn reading(&self, watcher: &Watcher) -> Option<f64> {
        let probe = self.probes[watcher.system].as_ref()?;
        Some(match watcher.senses {
            SensedQuantity::PressureAt(node) => probe.gauge(node)?.pascals(),
            SensedQuantity::FlowPast(link, end) => probe.flow_at(link, end)?.cubic_metres_per_second(),
        })
    }

    /// The pressure at a sensor with a hole at its own place. None where that is not known.
    pub fn pressure_with_hole(
        &mut self,
        office: &Office,
        networks: &Networks,
        sensor: ThingId,
        hole: Hole,
    ) -> Option<Pressure> {
        let location = self.graph.location_of(office, networks, sensor)?;
        let (system, SensedQuantity::PressureAt(node)) = self.senses(&location, Dimension::Pressure)? else {
            return None;
        };
        let probe = self.probes[system].as_mut()?;
        probe.make(HoleLocation::Node(node), hole).then_some(())?;
        probe.gauge(node)
    }

    /// The most that a flow sensor reads with a hole at an end of some cable, branch or pipe: nearer to the sensor it draws more, farther out
    /// less. None where nothing is known of any such hole.
    pub fn most_flow_with_hole(
        &mut self,
        office: &Office,
        networks: &Networks,
        sensor: ThingId,
        hole: Hole,
    ) -> Option<Flow> {
        let location = self.graph.location_of(office, networks, sensor)?;
        let (of, SensedQuantity::FlowPast(link, end)) = self.senses(&location, Dimension::Flow)? else {
            return None;
        };
        let lines = self.graph.lines.iter().enumerate();
        let ends: Vec<(usize, f64)> = lines
            .flat_map(|(number, line)| [0.0, line.length().unwrap_or(0.0)].map(|metres| (number, metres)))
            .collect();
        let mut most: Option<Flow> = None;
        for (number, metres) in ends {
            let Some((system, _)) = self.make(number, metres, hole).filter(|(system, _)| *system == of) else {
                continue;
            };
            let reads = self.probes[system].as_ref().and_then(|probe| probe.flow_at(link, end));
            let larger = |one: Flow, other: Flow| {
                let is_larger = other.cubic_metres_per_second() > one.cubic_metres_per_second();
                if is_larger { other } else { one }
            };
            most = most.into_iter().chain(reads).reduce(larger);
        }
        most
    }

    /// The watcher that has gone farthest towards its limit with the hole that was made last.
    fn farthest(&self, system: SystemId) -> Option<(WatcherId, f64)> {
        self.shares(system).max_by(|one, other| one.1.total_cmp(&other.1))
    }

    /// The watchers of an air system, with how far each has gone towards its limit with the hole that was made last.
    fn shares(&self, system: SystemId) -> impl Iterator<Item = (WatcherId, f64)> {
        let ambient = self.air.conditions.ambient.pascals();
        self.watching[system].iter().filter_map(move |id| {
            let watcher = &self.watchers[*id];
            Some((*id, watcher.share(ambient, self.reading(watcher)?)))
        })
    }

    /// Whether the air system of a line, by its number among those of [`Air::lines`], has a limit that a leak could trip. None where it is not
    /// known.
    pub fn is_watched(&self, line: usize) -> Option<bool> {
        let (system, _) = self.edges[self.graph.lines.as_slice().get(line)?.segments.first()?.edge]?;
        Some(!self.watching[system].is_empty())
    }

    /// What a hole does at a distance along a line, by its number among those of [`Air::lines`]. None where that is not known.
    pub fn effect(&mut self, line: usize, metres: f64, hole: Hole) -> Option<HoleEffect> {
        let (system, lost) = self.make(line, metres, hole)?;
        let farthest = self.farthest(system);
        let reading = |id: WatcherId| Some((id, self.reading(&self.watchers[id])?));
        Some(HoleEffect {
            nearest: farthest.and_then(|(id, _)| reading(id)),
            share: farthest.map_or(0.0, |(_, share)| share),
            tripped: self
                .shares(system)
                .filter(|(_, share)| *share >= 1.0)
                .map(|(id, _)| id)
                .collect(),
            lost,
        })
    }

    /// What a hole does at a distance along a line, as far as it matters whether limits trip: as the slopes of the normal state foretell it where that
    /// is beyond doubt, and else as it is. None where it is not known.
    pub fn predicted(&mut self, line: usize, metres: f64, hole: Hole) -> Option<HoleEffect> {
        match self.predicted_at(line, metres, hole) {
            Some(effect) => Some(effect),
            None => self.effect(line, metres, hole),
        }
    }

    fn predicted_at(&mut self, line: usize, metres: f64, hole: Hole) -> Option<HoleEffect> {
        let (system, at) = self.hole_at(line, metres)?;
        self.probes[system].as_mut()?.predict(at, hole).then_some(())?;
        let first: Vec<f64> = self.shares(system).map(|(_, share)| share).collect();
        self.probes[system].as_mut()?.correct().then_some(())?;
        let mut doubtful = false;
        let mut effect = HoleEffect {
            tripped: Vec::new(),
            nearest: None,
            share: f64::NEG_INFINITY,
            lost: self.probes[system].as_ref()?.lost(),
        };
        for ((id, share), first) in self.shares(system).zip(first) {
            let is_near = (share - first).abs() <= CLOSE * share.abs().max(1.0);
            if is_near && share >= 1.0 + MARGIN {
                effect.tripped.push(id);
            }
            doubtful |= !is_near || (share - 1.0).abs() < MARGIN;
            if share > effect.share {
                effect.share = share;
                effect.nearest = Some((id, self.reading(&self.watchers[id])?));
            }
        }
        (!effect.tripped.is_empty() || !doubtful && effect.nearest.is_some()).then_some(effect)
    }

    /// The smallest leak at a distance along a line, by its number among those of [`Air::lines`], that some limit surely reports. None
    /// where that is not known.
    pub fn smallest(&mut self, line: usize, metres: f64) -> Option<SmallestLeak> {
        let (system, at) = self.hole_at(line, metres)?;
        if self.watching[system].is_empty() {
            return self.probes[system].as_ref().map(|_| SmallestLeak { leak: None });
        }
        let probe = self.probes[system].as_mut()?;
        probe.predict(at, Hole::Open).then_some(())?;
        let scale = LeakScale {
            cut: probe.lost().cubic_metres_per_second(),
        };
        // In proportion to that the readings go to their limits, as far as the network is linear.
        let (_, share) = self.farthest(system)?;
        let mut low = Tried {
            part: 0.0,
            beyond: -1.0,
            watcher: None,
        };
        let mut high = None;
        let mut part = share.recip();
        if (0.0..LeakScale::LARGEST).contains(&part) {
            self.probes[system]
                .as_mut()?
                .predict(at, Hole::Passing(scale.leak(part)));
        }
        // From below by the secant, as far as it stays below.
        for _ in 0..10 {
            let is_leak = (0.0..LeakScale::LARGEST).contains(&part);
            let Some(tried) = is_leak.then(|| self.tried(system, at, &scale, part)).flatten() else {
                break;
            };
            if tried.is_close() {
                return Some(tried.smallest(&scale));
            }
            if tried.beyond > 0.0 {
                high = Some(tried);
                break;
            }
            part = low.part - (tried.part - low.part) * low.beyond / (tried.beyond - low.beyond);
            low = tried;
        }
        let mut high = match high {
            Some(high) => high,
            None => {
                let cut = self.effect(line, metres, Hole::Open)?;
                if !cut.is_reported() {
                    return Some(SmallestLeak { leak: None });
                }
                Tried {
                    part: LeakScale::LARGEST,
                    beyond: cut.share - 1.0,
                    watcher: cut.nearest.map(|(watcher, _)| watcher),
                }
            }
        };
        let mut found = high;
        // What is enough lies between what is not and what is: by the rule of false position. An end that stays counts half (the Illinois rule), so
        // that both come nearer.
        let mut was_enough = None;
        for _ in 0..40 {
            let part = low.part + (high.part - low.part) * low.beyond / (low.beyond - high.beyond);
            let Some(tried) = self.tried(system, at, &scale, part.min(LeakScale::LARGEST)) else {
                // What has been found is enough, if more than need be.
                break;
            };
            let is_enough = tried.beyond >= 0.0;
            if is_enough || tried.is_close() {
                found = tried;
            }
            if tried.is_close() {
                break;
            }
            let stays = was_enough.replace(is_enough) == Some(is_enough);
            let (moved, other) = if is_enough {
                (&mut high, &mut low)
            } else {
                (&mut low, &mut high)
            };
            *moved = tried;
            if stays {
                other.beyond *= 0.5;
            }
        }
        Some(found.smallest(&scale))
    }

    /// How far a leak brings the limits of an air system, beginning with the pressures of the leak that was made or foretold before.
    fn tried(&mut self, system: SystemId, at: HoleLocation, scale: &LeakScale, part: f64) -> Option<Tried> {
        let probe = self.probes[system].as_mut()?;
        probe.change(at, Hole::Passing(scale.leak(part))).then_some(())?;
        let (watcher, share) = self.farthest(system)?;
        Some(Tried {
            part,
            beyond: share - 1.0,
            watcher: Some(watcher),
        })
    }
}

/// The sizes of leaks at one place, by the part of what a cut would lose there in a linear network: readings are nearly in proportion to that.
struct LeakScale {
    /// What a cut would lose, m³/s.
    cut: f64,
}

impl LeakScale {
    /// A leak that is as good as a cut.
    const LARGEST: f64 = 1.0 - 1e-9;

    fn leak(&self, part: f64) -> Flow {
        Flow::from_cubic_metres_per_second(self.cut * part / (1.0 - part))
    }
}

/// A leak that was made, and how far it brings the limits.
#[derive(Clone, Copy)]
struct Tried {
    /// Its size on the scale of its place.
    part: f64,
    /// How far the limit that is farthest is beyond tripping, as a part of the way to it.
    beyond: f64,
    /// That limit.
    watcher: Option<WatcherId>,
}

impl Tried {
    fn is_close(&self) -> bool {
        const CLOSE: f64 = 1e-4;
        self.beyond.abs() < CLOSE
    }

    fn smallest(&self, scale: &LeakScale) -> SmallestLeak {
        SmallestLeak {
            leak: self.watcher.map(|watcher| (scale.leak(self.part), watcher)),
        }
    }
}
