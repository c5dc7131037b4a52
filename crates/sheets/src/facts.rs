//! Queries on an office that all parts of a sheet share.

use std::collections::BTreeMap;

use drysheath_engineering::measure::{Flow, Pressure};
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_explanation::Explainer;
use drysheath_office::kinds::{Key, KindId, Numbering, Role};
use drysheath_office::{
    Allocation, Attributes, Fields, Link, LinkEnd, MergedOffice, Networks, Office, Signal, Terminal, ThingId,
    UnitPreferences, printed,
};
use drysheath_prediction::Prediction;
use drysheath_report::OfficeView;

use crate::mark::Mark;
use crate::metric::unbroken;
use crate::since::{Marks, circuits};

/// An office and its computed results, as the parts of its sheet need them.
pub struct Facts<'a> {
    pub view: OfficeView<'a>,
    pub office: &'a Office,
    pub networks: &'a Networks,
    /// The office with its neighbours, into which wires continue.
    pub merged: MergedOffice<'a>,
    pub prediction: &'a Prediction,
    pub explainer: Explainer<'a>,
    pub units: UnitPreferences,
    pub allocation: Allocation,
    pub marks: Marks,
    /// Path of each signal and control, by device.
    pub wire_paths: BTreeMap<String, String>,
}

impl<'a> Facts<'a> {
    pub fn new(view: OfficeView<'a>, marks: Marks) -> Self {
        let OfficeView {
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
            merged: networks.merged(office),
            prediction,
            explainer: Explainer {
                office,
                networks,
                prediction,
                minimums: settings.minimums(),
            },
            units: UnitPreferences::of(office),
            allocation: Allocation::new(office, networks),
            wire_paths: circuits(office, networks, str::to_owned),
            marks,
        }
    }

    /// A computed gauge pressure with three digits; a gauge shows no more.
    pub fn pressure(&self, pressure: Pressure) -> String {
        self.figure(Dimension::Pressure, pressure.pascals())
    }

    /// A computed flow, in the office's unit and at the resolution of its sensors.
    pub fn flow(&self, flow: Flow) -> String {
        self.figure(Dimension::Flow, flow.cubic_metres_per_second())
    }

    /// An SI value in the office's unit, with three digits.
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

    /// Name of a thing. For a thing in another office, with the office name: `oak/ps1`.
    pub fn name(&self, id: ThingId) -> &'a str {
        self.merged.office.name(id)
    }

    /// Mark of a thing compared with the revision the work order is based on. Things in other offices count as
    /// unchanged.
    pub fn mark(&self, id: ThingId) -> Mark {
        if self.office.has(id) {
            self.marks.thing(self.name(id))
        } else {
            self.marks.elsewhere()
        }
    }

    /// Signal at a terminal.
    pub fn signal(&self, terminal: Terminal) -> Option<Signal<'a>> {
        let signals = self.merged.office.signals(terminal.thing).into_iter();
        let mut own =
            signals.filter(|signal| std::ptr::eq(signal.port, terminal.port) && signal.number == terminal.number);
        own.next()
    }

    /// Title of a thing, if it has one.
    pub fn title(&self, id: ThingId) -> Option<String> {
        self.merged.office.title(id).map(str::to_owned)
    }

    /// Place of a thing: cable and distance, or room and spot.
    pub fn place(&self, id: ThingId) -> String {
        if let Some(other) = self.merged.office.office_of(id) {
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
        let position = drysheath_office::line::position_of(office, self.networks, id).map(|position| {
            let written = office
                .host(id)
                .and_then(|at| at.distance)
                .map(|distance| distance.to_string());
            let host = office.thing(position.host);
            let distance =
                written.unwrap_or_else(|| drysheath_office::line::shown_length(host, position.branch, position.metres));
            let branch = position
                .branch
                .map_or(String::new(), |branch| format!(" branch {branch}"));
            let place = office
                .host(id)
                .and_then(|at| at.place.as_deref())
                .map_or(String::new(), |place| format!(" ({place})"));
            format!("{}{branch} {distance}{place}", office.name(position.host))
        });
        let said: Vec<String> = [position, room, thing.text(Key::Location).map(str::to_owned)]
            .into_iter()
            .flatten()
            .collect();
        if said.is_empty() {
            "in the office".to_owned()
        } else {
            said.join(", ")
        }
    }

    /// Formats an end of a link: the thing, and the port if it has several.
    pub fn end(&self, end: &LinkEnd) -> String {
        side(self.office, end, &str::to_owned)
    }

    /// Sizes and length of a piece of a run, as written. The length of a run with several links is the total.
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

    /// Equipment of the office and on its cables, in file order.
    pub fn equipment(&self) -> impl Iterator<Item = (ThingId, &'a drysheath_office::Thing)> + use<'a> {
        self.office.things().filter(|(_, thing)| {
            thing.kind.is_some_and(drysheath_office::kinds::Kind::is_equipment)
                && !thing.is(KindId::Cable)
                && !thing.is(KindId::Battery)
        })
    }
}

/// Formats a quantity with three digits.
pub fn short(quantity: Quantity) -> String {
    const DIGITS: i32 = 3;
    const NOTHING: f64 = 1e-9;
    if quantity.value.abs() < NOTHING {
        return unbroken(&Quantity { value: 0.0, ..quantity });
    }
    unbroken(&quantity.to_digits(DIGITS))
}

/// Formats an end of a link: the thing, with its name as `called` returns it, and the port if it has several.
pub fn side(office: &Office, side: &LinkEnd, called: &impl Fn(&str) -> String) -> String {
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
