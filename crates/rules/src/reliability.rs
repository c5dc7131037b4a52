//! What makes the figures computed at a sensor doubtful: where the record is wrong about the air's way to it, the result about
//! that error is enough, and the results that follow from the figures give way to it.

use drysheath_office::ThingId;

use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::supply::sources;

/// What spoils the figures of a whole office. Every pressure depends on the surrounding air, and no flow is known where a
/// regulator is the wrong way round.
pub(crate) const OF_OFFICE: (Scope, &[RuleId]) =
    (Scope::Office, &[RuleId::ElevationMissing, RuleId::RegulatorBackwards]);

/// What spoils the figures of an air system.
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

/// What spoils the figures of all that a dryer or regulator supplies.
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

/// What a figure that is computed at a sensor depends on.
pub(crate) fn computed_at(inspection: &Inspection<'_>, sensor: ThingId) -> impl Iterator<Item = Subject> {
    let supplies = sources(inspection, sensor).into_iter().map(Subject::Supply);
    let whole = std::iter::once(Subject::Office);
    whole.chain(air_system(inspection, sensor)).chain(supplies)
}

/// The air system of a thing, where one is computed.
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
