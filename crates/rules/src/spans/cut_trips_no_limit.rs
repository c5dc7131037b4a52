use drysheath_engineering::units::Dimension;
use drysheath_prediction::{Line, Watcher, distance_name};

use super::cut_watch::{Beyond, CutStretch, CutWatch};
use super::reading::Reading;
use super::stretch::{declared_at, whereabouts};
use super::watch::watches;
use crate::figures::{below, computed, difference, in_unit_of};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::{self, computed_at};
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::CutTripsNoLimit,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[
        reliability::OF_OFFICE,
        (Scope::Office, &[RuleId::AirMissing]),
        reliability::OF_SYSTEM,
        reliability::OF_SUPPLY,
        // A sensor at the end tells any cut.
        (Scope::Place, &[RuleId::CableEndUnwatched]),
        // Of the signal whose limit comes nearest.
        (
            Scope::Signal,
            &[
                RuleId::LimitsOutOfOrder,
                RuleId::LimitNearSpanEnd,
                RuleId::PredictedOffSpan,
                RuleId::LowLimitUnderMinimum,
                RuleId::NormalNotAsPredicted,
            ],
        ),
    ],
    family: Family::Spans,
    summary: "A cable or pipe could be cut through without any limit being tripped.",
    explanation: "Beyond a complete cut no pressure is left, so that a sensor with a low limit out there always tells it. Where none stands \
                  beyond, the air network is computed with the cut: the place and both sides are open to the surrounding air, sections lose less at \
                  their lower pressures, and no source gives more than its capacity. Some limit of the air system should surely trip, by more \
                  than the sensor's error; otherwise a cable lies open, and nobody knows before it is wet. The farther out a cut is, the less more \
                  air flows to it, and the less a flow sensor sees of it. The figures are those of `when … breaks at …` and of \
                  the leaks that limits report in `predict`. The result names the stretch and the limit that comes nearest: put a sensor with a low \
                  limit at the end of the line, or a flow sensor before it whose high limit the cut surely passes.",
    source: Source::Derived("the air network with a place open to the surrounding air"),
    example: Some(Example {
        failing: r"
manifold m0 { ports 2, rating 30 psi }
air d1 -> r1 -> m0 with 3/8 in tube, 1/4 in bore, 4 m
air m0 port 1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 2 m
air m0 port 2 -> ap1 with 3/8 in tube, 1/4 in bore, 2 m
air-pipe ap1 { length 800 m, bore 5 mm, usage 0.1 scfh, rating 30 psi }
#        ^^^
",
        passing: r"
manifold m0 { ports 2, rating 30 psi }
air d1 -> r1 -> f1 -> m0 with 3/8 in tube, 1/4 in bore, 4 m
air m0 port 1 -> mf with 3/8 in tube, 1/4 in bore, 2 m
air m0 port 2 -> ap1 with 3/8 in tube, 1/4 in bore, 2 m
air-pipe ap1 { length 800 m, bore 5 mm, usage 0.1 scfh, rating 30 psi }
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let mut cuts = CutWatch::new(inspection);
    for (watch, lines) in watches(inspection) {
        let beyond = Beyond::of(&cuts, &watch);
        for line in lines {
            for stretch in cuts.unreported(&watch, &beyond, line) {
                if let Some(watcher) = cuts.watcher(stretch.nearest.0) {
                    report(inspection, line, &stretch, watcher, sink);
                }
            }
        }
    }
}

fn report(inspection: &Inspection<'_>, line: &Line, stretch: &CutStretch, watcher: &Watcher, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let (limit, place) = watcher.limit;
    let signal = Reading::of(inspection, watcher.thing, watcher.port);
    let name = signal.map_or_else(|| format!("`{}`", office.name(watcher.thing)), |signal| signal.name());
    let level = watcher.level.word();
    let shown = |figure| match &signal {
        Some(signal) => signal.shown(limit, figure),
        None => computed(limit, figure, office),
    };
    let (well, then) = (shown(watcher.normal), shown(stretch.nearest.1));
    let after = at(inspection, line, stretch.at);
    let reads = if well == then {
        format!("after one {after} {name} still reads {then}")
    } else {
        format!("after one {after} {name} reads {then}, {well} before")
    };
    let error = if watcher.error > 0.0 {
        format!(" with an error of {}", difference(limit, watcher.error))
    } else {
        String::new()
    };
    let message = format!(
        "no limit is sure to report a complete cut {}: {reads}, and its {level} limit of {limit}{error} comes nearest",
        whereabouts(inspection, line, (stretch.from, stretch.to))
    );
    let help = "put a pressure sensor with a low limit at the end: beyond a cut no pressure is left";
    let help = match told_by(watcher, stretch.nearest.1) {
        Some(figure) => {
            let figure = in_unit_of(limit, figure, office).to_digits(3);
            format!("{help}; or a {level} limit of about {figure} at {name}")
        }
        None => help.to_owned(),
    };
    let finding = sink.report(line.thing, declared_at(inspection, line), message);
    finding
        .about(computed_at(inspection, line.thing))
        .about([stretch.subject(line)])
        .about(signal.map(|signal| signal.subject()))
        .related(place, format!("the {level} limit of {name}"))
        .help(help);
}

/// "at 3.2 km".
fn at(inspection: &Inspection<'_>, line: &Line, metres: f64) -> String {
    const NEAR: f64 = 1.0;
    match line.length() {
        Some(length) if length - metres < NEAR => "at the end".to_owned(),
        _ => format!("at {}", distance_name(inspection.office, line, metres)),
    }
}

/// A high limit of a flow that the cut surely passes and the normal flow surely does not: half way between them.
fn told_by(watcher: &Watcher, reading: f64) -> Option<f64> {
    let is_flow = watcher.limit.0.dimension() == Dimension::Flow;
    let room = reading - watcher.normal - 2.0 * watcher.error;
    let figure = f64::midpoint(watcher.normal, reading);
    (is_flow && below(0.0, room) && below(watcher.normal, figure)).then_some(figure)
}
