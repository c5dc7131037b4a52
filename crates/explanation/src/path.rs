use drysheath_engineering::air::Regime;
use drysheath_engineering::measure::Pressure;
use drysheath_engineering::network::LinkState;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Attributes, Field, Fields, GivenQuantity, Link, ThingId};
use drysheath_prediction::{AirLocation, Line, PathElement, PathSource, PathStep};

use crate::{Explainer, Law};

/// The computation of the pressure at a place: the path that most of its air takes from a dryer.
pub struct AirPath<'a> {
    /// Pressure at the place.
    pub pressure: Pressure,
    /// The source of the air.
    pub source: AirSource<'a>,
    /// The steps, from the dryer on.
    pub steps: Vec<AirPathStep<'a>>,
}

/// The source of a path.
pub enum AirSource<'a> {
    /// A dryer or bottle, and its delivery pressure.
    Dryer(ThingId, Option<GivenQuantity>),
    /// An office at the other end of a route, and the gauge pressure where its air enters.
    Elsewhere(&'a str, Pressure),
}

/// One step on the path of the air.
pub struct AirPathStep<'a> {
    /// The element that air passes in this step.
    pub passage: AirPathElement<'a>,
    /// Inputs of the pressure loss.
    pub inputs: Vec<Input>,
    /// Gauge pressure where the air enters it.
    pub before: Pressure,
    /// Gauge pressure where the air leaves it.
    pub after: Pressure,
    /// The solver's figures for it.
    pub state: LinkState,
    /// The law of its loss. `None` if it has no loss.
    pub law: Option<Law>,
}

impl AirPathStep<'_> {
    /// The law that holds for it in states other than the normal one besides [`Self::law`].
    pub fn law_of_other_states(&self) -> Option<Law> {
        let is_above_nothing = |given: &GivenQuantity| given.quantity.si() > 0.0;
        match self.passage {
            AirPathElement::Regulator(_) => Some(Law::WideOpen),
            AirPathElement::Along { .. } => {
                let usage = self.inputs.iter().find(|input| input.name == Key::Usage.word())?;
                usage.given.as_ref().filter(|given| is_above_nothing(given))?;
                Some(Law::Leakage)
            }
            _ => None,
        }
    }
}

/// What air passes on its path.
#[derive(Clone, Copy)]
pub enum AirPathElement<'a> {
    /// A tube between two things, or a piece of it: index from 1 along the arrow, and number of pieces.
    Tube(ThingId, ThingId, Option<(usize, usize)>),
    /// A direct joint of two things, without a tube.
    Joint(ThingId, ThingId),
    /// A regulator, from inlet to outlet.
    Regulator(ThingId),
    /// A thing with a stated loss.
    Lossy(ThingId),
    /// A thing without loss.
    Lossless(ThingId),
    /// A part of a cable, branch or pipe.
    Along {
        /// The cable, branch or pipe.
        line: &'a Line,
        /// The section. `None` for a pipe.
        section: Option<&'a str>,
        /// Start of the step, m.
        from: f64,
        /// End of the step, m.
        to: f64,
    },
    /// The point where a branch leaves its trunk.
    Branch,
}

/// An input of a step.
#[derive(Clone, Copy)]
pub struct Input {
    /// Name of the input.
    pub name: &'static str,
    /// Value of the input. `None` if the file does not state it.
    pub given: Option<GivenQuantity>,
}

/// Element, inputs and law of a step.
type Described<'a> = (AirPathElement<'a>, Vec<Input>, Option<Law>);

impl<'a> Explainer<'a> {
    /// The step through a thing with a stated loss. `None` if it states none, or nothing is known.
    pub fn own_loss(&self, id: ThingId) -> Option<AirPathStep<'a>> {
        let air = &self.prediction.air;
        let state = air.through(id).filter(|_| self.office.thing(id).has(Key::Loss))?;
        let (inlet, outlet) = (air.inlet(id)?, air.outlet(id)?);
        let is_backwards = state.flow.cubic_metres_per_second() < 0.0;
        let (before, after) = if is_backwards { (outlet, inlet) } else { (inlet, outlet) };
        let (passage, inputs, law) = self.passed(id);
        Some(AirPathStep {
            passage,
            inputs,
            before,
            after,
            state,
            law,
        })
    }

    /// The computation of the pressure at a place. `None` if that is not known.
    pub fn air_path(&self, place: &AirLocation<'a>) -> Option<AirPath<'a>> {
        let air = &self.prediction.air;
        let way = air.supply_path(place)?;
        Some(AirPath {
            pressure: air.pressure(place)?,
            source: match way.source {
                PathSource::Dryer(dryer) => AirSource::Dryer(dryer, self.office.given(dryer, Key::Delivers)),
                PathSource::Elsewhere(neighbour, pressure) => AirSource::Elsewhere(self.neighbour(neighbour), pressure),
            },
            steps: way.steps.iter().filter_map(|step| self.step(step)).collect(),
        })
    }

    /// Name of an office that shares a route with this one.
    fn neighbour(&self, number: usize) -> &'a str {
        let neighbour = self.office.neighbours.get(number);
        let name = neighbour.and_then(|office| Some(office.name(office.itself?)));
        name.unwrap_or("another office")
    }

    fn step(&self, step: &PathStep<'a>) -> Option<AirPathStep<'a>> {
        let regime = step.state.regime;
        let (passage, inputs, law) = match step.element {
            PathElement::Run(run) => self.run(self.networks.air.pieces(self.office).nth(run)?, regime),
            PathElement::Thing(id) => self.passed(id),
            PathElement::OnLine(line, from, to) => self.on_line(line, from, to, regime),
            PathElement::Joint => (AirPathElement::Branch, Vec::new(), None),
        };
        Some(AirPathStep {
            passage,
            inputs,
            before: step.before,
            after: step.after,
            state: step.state,
            law,
        })
    }

    fn run(&self, (link, with): (&Link, &Attributes), regime: Option<Regime>) -> Described<'a> {
        let (from, to) = (link.from.thing, link.to.thing);
        if with.bore.is_none() {
            return (AirPathElement::Joint(from, to), Vec::new(), None);
        }
        let piece = link.piece_number(self.office, with);
        let length_of = match piece {
            None => "length of the run",
            Some(_) => "length of the piece",
        };
        let bore = with.bore.as_ref().map(|bore| (bore.value, bore.range));
        let length = with.length.as_ref().map(|length| (length.value, length.range));
        let stated = [("bore", bore), (length_of, length)].into_iter();
        let inputs = stated.filter_map(|(name, stated)| {
            let (quantity, range) = stated?;
            let place = Some(self.office.place(range));
            Some(Input {
                name,
                given: Some(GivenQuantity { quantity, place }),
            })
        });
        let law = if regime == Some(Regime::Laminar) {
            Law::Laminar
        } else {
            Law::Turbulent
        };
        (AirPathElement::Tube(from, to, piece), inputs.collect(), Some(law))
    }

    fn passed(&self, id: ThingId) -> Described<'a> {
        let thing = self.office.thing(id);
        if thing.has(Key::Loss) {
            let points = thing.losses().flat_map(|(loss, place)| {
                [("loss", loss.pressure), ("at a flow of", loss.flow)].map(|(name, quantity)| Input {
                    name,
                    given: Some(GivenQuantity {
                        quantity,
                        place: Some(place),
                    }),
                })
            });
            return (AirPathElement::Lossy(id), points.collect(), Some(Law::Loss));
        }
        if !thing.is(KindId::Regulator) {
            return (AirPathElement::Lossless(id), Vec::new(), None);
        }
        let inputs = [Key::Set, Key::Droop, Key::Differential].map(|key| Input {
            name: key.word(),
            given: self.office.given(id, key),
        });
        (AirPathElement::Regulator(id), inputs.to_vec(), Some(Law::Droop))
    }

    fn on_line(&self, line: &'a Line, from: f64, to: f64, regime: Option<Regime>) -> Described<'a> {
        let passage = |section| AirPathElement::Along {
            line,
            section,
            from,
            to,
        };
        let Some(part) = line.section_at(f64::midpoint(from, to)) else {
            return (passage(None), Vec::new(), None);
        };
        let (section, fields, keys): (_, &[Field], &[Key]) = if part.surroundings.is_none() {
            let fields = self.office.thing(line.thing).fields();
            (None, fields, &[Key::Bore, Key::Length, Key::Usage])
        } else if let Some((name, fields)) = line.section(self.office, part) {
            (Some(name), fields, &[Key::Resistance, Key::Usage])
        } else {
            return (passage(None), Vec::new(), None);
        };
        let stated = |(quantity, place)| GivenQuantity {
            quantity,
            place: Some(place),
        };
        let inputs = keys.iter().map(|key| Input {
            name: key.word(),
            given: fields.quantity(*key).map(stated),
        });
        let itself = self.office.itself.map(|id| self.office.thing(id));
        let temperatures = itself.and_then(|itself| itself.group(Key::CableTemperature));
        let temperature = temperatures
            .zip(part.surroundings)
            .and_then(|(all, key)| all.quantity(key));
        let air = temperature.map(|temperature| Input {
            name: "air in it",
            given: Some(stated(temperature)),
        });
        let law = match regime {
            None | Some(Regime::Laminar) => Law::DistributedLaminar,
            Some(_) => Law::Turbulent,
        };
        (passage(section), inputs.chain(air).collect(), Some(law))
    }
}
