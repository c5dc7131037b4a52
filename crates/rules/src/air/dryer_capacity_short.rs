use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Field, Fields, Thing, ThingId};

use super::groups::Groups;
use crate::figures::{below, names, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::rule::{Check, Example, Family, Level, Rule, Source};
use crate::settings::PracticeKey;
use crate::supply::{Stated, stated};
use drysheath_office::along::is_long;

pub(super) static RULE: Rule = Rule {
    name: "dryer-capacity-short",
    level: Level::Error,
    while_planned: None,
    family: Family::Air,
    summary: "The dryers cannot deliver what the cables and pipes use, with the margin that is kept.",
    explanation: "A dryer that runs all the time delivers wet air, wears out, and leaves nothing for the next leak. The usage \
                  of all sections and pipes that hang together, and a margin on it, must stay within the capacity of the \
                  dryers that feed them. The margin is the setting `dryer-margin`. Mend leaks, or add capacity. Usage that \
                  is not declared counts as none; a dryer without a capacity leaves the check out.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
dryer d1 {
    compressor piston
    delivers 30 psi
    capacity 8.7 scfh
#   ^^^^^^^^^^^^^^^^^
    dew-point -40 degC
    contact humidity { healthy closed }
}
",
        passing: r"
dryer d1 {
    compressor piston
    delivers 30 psi
    capacity 8.75 scfh
    dew-point -40 degC
    contact humidity { healthy closed }
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let Some((only, _)) = office.of_kind(KindId::Dryer).next() else {
        return;
    };
    if office.of_kind(KindId::Dryer).nth(1).is_none() {
        judge(inspection, &[only], used(inspection, |_| true), sink);
        return;
    }
    let mut groups = Groups::new(office.things.len());
    for link in inspection.networks.air.iter() {
        groups.join(link.from.thing, link.to.thing);
    }
    let mut dryers: Vec<_> = office
        .of_kind(KindId::Dryer)
        .map(|(id, _)| (groups.first(id), id))
        .collect();
    dryers.sort_unstable();
    for together in dryers.chunk_by(|one, other| one.0 == other.0) {
        let Some((first, _)) = together.first() else { continue };
        let used = used(inspection, |id| groups.first(id) == *first);
        let together: Vec<_> = together.iter().map(|(_, id)| *id).collect();
        judge(inspection, &together, used, sink);
    }
}

/// The declared usage of the cables and pipes that air reaches and `belongs` wants.
fn used(inspection: &Inspection<'_>, mut belongs: impl FnMut(ThingId) -> bool) -> f64 {
    let reached = inspection
        .office
        .things()
        .filter(|(id, thing)| is_long(thing) && inspection.networks.is_reached(*id));
    reached
        .filter(|(id, _)| belongs(*id))
        .map(|(_, thing)| of_thing(thing))
        .sum()
}

fn of_thing(thing: &Thing) -> f64 {
    let usage = |fields: &[Field]| fields.quantity(Key::Usage).map_or(0.0, |(usage, _)| usage.si());
    let of_sections = |fields: &[Field]| {
        fields
            .named(Key::Section)
            .map(|(_, _, section)| usage(section))
            .sum::<f64>()
    };
    let of_branches: f64 = thing.named(Key::Branch).map(|(_, _, branch)| of_sections(branch)).sum();
    usage(thing.fields()) + of_sections(thing.fields()) + of_branches
}

fn judge(inspection: &Inspection<'_>, dryers: &[ThingId], used: f64, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let capacities: Option<Vec<Stated>> = dryers.iter().map(|id| stated(office, *id, Key::Capacity)).collect();
    let Some(capacities) = capacities else { return };
    let capacity: f64 = capacities.iter().map(|capacity| capacity.figure).sum();
    let margin = inspection.settings.fraction(PracticeKey::DryerMargin);
    let wanted = used * (1.0 + margin);
    let Some(first) = capacities.first().filter(|_| below(capacity, wanted)) else {
        return;
    };
    let shown = |figure: f64| Quantity {
        value: first.quantity.unit.from_si(figure),
        unit: first.quantity.unit,
    };
    let deliver = if dryers.len() == 1 { "delivers" } else { "deliver" };
    let message = format!(
        "cables and pipes use {}, with a margin of {} % that is {}, and {} {deliver} {} at most",
        shown(used),
        (margin * 1e4).round() / 1e2,
        shown(wanted),
        names(office, dryers),
        shown(capacity)
    );
    let finding = report_said(sink, office, first.thing, first.place, message);
    for other in capacities.iter().skip(1) {
        finding.related(other.place, "the capacity of another dryer that feeds them");
    }
    finding.help("find and mend the leaks, or add capacity");
}
