//! States that are known only within bounds, and what is expected of them.

use drysheath_engineering::measure::Pressure;
use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Expectation, ExpectedCondition, Fields, Networks, Office, ThingId, Value};

use super::{AirCourse, AirState, ExpectationOutcome, Followed, course, signal_of};
use crate::air::{Air, NetworkChange, StateError};

/// Why a state is known only within bounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// A regulator lacks pressure: its outlet is anywhere from its supply less its differential to what it is set to.
    LacksPressure(ThingId),
    /// More flows through a regulator than it is rated for: its outlet is anywhere up to what it is set to.
    Overfed(ThingId),
    /// A regulator that opens has a relief: how much that lets off is not known.
    Relieves(ThingId),
    /// Air may flow back into a source that has stopped.
    FlowsBack(ThingId),
}

impl Doubt {
    /// Why, as it goes on after a colon, of an expectation that the doubt leaves open.
    pub fn reason(&self, office: &Office) -> String {
        match self {
            Self::LacksPressure(regulator) => format!(
                "`{}` lacks pressure then, so that its outlet is somewhere between its supply less its differential and its set \
                 pressure; this holds at one end of that range and not at the other",
                office.name(*regulator)
            ),
            Self::Overfed(regulator) => format!(
                "more would flow through `{}` then than its `flow-max`, and what it does then is not known",
                office.name(*regulator)
            ),
            Self::Relieves(regulator) => format!(
                "how much air the relief of `{}` lets off is not known; of the two, no air let off and the outlet held at the relief \
                 pressure, this holds in only one",
                office.name(*regulator)
            ),
            Self::FlowsBack(source) => format!(
                "nothing keeps air from flowing back into `{}`, and what leaves there is not counted",
                office.name(*source)
            ),
        }
    }
}

/// The courses between which a state is, and why. None where it is known.
pub(super) fn bounds(
    office: &Office,
    networks: &Networks,
    normal: &Air,
    state: &Air,
    changes: &[NetworkChange],
    followed: Option<Followed>,
) -> Result<Option<(Doubt, Vec<AirCourse>)>, StateError> {
    let lacking = state.out_of_regulation(office);
    // One that regulates in the end may have lacked pressure before, or may do so until then.
    let lacking = lacking.or_else(|| first_with_differential(office).filter(|_| followed.is_some()));
    let relieving = changes.iter().find_map(|change| match change {
        NetworkChange::Opens(regulator) => Some((*regulator, relief(office, state, *regulator)?)),
        _ => None,
    });
    let doubt = match (lacking, relieving) {
        (_, Some((regulator, _))) => Doubt::Relieves(regulator),
        (Some(regulator), None) => match state.outlet_bounds(regulator) {
            Some(bounds) if bounds.least.is_none() => Doubt::Overfed(regulator),
            _ => Doubt::LacksPressure(regulator),
        },
        (None, None) => return Ok(None),
    };
    let mut courses = Vec::new();
    for (held_back, air) in [false, true]
        .into_iter()
        .zip(normal.between(office, networks, changes)?)
    {
        courses.push(course(office, networks, normal, (air, changes), held_back, followed));
    }
    if let Some((regulator, relief)) = relieving {
        let relieved: Vec<NetworkChange> = changes
            .iter()
            .map(|change| match change {
                NetworkChange::Opens(of) if *of == regulator => NetworkChange::Relieves(regulator, relief),
                other => *other,
            })
            .collect();
        for (held_back, air) in [false, true]
            .into_iter()
            .zip(normal.between(office, networks, &relieved)?)
        {
            courses.push(course(office, networks, normal, (air, &relieved), held_back, followed));
        }
    }
    Ok(Some((doubt, courses)))
}

/// The first regulator that promises to regulate only down to some difference of pressure.
fn first_with_differential(office: &Office) -> Option<ThingId> {
    let mut regulators = office.of_kind(KindId::Regulator);
    let found = regulators.find(|(_, thing)| thing.has(Key::Differential));
    found.map(|(id, _)| id)
}

/// The pressure at which a regulator that has opened relieves. None where its outlet does not come so high.
fn relief(office: &Office, state: &Air, regulator: ThingId) -> Option<Pressure> {
    let thing = office.thing(regulator);
    if !thing.is(KindId::Regulator) {
        return None;
    }
    let (relief, _) = thing.quantity(Key::Relief)?;
    let relief = Pressure::from_pascals(office.gauge_pascals(relief));
    state
        .outlet(regulator)
        .is_none_or(|outlet| outlet > relief)
        .then_some(relief)
}

/// What becomes of an expectation by what becomes of it within each bound.
pub(super) fn agreed<'a>(
    doubt: Doubt,
    mut found: impl Iterator<Item = ExpectationOutcome<'a>>,
) -> ExpectationOutcome<'a> {
    let Some(mut all) = found.next() else {
        return ExpectationOutcome::NotKnown;
    };
    if let (ExpectationOutcome::NotKnown, Doubt::Overfed(_)) = (&all, doubt) {
        return ExpectationOutcome::Doubtful(doubt);
    }
    for other in found {
        all = match (all, other) {
            (ExpectationOutcome::Holds, ExpectationOutcome::Holds) => ExpectationOutcome::Holds,
            (first @ (ExpectationOutcome::Below(_) | ExpectationOutcome::Alarms(_)), other) if is_unmet(&other) => {
                first
            }
            (all, other) if is_judged(&all) && is_judged(&other) => return ExpectationOutcome::Doubtful(doubt),
            (all, other) => return if is_judged(&all) { other } else { all },
        };
    }
    all
}

fn is_unmet(outcome: &ExpectationOutcome<'_>) -> bool {
    matches!(outcome, ExpectationOutcome::Below(_) | ExpectationOutcome::Alarms(_))
}

fn is_judged(outcome: &ExpectationOutcome<'_>) -> bool {
    matches!(outcome, ExpectationOutcome::Holds) || is_unmet(outcome)
}

/// The source that air may flow back into, where that could undo what holds: it makes pressures lower than they are computed.
pub(super) fn undone_by_back_flow(office: &Office, state: &AirState, expected: &Expectation) -> Option<Doubt> {
    let source = *state.back_flow.first()?;
    let is_low = match &expected.what {
        ExpectedCondition::Passes(end, _) | ExpectedCondition::Trips(end) => {
            signal_of(office, end).is_some_and(|signal| {
                let limits = signal.fields.iter().filter_map(|field| match &field.value {
                    Value::Limit(limit) => Some(limit.level),
                    _ => None,
                });
                let mut limits = limits.filter(|level| match &expected.what {
                    ExpectedCondition::Passes(_, wanted) => level == wanted,
                    _ => true,
                });
                signal.reads == Some(Dimension::Pressure) && limits.all(drysheath_office::LimitLevel::is_low)
            })
        }
        ExpectedCondition::Above(..) | ExpectedCondition::NoAlarm => false,
    };
    (!is_low).then_some(Doubt::FlowsBack(source))
}
