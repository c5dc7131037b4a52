use drysheath_office::{End, Run, connector_pairs};
use drysheath_syntax::{Fix, Medium, with_comments};

use super::connectors_do_not_mate::is_connector;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::whole_runs;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ConnectorMatedTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "One connector is mated with two others.",
    explanation: "A socket takes one plug. Where the record has two in it, one of the lines was copied and its connector not changed, and \
                  the pairs behind it lead somewhere else than the record says.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
block j1 { pairs 4, connector plug }
block j2 { pairs 4, connector socket }
block j3 { pairs 4, connector plug }
wire j1 -> j2
wire j3 -> j2
#          ^^
spare j1 pair rest
spare j2 pair rest
spare j3 pair rest
",
        passing: r"
block j1 { pairs 4, connector plug }
block j2 { pairs 4, connector socket }
block j3 { pairs 4, connector plug }
wire j1 -> j2
spare j1 pair rest
spare j2 pair rest
spare j3 pair rest
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let wires = whole_runs(office, Medium::Wire);
    let mut seen: Vec<(&Run, &End)> = Vec::new();
    let ends = wires.flat_map(|run| run.ends.iter().map(move |end| (run, end)));
    for (run, end) in ends.filter(|(_, end)| is_connector(end)) {
        let Some(id) = end.thing else { continue };
        let is_same = |(_, other): &&(&Run, &End)| {
            let pairs = |end| connector_pairs(office, end).unwrap_or_default();
            other.thing == end.thing && pairs(other).iter().any(|pair| pairs(end).contains(pair))
        };
        if let Some((earlier, first)) = seen.iter().find(is_same) {
            let is_copy = are_same(earlier, run);
            // For a run written twice, one result is enough.
            if is_copy && seen.iter().any(|(other, _)| std::ptr::eq(*other, run)) {
                continue;
            }
            let name = office.end_name(end);
            let finding = sink
                .report(id, end.range, format!("the connector `{name}` is mated already"))
                .about([Subject::Wires, Subject::Ports(id, "pair")])
                .related(office.place(first.range), "mated here")
                .help("name the connector that this one really goes to, or delete the line");
            if is_copy {
                let whole = with_comments(&office.text, run.range);
                finding.fix(Fix::replace(whole, "", "Delete the second"));
            }
        }
        seen.push((run, end));
    }
}

/// Whether two runs join the same two connectors, in either order.
fn are_same(one: &Run, other: &Run) -> bool {
    let key = |end: &End| (end.thing, end.numbers);
    let ([a, b], [c, d]) = (one.ends.as_slice(), other.ends.as_slice()) else {
        return false;
    };
    (key(a), key(b)) == (key(c), key(d)) || (key(a), key(b)) == (key(d), key(c))
}
