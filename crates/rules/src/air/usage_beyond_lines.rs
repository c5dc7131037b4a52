use drysheath_engineering::network::NoSolution;
use drysheath_prediction::Culprit;

use super::culprit::locate;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(super) static RULE: Rule = Rule {
    name: "usage-beyond-lines",
    level: Level::Error,
    while_planned: None,
    family: Family::Air,
    summary: "More air is said to be used than the tubes, pipes and cables can bring.",
    explanation: "The usage of the sections and the resistance on the way to them leave no pressure at all: not even a vacuum at \
                  the named place would draw so much air through what lies before it. No cable lives like that, so a figure is wrong, \
                  most often a usage, a resistance or a bore by a factor of ten, or a unit. Until it is put right no pressure of \
                  this network can be computed, and nothing else is said of its pressures and dryers.",
    source: Source::Derived("laminar isothermal flow, p\u{b2} falls evenly (Hagen-Poiseuille, ideal gas)"),
    example: Some(Example {
        failing: r"
cable c101 {
    pairs  50
    gauge  24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 1.4 psi/scfh/kft, usage 4 scfh }
#           ^^
}
",
        passing: r"
cable c101 {
    pairs  50
    gauge  24 awg
    rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh }
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for failure in inspection.prediction.air.failures() {
        if !matches!(failure.why, NoSolution::Overdrawn { .. }) {
            continue;
        }
        let Some(at) = failure.at.and_then(|at| locate(inspection, &at)) else {
            continue;
        };
        let message = match failure.at {
            Some(Culprit::Run(_)) => {
                format!(
                    "more air is used than {} can bring: not even a vacuum behind it would draw so much through",
                    at.name
                )
            }
            _ => format!(
                "more air is used than the lines can bring: not even a vacuum {} would draw so much to it",
                at.name
            ),
        };
        sink.report(at.on, at.range, message)
            .help("look for a usage, resistance, length or bore that is wrong by a factor of ten, or a wrong unit");
    }
}
