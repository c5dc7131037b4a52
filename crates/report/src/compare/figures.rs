//! Predicted figures that changed between the two states.

use drysheath_engineering::units::{Dimension, Quantity, Unit};
use drysheath_explanation::{Bound, Explainer, SectionAir, least_voltage, stated_unit};
use drysheath_office::kinds::{Key, Kind, KindId};
use drysheath_office::{Fields, LimitLevel, Office, Signal, Terminal, ThingId, UnitPreferences, rounded};
use drysheath_prediction::{Feed, Loop, rated_by};
use drysheath_workspace::Analysis;

use super::matching::Matching;
use super::names;
use super::record::{FigureOf, FigureRecord, MarginRecord};

/// Relative change below which a voltage or loop counts as unchanged.
pub(super) const LEAST_PART: f64 = 0.01;

/// The predictions that changed: sensors, voltages, loops, each in the order of the head's file.
pub(super) fn figures(base: &Analysis, head: &Analysis, matching: &Matching) -> Vec<FigureRecord> {
    let mut figures = readings(base, head, matching);
    figures.extend(voltages(base, head, matching));
    figures.extend(loops(base, head, matching));
    figures.extend(controls(base, head, matching));
    figures.extend(sections(base, head, matching));
    figures.extend(reliefs(base, head, matching));
    figures.extend(ratings(base, head, matching));
    figures
}

/// A figure in both states, with its limits.
struct MovedFigure {
    of: FigureOf,
    subject: String,
    unit: &'static Unit,
    /// The figure in the base, in SI units.
    before: Option<f64>,
    after: Option<f64>,
    /// Smallest change that counts, in SI units.
    step: f64,
    limits: Vec<MovedLimit>,
    /// Whether the load can no longer run.
    has_failed: bool,
}

/// A limit in both states, in SI units.
struct MovedLimit {
    name: &'static str,
    before: Option<Bound>,
    after: Option<Bound>,
}

impl MovedFigure {
    /// The record of the change. `None` where neither the figure nor a margin changed.
    fn record(&self) -> Option<FigureRecord> {
        let margin = |figure: Option<f64>, bound: Option<Bound>| Some(bound?.margin(figure?));
        let margins: Vec<(&MovedLimit, Option<f64>, Option<f64>)> = self
            .limits
            .iter()
            .map(|limit| {
                let before = margin(self.before, limit.before);
                (limit, before, margin(self.after, limit.after))
            })
            .collect();
        let differ = |one: Option<f64>, other: Option<f64>| match (one, other) {
            (Some(one), Some(other)) => (one - other).abs() > self.step,
            (None, None) => false,
            _ => true,
        };
        let has_moved = differ(self.before, self.after)
            || margins
                .iter()
                .any(|(_, before, after)| before.zip(*after).is_some() && differ(*before, *after));
        if !has_moved {
            return None;
        }
        let least = |all: &mut dyn Iterator<Item = Option<f64>>| all.flatten().reduce(f64::min);
        let before = least(&mut margins.iter().map(|(_, before, _)| *before));
        let after = least(&mut margins.iter().map(|(.., after)| *after));
        let shrank = match (before, after) {
            (Some(before), Some(after)) => before - after > self.step,
            _ => false,
        };
        // Convert a difference: remove the offset of units such as °C.
        let start = self.unit.from_si(self.unit.to_si(0.0));
        let zero = self.unit.to_si(0.0);
        let difference = |si: f64| self.short(self.unit.from_si(zero + si) - start);
        Some(FigureRecord {
            of: self.of,
            subject: self.subject.clone(),
            unit: self.unit.name.to_owned(),
            before: self.before.map(|si| self.short(self.unit.from_si(si))),
            after: self.after.map(|si| self.short(self.unit.from_si(si))),
            margins: margins
                .iter()
                .filter(|(_, before, after)| before.is_some() || after.is_some())
                .map(|(limit, before, after)| MarginRecord {
                    limit: limit.name.to_owned(),
                    before: before.map(difference),
                    after: after.map(difference),
                })
                .collect(),
            margin_shrank: shrank || self.has_failed,
        })
    }

    fn short(&self, value: f64) -> f64 {
        rounded(Quantity { value, unit: self.unit }).value
    }
}

fn readings(base: &Analysis, head: &Analysis, matching: &Matching) -> Vec<FigureRecord> {
    let units = UnitPreferences::of(&head.office);
    let sensors = head
        .present()
        .things()
        .filter(|(_, thing)| thing.kind.is_some_and(Kind::is_sensor));
    let mut figures = Vec::new();
    for (id, _) in sensors {
        let Some(before) = matching.base_of(id) else { continue };
        let old = base.present().signals(before);
        for signal in head.present().signals(id) {
            let was = old
                .iter()
                .find(|was| was.port.word == signal.port.word && was.dimension == signal.dimension);
            let moved = was.and_then(|was| reading(base, head, was, &signal, &units));
            figures.extend(moved.and_then(|moved| moved.record()));
        }
    }
    figures
}

fn reading(
    base: &Analysis,
    head: &Analysis,
    was: &Signal<'_>,
    now: &Signal<'_>,
    units: &UnitPreferences,
) -> Option<MovedFigure> {
    let dimension = now.dimension?;
    let expected = |state: &Analysis, signal: &Signal<'_>| {
        let expected = state
            .prediction
            .expected_reading(state.present(), &state.networks, signal.thing, dimension)?;
        Some(expected.figure())
    };
    let unit = stated_unit(now)
        .filter(|unit| !unit.absolute)
        .or_else(|| units.unit(dimension))?;
    let (before, after) = (expected(base, was), expected(head, now));
    Some(MovedFigure {
        of: FigureOf::Reading,
        subject: names::end(&head.office, now.thing, now.port, now.number),
        unit,
        before,
        after,
        step: step(now).or_else(|| step(was)).unwrap_or_else(|| part(before)),
        limits: limits(base, head, was, now),
        has_failed: false,
    })
}

/// The smallest change that a sensor shows, in SI units, as a difference without offset.
fn step(signal: &Signal<'_>) -> Option<f64> {
    let (step, _) = signal
        .fields
        .quantity(Key::Step)
        .or_else(|| signal.fields.quantity(Key::Error))?;
    Some((step.si() - step.unit.to_si(0.0)).abs())
}

fn part(figure: Option<f64>) -> f64 {
    figure.unwrap_or_default().abs() * LEAST_PART
}

fn limits(base: &Analysis, head: &Analysis, was: &Signal<'_>, now: &Signal<'_>) -> Vec<MovedLimit> {
    let of = |office: &Office, signal: &Signal<'_>, level: LimitLevel| {
        let (limit, _) = signal.fields.limits().find(|(limit, _)| limit.level == level)?;
        Some(Bound::of_limit(office, limit))
    };
    [
        LimitLevel::LowLow,
        LimitLevel::Low,
        LimitLevel::High,
        LimitLevel::HighHigh,
    ]
    .iter()
    .map(|level| MovedLimit {
        name: level.word(),
        before: of(&base.office, was, *level),
        after: of(&head.office, now, *level),
    })
    .filter(|limit| limit.before.is_some() || limit.after.is_some())
    .collect()
}

fn voltages(base: &Analysis, head: &Analysis, matching: &Matching) -> Vec<FigureRecord> {
    let Some(unit) = Dimension::Voltage.units().next() else {
        return Vec::new();
    };
    let mut figures = Vec::new();
    let mut met: Vec<ThingId> = Vec::new();
    for feed in &head.prediction.feeds {
        // If a load has several feeds, compare them in order.
        let number = met.iter().filter(|load| **load == feed.load).count();
        met.push(feed.load);
        let Some(load) = matching.base_of(feed.load) else {
            continue;
        };
        let was = base.prediction.feeds.iter().filter(|was| was.load == load).nth(number);
        let Some(was) = was else { continue };
        // The sign is the polarity of the plant; only the magnitude counts.
        let volts = |feed: &Feed| {
            feed.receiving_end
                .as_ref()
                .ok()
                .map(|receiving_end| receiving_end.voltage.volts())
        };
        let (before, after) = (volts(was), volts(feed));
        let least = |state: &Analysis, feed: &Feed| {
            let least = least_voltage(&state.office, feed)?;
            Some(Bound::no_nearer_to_zero(least.si()))
        };
        let moved = MovedFigure {
            of: FigureOf::Voltage,
            subject: head.office.name(feed.load).to_owned(),
            unit,
            before,
            after,
            step: part(before),
            limits: vec![MovedLimit {
                name: "window",
                before: least(base, was),
                after: least(head, feed),
            }],
            has_failed: was.receiving_end.is_ok() && feed.receiving_end.is_err(),
        };
        figures.extend(moved.record());
    }
    figures
}

fn loops(base: &Analysis, head: &Analysis, matching: &Matching) -> Vec<FigureRecord> {
    let Some(unit) = Dimension::Resistance.units().next() else {
        return Vec::new();
    };
    let mut figures = Vec::new();
    let (before, after) = (merged(base), merged(head));
    // A device in another office is reported at the office of its monitor.
    for now in head
        .prediction
        .loops
        .iter()
        .filter(|now| head.office.has(now.input.thing))
    {
        let is_same = |was: ThingId, now: ThingId| {
            if head.office.has(now) {
                base.office.has(was) && matching.base_of(now) == Some(was)
            } else {
                !base.office.has(was) && before.name(was) == after.name(now)
            }
        };
        let was = base.prediction.loops.iter().find(|was| {
            is_same(was.signal.thing, now.signal.thing)
                && was.signal.port.word == now.signal.port.word
                && named(before, &was.signal) == named(after, &now.signal)
        });
        let Some(was) = was else { continue };
        let limit = |one: &Loop| {
            let limit = one.limit.as_ref().ok().copied().flatten()?;
            Some(Bound::at_most(limit.resistance.ohms()))
        };
        let ohms = Some(was.resistance.ohms());
        let moved = MovedFigure {
            of: FigureOf::Loop,
            subject: names::terminal(after, &now.signal),
            unit,
            before: ohms,
            after: Some(now.resistance.ohms()),
            step: part(ohms),
            limits: vec![MovedLimit {
                name: "loop-max",
                before: limit(was),
                after: limit(now),
            }],
            has_failed: false,
        };
        figures.extend(moved.record());
    }
    figures
}

/// The office including everything that its wires lead to.
fn merged(analysis: &Analysis) -> &Office {
    analysis.networks.merged(&analysis.office).office
}

fn controls(base: &Analysis, head: &Analysis, matching: &Matching) -> Vec<FigureRecord> {
    let Some(unit) = Dimension::Resistance.units().next() else {
        return Vec::new();
    };
    let mut figures = Vec::new();
    // A control in another office is reported there.
    for now in head
        .prediction
        .controls
        .iter()
        .filter(|now| head.office.has(now.control.thing))
    {
        let Some(thing) = matching.base_of(now.control.thing) else {
            continue;
        };
        let name = now.name(&head.office);
        let mut all = base.prediction.controls.iter();
        let Some(was) = all.find(|was| was.control.thing == thing && was.name(&base.office) == name) else {
            continue;
        };
        let before = Some(was.resistance.ohms());
        let moved = MovedFigure {
            of: FigureOf::Loop,
            subject: names::terminal(&head.office, &now.control),
            unit,
            before,
            after: Some(now.resistance.ohms()),
            step: part(before),
            limits: Vec::new(),
            has_failed: false,
        };
        figures.extend(moved.record());
    }
    figures
}

/// Explainer of a state, with the minimum pressures of its settings.
pub(super) fn air(state: &Analysis) -> Explainer<'_> {
    Explainer {
        office: state.present(),
        networks: &state.networks,
        prediction: &state.prediction,
        minimums: state.settings.minimums(),
    }
}

/// A section in the notation of its cable's fields: `c101 branch side section s2`. A pipe is a single section.
fn section_name(office: &Office, air: &SectionAir<'_>) -> String {
    let branch = air.line.branch_name(office).map(|branch| format!(" branch {branch}"));
    let section = air.stated.map(|(section, _)| format!(" section {section}"));
    format!(
        "{}{}{}",
        office.name(air.line.thing),
        branch.unwrap_or_default(),
        section.unwrap_or_default()
    )
}

/// Lowest pressure of each section and pipe, against its declared minimum.
fn sections(base: &Analysis, head: &Analysis, matching: &Matching) -> Vec<FigureRecord> {
    let Some(unit) = UnitPreferences::of(&head.office).unit(Dimension::Pressure) else {
        return Vec::new();
    };
    let (before, after) = (air(base), air(head));
    let routes = |explainer: &Explainer<'_>| explainer.prediction.air.lines().len();
    let mut known = Vec::with_capacity(routes(&before));
    for route in before.prediction.air.lines() {
        known.extend(before.sections(route).map(|section| {
            let branch = section.line.branch_name(before.office);
            (route.thing, branch, section.stated.map(|(name, _)| name), section)
        }));
    }
    let mut figures = Vec::new();
    for now in after
        .prediction
        .air
        .lines()
        .iter()
        .flat_map(|route| after.sections(route))
    {
        let thing = matching.base_of(now.line.thing);
        let branch = now.line.branch_name(after.office);
        let name = now.stated.map(|(name, _)| name);
        let was = known
            .iter()
            .find(|was| (Some(was.0), was.1, was.2) == (thing, branch, name));
        let Some((.., was)) = was else { continue };
        let lowest = |section: &SectionAir<'_>| section.lowest.map(|(_, pressure)| pressure.pascals());
        let moved = MovedFigure {
            of: FigureOf::Lowest,
            subject: section_name(after.office, &now),
            unit,
            before: lowest(was),
            after: lowest(&now),
            step: part(lowest(was)),
            limits: vec![MovedLimit {
                name: "minimum",
                before: was.bound,
                after: now.bound,
            }],
            has_failed: false,
        };
        figures.extend(moved.record());
    }
    figures
}

/// Outlet pressure of each regulator with a relief, against the pressure at which that opens.
fn reliefs(base: &Analysis, head: &Analysis, matching: &Matching) -> Vec<FigureRecord> {
    let outlet = |state: &Analysis, id: ThingId| Some(state.prediction.air.outlet(id)?.pascals());
    let regulators = head.present().of_kind(KindId::Regulator);
    let figures = regulators.filter_map(|(id, _)| {
        let was = matching.base_of(id)?;
        let pressures = (outlet(base, was), outlet(head, id));
        at_most(
            base,
            head,
            (was, Key::Relief),
            (id, Key::Relief),
            FigureOf::Outlet,
            pressures,
        )
    });
    figures.collect()
}

/// Highest pressure at each thing that states a rating.
fn ratings(base: &Analysis, head: &Analysis, matching: &Matching) -> Vec<FigureRecord> {
    let highest = |state: &Analysis, id: ThingId| {
        let air = &state.prediction.air;
        let (_, pressure) = air.highest_at(state.present(), &state.networks, id)?;
        Some(pressure.pascals())
    };
    let figures = head.present().things().filter_map(|(id, thing)| {
        let was = matching.base_of(id)?;
        let keys = (rated_by(base.present().thing(was))?, rated_by(thing)?);
        let pressures = (highest(base, was), highest(head, id));
        at_most(base, head, (was, keys.0), (id, keys.1), FigureOf::Highest, pressures)
    });
    figures.collect()
}

/// The change of a pressure against the rating of its thing. `None` where neither state has a rating.
fn at_most(
    base: &Analysis,
    head: &Analysis,
    was: (ThingId, Key),
    now: (ThingId, Key),
    of: FigureOf,
    (before, after): (Option<f64>, Option<f64>),
) -> Option<FigureRecord> {
    let unit = UnitPreferences::of(&head.office).unit(Dimension::Pressure)?;
    let bound = |state: &Analysis, (id, key): (ThingId, Key)| {
        let (stated, _) = state.present().thing(id).quantity(key)?;
        Some(Bound::at_most(state.office.figure(stated)))
    };
    let bounds = (bound(base, was), bound(head, now));
    bounds.0.or(bounds.1)?;
    let moved = MovedFigure {
        of,
        subject: head.office.name(now.0).to_owned(),
        unit,
        before,
        after,
        step: part(before),
        limits: vec![MovedLimit {
            name: now.1.word(),
            before: bounds.0,
            after: bounds.1,
        }],
        has_failed: false,
    };
    moved.record()
}

/// Name of a signal, if its thing has several.
fn named<'o>(office: &'o Office, terminal: &Terminal) -> &'o str {
    let signals = office.signals(terminal.thing);
    let found = signals
        .iter()
        .find(|signal| signal.port.word == terminal.port.word && signal.number == terminal.number);
    found.map_or("", |signal| signal.name)
}
