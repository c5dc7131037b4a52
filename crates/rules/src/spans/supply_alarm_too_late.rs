use drysheath_engineering::units::Dimension;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Limit, ThingId};
use drysheath_text::Place;

use super::reading::{Reading, readings};
use crate::figures::{below, in_unit_of, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::supply::{StatedPressure, held, regulators_behind, sources, stated};

/// Significant digits of computed figures.
const DIGITS: i32 = 4;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SupplyAlarmTooLate,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[
        (
            Scope::Field,
            &[
                RuleId::RegulatorSetAboveSupply,
                RuleId::RegulatorsSameSet,
                RuleId::RegulatorSetAboveRating,
            ],
        ),
        (Scope::Signal, &[RuleId::LimitsOutOfOrder]),
    ],
    family: Family::Spans,
    summary: "A low limit upstream of a regulator lies at or below the pressure that this is set to.",
    explanation: "A regulator holds its set pressure as long as its supply exceeds that by its differential, and nothing downstream has more pressure \
                  than the supply. A contact of the dryer, a pressure switch or a sensor that watches the supply should tell before that: a low limit at \
                  the set pressure, or below it, comes when the cables have lost pressure already. Of several low limits of one signal, and of \
                  several contacts of one dryer, the highest counts. Where another source feeds the regulator as well, nothing is asked, nor of \
                  the contacts of bottles, which tell what is left in them.",
    source: Source::Derived("no more pressure arrives downstream of a regulator than comes to it"),
    example: Some(Example {
        failing: r"
dryer d1 {
    compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC
    contact humidity { healthy closed }
    contact low-pressure { healthy closed, limit low 10 psi major deadband 1 psi }
#                                          ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
wire d1 contact low-pressure -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
",
        passing: r"
dryer d1 {
    compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC
    contact humidity { healthy closed }
    contact low-pressure { healthy closed, limit low 16 psi major deadband 1 psi }
}
wire d1 contact low-pressure -> tb pair 5 -> m1 contact 2
# without spare tb pair 5
# without spare m1 contact
spare tb pair 6 .. 25
spare m1 contact 3 .. 4
",
    }),
    check: Check::Office(check),
};

/// A signal that watches the supply, with its highest low limit.
struct SupplyAlarm<'i> {
    reading: Reading<'i>,
    limit: &'i Limit,
    place: Place,
    figure: f64,
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    if inspection.office.of_kind(KindId::Regulator).next().is_none() {
        return;
    }
    let mut watches: Vec<SupplyAlarm<'_>> = readings(inspection)
        .filter_map(|reading| watch(inspection, reading))
        .collect();
    // The highest limit of each dryer or sensor comes first, and only that counts.
    watches.sort_by(|one, other| {
        let thing = one.reading.id.cmp(&other.reading.id);
        thing.then(other.figure.total_cmp(&one.figure))
    });
    for together in watches.chunk_by(|one, other| one.reading.id == other.reading.id) {
        let Some(watch) = together.first() else { continue };
        let regulators = regulators_behind(inspection, watched(inspection, watch.reading.id));
        let alone = regulators.into_iter().filter(|id| sources(inspection, *id).len() == 1);
        let held = alone.filter_map(|id| held(inspection.office, id));
        let most = held.max_by(|one, other| one.figure.total_cmp(&other.figure));
        if let Some(set) = most.filter(|set| !below(set.figure, watch.figure)) {
            report(inspection, watch, &set, sink);
        }
    }
}

fn watch<'i>(inspection: &'i Inspection<'_>, reading: Reading<'i>) -> Option<SupplyAlarm<'i>> {
    let office = inspection.office;
    let thing = office.thing(reading.id);
    let is_left_out = reading.dimension != Dimension::Pressure || thing.is(KindId::Bottle) || thing.has(Key::At);
    if is_left_out {
        return None;
    }
    let low = reading.fields.limits().filter(|(limit, _)| limit.level.is_low());
    let figures = low.map(|(limit, place)| (limit, place, office.figure(limit.value)));
    let (limit, place, figure) = figures.max_by(|one, other| one.2.total_cmp(&other.2))?;
    Some(SupplyAlarm {
        reading,
        limit,
        place,
        figure,
    })
}

/// The thing whose outlet air is watched: for a sensor at the end of a run, the thing where that run starts.
fn watched(inspection: &Inspection<'_>, id: ThingId) -> ThingId {
    let air = &inspection.networks.air;
    let is_tap = air.leaving(id).next().is_none();
    let feeder = air.leading_to(id).next().map(|link| link.from.thing);
    feeder.filter(|_| is_tap).unwrap_or(id)
}

fn report(inspection: &Inspection<'_>, watch: &SupplyAlarm<'_>, set: &StatedPressure, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let SupplyAlarm {
        reading, limit, place, ..
    } = watch;
    let regulator = office.name(set.thing);
    let message = format!(
        "the {} limit of {}, {}, is not above the {} that `{regulator}` is set to: when this alarm comes, the cables have lost \
         pressure already",
        limit.level.word(),
        reading.name(),
        limit.value,
        set.quantity
    );
    let differential = stated(office, set.thing, Key::Differential);
    let needed = set.figure + differential.map_or(0.0, |differential| differential.figure);
    let needed = in_unit_of(limit.value, needed, office).to_digits(DIGITS);
    let finding = report_said(sink, office, reading.id, *place, message);
    finding.about([reading.subject(), set.subject()]);
    finding.related(set.place, "the set pressure");
    if let Some(differential) = differential {
        finding.related(differential.place, "its differential");
    }
    finding.help(format!(
        "raise this limit above {needed}, which `{regulator}` needs to hold its pressure, and keep it below what the supply delivers"
    ));
}
