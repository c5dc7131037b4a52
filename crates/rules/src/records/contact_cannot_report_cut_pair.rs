use drysheath_office::kinds::{HealthyState, Key, KindId};
use drysheath_office::{Field, Fields, Office, Thing, ThingId};
use drysheath_text::{Place, TextRange};

use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::ContactCannotReportCutPair,
    level: Level::Note,
    while_planned: None,
    yields_to: &[],
    family: Family::Records,
    summary: "A contact is open in its healthy state, so a cut pair looks healthy.",
    explanation: "A contact that opens on trouble reports a cut or drawn pair as well: the loop opens either way. One that \
                  closes on trouble stays silent for ever once its pair is cut. Use the other side of the contact where it \
                  has one; where it has not, accept this with the reason, and test the contact by hand now and then.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
dryer d1 {
    compressor piston
    delivers   30 psi
    capacity   100 scfh
    dew-point  -40 degC
    contact humidity { healthy open }
#                      ^^^^^^^^^^^^
}
",
        passing: r"
dryer d1 {
    compressor piston
    delivers   30 psi
    capacity   100 scfh
    dew-point  -40 degC
    contact humidity { healthy closed }
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, thing) in office.things() {
        if thing.is(KindId::Contact) || thing.is(KindId::PressureSwitch) {
            if let Some(healthy) = open(&thing.fields) {
                let message = format!(
                    "the contact `{}` closes on trouble, so a cut pair looks like health",
                    office.name(id)
                );
                report(id, place_in(office, thing, healthy.place), message, sink);
            }
            continue;
        }
        for (contact, _, fields) in thing.named(Key::Contact) {
            if let Some(healthy) = open(fields) {
                let of = office.name(id);
                let message =
                    format!("the contact `{contact}` of `{of}` closes on trouble, so a cut pair looks like health");
                report(id, place_in(office, thing, healthy.place), message, sink);
            }
        }
    }
}

fn report(on: ThingId, range: TextRange, message: String, sink: &mut Sink<'_>) {
    sink.report(on, range, message)
        .help("use the contact's other side, which opens on trouble, if it has one");
}

/// The field that declares a contact normally open.
fn open(fields: &[Field]) -> Option<&Field> {
    fields
        .field(Key::Healthy)
        .filter(|_| fields.choice(Key::Healthy) == Some(HealthyState::Open))
}

/// The place if it is in the office's own file, or else the thing's name.
fn place_in(office: &Office, thing: &Thing, place: Place) -> TextRange {
    if place.file == office.file {
        place.range
    } else {
        thing.name
    }
}
