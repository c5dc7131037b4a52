use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Thing, ThingId, Value};

use super::open_ports::used;
use crate::figures::report_said;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PluggedOutletUsed,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Regulators,
    summary: "An outlet that is declared plugged has a run, or does not exist.",
    explanation: "Either the run leaves from another outlet or the plug is in another one, and whoever trusts the record \
                  opens the wrong one under pressure. The same goes for a plug in an outlet that the regulator does not \
                  have. Look at the regulator and correct the record; vent the air slowly before anything is opened.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, relief 15 psi, outlets 2, plugged 1 }
air d1 -> r1 outlet 1 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
#         ^^^^^^^^^^^
",
        passing: r"
regulator r1 { set 10 psi, differential 5 psi, inlet-max 60 psi, relief 15 psi, outlets 2, plugged 1 }
air d1 -> r1 outlet 2 -> f1 -> mf with 3/8 in tube, 1/4 in bore, 4 m
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for (id, regulator) in inspection.office.of_kind(KindId::Regulator) {
        if let Some(plugged) = regulator.numbers(Key::Plugged) {
            clash(inspection, id, regulator, plugged, sink);
            beyond(inspection, id, regulator, plugged, sink);
        }
    }
}

fn clash(inspection: &Inspection<'_>, id: ThingId, regulator: &Thing, (from, to): (u32, u32), sink: &mut Sink<'_>) {
    let office = inspection.office;
    for own in used(inspection, id) {
        if own.to < from || to < own.from {
            continue;
        }
        let message = format!(
            "outlet {} of `{}` is declared plugged",
            own.from.max(from),
            office.name(id)
        );
        let finding = sink.report(id, own.range, message);
        finding.about([Subject::Ports(id, own.port.word)]);
        if let Some(field) = regulator.field(Key::Plugged) {
            finding.related(
                field.place,
                if from == to {
                    format!("outlet {from} is plugged")
                } else {
                    format!("outlets {from} to {to} are plugged")
                },
            );
        }
        finding.help("lead the run from the outlet that is open, or correct which one is plugged");
    }
}

fn beyond(inspection: &Inspection<'_>, id: ThingId, regulator: &Thing, (_, to): (u32, u32), sink: &mut Sink<'_>) {
    let unknown = regulator.damaged
        || regulator
            .field(Key::Outlets)
            .is_some_and(|it| matches!(it.value, Value::Unreadable));
    let outlets = regulator.count(Key::Outlets).unwrap_or(1);
    if unknown || to <= outlets {
        return;
    }
    let Some(field) = regulator.field(Key::Plugged) else {
        return;
    };
    let noun = if outlets == 1 { "outlet" } else { "outlets" };
    let message = format!(
        "outlet {to} is declared plugged, and `{}` has {outlets} {noun}",
        inspection.office.name(id)
    );
    report_said(sink, inspection.office, id, field.place, message)
        .help("correct `plugged`, or say how many `outlets` it has");
}
