//! The wiring drawing: one row per signal, from its device over leads, cables and blocks to its input, in columns.

use drysheath_office::kinds::{KindId, Role};
use drysheath_office::{Terminal, printed};
use drysheath_prediction::{SignalPath, control_paths, signal_paths};
use maud::html;

use crate::diagram::{Strip, WIDTH};
use crate::facts::Facts;
use crate::mark::Mark;
use crate::shapes::{Anchor, NAME, SAID, line, rectangle, text};

/// Gap between two columns, for the wires.
const BETWEEN: f64 = 18.0;
/// Maximum number of columns for steps; the middle steps of a longer path are summarized in text.
const MOST_STEPS: usize = 5;
const INSET: f64 = 5.0;

/// Contents of a column in a row.
struct CircuitBox {
    name: String,
    said: Vec<String>,
    mark: Mark,
}

/// A signal or control: its boxes by column, from device to monitor.
struct DrawnCircuit {
    boxes: Vec<Option<CircuitBox>>,
    mark: Mark,
    key: (String, u8, u32),
}

/// Rows of the drawing for circuits with the wanted marks, by monitor, kind of input and number.
pub fn strips(facts: &Facts<'_>, is_wanted: impl Fn(Mark) -> bool) -> Vec<Strip> {
    let signals = signal_paths(facts.office, facts.networks).map(|path| (path, false));
    let controls = control_paths(facts.office, facts.networks)
        .into_iter()
        .map(|path| (path, true));
    let paths: Vec<(SignalPath, bool)> = signals.chain(controls).collect();
    let steps = |path: &SignalPath| path.steps(&facts.merged.networks.wire).count().saturating_sub(1);
    let columns = paths
        .iter()
        .map(|(path, _)| steps(path))
        .max()
        .unwrap_or_default()
        .min(MOST_STEPS)
        + 2;
    let mut circuits: Vec<DrawnCircuit> = paths
        .iter()
        .map(|(path, is_control)| circuit(facts, path, *is_control, columns))
        .filter(|circuit| is_wanted(circuit.mark))
        .collect();
    circuits.sort_by(|one, other| one.key.cmp(&other.key));
    let width = (WIDTH - BETWEEN * (columns - 1) as f64 - 2.0) / columns as f64;
    circuits.iter().map(|circuit| row(circuit, width)).collect()
}

fn circuit(facts: &Facts<'_>, path: &SignalPath, is_control: bool, columns: usize) -> DrawnCircuit {
    let office = facts.merged.office;
    let mut inner: Vec<Terminal> = path
        .steps(&facts.merged.networks.wire)
        .map(|(_, terminal)| *terminal)
        .collect();
    inner.pop();
    // A control is switched from the monitor; its path is reversed so that its device is on the left like all others.
    if is_control {
        inner.reverse();
    }
    let (device, input) = if is_control {
        (path.input, path.signal)
    } else {
        (path.signal, path.input)
    };
    let is_outside = |terminal: &&Terminal| {
        matches!(
            office.thing(terminal.thing).kind.map(|kind| kind.id),
            Some(KindId::Cable | KindId::Lead)
        )
    };
    let mut boxes: Vec<Option<CircuitBox>> = Vec::with_capacity(columns);
    let mark = facts.marks.circuit(facts, device);
    let way = facts.marks.way(facts, device);
    boxes.push(Some(device_box(facts, device, mark)));
    let room = columns.saturating_sub(2);
    // Cables and leads are at the device end, blocks at the monitor end.
    let left = inner.iter().take_while(is_outside).count().min(room);
    let right = inner.len().min(room).saturating_sub(left);
    let shown_left = inner
        .iter()
        .take(left)
        .map(|terminal| Some(pair_box(facts, *terminal, way)));
    boxes.extend(shown_left);
    boxes.extend((0..room - left - right).map(|_| None));
    let from_right = inner.len().saturating_sub(right);
    let skipped = from_right.saturating_sub(left);
    boxes.extend(
        inner
            .iter()
            .skip(from_right)
            .map(|terminal| Some(pair_box(facts, *terminal, way))),
    );
    if skipped > 0
        && let Some(Some(last)) = boxes.get_mut(left)
    {
        last.said.push(format!("over {skipped} more, see the wiring sheet"));
    }
    boxes.push(Some(input_box(facts, input, way)));
    let rank = match input.port.role {
        Role::SensorInput => 0,
        Role::ContactInput => 1,
        _ => 2,
    };
    DrawnCircuit {
        boxes,
        mark,
        key: (office.name(input.thing).to_owned(), rank, input.number),
    }
}

fn device_box(facts: &Facts<'_>, terminal: Terminal, mark: Mark) -> CircuitBox {
    let name = facts.name(terminal.thing);
    let mut said = vec![signal_name(facts, terminal)];
    said.extend(facts.title(terminal.thing));
    let is_kept = mark == Mark::Removed && facts.mark(terminal.thing) != Mark::Removed;
    let word = if is_kept { Some("DISCONNECT") } else { mark.word() };
    said.extend(word.map(str::to_owned));
    CircuitBox {
        name: name.to_owned(),
        said,
        mark: of_path(facts, terminal, mark),
    }
}

/// Word for a signal or control, with its name if it has one.
pub fn signal_name(facts: &Facts<'_>, terminal: Terminal) -> String {
    let named = match terminal.port.numbering {
        drysheath_office::kinds::Numbering::Named(key) => {
            use drysheath_office::Fields;
            let at = (terminal.number as usize).checked_sub(1);
            let mut named = facts.merged.office.thing(terminal.thing).named(key);
            at.and_then(|at| named.nth(at)).map(|(name, ..)| name)
        }
        _ => None,
    };
    named.map_or_else(
        || terminal.port.word.to_owned(),
        |name| format!("{} {name}", terminal.port.word),
    )
}

fn pair_box(facts: &Facts<'_>, terminal: Terminal, way: Mark) -> CircuitBox {
    let name = facts.name(terminal.thing);
    let colours = facts.merged.office.tip_and_ring(terminal.thing, terminal.number);
    CircuitBox {
        name: format!("{name} {}", printed(terminal.number)),
        said: colours
            .map(|(tip, ring)| crate::table::words(tip, ring))
            .into_iter()
            .collect(),
        mark: of_path(facts, terminal, way),
    }
}

fn input_box(facts: &Facts<'_>, terminal: Terminal, way: Mark) -> CircuitBox {
    let name = facts.name(terminal.thing);
    CircuitBox {
        name: name.to_owned(),
        said: vec![format!("{} {}", terminal.port.word, printed(terminal.number))],
        mark: of_path(facts, terminal, way),
    }
}

/// Mark of something a path passes: the mark of the path or, if that is unchanged, of the thing. On a removed path the
/// things are marked only if they are removed too; otherwise only its wires are.
fn of_path(facts: &Facts<'_>, terminal: Terminal, way: Mark) -> Mark {
    match (way, facts.mark(terminal.thing)) {
        (Mark::Same, thing) | (Mark::Removed, thing @ Mark::Removed) => thing,
        (Mark::Removed, _) => Mark::Plain,
        (way, _) => way,
    }
}

/// Draws a row: a box for each step, joined by lines at the height of the names.
fn row(circuit: &DrawnCircuit, width: f64) -> Strip {
    let lines = |one: &CircuitBox| {
        let name = NAME.wrap(&one.name, width - 2.0 * INSET);
        let said: Vec<String> = one
            .said
            .iter()
            .flat_map(|said| SAID.wrap(said, width - 2.0 * INSET))
            .take(6)
            .collect();
        (name, said)
    };
    let laid: Vec<Option<(Vec<String>, Vec<String>)>> =
        circuit.boxes.iter().map(|one| one.as_ref().map(lines)).collect();
    let tall = |(name, said): &(Vec<String>, Vec<String>)| {
        name.len() as f64 * NAME.line() + said.len() as f64 * SAID.line() + 8.0
    };
    let height = laid.iter().flatten().map(tall).fold(0.0, f64::max).ceil();
    let class = circuit.mark.line("wire");
    let x = |column: usize| 1.0 + column as f64 * (width + BETWEEN);
    let y = 1.0 + 4.0 + NAME.line() / 2.0;
    let drawn = html! {
        @for (column, (shown, one)) in laid.iter().zip(&circuit.boxes).enumerate() {
            @if column > 0 {
                (line(class, (x(column) - BETWEEN, y), (x(column), y)))
            }
            @match shown.as_ref().zip(one.as_ref()) {
                None => (line(class, (x(column), y), (x(column) + width, y))),
                Some(((name, said), one)) => g class=(one.mark.class()) {
                    (rectangle("box", (x(column), 1.0), (width, height), 3.0))
                    @for (at, name) in name.iter().enumerate() {
                        (text("name", (x(column) + INSET, 5.0 + (at + 1) as f64 * NAME.line() - 3.0), Anchor::Start, name))
                    }
                    @for (at, said) in said.iter().enumerate() {
                        (text("said", (x(column) + INSET, 5.0 + name.len() as f64 * NAME.line() + (at + 1) as f64 * SAID.line() - 3.0), Anchor::Start, said))
                    }
                },
            }
        }
    };
    Strip {
        height: height + 8.0,
        drawn: drawn.into_string(),
        begins: true,
    }
}
