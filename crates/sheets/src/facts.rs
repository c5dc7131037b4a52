//! What all parts of a sheet ask of an office.

use std::collections::BTreeMap;

use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_explanation::Explainer;
use drysheath_office::kinds::{Key, KindId, Numbering, Role};
use drysheath_office::{
    Across, Allocation, Attributes, Fields, Link, Networks, Office, Side, Signal, Terminal, ThingId, UnitPreferences,
    printed,
};
use drysheath_prediction::Prediction;
use drysheath_report::View;

use crate::mark::Mark;
use crate::metric::unbroken;
use crate::since::{Marks, circuits};

/// An office and what is computed of it, as the parts of its sheet need it.
pub struct Facts<'a> {
    pub view: View<'a>,
    pub office: &'a Office,
    pub networks: &'a Networks,
    /// The office with those that routes join with it: wires go on there.
    pub across: Across<'a>,
    pub prediction: &'a Prediction,
    pub explainer: Explainer<'a>,
    pub units: UnitPreferences,
    pub allocation: Allocation,
    pub marks: Marks,
    /// The way of each signal and control, by its device.
    pub ways: BTreeMap<String, String>,
}

impl<'a> Facts<'a> {
    pub fn new(view: View<'a>, marks: Marks) -> Self {
        let View {
            office,
            networks,
            prediction,
            settings,
            ..
        } = view;
        Self {
            view,
            office,
            networks,
            across: networks.across(office),
            prediction,
            explainer: Explainer {
                office,
                networks,
                prediction,
                minimums: settings.minimums(),
            },
            units: UnitPreferences::of(office),
            allocation: Allocation::new(office, networks),
            ways: circuits(office, networks, str::to_owned),
            marks,
        }
    }

    /// A computed pressure for a sheet: three digits are more than a gauge tells.
    pub fn pressure(&self, pressure: Pressure) -> String {
        self.figure(Dimension::Pressure, pressure.pascals())
    }

    /// A computed flow.
    pub fn flow(&self, flow: Flow) -> String {
        self.figure(Dimension::Flow, flow.cubic_metres_per_second())
    }

    /// A figure in SI in the office's unit with three digits.
    pub fn figure(&self, dimension: Dimension, si: f64) -> String {
        self.units.unit(dimension).map_or_else(
            || si.to_string(),
            |unit| {
                short(Quantity {
                    value: unit.from_si(si),
                    unit,
                })
            },
        )
    }

    /// The name of a thing, of one in another office after that: `oak/ps1`.
    pub fn name(&self, id: ThingId) -> &'a str {
        self.across.office.name(id)
    }

    /// How a thing compares with the revision that the work starts from. What is in other offices is no work of this one.
    pub fn mark(&self, id: ThingId) -> Mark {
        if self.office.has(id) {
            self.marks.thing(self.name(id))
        } else {
            self.marks.elsewhere()
        }
    }

    /// The signal that a terminal is.
    pub fn signal(&self, terminal: Terminal) -> Option<Signal<'a>> {
        let signals = self.across.office.signals(terminal.thing).into_iter();
        let mut own =
            signals.filter(|signal| std::ptr::eq(signal.port, terminal.port) && signal.number == terminal.number);
        own.next()
    }

    /// The title of a thing as a line of its own, where it has one.
    pub fn title(&self, id: ThingId) -> Option<String> {
        self.across.office.title(id).map(str::to_owned)
    }

    /// Where a thing is: on which cable how far out, or in which room and where there.
    pub fn place(&self, id: ThingId) -> String {
        if let Some(other) = self.across.office.office_of(id) {
            return other.itself.map_or_else(
                || "in another office".to_owned(),
                |itself| format!("in {}", other.name(itself)),
            );
        }
        let office = self.office;
        let thing = office.thing(id);
        let room = thing.other(Key::Room).map(|room| {
            let title = room.thing.and_then(|room| office.title(room));
            title.unwrap_or(&room.name).to_owned()
        });
        let spot = drysheath_office::line::position_of(office, self.networks, id).map(|spot| {
            let written = office
                .host(id)
                .and_then(|at| at.distance)
                .map(|distance| distance.to_string());
            let host = office.thing(spot.host);
            let distance =
                written.unwrap_or_else(|| drysheath_office::line::shown_length(host, spot.branch, spot.metres));
            let branch = spot.branch.map_or(String::new(), |branch| format!(" branch {branch}"));
            let place = office
                .host(id)
                .and_then(|at| at.place.as_deref())
                .map_or(String::new(), |place| format!(" ({place})"));
            format!("{}{branch} {distance}{place}", office.name(spot.host))
        });
        let said: Vec<String> = [spot, room, thing.text(Key::Location).map(str::to_owned)]
            .into_iter()
            .flatten()
            .collect();
        if said.is_empty() {
            "in the office".to_owned()
        } else {
            said.join(", ")
        }
    }

    /// An end of a link: the thing with its port where it has several.
    pub fn end(&self, end: &Side) -> String {
        side(self.office, end, &str::to_owned)
    }

    /// What a piece of a run is, as it is written: sizes and length. The length of a run of several links is that of all of them.
    pub fn piece(&self, link: &Link, piece: &Attributes) -> Vec<String> {
        let mut said = Vec::new();
        let mut sizes = Vec::new();
        let inches = |quantity: Quantity| unbroken(&drysheath_office::inches(quantity));
        if let Some(tube) = piece.tube {
            sizes.push(format!("{}\u{a0}tube", inches(tube.value)));
        } else if let Some(bore) = piece.bore {
            sizes.push(format!("{}\u{a0}bore", inches(bore.value)));
        }
        if let Some(gauge) = piece.gauge {
            sizes.push(unbroken(&gauge.value));
        }
        let is_one_link = self.office.run(link.run).ends.len() == 2;
        if let Some(length) = piece.length {
            if is_one_link {
                sizes.push(unbroken(&length.value));
            } else if link.is_last(self.office) {
                sizes.push(format!("{}\u{a0}in\u{a0}all", unbroken(&length.value)));
            }
        }
        if let Some(fuse) = piece.fuse.filter(|_| link.is_last(self.office)) {
            said.push(format!("fuse\u{a0}{}", unbroken(&fuse.value)));
        }
        if !sizes.is_empty() {
            said.push(sizes.join(", "));
        }
        said
    }

    /// Equipment of the office, in the order of the file: what hangs on its wall and on its cables.
    pub fn equipment(&self) -> impl Iterator<Item = (ThingId, &'a drysheath_office::Thing)> + use<'a> {
        self.office.things().filter(|(_, thing)| {
            thing.kind.is_some_and(drysheath_office::kinds::Kind::is_equipment)
                && !thing.is(KindId::Cable)
                && !thing.is(KindId::Battery)
        })
    }
}

/// A quantity with three digits.
pub fn short(quantity: Quantity) -> String {
    const DIGITS: i32 = 3;
    const NOTHING: f64 = 1e-9;
    if quantity.value.abs() < NOTHING {
        return unbroken(&Quantity { value: 0.0, ..quantity });
    }
    unbroken(&quantity.to_digits(DIGITS))
}

/// An end of a link: the thing, by the name that it is called, with its port where it has several.
pub fn side(office: &Office, side: &Side, called: &impl Fn(&str) -> String) -> String {
    let name = called(office.name(side.thing));
    let number = match side.port.numbering {
        Numbering::None if side.port.role == Role::Return => return format!("{name} return"),
        Numbering::None => return name,
        Numbering::Named(key) => {
            let at = (side.number as usize).checked_sub(1);
            let mut named = office.thing(side.thing).named(key);
            at.and_then(|at| named.nth(at))
                .map_or(String::new(), |(name, ..)| name.to_owned())
        }
        _ => printed(side.number).to_string(),
    };
    format!("{name} {} {number}", side.port.word)
}
