use std::fmt::Write as _;

use drysheath_engineering::measure::Time;
use drysheath_engineering::units::{Dimension, time};
use drysheath_office::kinds::{Kind, KindId};
use drysheath_office::{
    EXTENSION, Expectation, ExpectedCondition, Office, PlacedDrawing, Run, Thing, ThingId, Timing, When,
};
use drysheath_prediction::{
    AirLocation, AirState, AlarmReading, DeclaredBy, ExpectationOutcome, Least, Lowest, StateError, back_flow_note,
    position_name,
};
use drysheath_syntax::Medium;
use drysheath_text::TextRange;

use crate::coverage::MissingFigure;
use crate::figures::{computed, difference, shown_flow};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ExpectationUnmet,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "In a state that a `when` describes, something that is expected does not hold.",
    explanation: "The air network is computed once more with what the `when` says happens, until the pressures have settled. What a \
                  section loses follows its pressure there: at each place in proportion to p\u{b2} \u{2212} pa\u{b2}, from its \
                  usage in the normal state. A limit counts as passed when the computed reading is beyond it by more than the \
                  sensor's error, and `no alarm` holds while every reading stays clear of its limits by that much, so that \
                  neither depends on luck. A contact with a `limit` counts like a sensor without error. No source gives more than its \
                  capacity: where more is asked for, its pressure falls, and the message says so. A source that stops takes no air back: where \
                  neither a check valve nor a regulator keeps air from flowing back into it, the message says that this is not counted. Limits of humidity and dew point are not looked at. With `for` or `within` and a time the \
                  pressures are followed from the normal state on, with the air that sections, pipes and tanks hold: `for` must hold all that time, an alarm `within` it must come before it is over, a pressure `within` it must be there at \
                  its end.",
    source: Source::Derived("laminar leakage from the normal state, and the air network solved again"),
    example: Some(Example {
        failing: r"
when c101 leaks 1 scfh at 2.1 km    expect ps1 low
#                                          ^^^^^^^
",
        passing: r"
when c101 breaks at 2.1 km          expect ps1 low, f1 high
when d1 stops                       expect c101 above minimum for 20 min
",
    }),
    check: Check::Office(check),
};

/// The statements of an office with the states that they are about, what is known of those, and what becomes of each expectation. None
/// while something of the air could not be read.
pub(crate) fn states<'i>(
    inspection: &'i Inspection<'_>,
) -> impl Iterator<Item = (&'i When, &'i Result<AirState, StateError>, &'i [ExpectationOutcome<'i>])> {
    let office = inspection.office;
    let whens = if office.whens.is_empty() || is_unread(office) {
        &[]
    } else {
        office.whens.as_slice()
    };
    let states = whens.iter().zip(&inspection.prediction.states);
    let with_outcomes = states.zip(inspection.outcomes());
    with_outcomes.map(|((when, state), outcomes)| (when, state, outcomes.as_slice()))
}

/// Whether a thing is of the air and could not be read.
fn is_unread_of_air(thing: &Thing) -> bool {
    let has_air = |kind: &Kind| kind.ports_in(Medium::Air).next().is_some();
    thing.damaged && (thing.is(KindId::Office) || thing.kind.is_none_or(has_air))
}

/// What of the air could not be read in other files, as the office names it, and where it does. Nothing is reported of that in the file of the
/// office.
pub fn unread_elsewhere(office: &Office) -> Option<(String, TextRange)> {
    let runs = office.runs.iter().filter(|run| run.medium == Medium::Air);
    let unread_runs: Vec<&Run> = runs.filter(|run| run.pieces().any(|piece| piece.damaged)).collect();
    let is_unread = |placed: &&PlacedDrawing| {
        let mut damaged = placed.damaged.iter().filter(|id| !office.excluded.has(**id));
        let is_its = |run: &&Run| office.placed_at(run.range).is_some_and(|of| std::ptr::eq(of, *placed));
        placed.unsure.about(Medium::Air)
            || damaged.any(|id| is_unread_of_air(office.thing(*id)))
            || unread_runs.iter().any(is_its)
    };
    if let Some(placed) = office.placed.iter().find(is_unread) {
        return Some((format!("`{}.{EXTENSION}`", placed.path), placed.name));
    }
    let present = office.own_things().filter(|(id, _)| !office.excluded.has(*id));
    let mut damaged = present.filter(|(_, thing)| is_unread_of_air(thing));
    damaged.find_map(|(_, thing)| {
        let mut parts = thing.part.iter().chain(&thing.base);
        let part = parts.find(|part| part.damaged && part.place.file != office.file)?;
        Some((format!("the part `{}`", part.name), thing.name))
    })
}

/// Whether something of the air could not be read. That is reported where it is, and what does not hold or is not known may only follow from
/// it.
pub(crate) fn is_unread(office: &Office) -> bool {
    let is_of_air = |(_, thing): (ThingId, &Thing)| is_unread_of_air(thing);
    let runs = office.runs.iter().filter(|run| run.medium == Medium::Air);
    // What is left out because of its stage is not unreadable.
    let mut present = office.things().filter(|(id, _)| !office.excluded.has(*id));
    office.unsure.about(Medium::Air) || present.any(is_of_air) || runs.flat_map(Run::pieces).any(|piece| piece.damaged)
}

/// Whether an expectation was held against what is computed.
pub(crate) fn compared(outcome: Option<&ExpectationOutcome<'_>>) -> Result<(), MissingFigure> {
    match outcome {
        Some(ExpectationOutcome::Holds | ExpectationOutcome::Below(_) | ExpectationOutcome::Alarms(_)) => Ok(()),
        Some(ExpectationOutcome::NoMinimum(..)) => Err(MissingFigure::Minimum),
        Some(ExpectationOutcome::NotKnown | ExpectationOutcome::Doubtful(_) | ExpectationOutcome::NoTransient(_))
        | None => Err(MissingFigure::Figure),
    }
}

/// Where the statement says what happens.
pub(super) fn events(when: &When) -> TextRange {
    let events = when.events.iter().map(|event| event.range);
    events.reduce(TextRange::cover).unwrap_or(when.range)
}

/// What happens, as the statement says it: `d1 stops, v2 opens`.
pub(crate) fn said<'o>(office: &'o Office, when: &When) -> &'o str {
    events(when).of(&office.text)
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (when, state, outcomes) in states(inspection) {
        let (Ok(state), Some(first)) = (state, when.events.first()) else {
            continue;
        };
        for (expected, found) in when.expected.iter().zip(outcomes) {
            let Some((what, help)) = unmet(office, expected, found) else {
                continue;
            };
            let on = match expected.what {
                ExpectedCondition::Above(Some(thing), _) => thing,
                ExpectedCondition::Passes(end, _) | ExpectedCondition::Trips(end) => end.thing.unwrap_or(first.thing),
                ExpectedCondition::Above(None, _) | ExpectedCondition::NoAlarm => first.thing,
            };
            let why = match expected.timing.time() {
                None => at_capacity(inspection, state, found),
                Some(_) => String::new(),
            };
            let mut message = format!("when {}, {what}{why}", said(office, when));
            for source in &state.back_flow {
                let _ = write!(message, "; {}", back_flow_note(&format!("`{}`", office.name(*source))));
            }
            let finding = sink.report(on, expected.range, message);
            finding.about(air_system(inspection, on));
            if let ExpectationOutcome::Below(Lowest {
                least: Least::Declared(minimum),
                ..
            }) = found
                && let Some(place) = minimum.place
            {
                finding.related(place, "the least pressure");
            }
            finding.help(help);
        }
    }
}

/// Message and advice for an expectation that is not met. `None` where it is met or not known.
fn unmet(office: &Office, expected: &Expectation, found: &ExpectationOutcome<'_>) -> Option<(String, &'static str)> {
    Some(match found {
        ExpectationOutcome::Holds
        | ExpectationOutcome::NotKnown
        | ExpectationOutcome::Doubtful(_)
        | ExpectationOutcome::NoMinimum(..)
        | ExpectationOutcome::NoTransient(_) => return None,
        ExpectationOutcome::Below(lowest) => (
            too_low(office, lowest, expected.timing),
            "let less air be lost in this state, bring another source, or expect what can be kept",
        ),
        ExpectationOutcome::Alarms(alarms) if matches!(expected.what, ExpectedCondition::NoAlarm) => (
            alarms
                .iter()
                .map(|alarm| passing(office, alarm))
                .collect::<Vec<_>>()
                .join("; "),
            "move the limit, or expect that alarm",
        ),
        ExpectationOutcome::Alarms(alarms) => (
            alarms
                .iter()
                .map(|alarm| silent(office, alarm))
                .collect::<Vec<_>>()
                .join("; "),
            "move the limit as far as the sensor's error allows, put a sensor nearer, or expect a greater change",
        ),
    })
}

fn too_low(office: &Office, lowest: &Lowest<'_>, timing: Timing) -> String {
    let least = lowest.least.quantity();
    let found = computed(least, lowest.pressure.pascals(), office);
    let by = match lowest.least {
        Least::Stated(_) => "that is expected",
        Least::Declared(minimum) => match minimum.by {
            DeclaredBy::Itself => "that is declared there",
            DeclaredBy::Office => "that the office declares",
            DeclaredBy::Settings => "that the settings declare",
        },
    };
    let place = position_name(office, lowest.line, lowest.metres);
    match (lowest.fell, timing) {
        (Some(_), Timing::For(_)) if lowest.is_at_once() => {
            format!("the pressure {place} is {found} at once, below the {least} {by}")
        }
        (Some(fell), Timing::For(whole)) => {
            let after = shown_time(fell);
            format!("the pressure {place} falls{after} below the {least} {by}, and is {found} after {whole}")
        }
        (_, Timing::Within(whole)) => format!("the pressure {place} is {found} after {whole}, below the {least} {by}"),
        _ => format!("the pressure {place} is {found}, below the {least} {by}"),
    }
}

/// Formats a time as a suffix: " after 4.2 h", " at once".
fn shown_time(after: Time) -> String {
    let seconds = after.seconds();
    match time(seconds).filter(|_| seconds >= 1.0) {
        Some(time) => format!(" after {time}"),
        None => " at once".to_owned(),
    }
}

/// A clause that names the sources at full capacity in the systems of an unmet expectation, in the final state.
fn at_capacity(inspection: &Inspection<'_>, state: &AirState, found: &ExpectationOutcome<'_>) -> String {
    let (office, air) = (inspection.office, &state.air);
    let systems: Vec<_> = match found {
        ExpectationOutcome::Below(lowest) => vec![air.system_at(&AirLocation::OnLine(lowest.line, lowest.metres))],
        ExpectationOutcome::Alarms(alarms) => {
            let locations = alarms
                .iter()
                .filter_map(|alarm| air.location_of(office, inspection.networks, alarm.thing));
            locations.map(|location| air.system_at(&location)).collect()
        }
        _ => Vec::new(),
    };
    let mut words = Vec::new();
    for (source, supply) in air.at_capacity() {
        let (Some(asked), true) = (
            supply.asked,
            systems.contains(&air.system_at(&AirLocation::Thing(source))),
        ) else {
            continue;
        };
        words.push(format!(
            "; `{}` gives all of the {} that it can here, and would have to give {} to hold its pressure",
            office.name(source),
            shown_flow(office, supply.flow),
            shown_flow(office, asked)
        ));
    }
    words.concat()
}

/// A reading, its limit and the sensor's tolerance: "`ps1` reads 5.4 psi", "its low limit of 3.5 psi".
fn reading(office: &Office, alarm: &AlarmReading) -> (String, String, Option<String>) {
    let read = computed(alarm.limit, alarm.reading, office);
    let name = office.name(alarm.thing);
    let verb = if alarm.dimension == Dimension::Flow {
        "reads"
    } else {
        "is at"
    };
    let error = (alarm.error > 0.0).then(|| difference(alarm.limit, alarm.error).to_string());
    let after = alarm.after.map(shown_time).unwrap_or_default();
    (
        format!("`{name}` {verb} {read}{after}"),
        format!("its {} limit of {}", alarm.level.word(), alarm.limit),
        error,
    )
}

fn silent(office: &Office, alarm: &AlarmReading) -> String {
    let (reading, limit, error) = reading(office, alarm);
    match error {
        Some(error) => format!("{reading}, which does not pass {limit} by more than the {error} that it may be off"),
        None => format!("{reading}, which does not pass {limit}"),
    }
}

fn passing(office: &Office, alarm: &AlarmReading) -> String {
    let (reading, limit, error) = reading(office, alarm);
    match error {
        Some(error) => {
            format!("{reading}, which passes {limit} or comes nearer to it than the {error} that it may be off")
        }
        None => format!("{reading}, which passes {limit}"),
    }
}
