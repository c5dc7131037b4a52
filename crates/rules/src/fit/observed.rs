//! The readings of one day that a fit can use: pressures, flows, and gauge readings at places.

use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::Key;
use drysheath_office::{Date, Fields, Measured, Office, Reading as Noted, ThingId};
use drysheath_prediction::{AirLocation, Bounds, Observation, ReadQuantity, SystemId};
use drysheath_text::{Place, TextRange};

use super::Unused;
use crate::figures::below;
use crate::lint::Inspection;
use crate::records::latest_readings::uncertainty;
use crate::settings::PracticeKey;
use crate::spans::Reading;

/// A reading, and where its air was measured.
#[derive(Clone, Debug)]
pub(crate) struct Observed<'i> {
    /// Sensor or gauge: "`ps1`", "the gauge at `mh-4` of `c101`".
    pub name: String,
    /// The statement in the file.
    pub place: Place,
    /// The sensor. `None` for a gauge.
    pub sensor: Option<ThingId>,
    pub read: Quantity,
    pub system: SystemId,
    pub observation: Observation<'i>,
}

impl Observed<'_> {
    /// The reading as [`Office::figure`] returns it.
    pub fn figure(&self) -> f64 {
        match self.observation.figure {
            ReadQuantity::Pressure(pressure) => pressure.pascals(),
            ReadQuantity::Flow(flow) => flow.cubic_metres_per_second(),
        }
    }
}

/// Uncertainty of the declared figures, from the settings.
pub(crate) fn bounds(inspection: &Inspection<'_>) -> Bounds {
    let doubt = uncertainty(inspection);
    let part = |key| inspection.settings.fraction(key);
    Bounds {
        usage: part(PracticeKey::UsageEstimateWithin),
        resistance: doubt.resistance,
        set: part(PracticeKey::SetWithin),
        temperatures: doubt.temperatures,
    }
}

/// Whether a reading is a gauge reading, or one of a sensor of pressure or flow.
pub(super) fn is_of_air(noted: &Noted) -> bool {
    match noted.measured {
        Measured::Gauge(_) => true,
        Measured::Signal(quantity) => matches!(quantity.unit.dimension, Dimension::Pressure | Dimension::Flow),
        _ => false,
    }
}

/// The readings of a day, the last of each signal and place, and those that are not used.
pub(crate) fn observed<'i>(inspection: &'i Inspection<'_>, day: Date) -> (Vec<Observed<'i>>, Vec<Unused>) {
    let office = inspection.office;
    let of_day = || {
        let readings = office.readings.iter().enumerate();
        readings.filter(|(_, noted)| noted.date.value == day && is_of_air(noted))
    };
    let of = |noted: &Noted| (noted.of.thing, noted.of.port.map(|port| port.word), noted.of.numbers);
    let (mut found, mut unused) = (Vec::new(), Vec::new());
    for (number, noted) in of_day() {
        let is_superseded = of_day().any(|(later, other)| later > number && of(other) == of(noted));
        let range = TextRange::new(noted.of.range.start, noted.range.end);
        let name = match (noted.measured, gauge_place(office, noted), noted.of.thing) {
            (Measured::Gauge(_), Some((place, _)), Some(thing)) => {
                format!("the gauge at `{place}` of `{}`", office.name(thing))
            }
            (_, _, Some(thing)) => format!("`{}`", office.name(thing)),
            (_, _, None) => continue,
        };
        let taken = if is_superseded {
            Err("the file has a later one of that day")
        } else {
            one(inspection, noted)
        };
        match taken {
            Ok((read, system, observation, sensor)) => found.push(Observed {
                name: sensor.as_ref().map_or(name, Reading::name),
                sensor: sensor.map(|sensor| sensor.id),
                place: office.place(range),
                read,
                system,
                observation,
            }),
            Err(why) => unused.push(Unused {
                name,
                place: office.place(range),
                why,
            }),
        }
    }
    (found, unused)
}

type One<'i> = (Quantity, SystemId, Observation<'i>, Option<Reading<'i>>);

fn one<'i>(inspection: &'i Inspection<'_>, noted: &'i Noted) -> Result<One<'i>, &'static str> {
    const NOT_KNOWN: &str = "what it should read is not known";
    let office = inspection.office;
    let air = &inspection.prediction.air;
    let thing = noted.of.thing.ok_or(NOT_KNOWN)?;
    if let Measured::Gauge(read) = noted.measured {
        let (_, metres) = gauge_place(office, noted).ok_or("its place is not known")?;
        let mut lines = air.lines().iter();
        let line = lines.find(|line| line.thing == thing && line.branch.is_none());
        let at = AirLocation::OnLine(line.ok_or(NOT_KNOWN)?, metres);
        air.pressure(&at).ok_or(NOT_KNOWN)?;
        let figure = office.figure(read);
        let observation = Observation {
            at,
            figure: ReadQuantity::Pressure(Pressure::from_pascals(figure)),
            deviation: gauge_deviation(inspection, figure) / 3_f64.sqrt(),
        };
        if observation.deviation <= 0.0 {
            return Err("a gauge that shows nothing, or `set-within` of nothing, says nothing of its error");
        }
        let system = air.system_at(&at).ok_or(NOT_KNOWN)?;
        return Ok((read, system, observation, None));
    }
    let Measured::Signal(read) = noted.measured else {
        return Err(NOT_KNOWN);
    };
    let signal = Reading::of(inspection, thing, noted.of.port.ok_or(NOT_KNOWN)?).ok_or(NOT_KNOWN)?;
    signal.expected(inspection).ok_or(NOT_KNOWN)?;
    let at = air.location_of(office, inspection.networks, thing).ok_or(NOT_KNOWN)?;
    let system = air.system_at(&at).ok_or(NOT_KNOWN)?;
    let figure = office.figure(read);
    on_scale(&signal, figure)?;
    let observation = Observation {
        at,
        figure: match signal.dimension {
            Dimension::Pressure => ReadQuantity::Pressure(Pressure::from_pascals(figure)),
            Dimension::Flow => ReadQuantity::Flow(Flow::from_cubic_metres_per_second(figure)),
            _ => return Err(NOT_KNOWN),
        },
        deviation: deviation(&signal).ok_or("its sensor states neither error nor step")?,
    };
    Ok((read, system, observation, Some(signal)))
}

/// Rejects a reading at or beyond an end of the span, which stands for any value outside. At a bottom of zero no value
/// lies outside: leaks let no air in.
fn on_scale(signal: &Reading<'_>, figure: f64) -> Result<(), &'static str> {
    let Some(span) = signal.span() else { return Ok(()) };
    if !span.holds(figure) {
        return Err("it is outside of the sensor's span");
    }
    if !below(figure, span.top) {
        return Err("it is at the top of the sensor's span, and may have been more");
    }
    if span.bottom > 0.0 && !below(span.bottom, figure) {
        return Err("it is at the bottom of the sensor's span, and may have been less");
    }
    Ok(())
}

/// Standard deviation of a sensor's reading: uniform within its error, plus uniform within half a step \[derived\].
fn deviation(signal: &Reading<'_>) -> Option<f64> {
    let size = |key| signal.size(key).map(|(size, _)| size);
    let (error, step) = (size(Key::Error), size(Key::Step));
    error.or(step)?;
    let square = |size: Option<f64>, parts: f64| size.map_or(0.0, |size| size * size / parts);
    Some((square(error, 3.0) + square(step, 12.0)).sqrt())
}

/// Standard deviation of a gauge reading: the fraction of it in the setting `set-within`.
pub(crate) fn gauge_deviation(inspection: &Inspection<'_>, figure: f64) -> f64 {
    inspection.settings.fraction(PracticeKey::SetWithin) * figure.abs()
}

/// Name of the place of a gauge reading, and its distance along the cable or pipe in metres.
pub(crate) fn gauge_place<'o>(office: &'o Office, noted: &Noted) -> Option<(&'o str, f64)> {
    let at = (noted.of.numbers.0 as usize).checked_sub(1)?;
    let (name, _, fields) = office.thing(noted.of.thing?).named(Key::Place).nth(at)?;
    Some((name, fields.quantity(Key::At)?.0.si()))
}
