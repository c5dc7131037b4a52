use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Office, Thing, ThingId};

use super::feeds::{Misfit, for_one, misfits, plant};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Subject;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::PolarityWrong,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Power,
    summary: "Two voltages that belong together have opposite signs.",
    explanation: "A plant whose positive side is grounded is written with a minus sign: `-48 V`. Equipment that is made for one polarity \
                  and gets the other does not start, or burns. More often a sign was forgotten in the record, and then no voltage can \
                  be checked against another. Battery plant can give thousands of amperes into a short circuit: prove polarity with a \
                  meter before connecting, with insulated tools and no jewellery; it is for qualified people.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
battery main { nominal 48 V, working -43 V .. -54 V, filtered yes }
#              ^^^^^^^^^^^^
",
        passing: r#"
battery main { nominal 24 V, working 21 V .. 28 V, filtered yes }
monitor m1 { sensors 8, contacts 4, draws 40 W, window 18 V .. 32 V, link lan "192.0.2.11" }
"#,
    }),
    check: Check::Office(check),
};

/// Whether a voltage is positive. `None` for 0 V.
pub(super) fn sign(voltage: Quantity) -> Option<bool> {
    let volts = voltage.si();
    (volts != 0.0).then_some(volts > 0.0)
}

/// Whether a range of voltages is positive. `None` if its ends have opposite signs.
pub(super) fn sign_of(range: (Quantity, Quantity)) -> Option<bool> {
    sign(range.0).filter(|one| sign(range.1).is_none_or(|other| other == *one))
}

/// Whether the ends of a range have opposite signs.
fn is_mixed(range: (Quantity, Quantity)) -> bool {
    sign(range.0)
        .zip(sign(range.1))
        .is_some_and(|(one, other)| one != other)
}

/// Polarity of a battery, if its fields agree.
pub(super) fn polarity(battery: &Thing) -> Option<bool> {
    let own = sign(battery.quantity(Key::Nominal)?.0)?;
    let working = battery.range(Key::Working).map(|(from, to, _)| sign_of((from, to)));
    working.is_none_or(|working| working == Some(own)).then_some(own)
}

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, battery) in office.of_kind(KindId::Battery) {
        if mixed(office, (id, battery), Key::Working, sink) {
            continue;
        }
        match polarity(battery) {
            Some(own) => loads(inspection, id, own, sink),
            None => within(inspection, id, battery, sink),
        }
    }
    for (id, monitor) in office.of_kind(KindId::Monitor) {
        mixed(office, (id, monitor), Key::Window, sink);
    }
}

/// Reports a range whose ends have opposite signs.
fn mixed(office: &Office, (id, thing): (ThingId, &Thing), key: Key, sink: &mut Sink<'_>) -> bool {
    let Some((from, to, _)) = thing.range(key).filter(|(from, to, _)| is_mixed((*from, *to))) else {
        return false;
    };
    let message = format!(
        "`{}` of `{}` runs from {from} to {to}: its ends have opposite signs, and one of them is wrong",
        key.word(),
        office.name(id)
    );
    sink.report(id, thing.place_of(key, office.file), message)
        .help("a plant whose positive side is grounded has a minus sign throughout, and so has what it feeds");
    true
}

fn within(inspection: &Inspection<'_>, id: ThingId, battery: &Thing, sink: &mut Sink<'_>) {
    let Some(((nominal, _), (from, to, place))) = battery.quantity(Key::Nominal).zip(battery.range(Key::Working))
    else {
        return;
    };
    if sign(nominal).is_none() {
        return;
    }
    let office = inspection.office;
    let name = office.name(id);
    let plant = plant(nominal);
    let message = format!("`{name}` is {plant} and works from {from} to {to}: one of the signs is wrong");
    sink.report(id, battery.place_of(Key::Nominal, office.file), message)
        .related(place, format!("the working range of `{name}`"))
        .help("a plant whose positive side is grounded has a minus sign throughout");
}

fn loads(inspection: &Inspection<'_>, battery: ThingId, own: bool, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let window = |load: &Thing| load.range(Key::Window).map(|(from, to, _)| (from, to));
    let fits = |load: &Thing| Some(sign_of(window(load)?)? == own);
    let misfit = misfits(inspection, battery, fits);
    let thing = office.thing(battery);
    let Some((nominal, place)) = thing.quantity(Key::Nominal) else {
        return;
    };
    let name = office.name(battery);
    let plant = plant(nominal);
    let help = "a plant whose positive side is grounded has a minus sign, and so has what it feeds";
    match misfit {
        Misfit::Battery(wrong) => {
            let message = format!("`{name}` is {plant}, and everything that it feeds is made for the other polarity");
            let finding = sink.report(battery, thing.place_of(Key::Nominal, office.file), message);
            finding.help(help).about(wrong.iter().copied().map(Subject::Thing));
            for_one(office, &wrong, finding);
        }
        Misfit::Loads(wrong) => {
            for id in wrong {
                let load = office.thing(id);
                let Some((from, to)) = window(load) else { continue };
                let other = office.name(id);
                let message = format!(
                    "`{other}` works from {from} to {to}, and `{name}` gives it {nominal}: the polarity is wrong"
                );
                sink.report(id, load.place_of(Key::Window, office.file), message)
                    .related(place, format!("`{name}` is {plant}"))
                    .help(help);
            }
        }
    }
}
