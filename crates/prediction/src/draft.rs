//! The air network as the file has it: what is known of each piece, and what is missing.

use drysheath_engineering::air::Reference;
use drysheath_engineering::measure::{Flow, FlowResistance, Length, PneumaticResistance, Pressure, Temperature};
use drysheath_engineering::network::{Link, Regulator, Section, Supply, Tube};
use drysheath_office::kinds::{FieldSpec, Key, KindId, Role, ValveFunction, ValvePosition};
use drysheath_office::route::{self, RoutePosition};
use drysheath_office::{self as office, Field, Fields, Networks, Office, Side, Thing, ThingId};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;

use crate::missing_input::{MissingInput, NeededFor};
use crate::route::{LEEWAY, Piece, Route, RouteSection};

/// No node, no edge.
pub(crate) const NONE: u32 = u32::MAX;

/// How air passes along an edge.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Passes {
    /// As the laws say.
    As(Link),
    /// In a way that the file does not tell.
    Unknown {
        /// What is missing; none where the text is damaged.
        gap: Option<u32>,
        /// Air used along it, where that is known.
        usage: Option<Flow>,
        /// Whether only its resistance is missing, so that without flow the pressure is the same at both ends.
        resists: bool,
    },
}

impl Passes {
    /// Air used along it, where that is known.
    pub fn usage(&self) -> Option<Flow> {
        match self {
            Self::As(Link::Tube(tube)) => Some(tube.usage),
            Self::As(Link::Section(section)) => Some(section.usage),
            Self::As(_) => Some(no_flow()),
            Self::Unknown { usage, .. } => *usage,
        }
    }
}

/// Something that air passes along.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    pub from: u32,
    pub to: u32,
    pub passes: Passes,
}

/// What the edges are of.
#[derive(Debug, Default)]
pub(crate) struct Draft {
    pub nodes: u32,
    pub edges: Vec<Edge>,
    /// The dryers: node, thing, and what they deliver where that is known.
    pub supplies: Vec<(u32, ThingId, Option<Supply>)>,
    /// Of each thing, the nodes where air comes in and goes out.
    pub ports: Vec<[u32; 2]>,
    /// Of each thing that air passes through, the edge.
    pub through: Vec<u32>,
    pub lines: Vec<Route>,
    /// Of each air link of the office in order, its edge.
    pub runs: Vec<u32>,
    pub gaps: Vec<MissingInput>,
}

/// Puts the network together.
pub(crate) struct Drafter<'o> {
    office: &'o Office,
    networks: &'o Networks,
    draft: Draft,
    /// The nodes along the lines, by line, in the order of their distance.
    marks: Vec<Vec<(f64, u32)>>,
}

impl<'o> Drafter<'o> {
    pub fn new(office: &'o Office, networks: &'o Networks) -> Self {
        let things = office.things.len();
        Self {
            office,
            networks,
            draft: Draft {
                ports: vec![[NONE; 2]; things],
                through: vec![NONE; things],
                ..Draft::default()
            },
            marks: Vec::new(),
        }
    }

    pub fn draft(mut self) -> Draft {
        let office = self.office;
        if office.unsure.about(Medium::Air) || surroundings_unread(office) {
            // What could not be read may have been a part of the network, or what everything in it counts from.
            return self.draft;
        }
        for (id, thing) in office.things() {
            self.thing(id, thing);
        }
        let mut last_gap = None;
        for link in self.networks.air.iter() {
            let edge = match (self.node_of(&link.from), self.node_of(&link.to)) {
                (Some(from), Some(to)) => {
                    let passes = self.run(link, &mut last_gap);
                    self.edge(from, to, passes)
                }
                _ => NONE,
            };
            self.draft.runs.push(edge);
        }
        self.draft
    }

    fn node(&mut self) -> u32 {
        self.draft.nodes += 1;
        self.draft.nodes - 1
    }

    fn edge(&mut self, from: u32, to: u32, passes: Passes) -> u32 {
        self.draft.edges.push(Edge { from, to, passes });
        self.draft.edges.len() as u32 - 1
    }

    fn gap(&mut self, on: ThingId, range: TextRange, what: String) -> u32 {
        self.draft.gaps.push(MissingInput {
            on,
            range,
            what,
            needed_for: NeededFor::Air,
        });
        self.draft.gaps.len() as u32 - 1
    }

    fn set_ports(&mut self, id: ThingId, ports: [u32; 2]) {
        if let Some(slot) = self.draft.ports.get_mut(id.0 as usize) {
            *slot = ports;
        }
    }

    fn thing(&mut self, id: ThingId, thing: &'o Thing) {
        let Some(kind) = thing.kind else { return };
        match kind.id {
            KindId::Dryer => {
                let node = self.node();
                self.set_ports(id, [node; 2]);
                let supply = self.pressure(thing, Key::Delivers).map(|delivers| Supply {
                    delivers,
                    capacity: crate::dryer_capacity::capacity(self.office, id).map(|capacity| capacity.flow),
                });
                self.draft.supplies.push((node, id, supply));
            }
            KindId::Regulator => {
                // What could not be understood may have been its droop.
                let passes = if thing.damaged {
                    unread(Some(no_flow()))
                } else {
                    self.regulator(thing)
                };
                self.two_ports(id, Some(passes));
            }
            KindId::Valve => {
                let passes = match (thing.choice(Key::Function), thing.choice(Key::Stands)) {
                    // It may be said to stand closed, and then all behind it uses nothing.
                    _ if thing.damaged => Some(unread(None)),
                    (_, Some(ValvePosition::Closed)) => None,
                    (Some(ValveFunction::Check), _) => Some(Passes::As(Link::CheckValve)),
                    (Some(ValveFunction::ShutOff), _) => Some(Passes::As(Link::Fitting)),
                    (None, _) => Some(Passes::Unknown {
                        gap: None,
                        usage: Some(no_flow()),
                        resists: false,
                    }),
                };
                self.two_ports(id, passes);
            }
            KindId::FlowSensor => self.two_ports(id, Some(Passes::As(Link::Fitting))),
            KindId::Manifold | KindId::PressureSensor | KindId::HumiditySensor | KindId::DewPointSensor => {
                let node = self.node();
                self.set_ports(id, [node; 2]);
            }
            KindId::AirPipe => self.pipe(id, thing),
            KindId::Cable => self.cable(id, thing),
            _ => {}
        }
    }

    fn two_ports(&mut self, id: ThingId, passes: Option<Passes>) {
        let ports @ [from, to] = [self.node(), self.node()];
        self.set_ports(id, ports);
        if let Some(passes) = passes {
            let edge = self.edge(from, to, passes);
            if let Some(slot) = self.draft.through.get_mut(id.0 as usize) {
                *slot = edge;
            }
        }
    }

    /// A pressure above the surrounding air.
    fn pressure(&self, thing: &Thing, key: Key) -> Option<Pressure> {
        let (pressure, _) = thing.quantity(key)?;
        Some(Pressure::from_pascals(self.office.gauge_pascals(pressure)))
    }

    fn regulator(&self, thing: &Thing) -> Passes {
        let specs = thing.kind.map_or(&[][..], |kind| kind.fields);
        let droop = thing
            .given(specs, Key::Droop)
            .and_then(|given| FlowResistance::of(given.quantity));
        match (self.pressure(thing, Key::Set), droop) {
            (Some(set), Some(droop)) => Passes::As(Link::Regulator(Regulator {
                set,
                droop,
                differential: thing
                    .quantity(Key::Differential)
                    .and_then(|(differential, _)| Pressure::of(differential))
                    .unwrap_or(Pressure::from_pascals(0.0)),
                rated: thing.quantity(Key::FlowMax).and_then(|(flow, _)| Flow::of(flow)),
            })),
            _ => Passes::Unknown {
                gap: None,
                usage: Some(no_flow()),
                resists: false,
            },
        }
    }

    fn pipe(&mut self, id: ThingId, thing: &'o Thing) {
        let specs = thing.kind.map_or(&[][..], |kind| kind.fields);
        let figure = |key| thing.given(specs, key).map(|given| given.quantity);
        let usage = figure(Key::Usage).and_then(Flow::of).filter(|_| !thing.damaged);
        let length = route::length(thing, None);
        let known = figure(Key::Bore)
            .and_then(Length::of)
            .zip(figure(Key::Roughness).and_then(Length::of));
        let gap = match (known, length) {
            (Some(_), Some(_)) => None,
            _ if thing.damaged => None,
            (None, _) => Some(self.gap(id, thing.name, format!("the bore of `{}`", self.office.name(id)))),
            (_, None) => Some(self.gap(id, thing.name, format!("the length of `{}`", self.office.name(id)))),
        };
        let reach = RouteSection {
            section: 0,
            from: 0.0,
            to: length.unwrap_or_default(),
            surroundings: None,
        };
        let reaches = if length.is_some() { vec![reach] } else { Vec::new() };
        self.line(id, None, reaches, |_, part, metres| match (known, usage) {
            (Some((bore, roughness)), Some(usage)) if gap.is_none() => Passes::As(Link::Tube(Tube {
                bore,
                roughness,
                length: Length::from_metres(metres),
                usage: usage * part,
            })),
            _ => Passes::Unknown {
                gap,
                usage: usage.map(|usage| usage * part),
                resists: true,
            },
        });
    }

    fn cable(&mut self, id: ThingId, thing: &'o Thing) {
        self.sections(id, thing, None, thing.fields());
        for (number, (name, _, fields)) in (0..).zip(thing.named(Key::Branch)) {
            self.sections(id, thing, Some((number, name)), fields);
            // Where the branch leaves the trunk the two are one place.
            let Some(from) = fields.quantity(Key::From).map(|(from, _)| from.si()) else {
                continue;
            };
            let trunk = self.mark(id, None, from);
            let start = self.mark(id, Some(number), 0.0);
            if let (Some(trunk), Some(start)) = (trunk, start) {
                self.edge(trunk, start, Passes::As(Link::Fitting));
            }
        }
    }

    fn sections(&mut self, id: ThingId, thing: &'o Thing, branch: Option<(u32, &str)>, fields: &'o [Field]) {
        let specs = section_specs(thing);
        let mut reaches = Vec::new();
        let mut sections = Vec::new();
        let mut end = Some(0.0);
        for (number, (name, place, section)) in (0..).zip(fields.named(Key::Section)) {
            let range = if place.file == self.office.file {
                place.range
            } else {
                thing.name
            };
            let surroundings = route::surroundings(section).filter(|_| !thing.damaged);
            if let (Some(from), Some((key, metres))) = (end, surroundings) {
                reaches.push(RouteSection {
                    section: number,
                    from,
                    to: from + metres,
                    surroundings: Some(key),
                });
            }
            end = end.zip(surroundings).map(|(from, (_, metres))| from + metres);
            // Of a cable that could not be understood whole sections may be missing.
            sections.push(if thing.damaged {
                unread(None)
            } else {
                self.section(id, thing, name, range, section, specs)
            });
        }
        if end.is_none() || sections.is_empty() {
            reaches.clear();
            // Where its sections begin and end is not known, but what they use together is.
            let whole = sections.iter().map(Passes::usage).sum::<Option<Flow>>();
            if let Some(first) = sections.first_mut() {
                let gap = match first {
                    Passes::Unknown { gap, .. } => *gap,
                    Passes::As(_) => None,
                };
                *first = Passes::Unknown {
                    gap,
                    usage: whole,
                    resists: true,
                };
            }
            if sections.is_empty() && !thing.damaged {
                let of = branch.map_or(String::new(), |(_, name)| format!("branch `{name}` of "));
                let gap = self.gap(
                    id,
                    thing.name,
                    format!("the sections of {of}`{}`", self.office.name(id)),
                );
                sections.push(Passes::Unknown {
                    gap: Some(gap),
                    usage: None,
                    resists: true,
                });
            }
        }
        self.line(
            id,
            branch.map(|(number, _)| number),
            reaches,
            |number, part, metres| match sections.get(number as usize).copied() {
                Some(Passes::As(Link::Section(section))) => Passes::As(Link::Section(Section {
                    length: Length::from_metres(metres),
                    usage: section.usage * part,
                    ..section
                })),
                Some(Passes::Unknown { gap, usage, resists }) => Passes::Unknown {
                    gap,
                    usage: usage.map(|usage| usage * part),
                    resists,
                },
                _ => Passes::Unknown {
                    gap: None,
                    usage: None,
                    resists: true,
                },
            },
        );
    }

    /// What is known of a section: the link that it is as a whole, its length left out.
    fn section(
        &mut self,
        id: ThingId,
        thing: &Thing,
        name: &str,
        range: TextRange,
        section: &[Field],
        specs: &[FieldSpec],
    ) -> Passes {
        let figure = |key| section.given(specs, key).map(|given| given.quantity);
        let usage = figure(Key::Usage).and_then(Flow::of);
        let resistance = figure(Key::Resistance).and_then(PneumaticResistance::of);
        let reference = figure(Key::ReferencePressure)
            .map(|pressure| self.office.absolute(pressure))
            .zip(figure(Key::ReferenceTemperature).and_then(Temperature::of));
        match (usage, resistance, reference) {
            (Some(usage), Some(resistance), Some((pressure, temperature))) => Passes::As(Link::Section(Section {
                resistance,
                reference: Reference { pressure, temperature },
                length: Length::from_metres(0.0),
                usage,
            })),
            _ => {
                let lacks = match (usage, resistance) {
                    (None, None) => Some("usage and resistance"),
                    (None, _) => Some("usage"),
                    (_, None) => Some("resistance"),
                    _ => None,
                };
                let gap = lacks.filter(|_| !thing.damaged).map(|lacks| {
                    let of = self.office.name(id);
                    self.gap(id, range, format!("the {lacks} of section `{name}` of `{of}`"))
                });
                Passes::Unknown {
                    gap,
                    usage,
                    resists: true,
                }
            }
        }
    }

    /// A line of some reaches. `passes` gives the law of a piece from its section, the part of the section that it is,
    /// and its length in metres.
    fn line(
        &mut self,
        id: ThingId,
        branch: Option<u32>,
        reaches: Vec<RouteSection>,
        passes: impl Fn(u32, f64, f64) -> Passes,
    ) {
        let mut marks = vec![(0.0, self.node())];
        let mut pieces = Vec::new();
        let wanted = self.places_on(id, branch);
        if reaches.is_empty() {
            // Nothing is known of where its places lie: each of them is somewhere behind its beginning.
            let mut first = true;
            for metres in wanted.iter().copied().chain([f64::INFINITY]) {
                let node = self.node();
                let start = marks.first().map_or(NONE, |(_, start)| *start);
                let passes = match passes(0, 1.0, 0.0) {
                    Passes::Unknown { gap, usage, resists } => Passes::Unknown {
                        gap,
                        usage: if first { usage } else { Some(no_flow()) },
                        resists,
                    },
                    Passes::As(_) => Passes::Unknown {
                        gap: None,
                        usage: None,
                        resists: true,
                    },
                };
                first = false;
                self.edge(start, node, passes);
                marks.push((metres, node));
            }
        }
        for reach in &reaches {
            let inside = wanted
                .iter()
                .copied()
                .filter(|metres| *metres > reach.from + LEEWAY && *metres < reach.to - LEEWAY);
            let mut from = reach.from;
            for to in inside.chain([reach.to]) {
                let near = marks.last().map_or(NONE, |(_, node)| *node);
                let far = self.node();
                let whole = reach.to - reach.from;
                let part = if whole > 0.0 { (to - from) / whole } else { 1.0 };
                let edge = self.edge(near, far, passes(reach.section, part, to - from));
                pieces.push(Piece { from, to, edge });
                marks.push((to, far));
                from = to;
            }
        }
        if branch.is_none() {
            let ends = [marks.first(), marks.last()].map(|mark| mark.map_or(NONE, |(_, node)| *node));
            self.set_ports(id, ends);
        }
        self.draft.lines.push(Route {
            thing: id,
            branch,
            sections: reaches,
            pieces,
        });
        self.marks.push(marks);
    }

    /// Where something leaves a line or joins it, in order and each place once.
    fn places_on(&self, id: ThingId, branch: Option<u32>) -> Vec<f64> {
        if branch.is_some() {
            return Vec::new();
        }
        let thing = self.office.thing(id);
        let air = &self.networks.air;
        let sides = air
            .leaving(id)
            .map(|link| link.from)
            .chain(air.leading_to(id).map(|link| link.to));
        let taps = sides.filter_map(|side| tap(thing, &side));
        let branches = thing
            .named(Key::Branch)
            .filter_map(|(_, _, fields)| fields.quantity(Key::From))
            .map(|(from, _)| from.si());
        let mut places: Vec<f64> = taps.chain(branches).collect();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|later, first| (*later - *first).abs() <= LEEWAY);
        places
    }

    /// The node at a distance along a line.
    fn mark(&self, id: ThingId, branch: Option<u32>, metres: f64) -> Option<u32> {
        let of_line = |line: &Route| line.thing == id && line.branch == branch;
        let at = self.draft.lines.iter().rposition(of_line)?;
        let marks = self.marks.get(at)?;
        let near = |(place, _): &&(f64, u32)| (place - metres).abs() <= LEEWAY;
        marks.iter().find(near).map(|(_, node)| *node)
    }

    /// The node at one side of a run.
    fn node_of(&self, side: &Side) -> Option<u32> {
        let thing = self.office.thing(side.thing);
        if side.port.role == Role::Tap {
            return self.mark(side.thing, None, tap(thing, side)?);
        }
        let [inlet, outlet] = *self.draft.ports.get(side.thing.0 as usize)?;
        let node = if side.port.role == Role::Outlet { outlet } else { inlet };
        (node != NONE).then_some(node)
    }

    /// The law of what joins the two sides of a link. A run that names neither tube nor bore nor length is a joint.
    fn run(&mut self, link: &office::Link, last_gap: &mut Option<(u32, u32)>) -> Passes {
        let with = &link.with;
        if with.damaged {
            return unread(Some(no_flow()));
        }
        let run = self.office.runs.get(link.run as usize);
        let links = run.map_or(1, |run| run.ends.len().saturating_sub(1) as u32).max(1);
        let length = with.length.as_ref().and_then(|length| Length::of(length.value));
        let bore = with.bore.as_ref().and_then(|bore| Length::of(bore.value));
        let lacks = match (bore, length) {
            (Some(bore), Some(length)) => {
                return Passes::As(Link::Tube(Tube {
                    bore,
                    length: length * f64::from(links).recip(),
                    roughness: Length::from_metres(0.0),
                    usage: no_flow(),
                }));
            }
            (None, None) if with.tube.is_none() => return Passes::As(Link::Fitting),
            (None, None) => "bore and length",
            (None, _) => "bore",
            (_, None) => "length",
        };
        let gap = match last_gap {
            Some((of, gap)) if *of == link.run => Some(*gap),
            _ => {
                let range = run.map_or(link.to.range, |run| run.range);
                let names = [link.from.thing, link.to.thing].map(|id| self.office.name(id));
                let [from, to] = names;
                let gap = self.gap(
                    link.to.thing,
                    range,
                    format!("the {lacks} of the tube from `{from}` to `{to}`"),
                );
                *last_gap = Some((link.run, gap));
                Some(gap)
            }
        };
        Passes::Unknown {
            gap,
            usage: Some(no_flow()),
            resists: true,
        }
    }
}

/// Where a run meets a place of a line, m.
fn tap(thing: &Thing, side: &Side) -> Option<f64> {
    if side.port.role != Role::Tap {
        return None;
    }
    let number = (side.number as usize).checked_sub(1)?;
    let (_, _, fields) = thing.named(Key::Place).nth(number)?;
    Some(fields.quantity(Key::At)?.0.si())
}

fn section_specs(thing: &Thing) -> &'static [FieldSpec] {
    let field = thing
        .kind
        .and_then(|kind| kind.fields.iter().find(|spec| spec.key == Key::Section));
    field.map_or(&[], FieldSpec::inner)
}

/// How air passes what could not be understood.
fn unread(usage: Option<Flow>) -> Passes {
    Passes::Unknown {
        gap: None,
        usage,
        resists: false,
    }
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

fn no_flow() -> Flow {
    Flow::from_cubic_metres_per_second(0.0)
}

/// The branch of a spot as a number.
pub(crate) fn branch_number(office: &Office, spot: &RoutePosition<'_>) -> Option<u32> {
    let thing = office.thing(spot.host);
    let at = thing
        .named(Key::Branch)
        .position(|(name, ..)| Some(name) == spot.branch)?;
    Some(at as u32)
}
