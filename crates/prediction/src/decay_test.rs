//! The air that a cable lost in a decay test, compared with the declared usage of its sections.

use drysheath_engineering::decay::{ClosedAir, decay_flow};
use drysheath_engineering::measure::{AbsolutePressure, Flow, Pressure, Temperature, Time, Volume};
use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Decay, Field, Fields, Measured, Office, Reading, Thing, ThingId};
use drysheath_text::{Place, TextRange};

use crate::air::{Air, cable_temperature};
use crate::missing_input::{MissingInput, NeededFor};

/// Evaluation of a decay test of a cable.
#[derive(Clone, Copy, Debug)]
pub struct DecayTest {
    /// Flow that left the cable; negative where its pressure rose by more than its temperature explains.
    pub lost: Flow,
    /// Lower bound of `lost`, given that each pressure was read to half a step of its gauge.
    pub least: Flow,
    /// Total usage that its sections, branches included, declare, at the pressure of the test.
    pub declared: Flow,
}

/// Evaluates a decay test of a cable. Where the test states no temperatures, that of the air network is used. `None`
/// where a section does not state its volume or usage, and where the figures cannot be those of a test.
///
/// Usage is declared at the pressure that the cable has in service, and leaks lose more under a higher one: through
/// small leaks the flow is proportional to p² − pₐ² (laminar isothermal flow). So the declared usage of each section is
/// converted to the mean pressure of the test, where the pressure in service is computed.
pub fn decay_test(office: &Office, air: &Air, cable: ThingId, decay: &Decay) -> Option<DecayTest> {
    let thing = office.thing(cable);
    let (start, end) = (office.absolute(decay.pressures.0), office.absolute(decay.pressures.1));
    let mean = f64::midpoint(start.pascals(), end.pascals());
    let mut volume = 0.0;
    let mut declared = Flow::from_cubic_metres_per_second(0.0);
    let mut any = false;
    let branches = (0..)
        .zip(thing.named(Key::Branch))
        .map(|(number, (.., fields))| (Some(number), fields));
    for (branch, fields) in std::iter::once((None, thing.fields())).chain(branches) {
        for (number, (_, _, section)) in (0..).zip(fields.named(Key::Section)) {
            // The temperatures of the test, if it states any, take precedence.
            let own = cable_temperature(office, cable, section).filter(|_| decay.temperatures.is_none());
            let expansion = own.map_or(1.0, |own| air.conditions.temperature.kelvins() / own.kelvins());
            volume += Volume::of(section.quantity(Key::Volume)?.0)?.cubic_metres() * expansion;
            let usage = Flow::of(section.quantity(Key::Usage)?.0)?;
            let in_service = middle_pressure(air, cable, branch, number);
            declared = declared + usage * in_service.map_or(1.0, |gauge| restated(air.conditions.ambient, gauge, mean));
            any = true;
        }
    }
    if thing.damaged || !any {
        return None;
    }
    let (before, after) = match decay.temperatures {
        Some((before, after)) => (Temperature::of(before)?, Temperature::of(after)?),
        None => (air.conditions.temperature, air.conditions.temperature),
    };
    let during = Time::of(decay.during)?;
    let lost = |off: f64| {
        let closed = |pressure: AbsolutePressure, temperature| ClosedAir { pressure, temperature };
        let off = Pressure::from_pascals(off);
        let (start, end) = (closed(start - off, before), closed(end + off, after));
        decay_flow(Volume::from_cubic_metres(volume), start, end, during)
    };
    Some(DecayTest {
        lost: lost(0.0)?,
        least: lost(gauge_step(decay) / 2.0)?,
        declared,
    })
}

/// Gauge pressure in the middle of a section in service.
fn middle_pressure(air: &Air, cable: ThingId, branch: Option<u32>, section: u32) -> Option<Pressure> {
    let mut lines = air.lines().iter();
    let line = lines.find(|line| line.thing == cable && line.branch == branch)?;
    let section = line.sections.iter().find(|found| found.section == section)?;
    air.pressure_along(line, f64::midpoint(section.from, section.to))
}

/// Ratio of the leakage at a mean absolute pressure to that at the gauge pressure in service, for small leaks.
fn restated(ambient: AbsolutePressure, in_service: Pressure, mean: f64) -> f64 {
    let outwards = |pascals: f64| pascals.powi(2) - ambient.pascals().powi(2);
    let service = outwards((ambient + in_service).pascals());
    if service > 0.0 {
        outwards(mean).max(0.0) / service
    } else {
        1.0
    }
}

/// Resolution of the gauge used in a test, Pa: the last digit of the pressure that is written with more decimals.
fn gauge_step(decay: &Decay) -> f64 {
    let step = |read: Quantity| {
        let shown = read.value.to_string();
        let decimals = shown.split_once('.').map_or("", |(_, decimals)| decimals);
        read.unit.to_si(decimals.chars().fold(1.0, |step, _| step / 10.0))
    };
    step(decay.pressures.0).min(step(decay.pressures.1))
}

/// The sections of a cable and of its branches: name, place of the name, and fields.
fn sections(cable: &Thing) -> impl Iterator<Item = (&str, Place, &[Field])> {
    let branches = cable
        .named(Key::Branch)
        .flat_map(|(.., fields)| fields.named(Key::Section));
    cable.named(Key::Section).chain(branches)
}

/// Reports missing volumes of sections of cables that were tested.
pub(crate) fn volumes_missing(office: &Office, missing: &mut Vec<MissingInput>) {
    let tested = |reading: &Reading| matches!(reading.measured, Measured::Decay(_)).then_some(reading.of.thing?);
    let mut cables: Vec<ThingId> = office.readings.iter().filter_map(tested).collect();
    cables.sort_unstable();
    cables.dedup();
    for cable in cables {
        let thing = office.thing(cable);
        if thing.damaged || !thing.is(KindId::Cable) {
            continue;
        }
        for (name, place, section) in sections(thing) {
            if !section.has(Key::Volume) {
                missing.push(MissingInput {
                    on: cable,
                    range: here(office, thing, place),
                    what: format!("the volume of section `{name}` of `{}`", office.name(cable)),
                    needed_for: NeededFor::Decay,
                });
            }
        }
    }
}

/// The place if it is in the office's own file, or else the thing's name.
fn here(office: &Office, thing: &Thing, place: Place) -> TextRange {
    if place.file == office.file {
        place.range
    } else {
        thing.name
    }
}
