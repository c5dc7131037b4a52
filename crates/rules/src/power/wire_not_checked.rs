use drysheath_engineering::protection::WireLimit;

use super::conductors::{Bound, Conductor, conductors};
use crate::figures::exceeds;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::WireNotChecked,
    level: Level::Note,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "No table says how large the fuse before a wire may be, so it is not checked.",
    explanation: "The published tables begin at 18 AWG (NEC 240.4(D)) and 1 mm2, and end at 1000 kcmil and 120 mm2. What a thinner or \
                  thicker wire may carry its maker says: write it in the run, `with 3 A, 22 awg, 6 m, limit 5 A`, and the fuse is \
                  checked against it. One note names all such wires of an office.",
    source: Source::FromMemory("NEC 240.4(D) and Table 310.16; IEC 60364-5-52 Table B.52.2"),
    example: Some(Example {
        failing: r"
power pdf fuse 1 -> m1 with 3 A, 20 awg, 6 m
#                                ^^^^^^
",
        passing: r"
power pdf fuse 1 -> m1 with 3 A, 20 awg, 6 m, limit 3 A
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let mut unknown = conductors(inspection).filter_map(|conductor| Some((beyond(&conductor)?, conductor)));
    let Some((why, first)) = unknown.next() else { return };
    let others: Vec<_> = unknown.map(|(_, other)| other.gauge.range).collect();
    let name = office.name(first.feed.to.thing);
    let more = match others.len() {
        0 => String::new(),
        1 => "; one other wire here is not checked either".to_owned(),
        more => format!("; {more} other wires here are not checked either"),
    };
    let message = format!(
        "the {} fuse is not checked against the {} wire to `{name}`: {why}{more}",
        first.fuse.value, first.gauge.value
    );
    let finding = sink.report(first.feed.to.thing, first.gauge.range, message);
    for range in others {
        finding.related(office.place(range), "this wire is not checked either");
    }
    finding.help("write what the maker of the wire allows, such as `limit 5 A`, after its size and length");
}

/// Why the tables do not cover a conductor and its fuse.
fn beyond(conductor: &Conductor<'_>) -> Option<String> {
    let rating = conductor.rating()?;
    match conductor.bound()? {
        Bound::Table(WireLimit::LessThan(limit), table) if !exceeds(rating.amperes(), limit.amperes()) => {
            Some(format!("{} begins at {}", table.name, table.thinnest()?))
        }
        Bound::Table(WireLimit::NotCovered, table) => Some(format!("{} ends below that", table.name)),
        _ => None,
    }
}
