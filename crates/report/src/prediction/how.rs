//! Explains as text how a figure is computed: the law, its inputs and where they are stated, and the steps between.

use std::fmt::Write as _;

use drysheath_engineering::air;
use drysheath_engineering::measure::{AbsolutePressure, Flow, Pressure, Time};
use drysheath_engineering::units::{Dimension, time};
use drysheath_explanation::{
    AirPath, AirPathElement, AirPathStep, AirSource, Explainer, Input, Law, LimitInputs, SystemUsage, limit_inputs,
};
use drysheath_office::kinds::{KindId, ThingStage};
use drysheath_office::{GivenQuantity, Thing, ThingId, UnitPreferences, printed};
use drysheath_prediction::{AirLocation, ControlLoop, Dryness, Feed, Line, Loop, LoopPart, LoopStretch, OutletBounds};
use drysheath_text::Place as FilePlace;
use drysheath_text::safe::terminal;

use super::compose::OfficeView;
use super::name_lookup::{NamedTarget, meant};

/// Result of a request for an explanation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Explanation {
    /// What was asked for is known: its explanation, as text.
    Told(String),
    /// No thing has that name.
    Unknown,
    /// Several places have that name: their names prefixed with cable or pipe.
    Several(Vec<String>),
    /// Nothing is computed for that thing, with the reason.
    Nothing(String),
}

/// Explains the figures of a thing, of one of its signals or of a place on a cable, given any name that an output
/// prints.
pub fn how(view: &OfficeView<'_>, units: &UnitPreferences, name: &str) -> Explanation {
    let meant = match meant(view, name) {
        Ok(meant) => meant,
        Err(asked) => return asked,
    };
    let id = match meant {
        NamedTarget::Thing(id) => id,
        NamedTarget::Along(line, _) => line.thing,
    };
    let thing = view.office.thing(id);
    let mut text = Text {
        view,
        explainer: view.explainer(),
        units,
        out: String::new(),
        laws: Vec::new(),
    };
    match meant {
        NamedTarget::Thing(_) => text.thing(id, thing),
        NamedTarget::Along(line, metres) => text.path(&AirLocation::OnLine(line, metres)),
    }
    if !text.out.is_empty() {
        text.unread();
    }
    if let Some(stage) = view.office.excluded.stage(id) {
        let how = if stage == ThingStage::Planned {
            "; --planned computes it"
        } else {
            ""
        };
        return Explanation::Nothing(format!("nothing is computed for it, since it is {}{how}", stage.word()));
    }
    if text.out.is_empty() {
        return Explanation::Nothing(terminal(&text.why_nothing(thing)).into_owned());
    }
    text.list_laws();
    Explanation::Told(terminal(&text.out).into_owned())
}

/// An explanation under construction: each step is indented below what it explains.
struct Text<'t> {
    view: &'t OfficeView<'t>,
    explainer: Explainer<'t>,
    units: &'t UnitPreferences,
    out: String,
    /// The laws that were cited, without duplicates: they are listed at the end.
    laws: Vec<Law>,
}

impl<'t> Text<'t> {
    fn line(&mut self, text: &str) {
        let _ = writeln!(self.out, "{text}");
    }

    /// Index of a law in the list at the end.
    fn law(&mut self, law: Law) -> usize {
        let at = self.laws.iter().position(|other| *other == law).unwrap_or_else(|| {
            self.laws.push(law);
            self.laws.len() - 1
        });
        at + 1
    }

    fn law_line(&mut self, indent: &str, law: Law) {
        let number = self.law(law);
        self.line(&format!("{indent}law ({number})"));
    }

    fn list_laws(&mut self) {
        for (number, law) in (1..).zip(std::mem::take(&mut self.laws)) {
            self.line(&format!("({number}) {}", law.text()));
        }
    }

    fn name(&self, id: ThingId) -> &'t str {
        self.view.merged().office.name(id)
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

    /// Formats an input: "310 m (elm.office:4)", "60 degF (default)" or "not said".
    fn given(&self, given: Option<GivenQuantity>) -> String {
        match given {
            None => "not said".to_owned(),
            Some(GivenQuantity { quantity, place: None }) => format!("{quantity} (default)"),
            Some(GivenQuantity {
                quantity,
                place: Some(place),
            }) => format!("{quantity} ({})", self.place(place)),
        }
    }

    fn place(&self, place: FilePlace) -> String {
        let place = self.view.place(place);
        format!("{}:{}", place.file, place.line)
    }

    fn thing(&mut self, id: ThingId, thing: &Thing) {
        let Some(kind) = thing.kind else { return };
        match kind.id {
            KindId::Dryer => self.dryer(id),
            KindId::Bottle => self.bottle(id),
            KindId::Cable | KindId::AirPipe => self.line_ends(id),
            KindId::Contact => {}
            _ if kind.is_sensor() => self.sensor(id, thing),
            _ => {
                self.pressure_at(id);
                if let Some(bounds) = self.view.prediction.air.outlet_bounds(id) {
                    let holds = self.unregulated(id, &bounds);
                    self.line(&holds);
                }
            }
        }
        if let Some(step) = self.explainer.own_loss(id) {
            let lost = self.pressure(Pressure::from_pascals(step.before.pascals() - step.after.pascals()));
            self.line(&format!("{} loses {lost}", self.name(id)));
            self.step(&step);
        }
        let prediction = self.view.prediction;
        for feed in prediction.feeds.iter().filter(|feed| feed.load == id) {
            self.feed(feed);
        }
        // For a monitor, the loops that come from other offices; those of this office are explained at their devices.
        let comes_in = |one: &Loop| one.input.thing == id && !self.view.office.has(one.signal.thing);
        let is_its = |one: &&Loop| one.signal.thing == id || comes_in(one);
        let loops: Vec<&Loop> = prediction.loops.iter().filter(is_its).collect();
        for one in loops {
            self.signal_loop(one);
        }
        let is_about = |one: &&ControlLoop| one.control.thing == id || one.output.thing == id;
        for one in prediction.controls.iter().filter(is_about) {
            self.control(one);
        }
    }

    /// Notes text that could not be read and is missing from the figures.
    fn unread(&mut self) {
        for unread in self.view.unread() {
            let (file, line) = (unread.place.file, unread.place.line);
            self.line(&format!(
                "not read: {file}:{line}: {}; nothing of it is in these figures",
                unread.why
            ));
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
            if let Some(unread) = self.view.unread().first() {
                let (file, line) = (&unread.place.file, unread.place.line);
                return format!(
                    "nothing is computed for it, since {file}:{line} is not read: {}",
                    unread.why
                );
            }
            return "nothing is computed for it".to_owned();
        }
        format!(
            "nothing is computed for it; the file does not say {}",
            missing.join(", ")
        )
    }

    /// Explains an unknown pressure at a place, if the reason is a regulator out of regulation.
    fn out_of_regulation(&mut self, place: &AirLocation<'t>) {
        let (office, air) = (self.view.office, &self.view.prediction.air);
        let system = air.system_at(place);
        let regulators = office.of_kind(KindId::Regulator).map(|(id, _)| id);
        let here = regulators.filter(|id| air.system_at(&AirLocation::Thing(*id)) == system);
        let mut out = here.filter_map(|id| Some((id, air.outlet_bounds(id)?)));
        let Some((id, bounds)) = out.next() else { return };
        let why = format!("pressure not known: regulator {}", self.unregulated(id, &bounds));
        if !self.out.contains(&why) {
            self.line(&why);
        }
    }

    fn unregulated(&self, id: ThingId, bounds: &OutletBounds) -> String {
        let most = self.pressure(bounds.most);
        let holds = match bounds.least {
            Some(least) => format!("somewhere between {} and {most}", self.pressure(least)),
            None => format!("{most} at most"),
        };
        format!("{} is out of regulation and holds {holds}", self.name(id))
    }

    fn sensor(&mut self, id: ThingId, thing: &Thing) {
        for reading in self.explainer.readings(id) {
            let Some(expected) = reading.expected else { continue };
            let shown = self.units.show_reading(reading.dimension, expected, reading.step());
            self.line(&format!(
                "{} {} should read {shown}",
                self.name(id),
                reading.signal.port.word
            ));
            if let Some((bottom, top, place)) = reading.span {
                let at = self.place(place);
                self.line(&format!("  span {bottom} .. {top} ({at})"));
            }
            for limit in &reading.limits {
                let margin = reading.shown_margin(limit, self.units);
                let margin = margin.map_or_else(String::new, |margin| format!(", margin {margin}"));
                let (level, value) = (limit.limit.level.word(), limit.limit.value);
                let at = self.place(limit.place);
                self.line(&format!("  limit {level} {value} ({at}){margin}"));
            }
        }
        if thing.is(KindId::HumiditySensor) || thing.is(KindId::DewPointSensor) {
            self.vapour_at(id);
        }
        self.pressure_at(id);
    }

    fn vapour_at(&mut self, id: ThingId) {
        let (office, prediction) = (self.view.office, self.view.prediction);
        let place = prediction.air.location_of(office, self.view.networks, id);
        let Some((vapour, dryness)) = place.and_then(|place| prediction.vapour(&place)) else {
            return;
        };
        self.line(&format!("  vapour here {:.3} Pa", vapour.pascals()));
        self.dryness(dryness);
    }

    fn dryness(&mut self, dryness: &Dryness) {
        let stated = self.given(Some(dryness.dew_point));
        let (name, at) = (
            dryness.dryer_name(self.view.office),
            self.units.show_absolute(dryness.at),
        );
        let over = dryness.surface.name();
        self.line(&format!("  dew point of {name} {stated}, {over}, at {at}"));
        self.law_line("  ", Law::Vapour);
    }

    fn pressure_at(&mut self, id: ThingId) {
        let view = self.view;
        if let Some(place) = view.prediction.air.location_of(view.office, view.networks, id) {
            self.path(&place);
        }
    }

    /// The pressures at the far ends of a cable, its branches, or a pipe.
    fn line_ends(&mut self, id: ThingId) {
        let lines = self.view.prediction.air.lines().iter();
        for line in lines.filter(|line| line.thing == id) {
            if let Some(length) = line.length() {
                self.path(&AirLocation::OnLine(line, length));
            }
        }
    }

    /// The path of the air to a place, with law and figures of every step.
    fn path(&mut self, place: &AirLocation<'t>) {
        let Some(path) = self.explainer.air_path(place) else {
            self.out_of_regulation(place);
            return;
        };
        let AirPath {
            pressure,
            source,
            steps,
        } = path;
        let end = match place {
            AirLocation::Thing(thing) => self.name(*thing).to_owned(),
            AirLocation::OnLine(line, metres) => self.point(line, *metres),
        };
        self.line(&format!("pressure at {end}: {}", self.pressure(pressure)));
        self.conditions();
        let source = match source {
            AirSource::Dryer(dryer, delivers) => format!("  {} delivers {}", self.name(dryer), self.given(delivers)),
            AirSource::Elsewhere(office, pressure) => {
                format!(
                    "  {office} feeds it from the other end: {} where its air enters",
                    self.pressure(pressure)
                )
            }
        };
        self.line(&source);
        for step in &steps {
            self.step(step);
        }
        if let Some(usage) = self.explainer.usage(place) {
            self.usage(&usage);
        }
    }

    /// The total usage of a system, from which its flows follow.
    fn usage(&mut self, usage: &SystemUsage<'_>) {
        self.line(&format!("air used by everything connected: {}", self.flow(usage.total)));
        if !self.view.office.neighbours.is_empty() {
            self.line("  it includes what other offices on the same routes use, which is not listed here");
        }
        for share in &usage.shares {
            let section = share.section.map(|section| format!("section {section}: "));
            self.line(&format!(
                "  {} {}usage {}",
                self.name(share.thing),
                section.unwrap_or_default(),
                self.given(share.usage)
            ));
        }
        self.line("  the flow at each place is the usage downstream of it [mass is conserved]");
    }

    /// Formats a place: "3.2 km on branch b1 of c101".
    fn point(&self, line: &Line, metres: f64) -> String {
        let name = self.name(line.thing);
        let metres = self.units.show_distance(metres);
        match line.branch_name(self.view.office) {
            Some(branch) => format!("{metres} on branch {branch} of {name}"),
            None => format!("{metres} on {name}"),
        }
    }

    fn conditions(&mut self) {
        let conditions = self.explainer.conditions();
        let elevation = match conditions.elevation {
            Some(given) => self.given(Some(given)),
            None => "not said: sea level".to_owned(),
        };
        let ambient = self.units.show_absolute(conditions.ambient);
        let law = self.law(Law::Atmosphere);
        self.line(&format!(
            "  elevation {elevation}, air around the office {ambient}, law ({law})"
        ));
        let temperature = match self.view.office.itself {
            Some(_) => self.given(conditions.air_temperature),
            None => self.show(Dimension::Temperature, conditions.temperature.kelvins()),
        };
        let viscosity = air::viscosity(conditions.temperature).pascal_seconds() * 1e6;
        self.line(&format!(
            "  air in the network {temperature}, viscosity {viscosity:.2} µPa·s [Sutherland, numbers from memory]"
        ));
    }

    fn step(&mut self, step: &AirPathStep<'_>) {
        let state = &step.state;
        self.line(&format!(
            "  {}: {} -> {}, flow {}",
            self.passage(step.passage),
            self.pressure(step.before),
            self.pressure(step.after),
            self.flow(state.flow)
        ));
        for Input { name, given } in &step.inputs {
            self.line(&format!("    {name} {}", self.given(*given)));
        }
        if let (Some(resistance), Some(length)) = (state.resistance, state.length) {
            let of = if state.reynolds.is_some() {
                format!(", law ({})", self.law(Law::Bore))
            } else {
                String::new()
            };
            let k = self.show(Dimension::PneumaticResistance, resistance.pascal_seconds_per_m4());
            let length = match step.passage {
                AirPathElement::Along { .. } => self.units.show_distance(length.metres()),
                _ => self.show(Dimension::Length, length.metres()),
            };
            let mean = self
                .units
                .show_absolute(AbsolutePressure::from_pascals(state.mean.pascals()));
            self.line(&format!(
                "    k {k} at 14.696 psia{of}, L {length}, mean pressure {mean}"
            ));
        }
        if let (Some(reynolds), Some(regime)) = (state.reynolds, state.regime) {
            self.line(&format!("    Reynolds number {reynolds:.0}, {}", regime.name()));
        }
        if let Some(law) = step.law {
            self.law_line("    ", law);
        }
        if let Some(law) = step.law_of_other_states() {
            let number = self.law(law);
            let state = match law {
                Law::WideOpen => "opened in a state other than the normal one",
                _ => "in a state other than the normal one",
            };
            self.line(&format!("    {state}: law ({number})"));
        }
    }

    fn passage(&self, passage: AirPathElement<'_>) -> String {
        match passage {
            AirPathElement::Tube(from, to, None) => format!("tube {} -> {}", self.name(from), self.name(to)),
            AirPathElement::Tube(from, to, Some((piece, of))) => {
                format!("tube {} -> {}, piece {piece} of {of}", self.name(from), self.name(to))
            }
            AirPathElement::Joint(from, to) => format!("joint {} - {}", self.name(from), self.name(to)),
            AirPathElement::Regulator(id) => format!("regulator {}", self.name(id)),
            AirPathElement::Lossy(id) => {
                let kind = self.view.office.thing(id).kind;
                format!("through {} {}", kind.map_or("", |kind| kind.word()), self.name(id))
            }
            AirPathElement::Lossless(id) => {
                let kind = self.view.office.thing(id).kind;
                let kind = kind.map_or("", |kind| kind.word());
                format!("through {kind} {}, which states no loss", self.name(id))
            }
            AirPathElement::Along {
                line,
                section,
                from,
                to,
            } => {
                let section = section.map(|section| format!("section {section}, "));
                format!(
                    "{}{} to {}",
                    section.unwrap_or_default(),
                    self.units.show_distance(from),
                    self.point(line, to)
                )
            }
            AirPathElement::Branch => "the branch leaves the trunk".to_owned(),
        }
    }

    fn dryer(&mut self, id: ThingId) {
        let facts = self.explainer.dryer(id);
        let Some(flow) = facts.flow else { return };
        self.line(&format!("{} gives {}", self.name(id), self.flow(flow)));
        self.line("  the usage of everything connected to it, less what other dryers deliver [mass is conserved]");
        if let Some(rating) = facts.rating {
            let capacity = rating.capacity;
            self.line(&format!("  it can deliver {} here", self.flow(capacity.flow)));
            self.line(&format!(
                "    capacity {}, stated at {} and {}, at {}",
                self.given(Some(capacity.stated)),
                self.given(rating.pressure),
                self.given(rating.temperature),
                self.given(rating.elevation)
            ));
            self.line(&format!(
                "    basis {:.4}, altitude {:.4}",
                capacity.basis, capacity.altitude
            ));
            self.law_line("    ", Law::Rating);
        }
        if let Some(asked) = facts.asked {
            self.line(&format!(
                "  to hold its pressure it would have to give {}: with less its pressure falls",
                self.flow(asked)
            ));
        }
        if let Some(duty) = facts.duty() {
            self.line(&format!(
                "  duty {:.1} %, what it delivers over what it can deliver",
                duty * 100.0
            ));
        }
        if let Some(cycle) = facts.cycle {
            let lasts = |lasts: Time| time(lasts.seconds()).map_or_else(String::new, |time| time.to_string());
            self.line(&format!(
                "  its compressor runs for {} and rests for {}: it starts {:.1} times an hour",
                lasts(cycle.on),
                lasts(cycle.off),
                cycle.starts_an_hour()
            ));
            self.law_line("    ", Law::Cycle);
        }
        if let Some(dryness) = &facts.dryness {
            self.dryness(dryness);
        }
    }

    fn bottle(&mut self, id: ThingId) {
        let facts = self.explainer.bottle(id);
        let name = self.name(id);
        if let Some(flow) = facts.flow {
            self.line(&format!("{name} gives {}", self.flow(flow)));
        }
        let lasts = facts.lasts.and_then(|lasts| time(lasts.seconds()));
        if let Some((lasts, usage)) = lasts.zip(facts.usage) {
            self.line(&format!("{name}, full, lasts {lasts}"));
            self.line(&format!(
                "  {} x {}, over {} used by everything connected [ideal gas; derived]",
                facts.bottles,
                self.given(facts.holds),
                self.flow(usage)
            ));
        }
        if let Some(dryness) = &facts.dryness {
            self.dryness(dryness);
        }
    }

    fn feed(&mut self, feed: &Feed) {
        let load = self.name(feed.load);
        match &feed.receiving_end {
            Ok(receiving_end) => {
                let voltage = self.show(Dimension::Voltage, receiving_end.voltage.volts());
                let current = self.show(Dimension::Current, receiving_end.current.amperes());
                self.line(&format!(
                    "voltage at {load} at the battery's end of discharge: {voltage}, {current}"
                ));
            }
            Err(why) => self.line(&format!("voltage at {load}: {why}")),
        }
        self.line(&format!(
            "  {} {}, {load} draws {}, wires at {}",
            self.name(feed.battery),
            self.given(Some(feed.source)),
            self.given(Some(feed.draws)),
            self.given(Some(feed.temperature))
        ));
        for part in &feed.conductors {
            let shared = if part.shared_by > 1 {
                format!(", shared by {} loads", part.shared_by)
            } else {
                String::new()
            };
            self.line(&format!(
                "  {} -> {}: {}, {} ({}), {} there and back{shared}",
                self.name(part.from),
                self.name(part.to),
                part.gauge,
                part.length,
                self.place(self.view.office.place(part.place)),
                self.show(Dimension::Resistance, part.resistance.ohms())
            ));
        }
        let total = self.show(Dimension::Resistance, feed.total.ohms());
        self.line(&format!("  together {total}"));
        self.law_line("  ", Law::Feed);
    }

    fn signal_loop(&mut self, one: &Loop) {
        self.line(&format!(
            "loop of {} to {} {} {}: {} at {}, {} at 20 degC",
            self.name(one.signal.thing),
            self.name(one.input.thing),
            one.input.port.word,
            printed(one.input.number),
            self.show(Dimension::Resistance, one.resistance.ohms()),
            self.given(Some(one.temperature)),
            self.show(Dimension::Resistance, one.resistance_at_20.ohms())
        ));
        self.stretches(&one.stretches, one.unstated_runs);
        match &one.limit {
            Ok(Some(limit)) => {
                let most = self.show(Dimension::Resistance, limit.resistance.ohms());
                let inputs = limit_inputs(one, limit.by).map(|inputs| self.limit_inputs(one, &inputs));
                self.line(&format!("  most {most}: {}", inputs.unwrap_or_default()));
            }
            Ok(None) => self.line("  neither device nor monitor states a limit for the loop"),
            Err(why) => self.line(&format!("  {why}")),
        }
        self.law_line("  ", Law::Loop);
    }

    /// The stretches of a loop.
    fn stretches(&mut self, stretches: &[LoopStretch], unstated_runs: u32) {
        for part in stretches {
            let of = match &part.of {
                LoopPart::Run(_) => "run".to_owned(),
                LoopPart::Lead { thing, pair } => format!("{} pair {pair}", self.name(*thing)),
                LoopPart::Cable { thing, pair, whole, .. } => {
                    let whole = if *whole { ", all of its length" } else { "" };
                    format!("{} pair {}{whole}", self.name(*thing), printed(*pair))
                }
            };
            let wire = match part.wire {
                Some((gauge, length)) => {
                    let length = match part.of {
                        LoopPart::Cable { .. } => self.units.show_distance(length.metres()),
                        _ => self.show(Dimension::Length, length.metres()),
                    };
                    format!("{gauge}, {length}")
                }
                None => "as stated at 20 degC".to_owned(),
            };
            let wire = match part.side_by_side {
                1 => wire,
                pairs => format!("{pairs} pairs side by side, each {wire}"),
            };
            self.line(&format!(
                "  {of}: {wire} ({}), {}",
                self.place(part.place),
                self.show(Dimension::Resistance, part.resistance.ohms())
            ));
        }
        if unstated_runs > 0 {
            let (state, count) = if unstated_runs == 1 {
                ("states", "counts")
            } else {
                ("state", "count")
            };
            self.line(&format!(
                "  {unstated_runs} of its runs {state} neither size nor length and {count} as zero"
            ));
        }
    }

    fn control(&mut self, one: &ControlLoop) {
        let office = self.view.merged().office;
        self.line(&format!(
            "loop of {} {} {} to control {} of {}: {} at {}",
            self.name(one.output.thing),
            one.output.port.word,
            printed(one.output.number),
            one.name(office),
            self.name(one.control.thing),
            self.show(Dimension::Resistance, one.resistance.ohms()),
            self.given(Some(one.temperature))
        ));
        self.stretches(&one.stretches, one.unstated_runs);
        if let Some(left) = one.left() {
            let [voltage, current, needs] = [one.voltage, one.current, one.needs].map(|given| self.given(given));
            let left = self.show(Dimension::Voltage, left.volts());
            self.line(&format!(
                "  left {left}: {voltage} - {current} x the loop; needs {needs}"
            ));
        } else {
            self.line("  the voltage that is left is not known: it takes `output-voltage` of the monitor and `current-max` of the control");
        }
        self.law_line("  ", Law::Loop);
    }

    fn limit_inputs(&self, one: &Loop, inputs: &LimitInputs) -> String {
        match inputs {
            LimitInputs::Device(given) => format!("loop-max of the device, {}", self.given(Some(*given))),
            LimitInputs::Monitor(given) => format!("loop-max of the monitor, {}", self.given(Some(*given))),
            LimitInputs::Supply(supply) => {
                let [voltage, needs, current] =
                    [supply.voltage, supply.needs, supply.current].map(|given| self.given(Some(given)));
                let others = one.others.iter().fold(String::new(), |mut others, other| {
                    let drawn = self.given(Some(other.current));
                    let _ = write!(others, " - {drawn} x {:.0} ohm", other.resistance.ohms());
                    others
                });
                format!("({voltage} - {needs}{others}) / {current}")
            }
        }
    }
}
