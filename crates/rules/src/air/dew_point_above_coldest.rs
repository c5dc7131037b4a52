use drysheath_engineering::measure::Pressure;
use drysheath_engineering::moisture::SaturationPoint;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{GivenQuantity, Office};
use drysheath_prediction::{AirLocation, Dryness, Line, SystemId, position_name};

use crate::coverage::MissingFigure;
use crate::figures::{below, computed, report_said, shown_pressure};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DewPointAboveColdest,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "The air in a cable is not dry enough for the cable's coldest temperature.",
    explanation: "Where the cable is colder than the dew point of the air in it, water settles on the conductors, as frost below \
                  0 degC, and pairs become noisy and lose insulation. A dew point holds at one pressure: compressed air is nearer \
                  to it, and what the maker states at the delivered pressure falls when the air expands into the cable. So the \
                  stated dew point, over water unless it says `over ice`, is restated for the pressure of each cable where that \
                  is highest, below 0 degC over ice, and compared with the `coldest` of the office. Regenerate or renew the drying towers, choose a drier \
                  dryer, or correct what is declared. One result is given for all cables that the same dryers feed; \
                  of several dryers the wettest counts. A dryer of another office that feeds the same cables over a route counts \
                  too: where it is dry enough for the cables there and not for those here, the result is at the `coldest` of \
                  this office.",
    source: Source::Published(
        "WMO-No. 8, Magnus form (over ice from memory); vapour pressure goes with total pressure",
    ),
    example: Some(Example {
        failing: r"
dryer d1 {
    compressor piston
    delivers 30 psi
    capacity 100 scfh
    dew-point -20 degC
#   ^^^^^^^^^^^^^^^^^^
    contact humidity { healthy closed }
}
",
        passing: r"
dryer d1 {
    compressor piston
    delivers 30 psi
    capacity 100 scfh
    dew-point -22 degC
    contact humidity { healthy closed }
}
",
    }),
    check: Check::Office(check),
};

/// A place in a cable.
#[derive(Clone, Copy)]
pub(crate) struct PressurizedPlace<'i> {
    line: &'i Line,
    metres: f64,
    pub pressure: Pressure,
}

impl PressurizedPlace<'_> {
    /// "at 0 m on `c101`".
    pub fn location_text(&self, office: &Office) -> String {
        position_name(office, self.line, self.metres)
    }
}

const DIGITS: i32 = 4;

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let air = &inspection.prediction.air;
    for system in air.systems() {
        let Ok((coldest, dryness, fullest_at)) = compared(inspection, system) else {
            continue;
        };
        let settles = |dryness: &Dryness, coldest: GivenQuantity| {
            let point = dryness.saturation_point(air.conditions.ambient + fullest_at.pressure)?;
            (!below(point.temperature.kelvins(), coldest.quantity.si())).then_some(point)
        };
        if settles(dryness, coldest).is_none() {
            continue;
        }
        let office = inspection.office;
        let own = air.dryers(system).filter_map(|id| Dryness::of(office, id));
        if let Some((dryness, point)) = wettest(own).and_then(|own| Some((own, settles(&own, coldest)?))) {
            report(inspection, fullest_at, &dryness, point, coldest, sink);
        }
        let others = air.dryers_elsewhere(system);
        let others = others.filter_map(|(number, id)| Dryness::elsewhere(office, number, id));
        // If it is too wet for the cables of its own office as well, that office reports it.
        let is_told_there = |dryness: &Dryness| {
            let other = dryness.office(office);
            let theirs = other.itself.and_then(|id| other.given(id, Key::Coldest));
            theirs.is_some_and(|theirs| settles(dryness, theirs).is_some())
        };
        let other = wettest(others.filter(|other| !is_told_there(other)));
        if let Some((dryness, point)) = other.and_then(|other| Some((other, settles(&other, coldest)?))) {
            report_elsewhere(inspection, fullest_at, &dryness, point, coldest, sink);
        }
    }
}

fn wettest(all: impl Iterator<Item = Dryness>) -> Option<Dryness> {
    all.max_by(|one, other| one.vapour_part.total_cmp(&other.vapour_part))
}

/// Coldest temperature of the cables, dryness of the air of a system, and the point of highest pressure in its cables.
pub(crate) fn compared<'i>(
    inspection: &'i Inspection<'_>,
    system: SystemId,
) -> Result<(GivenQuantity, &'i Dryness, PressurizedPlace<'i>), MissingFigure> {
    let office = inspection.office;
    let coldest = office.itself.and_then(|id| office.given(id, Key::Coldest));
    Ok((
        coldest.ok_or(MissingFigure::Coldest)?,
        inspection
            .prediction
            .dryness_of(system)
            .ok_or(MissingFigure::DewPoint)?,
        fullest(inspection, system).ok_or(MissingFigure::Figure)?,
    ))
}

/// The point of highest pressure in the cables of a system.
pub(crate) fn fullest<'i>(inspection: &'i Inspection<'_>, system: SystemId) -> Option<PressurizedPlace<'i>> {
    let air = &inspection.prediction.air;
    let cables = air.lines().iter().filter(|line| {
        let is_cable = inspection.office.thing(line.thing).is(KindId::Cable);
        is_cable && air.system_at(&AirLocation::OnLine(line, 0.0)) == Some(system)
    });
    let places = cables.filter_map(|line| {
        let (metres, pressure) = air.highest(line)?;
        Some(PressurizedPlace { line, metres, pressure })
    });
    places.max_by(|one, other| one.pressure.pascals().total_cmp(&other.pressure.pascals()))
}

fn report(
    inspection: &Inspection<'_>,
    fullest_at: PressurizedPlace<'_>,
    dryness: &Dryness,
    point: SaturationPoint,
    coldest: GivenQuantity,
    sink: &mut Sink<'_>,
) {
    let office = inspection.office;
    let Some((place, message)) = dryness
        .dew_point
        .place
        .zip(message(office, fullest_at, dryness, point, coldest))
    else {
        return;
    };
    let finding = report_said(sink, office, dryness.dryer, place, message);
    finding.about(air_system(inspection, dryness.dryer));
    if let Some(place) = coldest.place {
        finding.related(place, "the coldest that the cable gets");
    }
    finding.help(if office.thing(dryness.dryer).is(KindId::Bottle) {
        "use drier gas, or correct what is declared"
    } else {
        "regenerate or renew the drying towers, choose a drier dryer, or correct what is declared"
    });
}

/// Reports the dryer of another office whose air is dry enough there, but not for the coldest temperature that this
/// office states.
fn report_elsewhere(
    inspection: &Inspection<'_>,
    fullest_at: PressurizedPlace<'_>,
    dryness: &Dryness,
    point: SaturationPoint,
    coldest: GivenQuantity,
    sink: &mut Sink<'_>,
) {
    let office = inspection.office;
    let message = message(office, fullest_at, dryness, point, coldest);
    let (Some(message), Some(itself)) = (message, office.itself) else {
        return;
    };
    let range = office.thing(itself).place_of(Key::Coldest, office.file);
    let finding = sink.report(itself, range, message);
    if let Some(place) = dryness.dew_point.place {
        let other = dryness.office(office);
        finding.related(other.written(place), "the dew point of its air");
    }
    finding.help("have the drying towers there regenerated or renewed, or keep its air out of these cables");
}

/// The message, with all figures in one unit.
fn message(
    office: &Office,
    fullest_at: PressurizedPlace<'_>,
    dryness: &Dryness,
    point: SaturationPoint,
    coldest: GivenQuantity,
) -> Option<String> {
    let delivers = dryness.office(office).given(dryness.dryer, Key::Delivers)?;
    Some(format!(
        "the air of `{}` has a dew point of {} {} at {}; {}, at {}, that is a {} of {}, not below the {} of the coldest cable",
        dryness.dryer_name(office),
        dryness
            .dew_point
            .quantity
            .in_unit(coldest.quantity.unit)
            .to_digits(DIGITS),
        dryness.surface.name(),
        delivers.quantity,
        fullest_at.location_text(office),
        shown_pressure(office, fullest_at.pressure),
        point.name(),
        computed(coldest.quantity, point.temperature.kelvins(), office),
        coldest.quantity
    ))
}
