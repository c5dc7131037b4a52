//! Errors that make the computed figures at a sensor unreliable. Results that follow from those figures yield to the
//! result on the error.

use drysheath_office::ThingId;

use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::supply::sources;

/// Errors that affect the whole office: every pressure depends on the ambient pressure, and no flow is known where a
/// regulator is reversed.
pub(crate) const OF_OFFICE: (Scope, &[RuleId]) =
    (Scope::Office, &[RuleId::ElevationMissing, RuleId::RegulatorBackwards]);

/// Errors that affect an air system.
pub(crate) const OF_SYSTEM: (Scope, &[RuleId]) = (
    Scope::AirSystem,
    &[
        RuleId::RegulatorOutOfRegulation,
        RuleId::PressureAboveRating,
        RuleId::ReliefHeldOpen,
        RuleId::UsageBeyondLines,
        RuleId::PressureBelowMinimum,
        RuleId::PressureBelowWaterHead,
        RuleId::LoopWithoutValve,
        RuleId::AirPortsDoubled,
        RuleId::AirMissing,
    ],
);

/// Errors that affect everything that a dryer or regulator supplies.
pub(crate) const OF_SUPPLY: (Scope, &[RuleId]) = (
    Scope::Supply,
    &[
        RuleId::DryerAboveRating,
        RuleId::RegulatorMissing,
        RuleId::RegulatorAfterSensor,
        RuleId::RegulatorSetAboveRating,
        RuleId::RegulatorSetAboveSupply,
        RuleId::RegulatorsSameSet,
    ],
);

/// Subjects that a computed figure at a sensor depends on.
pub(crate) fn computed_at(inspection: &Inspection<'_>, sensor: ThingId) -> impl Iterator<Item = Subject> {
    let supplies = sources(inspection, sensor).into_iter().map(Subject::Supply);
    let whole = std::iter::once(Subject::Office);
    whole.chain(air_system(inspection, sensor)).chain(supplies)
}

/// The air system of a thing as a subject, if it was computed.
pub(crate) fn air_system(inspection: &Inspection<'_>, thing: ThingId) -> Option<Subject> {
    let Inspection {
        office,
        networks,
        prediction,
        ..
    } = inspection;
    let location = prediction.air.location_of(office, networks, thing)?;
    prediction.air.system_at(&location).map(Subject::AirSystem)
}
