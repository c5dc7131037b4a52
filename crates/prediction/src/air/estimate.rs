//! The figures of an air network as readings of one day have them.
//!
//! A section's usage and resistance, and the pressure that a regulator or dryer holds, are known only so well. What the readings should be
//! follows from the network with other figures in place of the declared ones; which are the most likely is computed by
//! `engineering::estimate`. The usage is what a section loses on that day, evenly along it, whatever its pressure is then: the fitted figures are
//! those of a file whose normal state is that day, so that together, in place of the declared ones, they give the pressures that were fitted. It
//! is no factor on the leakage of the declared normal state, which would not.
//!
//! Usage and resistance are fitted by their logarithm, so that they stay above zero. The figures of one cable may be off together, since one
//! survey or one table is behind all of them, and each by itself: the settings bound either part, evenly, which is a standard
//! deviation of the bound over √3 \[derived\]. What the temperature of the day makes of the air's viscosity is common to all sections.

mod leak;

pub use leak::{LeakSearch, LeakStretch};

use drysheath_engineering::air::{Reference, restate_resistance};
use drysheath_engineering::estimate::{self, Combination, Estimate, EstimateError, Measurement, Modelled, Open};
use drysheath_engineering::measure::{Flow, Length, PneumaticResistance, Pressure, Temperature};
use drysheath_engineering::network::{
    Cause, Link, LinkId, Network, NodeId, Regulator, Section, Sensitivity, Supply, SupplyId, Tube,
};
use drysheath_office::ThingId;
use rustc_hash::FxHashMap;

use super::graph::{DryerAt, EdgeOf};
use super::{Air, AirLocation, SystemId};
use crate::line::{LEEWAY, Line};

/// How far the declared figures may be off, before anything is read.
#[derive(Clone, Copy, Debug)]
pub struct Bounds {
    /// Usage, as a part of it.
    pub usage: f64,
    /// Resistance of sections, as a part of it.
    pub resistance: f64,
    /// Pressure of regulators and dryers, as a part of it.
    pub set: f64,
    /// The coldest and the hottest that the air in the network may have been.
    pub temperatures: (Temperature, Temperature),
}

/// What was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Figure {
    /// Pressure above the surrounding air.
    Pressure(Pressure),
    /// Flow through a thing, or along a line away from its beginning.
    Flow(Flow),
}

/// A reading at a place of the network.
#[derive(Clone, Copy, Debug)]
pub struct Observation<'a> {
    /// Where.
    pub at: AirLocation<'a>,
    /// What was read there.
    pub figure: Figure,
    /// The standard deviation of its error: Pa or m³/s.
    pub deviation: f64,
}

/// A figure that readings may correct.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FigureOf {
    /// What a section or pipe loses, m³/s: the line and the section, as their numbers in [`Air::lines`] and [`Line::sections`].
    Usage(usize, usize),
    /// The pneumatic resistance of a section, Pa·s/m⁴, likewise.
    Resistance(usize, usize),
    /// What a regulator holds, Pa above the surrounding air.
    Set(ThingId),
    /// What a dryer or bottle delivers, likewise.
    Delivers(ThingId),
}

/// A figure beside what readings make of it.
#[derive(Clone, Debug)]
pub struct Fitted {
    /// Which figure.
    pub of: FigureOf,
    /// As it is declared.
    pub declared: f64,
    /// The most likely.
    pub fitted: f64,
    /// Two standard deviations below and above that.
    pub between: (f64, f64),
    /// Its standard deviation as a part of the one before the readings.
    pub left_open: f64,
    /// How much of what it was changed by comes from each reading, in the order of the readings: of usage and resistance as a part of it,
    /// of others in Pa.
    pub pulls: Vec<f64>,
}

/// A reading beside what is computed for it.
#[derive(Clone, Copy, Debug)]
pub struct FittedReading {
    /// With the declared figures: Pa above the surrounding air or m³/s.
    pub declared: f64,
    /// With the fitted ones.
    pub fitted: f64,
    /// What was read less that, in standard deviations of its error.
    pub off: f64,
}

/// What readings of one day make of an air system.
#[derive(Clone, Debug)]
pub struct Fit {
    /// Its figures, line by line, then regulators and dryers.
    pub figures: Vec<Fitted>,
    /// Each reading.
    pub readings: Vec<FittedReading>,
    /// Sum of squares of what readings and figures are off by, each in its standard deviation. It has as many degrees of freedom as there are
    /// readings.
    pub chi_squared: f64,
    /// What the readings leave open of the figures; none where nothing can be told of that.
    pub open: Option<Open>,
}

/// A part of a line without anything between its ends that joins, leaves or was read.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    line: usize,
    from: f64,
    to: f64,
    link: LinkId,
}

/// Where a reading is in the network.
#[derive(Clone, Copy, Debug)]
enum Seen {
    Pressure(NodeId),
    /// The flow into the start of a link.
    Inflow(LinkId),
    /// The flow out of its end.
    Outflow(LinkId),
}

/// A figure and the factors that it depends on.
struct Unknown {
    of: FigureOf,
    declared: f64,
    /// Of usage and resistance the logarithm of fitted over declared, of others the difference in Pa.
    factors: Vec<(usize, f64)>,
    /// The links or the supply that have it.
    links: Vec<LinkId>,
    supply: Option<SupplyId>,
}

/// An air system with readings, and what of it may be other than declared.
pub struct Readings<'a> {
    air: &'a Air,
    network: Network,
    stretches: Vec<Stretch>,
    unknown: Vec<Unknown>,
    factors: usize,
    seen: Vec<Seen>,
    measured: Vec<Measurement>,
}

/// A hole that is tried, and the flow through it.
#[derive(Clone, Copy)]
struct Trial {
    stretch: usize,
    /// Its place, as a part of the stretch.
    part: f64,
    flow: f64,
}

impl Air {
    /// What of a system may be other than declared, with the readings that are of it. None where nothing is known of the system. Each reading
    /// must be at a place whose pressure or flow is known.
    pub fn readings<'a>(
        &'a self,
        system: SystemId,
        bounds: &Bounds,
        observed: &[Observation<'a>],
    ) -> Option<Readings<'a>> {
        self.solution(system)?;
        let mut readings = Readings {
            air: self,
            network: self.system(system).network.clone(),
            stretches: self.stretches(system),
            unknown: Vec::new(),
            factors: 0,
            seen: Vec::new(),
            measured: Vec::new(),
        };
        for observation in observed {
            readings.divide(observation);
        }
        for observation in observed {
            let seen = readings.place(system, observation)?;
            readings.seen.push(seen);
            let ambient = self.conditions.ambient.pascals();
            readings.measured.push(Measurement {
                value: match observation.figure {
                    Figure::Pressure(pressure) => ambient + pressure.pascals(),
                    Figure::Flow(flow) => flow.cubic_metres_per_second(),
                },
                deviation: observation.deviation,
            });
        }
        readings.take_up_sections(bounds);
        readings.take_up_sources(system, bounds);
        Some(readings)
    }

    fn stretches(&self, system: SystemId) -> Vec<Stretch> {
        let lines = self.lines().iter().enumerate();
        let of_line = |(number, line): (usize, &Line)| {
            let segments = line.segments.iter().filter_map(move |segment| {
                let (of, link) = self.systems.edges[segment.edge]?;
                (of == system).then_some(Stretch {
                    line: number,
                    from: segment.from,
                    to: segment.to,
                    link,
                })
            });
            segments.collect::<Vec<_>>()
        };
        lines.flat_map(of_line).collect()
    }
}

/// The standard deviation of what lies evenly within a bound on either side.
fn even(bound: f64) -> f64 {
    bound / 3_f64.sqrt()
}

impl Readings<'_> {
    fn line_number(&self, on: &Line) -> Option<usize> {
        let mut lines = self.air.lines().iter();
        lines.position(|line| line.thing == on.thing && line.branch == on.branch)
    }

    /// Makes a node of the place of a reading on a line.
    fn divide(&mut self, observation: &Observation<'_>) {
        let AirLocation::OnLine(on, metres) = observation.at else {
            return;
        };
        let Some(number) = self.line_number(on) else { return };
        let is_inside = |stretch: &Stretch| {
            stretch.line == number && stretch.from + LEEWAY < metres && metres < stretch.to - LEEWAY
        };
        let Some(at) = self.stretches.iter().position(is_inside) else {
            return;
        };
        let Some(near) = self.stretches.get_mut(at) else { return };
        let Some(between) = self.network.split(near.link, Length::from_metres(metres - near.from)) else {
            return;
        };
        let Some(link) = self.network.links_at(between).find(|link| *link != near.link) else {
            return;
        };
        let far = Stretch {
            from: metres,
            link,
            ..*near
        };
        near.to = metres;
        self.stretches.insert(at + 1, far);
    }

    fn place(&self, system: SystemId, observation: &Observation<'_>) -> Option<Seen> {
        match observation.at {
            AirLocation::Thing(thing) => match observation.figure {
                Figure::Pressure(_) => {
                    let (of, node) = self.air.systems.nodes[self.air.ports(thing)?.inlet]?;
                    (of == system).then_some(Seen::Pressure(node))
                }
                Figure::Flow(_) => {
                    let (of, link) = self.air.systems.edges[self.air.graph.through[thing]?]?;
                    (of == system).then_some(Seen::Inflow(link))
                }
            },
            AirLocation::OnLine(on, metres) => {
                let number = self.line_number(on)?;
                let near = |end: f64| (end - metres).abs() <= 2.0 * LEEWAY;
                let of_line = || self.stretches.iter().filter(|stretch| stretch.line == number);
                let starts = of_line().find(|stretch| near(stretch.from));
                let ends = of_line().find(|stretch| near(stretch.to));
                let is_pressure = matches!(observation.figure, Figure::Pressure(_));
                match (starts, ends) {
                    (Some(stretch), _) if is_pressure => Some(Seen::Pressure(self.network.ends(stretch.link).0)),
                    (_, Some(stretch)) if is_pressure => Some(Seen::Pressure(self.network.ends(stretch.link).1)),
                    (_, Some(stretch)) => Some(Seen::Outflow(stretch.link)),
                    (Some(stretch), _) => Some(Seen::Inflow(stretch.link)),
                    (None, None) => None,
                }
            }
        }
    }

    fn factor(&mut self) -> usize {
        self.factors += 1;
        self.factors - 1
    }

    fn take_up_sections(&mut self, bounds: &Bounds) {
        let (usage, resistance) = (even(bounds.usage), even(bounds.resistance));
        let weather = even(self.weather(bounds.temperatures));
        let day = (weather > 0.0).then(|| (self.factor(), weather));
        let mut common: FxHashMap<ThingId, (usize, usize)> = FxHashMap::default();
        let lines = self.air.lines();
        for (number, line) in lines.iter().enumerate() {
            for (within, section) in line.sections.iter().enumerate() {
                let is_of = |stretch: &&Stretch| {
                    stretch.line == number && stretch.from >= section.from - LEEWAY && stretch.to <= section.to + LEEWAY
                };
                let of_section: Vec<LinkId> = self
                    .stretches
                    .iter()
                    .filter(is_of)
                    .map(|stretch| stretch.link)
                    .collect();
                if of_section.is_empty() {
                    continue;
                }
                let laws = || of_section.iter().map(|link| self.network.law(*link));
                let lost: f64 = laws().filter_map(used).map(Flow::cubic_metres_per_second).sum();
                let resists = laws().find_map(|law| match law {
                    Link::Section(section) => Some(section.resistance.pascal_seconds_per_m4()),
                    _ => None,
                });
                // Where the temperature in a section is stated, or was read, the weather makes no difference to it.
                let is_known = laws().any(|law| matches!(law, Link::Section(section) if section.temperature.is_some()));
                let all = match common.get(&line.thing) {
                    Some(all) => *all,
                    None => {
                        let all = (self.factor(), self.factor());
                        common.insert(line.thing, all);
                        all
                    }
                };
                if lost > 0.0 && usage > 0.0 {
                    let own = self.factor();
                    self.unknown.push(Unknown {
                        of: FigureOf::Usage(number, within),
                        declared: lost,
                        factors: vec![(all.0, usage), (own, usage)],
                        links: of_section.clone(),
                        supply: None,
                    });
                }
                let known = resists.filter(|declared| *declared > 0.0 && resistance > 0.0);
                if let Some(declared) = known {
                    let own = self.factor();
                    let factors = [(all.1, resistance), (own, resistance)]
                        .into_iter()
                        .chain(day.filter(|_| !is_known));
                    self.unknown.push(Unknown {
                        of: FigureOf::Resistance(number, within),
                        declared,
                        factors: factors.collect(),
                        links: of_section,
                        supply: None,
                    });
                }
            }
        }
    }

    /// By how much the resistances may be off for the temperature of the air: it goes with μT.
    fn weather(&self, (coldest, hottest): (Temperature, Temperature)) -> f64 {
        let one = PneumaticResistance::from_pascal_seconds_per_m4(1.0);
        let at = |temperature| {
            let reference = Reference {
                temperature: self.air.conditions.temperature,
                ..Reference::default()
            };
            restate_resistance(one, reference, temperature).pascal_seconds_per_m4()
        };
        (at(hottest) / at(coldest)).ln() / 2.0
    }

    fn take_up_sources(&mut self, system: SystemId, bounds: &Bounds) {
        if bounds.set <= 0.0 {
            return;
        }
        for (edge, place) in self.air.systems.edges.enumerated() {
            let (EdgeOf::Thing(thing), Some((of, link))) = (self.air.graph.edges[edge].of, *place) else {
                continue;
            };
            let Link::Regulator(regulator) = self.network.law(link) else {
                continue;
            };
            let declared = regulator.set.pascals();
            if of == system && declared > 0.0 {
                let own = self.factor();
                self.unknown.push(Unknown {
                    of: FigureOf::Set(thing),
                    declared,
                    factors: vec![(own, even(bounds.set) * declared)],
                    links: vec![link],
                    supply: None,
                });
            }
        }
        for (dryer, place) in self.air.graph.dryers.iter().zip(&self.air.systems.dryers) {
            let (DryerAt::Here(thing), Some((of, supply))) = (dryer.at, *place) else {
                continue;
            };
            let declared = self.network.supplied(supply).delivers.pascals();
            if of == system && declared > 0.0 {
                let own = self.factor();
                self.unknown.push(Unknown {
                    of: FigureOf::Delivers(thing),
                    declared,
                    factors: vec![(own, even(bounds.set) * declared)],
                    links: Vec::new(),
                    supply: Some(supply),
                });
            }
        }
    }

    /// The network with other figures than declared.
    fn with(&self, factors: &[f64]) -> Network {
        let mut network = self.network.clone();
        for unknown in &self.unknown {
            let moved = sum(&unknown.factors, factors);
            if let Some(supply) = unknown.supply {
                let delivers = Pressure::from_pascals(unknown.declared + moved);
                let by = Supply {
                    delivers,
                    ..network.supplied(supply)
                };
                network.supply_otherwise(supply, by);
            }
            for link in &unknown.links {
                let by = match (network.law(*link), unknown.of) {
                    (Link::Section(section), FigureOf::Usage(..)) => Link::Section(Section {
                        usage: section.usage * moved.exp(),
                        ..section
                    }),
                    (Link::Tube(tube), FigureOf::Usage(..)) => Link::Tube(Tube {
                        usage: tube.usage * moved.exp(),
                        ..tube
                    }),
                    (Link::Section(section), FigureOf::Resistance(..)) => Link::Section(Section {
                        resistance: section.resistance * moved.exp(),
                        ..section
                    }),
                    (Link::Regulator(regulator), FigureOf::Set(_)) => Link::Regulator(Regulator {
                        set: Pressure::from_pascals(unknown.declared + moved),
                        ..regulator
                    }),
                    (other, _) => other,
                };
                network.replace(*link, by);
            }
        }
        network
    }

    /// What the readings should be, with some factors and maybe a hole; and what they change by with each factor, and last with the
    /// flow of the hole.
    fn modelled(&self, factors: &[f64], trial: Option<Trial>) -> Option<Modelled> {
        let mut network = self.with(factors);
        let hole = match trial {
            None => None,
            Some(trial) => {
                let link = self.stretches.get(trial.stretch)?.link;
                let (from, to) = network.ends(link);
                // In laminar flow a hole is to the rest of the network what its parts at the two ends are.
                let shares = [(from, 1.0 - trial.part), (to, trial.part)];
                for (node, share) in shares {
                    network.demand(node, Flow::from_cubic_metres_per_second(trial.flow * share));
                }
                Some((link, shares, trial))
            }
        };
        let mut solved = Sensitivity::new(&network, &self.air.conditions).ok()?;
        // What a hole takes from the flow at an end of its own stretch is taken inside of it.
        let inside = |seen: &Seen| match (seen, &hole) {
            (Seen::Inflow(link), Some((of, [(_, start), _], _))) if link == of => *start,
            (Seen::Outflow(link), Some((of, [_, (_, end)], _))) if link == of => -end,
            _ => 0.0,
        };
        let flow = trial.map_or(0.0, |trial| trial.flow);
        let reading = |seen: &Seen| {
            let found = match seen {
                Seen::Pressure(node) => solved.pressure(*node)?,
                Seen::Inflow(link) => solved.flows(*link)?.0,
                Seen::Outflow(link) => solved.flows(*link)?.1,
            };
            Some(found + flow * inside(seen))
        };
        let readings = self.seen.iter().map(reading).collect::<Option<Vec<f64>>>()?;
        let mut slopes = vec![vec![0.0; self.seen.len()]; self.factors + usize::from(hole.is_some())];
        let mut respond = |causes: &mut dyn Iterator<Item = (Cause, f64)>| {
            let response = solved.response(causes);
            let slope = |seen: &Seen| match seen {
                Seen::Pressure(node) => response.pressure(*node),
                Seen::Inflow(link) => Some(response.flows(*link)?.0),
                Seen::Outflow(link) => Some(response.flows(*link)?.1),
            };
            self.seen.iter().map(slope).collect::<Option<Vec<f64>>>()
        };
        for unknown in &self.unknown {
            let of_link = |link: &LinkId| match unknown.of {
                FigureOf::Usage(..) => {
                    let lost = used(network.law(*link)).map_or(0.0, Flow::cubic_metres_per_second);
                    (Cause::Usage(*link), lost)
                }
                FigureOf::Resistance(..) => (Cause::Resistance(*link), 1.0),
                FigureOf::Set(_) | FigureOf::Delivers(_) => (Cause::Set(*link), 1.0),
            };
            let supply = unknown.supply.map(|supply| (Cause::Delivers(supply), 1.0));
            let found = respond(&mut unknown.links.iter().map(of_link).chain(supply))?;
            for (factor, weight) in &unknown.factors {
                let of_factor = slopes.get_mut(*factor)?;
                of_factor
                    .iter_mut()
                    .zip(&found)
                    .for_each(|(slope, found)| *slope += weight * found);
            }
        }
        if let Some((_, shares, _)) = &hole {
            let found = respond(&mut shares.iter().map(|(node, share)| (Cause::Demand(*node), *share)))?;
            let with_own = found.iter().zip(&self.seen).map(|(found, seen)| found + inside(seen));
            *slopes.last_mut()? = with_own.collect();
        }
        Some(Modelled { readings, slopes })
    }

    /// The most likely figures.
    ///
    /// # Errors
    ///
    /// [`EstimateError`] where the declared figures give no pressures, a reading cannot be used, or the search does not end.
    pub fn fit(&self) -> Result<Fit, EstimateError> {
        let start = vec![0.0; self.factors];
        let declared = self.modelled(&start, None).ok_or(EstimateError::NoModel)?;
        let found = estimate::estimate(&self.measured, &start, |factors| self.modelled(factors, None))?;
        let combinations: Vec<&Combination> = self.unknown.iter().map(|unknown| unknown.factors.as_slice()).collect();
        let (before, after) = (estimate::covariances(&combinations), found.covariances(&combinations));
        let deviation = |matrix: &[Vec<f64>], own: usize| {
            let variance = matrix.get(own).and_then(|row| row.get(own));
            variance.copied().unwrap_or(0.0).max(0.0).sqrt()
        };
        let figure = |(own, unknown): (usize, &Unknown)| {
            let moved = found.value(&unknown.factors);
            let left = deviation(&after, own);
            let figure = |moved: f64| match unknown.of {
                FigureOf::Usage(..) | FigureOf::Resistance(..) => unknown.declared * moved.exp(),
                FigureOf::Set(_) | FigureOf::Delivers(_) => unknown.declared + moved,
            };
            Fitted {
                of: unknown.of,
                declared: unknown.declared,
                fitted: figure(moved),
                between: (figure(moved - 2.0 * left), figure(moved + 2.0 * left)),
                left_open: left / deviation(&before, own),
                pulls: found.pulls(&unknown.factors),
            }
        };
        Ok(Fit {
            figures: self.unknown.iter().enumerate().map(figure).collect(),
            readings: self.beside(&declared, &found),
            chi_squared: found.chi_squared,
            open: estimate::open(&before, &after),
        })
    }

    fn beside(&self, declared: &Modelled, found: &Estimate) -> Vec<FittedReading> {
        let all = self
            .seen
            .iter()
            .zip(&self.measured)
            .zip(&declared.readings)
            .zip(&found.residuals);
        let reading = |(((seen, measured), declared), off): (((&Seen, &Measurement), &f64), &f64)| {
            let outside = match seen {
                Seen::Pressure(_) => self.air.conditions.ambient.pascals(),
                Seen::Inflow(_) | Seen::Outflow(_) => 0.0,
            };
            FittedReading {
                declared: declared - outside,
                fitted: measured.value - off * measured.deviation - outside,
                off: *off,
            }
        };
        all.map(reading).collect()
    }
}

fn sum(of: &Combination, factors: &[f64]) -> f64 {
    of.iter()
        .map(|(factor, weight)| weight * factors.get(*factor).copied().unwrap_or(0.0))
        .sum()
}

fn used(law: Link) -> Option<Flow> {
    match law {
        Link::Tube(tube) => Some(tube.usage),
        Link::Section(section) => Some(section.usage),
        _ => None,
    }
}
