use drysheath_office::Terminal;
use drysheath_prediction::NeededFor;
use drysheath_syntax::Medium;

use super::inputs::recorded_inputs;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LoopUnknown,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Place, &[RuleId::FieldMissing])],
    family: Family::HandOver,
    summary: "The loop resistance of a signal cannot be computed.",
    explanation: "When a line is tested, the reading of a meter at the block is compared with the computed loop resistance; \
                  a difference is the first sign of a wet joint. It follows from the sizes and lengths of the wires and \
                  from where the device is on its cable. Write what is missing.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
cable c101 {
#     ^^^^
    pairs 50, rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh, volume 7 ft3 }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh, volume 12 ft3 }
}
",
        passing: r"
cable c101 {
    pairs 50, gauge 22 awg, rating 20 psi
    section s1 { underground 1.2 km, depth 2 m, resistance 0.09 psi/scfh/kft, usage 3 scfh, volume 7 ft3 }
    section s2 { buried 2.0 km, resistance 0.14 psi/scfh/kft, usage 4 scfh, volume 12 ft3 }
}
",
    }),
    check: Check::HandOver(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let (office, prediction) = (inspection.office, inspection.prediction);
    let loops: Vec<Terminal> = prediction.loops.iter().map(|one| one.signal).collect();
    let mut unknown = recorded_inputs(inspection)
        .filter(|input| !loops.contains(&input.path.signal) && !input.passes_damage(inspection))
        .peekable();
    if unknown.peek().is_none() || office.unsure.about(Medium::Wire) {
        return;
    }
    let missing = prediction
        .missing
        .iter()
        .filter(|own| own.needed_for == NeededFor::Loop);
    let mut is_explained = false;
    for own in missing {
        is_explained = true;
        let message = format!("the file does not say {}", own.what);
        sink.report(own.on, own.range, message)
            .help(format!("with it one could compute {}", own.needed_for.phrase()));
    }
    for input in unknown.filter(|_| !is_explained) {
        let device = input.name;
        input
            .report(sink, format!("the loop resistance of `{device}` cannot be computed"))
            .help("correct the errors in the file first");
    }
}
