use drysheath_office::Fields;
use drysheath_office::kinds::{Compressor, Key, KindId};

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
    summary: "A dryer has no contact, so its failure raises no alarm.",
    explanation: "A dryer tells its own faults by contacts: wet air, no power, a compressor that does not stop. Without one, a dryer \
                  that has stopped is found when the cables are low, and one that delivers wet air is not found at all. Write \
                  down its contacts and wire them to the monitor. Where it has none, accept this with the reason. \
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
        if !thing.damaged && compresses && !thing.has(Key::Contact) {
            let message = format!(
                "dryer `{}` has no contact: its failure raises no alarm",
                office.name(id)
            );
            sink.report(id, thing.name, message).help(
                "write its contacts, such as `contact humidity { healthy closed }`, and wire them to the monitor",
            );
        }
    }
}
