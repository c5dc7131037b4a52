use drysheath_office::kinds::Numbering;
use drysheath_office::{Fields, NumberRange, Office, printed};

use super::numbers::numbered;
use super::taken::about_taken;
use crate::finding::{Finding, Sink};
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::runs::run_around;

pub(crate) static RULE: Rule = Rule {
    id: RuleId::SpareInUse,
    level: Level::Error,
    while_planned: None,
    yields_to: &[
        (
            Scope::Circuit,
            &[
                RuleId::PairAssignedTwice,
                RuleId::InputAssignedTwice,
                RuleId::SignalWiredTwice,
            ],
        ),
        (Scope::Terminal, &[RuleId::SignalOnWrongInput]),
    ],
    family: Family::Pairs,
    summary: "Something that is declared spare is used.",
    explanation: "Whoever needs a pair, an input, a fuse position or a port takes one that the record calls spare. If it is in \
                  use, the next order lands on top of a working line. Shorten the spare range, or correct the \
                  number in the run.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
# without spare tb pair 5
spare tb pair 4 .. 25
#        ^^^^^^^^^^^^
",
        passing: r"
# without spare tb pair 5
spare tb pair 5 .. 24
spare tb pair 25
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    if office.spares.is_empty() {
        return;
    }
    let allocation = inspection.allocation();
    for said in allocation.all_spare() {
        let taken = allocation.used_within(said);
        if let ([first, ..], Some(last)) = (taken, taken.last()) {
            // A pair counts once, whichever side a run names.
            about_taken(inspection, said, taken, report(office, said, first, last, sink));
        }
    }
}

/// Name of a contact that is used.
fn contact<'o>(office: &'o Office, used: &NumberRange) -> Option<&'o str> {
    let Numbering::Named(key) = used.port.numbering else {
        return None;
    };
    let at = used.from.checked_sub(1)?;
    let (name, ..) = office.thing(used.thing).named(key).nth(at as usize)?;
    Some(name)
}

fn report<'s>(
    office: &Office,
    said: &NumberRange,
    first: &NumberRange,
    last: &NumberRange,
    sink: &'s mut Sink<'_>,
) -> &'s mut Finding {
    let (noun, name) = (said.port.noun(), office.name(said.thing));
    let message = if let Some(contact) = contact(office, first) {
        format!("{noun} `{contact}` of `{name}` is declared spare, and is used")
    } else if first.from == last.from {
        format!(
            "{noun} {} of `{name}` is declared spare, and is used",
            printed(first.from)
        )
    } else {
        let range = numbered(noun, first.from, last.from);
        format!("{range} of `{name}` are declared spare, and some of them are used")
    };
    sink.report(said.thing, said.range, message)
        .related(
            office.place(first.range),
            format!("used by {}", run_around(office, first.range)),
        )
        .help("leave out of the spares what is used, or correct the number in the run")
}
