use drysheath_prediction::Line;

use super::cut_watch::{Beyond, CutWatch, cut_stretch};
use super::location_text::{declared_at, location_text};
use super::nearest_limit::NearestLimit;
use super::undetected::{UndetectedInterval, nearest};
use super::watchers::watches;
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
    let cuts = CutWatch::new(inspection);
    for (watch, lines) in watches(inspection) {
        let beyond = Beyond::of(&cuts, &watch);
        for line in lines {
            for stretch in cuts.unreported(&watch, &beyond, line) {
                if let Some(nearest) = nearest(inspection, &stretch) {
                    report(inspection, line.1, &stretch, &nearest, sink);
                }
            }
        }
    }
}

fn report(
    inspection: &Inspection<'_>,
    line: &Line,
    stretch: &UndetectedInterval,
    nearest: &NearestLimit<'_, '_>,
    sink: &mut Sink<'_>,
) {
    let message = format!(
        "no limit is sure to report a complete cut {}: after one {}",
        location_text(inspection, line, (stretch.from, stretch.to)),
        nearest.reads(line, stretch.at)
    );
    let help = "put a pressure sensor with a low limit at the end: beyond a cut no pressure is left";
    let help = match nearest.reported_by().filter(|_| nearest.is_flow()) {
        Some(limit) => format!("{help}; or {limit}"),
        None => help.to_owned(),
    };
    sink.report(line.thing, declared_at(inspection, line), message)
        .about(computed_at(inspection, line.thing))
        .about([cut_stretch(line, stretch)])
        .about(nearest.signal.map(|signal| signal.subject()))
        .related(nearest.written_at(), nearest.name())
        .help(help);
}
