use drysheath_office::kinds::{Connector, Key, Role};
use drysheath_office::{End, Fields, Office, Thing, connector_pairs};
use drysheath_syntax::{Fix, Medium};
use drysheath_text::TextRange;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::whole_runs;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ConnectorsDoNotMate,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "A run joins two connectors that do not fit each other.",
    explanation: "A plug goes into a socket that has as many pairs. Whoever is sent with the wrong one drives back for an adapter, or \
                  wires pair by pair what the record says is plugged together. Look at both connectors.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
block j1 { pairs 4, connector plug }
block j2 { pairs 4, connector plug }
wire j1 -> j2
#          ^^
spare j1 pair rest
spare j2 pair rest
",
        passing: r"
block j1 { pairs 4, connector plug }
block j2 { pairs 4, connector socket }
wire j1 -> j2
spare j1 pair rest
spare j2 pair rest
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let wires = whole_runs(office, Medium::Wire);
    for run in wires {
        if let [one, other] = run.ends.as_slice()
            && is_connector(one)
            && is_connector(other)
            && let Some((message, help)) = misfit(office, one, other)
            && let Some(id) = other.thing
        {
            let finding = sink
                .report(id, other.range, message)
                .about([Subject::Wires])
                .related(office.place(one.range), "the other connector")
                .help(help);
            if let Some(fix) = certain(office, one, other) {
                finding.fix(fix);
            }
        }
    }
}

/// Whether an end is a whole connector rather than one of its pairs.
pub(super) fn is_connector(end: &End) -> bool {
    end.port.is_some_and(|port| port.role == Role::Connector)
}

/// Whether an end is a plug or a socket. `None` if not stated.
fn sex(office: &Office, end: &End) -> Option<Connector> {
    office.thing(end.thing?).choice(Key::Connector)
}

/// Why two connectors do not mate, and advice.
fn misfit(office: &Office, one: &End, other: &End) -> Option<(String, &'static str)> {
    for end in [one, other] {
        let thing = office.thing(end.thing?);
        if thing.damaged {
            return None;
        }
        let name = thing.name.of(&office.text);
        if !thing.has(Key::Connector) {
            let message = format!("`{name}` says of no connector that it has");
            return Some((message, "say `connector plug` or `connector socket`, or wire its pairs"));
        }
        if connector_pairs(office, end)?.is_empty() && end.numbers.0 > 0 {
            let message = format!("`{name}` has no connector {}: each is of 25 pairs", end.numbers.0);
            return Some((message, "correct the number, or how many pairs it has"));
        }
    }
    let (one_sex, other_sex) = (sex(office, one)?, sex(office, other)?);
    let (one_name, other_name) = (office.end_name(one), office.end_name(other));
    if one_sex == other_sex {
        let message = format!("`{one_name}` and `{other_name}` are both {}s", one_sex.word());
        return Some((
            message,
            "a plug goes into a socket: look at both, and correct the record",
        ));
    }
    let (count, other_count) = (
        connector_pairs(office, one)?.len(),
        connector_pairs(office, other)?.len(),
    );
    (count != other_count).then(|| {
        (
            format!("`{one_name}` has {count} pairs and `{other_name}` {other_count}, so they do not mate"),
            "say which connector of the larger one it is, such as `tb connector 1`, or wire the pairs",
        )
    })
}

/// The edit that makes two connectors mate, if there is exactly one.
fn certain(office: &Office, one: &End, other: &End) -> Option<Fix> {
    let (pairs, other_pairs) = (connector_pairs(office, one)?, connector_pairs(office, other)?);
    let has = |end: &End| Some(office.thing(end.thing?).has(Key::Connector));
    match (has(one)?, has(other)?) {
        (true, false) if pairs.len() == other_pairs.len() => counterpart(office, one, other),
        (false, true) if pairs.len() == other_pairs.len() => counterpart(office, other, one),
        (true, true) if sex(office, one) == sex(office, other) => None,
        (true, true) if pairs.len() > other_pairs.len() => only_one_left(office, one, other_pairs.len()),
        (true, true) if pairs.len() < other_pairs.len() => only_one_left(office, other, pairs.len()),
        _ => None,
    }
}

/// Adds to the thing at `silent` the counterpart of the connector stated at `said`.
fn counterpart(office: &Office, said: &End, silent: &End) -> Option<Fix> {
    let field = match sex(office, said)? {
        Connector::Plug => "connector socket",
        Connector::Socket => "connector plug",
    };
    let thing = office.thing(silent.thing?);
    let (at, text) = appended(office, thing, field)?;
    let title = format!("Say `{field}` of `{}`", thing.name.of(&office.text));
    Some(Fix::replace(TextRange::empty(at), text, title))
}

/// Position and text for a field that is added to a thing.
fn appended(office: &Office, thing: &Thing, field: &str) -> Option<(u32, String)> {
    let written = thing.range.of(&office.text);
    // A brace in a comment or text would be mistaken for the end of the block.
    if written.contains(['#', '"']) {
        return None;
    }
    let Some(inside) = written.trim_end().strip_suffix('}') else {
        return Some((thing.range.end, format!(" {{ {field} }}")));
    };
    let fields = inside.trim_end();
    let at = thing.range.start + fields.len() as u32;
    let text = if fields.ends_with('{') {
        format!(" {field}")
    } else if inside.contains('\n') {
        format!("\n    {field}")
    } else {
        format!(", {field}")
    };
    Some((at, text))
}

/// Names the only connector of a block that has `count` pairs and is not yet used by a run.
fn only_one_left(office: &Office, end: &End, count: usize) -> Option<Fix> {
    let thing = end.thing.filter(|_| end.numbers.0 == 0)?;
    let numbered = |number: u32| End {
        numbers: (number, number),
        ..*end
    };
    let ends = office.runs.iter().flat_map(|run| &run.ends);
    let taken: Vec<u32> = ends
        .filter(|other| other.thing == Some(thing) && is_connector(other))
        .map(|other| other.numbers.0)
        .collect();
    let numbers =
        (1..).take_while(|number| connector_pairs(office, &numbered(*number)).is_some_and(|own| !own.is_empty()));
    let mut left = numbers.filter(|number| {
        !taken.contains(number) && connector_pairs(office, &numbered(*number)).is_some_and(|own| own.len() == count)
    });
    let (number, None) = (left.next()?, left.next()) else {
        return None;
    };
    let words = format!("{} connector {number}", office.name(thing));
    let title = format!("Write `{words}`");
    Some(Fix::replace(end.range, words, title))
}
