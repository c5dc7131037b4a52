//! How a figure comes about: the law, what went into it and where that is said, and what lies between.

use std::fmt::Write as _;

use drysheath_engineering::air::{self, Regime};
use drysheath_engineering::measure::{Flow, Length, Pressure};
use drysheath_engineering::units::{Dimension, Quantity, find};
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Given, Link, Thing, ThingId, UnitPreferences, rounded};
use drysheath_prediction::{AirLocation, Dryness, Feed, Loop, LoopPart, PathElement, PathStep, SetBy, capacity};
use drysheath_text::Place as FilePlace;

use super::compose::View;

/// The answer to "how does this come about?".
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Asked {
    /// The explanation.
    Told(String),
    /// There is no thing of that name.
    Unknown,
    /// Nothing is computed of that thing, and why.
    Nothing(String),
}

/// The laws, as they are shown.
const LAMINAR: &str = "p1\u{b2} - p2\u{b2} = 2 \u{b7} 14.696 psia \u{b7} k \u{b7} L \u{b7} Q, absolute pressures \
                       [Hagen-Poiseuille, ideal gas, isothermal; derived]";
const SPREAD: &str = "p1\u{b2} - p2\u{b2} = 2 \u{b7} 14.696 psia \u{b7} k \u{b7} L \u{b7} Q, with Q half way along: usage that is spread evenly counts as \
                      half drawn at either end, which is exact in laminar flow [derived]";
const BORE: &str = "k = 128 \u{3bc} T / (\u{3c0} d\u{2074} T_s) at a mean of 14.696 psia [Hagen-Poiseuille; derived]";
const TURBULENT: &str = "p1\u{b2} - p2\u{b2} = f (L/d) (\u{1e41}/A)\u{b2} R T, f by Colebrook above Re 4000 and bridged from Re \
                         2000 [Colebrook, from memory]";
const DROOP: &str = "behind it = set - droop \u{b7} Q, as long as supply - set is no less than its differential [linear \
                     droop; derived]";
const AMBIENT: &str = "air pressure by ISO 2533 from the elevation [formula from memory]";
const RATING: &str = "capacity here = stated \u{b7} (p/14.696 psia)(519.67 \u{b0}R/T) \u{b7} air pressure here / air pressure at its elevation \
                      [ideal gas; derived]";
const VAPOUR: &str = "e = 6.112 hPa exp(17.62 t/(243.12 + t)) over water, 22.46 and 272.62 over ice; at another pressure e goes with \
                      p [Magnus, WMO-No. 8; ice from memory]";
const FEED: &str = "V = (V_s + \u{221a}(V_s\u{b2} - 4 P R))/2 for a load that holds its power [derived]; R = 2 r L (1 + 0.00393 (t - \
                    20)), r from 1/58 \u{3a9} mm\u{b2}/m [IEC 60028] and the area [ASTM B258, from memory]";
const LOOP: &str = "R = \u{2211} 2 r L (1 + 0.00393 (t - 20)), r from 1/58 \u{3a9} mm\u{b2}/m [IEC 60028] and the area [ASTM B258, from \
                    memory]";

/// Tells how the figures of a thing come about.
pub fn how(view: &View<'_>, units: &UnitPreferences, name: &str) -> Asked {
    let Some((id, thing)) = view.office.things().find(|(id, _)| view.office.name(*id) == name) else {
        return Asked::Unknown;
    };
    let mut teller = Teller {
        view,
        units,
        out: String::new(),
        laws: Vec::new(),
    };
    teller.thing(id, thing);
    if teller.out.is_empty() {
        return Asked::Nothing(teller.why_nothing(thing));
    }
    teller.tell_laws();
    Asked::Told(teller.out)
}

struct Teller<'t> {
    view: &'t View<'t>,
    units: &'t UnitPreferences,
    out: String,
    /// The laws that were named, each once: they stand at the end.
    laws: Vec<&'static str>,
}

impl Teller<'_> {
    fn line(&mut self, text: &str) {
        let _ = writeln!(self.out, "{text}");
    }

    /// The number of a law in the list at the end.
    fn law(&mut self, law: &'static str) -> usize {
        let at = self.laws.iter().position(|other| *other == law).unwrap_or_else(|| {
            self.laws.push(law);
            self.laws.len() - 1
        });
        at + 1
    }

    fn tell_laws(&mut self) {
        for (number, law) in (1..).zip(std::mem::take(&mut self.laws)) {
            self.line(&format!("({number}) {law}"));
        }
    }

    fn name(&self, id: ThingId) -> &str {
        self.view.office.name(id)
    }

    fn show(&self, dimension: Dimension, si: f64) -> String {
        self.units.show(dimension, si)
    }

    fn pressure(&self, pressure: Pressure) -> String {
        self.show(Dimension::Pressure, pressure.pascals())
    }

    fn flow(&self, flow: Flow) -> String {
        self.show(Dimension::Flow, flow.cubic_metres_per_second())
    }

    /// "310 m (elm.office:4)", or "60 degF (default)".
    fn given(&self, given: Given) -> String {
        match given.place {
            Some(place) => format!("{} ({})", given.quantity, self.place(place)),
            None => format!("{} (default)", given.quantity),
        }
    }

    fn place(&self, place: FilePlace) -> String {
        let place = self.view.place(place);
        format!("{}:{}", place.file, place.line)
    }

    fn said(&self, fields: &(impl Fields + ?Sized), key: Key) -> String {
        match fields.quantity(key) {
            Some((quantity, place)) => self.given(Given {
                quantity,
                place: Some(place),
            }),
            None => "not said".to_owned(),
        }
    }

    fn default_or_said(&self, id: ThingId, key: Key) -> String {
        let given = self.view.office.given(id, key);
        given.map_or_else(|| "not said".to_owned(), |given| self.given(given))
    }

    fn thing(&mut self, id: ThingId, thing: &Thing) {
        let Some(kind) = thing.kind else { return };
        match kind.id {
            KindId::Dryer => self.dryer(id),
            KindId::Cable | KindId::AirPipe => self.long(id),
            KindId::Contact => {}
            _ if kind.is_sensor() => self.sensor(id, thing),
            _ => self.pressure_at(id),
        }
        let feeds: Vec<&Feed> = self
            .view
            .prediction
            .feeds
            .iter()
            .filter(|feed| feed.load == id)
            .collect();
        for feed in feeds {
            self.feed(feed);
        }
        let loops = &self.view.prediction.loops;
        let loops: Vec<&Loop> = loops.iter().filter(|one| one.signal.thing == id).collect();
        for one in loops {
            self.a_loop(one);
        }
    }

    fn why_nothing(&self, thing: &Thing) -> String {
        let missing: Vec<&str> = self
            .view
            .prediction
            .missing
            .iter()
            .map(|gap| gap.what.as_str())
            .collect();
        if let Some(failure) = self.view.prediction.air.failures().next() {
            return failure.why.to_string();
        }
        if missing.is_empty() || thing.kind.is_none() {
            return "nothing is computed of it".to_owned();
        }
        format!(
            "nothing is computed of it; the file does not say {}",
            missing.join(", ")
        )
    }

    fn sensor(&mut self, id: ThingId, thing: &Thing) {
        let office = self.view.office;
        for signal in office.signals(id) {
            let Some(dimension) = signal.dimension else { continue };
            let expected = self
                .view
                .prediction
                .expected_reading(office, self.view.networks, id, dimension);
            let Some(expected) = expected else { continue };
            let shown = self.show(dimension, expected.figure());
            let (word, span) = (signal.port.word, signal.fields.range(Key::Span));
            self.line(&format!("{} {word} should read {shown}", self.name(id)));
            if let Some((bottom, top, place)) = span {
                let at = self.place(place);
                self.line(&format!("  span {bottom} .. {top} ({at})"));
            }
        }
        if thing.is(KindId::HumiditySensor) || thing.is(KindId::DewPointSensor) {
            self.dryness_at(id);
        }
        self.pressure_at(id);
    }

    fn dryness_at(&mut self, id: ThingId) {
        let (office, prediction) = (self.view.office, self.view.prediction);
        let place = prediction.air.place_of(office, self.view.networks, id);
        let Some((vapour, dryness)) = place.and_then(|place| prediction.vapour(&place)) else {
            return;
        };
        let dryness = *dryness;
        self.line(&format!("  vapour here {:.3} Pa", vapour.pascals()));
        self.dryness(&dryness);
    }

    fn dryness(&mut self, dryness: &Dryness) {
        let stated = self.given(dryness.dew_point);
        let (name, at) = (self.name(dryness.dryer).to_owned(), absolute(dryness.at.pascals()));
        self.line(&format!("  dew point of {name} {stated}, over water, at {at}"));
        let law = self.law(VAPOUR);
        self.line(&format!("  law ({law})"));
    }

    fn pressure_at(&mut self, id: ThingId) {
        let air = &self.view.prediction.air;
        let Some(place) = air.place_of(self.view.office, self.view.networks, id) else {
            return;
        };
        self.way(&place);
    }

    fn long(&mut self, id: ThingId) {
        let air = &self.view.prediction.air;
        for line in air.routes().iter().filter(|line| line.thing == id) {
            if let Some(length) = line.length() {
                self.way(&AirLocation::OnRoute(line, length));
            }
        }
    }

    /// The way of the air to a place, with every step's law and figures.
    fn way(&mut self, place: &AirLocation<'_>) {
        let air = &self.view.prediction.air;
        let (Some(way), Some(pressure)) = (air.supply_path(place), air.pressure(place)) else {
            return;
        };
        let end = match place {
            AirLocation::Thing(thing) => format!("at {}", self.name(*thing)),
            AirLocation::OnRoute(line, metres) => format!("at {}", self.spot(line, *metres)),
        };
        self.line(&format!("pressure {end}: {}", self.pressure(pressure)));
        self.conditions();
        let dryer = self.name(way.dryer).to_owned();
        let delivers = self.default_or_said(way.dryer, Key::Delivers);
        self.line(&format!("  {dryer} delivers {delivers}"));
        for step in &way.steps {
            self.step(step);
        }
        if let Some(system) = air.system_at(place) {
            self.usages(system);
        }
    }

    /// All that is used in a system: what the flows are made of.
    fn usages(&mut self, system: u32) {
        let air = &self.view.prediction.air;
        let Some(usage) = air.usage(system) else { return };
        self.line(&format!("air used in all that hangs together: {}", self.flow(usage)));
        for line in air.routes() {
            for reach in &line.sections {
                let here = AirLocation::OnRoute(line, f64::midpoint(reach.from, reach.to));
                // Where the pressure is not known, the usage counts all the same.
                let unknown = air.systems() == 1 && self.view.networks.is_reached(line.thing);
                if air.system_at(&here).map_or(!unknown, |other| other != system) {
                    continue;
                }
                let said = match (reach.surroundings, line.section(self.view.office, reach)) {
                    (Some(_), Some((name, fields))) => {
                        format!("section {name}: usage {}", self.said(fields, Key::Usage))
                    }
                    _ => format!("usage {}", self.default_or_said(line.thing, Key::Usage)),
                };
                self.line(&format!("  {} {said}", self.name(line.thing)));
            }
        }
        self.line("  what flows anywhere is what is used behind it [mass is conserved]");
    }

    fn spot(&self, line: &drysheath_prediction::Route, metres: f64) -> String {
        let name = self.name(line.thing);
        let metres = self.show(Dimension::Length, metres);
        match line.branch_name(self.view.office) {
            Some(branch) => format!("{metres} on branch {branch} of {name}"),
            None => format!("{metres} on {name}"),
        }
    }

    fn conditions(&mut self) {
        let office = self.view.office;
        let conditions = self.view.prediction.air.conditions;
        let elevation = office.itself.and_then(|id| office.given(id, Key::Elevation));
        let elevation = elevation.map_or_else(|| "not said: sea level".to_owned(), |given| self.given(given));
        let ambient = absolute(conditions.ambient.pascals());
        let law = self.law(AMBIENT);
        self.line(&format!(
            "  elevation {elevation}, air around the office {ambient}, law ({law})"
        ));
        let temperature = office.itself.map_or_else(
            || self.show(Dimension::Temperature, conditions.temperature.kelvins()),
            |id| self.default_or_said(id, Key::AirTemperature),
        );
        let viscosity = air::viscosity(conditions.temperature).pascal_seconds() * 1e6;
        self.line(&format!(
            "  air in the network {temperature}, viscosity {viscosity:.2} \u{b5}Pa\u{b7}s [Sutherland, numbers from memory]"
        ));
    }

    fn step(&mut self, step: &PathStep<'_>) {
        let pressures = format!("{} -> {}", self.pressure(step.before), self.pressure(step.after));
        let (head, inputs, law) = match &step.leg {
            PathElement::Run(run) => {
                let Some(link) = self.view.networks.air.iter().nth(*run as usize) else {
                    return;
                };
                self.run(link, step)
            }
            PathElement::Thing(id) => self.passed(*id),
            PathElement::OnRoute(line, from, to) => self.along(line, *from, *to, step),
            PathElement::Joint => ("the branch leaves the trunk".to_owned(), Vec::new(), None),
        };
        let head = format!("  {head}: {pressures}, flow {}", self.flow(step.state.flow));
        self.line(&head);
        for input in inputs {
            self.line(&format!("    {input}"));
        }
        if let (Some(resistance), Some(length)) = (step.state.resistance, step.state.length) {
            let of = if step.state.reynolds.is_some() {
                format!(", law ({})", self.law(BORE))
            } else {
                String::new()
            };
            let k = self.show(Dimension::PneumaticResistance, resistance.pascal_seconds_per_m4());
            let length = self.show(Dimension::Length, length.metres());
            let mean = absolute(step.state.mean.pascals());
            self.line(&format!(
                "    k {k} at 14.696 psia{of}, L {length}, mean pressure {mean}"
            ));
        }
        if let (Some(reynolds), Some(regime)) = (step.state.reynolds, step.state.regime) {
            self.line(&format!("    Reynolds number {reynolds:.0}, {}", regime.name()));
        }
        if let Some(law) = law {
            let number = self.law(law);
            self.line(&format!("    law ({number})"));
        }
    }

    fn run(&self, link: &Link, step: &PathStep<'_>) -> (String, Vec<String>, Option<&'static str>) {
        let (from, to) = (self.name(link.from.thing), self.name(link.to.thing));
        let bore = link.with.bore.as_ref().map(|bore| (bore.value, bore.range));
        let length = link.with.length.as_ref().map(|length| (length.value, length.range));
        let said = [("bore", bore), ("length of the run", length)];
        let inputs = said.into_iter().filter_map(|(what, said)| {
            let (quantity, range) = said?;
            Some(format!(
                "{what} {quantity} ({})",
                self.place(self.view.office.place(range))
            ))
        });
        if bore.is_none() {
            return (format!("joint {from} - {to}"), Vec::new(), None);
        }
        let law = if step.state.regime == Some(Regime::Laminar) {
            LAMINAR
        } else {
            TURBULENT
        };
        (format!("tube {from} -> {to}"), inputs.collect(), Some(law))
    }

    fn passed(&self, id: ThingId) -> (String, Vec<String>, Option<&'static str>) {
        let name = self.name(id);
        let thing = self.view.office.thing(id);
        if !thing.is(KindId::Regulator) {
            let kind = thing.kind.map_or("", |kind| kind.word());
            return (
                format!("through {kind} {name}, which loses nothing to speak of"),
                Vec::new(),
                None,
            );
        }
        let inputs = [Key::Set, Key::Droop, Key::Differential]
            .map(|key| format!("{} {}", key.word(), self.default_or_said(id, key)));
        (format!("regulator {name}"), inputs.to_vec(), Some(DROOP))
    }

    fn along(
        &self,
        line: &drysheath_prediction::Route,
        from: f64,
        to: f64,
        step: &PathStep<'_>,
    ) -> (String, Vec<String>, Option<&'static str>) {
        let office = self.view.office;
        let head = format!("{} to {}", self.show(Dimension::Length, from), self.spot(line, to));
        let Some(reach) = line.section_at(f64::midpoint(from, to)) else {
            return (head, Vec::new(), None);
        };
        let of_pipe = Some(office.thing(line.thing).fields()).filter(|_| reach.surroundings.is_none());
        let (section, fields) = match (of_pipe, line.section(office, reach)) {
            (Some(fields), _) => (String::new(), fields),
            (None, Some((name, fields))) => (format!("section {name}, "), fields),
            (None, None) => return (head, Vec::new(), None),
        };
        let keys: &[Key] = if reach.surroundings.is_none() {
            &[Key::Bore, Key::Length, Key::Usage]
        } else {
            &[Key::Resistance, Key::Usage]
        };
        let inputs = keys
            .iter()
            .map(|key| format!("{} {}", key.word(), self.said(fields, *key)));
        let law = match step.state.regime {
            None | Some(Regime::Laminar) => SPREAD,
            Some(_) => TURBULENT,
        };
        (format!("{section}{head}"), inputs.collect(), Some(law))
    }

    fn dryer(&mut self, id: ThingId) {
        let office = self.view.office;
        let Some(supply) = self.view.prediction.air.supply(id) else {
            return;
        };
        self.line(&format!("{} gives {}", self.name(id), self.flow(supply.flow)));
        self.line("  the usage of all that hangs on it, and what other dryers leave to it [mass is conserved]");
        if let Some(capacity) = capacity(office, id) {
            let stated = self.given(capacity.stated);
            let [pressure, temperature, elevation] =
                [Key::RatingPressure, Key::RatingTemperature, Key::RatingElevation]
                    .map(|key| self.default_or_said(id, key));
            self.line(&format!("  it can give {} here", self.flow(capacity.flow)));
            self.line(&format!(
                "    capacity {stated}, counted at {pressure} and {temperature}, at {elevation}"
            ));
            self.line(&format!(
                "    basis {:.4}, altitude {:.4}",
                capacity.basis, capacity.altitude
            ));
            let law = self.law(RATING);
            self.line(&format!("    law ({law})"));
            let duty = supply.flow.cubic_metres_per_second() / capacity.flow.cubic_metres_per_second();
            self.line(&format!("  duty {:.1} %, what it gives over what it can", duty * 100.0));
        }
        if let Some(dryness) = Dryness::of(office, id) {
            self.dryness(&dryness);
        }
    }

    fn feed(&mut self, feed: &Feed) {
        let load = self.name(feed.load).to_owned();
        match &feed.arrival {
            Ok(arrival) => {
                let voltage = self.show(Dimension::Voltage, arrival.voltage.volts());
                let current = self.show(Dimension::Current, arrival.current.amperes());
                self.line(&format!(
                    "voltage at {load} at the battery's end of discharge: {voltage}, {current}"
                ));
            }
            Err(why) => self.line(&format!("voltage at {load}: {why}")),
        }
        let battery = self.name(feed.battery).to_owned();
        let (source, draws, temperature) = (
            self.given(feed.source),
            self.given(feed.draws),
            self.given(feed.temperature),
        );
        self.line(&format!(
            "  {battery} {source}, {load} draws {draws}, wires at {temperature}"
        ));
        for part in &feed.conductors {
            let shared = if part.shared_by > 1 {
                format!(", shared by {} loads", part.shared_by)
            } else {
                String::new()
            };
            let text = format!(
                "  {} -> {}: {}, {} ({}), {} there and back{shared}",
                self.name(part.from),
                self.name(part.to),
                part.gauge,
                part.length,
                self.place(self.view.office.place(part.place)),
                self.show(Dimension::Resistance, part.resistance.ohms())
            );
            self.line(&text);
        }
        let total = self.show(Dimension::Resistance, feed.total.ohms());
        self.line(&format!("  together {total}"));
        let law = self.law(FEED);
        self.line(&format!("  law ({law})"));
    }

    fn a_loop(&mut self, one: &Loop) {
        let text = format!(
            "loop of {} to {} {}: {} at {}, {} at 20 degC",
            self.name(one.signal.thing),
            self.name(one.input.thing),
            one.input.number,
            self.show(Dimension::Resistance, one.resistance.ohms()),
            self.given(one.temperature),
            self.show(Dimension::Resistance, one.resistance_at_20.ohms())
        );
        self.line(&text);
        for part in &one.stretches {
            let of = match &part.of {
                LoopPart::Run(_) => "run".to_owned(),
                LoopPart::Cable { thing, pair, whole, .. } => {
                    let whole = if *whole { ", all of its length" } else { "" };
                    format!("{} pair {pair}{whole}", self.name(*thing))
                }
            };
            let length = self.show(Dimension::Length, Length::metres(part.length));
            let resistance = self.show(Dimension::Resistance, part.resistance.ohms());
            let text = format!(
                "  {of}: {}, {length} ({}), {resistance}",
                part.gauge,
                self.place(part.place)
            );
            self.line(&text);
        }
        if one.unstated_runs > 0 {
            let runs = one.unstated_runs;
            self.line(&format!(
                "  {runs} of its runs state neither size nor length and count as nothing"
            ));
        }
        match &one.limit {
            Ok(Some(limit)) => {
                let by = match limit.by {
                    SetBy::Device => one
                        .limits
                        .device
                        .map(|given| format!("loop-max of the device, {}", self.given(given))),
                    SetBy::Monitor => one
                        .limits
                        .monitor
                        .map(|given| format!("loop-max of the monitor, {}", self.given(given))),
                    SetBy::Supply => one.limits.supply.map(|supply| {
                        let [voltage, needs, current] =
                            [supply.voltage, supply.needs, supply.current].map(|given| self.given(given));
                        format!("({voltage} - {needs}) / {current}")
                    }),
                };
                let most = self.show(Dimension::Resistance, limit.resistance.ohms());
                self.line(&format!("  most {most}: {}", by.unwrap_or_default()));
            }
            Ok(None) => self.line("  neither device nor monitor says what a loop may have"),
            Err(why) => self.line(&format!("  {why}")),
        }
        let law = self.law(LOOP);
        self.line(&format!("  law ({law})"));
    }
}

/// An absolute pressure.
fn absolute(pascals: f64) -> String {
    match find("psia") {
        Some(unit) => rounded(Quantity {
            value: unit.from_si(pascals),
            unit,
        })
        .to_string(),
        None => format!("{pascals} Pa"),
    }
}
