use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Fields, Terminal, TerminalId};
use drysheath_syntax::Fix;

use super::circuit::{Circuit, called, circuits, place_of, written};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::OutputNotToControl,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "An output of a monitor is wired to something else than a control.",
    explanation: "An output switches: it starts a dryer or opens a valve, and puts its voltage on the pair to do so. A sensor or an \
                  input on that pair is read wrongly and may be damaged, and the control is switched by nobody. Lead the \
                  output to the control, and give the sensor an input.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
monitor m1 {
    sensors 8, contacts 4, outputs 2, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg
    loop-max 4000 ohm, link lan "192.0.2.11"
}
wire m1 output 1 -> tb pair 5 -> m1 sensor 4
#                                ^^^^^^^^^^^
# without spare tb pair 5
# without spare m1 sensor 4
spare tb pair rest
spare m1 sensor 5 .. 8
spare m1 output 2
"#,
        passing: r#"
monitor m1 {
    sensors 8, contacts 4, outputs 2, draws 40 W, window -40.5 V .. -57 V, ground-size 6 awg
    loop-max 4000 ohm, link lan "192.0.2.11"
}
dryer d1 {
    compressor piston, delivers 30 psi, capacity 100 scfh, dew-point -40 degC
    contact humidity { healthy closed }
    control start { needs 20 V }
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
    let wire = &inspection.networks.wire;
    // Hardly any office wires an output.
    let is_switched = |terminal: &Terminal| matches!(terminal.port.role, Role::Output | Role::Control);
    if !wire.terminals().any(|(_, terminal)| is_switched(terminal)) {
        return;
    }
    for circuit in circuits(inspection).filter(|circuit| circuit.signals + circuit.inputs > 1) {
        // A fork is reported by another rule.
        if !circuit.forks(wire) {
            mixed(inspection, circuit, sink);
        }
    }
}

fn mixed(inspection: &Inspection<'_>, circuit: Circuit, sink: &mut Sink<'_>) -> Option<()> {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let of = |wanted: fn(Role) -> bool| {
        let mut all = circuit.ends(wire);
        all.find(|id| wanted(wire.terminal(*id).port.role))
    };
    let is_measured = |role: Role| matches!(role, Role::Signal(_)) || role.is_input();
    let output = of(|role| role == Role::Output);
    let control = of(|role| role == Role::Control);
    let other = of(is_measured)?;
    let name = |id: TerminalId| written(inspection, id);
    let (from, message) = match (output, control) {
        (Some(output), _) => (
            output,
            format!(
                "`{}` is wired to {}: an output goes to a control",
                name(output),
                what(inspection, other)
            ),
        ),
        (None, Some(control)) => (
            control,
            format!(
                "{} is wired to {}: an output of the monitor goes there",
                called(office, wire.terminal(control)),
                what(inspection, other)
            ),
        ),
        (None, None) => return None,
    };
    let finding = sink.report(wire.terminal(from).thing, place_of(wire, other), message);
    finding.fix = output.and_then(|_| to_control(inspection, other));
    finding
        .about(circuit.subject(wire))
        .related(
            office.place(place_of(wire, from)),
            format!("the wire of `{}`", name(from)),
        )
        .help("correct the end of the wire: outputs go to controls, sensors and contacts to inputs");
    Some(())
}

/// If an output is wired to a device with a single control that nothing switches yet, the fix that moves it there.
fn to_control(inspection: &Inspection<'_>, other: TerminalId) -> Option<Fix> {
    let (office, wire) = (inspection.office, &inspection.networks.wire);
    let device = wire.terminal(other).thing;
    let mut controls = office.thing(device).named(Key::Control);
    let (Some((control, ..)), None) = (controls.next(), controls.next()) else {
        return None;
    };
    let is_of_device = |terminal: &Terminal| terminal.thing == device && terminal.port.role == Role::Control;
    if wire.terminals().any(|(_, terminal)| is_of_device(terminal)) {
        return None;
    }
    let better = format!("{} control {control}", office.name(device));
    Some(Fix::replace(
        place_of(wire, other),
        better.clone(),
        format!("Write `{better}`"),
    ))
}

/// A clause: "`ps1`, which is a sensor".
fn what(inspection: &Inspection<'_>, id: TerminalId) -> String {
    let is = match inspection.networks.wire.terminal(id).port.role {
        Role::Signal(kind) if kind.dimension.is_none() => "a contact",
        Role::Signal(_) => "a sensor",
        _ => "an input",
    };
    format!("`{}`, which is {is}", written(inspection, id))
}
