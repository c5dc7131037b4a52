//! Hovers of battery, feeds, monitors and grounds.

use drysheath_engineering::units::Dimension;
use drysheath_explanation::{least_voltage, voltage_margin};
use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Fields, ThingId, printed};
use drysheath_prediction::Feed;

use super::Describer;
use crate::markup::Markup;

impl Describer<'_> {
    /// Adds the voltage at a load, for each run that leads to it.
    pub(super) fn feeds_of(&self, markup: &mut Markup, load: ThingId) {
        for feed in &self.analysis.prediction.feeds {
            if feed.load == load {
                markup.fact(self.feed(feed));
            }
        }
    }

    /// Formats a feed: "-42.3 V at `m1` when `main` is down to -43 V: it draws 0.95 A through 0.7 ohm, and works down
    /// to -40.5 V".
    fn feed(&self, feed: &Feed) -> String {
        let from = format!("when `{}` is down to {}", self.name(feed.battery), feed.source.quantity);
        match &feed.receiving_end {
            Ok(receiving_end) => {
                let office = &self.analysis.office;
                let least = least_voltage(office, feed).zip(voltage_margin(office, feed));
                let least = least.map(|(least, margin)| {
                    format!(
                        ", works down to {least}, which leaves {}",
                        self.show(Dimension::Voltage, margin)
                    )
                });
                format!(
                    "{} at `{}` {from}: draws {} through {} there and back{}",
                    self.show(Dimension::Voltage, receiving_end.voltage.volts()),
                    self.name(feed.load),
                    self.show(Dimension::Current, receiving_end.current.amperes()),
                    self.show(Dimension::Resistance, feed.total.ohms()),
                    least.unwrap_or_default()
                )
            }
            Err(error) => format!("{from}: {error}"),
        }
    }

    pub(super) fn monitor(&self, markup: &mut Markup, id: ThingId) {
        self.free_numbers(markup, id);
        self.feeds_of(markup, id);
        self.grounds(markup, id);
    }

    pub(super) fn panel(&self, markup: &mut Markup, id: ThingId) {
        self.free_numbers(markup, id);
        for link in self.analysis.networks.power.leading_to(id) {
            markup.fact(format!("supplied from `{}`", self.name(link.from.thing)));
        }
        for link in self.analysis.networks.power.leaving(id) {
            let fuse = link.with.fuse.map(|fuse| format!(", fuse {}", fuse.value));
            markup.fact(format!(
                "position {} feeds `{}`{}",
                printed(link.from.number),
                self.name(link.to.thing),
                fuse.unwrap_or_default()
            ));
        }
        self.grounds(markup, id);
    }

    fn grounds(&self, markup: &mut Markup, id: ThingId) {
        let links = self.analysis.networks.ground.leaving(id);
        for link in links.filter(|link| link.from.port.role == Role::Frame) {
            let sizes = link.pieces(&self.analysis.office).filter_map(|piece| piece.gauge);
            let sizes: Vec<String> = sizes.map(|gauge| gauge.value.to_string()).collect();
            let size = match sizes.as_slice() {
                [] => String::new(),
                sizes => format!(" with {}", sizes.join(", then ")),
            };
            markup.fact(format!("its frame is grounded to `{}`{size}", self.name(link.to.thing)));
        }
    }

    pub(super) fn battery(&self, markup: &mut Markup, id: ThingId) {
        let thing = self.analysis.office.thing(id);
        if let Some((nominal, _)) = thing.quantity(Key::Nominal) {
            markup.fact(format!("{nominal} nominal"));
        }
        if let Some((from, to, _)) = thing.range(Key::Working) {
            markup.fact(format!(
                "{} from end of discharge to float",
                crate::notation::range(from, to)
            ));
        }
        for feed in &self.analysis.prediction.feeds {
            if feed.battery == id {
                markup.fact(self.feed(feed));
            }
        }
    }

    pub(super) fn bar(&self, markup: &mut Markup, id: ThingId) {
        let ground = &self.analysis.networks.ground;
        let others = ground.leading_to(id).map(|link| link.from.thing);
        let others: Vec<String> = others
            .chain(ground.leaving(id).map(|link| link.to.thing))
            .map(|other| format!("`{}`", self.name(other)))
            .collect();
        if !others.is_empty() {
            markup.fact(format!("grounds {}", others.join(", ")));
        }
    }
}
