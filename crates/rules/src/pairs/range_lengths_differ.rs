use drysheath_office::End;
use drysheath_syntax::Medium;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::whole_runs;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::RangeLengthsDiffer,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "A wire joins ranges of different length.",
    explanation: "Ranges are joined number by number: the first with the first, the last with the last. Where one is longer, \
                  some of its pairs lead nowhere, and most likely all of them are off by one somewhere. Count again on the \
                  frame.",
    source: Source::Language,
    example: Some(Example {
        failing: r"
wire c101 pair 38 .. 41 -> tb pair 5 .. 7
#                             ^^^^^^^^^^^
",
        passing: r"
wire c101 pair 38 .. 41 -> tb pair 5 .. 8
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let wires = whole_runs(office, Medium::Wire);
    for pair in wires.flat_map(|run| run.ends.windows(2)) {
        let [one, other] = pair else { continue };
        let (length, other_length) = (length(one), length(other));
        if length == other_length {
            continue;
        }
        let Some(id) = other.thing else { continue };
        let message = format!(
            "`{}` stands for {length} and `{}` for {other_length}, so they do not join one by one",
            office.end_name(one),
            office.end_name(other)
        );
        sink.report(id, other.detail, message)
            .about([Subject::Wires])
            .related(
                office.place(one.detail),
                format!("`{}` stands for {length}", office.end_name(one)),
            )
            .help("make both ranges as long as each other");
    }
}

fn length(end: &End) -> u64 {
    u64::from(end.numbers.1 - end.numbers.0) + 1
}
