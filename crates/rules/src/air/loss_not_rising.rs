use drysheath_office::Fields;
use drysheath_office::kinds::Key;

use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::LossNotRising,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "The loss that is stated for the larger flow is not the larger one, or more than two are stated.",
    explanation: "The pressure drop of a filter, a sensor or a valve grows with the flow. One point makes it proportional to the flow, a \
                  second one gives the curve. Where the second does not lie above the first, one of the four figures is wrong, or two of \
                  them are swapped, and no pressure downstream is computed until that is put right. A third point is not \
                  read: state the two between which the flow lies.",
    source: Source::Derived("a passive device takes more pressure from a larger flow"),
    example: Some(Example {
        failing: r"
filter fl1 { rating 60 psi, loss 0.2 psi at 10 scfh, loss 0.1 psi at 20 scfh }
#                                                    ^^^^^^^^^^^^^^^^^^^^^^^
air d1 -> fl1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
        passing: r"
filter fl1 { rating 60 psi, loss 0.2 psi at 20 scfh, loss 0.1 psi at 10 scfh }
air d1 -> fl1 -> r1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, thing) in office.things().filter(|(_, thing)| thing.has(Key::Loss)) {
        let mut points: Vec<_> = thing.losses().collect();
        let name = office.name(id);
        if let [first, _, third, ..] = points.as_slice() {
            let message = format!("a third loss is stated for `{name}`, and two points give its curve");
            report_said(sink, office, id, third.1, message)
                .related(first.1, "the first of them")
                .help("keep the two between which its flow lies");
            continue;
        }
        points.sort_by(|(one, _), (other, _)| one.flow.si().total_cmp(&other.flow.si()));
        let [(low, low_place), (high, high_place)] = points.as_slice() else {
            continue;
        };
        if high.pressure.si() > low.pressure.si() {
            continue;
        }
        let message = format!("`{name}` would lose {high}, and {low} already");
        report_said(sink, office, id, *high_place, message)
            .related(*low_place, format!("the loss at {}", low.flow))
            .help("a larger flow loses more: look both points up");
    }
}
