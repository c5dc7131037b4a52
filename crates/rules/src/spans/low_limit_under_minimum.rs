use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Limit};
use drysheath_text::Place;

use super::reading::{Reading, readings};
use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::settings::PracticeKey;
use drysheath_office::along::{Spot, length, sections, standing, surroundings};

pub(super) static RULE: Rule = Rule {
    name: "low-limit-under-minimum",
    level: Level::Warning,
    while_planned: None,
    family: Family::Spans,
    summary: "A low limit lies at or below the least pressure that the cable may have there.",
    explanation: "The least pressure holds water out of the cable for as long as it lasts. An alarm that comes at that \
                  pressure, or below it, comes when water may be entering already. Set the low limit above the minimum \
                  that the section, the office or the settings declare; of two low limits the upper one counts. Where no \
                  minimum is declared nothing is checked.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 10 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 3 psi minor deadband 0.3 psi
#   ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
}
",
        passing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 10 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 3.1 psi minor deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

/// The least pressure somewhere: how much, of what, and where that is said if an office's file says it.
struct Minimum<'o> {
    quantity: Quantity,
    of: Of<'o>,
    place: Option<Place>,
}

enum Of<'o> {
    Section(&'o str, Key),
    Pipe,
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for reading in readings(office).filter(|reading| reading.dimension == Dimension::Pressure) {
        let Some((limit, place)) = upper_low_limit(inspection, &reading) else {
            continue;
        };
        let Some(spot) = standing(office, inspection.networks, reading.id) else {
            continue;
        };
        let Some(minimum) = minimum_at(inspection, &spot) else {
            continue;
        };
        if below(office.figure(minimum.quantity), office.figure(limit.value)) {
            continue;
        }
        let host = office.name(spot.host);
        let what = match minimum.of {
            Of::Section(section, key) => format!("the {} section `{section}` of `{host}`", key.word()),
            Of::Pipe => format!("`{host}`"),
        };
        let message = format!(
            "the {} limit of {}, {}, is not above {}, the least pressure for {what}: the alarm comes too late",
            limit.level.word(),
            reading.name(),
            limit.value,
            minimum.quantity
        );
        let finding = report_said(sink, office, reading.id, place, message);
        if let Some(place) = minimum.place {
            finding.related(place, "the minimum");
        }
        finding.help("raise the limit above the minimum by more than the sensor's error");
    }
}

fn upper_low_limit<'o>(inspection: &Inspection<'o>, reading: &Reading<'o>) -> Option<(&'o Limit, Place)> {
    let figure = |limit: &Limit| inspection.office.figure(limit.value);
    let low = reading.fields.limits().filter(|(limit, _)| limit.level.is_low());
    low.max_by(|(one, _), (other, _)| figure(one).total_cmp(&figure(other)))
}

/// The least pressure that is declared for a point on a cable or pipe.
fn minimum_at<'o>(inspection: &Inspection<'o>, spot: &Spot<'_>) -> Option<Minimum<'o>> {
    let office = inspection.office;
    let host = office.thing(spot.host)?;
    if host.is(KindId::AirPipe) {
        let (quantity, place) = host.quantity(Key::Minimum)?;
        return Some(Minimum {
            quantity,
            of: Of::Pipe,
            place: Some(place),
        });
    }
    // A cable that is not known from end to end does not tell which section a distance lies in.
    length(host, spot.branch)?;
    let mut end = 0.0;
    for (name, section) in sections(host, spot.branch)? {
        let (key, metres) = surroundings(section)?;
        end += metres;
        if below(end, spot.metres) {
            continue;
        }
        let of = Of::Section(name, key);
        if let Some((quantity, place)) = section.quantity(Key::Minimum) {
            return Some(Minimum {
                quantity,
                of,
                place: Some(place),
            });
        }
        let minimums = office.itself.and_then(|id| office.thing(id)?.group(Key::AirMinimum));
        if let Some((quantity, place)) = minimums.and_then(|minimums| minimums.quantity(key)) {
            return Some(Minimum {
                quantity,
                of,
                place: Some(place),
            });
        }
        let quantity = inspection.settings.quantity(match key {
            Key::Underground => PracticeKey::MinimumUnderground,
            Key::Buried => PracticeKey::MinimumBuried,
            _ => PracticeKey::MinimumAerial,
        })?;
        return Some(Minimum {
            quantity,
            of,
            place: None,
        });
    }
    None
}
