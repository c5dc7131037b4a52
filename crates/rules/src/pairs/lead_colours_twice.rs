use drysheath_engineering::colour::Colour;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Thing, ThingId, Value};
use drysheath_text::Place;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LeadColoursTwice,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Pairs,
    summary: "Two pairs of a lead have the same colours.",
    explanation: "A pair of a lead is found by its colours alone. Where the record gives two pairs the same ones, a technician cannot tell \
                  which is which, and connects one sensor in the place of another. Look at the lead, or at its maker's sheet: the \
                  order of the two colours tells no pairs apart.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
lead l1 { pairs 2, gauge 22 awg, length 8 m, pair 1 black-red, pair 2 red-black }
#    ^^
spare l1 pair rest
",
        passing: r"
lead l1 { pairs 2, gauge 22 awg, length 8 m, pair 1 black-red, pair 2 black-white }
spare l1 pair rest
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for (id, lead) in inspection.office.of_kind(KindId::Lead) {
        of_lead(inspection, id, lead, sink);
    }
}

fn of_lead(inspection: &Inspection<'_>, id: ThingId, lead: &Thing, sink: &mut Sink<'_>) {
    let mut seen: Vec<(u32, [Colour; 2], Place)> = Vec::new();
    for field in lead.all(Key::Pair) {
        let Value::PairColours(pair, (tip, ring)) = field.value else {
            continue;
        };
        let is_same = |other: &[Colour; 2]| *other == [tip, ring] || *other == [ring, tip];
        if let Some((other, _, place)) = seen.iter().find(|(_, colours, _)| is_same(colours)) {
            let name = inspection.office.name(id);
            let colours = format!("{}-{}", tip.name(), ring.name());
            let message = format!("pairs {other} and {pair} of `{name}` are both {colours}");
            sink.report(id, lead.name, message)
                .related(*place, format!("pair {other}"))
                .related(field.place, format!("pair {pair}"))
                .help("look at the lead or its maker's sheet, and correct one of the two");
        }
        seen.push((pair, [tip, ring], field.place));
    }
}
