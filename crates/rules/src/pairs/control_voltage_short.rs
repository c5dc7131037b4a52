use drysheath_prediction::ControlLoop;

use super::circuit::called;
use crate::figures::below;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ControlVoltageShort,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "Less voltage is left at a control than it needs.",
    explanation: "Part of the output's voltage is dropped on the way: the current of the control flows through both conductors of \
                  the pair. \
                  A relay that gets too little chatters or does not pull in, most of all on a hot day, when copper has \
                  more resistance. Take thicker wire or two pairs in parallel, a relay of less current, or an output of more voltage. \
                  Without the `output-voltage` of the monitor nothing is computed: a contact without voltage of its own switches \
                  what the dryer supplies.",
    source: Source::Derived("Ohm's law; copper at `hottest`"),
    example: Some(Example {
        failing: r#"
monitor m1 {
    sensors 8, contacts 4, outputs 2, output-voltage 24 V, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg
    loop-max 4000 ohm, link lan "192.0.2.11"
}
dryer d1 {
    compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC
    contact humidity { healthy closed }
    control start { needs 22 V, current-max 0.2 A }
}
wire m1 output 1 -> tb pair 5 -> d1 control start with 24 awg, 100 m
#                                ^^^^^^^^^^^^^^^^
# without spare tb pair 5
spare tb pair rest
spare m1 output 2
"#,
        passing: r#"
monitor m1 {
    sensors 8, contacts 4, outputs 2, output-voltage 24 V, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg
    loop-max 4000 ohm, link lan "192.0.2.11"
}
dryer d1 {
    compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC
    contact humidity { healthy closed }
    control start { needs 22 V, current-max 0.2 A }
}
wire m1 output 1 -> tb pair 5 -> d1 control start with 24 awg, 20 m
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
    let (voltage, needs, current) = (one.voltage?, one.needs?, one.current?);
    let left = one.left()?.volts();
    if !below(left, needs.quantity.si().abs()) {
        return None;
    }
    let (control, output) = (called(office, &one.control), called(office, &one.output));
    let round = |figure: f64| (figure * 10.0).round() / 10.0;
    let message = format!(
        "{control} gets {} V and needs {}: {output} gives {}, and {} drops the rest over {} ohm there and back at {}",
        round(left.max(0.0)),
        needs.quantity,
        voltage.quantity,
        current.quantity,
        round(one.resistance.ohms()),
        one.temperature.quantity
    );
    let finding = sink.report(one.control.thing, one.control_range, message);
    for (given, says) in [
        (voltage, "the least that the output gives"),
        (needs, "what the control needs"),
        (current, "what it draws"),
    ] {
        if let Some(place) = given.place {
            finding.related(place, says);
        }
    }
    finding.help("take thicker wire, or a relay that needs less");
    Some(())
}
