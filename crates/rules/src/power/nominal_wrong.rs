use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Thing, ThingId};

use super::feeds::{Misfit, misfits};
use super::polarity_wrong::{polarity, sign_of};
use super::working_without_nominal::contains;
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::NominalWrong,
    level: Level::Error,
    while_planned: None,
    family: Family::Power,
    summary: "A battery's nominal voltage lies outside what its load works between.",
    explanation: "Equipment for one plant on the battery of another does not start, or does not survive it. Feed it from a \
                  battery of its own voltage, or put a converter between. Where the record is wrong, mend the record. \
                  Battery plant can give thousands of amperes into a slip: it is for qualified people with insulated \
                  tools and no jewellery.",
    source: Source::FromMemory("ETSI EN 300 132-2 for the window of -48 V equipment; the limits are the office's own"),
    example: Some(Example {
        failing: r#"
monitor m1 { sensors 8, contacts 4, draws 40 W, window -20 V .. -30 V, link lan "192.0.2.11" }
#                                               ^^^^^^^^^^^^^^^^^^^^^
"#,
        passing: r#"
monitor m1 { sensors 8, contacts 4, draws 40 W, window -20 V .. -48 V, link lan "192.0.2.11" }
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
    let own = polarity(thing)?;
    // A nominal voltage that contradicts the battery's own working range is reported by another rule.
    if thing
        .range(Key::Working)
        .is_some_and(|(from, to, _)| !contains((from, to), nominal))
    {
        return None;
    }
    let window = |load: &Thing| load.range(Key::Window).map(|(from, to, _)| (from, to));
    // So is a wrong polarity.
    let same_polarity = |window: (Quantity, Quantity)| sign_of(window).is_none_or(|sign| sign == own);
    let fits = |load: &Thing| Some(contains(window(load).filter(|window| same_polarity(*window))?, nominal));
    let name = office.name(battery);
    let help = "feed it from a plant of its own voltage, or over a converter";
    match misfits(inspection, battery, fits) {
        Misfit::Battery(first) => {
            let message = format!("`{name}` is a plant of {nominal}, and nothing that it feeds works at that");
            let finding = sink.report(battery, thing.place_of(Key::Nominal, office.file), message);
            finding.help("if the figure is right, feed them from a plant of their own voltage, or over a converter");
            if let Some(window) = office.thing(first).field(Key::Window) {
                finding.related(window.place, format!("`{}`, for one", office.name(first)));
            }
        }
        Misfit::Loads(wrong) => {
            for id in wrong {
                let load = office.thing(id);
                let (from, to) = window(load)?;
                let other = office.name(id);
                let message = format!("`{other}` works from {from} to {to}, and `{name}` is a plant of {nominal}");
                sink.report(id, load.place_of(Key::Window, office.file), message)
                    .related(place, "its battery")
                    .help(help);
            }
        }
    }
    Some(())
}
