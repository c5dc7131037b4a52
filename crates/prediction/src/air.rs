//! The pressures and flows of an office's air network.

use drysheath_engineering::measure::{AbsolutePressure, Flow, Length, Pressure, Temperature};
use drysheath_engineering::network::{
    Conditions, LinkId, LinkState, Network, NoSolution, NodeId, Piece as NetworkPiece, Solution, SupplyId, SupplyState,
    solve,
};
use drysheath_engineering::standard::Standard;
use drysheath_office::kinds::Key;
use drysheath_office::route::{self, RoutePosition};
use drysheath_office::{Networks, Office, ThingId};

use crate::draft::{Drafter, NONE, branch_number};
use crate::feeds::reckoned_at;
use crate::missing_input::MissingInput;
use crate::route::{Route, RouteSection};
use crate::settle::{Settled, System, settle};

/// The air network of an office, computed as far as the file lets it be. Every answer is `None` where nothing is known:
/// where something is missing, where no air comes, and where valves shut a place off from every source.
pub struct Air {
    /// The air around the office and in the network.
    pub conditions: Conditions,
    settled: Settled,
    ports: Vec<[u32; 2]>,
    through: Vec<u32>,
    supplies: Vec<(u32, ThingId)>,
    lines: Vec<Route>,
    runs: Vec<u32>,
    /// The two nodes of each edge.
    ends: Vec<(u32, u32)>,
}

/// A place in the air network.
#[derive(Clone, Copy, Debug)]
pub enum AirLocation<'a> {
    /// At a thing, where air comes in.
    Thing(ThingId),
    /// On a line, in metres from its beginning.
    OnRoute(&'a Route, f64),
}

/// A computation that failed.
#[derive(Debug)]
pub struct Failure<'a> {
    /// The system that it is about.
    pub system: u32,
    /// Why, in words.
    pub why: &'a NoSolution,
    /// What in the office it is about, where that can be told.
    pub at: Option<Culprit<'a>>,
}

/// What a failed computation is about.
#[derive(Clone, Copy, Debug)]
pub enum Culprit<'a> {
    /// A place on a line, in metres from its beginning.
    Route(&'a Route, f64),
    /// An air run, as its number in the order of [`Networks::air`].
    Run(usize),
    /// Something that air passes through, or a dryer.
    Thing(ThingId),
}

impl Culprit<'_> {
    /// The thing that it is, or that the line belongs to or the run leads to.
    pub fn thing(&self, networks: &Networks) -> Option<ThingId> {
        match self {
            Self::Route(line, _) => Some(line.thing),
            Self::Run(number) => networks.air.iter().nth(*number).map(|link| link.to.thing),
            Self::Thing(thing) => Some(*thing),
        }
    }
}

/// The air network with one more leak in it.
pub struct Leaking<'a> {
    air: &'a Air,
    system: u32,
    solution: Solution,
    at: NodeId,
}

impl Air {
    /// Computes the air network of an office, and says in `gaps` what stands in the way.
    pub fn new(office: &Office, networks: &Networks, gaps: &mut Vec<MissingInput>) -> Self {
        // Where the office does not tell, not even by default, no network is put together either.
        let temperature = reckoned_at(office, Key::AirTemperature)
            .and_then(|given| Temperature::of(given.quantity))
            .unwrap_or(Standard::BASE.temperature());
        let conditions = Conditions {
            ambient: office.atmosphere(),
            temperature,
        };
        let draft = Drafter::new(office, networks).draft();
        let settled = settle(&draft, &conditions);
        gaps.extend(
            settled
                .gaps
                .iter()
                .filter_map(|gap| draft.gaps.get(*gap as usize).cloned()),
        );
        Self {
            conditions,
            settled,
            ports: draft.ports,
            through: draft.through,
            supplies: draft.supplies.iter().map(|(node, thing, _)| (*node, *thing)).collect(),
            lines: draft.lines,
            runs: draft.runs,
            ends: draft.edges.iter().map(|edge| (edge.from, edge.to)).collect(),
        }
    }

    fn system(&self, number: u32) -> Option<&System> {
        self.settled.systems.get(number as usize)
    }

    fn solution(&self, number: u32) -> Option<&Solution> {
        self.system(number)?.solution.as_ref().ok()
    }

    fn node(&self, node: u32) -> Option<(u32, NodeId)> {
        self.settled.nodes.get(node as usize).copied().flatten()
    }

    fn edge(&self, edge: u32) -> Option<(u32, LinkId)> {
        self.settled.edges.get(edge as usize).copied().flatten()
    }

    pub(crate) fn inlet_node(&self, thing: ThingId) -> Option<u32> {
        let [inlet, _] = *self.ports.get(thing.0 as usize)?;
        (inlet != NONE).then_some(inlet)
    }

    pub(crate) fn node_count(&self) -> usize {
        self.settled.nodes.len()
    }

    pub(crate) fn nodes_of(&self, edge: u32) -> Option<(u32, u32)> {
        self.ends.get(edge as usize).copied()
    }

    pub(crate) fn edges_at(&self, node: u32) -> impl Iterator<Item = u32> {
        let at = move |(_, (from, to)): &(u32, &(u32, u32))| *from == node || *to == node;
        (0..).zip(&self.ends).filter(at).map(|(edge, _)| edge)
    }

    pub(crate) fn dryer_at(&self, node: u32) -> Option<ThingId> {
        let found = self.supplies.iter().find(|(at, _)| *at == node)?;
        Some(found.1)
    }

    pub(crate) fn run_of(&self, edge: u32) -> Option<u32> {
        let at = self.runs.iter().position(|other| *other == edge)?;
        Some(at as u32)
    }

    pub(crate) fn thing_of(&self, edge: u32) -> Option<ThingId> {
        let at = self.through.iter().position(|other| *other == edge)?;
        Some(ThingId(at as u32))
    }

    /// Pressure above the surrounding air at a node that a source can reach.
    pub(crate) fn gauge(&self, node: u32) -> Option<Pressure> {
        let (number, node) = self.node(node)?;
        gauge(self.solution(number)?, node)
    }

    /// Pressure above the surrounding air where air comes into a thing.
    pub fn inlet(&self, thing: ThingId) -> Option<Pressure> {
        let [inlet, _] = *self.ports.get(thing.0 as usize)?;
        self.gauge(inlet)
    }

    /// Pressure above the surrounding air where air leaves a thing.
    pub fn outlet(&self, thing: ThingId) -> Option<Pressure> {
        let [_, outlet] = *self.ports.get(thing.0 as usize)?;
        self.gauge(outlet)
    }

    /// What passes through a regulator, a flow sensor or a valve.
    pub fn through(&self, thing: ThingId) -> Option<LinkState> {
        self.link(*self.through.get(thing.0 as usize)?)
    }

    pub(crate) fn link(&self, edge: u32) -> Option<LinkState> {
        let (number, link) = self.edge(edge)?;
        self.solution(number)?.link(link)
    }

    /// What a dryer gives.
    pub fn supply(&self, dryer: ThingId) -> Option<SupplyState> {
        let at = self.supplies.iter().position(|(_, thing)| *thing == dryer)?;
        let (number, supply) = (*self.settled.supplies.get(at)?)?;
        self.solution(number)?.supply(supply)
    }

    /// All cables, branches and pipes.
    pub fn routes(&self) -> &[Route] {
        &self.lines
    }

    /// The line that a spot lies on.
    pub fn route_of(&self, office: &Office, spot: &RoutePosition<'_>) -> Option<&Route> {
        let branch = match spot.branch {
            Some(_) => Some(branch_number(office, spot)?),
            None => None,
        };
        self.lines
            .iter()
            .find(|line| line.thing == spot.host && line.branch == branch)
    }

    /// Pressure above the surrounding air at a distance along a line.
    pub fn pressure_along(&self, line: &Route, metres: f64) -> Option<Pressure> {
        let piece = line.piece_at(metres)?;
        let (system, id) = self.edge(piece.edge)?;
        let start = self.start_of(system, id)?;
        let inside = Length::from_metres((metres - piece.from).clamp(0.0, piece.to - piece.from));
        // Where nothing flows a piece may be known without its law, and its pressure is the same everywhere.
        let inside = self.solution(system)?.profile(id, inside);
        Some(inside.map_or(start, |pressure| pressure - self.conditions.ambient))
    }

    /// Flow outwards at a distance along a line.
    pub fn flow_along(&self, line: &Route, metres: f64) -> Option<Flow> {
        let piece = line.piece_at(metres)?;
        let state = self.link(piece.edge)?;
        let length = piece.to - piece.from;
        let part = if length > 0.0 {
            ((metres - piece.from) / length).clamp(0.0, 1.0)
        } else {
            0.0
        };
        Some(state.inflow * (1.0 - part) + state.outflow * part)
    }

    /// Where in a section or pipe the pressure above the surrounding air is least, in metres along the line, and how much it
    /// is. None unless all of the section is known.
    pub fn lowest(&self, line: &Route, reach: &RouteSection) -> Option<(f64, Pressure)> {
        let mut lowest: Option<(f64, Pressure)> = None;
        for piece in line.pieces_of(reach) {
            let (system, id) = self.edge(piece.edge)?;
            let start = self.start_of(system, id)?;
            let (inside, pressure) = match self.solution(system)?.lowest(id) {
                Some((inside, pressure)) => (inside.metres(), pressure - self.conditions.ambient),
                None => (0.0, start),
            };
            if lowest.is_none_or(|(_, least)| pressure < least) {
                lowest = Some((piece.from + inside, pressure));
            }
        }
        lowest
    }

    /// Where on a line the pressure above the surrounding air is most, in metres from its beginning, and how much it is, as
    /// far as it is known: at the end of a piece, since usage lets it fall inside one.
    pub fn highest(&self, line: &Route) -> Option<(f64, Pressure)> {
        let mut highest: Option<(f64, Pressure)> = None;
        for piece in &line.pieces {
            let ends = self.edge(piece.edge).and_then(|(system, link)| {
                let (start, end) = self.system(system)?.network.ends(link);
                let solution = self.solution(system)?;
                Some([(piece.from, gauge(solution, start)), (piece.to, gauge(solution, end))])
            });
            for (metres, pressure) in ends.into_iter().flatten() {
                if let Some(pressure) = pressure
                    && highest.is_none_or(|(_, most)| pressure > most)
                {
                    highest = Some((metres, pressure));
                }
            }
        }
        highest
    }

    /// The figures of each piece of a line, from its beginning: where the piece begins and ends, and its state.
    pub fn segments<'a>(&'a self, line: &'a Route) -> impl Iterator<Item = (f64, f64, Option<LinkState>)> + 'a {
        line.pieces
            .iter()
            .map(|piece| (piece.from, piece.to, self.link(piece.edge)))
    }

    /// The state of each link of the air runs, in the order of [`Networks::air`].
    pub fn runs(&self) -> impl Iterator<Item = Option<LinkState>> + '_ {
        self.runs.iter().map(|edge| self.link(*edge))
    }

    /// Pressure above the surrounding air at the start of a link that some source reaches as the valves stand.
    fn start_of(&self, system: u32, id: LinkId) -> Option<Pressure> {
        let (start, _) = self.system(system)?.network.ends(id);
        gauge(self.solution(system)?, start)
    }

    /// Where a sensor or contact feels the air: where its run ends, or else the spot it stands at.
    pub fn place_of(&self, office: &Office, networks: &Networks, thing: ThingId) -> Option<AirLocation<'_>> {
        if let Some(at) = office.host(thing) {
            let spot = route::position_at(office, at)?;
            return Some(AirLocation::OnRoute(self.route_of(office, &spot)?, spot.metres));
        }
        let joined = networks.air.leading_to(thing).next().is_some() || networks.air.leaving(thing).next().is_some();
        joined.then_some(AirLocation::Thing(thing))
    }

    /// Pressure above the surrounding air at a place.
    pub fn pressure(&self, place: &AirLocation<'_>) -> Option<Pressure> {
        match place {
            AirLocation::Thing(thing) => self.inlet(*thing),
            AirLocation::OnRoute(line, metres) => self.pressure_along(line, *metres),
        }
    }

    /// Flow at a place: through a thing, or outwards along a line.
    pub fn flow(&self, place: &AirLocation<'_>) -> Option<Flow> {
        match place {
            AirLocation::Thing(thing) => Some(self.through(*thing)?.flow),
            AirLocation::OnRoute(line, metres) => self.flow_along(line, *metres),
        }
    }

    /// The system that a place belongs to, by a number that says nothing else.
    pub fn system_at(&self, place: &AirLocation<'_>) -> Option<u32> {
        match place {
            AirLocation::Thing(thing) => Some(self.node(self.ports.get(thing.0 as usize)?[0])?.0),
            AirLocation::OnRoute(line, metres) => Some(self.edge(line.piece_at(*metres)?.edge)?.0),
        }
    }

    /// How many systems hang together by themselves.
    pub fn systems(&self) -> u32 {
        self.settled.systems.len() as u32
    }

    /// All air that is used in a system; none where it is not known.
    pub fn usage(&self, system: u32) -> Option<Flow> {
        Some(self.solution(system)?.usage())
    }

    /// The dryers of a system.
    pub fn dryers(&self, system: u32) -> impl Iterator<Item = ThingId> + '_ {
        let of_system = move |(node, _): &&(u32, ThingId)| self.node(*node).is_some_and(|(number, _)| number == system);
        self.supplies.iter().filter(of_system).map(|(_, thing)| *thing)
    }

    /// What could not be computed though nothing is missing.
    pub fn failures(&self) -> impl Iterator<Item = Failure<'_>> {
        (0..).zip(&self.settled.systems).filter_map(|(number, system)| {
            let why = system.solution.as_ref().err()?;
            let edge_of = |link: LinkId| system.links.get(usize::from(link)).copied();
            let at = match why.piece() {
                NetworkPiece::Link(link) => edge_of(link).and_then(|edge| self.culprit(edge, 0.5)),
                NetworkPiece::Node(node) => self.culprit_at(system, node),
                NetworkPiece::Supply(supply) => {
                    let is_it = |at: &Option<(u32, SupplyId)>| *at == Some((number, supply));
                    let at = self.settled.supplies.iter().position(is_it);
                    at.and_then(|at| self.supplies.get(at))
                        .map(|(_, dryer)| Culprit::Thing(*dryer))
                }
                _ => None,
            };
            let at = at.or_else(|| self.dryers(number).next().map(Culprit::Thing));
            Some(Failure {
                system: number,
                why,
                at,
            })
        })
    }

    /// The most that the pressure above the surrounding air can be somewhere on a line with one more leak there, without
    /// solving anything: what the leak takes away on the line itself, before what it takes away on the way there.
    /// None where that is not known beforehand: where air can come to the line from several sides.
    pub fn leaking_at_most(&self, networks: &Networks, line: &Route, metres: f64, leak: Flow) -> Option<Pressure> {
        let (number, _) = self.edge(line.piece_at(metres)?.edge)?;
        let solution = self.solution(number)?;
        let air = &networks.air;
        let one_joint = || air.leaving(line.thing).next().is_none() && air.leading_to(line.thing).nth(1).is_none();
        if !self.is_tree(number) && !one_joint() {
            return None;
        }
        let (ambient, base) = (self.conditions.ambient, Standard::BASE.pressure().pascals());
        let pressure = (ambient + self.pressure_along(line, metres)?).pascals();
        let mut squared = pressure * pressure;
        for piece in line.pieces.iter().take_while(|piece| piece.from < metres) {
            let (_, id) = self.edge(piece.edge)?;
            let state = solution.link(id)?;
            // Air that comes from the other side does not pass here.
            if let Some(resistance) = state.resistance.filter(|_| state.flow.cubic_metres_per_second() > 0.0) {
                let length = metres.min(piece.to) - piece.from;
                let flow = leak.cubic_metres_per_second();
                squared -= 2.0 * base * resistance.pascal_seconds_per_m4() * length * flow;
            }
        }
        Some(AbsolutePressure::from_pascals(squared.max(0.0).sqrt()) - ambient)
    }

    /// Whether all air of a system comes from one dryer and along one way to each place, so that what is lost more
    /// somewhere flows more at every place on the way there.
    pub fn is_tree(&self, system: u32) -> bool {
        let counts = |system: &System| system.network.links() + 1 == system.network.nodes();
        self.dryers(system).nth(1).is_none() && self.system(system).is_some_and(counts)
    }

    /// What a node of a system belongs to: a line sooner than a run, and either sooner than a thing.
    fn culprit_at(&self, system: &System, node: NodeId) -> Option<Culprit<'_>> {
        let rank = |culprit: &Culprit<'_>| match culprit {
            Culprit::Route(..) => 0,
            Culprit::Run(_) => 1,
            Culprit::Thing(_) => 2,
        };
        let links = system.network.links_at(node);
        let culprits = links.filter_map(|link| {
            let part = if system.network.ends(link).1 == node { 1.0 } else { 0.0 };
            self.culprit(*system.links.get(usize::from(link))?, part)
        });
        culprits.min_by_key(rank)
    }

    /// What an edge is of, and where on it, as a part of its length.
    fn culprit(&self, edge: u32, part: f64) -> Option<Culprit<'_>> {
        for line in &self.lines {
            if let Some(piece) = line.pieces.iter().find(|piece| piece.edge == edge) {
                return Some(Culprit::Route(line, piece.from + part * (piece.to - piece.from)));
            }
        }
        if let Some(run) = self.runs.iter().position(|run| *run == edge) {
            return Some(Culprit::Run(run));
        }
        let thing = self.through.iter().position(|through| *through == edge)?;
        Some(Culprit::Thing(ThingId(thing as u32)))
    }

    /// The same network with one more leak of a given flow at a place.
    pub fn leaking(&self, place: &AirLocation<'_>, leak: Flow) -> Option<Leaking<'_>> {
        let (system, mut network, at) = match place {
            AirLocation::Thing(thing) => {
                let (number, node) = self.node(self.ports.get(thing.0 as usize)?[0])?;
                (number, self.system(number)?.network.clone(), node)
            }
            AirLocation::OnRoute(line, metres) => {
                let piece = line.piece_at(*metres)?;
                let (system, id) = self.edge(piece.edge)?;
                let mut network: Network = self.system(system)?.network.clone();
                // A distance that a section ends at may be a rounding beyond it.
                let inside = (metres - piece.from).clamp(0.0, piece.to - piece.from);
                let at = network.split(id, Length::from_metres(inside))?;
                (system, network, at)
            }
        };
        network.demand(at, leak);
        Some(Leaking {
            air: self,
            system,
            solution: solve(&network, &self.conditions).ok()?,
            at,
        })
    }
}

impl Leaking<'_> {
    /// Pressure above the surrounding air at the leak.
    pub fn pressure(&self) -> Option<Pressure> {
        gauge(&self.solution, self.at)
    }

    /// Flow through a flow sensor, regulator or valve.
    pub fn through(&self, thing: ThingId) -> Option<Flow> {
        let edge = *self.air.through.get(thing.0 as usize)?;
        let (number, link) = self.air.edge(edge)?;
        (number == self.system).then_some(())?;
        Some(self.solution.link(link)?.flow)
    }
}

fn gauge(solution: &Solution, node: NodeId) -> Option<Pressure> {
    let state = solution.node(node)?;
    (!state.trapped).then_some(state.gauge)
}
