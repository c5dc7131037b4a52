//! The fields of a record as text: the columns of the CSV form, which are also the unit of comparison of two revisions.

use std::collections::BTreeSet;

use super::record::{BlockPair, CablePair, InputRecord, LimitEntry, LoopEntry, Pins, TipAndRing};

/// One field of a record.
pub(super) struct Column {
    /// Column name in CSV and in differences.
    pub name: &'static str,
    /// Gives its text for a record; empty where the record has none.
    pub cell: fn(&InputRecord) -> String,
}

const fn column(name: &'static str, cell: fn(&InputRecord) -> String) -> Column {
    Column { name, cell }
}

/// All fields, in order.
pub(super) static COLUMNS: &[Column] = &[
    column("key", |of| of.key.clone()),
    column("office", |of| of.office.clone()),
    column("title", |of| text(of.title.as_ref())),
    column("site", |of| text(of.site.as_ref())),
    column("monitor", |of| of.monitor.clone()),
    column("input_kind", |of| of.input_kind.word().to_owned()),
    column("input", |of| of.input.to_string()),
    column("device", |of| of.device.clone()),
    column("kind", |of| of.kind.clone()),
    column("signal", |of| of.signal.clone()),
    column("part", |of| text(of.part.as_ref())),
    column("model", |of| text(of.model.as_ref())),
    column("reports", |of| text(of.reports.as_ref())),
    column("place", |of| of.place.text.clone()),
    column("line", |of| text(of.place.line.as_ref())),
    column("branch", |of| text(of.place.branch.as_ref())),
    column("distance", |of| text(of.place.distance.as_ref())),
    column("section", |of| text(of.place.section.as_ref())),
    column("unit", |of| text(of.unit.as_ref())),
    column("span_from", |of| figure(of.span.map(|[bottom, _]| bottom))),
    column("span_to", |of| figure(of.span.map(|[_, top]| top))),
    column("step", |of| figure(of.step)),
    column("normal", |of| figure(of.normal)),
    column("expected", |of| figure(of.expected)),
    column("low_low", |of| limit(of, "low-low", value)),
    column("low_low_severity", |of| limit(of, "low-low", severity)),
    column("low_low_deadband", |of| limit(of, "low-low", deadband)),
    column("low", |of| limit(of, "low", value)),
    column("low_severity", |of| limit(of, "low", severity)),
    column("low_deadband", |of| limit(of, "low", deadband)),
    column("high", |of| limit(of, "high", value)),
    column("high_severity", |of| limit(of, "high", severity)),
    column("high_deadband", |of| limit(of, "high", deadband)),
    column("high_high", |of| limit(of, "high-high", value)),
    column("high_high_severity", |of| limit(of, "high-high", severity)),
    column("high_high_deadband", |of| limit(of, "high-high", deadband)),
    column("healthy", |of| text(of.healthy.as_ref())),
    column("block", |of| blocks(of, |pair| pair.block.clone())),
    column("block_pair", |of| blocks(of, |pair| pair.pair.to_string())),
    column("block_tip", |of| blocks(of, |pair| tip(pair.colours.as_ref()))),
    column("block_ring", |of| blocks(of, |pair| ring(pair.colours.as_ref()))),
    column("block_connector", |of| pins(of, |pins| pins.connector)),
    column("block_tip_pin", |of| pins(of, |pins| pins.tip)),
    column("block_ring_pin", |of| pins(of, |pins| pins.ring)),
    column("cable", |of| cables(of, |pair| pair.cable.clone())),
    column("cable_pair", |of| cables(of, |pair| pair.pair.to_string())),
    column("cable_tip", |of| cables(of, |pair| tip(pair.colours.as_ref()))),
    column("cable_ring", |of| cables(of, |pair| ring(pair.colours.as_ref()))),
    column("cable_group", |of| {
        cables(of, |pair| {
            pair.binder
                .as_ref()
                .map_or(String::new(), |binder| binder.group.to_string())
        })
    }),
    column("cable_binder", |of| cables(of, binder)),
    column("cable_super_unit", |of| {
        cables(of, |pair| {
            let binder = pair.binder.as_ref();
            binder.and_then(|binder| binder.super_unit.clone()).unwrap_or_default()
        })
    }),
    column("loop_at_20_ohm", |of| ohms(of, |ohms| Some(ohms.at_20_ohm))),
    column("loop_hottest_ohm", |of| ohms(of, |ohms| Some(ohms.hottest_ohm))),
    column("loop_most_ohm", |of| ohms(of, |ohms| ohms.most_ohm)),
    column("device_title", |of| text(of.device_title.as_ref())),
    column("room", |of| text(of.place.room.as_ref())),
    column("location", |of| text(of.place.location.as_ref())),
    column("order", |of| text(of.order.as_ref())),
    column("address", |of| {
        of.address.map_or(String::new(), |address| address.to_string())
    }),
];

/// The names of the repository's own facts in some records, without duplicates. Each is a column after the fixed ones.
pub(super) fn recorded<'r>(records: impl IntoIterator<Item = &'r InputRecord>) -> BTreeSet<&'r str> {
    let facts = records.into_iter().flat_map(|record| record.recorded.keys());
    facts.map(String::as_str).collect()
}

/// Column name of such a fact.
pub(super) fn recorded_column(name: &str) -> String {
    format!("record_{}", name.replace('-', "_"))
}

/// Text of such a fact in a record.
pub(super) fn recorded_cell(of: &InputRecord, name: &str) -> String {
    text(of.recorded.get(name))
}

fn text(text: Option<&String>) -> String {
    text.cloned().unwrap_or_default()
}

/// Formats a figure; empty for `None`.
pub(super) fn figure(figure: Option<f64>) -> String {
    figure.map_or(String::new(), |figure| figure.to_string())
}

fn limit(of: &InputRecord, level: &str, cell: fn(&LimitEntry) -> String) -> String {
    joined(of.limits.iter().filter(|limit| limit.level == level).map(cell))
}

fn value(limit: &LimitEntry) -> String {
    figure(Some(limit.value))
}

fn severity(limit: &LimitEntry) -> String {
    text(limit.severity.as_ref())
}

fn deadband(limit: &LimitEntry) -> String {
    figure(limit.deadband)
}

fn blocks(of: &InputRecord, cell: fn(&BlockPair) -> String) -> String {
    joined(of.block_pairs.iter().map(cell))
}

fn pins(of: &InputRecord, cell: fn(&Pins) -> u32) -> String {
    let pins = of.block_pairs.iter().map(|pair| pair.pins.as_ref());
    joined(pins.map(|pins| pins.map_or(String::new(), |pins| cell(pins).to_string())))
}

fn cables(of: &InputRecord, cell: fn(&CablePair) -> String) -> String {
    joined(of.cable_pairs.iter().map(cell))
}

fn tip(colours: Option<&TipAndRing>) -> String {
    colours.map_or(String::new(), |colours| colours.tip.clone())
}

fn ring(colours: Option<&TipAndRing>) -> String {
    colours.map_or(String::new(), |colours| colours.ring.clone())
}

fn binder(pair: &CablePair) -> String {
    pair.binder.as_ref().map_or(String::new(), |binder| {
        format!("{}-{}", binder.colours.tip, binder.colours.ring)
    })
}

fn ohms(of: &InputRecord, cell: fn(&LoopEntry) -> Option<f64>) -> String {
    figure(of.ohms.as_ref().and_then(cell))
}

/// Joins several values in one cell, in the order of the path.
fn joined(cells: impl Iterator<Item = String>) -> String {
    let cells: Vec<String> = cells.collect();
    if cells.iter().all(String::is_empty) {
        return String::new();
    }
    cells.join("; ")
}
