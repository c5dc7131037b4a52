use drysheath_office::Measured;
use drysheath_prediction::AirLocation;
use drysheath_text::TextRange;

use super::latest_readings::{latest_of, pressures_in_doubt};
use crate::figures::{below, computed};
use crate::finding::Sink;
use crate::fit::{gauge_deviation, gauge_place};
use crate::lint::Inspection;
use crate::records::of_day::on_day;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::GaugeOffPrediction,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A pressure that was read by a gauge at a place of a cable does not match the computed one.",
    explanation: "The latest gauge reading at each place is checked against the computed pressure there. The computed one is uncertain \
                  by the settings `usage-within`, `resistance-within` and `set-within`, and by the temperature of the day, but for \
                  cable whose temperature was read on that day; the gauge is taken to be right within the part of its reading that \
                  `set-within` says. Less pressure than that is a leak or a usage that was not declared; more is a usage that is less \
                  than declared.",
    source: Source::Derived("laminar isothermal flow; ASME B40.100 for the gauge, from memory"),
    example: Some(Example {
        failing: r"
cable c101 {
    pairs   50
    gauge   24 awg
    rating  20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
    place   mh-4 { at 1.2 km }
}
reading 2026-05-12 c101 place mh-4 6.1 psi
#                  ^^^^^^^^^^^^^^^^^^^^^^^
",
        passing: r"
cable c101 {
    pairs   50
    gauge   24 awg
    rating  20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
    place   mh-4 { at 1.2 km }
}
reading 2026-05-12 c101 place mh-4 8.6 psi
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.readings.is_empty() {
        return;
    }
    let gauges = latest_of(office, |noted| match noted.measured {
        Measured::Gauge(read) => Some(read),
        _ => None,
    });
    for (noted, read) in gauges {
        let Some((id, (place, metres))) = noted.of.thing.zip(gauge_place(office, noted)) else {
            continue;
        };
        let known = on_day(inspection, noted.date.value, |inspection| {
            let air = &inspection.prediction.air;
            let mut lines = air.lines().iter();
            let line = lines.find(|line| line.thing == id && line.branch.is_none())?;
            let location = AirLocation::OnLine(line, metres);
            let in_doubt = pressures_in_doubt(inspection, &location, id)?;
            Some((air.pressure(&location)?, in_doubt))
        });
        let Some((expected, (least, most))) = known else {
            continue;
        };
        let figure = office.figure(read);
        let own = gauge_deviation(inspection, figure);
        if !below(figure + own, least) && !below(most, figure - own) {
            continue;
        }
        let is_more = figure > expected.pascals();
        let shown = |pascals: f64| computed(read, pascals, office);
        let message = format!(
            "a gauge at `{place}` of `{}` read {read} on {}, and {} follows from the record, {} at the {}",
            office.name(id),
            noted.date.value,
            shown(expected.pascals()),
            shown(if is_more { most } else { least }),
            if is_more { "most" } else { "least" }
        );
        sink.report(id, TextRange::new(noted.of.range.start, noted.range.end), message)
            .help(if is_more {
                "less air is used than is declared, or the set pressure is another: correct the record once that is sure"
            } else {
                "more air is used or lost than is declared, or the set pressure is another: look for a leak, or correct the record"
            });
    }
}
