use drysheath_office::kinds::{Key, Role};
use drysheath_office::{End, Fields, Office, numbers_written, printed};
use drysheath_syntax::Medium;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::listed::listed;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::whole_runs;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FusePositionOutOfRange,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "A run or a spare names a fuse position that the panel does not have.",
    explanation: "Somebody goes to the panel with this number, does not find it, and guesses. Give the position that is on \
                  the panel, or correct the panel's `positions`. Pulling the wrong fuse takes down a neighbour: work on \
                  battery is for qualified people with insulated tools and no jewellery.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
power pdf fuse 11 -> m1 with 3 A, 14 awg, 6 m
#         ^^^^^^^
# without power pdf
spare pdf fuse 1
",
        passing: r"
power pdf fuse 10 -> m1 with 3 A, 14 awg, 6 m
# without power pdf
# without spare pdf fuse 2
spare pdf fuse 1 .. 9
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let runs = whole_runs(office, Medium::Power);
    for end in runs.flat_map(|run| &run.ends) {
        report(office, end, sink);
    }
}

fn report(office: &Office, end: &End, sink: &mut Sink<'_>) -> Option<()> {
    end.port.filter(|port| port.role == Role::Fuse)?;
    let id = end.thing?;
    let panel = office.thing(id);
    let rows = office.rows(id, end.port?)?;
    let (_, wrong) = rows.lacking(end.numbers.0, end.numbers.1)?;
    let name = office.name(id);
    let positions: Vec<String> = rows.iter().map(|(from, to)| numbers_written(from, to)).collect();
    let finding = sink.report(
        id,
        end.detail,
        format!(
            "`{name}` has no fuse {}: its positions are {}",
            printed(wrong),
            listed(&positions)
        ),
    );
    if let Some(field) = panel.field(Key::Positions) {
        finding.related(field.place, "its positions");
    }
    finding.about([Subject::Ports(id, "fuse")]);
    finding.help("give a position that the panel has, or correct its `positions`");
    Some(())
}
