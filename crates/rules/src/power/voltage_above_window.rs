use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Thing, ThingId};

use super::feeds::{Misfit, farther_from_zero, for_one, misfits};
use crate::figures::exceeds;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::{Scope, Subject};
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::VoltageAboveWindow,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(
        Scope::Thing,
        &[
            RuleId::PolarityWrong,
            RuleId::NominalWrong,
            RuleId::WorkingWithoutNominal,
        ],
    )],
    family: Family::Power,
    summary: "A battery's float voltage is above the window of its load.",
    explanation: "A plant floats at the far end of its `working` range for nearly all of its life, and a load that draws little loses \
                  next to nothing of that in its feed. Where the load's window ends below, the load sees over-voltage all day, and \
                  fails early or shuts down. Lower the float voltage if the battery allows it, or put a converter between. Battery \
                  plant can give thousands of amperes into a short circuit: it is for qualified people with insulated tools and no \
                  jewellery.",
    source: Source::FromMemory("ETSI EN 300 132-2 for the window of -48 V equipment; the limits are the office's own"),
    example: Some(Example {
        failing: r#"
monitor m1 { sensors 8, contacts 4, draws 40 W, window -40.5 V .. -53 V, ground-size 6 awg, loop-max 4000 ohm, link lan "192.0.2.11" }
#                                               ^^^^^^^^^^^^^^^^^^^^^^^
"#,
        passing: r#"
monitor m1 { sensors 8, contacts 4, draws 40 W, window -40.5 V .. -54 V, ground-size 6 awg, loop-max 4000 ohm, link lan "192.0.2.11" }
"#,
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    for (id, battery) in inspection.office.of_kind(KindId::Battery) {
        report(inspection, id, battery, sink);
    }
}

/// The end of a range of voltages that is farther from zero.
fn highest(thing: &Thing, key: Key) -> Option<Quantity> {
    let (one, other, _) = thing.range(key)?;
    Some(farther_from_zero(one, other))
}

fn report(inspection: &Inspection<'_>, battery: ThingId, thing: &Thing, sink: &mut Sink<'_>) -> Option<()> {
    let office = inspection.office;
    let float = highest(thing, Key::Working)?;
    let fits = |load: &Thing| Some(!exceeds(float.si().abs(), highest(load, Key::Window)?.si().abs()));
    let name = office.name(battery);
    match misfits(inspection, battery, fits) {
        Misfit::Battery(wrong) => {
            let message = format!("`{name}` floats at {float}, above the window of everything that it feeds");
            let finding = sink.report(battery, thing.place_of(Key::Working, office.file), message);
            for_one(office, &wrong, finding);
            finding
                .about(wrong.into_iter().map(Subject::Thing))
                .help("if the figure is right, lower the float voltage where the battery allows it");
        }
        Misfit::Loads(wrong) => {
            for id in wrong {
                let load = office.thing(id);
                let message = format!(
                    "`{}` works up to {}, and `{name}` floats at {float}",
                    office.name(id),
                    highest(load, Key::Window)?
                );
                let finding = sink.report(id, load.place_of(Key::Window, office.file), message);
                if let Some(working) = thing.field(Key::Working) {
                    finding.related(working.place, format!("the working range of `{name}`"));
                }
                finding.about([Subject::Thing(battery)]);
                finding.help("lower the float voltage if the battery allows it, or feed the load through a converter");
            }
        }
    }
    Some(())
}
