use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, ThingId};
use drysheath_text::Place;

use crate::figures::{below, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::registry::RuleId;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::CutOutNotAbove,
    level: Level::Error,
    while_planned: None,
    yields_to: &[],
    family: Family::Air,
    summary: "A dryer's compressor would stop at or below the pressure at which it starts, or start below what the dryer delivers.",
    explanation: "The compressor starts when its tank is down to `cut-in` and stops when it is up to `cut-out`. Where `cut-out` is not \
                  above `cut-in`, the two have been confused: it would never stop, or start and stop all the time. Where `cut-in` is below \
                  `delivers`, the dryer cannot hold its pressure just before the compressor starts.",
    source: Source::Derived("what a pressure switch does"),
    example: Some(Example {
        failing: r"
dryer d1 {
    compressor piston
    delivers 30 psi
    capacity 120 scfh
    cut-in 60 psi
    cut-out 45 psi
#   ^^^^^^^^^^^^^^
    volume 20 gal
    dew-point -40 degC
    contact humidity { healthy closed }
}
",
        passing: r"
dryer d1 {
    compressor piston
    delivers 30 psi
    capacity 120 scfh
    cut-in 45 psi
    cut-out 60 psi
    volume 20 gal
    dew-point -40 degC
    contact humidity { healthy closed }
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    for (id, thing) in office.of_kind(KindId::Dryer) {
        let stated = |key: Key| thing.quantity(key).map(|(quantity, place)| (key, quantity, place));
        let (start, stop, delivers) = (stated(Key::CutIn), stated(Key::CutOut), stated(Key::Delivers));
        if let Some((start, stop)) = start.zip(stop)
            && !below(office.gauge_pascals(start.1), office.gauge_pascals(stop.1))
        {
            report(inspection, id, stop, start, "is not above", sink);
        }
        if let Some((start, delivers)) = start.zip(delivers)
            && below(office.gauge_pascals(start.1), office.gauge_pascals(delivers.1))
        {
            report(inspection, id, start, delivers, "is below", sink);
        }
    }
}

type Stated = (Key, Quantity, Place);

fn report(
    inspection: &Inspection<'_>,
    id: ThingId,
    (key, quantity, place): Stated,
    (other, bound, there): Stated,
    relation: &str,
    sink: &mut Sink<'_>,
) {
    let office = inspection.office;
    let message = format!(
        "the `{}` of `{}`, {quantity}, {relation} its `{}`, {bound}",
        key.word(),
        office.name(id),
        other.word()
    );
    report_said(sink, office, id, place, message)
        .related(there, format!("`{}` is stated here", other.word()))
        .help("the compressor starts at `cut-in`, above what the dryer delivers, and stops at `cut-out`, above that");
}
