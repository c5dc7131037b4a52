//! Feeds and loops in the record.

use drysheath_engineering::measure::{Resistance, Voltage};
use drysheath_engineering::units::Quantity;
use drysheath_explanation::least_voltage;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, GivenQuantity};
use drysheath_prediction::{ControlLoop, Feed, Loop, SetBy};

use super::compose::OfficeView;
use super::record::{ControlRecord, FeedRecord, LoopRecord};
use crate::port_number::PortNumber;

impl OfficeView<'_> {
    pub(super) fn feeds(&self) -> Vec<FeedRecord> {
        self.prediction.feeds.iter().map(|feed| self.feed(feed)).collect()
    }

    fn feed(&self, feed: &Feed) -> FeedRecord {
        let receiving_end = feed.receiving_end.as_ref();
        FeedRecord {
            load: self.office.name(feed.load).to_owned(),
            battery: self.office.name(feed.battery).to_owned(),
            source_v: feed.source.quantity.si(),
            power_w: feed.power().watts(),
            resistance_ohm: feed.total.ohms(),
            wire_temperature_k: feed.temperature.quantity.si(),
            voltage_v: receiving_end.ok().map(|receiving_end| receiving_end.voltage.volts()),
            current_a: receiving_end.ok().map(|receiving_end| receiving_end.current.amperes()),
            least_v: least_voltage(self.office, feed).map(Quantity::si),
            failure: receiving_end.err().map(ToString::to_string),
        }
    }

    pub(super) fn loops(&self) -> Vec<LoopRecord> {
        self.prediction.loops.iter().map(|one| self.loop_record(one)).collect()
    }

    pub(super) fn controls(&self) -> Vec<ControlRecord> {
        let controls = self.prediction.controls.iter();
        controls.map(|one| self.control_record(one)).collect()
    }

    fn control_record(&self, one: &ControlLoop) -> ControlRecord {
        let office = self.merged().office;
        let si = |given: Option<GivenQuantity>| given.map(|given| given.quantity.si());
        ControlRecord {
            monitor: office.name(one.output.thing).to_owned(),
            output: PortNumber(one.output.number),
            device: office.name(one.control.thing).to_owned(),
            control: one.name(office).to_owned(),
            resistance_ohm: one.resistance.ohms(),
            hottest_k: one.temperature.quantity.si(),
            source_v: si(one.voltage),
            current_a: si(one.current),
            left_v: one.left().map(Voltage::volts),
            least_v: si(one.needs),
        }
    }

    fn loop_record(&self, one: &Loop) -> LoopRecord {
        let limit = one.limit.as_ref().ok().copied().flatten();
        let word = |by| match by {
            SetBy::Device => "loop-max of the device",
            SetBy::Monitor => "loop-max of the monitor",
            SetBy::Supply => "the voltage that the device needs",
        };
        let office = self.merged().office;
        let device = office.thing(one.signal.thing);
        let number = (one.signal.number as usize).checked_sub(1);
        let contact = number.and_then(|number| device.named(Key::Contact).nth(number).map(|(name, ..)| name));
        let word_of_port = one.signal.port.word;
        LoopRecord {
            device: office.name(one.signal.thing).to_owned(),
            signal: contact.map_or_else(|| word_of_port.to_owned(), |name| format!("{word_of_port} {name}")),
            monitor: office.name(one.input.thing).to_owned(),
            input_kind: one.input.port.word.to_owned(),
            input: PortNumber(one.input.number),
            resistance_ohm: one.resistance.ohms(),
            resistance_at_20_ohm: one.resistance_at_20.ohms(),
            hottest_k: one.temperature.quantity.si(),
            limit_ohm: limit.map(|limit| Resistance::ohms(limit.resistance)),
            limited_by: match &one.limit {
                Ok(limit) => limit.map(|limit| word(limit.by).to_owned()),
                Err(error) => Some(error.to_string()),
            },
        }
    }
}
