use drysheath_syntax::{Fix, with_comments};

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RestTwice,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "The rest of the same pairs, inputs or positions is declared spare twice.",
    explanation: "`rest` is all that no other statement uses, so a second line about the same port has nothing left to say. \
                  Most often it was meant for another block or cable. Delete it, or correct its name.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
# without spare tb pair 5
spare tb pair rest
spare tb pair rest
#        ^^^^^^^^^
",
        passing: r"
# without spare tb pair 5
spare tb pair rest
block tb2 { pairs 10 }
spare tb2 pair rest
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let said = || office.spares.iter().filter(|spare| spare.is_rest);
    for (at, rest) in said().enumerate() {
        let Some((id, port)) = rest.end.thing.zip(rest.end.port) else {
            continue;
        };
        let ends = said().take(at).map(|spare| spare.end);
        let mut same = ends.filter(|end| end.thing == Some(id) && end.port.is_some_and(|own| std::ptr::eq(own, port)));
        let Some(first) = same.next() else { continue };
        let message = format!(
            "the rest of the {}s of `{}` is declared spare already",
            port.noun(),
            office.name(id)
        );
        sink.report(id, rest.end.detail, message)
            .related(office.place(first.detail), "said here for the first time")
            .help("delete one of the two, or correct its name")
            .fix(Fix::replace(
                with_comments(&office.text, rest.range),
                "",
                "Delete the second",
            ));
    }
}
