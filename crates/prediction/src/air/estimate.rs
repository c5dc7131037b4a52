//! The figures of an air network, fitted to the readings of one day.
//!
//! The usage and resistance of a section, and the pressure that a regulator or dryer holds, are known only
//! approximately. `engineering::estimate` finds the most likely figures, given the readings and how the network
//! responds when figures differ from the declared ones. The fitted usage is what a section loses on that day, evenly
//! along it, at whatever pressure it has then: the fitted figures belong to a file whose normal state is that day, and
//! written together in place of the declared ones they give the fitted pressures. Fitted usage is not a factor on the
//! leakage of the declared normal state, which would not give those pressures.
//!
//! Usage and resistance are fitted by their logarithm, so that they stay above zero. The figures of one cable may be
//! off together, since one survey or one table is behind all of them, and each by itself. The settings bound either
//! part as a uniform distribution, whose standard deviation is the bound over √3 \[derived\]. The effect of the day's
//! temperature on the viscosity of the air is common to all sections.

mod leak;

pub use leak::{LeakInterval, LeakSearch};

use drysheath_engineering::air::{Reference, restate_resistance};
use drysheath_engineering::estimate::{
    self, Combination, Estimate, EstimateError, Measurement, ModelPrediction, Undetermined,
};
use drysheath_engineering::measure::{Flow, Length, PneumaticResistance, Pressure, Temperature};
use drysheath_engineering::network::{
    Link, LinkId, Network, NodeId, Parameter, Regulator, Section, Sensitivity, Supply, SupplyId, Tube,
};
use drysheath_office::ThingId;
use rustc_hash::FxHashMap;

use super::graph::{DryerLocation, EdgeOrigin};
use super::{Air, AirLocation, SystemId};
use crate::line::{Line, POSITION_TOLERANCE};

/// Bounds of the errors of declared figures, before any reading.
#[derive(Clone, Copy, Debug)]
pub struct Bounds {
    /// Of the usage of sections, relative.
    pub usage: f64,
    /// Of the resistance of sections, relative.
    pub resistance: f64,
    /// Of the pressure of regulators and dryers, relative.
    pub set: f64,
    /// Coldest and hottest temperature that the air in the network may have had.
    pub temperatures: (Temperature, Temperature),
}

/// The figure that was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ReadQuantity {
    /// A pressure above that of the surrounding air.
    Pressure(Pressure),
    /// Flow through a thing, or along a line, positive away from its beginning.
    Flow(Flow),
}

/// A reading at a location in the network.
#[derive(Clone, Copy, Debug)]
pub struct Observation<'a> {
    /// Where the sensor senses the air.
    pub at: AirLocation<'a>,
    /// The pressure or flow that was read.
    pub figure: ReadQuantity,
    /// Standard deviation of its error, Pa or m³/s.
    pub deviation: f64,
}

/// A declared figure that readings may correct.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FitParameter {
    /// Usage of a section or pipe, m³/s: indices of the line in [`Air::lines`] and of the section in
    /// [`Line::sections`].
    Usage(usize, usize),
    /// Pneumatic resistance of a section, Pa·s/m⁴, with the same indices as [`Self::Usage`].
    Resistance(usize, usize),
    /// Outlet pressure that a regulator holds, Pa gauge.
    Set(ThingId),
    /// Pressure that a dryer or bottle delivers, Pa gauge.
    Delivers(ThingId),
}

/// A declared figure and its fitted value.
#[derive(Clone, Debug)]
pub struct Fitted {
    /// The figure that was fitted.
    pub of: FitParameter,
    /// Value before the fit, as declared.
    pub declared: f64,
    /// Most likely value given the readings.
    pub fitted: f64,
    /// Two standard deviations below and above `fitted`.
    pub between: (f64, f64),
    /// Standard deviation after the fit, as a fraction of that before the readings.
    pub left_open: f64,
    /// Contribution of each reading to the change of the figure, in the order of the readings: relative for usage and
    /// resistance, in Pa for others.
    pub pulls: Vec<f64>,
}

/// A reading and its computed values.
#[derive(Clone, Copy, Debug)]
pub struct FittedReading {
    /// Computed with the declared figures, Pa gauge or m³/s.
    pub declared: f64,
    /// Computed with the fitted figures.
    pub fitted: f64,
    /// Reading minus `fitted`, in standard deviations of the reading's error.
    pub off: f64,
}

/// An air system fitted to the readings of one day.
#[derive(Clone, Debug)]
pub struct Fit {
    /// Fitted figures, line by line, then regulators and dryers.
    pub figures: Vec<Fitted>,
    /// One entry for each reading, in the same order.
    pub readings: Vec<FittedReading>,
    /// Sum of squared deviations of readings and figures, each in its standard deviation. It has as many degrees of
    /// freedom as there are readings.
    pub chi_squared: f64,
    /// Combination of figures that the readings leave undetermined. `None` where it cannot be computed.
    pub open: Option<Undetermined>,
}

/// A part of a line between two points where something joins, leaves or was read, with no such point inside.
#[derive(Clone, Copy, Debug)]
struct FitSegment {
    line: usize,
    from: f64,
    to: f64,
    link: LinkId,
}

/// The network quantity that a reading measures.
#[derive(Clone, Copy, Debug)]
enum SolvedQuantity {
    Pressure(NodeId),
    /// Flow into the start of a link.
    Inflow(LinkId),
    /// Flow out of the end of a link.
    Outflow(LinkId),
}

/// A figure to fit, and the factors that it depends on.
struct FitUnknown {
    of: FitParameter,
    declared: f64,
    /// For usage and resistance the logarithm of fitted over declared; for others the difference in Pa.
    factors: Vec<(usize, f64)>,
    /// The links or the supply that the figure belongs to.
    links: Vec<LinkId>,
    supply: Option<SupplyId>,
}

/// An air system with its readings and the figures that the fit may change.
pub struct FitProblem<'a> {
    air: &'a Air,
    network: Network,
    stretches: Vec<FitSegment>,
    unknown: Vec<FitUnknown>,
    factors: usize,
    seen: Vec<SolvedQuantity>,
    measured: Vec<Measurement>,
}

/// A trial leak: its place and flow.
#[derive(Clone, Copy)]
struct TrialLeak {
    stretch: usize,
    /// Position, as a fraction of the length of the stretch.
    part: f64,
    flow: f64,
}

impl Air {
    /// Prepares a fit of a system to the readings that lie in it. `None` where nothing of the system is known. Each
    /// reading must be at a place whose pressure or flow is known.
    pub fn readings<'a>(
        &'a self,
        system: SystemId,
        bounds: &Bounds,
        observed: &[Observation<'a>],
    ) -> Option<FitProblem<'a>> {
        self.solution(system)?;
        let mut readings = FitProblem {
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
                    ReadQuantity::Pressure(pressure) => ambient + pressure.pascals(),
                    ReadQuantity::Flow(flow) => flow.cubic_metres_per_second(),
                },
                deviation: observation.deviation,
            });
        }
        readings.add_sections(bounds);
        readings.add_sources(system, bounds);
        Some(readings)
    }

    fn stretches(&self, system: SystemId) -> Vec<FitSegment> {
        let lines = self.lines().iter().enumerate();
        let of_line = |(number, line): (usize, &Line)| {
            let segments = line.segments.iter().filter_map(move |segment| {
                let (of, link) = self.systems.edges[segment.edge]?;
                (of == system).then_some(FitSegment {
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

/// Standard deviation of a uniform distribution within ±`bound`.
fn even(bound: f64) -> f64 {
    bound / 3_f64.sqrt()
}

impl FitProblem<'_> {
    fn line_number(&self, on: &Line) -> Option<usize> {
        let mut lines = self.air.lines().iter();
        lines.position(|line| line.thing == on.thing && line.branch == on.branch)
    }

    /// Divides a line at the place of a reading, so that there is a node.
    fn divide(&mut self, observation: &Observation<'_>) {
        let AirLocation::OnLine(on, metres) = observation.at else {
            return;
        };
        let Some(number) = self.line_number(on) else { return };
        let is_inside = |stretch: &FitSegment| {
            stretch.line == number
                && stretch.from + POSITION_TOLERANCE < metres
                && metres < stretch.to - POSITION_TOLERANCE
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
        let far = FitSegment {
            from: metres,
            link,
            ..*near
        };
        near.to = metres;
        self.stretches.insert(at + 1, far);
    }

    fn place(&self, system: SystemId, observation: &Observation<'_>) -> Option<SolvedQuantity> {
        match observation.at {
            AirLocation::Thing(thing) => match observation.figure {
                ReadQuantity::Pressure(_) => {
                    let (of, node) = self.air.systems.nodes[self.air.ports(thing)?.inlet]?;
                    (of == system).then_some(SolvedQuantity::Pressure(node))
                }
                ReadQuantity::Flow(_) => {
                    let (of, link) = self.air.systems.edges[self.air.graph.through[thing]?]?;
                    (of == system).then_some(SolvedQuantity::Inflow(link))
                }
            },
            AirLocation::OnLine(on, metres) => {
                let number = self.line_number(on)?;
                let near = |end: f64| (end - metres).abs() <= 2.0 * POSITION_TOLERANCE;
                let of_line = || self.stretches.iter().filter(|stretch| stretch.line == number);
                let starts = of_line().find(|stretch| near(stretch.from));
                let ends = of_line().find(|stretch| near(stretch.to));
                let is_pressure = matches!(observation.figure, ReadQuantity::Pressure(_));
                match (starts, ends) {
                    (Some(stretch), _) if is_pressure => {
                        Some(SolvedQuantity::Pressure(self.network.ends(stretch.link).0))
                    }
                    (_, Some(stretch)) if is_pressure => {
                        Some(SolvedQuantity::Pressure(self.network.ends(stretch.link).1))
                    }
                    (_, Some(stretch)) => Some(SolvedQuantity::Outflow(stretch.link)),
                    (Some(stretch), _) => Some(SolvedQuantity::Inflow(stretch.link)),
                    (None, None) => None,
                }
            }
        }
    }

    fn factor(&mut self) -> usize {
        self.factors += 1;
        self.factors - 1
    }

    fn add_sections(&mut self, bounds: &Bounds) {
        let (usage, resistance) = (even(bounds.usage), even(bounds.resistance));
        let weather = even(self.weather(bounds.temperatures));
        let day = (weather > 0.0).then(|| (self.factor(), weather));
        let mut common: FxHashMap<ThingId, (usize, usize)> = FxHashMap::default();
        let lines = self.air.lines();
        for (number, line) in lines.iter().enumerate() {
            for (within, section) in line.sections.iter().enumerate() {
                let is_of = |stretch: &&FitSegment| {
                    stretch.line == number
                        && stretch.from >= section.from - POSITION_TOLERANCE
                        && stretch.to <= section.to + POSITION_TOLERANCE
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
                // Where the temperature in a section is stated or was read, the weather adds no uncertainty.
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
                    self.unknown.push(FitUnknown {
                        of: FitParameter::Usage(number, within),
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
                    self.unknown.push(FitUnknown {
                        of: FitParameter::Resistance(number, within),
                        declared,
                        factors: factors.collect(),
                        links: of_section,
                        supply: None,
                    });
                }
            }
        }
    }

    /// Uncertainty of resistances from the air temperature: resistance is proportional to μT.
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

    fn add_sources(&mut self, system: SystemId, bounds: &Bounds) {
        if bounds.set <= 0.0 {
            return;
        }
        for (edge, place) in self.air.systems.edges.enumerated() {
            let (EdgeOrigin::Thing(thing), Some((of, link))) = (self.air.graph.edges[edge].of, *place) else {
                continue;
            };
            let Link::Regulator(regulator) = self.network.law(link) else {
                continue;
            };
            let declared = regulator.set.pascals();
            if of == system && declared > 0.0 {
                let own = self.factor();
                self.unknown.push(FitUnknown {
                    of: FitParameter::Set(thing),
                    declared,
                    factors: vec![(own, even(bounds.set) * declared)],
                    links: vec![link],
                    supply: None,
                });
            }
        }
        for (dryer, place) in self.air.graph.dryers.iter().zip(&self.air.systems.dryers) {
            let (DryerLocation::Here(thing), Some((of, supply))) = (dryer.at, *place) else {
                continue;
            };
            let declared = self.network.supplied(supply).delivers.pascals();
            if of == system && declared > 0.0 {
                let own = self.factor();
                self.unknown.push(FitUnknown {
                    of: FitParameter::Delivers(thing),
                    declared,
                    factors: vec![(own, even(bounds.set) * declared)],
                    links: Vec::new(),
                    supply: Some(supply),
                });
            }
        }
    }

    /// The network with the declared figures changed by `factors`.
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
                    (Link::Section(section), FitParameter::Usage(..)) => Link::Section(Section {
                        usage: section.usage * moved.exp(),
                        ..section
                    }),
                    (Link::Tube(tube), FitParameter::Usage(..)) => Link::Tube(Tube {
                        usage: tube.usage * moved.exp(),
                        ..tube
                    }),
                    (Link::Section(section), FitParameter::Resistance(..)) => Link::Section(Section {
                        resistance: section.resistance * moved.exp(),
                        ..section
                    }),
                    (Link::Regulator(regulator), FitParameter::Set(_)) => Link::Regulator(Regulator {
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

    /// Computes the readings from the factors and an optional leak, and their derivatives by each factor and, last, by
    /// the flow of the leak.
    fn modelled(&self, factors: &[f64], trial: Option<TrialLeak>) -> Option<ModelPrediction> {
        let mut network = self.with(factors);
        let hole = match trial {
            None => None,
            Some(trial) => {
                let link = self.stretches.get(trial.stretch)?.link;
                let (from, to) = network.ends(link);
                // In laminar flow a leak affects the rest of the network as its two shares at the ends of the stretch
                // do.
                let shares = [(from, 1.0 - trial.part), (to, trial.part)];
                for (node, share) in shares {
                    network.demand(node, Flow::from_cubic_metres_per_second(trial.flow * share));
                }
                Some((link, shares, trial))
            }
        };
        let mut solved = Sensitivity::new(&network, &self.air.conditions).ok()?;
        // A flow read at an end of the leak's own stretch has to be corrected for the share drawn at that end.
        let inside = |seen: &SolvedQuantity| match (seen, &hole) {
            (SolvedQuantity::Inflow(link), Some((of, [(_, start), _], _))) if link == of => *start,
            (SolvedQuantity::Outflow(link), Some((of, [_, (_, end)], _))) if link == of => -end,
            _ => 0.0,
        };
        let flow = trial.map_or(0.0, |trial| trial.flow);
        let reading = |seen: &SolvedQuantity| {
            let found = match seen {
                SolvedQuantity::Pressure(node) => solved.pressure(*node)?,
                SolvedQuantity::Inflow(link) => solved.flows(*link)?.0,
                SolvedQuantity::Outflow(link) => solved.flows(*link)?.1,
            };
            Some(found + flow * inside(seen))
        };
        let readings = self.seen.iter().map(reading).collect::<Option<Vec<f64>>>()?;
        let mut slopes = vec![vec![0.0; self.seen.len()]; self.factors + usize::from(hole.is_some())];
        let mut respond = |causes: &mut dyn Iterator<Item = (Parameter, f64)>| {
            let response = solved.response(causes);
            let slope = |seen: &SolvedQuantity| match seen {
                SolvedQuantity::Pressure(node) => response.pressure(*node),
                SolvedQuantity::Inflow(link) => Some(response.flows(*link)?.0),
                SolvedQuantity::Outflow(link) => Some(response.flows(*link)?.1),
            };
            self.seen.iter().map(slope).collect::<Option<Vec<f64>>>()
        };
        for unknown in &self.unknown {
            let of_link = |link: &LinkId| match unknown.of {
                FitParameter::Usage(..) => {
                    let lost = used(network.law(*link)).map_or(0.0, Flow::cubic_metres_per_second);
                    (Parameter::Usage(*link), lost)
                }
                FitParameter::Resistance(..) => (Parameter::Resistance(*link), 1.0),
                FitParameter::Set(_) | FitParameter::Delivers(_) => (Parameter::Set(*link), 1.0),
            };
            let supply = unknown.supply.map(|supply| (Parameter::Delivers(supply), 1.0));
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
            let found = respond(&mut shares.iter().map(|(node, share)| (Parameter::Demand(*node), *share)))?;
            let with_own = found.iter().zip(&self.seen).map(|(found, seen)| found + inside(seen));
            *slopes.last_mut()? = with_own.collect();
        }
        Some(ModelPrediction { readings, slopes })
    }

    /// Finds the most likely figures.
    ///
    /// # Errors
    ///
    /// [`EstimateError`] where the declared figures give no pressures, a reading cannot be used, or the search does not
    /// end.
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
        let figure = |(own, unknown): (usize, &FitUnknown)| {
            let moved = found.value(&unknown.factors);
            let left = deviation(&after, own);
            let figure = |moved: f64| match unknown.of {
                FitParameter::Usage(..) | FitParameter::Resistance(..) => unknown.declared * moved.exp(),
                FitParameter::Set(_) | FitParameter::Delivers(_) => unknown.declared + moved,
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
            open: estimate::undetermined(&before, &after),
        })
    }

    fn beside(&self, declared: &ModelPrediction, found: &Estimate) -> Vec<FittedReading> {
        let all = self
            .seen
            .iter()
            .zip(&self.measured)
            .zip(&declared.readings)
            .zip(&found.residuals);
        let reading = |(((seen, measured), declared), off): (((&SolvedQuantity, &Measurement), &f64), &f64)| {
            let outside = match seen {
                SolvedQuantity::Pressure(_) => self.air.conditions.ambient.pascals(),
                SolvedQuantity::Inflow(_) | SolvedQuantity::Outflow(_) => 0.0,
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
