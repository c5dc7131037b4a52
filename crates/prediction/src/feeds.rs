//! The voltage at each load: from the battery at its end of discharge through every conductor on the way, at the
//! hottest that the wires get.
//!
//! What a run states after `with` holds for its last part, the one that ends at the load or at the panel. A panel's
//! supply is therefore known only where a run of its own leads to the panel. The loads behind one supply lower each
//! other's voltage, so that one unknown among them leaves all of them unknown. Contacts and fuses have no resistance
//! here.
//!
//! Whether a voltage suffices is judged by the rules.

mod shared_supply;
mod supplies;

use drysheath_engineering::feeds::{ReceivingEnd, VoltageCollapse};
use drysheath_engineering::measure::{ConductorArea, Length, Power, Resistance, Temperature};
use drysheath_engineering::units::Quantity;
use drysheath_engineering::wire;
use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Attributes, Fields, GivenQuantity, Link, Networks, Office, ThingId};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;
use rustc_hash::FxHashSet;

use crate::{MissingInput, NeededFor};
use supplies::{Source, Supplies};

/// The feed of a load over one of its runs, and what arrives. A load with several runs has a feed for each, computed as
/// if the others were dead.
#[derive(Clone, Debug)]
pub struct Feed {
    /// The load that is fed.
    pub load: ThingId,
    /// The battery at the other end of the feed.
    pub battery: ThingId,
    /// The battery's voltage at its end of discharge: the end of `working` that is nearer to zero, with its sign.
    pub source: GivenQuantity,
    /// The load's power and its place.
    pub draws: GivenQuantity,
    /// The temperature of the conductors.
    pub temperature: GivenQuantity,
    /// The conductors from the battery to the load: each piece of a run that consists of several is one.
    pub conductors: Vec<Conductor>,
    /// Resistance of all conductors, there and back.
    pub total: Resistance,
    /// The voltage and current at the load, or why the load cannot run. Where a load brings its feed down, the loads
    /// that share a supply with it have no voltage of their own either and are left out.
    pub receiving_end: Result<ReceivingEnd, VoltageCollapse>,
}

impl Feed {
    /// The power that the load draws.
    pub fn power(&self) -> Power {
        Power::from_watts(self.draws.quantity.si())
    }
}

/// A part of a feed with the same wire throughout.
#[derive(Clone, Copy, Debug)]
pub struct Conductor {
    /// Start: the battery or a panel.
    pub from: ThingId,
    /// End: a panel or the load.
    pub to: ThingId,
    /// Cross-section of one conductor, as the run states it.
    pub gauge: Quantity,
    /// Length of the run; supply and return together have twice that.
    pub length: Quantity,
    /// Where the run states both.
    pub place: TextRange,
    /// Resistance there and back, at the feed's temperature.
    pub resistance: Resistance,
    /// Number of loads that draw through it.
    pub shared_by: u32,
}

/// The feeds of all loads, in the order of the runs that lead to them, as far as the file states enough. Missing inputs
/// are appended to `missing`. Nothing is reported missing for a load without a battery, or where damaged text may state
/// it.
pub fn feeds(office: &Office, networks: &Networks, missing: &mut Vec<MissingInput>) -> Vec<Feed> {
    let mut loads = loads(networks).peekable();
    if loads.peek().is_none() || office.unsure.about(Medium::Power) {
        return Vec::new();
    }
    let Some(temperature) = stated_temperature(office, Key::HottestWire) else {
        return Vec::new();
    };
    let mut survey = FeedSurvey {
        office,
        temperature,
        undrawn: FxHashSet::default(),
        missing,
    };
    let mut supplies = Supplies::default();
    let mut leaves = Vec::new();
    for link in loads {
        if let Some(source) = supplies.source_of(&mut survey, networks, link) {
            leaves.push(survey.feed_end(link, source));
        }
    }
    shared_supply::feeds(&supplies, &leaves, temperature)
}

/// The links that end at a load, with a battery or a fuse before it.
fn loads(networks: &Networks) -> impl Iterator<Item = &Link> {
    networks
        .power
        .iter()
        .filter(|link| link.to.port.role == Role::Load && matches!(link.from.port.role, Role::Battery | Role::Fuse))
}

/// A temperature that the office states, or the language's default. `None` where it may be in damaged text, and in a
/// file without an office, in which nothing is joined.
pub(crate) fn stated_temperature(office: &Office, key: Key) -> Option<GivenQuantity> {
    let id = office.itself?;
    let itself = office.thing(id);
    let may_be_unread = itself.damaged && !itself.has(key);
    office.given(id, key).filter(|_| !may_be_unread)
}

/// The pieces of conductor of one run, from the battery's side on.
#[derive(Clone, Debug)]
struct ConductorRun(Vec<Conductor>);

impl ConductorRun {
    fn resistance(&self) -> Resistance {
        self.0.iter().map(|piece| piece.resistance).sum()
    }

    fn shared_by(&self, loads: u32) -> impl Iterator<Item = Conductor> {
        self.0.iter().map(move |piece| Conductor {
            shared_by: loads,
            ..*piece
        })
    }
}

/// The end of a feed: a load and the run that leads to it.
struct FeedEnd {
    load: ThingId,
    source: Source,
    draws: Option<GivenQuantity>,
    conductor: Option<ConductorRun>,
}

/// Collects what runs and things state, and reports what they lack.
struct FeedSurvey<'o, 'g> {
    office: &'o Office,
    temperature: GivenQuantity,
    /// Loads already reported for stating no power.
    undrawn: FxHashSet<ThingId>,
    missing: &'g mut Vec<MissingInput>,
}

impl FeedSurvey<'_, '_> {
    fn feed_end(&mut self, link: &Link, source: Source) -> FeedEnd {
        let load = link.to.thing;
        FeedEnd {
            load,
            source,
            draws: self.draws(load),
            conductor: self.own_conductor(link, load),
        }
    }

    fn draws(&mut self, load: ThingId) -> Option<GivenQuantity> {
        let thing = Some(self.office.thing(load)).filter(|thing| !thing.damaged)?;
        if let Some((quantity, place)) = self.office.drawn_power(load) {
            return Some(GivenQuantity {
                quantity,
                place: Some(place),
            });
        }
        if !thing.has(Key::Draws) && self.undrawn.insert(load) {
            let what = format!("the power that `{}` draws", self.office.name(load));
            self.note(load, thing.name, what);
        }
        None
    }

    /// Voltage of a battery at its end of discharge.
    fn voltage(&mut self, battery: ThingId) -> Option<GivenQuantity> {
        let thing = Some(self.office.thing(battery)).filter(|thing| !thing.damaged)?;
        if let Some((one, other, place)) = thing.range(Key::Working) {
            let nearer = one.si().abs() <= other.si().abs();
            return Some(GivenQuantity {
                quantity: if nearer { one } else { other },
                place: Some(place),
            });
        }
        if !thing.has(Key::Working) {
            let what = format!("the working voltage of `{}`", self.office.name(battery));
            self.note(battery, thing.name, what);
        }
        None
    }

    /// The conductor of a link, where its run states size and length. Missing figures are reported on `on`; a load in
    /// the middle of a run is reported by a rule.
    fn own_conductor(&mut self, link: &Link, on: ThingId) -> Option<ConductorRun> {
        if !link.is_last(self.office) {
            return None;
        }
        let conductor = self.stated(link);
        if conductor.is_none() && !link.is_unread(self.office) {
            self.lacking(link, on, self.office.run(link.run).range);
        }
        conductor
    }

    fn stated(&self, link: &Link) -> Option<ConductorRun> {
        let pieces: Option<_> = link.pieces(self.office).map(|piece| self.piece(link, piece)).collect();
        pieces.map(ConductorRun)
    }

    fn piece(&self, link: &Link, piece: &Attributes) -> Option<Conductor> {
        let (gauge, length) = piece.gauge.zip(piece.length)?;
        let stretch = wire::WireSegment {
            area: ConductorArea::of(gauge.value)?,
            length: Length::of(length.value)?,
        };
        let temperature = Temperature::of(self.temperature.quantity)?;
        Some(Conductor {
            from: link.from.thing,
            to: link.to.thing,
            gauge: gauge.value,
            length: length.value,
            place: gauge.range.cover(length.range),
            resistance: wire::loop_resistance([stretch], temperature),
            shared_by: 1,
        })
    }

    /// Reports that a conductor's size or length is missing. Both are missing where other parts of the run follow this
    /// one.
    fn lacking(&mut self, link: &Link, on: ThingId, range: TextRange) {
        let own = link.is_last(self.office).then(|| link.unsized_pieces(self.office));
        let what = own.flatten().unwrap_or_else(|| "wire size and length".to_owned());
        let (from, to) = (self.office.name(link.from.thing), self.office.name(link.to.thing));
        let what = format!("the {what} of the run from `{from}` to `{to}`");
        self.note(on, range, what);
    }

    fn note(&mut self, on: ThingId, range: TextRange, what: String) {
        self.missing.push(MissingInput {
            on,
            range,
            what,
            needed_for: NeededFor::Voltage,
        });
    }
}
