use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Thing, ThingId};

use super::feeds::{Misfit, for_one, misfits, plant};
use super::working_without_nominal::contains;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::NominalWrong,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(Scope::Thing, &[RuleId::PolarityWrong, RuleId::WorkingWithoutNominal])],
    family: Family::Power,
    summary: "A battery's nominal voltage is outside the window of its load.",
    explanation: "Equipment for one plant on the battery of another does not start, or does not survive it. Feed it from a \
                  battery of its own voltage, or put a converter between. Where the record is wrong, correct the record. \
                  Battery plant can give thousands of amperes into a short circuit: it is for qualified people with insulated \
                  tools and no jewellery.",
    source: Source::FromMemory("ETSI EN 300 132-2 for the window of -48 V equipment; the limits are the office's own"),
    example: Some(Example {
        failing: r#"
monitor m1 { sensors 8, contacts 4, draws 40 W, window -20 V .. -30 V, link lan "192.0.2.11" }
#                                               ^^^^^^^^^^^^^^^^^^^^^
"#,
        passing: r#"
monitor m1 { sensors 8, contacts 4, draws 40 W, window -20 V .. -54 V, link lan "192.0.2.11" }
"#,
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for (id, battery) in inspection.office.of_kind(KindId::Battery) {
        report(inspection, id, battery, sink);
    }
}

fn report(inspection: &Inspection<'_>, battery: ThingId, thing: &Thing, sink: &mut Sink<'_>) -> Option<()> {
    let office = inspection.office;
    let (nominal, place) = thing.quantity(Key::Nominal)?;
    let window = |load: &Thing| load.range(Key::Window).map(|(from, to, _)| (from, to));
    let fits = |load: &Thing| Some(contains(window(load)?, nominal));
    let name = office.name(battery);
    let plant = plant(nominal);
    let help = "feed it from a plant of its own voltage, or through a converter";
    match misfits(inspection, battery, fits) {
        Misfit::Battery(wrong) => {
            let message = format!("`{name}` is {plant}, and nothing that it feeds works at that voltage");
            let finding = sink.report(battery, thing.place_of(Key::Nominal, office.file), message);
            finding.help("if the figure is right, feed them from a plant of their own voltage, or through a converter");
            for_one(office, &wrong, finding);
            // Each load may have a result of its own.
            let mut loads = wrong
                .into_iter()
                .map(|load| [Subject::Thing(battery), Subject::Thing(load)]);
            finding.about(loads.next().into_iter().flatten());
            for load in loads {
                finding.and_about(load);
            }
        }
        Misfit::Loads(wrong) => {
            for id in wrong {
                let load = office.thing(id);
                let (from, to) = window(load)?;
                let other = office.name(id);
                let message = format!("`{other}` works from {from} to {to}, and `{name}` is {plant}");
                sink.report(id, load.place_of(Key::Window, office.file), message)
                    .about([Subject::Thing(battery)])
                    .related(place, format!("`{name}` is {plant}"))
                    .help(help);
            }
        }
    }
    Some(())
}
