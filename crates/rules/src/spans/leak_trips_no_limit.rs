use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Fields, Limit, LimitLevel};
use drysheath_prediction::AirLocation;

use super::low_limit_under_minimum;
use super::order::{Ladder, Rung};
use super::reading::{Reading, readings};
use crate::figures::{below, computed, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::settings::PracticeKey;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LeakTripsNoLimit,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[
        reliability::OF_OFFICE,
        reliability::OF_SYSTEM,
        reliability::OF_SUPPLY,
        (
            Scope::Signal,
            &[
                RuleId::LimitsOutOfOrder,
                RuleId::PredictedOffSpan,
                RuleId::LimitFinerThanStep,
                RuleId::LowLimitUnderMinimum,
                RuleId::LimitTripsWhenWell,
                RuleId::NormalNotAsPredicted,
                RuleId::PredictedOutsideMiddle,
                RuleId::LimitWithinError,
            ],
        ),
        (Scope::Field, &[RuleId::LimitOutsideSpan, RuleId::LimitNearSpanEnd]),
    ],
    family: Family::Spans,
    summary: "A leak that somebody should be sent out for would not reach the sensor's limit.",
    explanation: "The air network is computed once more with a leak of the size that the setting `leak-size` names. A pressure \
                  sensor out on a cable or pipe should trip its low limit for such a leak at its own place, and a flow sensor its high \
                  limit for one behind it; of two limits on a side the one that is reached first counts. A limit that stays quiet \
                  leaves the leak to grow until water is in the cable. Set the limit within the bounds that the result names. \
                  Sensors in the office are left out, whose low limit watches the dryer, and so are those whose error or \
                  deadband is as large as what the leak changes: they cannot tell it, and others must.",
    source: Source::Derived("the air network with one more leak; which leak is worth a visit is common practice"),
    example: Some(Example {
        failing: r"
flow-sensor f1 {
    span  0 .. 15 scfh
    step  0.2 scfh
    error 0.3 scfh
    normal 7 scfh
    proof 60 psi
    limit high 12.1 scfh major deadband 0.6 scfh
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
flow-sensor f1 {
    span  0 .. 15 scfh
    step  0.2 scfh
    error 0.3 scfh
    normal 7 scfh
    proof 60 psi
    limit high 12 scfh major deadband 0.6 scfh
}
",
    }),
    check: Check::Office(check),
};

/// A limit that a leak does not trip.
struct Unreached {
    rung: Rung,
    /// The reading with the leak.
    with_leak: f64,
    /// The bounds within which a limit trips on the leak and not on the sensor's error.
    bounds: (f64, f64),
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let Some(written) = inspection.settings.quantity(PracticeKey::LeakSize) else {
        return;
    };
    let Some(leak) = Flow::of(written).filter(|leak| leak.cubic_metres_per_second() > 0.0) else {
        return;
    };
    for reading in readings(office) {
        let on_side = |limit: &Limit| limit.level.is_low() == (reading.dimension == Dimension::Pressure);
        if !reading.fields.limits().any(|(limit, _)| on_side(limit)) {
            continue;
        }
        let Some(expected) = reading.expected(inspection) else {
            continue;
        };
        let unreached = match reading.dimension {
            Dimension::Pressure => unreached_pressure(inspection, &reading, expected, leak),
            Dimension::Flow => unreached_flow(inspection, &reading, expected, leak),
            _ => None,
        };
        if let Some(unreached) = unreached {
            report(inspection, &reading, expected, &unreached, written, sink);
        }
    }
}

/// How far a limit has to stay from what the sensor reads when all is well, so that the sensor's error does not reach it and
/// its alarm clears again; and a step of the sensor.
fn coarseness(reading: &Reading<'_>, rung: &Rung) -> (f64, f64) {
    let size = |key| reading.size(key).map_or(0.0, |(size, _)| size);
    let mut limits = reading
        .fields
        .limits()
        .filter(|(limit, _)| Some(limit.level) == rung.level);
    let deadband = limits.find_map(|(limit, _)| limit.deadband).map_or(0.0, Quantity::si);
    (size(Key::Error).max(deadband), size(Key::Step))
}

fn unreached_pressure(
    inspection: &Inspection<'_>,
    reading: &Reading<'_>,
    expected: f64,
    leak: Flow,
) -> Option<Unreached> {
    let (air, networks) = (&inspection.prediction.air, inspection.networks);
    let ladder = Ladder::of(reading, inspection.office);
    let rung = ladder.upper_low()?;
    let (line, metres) = reading.along(inspection)?;
    let is_reached = |pressure: Pressure| !below(rung.figure, pressure.pascals());
    // The estimate is an upper bound, and usually suffices.
    if air
        .leaking_at_most(networks, line, metres, leak)
        .is_some_and(is_reached)
    {
        return None;
    }
    // A leak that no supply pressure could feed certainly trips the limit.
    let with_leak = air.leaking(&AirLocation::OnRoute(line, metres), leak)?.pressure()?;
    if is_reached(with_leak) {
        return None;
    }
    let (away, step) = coarseness(reading, &rung);
    let minimum = low_limit_under_minimum::minimum_at(inspection, reading)
        .map_or(f64::NEG_INFINITY, |minimum| inspection.office.figure(minimum.quantity));
    let well = ladder.normal().map_or(expected, |normal| normal.figure.min(expected));
    let bounds = (with_leak.pascals().max(minimum), well - away);
    (!below(bounds.1, bounds.0 + step)).then_some(Unreached {
        rung,
        with_leak: with_leak.pascals(),
        bounds,
    })
}

fn unreached_flow(inspection: &Inspection<'_>, reading: &Reading<'_>, expected: f64, leak: Flow) -> Option<Unreached> {
    let air = &inspection.prediction.air;
    let ladder = Ladder::of(reading, inspection.office);
    let rung = ladder.lower_high()?;
    let most = expected + leak.cubic_metres_per_second();
    let here = air.location_of(inspection.office, inspection.networks, reading.id)?;
    // Where there are several paths, part of the leak's flow takes another one.
    let with_leak = if air.is_tree(air.system_at(&here)?) {
        most
    } else {
        shared(inspection, reading, &here, leak)?.min(most)
    };
    if !below(with_leak, rung.figure) {
        return None;
    }
    let (away, step) = coarseness(reading, &rung);
    let well = ladder.normal().map_or(expected, |normal| normal.figure.max(expected));
    let bounds = (well + away, with_leak);
    (!below(bounds.1, bounds.0 + step)).then_some(Unreached {
        rung,
        with_leak,
        bounds,
    })
}

/// The flow through a flow sensor with a leak at the next thing downstream.
fn shared(inspection: &Inspection<'_>, reading: &Reading<'_>, here: &AirLocation<'_>, leak: Flow) -> Option<f64> {
    let AirLocation::Thing(sensor) = here else { return None };
    let mut behind = inspection.networks.air.leaving(*sensor);
    let next = behind.next().filter(|link| link.to.port.role == Role::Inlet)?;
    let leaking = inspection
        .prediction
        .air
        .leaking(&AirLocation::Thing(next.to.thing), leak)?;
    Some(leaking.through(reading.id)?.cubic_metres_per_second())
}

fn report(
    inspection: &Inspection<'_>,
    reading: &Reading<'_>,
    expected: f64,
    unreached: &Unreached,
    leak: Quantity,
    sink: &mut Sink<'_>,
) {
    let office = inspection.office;
    let rung = &unreached.rung;
    let shown = |figure| computed(rung.quantity, figure, office);
    let (name, with_leak) = (reading.name(), shown(unreached.with_leak));
    let whereabouts = reading.whereabouts(inspection);
    let message = if reading.dimension == Dimension::Flow {
        format!(
            "with a leak of {leak} behind it, {name} reads {with_leak}{whereabouts}, and its {} is {}: nobody is told",
            rung.name(),
            rung.quantity
        )
    } else {
        format!(
            "with a leak of {leak} beside it, {name} still reads {with_leak}{whereabouts}, and its {} is {}: nobody is told",
            rung.name(),
            rung.quantity
        )
    };
    let (from, to) = unreached.bounds;
    let help = format!(
        "it should read {} when all is well: a limit between {} and {} tells the leak, and clears again; the setting `leak-size` \
         says which leak is worth a visit",
        shown(expected),
        shown(from),
        shown(to)
    );
    let is_low = |level: LimitLevel| Some(level.is_low()) == rung.level.map(LimitLevel::is_low);
    let same_side = reading.fields.limits().filter(|(limit, _)| is_low(limit.level));
    report_said(sink, office, reading.id, rung.place, message)
        .about(reading.subject_computed(inspection))
        .about(same_side.map(|(_, place)| reading.field(place)))
        .help(help);
}
