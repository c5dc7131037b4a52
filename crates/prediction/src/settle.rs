//! From a draft to solved networks. Where something is missing, whatever does not depend on it is computed all the same.
//!
//! Usage does not depend on pressure. So where the resistance of one piece is missing and all air behind it comes through
//! it, the flow up to it is known, and with it every pressure before it; what lies behind is not. Where there is another way
//! round, or where a usage is missing, no flow is known and nothing is computed for all that hangs together.

use drysheath_engineering::measure::Flow;
use drysheath_engineering::network::{
    Conditions, Link, LinkId, Network, NoSolution, NodeId, Solution, SupplyId, solve,
};

use drysheath_office::Groups;

use crate::draft::{Draft, Edge, NONE, Passes};

/// All that hangs together, solved.
pub(crate) struct System {
    pub network: Network,
    pub solution: Result<Solution, NoSolution>,
    /// Of each link of the network, the draft's edge.
    pub links: Vec<u32>,
}

/// The solved networks, and where the pieces of the draft are in them.
pub(crate) struct Settled {
    pub systems: Vec<System>,
    /// Of each node of the draft its system and node there.
    pub nodes: Vec<Option<(u32, NodeId)>>,
    /// Of each edge of the draft its system and link there.
    pub edges: Vec<Option<(u32, LinkId)>>,
    /// Of each supply of the draft its system and supply there.
    pub supplies: Vec<Option<(u32, SupplyId)>>,
    /// The gaps that stand in the way of something.
    pub gaps: Vec<u32>,
}

fn at<T: Copy + Default>(values: &[T], index: u32) -> T {
    values.get(index as usize).copied().unwrap_or_default()
}

fn set<T>(values: &mut [T], index: u32, value: T) {
    if let Some(slot) = values.get_mut(index as usize) {
        *slot = value;
    }
}

/// What is known and what is not.
struct Knowledge {
    /// Of each node the first node of all that hangs together with it.
    whole: Vec<u32>,
    /// Of each node whether its pressure can be computed.
    known: Vec<bool>,
    /// Air used behind what is missing, at the node before it.
    demands: Vec<(u32, Flow)>,
    /// Edges whose resistance does not matter because nothing flows.
    still: Vec<bool>,
    gaps: Vec<u32>,
}

pub(crate) fn settle(draft: &Draft, conditions: &Conditions) -> Settled {
    let knowledge = know(draft);
    let mut parts: Vec<Part> = Vec::new();
    let mut nodes = vec![None; draft.nodes as usize];
    // The number of each part, at the first of its nodes.
    let mut numbers = vec![NONE; draft.nodes as usize];
    for node in 0..draft.nodes {
        if !at(&knowledge.known, node) {
            continue;
        }
        let first = at(&knowledge.whole, node);
        if numbers.get(first as usize) == Some(&NONE) {
            set(&mut numbers, first, parts.len() as u32);
            parts.push(Part::default());
        }
        let number = at(&numbers, first);
        if let Some(part) = parts.get_mut(number as usize) {
            set(&mut nodes, node, Some((number, part.network.node())));
        }
    }
    let mut supplies = vec![None; draft.supplies.len()];
    for (slot, (node, _, supply)) in supplies.iter_mut().zip(&draft.supplies) {
        if let (Some((number, node)), Some(supply)) = (at(&nodes, *node), supply)
            && let Some(part) = parts.get_mut(number as usize)
        {
            *slot = Some((number, part.network.supply(node, *supply)));
        }
    }
    for (node, flow) in knowledge.demands {
        if let Some((number, node)) = at(&nodes, node)
            && let Some(part) = parts.get_mut(number as usize)
        {
            part.network.demand(node, flow);
        }
    }
    let mut edges = vec![None; draft.edges.len()];
    for (index, edge) in (0..).zip(&draft.edges) {
        let link = match edge.passes {
            Passes::As(link) => link,
            Passes::Unknown { .. } if at(&knowledge.still, index) => Link::Fitting,
            Passes::Unknown { .. } => continue,
        };
        if let (Some((number, from)), Some((_, to))) = (at(&nodes, edge.from), at(&nodes, edge.to))
            && let Some(part) = parts.get_mut(number as usize)
        {
            set(&mut edges, index, Some((number, part.network.link(from, to, link))));
            part.links.push(index);
        }
    }
    let solved = |part: Part| System {
        solution: solve(&part.network, conditions),
        network: part.network,
        links: part.links,
    };
    Settled {
        systems: parts.into_iter().map(solved).collect(),
        nodes,
        edges,
        supplies,
        gaps: knowledge.gaps,
    }
}

/// A system before it is solved.
#[derive(Default)]
struct Part {
    network: Network,
    links: Vec<u32>,
}

fn know(draft: &Draft) -> Knowledge {
    let mut whole = Groups::new(draft.nodes);
    for edge in &draft.edges {
        whole.join(edge.from, edge.to);
    }
    let whole: Vec<u32> = (0..draft.nodes).map(|node| whole.first(node)).collect();
    let mut supplied = vec![false; draft.nodes as usize];
    for (node, ..) in &draft.supplies {
        set(&mut supplied, at(&whole, *node), true);
    }
    let known = whole.iter().map(|first| at(&supplied, *first)).collect();
    let mut knowledge = Knowledge {
        whole,
        known,
        demands: Vec::new(),
        still: Vec::new(),
        gaps: Vec::new(),
    };
    let lacks = |edge: &Edge| matches!(edge.passes, Passes::Unknown { .. });
    if draft.edges.iter().any(lacks) || draft.supplies.iter().any(|(_, _, supply)| supply.is_none()) {
        doubt(draft, &supplied, &mut knowledge);
    }
    knowledge
}

/// Takes away what cannot be computed.
fn doubt(draft: &Draft, supplied: &[bool], knowledge: &mut Knowledge) {
    let nodes = draft.nodes as usize;
    knowledge.still = vec![false; draft.edges.len()];
    let unknown = |edge: &&Edge| matches!(edge.passes, Passes::Unknown { .. });
    // Nothing is known of a whole whose supplies or usages are not.
    let mut doubtful = vec![false; nodes];
    for (node, _, supply) in &draft.supplies {
        if supply.is_none() {
            set(&mut doubtful, at(&knowledge.whole, *node), true);
        }
    }
    for edge in draft.edges.iter().filter(|edge| edge.passes.usage().is_none()) {
        set(&mut doubtful, at(&knowledge.whole, edge.from), true);
    }
    // Nodes that are reached from a supply with nothing missing on the way.
    let mut sound = Groups::new(draft.nodes);
    for edge in draft.edges.iter().filter(|edge| !unknown(edge)) {
        sound.join(edge.from, edge.to);
    }
    let mut with_supply = vec![false; nodes];
    for (node, ..) in &draft.supplies {
        set(&mut with_supply, sound.first(*node), true);
    }
    let reached: Vec<bool> = (0..draft.nodes)
        .map(|node| at(&with_supply, sound.first(node)))
        .collect();
    // What lies behind: the rest, in parts that hang together.
    let mut behind = Groups::new(draft.nodes);
    for edge in &draft.edges {
        if !at(&reached, edge.from) && !at(&reached, edge.to) {
            behind.join(edge.from, edge.to);
        }
    }
    let mut ways = vec![0_u32; nodes];
    let mut before = vec![NONE; nodes];
    let mut used = vec![0.0; nodes];
    let mut resists = vec![true; nodes];
    for edge in &draft.edges {
        let [from, to] = [edge.from, edge.to].map(|node| at(&reached, node));
        if from && to {
            if unknown(&edge) {
                set(&mut doubtful, at(&knowledge.whole, edge.from), true);
            }
            continue;
        }
        let part = behind.first(if from { edge.to } else { edge.from });
        if from != to {
            let more = at(&ways, part) + 1;
            set(&mut ways, part, more);
            set(&mut before, part, if from { edge.from } else { edge.to });
        }
        let usage = edge.passes.usage().map_or(0.0, Flow::cubic_metres_per_second);
        let sum = at(&used, part) + usage;
        set(&mut used, part, sum);
        if matches!(edge.passes, Passes::Unknown { resists: false, .. }) {
            set(&mut resists, part, false);
        }
    }
    for node in (0..draft.nodes).filter(|node| at(&ways, *node) > 1) {
        set(&mut doubtful, at(&knowledge.whole, at(&before, node)), true);
    }
    for node in 0..draft.nodes {
        let whole = at(&knowledge.whole, node);
        if at(&doubtful, whole) {
            set(&mut knowledge.known, node, false);
            continue;
        }
        let part = behind.first(node);
        let stands = at(&used, part) == 0.0 && at(&resists, part);
        if !at(&reached, node) && at(supplied, whole) && !stands {
            set(&mut knowledge.known, node, false);
        }
        if node == part && at(&ways, part) == 1 && !stands {
            let flow = Flow::from_cubic_metres_per_second(at(&used, part));
            knowledge.demands.push((at(&before, part), flow));
        }
    }
    for (index, edge) in (0..).zip(&draft.edges) {
        let Passes::Unknown { gap, .. } = edge.passes else {
            continue;
        };
        if !at(supplied, at(&knowledge.whole, edge.from)) {
            continue;
        }
        if at(&knowledge.known, edge.from) && at(&knowledge.known, edge.to) {
            set(&mut knowledge.still, index, true);
        } else {
            knowledge.gaps.extend(gap);
        }
    }
    knowledge.gaps.sort_unstable();
    knowledge.gaps.dedup();
}
