use std::collections::HashMap;

use drysheath_office::{Fields, ThingId, with_article};
use drysheath_text::TextRange;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::FormerNameTaken,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A former name leads to another thing as well.",
    explanation: "`formerly ps1` says that what is in the records as `ps1` is this thing now. If there is still a thing of that name, or \
                  two things say so, the records of one would be carried on with the other. Give the former name to \
                  the one thing that had it, and let no other thing have it as long as it stands there.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
block tc { pairs 10, formerly tb }
#                    ^^^^^^^^^^^
spare tc pair 1 .. 10
",
        passing: r"
block tc { pairs 10, formerly tb-old }
spare tc pair 1 .. 10
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.whole;
    let mut said: HashMap<&str, (ThingId, TextRange)> = HashMap::new();
    for (id, thing) in office.things() {
        for (name, place) in thing.former_names() {
            let (range, own) = (place.range, office.name(id));
            if name == own {
                sink.report(id, range, format!("`{own}` is called `{name}` now, not formerly"))
                    .help("name what it was called before, or delete this");
            } else if let Some(other) = office.named(name).filter(|other| !office.thing(*other).damaged) {
                let kind = office.thing(other).kind.map_or("thing", |kind| kind.word());
                let there = with_article(kind);
                sink.report(
                    id,
                    range,
                    format!("`{own}` cannot be the former `{name}`: there is {there} of that name"),
                )
                .related(office.place(office.thing(other).name), format!("the {kind} `{name}`"))
                .help("rename that thing too, or delete this");
            } else if let Some((first, at)) = said.get(name) {
                let first = office.name(*first);
                sink.report(
                    id,
                    range,
                    format!("both `{first}` and `{own}` are said to be the former `{name}`"),
                )
                .related(office.place(*at), format!("said of `{first}`"))
                .help("say it of the one that was called so");
            } else {
                said.insert(name, (id, range));
            }
        }
    }
}
