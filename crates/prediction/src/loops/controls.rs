//! The loops over which a monitor's outputs switch controls.

use drysheath_engineering::measure::{Current, Resistance, Voltage};
use drysheath_engineering::units::Quantity;
use drysheath_office::kinds::Key;
use drysheath_office::{Fields, GivenQuantity, Networks, Office, Terminal};
use drysheath_syntax::Medium;
use drysheath_text::{Place, TextRange};

use super::{LoopStretch, LoopSurvey, SignalPath, control_paths};
use crate::MissingInput;

/// The loop of one output to the control that it switches.
#[derive(Clone, Debug)]
pub struct ControlLoop {
    /// The output of the monitor.
    pub output: Terminal,
    /// The control that it switches.
    pub control: Terminal,
    /// The control's place in a run.
    pub control_range: TextRange,
    /// The temperature that `resistance` is computed at.
    pub temperature: GivenQuantity,
    /// The stretches of wire from the output to the control.
    pub stretches: Vec<LoopStretch>,
    /// Number of runs on the path that state neither size nor length and are not counted.
    pub unstated_runs: u32,
    /// Resistance there and back, at the highest temperature of the pairs.
    pub resistance: Resistance,
    /// Resistance there and back, at 20 °C.
    pub resistance_at_20: Resistance,
    /// Voltage of the output: the monitor's `output-voltage`.
    pub voltage: Option<GivenQuantity>,
    /// Highest current of the output: the monitor's `output-max`.
    pub output_max: Option<GivenQuantity>,
    /// Voltage that the control requires at its terminals: its `needs`.
    pub needs: Option<GivenQuantity>,
    /// Current of the control: its `current-max`.
    pub current: Option<GivenQuantity>,
}

impl ControlLoop {
    /// Magnitude of the voltage at the control after the drop in the loop. `None` where voltage or current is not
    /// stated.
    pub fn left(&self) -> Option<Voltage> {
        let voltage = Voltage::of(self.voltage?.quantity)?.volts().abs();
        let current = Current::of(self.current?.quantity)?.amperes();
        Some(Voltage::from_volts(voltage - current * self.resistance.ohms()))
    }

    /// The name of the control within its thing.
    pub fn name<'o>(&self, office: &'o Office) -> &'o str {
        let at = (self.control.number as usize).checked_sub(1);
        let named = at.and_then(|at| office.thing(self.control.thing).named(Key::Control).nth(at));
        named.map_or("", |(name, ..)| name)
    }
}

/// The loops of the outputs that switch exactly one control, in the order of the file, as far as the file states
/// enough. Missing inputs are appended to `missing`.
pub fn controls(office: &Office, networks: &Networks, missing: &mut Vec<MissingInput>) -> Vec<ControlLoop> {
    if office.unsure.about(Medium::Wire) {
        return Vec::new();
    }
    let paths = control_paths(office, networks);
    if paths.is_empty() {
        return Vec::new();
    }
    let mut survey = LoopSurvey::new(networks.merged(office), missing);
    let controls = paths.into_iter().filter_map(|path| survey.control(path)).collect();
    survey.finish(office);
    controls
}

impl LoopSurvey<'_, '_> {
    fn control(&mut self, path: SignalPath) -> Option<ControlLoop> {
        let (output, control) = (path.signal, path.input);
        let path_wire = self.wire_along(path, control.thing)?;
        let hottest = path_wire.hottest?;
        let (monitor, thing) = (self.office.thing(output.thing), self.office.thing(control.thing));
        let (_, _, own) = thing
            .named(Key::Control)
            .nth((control.number as usize).checked_sub(1)?)?;
        let wire = &self.networks.wire;
        let id = wire.find(control.thing, control.port, control.number)?;
        let control_range = wire.connections_at(id).next()?.range_at(id);
        Some(ControlLoop {
            output,
            control,
            control_range,
            temperature: hottest,
            resistance: path_wire.stretches.iter().map(|stretch| stretch.resistance).sum(),
            resistance_at_20: Resistance::from_ohms(path_wire.cold),
            stretches: path_wire.stretches,
            unstated_runs: path_wire.unstated_runs,
            voltage: said(monitor.quantity(Key::OutputVoltage)),
            output_max: said(monitor.quantity(Key::OutputMax)),
            needs: said(own.quantity(Key::Needs)),
            current: said(own.quantity(Key::CurrentMax)),
        })
    }
}

fn said(found: Option<(Quantity, Place)>) -> Option<GivenQuantity> {
    let (quantity, place) = found?;
    Some(GivenQuantity {
        quantity,
        place: Some(place),
    })
}
