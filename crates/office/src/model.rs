use std::sync::{Arc, OnceLock};

use drysheath_engineering::atmosphere::isa_pressure;
use drysheath_engineering::index::IndexVec;
use drysheath_engineering::index_type;
use drysheath_engineering::measure::{AbsolutePressure, Length};
use drysheath_engineering::standard::KnownStandard;
use drysheath_engineering::units::{Dimension, Quantity, Unit};
use drysheath_syntax::{Medium, PairState};
use drysheath_text::{FileId, Place, TextRange};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::aside::Aside;
use crate::date::Date;
use crate::drawing::Placed;
use crate::graph::{Brought, Terminal};
use crate::kinds::{
    DewPointSurface, HealthyState, Insulation, Key, KeySet, Kind, KindId, Need, Numbering, Port, Role, SignalSource,
    Stage,
};
use crate::numbers::in_row;
use crate::parts::Part;
use crate::problem::Problem;
use crate::unsure::Unsure;
use crate::value::{Field, Fields, Fitting, Given, Value};
use crate::when::When;

index_type! {
    /// A thing of an office, by its number.
    pub struct ThingId;
    /// A run of an office, by its number.
    pub struct RunId;
}

/// A value and the bytes it is written in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spanned<T> {
    /// The value, as it is understood.
    pub value: T,
    /// Where it is written, in the office's file.
    pub range: TextRange,
}

/// What one file says: its office, the things in it, the runs between them.
#[derive(Clone, Debug)]
pub struct Office {
    /// The file that the office is read from.
    pub file: FileId,
    /// The path of that file from the repository's root, without extension.
    pub path: Box<str>,
    /// The text of that file, followed by those of the assemblies that it places and of the routes that it uses.
    pub text: Arc<str>,
    /// Length of the file's own text, in bytes.
    pub(crate) own_length: u32,
    /// The things, in order. The office itself, where the file has one, is among them.
    pub things: IndexVec<ThingId, Thing>,
    /// The things by their kinds, in the order of the file: each rule asks for those of a kind.
    pub(crate) by_kind: Vec<(KindId, ThingId)>,
    /// The thing of each name. Where two have one name it is the first; a word that may be the name of a thing whose
    /// head cannot be read counts too, unless another thing is named so.
    pub(crate) names: FxHashMap<Box<str>, ThingId>,
    /// The office's own entry among the things.
    pub itself: Option<ThingId>,
    /// The runs, in order.
    pub runs: IndexVec<RunId, Run>,
    /// The numbers that are declared spare.
    pub spares: Vec<SpareRange>,
    /// The numbers that are assigned to others or defective, in the order of the file.
    pub stated: Vec<StatedRange>,
    /// The numbers that runs take and that are bunched or tapped, in the order of the file.
    pub wired: Vec<StatedRange>,
    /// What was read on visits, in the order of the file.
    pub readings: Vec<Reading>,
    /// What must hold in other states, in the order of the file.
    pub whens: Vec<When>,
    /// The results that are accepted, in the order of the file.
    pub acceptances: Vec<Acceptance>,
    /// The parts that the file declares.
    pub parts: Vec<Arc<Part>>,
    /// The number of each part among [`Office::parts`], by its name.
    pub(crate) part_names: FxHashMap<Box<str>, usize>,
    /// The paths that the file uses, with their places.
    pub uses: Vec<Spanned<Box<str>>>,
    /// The names of the parts that the file's things have, from any file; each once.
    pub taken: Vec<Box<str>>,
    /// What could not be read or understood, in order.
    pub problems: Vec<Problem>,
    /// What is left out of all that is checked and computed, because of its stage.
    pub aside: Aside,
    /// What may be missing only because it could not be read.
    pub unsure: Unsure,
    /// The conditions at which its repository counts standard volumes.
    pub standard: &'static KnownStandard,
    /// The first statement of a file that draws an assembly or describes a route; none in that of an office.
    pub drawing: Option<TextRange>,
    /// The drawings that are placed in it, in the order of the file.
    pub placed: Vec<Placed>,
    /// The offices that share a route with it, directly or through others, without what is left out of them.
    pub neighbours: Vec<Arc<Office>>,
    /// How many offices at the other end of its routes are left out because they are only planned.
    pub neighbours_planned: u32,
    /// Temperatures of the air in cable, by cable and surroundings, as they were read on the day that is looked at; none for the normal state.
    pub temperatures_of_day: Vec<(Option<ThingId>, Key, Quantity)>,
    /// What something is located at, or an air run names; see [`Office::may_only_carry_pairs`].
    pub(crate) in_air: OnceLock<FxHashSet<ThingId>>,
    /// Offices that share a route with it and are not computed with it, since they cannot be read: the `use` of the route that leads
    /// there, and the path, empty where the route does not say it.
    pub apart: Vec<(TextRange, Box<str>)>,
    /// What the neighbours bring in, in their order, where the office stands for all of them together.
    pub(crate) brought: Vec<Brought>,
}

/// A thing of the office: a dryer, a cable, a monitor, the office itself.
#[derive(Clone, Debug)]
pub struct Thing {
    /// What it is, if that is known.
    pub kind: Option<&'static Kind>,
    /// Its name's place; empty where the name is missing.
    pub name: TextRange,
    /// The bytes of the whole statement.
    pub range: TextRange,
    /// The part it is one of.
    pub part: Option<Arc<Part>>,
    /// The part that its part is of in turn.
    pub base: Option<Arc<Part>>,
    /// Its fields: its own, then those of its part that it does not say itself, then those of that part's.
    pub fields: Vec<Field>,
    /// The names of its fields once all of them are known; until then all names.
    pub(crate) keys: KeySet,
    /// Whether something in it could not be understood: what it lacks proves nothing.
    pub damaged: bool,
}

impl Fields for Thing {
    fn fields(&self) -> &[Field] {
        &self.fields
    }

    fn may_have(&self, key: Key) -> bool {
        self.keys.has(key)
    }
}

impl Thing {
    /// Whether it is of that kind.
    pub fn is(&self, kind: KindId) -> bool {
        self.kind.is_some_and(|own| own.id == kind)
    }

    /// The parts whose fields it takes over, the one that it names first.
    pub fn parts(&self) -> impl Iterator<Item = &Arc<Part>> {
        self.part.iter().chain(&self.base)
    }

    /// Whether its pairs have colours by the code, as all have but those in paper.
    pub fn has_colour_code(&self) -> bool {
        self.choice(Key::Insulation) != Some(Insulation::Paper)
    }

    /// Whether air comes from it.
    pub fn gives_air(&self) -> bool {
        self.kind.is_some_and(Kind::gives_air)
    }

    /// The bytes of a field if it is in the thing's own file, or else the thing's name.
    pub fn place_of(&self, key: Key, file: FileId) -> TextRange {
        match self.field(key) {
            Some(field) if field.place.file == file => field.place.range,
            _ => self.name,
        }
    }
}

/// The numbers that a port has, row by row.
#[derive(Clone, Copy, Debug)]
pub struct Rows<'o> {
    fields: &'o [Field],
    key: Key,
    /// How many there are where no field says it.
    unsaid: u32,
}

impl Rows<'_> {
    /// The first and the last number of each row, in the order of the file.
    pub fn iter(&self) -> impl Iterator<Item = (u32, u32)> {
        let said = self.fields.all(self.key).filter_map(|field| row_of(&field.value));
        said.chain((self.unsaid > 0).then_some((1, self.unsaid)))
    }

    /// How many numbers there are.
    pub fn count(&self) -> u32 {
        self.iter()
            .fold(0, |sum: u32, (first, last)| sum.saturating_add(last - first + 1))
    }

    /// Whether the port has a number.
    pub fn has(&self, number: u32) -> bool {
        self.iter().any(|(first, last)| (first..=last).contains(&number))
    }

    /// Of numbers in a row the first few that the port does not have.
    pub fn lacking(&self, from: u32, to: u32) -> Option<(u32, u32)> {
        let mut next = from;
        while let Some((_, last)) = self.iter().find(|(first, last)| (*first..=*last).contains(&next)) {
            if last >= to {
                return None;
            }
            next = last + 1;
        }
        let until = self.iter().map(|(first, _)| first).filter(|first| *first > next).min();
        Some((next, until.map_or(to, |first| to.min(first - 1))))
    }
}

/// The numbers that one field gives.
fn row_of(value: &Value) -> Option<(u32, u32)> {
    match value {
        Value::Count(count) => Some((1, *count)),
        Value::Numbers(from, to) => Some((*from, *to)),
        _ => None,
    }
}

/// One signal of a thing.
#[derive(Clone, Copy, Debug)]
pub struct Signal<'o> {
    /// The thing that the signal comes from.
    pub thing: ThingId,
    /// The port it comes from.
    pub port: &'static Port,
    /// Number of the named field it comes from, counted among the thing's fields of that name; otherwise 0.
    pub number: u32,
    /// The named field's name; otherwise empty.
    pub name: &'o str,
    /// Its own fields: span, step, limits, healthy.
    pub fields: &'o [Field],
    /// What it measures; a contact measures nothing.
    pub dimension: Option<Dimension>,
    /// What its limits are stated in, of a contact too.
    pub reads: Option<Dimension>,
}

impl Signal<'_> {
    /// The signal as a run names it: its port, and its name if it has one.
    pub fn called(&self) -> String {
        match self.name {
            "" => self.port.word.to_owned(),
            name => format!("{} {name}", self.port.word),
        }
    }
}

/// A run: the ends that one statement joins in one medium.
#[derive(Clone, Debug)]
pub struct Run {
    /// The medium that the run carries.
    pub medium: Medium,
    /// From end to end.
    pub ends: Vec<End>,
    /// The sizes and lengths stated after `with`: those of its first piece.
    pub with: Attributes,
    /// Those of its further pieces, each stated after a `then`, in the direction of the arrow.
    pub then: Vec<Attributes>,
    /// The adapters between its tubes and threads, of an air run.
    pub adapters: Vec<Adapter>,
    /// The bytes of the whole statement.
    pub range: TextRange,
    /// Whether something in it could not be understood.
    pub damaged: bool,
}

impl Run {
    /// What each piece of it is stated to be, in the direction of the arrow.
    pub fn pieces(&self) -> impl DoubleEndedIterator<Item = &Attributes> + Clone {
        std::iter::once(&self.with).chain(&self.then)
    }
}

/// One end of a run.
#[derive(Clone, Copy, Debug)]
pub struct End {
    /// The thing, if its name is known.
    pub thing: Option<ThingId>,
    /// The port, if it is known.
    pub port: Option<&'static Port>,
    /// The numbers after the port, both included. A port without numbers has 0, a port with names the number of the name.
    pub numbers: (u32, u32),
    /// The bytes of the whole end.
    pub range: TextRange,
    /// Port and number where they are written, otherwise the whole end.
    pub detail: TextRange,
    /// The colours that are stated.
    pub colours: Option<TextRange>,
}

/// What stands between a tube and a thread of an air run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Adapter {
    /// The half that meets the thread.
    pub fitting: Spanned<Fitting>,
    /// At which end of the run it is, where that is said.
    pub at: Option<ThingId>,
    /// From its word to the last that is said of it.
    pub range: TextRange,
}

/// What joins the ends of a run, as stated after `with`, or a piece of that, as stated after `then`.
#[derive(Clone, Copy, Debug, Default)]
pub struct Attributes {
    /// Length of the whole run, or of the piece.
    pub length: Option<Spanned<Quantity>>,
    /// Size of the conductor.
    pub gauge: Option<Spanned<Quantity>>,
    /// Fuse, of a power run.
    pub fuse: Option<Spanned<Quantity>>,
    /// Highest current that its conductor may carry as the maker says, of a power run.
    pub limit: Option<Spanned<Quantity>>,
    /// Tube, of an air run.
    pub tube: Option<Spanned<Quantity>>,
    /// Inside diameter of the tube, of an air run.
    pub bore: Option<Spanned<Quantity>>,
    /// Where it says that a reducer joins this piece to the one before it, of an air run.
    pub reducer: Option<TextRange>,
    /// Whether something in them could not be understood: what they lack proves nothing.
    pub damaged: bool,
}

impl Attributes {
    /// From the first to the last that is stated.
    pub fn range(&self) -> Option<TextRange> {
        let quantities = [self.length, self.gauge, self.fuse, self.limit, self.tube, self.bore];
        let ranges = quantities.into_iter().flatten().map(|stated| stated.range);
        ranges.chain(self.reducer).reduce(TextRange::cover)
    }
}

/// Pairs, inputs, positions or ports that are declared spare.
#[derive(Clone, Copy, Debug)]
pub struct SpareRange {
    /// The port and the numbers that are spare.
    pub end: End,
    /// Whether it says `rest` in place of numbers: whatever no other statement uses is spare. The end has no numbers then.
    pub is_rest: bool,
    /// The bytes of the whole statement.
    pub range: TextRange,
    /// Whether no statement says it but a field, as in an earlier language.
    pub is_field: bool,
}

/// Pairs or inputs of which something is said beyond the runs that take them.
#[derive(Clone, Debug)]
pub struct StatedRange {
    /// The port and the numbers that are meant.
    pub end: End,
    /// What is said.
    pub state: PairState,
    /// To whom they are assigned, or why it is so.
    pub text: Box<str>,
    /// The bytes of the whole statement.
    pub range: TextRange,
}

impl StatedRange {
    /// Whether it is about that number of a port.
    pub fn is_about(&self, thing: ThingId, port: &'static Port, number: u32) -> bool {
        let (from, to) = self.end.numbers;
        let is_port = self.end.port.is_some_and(|own| std::ptr::eq(own, port));
        self.end.thing == Some(thing) && is_port && (from..=to).contains(&number)
    }

    /// What is said of them, as it is written: `assigned to "subscribers"`.
    pub fn said(&self) -> String {
        format!("{} {} \"{}\"", self.state.word(), self.state.joint(), self.text)
    }
}

/// What was read on a visit.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// The day on which it was read.
    pub date: Spanned<Date>,
    /// Of what: a signal, a monitor's supply, a cable.
    pub of: End,
    /// The figure that was read.
    pub measured: Measured,
    /// The bytes of the whole statement.
    pub range: TextRange,
}

/// A figure that was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Measured {
    /// The value that a sensor reported.
    Signal(Quantity),
    /// Resistance of a signal's loop.
    Loop(Quantity),
    /// Voltage at a monitor.
    Supply(Quantity),
    /// How fast a closed cable lost its pressure.
    Decay(Decay),
    /// The state that a contact was in.
    State(HealthyState),
    /// Dew point of the air that a dryer delivered, and what it is over.
    DewPoint(Quantity, DewPointSurface),
    /// Pressure by a gauge at a named place of a cable or pipe.
    Gauge(Quantity),
    /// Temperature of the air in cable of these surroundings.
    Temperature(Key, Quantity),
}

/// A decay test: a cable is closed, and its pressure is read twice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decay {
    /// The pressures before and after.
    pub pressures: (Quantity, Quantity),
    /// How long it took.
    pub during: Quantity,
    /// Temperature of the cable before and after, where it was not the same.
    pub temperatures: Option<(Quantity, Quantity)>,
}

/// A result that is accepted, and until when.
#[derive(Clone, Debug, PartialEq)]
pub struct Acceptance {
    /// The name of the rule whose result is accepted.
    pub rule: Spanned<Box<str>>,
    /// The thing it is accepted on.
    pub on: ThingId,
    /// The thing's name as written here.
    pub on_range: TextRange,
    /// The reason that is stated.
    pub because: Box<str>,
    /// The last day it holds.
    pub until: Spanned<Date>,
    /// The bytes of the whole statement.
    pub range: TextRange,
}

impl Office {
    /// The thing of that number. Only the office itself gives out numbers, so that there is one.
    ///
    /// # Panics
    ///
    /// With a number of another office: a mistake in the program, which must not go on with another thing's figures.
    pub fn thing(&self, id: ThingId) -> &Thing {
        &self.things[id]
    }

    /// The thing of that number, to be changed.
    pub(crate) fn thing_mut(&mut self, id: ThingId) -> &mut Thing {
        &mut self.things[id]
    }

    /// The run of that number.
    ///
    /// # Panics
    ///
    /// With a number of another office, as for [`Office::thing`].
    pub fn run(&self, id: RunId) -> &Run {
        &self.runs[id]
    }

    /// The thing of that name.
    pub fn named(&self, name: &str) -> Option<ThingId> {
        self.names.get(name).copied()
    }

    /// The thing that the statement at `range` declares.
    pub fn declared_at(&self, range: TextRange) -> Option<ThingId> {
        let things = self.things.as_slice();
        let at = things.binary_search_by_key(&range, |thing| thing.range).ok()?;
        Some(ThingId::from(at))
    }

    /// The thing whose declaration `range` lies in.
    pub fn thing_around(&self, range: TextRange) -> Option<ThingId> {
        let things = self.things.as_slice();
        let after = things.partition_point(|thing| thing.range.start <= range.start);
        let id = ThingId::from(after.checked_sub(1)?);
        self.thing(id).range.contains(range).then_some(id)
    }

    /// The things with their numbers.
    pub fn things(&self) -> impl Iterator<Item = (ThingId, &Thing)> {
        self.things.enumerated()
    }

    /// The things of a kind, with their numbers.
    pub fn of_kind(&self, kind: KindId) -> impl Iterator<Item = (ThingId, &Thing)> {
        let first = self.by_kind.partition_point(|(own, _)| *own < kind);
        let rest = self.by_kind.get(first..).unwrap_or_default();
        let same = rest.iter().take_while(move |(own, _)| *own == kind);
        same.map(|(_, id)| (*id, self.thing(*id)))
    }

    /// Notes which things are of which kind and have which fields, once all of them are known.
    pub(crate) fn index(&mut self) {
        for thing in &mut self.things {
            thing.keys = thing.fields.iter().map(|field| field.spec.key).collect();
        }
        let known = self.things.enumerated();
        self.by_kind = known.filter_map(|(id, thing)| Some((thing.kind?.id, id))).collect();
        self.by_kind.sort_unstable();
    }

    /// The things that air comes from: dryers and bottles.
    pub fn air_sources(&self) -> impl Iterator<Item = (ThingId, &Thing)> {
        self.things().filter(|(_, thing)| thing.gives_air())
    }

    /// The name of a thing, as it is written.
    pub fn name(&self, id: ThingId) -> &str {
        self.thing(id).name.of(&self.text)
    }

    /// What people call a thing.
    pub fn title(&self, id: ThingId) -> Option<&str> {
        self.thing(id).text(Key::Title)
    }

    /// The name of a thing, and what people call it: `ps1 (101, Harbour Street)`.
    pub fn name_and_title(&self, id: ThingId) -> String {
        let name = self.name(id);
        self.title(id)
            .map_or_else(|| name.to_owned(), |title| format!("{name} ({title})"))
    }

    /// A place in the office's own file.
    pub fn place(&self, range: TextRange) -> Place {
        Place { file: self.file, range }
    }

    /// The office's stage. An office that does not say is taken as installed, so that nothing is overlooked; where it
    /// could not be read, it is taken as planned, which requires the least.
    pub fn stage(&self) -> Stage {
        let Some(itself) = self.itself.map(|id| self.thing(id)) else {
            return Stage::Planned;
        };
        let unsaid = if itself.damaged {
            Stage::Planned
        } else {
            Stage::Installed
        };
        itself.choice(Key::Stage).unwrap_or(unsaid)
    }

    /// Whether the office is only planned.
    pub fn is_planned(&self) -> bool {
        self.stage() == Stage::Planned
    }

    /// Whether any sensor has an address. In hardly any office one has.
    pub fn has_addresses(&self) -> bool {
        self.things().any(|(_, thing)| thing.has(Key::Address))
    }

    /// Pressure of the surrounding air, by ISO 2533 from the office's elevation; at sea level where none is stated.
    pub fn atmosphere(&self) -> AbsolutePressure {
        let elevation = self.itself.and_then(|id| self.thing(id).quantity(Key::Elevation));
        isa_pressure(Length::from_metres(
            elevation.map_or(0.0, |(elevation, _)| elevation.si()),
        ))
    }

    /// A pressure above vacuum, whether it was written so or above the surrounding air.
    pub fn absolute(&self, pressure: Quantity) -> AbsolutePressure {
        let air = if pressure.unit.absolute {
            0.0
        } else {
            self.atmosphere().pascals()
        };
        AbsolutePressure::from_pascals(air + pressure.si())
    }

    /// A quantity of a thing, or the default that the table of kinds has for it.
    pub fn given(&self, id: ThingId, key: Key) -> Option<Given> {
        let thing = self.thing(id);
        let given = thing.given(thing.kind?.fields, key)?;
        Some(match given.place {
            Some(_) => given,
            None => self.counted_by_default(given, key),
        })
    }

    /// The office with the temperatures of the air in cable that were read on a day, there and in the offices that routes join with it. None where
    /// none was.
    pub fn on_day(&self, day: Date) -> Option<Self> {
        let of_day = self.readings.iter().filter(|reading| reading.date.value == day);
        let read = of_day.filter_map(|reading| match reading.measured {
            Measured::Temperature(surroundings, temperature) => Some((reading.of.thing, surroundings, temperature)),
            _ => None,
        });
        let read: Vec<_> = read.collect();
        let others: Vec<Option<Arc<Self>>> = self
            .neighbours
            .iter()
            .map(|other| other.on_day(day).map(Arc::new))
            .collect();
        let is_any = !read.is_empty() || others.iter().any(Option::is_some);
        (is_any && self.temperatures_of_day.is_empty()).then(|| {
            let neighbours = self.neighbours.iter().zip(others);
            let neighbours = neighbours.map(|(declared, of_day)| of_day.unwrap_or_else(|| Arc::clone(declared)));
            Self {
                neighbours: neighbours.collect(),
                temperatures_of_day: read,
                ..self.clone()
            }
        })
    }

    /// The temperature that was read on the day that is looked at of the air in a cable's sections of some surroundings: its own, or else the last
    /// that was read in such surroundings.
    pub fn temperature_of_day(&self, cable: ThingId, surroundings: Key) -> Option<Quantity> {
        let read = || {
            self.temperatures_of_day
                .iter()
                .rev()
                .filter(|(_, key, _)| *key == surroundings)
        };
        let own = read().find(|(of, ..)| *of == Some(cable));
        own.or_else(|| read().next()).map(|(.., temperature)| *temperature)
    }

    /// The power that a thing draws. Of one that states its most current it is that at the low end of its window: it holds its power,
    /// so that it draws most at the lowest voltage.
    pub fn drawn_power(&self, id: ThingId) -> Option<(Quantity, Place)> {
        const DIGITS: i32 = 4;
        let thing = self.thing(id);
        let (drawn, place) = thing.quantity(Key::Draws)?;
        if drawn.dimension() == Dimension::Power {
            return Some((drawn, place));
        }
        let (one, other, _) = thing.range(Key::Window)?;
        let unit = Dimension::Power.units().find(|unit| unit.name == "W")?;
        let value = unit.from_si(drawn.si() * one.si().abs().min(other.si().abs()));
        Some((Quantity { value, unit }.to_digits(DIGITS), place))
    }

    /// A capacity whose conditions are not stated counts as everything in its repository does.
    fn counted_by_default(&self, given: Given, key: Key) -> Given {
        const DIGITS: i32 = 5;
        let own = self.standard.standard;
        let si = match key {
            Key::RatingPressure => own.pressure().pascals(),
            Key::RatingTemperature => own.temperature().kelvins(),
            _ => return given,
        };
        if self.standard == KnownStandard::base() {
            return given;
        }
        let unit = given.quantity.unit;
        let value = unit.from_si(si);
        Given {
            quantity: Quantity { value, unit }.to_digits(DIGITS),
            ..given
        }
    }

    /// A pressure above the surrounding air in Pa, whether it was written so or absolute.
    pub fn gauge_pascals(&self, pressure: Quantity) -> f64 {
        if pressure.unit.absolute {
            pressure.si() - self.atmosphere().pascals()
        } else {
            pressure.si()
        }
    }

    /// The quantity in some unit of a figure as [`Office::figure`] gives it.
    pub fn quantity_of(&self, figure: f64, unit: &'static Unit) -> Quantity {
        let air = if unit.absolute {
            self.atmosphere().pascals()
        } else {
            0.0
        };
        Quantity {
            value: unit.from_si(figure + air),
            unit,
        }
    }

    /// The figure to compare a quantity by: SI, and for a pressure above the surrounding air.
    pub fn figure(&self, quantity: Quantity) -> f64 {
        match quantity.dimension() {
            Dimension::Pressure => self.gauge_pascals(quantity),
            _ => quantity.si(),
        }
    }

    /// The numbers that a thing's port has, where that is known.
    pub fn rows(&self, thing: ThingId, port: &Port) -> Option<Rows<'_>> {
        let thing = self.thing(thing);
        let (Numbering::Count(key) | Numbering::Range(key)) = port.numbering else {
            return None;
        };
        if thing.has(key) {
            // Another row may be among what could not be understood.
            let is_known =
                |field: &Field| row_of(&field.value).is_some_and(|(first, _)| !thing.damaged || in_row(first) == first);
            return thing.all(key).all(is_known).then_some(Rows {
                fields: &thing.fields,
                key,
                unsaid: 0,
            });
        }
        if thing.damaged {
            return None;
        }
        let spec = thing.kind?.field(key.word())?;
        let unsaid = match spec.default {
            Some(default) => default.parse().ok()?,
            None if spec.need == Need::Optional => 0,
            None => return None,
        };
        Some(Rows {
            fields: &[],
            key,
            unsaid,
        })
    }

    /// The signals of a thing, in the order of its ports.
    pub fn signals(&self, id: ThingId) -> Vec<Signal<'_>> {
        let thing = self.thing(id);
        let mut signals = Vec::new();
        for port in thing.kind.map_or(&[][..], |kind| kind.ports) {
            let Role::Signal(kind) = port.role else { continue };
            let signal = |number, name, fields| Signal {
                thing: id,
                port,
                number,
                name,
                fields,
                dimension: kind.dimension,
                reads: kind.reads(),
            };
            match kind.source {
                SignalSource::Own => signals.push(signal(0, "", thing.fields())),
                SignalSource::Group(key) => signals.extend(thing.group(key).map(|fields| signal(0, "", fields))),
                SignalSource::Named(key) => {
                    signals.extend(
                        (1..)
                            .zip(thing.named(key))
                            .map(|(number, (name, _, fields))| signal(number, name, fields)),
                    );
                }
            }
        }
        signals
    }

    /// The signal of a port with a number among those.
    pub fn signal(&self, id: ThingId, port: &Port, number: u32) -> Option<Signal<'_>> {
        let is_it = |signal: &Signal<'_>| std::ptr::eq(signal.port, port) && signal.number == number;
        self.signals(id).into_iter().find(is_it)
    }

    /// What is said of a number of a port that no run may take.
    pub fn stated_at(&self, thing: ThingId, port: &'static Port, number: u32) -> Option<&StatedRange> {
        self.stated.iter().find(|stated| stated.is_about(thing, port, number))
    }

    /// What is said of a number of a port that runs take: that it is bunched, or tapped.
    pub fn wired_at(&self, state: PairState, terminal: &Terminal) -> Option<&StatedRange> {
        let of_state = self.wired.iter().filter(|wired| wired.state == state);
        let Terminal { thing, port, number } = *terminal;
        of_state.into_iter().find(|wired| wired.is_about(thing, port, number))
    }

    /// How many pairs carry together what this one carries: 1 where it is alone.
    pub fn bunched_with(&self, terminal: &Terminal) -> u32 {
        let bunch = self.wired_at(PairState::Bunched, terminal);
        bunch.map_or(1, |bunch| {
            bunch
                .end
                .numbers
                .1
                .saturating_sub(bunch.end.numbers.0)
                .saturating_add(1)
        })
    }

    /// How an end is called in a message: `tb pair 3`, `m1 sensor 2`, `d1 contact humidity`, `r1`.
    pub fn end_name<'o>(&'o self, end: &End) -> &'o str {
        end.range.of(&self.text)
    }
}

impl Value {
    /// Whether nothing follows from it.
    pub fn is_unreadable(&self) -> bool {
        matches!(self, Self::Unreadable)
    }
}
