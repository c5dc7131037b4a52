use drysheath_engineering::air_budget::{AirBudget, demand};
use drysheath_engineering::measure::Flow;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::route::is_route;
use drysheath_office::{DisjointSets, Field, Fields, Thing, ThingId};
use drysheath_prediction::{AirLocation, capacity};

use super::budget::{budget, budget_of, conversion};
use crate::figures::{computed, names, report_said};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::precedence::Scope;
use crate::registry::RuleId;
use crate::reliability::air_system;
use crate::rule::{Check, Example, Family, Level, Rule, Source};

pub(crate) static RULE: Rule = Rule {
    id: RuleId::DryerCapacityShort,
    level: Level::Error,
    while_planned: None,
    yields_to: &[(Scope::AirSystem, &[RuleId::UsageBeyondLines])],
    family: Family::Air,
    summary: "The dryers cannot deliver what the cables and pipes use, with the margin that is kept.",
    explanation: "A dryer that runs all the time delivers wet air, wears out, and leaves nothing for the next leak. The usage \
                  of all sections and pipes that hang together, and a margin on it, must stay within the capacity of the \
                  dryers that feed them. The margin is the setting `dryer-margin`. A capacity is counted as its maker counts \
                  (`rating-pressure`, `rating-temperature`), and at the maker's elevation (`rating-elevation`); it is \
                  converted before it is compared, since a compressor takes in less air where the air is thin. Mend leaks, \
                  or add capacity. Where the pressures cannot be computed, the declared usage is taken, and usage that is not \
                  declared counts as none; a dryer without a capacity leaves the check out.",
    source: Source::CommonPractice,
    example: Some(Example {
        failing: r"
dryer d1 {
    compressor piston
    delivers 30 psi
    capacity 9.07 scfh
#   ^^^^^^^^^^^^^^^^^^
    dew-point -40 degC
    contact humidity { healthy closed }
}
",
        passing: r"
dryer d1 {
    compressor piston
    delivers 30 psi
    capacity 9.08 scfh
    dew-point -40 degC
    contact humidity { healthy closed }
}
",
    }),
    check: Check::Office(check),
};

fn check(inspection: &Inspection<'_>, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let air = &inspection.prediction.air;
    for system in air.systems() {
        if let Some(budget) = budget(inspection, system).filter(|budget| !budget.enough()) {
            let dryers: Vec<_> = air.dryers(system).collect();
            report(inspection, &dryers, budget, sink);
        }
    }
    let is_computed = |id| {
        let system = air.system_at(&AirLocation::Thing(id));
        system.is_some_and(|system| air.usage(system).is_some())
    };
    if office.of_kind(KindId::Dryer).all(|(id, _)| is_computed(id)) {
        return;
    }
    // Where the pressures cannot be computed, the declared usage is a lower bound.
    let mut groups = DisjointSets::new(office.things.len());
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
        let together: Vec<_> = together.iter().map(|(_, id)| *id).collect();
        if together.iter().any(|id| is_computed(*id)) {
            continue;
        }
        let used = declared(inspection, |id| groups.first(id) == *first);
        let budget = budget_of(inspection, together.iter().copied(), used);
        if let Some(budget) = budget.filter(|budget| !budget.enough()) {
            report(inspection, &together, budget, sink);
        }
    }
}

/// The declared usage of the cables and pipes with air that `belongs` selects.
fn declared(inspection: &Inspection<'_>, mut belongs: impl FnMut(ThingId) -> bool) -> Flow {
    let reached = inspection
        .office
        .things()
        .filter(|(id, thing)| is_route(thing) && inspection.networks.is_reached(*id));
    demand(reached.filter(|(id, _)| belongs(*id)).map(|(_, thing)| of_thing(thing)))
}

fn of_thing(thing: &Thing) -> Flow {
    let usage = |fields: &[Field]| fields.quantity(Key::Usage).and_then(|(usage, _)| Flow::of(usage));
    let of_sections = |fields: &[Field]| {
        let sections = fields.named(Key::Section);
        demand(sections.filter_map(|(_, _, section)| usage(section)))
    };
    let branches = thing.named(Key::Branch).map(|(_, _, branch)| of_sections(branch));
    demand(
        usage(thing.fields())
            .into_iter()
            .chain([of_sections(thing.fields())])
            .chain(branches),
    )
}

fn report(inspection: &Inspection<'_>, dryers: &[ThingId], budget: AirBudget, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let stated = |id: &ThingId| {
        let capacity = capacity(office, *id)?;
        Some((*id, capacity, capacity.stated.place?))
    };
    let Some((first, own, place)) = dryers.first().and_then(stated) else {
        return;
    };
    let shown = |flow: Flow| computed(own.stated.quantity, flow.cubic_metres_per_second(), office);
    let deliver = if dryers.len() == 1 { "delivers" } else { "deliver" };
    let how = match conversion(office, first, &own) {
        Some(conversion) if dryers.len() == 1 => format!(": {conversion}"),
        Some(conversion) => format!(": `{}` {}, {conversion}", office.name(first), shown(own.flow)),
        None => String::new(),
    };
    let message = format!(
        "cables and pipes use {}, with a margin of {} % that is {}, and {} {deliver} {} at most{how}",
        shown(budget.demand),
        (budget.margin * 1e4).round() / 1e2,
        shown(budget.needed()),
        names(office, dryers),
        shown(budget.capacity)
    );
    let finding = report_said(sink, office, first, place, message);
    finding.about(dryers.iter().filter_map(|id| air_system(inspection, *id)));
    for (id, other, place) in dryers.iter().skip(1).filter_map(stated) {
        let counts = match conversion(office, id, &other) {
            Some(conversion) => format!("another dryer that feeds them: {}, {conversion}", shown(other.flow)),
            None => "another dryer that feeds them".to_owned(),
        };
        finding.related(place, counts);
    }
    finding.help("find and mend the leaks, or add capacity");
}
