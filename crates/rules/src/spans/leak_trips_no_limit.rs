use drysheath_engineering::measure::Flow;
use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::Key;
use drysheath_prediction::Line;

use super::cut_watch::{Beyond, CutStretch, CutWatch};
use super::leak_watch::{LeakWatch, Nearest, Stretch};
use super::stretch::{declared_at, whereabouts};
use super::watch::watches;
use crate::figures::below;
use crate::finding::Sink;
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
        // Of the signal whose limit comes nearest.
        (
            Scope::Signal,
            &[
                RuleId::LimitsOutOfOrder,
                RuleId::PredictedOffSpan,
                RuleId::LowLimitUnderMinimum,
                RuleId::NormalNotAsPredicted,
            ],
        ),
    ],
    family: Family::Spans,
    summary: "A leak on a stretch of cable or pipe would trip no limit.",
    explanation: "For every place on a cable or air pipe the air network is computed once more, with a leak of the setting `leak-size` \
                  there. The low limit of a pressure or the high limit of a flow should trip, whichever sensor of the air system it \
                  belongs to; otherwise nobody is sent out, and the leak grows until water is in the cable. A leak near the office \
                  hardly changes the pressure farther out, and is seen by a flow sensor; one far out is seen by the pressure sensors \
                  there. Where a place cannot feed that much, the cable is taken as open there. A limit that trips under normal \
                  conditions does not count, nor do contacts, since their set points are not known. Here sections keep their declared \
                  usage, and a reading at the limit counts as tripping it. The smallest leak that `predict` shows is larger: the \
                  reading must be past the limit by the sensor's error, and sections lose less as the pressure falls. Where over most \
                  of a stretch not even a complete cut trips a limit, `cut-trips-no-limit` says so instead. The result names the \
                  stretch and the limit that comes nearest: tighten it as far as the sensor's error allows, or put a sensor on the \
                  stretch.",
    source: Source::Derived("the air network with one more leak; which leak is worth a visit is common practice"),
    example: Some(Example {
        failing: r"
flow-sensor f1 {
    span  0 .. 15 scfh
    step  0.2 scfh
    error 0.3 scfh
    normal 7 scfh
    proof 60 psi
    limit high 12.1 scfh major deadband 0.6 scfh
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
flow-sensor f1 {
    span  0 .. 15 scfh
    step  0.2 scfh
    error 0.3 scfh
    normal 7 scfh
    proof 60 psi
    limit high 12 scfh major deadband 0.6 scfh
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let Some((written, leak)) = leak(inspection) else {
        return;
    };
    let mut cuts = CutWatch::new(inspection);
    for (watch, lines) in watches(inspection) {
        let beyond = Beyond::of(&cuts, &watch);
        let watch = LeakWatch::new(watch, leak);
        for line in lines {
            let silent = watch.silent(line);
            if silent.is_empty() {
                continue;
            }
            // Where not even a cut trips a limit over most of a stretch, that is reported instead.
            let cuts = cuts.unreported(watch.of_system(), &beyond, line);
            for stretch in silent {
                let common = |cut: &CutStretch| (cut.to.min(stretch.to) - cut.from.max(stretch.from)).max(0.0);
                let is_covered = cuts.iter().map(common).sum::<f64>() >= 0.5 * (stretch.to - stretch.from);
                let covering = cuts.iter().filter(|cut| is_covered && common(cut) > 0.0);
                let covering = covering.map(|cut| cut.subject(line)).collect();
                report(inspection, &watch, (line, &stretch, covering), written, sink);
            }
        }
    }
}

/// The leak that is worth a visit, as written and as a flow; none where the settings want no alarm for one.
pub(crate) fn leak(inspection: &Inspection<'_>) -> Option<(Quantity, Flow)> {
    let written = inspection.settings.quantity(PracticeKey::LeakSize)?;
    let leak = Flow::of(written).filter(|leak| leak.cubic_metres_per_second() > 0.0)?;
    Some((written, leak))
}

fn report(
    inspection: &Inspection<'_>,
    watch: &LeakWatch<'_>,
    (line, stretch, cuts): (&Line, &Stretch, Vec<Subject>),
    leak: Quantity,
    sink: &mut Sink<'_>,
) {
    let office = inspection.office;
    let start = format!(
        "a leak of {leak} {} trips no limit",
        whereabouts(inspection, line, (stretch.from, stretch.to))
    );
    let declared = declared_at(inspection, line);
    let Some(Nearest { watcher, with_leak, .. }) = stretch.nearest else {
        let message = format!("{start}: no sensor of this air system has one that a leak could trip");
        sink.report(line.thing, declared, message)
            .about(computed_at(inspection, line.thing))
            .about(cuts)
            .help("give a pressure sensor out there a low limit, or a flow sensor before it a high one");
        return;
    };
    let watcher = &watch.watchers()[watcher];
    let (reading, rung) = (&watcher.reading, &watcher.rung);
    let shown = |figure| reading.shown(rung.quantity, figure);
    let (name, limit) = (reading.name(), rung.name());
    let (well, with_leak) = (shown(watcher.expected), shown(with_leak));
    let changes = if well == with_leak {
        format!("still reads {well}")
    } else {
        format!("changes only from {well} to {with_leak}")
    };
    let message = format!(
        "{start}: {name}{} comes nearest, {changes}, and its {limit} is {}",
        reading.whereabouts(inspection),
        rung.quantity
    );
    let side = if watcher.is_flow() { "high" } else { "low" };
    let error = reading.size(Key::Error).map_or(0.0, |(error, _)| error);
    let figure = office.figure(with_leak);
    let can_tell = below(error, (watcher.expected - figure).abs());
    let help = if can_tell {
        format!(
            "a {side} limit of {with_leak} at {name} would tell it; otherwise put a sensor on the stretch, or a flow sensor before it"
        )
    } else {
        "put a pressure sensor with a low limit on the stretch, or a flow sensor with a high limit before it".to_owned()
    };
    sink.report(line.thing, declared, message)
        .about(computed_at(inspection, line.thing))
        .about(cuts)
        .about([reading.subject()])
        .related(rung.place, format!("the {limit} of {name}"))
        .help(format!(
            "{help}; the setting `leak-size` says which leak is worth a visit"
        ));
}
