use drysheath_office::Fields;
use drysheath_office::kinds::{Key, KindId};

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PrincipalBarTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Grounds,
    summary: "Two ground bars are both declared the principal one.",
    explanation: "An office has one point where all grounds come together and the battery's return meets them. With two, \
                  return current finds its way from one to the other over whatever joins them. Write `principal yes` for the \
                  bar that the building's own ground comes to, and bond the other to it.",
    source: Source::FromMemory("ATIS-0600333 and ETSI EN 300 253; TIA-607 calls it the main grounding busbar"),
    example: Some(Example {
        failing: r"
ground-bar rack-bar { principal yes }
#                     ^^^^^^^^^^^^^
ground rack-bar -> ogb with 6 awg, 4 m
",
        passing: r"
ground-bar rack-bar { principal no }
ground rack-bar -> ogb with 6 awg, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let mut bars = office
        .of_kind(KindId::GroundBar)
        .filter(|(_, bar)| bar.yes_no(Key::Principal) == Some(true));
    let Some((first, bar)) = bars.next() else { return };
    let place = office.place(bar.place_of(Key::Principal, office.file));
    for (id, bar) in bars {
        let (name, other) = (office.name(id), office.name(first));
        let range = bar.place_of(Key::Principal, office.file);
        sink.report(
            id,
            range,
            format!("`{name}` is declared the principal bar, and `{other}` already is"),
        )
        .related(place, format!("`{other}` is declared the principal bar"))
        .help("an office has one: write `principal no` for the other, and bond the two");
    }
}
