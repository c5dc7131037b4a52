use std::collections::BTreeMap;

use drysheath_engineering::measure::Flow;
use drysheath_engineering::network::Hole;
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_office::ThingId;
use drysheath_prediction::{Line, SystemId};

use super::cut_watch::{Beyond, CutWatch, cut_stretch};
use super::location_text::{NEAR, declared_at, location_text};
use super::nearest_limit::NearestLimit;
use super::reading::readings;
use super::undetected::{UndetectedInterval, known, nearest, undetected};
use super::watchers::{LimitWatch, compared, is_unsure, watches};
use crate::figures::below;
use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::reliability::{self, computed_at};
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::settings::PracticeKey;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LeakTripsNoLimit,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[
        reliability::OF_OFFICE,
        (Scope::Office, &[RuleId::AirMissing]),
        reliability::OF_SYSTEM,
        reliability::OF_SUPPLY,
        // A cut that nothing tells is more than a leak.
        (Scope::CutStretch, &[RuleId::CutTripsNoLimit]),
        // A sensor at the end tells the leaks near it.
        (Scope::LineEnd, &[RuleId::CableEndUnwatched]),
        // Of the pressures on the line, and of the signal whose limit comes nearest.
        (
            Scope::Signal,
            &[
                RuleId::LimitsOutOfOrder,
                RuleId::LimitTripsWhenWell,
                RuleId::PredictedOffSpan,
                RuleId::LowLimitTooLate,
                RuleId::LowLimitUnderMinimum,
                RuleId::NormalNotAsPredicted,
                RuleId::SensorBeyondCable,
            ],
        ),
    ],
    family: Family::Spans,
    summary: "A leak on a stretch of cable or pipe would trip no limit.",
    explanation: "For every place on a cable or air pipe the air network is computed with a hole there that loses the setting `leak-size` at \
                  the normal pressure of its place, and what the lower pressure leaves of that. Sections lose less as well, in proportion to what \
                  is left of their squared pressure above that of the surrounding air. Some limit of the air system should surely trip: the \
                  sensor's reading must pass it by more than its error. Otherwise nobody is sent out, and the leak grows until water is in the \
                  cable. A leak near the office hardly changes the pressure farther out, and is seen by a flow sensor; one far out is seen \
                  by the pressure sensors there. A limit that trips under normal conditions does not count, nor does a contact whose set point \
                  the file does not state. These are the leaks that `predict` shows along each line, and those of `when … leaks …`. \
                  Where over most of a stretch not even a complete cut trips a limit, `cut-trips-no-limit` says so instead. The result names \
                  the stretch and the limit that comes nearest: tighten it as far as the sensor's error allows, or put a sensor on the stretch.",
    source: Source::Derived("the air network with a hole in it; which leak is worth a visit is common practice"),
    example: Some(Example {
        failing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 5 psi minor deadband 0.3 psi
}
cable c101 {
#     ^^^^
    pairs 50
    gauge 24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh, volume 7 ft3 }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh, volume 12 ft3 }
}
",
        passing: r"
pressure-sensor ps1 {
    at    c101 3.2 km
    span  0 .. 15 psi
    step  0.1 psi
    error 0.2 psi
    proof 30 psi
    limit low 6.8 psi minor deadband 0.3 psi
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let Some((written, leak)) = leak(inspection) else {
        return;
    };
    if is_unsure(inspection) {
        return;
    }
    let air = &inspection.prediction.air;
    let cuts = CutWatch::new(inspection);
    let mut on_lines = None;
    let mut watched: Option<BTreeMap<SystemId, (Beyond, LimitWatch<'_>)>> = None;
    for (number, line) in air.lines().iter().enumerate() {
        let Ok(system) = compared(inspection, (number, line)) else {
            continue;
        };
        let known = known(air, line, |_| true);
        let silent = undetected(inspection, (number, line), Hole::Passing(leak), &known);
        if silent.is_empty() {
            continue;
        }
        // Where not even a cut trips a limit over most of a stretch, that is reported instead.
        let watched = watched.get_or_insert_with(|| {
            let mut watched = BTreeMap::new();
            for (watch, _) in watches(inspection) {
                watched.insert(watch.system, (Beyond::of(&cuts, &watch), watch));
            }
            watched
        });
        let on_lines = on_lines.get_or_insert_with(|| signals_on_lines(inspection));
        let signals = on_lines.get(&(line.thing, line.branch)).map_or(&[][..], Vec::as_slice);
        let unreported = |(beyond, watch): &(Beyond, LimitWatch<'_>)| cuts.unreported(watch, beyond, (number, line));
        let cuts_there = watched.get(&system).map(unreported).unwrap_or_default();
        for stretch in silent {
            let common = |cut: &UndetectedInterval| (cut.to.min(stretch.to) - cut.from.max(stretch.from)).max(0.0);
            let is_covered = cuts_there.iter().map(common).sum::<f64>() >= 0.5 * (stretch.to - stretch.from);
            let covering = cuts_there.iter().filter(|cut| is_covered && common(cut) > 0.0);
            let covering = covering.map(|cut| cut_stretch(line, cut)).collect();
            let nearest = nearest(inspection, &stretch);
            report(inspection, (line, &stretch, covering), nearest, written, sink)
                .about(end_of(line, &stretch, signals))
                .about(signals.iter().map(|(_, signal)| *signal));
        }
    }
}

/// The leak that is worth a visit, as written and as a flow; none where the settings want no alarm for one.
fn leak(inspection: &Inspection<'_>) -> Option<(Quantity, Flow)> {
    let written = inspection.settings.quantity(PracticeKey::LeakSize)?;
    let leak = Flow::of(written).filter(|leak| leak.cubic_metres_per_second() > 0.0)?;
    Some((written, leak))
}

/// The pressure signals on each line, and how far along each of them is, in metres.
type OnLines = BTreeMap<(ThingId, Option<u32>), Vec<(f64, Subject)>>;

fn signals_on_lines(inspection: &Inspection<'_>) -> OnLines {
    let mut on_lines = OnLines::new();
    for reading in readings(inspection).filter(|reading| reading.dimension == Dimension::Pressure) {
        if let Some((line, metres)) = reading.place_on_line(inspection) {
            on_lines
                .entry((line.thing, line.branch))
                .or_default()
                .push((metres, reading.subject()));
        }
    }
    on_lines
}

/// The end of a line, where a stretch reaches it and most of the stretch lies beyond the last sensor.
fn end_of(line: &Line, stretch: &UndetectedInterval, signals: &[(f64, Subject)]) -> Option<Subject> {
    let length = line.length()?;
    let last = signals
        .iter()
        .map(|(metres, _)| *metres)
        .filter(|metres| below(*metres, length));
    let last = last.fold(0.0, f64::max);
    let reaches_end = length - stretch.to < NEAR;
    (reaches_end && last < f64::midpoint(stretch.from, stretch.to)).then_some(Subject::LineEnd(line.thing, line.branch))
}

fn report<'s>(
    inspection: &Inspection<'_>,
    (line, stretch, cuts): (&Line, &UndetectedInterval, Vec<Subject>),
    nearest: Option<NearestLimit<'_, '_>>,
    leak: Quantity,
    sink: &'s mut Sink<'_>,
) -> &'s mut Finding {
    let place = location_text(inspection, line, (stretch.from, stretch.to));
    let start = format!("no limit is sure to report a leak of {leak} {place}");
    let (message, help) = match &nearest {
        None => (
            format!("{start}: no sensor of this air system has one that a leak could trip"),
            "give a pressure sensor out there a low limit, or a flow sensor before it a high one".to_owned(),
        ),
        Some(nearest) => {
            let help = match nearest.reported_by() {
                Some(limit) => {
                    format!("{limit} would report it there; otherwise put a sensor on the stretch, or a flow sensor before it")
                }
                None => {
                    "put a pressure sensor with a low limit on the stretch, or a flow sensor with a high limit before it"
                        .to_owned()
                }
            };
            (
                format!("{start}: with one {}", nearest.reads(line, stretch.at)),
                format!("{help}; the setting `leak-size` says which leak is worth a visit"),
            )
        }
    };
    let finding = sink.report(line.thing, declared_at(inspection, line), message);
    finding
        .about(computed_at(inspection, line.thing))
        .about(cuts)
        .help(help);
    if let Some(nearest) = nearest {
        finding
            .about(nearest.signal.map(|signal| signal.subject()))
            .related(nearest.written_at(), nearest.name());
    }
    finding
}
