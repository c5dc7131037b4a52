//! The latest reading of each signal.

use std::cmp::Reverse;

use drysheath_engineering::measure::Temperature;
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::Key;
use drysheath_office::{Measured, Office, Reading as Noted, ThingId};
use drysheath_prediction::{AirLocation, Uncertainty};

use crate::coverage::MissingFigure;
use crate::figures::difference;
use crate::lint::Inspection;
use crate::records::of_day::on_day;
use crate::settings::PracticeKey;
use crate::spans::Reading;
use crate::supply::{held as held_by, sources};

/// The latest reading of a signal that can be compared with a computed value.
pub(crate) struct LatestReading<'o> {
    pub noted: &'o Noted,
    pub signal: Reading<'o>,
    pub quantity: Quantity,
    pub expected: f64,
    /// Deviation from the expected value; negative where the reading is lower.
    pub above: f64,
    /// Permitted deviation, in SI and as shown: the tolerance of the sensor and, for a reading beyond it, also the
    /// uncertainty of the computed value.
    pub allowed: (f64, Quantity),
}

/// The latest comparable reading of each signal, in the order of the file. Earlier ones are history.
pub(super) fn latest_readings<'o>(inspection: &'o Inspection<'_>) -> Vec<LatestReading<'o>> {
    let newest = latest(inspection.office).into_iter();
    newest.filter_map(|noted| compared(inspection, noted).ok()).collect()
}

/// The latest reading of each signal, comparable or not.
pub(crate) fn latest(office: &Office) -> Vec<&Noted> {
    let mut last: Vec<(usize, &Noted)> = of_signals(office).collect();
    if last.is_empty() {
        return Vec::new();
    }
    let signal = |noted: &Noted| (noted.of.thing, noted.of.port.map(|port| port.word));
    last.sort_by_key(|(number, noted)| (signal(noted), Reverse((noted.date.value, *number))));
    last.dedup_by_key(|(_, noted)| signal(noted));
    last.sort_by_key(|(number, _)| *number);
    last.into_iter().map(|(_, noted)| noted).collect()
}

fn of_signals(office: &Office) -> impl Iterator<Item = (usize, &Noted)> {
    let readings = office.readings.iter().enumerate();
    readings.filter(|(_, noted)| matches!(noted.measured, Measured::Signal(_)))
}

/// Compares a reading with its expected value.
pub(crate) fn compared<'o>(
    inspection: &'o Inspection<'_>,
    noted: &'o Noted,
) -> Result<LatestReading<'o>, MissingFigure> {
    let Measured::Signal(quantity) = noted.measured else {
        return Err(MissingFigure::Figure);
    };
    let signal = || Reading::of(inspection, noted.of.thing?, noted.of.port?);
    let signal = signal().ok_or(MissingFigure::Figure)?;
    let (own, shown) = signal.tolerance().ok_or(MissingFigure::Tolerance)?;
    let (expected, above, size) = on_day(inspection, noted.date.value, |inspection| {
        let signal = Reading::of(inspection, noted.of.thing?, noted.of.port?)?;
        let expected = signal.expected(inspection)?;
        let above = inspection.office.figure(quantity) - expected;
        let in_doubt = || in_doubt(inspection, &signal, expected, above > 0.0).unwrap_or(0.0);
        let size = if above.abs() > own { own + in_doubt() } else { own };
        Some((expected, above, size))
    })
    .ok_or(MissingFigure::Figure)?;
    let allowed = (
        size,
        if above.abs() > own {
            difference(shown, size)
        } else {
            shown
        },
    );
    Ok(LatestReading {
        noted,
        signal,
        quantity,
        expected,
        above,
        allowed,
    })
}

/// The latest reading of each subject, in the order of the file. `of` selects readings and gives a value for each.
pub(super) fn latest_of<'o, T>(office: &'o Office, of: impl Fn(&'o Noted) -> Option<T>) -> Vec<(&'o Noted, T)> {
    let subject = |noted: &Noted| (noted.of.thing, noted.of.port.map(|port| port.word), noted.of.numbers);
    let mut last: Vec<(usize, &Noted, T)> = (0..)
        .zip(&office.readings)
        .filter_map(|(number, noted)| Some((number, noted, of(noted)?)))
        .collect();
    last.sort_by_key(|(number, noted, _)| (subject(noted), Reverse((noted.date.value, *number))));
    last.dedup_by_key(|(_, noted, _)| subject(noted));
    last.sort_by_key(|(number, ..)| *number);
    last.into_iter().map(|(_, noted, what)| (noted, what)).collect()
}

/// Highest set pressure of the regulators and dryers directly upstream of a thing, Pa.
pub(super) fn set_pressure(inspection: &Inspection<'_>, thing: ThingId) -> f64 {
    let held = sources(inspection, thing).into_iter();
    let held = held.filter_map(|source| Some(held_by(inspection.office, source)?.figure));
    held.max_by(f64::total_cmp).unwrap_or(0.0)
}

/// Uncertainty of usage, resistance and the temperature of the day, from the settings.
pub(crate) fn uncertainty(inspection: &Inspection<'_>) -> Uncertainty {
    let Inspection {
        office,
        prediction,
        settings,
        ..
    } = *inspection;
    let own = prediction.air.conditions.temperature;
    let stated = |key| {
        let given = office
            .given(office.itself?, key)
            .filter(|given| given.place.is_some())?;
        Temperature::of(given.quantity)
    };
    let coldest = stated(Key::Coldest).filter(|coldest| *coldest < own).unwrap_or(own);
    let hottest = stated(Key::Hottest).filter(|hottest| *hottest > own).unwrap_or(own);
    Uncertainty {
        usage: settings.fraction(PracticeKey::UsageWithin),
        resistance: settings.fraction(PracticeKey::ResistanceWithin),
        temperatures: (coldest, hottest),
    }
}

/// Least and greatest pressure at a place in Pa, given the uncertainty of usage, resistance, set pressure and the
/// temperature of the day. `thing` is the thing at that place.
pub(super) fn pressures_in_doubt(
    inspection: &Inspection<'_>,
    place: &AirLocation<'_>,
    thing: ThingId,
) -> Option<(f64, f64)> {
    let spread = inspection
        .prediction
        .air
        .pressure_spread(place, &uncertainty(inspection))?;
    let off = inspection.settings.fraction(PracticeKey::SetWithin) * set_pressure(inspection, thing);
    Some((spread.least.pascals() - off, spread.most.pascals() + off))
}

/// How far a reading may lie above or below the expected figure, given the uncertainty of usage, resistance, set
/// pressure and the temperature of the day.
fn in_doubt(inspection: &Inspection<'_>, signal: &Reading<'_>, expected: f64, is_above: bool) -> Option<f64> {
    let air = &inspection.prediction.air;
    let place = air.location_of(inspection.office, inspection.networks, signal.id)?;
    let (least, most) = match signal.dimension {
        Dimension::Pressure => pressures_in_doubt(inspection, &place, signal.id)?,
        Dimension::Flow => {
            let spread = air.flow_spread(&place, &uncertainty(inspection))?;
            (
                spread.least.cubic_metres_per_second(),
                spread.most.cubic_metres_per_second(),
            )
        }
        _ => return None,
    };
    let end = if is_above { least.max(most) } else { least.min(most) };
    Some(if is_above { end - expected } else { expected - end }.max(0.0))
}
