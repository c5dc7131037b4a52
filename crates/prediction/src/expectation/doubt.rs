//! States that are known only within bounds, and what is expected of them.

use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Expectation, ExpectedCondition, Fields, Limit, Networks, Office, ThingId, Value};

use super::{AirCourse, AirState, ExpectationOutcome, Followed, alarm_reading, signal_of, transients};
use crate::air::{Air, NetworkChange, StateError, combinations, with_differential};

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
    let lacking = lacking.or_else(|| with_differential(office).next().filter(|_| followed.is_some()));
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
    let courses_of = |changes: &[NetworkChange]| -> Result<Vec<AirCourse>, StateError> {
        let combinations = combinations(office);
        let settled = [false, true]
            .into_iter()
            .zip(normal.between(office, networks, changes)?);
        let course = |(is_held_back, air)| {
            let transients = match &combinations {
                Some(all) => {
                    let own = all.iter().filter(|held_back| held_back.is_all() == is_held_back);
                    transients(office, networks, normal, changes, own, followed)
                }
                None => followed.map(|_| Err(StateError::ManyRegulators)).into_iter().collect(),
            };
            AirCourse { air, transients }
        };
        Ok(settled.map(course).collect())
    };
    let mut courses = courses_of(changes)?;
    if let Some((regulator, relief)) = relieving {
        let relieved: Vec<NetworkChange> = changes
            .iter()
            .map(|change| match change {
                NetworkChange::Opens(of) if *of == regulator => NetworkChange::Relieves(regulator, relief),
                other => *other,
            })
            .collect();
        courses.extend(courses_of(&relieved)?);
    }
    Ok(Some((doubt, courses)))
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
    expected: &Expectation,
    mut found: impl Iterator<Item = ExpectationOutcome<'a>>,
) -> ExpectationOutcome<'a> {
    let Some(mut all) = found.next() else {
        return ExpectationOutcome::NotKnown;
    };
    if let Doubt::Overfed(_) = doubt {
        // What it passes then is in none of the courses.
        let is_open = matches!(all, ExpectationOutcome::NotKnown) || expected.timing.time().is_some();
        if is_open {
            return ExpectationOutcome::Doubtful(doubt);
        }
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

/// What makes pressures lower than they are computed, where that could undo what holds: a source that air may flow back into, or a regulator that passes
/// more than it is rated for.
pub(super) fn undone_by_less(office: &Office, state: &AirState, expected: &Expectation) -> Option<Doubt> {
    let flows_back = state.back_flow.first().map(|source| Doubt::FlowsBack(*source));
    let overfed = overfed(office, &state.air);
    if let Some((regulator, rated)) = overfed
        && is_undone(office, expected, Some(rated))
    {
        return Some(Doubt::Overfed(regulator));
    }
    flows_back.filter(|_| is_undone(office, expected, None))
}

/// The regulator that passes more in a state than its `flow-max`, and that.
fn overfed(office: &Office, air: &Air) -> Option<(ThingId, Flow)> {
    let mut regulators = office.of_kind(KindId::Regulator);
    regulators.find_map(|(id, thing)| {
        let (rated, _) = thing.quantity(Key::FlowMax)?;
        let rated = Flow::of(rated)?;
        let passes = air.through(id)?.flow;
        (passes.cubic_metres_per_second() > rated.cubic_metres_per_second() * (1.0 + 1e-6)).then_some((id, rated))
    })
}

/// Whether lower pressures could undo what holds. So much as `sure` flows in any case.
fn is_undone(office: &Office, expected: &Expectation, sure: Option<Flow>) -> bool {
    let (end, wanted) = match &expected.what {
        ExpectedCondition::Passes(end, wanted) => (end, Some(*wanted)),
        ExpectedCondition::Trips(end) => (end, None),
        ExpectedCondition::Above(..) | ExpectedCondition::NoAlarm => return true,
    };
    let Some(signal) = signal_of(office, end) else {
        return true;
    };
    let limits = signal.fields.iter().filter_map(|field| match &field.value {
        Value::Limit(limit) => Some(&**limit),
        _ => None,
    });
    let mut limits = limits.filter(|limit| wanted.is_none_or(|wanted| limit.level == wanted));
    let sure = sure.map_or(0.0, Flow::cubic_metres_per_second);
    let stays = |limit: &Limit| match signal.reads {
        Some(Dimension::Pressure) => limit.level.is_low(),
        Some(Dimension::Flow) => alarm_reading(&signal, limit, sure, Dimension::Flow, None).surely_passes(office),
        _ => false,
    };
    !limits.all(stays)
}
