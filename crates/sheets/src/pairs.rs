//! The wiring sheet: every pair of every block, then those of cables and leads.

use drysheath_engineering::colour::connector_pins;
use drysheath_engineering::units::Dimension;
use drysheath_explanation::loop_of;
use drysheath_office::kinds::{Key, KindId, Port, Role};
use drysheath_office::{Fields, Terminal, ThingId, in_row, printed};
use drysheath_prediction::{SignalPath, control_paths, signal_paths};
use drysheath_syntax::PairState;
use rustc_hash::FxHashMap;

use crate::air::numbers;
use crate::facts::Facts;
use crate::mark::Mark;
use crate::page::Block;
use crate::table::{Cell, Column, Row, Table, words};
use crate::wiring::signal_name;

/// Pairs on a 50-position connector.
const CONNECTOR: u32 = 25;

const BLOCK: &[Column] = &[
    Column {
        title: "Done",
        width: 46,
    },
    Column {
        title: "Pair",
        width: 50,
    },
    Column {
        title: "Colours, tip and ring",
        width: 136,
    },
    Column {
        title: "Pins",
        width: 50,
    },
    Column {
        title: "Device",
        width: 110,
    },
    Column {
        title: "Lead or cable",
        width: 100,
    },
    Column {
        title: "Input",
        width: 68,
    },
    Column {
        title: "Place",
        width: 70,
    },
    Column {
        title: "Loop at 20 °C",
        width: 70,
    },
];

const OUTSIDE: &[Column] = &[
    Column {
        title: "Done",
        width: 46,
    },
    Column {
        title: "Pair",
        width: 90,
    },
    Column {
        title: "Colours, tip and ring",
        width: 140,
    },
    Column {
        title: "Binder",
        width: 110,
    },
    Column {
        title: "Carries",
        width: 314,
    },
];

/// A signal or control, and the text shown for pairs that it passes.
struct PairCircuit {
    device: Terminal,
    input: Terminal,
    /// Pairs of leads and cables that it passes, starting at its device.
    outside: Vec<Terminal>,
    ohms: Option<String>,
}

/// Indices of the circuits that pass a terminal, by thing, port and number.
type Passing = FxHashMap<(ThingId, usize, u32), Vec<usize>>;

fn key(terminal: &Terminal) -> (ThingId, usize, u32) {
    (
        terminal.thing,
        std::ptr::from_ref(terminal.port).addr(),
        terminal.number,
    )
}

/// Tables of the blocks, then of cables and leads.
pub fn blocks(facts: &Facts<'_>) -> Vec<Block> {
    let (circuits, passing) = circuits(facts);
    let mut blocks = Vec::new();
    let office = facts.office;
    for (id, _) in office.of_kind(KindId::Block) {
        let rows = rows_of(facts, id, |terminal, state| {
            block_row(facts, &circuits, &passing, terminal, state)
        });
        blocks.push(Block::Heading(format!("Block {}", office.name_and_title(id))));
        blocks.push(Block::Table(Table {
            about: format!("pairs of block {}", office.name(id)),
            columns: BLOCK,
            rows,
        }));
    }
    for kind in [KindId::Lead, KindId::Cable] {
        for (id, thing) in office.of_kind(kind) {
            let rows = rows_of(facts, id, |terminal, state| {
                outside_row(facts, &circuits, &passing, terminal, state)
            });
            if rows.is_empty() {
                continue;
            }
            let word = thing.kind.map_or("", |kind| kind.word());
            let heading = format!(
                "{}{} {}",
                word.get(..1).unwrap_or_default().to_uppercase(),
                word.get(1..).unwrap_or_default(),
                office.name_and_title(id)
            );
            blocks.push(Block::Heading(heading));
            blocks.push(Block::Table(Table {
                about: format!("pairs of {word} {}", office.name(id)),
                columns: OUTSIDE,
                rows,
            }));
        }
    }
    if blocks.is_empty() {
        blocks.push(Block::Paragraph(
            "The office has no block, lead or cable with pairs.".to_owned(),
        ));
    }
    blocks
}

fn circuits(facts: &Facts<'_>) -> (Vec<PairCircuit>, Passing) {
    let office = facts.merged.office;
    let signals = signal_paths(facts.office, facts.networks).map(|path| (path, false));
    let controls = control_paths(facts.office, facts.networks)
        .into_iter()
        .map(|path| (path, true));
    let mut circuits = Vec::new();
    let mut passing = Passing::default();
    for (path, is_control) in signals.chain(controls) {
        let mut inner: Vec<Terminal> = path
            .steps(&facts.merged.networks.wire)
            .map(|(_, terminal)| *terminal)
            .collect();
        inner.pop();
        if is_control {
            inner.reverse();
        }
        for terminal in &inner {
            passing.entry(key(terminal)).or_default().push(circuits.len());
        }
        inner.retain(|terminal| !office.thing(terminal.thing).is(KindId::Block));
        let (device, input) = if is_control {
            (path.input, path.signal)
        } else {
            (path.signal, path.input)
        };
        circuits.push(PairCircuit {
            device,
            input,
            outside: inner,
            ohms: ohms(facts, &path, is_control),
        });
    }
    (circuits, passing)
}

/// Loop resistance that a meter should show at 20 °C.
fn ohms(facts: &Facts<'_>, path: &SignalPath, is_control: bool) -> Option<String> {
    let show =
        |resistance: drysheath_engineering::measure::Resistance| facts.figure(Dimension::Resistance, resistance.ohms());
    if is_control {
        let mut controls = facts.prediction.controls.iter();
        let own = controls.find(|own| own.control == path.input)?;
        return (!own.stretches.is_empty()).then(|| show(own.resistance_at_20));
    }
    let own = loop_of(&facts.prediction.loops, &path.signal)?;
    (!own.stretches.is_empty()).then(|| show(own.resistance_at_20))
}

/// State of a pair that no circuit passes.
#[derive(Clone, PartialEq)]
enum IdlePairState {
    Used,
    Spare,
    /// In use by somebody else.
    Assigned(String),
    Defective(String),
    Terminated,
    Unstated,
}

impl IdlePairState {
    fn words(&self) -> String {
        match self {
            Self::Used => String::new(),
            Self::Spare => "spare".to_owned(),
            Self::Assigned(whom) => format!("WORKING, do not touch: {whom}"),
            Self::Defective(why) => format!("DEFECTIVE: {why}"),
            Self::Terminated => "terminated, carries nothing".to_owned(),
            Self::Unstated => "the file does not say".to_owned(),
        }
    }
}

/// Rows for the pairs of a thing: one for each pair with a circuit, and one for each range of other pairs in the same
/// state.
fn rows_of(facts: &Facts<'_>, id: ThingId, row: impl Fn(Terminal, &IdlePairState) -> Vec<Row>) -> Vec<Row> {
    let office = facts.office;
    let ports = office.thing(id).kind.into_iter().flat_map(|kind| kind.ports);
    let Some((port, all)) = ports
        .filter(|port| port.role == Role::Pair)
        .find_map(|port| Some((port, office.rows(id, port)?)))
    else {
        return Vec::new();
    };
    let mut rows = Vec::new();
    for (first, last) in all.iter() {
        let mut from = first;
        while from <= last {
            let state = state(facts, id, port, from);
            let mut to = from;
            while state != IdlePairState::Used && to < last && self::state(facts, id, port, to + 1) == state {
                to += 1;
            }
            if state == IdlePairState::Used {
                rows.extend(row(
                    Terminal {
                        thing: id,
                        port,
                        number: from,
                    },
                    &state,
                ));
            } else {
                let width = if rows_are_of_block(facts, id) {
                    BLOCK.len()
                } else {
                    OUTSIDE.len()
                };
                rows.push(range_row(facts, id, (from, to), &state, width));
            }
            from = to + 1;
        }
    }
    rows
}

fn rows_are_of_block(facts: &Facts<'_>, id: ThingId) -> bool {
    facts.office.thing(id).is(KindId::Block)
}

fn state(facts: &Facts<'_>, id: ThingId, port: &'static Port, number: u32) -> IdlePairState {
    if let Some(stated) = facts.office.stated_at(id, port, number) {
        return match stated.state {
            PairState::Assigned => IdlePairState::Assigned(stated.text.to_string()),
            PairState::Defective => IdlePairState::Defective(stated.text.to_string()),
            PairState::Bunched | PairState::Tapped => IdlePairState::Used,
        };
    }
    let is_used = facts
        .allocation
        .used(id, port)
        .iter()
        .any(|range| (range.from..=range.to).contains(&number));
    if is_used {
        IdlePairState::Used
    } else if facts.allocation.is_spare(id, port, number) {
        IdlePairState::Spare
    } else if facts.allocation.is_idle(id, port, number) {
        IdlePairState::Terminated
    } else {
        IdlePairState::Unstated
    }
}

/// Row of a range of pairs without a circuit.
fn range_row(facts: &Facts<'_>, id: ThingId, (from, to): (u32, u32), state: &IdlePairState, width: usize) -> Row {
    let mut cells = vec![Cell::Text(String::new()); width];
    let colours = (from == to).then(|| facts.office.tip_and_ring(id, from)).flatten();
    if let Some(cell) = cells.get_mut(1) {
        *cell = Cell::Text(numbers(from, to));
    }
    if let (Some(cell), Some((tip, ring))) = (cells.get_mut(2), colours) {
        *cell = Cell::Colours(tip, ring);
    }
    // The state is shown in the device column.
    if let Some(cell) = cells.get_mut(4) {
        *cell = Cell::Text(state.words());
    }
    Row {
        mark: Mark::Plain,
        cells,
    }
}

fn block_row(
    facts: &Facts<'_>,
    circuits: &[PairCircuit],
    passing: &Passing,
    terminal: Terminal,
    _: &IdlePairState,
) -> Vec<Row> {
    let office = facts.office;
    let found = passing_by(facts, passing, terminal);
    let colours = office.tip_and_ring(terminal.thing, terminal.number);
    let pair = Cell::Strong(printed(terminal.number).to_string());
    let swatches = colours.map_or_else(|| Cell::Text("–".to_owned()), |(tip, ring)| Cell::Colours(tip, ring));
    if found.is_empty() {
        let mut cells = vec![Cell::Tick, pair, swatches, Cell::or_dash(pins(facts, terminal))];
        cells.push(Cell::Text(with_shared(
            facts,
            terminal,
            "in use, and not followed to a device and an input".to_owned(),
        )));
        cells.resize(BLOCK.len(), Cell::Text(String::new()));
        return vec![Row {
            mark: Mark::Plain,
            cells,
        }];
    }
    let rows = found.iter().filter_map(|at| circuits.get(*at)).map(|circuit| {
        let outside: Vec<String> = circuit
            .outside
            .iter()
            .map(|terminal| called(facts, *terminal))
            .collect();
        Row {
            mark: facts.marks.circuit(facts, circuit.device),
            cells: vec![
                Cell::Tick,
                pair.clone(),
                swatches.clone(),
                Cell::or_dash(pins(facts, terminal)),
                Cell::Text(with_shared(facts, terminal, device_words(facts, circuit.device))),
                Cell::or_dash(Some(outside.join("; "))),
                Cell::Text(input_words(facts, circuit.input)),
                Cell::Text(facts.place(circuit.device.thing)),
                Cell::or_dash(circuit.ohms.clone()),
            ],
        }
    });
    rows.collect()
}

fn outside_row(
    facts: &Facts<'_>,
    circuits: &[PairCircuit],
    passing: &Passing,
    terminal: Terminal,
    _: &IdlePairState,
) -> Vec<Row> {
    let office = facts.office;
    let found = passing_by(facts, passing, terminal);
    let colours = office.tip_and_ring(terminal.thing, terminal.number);
    let carries: Vec<String> = found
        .iter()
        .filter_map(|at| circuits.get(*at))
        .map(|circuit| {
            format!(
                "{} to {}",
                device_words(facts, circuit.device),
                input_words(facts, circuit.input)
            )
        })
        .collect();
    let mut mark = found
        .iter()
        .filter_map(|at| circuits.get(*at))
        .map(|circuit| facts.marks.circuit(facts, circuit.device));
    vec![Row {
        mark: mark.next_back().unwrap_or_default(),
        cells: vec![
            Cell::Tick,
            Cell::Strong(printed(terminal.number).to_string()),
            colours.map_or_else(|| Cell::Text("–".to_owned()), |(tip, ring)| Cell::Colours(tip, ring)),
            Cell::or_dash(binder(facts, terminal)),
            Cell::Text(with_shared(
                facts,
                terminal,
                if carries.is_empty() {
                    "in use, and not followed to a device and an input".to_owned()
                } else {
                    carries.join("; ")
                },
            )),
        ],
    }]
}

/// Circuits over a pair; for a bunched pair, those over any pair of its bunch.
fn passing_by<'p>(facts: &Facts<'_>, passing: &'p Passing, terminal: Terminal) -> &'p [usize] {
    let circuits = |number| passing.get(&key(&Terminal { number, ..terminal }));
    let bunch = facts.office.wired_at(PairState::Bunched, &terminal);
    let others = bunch
        .into_iter()
        .flat_map(|bunch| bunch.end.numbers.0..=bunch.end.numbers.1);
    let mut all = std::iter::once(terminal.number).chain(others).filter_map(circuits);
    all.next().map(Vec::as_slice).unwrap_or_default()
}

/// Text of what a pair carries, with the pairs bunched with it or a note that it is tapped.
fn with_shared(facts: &Facts<'_>, terminal: Terminal, carries: String) -> String {
    let office = facts.office;
    if let Some(bunch) = office.wired_at(PairState::Bunched, &terminal) {
        let (from, to) = bunch.end.numbers;
        return format!("{carries}; pairs {} are bunched", numbers(from, to));
    }
    match office.wired_at(PairState::Tapped, &terminal) {
        Some(tap) => format!("{carries}; tapped: {}", tap.text),
        None => carries,
    }
}

/// Binder of a pair's group, if the cable has several groups.
fn binder(facts: &Facts<'_>, terminal: Terminal) -> Option<String> {
    let pairs = facts.office.thing(terminal.thing).count(Key::Pairs)?;
    let colours = facts.office.pair_colours(terminal.thing, terminal.number)?;
    (pairs > CONNECTOR).then(|| words(colours.binder.tip, colours.binder.ring))
}

fn device_words(facts: &Facts<'_>, device: Terminal) -> String {
    let name = facts.merged.office.name_and_title(device.thing);
    format!("{name}, {}", signal_name(facts, device))
}

fn input_words(facts: &Facts<'_>, input: Terminal) -> String {
    format!(
        "{} {} {}",
        facts.name(input.thing),
        input.port.word,
        printed(input.number)
    )
}

/// Formats a pair of a lead or cable with its colours.
fn called(facts: &Facts<'_>, terminal: Terminal) -> String {
    let name = format!("{} {}", facts.name(terminal.thing), printed(terminal.number));
    match facts.merged.office.tip_and_ring(terminal.thing, terminal.number) {
        Some((tip, ring)) => format!("{name} {}", words(tip, ring)),
        None => name,
    }
}

/// Tip and ring pins on a connector with 50 positions.
fn pins(facts: &Facts<'_>, terminal: Terminal) -> Option<String> {
    let block = facts.office.thing(terminal.thing);
    if block.yes_no(Key::Pins) != Some(true) {
        return None;
    }
    let before = in_row(terminal.number).checked_sub(1)?;
    let (tip, ring) = connector_pins(before % CONNECTOR + 1)?;
    let connector = before / CONNECTOR;
    Some(if connector > 0 {
        format!("P{} {tip}, {ring}", connector + 1)
    } else {
        format!("{tip}, {ring}")
    })
}
