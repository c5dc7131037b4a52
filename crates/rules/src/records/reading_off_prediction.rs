use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::Fields;
use drysheath_office::kinds::Key;
use drysheath_prediction::Line;
use drysheath_text::TextRange;

use super::latest_readings::{LatestReading, latest_readings};
use super::leak_place::{Searches, advice};
use super::meter_readings;
use crate::figures::below;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::reliability::{self, computed_at};
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ReadingOffPrediction,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[
        reliability::OF_OFFICE,
        reliability::OF_SYSTEM,
        reliability::OF_SUPPLY,
        (Scope::Signal, &[RuleId::NormalNotAsPredicted]),
        (Scope::Place, &[RuleId::ReadingOffSpan]),
    ],
    family: Family::Records,
    summary: "The latest reading does not match the computed value.",
    explanation: "A reading may differ from what is computed by the sensor's error and half its step (by one step where no error is \
                  stated), and by what the computed value itself is uncertain by: usage may be off by the setting `usage-within`, the \
                  resistance of sections by `resistance-within`, the pressure of regulator or dryer by `set-within`, and the air of \
                  that day may have any temperature from the office's `coldest` to its `hottest`, as far as they are stated; in cable \
                  whose temperature was read on that day it has that one. Of each signal the newest reading counts, older ones are \
                  history. More than that means that the record is wrong or that something out there is: less pressure or more flow is \
                  a leak or a usage that was not declared, the other way round a usage that is less than declared. The readings of one \
                  cable give one result, at the one that is farthest off. Where a pressure on a cable is too low, the place of one \
                  leak is looked for along all cables of the same air, with all pressures, flows and gauge readings of that day: at \
                  each place the most likely leak is estimated together with usage, resistance and set pressure, which may be off by \
                  `usage-estimate-within`, `resistance-within` and `set-within`. The places are told where that explains the readings \
                  nearly as well as at the best one, 95 % of the time; there may be several stretches. It assumes steady flow and one \
                  leak. Check on the spot, and know what is in the ground, before anybody digs. The resistance of a loop over a cable, \
                  and the voltage at a monitor, were read with a meter: they may be off by the setting `meter-leeway` beyond what \
                  follows from the coldest to the hottest pairs, and from the end of discharge to float.",
    source: Source::Derived("laminar isothermal flow, p\u{b2} falls evenly (Hagen-Poiseuille, ideal gas)"),
    example: Some(Example {
        failing: r"
reading 2026-04-02 f1 9.1 scfh
reading 2026-05-12 f1 8.2 scfh
#                  ^^^^^^^^^^^
",
        passing: r"
reading 2026-04-02 f1 9.1 scfh
reading 2026-05-12 f1 8.0 scfh
reading 2026-05-12 p1 9.8 psi
reading 2026-05-12 ps1 7.4 psi
reading 2026-05-12 ps1 loop 650 ohm
reading 2026-05-12 m1 supply -41 V
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    if inspection.office.readings.is_empty() {
        return;
    }
    meter_readings::check(inspection, sink);
    let newest = latest_readings(inspection);
    let mut off: Vec<(Option<&Line>, &LatestReading<'_>)> = newest
        .iter()
        .filter(|newest| is_off(newest))
        .map(|newest| (newest.signal.place_on_line(inspection).map(|(line, _)| line), newest))
        .collect();
    let mut searches = Searches::new();
    while let Some((line, first)) = off.first().copied() {
        let together = |other: Option<&Line>, newest: &LatestReading<'_>| match (line, other) {
            (Some(line), Some(other)) => std::ptr::eq(line, other) && newest.signal.dimension == first.signal.dimension,
            _ => std::ptr::eq(newest, first),
        };
        let (group, rest): (Vec<_>, Vec<_>) = off.into_iter().partition(|(line, newest)| together(*line, newest));
        let group: Vec<&LatestReading<'_>> = group.into_iter().map(|(_, newest)| newest).collect();
        if let Some(farthest) = farthest(&group) {
            let help = help(inspection, line, farthest, &mut searches);
            report(inspection, &group, farthest, help, sink);
        }
        off = rest;
    }
}

fn is_off(newest: &LatestReading<'_>) -> bool {
    let (allowed, _) = newest.allowed;
    below(allowed, newest.above.abs())
}

/// Subjects of a reading. One that agrees with the stated normal reading adds nothing to a result on that.
fn subjects(inspection: &Inspection<'_>, newest: &LatestReading<'_>) -> impl Iterator<Item = Subject> {
    let (allowed, _) = newest.allowed;
    let read = newest.expected + newest.above;
    let normal = newest.signal.fields.quantity(Key::Normal);
    let agrees = normal.is_some_and(|(normal, _)| !below(allowed, (read - inspection.office.figure(normal)).abs()));
    let signal = agrees.then(|| newest.signal.subject());
    computed_at(inspection, newest.signal.id).chain(signal)
}

/// The reading that is farthest off, for what is allowed.
fn farthest<'g, 'r>(group: &[&'g LatestReading<'r>]) -> Option<&'g LatestReading<'r>> {
    let share = |newest: &LatestReading<'_>| newest.above.abs() / newest.allowed.0;
    group
        .iter()
        .copied()
        .max_by(|one, other| share(one).total_cmp(&share(other)))
}

fn report(
    inspection: &Inspection<'_>,
    group: &[&LatestReading<'_>],
    farthest: &LatestReading<'_>,
    help: String,
    sink: &mut Sink<'_>,
) {
    const SHOWN: usize = 6;
    let office = inspection.office;
    let LatestReading {
        noted,
        signal,
        quantity,
        ..
    } = farthest;
    let [off, allowed] = off_and_allowed(farthest);
    let expected = |newest: &LatestReading<'_>| newest.signal.shown(newest.quantity, newest.expected);
    let message = format!(
        "{} read {quantity} on {}, and {} follows from the record{}: {} {}, where {} allow {allowed}",
        signal.name(),
        noted.date.value,
        expected(farthest),
        signal.location_text(inspection),
        off,
        if farthest.above > 0.0 { "more" } else { "less" },
        may_be_off(farthest),
    );
    let finding = sink.report(signal.id, what_was_read(farthest), message);
    finding.about(subjects(inspection, farthest));
    let others = || group.iter().filter(|other| !std::ptr::eq(**other, farthest));
    for other in others() {
        finding.and_about(subjects(inspection, other));
    }
    for other in others().take(SHOWN) {
        let says = format!(
            "{} is off as well: {} follows from the record",
            other.signal.name(),
            expected(other)
        );
        finding.related(office.place(what_was_read(other)), says);
    }
    if let Some(field) = signal.fields.field(Key::Error).or(signal.fields.field(Key::Step)) {
        finding.related(field.place, format!("what {} may be off by", signal.name()));
    }
    finding.help(help);
}

/// Actual and permitted deviation of a reading: in its own unit, at the sensor's resolution unless more digits are
/// needed to tell the two apart.
fn off_and_allowed(newest: &LatestReading<'_>) -> [Quantity; 2] {
    const FINEST: i32 = 9;
    const ROUNDING: f64 = 1e-6;
    let (allowed, shown) = newest.allowed;
    let sizes = [newest.above.abs(), allowed];
    let own = newest.quantity.unit;
    let unit = if own.absolute || newest.signal.dimension == Dimension::Temperature {
        shown.unit
    } else {
        own
    };
    let values = sizes.map(|size| unit.from_si(size));
    let step = newest.signal.size(Key::Step).or(newest.signal.size(Key::Error));
    let places = step.map_or(2, |(step, _)| {
        (-unit.from_si(step).log10() - ROUNDING).ceil().max(0.0) as i32
    });
    let rounded = |places: i32| {
        let scale = 10_f64.powi(places);
        values.map(|value| (value * scale).round() / scale)
    };
    let mut places = places.min(FINEST);
    while places < FINEST && rounded(places).windows(2).all(|pair| pair.first() == pair.last()) {
        places += 1;
    }
    rounded(places).map(|value| Quantity { value, unit })
}

/// The reasons for the permitted deviation, as text.
fn may_be_off(newest: &LatestReading<'_>) -> String {
    let own = newest.signal.tolerance_name();
    match newest.signal.dimension {
        Dimension::Pressure => {
            format!("{own}, the uncertainty of set pressure, usage and resistance, and the temperature of the day")
        }
        Dimension::Flow => format!("{own}, the uncertainty of usage and resistance, and the temperature of the day"),
        _ => own.to_owned(),
    }
}

/// The signal and its figure in the statement.
fn what_was_read(newest: &LatestReading<'_>) -> TextRange {
    TextRange::new(newest.noted.of.range.start, newest.noted.range.end)
}

/// Advice for a reading that deviates.
fn help(inspection: &Inspection<'_>, line: Option<&Line>, off: &LatestReading<'_>, searches: &mut Searches) -> String {
    let is_more = off.above > 0.0;
    match off.signal.dimension {
        Dimension::Pressure if is_more => {
            "less air is used than is declared, or the set pressure is another: correct the record once that is sure"
                .to_owned()
        }
        Dimension::Pressure => {
            let day = off.noted.date.value;
            let place = line.and_then(|line| advice(inspection, line, day, searches));
            let start = "more air is used or lost than is declared";
            match place {
                Some(place) => format!("{start}; {place}"),
                None => format!("{start}, or the set pressure is another: look for a leak, or correct the record"),
            }
        }
        Dimension::Flow if is_more => {
            "more air is used or lost downstream than is declared: look for a leak, or correct the usage".to_owned()
        }
        Dimension::Flow => {
            "less air is used downstream than is declared: correct the usage once that is sure".to_owned()
        }
        _ if is_more => "the air is wetter than the dryer's dew point makes it: have the dryer looked at".to_owned(),
        _ => "the air is drier than the dryer's dew point makes it: correct the dew point once that is sure".to_owned(),
    }
}
