//! What a cable lost when it was closed for a decay test, and what its sections declare.

use drysheath_engineering::decay::{ClosedAir, decay_flow};
use drysheath_engineering::measure::{Flow, Temperature, Time, Volume};
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Decay, Field, Fields, Measured, Office, Reading, Thing, ThingId};
use drysheath_text::{Place, TextRange};

use crate::missing_input::{MissingInput, NeededFor};

/// What a decay test says of a cable.
#[derive(Clone, Copy, Debug)]
pub struct DecayTest {
    /// What left the cable; negative where its pressure rose by more than its temperature explains.
    pub lost: Flow,
    /// What its sections and those of its branches declare that they use.
    pub declared: Flow,
}

/// Evaluates a decay test of a cable. `temperature` is that of the air where the test names none. None where a section does not
/// say its volume or usage, and where the figures are no test.
pub fn decay_test(office: &Office, cable: ThingId, decay: &Decay, temperature: Temperature) -> Option<DecayTest> {
    let thing = office.thing(cable);
    let mut volume = 0.0;
    let mut declared = Flow::from_cubic_metres_per_second(0.0);
    let mut any = false;
    for (_, _, section) in sections(thing) {
        volume += Volume::of(section.quantity(Key::Volume)?.0)?.cubic_metres();
        declared = declared + Flow::of(section.quantity(Key::Usage)?.0)?;
        any = true;
    }
    if thing.damaged || !any {
        return None;
    }
    let air = |pressure, temperature| ClosedAir {
        pressure: office.absolute(pressure),
        temperature,
    };
    let (before, after) = match decay.temperatures {
        Some((before, after)) => (Temperature::of(before)?, Temperature::of(after)?),
        None => (temperature, temperature),
    };
    let lost = decay_flow(
        Volume::from_cubic_metres(volume),
        air(decay.pressures.0, before),
        air(decay.pressures.1, after),
        Time::of(decay.during)?,
    )?;
    Some(DecayTest { lost, declared })
}

/// The sections of a cable and of its branches: their names, the places of these, and their fields.
fn sections(cable: &Thing) -> impl Iterator<Item = (&str, Place, &[Field])> {
    let branches = cable
        .named(Key::Branch)
        .flat_map(|(.., fields)| fields.named(Key::Section));
    cable.named(Key::Section).chain(branches)
}

/// A cable that was tested should say the volume of all its sections.
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

/// A place in the office's own file, or else the thing's name.
fn here(office: &Office, thing: &Thing, place: Place) -> TextRange {
    if place.file == office.file {
        place.range
    } else {
        thing.name
    }
}
