//! Builds the records of an office.

use std::collections::BTreeMap;
use std::ptr;

use drysheath_engineering::colour::{Colour, connector_pins};
use drysheath_engineering::units::{Quantity, Unit};
use drysheath_explanation::{SignalReading, loop_of};
use drysheath_office::kinds::{HealthyState, Key, KindId, Role};
use drysheath_office::line::{LinePosition, position_of, sections, shown_length, surroundings};
use drysheath_office::{Fields, Office, Signal, Terminal, Thing, ThingId, Value, in_row, rounded, rounded_to_step};
use drysheath_prediction::{ControlLoop, Loop, SignalPath, control_paths, signal_paths};
use drysheath_syntax::PairState;

use super::record::{
    BinderRecord, BlockPair, CablePair, InputKind, InputRecord, LimitEntry, LocationRecord, LoopEntry, MonitorRecord,
    OfficeRecords, OtherRecord, Pins, TipAndRing,
};
use crate::OfficeView;
use crate::port_number::PortNumber;

/// Number of pairs on a connector, in a group, and in the largest cable without super-units.
const CONNECTOR: u32 = 25;
const GROUP: u32 = 25;
const SUPER_UNIT: u32 = 600;

impl OfficeView<'_> {
    /// The records of the office, without the list of missing items.
    pub(super) fn input_records(&self) -> OfficeRecords {
        let office = self.office;
        let itself = office.itself.map(|id| office.thing(id));
        let said = |key| itself.and_then(|office| office.text(key)).map(str::to_owned);
        let mut head = OfficeRecords {
            office: office.itself.map_or("", |id| office.name(id)).to_owned(),
            formerly: itself.and_then(|office| Some(office.former_names().next()?.0.to_owned())),
            title: said(Key::Title),
            site: said(Key::Site),
            file: self.files.path(office.file).to_owned(),
            stage: office.stage().word().to_owned(),
            order: said(Key::Order),
            left_out: self.left_out(),
            monitors: Vec::new(),
            records: Vec::new(),
            others: Vec::new(),
            missing: Vec::new(),
        };
        // The record of a device belongs to the monitor that its wire leads to, whichever office the device is in.
        let ways = signal_paths(office, self.networks).filter(|way| office.has(way.input.thing));
        let mut records: Vec<InputRecord> = ways.filter_map(|way| self.input_record(&head, way)).collect();
        let controls = control_paths(office, self.networks).into_iter();
        let controls = controls.filter(|way| office.has(way.signal.thing));
        records.extend(controls.filter_map(|way| self.output_record(&head, way)));
        // Sort by monitor, then sensors, contacts, outputs, then by number.
        let place = |record: &InputRecord| (record.monitor.clone(), record.input_kind, record.input);
        records.sort_by_cached_key(place);
        head.monitors = office
            .of_kind(KindId::Monitor)
            .map(|(id, _)| self.monitor(id, &records))
            .collect();
        head.others = self.others(&records);
        head.records = records;
        head
    }

    /// Other equipment that has facts of its own: neither a monitor nor the device of a record.
    fn others(&self, records: &[InputRecord]) -> Vec<OtherRecord> {
        let office = self.office;
        let things = office.things().filter_map(|(id, thing)| {
            let kind = thing
                .kind
                .filter(|kind| !matches!(kind.id, KindId::Office | KindId::Monitor))?;
            let text = |key| thing.text(key).map(str::to_owned);
            let (recorded, order) = (recorded(thing), text(Key::Order));
            let name = office.name(id);
            if (recorded.is_empty() && order.is_none()) || records.iter().any(|record| record.device == name) {
                return None;
            }
            Some(OtherRecord {
                name: name.to_owned(),
                title: text(Key::Title),
                kind: kind.word().to_owned(),
                part: thing.part.as_ref().map(|part| part.name.to_string()),
                model: text(Key::Model),
                recorded,
                order,
                place: self.location_of(id),
            })
        });
        things.collect()
    }

    fn monitor(&self, id: ThingId, records: &[InputRecord]) -> MonitorRecord {
        let name = self.office.name(id);
        let thing = self.office.thing(id);
        let ports = thing.kind.into_iter().flat_map(|kind| kind.ports);
        let inputs = ports.filter(|port| port.role.is_input());
        let links = thing.all(Key::Link).filter_map(|field| match &field.value {
            Value::Link { over, to } => Some(format!("{} {to}", over.word())),
            _ => None,
        });
        let links: Vec<String> = links.collect();
        let link = (!links.is_empty()).then(|| links.join(" and "));
        let own = records.iter().filter(|record| record.monitor == name);
        let own = own.filter(|record| record.input_kind != InputKind::Output);
        // Several sensors may share an input. The records are sorted by input.
        let mut in_use: Vec<_> = own.map(|record| (record.input_kind, record.input)).collect();
        in_use.dedup();
        MonitorRecord {
            name: name.to_owned(),
            link,
            inputs: inputs
                .filter_map(|port| self.office.rows(id, port))
                .map(|rows| rows.count())
                .sum(),
            in_use: in_use.len() as u32,
            title: thing.text(Key::Title).map(str::to_owned),
            recorded: recorded(thing),
        }
    }

    /// The key of a signal's record.
    pub(super) fn record_key(&self, head: &OfficeRecords, signal: &Signal<'_>) -> String {
        record_key(
            head.site_or_name(),
            self.merged().office.name(signal.thing),
            &signal.called(),
        )
    }

    fn input_record(&self, head: &OfficeRecords, way: SignalPath) -> Option<InputRecord> {
        let office = self.merged().office;
        let device = way.signal.thing;
        let thing = office.thing(device);
        let signal = office
            .signals(device)
            .into_iter()
            .find(|signal| ptr::eq(signal.port, way.signal.port) && signal.number == way.signal.number)?;
        let text = |key| thing.text(key).map(str::to_owned);
        let name = office.name(device).to_owned();
        let reading = self.explainer().reading(signal);
        let figures = reading.as_ref().and_then(|reading| Figures::new(office, reading));
        let expected = figures
            .as_ref()
            .zip(reading.as_ref())
            .and_then(|(figures, reading)| figures.of_reading(reading));
        let (block_pairs, cable_pairs) = self.pairs_on(way);
        let value = |key| {
            figures
                .as_ref()
                .and_then(|figures| figures.of(signal.fields.quantity(key)?.0))
        };
        let difference = |key| {
            figures
                .as_ref()
                .and_then(|figures| figures.of_difference(signal.fields.quantity(key)?.0))
        };
        Some(InputRecord {
            key: self.record_key(head, &signal),
            office: head.office.clone(),
            title: head.title.clone(),
            site: head.site.clone(),
            monitor: office.name(way.input.thing).to_owned(),
            input_kind: if way.input.port.role == Role::ContactInput {
                InputKind::Contact
            } else {
                InputKind::Sensor
            },
            input: PortNumber(way.input.number),
            address: thing.count(Key::Address),
            device: name,
            device_title: text(Key::Title),
            kind: thing.kind?.word().to_owned(),
            signal: signal.called(),
            part: thing.part.as_ref().map(|part| part.name.to_string()),
            model: text(Key::Model),
            recorded: recorded(thing),
            order: text(Key::Order),
            reports: text(Key::Reports),
            place: self.location_of(device),
            unit: figures.as_ref().map(|figures| figures.unit.name.to_owned()),
            span: figures.as_ref().and_then(|figures| {
                let (from, to, _) = signal.fields.range(Key::Span)?;
                Some([figures.of(from)?, figures.of(to)?])
            }),
            step: difference(Key::Step),
            normal: value(Key::Normal),
            expected,
            limits: figures.iter().flat_map(|figures| limits(figures, &signal)).collect(),
            healthy: signal
                .fields
                .choice(Key::Healthy)
                .map(|state: HealthyState| state.word().to_owned()),
            block_pairs,
            cable_pairs,
            ohms: loop_of(&self.prediction.loops, &way.signal).and_then(ohms),
        })
    }

    /// The pairs of blocks and of cables on a path, in its order.
    fn pairs_on(&self, way: SignalPath) -> (Vec<BlockPair>, Vec<CablePair>) {
        let merged = self.merged();
        let office = merged.office;
        let (mut block_pairs, mut cable_pairs) = (Vec::new(), Vec::new());
        for (_, terminal) in way.steps(&merged.networks.wire) {
            let thing = office.thing(terminal.thing);
            match thing.kind.map(|kind| kind.id) {
                Some(KindId::Block) => block_pairs.push(block_pair(office, thing, terminal)),
                Some(KindId::Cable | KindId::Lead) => {
                    let bunch = office.wired_at(PairState::Bunched, terminal);
                    let (from, to) = bunch.map_or((terminal.number, terminal.number), |bunch| bunch.end.numbers);
                    // Pairs beyond the cable's range are reported as an error elsewhere.
                    let last = to.min(thing.count(Key::Pairs).unwrap_or(to).max(from));
                    let all = (from..=last).map(|number| Terminal { number, ..*terminal });
                    cable_pairs.extend(all.map(|terminal| cable_pair(office, thing, &terminal)));
                }
                _ => {}
            }
        }
        (block_pairs, cable_pairs)
    }

    /// The record of an output; the device is the one that it switches.
    fn output_record(&self, head: &OfficeRecords, way: SignalPath) -> Option<InputRecord> {
        let office = self.merged().office;
        let (output, control) = (way.signal, way.input);
        let thing = office.thing(control.thing);
        let at = (control.number as usize).checked_sub(1)?;
        let (name, ..) = thing.named(Key::Control).nth(at)?;
        let signal = format!("{} {name}", control.port.word);
        let text = |key| thing.text(key).map(str::to_owned);
        let (mut block_pairs, mut cable_pairs) = self.pairs_on(way);
        // From the device on, as for inputs.
        block_pairs.reverse();
        cable_pairs.reverse();
        let mut loops = self.prediction.controls.iter();
        Some(InputRecord {
            key: record_key(head.site_or_name(), office.name(control.thing), &signal),
            office: head.office.clone(),
            title: head.title.clone(),
            site: head.site.clone(),
            monitor: office.name(output.thing).to_owned(),
            input_kind: InputKind::Output,
            input: PortNumber(output.number),
            address: None,
            device: office.name(control.thing).to_owned(),
            device_title: text(Key::Title),
            kind: thing.kind?.word().to_owned(),
            signal,
            part: thing.part.as_ref().map(|part| part.name.to_string()),
            model: text(Key::Model),
            recorded: recorded(thing),
            order: text(Key::Order),
            reports: None,
            place: self.location_of(control.thing),
            unit: None,
            span: None,
            step: None,
            normal: None,
            expected: None,
            limits: Vec::new(),
            healthy: None,
            block_pairs,
            cable_pairs,
            ohms: loops.find(|own| own.control == control).and_then(control_ohms),
        })
    }

    fn location_of(&self, device: ThingId) -> LocationRecord {
        let merged = self.merged();
        let office = merged.office;
        let thing = office.thing(device);
        let room = thing.other(Key::Room).map(|room| {
            let title = room.thing.and_then(|room| office.title(room));
            title.unwrap_or(&room.name).to_owned()
        });
        let location = thing.text(Key::Location).map(str::to_owned);
        let position = position_of(office, merged.networks, device);
        let Some((position, line)) = position.map(|position| (position, office.thing(position.host))) else {
            return LocationRecord {
                text: match office.office_of(device) {
                    Some(other) => format!("office {}", other.itself.map_or("", |id| other.name(id))),
                    None => "office".to_owned(),
                },
                line: None,
                branch: None,
                distance: None,
                section: None,
                room,
                location,
            };
        };
        let written = office
            .host(device)
            .and_then(|at| at.distance)
            .map(|distance| distance.to_string());
        let distance = written.unwrap_or_else(|| shown_length(line, position.branch, position.metres));
        let name = office.name(position.host);
        let branch = position
            .branch
            .map_or(String::new(), |branch| format!(" branch {branch}"));
        LocationRecord {
            text: format!("{name}{branch} {distance}"),
            line: Some(name.to_owned()),
            branch: position.branch.map(str::to_owned),
            distance: Some(distance),
            section: section(line, &position).map(str::to_owned),
            room,
            location,
        }
    }
}

fn recorded(thing: &Thing) -> BTreeMap<String, String> {
    let facts = thing.recorded();
    facts
        .map(|(fact, _)| (fact.name.to_string(), fact.text.to_string()))
        .collect()
}

/// The key of a signal's record at the monitoring centre.
pub(super) fn record_key(site: &str, device: &str, signal: &str) -> String {
    format!("{site}/{device}/{}", signal.replacen(' ', "/", 1))
}

/// The section at a position; where two meet, the one nearer to the beginning.
fn section<'o>(line: &'o Thing, position: &LinePosition<'o>) -> Option<&'o str> {
    const HAIR: f64 = 1e-6;
    let mut left = position.metres;
    for (name, fields) in sections(line, position.branch)? {
        let (_, metres) = surroundings(fields)?;
        if left <= metres + HAIR {
            return Some(name);
        }
        left -= metres;
    }
    None
}

fn limits<'s>(figures: &'s Figures<'_>, signal: &'s Signal<'_>) -> impl Iterator<Item = LimitEntry> {
    signal.fields.limits().filter_map(|(limit, _)| {
        Some(LimitEntry {
            level: limit.level.word().to_owned(),
            value: figures.of(limit.value)?,
            severity: limit.severity.map(|severity| <&str>::from(severity).to_owned()),
            deadband: limit.deadband.and_then(|deadband| figures.of_difference(deadband)),
        })
    })
}

/// The resistances of a loop. `None` if no run states anything: the sum would be zero, unlike the measured value.
fn ohms(one: &Loop) -> Option<LoopEntry> {
    let most = one.limit.as_ref().ok().copied().flatten();
    (!one.stretches.is_empty()).then(|| LoopEntry {
        at_20_ohm: tenths(one.resistance_at_20.ohms()),
        hottest_ohm: tenths(one.resistance.ohms()),
        most_ohm: most.map(|limit| tenths(limit.resistance.ohms())),
    })
}

fn control_ohms(one: &ControlLoop) -> Option<LoopEntry> {
    (!one.stretches.is_empty()).then(|| LoopEntry {
        at_20_ohm: tenths(one.resistance_at_20.ohms()),
        hottest_ohm: tenths(one.resistance.ohms()),
        most_ohm: None,
    })
}

fn tenths(ohms: f64) -> f64 {
    const TENTHS: f64 = 10.0;
    (ohms * TENTHS).round() / TENTHS
}

fn tip_and_ring(tip: Colour, ring: Colour) -> TipAndRing {
    TipAndRing {
        tip: tip.abbreviation().to_owned(),
        ring: ring.abbreviation().to_owned(),
    }
}

fn block_pair(office: &Office, block: &Thing, terminal: &Terminal) -> BlockPair {
    let pair = terminal.number;
    let on_connector = in_row(pair)
        .checked_sub(1)
        .map(|before| (before / CONNECTOR + 1, before % CONNECTOR + 1));
    let pins = on_connector.filter(|_| block.yes_no(Key::Pins) == Some(true));
    BlockPair {
        block: office.name(terminal.thing).to_owned(),
        pair: PortNumber(pair),
        colours: office
            .pair_colours(terminal.thing, pair)
            .map(|colours| tip_and_ring(colours.tip, colours.ring)),
        pins: pins.and_then(|(connector, pair)| {
            let (tip, ring) = connector_pins(pair)?;
            Some(Pins { connector, tip, ring })
        }),
    }
}

fn cable_pair(office: &Office, cable: &Thing, terminal: &Terminal) -> CablePair {
    let pairs = cable.count(Key::Pairs).unwrap_or_default();
    let colours = office.pair_colours(terminal.thing, terminal.number);
    CablePair {
        cable: office.name(terminal.thing).to_owned(),
        pair: terminal.number,
        colours: colours.map(|colours| tip_and_ring(colours.tip, colours.ring)),
        binder: colours.filter(|_| pairs > GROUP).map(|colours| BinderRecord {
            group: colours.binder.group,
            colours: tip_and_ring(colours.binder.tip, colours.binder.ring),
            super_unit: (pairs > SUPER_UNIT).then(|| colours.binder.super_unit.abbreviation().to_owned()),
        }),
    }
}

/// Converts figures of one signal to the unit in which its span, or else its first limit, is written.
struct Figures<'o> {
    office: &'o Office,
    unit: &'static Unit,
}

impl<'o> Figures<'o> {
    fn new(office: &'o Office, reading: &SignalReading<'_>) -> Option<Self> {
        let unit = reading.stated_unit()?;
        Some(Self { office, unit })
    }
}

impl Figures<'_> {
    /// A quantity as written, if it has the unit, or else converted.
    fn of(&self, quantity: Quantity) -> Option<f64> {
        if ptr::eq(quantity.unit, self.unit) {
            return Some(quantity.value);
        }
        self.of_figure(self.office.figure(quantity))
    }

    /// A figure of [`Office::figure`] in the unit.
    fn of_figure(&self, figure: f64) -> Option<f64> {
        self.shown(self.office.quantity_of(figure, self.unit).value)
    }

    /// Expected reading of a sensor, at the sensor's resolution.
    fn of_reading(&self, reading: &SignalReading<'_>) -> Option<f64> {
        let expected = reading.expected?;
        let Some(step) = reading.step() else {
            return self.of_figure(expected);
        };
        let exact = self.office.quantity_of(expected, self.unit);
        Some(rounded_to_step(step, exact).value).filter(|value| value.is_finite())
    }

    /// A difference of two quantities in the unit.
    fn of_difference(&self, quantity: Quantity) -> Option<f64> {
        if ptr::eq(quantity.unit, self.unit) {
            return Some(quantity.value);
        }
        let si = quantity.unit.to_si(quantity.value) - quantity.unit.to_si(0.0);
        self.shown(self.unit.from_si(si) - self.unit.from_si(0.0))
    }

    fn shown(&self, value: f64) -> Option<f64> {
        let quantity = Quantity { value, unit: self.unit };
        Some(rounded(quantity).value).filter(|value| value.is_finite())
    }
}
