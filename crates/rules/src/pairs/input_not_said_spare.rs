use drysheath_office::kinds::{KindId, Role};
use drysheath_syntax::Medium;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::spare::not_said_spare;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::InputNotSaidSpare,
    level: Level::Warning,
    while_planned: Some(Level::Note),
    yields_to: &[
        (
            Scope::Ports,
            &[
                RuleId::InputOutOfRange,
                RuleId::SpareOutOfRange,
                RuleId::SpareInUse,
                RuleId::InputAssignedTwice,
                RuleId::SignalOnWrongInput,
            ],
        ),
        (
            Scope::Wires,
            &[
                RuleId::RangeLengthsDiffer,
                RuleId::ConnectorsDoNotMate,
                RuleId::ConnectorMatedTwice,
            ],
        ),
        // A device whose wire does not reach its input leaves that input unused.
        (
            Scope::Office,
            &[
                RuleId::DeviceWithoutPair,
                RuleId::DeadEnd,
                RuleId::CablePairStranded,
                RuleId::SignalWiredTwice,
                RuleId::PairAssignedTwice,
            ],
        ),
    ],
    family: Family::Pairs,
    summary: "An input or output of a monitor is unused, and nothing says that it is spare.",
    explanation: "A record that is silent about an input does not tell whether it is free or the device on it was forgotten, and a \
                  device that was forgotten is entered in no monitoring system. Say that the input is spare, or write down what \
                  is wired to it.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r#"
monitor m1 {
#       ^^
    sensors         8
    contacts        4
    draws           40 W
    window          -40.5 V .. -57 V
    wants-filtered  yes
    ground-size     6 awg
    loop-max        4000 ohm
    link            lan "192.0.2.11"
}
# without spare m1 sensor
spare m1 sensor 4 .. 6
"#,
        passing: r"
# without spare m1 sensor
spare m1 sensor 4 .. 6
spare m1 sensor 7 .. 8
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.unsure.about_spares(Medium::Wire) {
        return;
    }
    for (id, thing) in office.of_kind(KindId::Monitor).filter(|(_, thing)| !thing.damaged) {
        let inputs = thing
            .kind
            .map_or(&[][..], |kind| kind.ports)
            .iter()
            .filter(|port| port.role.is_input() || port.role == Role::Output);
        for port in inputs {
            for gap in inspection.allocation().unstated(office, id, port) {
                not_said_spare(office, id, port, gap, sink).about([Subject::Wires, Subject::Office]);
            }
        }
    }
}
