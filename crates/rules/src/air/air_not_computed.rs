use drysheath_engineering::network::NoSolution;

use super::failed_place::failed_place;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::AirNotComputed,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "A figure in the air network is impossible, so its pressures are not computed.",
    explanation: "Nothing is missing, and each figure is plausible by itself, but together they describe no tube or cable: a \
                  pipe that is \
                  rougher than a tenth of its bore, for example. Correct them. Until then nothing is computed of the pressures \
                  and flows of \
                  the connected air system.",
    source: Source::Derived("the laws of air in tubes, cables and regulators"),
    example: Some(Example {
        failing: r"
# without spare mf port 3
spare mf port 4
air mf port 3 -> ap1 with 3/8 in tube, 1/4 in bore, 3 m
air-pipe ap1 { length 100 m, bore 0.75 in, roughness 2 mm }
#        ^^^
",
        passing: r"
# without spare mf port 3
spare mf port 4
air mf port 3 -> ap1 with 3/8 in tube, 1/4 in bore, 3 m
air-pipe ap1 { length 100 m, bore 0.75 in, roughness 1.9 mm }
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for failure in inspection.prediction.air.failures() {
        let words = match failure.why {
            NoSolution::Overdrawn { .. } => continue,
            NoSolution::Impossible { why, .. } => format!("the pressures cannot be computed: {why}"),
            NoSolution::Unsettled { .. } => failure.why.to_string(),
        };
        if let Some(at) = failed_place(inspection, &failure) {
            sink.report(at.on, at.range, format!("{words} ({})", at.name))
                .help("correct the figure; until then nothing is computed for this air system");
        }
    }
}
