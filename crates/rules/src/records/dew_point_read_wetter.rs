use drysheath_engineering::measure::Temperature;
use drysheath_engineering::moisture::{Surface, saturation_pressure};
use drysheath_office::Measured;
use drysheath_office::kinds::DewPointSurface;
use drysheath_prediction::Dryness;
use drysheath_text::TextRange;

use super::latest_readings::latest_of;
use crate::figures::exceeds;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DewPointReadWetter,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "The air of a dryer was found wetter than its stated dew point.",
    explanation: "The latest dew point that was read at a dryer or at bottles is checked against the one that the record states, both at the \
                  delivered pressure. All that is computed of dryness in the cables starts from the stated one. Have the dryer looked \
                  at, or state what it really delivers.",
    source: Source::Derived("Magnus, WMO-No. 8"),
    example: Some(Example {
        failing: r"
reading 2026-05-12 d1 dew-point -30 degC
#                  ^^^^^^^^^^^^^^^^^^^^^
",
        passing: r"
reading 2026-05-12 d1 dew-point -37 degC over ice
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.readings.is_empty() {
        return;
    }
    let read = latest_of(office, |noted| match noted.measured {
        Measured::DewPoint(temperature, surface) => Some((temperature, surface)),
        _ => None,
    });
    for (noted, (temperature, over)) in read {
        let Some(id) = noted.of.thing else { continue };
        let surface = match over {
            DewPointSurface::Water => Surface::Water,
            DewPointSurface::Ice => Surface::Ice,
        };
        let Some((stated, read)) = Dryness::of(office, id).zip(Temperature::of(temperature)) else {
            continue;
        };
        let (found, record) = (saturation_pressure(read, surface), stated.vapour(stated.at));
        if !exceeds(found.pascals(), record.pascals()) {
            continue;
        }
        let message = format!(
            "the air of `{}` had a dew point of {temperature} over {} on {}, and {} {} is stated: it is wetter than the record says",
            office.name(id),
            over.word(),
            noted.date.value,
            stated.dew_point.quantity,
            stated.surface.name()
        );
        let finding = sink.report(id, TextRange::new(noted.of.range.start, noted.range.end), message);
        if let Some(place) = stated.dew_point.place {
            finding.related(place, "the dew point that is stated");
        }
        finding.help("have the dryer looked at, or state the dew point that it really delivers");
    }
}
