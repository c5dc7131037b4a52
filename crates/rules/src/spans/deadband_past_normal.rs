use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Limit};
use drysheath_text::Place;

use super::reading::{Reading, readings};
use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DeadbandPastNormal,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Spans,
    summary: "A deadband reaches past the normal reading, so that the alarm never clears.",
    explanation: "An alarm clears when the reading has come back by the deadband: above a low limit, below a high one. Where that lies \
                  beyond what the sensor reads when all is well, the alarm stays on after the trouble is gone, and the next trouble \
                  raises none. The normal reading counts, or where none is stated, the computed value. Make the deadband \
                  smaller, or move the limit away.",
    source: Source::Derived("what a deadband means"),
    example: Some(Example {
        failing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 8 psi major deadband 2.1 psi
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor p1 {
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    normal 10 psi
    proof 30 psi
    limit low 8 psi major deadband 2 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for reading in readings(inspection) {
        let wide = || {
            reading
                .fields
                .limits()
                .filter_map(|(limit, place)| Some((limit, limit.deadband?, place)))
        };
        if wide().next().is_none() {
            continue;
        }
        let stated = reading.fields.quantity(Key::Normal);
        let well = match stated {
            Some((normal, _)) => Some(inspection.office.figure(normal)),
            None => reading.expected(inspection),
        };
        let Some(well) = well else { continue };
        for (limit, deadband, place) in wide() {
            if never_clears(inspection, limit, deadband, well) {
                report(inspection, &reading, (limit, deadband, place), (well, stated), sink);
            }
        }
    }
}

/// Whether the alarm clears only at a reading beyond the normal one. A limit that is tripped in the normal state never
/// clears for another reason.
fn never_clears(inspection: &Inspection<'_>, limit: &Limit, deadband: Quantity, well: f64) -> bool {
    let (figure, back) = (inspection.office.figure(limit.value), deadband.difference());
    if limit.level.is_low() {
        below(figure, well) && below(well, figure + back)
    } else {
        below(well, figure) && below(figure - back, well)
    }
}

fn report(
    inspection: &Inspection<'_>,
    reading: &Reading<'_>,
    (limit, deadband, place): (&Limit, Quantity, Place),
    (well, stated): (f64, Option<(Quantity, Place)>),
    sink: &mut Sink<'_>,
) {
    let office = inspection.office;
    let is_low = limit.level.is_low();
    let back = deadband.difference_in(limit.value.unit).value;
    let clears = Quantity {
        value: limit.value.value + if is_low { back } else { -back },
        ..limit.value
    };
    let well = match stated {
        Some((normal, _)) => format!("{normal} is normal"),
        None => format!(
            "{} {} {}{}",
            reading.name(),
            reading.should_read(),
            reading.shown(limit.value, well),
            reading.location_text(inspection)
        ),
    };
    let message = format!(
        "the {} limit of {}, {}, has a deadband of {deadband}: the alarm clears {} {clears} only, and {well}",
        limit.level.word(),
        reading.name(),
        limit.value,
        if is_low { "above" } else { "below" },
    );
    let finding = report_said(sink, office, reading.id, place, message);
    finding.about([reading.subject()]);
    if let Some((_, place)) = stated {
        finding.related(place, "the normal reading");
    }
    finding.help("make the deadband smaller than the distance between the limit and the normal reading");
}
