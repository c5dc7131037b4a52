use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Office, Thing, ThingId};

use super::feeds::{farther_from_zero, nearer_zero};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::VoltageRangeDoubtful,
    level: Level::Warning,
    while_planned: None,
    yields_to: &[(Scope::Thing, &[RuleId::WorkingWithoutNominal])],
    family: Family::Power,
    summary: "A range of voltages has no width, or its ends lie too far apart to be plausible.",
    explanation: "The working range of a battery reaches from its end of discharge to float, and the window of a load from the lowest \
                  to the highest voltage at which it runs. A range of no width states neither, so that feeds are computed from a voltage that the battery does not end at. Of a regulated bus state the tolerance of the regulator: \
                  `-51.5 V .. -52.5 V`. Equipment of a wide input works from 18 V to 72 V, four times that; where one end is more \
                  than six times the other, a decimal point is wrong.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
battery main { nominal -48 V, working -48 V .. -48 V, filtered yes }
#                             ^^^^^^^^^^^^^^^^^^^^^^
",
        passing: r"
battery main { nominal -48 V, working -51.5 V .. -52.5 V, filtered yes }
",
    }),
    check: Check::Office(check),
};

/// Largest plausible ratio of the two ends of a range (common practice, no source).
const FARTHEST_APART: f64 = 6.0;

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, battery) in office.of_kind(KindId::Battery) {
        let help = "state it from the end of discharge to float; of a regulated bus, with its tolerance";
        report(office, (id, battery), Key::Working, help, sink);
    }
    for (id, monitor) in office.of_kind(KindId::Monitor) {
        let help = "state it from the lowest to the highest voltage at which the monitor runs";
        report(office, (id, monitor), Key::Window, help, sink);
    }
}

fn report(office: &Office, (id, thing): (ThingId, &Thing), key: Key, help: &str, sink: &mut Sink<'_>) {
    let Some((one, other, _)) = thing.range(key) else {
        return;
    };
    let (least, most) = (nearer_zero(one, other), farther_from_zero(one, other));
    let subject = format!("`{}` of `{}`", key.word(), office.name(id));
    if one.si().total_cmp(&other.si()).is_eq() {
        let message = format!("{subject} begins and ends at {one}");
        sink.report(id, thing.place_of(key, office.file), message).help(help);
    } else if most.si().abs() > FARTHEST_APART * least.si().abs() {
        let message = format!("{subject} reaches from {least} to {most}: one of them is probably wrong");
        sink.report(id, thing.place_of(key, office.file), message)
            .help("check the decimal point and the unit of both ends");
    }
}
