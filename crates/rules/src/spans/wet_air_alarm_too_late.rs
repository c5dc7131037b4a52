use drysheath_engineering::measure::{AbsolutePressure, Temperature};
use drysheath_engineering::moisture::{SaturationPoint, Surface, saturation_pressure};
use drysheath_engineering::units::Dimension;
use drysheath_office::GivenQuantity;
use drysheath_office::kinds::Key;
use drysheath_prediction::SystemId;

use super::limit_order::LimitPoint;
use super::reading::{Reading, readings};
use crate::air::dew_point_above_coldest::fullest;
use crate::figures::{below, in_unit_of, report_said, shown_pressure};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

/// Significant digits of computed figures.
const DIGITS: i32 = 3;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::WetAirAlarmTooLate,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[
        reliability::OF_OFFICE,
        reliability::OF_SYSTEM,
        reliability::OF_SUPPLY,
        (Scope::AirSystem, &[RuleId::DewPointAboveColdest]),
        (Scope::Signal, &[RuleId::LimitsOutOfOrder]),
    ],
    family: Family::Spans,
    summary: "A cable is already wet when the alarm about wet air comes.",
    explanation: "When a dryer fails, the air grows wetter until the first high limit of a humidity or dew-point sensor trips. What it \
                  reads then, at the pressure and temperature of the air there, is restated for the pressure of the cables where that \
                  is highest. If water would settle there, as frost below 0 degC, ten degrees or more above the office's `coldest`, \
                  the alarm comes after the damage: cables are colder than that for weeks. A smaller difference passes, since `coldest` is \
                  reached for hours only. The error and half a step of a humidity sensor are taken off in its favour. Lower the \
                  limit, or have the dryer checked by other means before the cold. Of all sensors of one air system the first to \
                  trip counts.",
    source: Source::Published(
        "WMO-No. 8, Magnus form (over ice from memory); vapour pressure goes with total pressure",
    ),
    example: Some(Example {
        failing: r"
humidity-sensor h1 {
    span 0 .. 20 %rh
    step 0.1 %rh
    error 0.5 %rh
    proof 60 psi
    limit high 15 %rh major deadband 1 %rh
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
# without spare mf port 3
# without spare tb pair 5
# without spare m1 sensor 4
air mf port 3 -> h1 with 3/8 in tube, 1/4 in bore, 0.5 m
spare mf port 4
wire h1 -> tb pair 5 -> m1 sensor 4 with 22 awg, 8 m
spare tb pair 6 .. 25
spare m1 sensor 5 .. 8
",
        passing: r"
humidity-sensor h1 {
    span 0 .. 20 %rh
    step 0.1 %rh
    error 0.5 %rh
    proof 60 psi
    limit high 8 %rh major deadband 1 %rh
}
# without spare mf port 3
# without spare tb pair 5
# without spare m1 sensor 4
air mf port 3 -> h1 with 3/8 in tube, 1/4 in bore, 0.5 m
spare mf port 4
wire h1 -> tb pair 5 -> m1 sensor 4 with 22 awg, 8 m
spare tb pair 6 .. 25
spare m1 sensor 5 .. 8
",
    }),
    check: Check::Office(check),
};

/// The first high limit of a signal of humidity or dew point.
struct Alarm<'i> {
    reading: Reading<'i>,
    limit_point: LimitPoint,
    system: SystemId,
    /// Vapour pressure over total pressure when it trips.
    vapour_part: f64,
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let mut alarms: Vec<Alarm<'_>> = readings(inspection)
        .filter_map(|reading| alarm(inspection, reading))
        .collect();
    alarms.sort_by(|one, other| {
        one.system
            .cmp(&other.system)
            .then(one.vapour_part.total_cmp(&other.vapour_part))
    });
    let coldest = office.itself.and_then(|id| office.given(id, Key::Coldest));
    let Some(coldest) = coldest.filter(|_| !alarms.is_empty()) else {
        return;
    };
    for first in alarms
        .chunk_by(|one, other| one.system == other.system)
        .filter_map(<[_]>::first)
    {
        judge(inspection, first, coldest, sink);
    }
}

fn alarm<'i>(inspection: &'i Inspection<'_>, reading: Reading<'i>) -> Option<Alarm<'i>> {
    if !matches!(reading.dimension, Dimension::Humidity | Dimension::Temperature) {
        return None;
    }
    let Inspection {
        office,
        networks,
        prediction,
        ..
    } = *inspection;
    let air = &prediction.air;
    let limit_point = reading.limit_order().lower_high()?;
    let place = air.location_of(office, networks, reading.id)?;
    let total = air.conditions.ambient + air.pressure(&place)?;
    let over_water = |temperature| saturation_pressure(temperature, Surface::Water).pascals();
    let vapour = match reading.dimension {
        Dimension::Humidity => {
            let error = reading.tolerance().map_or(0.0, |(error, _)| error);
            over_water(air.conditions.temperature) * (limit_point.figure - error)
        }
        _ => over_water(Temperature::from_kelvins(limit_point.figure)),
    };
    Some(Alarm {
        reading,
        limit_point,
        system: air.system_at(&place)?,
        vapour_part: vapour / total.pascals(),
    })
}

/// The alarm is too late if water would condense this far above the coldest temperature of the cable, K (common
/// practice, no source).
const WARMER: f64 = 10.0;

fn judge(inspection: &Inspection<'_>, alarm: &Alarm<'_>, coldest: GivenQuantity, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let Some(spot) = fullest(inspection, alarm.system) else {
        return;
    };
    let total = inspection.prediction.air.conditions.ambient + spot.pressure;
    let vapour = AbsolutePressure::from_pascals(total.pascals() * alarm.vapour_part);
    let Some(point) = SaturationPoint::of(vapour) else {
        return;
    };
    if !below(coldest.quantity.si() + WARMER, point.temperature.kelvins()) {
        return;
    }
    let (reading, limit_point) = (&alarm.reading, &alarm.limit_point);
    // Show all temperatures in one unit.
    let message = format!(
        "when the {} of {}, {}, trips, the air {}, at {}, already has a {} of {}, above the {} of the coldest cable",
        limit_point.name(),
        reading.name(),
        limit_point.quantity.in_unit(coldest.quantity.unit).to_digits(DIGITS),
        spot.location_text(office),
        shown_pressure(office, spot.pressure),
        point.name(),
        in_unit_of(coldest.quantity, point.temperature.kelvins(), office).to_digits(DIGITS),
        coldest.quantity
    );
    let finding = report_said(sink, office, reading.id, limit_point.place, message);
    finding.about(reading.subject_computed(inspection));
    if let Some(place) = coldest.place {
        finding.related(place, "the coldest that the cable gets");
    }
    finding.help("lower this limit, so that it trips while the air is still dry enough for the coldest cable");
}
