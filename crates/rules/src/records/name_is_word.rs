use std::sync::LazyLock;

use drysheath_office::kinds::KINDS;
use rustc_hash::FxHashMap;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::NameIsWord,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A thing has the word of a kind or of a port for its name.",
    explanation: "In `wire pair pair 3 -> monitor sensor 1` nobody sees at once which word is a name, and a word that is \
                  forgotten makes another statement of it. Name the thing by what tells it from others: a number, a \
                  room, what it feeds.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
block block { pairs 10 }
#     ^^^^^
spare block pair 1 .. 10
",
        passing: r"
block block-2 { pairs 10 }
spare block-2 pair 1 .. 10
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.whole;
    // The name of a damaged thing is not reliable.
    let things = office
        .own_things()
        .filter(|(_, thing)| !thing.damaged)
        .map(|(id, thing)| (Some(id), office.name(id), office.place(thing.name)));
    let parts = office.parts.iter().map(|part| (None, &*part.name, part.place));
    for (on, name, place) in things.chain(parts) {
        let Some(what) = meaning(name) else { continue };
        sink.report_at(on, place, format!("the name `{name}` is also the word of {what}"))
            .help("give it a name that no statement uses as a word");
    }
}

/// The meaning of each word in a statement.
static MEANINGS: LazyLock<FxHashMap<&str, &str>> = LazyLock::new(|| {
    let ports = KINDS.iter().flat_map(|kind| kind.ports);
    let ports = ports.map(|port| (port.word, "a port"));
    ports
        .chain(KINDS.iter().map(|kind| (kind.word(), "a kind of thing")))
        .collect()
});

fn meaning(name: &str) -> Option<&'static str> {
    MEANINGS.get(name).copied()
}
