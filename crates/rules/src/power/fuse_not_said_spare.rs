use drysheath_office::kinds::{KindId, Role};
use drysheath_syntax::Medium;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::spare::not_said_spare;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FuseNotSaidSpare,
    level: Level::Warning,
    while_planned: Some(Level::Note),
    yields_to: &[
        (
            Scope::Ports,
            &[
                RuleId::FusePositionOutOfRange,
                RuleId::FusePositionTwice,
                RuleId::SpareOutOfRange,
                RuleId::SpareInUse,
            ],
        ),
        // The missing feed belongs in one of the positions.
        (Scope::Office, &[RuleId::LoadUnfed, RuleId::PanelUnfed]),
    ],
    family: Family::Power,
    summary: "A fuse position is unused, and nothing says that it is spare.",
    explanation: "A record that is silent about a position does not tell whether it is free or its feed was forgotten: whoever puts the \
                  next feed there may find a wire in it. Say that it is spare, or write down what it feeds.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
fuse-panel pdf { positions 1 .. 10, current-max 30 A }
#          ^^^
# without spare pdf
spare pdf fuse 2 .. 8
",
        passing: r"
# without spare pdf
spare pdf fuse 2 .. 8
spare pdf fuse 9 .. 10
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.unsure.about_spares(Medium::Power) {
        return;
    }
    for (id, panel) in office.of_kind(KindId::FusePanel).filter(|(_, panel)| !panel.damaged) {
        let ports = panel.kind.into_iter().flat_map(|kind| kind.ports);
        for port in ports.filter(|port| port.role == Role::Fuse) {
            for gap in inspection.allocation().unstated(office, id, port) {
                not_said_spare(office, id, port, gap, sink).about([Subject::Office]);
            }
        }
    }
}
