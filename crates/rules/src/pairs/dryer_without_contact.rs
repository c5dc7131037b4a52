use drysheath_office::kinds::{Compressor, Key, KindId, Numbering, Port};
use drysheath_office::{Fields, ThingId};
use drysheath_text::TextRange;

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DryerWithoutContact,
    level: Level::Warning,
    while_planned: Some(Level::Note),
    yields_to: &[],
    family: Family::Pairs,
    summary: "A dryer has no contact that is used, so its failure raises no alarm.",
    explanation: "A dryer tells its own faults by contacts: wet air, no power, a compressor that does not stop. Without one, a dryer \
                  that has stopped is found when the cables are low, and one that delivers wet air is not found at all. Write \
                  down its contacts and wire at least one of them to the monitor; the others may be spare. Where it has none, accept this with the reason. \
                  Cylinders, whose `compressor` is `none`, and offices without a monitor are left out.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
dryer d1 {
#     ^^
    compressor      piston
    delivers        30 psi
    capacity        100 scfh
    dew-point       -40 degC
}
# without wire d1
spare tb pair 4
spare m1 contact 1
",
        passing: r"
dryer d1 {
    compressor      piston
    delivers        30 psi
    capacity        100 scfh
    dew-point       -40 degC
    contact         humidity        { healthy closed }
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.of_kind(KindId::Monitor).next().is_none() {
        return;
    }
    for (id, thing) in office.of_kind(KindId::Dryer) {
        let compresses = thing.choice(Key::Compressor) != Some(Compressor::None);
        if thing.damaged || !compresses {
            continue;
        }
        let name = office.name(id);
        if !thing.has(Key::Contact) {
            let message = format!("dryer `{name}` has no contact: its failure raises no alarm");
            sink.report(id, thing.name, message).help(
                "write its contacts, such as `contact humidity { healthy closed }`, and wire them to the monitor",
            );
        } else if let Some(spare) = all_spare(inspection, id) {
            let message = format!("every contact of dryer `{name}` is declared spare: its failure raises no alarm");
            sink.report(id, spare, message)
                .help("wire at least one of its contacts to the monitor");
        }
    }
}

/// Place where the last contact of a thing is declared spare, if all of them are spare and none is wired.
pub(super) fn all_spare(inspection: &Inspection<'_>, id: ThingId) -> Option<TextRange> {
    let thing = inspection.office.thing(id);
    let is_contact = |port: &&'static Port| port.numbering == Numbering::Named(Key::Contact);
    let port = thing.kind?.ports.iter().find(is_contact)?;
    let allocation = inspection.allocation();
    let mut contacts = (1..).zip(thing.named(Key::Contact));
    let is_all = contacts.all(|(number, _)| allocation.is_spare(id, port, number));
    let last = allocation.spare(id, port).last()?;
    (is_all && allocation.used(id, port).is_empty()).then_some(last.range)
}
