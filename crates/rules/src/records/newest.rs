//! The latest reading of each signal.

use std::cmp::Reverse;

use drysheath_engineering::units::Quantity;
use drysheath_office::{Measured, Office, Reading as Noted};

use crate::coverage::Lack;
use crate::lint::Inspection;
use crate::spans::Reading;

/// The latest reading of a signal that can be compared with a computed value.
pub(crate) struct Newest<'o> {
    pub noted: &'o Noted,
    pub signal: Reading<'o>,
    pub quantity: Quantity,
    pub expected: f64,
    /// The deviation from the expected value; negative where the reading is lower.
    pub above: f64,
    /// The tolerance, in SI and as shown.
    pub allowed: (f64, Quantity),
}

/// The latest reading of each signal, in the order of the file. Earlier ones are history.
pub(super) fn newest<'o>(inspection: &Inspection<'o>) -> Vec<Newest<'o>> {
    let newest = latest(inspection.office).into_iter();
    newest.filter_map(|noted| compared(inspection, noted).ok()).collect()
}

/// The latest reading of each signal, whether it can be compared or not.
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

/// A reading and what it is compared with.
pub(crate) fn compared<'o>(inspection: &Inspection<'o>, noted: &'o Noted) -> Result<Newest<'o>, Lack> {
    let Measured::Signal(quantity) = noted.measured else {
        return Err(Lack::Figure);
    };
    let signal = || Reading::of(inspection.office, noted.of.thing?, noted.of.port?);
    let signal = signal().ok_or(Lack::Figure)?;
    let allowed = signal.tolerance().ok_or(Lack::Tolerance)?;
    let expected = signal.expected(inspection).ok_or(Lack::Figure)?;
    Ok(Newest {
        noted,
        signal,
        quantity,
        expected,
        above: inspection.office.figure(quantity) - expected,
        allowed,
    })
}
