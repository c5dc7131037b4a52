//! Hovers of circuits: the path from a device to an input, and the resistance of its loop.

use std::fmt::Write as _;

use drysheath_engineering::units::Dimension;
use drysheath_explanation::loop_of;
use drysheath_office::kinds::{Port, Role};
use drysheath_office::{MergedOffice, Terminal, ThingId};
use drysheath_prediction::{ControlLoop, Loop, SetBy};
use drysheath_workspace::Analysis;

use super::Describer;
use crate::circuit::Circuit;
use crate::markup::Markup;

impl Describer<'_> {
    /// Adds the terminals of a circuit, its loop, and the expected reading of its device.
    pub(super) fn circuit(&self, markup: &mut Markup, circuit: &Circuit) {
        let all = merged(self.analysis);
        let (office, wire) = (all.office, &all.networks.wire);
        let names = circuit.names(office, wire);
        if circuit.terminals.len() < 2 {
            return;
        }
        markup.fact(match (circuit.is_chain, circuit.is_complete(wire)) {
            (true, true) => names,
            (true, false) => format!("{names}, and carries nothing from a device to an input"),
            (false, _) => format!("joined with one another: {names}"),
        });
        for (_, signal) in circuit.signals(wire) {
            self.reading(markup, signal);
            if let Some(found) = self.loop_of(signal) {
                markup.fact(self.loop_fact(found));
            }
        }
        let mut controls = self.analysis.prediction.controls.iter();
        let is_here = |one: &&ControlLoop| {
            let mut terminals = circuit.terminals.iter().map(|id| wire.terminal(*id));
            terminals.any(|terminal| *terminal == one.control)
        };
        if let Some(found) = controls.find(is_here) {
            markup.fact(self.control_fact(found));
        }
    }

    /// Adds the output that switches a control, and its loop.
    pub(super) fn switched(&self, markup: &mut Markup, thing: ThingId, number: u32) {
        let wire = &merged(self.analysis).networks.wire;
        let kind = self.analysis.office.thing(thing).kind;
        let port = kind.and_then(|kind| kind.ports.iter().find(|port| port.role == Role::Control));
        if let Some(id) = port.and_then(|port| wire.find(thing, port, number)) {
            self.circuit(markup, &Circuit::through(wire, id));
        }
    }

    /// Formats a loop: "loop of 16.8 ohm at 60 degC; 20.6 V are left, and it needs 22 V".
    fn control_fact(&self, found: &ControlLoop) -> String {
        let mut fact = format!(
            "loop of {} at {}",
            self.show(Dimension::Resistance, found.resistance.ohms()),
            found.temperature.quantity
        );
        if let Some(left) = found.left() {
            let _ = write!(fact, "; {} are left", self.show(Dimension::Voltage, left.volts()));
        }
        if let Some(needs) = found.needs {
            let _ = write!(fact, ", and it needs {}", needs.quantity);
        }
        fact
    }

    /// Adds the paths of a thing's signals: of one port, or of one of its named fields.
    pub(super) fn carried_from(&self, markup: &mut Markup, thing: ThingId, port: Option<&Port>, number: Option<u32>) {
        let all = merged(self.analysis);
        let wire = &all.networks.wire;
        for signal in self.analysis.office.signals(thing) {
            let is_meant = port.is_none_or(|port| std::ptr::eq(signal.port, port))
                && number.is_none_or(|number| signal.number == number);
            if !is_meant {
                continue;
            }
            if let Some(id) = wire.find(thing, signal.port, signal.number) {
                let circuit = Circuit::through(wire, id);
                let names = circuit.names(all.office, wire);
                markup.fact(if circuit.is_chain {
                    names
                } else {
                    format!("joined with one another: {names}")
                });
                for (_, signal) in circuit.signals(wire) {
                    if let Some(found) = self.loop_of(signal) {
                        markup.fact(self.loop_fact(found));
                    }
                }
            }
        }
    }

    fn loop_of(&self, signal: &Terminal) -> Option<&Loop> {
        loop_of(&self.analysis.prediction.loops, signal)
    }

    /// Formats a loop: "loop of 1173 ohm at 60 degC (1010 ohm at 20 degC), at most 4000 ohm for the monitor".
    fn loop_fact(&self, found: &Loop) -> String {
        let ohms = |ohms| self.show(Dimension::Resistance, ohms);
        if found.stretches.is_empty() {
            return "loop of jumpers within the office, which count as nothing".to_owned();
        }
        let mut fact = format!(
            "loop of {} at {} ({} at 20 degC)",
            ohms(found.resistance.ohms()),
            found.temperature.quantity,
            ohms(found.resistance_at_20.ohms())
        );
        match &found.limit {
            Ok(Some(limit)) => {
                let by = match limit.by {
                    SetBy::Device => "for the device",
                    SetBy::Monitor => "for the monitor",
                    SetBy::Supply => "for the voltage that the device needs",
                };
                let _ = write!(fact, ", at most {} {by}", ohms(limit.resistance.ohms()));
            }
            Ok(None) => fact.push_str(", and nothing says how much it may be"),
            Err(error) => {
                let _ = write!(fact, ", and {error}");
            }
        }
        fact
    }
}

/// The office including everything in other offices that its wires lead to.
pub(super) fn merged(analysis: &Analysis) -> MergedOffice<'_> {
    analysis.networks.merged(&analysis.office)
}
