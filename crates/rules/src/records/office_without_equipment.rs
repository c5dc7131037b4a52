use drysheath_office::Thing;
use drysheath_office::kinds::Kind;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::OfficeWithoutEquipment,
    level: Level::Error,
    while_planned: Some(Level::Warning),
    yields_to: &[],
    family: Family::Records,
    summary: "A file has the head of an office and no equipment.",
    explanation: "Nothing can be checked of an office of which only the head is written, so that it would pass every check. Write what is \
                  there: the dryer, the cables, the monitor. An office that is closed or that has only rooms for now may be accepted with that reason. \
                  What its head lacks besides is not reported as long as nothing else is there.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
# file offices/new-town
office new-town { title "New Town", site "NEWT01", elevation 310 m, coldest -25 degC, stage installed }
#      ^^^^^^^^
"#,
        passing: r#"
# file offices/new-town
office new-town { title "New Town", site "NEWT01", elevation 310 m, coldest -25 degC, stage installed }
block tc { pairs 10 }
spare tc pair rest
"#,
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    // Things left out because of their stage still count as equipment.
    let office = inspection.whole;
    let is_equipment = |thing: &Thing| thing.kind.is_none_or(Kind::is_equipment);
    let Some(itself) = office.itself else { return };
    let is_unsure = office.unsure.things || office.thing(itself).damaged;
    if is_unsure || office.things().any(|(_, thing)| is_equipment(thing)) {
        return;
    }
    let message = format!(
        "the office `{}` has no equipment: nothing of it can be checked",
        office.name(itself)
    );
    sink.report(itself, office.thing(itself).name, message)
        .help("write what is there, such as its dryer, its cables and its monitor, or accept this with the reason");
}
