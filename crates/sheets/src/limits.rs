//! The limits sheet: for each signal its span, expected reading and limits, and a bar that shows them in the span.

use drysheath_explanation::SignalReading;
use drysheath_office::kinds::{HealthyState, Key};
use drysheath_office::{Fields, LimitLevel, Signal, Terminal, ThingId, printed};
use drysheath_prediction::signal_paths;

use maud::{Markup, html};

use crate::facts::{Facts, short};
use crate::page::Block;
use crate::shapes::{Anchor, line, polygon, text};
use crate::table::{Cell, Column, Row, Table};
use crate::wiring::signal_name;

const COLUMNS: &[Column] = &[
    Column {
        title: "Input",
        width: 84,
    },
    Column {
        title: "Signal",
        width: 134,
    },
    Column {
        title: "Span",
        width: 76,
    },
    Column {
        title: "Expect",
        width: 72,
    },
    Column {
        title: "Limits: severity, deadband",
        width: 154,
    },
    Column {
        title: "In the span",
        width: 180,
    },
];

/// Table of all signals, by monitor and input; signals without an input come last.
pub fn blocks(facts: &Facts<'_>) -> Vec<Block> {
    let inputs: Vec<(Terminal, Terminal)> = signal_paths(facts.office, facts.networks)
        .map(|path| (path.signal, path.input))
        .collect();
    let mut rows = Vec::new();
    let own = facts.office.things().map(|(id, _)| id);
    // In other offices, only devices that a monitor of this office reads.
    let mut elsewhere: Vec<ThingId> = inputs
        .iter()
        .filter(|(signal, input)| !facts.office.has(signal.thing) && facts.office.has(input.thing))
        .map(|(signal, _)| signal.thing)
        .collect();
    elsewhere.sort_unstable();
    elsewhere.dedup();
    for id in own.chain(elsewhere) {
        for signal in facts.merged.office.signals(id) {
            let terminal = Terminal {
                thing: id,
                port: signal.port,
                number: signal.number,
            };
            let input = inputs.iter().find(|(own, _)| *own == terminal).map(|(_, input)| *input);
            let is_read = input.is_some() || signal.fields.has(Key::Limit);
            if is_read || signal.fields.has(Key::Span) {
                rows.push((key(facts, input), row(facts, terminal, signal, input)));
            }
        }
    }
    rows.sort_by(|(one, _), (other, _)| one.cmp(other));
    let rows: Vec<Row> = rows.into_iter().map(|(_, row)| row).collect();
    if rows.is_empty() {
        return vec![Block::Paragraph(
            "No signal of the office has an input or a limit.".to_owned(),
        )];
    }
    vec![
        Block::Paragraph(
            "Expected values are computed from the file. Enter the limits as they stand here; the diamond is the expected value, L and H are the low and \
             the high limit, LL and HH those beyond."
                .to_owned(),
        ),
        Block::Table(Table {
            about: "signals and their limits".to_owned(),
            columns: COLUMNS,
            rows,
        }),
    ]
}

/// Sort key of the rows.
fn key(facts: &Facts<'_>, input: Option<Terminal>) -> (bool, String, &'static str, u32) {
    match input {
        Some(input) => (
            false,
            facts.name(input.thing).to_owned(),
            input_order(input),
            input.number,
        ),
        None => (true, String::new(), "", 0),
    }
}

/// Orders sensor inputs before contact inputs.
fn input_order(input: Terminal) -> &'static str {
    if input.port.word == "sensor" { "1" } else { "2" }
}

fn row(facts: &Facts<'_>, terminal: Terminal, signal: Signal<'_>, input: Option<Terminal>) -> Row {
    let office = facts.merged.office;
    let input = input.map(|input| {
        format!(
            "{} {} {}",
            office.name(input.thing),
            input.port.word,
            printed(input.number)
        )
    });
    let called = format!(
        "{}, {}",
        office.name_and_title(terminal.thing),
        signal_name(facts, terminal)
    );
    let healthy = signal
        .fields
        .choice::<HealthyState>(Key::Healthy)
        .map(|state| format!("{} while all is well", state.word()));
    let limits: Vec<String> = signal
        .fields
        .limits()
        .map(|(limit, _)| {
            let severity = limit
                .severity
                .map_or(String::new(), |severity| format!(" {}", severity.word()));
            let deadband = limit
                .deadband
                .map_or(String::new(), |deadband| format!(", deadband {deadband}"));
            format!("{} {}{severity}{deadband}", limit.level.word(), limit.value)
        })
        .collect();
    let reading = facts
        .signal(terminal)
        .filter(|_| facts.office.has(terminal.thing))
        .and_then(|signal| facts.explainer.reading(signal));
    let expected = reading
        .as_ref()
        .and_then(|reading| reading.shown(&facts.units))
        .map(short);
    let normal = signal
        .fields
        .quantity(Key::Normal)
        .map(|(normal, _)| format!("{normal} (stated)"));
    let elsewhere = (!facts.office.has(terminal.thing)).then(|| format!("computed {}", facts.place(terminal.thing)));
    let span = signal.fields.range(Key::Span).map(|(from, to, _)| {
        if std::ptr::eq(from.unit, to.unit) {
            format!("{} to {to}", from.value)
        } else {
            format!("{from} to {to}")
        }
    });
    let step = signal
        .fields
        .quantity(Key::Step)
        .map(|(step, _)| format!("step {step}"));
    let span: Vec<String> = span.into_iter().chain(step).collect();
    let bar = reading.as_ref().and_then(|reading| bar(facts, reading));
    Row {
        mark: facts.marks.circuit(facts, terminal),
        cells: vec![
            Cell::or_dash(input),
            Cell::Text(called),
            Cell::or_dash(Some(span.join(", "))),
            Cell::or_dash(healthy.or(expected).or(normal).or(elsewhere)),
            Cell::or_dash(Some(limits.join("; "))),
            bar.map_or_else(|| Cell::Text("–".to_owned()), |bar| Cell::Drawn(bar, HEIGHT)),
        ],
    }
}

const HEIGHT: f64 = 38.0;
const WIDTH: f64 = 168.0;
/// Space for the limit letters at either end.
const ENDS: f64 = 22.0;

/// Bar of the span with its limits and the expected value. `None` if there is no span or nothing to show in it.
fn bar(facts: &Facts<'_>, reading: &SignalReading<'_>) -> Option<Markup> {
    let (bottom, top, _) = reading.span?;
    let (bottom, top) = (facts.office.figure(bottom), facts.office.figure(top));
    let part = |figure: f64| Some((figure - bottom) / (top - bottom)).filter(|part| part.is_finite());
    let x = |part: f64| ENDS + part.clamp(0.0, 1.0) * (WIDTH - 2.0 * ENDS);
    let y = HEIGHT / 2.0;
    let limits: Vec<(LimitLevel, f64)> = reading
        .limits
        .iter()
        .filter_map(|limit| Some((limit.limit.level, part(facts.office.figure(limit.limit.value))?)))
        .collect();
    let expected = reading.expected.and_then(part);
    let said = said(&limits, expected);
    Some(html! {
        svg.bar viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) width=(WIDTH) height=(HEIGHT) role="img" aria-label=(said) {
            (line("scale", (ENDS, y), (WIDTH - ENDS, y)))
            (line("scale", (ENDS, y - 5.0), (ENDS, y + 5.0)))
            (line("scale", (WIDTH - ENDS, y - 5.0), (WIDTH - ENDS, y + 5.0)))
            @for (level, at) in &limits { (mark(*level, x(*at), y)) }
            @if let Some(at) = expected {
                (polygon("expected", &[(x(at), y - 5.0), (x(at) + 5.0, y), (x(at), y + 5.0), (x(at) - 5.0, y)]))
            }
        }
    })
}

/// Positions of the limits and the expected value in the span, as text.
fn said(limits: &[(LimitLevel, f64)], expected: Option<f64>) -> String {
    let percent = |part: f64| format!("{:.0} % of the span", part * 100.0);
    let expected = expected.map(|part| format!("expected value at {}", percent(part)));
    let limits = limits
        .iter()
        .map(|(level, part)| format!("{} at {}", level.word(), percent(*part)));
    let all: Vec<String> = expected.into_iter().chain(limits).collect();
    if all.is_empty() {
        "span without limits".to_owned()
    } else {
        all.join(", ")
    }
}

/// A limit tick with its letters: on the side that alarms, above the bar for inner limits and below for outer ones, so
/// that they do not overlap.
fn mark(level: LimitLevel, x: f64, y: f64) -> Markup {
    let (letters, anchor, shift, is_above) = match level {
        LimitLevel::LowLow => ("LL", Anchor::End, -2.0, false),
        LimitLevel::Low => ("L", Anchor::End, -2.0, true),
        LimitLevel::High => ("H", Anchor::Start, 2.0, true),
        LimitLevel::HighHigh => ("HH", Anchor::Start, 2.0, false),
    };
    let (from, to, baseline) = if is_above {
        (y - 16.0, y, y - 7.0)
    } else {
        (y, y + 16.0, y + 15.0)
    };
    html! {
        (line("limit", (x, from), (x, to)))
        (text("said", (x + shift, baseline), anchor, letters))
    }
}
