//! The records as Markdown tables.

use std::collections::BTreeMap;
use std::fmt::Write;

use drysheath_text::safe::{markdown, markdown_cell};

use super::csv::or_none;
use super::difference::{Difference, RecordStatus};
use super::record::{InputKind, InputRecord, LimitEntry, OfficeRecords, TipAndRing};
use crate::cautions::CAUTIONS;
use crate::prediction::LeftOutRecord;

/// The text for one office.
pub(super) fn office(office: &OfficeRecords, difference: Option<&Difference>, all: bool) -> String {
    let mut out = String::new();
    match difference.filter(|_| !all) {
        None => tables(&mut out, office, difference),
        Some(difference) => {
            let office = changed(office, difference);
            // Missing items must be shown even if nothing else changed.
            if !office.records.is_empty() || !office.missing.is_empty() {
                tables(&mut out, &office, Some(difference));
            }
        }
    }
    out
}

/// The text after all offices.
pub(super) fn end() -> String {
    format!(
        "> Expected values are computed, not measured. {}\n",
        CAUTIONS.split_whitespace().collect::<Vec<_>>().join(" ")
    )
}

/// A sentence with the number of records in each state, which add up.
pub(super) fn balance(difference: &Difference) -> String {
    let counts = difference.counts();
    let renamed = match counts.renamed {
        0 => String::new(),
        renamed => format!(", {renamed} of them under another name"),
    };
    format!(
        "{} before + {} new - {} withdrawn = {} now; {} changed{renamed}, {} as before",
        counts.before, counts.new, counts.withdrawn, counts.after, counts.changed, counts.unchanged
    )
}

/// An office with only its new and changed records.
fn changed(office: &OfficeRecords, difference: &Difference) -> OfficeRecords {
    let is_other = |record: &&InputRecord| difference.status(&record.key) != RecordStatus::Unchanged;
    OfficeRecords {
        records: office.records.iter().filter(is_other).cloned().collect(),
        others: Vec::new(),
        ..office.clone()
    }
}

/// Summary of the new, changed and withdrawn records since a revision.
pub(super) fn changes(revision: &str, difference: &Difference, all: bool) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "# Since {}\n\n{}.\n", markdown(revision), balance(difference));
    if !all {
        let _ = writeln!(
            out,
            "Only what is new or changed is listed; `--all` lists every record.\n"
        );
    }
    if !difference.changed().is_empty() {
        let rows = difference.changed().iter().flat_map(|changed| {
            let key = match &changed.was_key {
                Some(was) => format!("{} (was {was})", changed.key),
                None => changed.key.clone(),
            };
            let fields = changed.fields.iter();
            fields.map(move |change| {
                let words = change.field.replace('_', " ");
                vec![
                    key.clone(),
                    words,
                    or_none(&change.old).to_owned(),
                    or_none(&change.new).to_owned(),
                ]
            })
        });
        table(
            &mut out,
            "## Changed",
            &["record", "field", "was", "is"],
            rows.collect(),
        );
    }
    if !difference.withdrawn().is_empty() {
        let rows = difference
            .withdrawn()
            .iter()
            .map(|record| vec![record.key.clone(), input(record), record.called(), record.kind.clone()]);
        table(
            &mut out,
            "## Withdrawn",
            &["record", "was at", "device", "kind"],
            rows.collect(),
        );
    }
    out
}

fn tables(out: &mut String, office: &OfficeRecords, difference: Option<&Difference>) {
    let title = office.title.as_deref().unwrap_or(&office.office);
    let site = office.site.as_deref().map_or(String::new(), |site| format!(", {site}"));
    let _ = writeln!(out, "# {}{}\n", markdown(title), markdown(&site));
    for monitor in &office.monitors {
        let link = monitor.link.as_deref().unwrap_or("a link that is not recorded");
        let (name, used, inputs) = (&monitor.name, monitor.in_use, monitor.inputs);
        let _ = writeln!(
            out,
            "Monitor {name}: {used} of {inputs} inputs in use, reports over {}.\n",
            markdown(link)
        );
    }
    if !office.left_out.is_empty() {
        let named = LeftOutRecord::row(&office.left_out);
        let _ = writeln!(out, "Left out because of their stage: {}.\n", markdown(&named));
    }
    if office.missing.is_empty() {
        let _ = writeln!(out, "Nothing is missing.\n");
    } else {
        let _ = writeln!(out, "## Missing before anyone is called: {}\n", office.missing.len());
        for item in &office.missing {
            let (help, rule) = (item.help.as_deref(), &item.rule);
            let help = help.map_or(String::new(), |help| format!("; {help}"));
            let line = format!("`{}:{}`: {}{help} [{rule}]", item.file, item.line, item.what);
            let _ = writeln!(out, "* {}", markdown(&line));
        }
        out.push('\n');
    }
    let mut columns = vec![
        "input", "record", "device", "part", "location", "span", "expected", "limits", "healthy",
    ];
    if difference.is_some() {
        columns.push("state");
    }
    let rows = office.records.iter().map(|record| {
        let state = difference.map(|difference| match difference.status(&record.key) {
            RecordStatus::Unchanged => "as before".to_owned(),
            status => status.word().to_owned(),
        });
        let cells = [
            input(record),
            record.key.clone(),
            device(record),
            record.part.clone().unwrap_or_default(),
            location(record),
            span(record),
            with_unit(record, record.expected),
            limits(record),
            record.healthy.clone().unwrap_or_default(),
        ];
        cells.into_iter().chain(state).collect()
    });
    table(
        out,
        if has_outputs(office) {
            "## Inputs and outputs"
        } else {
            "## Inputs"
        },
        &columns,
        rows.collect(),
    );
    facts(out, office);
    let columns = [
        "input",
        "block pair",
        "pins",
        "cable pair",
        "binder",
        "loop at 20 degC",
        "at the hottest",
        "at most",
    ];
    let rows = office.records.iter().map(|record| {
        let ohm = |ohms: Option<f64>| ohms.map_or(String::new(), |ohms| format!("{ohms} ohm"));
        let ohms = record.ohms.as_ref();
        vec![
            input(record),
            block_pairs(record),
            pins(record),
            cable_pairs(record),
            binders(record),
            ohm(ohms.map(|ohms| ohms.at_20_ohm)),
            ohm(ohms.map(|ohms| ohms.hottest_ohm)),
            ohm(ohms.and_then(|ohms| ohms.most_ohm)),
        ]
    });
    table(out, "## Pairs", &columns, rows.collect());
}

/// The repository's own facts: a row for each input whose device has some, and for each monitor. For equipment without
/// an input also its other data.
fn facts(out: &mut String, office: &OfficeRecords) {
    let said = |facts: &BTreeMap<String, String>| {
        let facts: Vec<String> = facts.iter().map(|(name, text)| format!("{name} {text}")).collect();
        facts.join("; ")
    };
    let monitors = office
        .monitors
        .iter()
        .map(|monitor| (monitor.name.clone(), &monitor.recorded));
    let devices = office.records.iter().map(|record| (record.called(), &record.recorded));
    let mut rows: Vec<Vec<String>> = monitors
        .chain(devices)
        .filter(|(_, facts)| !facts.is_empty())
        .map(|(name, facts)| vec![name, said(facts)])
        .collect();
    // A device with several signals has one row.
    rows.dedup();
    rows.extend(office.others.iter().map(|other| {
        let name = other
            .title
            .as_ref()
            .map_or_else(|| other.name.clone(), |title| format!("{} ({title})", other.name));
        let order = other
            .order
            .as_ref()
            .map_or(String::new(), |order| format!("order {order}"));
        vec![name, listed([said(&other.recorded), order].into_iter())]
    }));
    table(out, "## Recorded", &["thing", "recorded"], rows);
}

fn table(out: &mut String, heading: &str, columns: &[&str], rows: Vec<Vec<String>>) {
    if rows.is_empty() {
        return;
    }
    let _ = writeln!(
        out,
        "{heading}\n\n| {} |\n|{}",
        columns.join(" | "),
        "---|".repeat(columns.len())
    );
    for row in rows {
        let cells: Vec<String> = row.iter().map(|cell| markdown_cell(cell)).collect();
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    }
    out.push('\n');
}

/// Name of a record's input, such as "m1 sensor 3".
pub(super) fn input(record: &InputRecord) -> String {
    let address = record
        .address
        .map_or(String::new(), |address| format!(" address {address}"));
    let kind = record.input_kind.word();
    format!("{} {kind} {}{address}", record.monitor, record.input)
}

fn has_outputs(office: &OfficeRecords) -> bool {
    office
        .records
        .iter()
        .any(|record| record.input_kind == InputKind::Output)
}

/// Name of the device with its kind, "pressure-sensor ps1", and the signal where the device has several.
fn device(record: &InputRecord) -> String {
    let reports = record
        .reports
        .as_deref()
        .map_or(String::new(), |reports| format!(": {reports}"));
    format!("{} {}, {}{reports}", record.kind, record.called(), record.signal)
}

fn location(record: &InputRecord) -> String {
    let place = &record.place;
    let section = place.section.as_ref().map(|section| format!(" in {section}"));
    let within = [&place.room, &place.location].into_iter().flatten();
    within.fold(
        format!("{}{}", place.text, section.unwrap_or_default()),
        |text, part| format!("{text}, {part}"),
    )
}

fn span(record: &InputRecord) -> String {
    let unit = record.unit.as_deref().unwrap_or_default();
    record
        .span
        .map_or(String::new(), |[from, to]| format!("{from} .. {to} {unit}"))
}

pub(super) fn with_unit(record: &InputRecord, figure: Option<f64>) -> String {
    let unit = record.unit.as_deref().unwrap_or_default();
    figure.map_or(String::new(), |figure| format!("{figure} {unit}"))
}

fn limits(record: &InputRecord) -> String {
    let unit = record.unit.as_deref().unwrap_or_default();
    let limit = |limit: &LimitEntry| {
        let severity = limit
            .severity
            .as_deref()
            .map_or(String::new(), |severity| format!(" {severity}"));
        let deadband = limit
            .deadband
            .map_or(String::new(), |deadband| format!(" deadband {deadband} {unit}"));
        format!("{} {} {unit}{severity}{deadband}", limit.level, limit.value)
    };
    listed(record.limits.iter().map(limit))
}

fn listed(items: impl Iterator<Item = String>) -> String {
    items.filter(|item| !item.is_empty()).collect::<Vec<_>>().join("; ")
}

fn colours(colours: Option<&TipAndRing>) -> String {
    colours.map_or(String::new(), |colours| format!(" {}-{}", colours.tip, colours.ring))
}

/// Block pairs: "tb pair 3 WH-GN".
pub(super) fn block_pairs(record: &InputRecord) -> String {
    let pairs = record.block_pairs.iter();
    listed(pairs.map(|pair| format!("{} pair {}{}", pair.block, pair.pair, colours(pair.colours.as_ref()))))
}

fn pins(record: &InputRecord) -> String {
    let pins = record.block_pairs.iter().filter_map(|pair| pair.pins.as_ref());
    listed(pins.map(|pins| match pins.connector {
        1 => format!("tip {} ring {}", pins.tip, pins.ring),
        connector => format!("connector {connector} tip {} ring {}", pins.tip, pins.ring),
    }))
}

/// Cable pairs: "c101 pair 37 BK-OR".
pub(super) fn cable_pairs(record: &InputRecord) -> String {
    let pairs = record.cable_pairs.iter();
    listed(pairs.map(|pair| format!("{} pair {}{}", pair.cable, pair.pair, colours(pair.colours.as_ref()))))
}

fn binders(record: &InputRecord) -> String {
    let binders = record.cable_pairs.iter().filter_map(|pair| pair.binder.as_ref());
    listed(binders.map(|binder| {
        let super_unit = binder
            .super_unit
            .as_deref()
            .map_or(String::new(), |unit| format!(" in super-unit {unit}"));
        format!("group {}{}{super_unit}", binder.group, colours(Some(&binder.colours)))
    }))
}
