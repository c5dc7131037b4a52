use drysheath_office::kinds::Port;
use drysheath_office::{End, ThingId};
use drysheath_text::TextRange;

use super::numbers::numbered;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PairStateTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "Two statements say different things of one pair: spare, assigned, defective.",
    explanation: "A pair is spare, or somebody else has it, or it is broken. Where the record says two of these, the next crew \
                  believes the one that suits it. Shorten one of the two ranges. `spare … rest` need not be shortened: it \
                  leaves out whatever another line names.",
    source: Source::Language,
    example: Some(Example {
        failing: r#"
spare tb pair 5 .. 25
defective tb pair 25 because "post broken off"
#            ^^^^^^^
"#,
        passing: r#"
# without spare tb pair 5
spare tb pair 5 .. 24
defective tb pair 25 because "post broken off"
"#,
    }),
    check: Check::Office(check),
};

/// A statement on numbers of a port.
struct NumberStatement<'o> {
    thing: ThingId,
    port: &'static Port,
    numbers: (u32, u32),
    range: TextRange,
    /// The stated state in words; `None` for spares, which several statements may repeat.
    what: Option<String>,
    word: &'o str,
}

fn said<'o>(end: &End, word: &'o str, what: Option<String>) -> Option<NumberStatement<'o>> {
    Some(NumberStatement {
        thing: end.thing?,
        port: end.port?,
        numbers: end.numbers,
        range: end.detail,
        what,
        word,
    })
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.stated.is_empty() {
        return;
    }
    let stated = office.stated.iter();
    let stated = stated.filter_map(|own| said(&own.end, own.state.word(), Some(own.said())));
    let spares = office.spares.iter().filter(|spare| !spare.is_rest);
    let spares = spares.filter_map(|spare| said(&spare.end, "spare", None));
    let mut all: Vec<NumberStatement<'_>> = stated.chain(spares).collect();
    let key = |own: &NumberStatement<'_>| (own.thing, std::ptr::from_ref(own.port).addr());
    all.sort_by_key(|own| (key(own), own.numbers.0, own.range));
    for group in all.chunk_by(|one, other| key(one) == key(other)) {
        // Of the earlier statements, only the one that reaches farthest can overlap the next; spares may overlap each
        // other.
        let mut farthest: Option<&NumberStatement<'_>> = None;
        let mut farthest_stated: Option<&NumberStatement<'_>> = None;
        for own in group {
            let before = if own.what.is_some() { farthest } else { farthest_stated };
            if let Some(before) = before.filter(|before| before.numbers.1 >= own.numbers.0) {
                report(inspection, before, own, sink);
            }
            let reaches = |old: Option<&NumberStatement<'_>>| old.is_none_or(|old| old.numbers.1 <= own.numbers.1);
            if reaches(farthest) {
                farthest = Some(own);
            }
            if own.what.is_some() && reaches(farthest_stated) {
                farthest_stated = Some(own);
            }
        }
    }
}

fn report(inspection: &Inspection<'_>, one: &NumberStatement<'_>, other: &NumberStatement<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let (first, second) = if one.range < other.range {
        (one, other)
    } else {
        (other, one)
    };
    let from = one.numbers.0.max(other.numbers.0);
    let to = one.numbers.1.min(other.numbers.1);
    let are = if from == to { "is" } else { "are" };
    let what = |said: &NumberStatement<'_>| said.what.clone().unwrap_or_else(|| said.word.to_owned());
    let message = format!(
        "{} of `{}` {are} declared {}, and {} as well",
        numbered(one.port.noun(), from, to),
        office.name(one.thing),
        what(second),
        what(first),
    );
    sink.report(second.thing, second.range, message)
        .related(office.place(first.range), format!("declared {} here", first.word))
        .about([Subject::Ports(one.thing, one.port.word)])
        .help(format!(
            "each {} has one state: shorten one of the two ranges",
            one.port.noun()
        ));
}
