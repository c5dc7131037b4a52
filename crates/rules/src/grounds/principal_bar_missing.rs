use drysheath_office::Fields;
use drysheath_office::kinds::{Key, KindId};

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PrincipalBarMissing,
    level: Level::Error,
    while_planned: Some(Level::Warning),
    yields_to: &[],
    family: Family::Grounds,
    summary: "None of the office's ground bars is the principal one.",
    explanation: "All grounds of an office come together at one bar, and the battery's return meets them there and nowhere \
                  else. Unless the record says which bar that is, nobody can tell whether the others are bonded to it. \
                  Write `principal yes` for the bar that the building's own ground comes to.",
    source: Source::FromMemory("ATIS-0600333 and ETSI EN 300 253; TIA-607 calls it the main grounding busbar"),
    example: Some(Example {
        failing: r"
ground-bar ogb { principal no }
#          ^^^
",
        passing: r"
ground-bar ogb { principal no }
ground-bar vault-bar { principal yes }
ground ogb -> vault-bar with 6 awg, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let mut bars = office.of_kind(KindId::GroundBar);
    let Some((id, first)) = bars.next().filter(|_| !office.unsure.things) else {
        return;
    };
    // A bar that could not be read may be the principal one.
    let may_be = |bar: &drysheath_office::Thing| bar.damaged || bar.yes_no(Key::Principal) == Some(true);
    if may_be(first) || bars.any(|(_, bar)| may_be(bar)) {
        return;
    }
    sink.report(
        id,
        first.name,
        format!(
            "no ground bar here is the principal one, `{}` included",
            office.name(id)
        ),
    )
    .help("write `principal yes` for the bar where the building's own ground comes in");
}
