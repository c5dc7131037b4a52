//! The capacity of dryers and the demand on them.

use drysheath_engineering::air_budget::{AirBudget, demand};
use drysheath_engineering::measure::Flow;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::line::is_line;
use drysheath_office::{DisjointSets, Field, Fields, Office, Thing, ThingId};
use drysheath_prediction::{AirLocation, Capacity, SystemId, capacity};

use crate::coverage::MissingFigure;
use crate::figures::{computed, exceeds, in_unit_of, names, report_said, same};
use crate::finding::Sink;
use crate::lint::Inspection;
use crate::reliability::air_system;
use crate::settings::PracticeKey;

/// Total capacity of some dryers and the demand on them. `None` where one of them states no capacity. Bottles among
/// them are on standby and do not count.
pub(super) fn budget_of(
    inspection: &Inspection<'_>,
    dryers: impl Iterator<Item = ThingId>,
    demand: Flow,
) -> Option<AirBudget> {
    let mut sum = Flow::from_cubic_metres_per_second(0.0);
    let is_dryer = |id: &ThingId| inspection.office.thing(*id).is(KindId::Dryer);
    let mut dryers = dryers.filter(is_dryer).peekable();
    dryers.peek()?;
    for dryer in dryers {
        sum = sum + capacity(inspection.office, dryer)?.flow;
    }
    Some(AirBudget {
        demand,
        capacity: sum,
        margin: inspection.settings.fraction(PracticeKey::DryerMargin),
    })
}

/// Capacity and demand of all dryers of a system. `None` where its usage is not known.
pub(super) fn budget(inspection: &Inspection<'_>, system: SystemId) -> Option<AirBudget> {
    compared(inspection, system).ok()
}

/// Total capacity of the dryers of a system and the demand on them.
pub(crate) fn compared(inspection: &Inspection<'_>, system: SystemId) -> Result<AirBudget, MissingFigure> {
    let air = &inspection.prediction.air;
    let usage = air.usage(system).ok_or(MissingFigure::Figure)?;
    let mut budget = budget_of(inspection, air.dryers(system), usage).ok_or(MissingFigure::Capacity)?;
    // Dryers of other offices that feed the same routes share the demand.
    for (neighbour, dryer) in air.dryers_elsewhere(system) {
        let other = inspection.office.neighbours.get(neighbour);
        let capacity = other
            .and_then(|other| capacity(other, dryer))
            .ok_or(MissingFigure::Capacity)?;
        budget.capacity = budget.capacity + capacity.flow;
    }
    Ok(budget)
}

/// Dryers that feed the same cables and pipes, with their capacity and demand.
pub(super) struct DryerGroup {
    pub dryers: Vec<ThingId>,
    pub budget: AirBudget,
}

/// Capacity and demand of each group of dryers that feed the same cables and pipes, where all capacities are known.
pub(super) fn budgets(inspection: &Inspection<'_>) -> Vec<DryerGroup> {
    let office = inspection.office;
    let air = &inspection.prediction.air;
    let mut found = Vec::new();
    for system in air.systems() {
        if let Some(budget) = budget(inspection, system).filter(|_| speaks_for(inspection, system)) {
            let is_dryer = |id: &ThingId| office.thing(*id).is(KindId::Dryer);
            let dryers = air.dryers(system).filter(is_dryer).collect();
            found.push(DryerGroup { dryers, budget });
        }
    }
    let is_computed = |id| {
        let system = air.system_at(&AirLocation::Thing(id));
        system.is_some_and(|system| air.usage(system).is_some())
    };
    if office.of_kind(KindId::Dryer).all(|(id, _)| is_computed(id)) {
        return found;
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
        let dryers: Vec<_> = together.iter().map(|(_, id)| *id).collect();
        if dryers.iter().any(|id| is_computed(*id)) {
            continue;
        }
        let used = declared(inspection, |id| groups.first(id) == *first);
        if let Some(budget) = budget_of(inspection, dryers.iter().copied(), used) {
            found.push(DryerGroup { dryers, budget });
        }
    }
    found
}

/// Whether this office reports problems of the dryers of a system. Where several offices have dryers in it, only one
/// reports.
fn speaks_for(inspection: &Inspection<'_>, system: SystemId) -> bool {
    let office = inspection.office;
    let mut elsewhere = inspection.prediction.air.dryers_elsewhere(system);
    elsewhere.all(|(number, _)| {
        let other = office.neighbours.get(number);
        other.is_none_or(|other| office.speaks_before(other))
    })
}

/// Whether usage exceeds capacity, without any margin.
pub(super) fn is_exceeded(budget: &AirBudget) -> bool {
    let [demand, capacity] = [budget.demand, budget.capacity].map(Flow::cubic_metres_per_second);
    exceeds(demand, capacity)
}

/// Declared usage of the cables and pipes with air that `belongs` selects.
fn declared(inspection: &Inspection<'_>, mut belongs: impl FnMut(ThingId) -> bool) -> Flow {
    let reached = inspection
        .office
        .things()
        .filter(|(id, thing)| is_line(thing) && inspection.networks.is_reached(*id));
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

/// Reports dryers whose capacity is below the usage, or below the usage with its margin.
pub(super) fn report_short(inspection: &Inspection<'_>, joint: &DryerGroup, sink: &mut Sink<'_>) {
    let office = inspection.office;
    let DryerGroup { dryers, budget } = joint;
    let stated = |id: &ThingId| {
        let capacity = capacity(office, *id)?;
        Some((*id, capacity, capacity.stated.place?))
    };
    let Some((first, own, place)) = dryers.first().and_then(stated) else {
        return;
    };
    let unit = own.stated.quantity;
    // With more digits only where what is compared would look the same.
    let shown_beside = |flow: Flow, other: Flow| {
        let other = in_unit_of(unit, other.cubic_metres_per_second(), office);
        computed(other, flow.cubic_metres_per_second(), office)
    };
    let capacity_shown = |flow: Flow| computed(unit, flow.cubic_metres_per_second(), office);
    let needed = if is_exceeded(budget) {
        budget.demand
    } else {
        budget.needed()
    };
    let deliver = if dryers.len() == 1 { "delivers" } else { "deliver" };
    let how = match conversion(office, first, &own) {
        Some(conversion) if dryers.len() == 1 => format!(": {conversion}"),
        Some(conversion) => format!(": `{}` {}, {conversion}", office.name(first), capacity_shown(own.flow)),
        None => String::new(),
    };
    let needed_shown = shown_beside(needed, budget.capacity);
    let used = if is_exceeded(budget) {
        format!("cables and pipes use {needed_shown}")
    } else {
        let margin = (budget.margin * 1e4).round() / 1e2;
        let used = shown_beside(budget.demand, needed);
        format!(
            "cables and pipes use {used}, {needed_shown} with the margin of {margin} %{}",
            inspection.settings.said_in(PracticeKey::DryerMargin)
        )
    };
    let message = format!(
        "{used}, and {} {deliver} {} at most{how}",
        names(office, dryers),
        shown_beside(budget.capacity, needed)
    );
    let finding = report_said(sink, office, first, place, message);
    finding.about(dryers.iter().filter_map(|id| air_system(inspection, *id)));
    for (id, other, place) in dryers.iter().skip(1).filter_map(stated) {
        let counts = match conversion(office, id, &other) {
            Some(conversion) => format!(
                "another dryer that feeds them: {}, {conversion}",
                capacity_shown(other.flow)
            ),
            None => "another dryer that feeds them".to_owned(),
        };
        finding.related(place, counts);
    }
    finding.help("find and repair the leaks, or add capacity");
}

/// A dryer's share of the demand of a system.
#[derive(Clone, Copy)]
pub(super) struct Share {
    pub dryer: ThingId,
    pub flow: Flow,
    pub capacity: Flow,
    /// Flow that it would have to deliver to hold its pressure.
    pub asked: Flow,
}

impl Share {
    /// The duty cycle of the dryer: its flow over its capacity.
    pub fn duty(&self) -> f64 {
        self.flow.cubic_metres_per_second() / self.capacity.cubic_metres_per_second()
    }

    /// Whether the computed flow is within its capacity.
    pub fn is_kept(&self) -> bool {
        let [flow, capacity] = [self.flow, self.capacity].map(Flow::cubic_metres_per_second);
        flow <= capacity * (1.0 + 1e-4)
    }

    /// Whether the demand on it exceeds its capacity.
    pub fn is_overdrawn(&self) -> bool {
        let [asked, capacity] = [self.asked, self.capacity].map(Flow::cubic_metres_per_second);
        exceeds(asked, capacity)
    }
}

/// The shares of the dryers of a system that deliver air.
pub(super) fn shares<'i>(inspection: &'i Inspection<'_>, system: SystemId) -> impl Iterator<Item = Share> + 'i {
    let air = &inspection.prediction.air;
    air.dryers(system).filter_map(|dryer| {
        let supply = air.supply(dryer)?;
        let flow = supply.flow;
        let capacity = capacity(inspection.office, dryer)?.flow;
        let delivers = flow.cubic_metres_per_second() > 0.0 && capacity.cubic_metres_per_second() > 0.0;
        delivers.then_some(Share {
            dryer,
            flow,
            capacity,
            asked: supply.asked.unwrap_or(flow),
        })
    })
}

/// The dryer of a system with the highest duty cycle, if that exceeds the practice limit.
pub(super) fn overworked(inspection: &Inspection<'_>, system: SystemId) -> Option<Share> {
    let most = inspection.settings.fraction(PracticeKey::DutyCycle);
    let busiest = shares(inspection, system).max_by(|one, other| one.duty().total_cmp(&other.duty()))?;
    exceeds(busiest.duty(), most).then_some(busiest)
}

/// Explains how a dryer's capacity follows from its rating, as a clause after the figure. `None` where the two are
/// equal.
pub(super) fn conversion(office: &Office, dryer: ThingId, capacity: &Capacity) -> Option<String> {
    let given = |key| office.given(dryer, key).map(|given| given.quantity);
    let mut parts = Vec::new();
    if let Some((pressure, temperature)) = given(Key::RatingPressure).zip(given(Key::RatingTemperature))
        && !same(capacity.basis, 1.0)
    {
        parts.push(format!(
            "\u{d7} {:.3} since that counts at {pressure} and {temperature}",
            capacity.basis
        ));
    }
    if let Some(elevation) = given(Key::RatingElevation)
        && !same(capacity.altitude, 1.0)
    {
        parts.push(format!(
            "\u{d7} {:.3} since that holds at an elevation of {elevation}",
            capacity.altitude
        ));
    }
    (!parts.is_empty()).then(|| format!("{} as stated {}", capacity.stated.quantity, parts.join(" ")))
}
