use std::sync::{Arc, OnceLock};

use drysheath_engineering::atmosphere::isa_pressure;
use drysheath_engineering::index::IndexVec;
use drysheath_engineering::index_type;
use drysheath_engineering::measure::{AbsolutePressure, Length};
use drysheath_engineering::standard::NamedStandardConditions;
use drysheath_engineering::units::{Dimension, Quantity, Unit};
use drysheath_syntax::{Medium, PairState};
use drysheath_text::{FileId, Place, TextRange};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::date::Date;
use crate::drawing::PlacedDrawing;
use crate::excluded::Excluded;
use crate::graph::{ImportedOffice, Terminal};
use crate::kinds::{
    DewPointSurface, HealthyState, Insulation, Key, KeySet, Kind, KindId, Need, Numbering, Port, Role, SignalSource,
    Stage,
};
use crate::numbers::in_row;
use crate::parts::Part;
use crate::problem::Problem;
use crate::unsure::Unsure;
use crate::value::{Field, Fields, Fitting, GivenQuantity, Value};
use crate::when::{UnreadWhen, When};

index_type! {
    /// Index of a thing of an office.
    pub struct ThingId;
    /// Index of a run of an office.
    pub struct RunId;
}

/// A value with its place in the text.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spanned<T> {
    /// The value, as parsed.
    pub value: T,
    /// Range in the office's text.
    pub range: TextRange,
}

/// The contents of a file: its office, the things in it, the runs between them.
#[derive(Clone, Debug)]
pub struct Office {
    /// The file that the office is read from.
    pub file: FileId,
    /// Path of that file from the repository's root, without extension.
    pub path: Box<str>,
    /// Text of that file, followed by those of placed assemblies and used routes.
    pub text: Arc<str>,
    /// Length of the file's own text in bytes.
    pub(crate) own_length: u32,
    /// The things, in order, including the office itself if the file has one.
    pub things: IndexVec<ThingId, Thing>,
    /// The things sorted by kind, then by order in the file: each rule looks up those of a kind.
    pub(crate) by_kind: Vec<(KindId, ThingId)>,
    /// The thing with each name; the first one, if two have the same. Includes words that may be the name of a thing
    /// whose head cannot be read, unless another thing has that name.
    pub(crate) names: FxHashMap<Box<str>, ThingId>,
    /// The office's own entry among the things.
    pub itself: Option<ThingId>,
    /// The runs, in order.
    pub runs: IndexVec<RunId, Run>,
    /// Ranges of numbers that `spare` statements declare.
    pub spares: Vec<SpareRange>,
    /// Numbers declared assigned or defective, in the order of the file.
    pub stated: Vec<StatedRange>,
    /// Numbers used by runs and declared bunched or tapped, in the order of the file.
    pub wired: Vec<StatedRange>,
    /// Readings, in the order of the file.
    pub readings: Vec<Reading>,
    /// Expectations for other states, in the order of the file.
    pub whens: Vec<When>,
    /// Those of which not everything is known, in the order of the file.
    pub unread_whens: Vec<UnreadWhen>,
    /// Acceptances, in the order of the file.
    pub acceptances: Vec<Acceptance>,
    /// The parts that the file declares.
    pub parts: Vec<Arc<Part>>,
    /// Index of each part in [`Office::parts`], by name.
    pub(crate) part_names: FxHashMap<Box<str>, usize>,
    /// The paths that the file uses, with their places.
    pub uses: Vec<Spanned<Box<str>>>,
    /// Names of the parts that the file's things use, from any file, without duplicates.
    pub taken: Vec<Box<str>>,
    /// Problems in the text, in order.
    pub problems: Vec<Problem>,
    /// Things excluded from checks and computations because of their stage.
    pub excluded: Excluded,
    /// Content that may seem missing only because it could not be read.
    pub unsure: Unsure,
    /// The standard conditions of its repository.
    pub standard: &'static NamedStandardConditions,
    /// The first statement of a file that draws an assembly or describes a route. `None` for an office.
    pub drawing: Option<TextRange>,
    /// The drawings that are placed in it, in the order of the file.
    pub placed: Vec<PlacedDrawing>,
    /// The offices that share a route with it, directly or through others, without the things excluded from them.
    pub neighbours: Vec<Arc<Office>>,
    /// Number of offices at the other end of its routes that are excluded because they are only planned.
    pub neighbours_planned: u32,
    /// Temperatures of the air in cable, by cable and surroundings, as read on the day being computed; empty for the
    /// normal state.
    pub temperatures_of_day: Vec<(Option<ThingId>, Key, Quantity)>,
    /// Cache for [`Office::may_only_carry_pairs`]: things that something is located on, or that an air run names.
    pub(crate) in_air: OnceLock<FxHashSet<ThingId>>,
    /// Offices that share a route with it but cannot be computed with it, since they are unreadable: the `use` of the
    /// route that leads there, and the path, empty where the route does not state it.
    pub apart: Vec<(TextRange, Box<str>)>,
    /// In an office merged with its neighbours, what each of them contributes, in their order.
    pub(crate) imported: Vec<ImportedOffice>,
}

/// A thing of the office: a dryer, a cable, a monitor, the office itself.
#[derive(Clone, Debug)]
pub struct Thing {
    /// What the thing is. `None` if its word is no kind of the language.
    pub kind: Option<&'static Kind>,
    /// Place of its name; empty if the name is missing.
    pub name: TextRange,
    /// Range of the whole statement.
    pub range: TextRange,
    /// The part that it uses.
    pub part: Option<Arc<Part>>,
    /// The base part of its part.
    pub base: Option<Arc<Part>>,
    /// Fields: its own, then inherited ones of its part, then those of the base part.
    pub fields: Vec<Field>,
    /// The names of its fields once all are known; before that all names.
    pub(crate) keys: KeySet,
    /// Whether something in it could not be understood, so that it may state what seems to be missing.
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
    /// Whether it is of this kind.
    pub fn is(&self, kind: KindId) -> bool {
        self.kind.is_some_and(|own| own.id == kind)
    }

    /// The parts from which it inherits fields, the one that it names first.
    pub fn parts(&self) -> impl Iterator<Item = &Arc<Part>> {
        self.part.iter().chain(&self.base)
    }

    /// Whether its pairs are coloured by the code; all are except paper-insulated ones.
    pub fn has_colour_code(&self) -> bool {
        self.choice(Key::Insulation) != Some(Insulation::Paper)
    }

    /// Whether it is a source of air.
    pub fn gives_air(&self) -> bool {
        self.kind.is_some_and(Kind::gives_air)
    }

    /// Place of a field in the thing's own file, or else the thing's name.
    pub fn place_of(&self, key: Key, file: FileId) -> TextRange {
        match self.field(key) {
            Some(field) if field.place.file == file => field.place.range,
            _ => self.name,
        }
    }
}

/// The numbers of a port, by row.
#[derive(Clone, Copy, Debug)]
pub struct Rows<'o> {
    fields: &'o [Field],
    key: Key,
    /// Default count where no field states one.
    unsaid: u32,
}

impl Rows<'_> {
    /// First and last number of each row, in the order of the file.
    pub fn iter(&self) -> impl Iterator<Item = (u32, u32)> {
        let said = self.fields.all(self.key).filter_map(|field| row_of(&field.value));
        said.chain((self.unsaid > 0).then_some((1, self.unsaid)))
    }

    /// Total number of numbers.
    pub fn count(&self) -> u32 {
        self.iter()
            .fold(0, |sum: u32, (first, last)| sum.saturating_add(last - first + 1))
    }

    /// Whether the port has a number.
    pub fn has(&self, number: u32) -> bool {
        self.iter().any(|(first, last)| (first..=last).contains(&number))
    }

    /// The first few numbers of a range that the port does not have. `None` if it has all.
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

/// The numbers that a field states.
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
    /// Port that the signal comes from.
    pub port: &'static Port,
    /// Index of its named field, from 1, among the thing's fields of that name; 0 without a named field.
    pub number: u32,
    /// Name of the named field; empty without one.
    pub name: &'o str,
    /// Fields of the signal itself: span, step, limits, healthy.
    pub fields: &'o [Field],
    /// The quantity that it measures. `None` for a contact.
    pub dimension: Option<Dimension>,
    /// Dimension of its limits, also of a contact.
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
    /// The ends in order.
    pub ends: Vec<End>,
    /// Attributes after `with`: those of the first piece.
    pub with: Attributes,
    /// Attributes after each `then`: those of the further pieces, in the direction of the arrow.
    pub then: Vec<Attributes>,
    /// Adapters between tubes and threads of an air run.
    pub adapters: Vec<Adapter>,
    /// Range of the whole statement.
    pub range: TextRange,
    /// Whether something in it could not be understood.
    pub damaged: bool,
}

impl Run {
    /// The attributes of each piece, in the direction of the arrow.
    pub fn pieces(&self) -> impl DoubleEndedIterator<Item = &Attributes> + Clone {
        std::iter::once(&self.with).chain(&self.then)
    }
}

/// One end of a run.
#[derive(Clone, Copy, Debug)]
pub struct End {
    /// The thing. `None` if its name is not known.
    pub thing: Option<ThingId>,
    /// The port. `None` if it is not known.
    pub port: Option<&'static Port>,
    /// First and last number after the port. 0 for a port without numbers, the index of the name for a port with names.
    pub numbers: (u32, u32),
    /// Range of the whole end.
    pub range: TextRange,
    /// Range of port and number if written, otherwise of the whole end.
    pub detail: TextRange,
    /// Range of the colours, if stated.
    pub colours: Option<TextRange>,
}

/// An adapter between a tube and a thread of an air run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Adapter {
    /// The half on the side of the thread.
    pub fitting: Spanned<Fitting>,
    /// The end of the run that it is at, if stated.
    pub at: Option<ThingId>,
    /// Range from its first to its last word.
    pub range: TextRange,
}

/// Attributes of a run as stated after `with`, or of a piece of it as stated after `then`.
#[derive(Clone, Copy, Debug, Default)]
pub struct Attributes {
    /// Length of the whole run, or of the piece.
    pub length: Option<Spanned<Quantity>>,
    /// Size of the conductor.
    pub gauge: Option<Spanned<Quantity>>,
    /// Fuse, of a power run.
    pub fuse: Option<Spanned<Quantity>>,
    /// Highest current of the conductor of a power run, as stated by its maker.
    pub limit: Option<Spanned<Quantity>>,
    /// Tube, of an air run.
    pub tube: Option<Spanned<Quantity>>,
    /// Inside diameter of the tube, of an air run.
    pub bore: Option<Spanned<Quantity>>,
    /// Where a reducer between this piece and the one before it is stated, for an air run.
    pub reducer: Option<TextRange>,
    /// Whether something in them could not be understood, so that they may state what seems to be missing.
    pub damaged: bool,
}

impl Attributes {
    /// Range from the first to the last attribute.
    pub fn range(&self) -> Option<TextRange> {
        let quantities = [self.length, self.gauge, self.fuse, self.limit, self.tube, self.bore];
        let ranges = quantities.into_iter().flatten().map(|stated| stated.range);
        ranges.chain(self.reducer).reduce(TextRange::cover)
    }
}

/// Numbers declared spare: pairs, inputs, positions or ports.
#[derive(Clone, Copy, Debug)]
pub struct SpareRange {
    /// Port and numbers that are spare.
    pub end: End,
    /// Whether `rest` is written in place of numbers: everything that no other statement uses is spare. The end has no
    /// numbers then.
    pub is_rest: bool,
    /// Range of the whole statement.
    pub range: TextRange,
    /// Whether it is declared by a field of an earlier language rather than by a statement.
    pub is_field: bool,
}

/// Pairs or inputs with a declared state besides the runs that use them.
#[derive(Clone, Debug)]
pub struct StatedRange {
    /// Port and numbers of the pairs.
    pub end: End,
    /// State that the statement declares for them.
    pub state: PairState,
    /// To whom they are assigned, or the reason for the state.
    pub text: Box<str>,
    /// Range of the whole statement.
    pub range: TextRange,
}

impl StatedRange {
    /// Whether it covers a number of a port.
    pub fn is_about(&self, thing: ThingId, port: &'static Port, number: u32) -> bool {
        let (from, to) = self.end.numbers;
        let is_port = self.end.port.is_some_and(|own| std::ptr::eq(own, port));
        self.end.thing == Some(thing) && is_port && (from..=to).contains(&number)
    }

    /// The declaration as written: `assigned to "subscribers"`.
    pub fn said(&self) -> String {
        format!("{} {} \"{}\"", self.state.word(), self.state.joint(), self.text)
    }
}

/// A reading noted on a visit.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// The date of the reading.
    pub date: Spanned<Date>,
    /// Subject of the reading: a signal, a monitor's supply, a cable.
    pub of: End,
    /// The figure that was read.
    pub measured: Measured,
    /// Range of the whole statement.
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
    /// A decay test of a closed cable.
    Decay(Decay),
    /// State of a contact.
    State(HealthyState),
    /// Dew point of the air that a dryer delivered, and its reference surface.
    DewPoint(Quantity, DewPointSurface),
    /// Pressure by a gauge at a named place of a cable or pipe.
    Gauge(Quantity),
    /// Temperature of the air in cable of these surroundings.
    Temperature(Key, Quantity),
}

/// A decay test: a cable is closed off, and its pressure is read twice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decay {
    /// The pressures before and after.
    pub pressures: (Quantity, Quantity),
    /// Duration of the test.
    pub during: Quantity,
    /// Temperature of the cable before and after, if stated.
    pub temperatures: Option<(Quantity, Quantity)>,
}

/// A result that is accepted until a date.
#[derive(Clone, Debug, PartialEq)]
pub struct Acceptance {
    /// Name of the rule.
    pub rule: Spanned<Box<str>>,
    /// The thing that it is accepted on.
    pub on: ThingId,
    /// Place of the thing's name in the statement.
    pub on_range: TextRange,
    /// The reason that is stated.
    pub because: Box<str>,
    /// The last day of the acceptance.
    pub until: Spanned<Date>,
    /// Range of the whole statement.
    pub range: TextRange,
}

impl Office {
    /// The thing with this id. Only the office itself creates ids, so the thing exists.
    ///
    /// # Panics
    ///
    /// If the id belongs to another office: a mistake in the program, which must not continue with the figures of
    /// another thing.
    pub fn thing(&self, id: ThingId) -> &Thing {
        &self.things[id]
    }

    pub(crate) fn thing_mut(&mut self, id: ThingId) -> &mut Thing {
        &mut self.things[id]
    }

    /// The run with this id.
    ///
    /// # Panics
    ///
    /// If the id belongs to another office, as for [`Office::thing`].
    pub fn run(&self, id: RunId) -> &Run {
        &self.runs[id]
    }

    /// The thing with this name.
    pub fn named(&self, name: &str) -> Option<ThingId> {
        self.names.get(name).copied()
    }

    /// The thing that the statement at `range` declares.
    pub fn declared_at(&self, range: TextRange) -> Option<ThingId> {
        let things = self.things.as_slice();
        let at = things.binary_search_by_key(&range, |thing| thing.range).ok()?;
        Some(ThingId::from(at))
    }

    /// The thing whose declaration contains `range`.
    pub fn thing_around(&self, range: TextRange) -> Option<ThingId> {
        let things = self.things.as_slice();
        let after = things.partition_point(|thing| thing.range.start <= range.start);
        let id = ThingId::from(after.checked_sub(1)?);
        self.thing(id).range.contains(range).then_some(id)
    }

    /// The things with their ids.
    pub fn things(&self) -> impl Iterator<Item = (ThingId, &Thing)> {
        self.things.enumerated()
    }

    /// The things of a kind with their ids.
    pub fn of_kind(&self, kind: KindId) -> impl Iterator<Item = (ThingId, &Thing)> {
        let first = self.by_kind.partition_point(|(own, _)| *own < kind);
        let rest = self.by_kind.get(first..).unwrap_or_default();
        let same = rest.iter().take_while(move |(own, _)| *own == kind);
        same.map(|(_, id)| (*id, self.thing(*id)))
    }

    /// Builds the indices by kind and field name, once all things are known.
    pub(crate) fn index(&mut self) {
        for thing in &mut self.things {
            thing.keys = thing.fields.iter().map(|field| field.spec.key).collect();
        }
        let known = self.things.enumerated();
        self.by_kind = known.filter_map(|(id, thing)| Some((thing.kind?.id, id))).collect();
        self.by_kind.sort_unstable();
    }

    /// The sources of air: dryers and bottles.
    pub fn air_sources(&self) -> impl Iterator<Item = (ThingId, &Thing)> {
        self.things().filter(|(_, thing)| thing.gives_air())
    }

    /// Name of a thing as written.
    pub fn name(&self, id: ThingId) -> &str {
        self.thing(id).name.of(&self.text)
    }

    /// Title of a thing.
    pub fn title(&self, id: ThingId) -> Option<&str> {
        self.thing(id).text(Key::Title)
    }

    /// Name of a thing with its title: `ps1 (101, Harbour Street)`.
    pub fn name_and_title(&self, id: ThingId) -> String {
        let name = self.name(id);
        self.title(id)
            .map_or_else(|| name.to_owned(), |title| format!("{name} ({title})"))
    }

    /// A place in the office's own file.
    pub fn place(&self, range: TextRange) -> Place {
        Place { file: self.file, range }
    }

    /// The office's stage. An office that states none counts as installed, so that nothing is overlooked; an unreadable
    /// one counts as planned, which requires the least.
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

    /// Whether any sensor has an address. Hardly any office has one.
    pub fn has_addresses(&self) -> bool {
        self.things().any(|(_, thing)| thing.has(Key::Address))
    }

    /// Ambient pressure by ISO 2533 at the office's elevation; at sea level if none is stated.
    pub fn atmosphere(&self) -> AbsolutePressure {
        let elevation = self.itself.and_then(|id| self.thing(id).quantity(Key::Elevation));
        isa_pressure(Length::from_metres(
            elevation.map_or(0.0, |(elevation, _)| elevation.si()),
        ))
    }

    /// A pressure, written as gauge or absolute, as absolute pressure.
    pub fn absolute(&self, pressure: Quantity) -> AbsolutePressure {
        let air = if pressure.unit.absolute {
            0.0
        } else {
            self.atmosphere().pascals()
        };
        AbsolutePressure::from_pascals(air + pressure.si())
    }

    /// A quantity of a thing, or its default in the table of kinds.
    pub fn given(&self, id: ThingId, key: Key) -> Option<GivenQuantity> {
        let thing = self.thing(id);
        let given = thing.given(thing.kind?.fields, key)?;
        Some(match given.place {
            Some(_) => given,
            None => self.counted_by_default(given, key),
        })
    }

    /// The office with the temperatures of the air in cable that were read on a day, here and in neighbouring offices.
    /// `None` where none was read.
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

    /// Temperature of the air in a cable's sections in some surroundings, as read on the day being computed: that of
    /// the cable, or else the last one read in such surroundings.
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

    /// Power of a thing. If it states its highest current, the power is that current at the low end of its window: a
    /// constant-power load draws most at the lowest voltage.
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

    /// A capacity without stated conditions uses the repository's standard conditions.
    fn counted_by_default(&self, given: GivenQuantity, key: Key) -> GivenQuantity {
        const DIGITS: i32 = 5;
        let own = self.standard.standard;
        let si = match key {
            Key::RatingPressure => own.pressure().pascals(),
            Key::RatingTemperature => own.temperature().kelvins(),
            _ => return given,
        };
        if self.standard == NamedStandardConditions::base() {
            return given;
        }
        let unit = given.quantity.unit;
        let value = unit.from_si(si);
        GivenQuantity {
            quantity: Quantity { value, unit }.to_digits(DIGITS),
            ..given
        }
    }

    /// A pressure, written as gauge or absolute, in Pa gauge.
    pub fn gauge_pascals(&self, pressure: Quantity) -> f64 {
        if pressure.unit.absolute {
            pressure.si() - self.atmosphere().pascals()
        } else {
            pressure.si()
        }
    }

    /// Converts a figure of [`Office::figure`] to a quantity in some unit.
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

    /// The value of a quantity for comparisons: in SI, pressures as gauge.
    pub fn figure(&self, quantity: Quantity) -> f64 {
        match quantity.dimension() {
            Dimension::Pressure => self.gauge_pascals(quantity),
            _ => quantity.si(),
        }
    }

    /// The numbers of a thing's port. `None` where they are not known.
    pub fn rows(&self, thing: ThingId, port: &Port) -> Option<Rows<'_>> {
        let thing = self.thing(thing);
        let (Numbering::Count(key) | Numbering::Range(key)) = port.numbering else {
            return None;
        };
        if thing.has(key) {
            // Unreadable text may contain another row.
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

    /// The declaration that a number used by runs is bunched or tapped.
    pub fn wired_at(&self, state: PairState, terminal: &Terminal) -> Option<&StatedRange> {
        let of_state = self.wired.iter().filter(|wired| wired.state == state);
        let Terminal { thing, port, number } = *terminal;
        of_state.into_iter().find(|wired| wired.is_about(thing, port, number))
    }

    /// Number of pairs that carry the same signal in parallel: 1 for a single pair.
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

    /// Name of an end in messages: `tb pair 3`, `m1 sensor 2`, `d1 contact humidity`, `r1`.
    pub fn end_name<'o>(&'o self, end: &End) -> &'o str {
        end.range.of(&self.text)
    }
}

impl Value {
    /// Whether the value could not be understood.
    pub fn is_unreadable(&self) -> bool {
        matches!(self, Self::Unreadable)
    }
}
