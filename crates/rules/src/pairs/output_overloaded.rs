use drysheath_prediction::ControlLoop;

use super::circuit::called;
use crate::figures::exceeds;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::OutputOverloaded,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "A control draws more than the output that switches it may carry.",
    explanation: "A contact that switches more than it is rated for welds shut or burns open: the dryer then runs for ever or not \
                  at all when it is needed. Put a relay between them, or take an output that carries the current.",
    source: Source::Derived("the maker's figures of both, as stated"),
    example: Some(Example {
        failing: r#"
monitor m1 {
    sensors 8, contacts 4, outputs 2, output-max 0.1 A, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg
    loop-max 4000 ohm, link lan "192.0.2.11"
}
dryer d1 {
    compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC
    contact humidity { healthy closed }
    control start { needs 20 V, current-max 0.2 A }
}
wire m1 output 1 -> tb pair 5 -> d1 control start
#                                ^^^^^^^^^^^^^^^^
# without spare tb pair 5
spare tb pair rest
spare m1 output 2
"#,
        passing: r#"
monitor m1 {
    sensors 8, contacts 4, outputs 2, output-max 1 A, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg
    loop-max 4000 ohm, link lan "192.0.2.11"
}
dryer d1 {
    compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC
    contact humidity { healthy closed }
    control start { needs 20 V, current-max 0.2 A }
}
wire m1 output 1 -> tb pair 5 -> d1 control start
# without spare tb pair 5
spare tb pair rest
spare m1 output 2
"#,
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    // Reported in the office of the control.
    let controls = inspection.prediction.controls.iter();
    for one in controls.filter(|one| inspection.office.has(one.control.thing)) {
        report(inspection, one, sink);
    }
}

fn report(inspection: &Inspection<'_>, one: &ControlLoop, sink: &mut Sink<'_>) -> Option<()> {
    let office = inspection.networks.merged(inspection.office).office;
    let (draws, most) = (one.current?, one.output_max?);
    if !exceeds(draws.quantity.si(), most.quantity.si()) {
        return None;
    }
    let (control, output) = (called(office, &one.control), called(office, &one.output));
    let message = format!(
        "{control} draws {}, and {output} may carry {}",
        draws.quantity, most.quantity
    );
    let finding = sink.report(one.control.thing, one.control_range, message);
    for (given, says) in [(draws, "what the control draws"), (most, "the most of each output")] {
        if let Some(place) = given.place {
            finding.related(place, says);
        }
    }
    finding.help("put a relay between them, or take an output that carries the current");
    Some(())
}
